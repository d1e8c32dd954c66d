"""Readings make a stock; few, far or foreign readings are noted; impossible ones are refused."""

from __future__ import annotations

import doctest
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures import stock as stock_module
from fixtures.errors import InputError
from fixtures.stock import (
    Sheet,
    Stock,
    fixture_sets,
    nominal_only,
    reading_faults,
    stock_findings,
)

HOW = (
    "Measure in 4 places or more, each 20 mm or more in from the edge, after sanding, and give "
    "every reading."
)
RANGE = "Give a thickness from 2 to 60 mm."


def refusals(*readings: float) -> list[str]:
    return [str(fault) for fault in reading_faults(readings, "--thickness")]


def test_slot_is_for_the_largest_reading_with_both_faces_finished() -> None:
    bare = Stock("case", "MDF", 19.0, (19.1, 19.0, 19.2, 19.1))
    assert (bare.largest, bare.smallest, bare.thickness_for_slot) == (19.2, 19.0, 19.2)
    assert bare.mean == pytest.approx(19.1)
    assert bare.spread == pytest.approx(0.2)
    painted = Stock("case", "MDF", 19.0, bare.readings, finish=0.1)
    assert painted.thickness_for_slot == pytest.approx(19.4)


def test_one_reading_has_no_spread_rather_than_none_at_all() -> None:
    assert Stock("case", "MDF", 19.0, (19.1,)).spread is None
    assert Stock("case", "MDF", 19.0, (19.1, 19.1)).spread == 0.0


@given(st.lists(st.floats(min_value=18.0, max_value=18.9), min_size=1, max_size=12))
def test_order_of_readings_changes_nothing_and_the_slot_lets_every_one_in(
    readings: list[float],
) -> None:
    made = Stock("a", "oak", None, tuple(readings))
    turned = Stock("a", "oak", None, tuple(reversed(readings)))
    assert (made.largest, made.smallest, made.mean, made.spread) == (
        turned.largest,
        turned.smallest,
        turned.mean,
        turned.spread,
    )
    assert all(reading <= made.thickness_for_slot for reading in readings)
    assert made.smallest - 1e-9 <= made.mean <= made.largest + 1e-9


def test_no_reading_is_refused_and_says_to_measure() -> None:
    with pytest.raises(InputError) as refusal:
        Stock("case", "MDF", 19.0)
    (fault,) = refusal.value.faults
    assert fault.where == "stock.case.readings"
    assert str(fault) == f"There is no thickness reading. {HOW}"


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        (
            (12.2, 12.1, 122.0),
            "122 mm is not a panel's thickness: it is outside 2 to 60 mm. Is it 12.2 mm? " + RANGE,
        ),
        (
            (18.2, 0.72),  # 0.72 in is 18.288 mm
            "0.72 mm is not a panel's thickness: it is outside 2 to 60 mm. "
            "Is it 0.72 in, 18.29 mm? " + RANGE,
        ),
        (
            (18.2, 1.81),
            "1.81 mm is not a panel's thickness: it is outside 2 to 60 mm. Is it 18.1 mm? " + RANGE,
        ),
        (
            (1805.0,),
            "1805 mm is not a panel's thickness: it is outside 2 to 60 mm. "
            "Is it 18.05 mm? " + RANGE,
        ),
        ((1e9,), "1e+09 mm is not a panel's thickness: it is outside 2 to 60 mm. " + RANGE),
        ((math.nan,), "nan mm is not a panel's thickness: it is outside 2 to 60 mm. " + RANGE),
        ((-18.0,), "-18 mm is not a panel's thickness: it is outside 2 to 60 mm. " + RANGE),
        (
            (12.1, 12.2, 21.2, 12.2),
            "The reading 21.2 mm does not belong with the others, 12.1 mm to 12.2 mm. "
            "Measure there again, and correct or drop that reading.",
        ),
        (
            (18.1, 8.1, 18.1),
            "The reading 8.1 mm does not belong with the others, 18.1 mm. "
            "Measure there again, and correct or drop that reading.",
        ),
        (
            (18.1, 15.0),
            "Readings from 15 mm to 18.1 mm are not of one sheet. "
            "Measure again, and give each sheet its own letter and readings.",
        ),
        (
            (18.1, 16.2),
            "Readings from 16.2 mm to 18.1 mm are not of one sheet. "
            "Measure again, and give each sheet its own letter and readings.",
        ),
        (
            (18.1, 18.2, 15.0, 15.1),
            "Readings from 15 mm to 18.2 mm are not of one sheet. "
            "Measure again, and give each sheet its own letter and readings.",
        ),
    ],
)
def test_an_impossible_reading_is_named_with_its_remedy(
    readings: tuple[float, ...], sentence: str
) -> None:
    assert refusals(*readings) == [sentence]


