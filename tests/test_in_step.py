"""The proof of the way of work: errors planted in it are each caught by their own check.

The clean twin is the same kit as it was made; one thing is wrong at a time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import pytest

from fixtures.assembly import Board, Corner, Move, Off
from fixtures.drilled import drills_stay_inside
from fixtures.in_step import apart, diagonals, squared
from fixtures.kit import Kit, kit
from fixtures.piece.drilling import Hole
from fixtures.piece.joining import joints
from fixtures.piece.panels import panels
from fixtures.piece.piece import printer_of
from fixtures.piece.step import SQUARE, Step
from fixtures.proof import Check
from fixtures.prove import placed_of, step_by_step
from fixtures.solid import Vec, add
from tests.piece.making import NAME, case, mm, polygon, read, shelf, stock, tables

W, H, D, T = 420.0, 360.0, 220.0, 18.7


@cache
def mitred() -> Kit:
    """A splined case with a blind shelf, one on through-dowels, and an inset back."""
    told = tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(W, H, D, back={"stock": "back", "fit": "inset"}),
        shelf=[
            shelf("low", 120.0, fixing="dowel"),
            shelf("high", 80.0, above="low", fixing="through-dowel"),
        ],
        bit=[{"diameter": "8 mm", "stands_out": mm(95.0)}],
    )
    return kit(read(told), NAME)


@cache
def butted() -> Kit:
    """A case whose sides run, dowelled, with a shelf on brackets."""
    told = tables(
        thick=T,
        case=case(W, H, D, corner="sides-run", fixing="dowel"),
        shelf=[shelf("low", 150.0, fixing="bracket")],
    )
    return kit(read(told), NAME)


def failing(
    made: Kit,
    steps: Sequence[Step] | None = None,
    boards: Sequence[Board] | None = None,
    holes: Sequence[Hole] | None = None,
) -> dict[str, Check]:
    """Checks of the way of work that fail, by name."""
    checks = step_by_step(
        boards or made.panels.boards,
        made.joints,
        made.holes if holes is None else holes,
        made.items,
        made.steps if steps is None else steps,
    )
    return {check.name: check for check in checks if not check.holds}


def index(made: Kit, title: str) -> int:
    return next(n for n, step in enumerate(made.steps) if step.title == title)


def with_step(made: Kit, title: str, change: Callable[[Step], Step]) -> tuple[Step, ...]:
    n = index(made, title)
    return (*made.steps[:n], change(made.steps[n]), *made.steps[n + 1 :])


@pytest.mark.parametrize("clean", [mitred, butted])
def test_the_clean_twin_holds_at_every_step(clean: Callable[[], Kit]) -> None:
    made = clean()
    assert failing(made) == {}
    names = {check.name for check in made.checks}
    for start in ("goes in: Dry fit", "goes in: Glue up", "comes off: Dry fit", "pins go in: ",
                  "comes off: Glue up", "drills stay inside: ", "diagonals: "):  # fmt: skip
        assert any(name.startswith(start) for name in names), start


# --- going in -------------------------------------------------------------------------------


def test_a_blind_shelf_put_in_after_glue_up_is_caught_by_its_pins() -> None:
    """Between sides it fits exactly, so nothing but its own pins is in its way."""
    made = mitred()
    late = tuple(
        replace(board, enters="fit out") if board.name == "shelf low" else board
        for board in made.panels.boards
    )
    steps = with_step(
        made,
        "Glue up",
        lambda step: replace(
            step,
            boards=tuple(name for name in step.boards if name != "shelf low"),
            joins=tuple(replace(move, onto=()) for move in step.joins),
        ),
    )
    n = index(made, "Set the shelves")
    move = Move(("shelf low",), ((0.0, 1.0, 0.0),), ("left", "right"))
    steps = (*steps[:n], replace(steps[n], joins=(move, *steps[n].joins)), *steps[n + 1 :])
    found = failing(made, steps, late)
    assert set(found) == {"pins go in: shelf low at left", "pins go in: shelf low at right"}
    for side in ("left", "right"):
        told = found[f"pins go in: shelf low at {side}"]
        assert f"runs into {side}: the boards come together 90° off" in told.message
        assert told.measured > 1.0


def test_a_top_put_in_between_closed_sides_is_caught_on_its_way() -> None:
    made = butted()

    def last(step: Step) -> Step:
        top = next(move for move in step.joins if move.boards == ("top",))
        others = tuple(move for move in step.joins if move is not top)
        return replace(step, joins=(*others, top))

    found = failing(made, with_step(made, "Glue up", last))
    # its pins stand out of its end, and reach the side before it does
    assert set(found) == {"goes in: Glue up: top", "pins go in: right-top"}
    assert "top runs into right" in found["goes in: Glue up: top"].message


def test_sides_of_a_ring_that_do_not_open_together_run_into_each_other() -> None:
    made = mitred()

    def askew(step: Step) -> Step:
        (move,) = step.joins
        ways = tuple(
            (-way[0], -way[1], -way[2]) if name == "left" else way
            for name, way in zip(move.boards, move.ways, strict=True)
        )
        return replace(step, joins=(replace(move, ways=ways),))

    found = failing(made, with_step(made, "Glue up", askew))
    assert "goes in: Glue up: bottom, right, top, left" in found
    assert {name.partition(":")[0] for name in found} <= {"goes in", "pins go in"}


def test_a_board_that_no_step_puts_in_is_told() -> None:
    made = mitred()
    steps = with_step(made, "Fit the back", lambda step: replace(step, joins=()))
    assert set(failing(made, steps)) == {"goes in: back"}


def test_a_joint_that_no_step_closes_is_told() -> None:
    made = butted()
    stuck = [step if step.phase not in ("dry fit", "glue-up") else replace(step, joins=())
             for step in made.steps]  # fmt: skip
    assert {name.partition(":")[0] for name in failing(made, stuck)} == {"pins go in"}


# --- coming off -----------------------------------------------------------------------------


def off_as(step: Step, change: Callable[[Off], Off]) -> Step:
    return replace(step, off=tuple(change(off) for off in step.off))


def test_a_socket_told_to_leave_across_its_slots_is_caught() -> None:
    made = mitred()

    def across(off: Off) -> Off:
        if not off.fixture.startswith("corner-socket"):
            return off
        return replace(off, ways=tuple((where, ((1.0, 0.0, 0.0),)) for where, _ in off.ways))

    found = failing(made, with_step(made, "Glue up", lambda step: off_as(step, across)))
    assert set(found) == {"comes off: Glue up"}
    assert "another way than its seats let it" in found["comes off: Glue up"].message


def test_sockets_left_on_are_told_and_stand_in_the_way_of_the_back() -> None:
    made = mitred()

    def forgotten(step: Step) -> Step:
        return replace(step, off=tuple(o for o in step.off if "corner-socket" not in o.fixture))

    found = failing(made, with_step(made, "Glue up", forgotten))
    told = {name.partition(":")[0] for name in found}
    assert told == {"comes off", "goes in"}
    assert any("no step takes it off" in check.message for check in found.values())
    assert "corner-socket" in found["goes in: back"].message


def test_a_spacer_told_to_leave_through_a_side_is_caught() -> None:
    made = mitred()

    def outwards(off: Off) -> Off:
        if not off.fixture.startswith("spacer-block"):
            return off
        ways: list[tuple[str, tuple[Vec, ...]]] = [
            (where, ((-1.0, 0.0, 0.0),) if "at left" in where else legs) for where, legs in off.ways
        ]
        return replace(off, ways=tuple(ways))

    found = failing(made, with_step(made, "Dry fit", lambda step: off_as(step, outwards)))
    assert set(found) == {"comes off: Dry fit: shelf low"}
    told = found["comes off: Dry fit: shelf low"].message
    assert "runs into left" in told or "runs into spacer-block" in told


def test_a_spacer_dragged_through_the_sockets_is_caught_by_them() -> None:
    """Straight to the front it meets the sockets of the lower corners, which are still on."""
    made = mitred()

    def straight(off: Off) -> Off:
        if not off.fixture.startswith("spacer-block"):
            return off
        return replace(off, ways=tuple((where, ((0.0, -1.0, 0.0),)) for where, _ in off.ways))

    found = failing(made, with_step(made, "Dry fit", lambda step: off_as(step, straight)))
    assert set(found) == {"comes off: Dry fit: shelf low"}
    assert "runs into corner-socket" in found["comes off: Dry fit: shelf low"].message


# --- holes ----------------------------------------------------------------------------------


def test_a_shelf_flipped_on_its_datum_does_not_take_its_pins() -> None:
    """Drilled from its upper face instead of its underside: in a board of 18.7 mm with holes
    9.5 mm from their datum, the guide's half millimetre, they miss by 2 × 9.5 - 18.7 = 0.3 mm."""
    made = mitred()
    thick = made.panels.shelves[0].board.thickness
    flipped = [
        replace(hole, at=add(hole.at, (0.0, 0.0, 1.0), thick - 2 * hole.from_datum))
        if hole.board == "shelf low"
        else hole
        for hole in made.holes
    ]
    assert abs(thick - 2 * made.holes[0].from_datum) == pytest.approx(0.3)
    found = failing(made, holes=flipped)
    assert set(found) == {"pins go in: shelf low at left", "pins go in: shelf low at right"}
    assert "miss each other by 0.30 mm" in found["pins go in: shelf low at left"].message


