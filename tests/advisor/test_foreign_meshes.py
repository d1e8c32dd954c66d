"""Advice on meshes nobody here made, beside a slow reading of the same files with trimesh, shapely
and networkx: nothing shared but the layers' heights, every layer cut, nothing skipped.

Areas agree within 0.1 %, or within the micrometre that our outlines may be off. Layers are as high
as make about a hundred of them, or forty of the large ones: the peer takes its time.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace

import networkx
import numpy as np
import pytest
import shapely
import trimesh

from fixtures import ingest, mesh
from fixtures.advisor import overhangs
from fixtures.advisor.advise import advise
from fixtures.advisor.checks import NEED_LAYERS
from fixtures.advisor.orient import on_bed
from fixtures.advisor.survey import survey
from fixtures.ingest.repair import repair, told
from fixtures.ingest.unit import in_mm
from fixtures.mesh import Mesh
from fixtures.printer import Printer
from fixtures.rims import rims
from tests.advisor.foreign import LARGE, OPEN, WHOLE, Foreign
from tests.advisor.solids import one, said

SHARE = 1e-3
"""0.1 %."""
OFF = 1e-3
"""mm that outlines may be off after they are simplified."""
CLEAR = 4e-5
"""mm the peer cuts above mid-height, so that no plane lies in a face."""
FAR_FROM_CLOSED = {"meshes/upper_arm.stl", "samples/hypar.obj", "samples/mesh.obj"}
"""Sheets, and one with rims all over it: no repair makes a body of these."""
FACTOR = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


def both(one: Foreign) -> tuple[Mesh, trimesh.Trimesh]:
    """The mesh as `check` takes it, standing on the bed, and as trimesh reads it."""
    data = one.read()
    kind = one.path.rsplit(".", 1)[-1]
    read = trimesh.load(io.BytesIO(data), file_type=kind, force="mesh")
    if one.halved:
        for _ in range(one.halved):
            read = read.subdivide()
        data, kind = read.export(file_type="stl"), "stl"
    loaded, unit = in_mm(ingest.read(data, f"mesh.{kind}"), None, 240.0)
    read.apply_scale(FACTOR[unit])
    read.apply_translation((0.0, 0.0, -read.bounds[0][2]))
    return on_bed(loaded.mesh), read


def printer_for(height: float, layers: int) -> Printer:
    """One whose layers make about as many of the height (of tall meshes more: layers end at
    2 mm), its line twice as wide as high: exactly 45° carry themselves."""
    layer = min(2.0, max(0.03, round(float(height) / layers, 3)))
    return replace(Printer(), layer=layer, width=2 * layer, nozzle=max(0.05, min(3.0, layer)))


def sections(read: trimesh.Trimesh, heights: np.ndarray) -> list[shapely.Geometry]:
    """Each layer's shape: all bodies together, less the hollows (bodies of negative volume)."""
    solid: list[list[shapely.Polygon]] = [[] for _ in heights]
    hollow: list[list[shapely.Polygon]] = [[] for _ in heights]
    for body in read.split(only_watertight=False):
        into = solid if body.volume > 0 else hollow
        for number, section in enumerate(body.section_multiplane((0, 0, 0), (0, 0, 1), heights)):
            if section is not None:
                shift = section.metadata["to_3D"][:2, 3]
                into[number] += [
                    shapely.affinity.translate(polygon, *shift) for polygon in section.polygons_full
                ]
    return [
        shapely.union_all(some).difference(shapely.union_all(less))
        for some, less in zip(solid, hollow, strict=True)
    ]


def islands(layer: shapely.Geometry, below: shapely.Geometry) -> int:
    """Connected parts with nothing under them: films of the cut, under 0.02 mm, are none."""
    parts = getattr(layer, "geoms", [layer])
    return sum(
        1
        for part in parts
        if part.intersection(below).area <= 1e-6 and not part.buffer(-0.01).is_empty
    )


def steep_area(read: trimesh.Trimesh, angle: float) -> float:
    """mm² of faces that look down past the angle, those on the bed apart."""
    down = -read.face_normals[:, 2] > math.sin(math.radians(angle)) + 1e-6
    return float(read.area_faces[down & (read.triangles[:, :, 2].max(axis=1) > 0.01)].sum())


