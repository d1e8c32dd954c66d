"""What is said of a mesh without an inside: its holes, and its faces that lean out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.advisor.advise import advise
from fixtures.mesh import Mesh, canonical, make
from tests.advisor.solids import HALVES, as_mesh, box, frustum, one, said


def lidless(mesh: Mesh) -> Mesh:
    """Without its topmost level faces."""
    top = mesh.vertices[:, 2].max()
    level = (mesh.vertices[mesh.faces][:, :, 2] == top).all(axis=1)
    return make(mesh.vertices, mesh.faces[~level])


def beside(*parts: Mesh) -> Mesh:
    offsets = np.cumsum([0, *(len(part.vertices) for part in parts[:-1])])
    points = np.concatenate([part.vertices for part in parts])
    faces = np.concatenate([part.faces + at for part, at in zip(parts, offsets, strict=True)])
    return canonical(make(points, faces))


@pytest.mark.parametrize(("angle", "told"), [(44.9, 0), (45.0, 0), (45.5, 1), (60.0, 1)])
def test_faces_are_told_from_the_self_supporting_angle_on(angle: float, told: int) -> None:
    found = said(advise(lidless(as_mesh(frustum(angle, 256))), HALVES), "steep-faces")
    assert len(found) == told
    if told:
        assert found[0].severity == "note"
        assert found[0].measured == pytest.approx(angle, abs=0.1)
        # seen from above: the ring between the two circles, as 256-gons
        radius = 10 + 10 * math.tan(math.radians(angle))
        ring = 128 * math.sin(2 * math.pi / 256) * (radius**2 - 100)
        assert found[0].area == pytest.approx(ring, rel=1e-4)


def test_a_whole_mesh_is_not_told_by_its_faces() -> None:
    assert not said(advise(as_mesh(frustum(60, 64)), HALVES), "steep-faces")


def test_faces_turned_the_wrong_way_are_not_seen() -> None:
    """The blind spot: a sheet that hangs, drawn with its outside up."""
    floor, sheet = [(0, 0, 0), (9, 0, 0), (0, 9, 0)], [(0, 0, 20), (9, 0, 20), (0, 9, 20)]
    down = make(floor + sheet, [(0, 2, 1), (3, 5, 4)])
    up = make(floor + sheet, [(0, 2, 1), (3, 4, 5)])
    assert one(advise(down, HALVES), "steep-faces").area == pytest.approx(81 / 2)
    assert not said(advise(up, HALVES), "steep-faces")


def test_holes_are_counted_with_their_rims_and_pieces() -> None:
    cup, other = lidless(as_mesh(box(0, 0, 0, 20, 20, 20))), as_mesh(box(40, 0, 0, 50, 10, 10))
    alone = one(advise(cup, HALVES), "not-watertight")
    assert alone.message.endswith("It has one hole, its rim 80.0 mm long.")
    with_other = one(advise(beside(cup, other), HALVES), "not-watertight")
    assert with_other.message.endswith(
        "It has one hole, its rim 80.0 mm long; 1 of its 2 pieces is open."
    )
    two = one(advise(beside(cup, lidless(other)), HALVES), "not-watertight")
    assert two.message.endswith(
        "It has 2 holes, their rims 120.0 mm in all, the longest 80.0 mm; 2 of its 2 pieces are "
        "open."
    )
