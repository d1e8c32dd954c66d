"""The same drawing as SVG, PNG and PDF: at the same places, at true size, the same bytes."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pypdfium2
import pytest
import shapely
from lxml import etree
from PIL import Image

from fixtures.drawings import lettering, on_page, pixels, svg
from fixtures.drawings.marks import DASHED, Area, Disc, Drawing, Lines, Mark, Pen, Picture, Words
from fixtures.export import picture
from fixtures.look import PAPER, PLUM
from tests.drawings.making import (
    BLACK,
    EVERYTHING,
    chequered,
    middle,
    of_pdf,
    of_png,
    on_paper,
    rectangle,
    ring,
)

SPACE = "{http://www.w3.org/2000/svg}"
BOX = (0.0, 0.0, 60.0, 40.0)
THIN = Pen(0.25, BLACK)
DARK = picture.png(np.zeros((4, 4, 3), dtype=np.uint8))
MARKS: dict[str, Mark] = {
    "line": Lines(np.array([((15.1, 10.2), (40.3, 28.7))]), THIN),
    "level line": Lines(np.array([((15.1, 10.23), (40.3, 10.23))]), Pen(0.5, BLACK)),
    "broken line": Lines(np.array([((15.0, 12.0), (41.0, 25.0))]), Pen(0.25, BLACK, DASHED)),
    "corner": Lines(np.array([((15.0, 10.0), (40.0, 10.0)), ((40.0, 10.0), (40.0, 30.0))]), THIN),
    "area": Area((rectangle(15.3, 10.4, 20.2, 15.1), ring(22, 18, 4)), BLACK),
    "outline": Area((ring(30.2, 20.1, 9.0, 5),), None, Pen(0.5, BLACK)),
    "broken outline": Area((rectangle(15.3, 10.4, 20.2, 15.1),), None, Pen(0.5, BLACK, (3, 1.5))),
    "disc": Disc((30.4, 20.3), 7.7, BLACK),
    "circle": Disc((30.4, 20.3), 7.7, None, Pen(0.5, BLACK)),
    "words": Words("Shelf 3/4", (15.2, 25.3), 4.0, BLACK),
    "turned words": Words("Left", (30.2, 25.3), 6.0, BLACK, "middle", 60.0),
}


def drawn_ways(root: etree._Element) -> list[list[tuple[float, float]]]:
    """Ways drawn with a pen, of an SVG's paths, read by lxml."""
    ways = []
    for path in root.iter(f"{SPACE}path"):
        for part in re.findall(r"M[^M]*", path.attrib["d"]):
            numbers = [float(value) for value in re.findall(r"-?[\d.]+", part)]
            way = list(zip(numbers[::2], numbers[1::2], strict=True))
            ways.append([*way, way[0]] if part.endswith("Z") else way)
    return ways


@pytest.mark.parametrize("name", MARKS)
def test_a_mark_lies_at_the_same_place_on_pixels_and_on_paper(name: str) -> None:
    """The middle of its ink, weighed, to 0.02 mm: a tenth of a pixel; and as much of it."""
    drawing = on_paper(MARKS[name])
    one = of_png(pixels.encode(drawing, dots=8.0))
    other = of_pdf(on_page.encode(drawing), 8.0)
    assert middle(one, 8.0, BOX) == pytest.approx(middle(other, 8.0, BOX), abs=0.02)
    assert (255 - one).sum() == pytest.approx((255 - other).sum(), rel=0.04)


@pytest.mark.parametrize("name", ["line", "corner", "outline", "words", "turned words"])
def test_a_mark_lies_at_the_same_place_as_svg(name: str) -> None:
    """The middle of its ink, as shapely widens the written strokes, to 0.02 mm."""
    drawing = on_paper(MARKS[name])
    root = etree.fromstring(svg.encode(drawing))
    (wide,) = (float(path.attrib["stroke-width"]) for path in root.iter(f"{SPACE}path"))
    ways = shapely.MultiLineString(drawn_ways(root))
    want = ways.buffer(wide / 2, quad_segs=32).centroid.coords[0]
    found = middle(of_png(pixels.encode(drawing, dots=12.0)), 12.0, BOX)
    assert found == pytest.approx(want, abs=0.02)


