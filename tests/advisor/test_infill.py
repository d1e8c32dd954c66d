"""How much infill, and who asks for it, against closed forms worked out from part and pattern."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.advisor import infill, settings
from fixtures.advisor.advise import advise
from fixtures.advisor.cures import cures
from fixtures.advisor.inwards import inwards
from fixtures.advisor.survey import survey
from fixtures.features import Block, Hole
from fixtures.kernels import manifold
from fixtures.outline import rectangle
from fixtures.printer import Pattern, Printer
from fixtures.solid import Difference, Feature, Pose
from tests.advisor.solids import (
    Solid,
    advised,
    along_y,
    as_mesh,
    block_with_hole,
    box,
    cut,
    drum,
    one,
    said,
)

PATTERNS: tuple[Pattern, ...] = ("one-way", "two-way", "three-way", "gyroid")


def closed_block(pattern: Pattern, width: float) -> float:
    """Density at which the first roof layer spans 5.5 mm, by hand from the pattern's geometry."""
    span = 5.5
    return {
        "one-way": width / (span + width),
        "two-way": 2 * width / (span + width),
        "three-way": 3 * width / (math.sqrt(3) / 2 * span + 1.5 * width),
        # largest disc 0.51 L - w, L = 2.46 w / rho
        "gyroid": 0.51 * 2.46 * width / (span + width),
    }[pattern]


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("width", [0.3, 0.45, 0.8])
@pytest.mark.parametrize("diameter", [4.0, 8.0, 12.0, 20.0])
def test_a_hole_begun_over_infill_asks_for_its_ring(
    diameter: float, width: float, pattern: Pattern
) -> None:
    # a circle of D meets 2 D rho / w lines in the mean (Cauchy-Crofton); 10 are wanted
    printer = Printer(width=width, pattern=pattern)
    advice = advised(block_with_hole(diameter, 12), printer)
    ring, roof = 10 * width / (2 * diameter), closed_block(pattern, width)
    assert advice.infill_by.needed_percent == pytest.approx(100 * max(ring, roof), rel=0.005)
    assert advice.infill_by.rule == ("ring wall" if ring > roof else "roof")
    assert advice.second is not None
    assert advice.second.needed_percent == pytest.approx(100 * min(ring, roof), rel=0.005)
    assert advice.infill_percent == math.ceil(advice.infill_by.needed_percent - 1e-9)


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("begins", [-1.0, 0.0, 0.2, 0.4, 0.6])
def test_a_hole_begun_on_bed_or_floor_asks_for_nothing(begins: float, pattern: Pattern) -> None:
    # three floor layers of 0.2 are solid
    printer = Printer(pattern=pattern)
    advice = advised(block_with_hole(8, begins), printer)
    assert advice.infill_by.rule == "roof"
    assert advice.second is None
    assert advice.infill_by.needed_percent == pytest.approx(100 * closed_block(pattern, 0.44))
    assert said(advice, "hole-over-infill") == []


@pytest.mark.parametrize(
    ("begins", "asks"), [(0.7, False), (0.9, True), (28.7, True), (28.9, False)]
)
def test_floor_and_roof_decide_what_is_over_infill(begins: float, asks: bool) -> None:
    # floor 3 × 0.2 and one sparse layer below; near the top all is roof: seven layers at 14 %
    found = said(advised(block_with_hole(8, begins)), "hole-over-infill")
    assert bool(found) is asks


def test_what_a_finding_of_a_hole_says() -> None:
    finding = one(advised(block_with_hole(8, 12), Printer()), "hole-over-infill")
    assert (finding.severity, finding.unit, finding.z) == ("note", "%", (12.0, 12.0))
    assert finding.measured == pytest.approx(27.5, rel=0.005)
    assert str(finding).startswith(
        "hole-over-infill note  z 12.0 mm: A hole 25.2 mm round begins over infill at z = 12.0 mm "
        "and needs 28 %. Set 28 % infill, or with a solid pedestal under it"
    )


def test_what_a_cure_saves() -> None:
    """By hand: infill of a block 60 × 60 × 30 inside its rings, round the hole; less of it, but
    seven roof layers over 15 % where five do over 28 %; a pedestal as wide as the hole and its
    rings, or those rings alone and no infill in the hole. A line laid 0.44 × 0.2 is a stadium."""
    printer = Printer(width=0.44)
    seen = survey(as_mesh(block_with_hole(8, 12)), printer).sliced
    assert seen is not None
    holes = [need for need in seen.needs if need.rule == "ring wall"]
    pedestal, through = cures(seen, holes, printer)
    assert pedestal.percent == through.percent == 15
    rings = 3 * 0.44
    inner = (60 - 2 * rings) ** 2 - math.pi * (4 + rings) ** 2 * 18 / 30
    stadium = (0.24 * 0.2 + math.pi * 0.1**2) / (0.44 * 0.2)
    dense, light = (inner * (30 - 0.6 - 0.2 * roof) * stadium for roof in (5, 7))
    saved = 0.28 * dense - 0.15 * light - 2 * 0.2 * inner
    disc, hole = (math.pi * r**2 * (12 - 0.6) for r in (4 + rings, 4))
    assert pedestal.grams == pytest.approx(1.24e-3 * (saved - 0.85 * disc), rel=0.02)
    assert through.grams - pedestal.grams == pytest.approx(1.24e-3 * hole, rel=0.01)


