"""Sizes measured on the half-built piece: what follows from them, and what is wrong with them."""

from __future__ import annotations

import math

import pytest

from fixtures.assembly import Board, Corner, Level
from fixtures.errors import Fault, InputError
from fixtures.finding import Finding
from fixtures.piece import as_built
from fixtures.piece.joining import joints
from fixtures.piece.measuring import out_of_square
from fixtures.piece.panels import Panels, panels
from fixtures.printer import Printer
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables

T, WIDE, TALL, DEEP = 18.0, 600.0, 500.0, 300.0
INNER_WIDE, INNER_TALL = WIDE - 2 * T, TALL - 2 * T


def told(**measured: object) -> Tables:
    """A mitred case of 564 × 464 mm inside with an inset back and two shelves, as measured."""
    return tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(WIDE, TALL, DEEP, back={"stock": "back", "fit": "inset"}),
        shelf=[
            shelf("low", 120.0, fixing="bracket"),
            shelf("high", 140.0, above="low", fixing="through-dowel"),
        ],
        as_built=measured,
    )


def made(piece: Tables) -> Panels:
    return panels(read(piece), NAME)


def board(found: Panels, name: str) -> Board:
    return next(board for board in found.boards if board.name == name)


def low(board: Board, axis: int) -> float:
    return min(point[axis] for point in board.shape)


def high(board: Board, axis: int) -> float:
    return max(point[axis] for point in board.shape)


def refused(piece: Tables) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as refusal:
        made(piece)
    return refusal.value.faults


def finding(piece: Tables, check: str) -> Finding:
    (found,) = (finding for finding in made(piece).findings if finding.check == check)
    return found


# --- what follows -----------------------------------------------------------------------------


def test_the_case_is_as_wide_as_it_measures_and_all_in_it_follows() -> None:
    found = made(told(inner_width=["563.4 mm", "563.2 mm", "563.5 mm"]))
    right, top = board(found, "right"), board(found, "top")
    assert low(right, 0) - high(board(found, "left"), 0) == pytest.approx(T + 563.2 - T)
    assert top.inner_length == pytest.approx(563.2)
    assert top.outer_length == pytest.approx(563.2 + 2 * T)
    # a fixed shelf takes the smallest; one on brackets has half a millimetre of play
    assert board(found, "shelf high").outer_length == pytest.approx(563.2)
    assert board(found, "shelf low").outer_length == pytest.approx(563.2 - 0.5)
    assert board(found, "back").outer_length == pytest.approx(563.2 - 1.0)
    assert board(found, "back").width == pytest.approx(INNER_TALL - 1.0)


def test_the_case_is_as_high_and_as_deep_as_it_measures() -> None:
    found = made(told(inner_height=["464.6 mm", "464.8 mm"], inner_depth=["293.5 mm"]))
    assert low(board(found, "top"), 2) == pytest.approx(464.6 + T - 0.0)
    assert board(found, "back").width == pytest.approx(464.6 - 1.0)
    assert board(found, "shelf low").width == pytest.approx(293.5)
    assert low(board(found, "back"), 1) == pytest.approx(293.5)


def test_what_was_measured_is_held_back_no_longer() -> None:
    assert board(made(told()), "shelf low").held_back
    wide = made(told(inner_width=["563.5 mm"]))
    assert board(wide, "shelf low").held_back == ""
    assert board(wide, "back").held_back
    both = made(told(inner_width=["563.5 mm"], inner_height=["464 mm"]))
    assert board(both, "back").held_back == ""


def test_a_board_is_as_thick_as_it_measures_and_its_joints_know() -> None:
    piece = told(thickness={"left": ["18.3 mm", "18.2 mm"], "shelf low": ["17.6 mm"]})
    found = made(piece)
    assert board(found, "left").thickness == pytest.approx(18.3)
    assert board(found, "right").thickness == pytest.approx(T)
    assert board(found, "shelf low").thickness == pytest.approx(17.6)
    assert board(found, "bottom").inner_length == pytest.approx(WIDE - 18.3 - T)
    # the shelf above stands on a thinner one, so it lies lower
    assert low(board(found, "shelf high"), 2) == pytest.approx(T + 120.0 + 17.6 + 140.0)
    corners = [j for j in joints(found, read(piece), Printer(), ()) if isinstance(j, Corner)]
    thick = {board.name: board.stock.largest for c in corners for board in (c.a, c.b)}
    assert thick == {"left": 18.3, "right": T, "bottom": T, "top": T}


