"""Faces past the self-supporting angle, against closed forms."""

from __future__ import annotations

import math

import manifold3d as m3
import pytest

from fixtures.advisor.overhangs import overhang_faces, self_supporting_angle
from fixtures.mesh import make
from fixtures.printer import Printer
from tests.advisor.solids import (
    HALVES,
    Solid,
    along_y,
    as_mesh,
    bored_block,
    box,
    cube,
    frustum,
    pendant,
    portal,
    tee,
)


@pytest.mark.parametrize(
    ("layer", "angle"),
    # alpha = atan((1 - u) w / h), u = 0.5, w = 0.45, held at 60 degrees
    [(0.10, 60.0), (0.15, 56.3), (0.20, 48.4), (0.25, 42.0), (0.30, 36.9)],
)
def test_self_supporting_angle_by_layer_height(layer: float, angle: float) -> None:
    assert self_supporting_angle(Printer(width=0.45, layer=layer)) == pytest.approx(angle, abs=0.05)


@pytest.mark.parametrize(("width", "layer"), [(0.4, 0.2), (0.6, 0.3)])
def test_a_line_twice_as_wide_as_high_gives_the_45_degree_rule(width: float, layer: float) -> None:
    assert self_supporting_angle(Printer(width=width, layer=layer)) == pytest.approx(45, abs=1e-9)


@pytest.mark.parametrize(
    ("solid", "area", "projected", "prism"),
    [  # exact, by hand
        (lambda: cube(), 0, 0, 0),
        (lambda: tee(), 400, 400, 8000),
        (lambda: portal(), 240, 240, 2400),
        (lambda: frustum(44), 0, 0, 0),
    ],
)
def test_flat_overhangs_are_exact(
    solid: Solid, area: float, projected: float, prism: float
) -> None:
    found = overhang_faces(as_mesh(solid()), 45)
    assert (found.area, found.projected, found.prism) == pytest.approx((area, projected, prism))


@pytest.mark.parametrize(("angle", "area"), [(46, 1372.7), (60, 2344.7)])
def test_a_frustum_past_45_degrees_overhangs_with_all_its_wall(angle: float, area: float) -> None:
    # wall of a 256-sided frustum: perimeters' mean × slant height
    found = overhang_faces(as_mesh(frustum(angle)), 45)
    assert found.area == pytest.approx(area, abs=0.05)
    assert found.steepest == pytest.approx(angle, abs=0.01)


def test_a_ball_on_the_bed_overhangs_with_its_lower_cap() -> None:
    # 2 pi R² (1 - sin 45) = 184.03; a facetted ball changes by whole facets at the angle
    found = overhang_faces(as_mesh(m3.Manifold.sphere(10, 256).translate((0, 0, 10))), 45)
    exact = 2 * math.pi * 100 * (1 - math.sin(math.radians(45)))
    assert abs(found.area - exact) <= found.near
    assert found.area == pytest.approx(exact, rel=0.02)
    # between the cap and the bed: cylinder under it minus the cap's own volume
    assert found.prism == pytest.approx(216.88, rel=0.03)


def test_a_lying_bore_overhangs_with_a_quarter_of_its_wall() -> None:
    # pi/2 r L = 188.496, and r cos 45 projects to 169.706; by 64 sides 188.420
    found = overhang_faces(as_mesh(bored_block()), 45)
    assert found.area == pytest.approx(188.420, abs=0.01)
    assert found.projected == pytest.approx(169.706, rel=1e-3)
    assert found.prism == pytest.approx(2313.4, rel=1e-3)


def test_a_portal_with_a_hanging_rod_counts_roof_and_rod_tip() -> None:
    found = overhang_faces(as_mesh(pendant()), 45)
    assert found.area == pytest.approx(22 * 30, abs=1e-3)
    # roof at 20 less the rod's foot, rod's tip at 12; foot by 64 sides
    foot = 32 * 9 * math.sin(math.pi / 32)
    assert found.prism == pytest.approx(20 * (660 - foot) + 12 * foot, rel=1e-6)


def test_a_face_at_exactly_the_angle_carries_itself() -> None:
    gable = along_y([(0, 0), (10, 0), (20, 10), (-10, 10)], 0, 10)
    mesh = as_mesh(gable)
    assert overhang_faces(mesh, 45).area == 0
    assert overhang_faces(mesh, 45).near == pytest.approx(2 * 10 * 10 * math.sqrt(2))
    assert overhang_faces(mesh, 44.99).area == pytest.approx(2 * 10 * 10 * math.sqrt(2))


@pytest.mark.parametrize(("over", "area"), [(-1e-4, 0.0), (1e-4, 1.0)])
def test_the_tolerance_at_the_angle_is_a_rounding_not_a_rule(over: float, area: float) -> None:
    # one face, at the angle ± 0.0001 degrees, near the origin where float32 is fine
    slope = math.tan(math.radians(45 + over))
    mesh = make([(0, 0, 1), (0, 1, 1), (slope, 0, 2)], [(0, 1, 2)])
    expected = area * math.hypot(1, slope) / 2
    assert overhang_faces(mesh, 45).area == pytest.approx(expected)


def test_45_degree_edges_far_from_the_origin_carry_themselves() -> None:
    # 0.4 mm edge breaks near x = 200: rounding corners to float32 tilts them by up to 0.002°
    for place in range(8):
        x = 200.13 + 0.37 * place
        points = [(x, 0), (x + 10, 0), (x + 10.4, 0.4), (x + 10.4, 5), (x, 5)]
        solid = along_y(points, 190, 200).rotate((0, 0, 3 * place))
        assert overhang_faces(as_mesh(solid), 45).area == 0


def test_faces_on_the_bed_do_not_overhang() -> None:
    assert overhang_faces(as_mesh(box(0, 0, 0, 10, 10, 1)), 45).area == 0


def test_the_default_line_carries_a_little_more_than_45_degrees() -> None:
    # w = 0.44, h = 0.2: atan(1.1) = 47.73
    assert self_supporting_angle(Printer()) == pytest.approx(47.726, abs=1e-3)
    assert self_supporting_angle(HALVES) == pytest.approx(45.0)
