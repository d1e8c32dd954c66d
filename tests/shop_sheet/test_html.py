"""The sheet's page as a file: what it holds, how it is built, and that it needs nothing else."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import re
import tomllib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import lxml.html
import numpy as np
import pytest

from fixtures import look
from fixtures import mesh as meshes
from fixtures.drawings.marks import Drawing
from fixtures.mesh import Mesh
from fixtures.shop_sheet import html
from fixtures.shop_sheet.document import Block, Document, Page, Prose, Table
from fixtures.shop_sheet.turning import Compact, compact
from tests.parts.made import part, read_back
from tests.shop_sheet.every_block import document, rod, wedge

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def told() -> bytes:
    return html.encode(document())


@pytest.fixture(scope="module")
def page(told: bytes) -> lxml.html.HtmlElement:
    return lxml.html.document_fromstring(told.decode())


def _page_of(*blocks: Block) -> lxml.html.HtmlElement:
    text = html.encode(Document("Job", "A4", (Page("job", "Job", blocks),))).decode()
    return lxml.html.document_fromstring(text)


def _words(value: object) -> Iterator[str]:
    """Every text that stands in a value of the document, drawings by their titles."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Drawing):
        yield value.title
    elif isinstance(value, tuple):
        for one in value:
            yield from _words(one)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            if field.name not in ("key", "paper"):
                yield from _words(getattr(value, field.name))


def _plain(text: str) -> str:
    return " ".join(text.split())


def test_every_word_of_the_document_stands_in_the_page(page: lxml.html.HtmlElement) -> None:
    shown = _plain(page.text_content())
    words = set(_words(document().pages)) | {document().title, *document().models}
    assert len(words) > 50
    assert [one for one in sorted(words) if _plain(one) not in shown] == []


def test_every_id_is_the_only_one_and_every_reference_leads_to_one(
    page: lxml.html.HtmlElement,
) -> None:
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids)) > 30
    asked = [ref for refs in page.xpath("//@aria-labelledby") for ref in refs.split()]
    asked += [link.removeprefix("#") for link in page.xpath("//a/@href")]
    assert len(asked) > 20
    assert set(asked) <= set(ids)


def test_headings_go_down_by_one_from_a_single_first(page: lxml.html.HtmlElement) -> None:
    levels = [int(one.tag[1]) for one in page.xpath("//h1|//h2|//h3|//h4|//h5|//h6")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later <= before + 1 for before, later in pairwise(levels))


def test_contents_name_every_page_in_order(page: lxml.html.HtmlElement) -> None:
    linked = page.xpath("//nav[@id='contents']//a/@href")
    wanted = [f"#{one.key}" for one in document().pages if isinstance(one, Page)]
    assert linked[: len(wanted)] == wanted
    assert {"#template-1", "#parts-to-turn"} <= set(linked)


def test_nothing_is_asked_of_any_other_place(told: bytes, page: lxml.html.HtmlElement) -> None:
    text = told.decode()
    assert set(re.findall(r"\w+://[^\s\"'<)]*", text)) == {"http://www.w3.org/2000/svg"}
    links = page.xpath("//@href | //@src | //@action | //@srcset | //@poster | //@data")
    assert all(link.startswith(("#", "data:image/png;base64,")) for link in links)
    assert page.xpath("//link | //iframe | //object | //form | //base") == []
    assert "@import" not in text
    assert "url(" not in text


def test_policy_allows_the_scripts_of_the_page_and_nothing_else(
    page: lxml.html.HtmlElement,
) -> None:
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    rules = {rule.split()[0]: set(rule.split()[1:]) for rule in policy.split(";")}
    scripts = page.xpath("//script[not(@type)]/text()")
    sums = {base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in scripts}
    assert len(sums) == 2
    assert rules["default-src"] == {"'none'"}
    assert rules["script-src"] == {f"'sha256-{one}'" for one in sums}


def test_the_same_document_gives_the_same_bytes(told: bytes) -> None:
    shop = document()
    turned_round = dataclasses.replace(shop, models=dict(reversed(shop.models.items())))
    assert html.encode(turned_round) == told


def test_what_is_ticked_is_kept_for_this_document_only(told: bytes) -> None:
    other = dataclasses.replace(document(), pages=document().pages[:2])
    keys = [re.search(rb'<body data-key="(\w+)"', one) for one in (told, html.encode(other))]
    assert keys[0] is not None
    assert keys[1] is not None
    assert keys[0][1] != keys[1][1]


def test_every_field_to_fill_has_a_name(page: lxml.html.HtmlElement) -> None:
    fields = page.xpath("//input")
    assert len(fields) == 2 * (2 + 2 + 1)  # two steps of two ticks, two boxes and one box
    for field in fields:
        label = field.get("aria-label") or _plain(field.getparent().text_content())
        assert len(label) > 4
    assert page.xpath("//fieldset[legend='Diagonals as measured']//input/@aria-label")[:2] == [
        "1 of 2, mm",
        "2 of 2, mm",
    ]