def compare(foreign: Foreign, layers: int) -> None:
    ours, read = both(foreign)
    printer = printer_for(read.bounds[1][2], layers)
    sliced = survey(ours, printer).sliced
    assert sliced is not None
    assert mesh.volume(ours) == pytest.approx(read.volume, rel=SHARE)
    assert sliced.bodies == sum(1 for body in read.split(only_watertight=False) if body.volume > 0)
    assert sliced.angle == pytest.approx(45.0)
    assert sliced.steep.area == pytest.approx(steep_area(read, 45.0), rel=SHARE, abs=1e-3)

    count, height = sliced.layers.count, printer.layer
    theirs = sections(read, (np.arange(count) + 0.5) * height + CLEAR)
    shapes = [sliced.layers.runs[sliced.layers.run_of(k)].region for k in range(count)]
    for shape, layer in zip(shapes, theirs, strict=True):
        assert abs(shape.area() - layer.area) <= SHARE * layer.area + OFF * layer.length

    found = np.zeros(count)
    for some in overhangs.unsupported(sliced.layers, sliced.angle):
        found[sliced.layers.runs[some.run].first] = some.region.area()
    low, high = np.zeros(count), np.zeros(count)
    for k in range(1, count):
        # past the mitre limit the libraries cut corners off differently, none beyond a round one
        low[k], high[k] = (
            theirs[k]
            .difference(theirs[k - 1].buffer(height, join_style=join, mitre_limit=2.0))
            .area
            for join in ("mitre", "round")
        )
        off = OFF * (theirs[k].length + theirs[k - 1].length)
        assert low[k] * (1 - SHARE) - off <= found[k] <= high[k] * (1 + SHARE) + off
        firsts = sliced.layers.runs[sliced.layers.run_of(k)].first == k
        alone = overhangs.islands(shapes[k], shapes[k - 1]) if firsts else []
        assert len(alone) == islands(theirs[k], theirs[k - 1])
    assert low.sum() * (1 - SHARE) - 0.05 <= found.sum() <= high.sum() * (1 + SHARE) + 0.05

    advice = advise(ours, printer)
    assert not said(advice, "not-checked")
    assert not said(advice, "not-watertight")
    assert advice.layers == count


@pytest.mark.slow
@pytest.mark.parametrize("foreign", WHOLE, ids=str)
def test_a_whole_mesh_is_measured_as_another_library_does(foreign: Foreign) -> None:
    compare(foreign, 100)


@pytest.mark.slow
@pytest.mark.parametrize("foreign", LARGE, ids=str)
def test_a_large_mesh_is_measured_as_another_library_does(foreign: Foreign) -> None:
    compare(foreign, 40)


def open_edges(read: trimesh.Trimesh) -> np.ndarray:
    """(k, 2): edges of one face."""
    edges, counts = np.unique(read.edges_sorted, axis=0, return_counts=True)
    return edges[counts == 1]


@pytest.mark.parametrize("foreign", OPEN, ids=str)
def test_an_open_mesh_is_told_what_can_be_told_and_what_is_left_out(foreign: Foreign) -> None:
    ours, read = both(foreign)
    printer = printer_for(read.bounds[1][2], 100)
    advice = advise(ours, printer)

    low, high = mesh.bounds(ours)
    assert np.allclose([low, high], read.bounds, rtol=1e-6, atol=1e-4)
    edges = open_edges(read)
    holes = networkx.Graph(edges.tolist())
    around = rims(ours)
    assert mesh.edge_count(ours).open == len(edges)
    assert len(around.length) == networkx.number_connected_components(holes)
    ends = read.vertices[edges]
    length = float(np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum())
    assert float(around.length.sum()) == pytest.approx(length, rel=SHARE)
    torn = one(advice, "not-watertight")
    assert torn.severity == "stop"
    assert f"{len(edges)} open edges" in torn.message

    steep = steep_area(read, 45.0)
    assert overhangs.overhang_faces(ours, 45.0).area == pytest.approx(steep, rel=SHARE, abs=1e-3)
    assert bool(said(advice, "steep-faces")) == (steep > 0)
    left_out = one(advice, "not-checked").message
    assert all(check.__name__.replace("_", "-") in left_out for check in NEED_LAYERS)
    assert (advice.layers, advice.mass_g, advice.time_s) == (0, None, None)


@pytest.mark.slow
def test_the_meshes_are_as_many_and_as_various_as_wanted() -> None:
    assert len({(one.package, one.path) for one in (*WHOLE, *OPEN)}) >= 20
    parted = sum(
        1
        for foreign in WHOLE
        if sum(1 for body in both(foreign)[1].split(only_watertight=False) if body.volume > 0) > 1
    )
    assert parted >= 3
    assert sum(1 for foreign in OPEN if len(open_edges(both(foreign)[1]))) >= 5
    assert all(len(both(foreign)[0].faces) > 100_000 for foreign in LARGE)
    assert len(LARGE) >= 3


@pytest.mark.parametrize("foreign", OPEN, ids=str)
def test_an_open_mesh_is_mended_or_told_what_is_left(foreign: Foreign) -> None:
    done = repair(both(foreign)[0])
    mended = trimesh.Trimesh(done.mesh.vertices, done.mesh.faces, process=False)
    assert mended.is_watertight == (done.open == done.crowded == 0)
    assert told(done)[-1].startswith("Repaired: " if mended.is_watertight else "Left as it was: ")
    assert mended.is_watertight == (foreign.path not in FAR_FROM_CLOSED)
    if mended.is_watertight:
        assert mended.is_winding_consistent
        assert mended.volume > 0
        stands = on_bed(done.mesh)
        assert advise(stands, printer_for(mesh.bounds(stands)[1][2], 50)).mass_g
