"""How cost grows with a mesh, beside the peer: `python -m pytest tests/bench -m bench -s`.

Two shapes: a wavy ball, all of whose layers differ, and a standing plate with countersunk holes, of
which few do. Times are of the process, so that a busy machine disturbs them less; the peer
(trimesh's multiplane section and shapely's offset) does every layer, or where it says ×10 ten of
every hundred.
"""

from __future__ import annotations

import gc
import math
import statistics
import time
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import manifold3d as m3
import numpy as np
import pytest
import shapely
import trimesh

from fixtures import mesh, produce
from fixtures.advisor.advise import Advice, advise
from fixtures.advisor.faces import faces
from fixtures.advisor.layers import crossings, cut
from fixtures.advisor.overhangs import self_supporting_angle, unsupported
from fixtures.features import Block, Hole
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.outline import rectangle
from fixtures.parts.catalog import FAMILIES
from fixtures.printer import Printer
from fixtures.solid import Break, Difference, Feature, Pose
from tests.parts.made import part

pytestmark = pytest.mark.bench
PRINTER = Printer()
REACH = PRINTER.layer * math.tan(math.radians(self_supporting_angle(PRINTER)))


def spent(call: Callable[[], object], runs: int) -> float:
    """Median seconds of processor time after one run that does not count (none of one run)."""
    if runs > 1:
        call()
    gc.collect()
    taken = []
    for _ in range(runs):
        begun = time.process_time()
        call()
        taken.append(time.process_time() - begun)
    return statistics.median(taken)


def ball(sides: int) -> Mesh:
    """A wavy ball 60 mm high of about sides²/2 triangles."""
    raw = m3.Manifold.sphere(30.0, sides).translate((0.0, 0.0, 30.0)).to_mesh64()
    points = np.asarray(raw.vert_properties)[:, :3].copy()
    points[:, :2] *= 1 + 0.02 * np.sin(points[:, 2:])
    return mesh.canonical(mesh.make(points, raw.tri_verts))


def sieve(rows: int) -> Mesh:
    """A standing plate with 15 countersunk holes of 6 mm a row, 12 mm apart."""
    holes = tuple(
        Feature(
            f"hole_{i + 1}",
            Hole(
                (12.0 * (i % 15 + 1), 12.0 * (i // 15 + 1), 20.0),
                (0.0, 0.0, -1.0),
                (1.0, 0.0, 0.0),
                6.0,
                20.0,
                through=True,
                mouth=0.6,
                exit=0.6,
            ),
        )
        for i in range(15 * rows)
    )
    block = Block(Pose(), rectangle(0, 0, 192.0, 12.0 * (rows + 1)), 20.0, Break(1, 1), Break(1, 1))
    return manifold.mesh(Difference(Feature("body", block), holes))


def ours(built: Mesh) -> float:
    """mm² unsupported in all, from the mesh on."""
    found = cut(faces(built), manifold.load(built), PRINTER.layer)
    return sum(one.region.area() for one in unsupported(found, self_supporting_angle(PRINTER)))


def peer(read: trimesh.Trimesh, every: int) -> float:
    """The same the straightforward way, of all layers or of ten in every 10 × `every`."""
    count = math.ceil(read.bounds[1][2] / PRINTER.layer - 0.5)
    total = 0.0
    # ten pairs of neighbours together, so that nearly every layer cut is used twice, as in a whole
    firsts = {k for k in range(count - 1) if k // 10 % every == every // 2}
    wanted = sorted({k for first in firsts for k in (first, first + 1)} & set(range(count)))
    heights = (np.array(wanted) + 0.5) * PRINTER.layer + 4e-5
    shapes = {}
    sections = read.section_multiplane((0, 0, 0), (0, 0, 1), heights)
    for k, section in zip(wanted, sections, strict=True):
        shape = shapely.union_all([] if section is None else section.polygons_full)
        shift = (0, 0) if section is None else section.metadata["to_3D"][:2, 3]
        shapes[k] = shapely.affinity.translate(shape, *shift)
    for below, layer in pairwise(wanted):
        if layer == below + 1 and below in firsts:
            grown = shapes[below].buffer(REACH, join_style="mitre", mitre_limit=2.0)
            total += shapes[layer].difference(grown).area
    return total


def row(name: str, built: Mesh, every: int) -> tuple[float, float, float]:
    """Prints one line of the table; unsupported, all checks and the peer, seconds."""
    runs = 5 if len(built.faces) < 50_000 else 1
    layers = cut(faces(built), manifold.load(built), PRINTER.layer)
    segments = crossings(faces(built), layers)
    read = trimesh.Trimesh(built.vertices.copy(), built.faces.copy(), process=False)
    a, b = spent(lambda: ours(built), runs), spent(lambda: advise(built, PRINTER), runs)
    c = spent(lambda: peer(read, every), 1) * every
    if every == 1:
        assert ours(built) == pytest.approx(peer(read, 1), rel=2e-3, abs=0.05)
    print(
        f"{name:<6} {len(built.faces):>9,} {layers.count:>6} {len(layers.runs):>8} {segments:>11,} "
        f"{a * 1e3:>9.1f} {a / segments * 1e9:>7.0f} {b * 1e3:>9.1f} "
        f"{b / len(built.faces) * 1e6:>7.1f} {c * 1e3:>10.0f}{f' ×{every}' if every > 1 else '':<4}"
        f"{c / a:>6.1f}"
    )
    return a, b, c


def heads() -> None:
    print(
        f"\n{'shape':<6} {'triangles':>9} {'layers':>6} {'distinct':>8} {'segments':>11} "
        f"{'unsup. ms':>9} {'ns/seg.':>7} {'advise ms':>9} {'µs/tri.':>7} {'peer ms':>10}    "
        f"{'ratio':>6}"
    )


def test_cost_grows_with_segments_and_triangles() -> None:
    """Of a ball, all of whose layers differ; nothing can be skipped."""
    heads()
    a = {sides: row("ball", ball(sides), 1) for sides in (142, 448)}
    a |= {sides: row("ball", ball(sides), 10) for sides in (776, 1416)}
    # ten times the triangles: less than linear would be luck, more than three times it a fault
    assert a[1416][1] / a[448][1] < 30
    assert all(theirs > mine for mine, _, theirs in a.values())


def test_cost_grows_with_holes() -> None:
    """Of a standing plate with n countersunk holes: a guide, a comb, a perforated sheet."""
    heads()
    a = {rows: row("plate", sieve(rows), 10 if rows > 1 else 1) for rows in (1, 4, 16)}
    assert a[16][1] / a[1][1] < 80


@pytest.mark.parametrize("name", [entry.name for entry in FAMILIES])
def test_all_checks_of_a_family(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The advice on a part of our own, with all that its features add. Budget: 120 ms."""
    asked: list[tuple[tuple[Any, ...], dict[str, Any]]] = []

    def noted(*given: Any, **named: Any) -> Advice:
        asked.append((given, named))
        return advise(*given, **named)

    monkeypatch.setattr(produce, "advise", noted)
    made = produce.produce(part(name), PRINTER, biased=False)
    given, named = asked[-1]
    taken = spent(lambda: advise(*given, **named), 5)
    print(f"\nadvise, {name}, {len(made.mesh.faces):,} triangles: {taken * 1e3:.0f} ms")
    assert taken < 1.2
