"""Dowel pins by the trade's rules, worked by hand, and what is refused in which words."""

from __future__ import annotations

import doctest
import math
from typing import Any

import pytest

from fixtures.errors import InputError
from fixtures.standards import dowels
from fixtures.standards.dowels import (
    COMMON_PINS,
    DIAMETERS,
    check_edge_distance,
    check_row,
    choose,
    drilling,
    point_length,
    split,
    us_limits,
)


def refusal(ask: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        ask()
    return caught.value


def test_common_pins_are_those_sold() -> None:
    """6 x 30, 8 x 35, 10 x 40: DIN 68150 in a public table; the others from memory."""
    assert COMMON_PINS == ((6, 30), (8, 30), (8, 35), (8, 40), (10, 40), (10, 50), (12, 50))
    assert set(DIAMETERS["metric"]) == {diameter for diameter, _ in COMMON_PINS}


def test_inch_pins_are_those_sold() -> None:
    """3/16, 1/4, 5/16, 3/8 and 1/2 in; 1 in is 25.4 mm."""
    sizes = [n * 25.4 for n in (3 / 16, 1 / 4, 5 / 16, 3 / 8, 1 / 2)]
    assert list(DIAMETERS["inch"]) == pytest.approx(sizes, abs=1e-9)


def test_us_pin_may_vary_by_its_printed_tolerance() -> None:
    """+-0.005 in of diameter, +0 -1/32 in of length: a trade page, common practice."""
    limits = us_limits(3 / 8 * 25.4, 2 * 25.4)
    assert limits.diameter == pytest.approx((0.370 * 25.4, 0.380 * 25.4), abs=1e-5)
    assert limits.length == pytest.approx((1.96875 * 25.4, 50.8), abs=1e-5)


def test_us_pins_at_the_ends_of_the_printed_ranges_are_known() -> None:
    """3/16 to 3/4 in thick, 3/4 to 7 in long: a trade page, common practice."""
    assert us_limits(3 / 16 * 25.4, 3 / 4 * 25.4).length[1] == pytest.approx(19.05)
    assert us_limits(3 / 4 * 25.4, 7 * 25.4).length[1] == pytest.approx(177.8)


@pytest.mark.parametrize(
    ("diameter", "length", "wrong"),
    [
        (4.7, 40, ["diameter"]),
        (19.1, 40, ["diameter"]),
        (8, 19, ["length"]),
        (8, 178, ["length"]),
        (math.nan, -1, ["diameter", "length"]),
    ],
)
def test_a_us_pin_that_is_not_sold_is_refused(
    diameter: float, length: float, wrong: list[str]
) -> None:
    error = refusal(lambda: us_limits(diameter, length))
    assert [fault.where for fault in error.faults] == wrong


def test_a_us_pin_too_stout_is_told_with_the_range() -> None:
    assert str(refusal(lambda: us_limits(20, 40))) == (
        "No pin has a diameter of 20 mm: those sold are 4.76 mm to 19.05 mm. "
        "Choose 4.76 mm to 19.05 mm."
    )


# A third to a half of the thickness (two trade texts agree), worked out by hand.
@pytest.mark.parametrize(
    ("thickness", "pins"),
    [
        (12, (6,)),  # 4 to 6
        (15, (6,)),  # 5 to 7.5
        (18, (6, 8)),  # 6 to 9
        (19, (8,)),  # 6.33 to 9.5
        (20, (8, 10)),  # 6.67 to 10
        (24, (8, 10, 12)),  # 8 to 12
        (36, (12,)),  # 12 to 18
    ],
)
def test_a_piece_takes_pins_of_a_third_to_a_half(thickness: float, pins: tuple[int, ...]) -> None:
    assert choose(thickness) == pins


def test_three_quarter_inch_takes_three_eighths_which_is_exactly_half() -> None:
    """19.05 mm: 6.35 to 9.525."""
    assert choose(19.05, series="inch") == (6.35, 7.9375, 9.525)
    assert 9.525 not in choose(19.04, series="inch")
    assert 6.35 not in choose(19.06, series="inch")


def test_wider_rule_of_a_school_text_is_not_kept() -> None:
    """2/5 to 3/5 would let 10 mm into 18 mm (0.556); 8 mm (0.444) satisfies both rules."""
    assert 8 in choose(18)
    assert 10 not in choose(18)


def test_a_piece_too_thin_for_any_pin_is_refused() -> None:
    assert str(refusal(lambda: choose(10))) == (
        "A piece 10 mm thick takes a pin of 3.33 mm to 5 mm (1/3 to 1/2 of its thickness), and the "
        "slimmest metric pin here is 6 mm. Use a piece of 12 mm or more, or another joint."
    )


def test_a_piece_too_thick_for_any_pin_is_refused() -> None:
    assert str(refusal(lambda: choose(40))) == (
        "A piece 40 mm thick takes a pin of 13.33 mm to 20 mm (1/3 to 1/2 of its thickness), and "
        "the stoutest metric pin here is 12 mm. "
        "Set two rows of pins, and ask for half the thickness."
    )
    assert choose(20) == (8, 10)  # as the remedy says


@pytest.mark.parametrize("thickness", [0.0, -18.0, math.nan, math.inf])
def test_what_is_no_thickness_is_refused(thickness: float) -> None:
    sentence = str(refusal(lambda: choose(thickness)))
    assert sentence.startswith("A thickness of ")
    assert sentence.endswith(" mm is none. Give a thickness above 0.")


def test_a_series_that_is_none_is_refused() -> None:
    series: Any = "imperial"
    assert str(refusal(lambda: choose(18, series=series))) == (
        "imperial is no series of pins: those are metric and inch. Choose metric or inch."
    )


@pytest.mark.parametrize(
    ("length", "face", "edge"), [(30, 10, 20), (35, 12, 23), (40, 13, 27), (50, 17, 33)]
)
def test_a_third_of_the_pin_goes_in_the_face(length: float, face: float, edge: float) -> None:
    """1/3 in the face, 2/3 in the edge (common practice), to the whole mm."""
    assert split(length) == (face, edge)


@pytest.mark.parametrize("length", [0.0, -40.0, 19.0, 178.0, math.nan])
def test_a_pin_of_no_length_sold_is_refused(length: float) -> None:
    sentence = str(refusal(lambda: split(length)))
    assert sentence.startswith("No pin has a length of ")
    assert sentence.endswith(
        " mm: those sold are 19.05 mm to 177.8 mm. Choose 19.05 mm to 177.8 mm."
    )


def test_a_twist_drills_point_is_its_cone() -> None:
    """d / 2 / tan 59 deg, a cone of 118 deg."""
    for diameter in (5, 6, 8, 10, 12):
        cone = diameter / 2 / math.tan(math.radians(59))
        assert point_length(diameter, "118 deg") == pytest.approx(cone, rel=0.002)
    assert point_length(8, "118 deg") == pytest.approx(2.4)


def test_a_brad_point_is_two_and_a_half_for_any_drill() -> None:
    """Common practice, no source."""
    assert point_length(6, "brad") == point_length(12, "brad") == 2.5


def test_a_point_that_is_none_is_refused() -> None:
    point: Any = "135 deg"
    assert str(refusal(lambda: point_length(8, point))) == (
        "135 deg is no drill point known here: those are 118 deg and brad. Choose 118 deg or brad."
    )


def test_8_by_40_in_a_19_side_is_13_and_27() -> None:
    """Holes 13 + 1 and 27 + 1 (glue relief); tip at 14 + 2.4; 19 - 16.4 left. By hand."""
    found = drilling(8, 40, 19)
    assert (found.face, found.edge) == (13, 27)
    assert (found.face_hole, found.edge_hole) == (14, 28)
    assert (found.face_tip, found.edge_tip) == pytest.approx((16.4, 30.4))
    assert found.skin == pytest.approx(2.6)


def test_8_by_40_in_a_19_side_is_not_20_and_20() -> None:
    """20 + 1 is deeper than the side is thick."""
    error = refusal(lambda: drilling(8, 40, 19, in_face=20))
    assert str(error) == (
        "The 8 mm hole is 21 mm deep and the drill's tip reaches 23.4 mm, in a side of 19 mm that "
        "may be drilled to 17 mm (2 mm of skin). "
        "Put 13 mm of the pin in the face and 27 mm in the edge, or use a thicker side."
    )
    assert (error.faults[0].where, error.faults[0].value) == ("side", "19 mm")


def test_a_21_mm_hole_in_an_18_mm_face_is_refused() -> None:
    sentence = str(refusal(lambda: drilling(8, 40, 18, in_face=20)))
    assert "is 21 mm deep" in sentence
    assert "a side of 18 mm that may be drilled to 16 mm" in sentence


def test_the_point_is_counted_in_an_18_mm_face() -> None:
    """14 mm of hole leaves 4 mm, but 1.6 past a point of 2.4: 12 + 28 is offered."""
    sentence = str(refusal(lambda: drilling(8, 40, 18)))
    assert sentence.endswith("Put 12 mm of the pin in the face and 28 mm in the edge, or use a "
                             "thicker side.")  # fmt: skip
    found = drilling(8, 40, 18, in_face=12)
    assert (found.face_hole, found.edge_hole) == (13, 29)
    assert found.skin == pytest.approx(2.6)


@pytest.mark.parametrize(("side", "point"), [(18.4, "118 deg"), (18.5, "brad")])
def test_two_mm_of_skin_pass_and_less_does_not(side: float, point: Any) -> None:
    """14 of hole, 2.4 or 2.5 of point, 2 of skin."""
    assert drilling(8, 40, side, point=point).skin == pytest.approx(2.0)
    assert refusal(lambda: drilling(8, 40, side - 0.01, point=point)).faults


def test_a_side_too_thin_for_a_pins_own_diameter_is_not_offered_a_split() -> None:
    """12 - 2 - 2.4 - 1 = 6.6: less pin in the face than the pin is thick."""
    sentence = str(refusal(lambda: drilling(8, 30, 12)))
    assert sentence.endswith("Use a thicker side, a slimmer pin, or another joint.")


@pytest.mark.parametrize("in_face", [0.0, -5.0, 40.0, 50.0, math.nan])
def test_a_share_that_is_not_part_of_the_pin_is_refused(in_face: float) -> None:
    sentence = str(refusal(lambda: drilling(8, 40, 60, in_face=in_face)))
    assert sentence.endswith(
        " in the face cannot be shared out of a pin of 40 mm. "
        "Put 13 mm in the face and 27 mm in the edge."
    )


@pytest.mark.parametrize("wrong", [0.0, -8.0, math.nan, math.inf])
def test_a_pin_or_side_without_size_is_refused(wrong: float) -> None:
    assert refusal(lambda: drilling(wrong, 40, 19)).faults[0].where == "diameter"
    assert refusal(lambda: drilling(8, 40, wrong)).faults[0].where == "side"
    assert refusal(lambda: check_edge_distance(wrong, 9)).faults[0].where == "diameter"
    assert refusal(lambda: check_row(wrong, [50], 100)).faults[0].where == "diameter"


def test_8_mm_centred_in_an_18_mm_edge_passes() -> None:
    """(18 - 8) / 2 = 5.0 mm of wood, where 4.0 is wanted; common practice."""
    check_edge_distance(8, 18 / 2)
    check_edge_distance(8, 8)  # the least: 4.0 of wood
    assert refusal(lambda: check_edge_distance(8, 7.99)).faults


def test_10_mm_centred_in_a_15_mm_edge_is_refused() -> None:
    """(15 - 10) / 2 = 2.5 mm of wood, where 5 is wanted; common practice."""
    assert str(refusal(lambda: check_edge_distance(10, 15 / 2))) == (
        "hole, 10 mm across, is centred 7.5 mm from the edge and leaves 2.5 mm of wood, where "
        "5 mm is wanted. Centre it 10 mm or more from the edge, or use a slimmer pin."
    )


def test_a_row_with_spacings_of_25_to_200_passes() -> None:
    check_row(8, [40, 65, 265], 305)
    check_row(8, [8, 92], 100)
    check_row(8, [50], 100)


def test_all_that_is_wrong_with_a_row_is_told() -> None:
    error = refusal(lambda: check_row(8, [6, 30.9, 231, 496], 500))
    assert [str(fault) for fault in error.faults] == [
        "hole_1, 8 mm across, is centred 6 mm from the edge and leaves 2 mm of wood, where 4 mm is "
        "wanted. Centre it 8 mm or more from the edge, or use a slimmer pin.",
        "hole_4, 8 mm across, is centred 4 mm from the edge and leaves 0 mm of wood, where 4 mm is "
        "wanted. Centre it 8 mm or more from the edge, or use a slimmer pin.",
        "hole_1 and hole_2 are 24.9 mm apart, where 25 mm to 200 mm is wanted. "
        "Set fewer, or farther apart.",
        "hole_2 and hole_3 are 200.1 mm apart, where 25 mm to 200 mm is wanted. "
        "Set a pin between them.",
        "hole_3 and hole_4 are 265 mm apart, where 25 mm to 200 mm is wanted. "
        "Set a pin between them.",
    ]


def test_a_joint_without_pins_is_refused() -> None:
    assert str(refusal(lambda: check_row(8, [], 300))) == (
        "A joint 300 mm wide has no pin. Set at least one."
    )


def test_a_row_out_of_order_or_not_a_number_is_refused() -> None:
    assert refusal(lambda: check_row(8, [200, 100], 300)).faults
    assert refusal(lambda: check_row(8, [math.nan], 300)).faults
    assert refusal(lambda: check_row(8, [100], math.nan)).faults


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(dowels)
    assert (failed, tried >= 4) == (0, True)
