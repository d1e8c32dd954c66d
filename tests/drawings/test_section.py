"""Sections: closed forms, shapely as judge, and what is left behind the plane."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
import trimesh

from fixtures.drawings.hidden import projected
from fixtures.drawings.section import Axis, area, cut, hatched, section_at, view_along
from fixtures.errors import InputError
from fixtures.export.picture import view_axes
from fixtures.mesh import Mesh, is_closed, make, volume
from fixtures.solid import Vec
from tests.drawings.shapes import box, circle, lengths, prism, total
from tests.parts.made import part, read_back

CUBE = box((0, 0, 0), (10, 10, 10))
TUBE = prism([circle(10, 64), circle(6, 64)], 20.0)
PARTS = ("corner-socket", "drill-guide", "clamp-caul", "leg-socket", "slot-comb")


def _regular(radius: float) -> float:
    """Area of a regular polygon of 64 corners."""
    return 32 * radius**2 * math.sin(2 * math.pi / 64)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_box_is_cut_into_a_rectangle_where_it_is_drawn(axis: Axis) -> None:
    made = section_at(box((1, 2, 3), (11, 22, 33)), axis, 10.0)
    wide, tall = {"x": (20, 30), "y": (10, 30), "z": (10, 20)}[axis]
    (ring,) = made.rings
    assert len(ring) == 4
    assert area(made.rings) == pytest.approx(wide * tall)
    assert ring.min(axis=0) == pytest.approx([2 if axis == "x" else 1, 2 if axis == "z" else 3])
    drawn = projected([made.behind], made.view)
    assert total(drawn.seen) == pytest.approx(2 * (wide + tall))
    assert (drawn.low, drawn.high) == (
        pytest.approx(ring.min(axis=0)),
        pytest.approx(ring.max(axis=0)),
    )


@pytest.mark.parametrize(("axis", "kept"), [("x", 0.25), ("y", 0.75), ("z", 0.25)])
def test_what_is_kept_lies_behind_the_plane(axis: Axis, kept: float) -> None:
    """The viewer stands to the right, in front, above."""
    made = section_at(CUBE, axis, 2.5)
    assert is_closed(made.behind)
    assert volume(made.behind) == pytest.approx(1000 * kept)


def test_a_tube_across_is_a_ring_and_along_two_strips() -> None:
    across = section_at(TUBE, "z", 7.0)
    assert sorted(np.sign([area([ring]) for ring in across.rings])) == [-1, 1]
    assert area(across.rings) == pytest.approx(_regular(10) - _regular(6))
    along = section_at(TUBE, "y", 0.0)
    assert [area([ring]) for ring in along.rings] == pytest.approx([4 * 20, 4 * 20])
    assert volume(along.behind) == pytest.approx(20 * (_regular(10) - _regular(6)) / 2, rel=1e-6)


def test_a_cube_across_its_space_diagonal_is_a_regular_hexagon() -> None:
    """Edges 10/√2 long, area 3√3/4 × 10² (closed form); the halves are alike."""
    made = cut(CUBE, (5.0, 5.0, 5.0), (1.0, 1.0, 1.0))
    (ring,) = made.rings
    sides = lengths(np.stack((ring, np.roll(ring, -1, axis=0)), axis=1))
    assert sides == pytest.approx([10 / math.sqrt(2)] * 6)
    assert area(made.rings) == pytest.approx(3 * math.sqrt(3) / 4 * 100)
    assert volume(made.behind) == pytest.approx(500)
    assert is_closed(made.behind)


def test_a_plane_through_a_face_cuts_what_lies_behind_it() -> None:
    assert area(section_at(CUBE, "z", 10.0).rings) == pytest.approx(100)
    assert volume(section_at(CUBE, "z", 10.0).behind) == pytest.approx(1000)
    with pytest.raises(InputError) as told:
        section_at(CUBE, "z", 0.0)
    assert str(told.value) == (
        "The plane misses the part, which lies 0.000 to 10.000 mm before it. "
        "Choose a place within that."
    )


def test_a_plane_through_corners_and_edges_gives_one_clean_ring() -> None:
    """Through two opposite edges of a cube: a rectangle of 10 by 10√2."""
    made = cut(CUBE, (0.0, 0.0, 0.0), (1.0, -1.0, 0.0))
    (ring,) = made.rings
    assert len(ring) == 4
    assert area(made.rings) == pytest.approx(100 * math.sqrt(2))
    assert volume(made.behind) == pytest.approx(500)


def test_an_open_mesh_is_not_cut() -> None:
    with pytest.raises(InputError) as told:
        section_at(make(CUBE.vertices, CUBE.faces[1:]), "z", 5.0)
    assert str(told.value) == "An open mesh has no inside to be cut. Repair the mesh first."


def test_a_normal_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="a plane's normal must have a length"):
        cut(CUBE, (5.0, 5.0, 5.0), (0.0, 0.0, 0.0))


@pytest.mark.parametrize("normal", [(1, 0, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1), (1, 2, -3)])
def test_the_viewer_of_a_plane_stands_where_its_normal_points(normal: Vec) -> None:
    towards = view_axes(view_along(normal))[2]
    assert towards == pytest.approx(np.array(normal) / math.hypot(*normal))


def _judged(mesh: Mesh, axis: int, place: float) -> float:
    """Area of the section by trimesh's lines and shapely's polygons."""
    judge = trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)
    normal, at = np.eye(3)[axis], np.eye(3)[axis] * place
    lines = trimesh.intersections.mesh_plane(judge, normal, at)[
        :, :, [a for a in range(3) if a != axis]
    ]
    faces = shapely.polygonize(shapely.linestrings(lines.round(6)))
    total_area = 0.0
    for piece in faces.geoms:
        point = piece.representative_point()
        inside = np.insert(np.array((point.x, point.y)), axis, place)
        total_area += piece.area if judge.contains([inside])[0] else 0.0
    return total_area


@pytest.mark.parametrize("name", PARTS)
def test_sections_of_parts_have_the_area_that_shapely_finds(name: str) -> None:
    mesh = read_back(part(name))
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    for i, axis in enumerate(("x", "y", "z")):
        place = float(low[i] + 0.43 * (high[i] - low[i]))
        made = section_at(mesh, axis, place)
        assert area(made.rings) == pytest.approx(_judged(mesh, i, place), rel=1e-4)


@pytest.mark.parametrize("name", PARTS)
def test_both_halves_of_a_cut_part_make_the_whole(name: str) -> None:
    mesh = read_back(part(name))
    at, normal = tuple(mesh.vertices.mean(axis=0)), (0.3, -0.8, 0.5)
    one, two = cut(mesh, at, normal), cut(mesh, at, tuple(-n for n in normal))
    assert volume(one.behind) + volume(two.behind) == pytest.approx(volume(mesh), rel=1e-6)
    assert is_closed(one.behind)
    assert is_closed(two.behind)
    assert area(one.rings) == pytest.approx(area(two.rings), rel=1e-6)


def test_hatching_fills_the_cut_and_nothing_else() -> None:
    """Lines s apart have the length area / s (Cavalieri), and lie inside the rings."""
    rings = section_at(TUBE, "z", 7.0).rings
    lines = hatched(rings, 0.05)
    assert total(lines) * 0.05 == pytest.approx(area(rings), rel=1e-3)
    judge = shapely.Polygon(
        next(r for r in rings if area([r]) > 0), [next(r for r in rings if area([r]) < 0)]
    ).buffer(1e-6)
    assert shapely.covers(judge, shapely.linestrings(hatched(rings, 2.0))).all()


def test_hatching_runs_at_its_angle_and_spacing() -> None:
    """45° unless asked otherwise (ISO 128-3:2020); neighbouring lines lie the spacing apart."""
    lines = hatched(section_at(CUBE, "z", 5.0).rings, 1.5)
    run = lines[:, 1] - lines[:, 0]
    assert np.degrees(np.arctan2(run[:, 1], run[:, 0])) == pytest.approx([45.0] * len(lines))
    offsets = np.sort(lines[:, 0] @ np.array((-1, 1)) / math.sqrt(2))
    assert np.diff(offsets) == pytest.approx([1.5] * (len(lines) - 1))
    level = hatched(section_at(CUBE, "z", 5.0).rings, 1.5, angle=0.0)
    assert lengths(level) == pytest.approx([10.0] * len(level))
    assert len(hatched((), 1.5)) == 0


def test_hatching_needs_a_spacing() -> None:
    with pytest.raises(ValueError, match="the spacing must be above 0"):
        hatched(section_at(CUBE, "z", 5.0).rings, 0.0)
