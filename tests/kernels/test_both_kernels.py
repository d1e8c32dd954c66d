"""What every kernel must say of every part in the zoo: one suite, run with each kernel."""

from __future__ import annotations

import itertools

import pytest

from fixtures.errors import KernelError, PartRefused
from fixtures.outline import Arc, Line, Outline, circle, rectangle, stadium
from fixtures.solid import (
    NO_BREAK,
    Box,
    Break,
    Cylinder,
    EdgeBrokenExtrude,
    Intersection,
    Placed,
    Pose,
    Solid,
    Union,
    Vec,
)
from tests.kernels.conftest import Kernel
from tests.zoo import ALL_SOUND, NASTY, TILT, Specimen


@pytest.mark.parametrize("part", ALL_SOUND, ids=lambda part: part.name)
def test_volume_is_the_closed_form(kernel: Kernel, part: Specimen) -> None:
    """Arcs are drawn on the air side, so a drawn part may only be short of material."""
    short = part.volume - kernel.volume(part.solid)
    assert -kernel.blur(part.volume) <= short <= kernel.allowance(part.volume, part.curved)


def corners(size: Vec, pose: Pose) -> tuple[Vec, Vec]:
    """Lowest and highest corner of a box carried along by a pose."""
    moved = [
        pose.apply((x * size[0], y * size[1], z * size[2]))
        for x, y, z in itertools.product((0, 1), repeat=3)
    ]
    lo, hi = ([pick(axis) for axis in zip(*moved, strict=True)] for pick in (min, max))
    return (lo[0], lo[1], lo[2]), (hi[0], hi[1], hi[2])


@pytest.mark.parametrize(
    ("solid", "low", "high"),
    [
        (Box((1, 2, 3)), (0, 0, 0), (1, 2, 3)),
        (Cylinder(4, 7), (-4, -4, 0), (4, 4, 7)),
        (Cylinder(2, 7, 5), (-5, -5, 0), (5, 5, 7)),
        (
            EdgeBrokenExtrude((circle(6, (1, 2)),), 5, Break(1, 1), Break(2, 1)),
            (-5, -4, 0),
            (7, 8, 5),
        ),
        (EdgeBrokenExtrude((rectangle(0, 0, 9, 5),), 4, Break(-2, 1)), (-2, -2, 0), (11, 7, 4)),
        (EdgeBrokenExtrude((stadium((0, 0), (0, 9), 3),), 4), (-3, -3, 0), (3, 12, 4)),
        (Placed(Box((3, 4, 5)), TILT), *corners((3, 4, 5), TILT)),
        (
            Intersection((Box((5, 5, 5)), Placed(Box((5, 5, 5)), Pose(at=(1, 2, 3))))),
            (1, 2, 3),
            (5, 5, 5),
        ),
    ],
)
def test_bounds_are_those_of_the_true_shape(
    kernel: Kernel, solid: Solid, low: Vec, high: Vec
) -> None:
    lo, hi = kernel.bounds(solid)
    assert lo == pytest.approx(low, abs=1e-6)
    assert hi == pytest.approx(high, abs=1e-6)


@pytest.mark.parametrize("part", [n for n in NASTY if not n.bodies], ids=lambda part: part.name)
def test_nothing_left_is_refused(kernel: Kernel, part: Specimen) -> None:
    with pytest.raises(PartRefused) as caught:
        kernel.volume(part.solid)
    assert str(caught.value) == "Nothing is left of the part: its cuts remove all of it."


@pytest.mark.parametrize(
    "solid",
    [
        Box((1, 0, 1)),
        Box((1, -1, 1)),
        Box((1, float("nan"), 1)),
        Box((1, float("inf"), 1)),
        Cylinder(0, 5),
        Cylinder(-2, 5),
        Cylinder(2, 0),
        Cylinder(2, -5),
        Cylinder(2, 5, -1),
        Cylinder(-1, 5, 2),
        Cylinder(2, 5, float("nan")),
        Cylinder(float("nan"), 5, 2),
        EdgeBrokenExtrude((rectangle(0, 0, 1, 1),), 0),
        EdgeBrokenExtrude((rectangle(0, 0, 1, 1),), -1),
        EdgeBrokenExtrude((), 1),
    ],
    ids=str,
)
def test_leaf_without_volume_is_refused_alone_and_as_a_part(kernel: Kernel, solid: Solid) -> None:
    for whole in (solid, Union((Box((5, 5, 5)), solid))):
        with pytest.raises(KernelError, match="no volume"):
            kernel.volume(whole)


CLOCKWISE = Outline((0, 0), (Line((0, 5)), Line((5, 5)), Line((5, 0)), Line((0, 0))))
HALF_DISC = Outline((5, 0), (Arc((-5, 0), (0, 0)), Line((5, 0))))


@pytest.mark.parametrize(
    "node",
    [
        EdgeBrokenExtrude((CLOCKWISE,), 3),
        EdgeBrokenExtrude((rectangle(-9, -9, 9, 9), CLOCKWISE), 3),
        EdgeBrokenExtrude((CLOCKWISE,), 3, Break(1, 1)),
        EdgeBrokenExtrude((Outline((0, 0), (Line((5, 0)), Line((5, 5)), Line((0, 5)))),), 3),
        EdgeBrokenExtrude((Outline((5, 0), (Arc((0, 4), (0, 0)), Line((0, 0)), Line((5, 0)))),), 3),
        EdgeBrokenExtrude((Outline((5, 0), (Arc((0, 5), (5, 0)), Line((0, 0)), Line((5, 0)))),), 3),
    ],
    ids=[
        "clockwise",
        "clockwise in another",
        "clockwise and bevelled",
        "open",
        "arc that misses its end",
        "arc without a radius",
    ],
)
def test_outline_that_is_none_is_refused(kernel: Kernel, node: Solid) -> None:
    with pytest.raises(KernelError):
        kernel.volume(node)


@pytest.mark.parametrize(
    ("outline", "bottom", "top", "why"),
    [
        (rectangle(0, 0, 10, 4), Break(2, 1), NO_BREAK, "turns round"),
        (rectangle(0, 0, 10, 4), NO_BREAK, Break(2.5, 1), "turns round"),
        (rectangle(0, 0, 10, 10), Break(1, 3), Break(1, 3), "leave nothing"),
        (circle(3), Break(3, 1), NO_BREAK, "turns round"),
        (HALF_DISC, Break(1, 1), NO_BREAK, "cannot follow the corner"),
        (HALF_DISC, Break(-1, 1), NO_BREAK, "cannot follow the corner"),
    ],
    ids=[
        "to a line",
        "past a line",
        "bevels meet",
        "to a point",
        "arc at a corner",
        "arc at a corner, flared",
    ],
)
def test_bevel_that_does_not_fit_is_refused(
    kernel: Kernel, outline: Outline, bottom: Break, top: Break, why: str
) -> None:
    with pytest.raises(KernelError, match=why):
        kernel.volume(EdgeBrokenExtrude((outline,), 6, bottom, top))
