"""Walls between named features: closed forms, what the layers say of the same wall, and limits.

A line is 0.4 mm wide here and a layer 0.2 mm high. The thickness expected is always the distance
of two axes less two radii, or of an axis from a plane less a radius.
"""

from __future__ import annotations

import math

import pytest

from fixtures.advisor import between, faces, walls
from fixtures.advisor.advise import Advice, advise
from fixtures.advisor.between import Between
from fixtures.advisor.layers import cut
from fixtures.features import Block, Hole, Pocket
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.outline import circle, polygon_outline, rectangle
from fixtures.solid import Difference, Fact, Feature, Pose
from tests.advisor.solids import HALVES, said

UP, DOWN, RIGHT, AWAY = (0, 0, 1), (0, 0, -1), (1, 0, 0), (0, 1, 0)
LIMIT = 1.2  # three lines


def body(wide: float = 60.0, deep: float = 40.0, high: float = 10.0) -> Feature:
    return Feature("body", Block(Pose(), rectangle(0, 0, wide, deep), high))


def bore(name: str, x: float, y: float, diameter: float, mouth: float = 0.0) -> Feature:
    hole = Hole((x, y, 10), DOWN, RIGHT, diameter, 10.0, through=True, mouth=mouth, exit=mouth)
    return Feature(name, hole)


def lying(name: str, x: float, z: float, diameter: float) -> Feature:
    return Feature(name, Hole((x, 0, z), AWAY, RIGHT, diameter, 40.0, through=True))


def pocket(name: str, x0: float, y0: float, x1: float, y1: float, depth: float) -> Feature:
    middle = ((x0 + x1) / 2, (y0 + y1) / 2, 10.0)
    w, d = (x1 - x0) / 2, (y1 - y0) / 2
    return Feature(name, Pocket(middle, DOWN, RIGHT, rectangle(-w, -d, w, d), depth))


def part(*cuts: Feature, of: Feature | None = None) -> tuple[Mesh, tuple[Fact, ...]]:
    whole = of or body()
    facts = tuple(one.recipe.fact(one.name) for one in (whole, *cuts))
    return manifold.mesh(Difference(whole, cuts)), facts


def found(*cuts: Feature, of: Feature | None = None) -> tuple[Between, ...]:
    mesh, facts = part(*cuts, of=of)
    return between.find(faces.faces(mesh), facts, LIMIT)


def advised(*cuts: Feature) -> Advice:
    mesh, facts = part(*cuts)
    return advise(mesh, HALVES, facts)


def test_between_two_bores() -> None:
    """12 apart, radii 6 and 5.2: 0.8 mm."""
    (wall,) = found(bore("a", 20, 20, 12), bore("b", 32, 20, 10.4))
    assert wall.features == ("a", "b")
    assert wall.thickness == pytest.approx(12 - 6 - 5.2, abs=0.02)
    middle = (wall.ends[0] + wall.ends[1]) / 2
    assert middle[:2] == pytest.approx((26.4, 20), abs=0.05)


def test_between_a_bore_and_the_outside() -> None:
    (wall,) = found(bore("a", 4.9, 20, 8))
    assert wall.features == ("a", "body")
    assert wall.thickness == pytest.approx(0.9, abs=1e-4)


def test_between_a_bore_and_a_slanted_side() -> None:
    """A side at 30°: the distance of a point from a line."""
    side = polygon_outline([(0, 0), (40, 0), (40 - 20 * math.tan(math.radians(30)), 20), (0, 20)])
    x, y = 28.0, 10.0
    away = (40 - x) * math.cos(math.radians(30)) - y * math.sin(math.radians(30))
    block = Feature("body", Block(Pose(), side, 10.0))
    (wall,) = found(bore("a", x, y, 2 * (away - 0.7)), of=block)
    assert wall.thickness == pytest.approx(0.7, abs=1e-3)


def test_between_a_bore_and_a_pocket_as_far_down_as_both_go() -> None:
    (wall,) = found(bore("a", 20, 20, 8), pocket("p", 24.5, 10, 40, 30, 4))
    assert wall.features == ("a", "p")
    assert wall.thickness == pytest.approx(0.5, abs=1e-4)
    assert 6 < wall.ends[0][2] < 10


def test_between_two_pockets_at_their_corners() -> None:
    (wall,) = found(pocket("p", 10, 10, 20, 20, 5), pocket("q", 20.6, 20.6, 30, 30, 5))
    assert wall.thickness == pytest.approx(0.6 * math.sqrt(2), abs=1e-4)


def test_a_lying_bore_under_a_pocket() -> None:
    (wall,) = found(lying("a", 30, 4, 5), pocket("p", 20, 10, 40, 30, 2.9))
    assert wall.features == ("a", "p")
    assert wall.thickness == pytest.approx(10 - 2.9 - 4 - 2.5, abs=1e-3)
    assert abs(wall.ends[1][2] - wall.ends[0][2]) == pytest.approx(wall.thickness, abs=1e-3)


def test_a_lying_bore_past_a_standing_one() -> None:
    """Axes 6.9 mm apart, square to each other: radii 3 and 3 leave 0.9 mm at one place."""
    (wall,) = found(lying("a", 20, 5, 6), bore("b", 26.9, 20, 6))
    assert wall.thickness == pytest.approx(0.9, abs=0.05)


