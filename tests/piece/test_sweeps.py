"""Who stops whom on a straight way: closed forms, and a mesh kernel's swept hulls as the judge."""

from __future__ import annotations

import random

import manifold3d as m3
import numpy as np
import pytest

from fixtures.assembly import Board
from fixtures.piece.sweeps import MEET, TOUCH, Room
from fixtures.solid import Vec
from fixtures.stock import Stock

STOCK = Stock("case", "", None, (18.0,))


def board(name: str, *pieces: tuple[Vec, ...]) -> Board:
    shape = tuple(point for piece in pieces for point in piece)
    return Board(name, STOCK, 18.0, shape, pieces, 0.0, 0.0, 0.0, "", "dry fit")


def box(low: Vec, high: Vec) -> tuple[Vec, ...]:
    return tuple(
        (x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])
    )


def stopped(one: Board, other: Board, way: Vec) -> bool:
    return bool(Room([one, other], []).stops(np.array(way))[0, 1])


CUBE = board("cube", box((0.0, 0.0, 0.0), (10.0, 10.0, 10.0)))


@pytest.mark.parametrize(
    ("low", "way", "is_stopped"),
    [
        ((20.0, 0.0, 0.0), (1.0, 0.0, 0.0), True),
        ((20.0, 0.0, 0.0), (-1.0, 0.0, 0.0), False),
        ((20.0, 10.0, 0.0), (1.0, 0.0, 0.0), False),  # beside the way, touching it
        ((20.0, 10.0 - 2 * TOUCH, 0.0), (1.0, 0.0, 0.0), True),
        ((10.0, 0.0, 0.0), (0.0, 1.0, 0.0), False),  # slides along it
        ((10.0, 0.0, 0.0), (1.0, 0.0, 0.0), True),
        ((500.0, 500.0, 0.0), (0.6, 0.8, 0.0), False),  # the way is 500 : 667 there, 10 wide
        ((600.0, 800.0, 0.0), (0.6, 0.8, 0.0), True),
    ],
)
def test_a_cube_is_stopped_by_what_stands_on_its_way(low: Vec, way: Vec, is_stopped: bool) -> None:
    high = (low[0] + 10.0, low[1] + 10.0, low[2] + 10.0)
    assert stopped(CUBE, board("other", box(low, high)), way) is is_stopped


def test_a_tongue_leaves_its_groove_along_it_and_out_of_it_only() -> None:
    """A groove open upwards and at both ends, as a back's in its board."""
    grooved = board(
        "grooved",
        box((0.0, 0.0, 0.0), (100.0, 18.0, 10.0)),
        box((0.0, 0.0, 10.0), (100.0, 6.0, 18.0)),
        box((0.0, 12.0, 10.0), (100.0, 18.0, 18.0)),
    )
    tongue = board("tongue", box((0.0, 6.0, 10.0), (100.0, 12.0, 60.0)))
    ways = {
        (1.0, 0.0, 0.0): False,
        (-1.0, 0.0, 0.0): False,
        (0.0, 0.0, 1.0): False,
        (0.0, 1.0, 0.0): True,
        (0.0, -1.0, 0.0): True,
        (0.0, 0.0, -1.0): True,
    }
    assert {way: stopped(tongue, grooved, way) for way in ways} == ways


def test_boards_that_meet_are_near_and_those_beside_them_are_not() -> None:
    near = board("near", box((10.0 + MEET / 2, 0.0, 0.0), (20.0, 10.0, 10.0)))
    far = board("far", box((10.0 + 2 * MEET, 20.0, 0.0), (20.0, 30.0, 10.0)))
    meets = Room([CUBE, near, far], []).near()
    assert meets[0, 1]
    assert not meets[0, 2]
    assert not meets[0, 0]


def test_who_slides_along_a_board_rubs_and_who_leaves_it_does_not() -> None:
    floor = board("floor", box((-50.0, -50.0, -10.0), (50.0, 50.0, 0.0)))
    room = Room([CUBE, floor], [])
    assert room.slides(np.array((1.0, 0.0, 0.0)))[0, 1]
    assert not room.slides(np.array((0.0, 0.0, 1.0)))[0, 1]


def blob(luck: random.Random, at: Vec) -> tuple[Vec, ...]:
    """Four or five corners of a convex body about a point."""
    points = [
        (at[0] + luck.uniform(-9, 9), at[1] + luck.uniform(-9, 9), at[2] + luck.uniform(-9, 9))
        for _ in range(luck.randint(4, 5))
    ]
    hull = m3.Manifold.hull_points(np.array(points)).to_mesh64().vert_properties
    return tuple((float(x), float(y), float(z)) for x, y, z in np.array(hull)[:, :3])


@pytest.mark.parametrize("seed", range(40))
def test_the_kernels_swept_hull_agrees_for_bodies_and_ways_at_random(seed: int) -> None:
    """The hull of a body here and 1000 mm on is all that it sweeps: what it shares with another
    is found by a mesh kernel that knows nothing of planes."""
    luck = random.Random(seed)
    one = blob(luck, (0.0, 0.0, 0.0))
    other = blob(luck, (luck.uniform(-30, 30), luck.uniform(-30, 30), luck.uniform(-30, 30)))
    v = np.array([luck.gauss(0, 1) for _ in range(3)])
    v /= np.linalg.norm(v)
    here = np.array(one)
    swept = m3.Manifold.hull_points(np.vstack([here, here + 1000.0 * v]))
    shared = (swept ^ m3.Manifold.hull_points(np.array(other))).volume()
    if 0.0 < shared < 0.05:
        shared = 1.0  # so little is a corner that is met
    way = (float(v[0]), float(v[1]), float(v[2]))
    assert stopped(board("one", one), board("other", other), way) is (shared > 0.0)
