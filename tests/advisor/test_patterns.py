"""Infill patterns against the geometry of their line families, and lines thrown at random."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.advisor.patterns import (
    clear_span,
    crossings,
    density_for_loop,
    density_for_span,
)
from fixtures.printer import Pattern

W = 0.45


@pytest.mark.parametrize(
    ("density", "one_way", "two_way", "three_way", "gyroid"),
    [  # s - w; 2w/rho - w; side of the clear triangle; 0.51 L - w with L = 2.46 w/rho
        (0.10, 4.05, 8.55, 14.81, 5.2),
        (0.15, 2.55, 5.55, 9.61, 3.3),
        (0.20, 1.80, 4.05, 7.01, 2.4),
        (0.25, 1.35, 3.15, 5.46, 1.8),
        (0.30, 1.05, 2.55, 4.42, 1.4),
        (0.40, 0.675, 1.80, 3.12, 1.0),
        (0.50, 0.45, 1.35, 2.34, 0.7),
    ],
)
def test_clear_spans(
    density: float, one_way: float, two_way: float, three_way: float, gyroid: float
) -> None:
    found = [
        clear_span(pattern, density, W) for pattern in ("one-way", "two-way", "three-way", "gyroid")
    ]
    assert found[:3] == pytest.approx([one_way, two_way, three_way], abs=0.006)
    assert found[3] == pytest.approx(gyroid, abs=0.06)


@pytest.mark.parametrize(
    ("span", "one_way", "two_way", "three_way"),
    [  # n w/(S + w), 3 w/(0.866 S + 1.5 w)
        (2.5, 0.153, 0.305, 0.475),
        (3, 0.130, 0.261, 0.412),
        (4, 0.101, 0.202, 0.326),
        (5, 0.083, 0.165, 0.270),
        (6, 0.070, 0.140, 0.230),
    ],
)
def test_densities_for_a_span(
    span: float, one_way: float, two_way: float, three_way: float
) -> None:
    found = [density_for_span(pattern, span, W) for pattern in ("one-way", "two-way", "three-way")]
    assert found == pytest.approx([one_way, two_way, three_way], abs=6e-4)


@pytest.mark.parametrize("pattern", ["one-way", "two-way", "three-way", "gyroid"])
@pytest.mark.parametrize("width", [0.3, 0.45, 0.8])
def test_span_and_density_undo_each_other(pattern: Pattern, width: float) -> None:
    density = density_for_span(pattern, 5.5, width)
    assert clear_span(pattern, density, width) == pytest.approx(5.5)


@pytest.mark.parametrize(
    ("wanted", "needed"),
    [  # N w/(2 D) for D = 5, 6, 8, 10, 12, 20
        (6, (0.27, 0.225, 0.169, 0.135, 0.113, 0.068)),
        (8, (0.36, 0.30, 0.225, 0.18, 0.15, 0.09)),
        (10, (0.45, 0.375, 0.281, 0.225, 0.188, 0.113)),
        (12, (0.54, 0.45, 0.338, 0.27, 0.225, 0.135)),
    ],
)
def test_densities_for_a_ring(wanted: float, needed: tuple[float, ...]) -> None:
    found = [density_for_loop(math.pi * d, W, wanted) for d in (5, 6, 8, 10, 12, 20)]
    assert found == pytest.approx(needed, abs=6e-4)


def test_a_ring_too_small_for_lines_asks_for_solid() -> None:
    assert density_for_loop(math.pi * 1.0, W, 10) == 1.0


@pytest.mark.parametrize("families", [1, 2, 3])
@pytest.mark.parametrize("density", [0.15, 0.30])
def test_a_ring_meets_as_many_lines_as_the_formula_says(families: int, density: float) -> None:
    # lines thrown at random under a circle of 8: 2 D rho / w crossings in the mean
    rng = np.random.default_rng(1)
    spacing = families * W / density
    met = 0.0
    throws = 4000
    for turn in range(families):
        shift = rng.uniform(0, spacing, throws)
        del turn  # by symmetry of the circle every family crosses alike
        first = np.ceil((-4 - shift) / spacing)
        last = np.floor((4 - shift) / spacing)
        met += 2 * float((last - first + 1).mean())
    assert met == pytest.approx(crossings(math.pi * 8, density, W), rel=0.02)
    assert crossings(math.pi * 8, density, W) == pytest.approx(2 * 8 * density / W)
