"""One of every node, some of them together, and the nasty ones: new code meets the whole zoo.

Volumes are closed forms worked out here by hand, never what a kernel said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fixtures.features import Hole, Label, Slot
from fixtures.outline import Arc, Line, Outline, circle, polygon_outline, rectangle, stadium
from fixtures.solid import (
    Box,
    Break,
    Cylinder,
    Difference,
    EdgeBrokenExtrude,
    Feature,
    Intersection,
    Placed,
    Pose,
    Solid,
    Union,
    frame,
)
from fixtures.teardrop import Teardrop

PI = math.pi


@dataclass(frozen=True, slots=True)
class Specimen:
    """A sound part: one body of known volume (mm³).

    curved: mm² of curved wall, or a little more; the drawn surface may stray from the true one
    by the deflection over that area and nowhere else. flat parts have 0.
    """

    name: str
    solid: Solid
    volume: float
    curved: float = 0.0


@dataclass(frozen=True, slots=True)
class Nasty:
    """What must not become a part. why: how the mesh kernel's sentence begins; bodies: how many
    separate ones there are in truth, 0 for none.
    """

    name: str
    solid: Solid
    why: str
    bodies: int


def at(solid: Solid, x: float, y: float, z: float) -> Placed:
    """Moved, not turned."""
    return Placed(solid, Pose(at=(x, y, z)))


def prismatoid(height: float, low: float, middle: float, high: float) -> float:
    """Volume of a body whose section area is at most quadratic in z (Simpson's rule, exact)."""
    return height / 6 * (low + 4 * middle + high)


def bevelled(area: float, around: float, corners: float, height: float, *ends: Break) -> float:
    """Volume of a bevelled prism whose section inset by d has area - around d + corners d².

    Mitred right-angled outlines: corners 4; smooth ones: pi (Steiner's formula for parallel
    curves, with the mitre's square or the arc's sector at each corner).
    """

    def section(d: float) -> float:
        return area - around * d + corners * d * d

    total = (height - sum(end.rise for end in ends)) * area
    for end in ends:
        total += prismatoid(end.rise, area, section(end.inset / 2), section(end.inset))
    return total


def frustum(low: float, high: float, height: float) -> float:
    """Volume of a cone frustum."""
    return PI * height / 3 * (low * low + low * high + high * high)


def frustum_wall(low: float, high: float, height: float) -> float:
    """Area of a cone frustum's wall."""
    return PI * (low + high) * math.hypot(low - high, height)


ELL = polygon_outline([(0, 0), (20, 0), (20, 5), (5, 5), (5, 20), (0, 20)])
"""Area 175, perimeter 80."""

ROUNDED_ELL = Outline(
    (0.0, 0.0),
    (
        Line((20.0, 0.0)),
        Line((20.0, 5.0)),
        Line((8.0, 5.0)),
        Arc((5.0, 8.0), (8.0, 8.0), left=False),
        Line((5.0, 20.0)),
        Line((0.0, 20.0)),
        Line((0.0, 0.0)),
    ),
)
"""The same with a fillet of 3 in its inner corner: 9 (1 - pi/4) more, 6 - 3 pi/2 less around."""

CROSS = (rectangle(-5, -1, 5, 1), rectangle(-1, -5, 1, 5))
"""Two bars over each other: 20 + 20 - 4."""

TILT = frame((3.0, -2.0, 5.0), (1.0, 2.0, 2.0), (2.0, 1.0, -2.0))

CUP = Difference(Box((20, 20, 10)), (at(Box((16, 16, 10)), 2, 2, 2),))

PLATE = Box((40, 30, 6))


def through(radius: float, length: float, x: float, y: float, z: float) -> Placed:
    """A cylinder along z."""
    return at(Cylinder(radius, length), x, y, z)


NODES = (
    Specimen("box", Box((30, 20, 10)), 6000),
    Specimen("cylinder", Cylinder(4, 10), PI * 160, 80 * PI),
    Specimen("cone", Cylinder(5, 9, 2), frustum(5, 2, 9), frustum_wall(5, 2, 9)),
    Specimen("cone upside down", Cylinder(2, 9, 5), frustum(2, 5, 9), frustum_wall(2, 5, 9)),
    Specimen("pointed cone", Cylinder(5, 9, 0), frustum(5, 0, 9), frustum_wall(5, 0, 9)),
    Specimen("prism with an inner corner", EdgeBrokenExtrude((ELL,), 7), 175 * 7),
    Specimen(
        "prism with an inner fillet",
        EdgeBrokenExtrude((ROUNDED_ELL,), 7),
        (175 + 9 * (1 - PI / 4)) * 7,
        1.5 * PI * 7,
    ),
    Specimen(
        "round-ended prism",
        EdgeBrokenExtrude((stadium((0, 0), (8, 6), 4),), 5),
        (80 + 16 * PI) * 5,
        40 * PI,
    ),
    Specimen("prism of overlapping outlines", EdgeBrokenExtrude(CROSS, 3), 36 * 3),
    Specimen(
        "bevelled bar",
        EdgeBrokenExtrude((rectangle(0, 0, 30, 12),), 10, Break(1, 1), Break(2, 3)),
        bevelled(360, 84, 4, 10, Break(1, 1), Break(2, 3)),
    ),
    Specimen(
        "flared bar",
        EdgeBrokenExtrude((rectangle(0, 0, 30, 12),), 10, top=Break(-1.5, 2)),
        bevelled(360, 84, 4, 10, Break(-1.5, 2)),
    ),
    Specimen(
        "bevelled prism with an inner corner",
        EdgeBrokenExtrude((ELL,), 8, Break(1, 1), Break(-1, 2)),
        bevelled(175, 80, 4, 8, Break(1, 1), Break(-1, 2)),
    ),
    Specimen(
        "bevelled prism with an inner fillet",
        EdgeBrokenExtrude((ROUNDED_ELL,), 8, Break(1, 1), Break(-1, 2)),
        # five square corners outside, a quarter turn back on the fillet
        bevelled(
            175 + 9 * (1 - PI / 4),
            80 - 6 + 1.5 * PI,
            5 - PI / 4,
            8,
            Break(1, 1),
            Break(-1, 2),
        ),
        2 * PI * 9,
    ),
    Specimen(
        "bevelled disc",
        EdgeBrokenExtrude((circle(6, (1, 2)),), 5, Break(1, 1), Break(-0.5, 1)),
        frustum(5, 6, 1) + 36 * PI * 3 + frustum(6, 6.5, 1),
        frustum_wall(5, 6, 1) + 36 * PI + frustum_wall(6, 6.5, 1),
    ),
    Specimen(
        "bevelled round-ended prism",
        EdgeBrokenExtrude((stadium((0, 0), (8, 6), 4),), 5, Break(1, 1), Break(1, 2)),
        bevelled(80 + 16 * PI, 20 + 8 * PI, PI, 5, Break(1, 1), Break(1, 2)),
        8 * PI * 6,
    ),
    Specimen("tilted box", Placed(Box((3, 4, 5)), TILT), 60),
    Specimen("union", Union((Box((10, 10, 10)), at(Box((10, 10, 10)), 5, 5, 5))), 2 * 1000 - 125),
    Specimen(
        "difference",
        Difference(PLATE, (through(3, 8, 10, 10, -1), through(5, 8, 28, 15, -1))),
        7200 - (9 + 25) * PI * 6,
        (6 + 10) * PI * 6,
    ),
    Specimen(
        "intersection of three",
        Intersection(
            (Box((10, 10, 10)), at(Box((10, 10, 10)), 4, 0, 0), at(Box((9, 9, 9)), 0, 3, 4))
        ),
        5 * 7 * 6,
    ),
)

COMPOSITES = (
    Specimen(
        "plate with six pins standing in it",
        Union((PLATE, *(through(2, 9, x, y, 3) for x in (6, 20, 34) for y in (8, 22)))),
        7200 + 6 * 4 * PI * 6,
        6 * 4 * PI * 6,
    ),
    Specimen(
        "plate with ribs that stand in one another",
        Union(
            (
                PLATE,
                *(at(Box((30, 2, 8)), 5, y, 4) for y in (5, 14, 23)),
                at(Box((2, 26, 8)), 19, 2, 4),
            )
        ),
        7200 + 6 * (3 * 60 + 52 - 3 * 4),
    ),
    Specimen("cup", CUP, 4000 - 16 * 16 * 8),
    Specimen(
        "two round bars crossing",  # Archimedes' bicylinder: 16 r³ / 3
        Intersection(
            (
                through(3, 10, 0, 0, -5),
                Placed(Cylinder(3, 10), frame((-5, 0, 0), (1, 0, 0), (0, 1, 0))),
            )
        ),
        16 * 27 / 3,
        16 * 9,
    ),
    Specimen(
        "ring groove: a cut with a core left standing",
        Difference(
            Box((30, 30, 10)),
            (at(Difference(Cylinder(10, 8), (through(4, 10, 0, 0, -1),)), 15, 15, 4),),
        ),
        9000 - 84 * PI * 6,
        28 * PI * 6,
    ),
    Specimen(
        "named hole with both its edges broken",
        Difference(
            PLATE,
            (Feature("hole", Hole((15, 15, 6), (0, 0, -1), (1, 0, 0), 8, 6, True, 1, 0.5)),),
        ),
        7200 - frustum(4, 5, 1) - 16 * PI * 4.5 - frustum(4, 4.5, 0.5),
        frustum_wall(4, 5, 1) + 36 * PI + frustum_wall(4, 4.5, 0.5),
    ),
    Specimen(
        "named blind hole from the side",
        Difference(PLATE, (Feature("hole", Hole((0, 15, 3), (1, 0, 0), (0, 1, 0), 4, 12)),)),
        7200 - 48 * PI,
        48 * PI,
    ),
    Specimen(
        # a teardrop moved outwards is the teardrop of a wider circle: its flare is a frustum
        "named teardrop with its mouth broken",
        Difference(
            Box((30, 30, 30)),
            (
                Feature(
                    "hole",
                    Teardrop(
                        (0, 15, 15), (1, 0, 0), (0, 1, 0), 8, 30, True, mouth=1, lean=45, sag=None
                    ),
                ),
            ),
        ),
        27000 - (0.75 + 1 / PI) * (16 * PI * 29 + frustum(4, 5, 1)),
        1.5 * (16 * PI * 29 + frustum_wall(4, 5, 1)),
    ),
    Specimen(
        # the flat is 0.5 mm over the circle: it cuts off a point twice as wide as it is high
        "named flat-topped teardrop from the side",
        Difference(
            Box((30, 30, 30)),
            (
                Feature(
                    "hole",
                    Teardrop((0, 15, 15), (1, 0, 0), (0, 1, 0), 8, 12, lean=45, sag=0.5),
                ),
            ),
        ),
        27000 - 12 * (16 * (0.75 * PI + 1) - (4 * math.sqrt(2) - 4.5) ** 2),
        12 * 6 * PI,
    ),
    Specimen(
        "named slot with a lead-in",
        Difference(
            Box((30, 40, 20)),
            (
                Feature(
                    "slot",
                    Slot(
                        (15, 20, 20),
                        (0, 0, -1),
                        (1, 0, 0),
                        rectangle(-5, -50, 5, 50),
                        10,
                        12,
                        (-20, 20),
                        Break(-1, 2),
                    ),
                ),
            ),
        ),
        24000 - 40 * (10 * 12 + 2 * 1),  # the flare adds two triangles 1 wide and 2 deep
    ),
    Specimen(
        "engraved label",
        Difference(
            Box((40, 10, 4)),
            (Feature("label", Label((2, 2, 4), (0, 0, -1), (1, 0, 0), "L", 5)),),
        ),
        # two bars of an octagonal pen 0.8 wide, 4.2 and 2.1 long; in common they have three
        # quarters of the pen and a square 0.4 wide
        1600 - 0.6 * (0.8 * (4.2 + 2.1) + 1.25 * 8 * math.tan(PI / 8) * 0.16 - 0.16),
    ),
)

MARGINAL = (
    Specimen("flush face", Union((Box((10, 10, 10)), at(Box((10, 6, 4)), 10, 2, 0))), 1240),
    Specimen(
        "flush through cut", Difference(PLATE, (through(4, 6, 20, 15, 0),)), 7200 - 96 * PI, 48 * PI
    ),
    Specimen("flush cut at the side", Difference(PLATE, (at(Box((10, 10, 6)), 0, 0, 0),)), 6600),
    Specimen("wall of 0.02", Difference(PLATE, (at(Box((10, 10, 8)), 0.02, 10, 3),)), 6900),
    Specimen(
        "floor of 0.001",
        Difference(PLATE, (through(4, 8, 20, 15, 0.001),)),
        7200 - 16 * PI * 5.999,
        48 * PI,
    ),
    Specimen("the same part twice", Union((CUP, CUP)), 4000 - 16 * 16 * 8),
    Specimen(
        "closed hollow", Difference(Box((20, 20, 20)), (at(Box((8, 8, 8)), 6, 6, 6),)), 8000 - 512
    ),
)

NASTY = (
    Nasty("nothing left", Difference(Box((1, 2, 3)), (Box((1, 2, 3)),)), "Nothing is left", 0),
    Nasty(
        "nothing in common",
        Intersection((Box((1, 1, 1)), at(Box((1, 1, 1)), 5, 0, 0))),
        "Nothing is left",
        0,
    ),
    Nasty(
        "two apart",
        Union((Box((1, 1, 1)), at(Box((1, 1, 1)), 5, 0, 0))),
        "The cuts part it into 2 separate pieces",
        2,
    ),
    Nasty(
        "cut in two",
        Difference(PLATE, (at(Box((2, 32, 8)), 19, -1, -1),)),
        "The cuts part it into 2 separate pieces",
        2,
    ),
    Nasty(
        "touching along an edge",
        Union((Box((5, 5, 5)), at(Box((5, 5, 5)), 5, 5, 0))),
        "The part touches itself along an edge",
        2,
    ),
    Nasty(
        "touching at a corner",
        Union((Box((5, 5, 5)), at(Box((5, 5, 5)), 5, 5, 5))),
        "The cuts part it into 2 separate pieces",
        2,
    ),
    Nasty(
        "hole beside the part",
        Difference(PLATE, (Feature("hole", Hole((60, 15, 6), (0, 0, -1), (1, 0, 0), 8, 6, True)),)),
        "'hole' leaves no trace in the finished part",
        1,
    ),
)

SKIN = Difference(Box((10, 10, 0.1 + 0.2)), (through(2, 0.3, 5, 5, 0),))
"""A through cut lower than its plate by a rounding error of 6e-17 mm: a hole to any reader."""

ALL_SOUND = NODES + COMPOSITES + MARGINAL
