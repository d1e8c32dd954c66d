"""The paper shop sheet, read back by another library."""

from __future__ import annotations

import ctypes
import hashlib
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from fixtures.drawings.marks import Area, Disc, Drawing, Lines, Pen, Words
from fixtures.look import INK
from fixtures.shop_sheet import whole
from fixtures.shop_sheet.document import (
    MARGIN,
    POINTS,
    SIZES,
    Beside,
    Blanks,
    Block,
    Cautions,
    Document,
    Figure,
    FullSize,
    Heading,
    Page,
    Paper,
    Points,
    Prose,
    Table,
    Ticks,
)
from fixtures.shop_sheet.pdf import encode
from tests.shop_sheet import every_block
from tests.shop_sheet.kits import EXAMPLES, example

MM = 72 / 25.4
"""Points of a PDF in a mm (ISO 32000-1:2008, 8.3.2.3)."""
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
SIGNS = "½ ⅝ é ü ° × ⌀ ≤ ≥ ± → – … µ Ω Ж"


def page_of(*blocks: Block, title: str = "A page", number: int = 0, key: str = "a-page") -> Page:
    return Page(key, title, blocks, number)


def document_of(*pages: Page | FullSize, paper: Paper = "A4") -> Document:
    return Document("A piece", paper, pages)


def read(*pages: Page | FullSize, paper: Paper = "A4") -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(encode(document_of(*pages, paper=paper)))


def run_over() -> Page:
    """A step with more than a paper holds, of all kinds."""
    head = ("no.", "board", "outside", "fence to blade", "what to mind")
    minded = "face side down, show edge to the fence; first all of one length"
    rows = tuple(
        (str(n), f"board-{n}", f"{300 + n}.5 mm", "10 1/2 in", minded if n % 3 else "")
        for n in range(1, 81)
    )
    return page_of(
        Prose("A paragraph that goes on and on. " * 60),
        Cautions(tuple(f"Caution {n}: keep both hands behind the guard. " * 4 for n in range(12))),
        Heading("A heading so long that it takes more than a single line of the paper it is on"),
        Table(head, rows, (0, 2), "A table of eighty rows"),
        Points(tuple(f"Point {n} of the list. " * (1 + n % 5) for n in range(30)), numbered=True),
        Ticks(tuple(f"Tick {n} is true. " * (1 + n % 7) for n in range(30))),
        Blanks("Thickness of the sheet, measured at nine places along its edge", 9, "mm"),
        Blanks("Initials", 1, ""),
        Prose(SIGNS),
        title="A step that runs over " * 4,
        number=12,
    )


@cache
def papers(paper: Paper) -> bytes:
    """All blocks, then a page that runs over."""
    all_blocks = every_block.document(paper)
    return encode(Document(all_blocks.title, paper, (*all_blocks.pages, run_over())))


def text_of(page: pypdfium2.PdfPage) -> str:
    """Its words without any white, in the order they were written.

    A hyphen at the end of a line comes as U+FFFE from the reader.
    """
    return "".join(page.get_textpage().get_text_range().replace("\ufffe", "-").split())


def told(block: Block) -> Iterator[str]:
    """All texts of a block in reading order."""
    match block:
        case Heading(text) | Prose(text):
            yield text
        case Points(items) | Ticks(items) | Cautions(items):
            yield from items
        case Blanks(label, count, unit):
            yield label
            yield from [unit] * count
        case Table(head, rows, _, caption):
            yield caption
            for row in (head, *rows):
                yield from row
        case Figure():
            yield block.caption
        case Beside(figures):
            for figure in figures:
                yield figure.caption


