"""The mesh kernel against the exact one: apart by what the formula of the chord allows, no more."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures import mesh as meshes
from fixtures.kernels import manifold
from fixtures.solid import Box, Cylinder, Difference, Placed, Pose, Solid, frame
from tests.kernels.test_laws import BLOCK, any_solid, few, numbers
from tests.zoo import ALL_SOUND, Specimen

pytest.importorskip("OCP", reason="the exact kernel's library is missing (panelry[brep])")
from fixtures.kernels import brep

ROUNDING = 2.0**-19  # mm; half a float32 step from 32 to 64 mm


def shortage(solid: Solid, deflection: float) -> float:
    """mm³ that the drawn part is short of the true one."""
    return brep.volume(solid) - meshes.volume(manifold.mesh(solid, deflection))


def most_sides(radius: float, deflection: float) -> float:
    """Sides of the polygon whose chord is `deflection` high, from the chord's height
    r (1 - cos(pi / n)); fewer would be too coarse, so this is the coarsest allowed.
    """
    return math.pi / math.acos(1 - deflection / radius)


@few
@given(radius=numbers(0.5, 9), deflection=numbers(0.002, 0.1))
def test_hole_is_short_by_no_more_than_the_polygon_round_it(
    radius: float, deflection: float
) -> None:
    """0 ≤ V − V_mesh ≤ (n tan(π/n) − π) r² h, the polygon with the circle inside it."""
    part = Difference(Box((20, 20, 5)), (Placed(Cylinder(radius, 7), Pose(at=(10.0, 10.0, -1.0))),))
    n = most_sides(radius, deflection)
    most = (n * math.tan(math.pi / n) - math.pi) * radius**2 * 5
    assert -2000 * ROUNDING <= shortage(part, deflection) <= most + 2000 * ROUNDING


@few
@given(radius=numbers(0.5, 9), deflection=numbers(0.002, 0.1))
def test_shaft_is_short_by_no_more_than_the_polygon_in_it(radius: float, deflection: float) -> None:
    """0 ≤ V − V_mesh ≤ (π − n/2 sin(2π/n)) r² h, the polygon with its corners on the circle."""
    n = most_sides(radius, deflection)
    most = (math.pi - n / 2 * math.sin(2 * math.pi / n)) * radius**2 * 5
    assert -1000 * ROUNDING <= shortage(Cylinder(radius, 5), deflection) <= most + 1000 * ROUNDING


@few
@given(cut=any_solid(0, 40, 12), deflection=st.sampled_from((0.1, 0.03, 0.01, 0.003)))
def test_any_cut_leaves_at_most_a_deflection_too_little(cut: Solid, deflection: float) -> None:
    part = Difference(BLOCK, (cut,))
    walls = math.pi * 12 * 12 + 1  # of a cylinder 12 wide and long; a cone has less
    assert -0.1 <= shortage(part, deflection) <= deflection * walls + 0.1


@pytest.mark.parametrize("part", ALL_SOUND, ids=lambda part: part.name)
def test_both_find_the_same_box_around_a_part(part: Specimen) -> None:
    """The drawn part may fall short of the box by a deflection where an arc's side faces an axis,
    and stand out where a flared arc's mitred corners do, by less.
    """
    deflection = 0.01
    drawn = meshes.bounds(manifold.mesh(part.solid, deflection))
    for mine, true in zip(drawn, brep.bounds(part.solid), strict=True):
        assert mine == pytest.approx(true, abs=deflection if part.curved else 1e-5)


@pytest.mark.parametrize(
    "solid",
    [
        Cylinder(40, 10),
        Difference(Box((90, 90, 10)), (Placed(Cylinder(40, 12), Pose(at=(45.0, 45.0, -1.0))),)),
        Difference(
            Box((90, 90, 90)),
            (Placed(Cylinder(25, 200, 40), frame((-20, -10, 0), (1, 1, 0.8), (0, 0, 1))),),
        ),
    ],
    ids=["shaft", "hole", "slanting conical hole"],
)
def test_error_shrinks_as_fast_as_the_deflection(solid: Solid) -> None:
    """Observed order of convergence 1: the area between arc and chord goes as the chord's height.

    40 mm, so that the least number of sides (32) does not decide; the number is rounded up to a
    multiple of 4, so the order is taken over a hundredfold change.
    """
    deflections = np.array([0.1, 0.03, 0.01, 0.003, 0.001])
    exact = brep.volume(solid)
    errors = [exact - meshes.volume(manifold.mesh(solid, d)) for d in deflections]
    order = np.polyfit(np.log(deflections), np.log(errors), 1)[0]
    assert order == pytest.approx(1, abs=0.1)
