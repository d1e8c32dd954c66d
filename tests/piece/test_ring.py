"""Boards of a ring, against an outline clipped by half-planes in plain complex numbers."""

from __future__ import annotations

import math
import random

import pytest

from fixtures.piece.ring import Meeting, polygon, ring

SAME = 1e-6
"""mm."""


class Edge:
    """An edge of the outer outline with its board's thickness: how far inside a point is."""

    def __init__(self, start: complex, end: complex, thick: float) -> None:
        self.start, self.thick = start, thick
        self.way = (end - start) / abs(end - start)

    def inside(self, point: complex) -> float:
        return ((point - self.start) * self.way.conjugate()).imag

    def along(self, point: complex) -> float:
        return ((point - self.start) * self.way.conjugate()).real


def clipped(outline: list[complex], a: complex, b: float) -> list[complex]:
    """What is left of a convex outline where Re(a z) ≤ b."""
    kept = []
    for i, p in enumerate(outline):
        q = outline[(i + 1) % len(outline)]
        u, v = b - (a * p).real, b - (a * q).real
        if u >= 0:
            kept.append(p)
        if (u > 0 > v) or (u < 0 < v):
            kept.append(p + (q - p) * u / (u - v))
    return kept


def half_plane(edge: Edge, share: float = 1.0) -> tuple[complex, float]:
    """Re(a z) - b is how far inside the edge a point is, times share."""
    a = 1j * edge.way.conjugate() * -1
    return a * share, (a * edge.start).real * share


def boards(
    vertices: list[complex], thick: list[float], meetings: list[Meeting]
) -> list[list[complex]]:
    """Each board's outline: its layer of the outer outline, less what its neighbours take."""
    n = len(vertices)
    edges = [Edge(vertices[i], vertices[(i + 1) % n], thick[i]) for i in range(n)]
    found = []
    for i, edge in enumerate(edges):
        a, b = half_plane(edge)
        own = clipped(vertices, a, b + edge.thick)
        for vertex, other in ((i, edges[i - 1]), ((i + 1) % n, edges[(i + 1) % n])):
            meeting = meetings[vertex]
            if meeting == "mitre":  # no deeper in itself than in its mate, as shares of each
                (a, b), (c, d) = (
                    half_plane(edge, 1 / edge.thick),
                    half_plane(other, 1 / other.thick),
                )
                own = clipped(own, a - c, b - d)
            elif (meeting == "before runs") is (other is edges[i - 1]):  # the mate runs past
                c, d = half_plane(other)
                own = clipped(own, -c, -(d + other.thick))
        found.append(own)
    return found


def face_lengths(outline: list[complex], edge: Edge) -> tuple[float, float]:
    """Extent of a board's outline on its outside and on its inside face."""
    lengths = []
    for depth in (0.0, edge.thick):
        on = [edge.along(p) for p in outline if abs(edge.inside(p) - depth) < 1e-6]
        lengths.append(max(on) - min(on))
    return lengths[0], lengths[1]


def area(outline: list[complex]) -> float:
    ahead = [*outline[1:], outline[0]]
    return sum((p.conjugate() * q).imag for p, q in zip(outline, ahead, strict=True)) / 2


def agrees(vertices: list[complex], thick: list[float], meetings: list[Meeting]) -> None:
    n = len(vertices)
    told = ring([(v.real, v.imag) for v in vertices], thick, meetings)
    wanted = boards(vertices, thick, meetings)
    for i, (side, outline) in enumerate(zip(told, wanted, strict=True)):
        edge = Edge(vertices[i], vertices[(i + 1) % n], thick[i])
        assert side.lengths == pytest.approx(face_lengths(outline, edge), abs=SAME)
        shape = [complex(*point) for point in side.layer(0.0, 1.0)]
        assert area(shape) == pytest.approx(area(outline), rel=1e-9)
        for point in shape:
            assert min(abs(point - corner) for corner in outline) < SAME


# --- closed forms ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sides", "inner"),
    # L - 2 t tan(180°/n), the long point to short point of a mitre at t = 18, L = 300 (derivation
    # from the right triangle at one end: its angle at the arris is half of 360°/n)
    [(4, 264.000), (6, 279.215), (8, 285.088)],
)
def test_mitre_points_of_a_regular_ring(sides: int, inner: float) -> None:
    mitres: list[Meeting] = ["mitre"] * sides
    told = ring(polygon(sides, 300.0), (18.0,) * sides, mitres)
    for side in told:
        assert side.lengths[0] == pytest.approx(300.0, abs=SAME)
        assert side.lengths[1] == pytest.approx(inner, abs=5e-4)


@pytest.mark.parametrize("sides", range(3, 13))
def test_a_regular_polygon_closes_and_has_its_area(sides: int) -> None:
    points = [complex(*vertex) for vertex in polygon(sides, 250.0)]
    ahead = [*points[1:], points[0]]
    assert [abs(b - a) for a, b in zip(points, ahead, strict=True)] == pytest.approx(
        [250.0] * sides
    )
    # n L² / (4 tan(180°/n)): any table of plane figures
    assert area(points) == pytest.approx(sides * 250.0**2 / 4 / math.tan(math.pi / sides))


# --- against clipping -----------------------------------------------------------------------

MEETINGS: dict[str, list[Meeting]] = {
    "mitre": ["mitre"] * 4,
    "top runs": ["after runs", "before runs", "after runs", "before runs"],
    "sides run": ["before runs", "after runs", "before runs", "after runs"],
    "each runs past the next": ["before runs"] * 4,
    "mitred below, butted above": ["mitre", "mitre", "before runs", "after runs"],
}


@pytest.mark.parametrize("corner", MEETINGS)
def test_boards_of_a_box_are_the_outline_clipped(corner: str) -> None:
    luck = random.Random(corner)
    for _ in range(20):
        width, height = luck.uniform(150.0, 2000.0), luck.uniform(150.0, 2000.0)
        thick = [luck.uniform(3.0, 38.0) for _ in range(4)]
        box = [0j, complex(width), complex(width, height), complex(0, height)]
        agrees(box, thick, MEETINGS[corner])


@pytest.mark.parametrize("sides", range(3, 13))
def test_boards_of_a_polygon_are_the_outline_clipped(sides: int) -> None:
    luck = random.Random(sides)
    for _ in range(10):
        points = [complex(*vertex) for vertex in polygon(sides, luck.uniform(250.0, 1000.0))]
        agrees(points, [luck.uniform(3.0, 30.0)] * sides, ["mitre"] * sides)


@pytest.mark.parametrize("seed", range(20))
def test_boards_of_any_convex_outline_are_the_outline_clipped(seed: int) -> None:
    luck = random.Random(seed)
    n = luck.randint(3, 8)
    # corners on a circle, no two near each other
    turns = [(i + luck.uniform(-0.25, 0.25)) * 2 * math.pi / n for i in range(n)]
    points = [800.0 * complex(math.cos(turn), math.sin(turn)) for turn in turns]
    kinds: list[Meeting] = ["mitre", "before runs", "after runs"]
    agrees(points, [luck.uniform(6.0, 25.0) for _ in range(n)], luck.choices(kinds, k=n))
