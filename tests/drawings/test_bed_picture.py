"""A bed load's picture: true outlines, nothing cut, every part told, letters that can be read."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image

from fixtures.beds import Laid, Print, lay
from fixtures.drawings import bed_picture, lettering, pixels, svg
from fixtures.drawings.marks import LEAST, Area, Disc, Drawing, Lines, Words
from fixtures.look import PRINTED
from tests.bed_parts import bar, ell, mushroom, odd, shadows
from tests.export.shapes import box, of

BED = (240.0, 200.0, 230.0)


def some(bed: tuple[float, float, float] = BED) -> Laid:
    rng = np.random.default_rng(3)
    frame = Print("frame", "FR4M", of(box(80, 70, 10) - box(50, 40, 30, (15, 15, -5))), 2)
    known = replace(ell("bracket", 90, 80, 25, 3), time=(3600.0, 5400.0), mass=20.0)
    small = [mushroom(f"knob-{i}", 4, 8, 1) for i in range(9)]
    return lay([odd(rng, "odd-one"), frame, known, *small, bar("bar", 150, 20)], bed)


def areas(drawing: Drawing) -> list[shapely.Geometry]:
    found = []
    for mark in drawing.marks:
        if isinstance(mark, Area) and mark.fill == PRINTED:
            shape = shapely.Polygon(mark.rings[0])
            for ring in mark.rings[1:]:
                shape = shapely.symmetric_difference(shape, shapely.Polygon(ring))
            found.append(shape)
    return found


def words(drawing: Drawing) -> list[Words]:
    return [mark for mark in drawing.marks if isinstance(mark, Words)]


def test_parts_are_drawn_where_they_lie_and_as_large_as_they_are() -> None:
    laid = some()
    for load in laid.loads:
        drawing = bed_picture.drawing(laid, load)
        drawn, true = areas(drawing), shadows(laid, load)
        assert len(drawn) == len(load.placements)
        scale = np.sqrt(drawn[0].area / true[0].area)
        low = shapely.union_all(true).bounds
        shown = shapely.union_all(drawn).bounds
        for one, other in zip(drawn, true, strict=True):
            assert one.area == pytest.approx(other.area * scale**2, rel=1e-3)
            # from the left, and from the front, which is below
            assert one.bounds[0] - shown[0] == pytest.approx(
                (other.bounds[0] - low[0]) * scale, abs=0.01
            )
            assert shown[3] - one.bounds[3] == pytest.approx(
                (other.bounds[1] - low[1]) * scale, abs=0.01
            )


@pytest.mark.parametrize("bed", [BED, (200.0, 240.0, 230.0), (400.0, 110.0, 100.0)])
def test_nothing_leaves_the_paper(bed: tuple[float, float, float]) -> None:
    laid = some(bed)
    for load in laid.loads:
        drawing = bed_picture.drawing(laid, load)
        assert drawing.wide == bed_picture.WIDE
        for mark in drawing.marks:
            if isinstance(mark, Words):
                left, top, right, low = lettering.box(mark)
            elif isinstance(mark, Area | Lines):
                points = mark.ends.reshape(-1, 2) if isinstance(mark, Lines) else mark.rings[0]
                (left, top), (right, low) = points.min(axis=0), points.max(axis=0)
            else:
                assert isinstance(mark, Disc)
                (x, y), r = mark.at, mark.radius + 0.125
                left, top, right, low = x - r, y - r, x + r, y + r
            assert min(left, top) >= 0
            assert right <= drawing.wide + 1e-6
            assert low <= drawing.high + 1e-6


def test_every_part_has_its_number_and_the_legend_tells_them() -> None:
    laid = some()
    (load,) = laid.loads[:1]
    drawing = bed_picture.drawing(laid, load)
    told = [each.text for each in words(drawing)]
    for number, (name, count) in enumerate(load.counts.items(), 1):
        assert f"{count} × {name}" in told
        assert told.count(str(number)) == count + 1  # on each part, and in the legend
    assert len(load.counts) > 9  # numbers of two figures too


def test_marks_stand_inside_their_parts() -> None:
    laid = some()
    every = 0
    for load in laid.loads:
        drawing = bed_picture.drawing(laid, load)
        marks = {laid.named(name).mark for name in load.counts}
        found = [each for each in words(drawing) if each.text in marks]
        every += len(found)
        for each in found:
            box_ = shapely.box(*lettering.box(each))
            assert any(one.contains(box_) for one in areas(drawing))
    assert every


def test_discs_of_numbers_do_not_cover_each_other() -> None:
    laid = some()
    for load in laid.loads:
        discs = [mark for mark in bed_picture.drawing(laid, load).marks if isinstance(mark, Disc)]
        at = np.array([disc.at for disc in discs])
        radius = np.array([disc.radius for disc in discs])
        apart = np.linalg.norm(at[:, None] - at, axis=2) - radius[:, None] - radius
        np.fill_diagonal(apart, 1.0)
        assert apart.min() > 0


def test_no_disc_hides_a_part() -> None:
    laid = some((400.0, 110.0, 100.0))  # knobs of 8 mm come out 3.5 mm wide
    for load in laid.loads:
        drawing = bed_picture.drawing(laid, load)
        discs = [
            shapely.Point(mark.at).buffer(mark.radius)
            for mark in drawing.marks
            if isinstance(mark, Disc)
        ]
        for one in areas(drawing):
            assert not any(disc.contains(one) for disc in discs)


def test_words_are_tall_enough_for_a_wall() -> None:
    laid = some()
    for load in laid.loads:
        assert min(each.height for each in words(bed_picture.drawing(laid, load))) >= LEAST


def test_hours_grams_the_front_and_the_bed_are_told_in_the_readers_units() -> None:
    laid = lay([replace(bar("b", 50, 20), time=(3600.0, 5400.0), mass=20.4)], (254.0, 203.2, 200.0))
    told = [each.text for each in words(bed_picture.drawing(laid, laid.loads[0], units="in"))]
    assert told[:3] == ["bed 1 of 1", "1 h 00 min to 1 h 30 min", "20 g"]
    assert {"front, 10 in", "8 in"} <= set(told)


def test_all_formats_write_it_and_the_thumbnail_shows_the_parts() -> None:
    laid = some()
    drawing = bed_picture.drawings(laid)[0]
    assert svg.encode(drawing) == svg.encode(bed_picture.drawings(some())[0])
    assert Image.open(io.BytesIO(pixels.encode(drawing, dots=2.0))).width == 360
    small = np.asarray(Image.open(io.BytesIO(bed_picture.thumbnail(laid, laid.loads[0]))))
    assert small.shape == (256, 256, 3)
    shown = np.all(small == PRINTED, axis=2).sum() / 256**2
    # 60 of the paper's 64 mm are the bed's 240; outlines of 0.5 mm take some of the parts
    true = sum(one.area for one in shadows(laid, laid.loads[0])) / 256**2
    assert 0.6 * true < shown < true
