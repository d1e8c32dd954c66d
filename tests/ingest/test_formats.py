"""Files of other programs read to the volume they should have.

The writers are trimesh, lib3mf and, for what they do not write, the formats' own rules spelled out
in making.py.
"""

from __future__ import annotations

import json
import struct

import lib3mf
import numpy as np
import pytest
import trimesh

from fixtures import ingest
from fixtures.mesh import bounds, is_closed, volume
from tests.export.shapes import PLATE, PLATE_VOLUME
from tests.ingest import making
from tests.ingest.making import FACES, FILES, POINTS, VOLUME

NO_UNIT = {
    "STL": "STL stores no unit: its numbers are taken as millimetres.",
    "OBJ": "OBJ stores no unit: its numbers are taken as millimetres.",
    "PLY": "PLY stores no unit: its numbers are taken as millimetres.",
}
GLB_NOTE = (
    "GLB is in metres with Y up by its specification: sizes were multiplied by 1000 and the part"
    " was turned so that Z is up."
)


def sized(loaded: ingest.Loaded) -> float:
    assert is_closed(loaded.mesh)
    return volume(loaded.mesh)


@pytest.mark.parametrize("name", FILES)
def test_the_same_part_reads_the_same_from_every_format(name: str) -> None:
    loaded = ingest.read(FILES[name], name)
    assert sized(loaded) == pytest.approx(VOLUME)
    assert bounds(loaded.mesh) == ((0, 0, 0), (30, 30, 30))
    assert len(loaded.mesh.vertices) == 4  # welded
    assert loaded.items == 1


@pytest.mark.parametrize("name", FILES)
def test_content_decides_where_the_name_says_nothing(name: str) -> None:
    known, unknown = ingest.read(FILES[name], name), ingest.read(FILES[name], "download")
    assert unknown.format == known.format
    assert unknown.mesh.vertices.tobytes() == known.mesh.vertices.tobytes()


@pytest.mark.parametrize(
    ("kind", "options", "format_"),
    [
        ("stl", {}, "binary STL"),
        ("stl_ascii", {}, "ASCII STL"),
        ("obj", {}, "OBJ"),
        ("ply", {}, "PLY"),
        ("ply", {"encoding": "ascii"}, "PLY"),
        ("3mf", {}, "3MF"),
    ],
)
def test_files_of_trimesh_have_their_volume(
    kind: str, options: dict[str, str], format_: str
) -> None:
    part = trimesh.Trimesh(PLATE.vertices, PLATE.faces, process=False)
    data = part.export(file_type=kind, **options)
    loaded = ingest.read(data if isinstance(data, bytes) else data.encode(), "part")
    assert loaded.format == format_
    assert sized(loaded) == pytest.approx(PLATE_VOLUME, rel=1e-6)
    if format_ != "3MF":
        assert loaded.unit == "none"
        assert loaded.notes == (NO_UNIT[format_[-3:]],)


def test_glb_of_trimesh_becomes_millimetres_with_z_up() -> None:
    # 40 × 30 × 8 mm, turned to Y up by hand and in metres
    x, y, z = (PLATE.vertices / 1000).T
    part = trimesh.Trimesh(np.stack((x, z, -y), axis=1), PLATE.faces, process=False)
    loaded = ingest.read(part.export(file_type="glb"), "part.glb")
    assert (loaded.format, loaded.unit, loaded.notes) == ("GLB", "m", (GLB_NOTE,))
    assert sized(loaded) == pytest.approx(PLATE_VOLUME, rel=1e-5)
    assert np.array(bounds(loaded.mesh)) == pytest.approx(np.array([[0, 0, 0], [40, 30, 8]]))


