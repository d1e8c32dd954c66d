"""Boards of a piece: their sizes worked out anew; what is refused, in words with both numbers."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from scipy.spatial import ConvexHull  # type: ignore[import-untyped]

from fixtures.assembly import Board
from fixtures.errors import Fault, InputError
from fixtures.piece.panels import Panels, panels
from fixtures.units import format_length
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables

SAME = 1e-6
"""mm."""


def made(told: Tables) -> Panels:
    return panels(read(told), NAME)


def faults(told: Tables) -> tuple[Fault, ...]:
    """What is wrong, each told in whole sentences with a place and a remedy."""
    piece = read(told)
    with pytest.raises(InputError) as refusal:
        panels(piece, NAME)
    for fault in refusal.value.faults:
        assert fault.where
        assert fault.message.endswith(".")
        assert fault.remedy.endswith((".", "?"))
    return refusal.value.faults


def says(told: Tables, *parts: str) -> Fault:
    """The one fault there is; each part is in what it says."""
    (fault,) = faults(told)
    for part in parts:
        assert part in str(fault)
    return fault


def board(found: Panels, name: str) -> Board:
    return next(board for board in found.boards if board.name == name)


def extent(one: Board) -> tuple[float, float, float]:
    size = np.ptp(np.array(one.shape), axis=0)
    return float(size[0]), float(size[1]), float(size[2])


def volume(corners: Any) -> float:
    return float(ConvexHull(np.array(corners)).volume)


# --- sizes ----------------------------------------------------------------------------------

RUNS = {"mitre": (True, True), "sides-run": (False, True), "top-runs": (True, False)}
"""Whether top and bottom, and whether the sides, are as long outside as the case."""


@pytest.mark.parametrize("corner", RUNS)
def test_boards_of_a_case_are_as_long_as_sums_say(corner: str) -> None:
    luck = random.Random(corner)
    for _ in range(10):
        w, h, d = (round(luck.uniform(150.0, 1200.0), 1) for _ in range(3))
        t, t2 = round(luck.uniform(3.0, 38.0), 1), round(luck.uniform(3.0, 38.0), 1)
        of_top = t if corner == "mitre" else t2
        told = tables(thick=t, stocks={"top": stock(of_top)}, case=case(w, h, d, corner=corner))
        told["case"]["stocks"] = {"top": "top"}
        found = made(told)
        wide, tall = RUNS[corner]
        flat = w if wide else w - 2 * t
        up = h if tall else h - t - of_top
        inside = (w - 2 * t, h - t - of_top)
        for name in ("bottom", "top"):
            one = board(found, name)
            assert one.outer_length == pytest.approx(flat, abs=SAME)
            assert one.inner_length == pytest.approx(
                inside[0] if corner == "mitre" else flat, abs=SAME
            )
        for name in ("left", "right"):
            one = board(found, name)
            assert one.outer_length == pytest.approx(up, abs=SAME)
            assert one.inner_length == pytest.approx(
                inside[1] if corner == "mitre" else up, abs=SAME
            )
        assert {one.width for one in found.shell.boards} == {d}
        assert board(found, "top").thickness == of_top


@pytest.mark.parametrize("corner", RUNS)
def test_boards_of_a_case_fill_what_lies_between_outside_and_inside(corner: str) -> None:
    w, h, d, t = 500.0, 400.0, 200.0, 19.1
    found = made(tables(thick=t, case=case(w, h, d, corner=corner)))
    total = sum(volume(piece) for one in found.shell.boards for piece in one.pieces)
    assert total == pytest.approx((w * h - (w - 2 * t) * (h - 2 * t)) * d, rel=1e-9)


@pytest.mark.parametrize("sides", range(3, 13))
def test_boards_of_a_polygon_fill_what_lies_between_outside_and_inside(sides: int) -> None:
    length, depth, t = 300.0, 150.0, 18.0
    found = made(tables(thick=t, polygon=polygon(sides, length, depth)))
    total = sum(volume(one.shape) for one in found.boards)
    # two regular polygons one in the other; the inner one's sides by the mitre's right triangle
    tan = np.tan(np.pi / sides)
    inner = length - 2 * t * tan
    assert total == pytest.approx(sides * (length**2 - inner**2) / 4 / tan * depth, rel=1e-9)
    assert {one.name for one in found.boards} == {f"side {i + 1}" for i in range(sides)}
    for one in found.boards:
        assert one.inner_length == pytest.approx(inner, abs=SAME)


def test_a_board_is_drawn_at_its_largest_reading_with_its_finish() -> None:
    told = tables(case=case(corner="sides-run"))
    told["stock"]["case"] = stock(18.9, 19.2, 19.0, finish="0.1 mm")
    found = made(told)
    assert board(found, "left").thickness == pytest.approx(19.2 + 2 * 0.1)
    assert board(found, "top").outer_length == pytest.approx(620.0 - 2 * 19.4)


BACK = {"stock": "back"}


def backed(fit: str, **more: Any) -> Tables:
    t, b = 18.0, 6.0
    told = tables(thick=t, stocks={"back": stock(b)}, case=case(600.0, 500.0, 300.0))
    told["case"]["back"] = {**BACK, "fit": fit, **more}
    return told


def test_an_inset_back_is_a_little_less_than_the_opening() -> None:
    found = made(backed("inset"))
    # 600 - 2·18 and 500 - 2·18 inside, 1 mm less in all (common practice, no source)
    assert extent(board(found, "back")) == pytest.approx((563.0, 6.0, 463.0))
    assert found.shell.clear == pytest.approx(300.0 - 6.0)
    assert board(found, "back").enters == "fit out"


def test_an_overlay_back_is_as_large_as_the_case_and_takes_its_depth() -> None:
    found = made(backed("overlay"))
    assert extent(board(found, "back")) == pytest.approx((600.0, 6.0, 500.0))
    assert {one.width for one in found.shell.boards} == {294.0}
    assert max(corner[1] for one in found.boards for corner in one.shape) == pytest.approx(300.0)


def test_a_back_in_a_groove_reaches_into_it_on_four_sides() -> None:
    told = backed("groove", groove_depth="5 mm", groove_width="6.5 mm", groove_land="12 mm")
    found = made(told)
    # inside plus the groove's depth on both sides, less 1 mm of play in all
    assert extent(board(found, "back")) == pytest.approx((564.0 + 10.0 - 1.0, 6.0, 473.0))
    groove = found.shell.groove
    assert groove is not None
    assert (groove.front, groove.rear, groove.depth) == pytest.approx((281.5, 288.0, 5.0))
    back = np.array(board(found, "back").shape)
    assert groove.front < back[:, 1].min()
    assert back[:, 1].max() < groove.rear
    assert board(found, "back").enters == "dry fit"
    bottom = board(found, "bottom")
    cut = volume(bottom.shape) - sum(volume(piece) for piece in bottom.pieces)
    # the groove's section along a mitred board, from depth 13 to 18: mean length 600 - 2·15.5
    assert cut == pytest.approx(6.5 * 5.0 * (600.0 - 2 * 15.5), rel=1e-9)


@pytest.mark.parametrize(
    ("fixing", "short"),
    # how much shorter than the opening: common practice, no source
    [("dowel", 0.0), ("through-dowel", 0.0), ("bracket", 0.5), ("pin", 2.0)],
)
def test_a_shelf_fills_the_width_less_its_play(fixing: str, short: float) -> None:
    told = tables(thick=18.0, case=case(600.0, 500.0, 300.0))
    told["shelf"] = [shelf("a", 200.0, fixing=fixing, setback="20 mm")]
    found = made(told)
    one = board(found, "shelf a")
    assert extent(one) == pytest.approx((564.0 - short, 280.0, 18.0))
    assert one.outer_length == one.inner_length == pytest.approx(564.0 - short)
    assert one.shape[0][2] == pytest.approx(18.0 + 200.0)
    assert one.held_back


def test_a_shelf_above_another_stands_clear_of_its_top() -> None:
    told = tables(thick=18.0, stocks={"thin": stock(12.0)}, case=case(600.0, 700.0, 300.0))
    told["shelf"] = [
        shelf("high", 90.0, above="middle"),
        shelf("low", 100.0, stock="thin"),
        shelf("middle", 80.0, above="low"),
    ]
    undersides = {s.table.name: s.underside for s in made(told).shelves}
    low = 18.0 + 100.0
    middle = low + 12.0 + 80.0
    assert undersides == pytest.approx({"low": low, "middle": middle, "high": middle + 18.0 + 90.0})


def test_a_shelf_is_cut_to_the_smallest_width_measured() -> None:
    told = tables(thick=18.0, case=case(600.0, 500.0, 300.0), shelf=[shelf("a", 200.0)])
    told["as_built"] = {"inner_width": ["563.8 mm", "563.5 mm", "564.1 mm"]}
    found = made(told)
    assert board(found, "shelf a").outer_length == pytest.approx(563.5)
    (finding,) = found.findings
    assert finding.check == "racked"
    assert finding.measured == pytest.approx(0.6)
    assert "563.5 mm to 564.1 mm" in finding.message


@pytest.mark.parametrize(("measured", "noted"), [(561.5, False), (560.5, True), (568.0, True)])
def test_a_width_measured_far_from_the_computed_one_is_noted(measured: float, noted: bool) -> None:
    told = tables(thick=18.0, case=case(600.0, 500.0, 300.0), shelf=[shelf("a", 200.0)])
    told["as_built"] = {"inner_width": [mm(measured)]}
    checks = [finding.check for finding in made(told).findings]
    assert checks == (["as-built-apart"] if noted else [])


# --- refused --------------------------------------------------------------------------------


def test_a_piece_is_a_case_or_a_polygon() -> None:
    says(tables(), "p.toml has no [case] and no [polygon].", "Give one of the two.")
    both = tables(case=case(), polygon=polygon(6, 300.0))
    says(both, "p.toml has both a [case] and a [polygon].", "Give one of the two.")


@pytest.mark.parametrize(
    ("said", "remedy"), [("caes", "Did you mean case?"), ("zzz", "Known here: case.")]
)
def test_a_stock_that_is_not_there_is_refused_with_those_there_are(said: str, remedy: str) -> None:
    fault = says(tables(case={**case(), "stock": said}), f"there is no stock '{said}'", remedy)
    assert fault.value == said


def test_every_table_that_names_no_stock_is_told() -> None:
    told = tables(case=case(back={"stock": "b"}, stocks={"top": "t"}), shelf=[shelf("a", 100.0)])
    told["shelf"][0]["stock"] = "s"
    # the shelf's place is not worked out where the case is not, but its stock is
    assert [fault.value for fault in faults(told)] == ["t", "b", "s"]


def test_sheets_too_far_apart_for_one_slot_are_told_with_the_distance() -> None:
    told = tables(case=case())
    told["stock"]["case"] = {
        "sheet": [
            {"id": "A", "readings": ["19.2 mm", "19.1 mm"]},
            {"id": "B", "readings": ["18.4 mm", "18.5 mm"]},
        ]
    }
    says(told, "0.80 mm apart", "Make each sheet a stock of its own")


@pytest.mark.parametrize(("sheet", "apart"), [(18.5, None), (18.3, "0.7 mm")])
def test_an_unequal_mitre_is_refused_with_both_thicknesses(sheet: float, apart: str | None) -> None:
    told = tables(thick=19.0, stocks={"thin": stock(sheet)}, case=case(stocks={"left": "thin"}))
    if apart is None:  # half a millimetre can be hidden
        assert made(told)
        return
    found = faults(told)
    assert len(found) == 2  # at both ends of the odd one
    for fault in found:
        for part in ("19 mm", f"{sheet:g} mm", apart, "0.5 mm", 'corner = "sides-run"'):
            assert part in str(fault)


@pytest.mark.parametrize("corner", ["sides-run", "top-runs"])
def test_boards_of_a_butt_may_be_unlike(corner: str) -> None:
    told = tables(stocks={"thin": stock(9.0)}, case=case(corner=corner, stocks={"left": "thin"}))
    assert board(made(told), "left").thickness == 9.0


def test_corners_a_saw_cannot_cut_are_warned_of() -> None:
    (finding,) = made(tables(polygon=polygon(3, 400.0))).findings
    assert (finding.check, finding.severity) == ("saw-tilt", "mend")
    # 90° - 60°/2, past the 45° a blade tilts to
    assert finding.measured == pytest.approx(60.0)
    assert finding.limit == 45.0
    assert "60°" in finding.message
    assert "45°" in finding.message
    assert finding.remedy
    assert made(tables(polygon=polygon(4, 400.0))).findings == ()


def test_a_polygon_too_small_for_its_sheet_is_refused() -> None:
    # 3 sides: 130 - 2·25·tan 60° = 43.4 inside; 120 leaves 33.4
    assert made(tables(thick=25.0, polygon=polygon(3, 130.0)))
    says(
        tables(thick=25.0, polygon=polygon(3, 120.0)),
        "33.4 mm long inside",
        "40 mm or more is wanted",
        "thinner sheet",
    )


def test_a_polygon_has_no_shelves() -> None:
    says(tables(polygon=polygon(6, 300.0), shelf=[shelf("a", 100.0)]), "A polygon has no shelves")


@pytest.mark.parametrize("key", ["width", "height"])
def test_a_case_with_no_room_inside_is_refused(key: str) -> None:
    told = tables(thick=38.0, case=case())
    told["case"][key] = "100 mm"
    fault = says(told, "100 mm", "38 mm", "24 mm inside", f"Make the {key} 116 mm or more.")
    assert fault.where == f"case.{key}"


def test_fixings_that_a_corner_cannot_take_are_refused() -> None:
    says(tables(case=case(corner="mitre", fixing="screw")), "slanting ends", '"spline"')
    says(tables(case=case(corner="top-runs", fixing="spline")), "a butt has none", '"dowel"')


def test_a_back_thicker_than_its_groove_is_refused_with_both_numbers() -> None:
    fault = says(
        backed("groove", groove_width="5.5 mm"),
        "6 mm at its thickest",
        "5.5 mm wide",
        "Cut the groove 6.2 mm wide, or rebate the back.",
    )
    assert (fault.where, fault.value) == ("case.back.groove_width", "5.5 mm")
    assert made(backed("groove", groove_width="6 mm")).back


def test_a_groove_more_than_half_through_is_refused() -> None:
    fault = says(
        backed("groove", groove_depth="9.5 mm"), "9.5 mm deep", "18 mm", "Cut it 9 mm deep or less"
    )
    assert fault.where == "case.back.groove_depth"
    assert made(backed("groove", groove_depth="9 mm"))


def test_a_groove_too_near_the_front_is_refused() -> None:
    # 300 - 60 - 200 = 40 is left in front of it, then 39
    assert made(backed("groove", groove_width="60 mm", groove_land="200 mm"))
    told = backed("groove", groove_width="60 mm", groove_land="200 mm")
    told["case"]["depth"] = "299 mm"
    says(told, "39 mm from the front", "40 mm or more is wanted")


def test_sizes_of_a_groove_that_is_none_are_refused() -> None:
    found = faults(backed("inset", groove_width="7 mm", groove_land="10 mm"))
    assert [fault.where for fault in found] == [
        "case.back.groove_width",
        "case.back.groove_land",
    ]
    assert all("the back is inset" in fault.message for fault in found)


def test_a_back_as_thick_as_the_case_is_deep_is_refused() -> None:
    told = backed("inset")
    told["case"]["depth"] = "45 mm"
    says(told, "A back of 6 mm in a case 45 mm deep leaves 39 mm")


def shelved(*shelves: Tables, **more: Any) -> Tables:
    return tables(thick=18.0, case=case(600.0, 500.0, 300.0, **more), shelf=list(shelves))


def test_shelves_that_overlap_are_refused_with_where_both_are() -> None:
    fault = says(
        shelved(shelf("a", 200.0), shelf("b", 210.0)),
        "200 mm to 218 mm",
        "210 mm to 228 mm",
        "Set them farther apart.",
    )
    assert fault.where == "shelf b.height"
    assert made(shelved(shelf("a", 200.0), shelf("b", 218.0)))  # one on the other


def test_a_shelf_that_leaves_the_case_is_refused_with_how_far() -> None:
    fault = says(
        shelved(shelf("a", 450.0)),
        "underside at 450 mm",
        "thickness of 18 mm reach 468 mm",
        "464 mm high inside",
        "Set it 4 mm lower or more",
    )
    assert (fault.where, fault.value) == ("shelf a.height", "450 mm")
    assert made(shelved(shelf("a", 446.0)))


def test_a_shelf_set_back_too_far_is_refused() -> None:
    fault = says(
        shelved(shelf("a", 200.0, setback="261 mm")), "261 mm", "300 mm", "39 mm", "260 mm or less"
    )
    assert fault.where == "shelf a.setback"


def test_shelves_above_each_other_in_a_circle_are_refused() -> None:
    found = faults(shelved(shelf("a", 100.0, above="b"), shelf("b", 100.0, above="a")))
    assert found
    assert all("in a circle" in fault.message for fault in found)
    assert "in a circle" in str(faults(shelved(shelf("a", 100.0, above="a")))[0])


def test_a_shelf_above_one_that_is_not_there_is_refused() -> None:
    fault = says(shelved(shelf("a", 100.0, above="b")), "above 'b'", "Known here: a.")
    assert (fault.where, fault.value) == ("shelf a.above", "b")


def test_two_shelves_of_one_name_are_refused() -> None:
    says(shelved(shelf("a", 100.0), shelf("a", 200.0)), "Two shelves are called 'a'.")


def test_all_that_is_wrong_with_a_case_is_told_at_once() -> None:
    told = backed("groove", groove_width="5 mm", groove_depth="10 mm")
    told["case"] |= {"width": "70 mm", "height": "70 mm", "fixing": "screw"}
    assert [fault.where for fault in faults(told)] == [
        "case.width",
        "case.height",
        "case.fixing",
        "case.back.groove_width",
        "case.back.groove_depth",
    ]


def test_all_that_is_wrong_with_shelves_is_told_at_once() -> None:
    told = shelved(
        shelf("a", 200.0), shelf("b", 205.0), shelf("c", 470.0), shelf("d", 50.0, setback="280 mm")
    )
    assert {fault.where for fault in faults(told)} == {
        "shelf b.height",
        "shelf c.height",
        "shelf d.setback",
    }


@pytest.mark.parametrize("thick", [3.0, 6.35, 12.0, 19.05, 25.0, 38.0])
def test_numbers_in_messages_are_those_of_the_file(thick: float) -> None:
    told = tables(thick=thick, case=case(600.0, 500.0, 300.0), shelf=[shelf("a", 499.0)])
    (fault,) = faults(told)
    assert format_length(thick) in fault.message
    assert mm(499.0) in fault.message
    assert format_length(500.0 - 2 * thick) in fault.message