def test_tables_have_heads_that_name_their_columns(page: lxml.html.HtmlElement) -> None:
    tables = page.xpath("//table")
    assert len(tables) == 2
    for table in tables:
        heads = table.xpath("./thead/tr/th[@scope='col']")
        assert all(len(row) == len(heads) for row in table.xpath("./tbody/tr"))
        assert table.xpath("./caption") or table.get("aria-labelledby")


def test_a_table_without_heads_is_named_by_its_first_column() -> None:
    table = Table(("", ""), (("piece", "a case"), ("stock", "plywood")))
    page = _page_of(table)
    assert page.xpath("//thead") == []
    assert page.xpath("//tr/th[@scope='row']/text()") == ["piece", "stock"]
    assert page.xpath("//td/text()") == ["a case", "plywood"]


def test_a_table_of_sentences_is_stacked_and_stays_a_table_for_who_listens() -> None:
    page = _page_of(
        Table(("", "set", "blade"), (("1", "sled, with the stop block at 619.4 mm", "0 deg"),))
    )
    assert page.xpath("//table[@class='stack']/@role") == ["table"]
    assert page.xpath("//thead/tr/descendant-or-self::*/@role") == [
        "row",
        "cell",
        *2 * ["columnheader"],
    ]
    assert page.xpath("//tbody/tr/descendant-or-self::*/@role") == ["row", "cell", "cell", "cell"]
    assert page.xpath("//tbody//td/@data-head") == ["set", "blade"]


def test_a_step_that_is_named_is_a_link_to_it() -> None:
    steps = tuple(Page(f"s{n}", f"Step of {n}", (), n) for n in (1, 2))
    first = Page("job", "Job", (Prose("Do steps 1 & 2: Step 2 after step 1, step 3 never."),))
    text = html.encode(Document("Job", "A4", (first, *steps))).decode()
    assert (
        '<p>Do steps 1 &amp; 2: <a href="#s2">Step 2</a> after <a href="#s1">step 1</a>, '
        "step 3 never.</p>"
    ) in text


def test_a_cell_that_names_a_page_is_a_link_to_it() -> None:
    pages = (
        Page("job", "Job", (Table(("steps", "others"), (("step 1: Cut", "Drill table"),)),)),
        Page("s1", "Cut", (), 1),
        Page("drill", "Drill table", ()),
    )
    page = lxml.html.document_fromstring(html.encode(Document("Job", "A4", pages)).decode())
    links = page.xpath("//td//a")
    assert [(one.get("href"), one.text) for one in links] == [
        ("#s1", "step 1"),
        ("#drill", "Drill table"),
    ]


def test_a_page_leads_to_the_pages_beside_it_and_to_its_first_cautions(
    page: lxml.html.HtmlElement,
) -> None:
    links = page.xpath("//section[@id='step-1']/nav[@class='onward']/a/@href")
    assert [links[0], links[1], links[3]] == ["#job", "#contents", "#step-2"]
    (caution,) = page.xpath(f"//*[@id='{links[2].removeprefix('#')}']/..")
    assert caution.get("class") == "cautions"
    assert page.xpath("//section[@id='job']//a[@class='care']") == []


def test_a_number_is_not_parted_from_its_fraction_and_unit() -> None:
    (shown,) = _page_of(Prose("Rip at 22 3/8 in, 12 mm from hole 3 inside.")).xpath(
        "//main//p/text()"
    )
    assert shown == "Rip at 22\u00a03/8\u00a0in, 12\u00a0mm from hole 3 inside."


def test_numbers_stand_at_the_right_and_settings_are_large() -> None:
    page = _page_of(Table(("name", "size"), (("fence", "12.2 mm"),), right=(1,), large=(1,)))
    assert page.xpath("//tbody//td/@class") == ["short", "right large short"]
    assert page.xpath("//thead//th/@class") == ["short", "right short"]


def test_a_document_without_fields_speaks_of_none() -> None:
    text = html.encode(Document("Job", "A4", (Page("job", "Job", (Prose("Read."),)),))).decode()
    page = lxml.html.document_fromstring(text)
    assert page.xpath("//*[@id='kept' or @id='not-kept' or @id='clear']") == []
    assert page.xpath("//*[@id='parts-to-turn']") == []


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", "210.0mm 297.0mm"), ("Letter", "215.9mm 279.4mm")]
)
def test_paper_is_asked_for_in_millimetres(paper: str, size: str) -> None:
    text = html.encode(document(paper)).decode()  # type: ignore[arg-type]
    assert text.count(f"size: {size};") == 2  # with margins, and without for full size


