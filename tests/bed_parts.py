"""Parts to be laid on beds, and an independent judge of how they lie: shapely, on all triangles."""

from __future__ import annotations

import itertools
import math

import manifold3d
import numpy as np
import shapely

from fixtures.beds import BedLoad, Laid, Print
from fixtures.footprint import EXACT
from fixtures.mesh import Mesh
from fixtures.solid import Pose
from tests.export.shapes import box, of


def bar(name: str, x: float, y: float, z: float = 10.0, quantity: int = 1) -> Print:
    return Print(name, name[:4].upper(), of(box(x, y, z)), quantity)


def ell(name: str, x: float, y: float, arm: float, quantity: int = 1) -> Print:
    solid = box(x, arm, 20) + box(arm, y, 20)
    return Print(name, name[:4].upper(), of(solid), quantity)


def mushroom(name: str, foot: float, cap: float, quantity: int = 1) -> Print:
    """A square cap on a square foot in the middle of it."""
    inset = (cap - foot) / 2
    solid = box(foot, foot, 20, (inset, inset, 0)) + box(cap, cap, 5, (0, 0, 20))
    return Print(name, name[:4].upper(), of(solid), quantity)


def odd(rng: np.random.Generator, name: str) -> Print:
    """A part nobody would draw: bars at angles, a leaning one, a hole, far from the origin."""
    solid = box(*rng.uniform((20, 10, 5), (110, 40, 30)))
    for _ in range(int(rng.integers(0, 3))):
        arm = box(*rng.uniform((20, 8, 5), (90, 25, 30))).rotate((0, 0, float(rng.uniform(0, 360))))
        solid += arm
    leaning = box(8, 8, 40).rotate((float(rng.uniform(-40, 40)), 0, 0)).translate((5, 5, 5))
    solid += leaning
    if rng.random() < 0.5:
        solid -= manifold3d.Manifold.cylinder(200, 6, 6, 24).translate((12, 6, -100))
    solid = solid.translate(tuple(rng.uniform(-50, 50, 3)))
    low = solid.bounding_box()[2]
    mesh = of(solid.translate((0, 0, -low)))
    return Print(
        name,
        name.upper(),
        mesh,
        int(rng.integers(1, 6)),
        (60.0, 90.0),
        float(rng.uniform(5, 50)),
        3.0,
    )


def shadow(mesh: Mesh, pose: Pose) -> shapely.Geometry:
    """All triangles from above, joined, where the pose puts them."""
    points = mesh.vertices @ np.array([pose.x, pose.y, pose.z]) + np.array(pose.at)
    corners = points[mesh.faces][:, :, :2]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    seen = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) > 1e-6
    return shapely.union_all(shapely.polygons(corners[seen]), grid_size=1e-6)


def shadows(laid: Laid, load: BedLoad) -> list[shapely.Geometry]:
    return [shadow(laid.named(one.name).mesh, one.pose) for one in load.placements]


def check(laid: Laid) -> None:
    """Nothing overlaps, all gaps and margins are kept, and every copy is there once."""
    wide, deep, high = laid.bed
    room = shapely.box(laid.margin, laid.margin, wide - laid.margin, deep - laid.margin)
    for load in laid.loads:
        there = shadows(laid, load)
        for one, other in itertools.combinations(there, 2):
            assert shapely.distance(one, other) >= laid.gap - EXACT
            assert shapely.intersection(one, other).area < 1e-2
        for one in there:
            assert shapely.buffer(room, 2e-3).contains(one)
        for placement in load.placements:
            pose, mesh = placement.pose, laid.named(placement.name).mesh
            z = mesh.vertices[:, 2] + pose.at[2]
            assert pose.z == (0.0, 0.0, 1.0)
            assert abs(z.min()) < 1e-3
            assert z.max() <= high + 1e-3
            assert math.isclose(math.hypot(*pose.x), 1.0)
    found = sorted((one.name, one.copy) for load in laid.loads for one in load.placements)
    wanted = sorted(
        (one.name, copy)
        for one in laid.prints
        if one.name not in laid.unplaced
        for copy in range(1, one.quantity + 1)
    )
    assert found == wanted
    assert [load.number for load in laid.loads] == list(range(1, len(laid.loads) + 1))