def test_glb_of_a_trimesh_scene_has_every_placed_copy() -> None:
    scene = trimesh.Scene()
    part = trimesh.Trimesh(POINTS / 1000, FACES, process=False)
    scene.add_geometry(part, node_name="a")
    moved = trimesh.transformations.rotation_matrix(1.0, (1, 2, 3))
    moved[:3, 3] = (0.2, 0, 0)
    scene.add_geometry(part, node_name="b", transform=moved)
    loaded = ingest.read(scene.export(file_type="glb"), "two.glb")
    assert loaded.items == 2
    assert sized(loaded) == pytest.approx(2 * VOLUME, rel=1e-5)


def test_3mf_of_lib3mf_has_every_item_and_component() -> None:
    model = lib3mf.get_wrapper().CreateModel()
    each = model.AddMeshObject()
    points = [lib3mf.Position((*map(float, p),)) for p in POINTS]
    each.SetGeometry(points, [lib3mf.Triangle((*map(int, f),)) for f in FACES])
    wrapper = lib3mf.get_wrapper()
    pair = model.AddComponentsObject()
    pair.AddComponent(each, wrapper.GetIdentityTransform())
    pair.AddComponent(each, wrapper.GetTranslationTransform(50.0, 0.0, 0.0))
    model.AddBuildItem(pair, wrapper.GetTranslationTransform(0.0, 40.0, 0.0))
    model.AddBuildItem(each, wrapper.GetTranslationTransform(0.0, 0.0, 60.0))
    data = bytes(model.QueryWriter("3mf").WriteToBuffer())
    loaded = ingest.read(data, "kit.3mf")
    assert loaded.items == 2
    assert sized(loaded) == pytest.approx(3 * VOLUME)
    assert bounds(loaded.mesh) == ((0, 0, 0), (80, 70, 90))


# STL


def test_a_binary_stl_may_begin_with_solid() -> None:
    loaded = ingest.read(making.stl(header=b"solid made by a program"), "part.stl")
    assert loaded.format == "binary STL"
    assert sized(loaded) == pytest.approx(VOLUME)


def test_solids_of_an_ascii_stl_are_counted() -> None:
    data = making.ascii_stl() + making.ascii_stl(POINTS + 100, name="two words facet")
    loaded = ingest.read(data, "two.stl")
    assert loaded.items == 2
    assert sized(loaded) == pytest.approx(2 * VOLUME)


def test_ascii_stl_may_be_in_capitals_and_have_windows_line_ends() -> None:
    data = b"\xef\xbb\xbf" + making.ascii_stl().upper().replace(b"\n", b"\r\n\t")
    assert sized(ingest.read(data, "part.stl")) == pytest.approx(VOLUME)


def test_a_few_bytes_after_the_last_triangle_are_noted() -> None:
    loaded = ingest.read(making.stl() + b"\n\0", "part.stl")
    assert loaded.notes[1:] == ("Bytes after the last triangle, ignored: 2.",)


def test_triangles_without_three_corners_are_noted() -> None:
    data = making.stl(faces=np.vstack((FACES, [[0, 1, 1]])))
    loaded = ingest.read(data, "part.stl")
    assert loaded.notes[1:] == (
        "1 of 5 triangles had two corners in one place or lay on the back of another: left out.",
    )
    assert sized(loaded) == pytest.approx(VOLUME)


def test_a_name_that_lies_is_noted() -> None:
    loaded = ingest.read(FILES["part.obj"], "part.stl")
    assert loaded.notes[1:] == ("The name ends in .stl, but the content is OBJ.",)


# OBJ


def test_obj_indices_may_count_back_from_the_latest_point() -> None:
    first = making.obj().split(b"f ")[0]
    back = b"f -4 -2 -3\nf -4 -3 -1\nf -4 -1 -2\nf -3 -2 -1\n"
    second = first.replace(b"0 0 30", b"0 0 60")
    loaded = ingest.read(b"o one\n" + first + back + b"o two\n" + second + back, "two.obj")
    assert loaded.items == 2
    assert volume(loaded.mesh) == pytest.approx(3 * VOLUME)  # one of 30 high, one of 60


