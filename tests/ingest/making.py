"""Small files made by hand: a tetrahedron of known volume in every format, and packages."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

# a corner of a cube of 30: its volume is 30³ / 6
POINTS = np.array([[0, 0, 0], [30, 0, 0], [0, 30, 0], [0, 0, 30]], dtype=np.float64)
FACES = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
VOLUME = 4500.0

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MODEL_TYPE = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
RELS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Id="r" Target="/3D/3dmodel.model" Type="{MODEL_TYPE}"/></Relationships>'
)


def stl(points: np.ndarray = POINTS, faces: np.ndarray = FACES, header: bytes = b"made") -> bytes:
    rows = np.zeros(len(faces), [("n", "<f4", 3), ("c", "<f4", (3, 3)), ("a", "<u2")])
    rows["c"] = points[faces]
    return header.ljust(80) + struct.pack("<I", len(faces)) + rows.tobytes()


def ascii_stl(points: np.ndarray = POINTS, faces: np.ndarray = FACES, name: str = "part") -> bytes:
    lines = [f"solid {name}"]
    for corners in points[faces]:
        lines += ["facet normal 0 0 0", "outer loop"]
        lines += [f"vertex {x:g} {y:g} {z:g}" for x, y, z in corners]
        lines += ["endloop", "endfacet"]
    return "\n".join([*lines, f"endsolid {name}", ""]).encode()


def obj(points: np.ndarray = POINTS, faces: np.ndarray = FACES) -> bytes:
    lines = [f"v {x:g} {y:g} {z:g}" for x, y, z in points]
    lines += ["f " + " ".join(str(i + 1) for i in face) for face in faces]
    return "\n".join(lines).encode()


def ply(
    faces: Sequence[Sequence[int]] = FACES.tolist(),
    points: np.ndarray = POINTS,
    kind: str = "binary_little_endian",
    extra: bool = False,
) -> bytes:
    """extra: a colour with the points, and with each face a flag before and a list after."""
    header = ["ply", f"format {kind} 1.0", "comment made", f"element vertex {len(points)}"]
    header += [f"property float {axis}" for axis in "xyz"]
    header += ["property uchar red"] * extra
    header += [f"element face {len(faces)}"]
    header += ["property uchar flag"] * extra
    header += ["property list uchar int vertex_indices"]
    header += ["property list uchar float texcoord"] * extra
    head = "\n".join([*header, "end_header", ""]).encode()
    if kind == "ascii":
        rows = [" ".join(f"{v:g}" for v in p) + " 7" * extra for p in points]
        for face in faces:
            corners = f"{len(face)} " + " ".join(map(str, face))
            rows.append(f"1 {corners} 2 0.5 0.5" if extra else corners)
        return head + "\n".join(rows).encode()
    order = "<" if kind == "binary_little_endian" else ">"
    body = b""
    for point in points:
        body += struct.pack(order + "3f", *point) + b"\x07" * extra
    for face in faces:
        body += b"\x01" * extra + struct.pack(f"{order}B{len(face)}i", len(face), *face)
        body += struct.pack(order + "B2f", 2, 0.5, 0.5) if extra else b""
    return head + body


def glb(tree: Mapping[str, Any] | bytes | None = None, binary: bytes | None = None) -> bytes:
    scene = (
        json.dumps(gltf() if tree is None else tree).encode()
        if not isinstance(tree, bytes)
        else tree
    )
    scene = scene.ljust(-(-len(scene) // 4) * 4)
    chunk = glb_binary() if binary is None else binary
    chunks = struct.pack("<I4s", len(scene), b"JSON") + scene
    chunks += struct.pack("<I4s", len(chunk), b"BIN\0") + chunk
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def glb_binary() -> bytes:
    """The tetrahedron in metres with Y up: x, z, -y of what it is in mm with Z up."""
    x, y, z = (POINTS / 1000).T
    return np.stack((x, z, -y), axis=1).astype("<f4").tobytes() + FACES.astype("<u2").tobytes()


def gltf(**changes: Any) -> dict[str, Any]:
    tree: dict[str, Any] = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3"},
            {"bufferView": 1, "componentType": 5123, "count": 12, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": 48},
            {"buffer": 0, "byteOffset": 48, "byteLength": 24},
        ],
        "buffers": [{"byteLength": 72}],
    }
    return tree | changes


def package(
    model: str | bytes, more: Mapping[str, bytes] | None = None, stored: bool = False
) -> bytes:
    made = io.BytesIO()
    kind = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(made, "w", kind) as archive:
        archive.writestr("_rels/.rels", RELS)
        archive.writestr("3D/3dmodel.model", model)
        for name, data in (more or {}).items():
            archive.writestr(name, data)
    return made.getvalue()


def mesh_xml(points: np.ndarray = POINTS, faces: np.ndarray = FACES) -> str:
    vertices = "".join(f'<vertex x="{x:g}" y="{y:g}" z="{z:g}"/>' for x, y, z in points)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
    return f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>"


def model_xml(
    objects: str | None = None, build: str = '<item objectid="1"/>', attributes: str = ""
) -> str:
    inner = f'<object id="1">{mesh_xml()}</object>' if objects is None else objects
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model xmlns="{CORE}" {attributes}>'
        f"<resources>{inner}</resources><build>{build}</build></model>"
    )


def threemf(**changes: str) -> bytes:
    return package(model_xml(**changes))


FILES = {
    "part.stl": stl(),
    "text.stl": ascii_stl(),
    "part.obj": obj(),
    "part.ply": ply(),
    "text.ply": ply(kind="ascii"),
    "part.glb": glb(),
    "part.3mf": threemf(),
}
