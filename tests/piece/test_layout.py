"""Blanks on sheets: cut up again by what the layout says, with no code of its own; limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeAlias

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures.errors import InputError
from fixtures.piece.blanks import Blank, Lot, blanks
from fixtures.piece.layout import Laid, Layout, Part, layout
from fixtures.piece.panels import panels
from fixtures.piece.piece import stock_named
from fixtures.piece.tables import PieceFile
from tests.piece.making import NAME, Tables, case, draw, mm, read, shelf, stock, tables

SAME = 1e-5
Rectangle: TypeAlias = tuple[float, float, float, float]
"""Of a piece of sheet: from x to x, from y to y."""


def piece_of(size: tuple[float, float], *, kerf: float = 3.0, trim: float = 0.0,
             grain: str = "long", **more: Any) -> PieceFile:  # fmt: skip
    told = tables(case=case(), saw={"kerf": mm(kerf), "trim": mm(trim)}, **more)
    told["stock"]["case"] |= {"size": [mm(size[0]), mm(size[1])], "grain": grain}
    return read(told)


def blank(name: str, length: float, width: float, count: int, piece: PieceFile) -> Blank:
    made = stock_named(piece, "case", "test")
    lot = Lot((name,), count, made, "case", 18.0, length, length, width, None, False, (), "")
    return Blank(lot, "board", count, 1, length, width)


def box(part: Part) -> Rectangle:
    return part.x, part.x + part.long, part.y, part.y + part.wide


def sawn_up(sheet: Laid, trim: float, kerf: float) -> list[Rectangle]:
    """The pieces that a sheet falls into by its cuts; each cut must part one of them, whole."""
    pieces: list[Rectangle] = [(trim, sheet.length - trim, trim, sheet.width - trim)]
    for cut in sheet.cuts:
        through = [
            p
            for p in pieces
            if (
                p[2] - SAME < cut.at < p[3]
                and abs(p[0] - cut.start) < SAME
                and abs(p[1] - cut.end) < SAME
                if cut.way == "along"
                else p[0] - SAME < cut.at < p[1]
                and abs(p[2] - cut.start) < SAME
                and abs(p[3] - cut.end) < SAME
            )
        ]
        assert len(through) == 1, cut
        (piece,) = through
        pieces.remove(piece)
        x0, x1, y0, y1 = piece
        if cut.way == "along":
            assert cut.size == pytest.approx(cut.at - y0)
            halves = [(x0, x1, y0, cut.at), (x0, x1, cut.at + kerf, y1)]
        else:
            assert cut.size == pytest.approx(cut.at - x0)
            halves = [(x0, cut.at, y0, y1), (cut.at + kerf, x1, y0, y1)]
        pieces += [half for half in halves if half[1] > half[0] and half[3] > half[2]]
    return pieces


def guillotine(boxes: Sequence[Rectangle], kerf: float) -> bool:
    """Whether parts can be freed by cuts from edge to edge: any cut that goes is as good as any."""
    if len(boxes) < 2:
        return True
    for low, high in ((0, 1), (2, 3)):
        for at in sorted({one[high] for one in boxes}):
            before = [one for one in boxes if one[high] <= at + SAME]
            after = [one for one in boxes if one[low] >= at + kerf - SAME]
            if after and len(before) + len(after) == len(boxes):
                return guillotine(before, kerf) and guillotine(after, kerf)
    return False


def holds(found: Layout, own: Sequence[Blank], piece: PieceFile) -> None:
    """All that a layout promises."""
    kerf, trim = piece.saw.kerf, piece.saw.trim
    counts: dict[Blank, int] = dict.fromkeys(own, 0)
    for sheet in found.sheets:
        assert sheet.times >= 1
        assert sheet.parts
        grain = found.grains[sheet.stock]
        for part in sheet.parts:
            counts[part.blank] += sheet.times
            asked = (part.blank.length, part.blank.width)
            got = (part.long, part.wide)
            ways = {"long": [asked], "wide": [asked[::-1]], "none": [asked, asked[::-1]]}[grain]
            assert got in ways
            x0, x1, y0, y1 = box(part)
            assert x0 >= trim - SAME
            assert y0 >= trim - SAME
            assert x1 <= sheet.length - trim + SAME
            assert y1 <= sheet.width - trim + SAME
        boxes = [box(part) for part in sheet.parts]
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                apart = max(a[0] - b[1], b[0] - a[1], a[2] - b[3], b[2] - a[3])
                assert apart >= kerf - SAME
        assert guillotine(boxes, kerf)
        pieces = sawn_up(sheet, trim, kerf)
        for one in boxes:
            # each part comes out in a piece of its own, at most a kerf larger
            own_piece = [
                p for p in pieces if abs(p[0] - one[0]) < SAME and abs(p[2] - one[2]) < SAME
            ]
            assert len(own_piece) == 1
            over = (own_piece[0][1] - one[1], own_piece[0][3] - one[3])
            assert all(-SAME <= more <= kerf + SAME for more in over)
    told = sum(n for n in counts.values())
    left = [b for b in own if counts[b] < b.count]
    assert all(counts[b] <= b.count for b in own)
    small = [f for f in found.findings if f.check == "sheet-small"]
    assert len(left) == len(small)
    assert told or small


@st.composite
def jobs(draw_: st.DrawFn) -> tuple[PieceFile, list[Blank]]:
    size = (draw_(st.integers(600, 3000)), draw_(st.integers(400, 1600)))
    piece = piece_of(
        (float(size[0]), float(size[1])),
        kerf=draw_(st.sampled_from([1.0, 2.4, 3.2])),
        trim=draw_(st.sampled_from([0.0, 5.0, 12.5])),
        grain=draw_(st.sampled_from(["long", "wide", "none"])),
    )
    own = [
        blank(f"b{i}", draw_(st.floats(40.0, 1300.0)), draw_(st.floats(40.0, 900.0)),
              draw_(st.integers(1, 5)), piece)
        for i in range(draw_(st.integers(1, 6)))
    ]  # fmt: skip
    return piece, own


@given(jobs())
@settings(max_examples=40, deadline=None)
def test_a_layout_keeps_its_promises(job: tuple[PieceFile, list[Blank]]) -> None:
    piece, own = job
    holds(layout(own, piece), own, piece)


def test_layouts_of_random_pieces_keep_them_too() -> None:
    for seed in range(20):
        told: Tables = draw(seed)
        told["piece"]["copies"] = 1 + seed % 7
        try:
            piece = read(told)
            made = panels(piece, NAME)
        except InputError:
            continue
        own = blanks(piece, made)
        holds(layout(own, piece), own, piece)


def test_blanks_that_fill_a_sheet_to_the_last_kerf_take_one() -> None:
    # 2 × 500 and a kerf of 3 make 1003; 2 × 250 and 3 make 503; trim 10 all round
    for size, sheets in (((1023.0, 523.0), 1), ((1022.9, 523.0), 2), ((1023.0, 522.9), 2)):
        piece = piece_of(size, trim=10.0)
        found = layout([blank("b", 500.0, 250.0, 4, piece)], piece)
        assert found.count("case") == sheets, size


def test_sheets_are_never_fewer_than_their_area_takes_nor_many_more() -> None:
    piece = piece_of((2440.0, 1220.0), kerf=3.2, trim=10.0)
    own = [blank("a", 700.0, 380.0, 24, piece), blank("b", 860.0, 380.0, 24, piece)]
    found = layout(own, piece)
    area = sum(b.count * b.length * b.width for b in own)
    least = math.ceil(area / (2440.0 * 1220.0))
    # 3 strips of 380 a sheet, 2420 long. One of each strip 860 + 700 + 700, the rest of the 860s in
    # twos, would be 18 strips, 6 sheets; 860s in twos and 700s in threes are 20, 7 sheets.
    assert least <= found.count("case") <= 7
    assert found.yields["case"] == pytest.approx(100 * area / found.count("case") / 2440 / 1220)


def test_a_blank_that_is_too_large_is_told_with_by_how_much() -> None:
    piece = piece_of((1000.0, 500.0), trim=10.0)
    fits = layout([blank("b", 980.0, 480.0, 1, piece)], piece)
    assert not fits.findings
    (finding,) = layout([blank("b", 980.0, 480.5, 1, piece)], piece).findings
    assert finding.message == (
        "b: a blank of 980 mm × 480.5 mm is 0.5 mm more than a sheet of 1000 mm × 500 mm gives "
        "inside its trim."
    )
    assert finding.measured == pytest.approx(0.5)


def test_grain_keeps_a_blank_from_being_turned_and_says_so() -> None:
    for grain, there in (("long", 0), ("none", 1), ("wide", 1)):
        piece = piece_of((1000.0, 500.0), grain=grain)
        found = layout([blank("b", 400.0, 600.0, 1, piece)], piece)
        assert found.count("case") == there
        if not there:
            assert 'set grain = "none"' in found.findings[0].remedy
        else:
            assert found.sheets[0].parts[0].turned


def test_sheets_are_used_by_letter_and_more_are_asked_for() -> None:
    told = tables(case=case())
    told["stock"]["case"] = {
        "sheet": [
            {"id": "A", "readings": [mm(18.0)], "size": [mm(1000.0), mm(600.0)]},
            {"id": "B", "readings": [mm(18.1)], "size": [mm(1000.0), mm(600.0)], "count": 2},
        ]
    }
    piece = read(told)
    own = [blank("b", 900.0, 500.0, 5, piece)]
    found = layout(own, piece)
    assert [(one.letter, one.times) for one in found.sheets] == [("A", 1), ("B", 2), ("", 2)]
    (finding,) = found.findings
    assert finding.message == "2 sheets more than the 3 that the file names by letter."
    holds(replace(found, findings=()), own, piece)


def test_a_sheet_too_small_for_any_blank_is_left_out() -> None:
    told = tables(case=case())
    told["stock"]["case"] = {
        "size": [mm(2440.0), mm(1220.0)],
        "sheet": [{"id": "A", "readings": [mm(18.0)], "size": [mm(500.0), mm(300.0)]}],
    }
    piece = read(told)
    found = layout([blank("b", 900.0, 500.0, 1, piece)], piece)
    assert [one.letter for one in found.sheets] == [""]


def test_many_copies_are_a_few_layouts_many_times() -> None:
    told = tables(
        thick=18.0,
        piece={"copies": 200},
        case=case(600.0, 800.0, 300.0),
        shelf=[shelf(f"s{i}", 100.0 * i, setback=mm(2.0 * i)) for i in range(1, 6)],
    )
    piece = read(told)
    own = blanks(piece, panels(piece, NAME))
    found = layout(own, piece)
    assert len(found.sheets) < 40
    assert sum(s.times * len(s.parts) for s in found.sheets) == sum(b.count for b in own)


def test_held_back_blanks_are_reserved_with_their_allowance() -> None:
    told = tables(
        thick=18.0,
        stocks={"back": stock(6.5)},
        case=case(600.0, 500.0, 250.0, corner="sides-run", back={"stock": "back"}),
        shelf=[shelf("one", 150.0)],
        saw={"allowance": "25 mm", "oversize": "4 mm"},
    )
    piece = read(told)
    own = blanks(piece, panels(piece, NAME))
    parts = {p.blank.lot.names: p for s in layout(own, piece).sheets for p in s.parts}
    reserved = parts[("shelf one",)]
    assert reserved.blank.held_back
    # 600 less two sides of 18 long, 250 less a back of 6.5 wide, 25 more each way
    assert (reserved.long, reserved.wide) == pytest.approx((589.0, 268.5))
    assert (parts[("right", "left")].long, parts[("right", "left")].wide) == (504.0, 254.0)


def test_a_board_measured_by_itself_comes_from_the_same_sheets() -> None:
    told = tables(thick=18.0, case=case(600.0, 500.0, 250.0, corner="sides-run"))
    told["as_built"] = {"thickness": {"left": [mm(18.1), mm(18.2)]}}
    piece = read(told)
    found = layout(blanks(piece, panels(piece, NAME)), piece)
    assert {sheet.stock for sheet in found.sheets} == {"case"}
    assert sum(sheet.times * len(sheet.parts) for sheet in found.sheets) == 4


def test_the_same_blanks_in_another_order_take_as_much_sheet() -> None:
    piece = piece_of((2440.0, 1220.0), kerf=3.2, trim=10.0)
    own = [blank(f"b{i}", 300.0 + 37 * i, 200.0 + 11 * i, 3, piece) for i in range(9)]
    assert layout(own, piece).count("case") == layout(own[::-1], piece).count("case")


def test_a_sheet_without_a_size_is_the_usual_one_of_the_piece_s_units() -> None:
    for units, size in (("mm", (2440.0, 1220.0)), ("in", (96 * 25.4, 48 * 25.4))):
        piece = read(tables(case=case(), piece={"units": units}))
        (sheet,) = layout([blank("b", 500.0, 300.0, 1, piece)], piece).sheets
        assert (sheet.length, sheet.width) == pytest.approx(size)


def test_every_cut_names_the_piece_it_is_made_in() -> None:
    # pieces by what freed them: each is cut from one end to the other
    seen = 0
    for copies in (1, 5, 12):
        told = tables(thick=18.0, case=case(620.0, 480.0, 300.0), shelf=[shelf("one", 150.0)],
                      piece={"copies": copies})  # fmt: skip
        piece = read(told)
        for sheet in layout(blanks(piece, panels(piece, NAME)), piece).sheets:
            trim, kerf = piece.saw.trim, piece.saw.kerf
            there = {0: [trim, trim, sheet.length - trim, sheet.width - trim]}
            for number, cut in enumerate(sheet.cuts, 1):
                own = there[cut.of]
                at, across = (0, 1) if cut.way == "across" else (1, 0)
                assert cut.at - own[at] == pytest.approx(cut.size)
                assert (cut.start, cut.end) == pytest.approx((own[across], own[across + 2]))
                off, left = [*own], [*own]
                off[at + 2], left[at] = cut.at, cut.at + kerf
                there[number], there[cut.of], there[-number] = off, left, left
                seen += 1
    assert seen > 20


def test_a_blank_longer_than_any_sheet_stops_the_piece() -> None:
    piece = read(tables(thick=18.0, case=case(2600.0, 480.0, 300.0, corner="top-runs")))
    found = layout(blanks(piece, panels(piece, NAME)), piece)
    (finding,) = [one for one in found.findings if one.check == "sheet-small"]
    assert finding.severity == "stop"


def test_a_saw_in_inches_is_taken_on_the_grid_of_the_rule() -> None:
    told = tables(thick=18.0, case=case(), saw={"kerf": "2.4 mm"})
    saw = read({**told, "piece": {"units": "in"}}).saw
    # 1/8, 3/4 and 1/2 in; what is given stays
    assert (saw.kerf, saw.oversize, saw.allowance, saw.trim) == pytest.approx(
        (2.4, 3.175, 19.05, 12.7)
    )
    assert saw.model_fields_set == {"kerf"}
    assert read(told).saw.oversize == 3.0
