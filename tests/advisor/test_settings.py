"""Solid layers and supports."""

from __future__ import annotations

import pytest

from fixtures.advisor import settings
from fixtures.printer import Pattern, Printer
from tests.advisor.solids import advised, box, cube, pendant, portal


@pytest.mark.parametrize(
    ("span", "layers"),
    # max(ceil(1.0 / h), ceil(2.5 + 0.8 S)) at h = 0.2
    [(0.0, 5), (2.55, 5), (4.05, 6), (5.55, 7), (7.85, 9)],
)
def test_roof_layers_by_clear_span(span: float, layers: int) -> None:
    assert settings.roof_layers(0.2, span) == layers


@pytest.mark.parametrize(
    ("height", "roof", "floor"),
    [(0.1, 10, 6), (0.2, 5, 3), (0.25, 4, 3), (0.3, 4, 2), (0.4, 3, 2)],
)
def test_thin_layers_need_more_of_them(height: float, roof: int, floor: int) -> None:
    # 1.0 mm of roof, 0.6 mm of floor (common practice, no source)
    assert settings.roof_layers(height, 0.0) == roof
    assert settings.floor_layers(height) == floor


@pytest.mark.parametrize(
    ("density", "percent"), [(0.15, 15), (0.1481, 15), (0.28125, 29), (0.3, 30), (1.0, 100)]
)
def test_percent_is_rounded_up(density: float, percent: int) -> None:
    assert settings.whole_percent(density) == percent


@pytest.mark.parametrize(
    ("pattern", "percent", "roof"),
    [  # 5.5 mm span at w = 0.45: 7.6, 15.1, 24.9 and 9.5 %, rounded up; 7 layers over 5.5 mm
        ("one-way", 8, 7),
        ("two-way", 16, 7),
        ("three-way", 25, 7),
        ("gyroid", 10, 7),
    ],
)
def test_a_closed_block_is_set_by_its_roof(pattern: Pattern, percent: int, roof: int) -> None:
    advice = advised(cube(), Printer(width=0.45, pattern=pattern))
    assert (advice.infill_percent, advice.roof_layers) == (percent, roof)
    assert advice.infill_by.rule == "roof"
    assert (advice.rings, advice.floor_layers, advice.supports) == (3, 3, False)


def test_supports_are_for_islands_and_long_bridges() -> None:
    assert advised(pendant()).supports is True
    assert advised(portal(12)).supports is False
    assert advised(portal(26)).supports is True
    assert advised(box(0, 0, 0, 5, 5, 5)).supports is False
