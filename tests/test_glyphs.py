"""The letters of engraved labels: closed, wide enough, open enough, and told apart."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from shapely.geometry import Polygon

from fixtures.errors import InputError
from fixtures.glyphs import GLYPHS, strokes, text_width
from fixtures.outline import area

MARKS = [character for character in GLYPHS if character != " "]
SIZES = [(4.0, 0.6), (4.0, 0.8), (6.0, 0.9), (8.0, 0.8), (8.0, 1.6)]
FRACTIONS = ["3⁄4", "23⁄32", "8⁄8", "11 1⁄2", "1⁄16×"]
FRACTION_SIZES = [(4.0, 0.6), (5.0, 0.8), (6.0, 0.6), (6.0, 0.9)]


def ink(text: str, height: float = 4.0, stroke: float = 0.8) -> shapely.Geometry:
    outlines, _ = strokes(text, height, stroke)
    return shapely.union_all([Polygon(outline.corners()) for outline in outlines])


@pytest.mark.parametrize(("height", "stroke"), SIZES)
@pytest.mark.parametrize("mark", MARKS)
def test_every_bar_is_a_counter_clockwise_area_inside_the_line(
    mark: str, height: float, stroke: float
) -> None:
    outlines, width = strokes(mark, height, stroke)
    assert outlines
    for outline in outlines:
        # the smallest bar is the pen's own octagon round a circle: 8 tan(pi/8) r²
        assert area(outline) >= 8 * math.tan(math.pi / 8) * (stroke / 2) ** 2 - 1e-9
        for x, y in outline.corners():
            assert -1e-9 <= x <= width + 1e-9
            assert -1e-9 <= y <= height + 1e-9


@pytest.mark.parametrize(("height", "stroke"), SIZES)
@pytest.mark.parametrize("mark", MARKS)
def test_every_bar_is_convex_and_as_wide_as_asked(mark: str, height: float, stroke: float) -> None:
    for outline in strokes(mark, height, stroke)[0]:
        corners = outline.corners()
        ends = [*corners[1:], corners[0]]
        # a convex polygon is narrowest square to one of its edges (Houle & Toussaint 1988)
        for (x0, y0), (x1, y1) in zip(corners, ends, strict=True):
            length = math.hypot(x1 - x0, y1 - y0)
            assert length > 0.1 * stroke
            reach = [((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length for x, y in corners]
            assert min(reach) > -1e-9
            assert max(reach) > stroke - 1e-9


@pytest.mark.parametrize("mark", [*"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"])
def test_letters_and_figures_stand_on_the_baseline_and_reach_the_full_height(mark: str) -> None:
    _, low, _, high = ink(mark, 6.0, 0.9).bounds
    assert (low, high) == pytest.approx((0.0, 6.0))


def test_any_two_marks_differ_by_more_than_one_touch_of_the_pen() -> None:
    """Laid over each other by their middles, at the smallest size, where they differ least.

    0.8 × 0.8 mm² is a square as wide as the stroke: less could be a blob or a gap of the print.
    """
    drawn = {mark: ink(mark) for mark in MARKS}
    for a, b in itertools.combinations(MARKS, 2):
        shift = drawn[a].envelope.centroid.x - drawn[b].envelope.centroid.x
        other = shapely.affinity.translate(drawn[b], shift)
        assert drawn[a].symmetric_difference(other).area > 0.8 * 0.8, f"{a} and {b}"


@pytest.mark.parametrize(
    ("mark", "n_holes"),
    [("8", 2), ("B", 2), ("4", 0), *((mark, 1) for mark in "069ADOPQR#°")],
)
def test_closed_letters_stay_open_at_the_smallest_size(mark: str, n_holes: int) -> None:
    """Each inside takes a peg of one line, 1.1 × 0.4 mm nozzle (common practice, no source)."""
    drawn = ink(mark)
    assert isinstance(drawn, Polygon)
    assert len(drawn.interiors) == n_holes
    for ring in drawn.interiors:
        peg = shapely.maximum_inscribed_circle(Polygon(ring), tolerance=1e-3)
        assert 2 * peg.length > 0.44


@pytest.mark.parametrize(("mark", "x", "y"), [("→", 1, 0), ("←", -1, 0), ("↑", 0, 1), ("↓", 0, -1)])
def test_arrows_point_the_way_they_say(mark: str, x: int, y: int) -> None:
    """The head is the heavy end, so the middle of the ink lies on its side."""
    drawn = ink(mark)
    middle = drawn.envelope.centroid
    assert x * (drawn.centroid.x - middle.x) + y * (drawn.centroid.y - middle.y) > 0.1
    assert abs(y * (drawn.centroid.x - middle.x) + x * (drawn.centroid.y - middle.y)) < 1e-9


def test_letters_are_not_mirrored() -> None:
    for mark in "EFKLP":  # these carry their stem on the left
        drawn = ink(mark)
        assert drawn.centroid.x < drawn.envelope.centroid.x - 0.1


def test_neighbours_stand_two_tenths_of_the_height_apart_at_the_widest_stroke() -> None:
    drawn = ink("HH", 5.0, 1.0)
    first, second = sorted(drawn.geoms, key=lambda part: part.bounds[0])
    assert first.distance(second) == pytest.approx(1.0)


@pytest.mark.parametrize(("a", "b"), [("19.2", "+0.40"), ("FRONT", " ↑"), ("8", "×40")])
def test_width_adds_up_with_one_gap_between(a: str, b: str) -> None:
    for height in (4.0, 6.5):
        apart = text_width(a, height) + text_width(b, height) if b.strip() else 0.0
        assert text_width(a + b, height) == pytest.approx(apart + 0.2 * height)


def test_width_is_the_same_from_both_and_does_not_depend_on_the_stroke() -> None:
    for stroke in (0.8, 1.2):
        assert strokes("3F7A", 6.0, stroke)[1] == text_width("3F7A", 6.0)


def test_width_is_that_of_the_ink_at_the_widest_stroke() -> None:
    low, _, high, _ = ink("19.2+0.40", 5.0, 1.0).bounds
    assert (low, high) == pytest.approx((0.0, text_width("19.2+0.40", 5.0)))


def test_blank_leaves_room_but_no_ink() -> None:
    assert len(strokes("A B", 4.0, 0.8)[0]) == len(strokes("AB", 4.0, 0.8)[0])
    assert text_width("A B", 4.0) > text_width("AB", 4.0) + 1.0


def test_a_size_makes_few_outlines() -> None:
    assert len(strokes("19.2+0.40", 5.0, 0.8)[0]) <= 60


def test_bars_that_meet_share_the_corners_of_the_pen_exactly() -> None:
    """Both bars of an L leave the pen's outer side at their corner, the two points of one side."""
    upright, foot = strokes("L", 5.3, 0.87)[0]
    assert len(set(upright.corners()) & set(foot.corners())) == 2


