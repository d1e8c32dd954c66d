"""The same jobs done the straightforward way with general libraries, timed beside ours.

A solid is read with trimesh alone (its boolean engine is the same kernel as ours, so what differs
is the way there); layers are cut with its multiplane section and compared with shapely, nothing
skipped.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
import trimesh

from fixtures.outline import arc_sides, polygon
from fixtures.solid import (
    Box,
    Cylinder,
    Difference,
    EdgeBrokenExtrude,
    Feature,
    Placed,
    Solid,
    Union,
)

DEFLECTION = 0.01


def solid(node: Solid, grow: bool = False) -> trimesh.Trimesh:
    """A trimesh of a solid."""
    match node:
        case Box(size):
            made = trimesh.creation.box(extents=size)
            made.apply_translation(np.array(size) / 2)
            return made
        case Cylinder(radius, height, top):
            return _cone(radius, radius if top is None else top, height, grow)
        case EdgeBrokenExtrude():
            return _extrude(node, grow)
        case Placed(inner, pose):
            made = solid(inner, grow)
            matrix = np.eye(4)
            matrix[:3, :] = np.array([pose.x, pose.y, pose.z, pose.at]).T
            made.apply_transform(matrix)
            return made
        case Union(parts):
            return trimesh.boolean.union([solid(part, grow) for part in parts])
        case Difference(body, cuts):
            tools = [solid(body, grow), *(solid(cut, not grow) for cut in cuts)]
            return trimesh.boolean.difference(tools)
        case Feature(_, recipe):
            return solid(recipe.solid(), grow)
        case _:
            raise TypeError(node)


def _cone(low: float, high: float, height: float, grow: bool) -> trimesh.Trimesh:
    sides = arc_sides(max(low, high), 2 * math.pi, DEFLECTION)
    k = 1 / math.cos(math.pi / sides) if grow else 1.0
    turn = np.arange(sides) * 2 * math.pi / sides
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * k
    return _loft([(low * ring, 0.0), (high * ring, height)])


def _extrude(node: EdgeBrokenExtrude, grow: bool) -> trimesh.Trimesh:
    shapes = [np.array(polygon(outline, DEFLECTION, grow=grow)) for outline in node.outlines]
    if node.bottom.rise == node.top.rise == 0:
        bars = [shapely.Polygon(shape) for shape in shapes]
        areas = shapely.set_precision(shapely.union_all(bars), 1e-5)
        parts = getattr(areas, "geoms", [areas])
        made = [
            trimesh.creation.extrude_polygon(part, node.height, engine="manifold") for part in parts
        ]
        return made[0] if len(made) == 1 else trimesh.util.concatenate(made)
    levels = [(0.0, node.bottom.inset)] if node.bottom.rise else []
    levels += [(node.bottom.rise, 0.0), (node.height - node.top.rise, 0.0)]
    levels += [(node.height, node.top.inset)] if node.top.rise else []
    return _loft([(_inset(shapes[0], by), z) for z, by in levels])


def _inset(points: np.ndarray, by: float) -> np.ndarray:
    way = np.roll(points, -1, axis=0) - points
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    inward = np.column_stack([-way[:, 1], way[:, 0]])
    before = np.roll(inward, 1, axis=0)
    share = 1 + np.einsum("ij,ij->i", before, inward)
    return points + by * (before + inward) / share[:, None]


def _loft(rings: list[tuple[np.ndarray, float]]) -> trimesh.Trimesh:
    n = len(rings[0][0])
    vertices = np.vstack([np.column_stack([ring, np.full(n, z)]) for ring, z in rings])
    faces = []
    for k in range(len(rings) - 1):
        for i in range(n):
            a, b = k * n + i, k * n + (i + 1) % n
            faces += [[a, b, b + n], [a, b + n, a + n]]
    caps, indices = trimesh.creation.triangulate_polygon(
        shapely.Polygon(rings[0][0]), engine="manifold"
    )
    assert len(caps) == n
    faces += [list(face[::-1]) for face in indices]
    faces += [list(face + (len(rings) - 1) * n) for face in indices]
    made = trimesh.Trimesh(vertices, faces, process=False)
    assert made.volume > 0
    return made


def unsupported_area(mesh: trimesh.Trimesh, layer: float, reach: float) -> float:
    """mm² that a layer reaches past the one below by more than `reach`, every layer cut."""
    top = mesh.bounds[1][2]
    heights = (np.arange(round(top / layer)) + 0.5) * layer
    sections = mesh.section_multiplane([0, 0, 0], [0, 0, 1], heights)
    total, below = 0.0, None
    for section in sections:
        here = shapely.union_all(section.polygons_full) if section is not None else shapely.Point()
        if section is not None:
            shift = section.metadata["to_3D"][:2, 3]
            here = shapely.affinity.translate(here, *shift)
        if below is not None:
            total += here.difference(below.buffer(reach, join_style="mitre")).area
        below = here
    return total
