"""The straight line, against published numbers and another library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fixtures.calibration.line import (
    Straight,
    at_least,
    chosen,
    fieller,
    g,
    half_width,
    offset,
    quantile,
    straight,
    to_draw,
)
from fixtures.printer import Line

# Invented holes; the printed digits were computed apart from this code, by textbook formulas.
X = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0)
Y = (2.78, 3.79, 4.77, 5.80, 7.78, 9.79, 11.78, 15.76, 19.77)


def test_students_t_is_that_of_the_tables() -> None:
    # NIST/SEMATECH e-Handbook 1.3.6.7.2, table of Student's t: 2.365 and 12.706
    assert quantile(7) == pytest.approx(2.364624, abs=1e-6)
    assert quantile(1) == pytest.approx(12.706, abs=1e-3)


def test_line_slope_and_errors_are_those_of_the_worked_example() -> None:
    line = straight(X, Y)
    assert line.a == pytest.approx(0.99883459, abs=1e-8)
    assert line.b == pytest.approx(-0.20912281, abs=1e-8)
    assert line.se_a == pytest.approx(0.00067115, abs=1e-8)
    assert line.se_b == pytest.approx(0.00724924, abs=1e-8)
    assert line.s == pytest.approx(0.01094611, abs=1e-8)
    assert (line.sxx, line.mean) == (pytest.approx(266), pytest.approx(9.3333, abs=1e-4))
    assert line.interval_a == pytest.approx((0.99725, 1.00042), abs=5e-6)
    assert line.interval_b == pytest.approx((-0.22626, -0.19198), abs=5e-6)


def test_what_to_draw_and_its_intervals_are_those_of_the_worked_example() -> None:
    line = straight(X, Y)
    assert to_draw(line, 5.0) == pytest.approx((5.21520, 0.0281), abs=5e-5)
    assert to_draw(line, 8.0) == pytest.approx((8.21870, 0.0274), abs=5e-5)
    assert fieller(line, 5.0) == pytest.approx((5.18710, 5.24328), abs=5e-6)
    assert g(line) < 0.05
    assert offset(X, Y)[:2] == pytest.approx((-0.2200, 0.0094), abs=5e-5)


def test_inverse_reading_is_that_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 4.5.2.1: f = 7.74899 + 3.93014 x, y = 178 -> x = 43.319
    line = Straight(3.93014, 7.74899, 0.1, 1.0, 1.0, 100.0, 40.0, 10)
    assert to_draw(line, 178.0)[0] == pytest.approx(43.319, abs=5e-4)


def test_line_agrees_with_another_library() -> None:
    luck = np.random.default_rng(1)
    x = luck.uniform(3, 30, 12)
    y = 1.01 * x - 0.2 + luck.normal(0, 0.02, 12)
    ours, theirs = straight(x.tolist(), y.tolist()), stats.linregress(x, y)
    assert ours.a == pytest.approx(theirs.slope)
    assert ours.b == pytest.approx(theirs.intercept)
    assert ours.se_a == pytest.approx(theirs.stderr)
    assert ours.se_b == pytest.approx(theirs.intercept_stderr)


def test_slope_stays_one_where_its_interval_holds_one() -> None:
    line = chosen(X, Y)
    assert line.a == 1.0
    assert line.b == pytest.approx(-0.22, abs=1e-9)
    assert line.drawn(5.0) == pytest.approx(5.22)


def test_slope_is_used_where_it_is_not_one() -> None:
    line = chosen(X, [0.99 * x - 0.1 + (0.005 if n % 2 else -0.005) for n, x in enumerate(X)])
    assert line.a == pytest.approx(0.99, abs=1e-3)
    assert 0.99 * line.drawn(12.0) - 0.1 == pytest.approx(12.0, abs=0.01)


def test_interval_of_a_new_print_is_that_of_the_worked_example() -> None:
    """Half of what to draw's, times a: 0.0281 and 0.0274 mm (invented holes, above)."""
    line = Line(
        0.99883459, -0.20912281, 0.99725, 1.00042, -0.22626, -0.19198, 0.01094611, 9, 9.33333
    )
    assert half_width(line, 5.0) == pytest.approx(0.0281, abs=1e-4)
    assert half_width(line, 8.0) == pytest.approx(0.0274, abs=1e-4)
    # t s / √n at the mean size itself
    assert line.doubt(9.33333) == pytest.approx(2.364624 * 0.01094611 / 3, abs=1e-4)


