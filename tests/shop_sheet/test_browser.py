"""The sheet's page in headless Chromium: on phone and desk, with WebGL and without, on paper."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest

from fixtures import look
from fixtures.shop_sheet import html, whole
from fixtures.shop_sheet.document import SIZES, Document, Figure, Page, Paper, Prose, Table
from tests.shop_sheet.chromium import WITH_WEBGL, WITHOUT_WEBGL, Browser
from tests.shop_sheet.every_block import BAR, document, drawing
from tests.shop_sheet.kits import small

pytestmark = pytest.mark.slow

PHONE, DESK = (360, 740), (1280, 900)
CALM = [{"name": "prefers-reduced-motion", "value": "reduce"}]
TURN_WEDGE = "#step-1 button[data-turn]"
STILL = "#step-1 .still"


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("sheet") / "sheet.html"
    file.write_bytes(html.encode(document()))
    return file


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    running = Browser(WITH_WEBGL, tmp_path_factory.mktemp("profile"))
    yield running
    running.close()


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser that has no WebGL."""
    running = Browser(WITHOUT_WEBGL, tmp_path_factory.mktemp("profile"))
    yield running
    running.close()


def opened(browser: Browser, sheet: Path, size: tuple[int, int] = DESK) -> Browser:
    # without gliding, so that a picture is of where the page stands
    browser.ask("Emulation.setEmulatedMedia", features=CALM)
    browser.size(*size)
    browser.open(sheet)
    return browser


def turned(browser: Browser, view: str = "", button: str = TURN_WEDGE) -> Browser:
    """Makes a part live, in the view that a button of the viewer names."""
    browser.run(f"document.querySelector('{button}').click()")
    browser.frame()
    return seen_from(browser, view) if view else browser


def seen_from(browser: Browser, view: str) -> Browser:
    buttons = "[...document.querySelectorAll('.stage button')]"
    browser.run(f"{buttons}.find(b => b.textContent === '{view}').click()")
    browser.frame()
    return browser


def part_pixels(browser: Browser) -> npt.NDArray[np.bool_]:
    """Which pixels of the canvas, its frame left out, are not paper."""
    inside = browser.picture("canvas")[8:-8, 8:-8].astype(int)
    found: npt.NDArray[np.bool_] = np.abs(inside - look.PAPER).max(axis=2) > 6
    return found


