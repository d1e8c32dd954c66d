"""The Wood Handbook's moduli of elasticity as printed, and what is refused."""

from __future__ import annotations

import doctest

import pytest

from fixtures.errors import InputError
from fixtures.standards import woods
from fixtures.standards.woods import STIFFNESS, stiffness

# Wood Handbook, chapter 5, table 5-3: modulus of elasticity at 12 % moisture, MPa
METRIC = {
    "sugar maple": 12600,
    "northern red oak": 12500,
    "yellow-poplar": 10900,
    "coast Douglas-fir": 13400,
    "interior south Douglas-fir": 10300,
    "eastern white pine": 8500,
    "ponderosa pine": 8900,
    "western white pine": 10100,
    "sugar pine": 8200,
    "shortleaf pine": 12100,
}
# the same in 10^6 lbf/in², for the rows read there
INCH = {
    "sugar maple": 1.83,
    "northern red oak": 1.82,
    "yellow-poplar": 1.58,
    "coast Douglas-fir": 1.95,
    "eastern white pine": 1.24,
    "American beech": 1.72,
    "yellow birch": 2.01,
    "black cherry": 1.49,
}


@pytest.mark.parametrize(("wood", "mpa"), METRIC.items())
def test_moduli_are_the_printed_ones(wood: str, mpa: int) -> None:
    assert stiffness(wood) == mpa


@pytest.mark.parametrize(("wood", "mpsi"), INCH.items())
def test_both_printed_tables_agree_to_their_rounding(wood: str, mpsi: float) -> None:
    assert stiffness(wood) / 6894.757 == pytest.approx(mpsi, abs=0.0125)


def test_every_row_is_checked() -> None:
    assert set(STIFFNESS) == set(METRIC) | set(INCH)


def test_an_unknown_wood_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(InputError) as refusal:
        stiffness("oak")
    said = str(refusal.value)
    assert said.startswith("'oak' is not in the table of woods. Choose one of: sugar maple; ")
    assert all(wood in said for wood in STIFFNESS)


def test_the_example_runs() -> None:
    assert doctest.testmod(woods).failed == 0
