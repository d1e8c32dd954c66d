"""Which way up: candidates that stand, costs by closed forms, and choices geometry demands.

Areas, projected areas and support prisms of the test solids are closed forms: plane areas, and
prisms from a plane down to the bed.
"""

from __future__ import annotations

import math

import manifold3d as m3
import numpy as np
import pytest

from fixtures.advisor.orient import SIDES, best_pose, turned
from fixtures.advisor.poses import Candidate, candidates, costs, even_sphere
from fixtures.mesh import bounds
from fixtures.printer import Printer
from tests.advisor.solids import HALVES, as_mesh, box, cube, drum, frustum, portal, tee
from tests.parts.made import DEFAULTS, part, read_back

BED = (240.0, 200.0, 230.0)


def ways(solid: m3.Manifold, bed: tuple[float, float, float] = BED) -> tuple[Candidate, ...]:
    return candidates(as_mesh(solid), bed, tuple(SIDES.values()))


def test_even_sphere_is_even() -> None:
    """Mean of the vectors 0, mean of their squares 1/3 along every axis: as on a sphere."""
    found = even_sphere(200)
    assert np.abs(np.linalg.norm(found, axis=1) - 1).max() < 1e-12
    assert np.abs(found.mean(axis=0)).max() < 0.01
    assert np.abs((found**2).mean(axis=0) - 1 / 3).max() < 0.01
    nearest = np.sort(found @ found.T, axis=1)[:, -2]  # cosine of the angle to the nearest
    spread = math.degrees(math.acos(float(nearest.max())))
    assert spread > 0.5 * math.degrees(math.sqrt(4 * math.pi / 200))


def test_a_box_stands_on_its_six_sides_alone() -> None:
    found = [way for way in ways(box(0, 0, 0, 30, 20, 10)) if way.stands]
    assert len(found) == 6


@pytest.mark.parametrize(
    ("wide", "high"), [(20.0, 20.0), (20.0, 60.0), (10.0, 100.0)], ids=["cube", "post", "rod"]
)
def test_tip_angle_of_a_square_post(wide: float, high: float) -> None:
    """A post tips when its middle, high / 2 up, comes over its edge, wide / 2 away."""
    as_is = ways(box(0, 0, 0, wide, wide, high))[0]
    assert as_is.tip == pytest.approx(math.degrees(math.atan(wide / high)), abs=1e-6)
    assert as_is.stands is (math.degrees(math.atan(wide / high)) > 15)


def test_tip_angle_counts_where_the_mass_is() -> None:
    """An L: its middle of mass by hand, (10·40·5 + 30·10·25) / (10·40 + 30·10) across."""
    solid = box(0, 0, 0, 10, 10, 40) + box(10, 0, 0, 40, 10, 10)
    middle = (400 * 5 + 300 * 25) / 700
    up = (400 * 20 + 300 * 5) / 700
    as_is = ways(solid)[0]
    least = min(middle, 40 - middle, 5.0)
    assert as_is.tip == pytest.approx(math.degrees(math.atan(least / up)), abs=1e-4)


