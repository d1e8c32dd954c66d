"""Budgets, measured when asked for: `python -m pytest tests/bench -m bench -s`.

Each prints its figure, the median and spread of five runs; only orders of magnitude are asserted.
Where a peer is named, both run in turn in the same call.
"""

from __future__ import annotations

import gc
import os
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from fixtures import ingest, mesh
from fixtures.advisor.advise import advise
from fixtures.advisor.faces import faces
from fixtures.advisor.layers import cut
from fixtures.advisor.overhangs import self_supporting_angle, unsupported
from fixtures.export import stl
from fixtures.features import Block, Hole
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.outline import rectangle
from fixtures.parts.catalog import FAMILIES
from fixtures.printer import Printer
from fixtures.solid import Break, Difference, Feature, Pose, Solid
from tests.bench import peers
from tests.parts.made import part

pytestmark = pytest.mark.bench
ROOT = Path(__file__).parent.parent.parent
RUNS = 5


def timed(call: Callable[[], object], runs: int = RUNS) -> list[float]:
    """Seconds of each run after one that does not count."""
    call()
    gc.collect()
    taken = []
    for _ in range(runs):
        begun = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begun)
    return taken


def told(name: str, taken: Sequence[float], budget: str) -> float:
    middle = statistics.median(taken)
    print(
        f"\n{name}: {middle * 1000:.1f} ms (from {min(taken) * 1000:.1f} to "
        f"{max(taken) * 1000:.1f}); budget {budget} [{platform.machine()}, {os.cpu_count()} CPUs, "
        f"Python {platform.python_version()}]"
    )
    return middle


def process(*words: str) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL, check=True
    )