def test_a_title_with_quotes_and_brackets_cannot_leave_its_place() -> None:
    title = 'A "b" \\ </style><script>alert(1)</script>'
    text = html.encode(Document(title, "A4", (Page("job", title, ()),))).decode()
    page = lxml.html.document_fromstring(text)
    assert page.xpath("//h1/text()") == [title]
    assert len(page.xpath("//script")) == 2
    assert len(page.xpath("//style")) == 1


def _contrast(one: look.Tone, other: look.Tone) -> float:
    def luminance(tone: look.Tone) -> float:
        parts = (v / 255 for v in tone)
        r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_letters_stand_out_from_their_ground() -> None:
    # WCAG 2.2, 1.4.6 (7:1) for words and 1.4.3 (4.5:1) for the accent, 1.4.11 (3:1) for frames
    assert _contrast(look.INK, look.PAPER) > 7
    assert _contrast(look.INK, look.PALE) > 7
    assert _contrast(look.PLUM, look.PAPER) > 4.5
    assert _contrast(look.GREY, look.WHITE) > 3


def _read(part: Compact) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    data = base64.b64decode(part.data)
    corners = np.frombuffer(data, "<u2", 3 * part.vertices).reshape(-1, 3)
    start = -(-6 * part.vertices // part.wide) * part.wide
    index = np.frombuffer(data, f"<u{part.wide}", offset=start)
    return (
        corners,
        index[: 3 * part.triangles].reshape(-1, 3),
        index[3 * part.triangles :].reshape(-1, 4),
    )


def _is_sharp(edges: np.ndarray) -> np.ndarray:
    sharp: np.ndarray = edges[:, 2] == edges[:, 3]
    return sharp


def test_a_compact_part_keeps_its_corners_and_triangles() -> None:
    mesh = wedge()
    corners, faces, _ = _read(compact(mesh))
    assert np.array_equal(faces, mesh.faces)
    # 60 mm in 65,535 steps: half a step is 0.0005 mm
    assert np.abs(corners * 60.0 / 65535 - mesh.vertices).max() <= 0.0005


def test_a_wedge_has_nine_edges_and_its_diagonals_are_none() -> None:
    # a prism on a triangle: 6 corners, 5 faces, so 9 edges (Euler)
    _, _, edges = _read(compact(wedge()))
    assert len(edges) == 9
    assert _is_sharp(edges).all()


def test_a_rods_rims_are_drawn_and_its_sides_are_outlines() -> None:
    _, _, edges = _read(compact(rod(48)))
    assert np.count_nonzero(_is_sharp(edges)) == 2 * 48  # rims: 90°
    assert np.count_nonzero(~_is_sharp(edges)) == 48  # from side to side: 360° / 48 = 7.5°


def test_a_rod_of_eight_sides_has_edges_all_round() -> None:
    _, _, edges = _read(compact(rod(8)))
    assert len(edges) == 3 * 8  # 45° from side to side
    assert _is_sharp(edges).all()


def test_an_open_border_is_always_drawn() -> None:
    sheet = meshes.make([(0, 0, 0), (9, 0, 0), (9, 9, 0), (0, 9, 0)], [(0, 1, 2), (0, 2, 3)])
    _, _, edges = _read(compact(sheet))
    assert len(edges) == 4
    assert _is_sharp(edges).all()


def test_a_part_of_many_corners_has_wider_numbers() -> None:
    n = 33000
    flat = [(i, j, 0.0) for i in range(n) for j in (0.0, 1.0)]
    faces = [(2 * i, 2 * i + 1, 2 * i + 2) for i in range(n - 1)]
    part = compact(meshes.make(flat, faces))
    corners, read, _ = _read(part)
    assert part.wide == 4
    assert len(corners) == 2 * n > 65536
    assert read.max() == 2 * n - 2
    assert np.array_equal(read, faces)


def test_a_mesh_without_triangles_is_refused() -> None:
    with pytest.raises(ValueError, match="without triangles"):
        compact(meshes.make([], []))


def test_a_part_of_four_thousand_triangles_takes_less_than_100_kb() -> None:
    mesh: Mesh = read_back(part("drill-guide"))
    assert 2000 < len(mesh.faces) < 5000
    assert len(compact(mesh).data) < 100_000


def test_what_the_page_is_made_of_is_packed_with_the_package() -> None:
    given = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
    package = ROOT / "fixtures"
    packed = {
        path for pattern in given["package-data"]["fixtures"] for path in package.glob(pattern)
    }
    needed = {
        path for path in package.rglob("*") if path.is_file() and path.suffix not in (".py", ".pyc")
    }
    assert {"viewer.js", "keep.js", "style.css"} <= {path.name for path in needed}
    assert needed <= packed
