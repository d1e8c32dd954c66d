"""From where a fixture is seen: shares in closed form for a cube and a board."""

from __future__ import annotations

import manifold3d as m3
import numpy as np
import pytest

from fixtures.drawings.bodies import FULL, Body, axes, of_solid
from fixtures.drawings.sight import best, planes, shares

FRONT, REAR = axes(0.0, 0.0)[2], axes(180.0, 0.0)[2]


def cube() -> Body:
    return of_solid(m3.Manifold.cube((10.0, 10.0, 10.0), True).refine(8), FULL)


def board(low: tuple[float, float, float], high: tuple[float, float, float]) -> np.ndarray:
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1])
               for z in (low[2], high[2])]  # fmt: skip
    return planes(np.array(corners))


def test_a_box_has_six_planes() -> None:
    found = board((0.0, 0.0, 0.0), (1.0, 2.0, 3.0))
    assert sorted(map(tuple, found.tolist())) == sorted(
        [(1, 0, 0, 1), (-1, 0, 0, 0), (0, 1, 0, 2), (0, -1, 0, 0), (0, 0, 1, 3), (0, 0, -1, 0)]
    )


def test_nothing_hides_a_fixture_that_stands_by_itself() -> None:
    assert shares(cube(), (), np.array([FRONT, REAR])).tolist() == [1.0, 1.0]


def test_a_board_before_it_hides_it_from_the_front_alone() -> None:
    wall = board((-50.0, -30.0, -50.0), (50.0, -20.0, 50.0))
    found = shares(cube(), [wall], np.array([FRONT, REAR]))
    assert found.tolist() == pytest.approx([0.0, 1.0])


def test_a_board_before_its_left_half_hides_half_of_it() -> None:
    whole = of_solid(m3.Manifold.cube((10.0, 10.0, 10.0), True), FULL)
    wall = board((-50.0, -30.0, -50.0), (0.0, -20.0, 50.0))
    # of its front's two triangles one has its middle on the left
    assert shares(whole, [wall], np.array([FRONT]))[0] == pytest.approx(0.5)


def test_a_board_that_touches_it_hides_only_what_it_covers() -> None:
    under = board((-50.0, -50.0, -15.0), (50.0, 50.0, -5.0))
    slanted = axes(30.0, 30.0)[2]
    assert shares(cube(), [under], slanted[None])[0] == pytest.approx(1.0)


def test_the_view_is_chosen_that_no_board_stands_in() -> None:
    wall = board((-50.0, -30.0, -50.0), (50.0, -20.0, 50.0))
    views = (((28.0, 24.0), 0.0), ((152.0, 24.0), 0.2))
    up = np.array((0.0, 0.0, 1.0))
    assert best(cube(), [], up, views).view == (28.0, 24.0)
    high = board((-500.0, -30.0, -500.0), (500.0, -20.0, 500.0))
    assert best(cube(), [wall, high], up, views).view == (152.0, 24.0)


def test_a_way_off_that_runs_at_the_viewer_is_looked_at_from_the_side() -> None:
    views = (((0.0, 0.0), 0.0), ((60.0, 0.0), 0.0))
    assert best(cube(), [], np.array((0.0, -1.0, 0.0)), views).view == (60.0, 0.0)