def test_a_shelf_that_is_set_lies_where_it_is_and_the_one_above_follows() -> None:
    piece = told(underside={"low": ["119.2 mm", "119.4 mm"]})
    found = made(piece)
    assert low(board(found, "shelf low"), 2) - T == pytest.approx(119.3)
    assert low(board(found, "shelf high"), 2) - T == pytest.approx(119.3 + T + 140.0)
    levels = [j for j in joints(found, read(piece), Printer(), ()) if isinstance(j, Level)]
    assert {level.shelf.name for level in levels} == {"shelf high"}  # the other needs no spacer


def test_a_spacer_from_the_floor_up_takes_the_height_that_came_out() -> None:
    """A shelf marked in the dry case is measured from the floor, over a shelf that is set."""
    piece = told(underside={"low": ["118 mm"]})
    piece["shelf"][1]["fixing"] = "bracket"
    heights = [
        level.height
        for level in joints(made(piece), read(piece), Printer(), ())
        if isinstance(level, Level)
    ]
    assert heights == pytest.approx([118.0 + T + 140.0] * 2)


def test_what_moved_is_told_board_by_board() -> None:
    piece = told(inner_width=["563.2 mm"], underside={"low": ["119 mm", "119 mm"]})
    plan, built = made(told()), made(piece)
    found = {(m.panel, m.what): m for m in as_built.moved(plan.boards, built.boards)}
    assert found["shelf low", "length"].planned == pytest.approx(INNER_WIDE - 0.5)
    assert found["shelf low", "length"].by == pytest.approx(-0.8)
    assert found["shelf low", "above the floor"].by == pytest.approx(-1.0)
    assert found["shelf high", "above the floor"].by == pytest.approx(-1.0)
    assert found["top", "inside length"].built == pytest.approx(563.2)
    assert found["back", "length"].by == pytest.approx(-0.8)
    assert {what for panel, what in found if panel in ("left", "right")} == {"from the left side"}
    assert as_built.moved(plan.boards, plan.boards) == ()


def test_measured_twice_it_is_the_same() -> None:
    piece = read(
        told(
            inner_width=["563.2 mm"],
            thickness={"top": ["18.2 mm"], "back": ["6.3 mm"]},
            underside={"low": ["119 mm"]},
        )
    )
    once = as_built.applied(piece)
    twice = as_built.applied(once)
    assert twice.stock == once.stock
    assert twice.shelf == once.shelf
    assert once.case is not None
    assert twice.case is not None
    assert twice.case.width == pytest.approx(once.case.width, abs=1e-9)
    assert twice.case.stocks == once.case.stocks


# --- racked, out of square, tilted ------------------------------------------------------------


def racked(turn: float) -> tuple[float, float]:
    """Both inside diagonals of the case turned by some radians, by its corner points."""
    lean = INNER_TALL * math.sin(turn), INNER_TALL * math.cos(turn)
    return (
        math.hypot(INNER_WIDE + lean[0], lean[1]),
        math.hypot(INNER_WIDE - lean[0], lean[1]),
    )


@pytest.mark.parametrize("turn", [0.002, -0.004, 0.01])
def test_out_of_square_is_the_angle_that_a_case_was_turned_by(turn: float) -> None:
    """dd · √(W² + H²) / (2 W H), closed form for a small angle; the case by its corner points."""
    angle = math.radians(out_of_square(*racked(turn), INNER_WIDE, INNER_TALL))
    assert angle == pytest.approx(turn, rel=1e-3)


def test_a_case_out_of_square_says_how_much_and_which_diagonal_to_push() -> None:
    rising, falling = racked(0.004)
    found = finding(told(diagonals=[mm(rising), mm(falling)]), "out-of-square")
    assert found.measured == pytest.approx(rising - falling, abs=0.002)
    assert "0.23 deg" in found.message  # 0.004 rad
    assert "1.86 mm too far right" in found.message  # 464 · 0.004
    assert "from lower left to upper right" in found.remedy
    assert f"{math.hypot(INNER_WIDE, INNER_TALL):.2f} mm" in found.remedy
    other = finding(told(diagonals=[mm(falling), mm(rising)]), "out-of-square")
    assert "too far left" in other.message
    assert "from lower right to upper left" in other.remedy


