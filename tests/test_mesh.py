"""Canonical form, edge counts, bodies and volume of meshes, on solids whose numbers are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures.mesh import (
    NO_OWNER,
    EdgeCount,
    Mesh,
    bodies,
    bounds,
    canonical,
    components,
    edge_count,
    is_closed,
    make,
    volume,
)

Corners = list[tuple[float, float, float]]
Triples = list[tuple[int, int, int]]

BOX_FACES: Triples = [
    (0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4),
    (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6), (1, 3, 5), (3, 7, 5),
]  # fmt: skip
"""Corner n of a box has its x, y and z at the far side where bits 0, 1 and 2 of n are set."""


def box(
    size: tuple[float, float, float] = (1.0, 1.0, 1.0),
    at: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> tuple[Corners, Triples]:
    corners = [
        (
            at[0] + size[0] * (n & 1),
            at[1] + size[1] * (n >> 1 & 1),
            at[2] + size[2] * (n >> 2 & 1),
        )
        for n in range(8)
    ]
    return corners, BOX_FACES


def together(*shapes: tuple[Corners, Triples]) -> Mesh:
    corners: Corners = []
    faces: Triples = []
    for points, triples in shapes:
        start = len(corners)
        corners += points
        faces += [(a + start, b + start, c + start) for a, b, c in triples]
    return make(corners, faces)


def inside_out(shape: tuple[Corners, Triples]) -> tuple[Corners, Triples]:
    return shape[0], [(a, c, b) for a, b, c in shape[1]]


def same(one: Mesh, other: Mesh) -> bool:
    return (
        one.vertices.tobytes() == other.vertices.tobytes()
        and one.faces.tobytes() == other.faces.tobytes()
        and one.owner.tobytes() == other.owner.tobytes()
    )


# --- canonical form -------------------------------------------------------------------------


@given(st.randoms(use_true_random=False), st.lists(st.integers(0, 2), min_size=12, max_size=12))
def test_any_numbering_of_the_same_surface_gives_the_same_bytes(
    random: object, turns: list[int]
) -> None:
    """Vertices renamed, faces reordered and begun at another corner: one and the same mesh."""
    corners, faces = box((3.0, 4.0, 5.0), (-1.0, -2.0, 0.5))
    wanted = canonical(make(corners, faces, range(12)))
    names, order = list(range(8)), list(range(12))
    random.shuffle(names)  # type: ignore[attr-defined]
    random.shuffle(order)  # type: ignore[attr-defined]
    moved: Corners = [(0.0, 0.0, 0.0)] * 8
    for old, new in enumerate(names):
        moved[new] = corners[old]
    turned = []
    for place in order:
        a, b, c = (names[i] for i in faces[place])
        turned.append([(a, b, c), (b, c, a), (c, a, b)][turns[place]])
    assert same(canonical(make(moved, turned, order)), wanted)


def test_canonical_form_is_reached_in_one_step() -> None:
    shape = together(box((0.1, 0.2, 0.3)), box((1.0, 2.0, 3.0), (5.0, 0.0, 0.0)))
    once = canonical(shape)
    assert same(canonical(once), once)


def test_coordinates_are_those_a_float32_can_hold() -> None:
    made = canonical(together(box((0.1, 1 / 3, 123.456789), (0.7, -0.7, 0.0))))
    assert np.array_equal(made.vertices, made.vertices.astype(np.float32).astype(np.float64))
    assert made.vertices.dtype == np.float64


def test_vertices_are_sorted_faces_start_at_their_smallest_and_are_sorted() -> None:
    made = canonical(together(box((2.0, 2.0, 2.0), (-1.0, -1.0, -1.0))))
    points = [tuple(point) for point in made.vertices]
    faces = [tuple(face) for face in made.faces]
    assert points == sorted(points)
    assert faces == sorted(faces)
    assert all(face[0] == min(face) for face in faces)


def test_the_way_round_survives_sorting() -> None:
    assert volume(canonical(together(box((2.0, 3.0, 4.0))))) == pytest.approx(24.0)
    assert volume(canonical(together(inside_out(box((2.0, 3.0, 4.0)))))) == pytest.approx(-24.0)


def test_there_is_no_minus_zero() -> None:
    """-0.0, and what only rounding makes of -1e-60."""
    corners, faces = box()
    for small in (-0.0, -1e-60):
        below: Corners = [(x or small, y or small, z or small) for x, y, z in corners]
        assert not np.signbit(canonical(make(below, faces)).vertices).any()


def test_points_that_are_one_in_the_file_become_one() -> None:
    """Two boxes 1e-9 mm apart: at 20 mm a float32 tells 2e-6 mm apart (IEEE 754, 24 bits)."""
    made = canonical(
        together(box((20.0, 10.0, 10.0)), box((5.0, 10.0, 10.0), (20.0 + 1e-9, 0.0, 0.0)))
    )
    assert len(made.vertices) == 12
    assert len(np.unique(made.vertices, axis=0)) == 12


def test_a_face_that_lost_a_corner_goes_and_its_point_with_it() -> None:
    corners, faces = box((10.0, 10.0, 10.0))
    corners = [*corners, (10.0 + 1e-9, 0.0, 0.0), (50.0, 50.0, 50.0)]
    made = canonical(make(corners, [*faces, (0, 8, 1)]))
    assert same(made, canonical(together(box((10.0, 10.0, 10.0)))))


@pytest.mark.parametrize(
    ("there", "back", "left"),
    [(1, 1, 0), (2, 1, 1), (1, 2, 1), (2, 2, 0), (3, 1, 2), (2, 0, 2)],
)
def test_faces_folded_on_their_backs_go_in_pairs(there: int, back: int, left: int) -> None:
    corners, faces = box((10.0, 10.0, 10.0))
    corners = [*corners, (3.0, 3.0, 0.0), (4.0, 3.0, 0.0), (3.0, 4.0, 0.0)]
    flaps: Triples = [(8, 9, 10)] * there + [(10, 9, 8)] * back
    made = canonical(make(corners, [*faces, *flaps]))
    assert len(made.faces) == 12 + left


def test_a_sliver_folded_flat_by_rounding_leaves_a_closed_mesh() -> None:
    """A spike 1e-9 mm wide stands on a face's edge: its two sides fold on each other."""
    corners, faces = box((10.0, 10.0, 10.0))
    # between corners 5 and 7 of one face a spike to 8, its foot at 9 beside 7
    corners = [*corners, (30.0, 5.0, 10.0), (10.0, 10.0, 10.0 + 1e-9)]
    faces = [(5, 9, 6) if face == (5, 7, 6) else face for face in faces]
    closed = make(corners, [*faces, (5, 7, 8), (5, 8, 9), (7, 9, 8), (9, 7, 6)])
    assert is_closed(closed)
    made = canonical(closed)
    assert same(made, canonical(together(box((10.0, 10.0, 10.0)))))