def test_no_cure_is_offered_where_another_hole_asks_as_much() -> None:
    solid = block_with_hole(8, 12) - drum(12, 12, 8, 4.005, 40)
    printer = Printer(width=0.44)
    seen = survey(as_mesh(solid), printer).sliced
    assert seen is not None
    holes = [need for need in seen.needs if need.rule == "ring wall"]
    assert len(holes) == 2
    assert cures(seen, holes[:1], printer) == ()
    assert len(cures(seen, holes, printer)) == 2


@pytest.mark.parametrize("wanted", [8.0, 10.0, 12.0])
def test_how_round_is_round_enough_is_the_printers_setting(wanted: float) -> None:
    advice = advised(block_with_hole(8, 12), Printer(width=0.45, min_crossings=wanted))
    assert advice.infill_by.needed_percent == pytest.approx(100 * wanted * 0.45 / 16, rel=0.005)


def test_a_hole_of_any_outline_asks_by_its_length() -> None:
    # rho = N pi w / (2 l); square of 8: l = 32
    advice = advised(box(0, 0, 0, 40, 40, 30) - box(16, 16, 12, 24, 24, 40), Printer())
    assert advice.infill_by.needed_percent == pytest.approx(100 * 10 * math.pi * 0.44 / 64)


def test_a_hole_too_small_for_any_infill_wants_solid() -> None:
    advice = advised(block_with_hole(2, 12), Printer())
    assert advice.infill_percent == 100
    assert one(advice, "hole-over-infill").severity == "mend"


def test_without_the_driving_hole_the_second_in_line_drives() -> None:
    block = box(0, 0, 0, 90, 40, 30)
    small, large = drum(20, 20, 12, 3, 40), drum(60, 20, 10, 5, 40)
    both = advised(block - small - large)
    assert both.second is not None
    without = advised(block - large)
    assert without.infill_by.needed_percent == pytest.approx(both.second.needed_percent)
    neither = advised(block)
    assert without.second is not None
    assert neither.infill_by.needed_percent == pytest.approx(without.second.needed_percent)


def test_named_holes_are_named() -> None:
    def hole(x: float, diameter: float) -> Hole:
        return Hole((x, 20, 30), (0, 0, -1), (1, 0, 0), diameter, 18)

    solid = Difference(
        Feature("body", Block(Pose(), rectangle(0, 0, 90, 40), 30)),
        (Feature("hole_1", hole(20, 6)), Feature("hole_2", hole(60, 10))),
    )
    facts = tuple(
        recipe.fact(name) for name, recipe in (("hole_1", hole(20, 6)), ("hole_2", hole(60, 10)))
    )
    advice = advise(manifold.mesh(solid), Printer(), facts)
    # 10 × 0.44 / 12 and / 20
    assert (advice.infill_by.rule, advice.infill_by.feature) == ("ring wall", "hole_1")
    assert advice.infill_by.needed_percent == pytest.approx(36.67, rel=0.005)
    assert advice.second is not None
    assert (advice.second.rule, advice.second.feature) == ("ring wall", "hole_2")
    assert advice.second.needed_percent == pytest.approx(22.0, rel=0.005)


def test_like_holes_are_told_at_one_go() -> None:
    solid = box(0, 0, 0, 120, 30, 20)
    for i in range(4):
        solid = solid - drum(20 + 25 * i, 15, 10, 4, 20)
    finding = one(advised(solid), "hole-over-infill")
    assert "(and 3 more like it)" in finding.message


@pytest.mark.parametrize(
    "solid",
    [
        # widening by less than its own rings are deep: a countersink, a drill point, a bevel
        lambda: (
            box(0, 0, 0, 40, 40, 20) - drum(20, 20, -1, 3, 30) - drum(20, 20, 14, 3, 6.01, 64, 9)
        ),
        lambda: (
            box(0, 0, 0, 40, 40, 20)
            - drum(20, 20, -1, 3, 22)
            - along_y([(5, 20), (15, 10), (15, 20.1)], -1, 41)
        ),
        # a hole through everything, and a shallow engraving inside the roof layers
        lambda: box(0, 0, 0, 40, 40, 20) - drum(20, 20, -1, 4, 22),
        lambda: box(0, 0, 0, 40, 40, 20) - box(10, 10, 19.4, 14, 30, 21),
        # a slot open to both sides has no ring
        lambda: box(0, 0, 0, 40, 40, 20) - box(10, -1, 10, 14, 41, 21),
    ],
    ids=["countersink", "bevelled side", "through", "engraving", "open slot"],
)
def test_what_asks_for_no_ring(solid: Solid) -> None:
    assert advised(solid()).infill_by.rule == "roof"
    assert said(advised(solid()), "hole-over-infill") == []