@pytest.mark.parametrize("apart", [0.35, 0.7, 1.1])
def test_the_layers_say_the_same_of_a_wall_between_bores(apart: float) -> None:
    mesh, facts = part(bore("a", 20, 20, 8), bore("b", 28 + apart, 20, 8))
    (named,) = between.find(faces.faces(mesh), facts, LIMIT)
    table = faces.faces(mesh)
    (layered,) = walls.find(cut(table, manifold.load(mesh), HALVES.layer), HALVES.line_width)
    assert named.thickness == pytest.approx(apart, abs=0.02)
    assert layered.thickness == pytest.approx(named.thickness, abs=0.03)


@pytest.mark.parametrize("apart", [0.35, 0.7, 1.1])
def test_the_layers_say_the_same_of_a_wall_beside_a_pocket(apart: float) -> None:
    mesh, facts = part(pocket("p", 10, 10, 20, 30, 6), pocket("q", 20 + apart, 10, 30, 30, 6))
    (named,) = between.find(faces.faces(mesh), facts, LIMIT)
    table = faces.faces(mesh)
    (layered,) = walls.find(cut(table, manifold.load(mesh), HALVES.layer), HALVES.line_width)
    assert named.thickness == pytest.approx(apart, abs=1e-4)
    assert layered.thickness == pytest.approx(named.thickness, abs=0.01)


def test_a_wall_that_stands_is_told_once_with_both_names() -> None:
    advice = advised(bore("a", 20, 20, 8), bore("b", 28.7, 20, 8))
    assert said(advice, "feature-wall") == []
    (finding,) = said(advice, "thin-wall")
    assert finding.message.startswith("The wall between a and b is 0.7")


@pytest.mark.parametrize(
    ("left", "severity", "limit"),
    [(0.15, "stop", 0.2), (0.35, "mend", 0.4), (0.7, "note", 0.8), (0.85, None, None)],
)
def test_a_wall_that_lies_is_counted_in_layers(
    left: float, severity: str | None, limit: float | None
) -> None:
    """Over a bore of 2 mm, whose crown is too narrow for a flat of layers."""
    advice = advised(lying("a", 30, 10 - left - 1.0, 2))
    findings = said(advice, "feature-wall")
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    if severity:
        assert findings[0].measured == pytest.approx(left, abs=1e-3)
        assert findings[0].limit == pytest.approx(limit)
        assert "The wall between a and the outside" in findings[0].message
        assert said(advice, "thin-flat") == []


def test_a_flat_that_the_layers_tell_is_not_told_again() -> None:
    advice = advised(lying("a", 30, 5.6, 8))
    assert said(advice, "feature-wall") == []
    assert [finding.feature for finding in said(advice, "thin-flat")] == ["a"]


def test_just_inside_the_limit_nothing_is_told() -> None:
    advice = advised(bore("a", 20, 20, 8), bore("b", 29.25, 20, 8))
    assert said(advice, "feature-wall") + said(advice, "thin-wall") == []


def test_cuts_that_open_into_each_other_have_no_wall() -> None:
    assert found(bore("a", 20, 20, 8), pocket("p", 23, 10, 40, 30, 4)) == ()


def test_a_cut_that_is_open_to_a_side_has_no_wall_there() -> None:
    assert found(pocket("p", -1, 10, 20, 14, 5)) == ()


@pytest.mark.parametrize("lean", [25.0, 45.0, 60.0])
def test_where_a_bore_leaves_at_a_slant_there_is_an_edge_and_no_wall(lean: float) -> None:
    """Its rim is a wedge of 90° less the lean, thinner than three lines over 2 mm at 60°."""
    turn = math.radians(lean)
    axis = (math.sin(turn), 0, -math.cos(turn))
    slanted = Hole((15, 20, 10), axis, AWAY, 6.0, 10 / math.cos(turn), through=True)
    assert found(Feature("a", slanted)) == ()


def test_a_wall_lower_than_a_millimetre_is_an_edge() -> None:
    """The blind spot."""
    assert found(bore("a", 20, 20, 8), pocket("p", 24.5, 10, 40, 30, 0.9)) == ()
    assert len(found(bore("a", 20, 20, 8), pocket("p", 24.5, 10, 40, 30, 1.1))) == 1


def test_a_third_feature_between_two_parts_them() -> None:
    """p is 0.3 mm from each of its neighbours, and they 1.1 mm from each other."""
    names = [
        wall.features
        for wall in found(
            pocket("l", 10, 10, 20, 30, 5),
            pocket("p", 20.3, 5, 20.8, 35, 5),
            pocket("r", 21.1, 10, 30, 30, 5),
        )
    ]
    assert names == [("l", "p"), ("p", "r")]


def test_a_mesh_without_names_is_not_asked() -> None:
    mesh, facts = part(bore("a", 20, 20, 8), bore("b", 28.7, 20, 8))
    bare = Mesh(mesh.vertices, mesh.faces, mesh.owner, ())
    assert between.find(faces.faces(bare), facts, LIMIT) == ()


def test_any_outline_will_do_for_a_pocket() -> None:
    """A round pocket has no diameter in its fact: its faces tell."""
    round_one = Feature("p", Pocket((30, 20, 10), DOWN, RIGHT, circle(5), 6.0))
    (wall,) = found(bore("a", 20, 20, 8), round_one)
    assert wall.thickness == pytest.approx(1.0, abs=0.02)
