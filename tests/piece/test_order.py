"""The order in which boards go together: that there is one, that it can be done, and why not.

What can be done is judged by a mesh kernel that sweeps every board past those that are there.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from fixtures.assembly import Board, Joint, Move
from fixtures.errors import InputError
from fixtures.in_step import there_at
from fixtures.passing import goes_in
from fixtures.piece.apart import entering
from fixtures.piece.joining import joints
from fixtures.piece.order import Order, dry, order, ties
from fixtures.piece.panels import Panels, panels
from fixtures.piece.piece import printer_of
from fixtures.solid import dot
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables

T = 18.0
CORNERS = (
    ("mitre", "spline"),
    ("mitre", "glue"),
    ("sides-run", "dowel"),
    ("sides-run", "screw"),
    ("top-runs", "dowel"),
    ("top-runs", "glue"),
)
FIXINGS = ("dowel", "through-dowel", "bracket", "pin")
FITS = ("", "inset", "groove", "overlay")


def divider(name: str, at: float, **more: Any) -> Tables:
    return {"name": name, "at": mm(at), "stock": "case", **more}


def told(corner: str, fixing: str, fit: str, shelves: Sequence[Tables], **more: Any) -> Tables:
    back = {"back": {"stock": "back", "fit": fit}} if fit else {}
    return tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(820.0, 700.0, 300.0, corner=corner, fixing=fixing, **back),
        shelf=list(shelves),
        **more,
    )


def boards_of(piece: Tables) -> tuple[Panels, tuple[Joint, ...]]:
    table = read(piece)
    made = panels(table, NAME)
    return made, joints(made, table, printer_of(table.printer), ())


@cache
def divided(corner: str, fixing: str) -> tuple[Panels, tuple[Joint, ...]]:
    """A case with a dowelled divider and a dowelled shelf beside it."""
    return boards_of(
        told(
            corner,
            fixing,
            "",
            [shelf("low", 250.0, fixing="dowel", between=["left", "mid"])],
            divider=[divider("mid", 380.0)],
        )
    )


def names(moves: Sequence[Move]) -> list[tuple[str, ...]]:
    return [move.boards for move in moves]


def done(made: Panels, found: Order) -> list[str]:
    """Moves of an order that run into something, by the kernel's sweeps."""
    known = {board.name: board for board in made.boards}
    wrong = []
    rounds: list[tuple[Sequence[Board], Sequence[Move]]] = [(made.boards, found.fitted)]
    for work in found.dry:
        own = [b for b in made.boards if b.work == work and (work or b.enters != "fit out")]
        rounds += [(dry(made.boards, work), found.dry[work]), (own, found.glued[work])]
    for present, moves in rounds:
        for n, move in enumerate(moves):
            check = goes_in("move", move, there_at(present, moves, n), known)
            if not check.holds:
                wrong.append(check.message)
    return wrong


# --- there is an order, and it can be done ---------------------------------------------------


@pytest.mark.parametrize("fit", FITS)
@pytest.mark.parametrize(("corner", "fixing"), CORNERS)
def test_a_case_of_every_kind_has_an_order_that_can_be_done(
    corner: str, fixing: str, fit: str
) -> None:
    shelves = [shelf(each, 90.0 + 130.0 * n, fixing=each) for n, each in enumerate(FIXINGS)]
    made, found = boards_of(told(corner, fixing, fit, shelves))
    ordered = order(made, found)
    assert done(made, ordered) == []
    moved = {name for move in ordered.glued[""] for name in move.boards}
    early = {board.name for board in made.boards if board.enters != "fit out"}
    assert moved <= early
    late = [name for move in ordered.fitted for name in move.boards]
    assert sorted(late) == sorted(b.name for b in made.boards if b.enters == "fit out")
    if fit in ("inset", "overlay"):
        # only what is laid in from the front comes after it
        assert set(late[late.index("back") + 1 :]) == {"shelf bracket", "shelf pin"} & set(late)


