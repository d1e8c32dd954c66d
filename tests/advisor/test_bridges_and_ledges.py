"""How a roof hangs: bridge or ledge, how long, whichever way the part is turned."""

from __future__ import annotations

import math

import manifold3d as m3
import pytest

from fixtures.advisor import overhangs
from fixtures.printer import MATERIALS, Printer
from tests.advisor.solids import (
    HALVES,
    advised,
    box,
    cut,
    drum,
    frustum,
    one,
    portal,
    prism,
    said,
    tee,
)

TURNS = (0.0, 17.0, 45.0, 90.0)


def only(solid: m3.Manifold, turn: float = 0.0) -> overhangs.Place:
    """The one unsupported place of a solid turned about the vertical."""
    (place,) = overhangs.places(cut(solid.rotate((0, 0, turn))), 45, HALVES)
    return place


def corner_roof(size: float) -> m3.Manifold:
    """A square roof carried along two sides that meet."""
    walls = box(0, 0, 0, 2, size + 2, 10) + box(0, 0, 0, size + 2, 2, 10)
    return walls + box(0, 0, 10, size + 2, size + 2, 12)


def gusset() -> m3.Manifold:
    """A triangular roof carried along its two legs of 12, its long side free."""
    walls = box(0, 0, 0, 2, 14, 10) + box(0, 0, 0, 14, 2, 10)
    return walls + prism([(0, 0), (14, 0), (14, 2), (2, 14), (0, 14)], 2, 10)


def alcove() -> m3.Manifold:
    """A roof 8 wide and 14 deep, open in front."""
    return box(0, 0, 0, 12, 16, 12) - box(2, -1, -1, 10, 14, 10)


def room(x: float, y: float) -> m3.Manifold:
    """A roof x × y, closed all round."""
    return box(0, 0, 0, x + 6, y + 6, 12) - box(3, 3, -1, x + 3, y + 3, 10)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("span", [8.0, 12.0, 30.0])
def test_a_lintel_spans_its_doorway(span: float, turn: float) -> None:
    place = only(portal(span), turn)
    assert place.span == pytest.approx(span, abs=1e-3)
    assert place.reach == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("reach", [3.0, 10.0])
def test_a_shelf_reaches_out_from_its_wall(reach: float, turn: float) -> None:
    solid = box(0, 0, 0, 5, 20, 12) + box(0, 0, 10, 5 + reach, 20, 12)
    place = only(solid, turn)
    assert (place.span, place.reach) == pytest.approx((0, reach), abs=1e-3)


@pytest.mark.parametrize("turn", TURNS)
def test_a_roof_on_two_sides_that_meet_is_a_ledge(turn: float) -> None:
    # no direction carries more than half of it; its free corner is 10 from either wall
    place = only(corner_roof(10), turn)
    assert (place.span, place.reach) == pytest.approx((0, 10), abs=1e-3)


@pytest.mark.parametrize("turn", TURNS)
def test_a_gusset_is_bridged_slantwise(turn: float) -> None:
    # every line along its free side ends on a wall: as long as that side, 12 sqrt(2)
    place = only(gusset(), turn)
    assert place.span == pytest.approx(12 * math.sqrt(2), rel=0.01)
    assert place.reach < 0.1


@pytest.mark.parametrize("turn", TURNS)
def test_an_alcove_is_bridged_across(turn: float) -> None:
    place = only(alcove(), turn)
    assert place.span == pytest.approx(8, abs=1e-3)
    assert place.reach < 0.1


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(("x", "y", "span"), [(10, 10, 10), (44, 7, 7), (7, 30, 7)])
def test_a_closed_roof_is_bridged_the_short_way(
    x: float, y: float, span: float, turn: float
) -> None:
    assert only(room(x, y), turn).span == pytest.approx(span, abs=2e-3)


def test_a_round_roof_spans_its_diameter() -> None:
    solid = box(-10, -10, 0, 10, 10, 12) - drum(0, 0, -1, 6, 11, 128)
    assert only(solid).span == pytest.approx(12, rel=1e-3)


def test_a_mushroom_is_a_ledge_all_round() -> None:
    place = only(drum(0, 0, 0, 5, 10, 128) + drum(0, 0, 10, 15, 3, 128))
    assert (place.span, place.reach) == pytest.approx((0, 10), abs=0.01)


@pytest.mark.parametrize("turn", TURNS)
def test_a_lintel_deeper_than_its_legs_is_a_bridge_with_small_ledges(turn: float) -> None:
    place = only(portal() + box(0, -1, 10, 22, 21, 13), turn)
    assert place.span == pytest.approx(12, abs=1e-3)
    assert place.reach == pytest.approx(1, abs=0.1)


def test_a_roof_round_a_hole_is_a_ledge_from_its_wall() -> None:
    # a counterbore of 10 printed on its face round a hole of 5: the hole's edge hangs 2.5 out
    place = only(box(0, 0, 0, 20, 20, 12) - drum(10, 10, -1, 5, 5, 128) - drum(10, 10, -1, 2.5, 20))
    assert place.reach == pytest.approx(2.5, abs=0.01)


