"""Outlines of many layers moved at once, against each alone and against shapely."""

from __future__ import annotations

import manifold3d as m3
import numpy as np
import pytest
import shapely

from fixtures.advisor import walls
from fixtures.advisor.contours import outlines
from fixtures.advisor.inwards import inwards
from fixtures.advisor.regions import SHARP_MITRE, mitred, mitred_each
from tests.advisor.solids import box, cut, drum

SQUARE = m3.CrossSection.square((20.0, 10.0))
RINGS = SQUARE - m3.CrossSection.circle(2.0, 48).translate((6.0, 5.0))
NOTHING = m3.CrossSection()


def fork(gap: float) -> m3.Manifold:
    """A block of 40 × 20 × 10 with two bores of 6 mm, `gap` mm of wall between them."""
    at = 3 + gap / 2
    return box(-20, -10, 0, 20, 10, 10) - drum(-at, 0, -1, 3, 12) - drum(at, 0, -1, 3, 12)


def test_areas_are_signed_as_another_library_finds_them() -> None:
    found = outlines(RINGS)
    for points, area in zip(found.split(), found.areas, strict=True):
        ring = shapely.LinearRing(points)
        sign = 1 if ring.is_ccw else -1
        assert area == pytest.approx(sign * shapely.Polygon(points).area, rel=1e-9)


def test_outlines_moved_together_are_those_moved_alone() -> None:
    regions = [outlines(region) for region in (SQUARE, NOTHING, RINGS, SQUARE)]
    for alone, together in zip(regions, mitred_each(regions, -1.5, SHARP_MITRE), strict=True):
        expected = mitred(alone, -1.5, SHARP_MITRE)
        assert together.sound == expected.sound
        assert np.array_equal(together.outlines.points, expected.outlines.points)
        assert np.array_equal(together.outlines.ends, alone.ends)


@pytest.mark.parametrize(("gap", "whole"), [(1.9, False), (2.1, True)])
def test_a_layer_is_whole_where_no_wall_is_thinner_than_twice_the_depth(
    gap: float, whole: bool
) -> None:
    (found,) = inwards(cut(fork(gap)), 1.0).whole
    assert found == whole


@pytest.mark.parametrize("gap", [0.6, 1.0, 1.3, 1.4, 3.0])
@pytest.mark.parametrize("depth", [0.5, 0.7, 1.0, 1.8])
def test_what_is_known_of_a_deeper_move_changes_no_thin_wall(gap: float, depth: float) -> None:
    layers = cut(fork(gap))
    plain = [place.thickness for place in walls.find(layers, 0.45)]
    known = [place.thickness for place in walls.find(layers, 0.45, inwards(layers, depth))]
    assert known == plain
    assert bool(plain) == (gap < 3 * 0.45)