@pytest.mark.parametrize(
    ("solid", "overhang", "support"),
    [
        (cube, 0.0, 0.0),
        (tee, 400.0, 8000.0),  # two ledges 10 × 20, 20 mm up
        (portal, 240.0, 2400.0),  # a lintel 12 × 20, 10 mm up
    ],
)
def test_costs_of_a_pose(solid: object, overhang: float, support: float) -> None:
    mesh = as_mesh(solid())  # type: ignore[operator]
    found = costs(mesh, candidates(mesh, BED, tuple(SIDES.values()))[:1], 45.0)[0]
    assert found.overhang == pytest.approx(overhang, rel=1e-6, abs=1e-6)
    assert found.support == pytest.approx(support, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(("angle", "hangs"), [(44.0, False), (46.0, True)])
def test_a_slope_costs_from_its_limit_on(angle: float, hangs: bool) -> None:
    mesh = as_mesh(frustum(angle))
    found = costs(mesh, candidates(mesh, BED, tuple(SIDES.values()))[:1], 45.0)[0]
    assert (found.overhang > 1.0) is hangs


def table() -> m3.Manifold:
    legs = [box(x, y, 0, x + 6, y + 6, 20) for x in (0, 34) for y in (0, 34)]
    return sum(legs, box(0, 0, 20, 40, 40, 25))


def test_a_table_is_turned_over() -> None:
    choice = best_pose(as_mesh(table()), HALVES)
    assert choice.name == "upside down"
    assert not choice.tried[0].advice.supports
    assert "hangs in the air" in choice.reason


def test_what_is_fine_stays_as_it_is() -> None:
    choice = best_pose(as_mesh(cube()), HALVES)
    assert choice.name == "as-is"
    assert choice.reason == "As it is, no other way up is better."


@pytest.mark.parametrize("seed", range(3))
def test_a_turned_part_is_put_right_again(seed: int) -> None:
    """However the file has it, the tee ends lying as a profile: 30 × 25 on the bed, 20 high."""
    angles = np.random.default_rng(seed).uniform(0, 360, 3)
    mesh = as_mesh(tee().rotate(tuple(float(a) for a in angles)))
    choice = best_pose(mesh, HALVES)
    low, high = bounds(choice.mesh)
    assert high[2] - low[2] == pytest.approx(20.0, abs=1e-3)
    assert sorted((high[0] - low[0], high[1] - low[1])) == pytest.approx([25.0, 30.0], abs=1e-3)
    assert not choice.tried[0].advice.supports
    assert choice.name.endswith("down")


def test_a_rod_is_laid_down() -> None:
    choice = best_pose(as_mesh(box(0, 0, 0, 8, 8, 120)), HALVES)
    low, high = bounds(choice.mesh)
    assert high[2] - low[2] == pytest.approx(8.0)
    assert "tips over" in choice.reason


def test_what_does_not_fit_is_turned_until_it_does() -> None:
    bed = Printer(bed=(300.0, 100.0, 50.0))
    choice = best_pose(as_mesh(box(0, 0, 0, 90, 8, 250)), bed)
    low, high = bounds(choice.mesh)
    size = [high[i] - low[i] for i in range(3)]
    assert size[0] <= 300
    assert size[1] <= 100
    assert size[2] <= 50
    assert "does not fit the bed" in choice.reason


def test_what_fits_nowhere_says_so() -> None:
    choice = best_pose(as_mesh(box(0, 0, 0, 400, 30, 30)), HALVES)
    assert choice.name == "as-is"
    assert "No way up fits the bed of 240 × 200 × 230 mm" in choice.reason
    assert choice.standing == 0


def test_a_ball_stands_nowhere() -> None:
    choice = best_pose(as_mesh(m3.Manifold.sphere(20.0, 64).translate((0, 0, 20))), HALVES)
    assert choice.tried[0].name == choice.name
    assert choice.looked_at > 200


def test_a_drum_stands_on_its_ends() -> None:
    standing = [way for way in ways(drum(0, 0, 0, 20, 15)) if way.stands]
    assert {way.height for way in standing} == {15.0}


@pytest.mark.parametrize("name", sorted(DEFAULTS))
def test_no_family_has_a_better_way_up_than_its_own(name: str) -> None:
    """A family's print pose is chosen with its features in mind; faces and layers agree with it:
    no other way up has fewer stops or does without supports where its own needs them."""
    made = part(name)
    mesh = turned(read_back(made), made.pose)
    choice = best_pose(mesh, Printer())
    own = next(one for one in choice.tried if one.name == "as-is")

    def cost(one: object) -> tuple[int, bool]:
        advice = one.advice  # type: ignore[attr-defined]
        return sum(f.severity == "stop" for f in advice.findings), advice.supports

    assert cost(own) <= min(cost(one) for one in choice.tried)
