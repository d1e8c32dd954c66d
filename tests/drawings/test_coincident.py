"""Lines on one another are drawn once, lines in one another's way stay, straight ones join."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest

from fixtures.drawings.coincident import NEAR, drawn_once, straightened
from fixtures.drawings.grid import Grid, grid_over, pairs
from fixtures.mesh import Floats
from tests.drawings.shapes import circle, lengths, total


def _once(lines: npt.ArrayLike, rank: list[int]) -> tuple[Floats, list[int]]:
    ends = np.array(lines, dtype=np.float64)
    grid = grid_over(ends.min(axis=(0, 1)), ends.max(axis=(0, 1)), 50)
    left, which = drawn_once(ends, np.array(rank), grid)
    return left, which.tolist()


def test_the_lower_rank_keeps_the_common_part_and_the_other_its_ends() -> None:
    left, which = _once([[(0, 0), (10, 0)], [(7, 0), (3, 0)]], [1, 0])
    assert sorted(zip(which, lengths(left).tolist(), strict=True)) == [
        (0, pytest.approx(3.0)),
        (0, pytest.approx(3.0)),
        (1, pytest.approx(4.0)),
    ]


def test_of_one_rank_the_longer_line_covers_the_shorter() -> None:
    left, which = _once([[(3, 0), (12, 0)], [(0, 0), (10, 0)]], [0, 0])
    assert sorted(zip(which, lengths(left).tolist(), strict=True)) == [
        (0, pytest.approx(2.0)),
        (1, pytest.approx(10.0)),
    ]


@pytest.mark.parametrize(("apart", "drawn"), [(0.9 * NEAR, 10.0), (1.1 * NEAR, 20.0)])
def test_lines_apart_by_less_than_the_limit_are_one(apart: float, drawn: float) -> None:
    left, _ = _once([[(0, 0), (10, 0)], [(0, apart), (10, apart)]], [0, 0])
    assert total(left) == pytest.approx(drawn)


def test_lines_that_cross_lose_nothing() -> None:
    left, _ = _once([[(0, 0), (10, 0)], [(5, -5), (5, 5)], [(0, -4), (8, 4)]], [0, 0, 0])
    assert total(left) == pytest.approx(20 + math.hypot(8, 8))


def test_a_circle_drawn_twice_with_other_facets_is_one_circle() -> None:
    """Facets 0.008 mm off a circle of 10 mm, turned by half a facet."""
    n = math.ceil(math.pi / math.acos(1 - 0.008 / 10))
    turn = math.pi / n
    one = circle(10, n)
    two = one @ np.array(((math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))))
    rings = [np.stack((ring, np.roll(ring, -1, axis=0)), axis=1) for ring in (one, two)]
    left, which = _once(np.concatenate(rings), [0] * n + [1] * n)
    assert total(left) == pytest.approx(2 * n * 10 * math.sin(math.pi / n))
    assert max(which) < n


def test_straight_runs_are_joined_over_crossings_but_not_round_corners() -> None:
    lines = np.array([
        [(0, 0), (4, 0)], [(10, 0), (4, 0)], [(4, 0), (4, 5)], [(4, -5), (4, 0)],
        [(10, 0), (10, 3)], [(20, 0), (22, 0)],
    ], dtype=np.float64)  # fmt: skip
    made, kind = straightened(lines, np.zeros(6, dtype=np.int64))
    assert sorted(lengths(made)) == pytest.approx([2, 3, 10, 10])
    assert len(kind) == 4


def test_lines_of_different_kinds_are_not_joined() -> None:
    lines = np.array([[(0, 0), (4, 0)], [(4, 0), (9, 0)]], dtype=np.float64)
    made, kind = straightened(lines, np.array([0, 1]))
    assert (lengths(made).tolist(), kind.tolist()) == ([4.0, 5.0], [0, 1])


def test_upright_lines_join_whichever_way_they_run() -> None:
    """Slopes just left and right of upright, and of level, are one slope."""
    bent = 1e-9
    lines = np.array([
        [(0, 0), (bent, 5)], [(0, 10), (bent, 5)], [(5, 0), (9, bent)], [(12, 0), (9, bent)],
    ])  # fmt: skip
    made, _ = straightened(lines, np.zeros(4, dtype=np.int64))
    assert sorted(lengths(made)) == pytest.approx([7, 10])


def test_shapes_that_share_a_point_share_a_cell() -> None:
    """Of random segments every pair that crosses is among the candidates."""
    drawn = np.random.default_rng(7).uniform(0, 50, (120, 2, 2))
    short = drawn.copy()
    short[:, 1] = short[:, 0] + (short[:, 1] - short[:, 0]) * 0.2
    grid = Grid(np.zeros(2), 1.7, 30, 30)
    found = {
        (a, b) for one, two in pairs(grid, short, short, 0.0) for a, b in zip(one, two, strict=True)
    }

    def side(p: Floats, q: Floats, r: Floats) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    crossing = [
        (i, j)
        for i, (a, b) in enumerate(short)
        for j, (c, d) in enumerate(short)
        if i != j and side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
    ]
    assert len(crossing) > 20
    assert set(crossing) <= found