def perforated(n: int, across: int) -> Solid:
    """A plate with n chamfered holes in rows: a typical guide."""
    size = 184.0
    pitch = size / (across + 1)
    body = Feature("body", Block(Pose(), rectangle(0, 0, size, 60), 20.0, Break(1, 1), Break(1, 1)))
    rows = -(-n // across)
    holes = tuple(
        Feature(
            f"hole_{i + 1}",
            Hole(
                (pitch * (i % across + 1), 60.0 / (rows + 1) * (i // across + 1), 20.0),
                (0.0, 0.0, -1.0),
                (1.0, 0.0, 0.0),
                6.0,
                20.0,
                through=True,
                mouth=0.6,
                exit=0.6,
            ),
        )
        for i in range(n)
    )
    return Difference(body, holes)


def test_help_cold() -> None:
    assert told("panelry --help, cold", timed(process("-m", "fixtures", "--help")), "250") < 1.0


def test_make_cold(tmp_path: Path) -> None:
    words = ("-m", "fixtures", "make", "corner-socket", "--thickness", "12.2 mm")
    run = process(*words, "--as", "stl", "--out", str(tmp_path))
    assert told("make corner-socket, cold, STL, advice, proof", timed(run), "500") < 2.0


@pytest.mark.parametrize("piece", ["mitred-case", "tool-shelf"])
def test_an_examples_kit_cold(piece: str, tmp_path: Path) -> None:
    run = process("-m", "fixtures", "kit", f"examples/{piece}.toml", "--out", str(tmp_path))
    told_as = f"kit of {piece}, cold, meshes, advice, proof, STL and 3MF"
    assert told(told_as, timed(run), "3000") < 12.0


def test_make_cold_beside_the_peer(tmp_path: Path) -> None:
    ratios = []
    ours, theirs = (process("-m", "tests.bench.jobs", n, str(tmp_path)) for n in ("ours", "peer"))
    for _ in range(RUNS):
        a, b = timed(ours, 1)[0], timed(theirs, 1)[0]
        ratios.append(b / a)
    same = [trimesh.load(tmp_path / f"{name}.stl").volume for name in ("ours", "peer")]
    assert same[0] == pytest.approx(same[1], rel=1e-4)
    print(
        f"\ncorner-socket to STL, cold: {statistics.median(ratios):.2f} × faster than with trimesh "
        f"(from {min(ratios):.2f} to {max(ratios):.2f}); budget 2 ×"
    )
    assert statistics.median(ratios) > 1.0


@pytest.mark.parametrize("name", [entry.name for entry in FAMILIES])
def test_family_mesh_warm(name: str) -> None:
    made = part(name)
    assert told(f"{name}, mesh, warm", timed(lambda: manifold.mesh(made.solid)), "30") < 0.3


def test_plate_60_holes_warm() -> None:
    solid = perforated(60, 12)
    assert told("plate_60_holes, mesh, warm", timed(lambda: manifold.mesh(solid)), "100") < 1.0


def test_unsupported_regions_of_a_standing_guide() -> None:
    """As a guide is printed: bores upright, so that few layers can differ."""
    guide, printer = manifold.mesh(perforated(12, 12)), Printer()
    angle = self_supporting_angle(printer)

    def ours() -> int:
        layers = cut(faces(guide), manifold.load(guide), printer.layer)
        return len(list(unsupported(layers, angle)))

    assert told(f"unsupported, standing, {len(guide.faces)} triangles", timed(ours), "10") < 0.2


def test_unsupported_regions_of_a_guide_beside_the_peer() -> None:
    """Lying, so that each hole has a roof; the peer skips nothing, ours once skips and once not."""
    solid = perforated(12, 12)
    built = manifold.mesh(solid)
    turned = m3.Manifold(m3.Mesh64(built.vertices.copy(), built.faces.astype(np.uint64)))
    lying = turned.rotate((90.0, 0.0, 0.0))
    raw = lying.translate((0.0, 0.0, -lying.bounding_box()[2])).to_mesh64()
    guide = mesh.canonical(mesh.make(np.asarray(raw.vert_properties)[:, :3], raw.tri_verts))
    printer = Printer()
    angle = self_supporting_angle(printer)
    reach = printer.layer * np.tan(np.radians(angle))

    def ours() -> float:
        layers = cut(faces(guide), manifold.load(guide), printer.layer)
        return sum(
            found.region.area() * layers.runs[found.run].count
            for found in unsupported(layers, angle)
        )

    def nothing_skipped() -> float:
        body = manifold.load(guide)
        total, below = 0.0, None
        for k in range(round(guide.vertices[:, 2].max() / printer.layer)):
            here = body.slice((k + 0.5) * printer.layer).simplify(1e-3)
            if below is not None:
                grown = below.offset(reach, m3.JoinType.Miter, 2.0)
                total += (here - grown).area()
            below = here
        return total

    read = trimesh.Trimesh(guide.vertices.copy(), guide.faces.copy(), process=False)

    def peer() -> float:
        return peers.unsupported_area(read, printer.layer, reach)

    assert nothing_skipped() == pytest.approx(peer(), rel=1e-3)
    # in turn, so that both meet the machine's other work
    times: dict[Callable[[], float], list[float]] = {ours: [], nothing_skipped: [], peer: []}
    for _ in range(3):
        for call, runs in ((ours, RUNS), (nothing_skipped, RUNS), (peer, 1)):
            times[call].append(statistics.median(timed(call, runs)))
    told(f"unsupported, lying, {len(guide.faces)} triangles", times[ours], "10")
    told("the same, nothing skipped", times[nothing_skipped], "-")
    told("the same with trimesh and shapely", times[peer], "-")
    for call, name, budget in ((nothing_skipped, "nothing skipped", 5), (ours, "skipping", 100)):
        ratios = [b / a for a, b in zip(times[call], times[peer], strict=True)]
        faster = f"{statistics.median(ratios):.0f} × faster"
        spread = f"from {min(ratios):.0f} to {max(ratios):.0f}"
        print(f"\nthan the peer, {name}: {faster} ({spread}); budget {budget} ×")
        assert statistics.median(ratios) > 1.0


def test_all_checks_of_a_guide() -> None:
    guide = manifold.mesh(perforated(12, 12))
    assert told("advise, guide", timed(lambda: advise(guide, Printer())), "120") < 1.0


def million() -> Mesh:
    """About 1,000,000 triangles and 1,000 layers: a wavy ball 200 mm high."""
    ball = m3.Manifold.sphere(100.0, 1416).translate((0.0, 0.0, 100.0))
    raw = ball.to_mesh64()
    points = np.asarray(raw.vert_properties)[:, :3].copy()
    points[:, :2] *= 1 + 0.02 * np.sin(points[:, 2:] / 5.0)
    return mesh.canonical(mesh.make(points, raw.tri_verts))


def test_a_million_triangles(tmp_path: Path) -> None:
    data = stl.encode(million(), "million")
    begun = time.perf_counter()
    read = ingest.read(data, "million.stl").mesh
    middle = time.perf_counter()
    advise(read, Printer())
    ended = time.perf_counter()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        f"\n{len(read.faces)} triangles, 1000 layers: read {middle - begun:.2f} s, advise "
        f"{ended - middle:.2f} s, this process's peak {peak:.2f} GB; budget 5 s, 2 GB"
    )
    assert ended - begun < 60.0
