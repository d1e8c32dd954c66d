"""Pictures, judged by a PNG decoder written here (and Pillow) and by plane geometry."""

from __future__ import annotations

import io
import math
import struct
import zlib

import manifold3d
import numpy as np
import pytest

from fixtures.export import picture
from fixtures.mesh import Mesh, make
from tests.export.shapes import BLOCK, BRACKET, PLATE, box, of

FRONT, TOP = (0.0, 0.0), (0.0, 90.0)
WHITE = 765  # sum of three channels


def decoded(data: bytes) -> np.ndarray:
    """(height, width, 3). Source: the PNG specification; only RGB and the filter 'up'."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (size,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        assert struct.unpack_from(">I", data, at + 8 + size) == (zlib.crc32(kind + body),)
        chunks[kind] = body
        at += 12 + size
    width, height, *form = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    assert form == [8, 2, 0, 0, 0]
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(height, -1)
    assert (rows[:, 0] == 2).all()
    return np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8).reshape(height, width, 3)


def seen(mesh: Mesh, view: tuple[float, float], **more: object) -> np.ndarray:
    """Sum of the channels at each pixel, (300, 400): how light it is."""
    data = picture.encode(mesh, width=400, height=300, view=view, **more)  # type: ignore[arg-type]
    return decoded(data).astype(int).sum(axis=2)


def extent(light: np.ndarray) -> tuple[int, int]:
    """Width and height of what is drawn, pixels."""
    rows, columns = np.nonzero(light < WHITE)
    return int(np.ptp(columns)) + 1, int(np.ptp(rows)) + 1


def test_size_is_as_asked_and_pillow_agrees() -> None:
    image = pytest.importorskip("PIL.Image")
    data = picture.encode(BLOCK, width=123, height=77)
    with image.open(io.BytesIO(data)) as opened:
        assert opened.size == (123, 77)
        assert np.array_equal(np.asarray(opened), decoded(data))


def test_the_part_fills_the_picture_but_for_a_margin() -> None:
    light = seen(of(box(40, 10, 20)), FRONT)
    assert extent(light) == pytest.approx((368, 184), abs=2)  # 92 % of 400, and half of that
    assert (light[:10] == WHITE).all()


@pytest.mark.parametrize(
    ("view", "shown"), [(FRONT, (10, 30)), ((90.0, 0.0), (20, 30)), (TOP, (10, 20))]
)
def test_views_show_the_sides_they_should(
    view: tuple[float, float], shown: tuple[float, float]
) -> None:
    width, height = extent(seen(BLOCK, view))  # 10 × 20 × 30 along x, y, z
    assert width / height == pytest.approx(shown[0] / shown[1], rel=0.02)


@pytest.mark.parametrize("view", [(35.0, 30.0), (-20.0, 55.0), (200.0, -10.0)])
def test_the_area_drawn_is_the_projected_area(view: tuple[float, float]) -> None:
    azimuth, elevation = map(math.radians, view)
    towards = np.abs(
        (
            math.sin(azimuth) * math.cos(elevation),
            math.cos(azimuth) * math.cos(elevation),
            math.sin(elevation),
        )
    )
    area = towards @ (20 * 30, 10 * 30, 10 * 20)  # a box shows three faces, each by its cosine
    light = seen(BLOCK, view)
    corners = np.array([(x, y, z) for x in (0, 10) for y in (0, 20) for z in (0, 30)])
    across = np.ptp(corners @ (math.cos(azimuth), math.sin(azimuth), 0))
    scale = (extent(light)[0] - 1) / across
    assert np.count_nonzero(light < WHITE) == pytest.approx(area * scale**2, rel=0.03)


def test_a_hole_through_is_seen_through() -> None:
    light = seen(PLATE, TOP)  # 40 × 30, its hole at 15, 15 with radius 5
    scale = extent(light)[1] / 30
    row, column = 150, round(200 - 5 * scale)
    assert light[row, column] == WHITE
    assert light[row, round(column + 4 * scale)] == WHITE
    assert light[row, round(column + 7 * scale)] < WHITE


def test_hidden_edges_are_not_drawn() -> None:
    # a cavity inside: nothing of it may be seen from any side
    hollow = of(box(20, 20, 20) - box(10, 10, 10, (5, 5, 5)))
    for view in picture.ALL_SIDES:
        assert np.array_equal(seen(hollow, view), seen(of(box(20, 20, 20)), view))


def test_a_step_between_faces_of_one_tone_is_drawn_as_a_line() -> None:
    step = of(box(20, 10, 20) + box(10, 20, 20))  # from the back: two planes facing alike
    light = seen(step, (180.0, 0.0))
    assert light[150, 195:206].min() < light[150, 150] - 150  # the step is in the middle
    assert light[150, 100] == light[150, 300]


def lines_across(mesh: Mesh, view: tuple[float, float]) -> int:
    """How many dark lines cross the middle row, in a picture large enough to part them."""
    light = decoded(picture.encode(mesh, view=view)).astype(int).sum(axis=2)
    return int(np.count_nonzero(np.diff((light[450] < 250).astype(int)) == 1))


def test_a_round_wall_shows_its_outline_and_not_its_facets() -> None:
    post = of(manifold3d.Manifold.cylinder(30, 8, 8, 48))  # facets 7.5° apart
    assert lines_across(post, FRONT) == 2


def test_sharp_facets_are_drawn() -> None:
    post = of(manifold3d.Manifold.cylinder(30, 8, 8, 8))  # facets 45° apart, four face the viewer
    assert lines_across(post, (10.0, 0.0)) == 5


def test_what_is_nearer_hides_what_is_farther() -> None:
    panel = of(box(10, 2, 30, (0, -4, 0)))
    front = decoded(picture.encode(BLOCK, width=400, height=300, view=FRONT, panels=[panel]))
    back = decoded(picture.encode(BLOCK, width=400, height=300, view=(180, 0), panels=[panel]))
    wood, part = (int(seen[150, 200, 0]) - int(seen[150, 200, 2]) for seen in (front, back))
    assert wood > 1.5 * part  # wood is warmer than the part


def test_panels_are_lighter_than_the_part_in_grey() -> None:
    panel = of(box(10, 20, 30, (12, 0, 0)))
    light = seen(BLOCK, FRONT, panels=[panel])
    assert light[150, 240] > light[150, 160] + 60


def test_the_three_sides_of_a_box_differ_in_grey() -> None:
    light = seen(of(box(20, 20, 20)), (35.0, 30.0))
    middle = {int(light[r, c]) for r, c in ((90, 200), (190, 160), (190, 260))}
    assert len(middle) == 3
    assert min(abs(a - b) for a in middle for b in middle if a != b) > 30


def test_an_open_mesh_is_drawn_from_both_sides() -> None:
    sheet = make([[0, 0, 0], [20, 0, 0], [20, 20, 0], [0, 20, 0]], [[0, 1, 2], [0, 2, 3]])
    assert seen(sheet, TOP)[150, 200] < WHITE
    assert seen(sheet, (0.0, -90.0))[150, 200] < WHITE


def test_a_sheet_has_rows_of_three_views() -> None:
    tiles = decoded(picture.sheet([BRACKET], width=120, height=100))
    assert tiles.shape == (200, 360, 3)
    tall = decoded(picture.sheet([BRACKET, BLOCK], views=[FRONT, TOP], width=120, height=100))
    assert tall.shape == (200, 240, 3)
    assert not np.array_equal(tall[:100, :120], tall[100:, :120])


def test_the_first_tile_is_the_view_itself_but_for_its_rule() -> None:
    tiles = decoded(picture.sheet([BRACKET], width=120, height=100))
    alone = decoded(picture.encode(BRACKET, width=120, height=100))
    assert np.array_equal(tiles[:99, :119], alone[:99, :119])


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="a mesh without triangles cannot be drawn"):
        picture.encode(make([], []))


def test_a_picture_too_small_to_show_anything_is_refused() -> None:
    with pytest.raises(ValueError, match="a picture of 15 × 900 pixels shows nothing"):
        picture.encode(BLOCK, width=15)
