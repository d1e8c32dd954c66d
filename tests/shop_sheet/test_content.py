"""The pages of a shop sheet against the kit's own values: all of it is told, each thing where who
works with it looks, and once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from string import ascii_lowercase
from typing import TypeVar

import numpy as np
import pytest

from fixtures.changes import Change, Changes
from fixtures.drawings.in_use import InUse
from fixtures.drawings.marks import Drawing
from fixtures.finding import Finding
from fixtures.kit import Kit
from fixtures.piece.as_built import set_by_now
from fixtures.piece.saw import NOT_THROUGH
from fixtures.proof import Check
from fixtures.shop_sheet import gathered, html
from fixtures.shop_sheet.cutting import asked
from fixtures.shop_sheet.document import (
    Beside,
    Blanks,
    Block,
    Cautions,
    Document,
    Figure,
    FullSize,
    Heading,
    Page,
    Points,
    Prose,
    Table,
    Ticks,
)
from fixtures.shop_sheet.pictures import Pictures
from fixtures.shop_sheet.step_pages import spans
from fixtures.shop_sheet.whole import document
from fixtures.telling.drilling import drill_rows
from fixtures.telling.sawing import BOX
from fixtures.units import parse_length, told_in
from tests.shop_sheet.kits import EXAMPLES, KINDS, example, small

KITS = [
    *(pytest.param(lambda kind=kind: small(kind), id=kind) for kind in KINDS),
    *(
        pytest.param(lambda path=path: example(path), id=path.stem, marks=pytest.mark.slow)
        for path in EXAMPLES
    ),
]
on_every_kit = pytest.mark.parametrize("made", KITS)
Made = Callable[[], Kit]


def pages(told: Document) -> list[Page]:
    return [page for page in told.pages if isinstance(page, Page)]


def page(told: Document, key: str) -> Page:
    (found,) = (each for each in pages(told) if each.key == key)
    return found


def texts(block: Block) -> Iterator[str]:
    """Every text of a block that a reader sees."""
    match block:
        case Heading(text) | Prose(text):
            yield text
        case Points(items) | Ticks(items) | Cautions(items):
            yield from items
        case Blanks(label, _, unit):
            yield from (label, unit)
        case Table(head, rows, _, caption):
            yield from (caption, *head, *(cell for row in rows for cell in row))
        case Figure(_, caption):
            yield caption
        case Beside(figures):
            yield from (figure.caption for figure in figures)


def words(own: Page) -> list[str]:
    return [text for block in own.blocks for text in texts(block)]


B = TypeVar("B", bound=Block)


def of_kind(own: Page, kind: type[B]) -> list[B]:
    return [block for block in own.blocks if isinstance(block, kind)]


def cells(own: Page) -> list[tuple[str, ...]]:
    return [row for table in of_kind(own, Table) for row in table.rows]


def cautions(own: Page) -> list[str]:
    return [item for block in of_kind(own, Cautions) for item in block.items]


def units(made: Kit) -> str:
    return made.piece.piece.units


def told_of(made: Kit, sentences: Sequence[str]) -> list[str]:
    return [told_in(sentence, made.piece.piece.units) for sentence in sentences]


# --- the whole ------------------------------------------------------------------------------


@on_every_kit
def test_keys_are_of_one_page_each_and_fit_a_link(made: Made) -> None:
    keys = [each.key for each in document(made()).pages]
    assert len(set(keys)) == len(keys)
    assert [key for key in keys if not re.fullmatch(r"[a-z0-9-]+", key)] == []


@on_every_kit
def test_no_page_is_empty_and_no_block_says_nothing(made: Made) -> None:
    for own in pages(document(made())):
        assert own.title.strip()
        assert own.blocks
        for block in own.blocks:
            assert any(text.strip() for text in texts(block)), (own.key, block)
            if isinstance(block, Table):
                assert block.rows
                assert {len(row) for row in block.rows} == {len(block.head)}
                assert {*block.right, *block.large} <= set(range(len(block.head)))
            if isinstance(block, Points | Ticks | Cautions):
                assert all(item.strip() for item in block.items)
                assert len(set(block.items)) == len(block.items), own.key


@on_every_kit
def test_no_text_shows_how_python_writes_its_values(made: Made) -> None:
    raw = re.compile(r"\bNone\b|\bTrue\b|\bFalse\b|\bnan\b|\binf\b|[{}]|\('|\['|',|\w+=\S|<\w+|__")
    for own in pages(document(made())):
        found = [text for text in (own.title, *words(own)) if raw.search(text)]
        # what a piece file is to say is quoted: fixing = "glue"
        assert found == [], own.key


@on_every_kit
def test_the_first_page_names_every_page_that_follows(made: Made) -> None:
    told = document(made())
    first, *others = pages(told)
    assert first.key == "job"
    listed = [cell for row in cells(first) if len(row) == 2 for cell in row]
    for other in others:
        begun = f"step {other.number}: " if other.number else ""
        assert listed.count(f"{begun}{other.title}") == 1


@on_every_kit
def test_the_first_page_has_all_there_is_to_print_and_to_buy(made: Made) -> None:
    kit = made()
    first = page(document(kit), "job")
    listed = {row[1]: row[0] for row in cells(first) if row[0].endswith("×")}
    assert listed == {item.fixture.name: f"{item.fixture.quantity} ×" for item in kit.items}
    said = " ".join(words(first))
    for thing in told_of(kit, kit.hardware):
        assert thing in said
    for stock in {board.stock.name for board in kit.panels.boards}:
        assert any(text.startswith(stock) for text in words(first))


def test_a_screen_shows_every_page_under_its_key() -> None:
    told = document(small("hexagon"))
    written = html.encode(told).decode()
    for own in pages(told):
        assert f'id="{own.key}"' in written
        assert own.title in written


# --- steps ----------------------------------------------------------------------------------


@on_every_kit
def test_every_step_still_to_do_has_a_page_and_those_done_stand_together(made: Made) -> None:
    kit = made()
    told = document(kit)
    numbered = {own.number: own.title for own in pages(told) if own.number}
    assert numbered == {n: s.title for n, s in enumerate(kit.steps, 1) if not s.done}
    done = [f"{n}. {s.title}." for n, s in enumerate(kit.steps, 1) if s.done]
    if done:
        (points,) = of_kind(page(told, "done"), Points)
        assert [item.startswith(begun) for item, begun in zip(points.items, done, strict=True)]


@on_every_kit
def test_a_steps_page_tells_all_of_its_step(made: Made) -> None:
    kit = made()
    told = document(kit)
    for number, step in enumerate(kit.steps, 1):
        if step.done:
            continue
        own = page(told, f"step-{number}")
        said = words(own)
        all_said = " ".join(said)
        ticked = [item for block in of_kind(own, Ticks) for item in block.items]
        assert ticked == told_of(kit, step.go)
        boxes = [(b.label.lower(), b.unit, b.count) for b in of_kind(own, Blanks)]
        assert boxes == [(b.label.lower(), b.unit, b.count) for b in step.boxes]
        assert cautions(own) == list(dict.fromkeys(told_of(kit, step.cautions)))
        for board in (*step.boards, *(name for move in step.joins for name in move.boards)):
            assert board in all_said
        rows = {row[1].partition(" (")[0]: row[0] for row in cells(own) if row[0].endswith("×")}
        assert rows == {name: f"{count} ×" for name, count in step.fixtures}
        for _, where in step.stands:
            assert told_in(where, kit.piece.piece.units) in all_said
        for off in step.off:
            (line,) = (line for line in said if off.fixture in line and line.startswith("Take"))
            assert off.when in line
        for setting in told_of(kit, step.settings):
            assert setting.startswith("Set-up ") or setting in said


@on_every_kit
def test_moves_stand_in_their_order_under_letters(made: Made) -> None:
    kit = made()
    told = document(kit)
    for number, step in enumerate(kit.steps, 1):
        if not step.joins or step.done:
            continue
        tables = of_kind(page(told, f"step-{number}"), Table)
        (moves,) = (table for table in tables if "together" in table.head[1])
        assert [row[0] for row in moves.rows] == list(ascii_lowercase[: len(step.joins)])
        for (_, item), move in zip(moves.rows, step.joins, strict=True):
            assert any(name.split()[0] in item for name in move.boards)


@on_every_kit
def test_what_a_fixture_must_not_come_off_before_is_told_once_a_step(made: Made) -> None:
    kit = made()
    for own in pages(document(kit)):
        assert max(Counter(cautions(own)).values(), default=1) == 1


# --- the saw and the drill ------------------------------------------------------------------


@on_every_kit
def test_every_set_up_stands_on_its_steps_page_with_what_is_set(made: Made) -> None:
    kit = made()
    told = document(kit)
    rows = [
        row
        for own in pages(told)
        if own.number
        for table in of_kind(own, Table)
        if table.head[0] == "set-up"
        for row in table.rows
    ]
    assert [row[0] for row in rows] == [str(one.number) for one in kit.sawing.set_ups]
    for row, one in zip(rows, kit.sawing.set_ups, strict=True):
        assert row[1] == one.kind
        assert parse_length(row[4], zero=True) == pytest.approx(one.reading, abs=0.02)
        assert all(name in row[2] for name in one.boards)


@on_every_kit
def test_the_set_ups_page_has_each_of_them_with_boxes_for_what_is_measured(made: Made) -> None:
    kit = made()
    own = page(document(kit), "set-ups")
    heads = [block.text for block in of_kind(own, Heading)]
    for head, one in zip(heads, kit.sawing.set_ups, strict=True):
        assert head.startswith(f"{one.number}. {one.kind.capitalize()}: ")
    assert not any(BOX in text for text in words(own))
    held = sum(bool(one.held_back) and one.kind in _SIZED for one in kit.sawing.set_ups)
    assert sum(block.count == 3 for block in of_kind(own, Blanks)) == held
    buried = any(o.height is not None and o.way in ("fence", "sled") for o in kit.sawing.set_ups)
    # said anew where what was held back begins
    assert (NOT_THROUGH in cautions(own)) is buried


_SIZED = ("rip", "crosscut", "bevel")


@on_every_kit
def test_the_cut_list_has_every_board_and_every_blank_on_its_sheet(made: Made) -> None:
    kit = made()
    own = page(document(kit), "cut-list")
    said = cells(own)
    for board in kit.panels.boards:
        (row,) = (row for row in of_kind(own, Table)[0].rows if board.name in row[1].split(", "))
        assert parse_length(row[2]) == pytest.approx(board.outer_length, abs=0.02)
        assert parse_length(row[4]) == pytest.approx(board.cut_width, abs=0.02)
        assert board.stock.name == row[6]
        assert ("held back" in row[7]) is bool(board.held_back)
    blanks = sum(int(row[0].split()[0]) for row in said if len(row) == 4)
    assert blanks == sum(len(sheet.parts) for sheet in kit.layout.sheets)
    assert len([h for h in of_kind(own, Heading) if h.text.startswith("Sheet ")]) == len(
        kit.layout.sheets
    )


@on_every_kit
def test_every_hole_stands_once_in_the_drill_table_at_its_distances(made: Made) -> None:
    kit = made()
    told = document(kit)
    assert any(own.key == "drilling" for own in pages(told)) is bool(kit.holes)
    if not kit.holes:
        return
    rows = {int(row[0]): row for row in cells(page(told, "drilling"))}
    assert sorted(rows) == list(range(1, len(kit.holes) + 1))
    assert len(cells(page(told, "drilling"))) == len(kit.holes)
    for number, hole in enumerate(kit.holes, 1):
        _, front, datum, mate = rows[number][:4]
        assert parse_length(front, zero=True) == pytest.approx(hole.from_front, abs=0.02)
        assert parse_length(datum, zero=True) == pytest.approx(hole.from_datum, abs=0.02)
        assert mate == hole.mate
    by_number = {row.number: row for row in drill_rows(kit)}
    for table in of_kind(page(told, "drilling"), Table):
        for cells_ in table.rows:
            row = by_number[int(cells_[0])]
            said = f"{table.caption}. {'. '.join(cells_)}".lower()
            for each in (row.hole.face, row.hole.datum_name, row.guide, row.sleeve):
                assert told_in(each, kit.piece.piece.units).lower() in said
            assert row.hole.through is (", through;" in said)


@on_every_kit
def test_every_hole_is_drilled_in_one_step_and_named_there(made: Made) -> None:
    kit = made()
    told = document(kit)
    by_step = [
        number
        for own in pages(told)
        if own.number
        for table in of_kind(own, Table)
        if table.head[0] == "bit"
        for row in table.rows
        for number in _numbers(row[-1])
    ]
    done = {name for step in kit.steps if step.done for name in step.drills}
    # shelves that were set before have their holes
    done |= {
        hole.joint for hole in kit.holes for name in set_by_now(kit.piece) if name in hole.joint
    }
    wanted = [n for n, hole in enumerate(kit.holes, 1) if hole.joint not in done]
    assert sorted(by_step) == wanted


def _numbers(told: str) -> list[int]:
    """The numbers of `1 to 3, 7`."""
    found: list[int] = []
    for part in told.split(", "):
        first, _, last = part.partition(" to ")
        found += range(int(first), int(last or first) + 1)
    return found


def test_spans_of_numbers_read_back_as_the_numbers() -> None:
    for seed in range(50):
        numbers = sorted(np.random.default_rng(seed).choice(60, 25, replace=False).tolist())
        assert _numbers(spans(numbers)) == numbers


def test_a_test_with_no_number_to_write_is_only_ticked() -> None:
    assert asked("Faces are flush.", "mm") == [Ticks(("Faces are flush.",))]


def test_a_test_with_three_numbers_asks_for_three() -> None:
    test = f"Measured on it {BOX}; set to {BOX}; cut {BOX}, within 0.3 mm."
    assert asked(test, "mm") == [
        Ticks(("Cut, within 0.3 mm.",)),
        Blanks("Measured on it, set to, cut", 3, "mm"),
    ]


# --- fixtures -------------------------------------------------------------------------------


@on_every_kit
def test_every_fixture_is_told_on_its_familys_page_with_notes_and_cautions_once(
    made: Made,
) -> None:
    kit = made()
    told = document(kit)
    for item in kit.items:
        own = page(told, f"fixture-{item.fixture.family}")
        (row,) = (row for row in cells(own) if row[1] == item.fixture.part.mark)
        assert row[0] == f"{item.fixture.quantity} ×"
        if item.made is not None:
            advice = item.made.advice
            assert row[2] == f"{advice.infill_percent} %"
            assert row[3:6] == tuple(
                str(n) for n in (advice.rings, advice.roof_layers, advice.floor_layers)
            )
            assert row[6] == ("yes" if advice.supports else "none")
        said = words(own)
        for note in told_of(kit, item.fixture.part.notes):
            assert sum(text.endswith(note) for text in said) >= 1
        for caution in told_of(kit, item.fixture.part.cautions):
            assert cautions(own).count(caution) == 1
        elsewhere = [o.key for o in pages(told) if o.key.startswith("fixture-") and o is not own]
        assert f"fixture-{item.fixture.family}" not in elsewhere


# --- known ----------------------------------------------------------------------------------


@on_every_kit
def test_every_finding_is_told_once_where_it_is_looked_up(made: Made) -> None:
    kit = made()
    own = page(document(kit), "known")
    found = [(finding, "") for finding in kit.findings]
    for item in kit.items:
        own_of = [*item.fixture.part.findings]
        own_of += (
            [f for f in item.made.advice.findings if f.severity != "note"] if item.made else []
        )
        found += [(finding, item.fixture.name) for finding in own_of]
    for finding, name in found:
        told = [text for text in words(own) if _has(text, finding, name, kit)]
        assert len(told) == 1, finding


def _has(text: str, finding: Finding, name: str, kit: Kit) -> bool:
    """Whether a text tells all of a finding, by its height over the bed where it has one."""
    parts = told_of(kit, (finding.message, finding.remedy))
    if finding.z is not None:
        low, high = finding.z
        parts += told_of(kit, [f"{low:.1f}{f' to {high:.1f}' if high - low >= 0.1 else ''} mm: "])
    return all(part in text for part in (*parts, finding.feature or "", name))


@on_every_kit
def test_every_error_to_expect_is_told_with_its_verdict(made: Made) -> None:
    kit = made()
    own = page(document(kit), "known")
    rows = next((t.rows for t in of_kind(own, Table) if t.head[0] == "what"), ())
    assert [row[-1] for row in rows] == [one.verdict for one in kit.tolerance.expected]


def test_a_proof_that_fails_and_a_finding_that_says_stop_stand_first_among_cautions() -> None:
    kit = small("hexagon")
    failed = Check("closes", False, 1.0, 0.5, "mm", "It gapes 1 mm; 0.5 mm is allowed.")
    stop = Finding("odd", "stop", "It cannot be built.", "Leave it.")
    broken = replace(kit, checks=(*kit.checks, failed), findings=(*kit.findings, stop))
    told = document(broken)
    first = page(told, "job").blocks[0]
    assert isinstance(first, Cautions)
    assert first.items[0] == "It cannot be built. Leave it."
    assert any("It gapes 1 mm" in item for item in first.items)
    assert any("It gapes 1 mm" in text for text in words(page(told, "known")))


@on_every_kit
def test_nothing_is_held_back_on_the_first_page_where_all_may_be_used(made: Made) -> None:
    kit = made()
    assert bool(cautions(page(document(kit), "job"))) is (kit.stops or not kit.holds)


def test_what_measuring_moved_is_told_panel_by_panel() -> None:
    kit = small("measured")
    own = page(document(kit), "as-built")
    assert kit.moved
    rows = cells(own)
    assert [row[:2] for row in rows] == [(one.panel, one.what) for one in kit.moved]
    assert any("384.60 mm" in text for text in words(own))


def test_copies_are_told_fixture_by_fixture() -> None:
    kit = small("copies")
    assert kit.batch is not None
    own = page(document(kit), "copies")
    table, ways = of_kind(own, Table)
    assert [(r[0], r[1], r[2]) for r in table.rows] == [
        (f"{one.quantity} ×", one.name, str(one.in_use)) for one in kit.batch.counts
    ]
    assert [row[0] for row in ways.rows] == sorted(
        (str(way.stations) for way in (kit.batch.way, *kit.batch.others)), key=int
    )
    assert [o.key for o in pages(document(small("mitred"))) if o.key == "copies"] == []


def test_what_of_the_last_kit_still_serves_is_told_before_the_steps() -> None:
    kit = small("hexagon")
    change = Change(
        "ABCD", "corner-socket", "reprint", "its slots are narrower", "EFGH", 6, 6, False
    )
    told = document(kit, since=Changes(("thick: 12 → 13",), (change,), (), ()))
    own = page(told, "since")
    assert any("corner-socket-ABCD" in text and "narrower" in text for text in words(own))
    keys = [each.key for each in told.pages]
    assert keys.index("since") < keys.index("step-1")


# --- units ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "made", [p for p in KITS if p.id in ("inches", "class-crate", "tool-shelf")]
)
def test_a_sheet_in_inches_has_no_millimetres_but_those_that_goods_are_sold_by(made: Made) -> None:
    kit = made()
    assert units(kit) == "in"
    goods = re.compile(
        r"\d(?: mm)(?= (?:bit|bits|drill|bush|dowel|dowels|pin|pins|screw|screws|nozzle|layer))"
        r"|(?: mm²)|(?:layers?|rings) of [\d.]+ mm|#\d+[^.;]* mm"
    )
    for own in pages(document(kit)):
        for text in (own.title, *words(own)):
            assert " mm" not in goods.sub("", text), (own.key, text)
        assert {block.unit for block in of_kind(own, Blanks)} <= {"in", "deg"}


# --- pictures -------------------------------------------------------------------------------


def _drawing(title: str) -> Drawing:
    return Drawing(89.0, 75.0, (), title)


def test_every_picture_that_is_given_stands_on_its_page_and_turns_what_is_printed() -> None:
    kit = small("mitred")
    laid = kit.laid
    used = tuple(
        InUse(number, name, "", _drawing(f"{number} {name}"))
        for number, step in enumerate(kit.steps, 1)
        for name, _ in step.fixtures
    )
    pictures = Pictures(
        whole=_drawing("whole"),
        steps={n: _drawing(f"step {n}") for n, step in enumerate(kit.steps, 1) if step.joins},
        in_use=used,
        beds={load.number: _drawing(f"bed {load.number}") for load in laid.loads},
        cut_plans={n: _drawing(f"sheet {n}") for n, _ in enumerate(kit.layout.sheets, 1)},
        full_size=(FullSize("label-1", _drawing("Labels")),),
    )
    told = document(kit, pictures=pictures)
    where = {
        title: own.key
        for own in pages(told)
        for block in own.blocks
        for figure in (block.figures if isinstance(block, Beside) else (block,))
        if isinstance(figure, Figure)
        for title in [figure.drawing.title]
        if not own.key.startswith("fixture-")
    }
    wanted = {"whole": "job"}
    wanted |= {f"step {n}": f"step-{n}" for n in pictures.steps}
    wanted |= {f"{one.step} {one.fixture}": f"step-{one.step}" for one in used if one.step > 1}
    wanted |= {f"bed {load.number}": "beds" for load in laid.loads}
    wanted |= {f"sheet {n}": "cut-list" for n in pictures.cut_plans}
    assert where == wanted
    assert set(told.models) == {item.fixture.name for item in kit.items if item.made is not None}
    turned = {
        name
        for own in pages(told)
        for block in of_kind(own, Beside)
        for figure in block.figures
        for name in figure.turns
    }
    assert turned == set(told.models)
    assert told.pages[-1].key == "label-1"
    for own in pages(told):
        assert not any("pictured" in text or "is drawn." in text for text in words(own))


def test_words_say_where_a_picture_is_missing() -> None:
    kit = small("mitred")
    told = document(kit)
    assert told.models == {}
    for own in pages(told):
        said = " ".join(words(own))
        if own.key.startswith("fixture-"):
            assert "Not pictured: " in said
        if own.key in ("beds", "cut-list"):
            assert "is drawn." in said
        if own.number > 1 and kit.steps[own.number - 1].fixtures:
            assert "not pictured in use" in said


@pytest.mark.slow
def test_all_pictures_of_a_kit_are_gathered_and_fit_its_pages() -> None:
    kit = small("mitred")
    laid = kit.laid
    drawn = gathered.pictures(kit)
    assert sorted(drawn.beds) == [load.number for load in laid.loads]
    assert sorted(drawn.cut_plans) == list(range(1, len(kit.layout.sheets) + 1))
    assert sorted(drawn.steps) == [n for n, step in enumerate(kit.steps, 1) if step.joins]
    # A4 is 210 mm wide (ISO 216), with 12 mm on either side
    wide = [each.wide for each in (*drawn.beds.values(), *drawn.cut_plans.values())]
    assert max(wide) <= 186.0
    told = document(kit, pictures=drawn)
    assert set(told.models) == {item.fixture.name for item in kit.items if item.made is not None}
