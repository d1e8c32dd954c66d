"""Teardrops: outline by closed forms, the shaft that enters, and what printing makes of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fixtures import outline
from fixtures.advisor.advise import Advice, advise
from fixtures.compensate import for_print
from fixtures.errors import PartRefused
from fixtures.features import Hole, features
from fixtures.kernels.manifold import load, mesh, probe
from fixtures.printer import Bias, Printer
from fixtures.solid import Box, Difference, Feature, Pose, Solid, Vec, add, frame
from fixtures.teardrop import Teardrop, lying, teardrop

UP, RIGHT, AWAY, DOWN = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)
PRINTER = Printer(width=0.4, layer=0.2)
"""Exactly 45 degrees carry themselves."""


def hole(diameter: float = 8.0, axis: Vec = RIGHT, across: Vec = AWAY, **more: float) -> Hole:
    return Hole((0.0, 20.0, 20.0), axis, across, diameter, 40.0, True, **more)


def block(cut: Hole) -> Solid:
    return Difference(Box((40.0, 40.0, 40.0)), (Feature("bore", cut),))


def advised(cut: Hole) -> Advice:
    solid = block(cut)
    return advise(mesh(solid), PRINTER, tuple(f.recipe.fact(f.name) for f, _ in features(solid)))


@pytest.mark.parametrize(
    ("lean", "apex", "flat", "added"),
    [  # r / sin(alpha), 2 (1/sin(alpha) - 1) tan(alpha), cot(alpha) - (pi/2 - alpha), at r = 1
        (40, 1.5557, 0.9326, 0.3191),
        (45, 1.4142, 0.8284, 0.2146),
        (50, 1.3054, 0.7279, 0.1410),
        (55, 1.2208, 0.6306, 0.0893),
        (60, 1.1547, 0.5359, 0.0538),
    ],
)
def test_roof_and_area_are_the_closed_forms(
    lean: float, apex: float, flat: float, added: float
) -> None:
    pointed = teardrop(hole(2.0), UP, lean=lean, sag=None)
    assert (pointed.top, pointed.flat) == pytest.approx((apex, 0.0), abs=5e-5)
    assert outline.area(pointed.outline()) - math.pi == pytest.approx(added, abs=5e-5)
    flat_topped = teardrop(hole(2.0), UP, lean=lean, sag=0.0)
    assert (flat_topped.top, flat_topped.flat) == pytest.approx((1.0, flat), abs=5e-5)
    # what the flat cuts off is a triangle
    missing = (apex - 1) * flat / 2
    assert outline.area(flat_topped.outline()) - math.pi == pytest.approx(added - missing, abs=1e-4)


def test_a_flat_above_the_point_is_the_point() -> None:
    assert teardrop(hole(), UP, sag=5.0).top == pytest.approx(4 * math.sqrt(2))


@pytest.mark.parametrize("sag", [None, 0.0, 0.2])
@pytest.mark.parametrize(
    ("axis", "up"),
    [(RIGHT, UP), (RIGHT, DOWN), ((1.0, 0.0, 0.5), UP), ((1.0, 1.0, 0.0), (0.3, 0.0, 1.0))],
)
def test_the_largest_shaft_enters_and_the_roof_stands_over_it(
    axis: Vec, up: Vec, sag: float | None
) -> None:
    """Rays all round the axis: nowhere nearer than the radius, that near on all of the circle
    below, and farthest upwards."""
    cut = Teardrop((20.0, 20.0, 20.0), axis, RIGHT, 8.0, 40.0, True)
    cut = teardrop(replace(cut, at=add(cut.at, frame(cut.at, axis, UP).z, -20.0)), up, sag=sag)
    body, pose = load(mesh(block(cut))), cut.pose
    assert pose.y[0] * up[0] + pose.y[1] * up[1] + pose.y[2] * up[2] > 0.7
    ways = np.radians(np.arange(0.5, 360.0, 3.0))
    met = []
    for turn in ways:
        way = pose.turn((math.cos(turn), math.sin(turn), 0.0))
        hits = body.ray_cast((20.0, 20.0, 20.0), add((20.0, 20.0, 20.0), way, 60.0))
        met.append(min(hit.distance for hit in hits) * 60.0)
    got = np.array(met)
    assert 4.0 - 1e-5 < got.min() < 4.0 + 1e-3
    below = np.sin(ways) < math.sqrt(0.5)
    assert got[below].max() < 4.0 + 0.021  # drawn to 0.02 mm of the circle, on the air side
    top = got[np.argmin(np.abs(ways - math.pi / 2))]
    assert top == pytest.approx(4 * math.sqrt(2) if sag is None else 4.0 + sag, abs=0.06)


def test_probes_hold_and_find_a_round_hole_out() -> None:
    cut = teardrop(hole(), UP)
    solid = block(cut)
    probe(solid, mesh(solid))
    with pytest.raises(PartRefused, match="and its roof"):
        probe(solid, mesh(block(hole())))


@pytest.mark.parametrize(
    ("diameter", "sag"), [(6.0, "round"), (6.01, 0.2), (14.0, 0.2), (14.01, None)]
)
def test_size_decides_the_roof_of_a_lying_hole(diameter: float, sag: float | str | None) -> None:
    """6 and 14 mm: common practice, no source."""
    made = lying(hole(diameter), UP)
    assert (made.sag if isinstance(made, Teardrop) else "round") == sag


@pytest.mark.parametrize(("tilt", "round_"), [(0, True), (44, True), (46, False), (90, False)])
def test_a_standing_hole_stays_round(tilt: float, round_: bool) -> None:
    t = math.radians(tilt)
    made = lying(hole(8.0, (math.sin(t), 0.0, -math.cos(t)), AWAY), UP)
    assert (not isinstance(made, Teardrop)) == round_


@pytest.mark.parametrize("diameter", [8.0, 12.0, 14.0])
def test_the_advisor_has_nothing_to_say_of_a_teardrop(diameter: float) -> None:
    assert [f.check for f in advised(hole(diameter)).findings] == ["lying-bore"]
    # at 14 mm the flat is 5.4 mm wide, over the 5 mm below which a bridge goes without saying
    said = [(f.check, f.severity) for f in advised(lying(hole(diameter), UP)).findings]
    assert said == ([("bridge", "note")] if diameter == 14.0 else [])


def test_a_large_bore_wants_its_point() -> None:
    assert ("lying-bore", "mend") in [(f.check, f.severity) for f in advised(hole(20)).findings]
    assert advised(lying(hole(20), UP)).findings == ()


def test_it_grows_by_the_bias_of_a_lying_bore() -> None:
    printer = Printer(bias=Bias(bore_standing=-0.20, bore_lying=-0.30))
    made = for_print(block(teardrop(hole(), UP)), printer, Pose(), biased=True)
    (feature, _), *_ = features(made.solid)
    fact = feature.recipe.fact("bore")
    assert (fact.kind, fact.diameter) == ("through teardrop", pytest.approx(8.3))
    (move,) = made.moves
    assert (move.direction, move.by) == ("lying", pytest.approx(-0.15))
    drawn = feature.recipe
    assert isinstance(drawn, Teardrop)
    assert drawn.top == pytest.approx(4.15 + 0.2)


def test_facts_tell_a_blind_one() -> None:
    blind = replace(hole(), depth=10.0, through=False)
    fact = teardrop(blind, UP).fact("bore")
    assert (fact.kind, fact.diameter, fact.depth) == ("blind teardrop", 8.0, 10.0)
    solid = block(teardrop(blind, UP))
    probe(solid, mesh(solid))


@pytest.mark.parametrize(("lean", "sag"), [(25.0, None), (65.0, 0.2), (45.0, -0.1)])
def test_what_is_no_teardrop_is_refused(lean: float, sag: float | None) -> None:
    with pytest.raises(ValueError, match="no teardrop"):
        teardrop(hole(), UP, lean=lean, sag=sag)
    with pytest.raises(ValueError, match="length zero"):
        teardrop(hole(axis=DOWN, across=RIGHT), UP)