def test_unknown_characters_are_named_and_the_known_ones_listed() -> None:
    with pytest.raises(InputError) as caught:
        strokes("a19²5", 4.0, 0.8)
    assert str(caught.value) == (
        "The label 'a19²5' holds 'a', '²', which cannot be engraved. Use the blank and these: "
        "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ+-./°×<>↑↓←→=\"':#?,;!|_~*()[]&%±≤≥⌀⌴⌵↧"
    )


@pytest.mark.parametrize("text", ["", "  "])
def test_a_label_without_a_mark_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        strokes(text, 4.0, 0.8)
    assert str(caught.value) == f"The label '{text}' has nothing to engrave. Give it a text."


@pytest.mark.parametrize("height", [3.9, 8.1, math.nan])
def test_a_height_out_of_range_is_refused(height: float) -> None:
    for call in (lambda: strokes("A", height, 0.8), lambda: text_width("A", height)):
        with pytest.raises(InputError) as caught:
            call()
        assert str(caught.value) == (
            f"The label is {height:g} mm high, but letters are engraved 4 to 8 mm high. "
            "Give a height from 4 mm to 8 mm."
        )


@pytest.mark.parametrize("stroke", [0.59, 1.01, math.nan])
def test_a_stroke_out_of_range_is_refused(stroke: float) -> None:
    with pytest.raises(InputError) as caught:
        strokes("A", 5.0, stroke)
    assert str(caught.value) == (
        f"The label's stroke is {stroke:g} mm, but letters 5 mm high take 0.6 to 1 mm. "
        "Give a stroke from 0.6 mm to 1 mm."
    )


def test_raised_letters_ask_for_two_lines_of_a_nozzle_of_0_4() -> None:
    with pytest.raises(InputError) as caught:
        strokes("A", 5.0, 0.7, raised=True)
    assert str(caught.value) == (
        "The label's stroke is 0.7 mm, but raised letters 5 mm high take 0.8 to 1 mm. "
        "Give a stroke from 0.8 mm to 1 mm."
    )
    assert strokes("A", 5.0, 0.8, raised=True) == strokes("A", 5.0, 0.8)


