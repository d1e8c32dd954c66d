"""The table of ISO 286-1 as printed, and what is not to be read from it."""

from __future__ import annotations

import doctest
import math

import pytest

from fixtures.errors import InputError
from fixtures.standards import tolerance_grades
from fixtures.standards.tolerance_grades import grade_for, tolerance

# ISO 286-1, standard tolerance grades, micrometres. The last two columns are from memory for
# IT9 and coarser.
PRINTED = """
over-incl   1-3 3-6 6-10 10-18 18-30 30-50 50-80 80-120 120-180 180-250 250-315 315-400 400-500
IT6           6   8    9    11    13    16    19     22      25      29      32      36      40
IT7          10  12   15    18    21    25    30     35      40      46      52      57      63
IT8          14  18   22    27    33    39    46     54      63      72      81      89      97
IT9          25  30   36    43    52    62    74     87     100     115     130     140     155
IT10         40  48   58    70    84   100   120    140     160     185     210     230     250
IT11         60  75   90   110   130   160   190    220     250     290     320     360     400
IT12        100 120  150   180   210   250   300    350     400     460     520     570     630
IT13        140 180  220   270   330   390   460    540     630     720     810     890     970
IT14        250 300  360   430   520   620   740    870    1000    1150    1300    1400    1550
"""
HEAD, *ROWS = (line.split() for line in PRINTED.strip().splitlines())
STEPS = [(float(low), float(high)) for low, high in (step.split("-") for step in HEAD[1:])]
CELLS = [
    (int(row[0][2:]), low, high, int(um))
    for row in ROWS
    for (low, high), um in zip(STEPS, row[1:], strict=True)
]
# ISO 286-1: tolerance factor i = 0.45 D^(1/3) + 0.001 D um, D the geometric mean of the step, and
# the multiples of it for IT6 to IT14.
MULTIPLES = dict(zip(range(6, 15), (10, 16, 25, 40, 64, 100, 160, 250, 400), strict=True))


def factor(low: float, high: float) -> float:
    mean = math.sqrt(low * high)
    return 0.45 * math.cbrt(mean) + 0.001 * mean


def test_table_is_the_printed_one_on_both_edges_of_every_step() -> None:
    assert len(CELLS) == 9 * 13
    for grade, low, high, um in CELLS:
        assert tolerance(high, grade) == um / 1000
        assert tolerance(math.nextafter(low, high), grade) == um / 1000


@pytest.mark.parametrize(("size", "grade", "mm"), [(10, 14, 0.36), (100, 14, 0.87), (8, 7, 0.015)])
def test_spot_anchors_hold(size: float, grade: int, mm: float) -> None:
    """IT14 at 10 and 100 mm as trade pages quote it; IT7 of 6-10 mm is 14.4 um, printed 15."""
    assert tolerance(size, grade) == mm


def test_formula_is_within_five_per_cent_above_6_mm() -> None:
    gaps = [
        abs(factor(low, high) * MULTIPLES[grade] / um - 1)
        for grade, low, high, um in CELLS
        if low >= 6
    ]
    assert len(gaps) == 9 * 11
    assert max(gaps) < 0.05


def test_formula_is_not_the_table_in_the_first_step() -> None:
    """13.3 % low for IT7 at 1 to 3 mm: the table is what is shipped."""
    assert factor(1, 3) * MULTIPLES[7] / 1000 == pytest.approx(tolerance(2, 7) * 0.867, rel=1e-3)


def test_wrong_public_table_is_not_copied() -> None:
    """One public table prints IT9 of 3 to 6 mm as 20 um."""
    assert tolerance(5, 9) == 0.030


def test_a_grade_is_the_finest_that_is_wide_enough() -> None:
    assert grade_for(65, 0.40) == 13  # IT12 is 0.30, IT13 0.46
    assert grade_for(65, 0.46) == 13
    assert grade_for(65, 0.461) == 14
    assert grade_for(10, 0.36) == 14
    assert grade_for(10, 0.40) is None  # a printer's +-0.2 mm is wider than IT14 there
    assert grade_for(65, 19.2 - 18.9) == 12  # 0.3 and the noise of subtracting
    assert grade_for(2, 0.001) == 6


def test_every_printed_width_gives_its_own_grade_back() -> None:
    for grade, _, high, um in CELLS:
        assert grade_for(high, um / 1000) == grade


@pytest.mark.parametrize("size", [0.999, 500.001, 0.0, -5.0, math.nan, math.inf])
def test_a_size_out_of_the_table_is_refused(size: float) -> None:
    sentence = f"{size:g} mm is outside the table, which holds 1 to 500 mm."
    for ask in (lambda: tolerance(size, 7), lambda: grade_for(size, 0.1)):
        with pytest.raises(InputError) as refusal:
            ask()
        assert str(refusal.value) == f"{sentence} Ask for a size from 1 to 500 mm."


@pytest.mark.parametrize("grade", [5, 15, 0, -6])
def test_a_grade_out_of_the_table_is_refused(grade: int) -> None:
    with pytest.raises(InputError) as refusal:
        tolerance(10, grade)
    assert str(refusal.value) == (
        f"IT{grade} is not in the table, which holds IT6 to IT14. Ask for a grade from 6 to 14."
    )


@pytest.mark.parametrize("band", [0.0, -0.1, math.nan])
def test_a_band_without_width_is_refused(band: float) -> None:
    with pytest.raises(InputError) as refusal:
        grade_for(10, band)
    assert str(refusal.value) == (
        f"A tolerance band of {band:g} mm is not above 0. "
        "Give the whole width of the band, largest minus smallest."
    )


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(tolerance_grades)
    assert (failed, tried >= 2) == (0, True)
