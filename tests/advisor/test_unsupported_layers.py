"""What a layer reaches past the layer below: areas against closed forms, and what they are."""

from __future__ import annotations

import math
from itertools import pairwise

import manifold3d as m3
import pytest

from fixtures.advisor import overhangs
from tests.advisor.solids import (
    HALVES,
    Solid,
    bored_block,
    box,
    cut,
    drum,
    frustum,
    hanging_cone,
    pendant,
    portal,
    tee,
    unsupported_area,
)


def ring(outer: float, inner: float, sides: int) -> float:
    """Area between two concentric regular polygons by their corner radii."""
    return sides / 2 * math.sin(2 * math.pi / sides) * (outer**2 - inner**2)


@pytest.mark.parametrize(
    ("solid", "area"),
    [  # step 0.2 at 45 degrees and h = 0.2
        (lambda: box(0, 0, 0, 20, 20, 20), 0),
        # a bridge of 20 × 10 between legs: (20 - 2 × 0.2) × 10
        (
            lambda: box(0, 0, 0, 5, 10, 10) + box(25, 0, 0, 30, 10, 10) + box(0, 0, 10, 30, 10, 12),
            196,
        ),
        # a roof of 10 × 10 over a pocket: 9.6²
        (lambda: box(0, 0, 0, 14, 14, 12) - box(2, 2, -1, 12, 12, 10), 92.16),
        # a cantilever of 15 × 10: 14.8 × 10
        (lambda: box(0, 0, 0, 5, 10, 12) + box(0, 0, 10, 20, 10, 12), 148),
        # a block 4 × 4 in the air
        (lambda: box(0, 0, 0, 2, 2, 9) + box(10, 10, 5, 14, 14, 9), 16),
        (lambda: tee(), 2 * 9.8 * 20),
        (lambda: portal(), 11.6 * 20),
    ],
)
def test_flat_roofs_less_their_first_step(solid: Solid, area: float) -> None:
    # the kernel's outlines sit on a grid of 1e-8 mm
    assert unsupported_area(solid()) == pytest.approx(area, abs=1e-5)


def test_a_mushroom_is_unsupported_past_its_stem() -> None:
    solid = drum(0, 0, 0, 5, 10, 128) + drum(0, 0, 10, 15, 3, 128)
    stem = 5 + 0.2 / math.cos(math.pi / 128)  # the stem's polygon, mitred outwards
    assert unsupported_area(solid) == pytest.approx(ring(15, stem, 128), rel=1e-5)


def test_a_60_degree_cone_oversteps_in_every_layer() -> None:
    tan = math.tan(math.radians(60))
    step = 0.2 / math.cos(math.pi / 256)
    radius = [10 + (k + 0.5) * 0.2 * tan for k in range(50)]
    exact = sum(ring(r, below + step, 256) for below, r in pairwise(radius))
    assert unsupported_area(frustum(60)) == pytest.approx(exact, rel=1e-3)


def test_a_lying_hole_oversteps_only_over_its_upper_eighths() -> None:
    # half chord x(z) = sqrt(r² - z²) above the axis; it must close by more than the step
    r, length = 4.0, 30.0
    half = [math.sqrt(max(0.0, r * r - z * z)) for z in [0.1 + 0.2 * k for k in range(21)]]
    exact = sum(2 * length * max(0.0, below - 0.2 - here) for below, here in pairwise(half))
    assert unsupported_area(bored_block(sides=1024)) == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize(("angle", "is_over"), [(44.5, False), (45.0, False), (45.5, True)])
def test_a_cone_oversteps_from_the_self_supporting_angle_on(angle: float, is_over: bool) -> None:
    found = overhangs.places(cut(frustum(angle)), 45, HALVES)
    assert bool(found) is is_over


@pytest.mark.parametrize("angle", [45.0, 45.1])
def test_a_finely_meshed_cone_at_the_angle_carries_itself(angle: float) -> None:
    # its outlines are simplified by up to 1 µm, each layer's a little differently, which is as
    # much as a tenth of a degree steps out in a layer
    assert overhangs.places(cut(frustum(angle, 2048)), 45, HALVES) == ()


def test_a_wall_leaning_45_degrees_in_both_directions_is_carried_at_its_corner() -> None:
    # an upturned pyramid: along the corner it steps out by sqrt(2) × the step
    pyramid = m3.Manifold.hull_points(
        [[x * s, y * s, z] for s, z in ((5, 0), (15, 10)) for x in (-1, 1) for y in (-1, 1)]
    )
    assert overhangs.places(cut(pyramid), 45, HALVES) == ()


def test_a_hanging_rod_is_one_island_where_it_begins() -> None:
    (place,) = [p for p in overhangs.places(cut(pendant()), 45, HALVES) if p.island]
    assert place.island is not None
    layer = cut(pendant()).runs[place.island.run].first
    assert (layer + 0.5) * 0.2 == pytest.approx(12.1)
    # foot of a 64-sided rod of radius 3: 28.229
    assert place.island.area == pytest.approx(28.229, abs=1e-3)


@pytest.mark.parametrize("tip", [5.0, 5.05, 5.1, 5.15, 5.2])
def test_a_cone_hanging_tip_down_is_one_island(tip: float) -> None:
    stack = cut(hanging_cone(tip))
    found = [p for p in overhangs.places(stack, 45, HALVES) if p.island]
    assert len(found) == 1
    assert found[0].island is not None
    begins = stack.runs[found[0].island.run].first * 0.2
    assert tip - 0.2 <= begins <= tip + 0.21  # a tip of 0.03 × 0.03 mm is a speck still


def test_an_island_is_found_however_small_while_a_line_could_be_laid() -> None:
    solid = box(0, 0, 0, 2, 20, 10) + box(8, 8, 5, 8.2, 8.2, 10) + box(0, 0, 10, 20, 20, 12)
    assert any(p.island for p in overhangs.places(cut(solid), 45, HALVES))


def test_two_ledges_are_two_places() -> None:
    found = overhangs.places(cut(tee()), 45, HALVES)
    assert [p.reach for p in found] == pytest.approx([10, 10])
    assert [p.span for p in found] == [0, 0]


def test_the_layers_of_one_slope_are_one_place() -> None:
    (place,) = overhangs.places(cut(frustum(60)), 45, HALVES)
    assert len(place.patches) == 49
    # in all it goes out by its own width
    assert place.out == pytest.approx(49 * 0.2 * math.tan(math.radians(60)), rel=0.01)
    assert place.reach <= HALVES.line_width  # but no line of it hangs free


def test_two_roofs_one_above_the_other_are_two_places() -> None:
    shelf = box(0, 0, 0, 3, 20, 30) + box(0, 0, 10, 13, 20, 12) + box(0, 0, 20, 13, 20, 22)
    corbel = box(0, 0, 0, 3, 20, 30) + box(0, 0, 10, 13, 20, 30) + box(0, 0, 20, 23, 20, 30)
    for solid in (shelf, corbel):
        found = overhangs.places(cut(solid), 45, HALVES)
        assert [p.reach for p in found] == pytest.approx([10, 10])