def test_180_mm_and_a_hole_pattern_are_true_on_paper() -> None:
    """Measured at 12 pixels to a mm (305 to the inch) by weighing the ink: within 0.1 mm."""
    ticks = np.array([((x, 20.0), (x, 30.0)) for x in (15.0, 195.0)])
    centres = [(20.0 + 32.0 * i, 60.0 + 37.0 * j) for i in range(6) for j in range(2)]
    marks: list[Mark] = [Lines(ticks, Pen(0.25, BLACK))]
    marks += [Disc(centre, 2.5, None, Pen(0.25, BLACK)) for centre in centres]
    grey = of_pdf(on_page.encode(Drawing(210.0, 297.0, tuple(marks), "True size")), 12.0)
    left, right = (middle(grey, 12.0, (x - 3, 22.0, x + 3, 28.0))[0] for x in (15.0, 195.0))
    assert right - left == pytest.approx(180.0, abs=0.1)
    for x, y in centres:
        found = middle(grey, 12.0, (x - 4, y - 4, x + 4, y + 4))
        assert found == pytest.approx((x, y), abs=0.1)
        # the ink's second moment about the middle is the pen's mean circle's, r² / 2 each way
        low = round((x - 4) * 12), round((y - 4) * 12)
        part = 255 - grey[low[1] : low[1] + 96, low[0] : low[0] + 96]
        across = (np.arange(low[0], low[0] + 96) + 0.5) / 12 - found[0]
        radius = np.sqrt(2 * (part.sum(axis=0) * across**2).sum() / part.sum())
        assert 2 * radius == pytest.approx(5.0, abs=0.1)


def test_scale_and_spot_on_a_page_are_as_asked() -> None:
    from fpdf import FPDF

    pdf = FPDF(format=(210.0, 297.0))
    pdf.set_creation_date(on_page.WHEN)
    pdf.add_page()
    pdf.set_xy(33.0, 44.0)
    drawing = on_paper(Disc((10.0, 8.0), 2.0, BLACK), Picture(DARK, (20.0, 10.0), 8.0, 6.0))
    on_page.draw(pdf, drawing, (100.0, 150.0), 0.5)
    assert (pdf.x, pdf.y) == pytest.approx((33.0, 44.0))
    grey = of_pdf(bytes(pdf.output()), 8.0)
    assert middle(grey, 8.0, (100.0, 150.0, 109.0, 158.0)) == pytest.approx(
        (105.0, 154.0), abs=0.02
    )
    found = middle(grey, 8.0, (109.5, 154.5, 114.5, 158.5))
    # pypdfium2 lays pictures on whole pixels, of 1/8 mm
    assert found == pytest.approx((112.0, 156.5), abs=0.07)


@pytest.mark.parametrize(("wide", "high"), [(210.0, 297.0), (297.0, 210.0), (50.0, 50.0)])
def test_files_are_as_large_as_the_paper(wide: float, high: float) -> None:
    drawing = Drawing(wide, high, (), "Empty", paper=PAPER)
    root = etree.fromstring(svg.encode(drawing))
    assert root.attrib["width"], root.attrib["height"] == (f"{wide:g}mm", f"{high:g}mm")
    assert root.attrib["viewBox"] == f"0 0 {wide:g} {high:g}"
    assert of_png(pixels.encode(drawing, dots=4.0)).shape == (high * 4, wide * 4)
    document = pypdfium2.PdfDocument(on_page.encode(drawing))
    points = tuple(value * 72 / 25.4 for value in (wide, high))
    assert document[0].get_size() == pytest.approx(points, abs=0.01)
    assert len(document) == 1
    document.close()


def test_the_same_drawing_gives_the_same_bytes() -> None:
    for encode in (svg.encode, pixels.encode, on_page.encode):
        assert encode(EVERYTHING) == encode(EVERYTHING)


def test_a_pdf_has_no_clock_no_tool_s_name_and_asks_to_be_printed_at_its_size() -> None:
    data = on_page.encode(EVERYTHING)
    document = pypdfium2.PdfDocument(data)
    told = document.get_metadata_dict()
    document.close()
    assert told["Title"] == "Everything <&>"
    assert told["CreationDate"].startswith("D:20000101")
    assert told["Producer"] == told["ModDate"] == ""
    assert b"/PrintScaling /None" in data


def test_an_svg_is_named_and_told_in_words_and_fetches_nothing() -> None:
    data = svg.encode(EVERYTHING)
    root = etree.fromstring(data)
    title, about = root.find(f"{SPACE}title"), root.find(f"{SPACE}desc")
    assert title is not None
    assert about is not None
    assert title.text == "Everything <&>"
    assert about.text == 'One of each "mark"'
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {about.attrib['id']}"
    labels = [group.attrib["aria-label"] for group in root.iter(f"{SPACE}g")]
    assert labels == ['Shelf <"&> 3/4 in, ⌀8 ± 0.2', "up"]
    names = {etree.QName(element).localname for element in root.iter()}
    assert names == {"svg", "title", "desc", "path", "circle", "g", "image"}
    links = [value for e in root.iter() for key, value in e.attrib.items() if "href" in key]
    assert [link[:22] for link in links] == ["data:image/png;base64,"]