@pytest.mark.parametrize("paper", PAPERS)
def test_every_text_stands_on_its_page_in_order(paper: Paper) -> None:
    found = pypdfium2.PdfDocument(encode(every_block.document(paper)))
    text = "".join(text_of(page) for page in found)
    at = 0
    for page in every_block.document(paper).pages:
        if isinstance(page, Page):
            for words in (page.title, *(each for block in page.blocks for each in told(block))):
                at = text.index("".join(words.split()), at) + len("".join(words.split()))


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_the_size_of_the_paper(paper: Paper) -> None:
    for page in pypdfium2.PdfDocument(papers(paper)):
        assert page.get_size() == pytest.approx([side * MM for side in SIZES[paper]], abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
def test_margins_stay_white(paper: Paper) -> None:
    dots = 4  # in a mm
    edge = int((MARGIN - 0.5) * dots)  # a rule ends half its width beyond its length
    for page in pypdfium2.PdfDocument(papers(paper)):
        if "CHECKBAR" in text_of(page):
            continue
        seen = np.asarray(page.render(scale=dots / MM, grayscale=True).to_numpy()).squeeze()
        seen = seen.copy()
        assert seen[edge:-edge, edge:-edge].min() < 100
        seen[edge:-edge, edge:-edge] = 255
        assert seen.min() == 255


@pytest.mark.parametrize("paper", PAPERS)
def test_no_words_lie_on_others(paper: Paper) -> None:
    assert_apart(papers(paper))


@pytest.mark.slow
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_sheet_of_an_example_lacks_no_sign_and_no_words_lie_on_others(path: Path) -> None:
    data = encode(whole.document(example(path), paper="Letter"))
    assert_apart(data)
    assert not [page for page in pypdfium2.PdfDocument(data) if "[U+" in text_of(page)]


def assert_apart(data: bytes) -> None:
    for page in pypdfium2.PdfDocument(data):
        words = page.get_textpage()
        boxes = np.array([words.get_rect(i) for i in range(words.count_rects())]).reshape(-1, 4)
        left, low, right, top = boxes.T
        slight = 0.1  # point
        across = np.minimum.outer(right, right) - np.maximum.outer(left, left) > slight
        down = np.minimum.outer(top, top) - np.maximum.outer(low, low) > slight
        assert (across & down).sum() == len(boxes)  # each with itself


@pytest.mark.parametrize("paper", PAPERS)
def test_no_letter_is_smaller_than_eleven_points(paper: Paper) -> None:
    sizes = set[float]()
    for page in pypdfium2.PdfDocument(papers(paper)):
        words = page.get_textpage()
        sizes |= {
            pdfium.FPDFText_GetFontSize(words, i)
            for i in range(words.count_chars())
            if not pdfium.FPDFText_IsGenerated(words, i)
        }
    assert min(sizes) >= POINTS
    assert max(sizes) > 20


def test_signs_of_the_trade_are_in_the_fonts() -> None:
    text = text_of(read(page_of(Prose(SIGNS), Heading(SIGNS)))[0])
    assert text.count("".join(SIGNS.split())) == 2


def test_character_no_font_has_is_told_by_its_number() -> None:
    text = text_of(read(page_of(Prose("shelf 中 of caf\N{LATIN SMALL LETTER E}\u0301")))[0])
    assert "shelf[U+4E2D]ofcafé" in text


def test_number_stays_with_its_unit_and_a_whole_with_its_fraction() -> None:
    blocks = [Prose("x" * n + " is 10 1/2 in or 266.7 mm, see step 4.") for n in range(50, 90)]
    pages = read(page_of(*blocks))
    lines = [line for page in pages for line in page.get_textpage().get_text_range().splitlines()]
    assert any(line.endswith(" or") for line in lines)  # some do end there
    assert not [line for line in lines if line.endswith((" 10", "1/2", " 266.7", " step"))]


def test_word_longer_than_a_line_is_broken_and_lost_nowhere() -> None:
    word = "corner-socket-" * 30
    cells = (word, "a", "x" * 200)
    page = read(page_of(Prose(word), Table(("part", "n", "code"), (cells,)), title=word))[0]
    text = text_of(page)
    assert text.count("corner-socket-" * 30) == 3
    assert "x" * 200 in text


@pytest.mark.parametrize("paper", PAPERS)
def test_long_table_breaks_between_rows_under_its_head_again(paper: Paper) -> None:
    minded = "the face side down and the show edge to the fence, all of one length first"
    rows = tuple((f"<{n}", minded, minded, f"{n}>") for n in range(200))
    pages = [text_of(page) for page in read(page_of(Table(("no", "A", "B", "last"), rows)))]
    assert len(pages) > 5
    assert all(text.count("noABlast") == 1 for text in pages)
    for n in range(200):
        assert len([text for text in pages if f"<{n}the" in text and f"{n}>" in text]) == 1
    assert min(text.count("<") for text in pages) >= 2


def test_settings_are_larger_and_stand_on_the_line_of_their_row() -> None:
    boards = "bottom, top, right, left, shelf lower, shelf upper, divider " * 3
    rows = (("rip", "fence 240 mm", boards), ("crosscut", "stop 559.4 mm", "back"))
    words = read(page_of(Table(("cut", "set", "boards"), rows, large=(1,))))[0].get_textpage()

    def at(text: str) -> tuple[float, float]:
        """Base line and size of the letters, points."""
        found = words.search(text, match_case=True).get_next()
        assert found is not None
        x, y = ctypes.c_double(), ctypes.c_double()
        pdfium.FPDFText_GetCharOrigin(words, found[0], x, y)
        return y.value, pdfium.FPDFText_GetFontSize(words, found[0])

    assert at("fence 240")[0] == pytest.approx(at("rip")[0], abs=0.02)
    assert at("fence 240")[1] > at("rip")[1]
    assert at("559.4")[0] == pytest.approx(at("crosscut")[0], abs=0.02)


def test_row_higher_than_a_paper_is_told_whole() -> None:
    cell = " ".join(f"word{n}" for n in range(600))
    pages = read(page_of(Table(("a", "b"), (("short", cell), ("next", "row")))))
    text = "".join(text_of(page) for page in pages)
    assert len(pages) > 1
    assert all(text.count(f"word{n}word{n + 1}") <= 1 for n in range(599))
    assert text.count("word") == 600


def test_heading_is_never_the_last_on_a_paper() -> None:
    pages = [
        page_of(
            Points(tuple(f"point {i}" for i in range(n))),
            Heading("Boards"),
            Table(("head", "of"), (("first", "row"), ("second", "row"), ("third", "row"))),
            key=f"page-{n}",
        )
        for n in range(20, 45)
    ]
    texts = [text_of(page) for page in read(*pages)]
    assert len(texts) > len(pages)  # some run over
    assert len([text for text in texts if "Boards" in text]) == len(pages)
    assert all("Boardsheadoffirstrowsecondrow" in text for text in texts if "Boards" in text)


def test_heading_with_a_brief_line_goes_with_the_figure_they_tell_of() -> None:
    pages = [
        page_of(
            Points(tuple(f"point {i}" for i in range(n))),
            Heading("Sheet 2"),
            Prose("No grain."),
            Figure(every_block.drawing("Sheet", 100.0, 80.0), "Cuts in order", 100.0),
            key=f"page-{n}",
        )
        for n in range(8, 40, 3)
    ]
    texts = [text_of(page) for page in read(*pages)]
    assert len(texts) > len(pages)  # some run over
    told = [text for text in texts if "Sheet2" in text]
    assert len(told) == len(pages)
    assert all("Sheet2Nograin.Cutsinorder" in text for text in told)


def test_no_line_of_a_paragraph_stands_alone_on_a_paper() -> None:
    line = "a line that fills most of the paper across, with its end told here: "
    pages = [
        page_of(
            Points(tuple(f"point {i}" for i in range(n))),
            Prose(" ".join(f"<{line}{i}>" for i in range(8))),
            key=f"page-{n}",
        )
        for n in range(20, 40)
    ]
    split = 0
    for page in read(*pages):
        lines = page.get_textpage().get_text_range().splitlines()
        own = [each for each in lines if "line that" in each or "told here" in each]
        split += 0 < len(own) < 8
        assert len(own) != 1
    assert split > 2


def test_step_begins_on_new_paper_with_its_number_before_its_title() -> None:
    pages = read(page_of(Prose("a")), page_of(Prose("b"), title="Glue up", number=7, key="s"))
    assert len(pages) == 2
    assert text_of(pages[1]).startswith("7Glueup")


def test_foot_names_the_piece_the_step_and_the_page() -> None:
    pages = read(page_of(Prose("a")), page_of(Prose("b"), title="Glue up", number=7, key="s"))
    for page, foot in zip(pages, ("page1of2", "step7,page2of2"), strict=True):
        low = page.get_textpage().get_text_bounded(top=(MARGIN + 6) * MM)
        assert "".join(low.split()) in {f"Apiece{foot}", f"{foot}Apiece"}


def test_page_that_runs_over_goes_on_under_its_title() -> None:
    pages = read(page_of(Prose("words " * 3000), title="Saw the blanks", number=3))
    assert len(pages) > 2
    assert all(text_of(page).startswith("3Sawtheblanks,continued") for page in list(pages)[1:])


def test_boxes_to_write_in_are_wide_enough_to_write_in() -> None:
    page = read(page_of(Blanks("Diagonals", 2, "mm"), Blanks("Thickness " * 9, 7, "in")))[0]
    boxes = [
        each.get_bounds()
        for each in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH])
        if (each.get_bounds()[3] - each.get_bounds()[1]) / MM > 5
    ]
    assert len(boxes) == 9
    for left, low, right, top in boxes:
        assert (right - left) / MM >= 18
        assert (top - low) / MM >= 8