def test_owners_go_with_their_faces() -> None:
    corners, faces = box((10.0, 10.0, 10.0))
    owner = [0 if i < 2 else 1 if i < 4 else NO_OWNER for i in range(12)]
    made = canonical(make(corners, faces, owner, ("bottom", "top")))
    assert made.names == ("bottom", "top")
    assert np.all(made.triangles[made.owner == 0][:, :, 2] == 0.0)
    assert np.all(made.triangles[made.owner == 1][:, :, 2] == 10.0)
    assert np.count_nonzero(made.owner == NO_OWNER) == 8


def test_arrays_of_a_mesh_cannot_be_written_to() -> None:
    made = canonical(together(box()))
    for array in (made.vertices, made.faces, made.owner):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


def test_a_mesh_without_faces_stays_without() -> None:
    made = canonical(make([(1.0, 2.0, 3.0)], []))
    assert len(made.vertices) == len(made.faces) == 0
    assert volume(made) == 0.0
    assert bodies(made) == 0
    assert not is_closed(made)


# --- volume and bounds ----------------------------------------------------------------------

GOLDEN = (1 + math.sqrt(5)) / 2
TETRAHEDRON: tuple[Corners, Triples] = (
    [(1.0, 1.0, 1.0), (1.0, -1.0, -1.0), (-1.0, 1.0, -1.0), (-1.0, -1.0, 1.0)],
    [(0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2)],
)
OCTAHEDRON: tuple[Corners, Triples] = (
    [(1.0, 0, 0), (-1.0, 0, 0), (0, 1.0, 0), (0, -1.0, 0), (0, 0, 1.0), (0, 0, -1.0)],
    [(0, 2, 4), (2, 1, 4), (1, 3, 4), (3, 0, 4), (2, 0, 5), (1, 2, 5), (3, 1, 5), (0, 3, 5)],
)


