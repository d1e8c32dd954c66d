"""Repair: what is broken on purpose is mended, counted, and nothing else is touched."""

from __future__ import annotations

import time

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from fixtures.ingest.repair import document, repair, told
from fixtures.mesh import Mesh, canonical, edge_count, is_closed, make, volume
from fixtures.rims import rims


def taken(made: trimesh.Trimesh) -> Mesh:
    return canonical(make(made.vertices, made.faces))


def cube(side: float = 20.0, at: tuple[float, float, float] = (0, 0, 0)) -> Mesh:
    made = trimesh.creation.box((side, side, side))
    made.apply_translation(at)
    return taken(made)


def together(*parts: Mesh) -> Mesh:
    offsets = np.cumsum([0, *(len(part.vertices) for part in parts[:-1])])
    return make(
        np.concatenate([part.vertices for part in parts]),
        np.concatenate([part.faces + at for part, at in zip(parts, offsets, strict=True)]),
    )


def inverted(mesh: Mesh) -> Mesh:
    return make(mesh.vertices, mesh.faces[:, ::-1])


def without(mesh: Mesh, *faces: int) -> Mesh:
    return make(mesh.vertices, np.delete(mesh.faces, faces, axis=0))


def side_faces(mesh: Mesh) -> Mesh:
    """Without the faces that look up or down."""
    a, b, c = (mesh.vertices[mesh.faces[:, i]] for i in range(3))
    upright = np.abs(np.cross(b - a, c - a)[:, 2]) < 1e-6
    return make(mesh.vertices, mesh.faces[upright])


def test_a_whole_mesh_stays_as_it_is() -> None:
    done = repair(cube())
    assert not done.changed
    assert told(done) == ("Nothing needed repair.",)
    assert np.array_equal(done.mesh.vertices, cube().vertices)
    assert np.array_equal(done.mesh.faces, cube().faces)


def test_loose_triangles_with_noise_are_welded() -> None:
    noise = np.random.default_rng(1).uniform(-0.002, 0.002, (36, 3))
    soup = make(cube().triangles.reshape(-1, 3) + noise, np.arange(36).reshape(-1, 3))
    done = repair(soup)
    assert is_closed(done.mesh)
    assert (len(done.mesh.vertices), done.welded) == (8, 36 - 8)
    assert volume(done.mesh) == pytest.approx(8000.0, rel=1e-3)
    assert told(done)[0].startswith("Repaired: 28 corners of open edges laid onto others")


def test_corners_farther_apart_than_a_hundredth_are_not_one() -> None:
    apart = make(cube().triangles.reshape(-1, 3), np.arange(36).reshape(-1, 3))
    spread = apart.vertices * (1 + np.arange(36)[:, None] * 0.01)
    done = repair(make(spread, apart.faces))
    assert done.welded == 0
    assert (done.filled, done.open) == (0, 36)  # twelve loose triangles, none on its own back


def test_a_mesh_in_metres_does_not_fall_together() -> None:
    small = make(cube().vertices / 1000.0, cube().faces[2:])  # 0.02 across, in a file's numbers
    done = repair(small)
    assert done.welded == 0
    assert volume(done.mesh) == pytest.approx(8e-6, rel=1e-5)


def test_doubled_faces_and_faces_without_area_go() -> None:
    whole = cube()
    doubled = make(whole.vertices, np.vstack([whole.faces, whole.faces[:3], [[0, 0, 5]]]))
    done = repair(doubled)
    assert done.doubled == 3
    assert is_closed(done.mesh)
    assert told(done) == ("Repaired: 3 faces dropped that were there twice.",)


@pytest.mark.parametrize("which", [[0], [3, 7], [0, 1, 2, 3, 4, 5, 6]])
def test_faces_are_turned_to_agree_and_outwards(which: list[int]) -> None:
    faces = cube().faces.copy()
    faces[which] = faces[which][:, ::-1]
    done = repair(make(cube().vertices, faces))
    assert is_closed(done.mesh)
    assert volume(done.mesh) == pytest.approx(8000.0)
    assert done.turned == len(which)