def test_each_tick_has_a_square_before_it() -> None:
    items = ("The slot is waxed.", "Both diagonals agree. " * 12, "All dowels are in.")
    page = read(page_of(Ticks(items)))[0]
    squares = [
        (left, (low + top) / 2)
        for left, low, right, top in (
            each.get_bounds() for each in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH])
        )
        if 4 < (right - left) / MM < 8 and abs((right - left) - (top - low)) < 0.1
    ]
    assert len(squares) == 3
    words = page.get_textpage()
    for item, (left, middle) in zip(items, squares, strict=True):
        found = words.search(item[:10]).get_next()
        assert found is not None
        first, low, _, top = words.get_charbox(found[0])  # of a capital
        assert left < first
        assert (low + top) / 2 == pytest.approx(middle, abs=0.3)


def test_outline_lists_the_pages() -> None:
    pages = pypdfium2.PdfDocument(encode(every_block.document()))
    listed = [(each.get_title(), each.get_dest().get_index()) for each in pages.get_toc()]
    assert [title for title, _ in listed] == [
        'The job: a "case" & <shelf>',
        "1 Put on the sockets, round 1",
        "2 Put on the sockets, round 2",
        "Template",
    ]
    for page, (_, at) in zip(every_block.document().pages, listed, strict=True):
        if isinstance(page, Page):
            assert "".join(page.title.split()) in text_of(pages[at])