def test_diagonals_that_agree_within_the_goal_say_nothing() -> None:
    size = math.hypot(INNER_WIDE, INNER_TALL)
    assert made(told(diagonals=[mm(size + 0.2), mm(size - 0.2)])).findings == ()
    strict = told(diagonals=[mm(size + 0.2), mm(size - 0.2)])
    strict["goal"] = {"diagonals": "0.3 mm"}
    assert finding(strict, "out-of-square").limit == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        (["563.9 mm", "563.2 mm"], "wider towards the bottom"),
        (["563.2 mm", "563.9 mm"], "wider towards the top"),
        (["564 mm", "563.2 mm", "564 mm"], "bowed inwards"),
        (["563.2 mm", "564 mm", "563.2 mm"], "bowed outwards"),
    ],
)
def test_a_racked_case_says_how_it_is(values: list[str], says: str) -> None:
    """A spread above 0.5 mm says that the case is racked (common practice, no source)."""
    found = finding(told(inner_width=values), "racked")
    assert says in found.message
    assert found.limit == pytest.approx(0.5)
    assert found.severity == "mend"


def test_half_a_millimetre_of_spread_is_no_rack() -> None:
    assert made(told(inner_width=["563.5 mm", "564 mm"])).findings == ()
    assert finding(told(inner_height=["463.4 mm", "464 mm"]), "racked").feature == "as built"


def test_a_shelf_that_tilts_says_which_end_is_high() -> None:
    found = finding(told(underside={"low": ["119.2 mm", "120.4 mm"]}), "shelf-tilts")
    assert found.measured == pytest.approx(1.2)
    assert "right end" in found.remedy


# --- contradictory ----------------------------------------------------------------------------


def test_diagonals_that_width_and_height_do_not_make_say_so_with_both_numbers() -> None:
    """Of any parallelogram d1² + d2² = 2 (W² + H²), however it is racked."""
    square = math.hypot(INNER_WIDE, INNER_TALL)
    piece = told(
        inner_width=[mm(INNER_WIDE)],
        inner_height=[mm(INNER_TALL)],
        diagonals=[mm(square + 2.6), mm(square + 2.4)],
    )
    found = finding(piece, "as-built-contradicts")
    assert f"{square:.2f} mm" in found.message
    assert f"{square + 2.5:.2f} mm" in found.message
    assert found.measured == pytest.approx(2.5, abs=0.001)
    assert found.remedy.startswith("One of the four is misread")
    near = told(diagonals=[mm(square + 1.4), mm(square + 1.4)])
    assert made(near).findings == ()


def test_a_racked_case_does_not_contradict_itself() -> None:
    piece = told(inner_width=[mm(INNER_WIDE)], inner_height=[mm(INNER_TALL)])
    rising, falling = racked(0.02)
    piece["as_built"]["diagonals"] = [mm(rising), mm(falling)]
    assert [found.check for found in made(piece).findings] == ["out-of-square"]


def test_width_and_height_that_were_swapped_are_refused_as_that() -> None:
    faults = refused(told(inner_width=[mm(INNER_TALL)], inner_height=[mm(INNER_WIDE)]))
    assert [fault.where for fault in faults] == ["as_built.inner_width", "as_built.inner_height"]
    assert "464 mm" in faults[0].message
    assert "564 mm" in faults[0].message
    assert "inner height" in faults[0].remedy
    assert "swapped" in faults[0].remedy


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("600 mm", "outside width"),
        ("56.4 mm", "in cm instead of mm"),
        ("22.2 mm", "Written in inches instead of mm it would be right: look at its unit."),
        ("538.6 mm", "25.4 mm off"),
        ("464.5 mm", "inner height"),
        ("664 mm", "100 mm off"),
        ("700 mm", 'width = "736 mm"'),
    ],
)
def test_a_width_that_cannot_be_is_refused_with_what_it_may_be(value: str, says: str) -> None:
    (fault,) = refused(told(inner_width=["563.8 mm", value]))
    assert fault.where == "as_built.inner_width"
    assert fault.value == value
    assert "564 mm" in fault.message
    assert says in fault.remedy


def test_an_outside_width_of_a_thin_case_is_noted_as_that() -> None:
    piece = tables(thick=5.0, case=case(600.0, 500.0, 300.0, corner="sides-run"))
    piece["as_built"] = {"inner_width": ["600 mm"]}
    found = finding(piece, "as-built-apart")
    assert found.measured == pytest.approx(10.0)
    assert "outside width" in found.remedy


