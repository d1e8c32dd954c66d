"""Holes: where each lies and how deep it is, worked out anew; what may not be drilled."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from fixtures.assembly import BitInHand, Board
from fixtures.errors import Fault, InputError, PartRefused, collecting
from fixtures.piece.corners import screw_for
from fixtures.piece.drilling import Hole, _apart, check, holes, long_bit
from fixtures.piece.joining import joints
from fixtures.piece.panels import panels
from fixtures.piece.pins import LENGTHS, pin_size, places, through_length
from fixtures.piece.tables import DowelTable
from fixtures.printer import Printer
from fixtures.stock import Stock
from tests.piece.making import NAME, Tables, case, draw, mm, read, shelf, stock, tables

T, W, H, D = 18.0, 600.0, 500.0, 300.0


def drilled(told: Tables) -> tuple[tuple[Hole, ...], dict[str, Board]]:
    """All holes, checked, and the boards by name.

    Raises:
        InputError: all that is wrong with them.
    """
    piece = read(told)
    made = panels(piece, NAME)
    bits = tuple(BitInHand(b.diameter, b.stands_out, b.point) for b in piece.bit)
    faults: list[Fault] = []
    found: tuple[Hole, ...] = ()
    with collecting(faults):
        found = holes(joints(made, piece, Printer(), bits), bits)
        check(found, made.boards)
    if faults:
        raise InputError(*faults)
    return found, {board.name: board for board in made.boards}


def faults(told: Tables) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as refusal:
        drilled(told)
    for fault in refusal.value.faults:
        assert fault.where
        assert fault.message.endswith(".")
        assert fault.remedy.endswith(".")
    return refusal.value.faults


def a_case(*shelves: Tables, thick: float = T, **more: Any) -> Tables:
    return tables(thick=thick, case=case(W, H, D, **more), shelf=list(shelves))


def on(found: tuple[Hole, ...], board: str, joint: str = "") -> list[Hole]:
    return [hole for hole in found if hole.board == board and hole.joint.startswith(joint)]


def mouths(found: list[Hole]) -> set[tuple[float, float, float]]:
    return {(round(x, 6), round(y, 6), round(z, 6)) for x, y, z in (hole.at for hole in found)}


# --- where they lie -------------------------------------------------------------------------


def test_dowels_of_a_shelf_stand_half_its_thickness_up_and_evenly_from_front_to_rear() -> None:
    found, _ = drilled(a_case(shelf("a", 210.0, fixing="dowel", dowel={"count": 3})))
    # first 40 mm from the front, as far from the rear, one in the middle; 18/2 over the underside
    wanted = {(T, y, T + 210.0 + 9.0) for y in (40.0, 150.0, 260.0)}
    assert mouths(on(found, "left")) == wanted
    assert mouths([h for h in on(found, "shelf a") if h.axis[0] > 0]) == wanted
    assert mouths(on(found, "right")) == {(W - T, y, z) for _, y, z in wanted}


@pytest.mark.parametrize(
    ("thick", "off"),
    # half the panel to the nearest 0.5 mm, so that one setting of the guide serves a batch
    [(18.0, 9.0), (18.4, 9.0), (18.6, 9.5), (19.1, 9.5), (16.2, 8.0), (25.0, 12.5)],
)
def test_dowels_stand_at_half_the_thickness_to_the_half_millimetre(
    thick: float, off: float
) -> None:
    found, _ = drilled(a_case(shelf("a", 210.0, fixing="dowel"), thick=thick))
    heights = {round(hole.at[2] - thick - 210.0, 6) for hole in found}
    assert heights == {off}
    assert {hole.from_datum for hole in found} == {off}


@pytest.mark.parametrize("kind", ["sides-run", "top-runs"])
def test_dowels_of_a_corner_lie_in_both_boards_at_one_place(kind: str) -> None:
    found, boards = drilled(a_case(corner=kind, fixing="dowel", dowel={"count": 3}))
    inside = {"left": T, "right": W - T, "bottom": T, "top": H - T}
    running = ("left", "right") if kind == "sides-run" else ("bottom", "top")
    for name in running:
        axis = 0 if kind == "sides-run" else 2
        own = on(found, name)
        assert len(own) == 6
        assert {round(hole.at[axis], 6) for hole in own} == {inside[name]}
        # 9 mm in from the outside faces of the boards that end on it
        far = (9.0, (H if axis == 0 else W) - 9.0)
        assert {round(hole.at[2 - axis], 6) for hole in own} == set(far)
        assert {round(hole.at[1], 6) for hole in own} == {40.0, 150.0, 260.0}
    mates = [hole for hole in found if hole.board not in running]
    assert mouths(mates) == mouths([hole for hole in found if hole.board in running])
    assert set(boards) == {"left", "right", "top", "bottom"}


def test_screws_go_through_the_running_board_into_the_middle_of_the_end() -> None:
    found, _ = drilled(a_case(corner="top-runs", fixing="screw", screw={"count": 3}))
    top, ys = on(found, "top"), (40.0, 150.0, 260.0)
    assert mouths(top) == {(x, y, H) for x in (9.0, W - 9.0) for y in ys}
    assert all(hole.through and hole.depth == pytest.approx(T) for hole in top)
    left = on(found, "left")
    assert mouths(left) == {(9.0, y, z) for y in ys for z in (T, H - T)}
    # 20 mm of hold for the screw (common practice, no source)
    assert {hole.depth for hole in left} == {20.0}
    assert all("widen the hole to 4.5 mm through top alone" in hole.then for hole in top)
    assert not any(hole.then for hole in left)


def test_a_bit_that_is_longer_than_an_ordinary_one_is_told_of_with_another_way() -> None:
    """DIN 338 (from memory): 3 mm bits are 61 mm long, of which a chuck takes about 20."""
    assert long_bit(3.0, 22.5, 18.0) == ""
    said = long_bit(3.0, 22.5, 38.8)
    assert "must stand out 62 mm" in said
    assert "is 61 mm in all" in said
    assert "the collar 38.8 mm from the tip" in said
    assert long_bit(3.0, 0.0, 60.0) == ""


@pytest.mark.parametrize(
    ("pilot", "units", "name"),
    [(3.0, "mm", "4.0 mm chipboard"), (2.0, "mm", "3.0 mm chipboard"), (2.5, "in", "#8"),
     (6.0, "mm", None)],
)  # fmt: skip
def test_the_slimmest_screw_that_the_pilot_suits_is_named(
    pilot: float, units: Any, name: str | None
) -> None:
    """Pilots of 4.0 mm screws are 2.5 to 3.0 mm in hardwood (from memory); of #8, 5/64 to 1/8 in
    (charts, common practice)."""
    found = screw_for(pilot, units)
    assert (found.name if found else None) == name


def test_through_dowels_come_in_from_outside_at_the_middle_of_the_shelf() -> None:
    told = a_case(
        shelf("a", 210.0, fixing="through-dowel", setback="20 mm",
              dowel={"diameter": "8 mm", "length": "50 mm", "count": 3})
    )  # fmt: skip
    found, _ = drilled(told)
    z, ys = T + 210.0 + 9.0, (60.0, 160.0, 260.0)
    assert mouths(on(found, "left")) == {(0.0, y, z) for y in ys}
    shelf_holes = on(found, "shelf a")
    assert mouths(shelf_holes) == {(x, y, z) for x in (T, W - T) for y in ys}
    # 50 of pin, 18 of it in the side, and 2 mm that stand out to be trimmed
    assert {hole.depth for hole in shelf_holes} == {50.0 - 18.0 - 2.0}


def test_bracket_screws_go_under_the_shelf_and_into_the_side_below_it() -> None:
    bracket = {"holes": ["12 mm", "28 mm"], "from_edge": "40 mm"}
    told = a_case(shelf("a", 210.0, fixing="bracket", setback="20 mm", bracket=bracket))
    found, _ = drilled(told)
    under = T + 210.0
    rows = (60.0, D - 40.0)  # 40 from the shelf's front and from its rear
    sides = {(T, y, under - hole) for y in rows for hole in (12.0, 28.0)}
    assert mouths(on(found, "left")) == sides
    # the shelf is 0.5 mm shorter than the opening, in all
    ends = (T + 0.25, W - T - 0.25)
    wanted = {(ends[0] + hole, y, under) for y in rows for hole in (12.0, 28.0)}
    wanted |= {(ends[1] - hole, y, under) for y in rows for hole in (12.0, 28.0)}
    assert mouths(on(found, "shelf a")) == wanted


def test_rows_of_shelf_pins_stand_in_the_system_that_trades_use() -> None:
    found, _ = drilled(a_case(shelf("a", 210.0, fixing="pin")))
    # 5 mm holes 37 mm from front and rear, 32 mm apart (the 32 mm system); the middle one of five
    # carries the shelf on its top
    z = T + 210.0 - 2.5
    rows = {(T, y, z + 32.0 * i) for y in (37.0, D - 37.0) for i in (-2, -1, 0, 1, 2)}
    assert mouths(on(found, "left")) == rows
    assert {hole.diameter for hole in found} == {5.0}


@pytest.mark.parametrize("seed", range(30))
def test_every_hole_says_how_far_it_is_from_the_front_of_its_board(seed: int) -> None:
    """Of what is drawn at random and can be drilled at all."""
    try:
        found, boards = drilled(draw(seed))
    except InputError:
        return
    for hole in found:
        shape = boards[hole.board].shape
        away = hole.at[1] - min(corner[1] for corner in shape)
        if hole.face == "upper edge":  # from the outside face, the rear board's to the rear
            if hole.board == "plinth rear":
                away = max(corner[1] for corner in shape) - hole.at[1]
        elif hole.board.startswith("plinth"):  # its upper edge counts as its front
            away = max(corner[2] for corner in shape) - hole.at[2]
        assert away == pytest.approx(hole.from_front, abs=1e-6), hole


# --- how deep they are ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thick", "size", "length", "point", "face", "tip"),
    # a third of the pin in the face (one author), 1 mm deeper than it for glue (two trade texts),
    # the drill's point ahead of that: 0.3 d of a 118° cone (d / 2 / tan 59°), 2.5 of a brad
    [
        (19.0, 8.0, 40.0, "118 deg", 14.0, 16.4),
        (19.0, 8.0, 40.0, "brad", 14.0, 16.5),
        (25.0, 10.0, 50.0, "118 deg", 18.0, 21.0),
        (16.0, 6.0, 30.0, "118 deg", 11.0, 12.8),
        # 2 mm of skin are left past the tip: 18 - 2 - 2.4 - 1 = 12.6, so 12 of the pin
        (18.0, 8.0, 40.0, "118 deg", 13.0, 15.4),
    ],
)
def test_depth_of_a_dowels_holes(
    thick: float, size: float, length: float, point: str, face: float, tip: float
) -> None:
    dowel = {"diameter": mm(size), "length": mm(length)}
    told = a_case(shelf("a", 210.0, fixing="dowel", dowel=dowel), thick=thick)
    told["bit"] = [{"diameter": mm(size), "stands_out": "100 mm", "point": point}]
    found, _ = drilled(told)
    for hole in on(found, "left"):
        assert (hole.depth, hole.tip) == pytest.approx((face, tip))
    for hole in on(found, "shelf a"):
        # both holes together take the pin and 1 mm of glue in each
        assert hole.depth == pytest.approx(length + 2.0 - face)


def test_a_side_is_as_thin_as_its_thinnest_reading_where_skin_is_left() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel", dowel={"diameter": "8 mm", "length": "40 mm"}))
    told["stock"]["case"] = stock(19.0, 18.2, 18.9)
    found, _ = drilled(told)
    # 18.2 - 2 - 2.4 - 1 = 12.8, so 12 of the pin, and 1 for glue; of 19.0 it would be 13
    assert {hole.depth for hole in on(found, "left")} == {13.0}


@pytest.mark.parametrize("seed", range(60))
def test_dowels_keep_the_rules_of_the_trade(seed: int) -> None:
    luck = random.Random(seed)
    thick, wide = round(luck.uniform(12.0, 24.0), 1), round(luck.uniform(80.0, 600.0), 1)
    told = tables(thick=thick, case=case(W, H, wide), shelf=[shelf("a", 210.0, fixing="dowel")])
    found, _ = drilled(told)
    own = sorted(on(found, "left"), key=lambda hole: hole.at[1])
    size = own[0].diameter
    assert thick / 3 <= size <= thick / 2  # two trade texts agree
    for hole in own:
        assert min(hole.from_front, wide - hole.from_front) >= size  # common practice
        assert thick - hole.tip >= 2.0 - 1e-9
        assert hole.depth - 1.0 >= size
    for one, two in itertools.pairwise(own):
        assert 25.0 <= two.at[1] - one.at[1] <= 200.0  # common practice


# --- refused --------------------------------------------------------------------------------


def test_dowels_wider_than_half_the_panel_are_refused_with_both_numbers() -> None:
    found = faults(a_case(shelf("a", 210.0, fixing="dowel", dowel={"diameter": "10 mm"})))
    for fault in found:
        assert "10 mm" in fault.message
        assert "half of a board of 18 mm" in fault.message
        assert "9 mm or less" in fault.remedy
    assert drilled(a_case(shelf("a", 210.0, fixing="dowel", dowel={"diameter": "9 mm"})))


def test_a_board_that_no_dowel_suits_is_named_with_its_thickness() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel"), thick=9.0)
    for fault in faults(told):
        assert fault.where == "shelf a"
        assert fault.message.startswith("shelf a: ")
        assert "9 mm thick" in fault.message
        assert "12 mm or more" in fault.remedy


@pytest.mark.parametrize(("units", "size"), [("mm", 12.0), ("in", 12.7)])
def test_a_board_too_thick_for_the_rule_takes_the_stoutest_pin(units: str, size: float) -> None:
    # a third of 39 is more than the stoutest pin of either series
    told = a_case(shelf("a", 150.0, fixing="dowel"), thick=39.0) | {"piece": {"units": units}}
    found, _ = drilled(told)
    assert {hole.diameter for hole in found} == {size}


def test_a_face_too_thin_for_a_dowel_is_refused_with_skin_and_depth() -> None:
    dowel = {"diameter": "6 mm", "length": "30 mm"}
    told = tables(
        thick=9.0,
        stocks={"thick": stock(18.0)},
        case=case(W, H, D),
        shelf=[shelf("a", 210.0, fixing="dowel", stock="thick", dowel=dowel)],
    )
    # half of 9 is 4.5: too wide already; at 12 it is just right, and 12 - 2 - 1.8 - 1 = 7.2 deep
    assert all("9 mm" in fault.message for fault in faults(told))
    told["stock"]["case"] = stock(12.0)
    found, _ = drilled(told)
    assert {hole.depth for hole in on(found, "left")} == {8.0}
    told["stock"]["case"] = stock(12.0, 10.8)
    for fault in faults(told):
        # no 6 mm of pin fit any more: 10.8 - 2 - 1.8 - 1 = 6.0 does
        assert "10.8 mm" in fault.message


def test_dowels_that_meet_inside_a_short_board_are_refused() -> None:
    told = tables(thick=T, case=case(T * 2 + 60.0, H, D, corner="mitre"))
    told["shelf"] = [shelf("a", 210.0, fixing="dowel", dowel={"diameter": "8 mm"})]
    # 28 deep and 2.4 of point from both ends of 60
    found = faults(told)
    assert any("meet inside it" in fault.message and "0 mm" in fault.message for fault in found)
    told["case"]["width"] = mm(T * 2 + 80.0)
    assert drilled(told)


def test_a_shelfs_dowels_that_meet_those_of_a_corner_are_refused() -> None:
    def with_shelf(down: float) -> Tables:
        told = a_case(corner="top-runs", fixing="dowel", dowel={"count": 3})
        inside = H - 2 * T
        told["shelf"] = [shelf("a", inside - T - down, fixing="dowel", dowel={"count": 3})]
        return told

    found = faults(with_shelf(10.0))
    assert {fault.where for fault in found} == {"shelf a at left", "shelf a at right"}
    for fault in found:
        assert "meet inside it" in fault.message
        assert "8 mm" in fault.message
        assert "1 mm is wanted" in fault.message
    assert drilled(with_shelf(40.0))


def test_holes_that_overlap_are_refused_with_what_is_between_them() -> None:
    pins = {"fixing": "pin", "pin": {"count": 1}}
    told = a_case(shelf("a", 200.0, **pins), shelf("b", 218.0, **pins))
    assert drilled(told)  # 18 between centres, 13 of wood
    pins = {"fixing": "pin", "pin": {"count": 2, "pitch": "16 mm"}}
    # b's lower hole is 16 below its own: 202 - 2.5 - 16 is 2 under the upper hole of a
    told = a_case(shelf("a", 200.0, **pins), shelf("b", 218.0, **pins))
    found = faults(told)
    for fault in found:
        assert "overlap" in fault.message
        assert "0 mm is between them" in fault.message
    assert len(found) == 4  # two rows in two sides


@pytest.mark.parametrize(
    ("depth", "left"), [(15.0, None), (17.0, "0.1 mm"), (19.0, "comes out of it")]
)
def test_a_hole_that_pierces_a_face_is_refused(depth: float, left: str | None) -> None:
    told = tables(thick=20.0, case=case(W, H, D))
    told["shelf"] = [shelf("a", 210.0, fixing="pin", pin={"depth": mm(depth)})]
    if left is None:  # 15 and 1.5 of point leave 3.5
        assert drilled(told)
        return
    if left == "0.1 mm":
        told["stock"]["case"] = stock(18.6)  # 17 and 1.5 of point
    for fault in faults(told):
        assert left in fault.message
        assert "2 mm must be left" in fault.message
        assert mm(depth + 1.5) in fault.message


def test_pins_beside_the_shelf_are_refused() -> None:
    """A shelf that stands behind its front pins would fall."""
    told = a_case(shelf("a", 210.0, fixing="pin", setback="60 mm"))
    found = faults(told)
    assert any("60 mm" in fault.message and "37 mm" in fault.message for fault in found)
    assert drilled(a_case(shelf("a", 210.0, fixing="pin", setback="20 mm")))


def test_a_row_too_close_or_too_wide_is_refused_with_the_count_that_goes() -> None:
    def pins(count: int) -> Tables:
        return a_case(shelf("a", 210.0, fixing="dowel", dowel={"count": count}))

    # 220 mm between the first and the last
    for fault in faults(pins(20)):
        assert "20 pins in 300 mm stand 11 mm apart; 25 mm or more is wanted." in fault.message
        assert fault.remedy == "Use 9 or fewer."
    assert drilled(pins(9))
    deep = tables(thick=T, case=case(W, H, 700.0), shelf=pins(2)["shelf"])
    for fault in faults(deep):
        assert "2 pins in 700 mm stand 620 mm apart" in fault.message
    remedy = int(faults(deep)[0].remedy.split()[1])
    assert drilled(tables(thick=T, case=case(W, H, 700.0), shelf=pins(remedy)["shelf"]))


def test_a_joint_too_narrow_for_a_guide_is_refused() -> None:
    told = tables(thick=T, case=case(W, H, 49.0), shelf=[shelf("a", 210.0, fixing="dowel")])
    for fault in faults(told):
        assert "49 mm" in fault.message
        assert "50 mm is wanted" in fault.message


@pytest.mark.parametrize(("land", "clear"), [(10.0, True), (36.0, False), (60.0, True)])
def test_dowels_that_would_come_out_in_the_groove_are_refused(land: float, clear: bool) -> None:
    """The last dowel stands 40 mm from the rear, 8 mm wide; the groove lies where its land ends."""
    back = {"stock": "back", "fit": "groove", "groove_width": "6.5 mm", "groove_depth": "6 mm"}
    told = a_case(corner="top-runs", fixing="dowel", dowel={"count": 3, "diameter": "8 mm"})
    told["stock"]["back"] = stock(6.0)
    told["case"]["back"] = {**back, "groove_land": mm(land)}
    if clear:
        assert drilled(told)
        return
    found = faults(told)
    assert found
    assert all("groove" in fault.message for fault in found)


def test_all_that_is_wrong_with_the_holes_is_told_at_once() -> None:
    told = a_case(
        shelf("a", 60.0, fixing="dowel", dowel={"diameter": "12 mm"}),
        shelf("b", 210.0, fixing="dowel", dowel={"count": 20}),
        corner="top-runs",
        fixing="dowel",
        dowel={"length": "19 mm", "diameter": "11 mm"},
    )
    places = {fault.where.split(" at ")[0].split("-")[0] for fault in faults(told)}
    assert {"shelf a.dowel.diameter", "shelf b.dowel.count", "case.dowel.diameter"} == places


@pytest.mark.parametrize("fixing", ["dowel", "screw"])
@pytest.mark.parametrize("bed", [180.0, 220.0, 300.0])
@pytest.mark.parametrize("depth", [60.0, 120.0, 240.0, 299.0, 360.0, 500.0, 700.0])
def test_a_count_left_out_always_fits(fixing: str, bed: float, depth: float) -> None:
    """25 to 200 mm apart (common practice, as standards.dowels), 25 mm or more from both edges."""
    kind: Any = "screws" if fixing == "screw" else "pins"
    row = places(depth, None, 3.0, Printer(bed=(bed, bed, bed)), "corners", kind=kind)
    assert all(25.0 <= place <= depth - 25.0 for place in row)
    assert all(25.0 <= b - a <= 200.0 for a, b in pairwise(row))
    assert len(row) >= min(2, int(depth // 100) + 1)


def test_screws_stand_alike_from_both_edges() -> None:
    row = places(359.0, None, 3.0, Printer(), "corners", kind="screws")
    assert [359.0 - place for place in reversed(row)] == pytest.approx(list(row))


def test_a_count_that_does_not_fit_names_its_key() -> None:
    told = a_case(corner="sides-run", fixing="screw", screw={"count": 15})
    (fault,) = faults(told)
    assert fault.where == "case.screw.count"
    assert "15 screws" in fault.message
    assert "pins" not in fault.message


def test_a_bed_too_small_for_two_bores_is_named_and_nothing_is_negative() -> None:
    """Two bores 25 mm apart, 40 mm in, 8 mm pins and 10 mm past them: 25 + 2 × 58 = 141 mm."""
    with pytest.raises(PartRefused) as caught:
        places(300.0, None, 8.0, Printer(bed=(120.0, 120.0, 120.0)), "shelf a", key="shelf a.dowel")
    (fault,) = caught.value.faults
    assert fault.where == "printer.bed"
    assert "141 mm long" in fault.message
    assert "-" not in fault.message
    assert "shelf a.dowel.count" in fault.remedy


@pytest.mark.parametrize(
    ("corner", "fixing", "table"),
    [("sides-run", "screw", "dowel"), ("sides-run", "dowel", "screw"), ("mitre", None, "dowel")],
)
def test_pins_or_screws_that_the_corners_do_not_take_are_refused(
    corner: str, fixing: str | None, table: str
) -> None:
    more: dict[str, Any] = {"fixing": fixing} if fixing else {}
    (fault,) = faults(a_case(corner=corner, **more, **{table: {"count": 3}}))
    assert fault.where == f"case.{table}"


@pytest.mark.parametrize(("units", "step"), [("mm", 5.0), ("in", 6.35)])
@pytest.mark.parametrize("diameter", [6.0, 6.35, 8.0, 9.525])
@pytest.mark.parametrize("thick", [12.0, 17.9, 18.2, 25.0])
def test_a_pin_from_outside_stands_out_once_it_is_driven_home(
    units: Any, step: float, diameter: float, thick: float
) -> None:
    """2 mm to trim, twice its diameter in the end behind it (common practice)."""
    where = (0.0, 0.0, 0.0)
    board = Board("left", Stock("s", "", None, (thick,), 0.0), thick, (where,), (), 1, 1, 1, "",
                  "glue-up")  # fmt: skip
    length = through_length(diameter, LENGTHS[diameter], board, units)
    assert length - 2.0 - thick >= 2 * diameter - 1e-9
    assert length == LENGTHS[diameter] or abs(length / step - round(length / step)) < 1e-9


def test_half_inch_plywood_takes_pins_of_three_sixteenths() -> None:
    """11.9 mm: 1/3 to 1/2 is 3.97 to 5.95 mm, and US pins begin at 3/16 in."""
    assert pin_size(DowelTable(), 11.9, "in", "corners")[0] == pytest.approx(25.4 * 3 / 16)


def test_a_pin_longer_than_a_guide_drills_for_is_told_of_by_its_length() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel", dowel={"length": "101.6 mm"}))
    for fault in faults(told):
        assert fault.where == "shelf a.dowel.length"
        assert "60 mm at most" in fault.message


def test_brackets_that_pass_each_other_are_refused() -> None:
    told = a_case(shelf("a", 210.0, fixing="bracket", bracket={"from_edge": "200 mm"}))
    assert {fault.where for fault in faults(told)} == {"shelf a.bracket.from_edge"}


# --- how far apart --------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_distance_of_two_holes_is_the_least_of_many_points(seed: int) -> None:
    luck = random.Random(seed)
    (some, *_), _ = drilled(a_case(shelf("a", 210.0, fixing="dowel")))

    def hole() -> Hole:
        way = np.array([luck.gauss(0, 1) for _ in range(3)])
        if luck.random() < 0.3:
            way = np.array([0.0, 0.0, 1.0])
        x, y, z = (way / np.linalg.norm(way)).tolist()
        at = (luck.uniform(-20, 20), luck.uniform(-20, 20), luck.uniform(-20, 20))
        deep = luck.uniform(5.0, 40.0)
        return replace(some, at=at, axis=(x, y, z), tip=deep)

    a, b = hole(), hole()
    steps = np.linspace(0.0, 1.0, 400)[:, None]
    points = [np.array(h.at) + steps * h.tip * np.array(h.axis) for h in (a, b)]
    brute = np.linalg.norm(points[0][:, None] - points[1][None], axis=2).min()
    assert _apart(a, b) <= brute + 1e-9
    assert _apart(a, b) == pytest.approx(brute, abs=0.15)