def test_a_counterbore_begins_over_infill_beyond_the_rings_of_its_hole() -> None:
    # hole of 5 through, counterbore of 12 from half-way: its ring stands outside 2.5 + 3 × 0.44
    solid = box(0, 0, 0, 40, 40, 20) - drum(20, 20, -1, 2.5, 22) - drum(20, 20, 10, 6, 11, 128)
    advice = advised(solid, Printer())
    assert advice.infill_by.needed_percent == pytest.approx(100 * 10 * 0.44 / 24, rel=0.005)
    # one of 7 stands on them
    solid = box(0, 0, 0, 40, 40, 20) - drum(20, 20, -1, 2.5, 22) - drum(20, 20, 10, 3.5, 11, 128)
    assert advised(solid, Printer()).infill_by.rule == "roof"


def test_a_boss_begun_over_infill_is_not_counted() -> None:
    # the documented blind spot
    advice = advised(box(0, 0, 0, 40, 40, 10) + drum(20, 20, 10, 3, 8))
    assert advice.infill_by.rule == "roof"


@pytest.mark.parametrize(("side", "rule"), [(8.0, "floor value"), (8.2, "roof")])
def test_a_roof_narrower_than_the_span_asks_for_nothing(side: float, rule: str) -> None:
    # 3 rings of 0.44 on either side leave side - 2.64: 5.36 or 5.56 against 5.5
    advice = advised(box(0, 0, 0, 40, side, 20), Printer())
    assert advice.infill_by.rule == rule
    assert advice.infill_percent == 15


@pytest.mark.parametrize(
    "solid",
    [lambda: box(0, 0, 0, 40, 2.5, 20), lambda: box(0, 0, 0, 40, 40, 1.8)],
    ids=["wall", "plate"],
)
def test_a_part_of_rings_and_skins_only_reaches_no_infill(solid: Solid) -> None:
    advice = advised(solid(), Printer())
    assert (advice.infill_by.rule, advice.infill_percent) == ("floor value", 15)
    assert one(advice, "no-infill").severity == "note"


def test_a_cup_is_sparse_where_it_is_thick_enough() -> None:
    # cup 60 × 60 × 20, pocket 40 × 40 from z = 8; rings 0.8 deep, 4 floor and 4 roof layers
    stack = cut(box(0, 0, 0, 60, 60, 20) - box(10, 10, 8, 50, 50, 21))
    parts = infill.slabs(stack, inwards(stack, 0.8), 4, 4)
    spans = {(s.first, s.first + s.count): s.sparse.area() for s in parts}
    expected = {
        (0, 4): 0.0,
        (4, 36): 58.4**2,
        (36, 40): 58.4**2 - 40**2,
        (40, 44): 58.4**2 - 41.6**2,
        (44, 96): 58.4**2 - 41.6**2,
        (96, 100): 0.0,
    }
    assert spans.keys() == expected.keys()
    for layers, area in expected.items():
        assert spans[layers] == pytest.approx(area, abs=1e-4)


def test_the_sliding_window_equals_the_intersection_layer_by_layer() -> None:
    rng = np.random.default_rng(3)
    solid = box(0, 0, 0, 40, 40, 12)
    for _ in range(8):
        x, y, z, r = rng.uniform((5, 5, 0, 2), (35, 35, 10, 5))
        solid = solid - drum(x, y, z, r, 3 * r, 24, r / 2)
        solid = solid + drum(y, x, 10, r, r, 24, r / 3)
    stack = cut(solid)
    floor, roof = 3, 5
    inner = [
        settled
        for s in infill.slabs(stack, inwards(stack, 0.9), floor, roof)
        for settled in [s] * s.count
    ]
    for layer in range(0, stack.count, 3):
        expected = 0.0
        if layer >= floor and layer + roof < stack.count:
            common = inner[layer].inner
            for other in range(layer - floor, layer + roof + 1):
                common = common ^ stack.runs[stack.run_of(other)].region
            expected = common.area()
        found = inner[layer].sparse.area()
        # outlines for infill are simplified to 0.01 mm
        assert found == pytest.approx(expected, abs=0.6)


def test_roof_layers_and_infill_agree() -> None:
    advice = advised(block_with_hole(8, 12), Printer())
    # 28 %: clear span 2 × 0.44 / 0.28 - 0.44 = 2.70 mm, 2.5 + 0.8 × 2.70 = 4.66
    assert advice.infill_percent == 28
    assert advice.roof_layers == settings.roof_layers(0.2, 2.70) == 5
