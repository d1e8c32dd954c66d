"""Walls that lie flat, both sides of each limit: one layer and two, three and four.

Layers are 0.2 mm here; a layer is there where its middle, an odd multiple of 0.1, is in the wall.
"""

from __future__ import annotations

import math

import manifold3d as m3
import pytest

from fixtures.advisor.advise import advise
from fixtures.features import Block, Label, Pocket
from fixtures.finding import Finding
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.outline import rectangle
from fixtures.solid import Difference, Fact, Feature, Pose
from tests.advisor.solids import HALVES, advised, along_y, box, lying, said


def tray(floor: float) -> m3.Manifold:
    """A tray 40 × 30 × 10 with walls of 4 mm: its floor is 32 × 22."""
    return box(0, 0, 0, 40, 30, 10) - box(4, 4, floor, 36, 26, 11)


def web(low: float, thick: float) -> m3.Manifold:
    """Two legs and a level web of 10 × 20 between them."""
    legs = box(0, 0, 0, 6, 20, 12) + box(16, 0, 0, 22, 20, 12)
    return legs + box(5, 0, low, 17, 20, low + thick)


def flats(solid: m3.Manifold) -> list[Finding]:
    return said(advised(solid), "thin-flat")


@pytest.mark.parametrize(
    ("thick", "severity", "layers"),
    [
        (0.08, "stop", "no layer"),
        (0.12, "mend", "1 layer;"),
        (0.28, "mend", "1 layer;"),
        (0.32, "note", "2 layers"),
        (0.68, "note", "3 layers"),
    ],
)
def test_floors_of_too_few_layers(thick: float, severity: str, layers: str) -> None:
    (found,) = flats(tray(thick))
    assert (found.severity, found.feature) == (severity, None)
    assert layers in found.message
    assert "on the bed" in found.message
    assert found.measured == pytest.approx(thick, abs=1e-5)
    assert found.area == pytest.approx(32 * 22, rel=1e-3)
    assert found.z == pytest.approx((0.0, thick), abs=1e-5)


def test_four_layers_are_solid() -> None:
    assert flats(tray(0.72)) == []


@pytest.mark.parametrize("low", [5.0, 5.07, 5.13])
def test_a_web_is_as_thick_as_it_is_drawn_wherever_it_lies(low: float) -> None:
    """0.45 mm holds two or three middles of layers, as it happens to lie."""
    (found,) = flats(web(low, 0.45))
    assert found.severity == "note"
    assert "A flat wall" in found.message
    assert found.measured == pytest.approx(0.45, abs=1e-5)
    assert found.area == pytest.approx(10 * 20, rel=0.06)  # less the step that carries itself


def test_a_web_between_the_middles_of_layers_is_not_printed() -> None:
    (found,) = flats(web(5.12, 0.15))
    assert found.severity == "stop"
    assert found.area == pytest.approx(10 * 20, rel=1e-3)


def test_a_web_just_thick_enough_is_not_told() -> None:
    assert flats(web(5.0, 0.8)) == []


def test_a_roof_thin_over_a_hollow_is_found() -> None:
    hollow = box(0, 0, 0, 30, 20, 10) - box(4, -1, 3, 12, 21, 9.5)
    (found,) = flats(hollow)
    assert found.severity == "note"
    assert found.z == pytest.approx((9.5, 10.0), abs=1e-5)


@pytest.mark.parametrize(("over", "told"), [(0.5, 1), (1.2, 0)])
def test_what_is_left_over_a_lying_bore(over: float, told: int) -> None:
    """A bore of 8 mm whose crown comes within `over` of the top."""
    found = flats(box(0, 0, 0, 20, 30, 12) - lying(10, -1, 8 - over, 4, 32))
    assert len(found) == told
    if told:
        # at the middle of a facet of 64 the crown is r (1 - cos(pi / 64)) lower at most
        assert over - 0.01 <= (found[0].measured or 0) <= over + 0.2


def test_a_step_in_the_floor_is_one_flat_told_by_its_thinnest() -> None:
    stepped = tray(0.6) - box(10, 8, 0.2, 20, 20, 2)
    (found,) = flats(stepped)
    assert found.severity == "mend"
    assert found.measured == pytest.approx(0.2, abs=1e-5)
    assert found.area == pytest.approx(32 * 22, rel=1e-3)


def test_two_flats_are_two() -> None:
    solid = box(0, 0, 0, 60, 30, 10) - box(4, 4, 0.4, 26, 26, 11) - box(34, 4, 0.4, 56, 26, 11)
    assert len(flats(solid)) == 2


@pytest.mark.parametrize("degrees", [5.0, 20.0, 45.0])
def test_a_ramps_toe_is_no_flat(degrees: float) -> None:
    """It thins out to nothing, as every ramp does."""
    rise = 20 * math.tan(math.radians(degrees))
    assert flats(along_y([(0, 0), (20, 0), (20, rise)], 0, 20)) == []


def test_what_is_narrower_than_two_lines_is_passed_over() -> None:
    """The blind spot: a lip 0.7 mm wide (two lines are 0.8) and one layer high."""
    assert flats(box(0, 0, 0, 20, 20, 10) + box(19, 0, 0, 20.7, 20, 0.2)) == []
    assert len(flats(box(0, 0, 0, 20, 20, 10) + box(19, 0, 0, 20.9, 20, 0.2))) == 1


def test_turned_and_moved_it_is_the_same_flat() -> None:
    (plain,) = flats(tray(0.3))
    (turned,) = flats(tray(0.3).rotate((0, 0, 37)).translate((13, -4, 0)))
    assert turned.measured == pytest.approx(plain.measured, abs=1e-5)
    assert turned.area == pytest.approx(plain.area, rel=1e-3)


def named(cut: Feature) -> tuple[Mesh, tuple[Fact, ...]]:
    """A block 60 × 40 × 10 with one cut, and the facts of both."""
    body = Feature("body", Block(Pose(), rectangle(0, 0, 60, 40), 10.0))
    facts = tuple(one.recipe.fact(one.name) for one in (body, cut))
    return manifold.mesh(Difference(body, (cut,))), facts


def pocket(depth: float) -> Feature:
    outline = rectangle(-10, -10, 10, 10)
    return Feature("recess", Pocket((30, 20, 10), (0, 0, -1), (1, 0, 0), outline, depth))


def test_the_feature_is_named_not_the_body() -> None:
    mesh, facts = named(pocket(9.7))
    (found,) = said(advise(mesh, HALVES, facts), "thin-flat")
    assert found.feature == "recess"
    assert found.measured == pytest.approx(0.3, abs=1e-5)


def test_under_letters_nothing_is_told() -> None:
    """The blind spot: letters cut so deep that 0.4 mm is left under them."""
    label = Feature("mark", Label((20, 20, 10), (0, 0, -1), (1, 0, 0), "HH", 8.0, 1.2, 9.6))
    mesh, facts = named(label)
    assert said(advise(mesh, HALVES), "thin-flat") != []
    assert said(advise(mesh, HALVES, facts), "thin-flat") == []
