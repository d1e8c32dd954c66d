"""Every file that is refused, with the whole sentence; and that refusing costs next to nothing."""

from __future__ import annotations

import io
import json
import re
import struct
import time
import tracemalloc
import zipfile
from collections.abc import Callable

import numpy as np
import pytest

from fixtures import ingest
from fixtures.errors import FileRefused, InputError
from fixtures.ingest import package as packages
from fixtures.ingest import raw
from tests.ingest import making
from tests.ingest.making import CORE, FACES, FILES, POINTS, RELS

AGAIN = "Export it again from the program it came from."
OTHER = "Export it as binary STL or as 3MF."
HARM = "It was not made by a program that writes 3MF; do not open it."
REDUCE = "Reduce it in the program it came from."
CAN = "STL, 3MF, OBJ, PLY and GLB can be read."


def moved(value: float, where: int = 3) -> np.ndarray:
    points = POINTS.copy()
    points[where, 2] = value
    return points


def patched(data: bytes, at: int, new: bytes) -> bytes:
    return data[:at] + new + data[at + len(new) :]


def ply_with(old: bytes, new: bytes, kind: str = "ascii") -> bytes:
    data = making.ply(kind=kind)
    assert data.count(old) == 1
    return data.replace(old, new)


def glb_with(**changes: object) -> bytes:
    return making.glb(making.gltf(**changes))


def accessor(**changes: object) -> bytes:
    tree = making.gltf()
    tree["accessors"][1] |= changes
    return making.glb(tree)


def named(*names: str) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name in names:
            archive.writestr(zipfile.ZipInfo(name), b"<x/>")
    return made.getvalue()


def doctype(entities: str, use: str = "") -> bytes:
    model = making.model_xml().replace("<model", f"<!DOCTYPE model [{entities}]>\n<model", 1)
    return making.package(model.replace("<resources>", f"<resources>{use}", 1))


LAUGHS = '<!ENTITY a "ha">' + "".join(
    f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)