@pytest.mark.parametrize("setting", ["dowel", "bracket", "pin"])
@pytest.mark.parametrize(("corner", "fixing"), CORNERS)
def test_a_divided_case_on_a_plinth_has_an_order_that_can_be_done(
    corner: str, fixing: str, setting: str
) -> None:
    made, found = boards_of(
        told(
            corner,
            fixing,
            "groove",
            [
                shelf("low", 250.0, fixing=setting, between=["left", "mid"]),
                shelf("high", 350.0, fixing="pin", between=["mid", "right"]),
            ],
            divider=[divider("mid", 380.0)],
            top={"stock": "case", "overhang": {"front": mm(20.0)}},
            plinth={"height": mm(80.0), "stock": "case", "setback": mm(30.0)},
        )
    )
    ordered = order(made, found)
    assert done(made, ordered) == []
    assert set(ordered.glued) == {"", "plinth"}
    as_one = next(move for move in ordered.fitted if move.boards[0].startswith("plinth"))
    assert len(as_one.boards) == 4
    assert {entering(way) for way in as_one.ways} == {"from below"}


@pytest.mark.parametrize("sides", range(3, 13))
def test_a_ring_of_any_number_closes_all_at_once_square_to_its_faces(sides: int) -> None:
    made, found = boards_of(tables(thick=12.0, polygon=polygon(sides, 300.0)))
    ordered = order(made, found)
    assert done(made, ordered) == []
    (move,) = ordered.glued[""]
    assert len(move.boards) == sides
    # ways square to the faces of a regular ring add up to nothing
    assert [sum(way[k] for way in move.ways) for k in range(3)] == pytest.approx([0.0, 0.0, 0.0])


def test_as_many_boards_as_there_may_be_are_ordered() -> None:
    shelves = [shelf(f"s{n}", 100.0 * n, fixing="dowel") for n in range(1, 26)]
    piece = tables(thick=T, case=case(420.0, 2900.0, 240.0, corner="top-runs"), shelf=shelves)
    made, found = boards_of(piece)
    ordered = order(made, found)
    assert done(made, ordered) == []
    assert len(ordered.glued[""]) == len(made.boards) - 1


def test_the_order_does_not_hang_on_how_boards_are_listed() -> None:
    """Whichever way a dowelled, divided case is listed, it can be put together."""
    made, found = divided("sides-run", "dowel")
    for boards in itertools.islice(itertools.permutations(made.shell.boards), 0, 24, 5):
        turned = replace(made, shell=replace(made.shell, boards=boards))
        assert done(turned, order(turned, found)) == []


# --- the order explains itself ---------------------------------------------------------------


def test_where_sides_run_shelf_and_ends_go_to_the_divider_before_the_sides() -> None:
    made, found = divided("sides-run", "dowel")
    moves = order(made, found).glued[""]
    at = {name: n for n, move in enumerate(moves) for name in move.boards}
    sides = min(at[name] for name in ("left", "right"))
    inner = [at[name] for name in ("bottom", "top", "divider mid", "shelf low") if name in at]
    assert max(inner) < sides
    for move in moves:  # pins of a side run across the case, those of the divider up and down
        across = {"left", "right", "shelf low"} & set(move.boards)
        assert {entering(way) for way in move.ways} <= (
            {"from the left", "from the right"} if across else {"from above", "from below"}
        )


def test_where_the_top_runs_shelves_go_between_sides_before_top_and_bottom() -> None:
    made, found = boards_of(
        told("top-runs", "dowel", "", [shelf("low", 250.0), shelf("high", 450.0)])
    )
    moves = order(made, found).glued[""]
    at = {name: n for n, move in enumerate(moves) for name in move.boards}
    shelves = [at[name] for name in ("shelf low", "shelf high", "left", "right") if name in at]
    assert max(shelves) < min(at["top"], at["bottom"])
    ways = {name: entering(move.ways[0]) for move in moves for name in move.boards}
    assert (ways["top"], ways["bottom"]) == ("from above", "from below")
    assert {ways[name] for name in ("shelf low", "shelf high")} == {"from the right"}