@pytest.mark.parametrize(("short", "holds"), [(0.2, True), (-1.0, False), (-3.0, False)])
def test_a_drill_spur_through_the_face_is_caught_by_how_far_it_stands_out(
    short: float, holds: bool
) -> None:
    """The point of the drill `short` mm before, or past, the outside of the side."""
    made = mitred()
    board = next(b for b in made.panels.boards if b.name == "left")
    hole = next(h for h in made.holes if h.board == "left" and not h.through)
    deeper = replace(hole, tip=T - short, depth=T - short - 2.5)
    check = drills_stay_inside(board, [deeper])
    assert check is not None
    assert check.holds is holds
    if not holds:
        assert check.measured == pytest.approx(-short, abs=0.05)
        assert "comes" in check.message
        assert "set its stop shallower" in check.message


def test_a_hole_into_a_groove_comes_out_in_it() -> None:
    made = mitred()
    board = next(b for b in made.panels.boards if b.name == "left")
    (outer, inner) = (0.0, T)  # x of its faces
    z = (T, H - T)
    grooved = replace(
        board,
        pieces=(
            tuple((x, y, k) for x in (outer, 12.0) for y in (0.0, D) for k in z),
            tuple((x, y, k) for x in (12.0, inner) for y in (0.0, 100.0) for k in z),
            tuple((x, y, k) for x in (12.0, inner) for y in (107.0, D) for k in z),
        ),
    )
    hole = next(h for h in made.holes if h.board == "left" and not h.through)
    beside = replace(hole, at=(T, 90.0, hole.at[2]))
    into = replace(hole, at=(T, 98.0, hole.at[2]))
    for each, holds in ((beside, True), (into, False)):
        check = drills_stay_inside(grooved, [each])
        assert check is not None
        assert check.holds is holds


