"""Tables of screws and their holes as printed, what is refused, and traps met in other tables."""

from __future__ import annotations

import doctest
import itertools
import math
from typing import Any

import pytest

from fixtures.errors import InputError
from fixtures.standards import fasteners
from fixtures.standards.fasteners import (
    ISO_273,
    LEAD_HOLE,
    WOOD_SCREWS,
    WoodScrew,
    check_pilot,
    chipboard_screw,
    clearance_hole,
    countersink_depth,
    pilot_hole,
    wood_screw,
)

# ISO 273, mm; the list in BS 4186 (Machinery's Handbook, 31st ed.) is the same up to M10.
ISO_273_PRINTED = """
M2    2.2  2.4  2.6
M2.5  2.7  2.9  3.1
M3    3.2  3.4  3.6
M3.5  3.7  3.9  4.2
M4    4.3  4.5  4.8
M5    5.3  5.5  5.8
M6    6.4  6.6  7.0
M8    8.4  9.0  10.0
M10   10.5 11.0 12.0
"""
CLEARANCE = [line.split() for line in ISO_273_PRINTED.strip().splitlines()]

# ASME B18.6.1 in Machinery's Handbook, 31st ed.: basic diameter in, mm. Head sharp most, least
# and head/shank: a table of tapping screws, common practice. Root: the smaller of two sets read.
# Last, 70 and 90 % of the root, worked out by hand.
WOOD_SCREWS_PRINTED = """
#4   0.112 2.845 0.225 0.195 2.01 0.075 0.053 0.068
#6   0.138 3.505 0.279 0.244 2.02 0.094 0.066 0.085
#8   0.164 4.166 0.332 0.292 2.02 0.112 0.078 0.101
#10  0.190 4.826 0.385 0.340 2.03 0.130 0.091 0.117
#12  0.216 5.486 0.438 0.389 2.03 0.148 0.104 0.133
"""
SCREWS = [line.split() for line in WOOD_SCREWS_PRINTED.strip().splitlines()]

# Spread of the charts read, in: shank hole, pilot in softwood, pilot in hardwood. Common practice.
HOLES_PRINTED = """
#4   7/64-1/8    3/64-5/64 1/16-5/64
#6   9/64-9/64   1/16-5/64 5/64-3/32
#8   11/64-11/64 5/64-3/32 3/32-1/8
#10  3/16-3/16   3/32-1/8  7/64-9/64
#12  7/32-7/32   7/64-9/64 1/8-5/32
"""
HOLES = [line.split() for line in HOLES_PRINTED.strip().splitlines()]

# Chipboard screws, mm: head, core, pilot in softwood or MDF, in hardwood, shank. From memory.
CHIPBOARD_PRINTED = """
3.0 6.0-6.0  1.9-2.0 1.5-2.0 2.0-2.0 3.2-3.5
3.5 7.0-7.0  2.1-2.3 2.0-2.0 2.5-2.5 3.7-4.0
4.0 8.0-8.0  2.4-2.6 2.0-2.5 2.5-3.0 4.3-4.5
4.5 8.8-9.0  2.7-2.9 2.5-3.0 3.0-3.0 4.8-5.0
5.0 9.7-10.0 3.0-3.2 3.0-3.0 3.5-3.5 5.3-5.5
"""
CHIPBOARD = [line.split() for line in CHIPBOARD_PRINTED.strip().splitlines()]


def inches(fraction: str) -> float:
    over, under = fraction.split("/")
    return int(over) / int(under)


