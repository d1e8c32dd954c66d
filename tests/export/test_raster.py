"""Which triangle a pixel shows and which lines are hidden, on squares counted by hand."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.export import raster

# two triangles that make the square from 10 to 60
SQUARE = np.array(
    [[[10, 10], [60, 10], [60, 60]], [[10, 10], [60, 60], [10, 60]]], dtype=np.float64
)


def at(depth: float) -> np.ndarray:
    return np.full((2, 3), depth)


def test_triangles_that_share_an_edge_share_no_pixel_and_leave_none_out() -> None:
    both = raster.seen(SQUARE, at(0), 80, 80).triangle
    alone = [raster.seen(SQUARE[[i]], at(0)[:1], 80, 80).triangle for i in (0, 1)]
    assert np.count_nonzero(both != raster.NOTHING) == 2500  # 50 × 50
    assert sum(np.count_nonzero(one != raster.NOTHING) for one in alone) == 2500


@pytest.mark.parametrize("shift", [0.0, 0.25, 0.5, 0.99])
def test_a_square_keeps_its_area_wherever_it_lies(shift: float) -> None:
    triangle = raster.seen(SQUARE + shift, at(0), 80, 80).triangle
    assert np.count_nonzero(triangle != raster.NOTHING) == 2500


def test_the_nearer_triangle_is_seen_and_nothing_where_there_is_none() -> None:
    corners = np.concatenate((SQUARE, SQUARE + 5))
    picture = raster.seen(corners, np.concatenate((at(3), at(2))), 80, 80)
    assert picture.triangle[30, 30] in (0, 1)
    assert picture.triangle[62, 62] in (2, 3)
    assert picture.triangle[70, 70] == raster.NOTHING
    assert picture.level[30, 30] == pytest.approx(picture.to_level(np.array(3.0)), abs=1e-6)
    assert picture.level[70, 70] == 0


def test_depth_runs_evenly_over_a_slope() -> None:
    slope = SQUARE[:, :, 0] * 2.0  # depth is twice x
    picture = raster.seen(SQUARE, slope, 80, 80)
    expected = picture.to_level(2.0 * (np.arange(10, 60) + 0.5))
    assert picture.level[40, 10:60] == pytest.approx(expected, abs=1e-6)


def line(
    begin: tuple[float, float, float], end: tuple[float, float, float]
) -> tuple[np.ndarray, ...]:
    return np.array([begin]), np.array([end]), np.full((1, 2), raster.NOTHING)


def test_a_line_is_hidden_behind_and_seen_before_and_beside() -> None:
    picture = raster.seen(SQUARE, at(0), 80, 80)
    behind = raster.lines(*line((2.5, 30.5, -20), (77.5, 30.5, -20)), picture, slack=4)
    before = raster.lines(*line((2.5, 30.5, 20), (77.5, 30.5, 20)), picture, slack=4)
    assert not behind[30, 12:58].any()
    assert behind[30, 3:9].all()
    assert before[30, 3:77].all()
    assert np.count_nonzero(before) == np.count_nonzero(before[30])


def test_a_line_on_the_surface_is_seen() -> None:
    picture = raster.seen(SQUARE, at(0), 80, 80)
    assert raster.lines(*line((15, 15, 0), (55, 40, 0)), picture, slack=4).sum() >= 40


def test_the_far_edge_of_a_face_seen_nearly_edge_on_is_drawn() -> None:
    # a face 0.9 pixels wide and 200 deep: the pixel it covers is 89 nearer than its far edge
    (x0, x1), (y0, y1) = (40.0, 40.9), (20.0, 60.0)
    face = np.array([[[x0, y0], [x1, y0], [x1, y1]], [[x0, y0], [x1, y1], [x0, y1]]])
    depth = np.array([[0.0, -200.0, -200.0], [0.0, -200.0, 0.0]])
    picture = raster.seen(face, depth, 80, 80)
    begin, end, nothing = line((x1, y0 + 1, -200), (x1, y1 - 1, -200))
    assert raster.lines(begin, end, np.array([[0, 1]]), picture, slack=4)[22:58, 40].all()
    assert not raster.lines(begin, end, nothing, picture, slack=4).any()  # as for any other line


def test_nothing_at_all_gives_an_empty_picture() -> None:
    picture = raster.seen(np.zeros((0, 3, 2)), np.zeros((0, 3)), 20, 20)
    assert (picture.triangle == raster.NOTHING).all()
    none = np.zeros((0, 3))
    assert not raster.lines(none, none, np.zeros((0, 2), int), picture, slack=4).any()