def test_what_is_inside_out_is_turned_and_a_hollow_is_left_a_hollow() -> None:
    hollow = together(cube(20.0), inverted(cube(6.0)))
    assert repair(hollow).turned == 0
    for mesh, turned in ((inverted(hollow), 24), (together(inverted(cube(20.0)), cube(6.0)), 24)):
        done = repair(mesh)
        assert done.turned == turned
        assert volume(done.mesh) == pytest.approx(20.0**3 - 6.0**3)


def test_of_two_bodies_the_one_that_is_inside_out_is_turned() -> None:
    done = repair(together(cube(20.0), inverted(cube(10.0, at=(50, 0, 0)))))
    assert done.turned == 12
    assert volume(done.mesh) == pytest.approx(9000.0)


def test_a_ball_in_a_hollow_is_a_body() -> None:
    nest = together(cube(30.0), inverted(cube(20.0)), inverted(cube(6.0)))
    done = repair(nest)
    assert done.turned == 12
    assert volume(done.mesh) == pytest.approx(30.0**3 - 20.0**3 + 6.0**3)


def test_a_hole_is_filled_flat() -> None:
    side = [i for i, n in enumerate(normals(cube())) if n[2] > 0.9]
    done = repair(without(cube(), *side))
    assert (done.filled, done.added) == (1, 2)
    assert is_closed(done.mesh)
    assert volume(done.mesh) == pytest.approx(8000.0)


def test_holes_that_meet_in_a_corner_are_filled_each() -> None:
    whole = cube()
    shared = [
        (i, j)
        for i in range(12)
        for j in range(i)
        if len(set(whole.faces[i]) & set(whole.faces[j])) == 1
    ]
    done = repair(without(whole, *shared[0]))
    assert done.filled == 2
    assert is_closed(done.mesh)
    assert volume(done.mesh) == pytest.approx(8000.0)


def test_the_ends_of_a_tube_are_filled_between_its_walls() -> None:
    tube = trimesh.creation.annulus(5.0, 10.0, 30.0)
    done = repair(side_faces(taken(tube)))
    assert is_closed(done.mesh)
    assert volume(done.mesh) == pytest.approx(tube.volume, rel=1e-6)


def test_a_notched_hole_is_filled_without_covering_the_notch() -> None:
    ell = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)]
    prism = m3.Manifold.extrude(m3.CrossSection([np.array(ell, dtype=float)]), 8.0).to_mesh64()
    whole = canonical(make(np.asarray(prism.vert_properties)[:, :3], prism.tri_verts))
    done = repair(side_faces(whole))
    assert done.filled == 2
    assert volume(done.mesh) == pytest.approx(500.0 * 8.0)  # 30 × 10 and 10 × 20


def test_a_rim_far_from_flat_is_left_and_told() -> None:
    corner = [i for i, n in enumerate(normals(cube())) if n[2] > 0.9 or n[0] > 0.9]
    done = repair(without(cube(), *corner))
    assert (done.filled, done.open) == (0, 6)
    assert told(done) == (
        "Repaired: nothing that could be.",
        "Left as it was: 6 open edges, of flat sheets or of rims far from flat.",
    )


def test_bodies_that_touch_along_an_edge_are_left_and_told() -> None:
    done = repair(together(cube(), cube(at=(20, 20, 0))))
    assert done.crowded == 1
    assert told(done)[1] == "Left as it was: 1 edge with more than two faces."


def test_a_one_sided_band_ends_all_the_same() -> None:
    """A Möbius strip, which no turning makes agree."""
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    rows = []
    for s in (-3.0, 3.0):
        r = 20 + s * np.cos(turn / 2)
        rows.append(np.column_stack([r * np.cos(turn), r * np.sin(turn), s * np.sin(turn / 2)]))
    faces = []
    for i in range(40):
        a, b = i, 40 + i
        c, d = ((i + 1) % 40, 40 + (i + 1) % 40) if i < 39 else (40, 0)
        faces += [[a, c, b], [b, c, d]]
    done = repair(make(np.vstack(rows), faces))
    assert edge_count(done.mesh).flipped
    assert done.open or done.filled


