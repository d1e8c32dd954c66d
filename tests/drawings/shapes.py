"""Meshes for the tests of drawings, made corner by corner here, and what is asked of lines."""

from __future__ import annotations

import numpy as np

from fixtures.drawings.hidden import Projected
from fixtures.mesh import Floats, Ints, Mesh, make

_QUADS = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Mesh:
    """A box between two corners."""
    ends = np.array((low, high))
    corners = [[ends[i, 0], ends[j, 1], ends[k, 2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    return make(corners, [t for a, b, c, d in _QUADS for t in ((a, b, c), (a, c, d))])


def prism(rings: list[Floats], height: float) -> Mesh:
    """Straight walls over an outer ring, and one hole of as many corners if a second is given."""
    n = len(rings[0])
    at = np.arange(n)
    on = np.roll(at, -1)
    points = np.concatenate(
        [np.column_stack([r, np.full(n, z)]) for z in (0, height) for r in rings]
    )
    layer = n * len(rings)

    def wall(a: Ints, b: Ints) -> list[Ints]:
        return [np.stack((a, b, b + layer), 1), np.stack((a, b + layer, a + layer), 1)]

    faces = wall(at, on)
    if len(rings) == 1:
        fan = np.stack((np.zeros(n - 2, dtype=int), at[1:-1], at[2:]), 1)
        faces += [fan[:, ::-1], fan + layer]
    else:
        faces += wall(on + n, at + n)
        ring = np.concatenate([np.stack((at, on, on + n), 1), np.stack((at, on + n, at + n), 1)])
        faces += [ring[:, ::-1], ring + layer]
    return make(points, np.concatenate(faces))


def circle(radius: float, n: int) -> Floats:
    """A regular polygon of n corners on a circle, counter-clockwise."""
    turn = 2 * np.pi * np.arange(n) / n
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def lengths(lines: Floats) -> Floats:
    return np.hypot(*(lines[:, 1] - lines[:, 0]).T)


def total(lines: Floats) -> float:
    return float(lengths(lines).sum())


def arrays(drawn: Projected) -> bytes:
    """All that is drawn, as bytes."""
    parts = (drawn.seen, drawn.hidden, drawn.seen_of, drawn.hidden_of)
    rounds = (drawn.seen_round, drawn.hidden_round, drawn.low, drawn.high, drawn.axes)
    return b"".join(array.tobytes() for array in (*parts, *rounds))
