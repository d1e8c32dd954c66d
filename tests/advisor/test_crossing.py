"""Meshes that run through themselves, and bodies turned inwards among others."""

from __future__ import annotations

import math

import manifold3d as m3
import numpy as np
import pytest

from fixtures.advisor.advise import advise
from fixtures.advisor.faces import faces
from fixtures.advisor.winding import covered
from fixtures.mesh import Mesh, canonical, make
from tests.advisor.solids import HALVES, advised, as_mesh, box, drum, frustum, lying, one, said


def together(*parts: Mesh) -> Mesh:
    """Several meshes in one file, nothing joined."""
    offsets = np.cumsum([0, *(len(part.vertices) for part in parts[:-1])])
    return canonical(
        make(
            np.concatenate([part.vertices for part in parts]),
            np.concatenate([part.faces + at for part, at in zip(parts, offsets, strict=True)]),
        )
    )


def inverted(mesh: Mesh) -> Mesh:
    return make(mesh.vertices, mesh.faces[:, ::-1])


def test_the_area_enclosed_is_the_sections() -> None:
    # an n-gon's area, and what is left of a block round a lying bore at its middle
    area, length = covered(faces(as_mesh(drum(7, -3, 0, 10, 20))), 10.01)
    assert area == pytest.approx(32 * 100 * math.sin(2 * math.pi / 64))
    assert length == pytest.approx(64 * 2 * 10 * math.sin(math.pi / 64))
    tapered, _ = covered(faces(as_mesh(frustum(45, 64))), 5.0)
    assert tapered == pytest.approx(32 * 15**2 * math.sin(2 * math.pi / 64), rel=1e-5)
    bored = as_mesh(box(0, 0, 0, 20, 30, 20) - lying(10, -1, 10, 4, 32))
    assert covered(faces(bored), 10.0 + 1e-9)[0] == pytest.approx(20 * 30 - 8 * 30, rel=1e-6)
    assert covered(faces(bored), 50.0) == (0.0, 0.0)


def test_bodies_through_each_other_are_told_and_taken_together() -> None:
    block, peg = box(0, 0, 0, 30, 30, 20), box(20, 10, 0, 50, 20, 20)
    crossing = advise(together(as_mesh(block), as_mesh(peg)), HALVES)
    found = one(crossing, "self-crossing")
    assert (found.severity, found.measured) == ("note", pytest.approx(10 * 10))
    assert "100.0 mm² are covered more than once" in found.message
    joined = advised(block + peg)
    assert not said(joined, "self-crossing")
    assert crossing.mass_g == pytest.approx(joined.mass_g)
    assert crossing.layers == joined.layers


def test_a_body_inside_another_is_told_and_a_hollow_is_not() -> None:
    outer, inner = as_mesh(box(0, 0, 0, 30, 30, 30)), as_mesh(box(10, 10, 10, 20, 20, 20))
    assert one(advise(together(outer, inner), HALVES), "self-crossing").measured == pytest.approx(
        100
    )
    hollow = advise(together(outer, inverted(inner)), HALVES)
    assert not said(hollow, "self-crossing")
    assert not said(hollow, "inside-out")


def test_bodies_that_only_touch_do_not_cross() -> None:
    touching = together(as_mesh(box(0, 0, 0, 10, 10, 10)), as_mesh(box(10, 2, 0, 20, 8, 10)))
    assert not said(advise(touching, HALVES), "self-crossing")


def test_a_tenth_of_a_percent_is_where_crossing_begins() -> None:
    block = as_mesh(box(0, 0, 0, 50, 50, 10))
    for deep, told in ((0.04, 0), (0.12, 1)):  # of 2500 mm²: 2.0 and 6.0, past 2.5 and outlines
        peg = as_mesh(box(50 - deep, 0, 0, 60, 50, 10))
        assert len(said(advise(together(block, peg), HALVES), "self-crossing")) == told


def test_one_body_of_two_turned_inwards_is_stopped() -> None:
    right, wrong = as_mesh(box(0, 0, 0, 30, 30, 20)), as_mesh(box(50, 0, 0, 60, 10, 20))
    found = one(advise(together(right, inverted(wrong)), HALVES), "inside-out")
    assert (found.severity, found.measured) == ("stop", pytest.approx(100))
    assert not said(advise(together(right, wrong), HALVES), "inside-out")


def test_a_crossing_between_the_layers_looked_at_is_not_seen() -> None:
    """The blind spot: 24 of the 100 distinct layers of a cone are looked at."""
    cone = as_mesh(drum(0, 0, 0, 30, 20, 64, 5))
    speck = as_mesh(m3.Manifold.cube((4, 4, 0.25)).translate((-2, -2, 0.25)))
    assert not said(advise(together(cone, speck), HALVES), "self-crossing")