def test_step_told_in_a_text_links_to_its_page() -> None:
    job = page_of(Prose("See step 2, not step 9."), Table(("when", "what"), (("a", "step 1"),)))
    steps = [page_of(title=f"Do {n}", number=n, key=f"step-{n}") for n in (1, 2)]
    assert links(read(job, *steps)) == [2, 1, 1]


def test_contents_tell_the_paper_on_which_each_page_begins() -> None:
    rows = (("step 1: Glue up", "Cut list"), ("", "Template"))
    job = page_of(Prose("word " * 1200), Table(("steps", "and besides"), rows))
    glue = page_of(title="Glue up", number=1, key="step-1")
    cuts = page_of(Prose("word " * 1200), title="Cut list", key="cuts")
    pages = read(job, glue, cuts, FullSize("template", every_block.drawing("Template", 100, 90)))
    begins = [each.get_dest().get_index() + 1 for each in pages.get_toc()]
    assert begins[0] == 1
    assert begins[3] > begins[2] + 1
    text = "".join(text_of(page) for page in pages)
    told = f"step1:Glueupp.{begins[1]}Cutlistp.{begins[2]}Templatep.{begins[3]}"
    assert told in text
    found = [aim for at in range(begins[1] - 1) for aim in links(pages, at)]
    assert set(found) == {at - 1 for at in begins[1:]}


def links(pages: pypdfium2.PdfDocument, page: int = 0) -> list[int]:
    """Where the links of a page lead, by the number of the page from 0."""
    at, link = ctypes.c_int(0), pdfium.FPDF_LINK()
    aims = []
    while pdfium.FPDFLink_Enumerate(pages[page], at, link):
        aim = pdfium.FPDFLink_GetDest(pages, link)
        aims.append(pdfium.FPDFDest_GetDestPageIndex(pages, aim))
    return aims


