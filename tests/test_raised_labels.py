"""Labels that stand on a plate: one with it, as high as asked, and they print."""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry import Polygon

from fixtures.advisor.advise import advise
from fixtures.errors import InputError
from fixtures.features import Label, RaisedLabel, features
from fixtures.glyphs import strokes, text_width
from fixtures.kernels.manifold import mesh
from fixtures.mesh import Mesh, bodies, bounds, is_closed, volume
from fixtures.printer import Printer
from fixtures.solid import Box, Difference, Feature, Solid, Union

DOWN = (0.0, 0.0, -1.0)
RIGHT = (1.0, 0.0, 0.0)
TEXTS = ["19.2", "3⁄4", "11 23⁄32", "45° ×2", "FRONT ↑", "8⁄8 #"]


def plate(text: str, height: float, deep: float = 3.0) -> tuple[Box, tuple[float, float, float]]:
    """A plate around the text, and where its base line begins on top."""
    return Box((text_width(text, height) + 8.0, height + 8.0, deep)), (4.0, 4.0, deep)


def raised(text: str, height: float = 6.0, stroke: float = 0.8) -> Solid:
    body, at = plate(text, height)
    label = RaisedLabel(at, DOWN, RIGHT, text, height, stroke)
    return Union((body, Feature("label", label)))


def engraved(text: str, height: float = 6.0, stroke: float = 0.6) -> Solid:
    body, at = plate(text, height)
    return Difference(body, (Feature("label", Label(at, DOWN, RIGHT, text, height, stroke)),))


def letters(text: str, height: float, stroke: float) -> shapely.Geometry:
    return shapely.union_all([Polygon(o.corners()) for o in strokes(text, height, stroke)[0]])


def alarms(made: Mesh, solid: Solid) -> list[str]:
    facts = [feature.recipe.fact(feature.name) for feature, _ in features(solid)]
    found = advise(made, Printer(), facts).findings
    return [f"{one.check} {one.severity}" for one in found if one.severity != "note"]


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(("height", "stroke"), [(5.0, 0.8), (6.0, 0.9)])
def test_a_raised_label_is_one_body_with_its_plate(text: str, height: float, stroke: float) -> None:
    body, _ = plate(text, height)
    made = mesh(raised(text, height, stroke))
    assert is_closed(made)
    assert bodies(made) == 1
    # what stands above the plate is the letters' area, as shapely joins the bars, times 0.6 mm
    added = volume(made) - body.size[0] * body.size[1] * body.size[2]
    assert added == pytest.approx(0.6 * letters(text, height, stroke).area, rel=1e-4)
    assert bounds(made)[1][2] == pytest.approx(3.6)
    assert bounds(made)[0][2] == pytest.approx(0.0)


@pytest.mark.parametrize("text", TEXTS)
def test_raised_and_engraved_labels_print(text: str) -> None:
    for solid in (raised(text), raised(text, 5.0), engraved(text), engraved(text, 5.0)):
        assert alarms(mesh(solid), solid) == []


def test_letters_that_stand_as_high_as_a_wall_are_told_to_be_thin() -> None:
    """The advisor sees raised letters: 2 mm high, two lines are fewer than the three of a wall."""
    body, at = plate("19.2", 6.0)
    solid = Union((body, Feature("label", RaisedLabel(at, DOWN, RIGHT, "19.2", 6.0, 0.8, 2.0))))
    assert any("thin-wall" in alarm for alarm in alarms(mesh(solid), solid))


def test_a_raised_label_reads_as_an_engraved_one_does() -> None:
    """What one adds above the plate lies where the other takes away, in plan."""
    text, height, stroke = "LF7", 6.0, 0.8
    _, at = plate(text, height)
    up = mesh(raised(text, height, stroke))
    down = mesh(engraved(text, height, stroke))
    above = up.vertices[up.vertices[:, 2] > 3.5][:, :2]
    below = down.vertices[(down.vertices[:, 2] > 2.3) & (down.vertices[:, 2] < 2.5)][:, :2]
    want = shapely.affinity.translate(letters(text, height, stroke), *at[:2])
    for found in (above, below):
        assert shapely.MultiPoint(found).bounds == pytest.approx(want.bounds, abs=1e-4)
        assert max(shapely.distance(want.boundary, shapely.points(found))) < 1e-4


def test_a_raised_label_s_fact_says_so_and_has_no_depth() -> None:
    label = RaisedLabel((0.0, 0.0, 3.0), DOWN, RIGHT, "A", 6.0)
    fact = label.fact("label")
    assert (fact.kind, fact.width, fact.depth) == ("raised label", 6.0, None)
    assert Label((0.0, 0.0, 3.0), DOWN, RIGHT, "A", 6.0).fact("label").depth == 0.6


def test_a_raised_label_too_thin_for_the_nozzle_is_refused() -> None:
    with pytest.raises(InputError, match=r"raised letters 6 mm high take 0\.8 to 1\.2 mm"):
        mesh(raised("A", 6.0, 0.7))
