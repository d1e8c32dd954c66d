"""Thin walls, and what only looks like one. Lines are 0.4 mm wide here: limits 0.4, 0.8, 1.2."""

from __future__ import annotations

import math

import manifold3d as m3
import pytest

from fixtures.advisor import walls
from fixtures.advisor.advise import advise
from fixtures.features import Block, Label, Pocket
from fixtures.kernels import manifold
from fixtures.outline import rectangle
from fixtures.solid import Difference, Feature, Pose
from tests.advisor.solids import HALVES, advised, along_y, box, cut, drum, one, prism, said

WIDTH = 0.4


def fence(thickness: float, height: float = 10.0) -> m3.Manifold:
    """A wall standing on a thick floor."""
    return box(0, 0, 0, 30, 20, 3) + box(5, 8, 0, 25, 8 + thickness, 3 + height)


@pytest.mark.parametrize(
    ("thickness", "severity", "limit"),
    [
        (0.35, "stop", 0.4),
        (0.39, "stop", 0.4),
        (0.41, "mend", 0.8),
        (0.79, "mend", 0.8),
        (0.81, "note", 1.2),
        (1.19, "note", 1.2),
        (1.21, None, None),
        (2.0, None, None),
    ],
)
@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_walls_are_judged_by_lines(
    thickness: float, severity: str | None, limit: float | None, turn: float
) -> None:
    advice = advised(fence(thickness).rotate((0, 0, turn)))
    if severity is None:
        assert said(advice, "thin-wall") == []
    else:
        finding = one(advice, "thin-wall")
        assert finding.severity == severity
        assert finding.limit == pytest.approx(limit)
        assert finding.measured == pytest.approx(thickness, abs=0.004)
        assert finding.z == (3.0, 13.0)
        assert finding.area == pytest.approx(20 * thickness, rel=0.01)


def test_the_message_of_a_thin_wall() -> None:
    assert str(one(advised(fence(0.6)), "thin-wall")) == (
        "thin-wall mend  z 3.0 to 13.0 mm: "
        "A wall is 0.60 mm thick; 0.80 mm or more (2 × 0.40 mm) is wanted. "
        "Thicken the wall or use a finer nozzle."
    )


@pytest.mark.parametrize("corner", [12.0, 20.0, 30.0, 60.0, 90.0, 150.0])
def test_corners_are_not_thin_walls(corner: float) -> None:
    # mitres keep corners down to 2 asin(1/10) = 11.5 degrees whole
    half = math.radians(corner / 2)
    points = [(0.0, 0.0), (40 * math.cos(half), -40 * math.sin(half))]
    points += [(40 * math.cos(half), 40 * math.sin(half))]
    assert said(advised(prism(points, 10)), "thin-wall") == []


def test_an_edge_that_runs_out_to_nothing_is_no_wall() -> None:
    # the documented blind spot: a wedge of 6 degrees is thinner than a line over 3.8 mm
    half = math.radians(3)
    points = [(0.0, 0.0), (60 * math.cos(half), -60 * math.sin(half))]
    points += [(60 * math.cos(half), 60 * math.sin(half))]
    assert said(advised(prism(points, 10)), "thin-wall") == []


def test_a_star_has_no_thin_walls() -> None:
    points = [
        (r * math.cos(math.pi * i / 8), r * math.sin(math.pi * i / 8))
        for i, r in enumerate([20, 10] * 8)
    ]
    assert said(advised(prism(points, 5)), "thin-wall") == []


def test_round_bodies_and_holes_have_no_thin_walls() -> None:
    solid = drum(0, 0, 0, 20, 10, 96) - drum(0, 0, -1, 8, 12, 96) - drum(14, 0, -1, 2, 12, 48)
    assert said(advised(solid), "thin-wall") == []


@pytest.mark.parametrize(("gap", "severity"), [(0.3, "stop"), (0.6, "mend"), (1.0, "note")])
def test_the_web_between_two_holes_is_measured_at_its_thinnest(gap: float, severity: str) -> None:
    apart = 8 + gap
    solid = box(0, 0, 0, 40, 20, 10) - drum(12, 10, -1, 4, 12, 96)
    solid = solid - drum(12 + apart, 10, -1, 4, 12, 96)
    finding = one(advised(solid), "thin-wall")
    # corners of both polygons lie on the line between the axes
    assert finding.measured == pytest.approx(gap, abs=0.02)
    assert finding.severity == severity


def test_a_web_beside_small_roundings_is_found_too() -> None:
    # edges shorter than the limit vanish in shrinking: the web is then measured a little thick
    solid = (box(0, 0, 0, 40, 20, 10) - box(0, 0, -1, 0.3, 0.3, 12)) - drum(12, 10, -1, 4, 12, 96)
    finding = one(advised(solid - drum(20.6, 10, -1, 4, 12, 96)), "thin-wall")
    assert finding.severity == "mend"
    assert finding.measured == pytest.approx(0.6, abs=0.05)


