"""Unsupported areas against trimesh's sections and shapely's offsets: nothing shared, nothing
skipped, every layer cut and grown for itself."""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise
from typing import Literal

import manifold3d as m3
import numpy as np
import pytest
import shapely
import trimesh

from tests.advisor.solids import (
    Solid,
    as_mesh,
    bored_block,
    box,
    drum,
    frustum,
    hanging_cone,
    pendant,
    portal,
    tee,
    unsupported_area,
)


def peer_area(solid: Solid, join: Literal["mitre", "round"]) -> float:
    """Sum over the layers of P_k minus P_(k-1) grown by one step of 0.2 mm, mm²."""
    ours = as_mesh(solid())
    mesh = trimesh.Trimesh(ours.vertices, ours.faces, process=False)
    count = math.ceil(mesh.bounds[1][2] / 0.2 - 0.5)
    middle = (np.arange(count) + 0.5) * 0.2
    sections = mesh.section_multiplane((0, 0, 0), (0, 0, 1), middle)
    layers = [
        shapely.unary_union([] if section is None else section.polygons_full)
        for section in sections
    ]
    return float(
        sum(
            layer.difference(below.buffer(0.2, join_style=join, mitre_limit=2.0)).area
            for below, layer in pairwise(layers)
        )
    )


def random_part(seed: int) -> m3.Manifold:
    rng = np.random.default_rng(seed)
    solid = box(0, 0, 0, 30, 30, 4)
    for _ in range(5):
        x, y, z = rng.uniform((6, 6, 2), (24, 24, 14))
        turned = box(-4, -3, -5, 4, 3, 5).rotate(tuple(rng.uniform(0, 90, 3)))
        solid = solid + turned.translate((x, y, z))
    return solid ^ box(-9, -9, 0, 50, 50, 40)


@pytest.mark.parametrize(
    "solid",
    [
        tee,
        portal,
        pendant,
        bored_block,
        lambda: frustum(60, 64),
        lambda: hanging_cone(5.03),
        lambda: drum(0, 0, 0, 5, 10) + drum(0, 0, 10, 15, 3),
    ],
    ids=["tee", "portal", "pendant", "bore", "frustum", "cone", "mushroom"],
)
def test_unsupported_areas_are_those_of_another_library(solid: Solid) -> None:
    # outlines are simplified by up to 1 µm, and the same outline lies under every layer
    assert unsupported_area(solid()) == pytest.approx(peer_area(solid, "mitre"), rel=2e-3, abs=1e-3)


@pytest.mark.parametrize("seed", [11, 12, 13, 14])
def test_a_random_part_differs_only_at_needle_sharp_corners(seed: int) -> None:
    # past the mitre limit the libraries cut corners off differently, none beyond the rounded one
    part = partial(random_part, seed)
    mitred, rounded = (peer_area(part, join) for join in ("mitre", "round"))
    assert mitred - 1e-3 <= unsupported_area(part()) <= rounded + 1e-3
    assert rounded - mitred < 0.04 * rounded
