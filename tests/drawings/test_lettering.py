"""Words as strokes: nothing is left out, and they take just the room they say."""

from __future__ import annotations

import unicodedata

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from fixtures.drawings import lettering
from fixtures.drawings.lettering import box, fitting, pen_of, polylines, shown, ways, width, wrapped
from fixtures.drawings.marks import Anchor, Words
from fixtures.glyphs import GLYPHS

LETTERS = "".join(GLYPHS)


def inked(words: Words) -> shapely.Geometry:
    """The words' ink, as shapely widens their strokes with round ends."""
    return shapely.MultiLineString([way.tolist() for way in ways(words)]).buffer(
        pen_of(words) / 2, quad_segs=8
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Shelf two", "SHELF TWO"),
        ("Böden é ñ", "BODEN E N"),
        ("11½ in", "11 1/2 IN"),
        ("¾–⅞", "3/4-7/8"),
        ("ø8 ‘a’ “b” 4−2 …", "⌀8 'A' \"B\" 4-2 ..."),
        ("straße", "STRASSE"),
        ("日本", "??"),
        ("tab\there", "TAB HERE"),
        ("mm²", "MM2"),
        ("", ""),
    ],
)
def test_a_text_is_shown_in_capitals_and_nothing_is_left_out(text: str, said: str) -> None:
    assert shown(text) == said


@given(st.text(max_size=20))
def test_every_sign_shows_and_what_is_shown_has_strokes(text: str) -> None:
    told = shown(text)
    assert set(told) <= set(GLYPHS)
    signs = sum(not _joins(sign) for sign in text)
    assert len(told) >= signs
    assert shown(told) == told


def _joins(sign: str) -> bool:
    """Whether a sign is drawn on the one before it, and leaves none of its own."""
    return unicodedata.combining(sign) != 0


@given(
    st.text(LETTERS, min_size=1, max_size=12),
    st.floats(1.0, 12.0),
    st.sampled_from(["start", "middle", "end"]),
    st.sampled_from([0.0, 30.0, 90.0, -135.0]),
    st.sampled_from([None, 0.2]),
)
def test_words_stay_in_their_box(
    text: str, height: float, anchor: Anchor, turn: float, stroke: float | None
) -> None:
    words = Words(text, (50.0, 40.0), height, anchor=anchor, turn=turn, stroke=stroke)
    if text.strip():
        assert shapely.box(*box(words)).buffer(1e-9).covers(inked(words))


@pytest.mark.parametrize("text", ["H", "HILL", "19.2 E", "NEW 8"])
def test_the_width_is_the_ink_s_and_the_height_the_capital_s(text: str) -> None:
    words = Words(text, (10.0, 30.0), 5.0)
    left, top, right, bottom = inked(words).bounds
    assert (left, right) == pytest.approx((10.0, 10.0 + width(text, 5.0)), abs=2e-3)
    assert (top, bottom) == pytest.approx((25.0, 30.0), abs=2e-3)


def test_words_turn_counter_clockwise_as_seen_about_their_spot() -> None:
    left, top, right, bottom = box(Words("LLL", (50.0, 50.0), 4.0, turn=90.0))
    assert (left, right, bottom) == pytest.approx((46.0, 50.0, 50.0))
    assert top == pytest.approx(50.0 - width("LLL", 4.0))


def test_anchors_put_the_left_end_the_middle_or_the_right_end_on_the_spot() -> None:
    wide = width("SHELF", 5.0)
    begins = [
        box(Words("shelf", (50.0, 50.0), 5.0, anchor=anchor))[0]
        for anchor in ("start", "middle", "end")
    ]
    assert begins == pytest.approx([50.0, 50.0 - wide / 2, 50.0 - wide])


def test_strokes_are_a_tenth_of_the_height_unless_told() -> None:
    """ISO 3098-1:2015, lettering type B: line width 1/10 of the height."""
    assert pen_of(Words("A", (0.0, 0.0), 5.0)) == pytest.approx(0.5)
    assert pen_of(Words("A", (0.0, 0.0), 5.0, stroke=0.7)) == 0.7


def test_a_full_stop_is_heavier_than_one_touch_of_the_pen() -> None:
    touch = np.pi * 0.25**2
    assert inked(Words(".", (0.0, 0.0), 5.0)).area > 1.5 * touch


@given(st.text(LETTERS, max_size=60), st.floats(4.0, 60.0))
def test_wrapped_lines_hold_every_letter_and_are_no_wider_than_the_room(
    text: str, wide: float
) -> None:
    lines = wrapped(text, 4.0, wide)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(width(line, 4.0) <= wide or len(line) == 1 for line in lines)


def test_words_are_broken_at_blanks() -> None:
    assert wrapped("one of bottom, top", 4.0, width("one of bot", 4.0)) == (
        "one of",
        "bottom,",
        "top",
    )
    assert wrapped("", 4.0, 10.0) == ("",)


def test_a_height_is_lessened_only_where_the_room_asks_for_it() -> None:
    assert fitting("SHELF", 100.0, 5.0) == 5.0
    assert width("SHELF", fitting("SHELF", 7.0, 5.0)) == pytest.approx(7.0)


def test_lines_of_a_column_stand_under_each_other_and_do_not_touch() -> None:
    first, second = lettering.column(("HILL", "GOOD"), (10.0, 20.0), 4.0)
    assert first.at == (10.0, 20.0)
    assert box(second)[1] - box(first)[3] > 0.5 * 4.0


def test_no_words_take_no_room_and_have_no_strokes() -> None:
    assert width("", 5.0) == 0.0
    assert polylines("", 5.0) == ()
    assert polylines("  ", 5.0) == ()