STL_REFUSALS = [
    ("a.stl", b"", f"a.stl is empty. {AGAIN}"),
    (
        "a.stl",
        making.stl()[:200],
        f"a.stl is cut short or not an STL: 4 triangles take 284 bytes, and it has 200. {AGAIN}",
    ),
    (
        "a.stl",
        making.stl(header=b"solid oak")[:283],
        f"a.stl is cut short or not an STL: 4 triangles take 284 bytes, and it has 283. {AGAIN}",
    ),
    (
        "a.stl",
        b"\0" * 50,
        f"a.stl is cut short: it has 50 bytes, and a binary STL at least 84. {AGAIN}",
    ),
    (
        "a.stl",
        making.stl() + b"\0" * 50,
        f"a.stl has 50 bytes after its 4 triangles: its count or its size is wrong. {AGAIN}",
    ),
    ("a.stl", making.stl(faces=FACES[:0]), f"a.stl has no triangles. {AGAIN}"),
    (
        "a.stl",
        making.stl(faces=np.array([[0, 1, 1], [2, 2, 2]])),
        "a.stl encloses nothing: each of its 2 triangles has two corners in one place or lies on"
        f" the back of another. {AGAIN}",
    ),
    (
        "a.stl",
        making.stl(faces=np.array([[0, 1, 2], [2, 1, 0]])),
        "a.stl encloses nothing: each of its 2 triangles has two corners in one place or lies on"
        f" the back of another. {AGAIN}",
    ),
    (
        "a.stl",
        making.stl(moved(float("nan"))),
        f"a.stl has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
    (
        "a.stl",
        making.stl(moved(float("-inf"))),
        f"a.stl has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
    (
        "a.stl",
        making.stl(moved(2e6)),
        "a.stl reaches 2e+06 mm from the origin; the limit is 1e+06 mm. Check the unit it was"
        " exported in, and move it near the origin.",
    ),
    (
        "a.stl",
        making.ascii_stl()[:-20],
        f"a.stl is cut short: a whole facet or 'endsolid' should follow at line 23. {AGAIN}",
    ),
    (
        "a.stl",
        making.ascii_stl()[:100],
        f"a.stl is cut short: a whole facet or 'endsolid' should follow at line 9. {AGAIN}",
    ),
    (
        "a.stl",
        making.ascii_stl().replace(b"vertex 0 0 30", b"vertex 0 0", 1),
        "a.stl is not a proper ASCII STL: a whole facet or 'endsolid' should stand at line 9."
        f" {AGAIN}",
    ),
    (
        "a.stl",
        making.ascii_stl().replace(b"vertex 0 0 30", b"vertex 0 0 3O", 1),
        f"a.stl is not a proper ASCII STL: a facet with numbers should stand at line 9. {AGAIN}",
    ),
    (
        "a.stl",
        making.ascii_stl().replace(b"vertex 0 0 30", b"vertex 0 0 nan", 1),
        f"a.stl has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
    ("a.stl", b"solid nothing\nendsolid\n", f"a.stl has no triangles. {AGAIN}"),
]

OBJ_REFUSALS = [
    ("a.obj", b"v 0 0 0\nv 1 0 0\n", f"a.obj has no triangles. {AGAIN}"),
    (
        "a.obj",
        making.obj() + b"\nf 1 2 5\n",
        f"a.obj has a triangle with corner 4, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf 1 2 -5\n",
        f"a.obj names corner -5 at line 9, and there are 4 before it. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf 0 1 2\n",
        f"a.obj names corner 0 at line 9, and there are 4 before it. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf 1 2\n",
        f"a.obj has a face with 2 corners; a face needs 3. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf" + b" 1" * 65_537,
        f"a.obj has 65,537 corners on one face, more than the limit of 65,536. {REDUCE}",
    ),
    (
        "a.obj",
        making.obj() + b"\nv 1 2\n",
        f"a.obj is not a proper OBJ: line 9 does not hold the numbers it should. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf a b c\n",
        f"a.obj is not a proper OBJ: line 9 does not hold the numbers it should. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj() + b"\nf 1 2 9" + b"9" * 30,
        f"a.obj is not a proper OBJ: line 9 does not hold the numbers it should. {AGAIN}",
    ),
    (
        "a.obj",
        making.obj(moved(float("inf"))),
        f"a.obj has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
]

PLY_REFUSALS = [
    (
        "a.ply",
        making.ply()[:-5],
        f"a.ply is cut short, or its rows of 'face' are not as its header says. {AGAIN}",
    ),
    ("a.ply", making.ply()[:60], f"a.ply is cut short: its header has no end. {AGAIN}"),
    (
        "a.ply",
        ply_with(b"element vertex 4", b"element vertex 99999999999"),
        "a.ply is cut short: its header promises 99,999,999,999 rows of 'vertex', and 58 bytes"
        f" follow. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"element face 4", b"element face 4000000000", "binary_little_endian"),
        "a.ply is cut short: its header promises 4,000,000,000 rows of 'face', and 52 bytes"
        f" follow. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"3 0 1 3", b"3 0 1 4"),
        f"a.ply has a triangle with corner 4, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"3 0 1 3", b"3 0 1 -1"),
        f"a.ply has a triangle with corner -1, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"3 0 1 3", b"9 0 1 3"),
        f"a.ply is cut short, or its rows of 'face' are not as its header says. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"element face", b"element edge"),
        f"a.ply has no faces: it is a point cloud, or made of strips. {OTHER}",
    ),
    (
        "a.ply",
        ply_with(b"property float z", b"property float w"),
        f"a.ply has points without plain x, y and z. {OTHER}",
    ),
    (
        "a.ply",
        ply_with(b"vertex_indices", b"something"),
        f"a.ply has faces without a list of whole numbers for corners. {OTHER}",
    ),
    (
        "a.ply",
        ply_with(b"property float z", b"property quad z"),
        f"a.ply has a header line that is not PLY: 'property quad z'. {AGAIN}",
    ),
    (
        "a.ply",
        ply_with(b"format ascii 1.0", b"format runes 1.0"),
        f"a.ply does not say in its header whether it is text or binary. {AGAIN}",
    ),
    ("a.ply", making.ply(faces=[]), f"a.ply has no triangles. {AGAIN}"),
    (
        "a.ply",
        making.ply(points=moved(float("nan")), kind="ascii"),
        f"a.ply has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
]

GLB_REFUSALS = [
    (
        "a.glb",
        making.glb()[:-8],
        f"a.glb is cut short: it should have {len(making.glb())} bytes, and has"
        f" {len(making.glb()) - 8}. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb()[:10],
        f"a.glb is cut short: it has 10 bytes, and a GLB at least 20. {AGAIN}",
    ),
    (
        "a.glb",
        patched(making.glb(), 4, b"\1\0\0\0"),
        f"a.glb is glTF version 1; only version 2 can be read. {OTHER}",
    ),
    (
        "a.glb",
        patched(making.glb(), 16, b"BIN\0"),
        f"a.glb is not a proper GLB: it does not begin with its scene. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb(b"{,}"),
        f"a.glb is not a proper GLB: its scene is not valid JSON. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb(b"[" * 200_000),
        f"a.glb is not a proper GLB: its scene is not valid JSON. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb(b"[]"),
        f"a.glb is not a proper GLB: its scene is not a JSON object. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb(b" " * (8 * 2**20 + 4)),
        f"a.glb has a scene of 8,388,612 bytes, more than the limit of 8,388,608. {OTHER}",
    ),
    (
        "a.glb",
        glb_with(scenes=[{"nodes": []}]),
        f"a.glb places no mesh in its scene. {AGAIN}",
    ),
    (
        "a.glb",
        glb_with(buffers=[{"byteLength": 72, "uri": "part.bin"}]),
        "a.glb keeps its geometry outside itself, and no other file is opened. Export it as one"
        " .glb file.",
    ),
    (
        "a.glb",
        glb_with(extensionsRequired=["KHR_draco_mesh_compression"]),
        "a.glb needs the extension KHR_draco_mesh_compression, which cannot be read. Export it"
        " without compression or extensions, or as binary STL.",
    ),
    (
        "a.glb",
        glb_with(nodes=[{"mesh": 0, "children": [0]}]),
        "a.glb is not a proper GLB: its scene does not fit together (ValueError: node 0 has two"
        f" parents). {AGAIN}",
    ),
    (
        "a.glb",
        accessor(count=2**40),
        f"a.glb has 366,503,875,925 triangles, more than the limit of 20,000,000. {REDUCE}",
    ),
    (
        "a.glb",
        accessor(count=-3),
        "a.glb is not a proper GLB: its scene does not fit together (ValueError: -3 is not a whole"
        f" number from 0). {AGAIN}",
    ),
    (
        "a.glb",
        accessor(count=15),
        "a.glb is not a proper GLB: its scene does not fit together (ValueError: an accessor"
        f" reaches beyond its view). {AGAIN}",
    ),
    (
        "a.glb",
        accessor(sparse={}),
        f"a.glb keeps geometry in sparse accessors, which cannot be read. {OTHER}",
    ),
    (
        "a.glb",
        making.glb(binary=making.glb_binary()[:-4]),
        f"a.glb is cut short: 72 bytes of geometry are named, 68 are there. {AGAIN}",
    ),
    (
        "a.glb",
        making.glb(binary=making.glb_binary()[:48] + (FACES + 7).astype("<u2").tobytes()),
        f"a.glb has a triangle with corner 10, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.glb",
        glb_with(nodes=[{"mesh": 0, "scale": [1, 1, 1e300]}]),
        "a.glb reaches 3e+301 mm from the origin; the limit is 1e+06 mm. Check the unit it was"
        " exported in, and move it near the origin.",
    ),
    (
        "a.glb",
        glb_with(nodes=[{"mesh": 0, "scale": [1, 1, float("nan")]}]),
        f"a.glb has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
    (
        "a.glb",
        glb_with(nodes=[{"mesh": 0}] * 100_001, scenes=[{"nodes": list(range(100_001))}]),
        f"a.glb has 100,001 placed meshes, more than the limit of 100,000. {REDUCE}",
    ),
]

MESH = making.mesh_xml()
THREEMF_REFUSALS = [
    (
        "a.3mf",
        FILES["part.3mf"][:300],
        f"a.3mf is cut short or broken: its zip directory cannot be read. {AGAIN}",
    ),
    (
        "a.3mf",
        making.package(making.model_xml()[:-30]),
        f"a.3mf is cut short or broken: line 2 of its XML is not well formed. {AGAIN}",
    ),
    ("a.3mf", named("readme.txt"), f"a.3mf is a zip without a 3D model in it: not a 3MF. {OTHER}"),
    (
        "a.zip",
        named("inner.zip", "other/nested.zip"),
        f"a.zip is a zip without a 3D model in it: not a 3MF. {OTHER}",
    ),
    (
        "a.3mf",
        making.package(named("3D/3dmodel.model")),
        f"a.3mf is cut short or broken: line 1 of its XML is not well formed. {AGAIN}",
    ),
    (
        "a.3mf",
        making.package(making.model_xml().replace("UTF-8", "UTF-99")),
        f"a.3mf is not a proper 3MF: its XML is not in UTF-8. {AGAIN}",
    ),
    ("a.3mf", making.package("<html/>"), f"a.3mf has a 3D model that is not 3MF. {AGAIN}"),
    (
        "a.3mf",
        doctype("<!ENTITY x 'y'>"),
        f"a.3mf has a document type in its XML, which 3MF forbids. {AGAIN}",
    ),
    (
        "a.3mf",
        doctype(LAUGHS, "<metadata name='Title'>&i;</metadata>"),
        f"a.3mf has a document type in its XML, which 3MF forbids. {AGAIN}",
    ),
    (
        "a.3mf",
        doctype('<!ENTITY x SYSTEM "file:///etc/passwd">', "&x;"),
        f"a.3mf has a document type in its XML, which 3MF forbids. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(build=""),
        f"a.3mf has no build items: it says nothing of what to print. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(build='<item objectid="9"/>'),
        f"a.3mf builds object '9', which it does not have. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(build="<item/>"),
        f"a.3mf is not a proper 3MF: line 2 of its model lacks a number it should have. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(build='<item objectid="1" transform="1 0 0"/>'),
        f"a.3mf is not a proper 3MF: line 2 of its model lacks a number it should have. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(
            build='<item objectid="1" transform="1e300 0 0 0 1e300 0 0 0 1e300 0 0 0"/>'
        ),
        "a.3mf reaches 3e+301 mm from the origin; the limit is 1e+06 mm. Check the unit it was"
        " exported in, and move it near the origin.",
    ),
    (
        "a.3mf",
        making.threemf(attributes='unit="cubit"'),
        "a.3mf has the unit 'cubit'; 3MF knows micron, millimeter, centimeter, inch, foot, meter."
        f" {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(attributes='xmlns:q="urn:lattice" requiredextensions="q"'),
        f"a.3mf needs the 3MF extension 'urn:lattice', which cannot be read. {OTHER}",
    ),
    (
        "a.3mf",
        making.threemf(objects=f'<object id="1">{MESH}</object><object id="1">{MESH}</object>'),
        f"a.3mf defines object '1' twice. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(
            objects='<object id="1"><components><component objectid="1"/></components></object>'
        ),
        f"a.3mf names object '1' before it is defined. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(objects=f'<object id="1">{making.mesh_xml(faces=FACES + 1)}</object>'),
        f"a.3mf has a triangle with corner 4, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(objects=f'<object id="1">{making.mesh_xml(faces=FACES - 1)}</object>'),
        f"a.3mf has a triangle with corner -1, but its corners are 0 to 3. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(objects=f'<object id="1">{making.mesh_xml(faces=FACES[:0])}</object>'),
        f"a.3mf has no triangles. {AGAIN}",
    ),
    (
        "a.3mf",
        making.threemf(objects=f'<object id="1">{making.mesh_xml(moved(float("nan")))}</object>'),
        f"a.3mf has corners that are not finite numbers (nan or inf). {AGAIN}",
    ),
    (
        "a.3mf",
        making.package(f'<model xmlns="{CORE}">' + "<a>" * 100),
        f"a.3mf nests its XML more than 64 deep, the limit. {AGAIN}",
    ),
    (
        "a.3mf",
        named("../../etc/passwd", "3D/3dmodel.model"),
        f"a.3mf has an entry named '../../etc/passwd', which leads out of it. {HARM}",
    ),
    (
        "a.3mf",
        named("/3D/3dmodel.model"),
        f"a.3mf has an entry named '/3D/3dmodel.model', which leads out of it. {HARM}",
    ),
    (
        "a.3mf",
        named("3D\\..\\..\\x.model"),
        f"a.3mf has an entry named '3D\\\\..\\\\..\\\\x.model', which leads out of it. {HARM}",
    ),
    (
        "a.3mf",
        named("C:/x.model"),
        f"a.3mf has an entry named 'C:/x.model', which leads out of it. {HARM}",
    ),
    (
        "a.3mf",
        named("3D/3dmodel.model", "3d/3DMODEL.model"),
        f"a.3mf has two entries named '3d/3dmodel.model'. {HARM}",
    ),
    (
        "a.3mf",
        named(*(f"{i}.txt" for i in range(4097))),
        f"a.3mf lists 4,097 entries in its zip, more than the limit of 4,096. {HARM}",
    ),
]

OTHER_REFUSALS = [
    ("a.pdf", b"%PDF-1.7 \0\1\2", f"a.pdf is a PDF document. {CAN} {OTHER}"),
    ("a.stl", b"\x89PNG\r\n\x1a\n\0\0", f"a.stl is a PNG picture. {CAN} {OTHER}"),
    ("a.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF", f"a.jpg is a JPEG picture. {CAN} {OTHER}"),
    ("a.gz", b"\x1f\x8b\x08\0", f"a.gz is a gzip archive. {CAN} {OTHER}"),
    (
        "a.step",
        b"ISO-10303-21;\nHEADER;",
        f"a.step is a STEP file, which holds exact surfaces and not a mesh. {CAN} {OTHER}",
    ),
    (
        "a.gltf",
        json.dumps(making.gltf()).encode(),
        "a.gltf is a text file of the JSON kind; of glTF, only the binary form holds its own"
        f" geometry. {CAN} {OTHER}",
    ),
    ("a.html", b"<html></html>", f"a.html is a text file of the XML or HTML kind. {CAN} {OTHER}"),
    ("notes.txt", b"buy glue\n", f"notes.txt is not a mesh that can be read. {CAN} {OTHER}"),
    ("noise", bytes(range(256)), f"noise is not a mesh that can be read. {CAN} {OTHER}"),
    ("a.3mf", b"buy glue\n", f"a.3mf is not what its name says: its content is not 3MF. {AGAIN}"),
    ("a.stl", b"buy glue\n", f"a.stl is not what its name says: its content is not STL. {AGAIN}"),
    ("a.obj", b"buy glue\n", f"a.obj has no triangles. {AGAIN}"),
    ("a\x1b[31m.txt", b"x", f"a?[31m.txt is not a mesh that can be read. {CAN} {OTHER}"),
]

REFUSALS = (
    STL_REFUSALS + OBJ_REFUSALS + PLY_REFUSALS + GLB_REFUSALS + THREEMF_REFUSALS + OTHER_REFUSALS
)


@pytest.mark.parametrize(
    ("name", "data", "sentence"), REFUSALS, ids=[re.sub(r"\W+", " ", s)[:60] for *_, s in REFUSALS]
)
def test_it_is_refused_in_these_words(name: str, data: bytes, sentence: str) -> None:
    with pytest.raises(FileRefused) as refusal:
        ingest.read(data, name)
    assert str(refusal.value) == sentence
    (fault,) = refusal.value.faults
    assert fault.where == name
    assert fault.remedy
    assert refusal.value.__cause__ is not None
    assert isinstance(refusal.value, InputError)


def test_more_bytes_than_the_limit_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ingest, "MAX_BYTES", 283)
    with pytest.raises(FileRefused, match=r"a\.stl has 284 bytes, more than the limit of 283"):
        ingest.read(making.stl(), "a.stl")


@pytest.mark.parametrize("name", FILES)
def test_more_triangles_than_the_limit_are_refused(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(raw, "MAX_TRIANGLES", 3)
    with pytest.raises(FileRefused, match=rf"{name} has 4 triangles, more than the limit of 3"):
        ingest.read(FILES[name], name)


def zip_bomb(size: int) -> bytes:
    return making.package(b" " * size)


def lying_bomb(size: int) -> bytes:
    """A bomb whose directory and header understate what comes out: 1000 bytes."""
    data = zip_bomb(size)
    return data.replace(struct.pack("<I", size), struct.pack("<I", 1000))


def flattering_bomb(size: int) -> bytes:
    """A bomb whose directory overstates what is stored, so that the ratio looks harmless."""
    data = zip_bomb(size)
    entry = zipfile.ZipFile(io.BytesIO(data)).getinfo("3D/3dmodel.model")
    pair = struct.pack("<II", entry.compress_size, entry.file_size)
    return data.replace(pair, struct.pack("<II", entry.file_size // 10, entry.file_size))


def component_bomb(levels: int) -> bytes:
    """Each object made of ten of the one before: 10 to the power of the levels."""
    objects = f'<object id="0">{MESH}</object>'
    for level in range(levels):
        parts = f'<component objectid="{level}"/>' * 10
        objects += f'<object id="{level + 1}"><components>{parts}</components></object>'
    return making.threemf(objects=objects, build=f'<item objectid="{levels}"/>')


def crowded_directory(entries: int) -> bytes:
    """A zip directory of entries that are not there: zipfile would make an object of each."""
    name = b"x"
    record = (
        struct.pack("<4s6H3I5H2I", b"PK\1\2", *[0] * 6, 0, 0, 0, len(name), *[0] * 4, 0, 0) + name
    )
    directory = record * entries
    end = struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 0xFFFF, 0xFFFF, len(directory), 0, 0)
    return directory.replace(b"PK\1\2", b"PK\1\2") + end


def placed_bomb() -> bytes:
    """One mesh of many unused points, placed many times."""
    points = np.zeros((3000, 3))
    points[: len(POINTS)] = POINTS
    objects = f'<object id="1">{making.mesh_xml(points)}</object>'
    return making.threemf(objects=objects, build='<item objectid="1"/>' * 15_000)


BOMBS: dict[str, tuple[Callable[[], bytes], str]] = {  # how it is made, and its refusal
    "zip bomb": (
        lambda: zip_bomb(64 * 2**20),
        f"b.3mf inflates '3D/3dmodel.model' more than 100-fold, the limit. {HARM}",
    ),
    "larger than all that may be inflated": (
        lambda: zip_bomb(64 * 2**20),
        f"b.3mf inflates to more than 32 MiB, the limit. {HARM}",
    ),
    "zip bomb that understates its size": (
        lambda: lying_bomb(64 * 2**20),
        "b.3mf is cut short or broken: '3D/3dmodel.model' in its zip cannot be read. " + AGAIN,
    ),
    "zip bomb that overstates what is stored": (
        lambda: flattering_bomb(64 * 2**20),
        "b.3mf is cut short or broken: '3D/3dmodel.model' in its zip cannot be read. " + AGAIN,
    ),
    "components of components": (
        lambda: component_bomb(60),
        f"b.3mf has more triangles than the limit of 20,000,000. {REDUCE}",
    ),
    "many copies of many points": (
        placed_bomb,
        f"b.3mf has 45,000,000 corners, more than the limit of 40,000,000. {REDUCE}",
    ),
    "a directory of half a million entries": (
        lambda: crowded_directory(500_000),
        f"b.3mf lists more than 4,096 entries in its zip. {HARM}",
    ),
    "an endless namespace": (
        lambda: making.package(f'<model xmlns="{"x" * 2000}">' + "<a/>" * 1000),
        f"b.3mf has a namespace of 2,000 letters in its XML. {AGAIN}",
    ),
    "an endless text": (
        lambda: making.package(b"\n" * (8 * 2**20), stored=True),
        f"b.3mf has an endless text or tag in its XML. {AGAIN}",
    ),
    "an endless tag": (
        lambda: making.package(b"<model " + b"a" * (8 * 2**20), stored=True),
        f"b.3mf has an endless text or tag in its XML. {AGAIN}",
    ),
}


@pytest.mark.parametrize("kind", BOMBS)
def test_a_bomb_is_refused_in_little_memory_and_time(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    make, sentence = BOMBS[kind]
    if kind == "larger than all that may be inflated":
        monkeypatch.setattr(packages, "MAX_INFLATED", 32 * 2**20)
    data = make()
    tracemalloc.start()
    began = time.process_time()
    try:
        with pytest.raises(FileRefused) as refusal:
            ingest.read(data, "b.3mf")
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert str(refusal.value) == sentence
    assert peak < 2 * len(data) + 24 * 2**20  # the bombs would come to 64 MiB and far more
    assert time.process_time() - began < 5  # an order of magnitude, not a measurement


def test_a_package_may_pack_well_while_it_is_small() -> None:
    padded = making.model_xml().replace("<resources>", " " * 500_000 + "<resources>", 1)
    assert ingest.read(making.package(padded), "a.3mf").items == 1


def test_the_relationships_may_name_another_model() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("_rels/.rels", RELS.replace("/3D/3dmodel.model", "/other.model"))
        archive.writestr("other.model", making.model_xml())
    assert ingest.read(made.getvalue(), "a.3mf").items == 1
