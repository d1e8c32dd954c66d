"""What no advice can be given on is refused with a remedy, in bounded time and memory."""

from __future__ import annotations

import math
import time
import tracemalloc
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fixtures.advisor import limits, survey
from fixtures.advisor.advise import advise
from fixtures.errors import InputError
from fixtures.mesh import make
from fixtures.printer import Printer
from tests.advisor.solids import as_mesh, box, cube, drum, one, said

GOOD = Printer()


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"layer": 0.0}, "layer is 0 mm; it must be 0.01 to 2 mm."),
        ({"layer": -0.2}, "layer is -0.2 mm"),
        ({"layer": 1e-9}, "layer is 1e-09 mm"),
        ({"layer": 200.0}, "layer is 200 mm"),
        ({"layer": math.nan}, "layer is nan mm"),
        ({"layer": math.inf}, "layer is inf mm"),
        ({"nozzle": 0.0, "width": 0.44}, "nozzle is 0 mm"),
        ({"nozzle": 40.0, "width": 0.44}, "nozzle is 40 mm"),
        ({"width": 0.0}, "line width is 0 mm"),
        ({"width": math.nan}, "line width is nan mm"),
        ({"rings": 0}, "rings is 0; it must be 1 to 100."),
        ({"rings": 10**6}, "rings is 1e+06"),
        ({"speed": 0.0}, "speed is 0 mm/s"),
        ({"speed": -60.0}, "speed is -60 mm/s"),
        ({"acceleration": 0.0}, "acceleration is 0 mm/s²"),
        ({"flow": 0.0}, "flow is 0 mm³/s"),
        ({"min_crossings": 1e9}, "min crossings is 1e+09"),
        ({"first_layer_relief": -1.0}, "first layer relief is -1 mm"),
        ({"bed": (0.0, 200.0, 200.0)}, "bed x is 0 mm; it must be 10 to 10000 mm."),
        ({"bed": (200.0, math.nan, 200.0)}, "bed y is nan mm"),
        ({"bed": (200.0, 200.0, math.inf)}, "bed z is inf mm"),
    ],
)
def test_a_printer_that_cannot_be_is_refused(changed: dict[str, Any], what: str) -> None:
    with pytest.raises(InputError) as caught:
        advise(as_mesh(cube()), replace(GOOD, **changed))
    (fault,) = caught.value.faults
    assert f"The printer's {what}" in fault.message
    assert fault.remedy.startswith("Give the ")


def test_a_line_no_wider_than_it_is_high_is_refused() -> None:
    limits.refuse(replace(GOOD, width=0.21, layer=0.2))
    with pytest.raises(InputError, match=r"A line 0.2 mm wide and 0.2 mm high is no line"):
        advise(as_mesh(cube()), replace(GOOD, width=0.2, layer=0.2))


def test_all_that_is_wrong_with_a_printer_is_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        limits.refuse(replace(GOOD, layer=math.nan, speed=0.0, bed=(1.0, 1.0, 1.0)))
    assert [fault.where for fault in caught.value.faults] == [
        *("layer", "speed", "bed x", "bed y", "bed z")
    ]


@pytest.mark.parametrize("layer", [0.01, 0.04, 0.3])
def test_fine_layers_on_a_tall_part_cost_only_where_it_changes(layer: float) -> None:
    tower = as_mesh(box(0, 0, 0, 20, 20, 190) + box(0, 0, 100, 25, 20, 105))
    begun = time.process_time()
    advice = advise(tower, replace(GOOD, layer=layer))
    assert time.process_time() - begun < 5.0
    assert advice.layers == round(190 / layer)


def test_more_layers_than_can_be_worked_on_are_told_not_made() -> None:
    tower = as_mesh(box(0, 0, 0, 20, 20, 220))
    tracemalloc.start()
    advice = advise(tower, replace(GOOD, layer=0.01))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20e6
    assert "it would take 22000 layers" in one(advice, "not-checked").message
    assert advice.mass_g is None


def test_more_crossings_than_can_be_worked_on_are_told_not_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cone = as_mesh(drum(0, 0, 0, 20, 40, 64, 5))
    # 64 sides of two triangles, nearly all from the bed to the top, in each of 200 layers
    monkeypatch.setattr(survey, "MOST_CROSSINGS", 200 * 128 + 1)
    assert not said(advise(cone, GOOD), "not-checked")
    monkeypatch.setattr(survey, "MOST_CROSSINGS", 200 * 64)
    assert "would cross faces" in one(advise(cone, GOOD), "not-checked").message


def test_a_sheet_without_an_inside_is_refused_or_told() -> None:
    flat = make([(0, 0, 0), (9, 0, 0), (0, 9, 0), (9, 9, 5)], [(0, 1, 2), (1, 3, 2)])
    advice = advise(flat, GOOD)
    assert advice.mass_g is None
    assert one(advice, "not-watertight").severity == "stop"


def test_triangles_without_area_change_nothing() -> None:
    solid = as_mesh(cube())
    # a needle whose third corner lies on one of its edges, both ways round: closed, without area
    points = np.vstack([solid.vertices, [[5, 5, 20], [6, 5, 20], [7, 5, 20]]])
    faces = np.vstack([solid.faces, [[8, 9, 10], [10, 9, 8]]])
    with_needle = advise(make(points, faces), GOOD)
    assert with_needle == advise(solid, GOOD)