def test_a_picture_in_an_svg_is_the_picture() -> None:
    image = next(etree.fromstring(svg.encode(EVERYTHING)).iter(f"{SPACE}image"))
    assert base64.b64decode(image.attrib["href"].split(",")[1]) == chequered()


def test_inline_svgs_on_a_page_have_ids_of_their_own_and_no_size() -> None:
    ids = []
    for prefix in ("a", "b"):
        told = svg.inline(EVERYTHING, prefix)
        assert not told.startswith("<?xml")
        root = etree.fromstring(told)
        assert not {"width", "height"} & set(root.attrib)
        ids += [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
    assert len(ids) == len(set(ids)) == 4


def test_what_xml_cannot_hold_is_shown_as_a_question_mark() -> None:
    drawing = Drawing(10.0, 10.0, (Words("a\x00b", (1.0, 5.0), 2.0),), "t\x0bi\ud800t\ufffe")
    root = etree.fromstring(svg.encode(drawing))
    assert root.findtext(f"{SPACE}title") == "t?i?t?"
    assert next(root.iter(f"{SPACE}g")).attrib["aria-label"] == "a?b"


def test_numbers_of_an_svg_are_hundredths_of_a_mm_at_most() -> None:
    lines = Lines(np.array([((1 / 3, -2 / 3), (1e-9, 20.0)), ((1e-9, 20.0), (5.0, 5.5))]), THIN)
    data = svg.encode(on_paper(lines)).decode()
    assert 'd="M0.33 -0.67L0 20L5 5.5"' in data


def test_a_dash_is_as_long_as_its_ink_in_both() -> None:
    """Of a broken line of 10 mm, 3 mm of ink and 2 mm of gap: what is dark, along its middle."""
    line = Lines(np.array([((10.0, 20.0), (20.0, 20.0))]), Pen(1.0, BLACK, (3.0, 2.0)))
    for grey, dots in (
        (of_png(pixels.encode(on_paper(line), dots=20.0)), 20.0),
        (of_pdf(on_page.encode(on_paper(line)), 20.0), 20.0),
    ):
        row = grey[round(20.0 * dots)]
        # the first dash begins half a pen before the line does
        for at, dark in ((9.6, True), (11, True), (12.4, True), (12.6, False), (14.4, False),
                         (14.6, True), (17.4, True), (17.6, False), (19.4, False)):  # fmt: skip
            assert bool(row[round(at * dots)] < 128) is dark, at


@pytest.mark.parametrize("dots", [3.0, 6.0, 7.3])
def test_the_ink_of_strokes_is_their_area(dots: float) -> None:
    """A stroke of length l and width w with round ends covers l·w + π w²/4 (closed form)."""
    for turn in np.radians((0.0, 17.0, 45.0, 80.0, 90.0)):
        way = 20.0 * np.array((np.cos(turn), np.sin(turn)))
        line = Lines(np.array([((20.0, 12.0), (20.0 + way[0], 12.0 + way[1]))]), Pen(0.5, BLACK))
        grey = of_png(pixels.encode(on_paper(line), dots=dots))
        ink = (255 - grey).sum() / 255 / dots**2
        assert ink == pytest.approx(20.0 * 0.5 + np.pi * 0.25 / 4, rel=0.02)


def test_the_ink_of_areas_is_their_area_and_holes_are_paper() -> None:
    """A hexagon of radius r has 3√3/2 r² (closed form), a hole takes its own away."""
    area = Area((ring(30, 20, 12.0, 6), ring(30, 20, 5.0, 6)), BLACK)
    grey = of_png(pixels.encode(on_paper(area), dots=6.0))
    ink = (255 - grey).sum() / 255 / 36
    assert ink == pytest.approx(3 * np.sqrt(3) / 2 * (144 - 25), rel=0.002)
    assert grey[120, 180] == 255


def test_a_drawing_s_picture_keeps_its_mean_when_made_smaller_and_larger() -> None:
    y, x = np.mgrid[0:64, 0:64]
    grey = ((x * 5 + y * 3) % 256).astype(np.uint8)
    data = picture.png(np.repeat(grey[:, :, None], 3, axis=2))
    for wide in (5.0, 40.0):
        drawing = on_paper(Picture(data, (10.0, 0.0), wide, wide))
        found = of_png(pixels.encode(drawing, dots=4.0))[
            : round(4 * wide), 40 : 40 + round(4 * wide)
        ]
        assert found.mean() == pytest.approx(grey.mean(), abs=0.6)


def test_a_picture_s_corner_and_size_are_as_asked_between_pixels() -> None:
    grey = of_png(pixels.encode(on_paper(Picture(DARK, (10.1, 8.15), 12.3, 9.7)), dots=5.0))
    assert (255 - grey).sum() / 255 / 25 == pytest.approx(12.3 * 9.7, rel=0.002)
    assert middle(grey, 5.0, (0, 0, 60, 40)) == pytest.approx((10.1 + 6.15, 8.15 + 4.85), abs=0.01)


def test_marks_that_leave_the_paper_are_cut_off_at_its_edge() -> None:
    far = Lines(np.array([((-50.0, 20.0), (500.0, 20.0)), ((30.0, 900.0), (30.0, 901.0))]), THIN)
    marks = (
        far,
        Area((rectangle(-9, -9, 20, 20),), BLACK),
        Disc((60, 40), 9, BLACK),
        Words("far away", (200.0, 20.0), 5.0),
        Picture(chequered(), (50, -5), 40, 20),
    )
    grey = of_png(pixels.encode(on_paper(*marks), dots=4.0))
    assert grey[2, 2] == grey[158, 238] == 0
    assert grey[80, ::4].max() < 200
    assert of_pdf(on_page.encode(on_paper(*marks)), 4.0)[80, 20:200].max() < 200


def test_marks_of_nothing_draw_nothing() -> None:
    none = np.empty((0, 2, 2))
    marks = (
        Lines(none, THIN),
        Lines(none, Pen(0.25, BLACK, DASHED)),
        Area((), BLACK, THIN),
        Area((np.empty((0, 2)),), BLACK, THIN),
        Words("", (5, 5), 4.0),
        Disc((9, 9), 4),
    )
    drawing = on_paper(*marks)
    assert of_png(pixels.encode(drawing)).min() == 255
    assert of_pdf(on_page.encode(drawing), 4.0).min() == 255
    assert not list(etree.fromstring(svg.encode(drawing)).iter(f"{SPACE}path"))


def test_later_marks_cover_earlier_ones_pictures_too() -> None:
    over = on_paper(Disc((20, 20), 8, BLACK), Picture(chequered(), (10, 10), 20, 15),
                    Disc((20, 18), 3, (255, 255, 255)))  # fmt: skip
    for grey in (of_png(pixels.encode(over, dots=4.0)), of_pdf(on_page.encode(over), 4.0)):
        assert grey[18 * 4, 20 * 4] == 255
        assert grey[24 * 4, 16 * 4] > 0  # a light square over the first disc


def test_the_accent_s_colour_is_the_same_in_all() -> None:
    drawing = on_paper(Disc((20, 20), 8, PLUM))
    with Image.open(io.BytesIO(pixels.encode(drawing))) as opened:
        assert opened.getpixel((120, 120)) == PLUM
    document = pypdfium2.PdfDocument(on_page.encode(drawing))
    assert document[0].render(scale=1).to_pil().getpixel((57, 57)) == PLUM
    document.close()
    assert b'fill="#7a3357"' in svg.encode(drawing)


def test_words_are_drawn_where_lettering_says() -> None:
    words = Words("Gate", (12.0, 30.0), 8.0, BLACK, turn=20.0)
    grey = of_png(pixels.encode(on_paper(words), dots=6.0))
    rows, columns = np.nonzero(grey < 128)
    left, top, right, bottom = lettering.box(words)
    assert left - 0.2 <= columns.min() / 6
    assert (columns.max() + 1) / 6 <= right + 0.2
    assert top - 0.2 <= rows.min() / 6
    assert (rows.max() + 1) / 6 <= bottom + 0.2


def test_only_a_png_of_ours_is_read_as_one() -> None:
    held = io.BytesIO()
    Image.new("L", (9, 9)).save(held, "PNG")
    for data in (b"", b"GIF89a" + b"\0" * 99, held.getvalue()):
        with pytest.raises(ValueError, match="PNG"):
            picture.pixels(data)
    wide = np.arange(7 * 5 * 3, dtype=np.uint8).reshape(7, 5, 3) * 11
    assert (picture.pixels(picture.png(wide)) == wide).all()
