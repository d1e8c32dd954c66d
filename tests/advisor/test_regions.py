"""Measures of plane regions, against shapely."""

from __future__ import annotations

import math

import manifold3d as m3
import numpy as np
import pytest
import shapely

from fixtures.advisor import contours, standing_bores
from fixtures.advisor.contours import outlines
from fixtures.advisor.infill import _Contours
from fixtures.advisor.regions import inside, mitred_each, united_or_moved
from tests.advisor.solids import box, cut, drum


def sieve(seed: int) -> m3.CrossSection:
    """A square with a hundred round holes of many sizes, some through others and the border."""
    rng = np.random.default_rng(seed)
    turn = np.arange(40) * math.pi / 20
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    holes = [rng.uniform(0, 200, 2) + rng.uniform(1, 9) * ring for _ in range(100)]
    return m3.CrossSection.square((200.0, 200.0)) - m3.CrossSection(holes)


def as_shapely(region: m3.CrossSection) -> shapely.Geometry:
    whole = shapely.Point()
    for points in region.to_polygons():
        whole = whole.symmetric_difference(shapely.Polygon(points))
    return whole


def test_points_are_inside_as_another_library_finds_them() -> None:
    region = sieve(3)
    points = np.random.default_rng(4).uniform(-5, 205, (20_000, 2))
    theirs = shapely.contains_xy(as_shapely(region), points)
    assert np.array_equal(inside(points, region), theirs)


def test_nothing_is_inside_of_nothing() -> None:
    assert not inside(np.array([(0.0, 0.0)]), m3.CrossSection()).any()
    assert len(inside(np.zeros((0, 2)), sieve(1))) == 0


def test_a_region_by_the_contours_near_a_place_is_the_same_there() -> None:
    region = sieve(5)
    near = _Contours(region)
    for x, y in np.random.default_rng(6).uniform(0, 190, (50, 2)):
        window = m3.CrossSection.square((10.0, 8.0)).translate((x, y))
        whole, part = region ^ window, near.at(window.bounds()) ^ window
        assert abs(whole.area() - part.area()) < 1e-6
        assert (whole - part).area() < 1e-6


def test_a_thousand_bores_are_each_found_once() -> None:
    plate = box(0, 0, 0, 256, 256, 3)
    bores = [drum(8 * i + 4, 8 * j + 4, -1, 2, 5, 16) for i in range(32) for j in range(32)]
    found = standing_bores.find(cut(plate - m3.Manifold.batch_boolean(bores, m3.OpType.Add), 0.5))
    assert len(found) == 1024
    assert len({(round(bore.x), round(bore.y)) for bore in found}) == 1024


@pytest.mark.parametrize("together", [1, 3000, 10**9])
def test_regions_moved_in_blocks_grow_as_another_library_has_them(
    together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(contours, "_TOGETHER", together)
    regions = [sieve(seed) for seed in range(7, 11)]
    every = mitred_each((outlines(region) for region in regions), 0.05, 2.0)
    for region, one in zip(regions, every, strict=True):
        theirs = as_shapely(region).buffer(0.05, join_style="mitre", mitre_limit=2.0)
        assert united_or_moved(region, one, 0.05, 2.0).area() == pytest.approx(
            theirs.area, rel=1e-4
        )
