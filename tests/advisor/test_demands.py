"""What features ask of the way a part lies: thresholds by closed forms, and choices that follow.

Lines are twice as wide as layers are high, so 45° carries itself: a bore leaning less than 45° from
upright has no roof steeper than that (sin 45° = cos 45°), one leaning more has.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fixtures.advisor import demands
from fixtures.advisor.demands import broken
from fixtures.advisor.orient import SIDES, best_pose, facts_turned, turned
from fixtures.features import Block, Hole, Pocket, Slot, features
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.outline import rectangle
from fixtures.solid import Difference, Fact, Feature, Pose, Recipe, Vec, dot
from fixtures.teardrop import teardrop
from tests.advisor.solids import HALVES
from tests.parts.made import DEFAULTS, part

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)


def made(*cuts: tuple[str, Recipe], high: float = 30.0) -> tuple[Mesh, tuple[Fact, ...]]:
    """A block 40 × 30 with cuts, and the facts of all."""
    body = Feature("body", Block(Pose(), rectangle(0, 0, 40, 30), high))
    features = tuple(Feature(name, recipe) for name, recipe in cuts)
    facts = tuple(one.recipe.fact(one.name) for one in (body, *features))
    return manifold.mesh(Difference(body, features)), facts


def lying(diameter: float, x: float = 20.0) -> Hole:
    return Hole((x, 0.0, 15.0), Y, X, diameter, 30.0, through=True)


def unmet(mesh: Mesh, facts: tuple[Fact, ...], up: Vec = Z) -> list[tuple[str, bool]]:
    found = broken(demands.demands(mesh, facts), up, 45.0)
    return [(one.feature, one.hard) for one in found]


@pytest.mark.parametrize(("lean", "asks"), [(44.0, []), (46.0, [("a", True)])])
def test_a_bore_may_lean_as_far_as_its_roof_carries_itself(
    lean: float, asks: list[tuple[str, bool]]
) -> None:
    turn = math.radians(lean)
    mesh, facts = made(("a", lying(10.0)))
    assert unmet(mesh, facts, (0.0, math.cos(turn), math.sin(turn))) == asks


@pytest.mark.parametrize(
    ("diameter", "asks"), [(6.0, False), (6.2, True), (25.0, True), (25.5, False)]
)
def test_which_lying_bores_gauge(diameter: float, asks: bool) -> None:
    assert unmet(*made(("a", lying(diameter)))) == ([("a", True)] if asks else [])


@pytest.mark.parametrize(
    ("up", "asks"), [(Z, False), (DOWN, True), (X, True), (Y, False)], ids=["z", "-z", "x", "y"]
)
def test_a_teardrop_lies_with_its_roof_up_or_stands(up: Vec, asks: bool) -> None:
    mesh, facts = made(("a", teardrop(lying(10.0), Z)))
    assert unmet(mesh, facts, up) == ([("a", True)] if asks else [])


def slot() -> Slot:
    outline = rectangle(-5, -50, 5, 50)
    return Slot((20, 15, 30), DOWN, X, outline, 10.0, 12.0, (-10.0, 10.0))


@pytest.mark.parametrize(
    ("up", "asks"), [(Z, False), (DOWN, False), (X, True), (Y, False)], ids=["z", "-z", "x", "y"]
)
def test_a_slots_walls_must_not_hang(up: Vec, asks: bool) -> None:
    """Upright either way, and on its end; on its side one wall lies over the opening."""
    assert unmet(*made(("s", slot())), up) == ([("s", True)] if asks else [])


def test_a_pockets_walls_must_not_hang() -> None:
    deep = Pocket((20, 15, 30), DOWN, X, rectangle(-6, -6, 6, 6), 10.0)
    mesh, facts = made(("p", deep))
    assert unmet(mesh, facts) == []
    assert unmet(mesh, facts, X) == [("p", True)]


def test_a_screw_along_the_layers_pull_is_a_soft_demand() -> None:
    mesh, facts = made(("screw_1", Hole((20, 15, 30), DOWN, X, 4.0, 30.0, through=True)))
    assert unmet(mesh, facts) == [("screw_1", False)]
    assert unmet(mesh, facts, X) == []


def test_a_gauging_bore_is_stood_up() -> None:
    mesh, facts = made(("dowel bore", lying(10.0)))
    choice = best_pose(mesh, HALVES, facts)
    assert choice.name in ("front side down", "back side down")
    assert choice.reason.startswith("As it is, dowel bore lies, and its roof sags")
    bore = next(fact for fact in choice.facts if fact.name == "dowel bore")
    assert abs(bore.axis[2]) == pytest.approx(1.0)


def test_a_small_lying_bore_is_left_as_it_is() -> None:
    mesh, facts = made(("a", lying(6.0)))
    assert best_pose(mesh, HALVES, facts).name == "as-is"


def test_a_bore_at_a_slant_is_looked_at_along_its_own_axis() -> None:
    turn = math.radians(50)
    axis = (0.0, math.sin(turn), -math.cos(turn))
    mesh, facts = made(("a", Hole((20, 5, 30), axis, X, 10.0, 60.0, through=True)))
    there, back = demands.ways(demands.demands(mesh, facts))
    assert there == pytest.approx(axis)
    assert back == pytest.approx(tuple(-c for c in axis))


def test_a_teardrop_upside_down_is_turned_over() -> None:
    mesh, facts = made(("a", teardrop(lying(10.0), DOWN)))
    choice = best_pose(mesh, HALVES, facts)
    assert choice.tried[0].broken == ()
    assert choice.name in ("upside down", "front side down", "back side down")
    assert "a lies with its roof turned aside" in choice.reason


def test_a_teardrop_with_its_roof_up_stays() -> None:
    mesh, facts = made(("a", teardrop(lying(10.0), Z)))
    choice = best_pose(mesh, HALVES, facts)
    assert choice.name == "as-is"
    assert choice.reason == "As it is, no other way up is better."


def test_of_two_bores_square_to_each_other_one_must_lie_and_is_named() -> None:
    cross = Hole((0, 15, 22), X, Y, 10.0, 40.0, through=True)
    low = Hole((30, 0, 8), Y, X, 10.0, 30.0, through=True)
    mesh, facts = made(("a", low), ("b", cross))
    choice = best_pose(mesh, HALVES, facts)
    assert len(choice.tried[0].broken) == 1
    assert min(len(one.broken) for one in choice.tried) == 1


def test_a_slot_is_turned_so_that_no_wall_hangs() -> None:
    mesh, facts = made(("s", slot()))
    way = SIDES["left side down"]
    aside, lie = turned(mesh, way), facts_turned(facts, mesh, way)
    assert unmet(aside, lie) == [("s", True)]
    choice = best_pose(aside, HALVES, lie)
    assert choice.tried[0].broken == ()
    assert "s has a wall that hangs over its opening" in choice.reason


def test_a_screw_decides_between_equals() -> None:
    """A cube that prints alike on each side is laid so that the screw runs along the layers."""
    body = Feature("body", Block(Pose(), rectangle(0, 0, 20, 20), 20.0))
    hole = Feature("screw_1", Hole((10, 10, 20), DOWN, X, 4.0, 20.0, through=True))
    mesh = manifold.mesh(Difference(body, (hole,)))
    assert best_pose(mesh, HALVES).name == "as-is"
    choice = best_pose(mesh, HALVES, (body.recipe.fact("body"), hole.recipe.fact("screw_1")))
    (screw,) = [fact for fact in choice.facts if fact.name == "screw_1"]
    assert abs(screw.axis[2]) < 1e-6


@pytest.mark.parametrize("side", SIDES)
def test_facts_are_turned_with_the_mesh(side: str) -> None:
    """The bore's own faces stay within its radius of its axis, and its mouth on the part."""
    mesh, facts = made(("a", lying(10.0, x=12.0)))
    moved = turned(mesh, SIDES[side])
    (bore,) = [fact for fact in facts_turned(facts, mesh, SIDES[side]) if fact.name == "a"]
    faces = moved.faces[moved.owner == moved.names.index("a")]
    to = moved.vertices[np.unique(faces)] - np.array(bore.at)
    along = to @ np.array(bore.axis)
    off = np.sqrt((to**2).sum(axis=1) - along**2)
    assert off.max() == pytest.approx(5.0, abs=0.02)
    assert (along.min(), along.max()) == pytest.approx((0.0, 30.0), abs=1e-3)
    assert abs(dot(bore.axis, bore.across)) < 1e-9
    assert replace(bore, at=X, axis=X, across=X) == replace(facts[1], at=X, axis=X, across=X)


@pytest.mark.parametrize("name", sorted(set(DEFAULTS) - {"fit-coupon"}))
def test_every_familys_own_pose_meets_its_features_demands(name: str) -> None:
    """The fit coupon alone has bores that lie, to be measured."""
    family = part(name)
    mesh = manifold.mesh(family.solid)
    facts = tuple(
        demands.turned([one.recipe.fact(one.name)], pose)[0] for one, pose in features(family.solid)
    )
    up = demands_up(family.pose)
    assert [one for one in broken(demands.demands(mesh, facts), up, 48.0) if one.hard] == []


def demands_up(pose: Pose) -> Vec:
    """What is up in the print pose, in the part's own axes."""
    return pose.x[2], pose.y[2], pose.z[2]
