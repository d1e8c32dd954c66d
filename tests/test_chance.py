"""The chance that a panel goes in, against worked values and a simulation."""

from __future__ import annotations

import math
import random
from statistics import NormalDist

import pytest

from fixtures.chance import Chance, chance, told
from fixtures.printer import Line
from fixtures.stock import CALIPER, Stock

SURE = Line(1.0, -0.1, 1.0, 1.0, -0.1, -0.1, 0.0, 20)


def sheet(*readings: float, nominal: float = 19.0) -> Stock:
    return Stock("case", "MDF", nominal, readings)


def with_sigma(sigma: float) -> Line:
    """A printer whose spread makes the whole that sigma, on a sheet without spread."""
    own = math.sqrt(sigma**2 - CALIPER**2)
    return Line(1.0, -0.1, 1.0, 1.0, -0.1, -0.1, own, 20)


def test_no_go_is_what_the_normal_law_gives() -> None:
    """Φ(-c/σ): c = 0.20, σ = 0.08 is 0.62 % (worked value of the stack formula, normal table)."""
    found = chance(sheet(19.0, 19.0, 19.0, 19.0), 0.20, with_sigma(0.08))
    assert 1 - found.goes_in == pytest.approx(0.0062, abs=0.00005)


@pytest.mark.parametrize(("wanted", "clearance"), [(0.95, 0.132), (0.99, 0.186)])
def test_the_clearance_for_a_wanted_share_is_its_quantile(wanted: float, clearance: float) -> None:
    """1.645 σ and 2.326 σ of a normal table, at σ = 0.08."""
    found = chance(sheet(19.0, 19.0, 19.0, 19.0), 0.40, with_sigma(0.08), wanted)
    assert found.clearance == pytest.approx(clearance, abs=0.0005)


def test_caliper_uncertainty_is_that_of_its_three_parts() -> None:
    """Resolution 0.01/√12, error limit 0.02/√3, repeating 0.015/√3: 0.0147 mm (derivation)."""
    parts = (0.01 / math.sqrt(12), 0.02 / math.sqrt(3), 0.015 / math.sqrt(3))
    assert pytest.approx(math.hypot(*parts), abs=0.00005) == CALIPER


def test_asked_for_its_own_clearance_the_wanted_share_goes_in() -> None:
    readings = (18.9, 19.0, 19.15, 19.05, 18.95)
    first = chance(sheet(*readings), 0.40, with_sigma(0.06))
    again = chance(sheet(*readings), first.clearance, with_sigma(0.06))
    assert again.goes_in == pytest.approx(first.wanted, abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_a_simulated_shop_agrees(seed: int) -> None:
    """Draws of panel, print and reading error, without shared code; 20,000 of them to ± 1 %."""
    rng = random.Random(seed)
    readings = [rng.gauss(19.0, 0.08) for _ in range(8)]
    line = Line(1.0, -0.1, 1.0, 1.0, -0.1 - 1.96 * 0.02, -0.1 + 1.96 * 0.02, 0.04, 12)
    clearance = rng.uniform(-0.05, 0.15)
    found = chance(sheet(*readings), clearance, line)
    mean = sum(readings) / len(readings)
    sd = math.sqrt(sum((r - mean) ** 2 for r in readings) / (len(readings) - 1))
    trials = 20_000
    went = 0
    for _ in range(trials):
        panel = rng.gauss(mean, sd)
        slot = max(readings) + clearance + rng.gauss(0, 0.04) + rng.gauss(0, 0.02)
        went += slot + rng.gauss(0, CALIPER) > panel
    assert went / trials == pytest.approx(found.goes_in, abs=0.01)


@pytest.mark.parametrize("off", [-0.23, 0.08])
def test_a_slot_drawn_as_designed_is_judged_as_it_comes_out(off: float) -> None:
    """Draws of panel, print and reading error for a slot the printer makes wider by `off`."""
    rng = random.Random(3)
    readings = (18.9, 19.0, 19.15, 19.05, 18.95)
    line = Line(1.0, off, 1.0, 1.0, off, off, 0.04, 12)
    found = chance(sheet(*readings), 0.20 + off, line, off=off)
    mean = sum(readings) / len(readings)
    sd = math.sqrt(sum((r - mean) ** 2 for r in readings) / (len(readings) - 1))
    shop = [
        (rng.gauss(0, 0.04) + rng.gauss(0, CALIPER), rng.gauss(mean, sd)) for _ in range(20_000)
    ]

    def went(asked: float) -> float:
        return sum(19.15 + asked + off + error > panel for error, panel in shop) / len(shop)

    assert went(0.20) == pytest.approx(found.goes_in, abs=0.01)
    # what it says to ask for is what to ask for, not what is left of it
    assert went(found.clearance) >= found.wanted - 0.003
    assert told(found)[0].startswith("Drawn as designed, the slot comes out")
    assert ("wider" if off > 0 else "narrower") in told(found)[0]


def test_a_slot_far_from_the_sizes_measured_is_less_sure() -> None:
    """var = s² + s²/n + (x - mean)² s²/Sxx, as standard deviations: 0.04, 0.02, 16.9 × 0.002."""
    slope = 1.959964 * 0.002
    known = 1.959964 * 0.02
    line = Line(1.0, -0.1, 1 - slope, 1 + slope, -0.1 - known, -0.1 + known, 0.04, 12, 19.3)
    near = chance(sheet(19.0, 19.0), 0.2, line)
    far = chance(sheet(36.1 - 0.2, 36.1 - 0.2, nominal=36.0), 0.2, line)  # drawn as 36.2
    assert near.printer == pytest.approx(math.hypot(0.04, 0.02), abs=1e-6)
    assert far.printer == pytest.approx(math.hypot(0.04, 0.02, 16.9 * 0.002), abs=1e-6)
    assert far.goes_in < near.goes_in
    assert far.clearance > near.clearance


@pytest.mark.parametrize(
    ("stock", "line", "first"),
    [
        (sheet(18.6, 19.0, 19.4), with_sigma(0.05), "the sheet"),
        (sheet(19.0, 19.01, 19.0), with_sigma(0.20), "the printer"),
        (sheet(19.0, 19.0, 19.0), SURE, "the caliper"),
    ],
)
def test_the_largest_spread_is_what_to_improve_first(stock: Stock, line: Line, first: str) -> None:
    assert chance(stock, 0.3, line).improve == first


def test_one_reading_counts_as_a_spread_that_is_not_nought() -> None:
    assert chance(sheet(19.0), 0.3, SURE).sheet > 0.05


def test_worst_is_one_place_in_a_thousand() -> None:
    found = chance(sheet(18.9, 19.0, 19.1, 19.0), 0.3, with_sigma(0.05))
    sigma = math.sqrt(found.sheet**2 + found.printer**2 + found.caliper**2)
    assert NormalDist(found.likely, sigma).cdf(found.worst) == pytest.approx(0.001, rel=1e-6)


def test_it_is_told_in_plain_words() -> None:
    found = Chance(0.9938, 0.20, -0.05, 0.05, 0.06, 0.0147, "the printer", 0.186, 0.99)
    lines = told(found)
    assert "about 0.6 in 100 would not go in" in lines[0]
    assert "begin with the printer" in lines[1]
    assert "0.19 mm would do" in lines[2]
    assert "in." not in told(found, "in")[2] or "in would do" in told(found, "in")[2]
