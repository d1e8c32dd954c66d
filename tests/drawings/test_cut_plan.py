"""Sheets drawn for the saw: every part and cut where the layout has it, words that can be read."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.drawings import cut_plan, lettering
from fixtures.drawings.marks import LEAST, Area, Drawing, Lines, Words
from fixtures.errors import InputError
from fixtures.look import PLUM
from fixtures.piece.layout import Layout
from fixtures.piece.tables import PieceFile
from tests.piece.making import case, draw, mm, shelf, tables
from tests.piece.test_sawing_told import backed, cut


def drawn(laid: Layout) -> list[Drawing]:
    return [
        cut_plan.drawing(i, sheet, laid.grains[sheet.stock], "mm")
        for i, sheet in enumerate(laid.sheets, 1)
    ]


@pytest.mark.parametrize("grain", ["long", "none"])
def test_a_sheet_s_drawing_shows_every_part_and_every_cut(grain: str) -> None:
    told = backed(shelf=[shelf('<"&>', 150.0)], piece={"copies": 5})
    told["stock"]["case"]["grain"] = grain
    _, found, laid = cut(told)
    texts = []
    for sheet, drawing in zip(laid.sheets, drawn(laid), strict=True):
        board, *parts = (mark for mark in drawing.marks if isinstance(mark, Area))
        (cuts,) = (mark for mark in drawing.marks if isinstance(mark, Lines))
        corner = board.rings[0][0]
        scale = (board.rings[0][1] - corner)[0] / sheet.length
        assert len(parts) == len(sheet.parts)
        for area, part in zip(parts, sheet.parts, strict=True):
            low = (area.rings[0].min(axis=0) - corner) / scale
            high = (area.rings[0].max(axis=0) - corner) / scale
            assert low == pytest.approx((part.x, part.y), abs=1e-6)
            assert high == pytest.approx((part.x + part.long, part.y + part.wide), abs=1e-6)
        assert len(cuts.ends) == len(sheet.cuts)
        for ends, one in zip((cuts.ends - corner) / scale, sheet.cuts, strict=True):
            along = 0 if one.way == "along" else 1
            assert ends[:, 1 - along] == pytest.approx((one.at, one.at), abs=1e-6)
            assert ends[:, along] == pytest.approx((one.start, one.end), abs=1e-6)
        texts += [mark.text for mark in drawing.marks if isinstance(mark, Words)]
    assert any('shelf <"&>' in text for text in texts)
    assert "held back" in texts
    files = cut_plan.files(found, laid, "mm")
    assert list(files) == ["set-ups.csv", *(f"sheet-{i + 1}.svg" for i in range(len(laid.sheets)))]
    assert b'shelf &lt;&quot;&amp;&gt;"' in b"".join(files.values())


def test_what_is_held_back_has_a_broken_line_as_well_as_the_accent() -> None:
    _, _, laid = cut(backed(shelf=[shelf("one", 150.0)]))
    told = set()
    for sheet, drawing in zip(laid.sheets, drawn(laid), strict=True):
        _, *areas = (mark for mark in drawing.marks if isinstance(mark, Area))
        for part, area in zip(sheet.parts, areas, strict=True):
            assert area.pen is not None
            told.add((part.blank.held_back, bool(area.pen.dash), area.pen.ink == PLUM))
    assert told == {(True, True, True), (False, False, False)}


def test_the_same_sheets_give_the_same_bytes() -> None:
    told = backed(saw={"kerf": mm(2.4)})
    made = [cut_plan.files(found, laid, "mm") for _, found, laid in (cut(told), cut(told))]
    assert made[0] == made[1]


def test_sheets_go_on_a4_laid_down_and_their_words_on_the_paper() -> None:
    square = backed()
    square["stock"]["case"]["size"] = [mm(1220.0), mm(1220.0)]
    for told in (backed(piece={"copies": 6}), square):
        _, _, laid = cut(told)
        for drawing in drawn(laid):
            assert drawing.wide <= 297.0 - 20.0
            assert drawing.high <= 210.0 - 10.0
            for mark in drawing.marks:
                if isinstance(mark, Words):
                    left, top, right, bottom = lettering.box(mark)
                    assert min(left, top) >= 0
                    assert right <= drawing.wide
                    assert bottom <= drawing.high


@pytest.mark.slow
def test_words_and_numbers_on_a_sheet_s_drawing_meet_nothing_and_leave_no_board() -> None:
    pieces = [parts for seed in range(40) if (parts := _drawn(seed))]
    small = tables(thick=12.0, case=case(80.0, 80.0, 40.0, corner="sides-run"))
    six = backed(piece={"copies": 6})
    letters = 0
    for piece, laid in [*pieces, cut(small)[::2], cut(six)[::2]]:
        for sheet in laid.sheets:
            scale = cut_plan.scale_of(sheet)
            labels, legend = cut_plan.labelled(sheet, piece.piece.units, scale)
            letters += len(legend)
            boxes = [label.box for label in labels]
            for part, label in zip(sheet.parts, labels, strict=True):
                box = label.box
                assert part.x * scale <= box.x
                assert box.x + box.wide <= (part.x + part.long) * scale
                assert part.y * scale <= box.y
                assert box.y + box.high <= (part.y + part.wide) * scale
                # a letter in a small part may be smaller, and is told under the sheet
                assert label.size >= LEAST or any(
                    told.startswith(f"{label.lines[0]}: ") for told in legend
                )
            boxes += cut_plan.numbered(sheet, boxes, scale)
            assert len(boxes) == len(sheet.parts) + len(sheet.cuts)
            for i, one in enumerate(boxes):
                assert not any(one.meets(other) for other in boxes[i + 1 :])
    assert letters


def test_a_label_s_room_is_that_of_its_words() -> None:
    """What is kept free for a label holds every word of it, as the words themselves say."""
    _, _, laid = cut(backed(piece={"copies": 6}))
    for sheet, drawing in zip(laid.sheets, drawn(laid), strict=True):
        scale = cut_plan.scale_of(sheet)
        corner = next(mark for mark in drawing.marks if isinstance(mark, Area)).rings[0][0]
        words = [mark for mark in drawing.marks if isinstance(mark, Words)][2:]
        for label in cut_plan.labelled(sheet, "mm", scale)[0]:
            own, words = words[: len(label.lines)], words[len(label.lines) :]
            rooms = np.array([lettering.box(word) for word in own])
            low, high = rooms[:, :2].min(axis=0) - corner, rooms[:, 2:].max(axis=0) - corner
            box = label.box
            assert low == pytest.approx((box.x, box.y), abs=1e-6)
            assert high == pytest.approx((box.x + box.wide, box.y + box.high), abs=1e-6)


def _drawn(seed: int) -> tuple[PieceFile, Layout] | None:
    try:
        return cut(draw(seed))[::2]
    except InputError:
        return None
