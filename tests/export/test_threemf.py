"""3MF, judged by lib3mf in strict mode; the volume and the item count it does not judge, here.

Strict reading finds neither inside-out nor missing triangles nor a build without items, so those
are computed from what it read.
"""

from __future__ import annotations

import io
import zipfile
from typing import Any
from xml.etree import ElementTree

import lib3mf
import numpy as np
import pytest

from fixtures.export import picture, threemf
from fixtures.export.threemf import GAP, Item
from fixtures.mesh import Mesh, make
from fixtures.solid import Pose
from tests.export.shapes import BLOCK, BLOCK_VOLUME, BRACKET, PLATE, SHAPES, signed_volume

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def strictly_read(data: bytes) -> Any:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert [reader.GetWarning(i) for i in range(reader.GetWarningCount())] == []
    return model


def objects(model: Any) -> list[Any]:
    found, each = [], model.GetMeshObjects()
    while each.MoveNext():
        found.append(each.GetCurrentMeshObject())
    return found


def items(model: Any) -> list[Any]:
    found, each = [], model.GetBuildItems()
    while each.MoveNext():
        found.append(each.GetCurrent())
    return found


def arrays(each: Any) -> tuple[np.ndarray, np.ndarray]:
    points = np.array([tuple(v.Coordinates) for v in each.GetVertices()])
    return points, np.array([tuple(t.Indices) for t in each.GetTriangleIndices()])


def placed(item: Any, points: np.ndarray) -> np.ndarray:
    matrix = np.array([list(row) for row in item.GetObjectTransform().Fields])  # (4, 3)
    return points @ matrix[:3] + matrix[3]


@pytest.mark.parametrize(("mesh", "volume"), SHAPES.values(), ids=SHAPES)
def test_strict_reading_finds_a_sound_object(mesh: Mesh, volume: float) -> None:
    (each,) = objects(strictly_read(threemf.part(mesh, title="part", mark="AB12")))
    assert each.IsManifoldAndOriented()
    assert each.IsValid()
    assert signed_volume(*arrays(each)) == pytest.approx(volume, rel=1e-6)


@pytest.mark.parametrize("level", range(1, 7))
def test_every_deflate_level_is_read(level: int) -> None:
    data = threemf.encode([Item(BLOCK, "block")], title="block", level=level)
    assert len(objects(strictly_read(data))) == 1


def test_names_and_marks_are_there() -> None:
    model = strictly_read(
        threemf.encode([Item(BLOCK, 'left & "right" <x>', "AB12"), Item(PLATE, "Nuß")], title="t")
    )
    assert [o.GetName() for o in objects(model)] == ['left & "right" <x>', "Nuß"]
    assert [o.GetPartNumber() for o in objects(model)] == ["AB12", ""]
    assert [i.GetPartNumber() for i in items(model)] == ["AB12", ""]


def test_metadata_has_core_names_only() -> None:
    data = threemf.encode([Item(BLOCK, "b")], title="Kit & co", description="Clamp lightly.")
    model = strictly_read(data)  # kept: the group lives no longer than its model
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    assert {e.GetName(): e.GetValue() for e in entries} == {
        "Title": "Kit & co",
        "Application": "panelry",
        "Description": "Clamp lightly.",
    }


def test_the_unit_is_millimetres() -> None:
    model = strictly_read(threemf.part(BLOCK, title="b", mark=""))
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter


def test_vertices_come_back_as_the_same_float32() -> None:
    rng = np.random.default_rng(1)
    numbers = np.concatenate(
        (
            rng.normal(size=300) * 10.0 ** rng.integers(-6, 4, size=300),
            [0.1, -0.0, 1 / 3, 1e-7, 123456.79, 16777216.0],
        )
    )
    points = numbers.astype(np.float32).astype(np.float64).reshape(-1, 3)
    corners = np.arange(len(points) // 3 * 3).reshape(-1, 3)
    data = threemf.encode([Item(make(points, corners), "points")], title="points")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    back = [[float(v.attrib[a]) for a in "xyz"] for v in root.iter(f"{CORE}vertex")]
    assert np.array_equal(np.array(back).astype(np.float32), points.astype(np.float32))


def test_coordinates_are_the_shortest_decimals() -> None:
    # IEEE 754 single: 0.1 is the shortest decimal that gives 0x3dcccccd, 0.3 that of 0x3e99999a
    points = np.array([[0.1, 0.3, 12.0], [19.6, -0.0, 0.0], [1e-7, 1.0, 2.5]], dtype=np.float32)
    data = threemf.encode([Item(make(points, [[0, 1, 2]]), "p", placements=(Pose(),))], title="p")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        model = package.read("3D/3dmodel.model")
    assert b'<vertex x="0.1" y="0.3" z="12"/>\n<vertex x="19.6" y="0" z="0"/>' in model
    assert b'<vertex x="1e-07" y="1" z="2.5"/>' in model


def test_copies_stand_side_by_side_with_a_gap_in_the_positive_octant() -> None:
    low = make(BRACKET.vertices - 40, BRACKET.faces)
    model = strictly_read(
        threemf.encode([Item(low, "bracket", "AB12", 3), Item(BLOCK, "block", "", 2)], title="kit")
    )
    assert [o.GetName() for o in objects(model)] == ["bracket", "block"]
    points = {o.GetResourceID(): arrays(o)[0] for o in objects(model)}
    stand = [placed(i, points[i.GetObjectResourceID()]) for i in items(model)]
    assert len(stand) == 5
    edge = -GAP
    for corners in stand:
        assert corners.min(axis=0) == pytest.approx((edge + GAP, 0, 0), abs=1e-4)
        edge = corners[:, 0].max()


def test_a_placement_is_kept_as_given() -> None:
    # a quarter turn about z: x goes to y, y to -x
    turned = Pose((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (50.0, 5.0, 0.0))
    model = strictly_read(
        threemf.encode([Item(BLOCK, "block", placements=(turned, Pose()))], title="bed")
    )
    points = arrays(objects(model)[0])[0]
    first, second = (placed(i, points) for i in items(model))
    assert (first.min(axis=0).tolist(), first.max(axis=0).tolist()) == ([30, 5, 0], [50, 15, 30])
    assert (second.min(axis=0).tolist(), second.max(axis=0).tolist()) == ([0, 0, 0], [10, 20, 30])


def test_a_thumbnail_is_read() -> None:
    image = picture.encode(BLOCK, width=64, height=48)
    data = threemf.encode([Item(BLOCK, "block")], title="block", thumbnail=image)
    model = strictly_read(data)
    assert model.HasPackageThumbnailAttachment()
    assert bytes(model.CreatePackageThumbnailAttachment().WriteToBuffer()) == image


def test_the_parts_have_a_fixed_date_and_absolute_targets() -> None:
    with zipfile.ZipFile(io.BytesIO(threemf.part(BLOCK, title="b", mark=""))) as package:
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert {i.date_time for i in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b'Target="/3D/3dmodel.model"' in package.read("_rels/.rels")


def test_letters_that_xml_cannot_hold_become_blanks() -> None:
    model = strictly_read(threemf.encode([Item(BLOCK, "a\x00b\x1bc")], title="t\x07"))
    assert objects(model)[0].GetName() == "a b c"


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (lambda: threemf.encode([], title="t"), "there are no items to write"),
        (
            lambda: threemf.encode([Item(BLOCK, "b")], title="t", level=9),
            "deflate level 9 is outside 1 to 6",
        ),
        (
            lambda: threemf.encode([Item(BLOCK, "b", quantity=0)], title="t"),
            "b: 0 copies cannot be printed",
        ),
        (
            lambda: threemf.encode([Item(make([], []), "b")], title="t"),
            "b: a mesh without triangles cannot be written",
        ),
        (
            lambda: threemf.encode(
                [Item(BLOCK, "b", placements=(Pose(at=(-3.0, 0.0, 0.0)),))], title="t"
            ),
            "b: placed at -3 mm, outside the positive octant",
        ),
    ],
)
def test_what_cannot_be_written_is_refused(made: Any, sentence: str) -> None:
    with pytest.raises(ValueError) as refusal:  # noqa: PT011 - the whole sentence is read
        made()
    assert str(refusal.value) == sentence


def test_an_inside_out_mesh_would_be_seen_by_this_suite() -> None:
    inside_out = make(BLOCK.vertices, BLOCK.faces[:, ::-1])
    (each,) = objects(strictly_read(threemf.part(inside_out, title="b", mark="")))
    assert signed_volume(*arrays(each)) == pytest.approx(-BLOCK_VOLUME)