@pytest.mark.parametrize(
    ("measured", "where", "says"),
    [
        ({"diagonals": ["730 mm"]}, "as_built.diagonals", "both"),
        ({"diagonals": ["1100 mm", "730 mm"]}, "as_built.diagonals", "464 mm"),
        ({"thickness": {"lfet": ["18 mm"]}}, "as_built.thickness.lfet", "not known"),
        ({"thickness": {"left": []}}, "as_built.thickness.left", "empty"),
        ({"underside": {"lwo": ["120 mm"]}}, "as_built.underside.lwo", "not known"),
        ({"underside": {"low": ["120 mm"] * 3}}, "as_built.underside.low", "1 or 2"),
        ({"underside": {"low": ["138 mm", "160 mm"]}}, "as_built.underside.low", "120 mm"),
    ],
)
def test_what_cannot_be_measured_is_refused(
    measured: dict[str, object], where: str, says: str
) -> None:
    (fault,) = refused(told(**measured))
    assert fault.where == where
    assert says in fault.message
    assert fault.remedy.endswith((".", "?"))


def test_a_shelf_measured_at_its_top_is_noted_as_that() -> None:
    found = finding(told(underside={"low": ["138 mm"]}), "as-built-apart")
    assert "top" in found.remedy


def test_a_shelf_on_pins_and_a_back_in_a_groove_are_told_where_to_say_it() -> None:
    piece = told(underside={"low": ["120 mm"]}, inner_depth=["280 mm"])
    piece["shelf"][0]["fixing"] = "pin"
    piece["case"]["back"]["fit"] = "groove"
    places = {fault.where: fault.remedy for fault in refused(piece)}
    assert "height of shelf low" in places["as_built.underside.low"]
    assert "groove_land" in places["as_built.inner_depth"]


def test_a_board_of_another_sheet_is_noted() -> None:
    found = finding(told(thickness={"shelf low": ["16.1 mm", "16.2 mm"]}), "as-built-apart")
    assert found.measured == pytest.approx(1.9)
    assert "another sheet" in found.remedy


def test_a_board_that_no_sheet_of_its_stock_can_be_is_refused_by_its_own_name() -> None:
    (fault,) = refused(told(thickness={"left": ["12 mm", "12.1 mm"]}))
    assert (fault.where, fault.value) == ("as_built.thickness.left", "12 mm")
    assert str(fault) == (
        "as_built.thickness.left is 12 mm, and its stock, case, reads 18 mm: 6 mm apart, which no "
        "sheet is. Measure the board again; if it is of another sheet, give that sheet a stock of "
        "its own and name it as left under [case.stocks]."
    )


@pytest.mark.parametrize(
    ("board", "says"),
    [
        ("back", "its own and name it under [case.back]."),
        ("shelf low", "its own and name it as stock of shelf low."),
    ],
)
def test_another_board_is_told_where_its_stock_is_named(board: str, says: str) -> None:
    (fault,) = refused(told(thickness={board: ["40 mm"]}))
    assert fault.where == f"as_built.thickness.{board}"
    assert fault.remedy.endswith(says)


def test_a_board_that_no_mitre_can_join_is_refused_by_its_own_name() -> None:
    (fault,) = refused(told(thickness={"left": ["18.8 mm"]}))
    assert fault.where == "as_built.thickness.left"
    assert str(fault) == (
        "as_built.thickness.left is 18.8 mm, and its stock, case, reads 18 mm. In its mitre "
        "18.8 mm meets the 18 mm of top, 0.8 mm apart; at most 0.5 mm can be hidden in a mitre. "
        "Measure the board again; if it is that thick, use another board, or corner = "
        '"sides-run" or "top-runs".'
    )
    assert made(told(thickness={"left": ["18.5 mm"]})).boards


def test_a_ring_of_boards_has_no_such_sizes() -> None:
    piece = tables(polygon=polygon(6, 300.0), as_built={"inner_width": ["200 mm"]})
    (fault,) = refused(piece)
    assert fault.where == "as_built"


def test_sizes_of_one_piece_say_so_where_several_are_made() -> None:
    piece = told(inner_width=["563.8 mm"])
    piece["piece"] = {"copies": 3}
    assert "3 are to be made" in finding(piece, "as-built-one").message


def test_it_is_told_in_the_units_of_the_piece() -> None:
    piece = told(inner_width=["22 in", "22 1/16 in"])
    piece["piece"] = {"units": "in"}
    assert "22 in to 22 1/16 in" in finding(piece, "racked").message
