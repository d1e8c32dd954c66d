"""The canonical form that every file is brought to, judged by np.unique and by SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from fixtures.mesh import Mesh, canonical, components, make


@st.composite
def soups(draw: st.DrawFn) -> Mesh:
    """Few points, so that many are equal; signed zeros and tiny numbers among them."""
    numbers = st.sampled_from([0.0, -0.0, 1.0, -1.0, 0.1, -2.5, 1e-30, -1e-42, 65504.0, 1 / 3])
    points = draw(arrays.arrays(np.float64, (draw(st.integers(1, 12)), 3), elements=numbers))
    corners = st.integers(0, len(points) - 1)
    faces = draw(arrays.arrays(np.int64, (draw(st.integers(0, 20)), 3), elements=corners))
    return make(points, faces, np.arange(len(faces)))


@settings(deadline=None)
@given(soups())
def test_points_are_those_of_numpy_in_its_order(soup: Mesh) -> None:
    mesh = canonical(soup)
    used = np.unique(mesh.faces)
    assert np.array_equal(used, np.arange(len(mesh.vertices)))
    again = np.unique(mesh.vertices.astype(np.float32), axis=0)
    assert again.astype(np.float64).tobytes() == mesh.vertices.tobytes()


@settings(deadline=None)
@given(soups(), st.randoms(use_true_random=False))
def test_the_order_of_points_and_faces_does_not_show(soup: Mesh, random: object) -> None:
    rng = np.random.default_rng(random.randrange(2**32))  # type: ignore[attr-defined]
    place = rng.permutation(len(soup.vertices))
    points = np.empty_like(soup.vertices)
    points[place] = soup.vertices
    faces = np.array([np.roll(f, rng.integers(3)) for f in place[soup.faces]]).reshape(-1, 3)
    first, second = canonical(soup), canonical(make(points, rng.permutation(faces)))
    assert first.vertices.tobytes() == second.vertices.tobytes()
    assert first.faces.tobytes() == second.faces.tobytes()


@settings(deadline=None)
@given(soups())
def test_canonical_twice_is_canonical_once(soup: Mesh) -> None:
    once = canonical(soup)
    twice = canonical(once)
    for name in ("vertices", "faces", "owner"):
        assert getattr(once, name).tobytes() == getattr(twice, name).tobytes()


@settings(deadline=None)
@given(soups())
def test_each_face_kept_is_a_face_given_and_keeps_its_owner(soup: Mesh) -> None:
    mesh = canonical(soup)
    given_points = soup.vertices.astype(np.float32).astype(np.float64) + 0.0
    for corners, owner in zip(mesh.triangles, mesh.owner, strict=True):
        source = given_points[soup.faces[owner]]
        assert any(np.array_equal(np.roll(source, i, axis=0), corners) for i in range(3))


@pytest.mark.parametrize(("ways", "left"), [((3, 3), 0), ((5, 2), 3), ((1, 4), 3)])
def test_faces_on_each_others_backs_go_in_pairs(ways: tuple[int, int], left: int) -> None:
    faces = [[0, 1, 2]] * ways[0] + [[2, 1, 0]] * ways[1]
    mesh = canonical(make([[0, 0, 0], [1, 0, 0], [0, 1, 0]], faces))
    assert len(mesh.faces) == left


def test_very_many_faces_on_each_others_backs_are_no_trouble() -> None:
    faces = np.vstack((np.tile([[0, 1, 2]], (50_000, 1)), np.tile([[2, 1, 0]], (50_000, 1))))
    assert len(canonical(make([[0, 0, 0], [1, 0, 0], [0, 1, 0]], faces)).faces) == 0


@settings(deadline=None)
@given(soups())
def test_components_are_those_of_scipy(soup: Mesh) -> None:
    n = len(soup.faces)
    first: dict[frozenset[int], int] = {}
    links = [
        (number, first.setdefault(frozenset((face[i - 1], face[i])), number))
        for number, face in enumerate(soup.faces.tolist())
        for i in range(3)
    ]
    start, end = np.array(links, dtype=np.int64).reshape(-1, 2).T
    graph = coo_array((np.ones(len(start)), (start, end)), shape=(n, n))
    _, theirs = connected_components(graph, directed=False) if n else (0, np.zeros(0, dtype=int))
    ours = components(soup)
    pairs = {*zip(ours.tolist(), theirs.tolist(), strict=True)}
    assert len(pairs) == len(set(ours.tolist())) == len(set(theirs.tolist()))


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_a_long_strip_numbered_at_random_is_one_piece(seed: int) -> None:
    # spreading labels from face to face took over 300 s for a strip of 200,000
    n = 50_000
    place = np.random.default_rng(seed).permutation(n)
    at = np.arange(n - 2)
    strip = make(np.zeros((n, 3)), place[np.stack((at, at + 1, at + 2), axis=1)])
    assert not components(strip).any()