@pytest.mark.parametrize(
    ("shape", "edge", "wanted"),
    [
        # a³ / (6 √2) and √2 a³ / 3 for the edge a (any table of the regular solids)
        (TETRAHEDRON, 2 * math.sqrt(2), lambda a: a**3 / (6 * math.sqrt(2))),
        (OCTAHEDRON, math.sqrt(2), lambda a: math.sqrt(2) * a**3 / 3),
        (box((2.0, 2.0, 2.0)), 2.0, lambda a: a**3),
    ],
    ids=["tetrahedron", "octahedron", "cube"],
)
def test_volume_of_the_regular_solids(
    shape: tuple[Corners, Triples], edge: float, wanted: object
) -> None:
    assert volume(together(shape)) == pytest.approx(wanted(edge), rel=1e-12)  # type: ignore[operator]


@given(
    st.tuples(*[st.floats(0.1, 300.0)] * 3),
    st.tuples(*[st.floats(-1000.0, 1000.0)] * 3),
)
def test_volume_does_not_depend_on_where_it_stands(
    size: tuple[float, float, float], at: tuple[float, float, float]
) -> None:
    made = together(box(size, at))
    # corners far out are known to 2.3e-13 mm (half a float64 step at 1300 mm)
    around = 2 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0])
    assert volume(made) == pytest.approx(math.prod(size), abs=1e-12 * around + 1e-9)


def test_a_hollow_takes_its_volume_away() -> None:
    made = together(box((20.0, 20.0, 20.0)), inside_out(box((8.0, 8.0, 8.0), (6.0, 6.0, 6.0))))
    assert volume(made) == pytest.approx(8000.0 - 512.0)


def test_bounds_are_the_lowest_and_the_highest_corner() -> None:
    made = together(box((1.0, 2.0, 3.0), (-4.0, 5.0, -6.0)))
    assert bounds(made) == ((-4.0, 5.0, -6.0), (-3.0, 7.0, -3.0))


# --- edges ----------------------------------------------------------------------------------


def test_a_box_is_closed() -> None:
    made = together(box())
    assert edge_count(made) == EdgeCount(open=0, crowded=0, flipped=0)
    assert is_closed(made)


def test_a_missing_face_leaves_three_open_edges() -> None:
    corners, faces = box()
    made = make(corners, faces[1:])
    assert edge_count(made) == EdgeCount(open=3, crowded=0, flipped=0)
    assert not is_closed(made)


def test_a_face_turned_over_has_three_flipped_edges() -> None:
    corners, faces = box()
    a, b, c = faces[0]
    made = make(corners, [(a, c, b), *faces[1:]])
    assert edge_count(made) == EdgeCount(open=0, crowded=0, flipped=3)
    assert not is_closed(made)


def test_two_boxes_on_one_edge_crowd_it_once_their_points_are_one() -> None:
    made = together(box(), box(at=(1.0, 1.0, 0.0)))
    assert edge_count(made).closed
    assert edge_count(canonical(made)) == EdgeCount(open=0, crowded=1, flipped=0)


# --- pieces and bodies ----------------------------------------------------------------------


def test_boxes_apart_are_bodies_of_their_own() -> None:
    assert bodies(together(box(), box(at=(3.0, 0.0, 0.0)), box(at=(0.0, 3.0, 0.0)))) == 3


def test_boxes_that_meet_in_a_point_are_two() -> None:
    made = canonical(together(box(), box(at=(1.0, 1.0, 1.0))))
    assert len(made.vertices) == 15
    assert bodies(made) == 2


def test_a_hollow_inside_is_a_piece_but_no_body() -> None:
    made = together(box((20.0, 20.0, 20.0)), inside_out(box((8.0, 8.0, 8.0), (6.0, 6.0, 6.0))))
    assert len(np.unique(components(made))) == 2
    assert bodies(made) == 1


def test_a_loose_lump_in_a_hollow_is_a_second_body() -> None:
    shell = box((20.0, 20.0, 20.0)), inside_out(box((8.0, 8.0, 8.0), (6.0, 6.0, 6.0)))
    assert bodies(together(*shell, box((2.0, 2.0, 2.0), (9.0, 9.0, 9.0)))) == 2


def test_a_hollow_far_from_the_middle_is_no_body_either() -> None:
    far = inside_out(box((1.0, 1.0, 1.0), (98.0, 98.0, 98.0)))
    assert bodies(together(box((100.0, 100.0, 100.0)), far)) == 1


def test_a_long_strip_numbered_at_random_is_one_piece() -> None:
    n = 400
    corners = [(float(i // 2), float(i % 2), 0.0) for i in range(n + 2)]
    faces = [(i, i + 1, i + 2) if i % 2 else (i, i + 2, i + 1) for i in range(n)]
    order = np.random.default_rng(1).permutation(n)
    made = make(corners, np.array(faces)[order])
    assert not components(made).any()
