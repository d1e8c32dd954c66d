"""Binary STL, judged by a plain NumPy reader written here and by trimesh."""

from __future__ import annotations

import io

import numpy as np
import pytest
import trimesh

from fixtures.export import stl
from fixtures.mesh import Mesh, make
from tests.export.shapes import BLOCK, PLATE, SHAPES, signed_volume

# the layout as commonly published: 80 bytes, uint32, 12 float32 and a uint16 a triangle
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def records(data: bytes) -> np.ndarray:
    return np.frombuffer(data, RECORD, offset=84)


def test_a_box_takes_684_bytes() -> None:
    assert len(stl.encode(BLOCK, "block")) == 84 + 50 * 12 == 684  # 12 triangles


def test_the_count_is_that_of_the_triangles() -> None:
    data = stl.encode(PLATE, "plate")
    assert int.from_bytes(data[80:84], "little") == len(PLATE.faces) == len(records(data))


@pytest.mark.parametrize("title", ["solid oak shelf", "", "Nußbaum 19 mm", "a" * 200])
def test_the_header_says_mm_and_never_begins_with_solid(title: str) -> None:
    header = stl.encode(BLOCK, title)[:80]
    assert header.startswith(b"binary STL, units mm")
    assert header.isascii()


def test_letters_outside_ascii_become_question_marks() -> None:
    assert stl.encode(BLOCK, "Nußbaum")[:80].rstrip() == b"binary STL, units mm; Nu?baum"


def test_part_puts_the_mark_before_the_title() -> None:
    header = stl.part(BLOCK, title="spacer", mark="A1B2")[:80]
    assert header.rstrip() == b"binary STL, units mm; A1B2 spacer"


def test_normals_are_unit_and_point_out_of_a_box() -> None:
    rows = records(stl.encode(BLOCK, "block"))
    outward = rows["corners"].mean(axis=1) - np.array((5, 10, 15))
    assert np.linalg.norm(rows["normal"], axis=1) == pytest.approx(np.ones(12))
    assert ((rows["normal"] * outward).sum(axis=1) > 4.9).all()  # at least the half of 10 mm


def test_a_triangle_without_area_gets_a_zero_normal() -> None:
    line = make([[0, 0, 0], [1, 0, 0], [2, 0, 0]], [[0, 1, 2]])
    assert (records(stl.encode(line, "line"))["normal"] == 0).all()


def test_attributes_are_zero() -> None:
    assert not records(stl.encode(PLATE, "plate"))["attribute"].any()


@pytest.mark.parametrize(("mesh", "volume"), SHAPES.values(), ids=SHAPES)
def test_read_back_by_numpy_the_volume_is_the_closed_form(mesh: Mesh, volume: float) -> None:
    corners = records(stl.encode(mesh, ""))["corners"].astype(np.float64)
    faces = np.arange(3 * len(corners)).reshape(-1, 3)
    assert signed_volume(corners.reshape(-1, 3), faces) == pytest.approx(volume, rel=1e-6)


@pytest.mark.parametrize(("mesh", "volume"), SHAPES.values(), ids=SHAPES)
def test_read_back_by_trimesh_it_is_closed(mesh: Mesh, volume: float) -> None:
    back = trimesh.load_mesh(io.BytesIO(stl.encode(mesh, "")), file_type="stl")
    assert back.is_watertight
    assert back.volume == pytest.approx(volume, rel=1e-6)


def test_corners_are_written_exactly() -> None:
    corners = records(stl.encode(PLATE, ""))["corners"].astype(np.float64)
    assert np.array_equal(corners, PLATE.triangles)  # the mesh is float32 already


def test_a_mesh_without_triangles_is_refused() -> None:
    with pytest.raises(ValueError, match="a mesh without triangles cannot be written"):
        stl.encode(make([], []), "nothing")
