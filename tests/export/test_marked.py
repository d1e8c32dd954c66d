"""Marked pictures: hatch where the place is and nowhere else, as dense as it is bad, in grey."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures import look
from fixtures.export import marked, pen
from fixtures.export.picture import FINE, drawn
from fixtures.finding import DOWN, Finding, Severity, Where
from fixtures.mesh import make
from tests.export.shapes import BLOCK, box, of
from tests.export.test_picture import decoded

TOP: Where = ((0.0, 0.0, 30.0), (10.0, 20.0, 30.0))
BACK: Where = ((0.0, 20.0, 2.0), (10.0, 20.0, 28.0))
"""Of BLOCK, 10 × 20 × 30: its top, and its back, which no view shows."""
WIDE = 2 * (640 + 2 * 56)


def finding(severity: Severity = "mend", *places: Where, **more: object) -> Finding:
    made = Finding("thin-wall", severity, "It is thin.", "Thicken it.", places=places or (TOP,))
    return replace(made, **more)  # type: ignore[arg-type]


def picture(*findings: Finding) -> np.ndarray:
    return decoded(marked.encode(BLOCK, findings))[: 44 + 600]  # without the list


def changed(*findings: Finding) -> np.ndarray:
    """Where the part itself is drawn otherwise than without findings; numbers and lines apart."""
    view = drawn(BLOCK, 640, 600, marked.VIEWS[0][1], marked.WARM)
    canvas = view.colours.copy()
    masks = marked._masks(BLOCK, view, list(enumerate(findings, 1)))
    for number, mask in masks.items():
        marked._hatch(canvas, mask, findings[number - 1].severity)
    return np.asarray((canvas != view.colours).any(axis=2))


def test_the_same_bytes_each_time() -> None:
    found = [finding("stop"), finding("note", BACK)]
    assert marked.encode(BLOCK, found, "block") == marked.encode(BLOCK, found, "block")


def test_hatch_lies_on_the_place_and_nowhere_else() -> None:
    view = drawn(BLOCK, 640, 600, marked.VIEWS[0][1], marked.WARM)
    inked = changed(finding("stop"))
    points = view.points(inked & (view.triangle >= 0))
    assert len(points) > 5000
    assert points[:, 2].min() > 29.5  # the top, and what lies next to its rim
    assert np.ptp(points, axis=0)[:2] == pytest.approx((10.0, 20.0), abs=0.2)


def test_the_worse_the_denser() -> None:
    """5 of 10, 5 of 20, 4 of 40 fine pixels of the lines, and the border."""
    severities: tuple[Severity, ...] = ("stop", "mend", "note")
    inked = [int(changed(finding(severity)).sum()) for severity in severities]
    assert inked[0] > 1.7 * inked[1] > 1.7 * 1.7 * inked[2]


def test_the_hatch_is_darker_than_the_part_in_grey() -> None:
    """Luma by Rec. 601: the accent under any tone of the part."""
    luma = np.array([0.299, 0.587, 0.114])
    darkest = 0.45 * np.array(marked.WARM.part) @ luma
    assert np.array(look.PLUM) @ luma < 0.9 * darkest
    assert np.array(look.PAPER) @ luma > 240


def test_only_faces_that_look_the_way_told_are_meant() -> None:
    """A plate 2 mm thick: its underside is marked from below, its top not at all."""
    plate = of(box(40, 30, 2))
    place: Where = ((5.0, 5.0, 0.0), (35.0, 25.0, 2.0))
    for facing, seen in (
        (DOWN, (False, True)),
        ((0.0, 0.0, 1.0), (True, False)),
        (None, (True, True)),
    ):
        one = finding("stop", place, facing=facing)
        masks = [
            bool(marked._masks(plate, drawn(plate, 640, 600, view), [(1, one)]))
            for _, view in marked.VIEWS
        ]
        assert tuple(masks) == seen


def test_what_no_view_shows_is_pointed_at_from_above() -> None:
    views = [drawn(BLOCK, 640, 600, view) for _, view in marked.VIEWS]
    hidden = finding("stop", BACK, facing=(0.0, 1.0, 0.0))
    masks = [marked._masks(BLOCK, view, [(7, hidden)]) for view in views]
    index, mark = marked._mark(7, hidden, views, masks)
    assert (index, mark.number, mark.seen) == (0, 7, False)
    middle = views[0].pixels(np.array([[5.0, 20.0, 15.0]]))[0]
    assert mark.spot == pytest.approx(tuple(middle))


def test_what_is_seen_is_pointed_at_where_it_is() -> None:
    views = [drawn(BLOCK, 640, 600, view) for _, view in marked.VIEWS]
    masks = [marked._masks(BLOCK, view, [(1, finding())]) for view in views]
    index, mark = marked._mark(1, finding(), views, masks)
    assert (index, mark.seen) == (0, True)
    chosen = np.zeros(views[0].triangle.shape, dtype=bool)
    chosen[int(mark.spot[1]), int(mark.spot[0])] = True
    (spot,) = views[0].points(chosen)
    assert spot == pytest.approx((5.0, 10.0, 30.0), abs=1.0)


def test_numbers_keep_off_each_other() -> None:
    marks = [marked._Mark(n, (10.0, 100.0 + n), True) for n in range(20)]
    placed = marked._spread(marks, 66.0, 1200.0)
    apart = np.diff(placed)
    assert apart.min() >= 1200.0 / 20 - 1e-9
    assert placed[0] >= 30.0 - 1e-9
    assert placed[-1] <= 1170.0 + 1e-9
    assert marked._spread([], 66.0, 1200.0) == []


def test_a_number_is_drawn_for_each_finding_with_a_place() -> None:
    """The paper beside the views carries a ring for each of them."""
    sides = [
        int((picture(*[finding()] * count) != look.PAPER).any(axis=2)[:, [28, 56 + 640 + 28]].sum())
        for count in (0, 1, 2)
    ]
    assert sides[0] < sides[1] < sides[2]


def test_every_finding_is_listed_and_many_are_counted() -> None:
    rows = [
        decoded(marked.encode(BLOCK, [finding()] * count)).shape[0] for count in (0, 1, 2, 3, 31)
    ]
    per_row = 27
    assert rows[1] == rows[2] == rows[0]  # two columns
    assert rows[3] == rows[0] + per_row
    assert rows[4] == rows[0] + per_row * (marked.MOST // 2 - 1)
    assert decoded(marked.encode(BLOCK, [])).shape[1] == WIDE


def test_a_finding_of_the_whole_part_has_no_place_and_is_listed() -> None:
    bare = finding("stop", places=())
    assert marked._words(bare, 1e9).endswith("the whole")
    assert not changed(bare).any()


def test_words_give_way_when_there_is_no_room() -> None:
    one = finding("note", feature="slot_a", z=(1.0, 2.5))
    assert marked._words(one, 1e9) == "note  thin wall  slot a  z 1.0 to 2.5"
    assert marked._words(one, 100.0) == "note  thin wall"


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="without triangles"):
        marked.encode(make(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)), [])


# --- the pen --------------------------------------------------------------------------------


def canvas(width: int = 120, height: int = 80) -> np.ndarray:
    return np.full((height, width, 3), 255, dtype=np.uint8)


def inked(page: np.ndarray) -> np.ndarray:
    return np.asarray((page != 255).any(axis=2))


def test_a_stroke_covers_a_stadium() -> None:
    """2 r l + pi r², r = 5, l = 60."""
    page = canvas()
    pen.stroke(page, (30.0, 40.0), (90.0, 40.0), 5.0, (0, 0, 0))
    assert inked(page).sum() == pytest.approx(600 + np.pi * 25, rel=0.01)


def test_half_of_a_broken_stroke_is_left_out() -> None:
    whole, broken = canvas(), canvas()
    pen.stroke(whole, (10.0, 10.0), (110.0, 70.0), 1.0, (0, 0, 0))
    pen.stroke(broken, (10.0, 10.0), (110.0, 70.0), 1.0, (0, 0, 0), 6.0)
    assert inked(broken).sum() == pytest.approx(0.5 * inked(whole).sum(), rel=0.1)
    assert not (inked(broken) & ~inked(whole)).any()


def test_what_lies_off_the_page_is_cut_off() -> None:
    page = canvas()
    pen.stroke(page, (-50.0, -50.0), (-20.0, 300.0), 3.0, (0, 0, 0))
    assert not inked(page).any()
    pen.disc(page, (0.0, 0.0), 10.0, (0, 0, 0))
    assert inked(page).sum() == pytest.approx(np.pi * 100 / 4, rel=0.05)


def test_letters_stand_on_their_line_and_take_the_width_told() -> None:
    page = canvas(400, 80)
    pen.write(page, "hill 12", (20.0, 60.0), 40.0, (0, 0, 0), 2.0)
    rows, columns = np.nonzero(inked(page))
    assert (rows.min(), rows.max()) == pytest.approx((18, 61), abs=1)
    assert columns.min() == pytest.approx(18, abs=1)
    # the width is that between the middles of the outer strokes; the pen's radius is 2
    assert columns.max() == pytest.approx(20 + pen.width("hill 12", 40.0) + 2, abs=1)


def test_pictures_are_drawn_twice_as_fine_as_they_are_kept() -> None:
    assert drawn(BLOCK, 64, 60, (0.0, 0.0)).colours.shape == (60 * FINE, 64 * FINE, 3)


def test_a_pixel_and_its_point_agree() -> None:
    view = drawn(BLOCK, 200, 150, (35.0, 30.0))
    shown = view.triangle >= 0
    points = view.points(shown)
    y, x = np.nonzero(shown)
    assert np.abs(view.pixels(points) - np.column_stack([x, y]) - 0.5).max() < 1e-6
    on_a_side = (
        np.abs(points - (0.0, 0.0, 0.0)).min(axis=1),
        np.abs(points - (10.0, 20.0, 30.0)).min(axis=1),
    )
    assert np.minimum(*on_a_side).max() < 1e-3
