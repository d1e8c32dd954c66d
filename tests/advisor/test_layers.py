"""Layers: each distinct shape once, and none missed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.advisor import layers
from fixtures.advisor.faces import faces
from fixtures.kernels import manifold
from tests.advisor.solids import as_mesh, box, cut, drum, hanging_cone, portal


def test_a_prism_is_one_run_whatever_its_height() -> None:
    stack = cut(drum(0, 0, 0, 10, 200))
    assert [(run.first, run.count) for run in stack.runs] == [(0, 1000)]


def test_a_portal_is_two_runs() -> None:
    stack = cut(portal())
    assert [(run.first, run.count, run.falling, run.rising) for run in stack.runs] == [
        (0, 50, False, False),
        (50, 15, True, False),
    ]
    assert [run.region.area() for run in stack.runs] == pytest.approx([200, 440], abs=1e-6)


def test_a_step_inwards_looks_up_only() -> None:
    stack = cut(box(0, 0, 0, 20, 20, 4) + box(5, 5, 0, 15, 15, 8))
    assert [(run.falling, run.rising) for run in stack.runs] == [(False, False), (False, True)]


@pytest.mark.parametrize(
    ("height", "expected"),
    [(20.0, 100), (20.05, 100), (20.11, 101), (0.2, 1), (0.11, 1), (0.1, 0), (0.05, 0)],
)
def test_a_layer_is_there_when_its_middle_is(height: float, expected: int) -> None:
    # layer k is printed when z = (k + 1/2) h lies inside the part (definition)
    assert layers.layer_count(height, 0.2) == expected


@pytest.mark.parametrize("noise", [-8e-6, -1e-7, 0.0, 1e-7, 8e-6])
def test_a_face_in_a_mid_plane_falls_on_one_side_whatever_its_rounding(noise: float) -> None:
    # 3.5 mm is an odd multiple of half a 0.2 mm layer; float32 resolves 8e-6 at 128 mm
    stack = cut(box(0, 0, 0, 20, 20, 3.5 + noise) + box(0, 0, 0, 5, 5, 10))
    assert [run.first for run in stack.runs] == [0, 17]
    assert [run.region.area() for run in stack.runs] == pytest.approx([400, 25], abs=1e-3)


def test_layers_are_as_thick_as_the_part_in_sum() -> None:
    # sum of area × height against the volume of a stepped part (exact: steps at layer heights)
    solid = box(0, 0, 0, 30, 20, 6) + box(5, 5, 6, 15, 15, 12) - box(20, 5, 2, 25, 15, 7)
    stack = cut(solid)
    total = sum(run.region.area() * run.count for run in stack.runs) * 0.2
    assert total == pytest.approx(30 * 20 * 6 + 100 * 6 - 5 * 10 * 4, abs=1e-4)


def test_skipped_layers_are_those_that_do_not_change() -> None:
    # every layer of tilted boxes cut for itself, against the run it was counted with
    rng = np.random.default_rng(7)
    solid = box(0, 0, 0, 40, 40, 5)
    for _ in range(6):
        x, y, z = rng.uniform((5, 5, 3), (30, 30, 20))
        turned = box(-4, -4, -4, 4, 4, 4).rotate(tuple(rng.uniform(0, 90, 3)))
        solid = solid + turned.translate((x, y, z))
    solid = solid ^ box(-9, -9, 0, 50, 50, 40)
    mesh = as_mesh(solid)
    body = manifold.load(mesh)
    stack = layers.cut(faces(mesh), body, 0.2)
    middle = layers.planes(mesh.vertices[:, 2], 0.2, stack.count)
    for layer in range(stack.count):
        counted = stack.runs[stack.run_of(layer)].region
        alone = body.slice(float(middle[layer]))
        # the run's tolerance in area, and 1 µm along the outline for simplifying
        around = 1e-3 * sum(len(p) for p in alone.to_polygons()) + layers.SAME_AREA
        assert abs(counted.area() - alone.area()) < around


@pytest.mark.parametrize("tip", [5.0, 5.05, 5.1, 5.1999, 5.2])
def test_a_cone_hanging_tip_down_is_cut_from_its_first_layer_on(tip: float) -> None:
    # its steepest face leans 15 degrees: no face is an overhang, and yet it begins in mid-air
    stack = cut(hanging_cone(tip))
    contours = {run.first: run.region.num_contour() for run in stack.runs}
    first = min(layer for layer, count in contours.items() if count == 3)
    radius = ((first + 0.5) * 0.2 - tip) * math.tan(math.radians(15))
    assert math.pi * radius**2 >= layers.SPECK
    below = radius - 0.2 * math.tan(math.radians(15))
    assert below < 0 or 32 * math.sin(math.pi / 32) * below**2 < layers.SPECK


def test_a_skin_thinner_than_half_a_layer_between_planes_is_not_seen() -> None:
    # the documented blind spot: from z = 4.12 to 4.28 there is no mid-plane
    stack = cut(box(0, 0, 0, 2, 10, 10) + box(0, 0, 4.12, 10, 10, 4.28))
    assert {round(run.region.area(), 6) for run in stack.runs} == {20.0}


def test_slivers_of_less_than_a_speck_are_no_contours() -> None:
    stack = cut(box(0, 0, 0, 10, 10, 2) + box(12, 0, 0, 12.02, 0.02, 2))
    assert stack.runs[0].region.num_contour() == 1