def box(pixels: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """The pixels cut to the rows and columns that show something."""
    assert pixels.any()
    rows, columns = np.flatnonzero(pixels.any(axis=1)), np.flatnonzero(pixels.any(axis=0))
    return pixels[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def shown(browser: Browser, selector: str) -> bool:
    return bool(browser.run(f"document.querySelector('{selector}').offsetHeight > 0"))


def on_paper(tone: look.Tone) -> npt.NDArray[np.float64]:
    """The tone multiplied with the paper's (Compositing and Blending Level 1, "multiply")."""
    toned: npt.NDArray[np.float64] = np.array(tone) * np.array(look.PAPER) / 255
    return toned


def overflow(browser: Browser) -> int:
    return int(browser.run("document.documentElement.scrollWidth - innerWidth"))


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_page_opens_without_complaint_request_or_sideways_scroll(
    browser: Browser, sheet: Path, size: tuple[int, int]
) -> None:
    opened(browser, sheet, size)
    assert overflow(browser) <= 0
    turned(browser)
    assert overflow(browser) <= 0
    assert browser.complaints() == []
    assert browser.fetched() == [sheet.as_uri()]


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_no_letter_of_the_page_is_smaller_than_fifteen_pixels(
    browser: Browser, sheet: Path, size: tuple[int, int]
) -> None:
    # 11 point = 14.7 pixels (CSS Values and Units: 1 in = 72 pt = 96 px)
    turned(opened(browser, sheet, size))
    sizes = browser.run(
        "[...document.body.querySelectorAll('*')].filter(e => e.offsetHeight && [...e.childNodes]"
        ".some(n => n.nodeType === 3 && n.data.trim()))"
        ".map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert len(sizes) > 60
    assert min(sizes) >= 15


def test_page_policy_refuses_what_would_go_out(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet)
    said = browser.run("fetch('https://example.org/').then(() => 'sent', () => 'refused')")
    assert said == "refused"
    assert [e for e in browser.complaints() if "Content Security Policy" in str(e)]


@pytest.mark.parametrize(
    ("view", "wide", "high", "filled"),
    [
        ("Front", 60, 25, 0.5),  # a triangle: half of its box
        ("Side", 40, 25, 1.0),
        ("Top", 60, 40, 1.0),
    ],
)
@pytest.mark.parametrize("size", [PHONE, DESK])
def test_wedge_is_seen_in_its_true_shape(
    browser: Browser, sheet: Path, size: tuple[int, int], view: str, wide: int, high: int,
    filled: float,
) -> None:  # fmt: skip
    seen = box(part_pixels(turned(opened(browser, sheet, size), view)))
    assert seen.shape[1] > 0.4 * (min(size) - 60)
    assert seen.shape[1] / seen.shape[0] == pytest.approx(wide / high, rel=0.02)
    assert seen.mean() == pytest.approx(filled, abs=0.02)


def test_rod_is_round_from_above_and_shows_only_its_outline_from_the_front(
    browser: Browser, sheet: Path
) -> None:
    rod = "#parts-to-turn button[data-turn]"
    above = box(part_pixels(turned(opened(browser, sheet), "Top", rod)))
    assert above.mean() == pytest.approx(np.pi / 4, abs=0.01)
    seen_from(browser, "Front")
    # the part's darkest side is 0.61 of its tone: 135 of 255
    dark = browser.picture("canvas")[8:-8, 8:-8].max(axis=2) < 125
    middle = dark[dark.shape[0] // 2]
    begins = np.flatnonzero(middle[1:] & ~middle[:-1])
    assert len(begins) == 2  # both sides, and none of the 22 edges between


def test_arrow_keys_a_drag_and_plus_change_the_picture(browser: Browser, sheet: Path) -> None:
    turned(opened(browser, sheet))
    assert browser.run("document.activeElement.tagName") == "CANVAS"
    pictures = [browser.picture("canvas")]

    def changed() -> None:
        browser.frame()
        pictures.append(browser.picture("canvas"))
        assert np.mean(np.any(pictures[-1] != pictures[-2], axis=2)) > 0.01

    browser.press("ArrowLeft")
    changed()
    assert browser.run("document.querySelector('.seen').textContent") == (
        "Seen 45° round to the right, 30° from above."
    )
    x, y = browser.run(
        "(b => [b.x + b.width / 2, b.y + b.height / 2])"
        "(document.querySelector('canvas').getBoundingClientRect())"
    )
    for kind, at in (("mousePressed", 0), ("mouseMoved", 50), ("mouseReleased", 50)):
        browser.ask(
            "Input.dispatchMouseEvent", type=kind, x=x + at, y=y, button="left", buttons=1,
            clickCount=1,
        )  # fmt: skip
    changed()
    before = part_pixels(browser).sum()
    browser.run("document.querySelector('canvas').focus()")
    browser.press("-", "-")
    changed()
    assert part_pixels(browser).sum() == pytest.approx(before / 1.25**2, rel=0.05)


def test_two_fingers_zoom_and_one_turns(browser: Browser, sheet: Path) -> None:
    turned(opened(browser, sheet, PHONE), "Top")
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
    before = box(part_pixels(browser)).shape[1]  # brings the canvas to the middle of the view
    x, y = browser.run(
        "(b => [b.x + b.width / 2, b.y + b.height / 2])"
        "(document.querySelector('canvas').getBoundingClientRect())"
    )

    def touch(kind: str, *spots: tuple[float, float]) -> None:
        points = [{"x": x + dx, "y": y + dy, "id": i} for i, (dx, dy) in enumerate(spots)]
        browser.ask("Input.dispatchTouchEvent", type=kind, touchPoints=points)

    touch("touchStart", (-80, 0), (80, 0))
    touch("touchMove", (-40, 0), (40, 0))
    touch("touchEnd")
    browser.frame()
    assert box(part_pixels(browser)).shape[1] == pytest.approx(before / 2, rel=0.03)
    scrolled = browser.run("scrollY")
    touch("touchStart", (0, 0))
    touch("touchMove", (0, -50))
    touch("touchEnd")
    browser.frame()
    assert browser.run("document.querySelector('.seen').textContent") == (
        "Seen from the front, 70° from above."
    )
    assert browser.run("scrollY") == scrolled
    browser.ask("Emulation.setTouchEmulationEnabled", enabled=False)


def test_picture_comes_back_and_one_part_is_live_at_a_time(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet)
    assert shown(browser, STILL)
    turned(browser)
    assert not shown(browser, STILL)
    turned(browser, "", "#step-2 button[data-turn]")
    browser.frame()
    assert browser.run("document.querySelectorAll('canvas').length") == 1
    assert shown(browser, STILL)
    assert not shown(browser, "#step-2 .still")
    browser.press("Escape")
    assert browser.run("document.querySelectorAll('canvas').length") == 0
    assert shown(browser, "#step-2 .still")
    assert browser.run("document.activeElement.dataset.turn") == "wedge"
    assert browser.complaints() == []


def test_a_lost_context_gives_the_picture_back_and_says_so(browser: Browser, sheet: Path) -> None:
    turned(opened(browser, sheet))
    browser.run(
        "document.querySelector('canvas').getContext('webgl2')"
        ".getExtension('WEBGL_lose_context').loseContext()"
    )
    browser.frame()
    assert shown(browser, STILL)
    assert browser.run("document.querySelectorAll('canvas').length") == 0
    assert browser.run("document.querySelector('#step-1 .told').textContent") == (
        "The part can no longer be turned; here is its picture."
    )
    turned(browser)
    assert part_pixels(browser).any()


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_without_webgl_the_pictures_stay(
    plain: Browser, sheet: Path, size: tuple[int, int]
) -> None:
    opened(plain, sheet, size)
    assert not plain.run("!!document.createElement('canvas').getContext('webgl2')")
    drawn = plain.picture(STILL)
    assert not shown(plain, TURN_WEDGE)
    assert shown(plain, "#not-turned")
    assert np.mean(np.abs(drawn - on_paper(look.PRINTED)).max(axis=2) < 6) > 0.4
    assert overflow(plain) <= 0
    assert plain.complaints() == []


def test_nothing_moves_of_itself(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet)
    assert browser.run("getComputedStyle(document.documentElement).scrollBehavior") == "auto"
    turned(browser)
    before = browser.picture("canvas")
    browser.run("new Promise(y => setTimeout(y, 300))")
    assert np.array_equal(browser.picture("canvas"), before)
    browser.ask("Emulation.setEmulatedMedia", features=[])
    assert browser.run("getComputedStyle(document.documentElement).scrollBehavior") == "smooth"


def test_keyboard_reaches_everything_and_shows_where_it_is(browser: Browser, sheet: Path) -> None:
    turned(opened(browser, sheet, PHONE))
    browser.run(
        "document.querySelectorAll('a, button, input, summary, canvas, [tabindex=\"0\"]')"
        ".forEach((e, i) => e.dataset.stop = i)"
    )
    wanted = browser.run(
        "[...document.querySelectorAll('[data-stop]')].filter(e => e.checkVisibility())"
        ".filter(e => !e.closest('details:not([open])') || e.tagName === 'SUMMARY')"
        ".map(e => e.dataset.stop)"
    )
    assert len(wanted) > 30
    browser.run("document.activeElement.blur(); scrollTo(0, 0)")
    reached, framed, covered = [], [], []
    for _ in range(len(wanted) + 3):
        browser.press("Tab")
        # WCAG 2.2, 2.4.11: what has the focus is not hidden behind the bar below
        covered += browser.run(
            "(e => e.closest('main') && !e.closest('.onward') && [...document.querySelectorAll("
            "'.onward')].some(o => e.getBoundingClientRect().top > o.getBoundingClientRect().top"
            " && e.getBoundingClientRect().top < o.getBoundingClientRect().bottom)"
            " ? [e.outerHTML] : [])(document.activeElement)"
        )
        stop, outline = browser.run(
            "(e => [e.dataset.stop || '', getComputedStyle(e).outlineStyle])"
            "(document.activeElement)"
        )
        reached.append(stop)
        framed.append(outline)
    assert set(wanted) <= set(reached)
    assert framed.count("solid") >= len(wanted)
    assert covered == []


def test_first_tab_leads_past_the_contents(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet, PHONE)
    browser.press("Tab")
    assert browser.run("document.activeElement.textContent") == "To the pages"
    browser.press("Enter", "\r")
    assert browser.run("document.activeElement.id") == "content"


def test_ticks_and_numbers_stay_until_they_are_cleared(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet)
    browser.run("document.querySelector('#step-1 input[type=checkbox]').focus()")
    browser.press(" ", " ")
    browser.run("document.querySelector('#step-2 input[type=text]').focus()")
    browser.ask("Input.insertText", text="591.5")
    browser.open(sheet)
    filled = (
        "[document.querySelector('#step-1 input').checked, "
        "document.querySelector('#step-2 input').checked, "
        "document.querySelector('#step-2 input[type=text]').value]"
    )
    assert browser.run(filled) == [True, False, "591.5"]
    assert shown(browser, "#kept")
    browser.run("window.confirm = () => true; document.getElementById('clear').click()")
    assert browser.run(filled) == [False, False, ""]
    browser.open(sheet)
    assert browser.run(filled) == [False, False, ""]
    assert browser.run("localStorage.length") == 1


def test_a_browser_that_keeps_nothing_says_so_and_goes_on(browser: Browser, sheet: Path) -> None:
    refusing = "Object.defineProperty(window, 'localStorage', {get() { throw new Error('no') }})"
    script = browser.ask("Page.addScriptToEvaluateOnNewDocument", source=refusing)["identifier"]
    opened(browser, sheet)
    browser.run("document.querySelector('#step-1 input').click()")
    assert browser.run("document.querySelector('#step-1 input').checked") is True
    assert shown(browser, "#not-kept")
    assert not shown(browser, "#kept")
    assert browser.complaints() == []
    browser.ask("Page.removeScriptToEvaluateOnNewDocument", identifier=script)


def test_a_small_figure_can_be_had_in_full_size(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet, PHONE)
    wide = "document.querySelector('#step-1 .drawing').getBoundingClientRect().width"
    assert browser.run(wide) < 360
    browser.run("document.querySelector('#step-1 .larger').click()")
    assert browser.run(wide) == pytest.approx(170 / 25.4 * 96, abs=0.5)
    assert overflow(browser) <= 0
    assert browser.run("document.querySelector('#step-1 .still').tabIndex") == 0
    opened(browser, sheet, DESK)
    assert browser.run("document.querySelectorAll('.larger:not([hidden])').length") == 0


def test_white_of_a_drawing_is_the_paper_it_lies_on(browser: Browser, sheet: Path) -> None:
    corner = opened(browser, sheet).picture("#step-1 .drawing")[4, 4].astype(int)
    assert np.abs(corner - look.PAPER).max() <= 1


def test_paper_stays_light_where_dark_is_preferred(browser: Browser, sheet: Path) -> None:
    opened(browser, sheet)
    dark = {"name": "prefers-color-scheme", "value": "dark"}
    browser.ask("Emulation.setEmulatedMedia", features=[*CALM, dark])
    browser.frame()
    assert browser.picture()[3, 3].tolist() == list(look.PAPER)


def test_drawings_keep_a_white_ground_where_colours_are_forced(
    browser: Browser, sheet: Path
) -> None:
    opened(browser, sheet)
    forced = [{"name": "forced-colors", "value": "active"}]
    dark = {"name": "prefers-color-scheme", "value": "dark"}
    browser.ask("Emulation.setEmulatedMedia", features=[*CALM, dark, *forced])
    browser.frame()
    assert browser.picture("#step-1 .drawing")[4, 4].tolist() == [255, 255, 255]
    turned(browser)
    assert part_pixels(browser).any()
    assert browser.picture("canvas")[9, 9].tolist() == list(look.PAPER)


def test_without_scripts_everything_can_be_read(browser: Browser, sheet: Path) -> None:
    browser.ask("Emulation.setScriptExecutionDisabled", value=True)
    opened(browser, sheet, PHONE)
    # for what looks on from here; the page's own scripts have been passed over
    browser.ask("Emulation.setScriptExecutionDisabled", value=False)
    assert shown(browser, '#contents a[href="#step-2"]')
    assert shown(browser, "noscript p")
    assert not shown(browser, TURN_WEDGE)
    drawn = browser.picture(STILL)
    assert np.mean(np.abs(drawn - on_paper(look.PRINTED)).max(axis=2) < 6) > 0.4
    assert overflow(browser) <= 0


@pytest.mark.parametrize("size", [(640, 450), (320, 256)])
def test_enlarged_two_and_four_times_nothing_goes_off_the_side(
    browser: Browser, sheet: Path, size: tuple[int, int]
) -> None:
    # WCAG 2.2, 1.4.10: 1280 by 1024 enlarged four times is 320 by 256
    opened(browser, sheet, size)
    assert overflow(browser) <= 0
    assert browser.run("getComputedStyle(document.querySelector('.onward')).position") == "static"


def test_contents_lie_folded_on_a_phone_until_they_are_asked_for(
    browser: Browser, sheet: Path
) -> None:
    entry = '#contents a[href="#step-2"]'
    assert shown(opened(browser, sheet, DESK), entry)
    opened(browser, sheet, PHONE)
    assert not browser.run("document.querySelector('#contents > details').open")
    assert browser.run("document.querySelector('#job').getBoundingClientRect().top") < PHONE[1]
    browser.run("document.querySelector('#step-1 a[href=\"#contents\"]').click()")
    assert shown(browser, entry)
    browser.run(f"document.querySelector('{entry}').click()")
    browser.frame()
    assert not browser.run("document.querySelector('#contents > details').open")
    assert 0 <= browser.run("document.querySelector('#step-2').getBoundingClientRect().top") < 40


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_next_step_and_cautions_are_within_reach_all_through_a_step(
    browser: Browser, sheet: Path, size: tuple[int, int]
) -> None:
    opened(browser, sheet, size)
    # the step begins half-way down the view, then it ends 150 pixels below the view
    for place in ("b.top - innerHeight / 2", "b.bottom - innerHeight - 150"):
        browser.run(
            f"(b => scrollTo(0, scrollY + {place}))"
            "(document.querySelector('#step-1').getBoundingClientRect())"
        )
        browser.frame()
        for link in ("[rel=prev]", "[rel=next]", ".care"):
            bottom, high, wide = browser.run(
                "(b => [b.bottom, b.height, b.width])"
                f"(document.querySelector('#step-1 .onward {link}').getBoundingClientRect())"
            )
            assert size[1] - 60 < bottom <= size[1]
            assert min(high, wide) >= 44  # CSS pixels (WCAG 2.2, 2.5.5)
    browser.run("document.querySelector('#step-1 .onward .care').click()")
    browser.frame()
    top = browser.run("document.querySelector('#step-1 .cautions').getBoundingClientRect().top")
    assert -20 <= top < size[1] - 100


def test_what_is_set_on_a_machine_stands_large(browser: Browser, tmp_path: Path) -> None:
    rows = (("fence", "140 mm"),)
    file = tmp_path / "sheet.html"
    page = Page("job", "Job", (Table(("what", "set"), rows, large=(1,)),))
    file.write_bytes(html.encode(Document("Job", "A4", (page,))))
    for size in (PHONE, DESK):
        opened(browser, file, size)
        sizes = browser.run(
            "[...document.querySelectorAll('td')]"
            ".map(e => parseFloat(getComputedStyle(e).fontSize))"
        )
        assert sizes[1] >= 1.25 * sizes[0]


@pytest.mark.parametrize("wide", [768, 820, 1024, 1180])
def test_a_tablet_shows_every_column_of_the_saw(
    browser: Browser, tmp_path: Path, wide: int
) -> None:
    """The widest table to set from is that of a mitred case: its spline has a height too."""
    file = tmp_path / "case.html"
    file.write_bytes(html.encode(whole.document(small("mitred"))))
    opened(browser, file, (wide, 900))
    cut = "e => e.scrollWidth > e.clientWidth + 1"
    there = "[...document.querySelectorAll('section[id^=step-] .wide')]"
    assert browser.run(f"{there}.length") > 0
    assert browser.run(f"{there}.filter({cut}).length") == 0


def test_only_steps_begin_on_paper_of_their_own(browser: Browser, tmp_path: Path) -> None:
    steps = [Page(f"s{n}", f"Step of {n}", (Prose("Do it."),), n) for n in (1, 2)]
    others = [Page(f"p{n}", f"Page of {n}", (Prose("Read it."),)) for n in range(4)]
    # nearly a sheet high, and still under the document's title
    tall = Figure(drawing("Whole", 170.0, 205.0), "", 170.0)
    others[0] = Page("p0", "Page of 0", (tall,))
    file = tmp_path / "sheet.html"
    file.write_bytes(html.encode(Document("Job of 4", "A4", (*others[:2], *steps, *others[2:]))))
    opened(browser, file)
    pdf = pypdfium2.PdfDocument(io.BytesIO(browser.pdf()))
    texts = [page.get_textpage().get_text_bounded() for page in pdf]
    pdf.close()
    wanted = [
        ("Job of 4", "Page of 0", "Page of 1"),
        ("Step of 1",),
        ("Step of 2",),
        ("Page of 2", "Page of 3"),
    ]
    assert len(texts) == len(wanted)
    for text, titles in zip(texts, wanted, strict=True):
        assert all(title in text for title in titles)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_print_has_a_page_for_each_page_and_full_size_is_true(
    browser: Browser, tmp_path: Path, paper: Paper
) -> None:
    file = tmp_path / "sheet.html"
    file.write_bytes(html.encode(document(paper)))
    turned(opened(browser, file))
    pdf = pypdfium2.PdfDocument(io.BytesIO(browser.pdf()))
    wide, high = SIZES[paper]
    for page in pdf:
        assert page.get_size() == pytest.approx((wide / 25.4 * 72, high / 25.4 * 72), abs=1.0)
    texts = [page.get_textpage().get_text_bounded() for page in pdf]
    begins = []
    for one in document(paper).pages:
        if isinstance(one, Page):
            (at,) = [i for i, text in enumerate(texts) if one.title in text]
            lines = [line.strip() for line in texts[at].splitlines() if line.strip()]
            assert any(line.endswith(one.title) for line in lines[:3])
            begins.append(at)
    assert begins == sorted(set(begins))
    for word in ("Contents", "Turn wedge", "Slanted", "Back to the picture", "Clear them"):
        assert word not in "".join(texts)
    # the part that was live is its picture again, with its disc
    step = pdf[begins[1]].render(scale=1).to_numpy()[:, :, ::-1].astype(int)
    assert np.count_nonzero(np.abs(step - look.PLUM).max(axis=2) < 9) > 300
    # the full-size page has strokes for letters, and so no text at all
    (full,) = [i for i, text in enumerate(texts) if not text.strip()]
    fine = 20  # pixels a mm
    sheet = pdf[full].render(scale=fine * 25.4 / 72).to_numpy()[:, :, 0]
    ticks = np.flatnonzero((sheet[26 * fine : 29 * fine] < 128).all(axis=0))
    left, right = np.split(ticks, np.flatnonzero(np.diff(ticks) > 1) + 1)
    assert (right.mean() - left.mean()) / fine == pytest.approx(BAR, abs=0.1)
    assert (left.mean() + 0.5) / fine == pytest.approx(30.0, abs=0.1)
    pdf.close()