def test_white_gives_way_where_that_saves_a_paper() -> None:
    lines = Points(tuple(f"point {n}" for n in range(29)))
    headed = (Heading("One"), Prose("a"), Heading("Two"), Prose("b"))
    texts = [text_of(page) for page in read(page_of(lines, *headed))]
    assert len(texts) == 1
    assert "OneaTwob" in texts[0]


def test_file_has_title_language_and_one_date() -> None:
    data = encode(every_block.document())
    meta = pypdfium2.PdfDocument(data).get_metadata_dict(skip_empty=True)
    assert meta["Title"] == 'Kit for "first" piece <A&B>'
    assert meta["CreationDate"].startswith("D:20000101")
    assert b"/Lang (en)" in data
    assert b"/PrintScaling /None" in data


def test_same_document_gives_the_same_bytes() -> None:
    assert encode(every_block.document()) == encode(every_block.document())


@pytest.mark.slow
def test_another_process_writes_the_same_bytes() -> None:
    program = (
        "import hashlib; from tests.shop_sheet import every_block;"
        "from fixtures.shop_sheet.pdf import encode;"
        "print(hashlib.sha256(encode(every_block.document())).hexdigest())"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": "7", "PYTHONPATH": ":".join(sys.path)},
    )
    ours = hashlib.sha256(encode(every_block.document())).hexdigest()
    assert run.stdout.strip() == ours


def test_figure_keeps_its_shape_and_its_width() -> None:
    frame = np.array([(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0)])
    drawing = Drawing(50.0, 30.0, (Area((frame,), INK),), "Sides")
    page = read(page_of(Figure(drawing, "A caption", 100.0)))[0]
    seen = np.asarray(page.render(scale=8 / MM, grayscale=True).to_numpy()).squeeze() < 128
    wide = (seen[: 8 * 250].sum(axis=1) / 8).max()  # of the fullest row of dots over the foot, mm
    assert wide == pytest.approx(100.0, abs=0.3)
    assert seen[:, 8 * 60].sum() / 8 == pytest.approx(60.0, abs=0.3)


def test_figures_stand_side_by_side_as_long_as_they_go() -> None:
    figures = tuple(
        Figure(every_block.drawing(f"Bed {n}", 55.0, 40.0), f"Bed {n}", 55.0) for n in range(5)
    )
    words = read(page_of(Beside(figures)))[0].get_textpage()
    heights = []
    for n in range(5):
        index, count = words.search(f"Bed {n}").get_next()
        assert count == 5
        heights.append(round(words.get_charbox(index)[1]))
    assert heights[0] == heights[1] == heights[2] > heights[3] == heights[4]


def height_of(text: str, page: pypdfium2.PdfPage) -> float:
    """Of the foot of its first letter over the paper's lower edge, mm."""
    words = page.get_textpage()
    found = words.search(text).get_next()
    assert found is not None
    return float(words.get_charbox(found[0])[1]) / MM


def test_what_follows_a_narrow_figure_stands_beside_it_as_far_as_it_goes() -> None:
    items = tuple(f"Item {n} of the list that is told beside the figure." for n in range(12))
    figure = Figure(every_block.drawing("Sides", 90.0, 60.0), "Caption", 90.0)
    (page,) = read(page_of(figure, Points(items)))
    caption = height_of("Caption", page)
    beside = [n for n in range(12) if height_of(f"Item {n} of", page) > caption]
    assert 3 <= len(beside) <= 6  # lines of 12 point letters on 60 mm, two to an item
    assert beside == list(range(len(beside)))
    told_ = text_of(page)
    at = [told_.index("".join(item.split())) for item in items]
    assert at == sorted(at)


def test_nothing_stands_beside_a_figure_that_leaves_no_room() -> None:
    figure = Figure(every_block.drawing("Sides", 150.0, 60.0), "Caption", 150.0)
    (page,) = read(page_of(figure, Prose("Below it.")))
    assert height_of("Below", page) < height_of("Caption", page)


def two_figures() -> Beside:
    return Beside(
        tuple(
            Figure(every_block.drawing(f"Use {n}", 89.0, 90.0), f"Use {n}", 89.0) for n in range(2)
        )
    )


