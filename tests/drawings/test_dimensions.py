"""Sizes stand round a view without touching, and their extension lines stand where they say.

Habits of ISO 129-1:2018 are tested as far as they are numbers of ours: a gap of 1 mm and 2 mm
beyond, words over their line, read from below or from the right.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fixtures.drawings import lettering
from fixtures.drawings.dimension_marks import arc, arrow, bounds, crossing, spaced, through
from fixtures.drawings.dimensions import OFF, OVER, CallOut, Laid, Running, Side, Size, laid
from fixtures.drawings.marks import LEAST, Area, Lines, Words
from fixtures.mesh import Floats

BOX = (0.0, 0.0, 80.0, 40.0)
EDGES = np.array(
    [((0, 0), (80, 0)), ((80, 0), (80, 40)), ((80, 40), (0, 40)), ((0, 40), (0, 0))], dtype=float
)


def words(found: Laid) -> list[Words]:
    return [mark for mark in found.marks if isinstance(mark, Words)]


def boxes(found: Laid) -> list[shapely.Polygon]:
    return [shapely.box(*lettering.box(one)) for one in words(found)]


def strokes(found: Laid) -> shapely.MultiLineString:
    lines = [mark.ends for mark in found.marks if isinstance(mark, Lines)]
    return shapely.MultiLineString(list(np.concatenate(lines)))


def size(side: Side, low: float, high: float, text: str = "") -> Size:
    whole = {"left": 0.0, "top": 0.0, "right": 80.0, "bottom": 40.0}[side]
    return Size(side, (low, high), (whole, whole), text or f"{high - low:g}", high - low)


@pytest.mark.parametrize("side", ["left", "right", "top", "bottom"])
def test_extension_lines_begin_off_the_edge_and_end_beyond_the_line(side: Side) -> None:
    found = laid(BOX, EDGES, sizes=[size(side, 5.0, 35.0)])
    first, second, line = next(m for m in found.marks if isinstance(m, Lines)).ends
    assert np.linalg.norm(second[0] - first[0]) == pytest.approx(30.0)
    edge = shapely.box(*BOX)
    assert edge.distance(shapely.Point(first[0])) == pytest.approx(OFF)
    beyond = shapely.LineString(line).distance(shapely.Point(first[1]))
    assert beyond == pytest.approx(OVER)
    assert found.told[0].spots is not None
    assert np.linalg.norm(np.subtract(*found.told[0].spots)) == pytest.approx(30.0)


def test_words_stand_over_their_line_and_read_from_below_or_the_right() -> None:
    found = laid(BOX, EDGES, sizes=[size("top", 0.0, 80.0), size("left", 0.0, 40.0)])
    level = next(one for one in words(found) if one.text == "80")
    upright = next(one for one in words(found) if one.text == "40")
    assert (level.turn, upright.turn) == (0.0, 90.0)
    line = [m.ends[2] for m in found.marks if isinstance(m, Lines)]
    flat = next(ends for ends in line if ends[0, 1] == ends[1, 1])
    tall = next(ends for ends in line if ends[0, 0] == ends[1, 0])
    assert lettering.box(level)[3] < flat[0, 1]  # y runs down
    assert lettering.box(upright)[2] < tall[0, 0]
    assert {one.height for one in words(found)} == {LEAST}


def test_a_length_too_short_for_its_arrows_has_them_outside() -> None:
    found = laid(BOX, EDGES, sizes=[size("top", 40.0, 43.0)])
    tips = [mark.rings[0] for mark in found.marks if isinstance(mark, Area)]
    assert sorted(tip[0, 0] for tip in tips) == [40.0, 43.0]
    assert all(ring[1:, 0].max() < 40.0 or ring[1:, 0].min() > 43.0 for ring in tips)


def test_short_lengths_stand_nearer_than_long_ones() -> None:
    found = laid(BOX, EDGES, sizes=[size("bottom", 0.0, 80.0), size("bottom", 10.0, 40.0)])
    level = {one.text: one.at[1] for one in words(found)}
    assert level["30"] < level["80"]


def test_a_length_that_finds_no_row_changes_sides_unless_it_must_stay() -> None:
    beam = np.array([((x, -300.0), (x, -1.5)) for x in np.arange(-60.0, 140.0, 1.0)])
    free = size("top", 10.0, 50.0)
    found = laid(BOX, beam, sizes=[free])
    assert [one.at[1] > 40.0 for one in words(found)] == [True]
    stays = Size("top", free.ends, free.feet, free.text, free.value, stays=True)
    assert laid(BOX, beam, sizes=[stays]).left == (stays,)


def test_running_sizes_count_from_one_origin_and_crowded_ones_move_apart() -> None:
    stops = tuple(
        Size("bottom", (at, 10.0), (40.0, 40.0), f"{abs(at - 10):g}", abs(at - 10.0))
        for at in (2.0, 12.0, 13.0, 70.0)
    )
    found = laid(BOX, EDGES, running=[Running("bottom", stops)])
    assert sorted(one.text for one in words(found)) == ["0", "2", "3", "60", "8"]
    assert {told.spots[0] for told in found.told if told.spots} == {(10.0, 48.0)}
    assert [t.spots[1][0] for t in found.told if t.spots] == [2.0, 12.0, 13.0, 70.0]
    assert not any(a.intersects(b) for a, b in combinations(boxes(found), 2))


def test_a_call_outs_arrow_touches_the_circle_it_tells_of() -> None:
    found = laid(BOX, EDGES, callouts=[CallOut(("4× ⌀8 through",), (60.0, 20.0), 8.0, radius=4.0)])
    tip = next(mark for mark in found.marks if isinstance(mark, Area)).rings[0][0]
    assert np.hypot(*(tip - (60.0, 20.0))) == pytest.approx(4.0, abs=1e-3)


def test_arrows_between_walls_stand_as_far_apart_as_these() -> None:
    callout = CallOut(("slot",), (40.0, 20.0), 10.0, across=((37.0, 16.0), (43.0, 24.0)))
    found = laid(BOX, EDGES, callouts=[callout])
    tips = [mark.rings[0][0] for mark in found.marks if isinstance(mark, Area)]
    assert np.linalg.norm(tips[0] - tips[1]) == pytest.approx(10.0, abs=1e-3)


def test_what_finds_no_room_is_told_and_not_dropped() -> None:
    wall = np.array([((x, -200.0), (x, 240.0)) for x in np.arange(-60.0, 140.0, 1.0)])
    asked = size("top", 10.0, 50.0)
    found = laid(BOX, wall, sizes=[asked], callouts=[CallOut(("a note",), (40.0, 20.0), 1.0)])
    assert found.told == ()
    assert [type(one) for one in found.left] == [Size, CallOut]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["left", "right", "top", "bottom"]),
            st.floats(0.0, 30.0),
            st.floats(1.0, 40.0),
        ),
        min_size=1,
        max_size=8,
    ),
    st.lists(st.tuples(st.floats(5.0, 75.0), st.floats(5.0, 35.0)), max_size=4),
)
def test_no_words_meet_words_lines_or_edges(
    asked: list[tuple[Side, float, float]], tips: list[tuple[float, float]]
) -> None:
    sizes = [size(side, low, min(low + span, 40.0), f"{span:.2f}") for side, low, span in asked
             if low + 1.0 <= min(low + span, 40.0)]  # fmt: skip
    notes = [CallOut((f"⌀{n} through", "second line"), tip, 1.0) for n, tip in enumerate(tips)]
    found = laid(BOX, EDGES, sizes=sizes, callouts=notes)
    assert len(found.told) + len(found.left) == len(sizes) + len(notes)
    rooms = boxes(found)
    assert not any(a.intersects(b) for a, b in combinations(rooms, 2))
    edges = shapely.MultiLineString(list(EDGES))
    drawn = strokes(found) if found.told else edges
    assert not any(room.intersects(edges) or room.intersects(drawn) for room in rooms)
    around = shapely.box(*found.box).buffer(1e-6)
    assert all(around.contains(room) for room in rooms)


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=12), st.floats(0.5, 9.0))
def test_places_moved_apart_keep_their_order_their_gap_and_their_middle(
    places: list[float], least: float
) -> None:
    places = sorted(places)
    moved = spaced(places, least)
    assert all(b - a >= least - 1e-6 for a, b in pairwise(moved))
    assert sum(moved) == pytest.approx(sum(places), abs=1e-6)


coordinate = st.integers(-20, 20).map(float)


@given(st.tuples(coordinate, coordinate, coordinate, coordinate))
def test_lines_through_a_box_are_those_that_another_library_finds(
    ends: tuple[float, float, float, float],
) -> None:
    assume(ends[:2] != ends[2:])
    line: Floats = np.array([((ends[0], ends[1]), (ends[2], ends[3]))])
    rect = (-5.5, -3.5, 7.5, 6.5)
    inside = shapely.box(*rect)
    expected = bool(shapely.LineString(line[0]).intersection(inside).length > 1e-9)
    assert bool(through(line, rect)[0]) == expected


def test_leaders_that_cross_are_found() -> None:
    one = np.array([((0.0, 0.0), (10.0, 10.0)), ((10.0, 10.0), (12.0, 10.0))])
    across = np.array([((0.0, 10.0), (10.0, 0.0)), ((10.0, 0.0), (12.0, 0.0))])
    beside = one + np.array((0.0, 3.0))
    assert crossing(one, [across])
    assert not crossing(one, [beside])


def test_an_arc_lies_on_its_circle_and_an_arrow_on_its_spot() -> None:
    way = arc((3.0, 4.0), 12.0, 0.2, 1.9)
    assert np.hypot(*(way - (3.0, 4.0)).T) == pytest.approx(12.0)
    assert len(way) % 2 == 1  # its middle is one of its spots
    assert tuple(arrow((1.0, 2.0), np.array((0.0, 5.0))).rings[0][0]) == (1.0, 2.0)
    assert bounds(np.array([((1.0, 5.0), (2.0, 3.0))])) == (1.0, 3.0, 2.0, 5.0)