def test_repairing_twice_changes_nothing_more() -> None:
    rng = np.random.default_rng(5)
    ball = taken(trimesh.creation.icosphere(4, 20.0))
    faces = ball.faces.copy()
    turned = rng.random(len(faces)) < 0.4
    faces[turned] = faces[turned][:, ::-1]
    done = repair(make(ball.vertices, faces[rng.random(len(faces)) > 0.02]))
    assert is_closed(done.mesh)
    assert volume(done.mesh) == pytest.approx(volume(ball), rel=1e-3)
    assert not repair(done.mesh).changed


def test_many_corners_in_one_place_take_no_time() -> None:
    rng = np.random.default_rng(2)
    points = np.vstack([rng.normal(0, 1e-3, (60_000, 3)), [[0, 0, 0], [90, 0, 0], [0, 90, 50]]])
    faces = np.vstack([np.arange(60_000).reshape(-1, 3), [[60_000, 60_001, 60_002]]])
    begun = time.process_time()
    done = repair(make(points, faces))
    assert time.process_time() - begun < 10.0
    assert done.welded > 59_000


def test_a_long_strip_of_turned_faces_takes_no_time() -> None:
    n = 100_000  # from one end to the other a walk would take as many steps
    along = np.arange(n + 2) * 0.5
    points = np.column_stack([along, np.arange(n + 2) % 2 * 5.0, 20 * np.sin(along)])
    faces = np.arange(n)[:, None] + np.arange(3)  # every other one the wrong way round
    begun = time.process_time()
    done = repair(make(points, faces))
    assert time.process_time() - begun < 10.0
    assert done.turned == n // 2
    assert edge_count(done.mesh).flipped == 0


def test_thousands_of_bodies_with_a_hole_each_take_no_time() -> None:
    k = 3000
    at = np.column_stack([np.arange(k) % 60, np.arange(k) // 60, np.zeros(k)]) * 30.0
    corners = np.array([(0, 0, 0), (10, 0, 0), (0, 10, 0), (0, 0, 10)])
    faces = 4 * np.arange(k)[:, None, None] + [(0, 1, 3), (1, 2, 3), (2, 0, 3)]
    begun = time.process_time()
    done = repair(make((at[:, None] + corners).reshape(-1, 3), faces.reshape(-1, 3)))
    assert time.process_time() - begun < 10.0
    assert (done.filled, done.open) == (k, 0)
    assert volume(done.mesh) == pytest.approx(k * 1000.0 / 6.0, rel=1e-6)


def test_the_counts_for_programs() -> None:
    assert document(repair(inverted(cube()))) == {
        "corners_welded": 0,
        "faces_dropped": 0,
        "faces_doubled": 0,
        "faces_turned": 12,
        "holes_filled": 0,
        "faces_added": 0,
        "open_edges_left": 0,
        "crowded_edges_left": 0,
    }


def normals(mesh: Mesh) -> np.ndarray:
    a, b, c = (mesh.vertices[mesh.faces[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    return cross / np.linalg.norm(cross, axis=1, keepdims=True)


# --- rims -----------------------------------------------------------------------------------


def test_rims_are_counted_with_their_lengths() -> None:
    top = [i for i, n in enumerate(normals(cube())) if n[2] > 0.9]
    bottom = [i for i, n in enumerate(normals(cube())) if n[2] < -0.9]
    one = rims(without(cube(), *top))
    assert one.length.tolist() == pytest.approx([80.0])
    assert one.closed.all()
    two = rims(without(cube(), *top, *bottom))
    assert two.length.tolist() == pytest.approx([80.0, 80.0])
    assert not len(rims(cube()).length)


def test_a_rim_that_its_faces_follow_both_ways_round_is_not_closed() -> None:
    square = make([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)], [(0, 1, 2), (0, 2, 3)])
    assert rims(square).closed.all()
    assert not rims(make(square.vertices, [(0, 1, 2), (0, 3, 2)])).closed.any()
