"""Rake and splay: closed forms and a plain vector check that shares no code with ours.

Table values: resultant = atan √(tan² r + tan² s), sightline = atan (tan s / tan r) from the
fore-aft line. The set-up is that of chairmaking books, read; the closed form by vectors, worked
out apart from the tool.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from fixtures.leg_angles import axis, faces, foot, leg_cut, resultant, sightline

TABLE = [
    (5.0, 5.0, 7.0532, 45.0),
    (10.0, 10.0, 14.0019, 45.0),
    (14.0, 10.0, 16.9815, 35.2683),
    (20.0, 10.0, 22.0200, 25.8481),
    (25.0, 12.0, 27.1337, 24.5049),
    (8.0, 12.0, 14.2957, 56.5276),
]


@pytest.mark.parametrize(("rake", "splay", "lean", "line"), TABLE)
def test_resultant_and_sightline_are_those_of_the_table(
    rake: float, splay: float, lean: float, line: float
) -> None:
    assert resultant(rake, splay) == pytest.approx(lean, abs=5e-5)
    assert sightline(rake, splay) == pytest.approx(line, abs=5e-5)


def test_with_one_lean_the_resultant_is_that_lean_and_the_sightline_lies_along_it() -> None:
    assert (resultant(12.0, 0.0), sightline(12.0, 0.0)) == pytest.approx((12.0, 0.0))
    assert (resultant(0.0, 12.0), sightline(0.0, 12.0)) == pytest.approx((12.0, 90.0))
    assert (resultant(0.0, 0.0), sightline(0.0, 0.0)) == (0.0, 0.0)


def _down(rake: float, splay: float) -> np.ndarray:
    """A rod hung along -z, leant by what is seen from the side and from the front."""
    d = np.array([np.tan(np.radians(rake)), np.tan(np.radians(splay)), -1.0])
    return np.asarray(d / np.sqrt((d * d).sum()))


def _random() -> list[tuple[float, float]]:
    luck = random.Random(5)
    return [(luck.uniform(0.0, 25.0), luck.uniform(0.0, 25.0)) for _ in range(50)]


@pytest.mark.parametrize(("rake", "splay"), _random())
def test_a_plain_vector_says_the_same_of_lean_sightline_and_foot(rake: float, splay: float) -> None:
    down = _down(rake, splay)
    assert np.allclose(axis(rake, splay), down, atol=1e-12)
    upright = np.degrees(np.arccos(-down[2]))
    assert resultant(rake, splay) == pytest.approx(upright, abs=1e-7)
    assert sightline(rake, splay) == pytest.approx(np.degrees(np.arctan2(down[1], down[0])))
    # down from 170 mm until the floor
    landed = down * 170.0 / -down[2]
    assert foot(rake, splay, 170.0) == pytest.approx((landed[0], landed[1]))


@pytest.mark.parametrize(("rake", "splay"), _random())
@pytest.mark.parametrize("section", ["round", "square"])
def test_a_leg_cut_by_its_lengths_stands_flat_at_its_height(
    section: str, rake: float, splay: float
) -> None:
    """Points all round the leg's section run down it until the floor: longest and shortest."""
    size, height, stop = 30.0, 160.0, 9.0
    cut = leg_cut(section, size, rake, splay, height, stop)  # type: ignore[arg-type]
    down = _down(rake, splay)
    if section == "round":
        aside = np.array([1.0, 0.0, 0.0]) - down[0] * down
        aside /= np.linalg.norm(aside)
        other = np.cross(down, aside)
        turns = np.arange(3600) * 2 * math.pi / 3600
        ring = size / 2 * (np.outer(np.cos(turns), aside) + np.outer(np.sin(turns), other))
    else:
        # the front face is normal to what is square to the axis and to the sideways direction
        front = np.cross(down, [0.0, 1.0, 0.0])
        front /= np.linalg.norm(front)
        side = np.cross(front, down)
        ring = np.array([i * side + j * front for i in (-15.0, 15.0) for j in (-15.0, 15.0)])
    top = stop * down + ring
    # from the top's plane down the leg until z = -height
    runs = (height + top[:, 2]) / -down[2]
    assert cut.longest == pytest.approx(runs.max(), abs=1e-4)
    assert cut.shortest == pytest.approx(runs.min(), abs=1e-4)
    middle = (height + stop * down[2]) / -down[2]
    assert cut.on_axis == pytest.approx(middle, abs=1e-9)
    longest = top[np.argmax(runs)] - stop * down
    assert longest @ np.array([down[0], down[1], 0.0]) >= -1e-9  # the outer side is the long one


@pytest.mark.parametrize(("rake", "splay"), _random())
def test_gauge_and_tilt_of_a_square_leg_make_the_level_cut(rake: float, splay: float) -> None:
    """The plane a saw cuts: square across the leg, turned by the gauge about the front face's
    normal, then leant by the tilt. It must be the floor's plane."""
    cut = leg_cut("square", 30.0, rake, splay, 160.0, 9.0)
    down = _down(rake, splay)
    front = np.cross(down, [0.0, 1.0, 0.0])
    front /= np.linalg.norm(front)
    side = np.cross(front, down)
    if side[2] < 0:
        side = -side
    if front[2] < 0:
        front = -front
    gauge, tilt = np.radians(cut.gauge), np.radians(cut.tilt)
    # line of the cut across the face, and the plane's normal leant out of the face
    normal = np.cos(gauge) * down - np.sin(gauge) * side
    normal = np.cos(tilt) * normal - np.sin(tilt) * front
    assert np.allclose(normal, [0.0, 0.0, -1.0], atol=1e-9)


def test_a_square_legs_front_face_stays_parallel_to_the_case() -> None:
    down = axis(8.0, 12.0)
    _, front = faces(down, (0.0, 1.0, 0.0))
    assert front[1] == pytest.approx(0.0, abs=1e-12)