def test_a_fraction_asks_for_a_thinner_pen_or_higher_letters() -> None:
    with pytest.raises(InputError) as caught:
        strokes("3⁄4", 5.0, 0.9)
    assert str(caught.value) == (
        "The label's stroke is 0.9 mm, but fractions 5 mm high take 0.6 to 0.8 mm. "
        "Give a stroke from 0.6 mm to 0.8 mm."
    )
    with pytest.raises(InputError) as caught:
        strokes("3⁄4", 4.0, 0.8, raised=True)
    assert str(caught.value) == (
        "The label is 4 mm high, but raised fractions with strokes of 0.8 mm are 5 mm high or "
        "more. Give a height from 5 mm to 8 mm."
    )


@pytest.mark.parametrize("text", ["⁄", "3⁄", "⁄4", "A⁄B"])
def test_a_fraction_slash_stands_between_figures(text: str) -> None:
    with pytest.raises(InputError, match="holds '⁄', which cannot be engraved"):
        strokes(text, 5.0, 0.8)


@pytest.mark.parametrize(("height", "stroke"), FRACTION_SIZES)
@pytest.mark.parametrize("text", FRACTIONS)
def test_every_bar_of_a_fraction_is_as_wide_as_asked_and_in_the_line(
    text: str, height: float, stroke: float
) -> None:
    outlines, width = strokes(text, height, stroke)
    assert width == text_width(text, height)
    for outline in outlines:
        bar = Polygon(outline.corners())
        # a convex shape is as wide as its narrowest rectangle round it; the pen's is an octagon
        sides = shapely.minimum_rotated_rectangle(bar).exterior.coords
        lengths = [math.dist(a, b) for a, b in itertools.pairwise(sides)]
        assert min(lengths) > stroke - 1e-9
        # nor is it wider than the octagon is over its corners, 1 / cos(22.5°)
        assert min(lengths) < stroke / math.cos(math.pi / 8) + 1e-9
    left, low, right, high = ink(text, height, stroke).bounds
    assert left > -1e-9
    assert right < width + 1e-9
    assert (low, high) == pytest.approx((0.0, height))


@pytest.mark.parametrize(("height", "stroke"), FRACTION_SIZES)
@pytest.mark.parametrize("text", ["3⁄4", "8⁄8", "23⁄32", "6⁄9", "1⁄16", "7⁄64"])
def test_a_fraction_s_figures_and_bar_stand_clear_and_open(
    text: str, height: float, stroke: float
) -> None:
    """Between them one line of a 0.4 mm nozzle goes, 1.1 × 0.4 mm (common practice, no source);
    inside a closed figure one goes that is squeezed to the nozzle's own width."""
    parts = list(ink(text, height, stroke).geoms)
    assert len(parts) == len(text)
    for a, b in itertools.combinations(parts, 2):
        assert a.distance(b) > 0.44
    for part in parts:
        for ring in part.interiors:
            peg = shapely.maximum_inscribed_circle(Polygon(ring), tolerance=1e-3)
            assert 2 * peg.length > 0.4


def test_a_fraction_s_figures_stand_above_left_and_below_right_of_its_bar() -> None:
    parts = sorted(ink("1⁄7", 6.0, 0.8).geoms, key=lambda part: part.centroid.x)
    (one, bar, seven) = parts
    assert one.bounds[3] == pytest.approx(6.0)
    assert one.bounds[1] == pytest.approx(2.0)  # figures are two thirds as high
    assert (bar.bounds[1], bar.bounds[3]) == pytest.approx((0.0, 6.0))
    assert (seven.bounds[1], seven.bounds[3]) == pytest.approx((0.0, 4.0))


def test_a_fraction_takes_less_room_than_its_figures_in_full_height() -> None:
    assert text_width("3⁄4", 5.0) < 0.75 * text_width("3/4", 5.0)


def test_digits_before_a_fraction_are_drawn_as_ever() -> None:
    whole, _ = strokes("11 ", 6.0, 0.8)
    assert strokes("11 3⁄4", 6.0, 0.8)[0][: len(whole)] == whole


def test_everything_wrong_is_said_at_once() -> None:
    with pytest.raises(InputError) as caught:
        strokes("é", 9.0, 0.8)
    assert [fault.where for fault in caught.value.faults] == ["label", "label height"]