def test_a_splined_ring_closes_round_its_blind_shelves_all_at_once() -> None:
    made, found = boards_of(
        told("mitre", "spline", "", [shelf("low", 250.0), shelf("high", 450.0)])
    )
    (move,) = order(made, found).glued[""]
    assert set(move.boards) == {"left", "right", "top", "bottom"}
    assert set(move.onto) == {"shelf low", "shelf high"}
    ways = dict(zip(move.boards, (entering(way) for way in move.ways), strict=True))
    assert ways == {
        "left": "from the left",
        "right": "from the right",
        "top": "from above",
        "bottom": "from below",
    }


def test_boards_that_are_dowelled_to_each_other_are_put_together_first() -> None:
    made, found = divided("mitre", "spline")
    first, ring = order(made, found).glued[""]
    assert {*first.boards, *first.onto} == {"divider mid", "shelf low"}
    assert len(ring.boards) == 4


def test_late_shelves_go_in_as_they_are_set_and_those_laid_on_brackets_after_the_back() -> None:
    made, found = boards_of(
        told("mitre", "spline", "inset", [shelf("low", 200.0, fixing="bracket"),
                                          shelf("high", 400.0, fixing="through-dowel")])
    )  # fmt: skip
    fitted = order(made, found).fitted
    assert names(fitted) == [("shelf high",), ("back",), ("shelf low",)]
    shelves = [move for move in fitted if move.boards != ("back",)]
    assert {entering(move.ways[0]) for move in shelves} == {"from the front"}
    assert entering(fitted[1].ways[0]) == "from the rear"


def test_pins_leave_along_themselves_and_a_spline_lies_across_its_mitre() -> None:
    _, found = divided("mitre", "spline")
    for tie in ties(found):
        if tie.what == "spline":
            assert tie.lets == "square"
            assert abs(tie.axis[0]) == pytest.approx(abs(tie.axis[2]))
        else:
            assert tie.lets == "along"
            assert dot(tie.axis, tie.axis) == pytest.approx(1.0)
    assert len(ties(found)) == 4 + 2 + 2


# --- planted: no order ------------------------------------------------------------------------


@pytest.mark.parametrize(("corner", "fixing"), CORNERS)
def test_a_blind_dowelled_shelf_after_glue_up_is_refused_and_a_bracketed_one_is_not(
    corner: str, fixing: str
) -> None:
    made, found = boards_of(told(corner, fixing, "", [shelf("low", 250.0, fixing="dowel")]))
    (low,) = made.shelves
    late = replace(made, shelves=(replace(low, board=replace(low.board, enters="fit out")),))
    with pytest.raises(InputError) as refusal:
        order(late, found)
    (fault,) = refusal.value.faults
    assert fault.where == "shelf low"
    assert fault.message == (
        "shelf low finds no way in once the case is glued up: its dowel pins at left and right "
        "run left to right, and that way left and right are in its way by then."
    )
    assert "through-dowel" in fault.remedy
    twin = boards_of(told(corner, fixing, "", [shelf("low", 250.0, fixing="bracket")]))
    assert names(order(*twin).fitted) == [("shelf low",)]


def test_a_board_shut_in_by_others_is_refused_with_who_shuts_it_in() -> None:
    made, found = boards_of(told("mitre", "spline", "inset", [shelf("low", 250.0)]))
    (low,) = made.shelves
    # a rail across the rear, and the shelf across the front
    rail = replace(
        low.board,
        name="rail",
        shape=tuple((x, 300.0 if y < 1.0 else 320.0, z) for x, y, z in low.board.shape),
        pieces=(tuple((x, 300.0 if y < 1.0 else 320.0, z) for x, y, z in low.board.shape),),
    )
    shut = replace(made, shelves=(low, replace(low, board=rail)))
    with pytest.raises(InputError) as refusal:
        order(shut, found)
    (fault,) = refusal.value.faults
    assert fault.where == "back"
    assert "rail" in fault.message
    assert "shelf low" in fault.message
    assert fault.message.endswith(".")
    assert fault.remedy.endswith(".")
