"""Laws that hold for any part, whatever the kernel: boolean algebra and rigid motion."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures.errors import PartRefused
from fixtures.solid import (
    Box,
    Cylinder,
    Difference,
    Intersection,
    Placed,
    Pose,
    Solid,
    Union,
    Vec,
    add,
    dot,
    frame,
    then,
)
from tests.kernels.conftest import Kernel
from tests.zoo import ALL_SOUND

BLOCK = Box((40, 40, 40))

few = settings(max_examples=12, deadline=None, derandomize=True, database=None)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(0, 1000).map(lambda i: low + (high - low) * i / 1000)


@st.composite
def directions(draw: st.DrawFn) -> tuple[float, float, float]:
    z = draw(numbers(-1, 1))
    turn = draw(numbers(0, 2 * math.pi))
    r = math.sqrt(1 - z * z)
    return r * math.cos(turn), r * math.sin(turn), z


@st.composite
def poses(draw: st.DrawFn, low: float = -20, high: float = 20) -> Pose:
    axis = draw(directions())
    across = draw(directions().filter(lambda v: abs(dot(v, axis)) < 0.9))
    return frame(
        (draw(numbers(low, high)), draw(numbers(low, high)), draw(numbers(low, high))), axis, across
    )


def centred(solid: Solid, middle: Vec, pose: Pose) -> Solid:
    """The solid turned freely about its middle."""
    return Placed(Placed(solid, Pose(at=add((0, 0, 0), middle, -1))), pose)


@st.composite
def boxes(draw: st.DrawFn, low: float, high: float, size: float) -> Solid:
    """A turned box, 1 to size mm each way, its middle between low and high on every axis."""
    x, y, z = (draw(numbers(1, size)) for _ in range(3))
    return centred(Box((x, y, z)), (x / 2, y / 2, z / 2), draw(poses(low, high)))


@st.composite
def cylinders(draw: st.DrawFn, low: float, high: float, size: float) -> Solid:
    """A turned cylinder or cone, 1 to size mm long and wide, its middle between low and high."""
    height, wide, top = (draw(numbers(1, size)) for _ in range(3))
    made = Cylinder(wide / 2, height, draw(st.sampled_from((None, top / 2))))
    return centred(made, (0, 0, height / 2), draw(poses(low, high)))


def any_solid(low: float, high: float, size: float) -> st.SearchStrategy[Solid]:
    return boxes(low, high, size) | cylinders(low, high, size)


@few
@given(other=any_solid(0, 40, 30))
def test_union_and_intersection_share_out_both_volumes(kernel: Kernel, other: Solid) -> None:
    """V(A∪B) + V(A∩B) = V(A) + V(B). The middle of B lies in A, so they are one body."""
    together = kernel.volume(Union((BLOCK, other))) + kernel.volume(Intersection((BLOCK, other)))
    apart = kernel.volume(BLOCK) + kernel.volume(other)
    assert together == pytest.approx(apart, abs=4 * kernel.blur(64000))


@few
@given(cut=any_solid(10, 30, 11))
def test_cut_removes_what_both_share(kernel: Kernel, cut: Solid) -> None:
    """V(A−B) = V(A) − V(A∩B). A cutter's arcs are drawn outside, a part's inside, so the drawn
    ones may differ by both deflections over the cutter's walls.
    """
    gone = kernel.volume(BLOCK) - kernel.volume(Difference(BLOCK, (cut,)))
    walls = 2 * math.pi * 5.5 * 11
    shared = kernel.volume(Intersection((BLOCK, cut)))
    assert gone == pytest.approx(shared, abs=2 * kernel.deflection * walls + 4 * kernel.blur(64000))


@few
@given(one=any_solid(10, 30, 11), other=any_solid(10, 30, 11))
def test_order_of_cuts_does_not_matter(kernel: Kernel, one: Solid, other: Solid) -> None:
    at_once = kernel.volume(Difference(BLOCK, (one, other)))
    for again in (
        Difference(BLOCK, (other, one)),
        Difference(Difference(BLOCK, (one,)), (other,)),
        Difference(BLOCK, (Union((other, one)),)),
    ):
        assert kernel.volume(again) == pytest.approx(at_once, abs=4 * kernel.blur(64000))


@few
@given(one=boxes(10, 10, 30), other=cylinders(10, 10, 30))
def test_order_of_parts_does_not_matter(kernel: Kernel, one: Solid, other: Solid) -> None:
    """One of each kind: the exact kernel loses the common part of two all but equal cones."""
    core = Box((20, 20, 20))  # all three have one middle, so there is something in common
    for node in (Union, Intersection):
        forth = kernel.volume(node((core, one, other)))
        for parts in ((other, one, core), (one, core, other)):
            assert kernel.volume(node(parts)) == pytest.approx(forth, abs=4 * kernel.blur(64000))


@few
@given(solid=any_solid(0, 40, 30))
def test_part_less_itself_is_refused(kernel: Kernel, solid: Solid) -> None:
    with pytest.raises(PartRefused, match="Nothing is left"):
        kernel.volume(Difference(solid, (solid,)))


@few
@given(pose=poses())
def test_rigid_motion_keeps_the_volume(kernel: Kernel, pose: Pose) -> None:
    for part in ALL_SOUND[::5]:
        moved = kernel.volume(Placed(part.solid, pose))
        assert moved == pytest.approx(kernel.volume(part.solid), abs=4 * kernel.blur(part.volume))


@few
@given(first=poses(), second=poses())
def test_two_moves_are_one(kernel: Kernel, first: Pose, second: Pose) -> None:
    part = ALL_SOUND[9].solid
    twice = kernel.bounds(Placed(Placed(part, first), second))
    once = kernel.bounds(Placed(part, then(first, second)))
    for a, b in zip(twice, once, strict=True):
        assert a == pytest.approx(b, abs=1e-5)


@few
@given(x=numbers(-20, 20), y=numbers(-20, 20), z=numbers(-20, 20))
def test_a_shift_moves_the_bounds_by_itself(kernel: Kernel, x: float, y: float, z: float) -> None:
    part = ALL_SOUND[13].solid
    there = kernel.bounds(Placed(part, Pose(at=(x, y, z))))
    for a, b in zip(there, kernel.bounds(part), strict=True):
        assert a == pytest.approx(add(b, (x, y, z)), abs=1e-5)
