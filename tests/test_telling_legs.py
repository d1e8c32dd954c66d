"""How legs are told: in the lists, the sheet, the document, and the notes of a new piece file."""

from __future__ import annotations

import csv
import io
import math
from functools import cache

import pytest

from fixtures.kit import Kit, kit
from fixtures.piece.blank import BLANK
from fixtures.piece.legs import legs_in
from fixtures.piece.piece import parse
from fixtures.telling.kit import cut_list_csv, drill_table_csv, kit_document, kit_lines, sheet
from tests.piece.making import NAME, case, read, tables


@cache
def on_legs() -> Kit:
    told = tables(
        thick=18.0,
        case=case(420.0, 300.0, 240.0, fixing="glue"),
        legs={
            "size": "28 mm", "length": "150 mm", "inset": "60 mm",
            "rake": "8 deg", "splay": "12 deg",
        },
        piece={"copies": 2},
    )  # fmt: skip
    return kit(read(told), NAME)


def test_the_document_holds_each_leg_with_its_angles_and_where_they_are_measured_from() -> None:
    """8° and 12°: resultant 14.2957° and sightline 56.5276° (closed form by vectors)."""
    legs = kit_document(on_legs(), {})["legs"]
    assert [leg["name"] for leg in legs] == [leg.name for leg in legs_in(on_legs().joints)]
    for leg in legs:
        assert leg["resultant_deg"] == pytest.approx(14.2957, abs=5e-5)
        assert leg["sightline_deg"] == pytest.approx(56.5276, abs=5e-5)
        assert leg["sightline_from"] == "fore-aft line"
        assert leg["foot_out_mm"] == {
            "fore_aft": pytest.approx(150.0 * math.tan(math.radians(8.0)), abs=1e-4),
            "sideways": pytest.approx(150.0 * math.tan(math.radians(12.0)), abs=1e-4),
        }
        # the foot is cut across by the resultant: long and short side differ by d tan
        apart = leg["longest_mm"] - leg["shortest_mm"]
        assert apart == pytest.approx(28.0 * math.tan(math.radians(14.2957)), abs=1e-3)


def test_a_piece_without_legs_has_no_key_for_them() -> None:
    told = tables(thick=18.0, case=case(300.0, 260.0, 150.0, fixing="glue"))
    assert "legs" not in kit_document(kit(read(told), NAME), {})


def test_the_cut_list_has_a_row_of_legs_for_all_copies() -> None:
    rows = list(csv.DictReader(io.StringIO(cut_list_csv(on_legs()))))
    legs = [row for row in rows if row["panel"].startswith("leg ")]
    assert [row["count"] for row in legs] == ["8"]
    assert float(legs[0]["width_mm"]) == 28.0
    assert float(legs[0]["outer_length_mm"]) > float(legs[0]["inner_length_mm"])
    assert None not in legs[0].values()


def test_the_drill_table_measures_each_hole_from_the_front_and_the_nearer_end() -> None:
    rows = list(csv.DictReader(io.StringIO(drill_table_csv(on_legs()))))
    holes = [row for row in rows if row["joint"].startswith("leg ")]
    assert len(holes) == 16
    assert {row["panel"] for row in holes} == {"bottom"}
    assert {row["face"] for row in holes} == {"underside"}
    for row in holes:
        assert 0.0 < float(row["from_front_mm"]) < 240.0
        assert float(row["from_datum_mm"]) < 210.0
        side = "right" if "right" in row["joint"] else "left"
        assert row["datum"].startswith(f"{side} end")


def test_sheet_and_terminal_tell_how_the_legs_are_cut_and_that_it_can_tip() -> None:
    text = " ".join(sheet(on_legs()).split())
    for words in (
        "8 × round leg, 28 mm:",
        "top square, the foot bevelled 14.3 deg.",
        "sightline 56.53 deg from that, outwards",
        "it tips",
        "no load is stated",
        "32 × flat-head wood screws",
    ):
        assert words in text
    assert any("round leg" in line for line in kit_lines(on_legs(), ()))


def test_the_note_about_legs_in_a_new_file_can_be_used() -> None:
    lines = BLANK.splitlines()
    start = lines.index("# [legs]")
    end = next(i for i in range(start, len(lines)) if not lines[i])
    text = "\n".join([*lines[:start], *(line[2:] for line in lines[start:end]), *lines[end:]])
    piece = parse(text, NAME)
    assert piece.legs is not None
    made = kit(piece, NAME)
    assert made.holds
    assert len(legs_in(made.joints)) == 4