@pytest.mark.parametrize("gap", [0.3, 0.6, 1.0])
def test_a_neck_between_two_sharp_notches_is_found(gap: float) -> None:
    # mitres would paper over it: pockets corner to corner
    neck = gap / math.sqrt(2)
    solid = box(0, 0, 0, 40, 40, 10)
    solid = solid - box(5, 5, -1, 20, 20, 12) - box(20 + neck, 20 + neck, -1, 35, 35, 12)
    finding = one(advised(solid), "thin-wall")
    assert finding.measured == pytest.approx(gap, abs=0.05)


def test_a_pin_thinner_than_two_lines_is_found() -> None:
    solid = box(0, 0, 0, 20, 20, 3) + drum(10, 10, 3, 0.35, 5, 64)
    finding = one(advised(solid), "thin-wall")
    assert (finding.severity, finding.measured) == ("mend", pytest.approx(0.7, abs=0.01))


def test_corners_beside_a_thin_pin_are_not_thin() -> None:
    # the pin vanishes in shrinking, so a round opening is tried: it takes off corners too
    solid = box(0, 0, 0, 20, 20, 5) + drum(30, 10, 0, 0.35, 5, 64)
    assert one(advised(solid), "thin-wall").area == pytest.approx(math.pi * 0.35**2, rel=0.05)


@pytest.mark.parametrize("apex", [30.0, 60.0, 90.0])
def test_the_crest_of_a_gable_is_no_wall(apex: float) -> None:
    rise = 8 / math.tan(math.radians(apex / 2))
    solid = along_y([(0, 0), (16, 0), (16, 5), (8, 5 + rise), (0, 5)], 0, 30)
    assert [f.severity for f in said(advised(solid), "thin-wall")] in ([], ["note"])


def test_a_cone_runs_out_to_its_tip_without_a_stop() -> None:
    assert not [f for f in advised(drum(0, 0, 0, 10, 20, 96, 0.0)).findings if f.severity == "stop"]


@pytest.mark.parametrize(("height", "found"), [(0.8, []), (1.0, ["mend"])])
def test_a_low_thin_place_is_an_edge(height: float, found: list[str]) -> None:
    # joined to the floor below it says nothing until it is a millimetre high
    advice = advised(fence(0.6, height))
    assert [finding.severity for finding in said(advice, "thin-wall")] == found


def test_a_drafted_fin_is_a_wall_where_it_is_thin() -> None:
    # 1.6 at its root, 0.2 at its top over 20 mm: thinner than a line over 20 × 0.2/1.4 = 2.9 mm
    fin = along_y([(5, 3), (6.6, 3), (5.9, 23), (5.7, 23)], 2, 18)
    finding = one(advised(box(0, 0, 0, 20, 20, 3) + fin), "thin-wall")
    assert finding.severity == "stop"
    assert finding.measured == pytest.approx(0.2, abs=0.02)


def test_only_distinct_layers_are_looked_at() -> None:
    (place,) = walls.find(cut(fence(0.6, 150)), WIDTH)
    assert place.heights == pytest.approx((0, 150, 150))


def test_a_wall_lying_flat_is_not_seen() -> None:
    # the documented blind spot: its thickness is its height
    assert said(advised(box(0, 0, 0, 20, 20, 0.4)), "thin-wall") == []


def test_a_wall_left_by_a_pocket_is_told_by_the_pocket() -> None:
    # the body has the longer side of it, but says nothing to whoever looks for the place
    pocket = Pocket((20, 10.6, 15), (0, 0, -1), (1, 0, 0), rectangle(-10, -10, 10, 10), 12)
    body = Block(Pose(), rectangle(0, 0, 40, 40), 15)
    solid = Difference(Feature("body", body), (Feature("pocket", pocket),))
    facts = (body.fact("body"), pocket.fact("pocket"))
    finding = one(advise(manifold.mesh(solid), HALVES, facts), "thin-wall")
    assert (finding.feature, finding.severity) == ("pocket", "mend")
    assert finding.measured == pytest.approx(0.6, abs=0.01)


def test_letters_are_not_walls() -> None:
    # webs between the strokes of upright lettering are thin over more than a millimetre
    label = Label((5, 0, 8), (0, 1, 0), (1, 0, 0), "B8AW", 6)
    body = Block(Pose(), rectangle(0, 0, 40, 40), 20)
    solid = Difference(Feature("body", body), (Feature("label", label),))
    facts = (body.fact("body"), label.fact("label"))
    assert said(advise(manifold.mesh(solid), HALVES, facts), "thin-wall") == []


def test_a_thin_pipe_is_one_wall() -> None:
    solid = drum(0, 0, 0, 10, 12, 128) - drum(0, 0, -1, 9.3, 14, 128)
    finding = one(advised(solid), "thin-wall")
    assert finding.severity == "mend"
    assert finding.measured == pytest.approx(0.7, abs=0.01)