@pytest.mark.parametrize("wanted", [3.0, 9.0, 40.0])
def test_interval_widens_off_the_mean_as_a_line_does(wanted: float) -> None:
    """Against numpy's polynomial fit and its covariance: var(new) = s² + (x, 1) C (x, 1)ᵀ."""
    y = [0.985 * x - 0.1 + (0.008 if n % 2 else -0.008) for n, x in enumerate(X)]
    line = chosen(X, y)
    (a, b), covariance = np.polyfit(X, y, 1, cov=True)
    assert [line.a, line.b] == pytest.approx([a, b])
    drawn = (wanted - b) / a
    at = np.array([drawn, 1.0])
    rest = np.sum((np.array(y) - a * np.array(X) - b) ** 2) / 7
    expected = 2.364624 * math.sqrt(rest + at @ covariance @ at)
    assert half_width(line, wanted) == pytest.approx(expected, rel=1e-5)


def test_slope_that_few_answers_leave_open_is_taken_as_filaments_shrink() -> None:
    """Of three answers t is 12.7, so they hardly tell a slope: 0.6 % is what is allowed for."""
    line = chosen((5.0, 6.0, 8.0), (4.79, 5.81, 7.80))
    assert (line.a, line.a_low, line.a_high) == (1.0, 0.994, 1.006)
    assert line.mean == pytest.approx(19 / 3)


def test_slope_is_not_kept_at_one_where_sizes_then_scatter_much_more() -> None:
    """Four answers, a = 0.9985: 1 lies within the slope's interval and would be 0.07 mm off."""
    x = (10.0, 12.0, 54.0, 107.0)
    y = [0.9985 * size + off for size, off in zip(x, (0.03, -0.03, 0.03, -0.02), strict=True)]
    line = chosen(x, y)
    assert line.a_low <= 1.0 <= line.a_high
    assert line.a == pytest.approx(0.9985, abs=2e-4)


def test_scatter_of_few_answers_is_surely_less_than_it_looks() -> None:
    # chi-squared, 99 %: 9.210 at 2 degrees, 23.209 at 10 (NIST/SEMATECH e-Handbook 1.3.6.7.4)
    assert at_least(0.1, 2) == pytest.approx(0.1 * math.sqrt(2 / 9.210), rel=1e-4)
    assert at_least(0.1, 10) == pytest.approx(0.1 * math.sqrt(10 / 23.209), rel=1e-4)


def test_coverage_of_what_is_printed_next() -> None:
    """Drawn for a size far beyond the coupon's own, printed once more: 95 % within the interval."""
    luck = np.random.default_rng(7)
    x = np.array(X)
    held, widths = 0, []
    for _ in range(1000):
        a, b = luck.choice([1.0, luck.uniform(0.992, 1.004)]), luck.uniform(-0.3, 0.1)
        sigma = luck.uniform(0.012, 0.04)
        line = chosen(X, (a * x + b + luck.normal(0, sigma, len(x))).tolist())
        wanted = float(luck.uniform(3, 32))
        printed = a * line.drawn(wanted) + b + luck.normal(0, sigma)
        held += abs(printed - wanted) <= half_width(line, wanted)
        away = 1 + 1 / len(X) + (line.drawn(wanted) - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2)
        t_interval = quantile(len(X) - 2) * sigma * np.sqrt(away)
        widths.append(half_width(line, wanted) / t_interval)
    assert 0.93 <= held / 1000 <= 0.97
    assert np.mean(widths) <= 1.1
