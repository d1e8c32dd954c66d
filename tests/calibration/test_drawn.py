"""Drawn by a printer's measured lines, and printed by them, a part comes out as designed.

Printed sizes are worked out here from the drawn mesh by the printer's own a and b: a sheet of
plastic that shrinks as a whole, and walls and bores that move by what is left.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from fixtures.compensate import for_print
from fixtures.features import Hole, features
from fixtures.kernels.manifold import load, mesh
from fixtures.printer import Calibration, Line, Printer
from fixtures.solid import Box, Difference, Feature, Placed, Pose, Solid, lowered
from tests.parts.made import part
from tests.test_compensate import (
    DOWN,
    LEFT,
    RIGHT,
    SLOT,
    block,
    drawn,
    met,
    pitches,
    plan,
    slots_of,
    stands_clear,
)


def line(a: float, b: float) -> Line:
    return Line(a, b, a, a, b, b, 0.01, 12)


SHRINKS = Printer(
    calibration=Calibration(
        "2026-01-31",
        outside_x=line(0.9980, 0.06),
        outside_y=line(0.9975, 0.05),
        slot=line(0.9980, -0.17),
        bore_standing=line(0.9975, -0.24),
        bore_lying=line(0.9980, -0.33),
    )
)


def test_a_slot_comes_out_as_wide_as_designed() -> None:
    """printed = a · drawn + b with the slot's own line, whatever the scale of the whole part."""
    made = drawn(block(("slot_a", SLOT)), SHRINKS)
    middle = (25.0 / 0.9980, 30.0 / 0.9975, 13.0)
    width = met(made, middle, RIGHT) + met(made, middle, LEFT)
    assert 0.9980 * width - 0.17 == pytest.approx(12.0, abs=1e-3)


@pytest.mark.parametrize("diameter", [3.0, 8.0, 20.0])
def test_a_standing_bore_comes_out_as_wide_as_designed(diameter: float) -> None:
    """The mean over X and Y, which shrink unlike: 0.0005 of the diameter apart."""
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, diameter, 20.0, through=True)
    made = drawn(block(("hole", hole)), SHRINKS)
    middle = (25.0 / 0.9980, 30.0 / 0.9975, 10.0)
    across = [
        met(made, middle, (math.cos(t), math.sin(t), 0.0)) for t in np.arange(8) * math.pi / 4
    ]
    printed = 0.9975 * 2 * float(np.mean(across)) - 0.24
    assert printed == pytest.approx(diameter, abs=0.01)


def test_ten_holes_at_32_mm_are_on_pitch() -> None:
    """Drawn as designed the last would stand 9 × 32 × 0.002 = 0.58 mm off (arithmetic)."""
    holes: list[Solid] = [
        Feature(f"hole_{n + 1}", Hole((20.0 + 32.0 * n, 15.0, 6.0), DOWN, RIGHT, 5.0, 6.0, True))
        for n in range(10)
    ]
    solid = Difference(Box((328.0, 30.0, 6.0)), tuple(holes))
    as_drawn = pitches(drawn(solid, SHRINKS), 10)
    assert [pitch * 0.9980 for pitch in as_drawn] == pytest.approx([32.0] * 9, abs=1e-3)


def test_a_lying_bore_goes_by_its_own_line() -> None:
    hole = Hole((0.0, 30.0, 10.0), RIGHT, (0.0, 1.0, 0.0), 8.0, 50.0, through=True)
    made = drawn(block(("hole", hole)), SHRINKS)
    middle = (25.0 / 0.9980, 30.0 / 0.9975, 10.0)
    across = [
        met(made, middle, (0.0, math.cos(t), math.sin(t))) for t in np.arange(8) * math.pi / 4
    ]
    assert 0.9980 * 2 * float(np.mean(across)) - 0.33 == pytest.approx(8.0, abs=0.015)


@pytest.mark.parametrize("angle", [45.0, 60.0, 90.0, 120.0])
def test_panels_seat_at_the_tip_of_a_mitred_corner(angle: float) -> None:
    """Ends move with the sides: after printing the panels still reach their outer arris."""
    bias = -0.20
    measured = replace(SHRINKS, calibration=Calibration("2026-01-31", slot=line(1.0, bias)))
    made = part("corner-socket", angle=angle, clearance=1.0)
    filling = part("corner-socket", angle=angle, clearance=0.05)
    panels = shapely.union_all([plan(slot) for slot in slots_of(filling.solid)])
    panels = panels.intersection(shapely.Point(0.0, 0.0).buffer(40.0))
    moved = slots_of(for_print(made.solid, measured, Pose(), biased=True).solid)
    assert stands_clear(moved, panels, bias, 0.0)


def test_what_was_not_measured_goes_by_guide_values() -> None:
    only = replace(SHRINKS, calibration=Calibration("2026-01-31", slot=line(1.0, -0.2)))
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    by_guide = drawn(block(("hole", hole)), Printer())
    by_line = drawn(block(("hole", hole)), only)
    assert np.array_equal(by_guide.vertices, by_line.vertices)


def test_a_part_laid_on_its_side_takes_the_line_of_how_it_lies() -> None:
    """The same hole, standing in one print pose and lying in the other, grows by 0.24 and 0.33."""
    offset = Calibration("2026-01-31", bore_standing=line(1.0, -0.24), bore_lying=line(1.0, -0.33))
    printer = Printer(calibration=offset)
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    solid = block(("hole", hole))
    lying = Pose((0.0, 0.0, -1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    grown = []
    for pose in (Pose(), lowered(lying, -50.0)):
        made = for_print(solid, printer, pose, biased=True)
        body = load(mesh(Placed(made.solid, Pose())))
        hits = body.ray_cast((25.0, 30.0, 10.0), (45.0, 30.0, 10.0))
        grown.append(2 * 20.0 * hits[0].distance - 8.0)
    assert grown == pytest.approx([0.24, 0.33], abs=0.003)


@pytest.mark.parametrize(("flare", "expected"), [(None, 0.3), (0.1, 0.3), (0.35, 0.45), (0.9, 0.6)])
def test_mouths_at_the_bed_are_broken_as_far_as_the_first_layer_stands_out(
    flare: float | None, expected: float
) -> None:
    """Halfway up a first layer of 0.2 mm a 45° break of c leaves c - 0.1 mm (geometry)."""
    printer = Printer(calibration=Calibration("2026-01-31", flare=flare))
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    made = for_print(block(("hole", hole)), printer, Pose(), biased=False)
    (drawn_hole,) = [f.recipe for f, _ in features(made.solid) if isinstance(f.recipe, Hole)]
    assert max(drawn_hole.mouth, drawn_hole.exit) == pytest.approx(expected)
