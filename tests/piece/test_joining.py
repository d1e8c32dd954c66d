"""Joints of a piece: where corners and shelves ask to be held, set and drilled, by plain sums."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from fixtures.assembly import Corner, Dowelled, FaceHoles, Joint, Level
from fixtures.piece.joining import joints
from fixtures.piece.panels import Panels, panels
from fixtures.piece.setting import base, setting_order
from fixtures.printer import Printer
from tests.piece.making import NAME, Tables, case, polygon, read, shelf, stock, tables

T, W, H, D = 18.0, 600.0, 500.0, 300.0


def of(told: Tables) -> tuple[Panels, tuple[Joint, ...]]:
    piece = read(told)
    made = panels(piece, NAME)
    return made, joints(made, piece, Printer(), ())


def corners(told: Tables) -> dict[str, Corner]:
    return {joint.name: joint for joint in of(told)[1] if isinstance(joint, Corner)}


def a_case(*shelves: Tables, **more: Any) -> Tables:
    return tables(thick=T, case=case(W, H, D, **more), shelf=list(shelves))


# --- corners --------------------------------------------------------------------------------


@pytest.mark.parametrize("sides", range(3, 13))
def test_boards_of_a_polygon_meet_at_its_inner_angle(sides: int) -> None:
    found = corners(tables(thick=12.0, polygon=polygon(sides, 300.0)))
    assert len(found) == sides
    for corner in found.values():
        # the angle sum of a plane polygon: (n - 2)·180° over n corners
        assert corner.angle == pytest.approx((sides - 2) * 180.0 / sides)
        a, b = (np.array(way) for way in corner.ways)
        assert np.degrees(np.arccos(a @ b)) == pytest.approx(corner.angle)
        assert np.array(corner.into) @ a == pytest.approx(np.array(corner.into) @ b)
        assert corner.strapped


@pytest.mark.parametrize(
    ("kind", "runs"), [("sides-run", {"left", "right"}), ("top-runs", {"top", "bottom"})]
)
def test_at_a_butt_the_first_board_runs_past_the_second(kind: str, runs: set[str]) -> None:
    found = corners(a_case(corner=kind)).values()
    assert {corner.a.name for corner in found} == runs
    for corner in found:
        assert corner.joint == "butt"
        assert not corner.strapped
        ends = {end for end in np.array(corner.a.shape) @ np.array(corner.ways[0])}
        at = np.array(corner.ends[0].at)
        assert min(ends) == pytest.approx(at @ np.array(corner.ways[0]))
        stops = (np.array(corner.b.shape) @ np.array(corner.ways[1])).min()
        assert stops - at @ np.array(corner.ways[1]) == pytest.approx(T)
        # from the arris both run into their boards
        for board, way in zip((corner.a, corner.b), corner.ways, strict=True):
            middle = np.array(board.shape).mean(axis=0) - np.array(corner.ends[0].at)
            assert middle @ np.array(way) > 0


def test_joint_lines_run_from_front_to_rear_at_the_outer_arrises() -> None:
    for kind in ("mitre", "sides-run", "top-runs"):
        found = corners(a_case(corner=kind)).values()
        fronts = {corner.ends[0].at for corner in found}
        assert fronts == {(0.0, 0.0, 0.0), (W, 0.0, 0.0), (W, 0.0, H), (0.0, 0.0, H)}
        assert {corner.ends[1].at[1] for corner in found} == {D}


def test_a_fixing_that_is_not_given_is_a_spline_at_a_mitre_and_dowels_at_a_butt() -> None:
    assert {c.fixing for c in corners(a_case()).values()} == {"spline"}
    assert {c.fixing for c in corners(a_case(corner="top-runs")).values()} == {"dowel"}


def test_a_grooved_back_leaves_a_socket_its_land_only() -> None:
    told = a_case(back={"stock": "back", "fit": "groove", "groove_land": "20 mm"})
    told["stock"]["back"] = stock(6.0)
    for corner in corners(told).values():
        assert corner.ends[1].deep == pytest.approx(20.0)
        assert "back" in corner.ends[1].blocked
        assert corner.ends[0].deep == pytest.approx(D / 2)


def test_a_glued_shelf_shortens_the_room_of_an_arm_in_its_corner() -> None:
    found = corners(a_case(shelf("low", 50.0, fixing="dowel")))
    side, flat = found["left-bottom"].ends[0].room
    assert side == pytest.approx(50.0)
    assert flat == pytest.approx((W - 2 * T) / 2)
    # running boards cover the ends of the others: what is clear is between them
    told = a_case(corner="sides-run", fixing="glue")
    told["stock"]["other"] = stock(30.0)
    told["case"]["stocks"] = {"top": "other"}
    found = corners(told)
    for name in ("left-bottom", "left-top"):
        assert found[name].ends[0].room[1] == pytest.approx((W - 2 * T) / 2)
    rooms = [found[name].ends[0].room[0] for name in ("left-bottom", "left-top")]
    assert sum(rooms) == pytest.approx(H - T - 30.0)
    # one that comes after glue-up is not there
    found = corners(a_case(shelf("low", 50.0, fixing="bracket")))
    assert found["left-bottom"].ends[0].room[0] == pytest.approx((H - 2 * T) / 2)


# --- shelves --------------------------------------------------------------------------------


def levels(told: Tables) -> dict[str, Level]:
    return {joint.name: joint for joint in of(told)[1] if isinstance(joint, Level)}


def test_a_shelf_is_set_at_both_sides_at_its_clear_height() -> None:
    found = levels(a_case(shelf("a", 210.0, fixing="through-dowel", setback="25 mm")))
    assert set(found) == {"shelf a at left", "shelf a at right"}
    left, right = found["shelf a at left"], found["shelf a at right"]
    assert (left.foot, left.inward) == ((T, 25.0, T), (1.0, 0.0, 0.0))
    assert (right.foot, right.inward) == ((W - T, 25.0, T), (-1.0, 0.0, 0.0))
    for level in (left, right):
        assert level.height == pytest.approx(210.0)
        assert level.depth == pytest.approx(D - 25.0)
        assert level.below.name == "bottom"
        assert level.phase == "fit out"


@pytest.mark.parametrize("fixing", ["dowel", "bracket"])
def test_what_is_drilled_on_the_bench_is_marked_in_the_dry_case_clear_of_the_sockets(
    fixing: str,
) -> None:
    level = levels(a_case(shelf("a", 210.0, fixing=fixing, setback="10 mm")))["shelf a at left"]
    assert level.phase == "dry fit"
    assert level.keep == pytest.approx((25.0, 35.0))


def order_and_bases(*shelves: Tables) -> tuple[list[str], dict[str, str]]:
    made, _ = of(tables(thick=T, case=case(W, 900.0, D), shelf=list(shelves)))
    names = [one.table.name for one in setting_order(made)]
    return names, {one.table.name: base(one, made).name for one in made.shelves}


def late(name: str, height: float, above: str | None = None) -> Tables:
    told = shelf(name, height, fixing="through-dowel")
    return told | ({"above": above} if above else {})


def test_shelves_measured_from_the_floor_are_set_from_the_top_down() -> None:
    order, bases = order_and_bases(late("b", 300.0), late("a", 100.0), late("c", 500.0))
    assert order == ["c", "b", "a"]
    assert set(bases.values()) == {"bottom"}


def test_shelves_measured_from_each_other_are_set_from_the_lowest_up() -> None:
    order, bases = order_and_bases(late("a", 100.0), late("b", 100.0, "a"), late("c", 100.0, "b"))
    assert order == ["a", "b", "c"]
    assert bases == {"a": "bottom", "b": "shelf a", "c": "shelf b"}


def test_a_glued_shelf_carries_the_spacers_of_those_over_it() -> None:
    order, bases = order_and_bases(
        shelf("glued", 300.0, fixing="dowel"), late("a", 100.0), late("b", 500.0), late("c", 650.0)
    )
    assert order == ["c", "b", "a"]
    assert bases == {"glued": "bottom", "a": "bottom", "b": "shelf glued", "c": "shelf glued"}


def test_a_shelf_between_one_and_the_one_it_is_measured_from_carries_its_spacers() -> None:
    # c is measured from a, b from the floor: on a, c's spacers would stand where b is, and b's
    # where a is
    order, bases = order_and_bases(late("a", 100.0), late("b", 250.0), late("c", 400.0, "a"))
    assert bases == {"a": "bottom", "b": "bottom", "c": "shelf b"}
    assert order == ["b", "c", "a"]


def test_no_spacer_waits_for_a_shelf_or_stands_where_one_is() -> None:
    """Of every order told: what a shelf stands on is there, and nothing between it and that."""
    told = tables(
        thick=T,
        case=case(W, 1500.0, D),
        shelf=[
            late("a", 60.0),
            late("b", 150.0),
            late("c", 100.0, "a"),
            shelf("d", 500.0, fixing="dowel"),
            late("e", 100.0, "c"),
            late("f", 900.0),
            late("g", 50.0, "d"),
            late("h", 40.0, "g"),
        ],
    )
    made, found = of(told)
    z = {shelf.board.name: shelf.underside for shelf in made.shelves}
    for level in found:
        if not isinstance(level, Level) or level.phase == "dry fit":
            continue
        low = level.foot[2]
        there = {*level.before, "bottom", "shelf d"}
        assert level.below.name in there
        between = [name for name in z if low < z[name] < z[level.shelf.name]]
        assert not there & set(between), level.name


# --- what is drilled ------------------------------------------------------------------------


def test_a_dowelled_shelf_is_drilled_from_its_underside_and_front() -> None:
    found = of(a_case(shelf("a", 210.0, fixing="dowel", setback="12 mm")))[1]
    left, right = (joint for joint in found if isinstance(joint, Dowelled))
    assert (left.datum, left.out) == ((T, 12.0, T + 210.0), (-1.0, 0.0, 0.0))
    assert (right.datum, right.out) == ((W - T, 12.0, T + 210.0), (1.0, 0.0, 0.0))
    assert left.into == right.into == (0.0, 0.0, 1.0)


@pytest.mark.parametrize("kind", ["sides-run", "top-runs"])
def test_a_dowelled_corner_is_drilled_from_the_outside_face_of_the_board_that_ends(
    kind: str,
) -> None:
    found = of(a_case(corner=kind, fixing="dowel"))[1]
    pinned = [joint for joint in found if isinstance(joint, Dowelled)]
    assert len(pinned) == 4
    for joint in pinned:
        edge, face = np.array(joint.edge.shape), np.array(joint.face.shape)
        datum, out = np.array(joint.datum), np.array(joint.out)
        into = np.array(joint.into)
        # the edge board ends at the joint, and lies from its datum face inwards
        assert (edge @ out).max() == pytest.approx(datum @ out)
        assert (face @ out).min() == pytest.approx(datum @ out)
        assert (edge @ into).min() == pytest.approx(datum @ into)
        assert abs(edge @ into - datum @ into).max() == pytest.approx(T)


@pytest.mark.parametrize("fixing", ["screw", "dowel"])
def test_screws_and_through_dowels_go_in_from_outside_into_the_end_that_is_there(
    fixing: str,
) -> None:
    told = a_case(shelf("a", 210.0, fixing="through-dowel"), corner="top-runs", fixing=fixing)
    found = [joint for joint in of(told)[1] if isinstance(joint, FaceHoles)]
    assert found
    for joint in found:
        assert joint.reaches is not None
        into, at = np.array(joint.into), np.array(joint.corner)
        face = np.array(joint.board.shape) @ into
        assert face.min() == pytest.approx(at @ into)
        assert (np.array(joint.reaches.shape) @ into).min() == pytest.approx(face.max())
