"""Kits of divided cases on a plinth, proved in place; errors planted in them, each caught."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from fixtures.assembly import Board
from fixtures.kit import Kit, kit
from fixtures.solid import Vec, add
from fixtures.telling.kit import cut_rows, drill_rows, sheet
from tests.piece.making import NAME, case, mm, read, shelf, stock, tables
from tests.test_kit_planted import proved, uses_of, with_place

T = 18.0


@cache
def divided() -> Kit:
    """A mitred case with a grooved back, a divider with shelves on both sides, an overhanging top
    and a plinth; its front edges are banded."""
    told = tables(
        stocks={"case": stock(T, edge_band="1 mm"), "back": stock(6.0), "p": stock(T)},
        case=case(700.0, 420.0, 260.0, back={"stock": "back", "fit": "groove"}),
        divider=[{"name": "post", "at": "210 mm", "stock": "case", "setback": "2 mm"}],
        shelf=[
            shelf("low", 120.0, between=["left", "post"], setback="4 mm"),
            shelf("high", 200.0, between=["post", "right"], setback="4 mm", fixing="bracket"),
        ],
        top={"stock": "case", "overhang": {"front": "20 mm", "left": "15 mm", "right": "15 mm"}},
        plinth={"height": "90 mm", "stock": "p"},
        bit=[{"diameter": "8 mm", "stands_out": mm(95.0)}],
    )
    return kit(read(told), NAME)


@cache
def late() -> Kit:
    """A butted case on a base, its divider through-dowelled after glue-up."""
    told = tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(600.0, 400.0, 220.0, corner="sides-run",
                  back={"stock": "back", "fit": "inset"}),
        divider=[{"name": "post", "at": "150 mm", "stock": "case", "fixing": "through-dowel"}],
        shelf=[shelf("s", 160.0, between=["post", "right"], fixing="pin")],
        base={"stock": "case", "fixing": "dowel", "overhang": {"front": "10 mm"}},
        plinth={"height": "80 mm", "stock": "case", "corner": "butt"},
        bit=[{"diameter": "8 mm", "stands_out": mm(95.0)}],
    )  # fmt: skip
    return kit(read(told), NAME)


KITS: tuple[Callable[[], Kit], ...] = (divided, late)


@pytest.mark.slow
@pytest.mark.parametrize("made", KITS)
def test_the_kit_holds(made: Callable[[], Kit]) -> None:
    failed = [f"{check.name}: {check.message}" for check in made().checks if not check.holds]
    assert failed == []
    assert proved(made()) == set()


@pytest.mark.parametrize("made", KITS)
def test_every_board_is_in_the_cut_list_the_steps_and_the_sheet(made: Callable[[], Kit]) -> None:
    listed = {name for row in cut_rows(made()) for name in row.names}
    names = {board.name for board in made().panels.boards}
    assert listed == names
    assert {"divider post", "plinth front", "plinth left"} < names
    assert {name for step in made().steps for name in step.boards} >= names
    text = sheet(made())
    assert all(name in text for name in names)


@pytest.mark.parametrize("made", KITS)
def test_every_hole_is_in_the_drill_table(made: Callable[[], Kit]) -> None:
    rows = drill_rows(made())
    assert len(rows) == len(made().holes)
    # a collar stands off the tip by all the drill goes through: guide or other board, and its hole
    assert all(row.collar >= row.hole.tip - 1e-9 for row in rows)


def test_a_plinths_sockets_are_not_counted_with_those_of_the_case() -> None:
    """Both rings are of one sheet: eight sockets serve the case, and then the plinth."""
    told = tables(
        thick=T,
        case=case(500.0, 400.0, 220.0),
        plinth={"height": "90 mm", "stock": "case"},
    )
    made = kit(read(told), NAME)
    sockets = [item.fixture for item in made.items if item.fixture.family == "corner-socket"]
    assert [fixture.quantity for fixture in sockets] == [8]
    assert len(sockets[0].uses) == 16
    assert {use.work for use in sockets[0].uses} == {"", "plinth"}


def test_every_banded_board_is_banded_in_the_step_that_cuts_it() -> None:
    banded = {board.name for board in divided().panels.boards if board.band}
    assert "top board" in banded
    found = set()
    for step in divided().steps:
        for setting in step.settings:
            if setting.startswith("Band the front edges of "):
                assert step.title.startswith("Cut ")
                found |= {name for name in step.boards if name in setting}
    assert found == banded
    assert not any("Band " in setting for step in late().steps for setting in step.settings)


def test_a_late_divider_is_set_before_the_shelves_that_end_at_it() -> None:
    order = [name for step in late().steps if step.phase == "fit out" for name in step.boards]
    assert order.index("divider post") < order.index("base board") < order.index("plinth front")
    # nothing is driven past a shelf that is only laid in
    assert order[-2:] == ["back", "shelf s"]


# --- planted --------------------------------------------------------------------------------


def moved(made: Kit, name: str, by: Vec) -> tuple[Board, ...]:
    """The boards, one of them elsewhere."""

    def shifted(board: Board) -> Board:
        pieces = tuple(tuple(add(corner, by) for corner in piece) for piece in board.pieces)
        return replace(board, shape=tuple(add(c, by) for c in board.shape), pieces=pieces)

    assert any(board.name == name for board in made.panels.boards)
    return tuple(shifted(b) if b.name == name else b for b in made.panels.boards)


@pytest.mark.slow
def test_a_divider_half_a_millimetre_off_is_caught_by_its_spacers() -> None:
    found = proved(divided(), boards=moved(divided(), "divider post", (0.5, 0.0, 0.0)))
    assert "height: size" in found
    assert "boards apart" in found  # it now stands in the shelf on its right


@pytest.mark.slow
def test_a_guide_a_tenth_off_the_dividers_line_drills_holes_that_do_not_meet() -> None:
    made = divided()
    for n, item in enumerate(made.items):
        for which, use in enumerate(item.fixture.uses):
            if use.role == "drill" and use.joint == "divider post at top" and "face" in use.where:
                off = with_place(
                    made, n, which, lambda pose: replace(pose, at=add(pose.at, (0.1, 0.0, 0.0)))
                )
                assert {name.partition(":")[0] for name in proved(made, off)} == {
                    "bores meet",
                    "bores as in the drill table",
                }
                return
    pytest.fail("no guide serves the divider's upper end")


@pytest.mark.slow
def test_a_shelf_through_a_divider_is_caught() -> None:
    found = proved(divided(), boards=moved(divided(), "shelf low", (5.0, 0.0, 0.0)))
    assert "boards apart" in found


@pytest.mark.slow
def test_a_socket_of_the_plinth_pushed_too_far_on_is_caught() -> None:
    made = divided()
    n, uses = uses_of(made, "hold")
    which = next(i for i, use in uses if use.work == "plinth" and "upper" in use.where)
    off = with_place(
        made, n, which, lambda pose: replace(pose, at=add(pose.at, (0.0, 0.0, -1.0), 6.0))
    )
    assert proved(made, off)


@pytest.mark.slow
def test_a_top_that_lies_in_the_case_is_caught() -> None:
    found = proved(divided(), boards=moved(divided(), "top board", (0.0, 0.0, -0.5)))
    assert "boards apart" in found


@pytest.mark.slow
def test_a_plinth_board_turned_out_of_its_corner_is_caught() -> None:
    """Set 1 mm forward, it no longer sits in the sockets that hold it."""
    found = proved(divided(), boards=moved(divided(), "plinth front", (0.0, -1.0, 0.0)))
    assert any(name.startswith("plinth front in slot_") for name in found)