def test_obj_with_normals_colours_materials_and_continued_lines() -> None:
    data = (
        b"# made\nmtllib /etc/passwd\nusemtl oak\nv 0 0 0 1 0 0\nv 30 0 0 1 0 0\nv 0 30 0 0 0 0\n"
        b"v 0 0 30 1.0\nvn 0 0 1\nvt 0 0\ng a\nf 1/1/1 3/1/1 2/1/1\nf 1//1 2//1 4//1\n"
        b"f 1/1 4/1 \\\n 3/1\nf 2 3 4\nl 1 2\n"
    )
    assert sized(ingest.read(data, "part.obj")) == pytest.approx(VOLUME)


@pytest.mark.parametrize("turn", range(6))
def test_an_l_shaped_face_is_cut_without_overlap(turn: int) -> None:
    # an L of 20 × 20 with a notch of 10 × 10, as one face of six corners: area 300
    corners = [(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]
    corners = corners[turn:] + corners[:turn]
    text = "\n".join(f"v {x} {y} 0" for x, y in corners) + "\nf 1 2 3 4 5 6\n"
    loaded = ingest.read(text.encode(), "l.obj")
    a, b, c = loaded.mesh.triangles.transpose(1, 0, 2)
    areas = np.cross(b - a, c - a)[:, 2] / 2
    assert (areas > 0).all()
    assert areas.sum() == pytest.approx(300)
    assert len(loaded.notes) == 1


def test_a_face_that_cannot_be_cut_cleanly_is_noted_and_keeps_its_area() -> None:
    # a U of 30 × 30 with a notch of 10 × 20: neither inner corner sees both arms, area 700
    across = (0, 30, 30, 20, 20, 10, 10, 0)
    along = (0, 0, 30, 30, 10, 10, 30, 30)
    text = "\n".join(f"v {x} {y} 0" for x, y in zip(across, along, strict=True))
    text += "\nf " + " ".join(map(str, range(1, 9)))
    loaded = ingest.read(text.encode(), "u.obj")
    a, b, c = loaded.mesh.triangles.transpose(1, 0, 2)
    assert (np.cross(b - a, c - a)[:, 2] / 2).sum() == pytest.approx(700)
    assert loaded.notes[1:] == ("Faces that could only be cut into triangles that overlap: 1.",)


# PLY


@pytest.mark.parametrize("kind", ["ascii", "binary_little_endian", "binary_big_endian"])
@pytest.mark.parametrize("extra", [False, True])
def test_ply_of_every_order_with_more_properties(kind: str, extra: bool) -> None:
    loaded = ingest.read(making.ply(kind=kind, extra=extra), "part.ply")
    assert sized(loaded) == pytest.approx(VOLUME)


@pytest.mark.parametrize("kind", ["ascii", "binary_little_endian"])
def test_ply_may_mix_faces_of_three_and_four_corners(kind: str) -> None:
    # a wedge 10 × 20 × 30: two triangles and three rectangles, volume 3000
    points = np.array([(x, y, z) for x in (0, 10) for y, z in ((0, 0), (20, 0), (0, 30))], float)
    faces = [[0, 2, 1], [3, 4, 5], [0, 1, 4, 3], [0, 3, 5, 2], [1, 2, 5, 4]]
    loaded = ingest.read(making.ply(faces, points, kind), "wedge.ply")
    assert len(loaded.mesh.faces) == 8
    assert sized(loaded) == pytest.approx(3000)


@pytest.mark.parametrize("order", ["", "<"])
def test_ply_faces_may_have_another_list_before_their_corners(order: str) -> None:
    data = making.ply(kind="binary_little_endian" if order else "ascii", extra=True)
    head, rows = data.split(b"end_header\n", 1)
    corners, other = (
        b"property list uchar int vertex_indices\n",
        b"property list uchar float texcoord\n",
    )
    head = head.replace(corners + other, other + corners)
    if order:
        faces = b"".join(
            b"\1" + struct.pack("<B2fB3i", 2, 0.5, 0.5, 3, *face) for face in FACES.tolist()
        )
        rows = rows[: 4 * 13] + faces  # four points of three floats and a byte
    else:
        lines = rows.split(b"\n")[:4]
        lines += [b"1 2 0.5 0.5 3 %d %d %d" % tuple(face) for face in FACES.tolist()]
        rows = b"\n".join(lines)
    assert sized(ingest.read(head + b"end_header\n" + rows, "part.ply")) == pytest.approx(VOLUME)


# GLB


def test_glb_nodes_move_turn_scale_and_nest() -> None:
    half = 0.5**0.5
    nodes = [
        {"children": [1], "translation": [1, 0, 0], "scale": [2, 2, 2]},
        {"mesh": 0, "rotation": [0, half, 0, half]},  # a quarter turn about Y: Z goes to X
    ]
    loaded = ingest.read(making.glb(making.gltf(nodes=nodes)), "part.glb")
    assert sized(loaded) == pytest.approx(8 * VOLUME, rel=1e-5)
    # in file axes (x, z, -y): x spans 0 to 30, y 0 to 30, z -30 to 0. Turned: x is the old z,
    # z the old -x. Doubled and moved 1 m along x; read back z up: y is -z, z is y
    assert np.array(bounds(loaded.mesh)) == pytest.approx(
        np.array([[940, 0, 0], [1000, 60, 60]]), abs=1e-3
    )


def test_a_mirrored_glb_node_keeps_its_outside_outside() -> None:
    nodes = [{"mesh": 0, "matrix": [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0.5, 0, 0, 1]}]
    loaded = ingest.read(making.glb(making.gltf(nodes=nodes)), "part.glb")
    assert sized(loaded) == pytest.approx(VOLUME, rel=1e-5)
    assert bounds(loaded.mesh)[0][0] == pytest.approx(470)


def test_glb_strips_fans_and_plain_corners() -> None:
    points = np.frombuffer(making.glb_binary()[:48], "<f4").reshape(-1, 3)
    strip = points[[0, 2, 1, 3, 0, 2]]  # each of its four faces once, outside out
    points = points + np.float32(0.1)  # the other one stands apart
    fan = points[[0, 2, 1, 3, 2]]  # the three faces around the first corner
    plain = points[[1, 2, 3]]
    binary = strip.tobytes() + fan.tobytes() + plain.tobytes()
    sizes = (6, 5, 3)
    tree = making.gltf(
        meshes=[
            {
                "primitives": [
                    {"attributes": {"POSITION": i}, "mode": mode}
                    for i, mode in enumerate((5, 6, 4))
                ]
            }
        ],
        accessors=[
            {"bufferView": i, "componentType": 5126, "count": n, "type": "VEC3"}
            for i, n in enumerate(sizes)
        ],
        bufferViews=[
            {"buffer": 0, "byteOffset": 12 * sum(sizes[:i]), "byteLength": 12 * n}
            for i, n in enumerate(sizes)
        ],
    )
    loaded = ingest.read(making.glb(tree, binary), "part.glb")
    assert len(loaded.mesh.faces) == 8
    assert volume(loaded.mesh) == pytest.approx(2 * VOLUME, rel=1e-5)


def test_glb_lines_are_left_out_and_said_so() -> None:
    tree = making.gltf()
    tree["meshes"][0]["primitives"].append({"attributes": {"POSITION": 0}, "mode": 1})
    loaded = ingest.read(making.glb(tree), "part.glb")
    assert loaded.notes == (GLB_NOTE, "Sets of lines or points left out: 1.")


def test_glb_pictures_and_names_are_never_looked_at() -> None:
    tree = making.gltf(
        images=[{"uri": "file:///etc/passwd"}, {"uri": "http://localhost:1/x.png"}],
        textures=[{"source": 0}],
        extensionsRequired=["KHR_materials_unlit"],
    )
    assert sized(ingest.read(making.glb(tree), "part.glb")) == pytest.approx(VOLUME)


# 3MF


@pytest.mark.parametrize(
    ("unit", "scale"),  # 3MF core specification, units
    [("micron", 0.001), ("centimeter", 10), ("inch", 25.4), ("foot", 304.8), ("meter", 1000)],
)
def test_3mf_units_become_millimetres(unit: str, scale: float) -> None:
    loaded = ingest.read(making.threemf(attributes=f'unit="{unit}"'), "part.3mf")
    assert loaded.unit == unit
    assert loaded.notes == (
        f"The file is in {unit}: sizes were multiplied by {scale:g} to get mm.",
    )
    assert volume(loaded.mesh) == pytest.approx(VOLUME * scale**3)


def test_3mf_without_a_unit_is_in_millimetres() -> None:
    loaded = ingest.read(making.threemf(), "part.3mf")
    assert (loaded.unit, loaded.notes) == ("millimeter", ())


def test_3mf_transforms_of_components_and_items_follow_each_other() -> None:
    objects = (
        f'<object id="1">{making.mesh_xml()}</object><object id="2"><components>'
        '<component objectid="1" transform="2 0 0 0 2 0 0 0 2 10 0 0"/></components></object>'
    )
    # then a quarter turn about z (x to y, y to -x) and 100 up
    build = '<item objectid="2" transform="0 1 0 -1 0 0 0 0 1 0 0 100"/>'
    loaded = ingest.read(making.threemf(objects=objects, build=build), "part.3mf")
    assert bounds(loaded.mesh) == ((-60, 10, 100), (0, 70, 160))
    assert sized(loaded) == pytest.approx(8 * VOLUME)


def test_a_mirrored_3mf_item_keeps_its_outside_outside() -> None:
    build = '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 100 0 0"/>'
    assert sized(ingest.read(making.threemf(build=build), "part.3mf")) == pytest.approx(VOLUME)


def test_3mf_objects_may_lie_in_other_parts_of_the_package() -> None:
    production = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
    root = making.model_xml(
        objects='<object id="7"><components><component objectid="1" p:path="/3D/Objects/A.model"/>'
        "</components></object>",
        build='<item objectid="7"/>',
        attributes=f'xmlns:p="{production}" requiredextensions="p"',
    )
    part = making.model_xml(build="")
    data = making.package(root, {"3D/Objects/a.model": part.encode()})
    assert sized(ingest.read(data, "part.3mf")) == pytest.approx(VOLUME)


def test_3mf_supports_are_left_out_and_said_so() -> None:
    mesh = making.mesh_xml()
    objects = f'<object id="1">{mesh}</object><object id="2" type="support">{mesh}</object>'
    build = '<item objectid="1"/><item objectid="2" transform="1 0 0 0 1 0 0 0 1 50 0 0"/>'
    loaded = ingest.read(making.threemf(objects=objects, build=build), "part.3mf")
    assert loaded.items == 1
    assert loaded.notes == ("Build items of type support left out: 1.",)
    assert sized(loaded) == pytest.approx(VOLUME)


def test_a_mesh_read_is_the_same_whatever_the_order_of_its_triangles() -> None:
    turned = np.roll(FACES, 1, axis=1)[::-1]
    first = ingest.read(making.stl(), "a.stl").mesh
    second = ingest.read(making.stl(faces=turned), "b.stl").mesh
    assert first.vertices.tobytes() == second.vertices.tobytes()
    assert first.faces.tobytes() == second.faces.tobytes()


def test_the_header_of_a_glb_is_as_the_specification_has_it() -> None:
    data = making.glb()
    assert struct.unpack_from("<4sII", data) == (b"glTF", 2, len(data))
    size = int.from_bytes(data[12:16], "little")
    assert json.loads(data[20 : 20 + size])["asset"] == {"version": "2.0"}
