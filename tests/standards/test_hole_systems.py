"""The 32 mm system's numbers as trade texts print them, and what is refused."""

from __future__ import annotations

import doctest
import itertools
import math
from typing import Any

import pytest

from fixtures.errors import InputError
from fixtures.standards import hole_systems
from fixtures.standards.hole_systems import (
    balanced_row,
    check_shelf_pin,
    hinge_cup,
    rows,
    setback,
)


def refusal(ask: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        ask()
    return caught.value


def test_system_is_the_printed_one() -> None:
    """Two or more trade texts agree on each; the shelf-pin depth is from memory."""
    assert (hole_systems.PITCH, hole_systems.DIAMETER, hole_systems.SETBACK) == (32, 5, 37)
    assert hole_systems.CUP_DIAMETER == (35, 35.1)
    assert hole_systems.CUP_DEPTH == (12.6, 13)
    assert hole_systems.CUP_SCREWS == (45, 9.5)
    assert hole_systems.CUP_DOWEL == 8
    assert hole_systems.CUP_TO_EDGE == (3, 8)
    assert list(hole_systems.SHELF_PINS) == pytest.approx([3 / 16 * 25.4, 5, 1 / 4 * 25.4])
    assert hole_systems.SHELF_PIN_DEPTH == (10, 13)


def test_an_inset_door_adds_its_thickness_to_the_setback() -> None:
    """From memory."""
    assert setback() == 37
    assert setback(18) == 55


@pytest.mark.parametrize("inset", [-18.0, math.nan, math.inf])
def test_a_door_without_thickness_cannot_be_inset(inset: float) -> None:
    for ask in (lambda: setback(inset), lambda: rows(560, inset=inset)):
        sentence = str(refusal(ask))
        assert sentence.endswith(
            " thick cannot be inset. Give its thickness, or 0 for a door that lies over the front."
        )


def test_a_balanced_panel_of_33_pitches_holds_33_holes_with_equal_ends() -> None:
    """1056 = 33 x 32: half a pitch at each end and 32 pitches between, by hand."""
    found = balanced_row(1056)
    assert len(found) == 33
    assert (found[0], 1056 - found[-1]) == (16, 16)


@pytest.mark.parametrize(
    ("height", "end", "n_holes", "first"),
    [
        (720, 16.0, 22, 24.0),  # 21 x 32 = 672
        (720, 24.0, 22, 24.0),
        (720, 24.1, 21, 40.0),
        (64, 16.0, 2, 16.0),
        (2000, 37.0, 61, 40.0),  # 60 x 32 = 1920
    ],
)
def test_ends_are_equal_and_as_short_as_allowed(
    height: float, end: float, n_holes: int, first: float
) -> None:
    found = balanced_row(height, end=end)
    assert len(found) == n_holes
    assert found[0] == pytest.approx(first)
    assert height - found[-1] == pytest.approx(first)
    assert {b - a for a, b in itertools.pairwise(found)} == {32}


@pytest.mark.parametrize("height", [63.9, 0.0, -720.0, math.nan, math.inf])
def test_a_panel_without_room_for_two_holes_is_refused(height: float) -> None:
    sentence = str(refusal(lambda: balanced_row(height)))
    assert sentence.endswith(
        " high has no room for two holes at 32 mm with 16 mm at each end. "
        "Make it 64 mm or higher, or leave less at the ends."
    )


@pytest.mark.parametrize("end", [2.5, 0.0, -16.0, math.nan, math.inf])
def test_an_end_that_would_break_out_is_refused(end: float) -> None:
    sentence = str(refusal(lambda: balanced_row(720, end=end)))
    assert sentence.endswith(
        " does not hold half a system hole, 2.5 mm. Leave more than 2.5 mm; half a pitch is 16 mm."
    )


@pytest.mark.parametrize(
    ("depth", "inset", "front", "rear"),
    [
        (106, 0, 37, 69),  # 37 + 32 + 37
        (300, 0, 37, 261),  # 7 x 32 = 224, 39 left
        (298, 0, 37, 261),  # 37 left
        (297.9, 0, 37, 229),
        (560, 19, 56, 504),  # 14 x 32 = 448, 56 left
    ],
)
def test_rows_are_whole_pitches_apart(
    depth: float, inset: float, front: float, rear: float
) -> None:
    """Common practice; by hand."""
    assert rows(depth, inset=inset) == pytest.approx((front, rear))


@pytest.mark.parametrize("depth", [105.9, 0.0, -300.0, math.nan, math.inf])
def test_a_panel_too_shallow_for_two_rows_is_refused(depth: float) -> None:
    sentence = str(refusal(lambda: rows(depth)))
    assert sentence.endswith(
        " deep has no room for two rows, 37 mm from the front, 32 mm apart and 37 mm from the "
        "back. Make it 106 mm or deeper, or bore it without the system."
    )


@pytest.mark.parametrize(
    ("to_rim", "centre"), [(3, 20.5), (4, 21.5), (5, 22.5), (6, 23.5), (7, 24.5), (8, 25.5)]
)
def test_cup_centre_is_17_and_a_half_past_the_rim(to_rim: float, centre: float) -> None:
    """C = B + 17.5: common practice. Screws 45 apart and 9.5 behind: two makers' sheets."""
    cup = hinge_cup(to_rim)
    assert cup.centre == centre
    assert cup.diameter == 35
    assert cup.depth == 13
    (left, left_in), (right, right_in) = cup.screws
    assert right - left == 45
    assert left == -right
    assert left_in == right_in == centre + 9.5


@pytest.mark.parametrize("to_rim", [2.99, 8.01, 22.5, 0.0, -5.0, math.nan])
def test_a_cup_out_of_reach_of_its_hinge_is_refused(to_rim: float) -> None:
    sentence = str(refusal(lambda: hinge_cup(to_rim)))
    assert sentence.endswith(
        " from the door's edge is outside what hinges are made for, 3 mm to 8 mm. "
        "Measure from the rim, not from the cup's centre (17.5 mm further in)."
    )


@pytest.mark.parametrize("diameter", [5.0, 6.35, 6.349, 3 / 16 * 25.4])
@pytest.mark.parametrize("depth", [10.0, 13.0])
def test_shelf_pins_that_are_sold_pass(diameter: float, depth: float) -> None:
    check_shelf_pin(diameter, depth)
    assert refusal(lambda: check_shelf_pin(diameter, depth + 3.1)).faults[0].where == "depth"


@pytest.mark.parametrize("diameter", [3.0, 6.0, 7.0, 0.0, -5.0, math.nan])
def test_a_shelf_pin_that_is_not_sold_is_refused(diameter: float) -> None:
    sentence = str(refusal(lambda: check_shelf_pin(diameter, 12)))
    assert sentence.endswith(
        " mm across: those sold are 3/16 in, 5 mm and 1/4 in. Bore 5 mm or 1/4 in."
    )


def test_diameter_and_depth_of_a_shelf_pin_are_told_at_once() -> None:
    error = refusal(lambda: check_shelf_pin(6, 9))
    assert [fault.where for fault in error.faults] == ["diameter", "depth"]
    assert str(error.faults[1]) == (
        "A shelf-pin hole 9 mm deep is not the usual 10 mm to 13 mm. Bore 10 mm to 13 mm deep."
    )


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(hole_systems)
    assert (failed, tried >= 4) == (0, True)
