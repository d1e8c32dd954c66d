"""Bodies in a window: which lines are seen, what is veiled, where the window cuts.

Expected lengths are closed forms of a cube in a parallel view.
"""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
from PIL import Image

from fixtures.drawings.bodies import FULL, GHOST, Body, Window, axes, of_solid
from fixtures.drawings.ghosted import Shot, shot
from fixtures.drawings.marks import Lines, Picture
from fixtures.look import WHITE
from tests.export.test_picture import decoded

SIDE, SCALE = 40.0, 0.9
SLANTED = axes(28.0, 24.0)
FRONT = axes(0.0, 0.0)


def cube(x: float = 0.0, y: float = 0.0, z: float = 0.0, side: float = SIDE) -> m3.Manifold:
    return m3.Manifold.cube((side, side, side), True).translate((x, y, z))


def seen(*bodies: Body, frame: np.ndarray = SLANTED, scale: float = SCALE) -> Shot:
    return shot(bodies, Window(5.0, 7.0, 100.0, 80.0, frame, (0.0, 0.0), scale))


def lengths(found: Shot) -> dict[float, float]:
    """Length of strokes on the paper by the width of their pen."""
    total: dict[float, float] = {}
    for mark in found.marks:
        if isinstance(mark, Lines):
            ways = mark.ends[:, 1] - mark.ends[:, 0]
            total[mark.pen.width] = total.get(mark.pen.width, 0.0) + float(
                np.linalg.norm(ways, axis=1).sum()
            )
    return total


def colours(found: Shot) -> np.ndarray:
    picture = next(mark for mark in found.marks if isinstance(mark, Picture))
    return decoded(picture.png)


def test_a_cube_shows_nine_of_its_twelve_edges() -> None:
    found = lengths(seen(of_solid(cube(), FULL)))
    # three edges are seen of each direction, each as long as its projection
    wanted = 3 * SIDE * SCALE * float(np.linalg.norm(SLANTED[:2], axis=0).sum())
    assert list(found) == [FULL.pen.width if FULL.pen else 0.0]
    assert sum(found.values()) == pytest.approx(wanted, rel=0.02)


def test_a_ghost_shows_its_three_far_edges_in_a_thinner_pen() -> None:
    found = lengths(seen(of_solid(cube(), GHOST)))
    each = SIDE * SCALE * float(np.linalg.norm(SLANTED[:2], axis=0).sum())
    assert GHOST.pen is not None
    assert GHOST.behind is not None
    assert GHOST.behind.width < GHOST.pen.width
    assert found[GHOST.pen.width] == pytest.approx(3 * each, rel=0.02)
    assert found[GHOST.behind.width] == pytest.approx(each, rel=0.04)


def test_a_full_body_hides_what_is_behind_it() -> None:
    before = of_solid(cube(y=-60.0, side=50.0), FULL)
    found = seen(before, of_solid(cube(), FULL), frame=FRONT)
    assert not (found.seen == 1).any()
    assert sum(lengths(found).values()) == pytest.approx(4 * 50.0 * SCALE, rel=0.02)


def test_a_ghost_veils_what_is_behind_it_and_leaves_what_is_before_it() -> None:
    inside = of_solid(cube(), FULL)
    bare = colours(seen(inside, frame=FRONT))[200, 250].astype(int)
    for y, veiled in ((-60.0, True), (60.0, False)):
        found = seen(inside, of_solid(cube(y=y, side=50.0), GHOST), frame=FRONT)
        assert found.full[200, 250]
        assert bool(found.veiled[200, 250]) is veiled
        colour = colours(found)[200, 250].astype(int)
        assert bool((colour == bare).all()) is not veiled
        assert np.abs(colour - bare).max() < 60  # it is still seen


def test_nothing_is_drawn_outside_the_window_nor_along_its_border() -> None:
    found = seen(of_solid(cube(x=60.0, side=90.0), GHOST), frame=FRONT, scale=1.0)
    total = 0.0
    for mark in found.marks:
        if isinstance(mark, Lines):
            x, y = mark.ends[..., 0], mark.ends[..., 1]
            assert x.min() >= 5.0
            assert x.max() <= 105.0
            assert y.min() >= 7.0
            assert y.max() <= 87.0
            total += float(np.linalg.norm(mark.ends[:, 1] - mark.ends[:, 0], axis=1).sum())
    # of the front face the left edge, 80 mm of it, is in the window; the far one lies behind it
    assert total == pytest.approx(2 * 80.0, rel=0.03)


def test_the_paper_is_where_a_point_of_the_view_is_said_to_be() -> None:
    window = Window(5.0, 7.0, 100.0, 80.0, FRONT, (10.0, 20.0), 0.5)
    # 10 to the right of the middle and 8 above it, at half size
    assert window.paper((20.0, 99.0, 28.0)).tolist() == [[60.0, 43.0]]


def test_letters_are_drawn_in_pixels_and_not_as_strokes() -> None:
    body = of_solid(cube(), FULL)
    lettered = replace(body, fine=np.ones(len(body.low), dtype=bool))
    found = seen(lettered)
    assert sum(lengths(found).values()) == 0.0
    plain = seen(body)
    assert (colours(found).astype(int) < colours(plain).astype(int)).any()


def test_the_picture_is_read_by_another_library() -> None:
    import io

    found = seen(of_solid(cube(), FULL))
    picture = next(mark for mark in found.marks if isinstance(mark, Picture))
    image = Image.open(io.BytesIO(picture.png))
    assert image.size == (500, 400)
    assert image.getpixel((2, 2)) == WHITE