def test_thinnest_and_thickest_panels_are_accepted() -> None:
    assert refusals(2.0, 2.1) == []
    assert refusals(60.0, 59.0) == []
    assert len(refusals(1.999)) == 1
    assert len(refusals(60.001)) == 1


def test_an_uneven_sheet_is_accepted() -> None:
    """PS 1 allows a sheet 1/32 in (0.8 mm) either side of nominal."""
    assert refusals(18.26 - 0.79, 18.26 + 0.79, 18.26, 18.2) == []


def test_all_faults_of_a_stock_are_told_at_once() -> None:
    with pytest.raises(InputError) as refusal:
        Stock(
            "case",
            "MDF",
            190.0,
            finish=3.0,
            sheets=(Sheet("A", (19.0, 19.1)), Sheet("A", ()), Sheet("../b", (19.0,))),
        )
    assert [(fault.where, str(fault)) for fault in refusal.value.faults] == [
        ("stock.case.sheet A", f"There is no thickness reading. {HOW}"),
        (
            "stock.case.sheet",
            "'../b' is not a sheet letter. Use one to four letters or digits, such as A.",
        ),
        ("stock.case.sheet", "Two sheets are called A. Give each its own letter."),
        (
            "stock.case.nominal",
            f"190 mm is not a panel's thickness: it is outside 2 to 60 mm. Is it 19 mm? {RANGE}",
        ),
        (
            "stock.case.finish",
            "A finish of 3 mm a face is outside 0 to 1 mm. Give the thickness "
            "added to one face, such as 0.1 mm.",
        ),
    ]


def test_readings_with_and_without_a_sheet_letter_are_refused() -> None:
    with pytest.raises(InputError, match="There are readings both with and without"):
        Stock("case", "MDF", 19.0, (19.0,), sheets=(Sheet("A", (19.1,)),))


def test_sheets_half_a_millimetre_apart_share_one_set() -> None:
    sheets = (
        Sheet("A", (15.6, 15.8)),
        Sheet("B", (16.1, 16.0)),
    )  # 0.5 and the noise of subtracting
    shared = Stock("case", "plywood", 16.0, sheets=sheets)
    assert shared.readings == (15.6, 15.8, 16.1, 16.0)
    ((ids, made),) = fixture_sets(shared)
    assert (ids, made.largest) == (("A", "B"), 16.1)


def test_sheets_further_apart_get_a_set_each() -> None:
    sheets = (Sheet("A", (18.1, 18.3)), Sheet("B", (18.61, 18.5)), Sheet("C", (18.2,)))
    stock = Stock("case", "plywood", 18.0, finish=0.1, sheets=sheets)
    sets = fixture_sets(stock)
    assert [(ids, made.name, made.largest) for ids, made in sets] == [
        (("A",), "case A", 18.3),
        (("B",), "case B", 18.61),
        (("C",), "case C", 18.2),
    ]
    assert all(made.finish == 0.1 and made.nominal == 18.0 for _, made in sets)
    notes = [str(note) for note in stock_findings(stock) if note.check == "stock-spread"]
    assert notes == [
        "stock-spread note  case: its sheets measure 18.1 mm to 18.61 mm, more than 0.5 mm apart, "
        "so each sheet letter gets its own set of fixtures. Mark each panel with the letter of its "
        "sheet, or buy sheets of one batch."
    ]


def test_a_stock_without_sheet_letters_is_one_set() -> None:
    stock = Stock("case", "plywood", 18.0, (17.6, 18.2))
    assert fixture_sets(stock) == (((), stock),)


def test_four_even_readings_of_the_sheet_named_raise_no_note() -> None:
    """MDF of 19 mm: 18.8 to 19.2 mm by EN 622-1."""
    assert stock_findings(Stock("case", "MDF", 19.0, (19.1, 19.0, 19.2, 19.1))) == ()


@pytest.mark.parametrize(
    ("readings", "sentence"),
    [
        ((19.1,), "case: one reading, so how far the thickness spreads is unknown, not zero."),
        ((19.1, 19.0, 19.2), "case: 3 readings; 4 or more are asked for."),
    ],
)
def test_few_readings_are_noted_with_how_to_take_them(
    readings: tuple[float, ...], sentence: str
) -> None:
    (note,) = stock_findings(Stock("case", "MDF", 19.0, readings))
    assert str(note) == f"stock-readings note  {sentence} {HOW}"
    assert (note.measured, note.limit) == (len(readings), 4.0)