@pytest.mark.parametrize(
    ("material", "span", "severity", "limit", "supports"),
    [  # silent to 5 mm; clean and largest spans by material (judgement, see printer)
        ("PLA", 4.9, None, None, False),
        ("PLA", 5.2, "note", 10, False),
        ("PLA", 9.9, "note", 10, False),
        ("PLA", 10.1, "mend", 10, False),
        ("PLA", 24.9, "mend", 10, False),
        ("PLA", 25.1, "stop", 25, True),
        ("PETG", 6.9, "note", 7, False),
        ("PETG", 7.1, "mend", 7, False),
        ("PETG", 15.1, "stop", 15, True),
        ("TPU", 3.9, None, None, False),
        ("TPU", 4.1, "mend", 4, False),
        ("TPU", 8.1, "stop", 8, True),
    ],
)
def test_bridges_are_judged_by_material(
    material: str, span: float, severity: str | None, limit: float | None, supports: bool
) -> None:
    printer = Printer(width=0.4, material=MATERIALS[material])
    advice = advised(portal(span), printer)
    if severity is None:
        assert said(advice, "bridge") == []
    else:
        finding = one(advice, "bridge")
        assert (finding.severity, finding.limit) == (severity, limit)
        assert finding.measured == pytest.approx(span, abs=1e-3)
        assert finding.z == (10.0, 10.2)
    assert advice.supports is supports


@pytest.mark.parametrize(
    ("reach", "severity", "supports"),
    [  # 0.5 to 1.5 mm print cleanly (Mazlan et al. 2020); past 3 mm is judgement
        (1.45, None, False),
        (1.55, "mend", True),
        (2.95, "mend", True),
        (3.1, "stop", True),
    ],
)
def test_ledges_are_judged_by_reach(reach: float, severity: str | None, supports: bool) -> None:
    advice = advised(box(0, 0, 0, 5, 20, 12) + box(0, 0, 10, 5 + reach, 20, 12))
    assert [finding.severity for finding in said(advice, "ledge")] == (
        [severity] if severity else []
    )
    assert advice.supports is supports


def test_a_tee_needs_supports_for_two_ledges_of_ten() -> None:
    advice = advised(tee())
    assert [finding.measured for finding in said(advice, "ledge")] == pytest.approx([10, 10])
    overhang = one(advice, "overhang")
    assert (overhang.severity, overhang.area) == ("note", pytest.approx(400))
    assert str(said(advice, "ledge")[0]) == (
        "ledge stop  z 20.0 to 20.2 mm: "
        "It reaches 10.0 mm out with nothing under it; 1.5 mm print cleanly. "
        "Chamfer it underneath at 45° from the vertical or less, turn the part over, or print "
        "with supports."
    )


@pytest.mark.parametrize(("angle", "found"), [(44.5, []), (45.5, ["mend"]), (60, ["mend"])])
def test_slopes_are_mended_from_the_angle_on(angle: float, found: list[str]) -> None:
    advice = advised(frustum(angle))
    assert [finding.severity for finding in said(advice, "overhang")] == found
    assert advice.supports is False


def test_a_nearly_flat_slope_is_a_ledge_built_of_steps() -> None:
    # 75 degrees: each layer's outer 0.75 mm has nothing under it, over 40 mm in all
    advice = advised(drum(0, 0, 0, 10, 4, 256, 10 + 4 * math.tan(math.radians(75))))
    ledge = one(advice, "ledge")
    assert ledge.severity == "mend"
    assert ledge.measured == pytest.approx(19 * 0.2 * math.tan(math.radians(75)), rel=0.02)
    assert advice.supports is True


def test_a_small_bottom_rounding_is_no_trouble() -> None:
    # a 2 mm quarter round at the bed leans out to 90 degrees, but only 0.6 mm past the angle
    rounded = m3.Manifold.batch_hull(
        [
            m3.Manifold.sphere(2, 64).translate((x, y, 2)) + box(x - 2, y - 2, 2, x + 2, y + 2, 10)
            for x in (2, 18)
            for y in (2, 18)
        ]
    )
    assert advised(rounded).findings == ()


def test_a_gothic_roof_of_45_degrees_closes_by_itself() -> None:
    from tests.advisor.solids import along_y

    pointed = along_y([(5, -1), (25, -1), (25, 5), (15, 15), (5, 5)], -1, 11)
    assert advised(box(0, 0, 0, 30, 10, 20) - pointed).findings == ()


def test_a_letter_engraved_in_a_side_is_no_ledge() -> None:
    # a roof of 0.6 mm over each stroke: within what prints cleanly
    solid = box(0, 0, 0, 30, 30, 20) - box(8, -1, 6, 12, 0.6, 7) - box(18, -1, 8, 22, 0.6, 9)
    assert advised(solid).findings == ()