def test_nothing_is_said_of_a_board_without_holes() -> None:
    made = mitred()
    back = next(b for b in made.panels.boards if b.name == "back")
    assert drills_stay_inside(back, made.holes) is None


# --- square ---------------------------------------------------------------------------------


def racked(boards: Sequence[Board], by: float) -> tuple[Board, ...]:
    """The case pushed over: the top moved `by` mm to the right."""

    def over(points: Sequence[Vec]) -> tuple[Vec, ...]:
        return tuple((x + by * z / H, y, z) for x, y, z in points)

    return tuple(
        replace(b, shape=over(b.shape), pieces=tuple(over(p) for p in b.pieces)) for b in boards
    )


@pytest.mark.parametrize("clean", [mitred, butted])
@pytest.mark.parametrize("by", [0.0, 0.2, 2.0])
def test_a_racked_case_is_caught_by_its_diagonals(clean: Callable[[], Kit], by: float) -> None:
    """Pushed over by d, diagonals of W × H differ by 2 d W / sqrt(W² + H²), d small."""
    made = clean()
    boards = racked(made.panels.boards, by)
    corners = [joint for joint in made.joints if isinstance(joint, Corner)]
    check = diagonals(corners, {board.name: board for board in boards})
    assert check is not None
    wide, tall = W - 2 * T, H - 2 * T
    lean = by * tall / H  # of the opening's upper edge against its lower
    assert check.measured == pytest.approx(2 * lean * wide / math.hypot(wide, tall), abs=0.01)
    assert check.holds is (check.measured <= SQUARE)
    assert ("racked" in check.message) is not check.holds


def test_a_ring_of_another_number_has_no_two_diagonals_to_compare() -> None:
    piece = read(tables(thick=12.0, polygon=polygon(6, 220.0, 180.0)))
    made = panels(piece, NAME)
    assert squared(made.boards, joints(made, piece, printer_of(None), ())) == []


def test_fixtures_of_one_phase_that_are_never_on_together_do_not_run_into_each_other() -> None:
    """Two sockets in one place: apart when the first is off before the second comes on."""
    made = butted()
    sockets = [one for one in placed_of(made.items) if one.use.role == "hold"]
    first = sockets[0]
    second = next(one for one in sockets if one.made.part.mark != first.made.part.mark)
    use = replace(first.use, phases=("fit out",), turn="")
    names = [f"corner-socket-{one.made.part.mark}" for one in (first, second)]
    placed = [replace(one, use=use, place=first.place) for one in (first, second)]

    def step(name: str, *off: Off) -> Step:
        return Step("Drill", "fit out", (), ((name, 1),), (), (), (), off=off)

    off = Off(names[0], "once the holes are drilled", ((use.where, ((0.0, -1.0, 0.0),)),))
    assert all(check.holds for check in apart([step(names[0], off), step(names[1])], placed))
    (clash,) = apart([step(names[0]), step(names[1])], placed)
    assert not clash.holds
    assert clash.name == "fit out: fixtures apart"
