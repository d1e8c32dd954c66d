"""What is told of set-ups and sheets: whole lines, rows and drawings, as a maker meets them."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest

from fixtures.piece.layout import Layout, layout
from fixtures.piece.panels import panels
from fixtures.piece.sawing import Sawing, sawing
from fixtures.piece.tables import PieceFile
from fixtures.telling import sawing as telling
from fixtures.telling import sheets
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables


def cut(told: Tables) -> tuple[PieceFile, Sawing, Layout]:
    piece = read(told)
    found = sawing(piece, panels(piece, NAME))
    return piece, found, layout(found.blanks, piece)


def lines(told: Tables) -> str:
    piece, found, _ = cut(told)
    return " ".join(" ".join(telling.lines(found, piece.saw, piece.piece.units)).split())


def backed(**more: Any) -> Tables:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case(600.0, 500.0, 320.0), **more)
    told["case"]["back"] = {"stock": "back", "fit": "groove"}
    return told


def test_a_bevel_s_set_up_can_be_set_without_thinking() -> None:
    piece, found, _ = cut(tables(thick=18.0, case=case(600.0, 500.0, 250.0)))
    told = telling.lines(found, piece.saw, "mm")
    at = next(i for i, line in enumerate(told) if "Bevel" in line)
    end = next(i for i, line in enumerate(told[at:], at) if not line)
    # 600 less two lands; at the table less (18 - 0.3) more; inside 600 - 2 × 18
    # 0.3 mm over a face of 25.456 mm is 0.675 deg, over eight cuts
    assert " ".join(" ".join(told[at:end]).split()) == (
        "4. Bevel: sled, stop block at 581.7 mm; blade 45 deg 2 × bottom, top: both ends. The "
        "board between stop and blade, the blade tilting away from the stop: the offcut lies free, "
        "and the long point is above. Both ends alike, the board turned end for end; a land of 0.3 "
        "mm stays on either tip and touches the stop. Its slot in the sled is cut at this tilt. "
        "[ ] First, in scrap: 4 short pieces of one length, 8 cuts, closed into one ring; all 8 "
        "cuts add their errors, one mitre hides them. Go on when the last gapes 0.3 mm or less "
        "(feeler), 0.08 deg a cut; where it gapes on the outside tilt more, on the inside less, "
        "and cut them anew. Gap: ______ [ ] The first one measures 599.4 mm outside, lands on, "
        "and 564 mm inside: ______ (Not on the fence: An edge of 250 mm on the fence guides too "
        "little: 300 mm or more is wanted.)"
    )


def test_the_datum_and_the_cautions_come_first() -> None:
    told = lines(tables(thick=18.0, case=case()))
    for said in (
        "from fence or stop to the near side of the teeth",
        "at 0 deg the blade stands square to the table",
        "Outside face up in every cut.",
        "Set up with the saw unplugged",
        "Never fence and mitre gauge together on a through cut.",
        "or at the sled's floor where the board lies on a sled",
        "heights are over the same",
        "where your blade tilts towards the fence, put the fence on its other side",
    ):
        assert said in told


def test_a_second_stop_at_the_same_tilt_asks_for_no_second_ring() -> None:
    told = lines(tables(thick=18.0, case=case(600.0, 500.0, 250.0)))
    assert told.count("closed into one ring") == 1
    assert told.count("The tilt stays as it is; move the stop only.") == 1


def test_what_is_held_back_has_boxes_for_what_is_measured() -> None:
    told = lines(tables(thick=18.0, case=case(), shelf=[shelf("one", 150.0)]))
    _, held = told.split("Held back: measure the dry case first, cut last.")
    assert "Measured on the dry case ______; set to ______; cut ______, within 0.3 mm." in held
    assert held.count("[ ]") == 2


def test_a_groove_names_its_passes() -> None:
    told = lines(backed())
    assert "Groove: fence at 10 mm; blade 0 deg, 6 mm high" in told
    assert (
        "Rear edge to the fence, inside face down. 6.7 mm wide: 3 passes of 3.2 mm, the first at "
        "10 mm, the last with the fence at 13.5 mm, 1 in between."
    ) in told


def test_long_blanks_are_bevelled_on_both_edges_then_parted() -> None:
    told = lines(tables(thick=18.0, polygon=polygon(8, 160.0, 180.0)))
    names = ", ".join(f"side {i}" for i in range(1, 9))
    assert f"2 × long blank of {names}: both long edges; edge on the fence" in told
    assert "Both long edges alike, the blank turned end for end" in told
    assert f"Crosscut: sled, stop block at 180 mm; blade 0 deg 2 × long blank of {names}: 8" in told


def test_inches_are_told_in_inches() -> None:
    told = tables(thick=18.0, case=case(609.6, 508.0, 254.0, corner="sides-run"))
    text = lines({**told, "piece": {"units": "in"}})
    assert "1. Rip: fence at 10 in; blade 0 deg" in text
    assert "sled, stop block at 20 in" in text
    assert " mm" not in text


def test_the_table_has_a_row_for_each_share() -> None:
    piece, found, _ = cut(backed(shelf=[shelf("one", 150.0)]))
    rows = list(csv.DictReader(io.StringIO(telling.set_ups_csv(found, piece.piece.units))))
    assert len(rows) == sum(len(one.shares) for one in found.set_ups)
    first = rows[0]
    assert (first["kind"], first["way"], first["distance_mm"]) == ("rip", "fence", "320")
    assert first["panels"] == "bottom; top"
    groove = next(row for row in rows if row["kind"] == "groove")
    assert (groove["height_mm"], groove["width_mm"], groove["passes"]) == ("6", "6.7", "3")
    assert {row["face_up"] for row in rows} == {"outside"}
    assert {row["held_back"] for row in rows} == {"no", "measure the dry case first, cut last"}


def test_the_document_is_plain_data() -> None:
    _, found, laid = cut(backed(shelf=[shelf("one", 150.0)]))
    told = json.loads(json.dumps({"set_ups": telling.document(found),
                                  "sheets": sheets.document(laid)}))  # fmt: skip
    bevel = next(one for one in told["set_ups"] if one["kind"] == "bevel")
    assert (bevel["tilt_deg"], bevel["distance_mm"], bevel["lower_face_mm"]) == (45.0, 581.7, 564.0)
    assert [sheet["stock"] for sheet in told["sheets"]] == ["case", "back"]
    assert sum(len(sheet["parts"]) for sheet in told["sheets"]) == 6


def test_sheets_are_told_with_their_cuts_in_order() -> None:
    told = tables(thick=18.0, case=case(600.0, 500.0, 250.0, corner="sides-run"))
    piece, _, laid = cut(told)
    text = " ".join(" ".join(sheets.lines(laid, piece.saw, "mm")).split())
    # 4 of 253 × 503 or 567 along 2420: 503 + 503 + 567 + 567 and their kerfs are 2149.6
    assert "case: 1 sheet, grain along its length; 18 % becomes boards." in text
    assert "Sheet 1, case, 2440 mm × 1220 mm:" in text
    assert "2 × 503 mm × 253 mm: one of right, left." in text
    assert "2 × 567 mm × 253 mm: one of bottom, top." in text
    assert "Cuts 1 to 4: the sheet" not in text
    assert (
        "Cut 1: the sheet along, 253 mm. Cuts 2 to 5: what cut 1 took off across, 2 × 567 mm, "
        "2 × 503 mm."
    ) in text
    assert "Each sheet is drawn in sheet-N.svg" in text
    assert telling.summary(*cut(told)[1:]).startswith("Saw set-ups: 3, in set-ups.csv; sheets: 1")


def test_a_board_that_no_fence_or_sled_takes_is_cut_along_a_guide() -> None:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case(900.0, 700.0, 380.0))
    told["case"]["back"] = {"stock": "back", "fit": "overlay"}
    text = lines(told)
    assert "Rip: fence at 700 mm; blade 0 deg 1 × back; edge on the fence 920 mm." in text
    assert (
        "Crosscut: hand-held saw along a clamped guide, to a line at 900 mm; blade 0 deg 1 × back. "
        "One edge straight and square first; knife the line from it, with a square."
    ) in text
    assert "A board 700 mm wide does not go on a sled that takes 600 mm." in text


@pytest.mark.parametrize(("height", "said"), [(500.0, True), (1150.0, False)])
def test_a_small_part_of_a_sheet_says_what_is_enough(height: float, said: bool) -> None:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case(1500.0, height, 380.0))
    told["case"]["back"] = {"stock": "back", "fit": "overlay"}
    piece, _, laid = cut(told)
    text = " ".join(" ".join(sheets.lines(laid, piece.saw, "mm")).split())
    # 1500 and 500, 20 more each way for holding back, 10 of trim at every edge
    assert ("A piece of 1540 mm × 540 mm is enough, laid like this." in text) is said


def test_strips_that_are_cut_alike_are_told_together() -> None:
    told = tables(thick=12.0, case=case(382.0, 270.0, 240.0), piece={"copies": 12})
    piece, _, laid = cut(told)
    text = " ".join(" ".join(sheets.lines(laid, piece.saw, "mm")).split())
    assert "Cuts 1 to 6: the sheet across, 6 × 384.4 mm." in text
    assert "what cuts 1 to 6 took off, each along, 4 × 243 mm." in text
    # four trims a sheet are cuts as well
    assert laid.cuts == sum(sheet.times * (4 + len(sheet.cuts)) for sheet in laid.sheets)


def test_cuts_that_do_not_go_through_are_told_with_their_own_guarding() -> None:
    said = "No cut through, so the guard may have to come off"
    assert said in lines(backed())  # a groove and slots
    plain = lines(tables(thick=18.0, case=case(600.0, 500.0, 250.0, corner="sides-run")))
    assert said not in plain


@pytest.mark.parametrize(("corner", "thick", "said"), [
    # 18 mm less 6 mm of groove; a bottom of 15 mm makes that 15 less 5, a third of the thinner
    ("sides-run", 18.0, "The groove stops 12 mm from either end."),
    ("sides-run", 15.0, "The groove stops 10 mm from the end at the bottom and 13 mm from the end "
     "at the top."),
])  # fmt: skip
def test_a_groove_that_stops_says_where(corner: str, thick: float, said: str) -> None:
    told = backed()
    told["stock"]["thin"] = stock(thick)
    told["case"] |= {"corner": corner, "stocks": {"bottom": "thin"}}
    piece, found, _ = cut(told)
    text = " ".join(" ".join(telling.lines(found, piece.saw, "mm")).split())
    assert said in text
    assert "between stops set for both ends; chop the round ends square." in text
    rows = list(csv.DictReader(io.StringIO(telling.set_ups_csv(found, "mm"))))
    (row,) = [row for row in rows if row["way"] == "router"]
    assert (row["begins_mm"], row["ends_mm"]) == (("12", "12") if thick == 18.0 else ("10", "13"))


def test_splines_that_end_before_the_groove_say_where() -> None:
    # the groove begins 320 - 10 - 6.7 mm from the front
    told = lines(backed())
    assert "Their splines end 300.3 mm from the front, before the back's groove." in told


@pytest.mark.parametrize("sides", [3, 5, 6])
def test_rings_whose_mitres_no_saw_slots_say_what_to_do(sides: int) -> None:
    told = lines(tables(thick=18.0, polygon=polygon(sides, 420.0)))
    assert "Splines: " in told
    assert "a router whose base rides on them" in told
    assert 'fixing = "glue" in [polygon]' in told


def test_what_was_cut_before_measuring_is_not_told_again() -> None:
    told = backed(shelf=[shelf("one", 150.0)])
    _, before, _ = cut(told)
    told["as_built"] = {"inner_width": [mm(563.0)], "inner_height": [mm(464.0)]}
    piece, found, laid = cut(told)
    assert {name for one in found.set_ups for name in one.boards} == {"back", "shelf one"}
    assert all(one.held_back for one in found.set_ups)
    assert found.set_ups[0].number == len(found.done) + 1
    assert len(found.done) + len(found.set_ups) == len(before.set_ups)
    text = lines(told)
    assert "Cut before the dry case was measured, and not again: bottom, top, right, left." in text
    assert "Held back until the dry case was measured" in text
    assert "computed" not in text
    told_sheets = " ".join(sheets.lines(laid, piece.saw, "mm", done=True))
    assert "These sheets were cut before the case was measured" in told_sheets