def test_figures_make_way_where_that_saves_a_paper() -> None:
    lines = [Prose(f"Line {n}.") for n in range(20)]
    more = [Prose(f"More {n}.") for n in range(26)]
    texts = [text_of(page) for page in read(page_of(*lines, two_figures(), *more))]
    assert len(texts) == 2
    assert "More0." in texts[0]
    assert texts[1].index("Use0") < texts[1].index("Use1") < texts[1].index("More25.")
    told_ = "".join(texts)
    assert [told_.count(f"More{n}.") for n in range(26)] == [1] * 26
    assert told_.count("Use0") == told_.count("Use1") == 1


def test_figures_keep_their_place_where_no_paper_is_saved() -> None:
    lines = [Prose(f"Line {n}.") for n in range(20)]
    texts = [text_of(page) for page in read(page_of(*lines, two_figures(), Prose("word " * 300)))]
    assert len(texts) == 2
    assert "word" not in texts[0]
    assert texts[1].index("Use0") < texts[1].index("word")


def test_small_table_stays_in_one_piece() -> None:
    small = Table(("no.", "board"), tuple((f"row {n}", "a board") for n in range(5)))
    pages = [page_of(Points(("point",) * n), small, key=f"page-{n}") for n in range(20, 45)]
    texts = [text_of(page) for page in read(*pages)]
    assert len(texts) > len(pages)  # some run over
    assert all(("row0" in text) is ("row4" in text) for text in texts)


def test_figure_higher_than_the_paper_is_made_to_fit_under_its_heading() -> None:
    tall = every_block.drawing("Tall", 60.0, 200.0)
    pages = read(page_of(Prose("word " * 900), Heading("Leg"), Figure(tall, "As drawn", 180.0)))
    assert "LegAsdrawn" in text_of(pages[len(pages) - 1])


HOLES = tuple((x, y) for x in (20.0, 84.0, 148.0, 200.0 - 5) for y in (60.0, 124.0, 240.0))


@pytest.mark.parametrize("paper", PAPERS)
def test_full_size_page_measures_true_over_180_mm(paper: Paper) -> None:
    """Bar and holes within 0.1 mm, by their middles at 300 dots an inch."""
    wide, high = SIZES[paper]
    ends = (15.0, 195.0)
    bar = [Lines(np.array([[(x, 20.0), (x, 40.0)]]), Pen(0.3)) for x in ends]
    holes = [Disc(at, 4.0, INK) for at in HOLES]
    words = Words("100 %", (60.0, 32.0), 4.0)
    drawing = Drawing(wide, high, (*bar, *holes, words), "Template", paper=(250, 246, 238))
    pages = read(page_of(Prose("before")), FullSize("template", drawing), paper=paper)
    assert pages[1].get_size() == pytest.approx((wide * MM, high * MM), abs=0.01)
    dots = 300 / 25.4
    seen = np.asarray(pages[1].render(scale=dots / MM, grayscale=True).to_numpy()).squeeze()
    assert seen[0, 0] == 255  # bare paper takes no ink
    ink = 255.0 - seen
    across, down = ((np.arange(n) + 0.5) / dots for n in ink.shape[::-1])

    def middle(x: float, y: float, reach: float) -> tuple[float, float]:
        rows, columns = abs(down - y) < reach, abs(across - x) < reach
        part = ink[np.ix_(rows, columns)]
        return (
            float((part.sum(axis=0) * across[columns]).sum() / part.sum()),
            float((part.sum(axis=1) * down[rows]).sum() / part.sum()),
        )

    left, right = (middle(x, 30.0, 3.0)[0] for x in ends)
    assert right - left == pytest.approx(180.0, abs=0.1)
    assert left == pytest.approx(15.0, abs=0.1)
    first = middle(*HOLES[0], 6.0)
    for hole in HOLES:
        x, y = middle(*hole, 6.0)
        assert x - first[0] == pytest.approx(hole[0] - HOLES[0][0], abs=0.1)
        assert y - first[1] == pytest.approx(hole[1] - HOLES[0][1], abs=0.1)
    assert first == pytest.approx(HOLES[0], abs=0.1)
