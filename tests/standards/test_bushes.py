"""The bush tables as printed, and which bush a drill gets."""

from __future__ import annotations

import doctest

import pytest

from fixtures.errors import InputError
from fixtures.standards import bushes
from fixtures.standards.bushes import INCH_P, METRIC, bore_clearance, bush_for, inch_size

# DIN 179 / ISO 4247, headless. Outside diameters as read in a bush table; bore ranges and lengths
# from memory.
METRIC_PRINTED = """
1.8-2.6  5   6 9
2.6-3.3  6   8 12 16
3.3-4    7   8 12 16
4-5      8   8 12 16
5-6      10  10 16 20
6-8      12  10 16 20
8-10     15  12 20 25
10-12    18  12 20 25
12-15    22  16 28 36
"""
# ANSI/ASME B94.33, type P: largest and smallest actual outside, bore from and to, lengths, inches.
INCH_PRINTED = """
0.3141 0.3138  0.125  0.1935   0.25 0.3125 0.375 0.5 0.75 1
0.4078 0.4075  0.1875 0.257    0.25 0.3125 0.375 0.5 0.75 1 1.375
0.5017 0.5014  0.1875 0.316    0.375 0.5 0.75 1 1.375 1.75
0.6267 0.6264  0.3125 0.4375   0.375 0.5 0.75 1 1.375 1.75 2.125
0.7518 0.7515  0.375  0.53125  0.5 0.75 1 1.375 1.75 2.125
0.8768 0.8765  0.5    0.625    0.5 0.75 1 1.375 1.75 2.125
"""


def test_the_metric_table_is_as_printed() -> None:
    rows = [line.split() for line in METRIC_PRINTED.strip().splitlines()]
    assert len(rows) == len(METRIC)
    for bush, (bores, outside, *lengths) in zip(METRIC, rows, strict=True):
        assert f"{bush.above:g}-{bush.to:g}" == bores
        assert bush.outside == float(outside)
        assert bush.lengths == tuple(map(float, lengths))


def test_the_inch_table_is_as_printed() -> None:
    rows = [list(map(float, line.split())) for line in INCH_PRINTED.strip().splitlines()]
    assert len(rows) == len(INCH_P)
    for bush, (most, _, low, high, *lengths) in zip(INCH_P, rows, strict=True):
        assert bush.outside == pytest.approx(most * 25.4)
        assert (bush.above, bush.to) == pytest.approx((low * 25.4, high * 25.4))
        assert bush.lengths == pytest.approx([length * 25.4 for length in lengths])


@pytest.mark.parametrize(
    ("drill", "outside"), [(3, 6), (5, 8), (6, 10), (8, 12), (10, 15), (12, 18)]
)
def test_common_metric_drills_get_the_common_bush(drill: float, outside: float) -> None:
    """Pairing from memory, outside diameters as read; a bore range holds its upper end."""
    assert bush_for(drill, "metric").outside == outside


@pytest.mark.parametrize(
    ("drill", "outside"),
    [(3 / 16, 0.3141), (1 / 4, 0.4078), (5 / 16, 0.5017), (3 / 8, 0.6267), (1 / 2, 0.7518)],
)
def test_common_inch_drills_get_the_smallest_bush_made_for_them(
    drill: float, outside: float
) -> None:
    """ASME B94.33, by its bore ranges."""
    assert bush_for(drill * 25.4, "inch").outside == pytest.approx(outside * 25.4)


def test_a_drill_no_bush_is_made_for_is_refused_with_the_range() -> None:
    with pytest.raises(InputError, match=r"no metric bush for a 1\.5 mm drill.* 1\.8 to 15 mm"):
        bush_for(1.5, "metric")
    with pytest.raises(InputError, match=r"no inch bush for a 3 mm drill.* 3\.17 to 15\.88 mm"):
        bush_for(3.0, "inch")


@pytest.mark.parametrize(
    ("drill", "system", "um"),
    [
        (3, "metric", 12),
        (6, "metric", 12),
        (8, "metric", 14),
        (10, "metric", 14),
        (12, "metric", 17),
        (6.35, "inch", 12.7),
        (12.7, "inch", 12.7),
    ],
)
def test_bores_are_as_much_over_the_drill_as_their_standard_allows(
    drill: float, system: bushes.System, um: float
) -> None:
    """ISO 286 G6; ASME B94.33: at most +0.0005 in up to 3/4 in."""
    assert bore_clearance(drill, system) == pytest.approx(um / 1000)


def test_a_drill_past_the_tolerance_table_is_refused() -> None:
    with pytest.raises(InputError, match="A 20 mm drill is over 18 mm"):
        bore_clearance(20.0, "metric")


def test_a_type_p_code_gives_outside_and_length() -> None:
    """ASME B94.33: P-32-8 is 1/2 in outside and 1/2 in long."""
    assert inch_size("P-32-8") == pytest.approx((12.7, 12.7))
    with pytest.raises(InputError, match="'H-32-8' is not a type P code"):
        inch_size("H-32-8")


def test_the_examples_in_the_text_run() -> None:
    assert doctest.testmod(bushes).failed == 0
    assert doctest.testmod(bushes).attempted == 1