def test_a_sheet_that_spreads_more_than_half_a_millimetre_is_noted() -> None:
    (note,) = stock_findings(Stock("case", "oak", None, (18.0, 18.3, 18.6, 18.2)))
    assert str(note) == (
        "stock-spread note  case: the readings spread 0.6 mm, from 18 mm to 18.6 mm; slots are "
        "made for the largest, so thin places will be loose. Measure the extremes again; use a "
        "sheet that spreads up to 0.5 mm, or shim the thin places with tape."
    )
    assert note.measured == pytest.approx(0.6)
    assert stock_findings(Stock("case", "oak", None, (15.6, 15.8, 16.1, 15.9))) == ()


def test_another_sheet_than_the_one_named_is_noted() -> None:
    """Birch plywood of 18 mm: 17.1 to 18.7 mm by the mills' table (common practice)."""
    (note,) = stock_findings(Stock("shelf", "birch plywood", 18.0, (15.0, 14.9, 15.1, 15.0)))
    assert note.check == "stock-thickness"
    assert note.message.startswith("shelf: 18 mm birch plywood may measure 17.1 mm to 18.7 mm")
    assert "The readings look like 15 mm." in note.message


def test_notes_on_sheets_name_the_sheet() -> None:
    sheets = (Sheet("A", (19.0, 19.1, 19.0, 19.1)), Sheet("B", (19.1,)))
    (note,) = stock_findings(Stock("case", "MDF", 19.0, sheets=sheets))
    assert note.message.startswith("case sheet B: one reading")


def test_a_reading_far_from_the_nominal_size_is_refused_with_what_it_may_be() -> None:
    with pytest.raises(InputError) as refusal:
        Stock("back", "plywood", 6.5, (59.0,))
    (fault,) = refusal.value.faults
    assert (fault.where, fault.value) == ("stock.back.readings", "59 mm")
    assert str(fault) == (
        "The reading 59 mm is 52.5 mm off the nominal size, 6.5 mm, which no sheet is. Is it "
        "5.9 mm? Correct the reading where it is mistyped, or else the nominal size."
    )


def test_a_sheet_far_from_the_nominal_size_is_refused_by_its_letter() -> None:
    sheets = (Sheet("A", (18.1,)), Sheet("B", (25.0, 25.1)))
    with pytest.raises(InputError) as refusal:
        Stock("case", "MDF", 18.0, sheets=sheets)
    (fault,) = refusal.value.faults
    assert fault.where == "stock.case.sheet B"
    assert str(fault) == (
        "The reading 25.1 mm is 7.1 mm off the nominal size, 18 mm, which no sheet is. Correct "
        "the reading where it is mistyped, or else the nominal size."
    )


@pytest.mark.parametrize(
    ("nominal", "reading"),
    # dressed softwood boards, dry: 1 in is 3/4 in, 2 in is 1 1/2 in (PS 20, from memory)
    [(25.4, 0.75 * 25.4), (50.8, 1.5 * 25.4), (18.0, 15.0), (6.0, 3.0)],
)
def test_boards_that_are_sold_by_a_larger_name_are_not_refused(
    nominal: float, reading: float
) -> None:
    assert Stock("case", "pine", nominal, (reading,)).largest == reading


def test_nominal_size_alone_is_widened_to_the_tables_most() -> None:
    """Birch plywood of 18 mm: +0.7/-0.9 by the mills' table, usually 17.7 mm (common practice)."""
    made = nominal_only("shelf", "birch plywood", 18.0, finish=0.1)
    assert (made.largest, made.smallest, made.mean) == (18.7, 17.1, 17.7)
    assert (made.readings, made.spread) == ((), None)
    assert made.thickness_for_slot == pytest.approx(18.9)
    (note,) = stock_findings(made)
    assert str(note) == (
        "stock-readings mend  shelf: not measured. Slots are made for 18.7 mm, the thickest such a "
        "sheet may be (tolerance table of birch plywood mills); it may also be 17.1 mm, and "
        f"usually is 17.7 mm. {HOW}"
    )


def test_nominal_size_of_what_no_table_covers_is_refused() -> None:
    with pytest.raises(InputError) as refusal:
        nominal_only("shelf", "oak", 18.0)
    assert str(refusal.value) == (
        f"No table says how far 18 mm oak may be from its nominal size. {HOW}"
    )


def test_a_table_never_stands_beside_readings() -> None:
    made = nominal_only("shelf", "MDF", 18.0)
    with pytest.raises(ValueError, match="a table stands in for readings"):
        Stock("shelf", "MDF", 18.0, (18.0,), table=made.table)


def test_notes_are_in_the_units_asked_for() -> None:
    """17.4625 mm is 11/16 in, which calipers read as 0.6875 in; 16.8 mm is 0.6614 in."""
    (note,) = stock_findings(Stock("case", "oak", None, (17.4625, 16.8, 17.0, 17.2)), "in")
    assert "from 0.661 in to 0.688 in;" in note.message


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(stock_module)
    assert (failed, tried >= 6) == (0, True)
