"""Test solids built straight with the boolean library, so that the advisor is judged on meshes no
part of this project made. Lengths in mm; every mesh stands on z = 0 and has no feature names.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import manifold3d as m3
import numpy as np

from fixtures import mesh as meshes
from fixtures.advisor import layers, overhangs
from fixtures.advisor.advise import Advice, advise
from fixtures.advisor.faces import faces
from fixtures.finding import Finding
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.printer import Printer

Solid = Callable[[], m3.Manifold]
"""A solid still to be built: what a test is parametrized with (a built one would outlive it)."""

HALVES = Printer(width=0.4, layer=0.2)
"""Line twice as wide as the layer is high: exactly 45 degrees carry themselves."""


def box(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float) -> m3.Manifold:
    return m3.Manifold.cube((x1 - x0, y1 - y0, z1 - z0)).translate((x0, y0, z0))


def drum(
    x: float, y: float, z: float, radius: float, height: float, sides: int = 64, top: float = -1.0
) -> m3.Manifold:
    """A standing cylinder, or a frustum when `top` is its upper radius."""
    return m3.Manifold.cylinder(height, radius, top, sides).translate((x, y, z))


def lying(
    x: float, y: float, z: float, radius: float, length: float, sides: int = 64
) -> m3.Manifold:
    """A cylinder whose axis runs along +y from (x, y, z)."""
    return (
        m3.Manifold.cylinder(length, radius, radius, sides).rotate((-90, 0, 0)).translate((x, y, z))
    )


def prism(points: Sequence[tuple[float, float]], height: float, z: float = 0.0) -> m3.Manifold:
    """A standing prism over a counter-clockwise polygon."""
    section = m3.CrossSection([np.array(points, dtype=float)])
    return m3.Manifold.extrude(section, height).translate((0, 0, z))


def along_y(points: Sequence[tuple[float, float]], y0: float, y1: float) -> m3.Manifold:
    """A prism along y over a counter-clockwise polygon in (x, z)."""
    section = m3.CrossSection([np.array(points, dtype=float)])
    lying_down = m3.Manifold.extrude(section, y1 - y0).rotate((90, 0, 0))
    return lying_down.translate((0, y1, 0))


def as_mesh(solid: m3.Manifold) -> Mesh:
    """The solid as any file would bring it: float32, welded, no names."""
    raw = solid.to_mesh64()
    return meshes.canonical(meshes.make(np.asarray(raw.vert_properties)[:, :3], raw.tri_verts))


def cut(solid: m3.Manifold, height: float = 0.2) -> layers.Layers:
    mesh = as_mesh(solid)
    return layers.cut(faces(mesh), manifold.load(mesh), height)


def unsupported_area(solid: m3.Manifold, angle: float = 45.0, height: float = 0.2) -> float:
    """Sum over all layers of what the layer below does not carry, mm²."""
    found = overhangs.unsupported(cut(solid, height), angle)
    return sum(one.region.area() for one in found)


def advised(solid: m3.Manifold, printer: Printer = HALVES) -> Advice:
    return advise(as_mesh(solid), printer)


def said(advice: Advice, check: str) -> list[Finding]:
    """The findings of one check."""
    return [finding for finding in advice.findings if finding.check == check]


def one(advice: Advice, check: str) -> Finding:
    """The only finding of a check."""
    (finding,) = said(advice, check)
    return finding


def cube() -> m3.Manifold:
    return box(0, 0, 0, 20, 20, 20)


def tee() -> m3.Manifold:
    """A cap on a stem, two ledges of 10."""
    return box(10, 0, 0, 20, 20, 20) + box(0, 0, 20, 30, 20, 25)


def portal(span: float = 12.0) -> m3.Manifold:
    """A lintel on two legs of 5."""
    return (
        box(0, 0, 0, 5, 20, 10)
        + box(5 + span, 0, 0, 10 + span, 20, 10)
        + box(0, 0, 10, 10 + span, 20, 13)
    )


def frustum(angle: float, sides: int = 256) -> m3.Manifold:
    """Radius 10 on the bed, widening upwards over 10 at an angle from the vertical."""
    return drum(0, 0, 0, 10, 10, sides, 10 + 10 * math.tan(math.radians(angle)))


def bored_block(diameter: float = 8.0, sides: int = 64) -> m3.Manifold:
    """A block 20 × 30 × 20 with a bore lying along y through its middle."""
    return box(0, 0, 0, 20, 30, 20) - lying(10, -1, 10, diameter / 2, 32, sides)


def pendant() -> m3.Manifold:
    """A portal 30 × 30 on legs of 4 with a rod of 6 hanging from its roof down to z = 12."""
    return (
        box(0, 0, 0, 4, 30, 20)
        + box(26, 0, 0, 30, 30, 20)
        + box(0, 0, 20, 30, 30, 23)
        + drum(15, 15, 12, 3, 10)
    )


def hanging_cone(tip: float) -> m3.Manifold:
    """A steep cone hanging tip down from a roof on four walls, its tip at height `tip`."""
    room = box(0, 0, 0, 20, 20, 22) - box(2, 2, -1, 18, 18, 20)
    return room + drum(10, 10, tip, 0.0, 20.5 - tip, 64, (20.5 - tip) * math.tan(math.radians(15)))


def block_with_hole(diameter: float, begins: float, sides: int = 64) -> m3.Manifold:
    """A block 60 × 60 × 30 with one hole from height `begins` to the top, flats on the circle."""
    outer = diameter / 2 / math.cos(math.pi / sides)
    return box(0, 0, 0, 60, 60, 30) - drum(30, 30, begins, outer, 40, sides)
