"""Meshes with volumes worked out by hand, for writers and readers to be judged by."""

from __future__ import annotations

import math

import manifold3d
import numpy as np

from fixtures.mesh import Mesh, canonical, make


def of(solid: manifold3d.Manifold) -> Mesh:
    arrays = solid.to_mesh64()
    return canonical(make(arrays.vert_properties[:, :3], arrays.tri_verts))


def box(
    x: float, y: float, z: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)
) -> manifold3d.Manifold:
    return manifold3d.Manifold.cube((x, y, z)).translate(at)


BLOCK = of(box(10, 20, 30))
BLOCK_VOLUME = 6000.0

# two arms of 60 × 31.4 × 35 that share a 31.4 square, with a slot of 19.4 down to a floor of 5
BRACKET = of(
    box(60, 31.4, 35)
    + box(31.4, 60, 35)
    - box(60, 19.4, 40, (6, 6, 5))
    - box(19.4, 60, 40, (6, 6, 5))
)
BRACKET_VOLUME = (2 * 60 - 31.4) * 31.4 * 35 - (2 * 54 - 19.4) * 19.4 * 30

# a 24-sided hole through a plate, whose corners lie on a circle of 5
SIDES = 24
PLATE = of(box(40, 30, 8) - manifold3d.Manifold.cylinder(10, 5, 5, SIDES).translate((15, 15, -1)))
PLATE_VOLUME = (40 * 30 - SIDES / 2 * 25 * math.sin(2 * math.pi / SIDES)) * 8

SHAPES = {
    "block": (BLOCK, BLOCK_VOLUME),
    "bracket": (BRACKET, BRACKET_VOLUME),
    "plate": (PLATE, PLATE_VOLUME),
}


def signed_volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Divergence theorem, written again so that it is not the code under test."""
    a, b, c = (np.asarray(vertices, dtype=np.float64)[np.asarray(faces)[:, i]] for i in range(3))
    return float((a * np.cross(b, c)).sum() / 6)