def refusal(ask: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        ask()
    return caught.value


@pytest.mark.parametrize("row", CLEARANCE, ids=[row[0] for row in CLEARANCE])
def test_clearance_holes_are_those_of_iso_273(row: list[str]) -> None:
    screw, fine, medium, coarse = row
    assert clearance_hole(screw, fit="fine") == float(fine)
    assert clearance_hole(screw, fit="medium") == clearance_hole(screw) == float(medium)
    assert clearance_hole(screw, fit="coarse") == float(coarse)


def test_clearance_table_holds_no_row_but_the_printed() -> None:
    assert list(ISO_273) == [row[0] for row in CLEARANCE]


@pytest.mark.parametrize("screw", ["M12", "M1.6", "M7", "m5", "5", "#8", ""])
def test_a_thread_not_in_the_table_is_refused(screw: str) -> None:
    """M12 is where BS 4186 (14, 15 mm) parts from ISO 273 (13.5, 14.5 mm)."""
    assert str(refusal(lambda: clearance_hole(screw))) == (
        f"{screw or 'An empty name'} is not in ISO 273 as held here: "
        "it lists M2, M2.5, M3, M3.5, M4, M5, M6, M8 and M10. Choose one listed."
    )


def test_screw_and_fit_are_told_at_once() -> None:
    loose: Any = "loose"
    error = refusal(lambda: clearance_hole("M12", fit=loose))
    assert [fault.where for fault in error.faults] == ["screw", "fit"]
    assert str(error.faults[1]) == (
        "loose is not in the series of ISO 273: it lists fine, medium and coarse. "
        "Choose one listed."
    )


@pytest.mark.parametrize("row", SCREWS, ids=[row[0] for row in SCREWS])
def test_wood_screws_are_those_of_the_handbook(row: list[str]) -> None:
    basic, basic_mm, head_most, head_least, ratio, root, soft, hard = map(float, row[1:])
    screw = wood_screw(row[0])
    assert screw.diameter / 25.4 == pytest.approx(basic, abs=1e-9)
    assert screw.diameter == pytest.approx(basic_mm, abs=0.0006)
    assert screw.head.most / 25.4 == pytest.approx(head_most, abs=1e-9)
    assert screw.head.least / 25.4 == pytest.approx(head_least, abs=1e-9)
    assert screw.head.most / screw.diameter == pytest.approx(ratio, abs=0.005)
    assert screw.root.least == screw.root.most == pytest.approx(root * 25.4, abs=1e-9)
    assert screw.root.most / 25.4 * LEAD_HOLE["softwood"] == pytest.approx(soft, abs=0.00051)
    assert screw.root.most / 25.4 * LEAD_HOLE["hardwood"] == pytest.approx(hard, abs=0.00051)
    assert screw.angle == 82


@pytest.mark.parametrize("row", HOLES, ids=[row[0] for row in HOLES])
def test_holes_of_wood_screws_are_the_spread_of_the_charts(row: list[str]) -> None:
    screw = wood_screw(row[0])
    found = (screw.shank_hole, pilot_hole(screw, "softwood"), pilot_hole(screw, "hardwood"))
    for printed, held in zip(row[1:], found, strict=True):
        least, most = (inches(fraction) * 25.4 for fraction in printed.split("-"))
        assert (held.least, held.most) == pytest.approx((least, most), abs=1e-9)


@pytest.mark.parametrize("row", CHIPBOARD, ids=[row[0] for row in CHIPBOARD])
def test_chipboard_screws_are_as_remembered_and_say_so(row: list[str]) -> None:
    screw = chipboard_screw(float(row[0]))
    printed = [tuple(map(float, pair.split("-"))) for pair in row[1:]]
    held = (
        screw.head,
        screw.root,
        pilot_hole(screw, "softwood"),
        pilot_hole(screw, "hardwood"),
        screw.shank_hole,
    )
    assert [(part.least, part.most) for part in held] == printed
    assert (screw.diameter, screw.angle, screw.source) == (float(row[0]), 90, "from memory")


ALL_SCREWS = [
    *(wood_screw(row[0]) for row in SCREWS),
    *(chipboard_screw(float(row[0])) for row in CHIPBOARD),
]


@pytest.mark.parametrize("screw", ALL_SCREWS, ids=[screw.name for screw in ALL_SCREWS])
def test_pilot_is_wider_in_hardwood_and_under_the_shank(screw: WoodScrew) -> None:
    """A chart with its hard and soft columns swapped fails here."""
    soft, hard = screw.pilot_softwood, screw.pilot_hardwood
    assert soft.least <= soft.most
    assert hard.least <= hard.most
    assert soft.least <= hard.least
    assert soft.most <= hard.most
    assert (soft.least, soft.most) != (hard.least, hard.most)
    assert hard.most < screw.diameter < screw.head.least
    assert hard.most < screw.shank_hole.least
    assert screw.root.most < screw.diameter


@pytest.mark.parametrize("series", [ALL_SCREWS[:5], ALL_SCREWS[5:]], ids=["inch", "metric"])
def test_all_holes_grow_with_the_screw(series: list[WoodScrew]) -> None:
    for small, large in itertools.pairwise(series):
        assert small.diameter < large.diameter
        assert small.head.most < large.head.most
        assert small.root.most < large.root.most
        assert small.shank_hole.least < large.shank_hole.least
        assert small.pilot_softwood.least <= large.pilot_softwood.least
        assert small.pilot_softwood.most <= large.pilot_softwood.most
        assert small.pilot_hardwood.least <= large.pilot_hardwood.least
        assert small.pilot_hardwood.most <= large.pilot_hardwood.most


def test_gauge_rule_of_old_furniture_text_is_not_copied() -> None:
    """0.066 + 0.014 (n - 1) in agrees with ASME B18.6.1 at #8 only."""
    gaps = {
        gauge: abs(wood_screw(f"#{gauge}").diameter / 25.4 - (0.066 + 0.014 * (gauge - 1)))
        for gauge in WOOD_SCREWS
    }
    assert gaps[8] < 1e-9
    assert all(gap > 0.0015 for gauge, gap in gaps.items() if gauge != 8)


@pytest.mark.parametrize("size", ["#5", "#14", "8", "M4", "no. 8", ""])
def test_a_gauge_not_in_the_table_is_refused(size: str) -> None:
    assert str(refusal(lambda: wood_screw(size))) == (
        f"{size or 'An empty name'} is not in the table of inch wood screws: "
        "it lists #4, #6, #8, #10 and #12. Choose one listed."
    )


@pytest.mark.parametrize("diameter", [2.5, 3.2, 6.0, 0.0, -4.0, math.nan, math.inf])
def test_a_chipboard_screw_not_in_the_table_is_refused(diameter: float) -> None:
    error = refusal(lambda: chipboard_screw(diameter))
    assert str(error).endswith(
        " mm is not in the table of chipboard screws: it lists 3 mm, 3.5 mm, 4 mm, 4.5 mm and "
        "5 mm. Choose one listed."
    )
    assert error.faults[0].where == "diameter"


def test_pilots_of_every_chart_pass() -> None:
    """Five charts for #8 in hardwood: 7/64, 7/64, 1/8, 3/32 and 3/32 in. Common practice."""
    for drill in (7 / 64, 1 / 8, 3 / 32):
        check_pilot(wood_screw("#8"), "hardwood", drill * 25.4)


@pytest.mark.parametrize(("drill", "wood"), [(7 / 64, "softwood"), (5 / 64, "hardwood")])
def test_a_number_8_pilot_of_the_wrong_wood_is_refused(drill: float, wood: Any) -> None:
    error = refusal(lambda: check_pilot(wood_screw("#8"), wood, drill * 25.4))
    assert [fault.where for fault in error.faults] == ["pilot"]


def test_a_pilot_too_wide_for_an_inch_screw_names_what_the_range_rests_on() -> None:
    """5/64 to 3/32 in is 1.984 to 2.381 mm; 7/64 in is 2.778 mm."""
    assert str(refusal(lambda: check_pilot(wood_screw("#8"), "softwood", 7 / 64 * 25.4))) == (
        "A pilot hole of 2.78 mm for a #8 screw in softwood leaves the thread too little to bite: "
        "the range is 1.98 mm to 2.38 mm (ASME B18.6.1; holes: common practice). "
        "Drill 1.98 mm to 2.38 mm, and try it in scrap."
    )


def test_shank_of_number_10_is_printed_under_its_basic_diameter() -> None:
    """3/16 in is 0.1875, the basic diameter 0.190 in: kept as printed, alone among the sizes."""
    tight = [screw.name for screw in ALL_SCREWS if screw.shank_hole.most < screw.diameter]
    assert tight == ["#10"]


def test_a_body_size_hole_is_no_pilot() -> None:
    """A public page advises 3.0 mm for a 3.5 mm screw."""
    assert str(refusal(lambda: check_pilot(chipboard_screw(3.5), "softwood", 3.0))) == (
        "A pilot hole of 3 mm for a 3.5 mm chipboard screw in softwood leaves the thread too "
        "little to bite: the range is 2 mm (from memory). Drill 2 mm, and try it in scrap."
    )


@pytest.mark.parametrize("diameter", [1.0, 0.0, -2.0, math.nan])
def test_a_pilot_too_small_is_refused_with_the_range(diameter: float) -> None:
    sentence = str(refusal(lambda: check_pilot(chipboard_screw(4.0), "hardwood", diameter)))
    assert "may split the wood: the range is 2.5 mm to 3 mm (from memory)." in sentence


def test_a_wood_no_chart_knows_is_refused() -> None:
    balsa: Any = "balsa"
    assert str(refusal(lambda: pilot_hole(wood_screw("#6"), balsa))) == (
        "balsa is not in the pilot charts: it lists softwood and hardwood. Choose one listed."
    )


@pytest.mark.parametrize(
    ("head", "shank", "angle", "depth"),
    [(8, 4, 90, 2.000), (8, 4, 82, 2.301), (8.433, 4.166, 82, 2.454)],
)
def test_countersink_is_the_height_of_its_cone(
    head: float, shank: float, angle: float, depth: float
) -> None:
    """Right triangle, worked out by hand; the last is the #8 wood screw."""
    assert countersink_depth(head, shank, angle=angle) == pytest.approx(depth, abs=0.0006)


@pytest.mark.parametrize("angle", [45.0, 41.0, 0.0, 180.0, 100.0, -90.0, math.nan])
def test_an_angle_from_the_axis_is_refused(angle: float) -> None:
    """An old text quotes 45 deg for wood screws: half the included 90."""
    assert str(refusal(lambda: countersink_depth(8, 4, angle=angle))) == (
        f"{angle:g} deg is no included angle of a flat head: those are 82 deg (by the inch) and "
        "90 deg (metric). Give the angle from side to side of the cone, 82 or 90; 45 from the "
        "axis is 90."
    )


@pytest.mark.parametrize(
    ("head", "shank"),
    [(4, 8), (4, 4), (8, 0), (8, -1), (math.nan, 4), (8, math.nan), (math.inf, 4)],
)
def test_a_head_no_wider_than_its_shank_is_refused(head: float, shank: float) -> None:
    sentence = str(refusal(lambda: countersink_depth(head, shank, angle=90)))
    assert sentence.endswith(" has no cone to sink. Give a shank above 0 and a head wider than it.")


def test_angle_and_head_are_told_at_once() -> None:
    error = refusal(lambda: countersink_depth(4, 8, angle=45))
    assert [fault.where for fault in error.faults] == ["angle", "head"]
    assert str(error.faults[1]).startswith("A head of 4 mm on a shank of 8 mm has no cone to sink.")


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(fasteners)
    assert (failed, tried >= 5) == (0, True)
