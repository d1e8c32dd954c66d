"""What of the last kit still serves: from two documents to what became of every mark."""

from __future__ import annotations

import json
from typing import Any

import pytest

from fixtures.changes import Changes, changes, last_kit, only_there
from fixtures.telling import changes as telling

Fixture = dict[str, Any]


def fixture(mark: str, family: str = "spacer-block", **more: Any) -> Fixture:
    """A fixture as a kit's document has it, at one joint unless others are named."""
    joints = more.pop("joints", ["shelf a at left"])
    name = f"{family}-{mark}"
    shape = more.pop("shape", mark)
    return {
        "name": name,
        "mark": mark,
        "family": family,
        "role": "set",
        "quantity": 2,
        "make_from": "print",
        "parameters": {"height_mm": 190.0, "lip_mm": 0.0},
        "places": [{"where": joint, "joint": joint} for joint in joints],
        "files": [f"{name}.stl", f"{name}.3mf"],
        "fits": [],
        "made": {"shape": shape, "sha256": {f"{name}.stl": f"sum of {shape}"}},
        **more,
    }


def socket(mark: str, slot: float, thick: float, **more: Any) -> Fixture:
    """A corner socket with both slots of a width, for a sheet of some thickness."""
    fit = {"slot_mm": slot, "clearance_mm": slot - thick}
    return fixture(
        mark,
        "corner-socket",
        role="hold",
        parameters={"thickness_mm": [thick], "arm_mm": 60.0, **more.pop("parameters", {})},
        fits=[fit, fit],
        joints=["left-bottom"],
        **more,
    )


def document(*fixtures: Fixture, **more: Any) -> dict[str, Any]:
    return {
        "schema": "panelry/kit/1",
        "piece": {"name": "p", "copies": 1, "units": "mm"},
        "fixtures": list(fixtures),
        "files": ["kit.json", "sheet.txt"],
        "given": {"case.width": "600 mm"},
        "made_with": {"panelry": "0.1.0"},
        "as_built": {},
        **more,
    }


def since(last: dict[str, Any], now: dict[str, Any]) -> Changes:
    """Both as they come back from their files."""
    read, said = last_kit(json.dumps(last).encode())
    assert read is not None
    assert said == ""
    return changes(read, now)


def statuses(found: Changes) -> dict[str, str]:
    return {change.mark: change.status for change in found.marks}


def why(found: Changes, mark: str) -> str:
    (change,) = (change for change in found.marks if change.mark == mark)
    return change.why


# --- mark by mark ------------------------------------------------------------------------------


def test_what_did_not_change_still_serves() -> None:
    last = document(fixture("AAAA"), socket("BBBB", 18.4, 18.0))
    found = since(last, last)
    assert statuses(found) == {"AAAA": "still serves", "BBBB": "still serves"}
    assert all(change.same_file for change in found.marks)
    assert found.given == ()
    assert found.stale == ()
    told = telling.lines(found, "", "out/p")
    assert told[-1].strip().startswith("All 2 printed marks still serve")


def test_a_part_at_another_size_is_printed_again_and_says_which() -> None:
    now = document(fixture("CCCC", parameters={"height_mm": 189.5, "lip_mm": 0.0}))
    found = since(document(fixture("AAAA")), now)
    (change,) = found.marks
    assert (change.mark, change.status, change.by) == ("AAAA", "reprint", "CCCC")
    assert change.why == "height 190 mm → 189.5 mm"
    assert found.stale == ("spacer-block-AAAA.stl", "spacer-block-AAAA.3mf")


def test_what_is_asked_for_no_more_is_no_longer_needed_and_says_why() -> None:
    last = document(fixture("AAAA"), fixture("BBBB", joints=["shelf b at left"]))
    gone = since(last, document(fixture("AAAA")))
    assert statuses(gone) == {"AAAA": "still serves", "BBBB": "no longer needed"}
    assert why(gone, "BBBB") == "there is no shelf b at left any longer"
    stays = document(fixture("AAAA"), socket("DDDD", 18.4, 18.0))
    stays["fixtures"][1]["places"] = [{"where": "w", "joint": "shelf b at left"}]
    assert "nothing asks for it" in why(since(last, stays), "BBBB")
    ripped = document(fixture("AAAA"), fixture("BBBB", joints=["shelf b at left"]))
    ripped["fixtures"][1]["make_from"] = "offcut"
    assert why(since(last, ripped), "BBBB") == "it is ripped from an offcut now"
    done = document(fixture("AAAA"), as_built={"underside_mm": {"b": [190.0]}})
    assert why(since(last, done), "BBBB") == "shelf b is set"


def test_what_the_last_kit_had_not_is_new() -> None:
    now = document(fixture("AAAA"), fixture("BBBB", joints=["shelf b at left"]))
    found = since(document(fixture("AAAA")), now)
    assert statuses(found) == {"AAAA": "still serves", "BBBB": "new"}
    assert why(found, "BBBB") == "nothing in the last kit did this"
    assert not any(change.same_file for change in found.marks if change.mark == "BBBB")


def test_a_mark_that_goes_on_at_some_of_its_places_is_joined_by_a_new_one() -> None:
    both = ["shelf a at left", "shelf a at right"]
    last = document(fixture("AAAA", joints=both, quantity=4))
    other = fixture("BBBB", joints=both[1:], parameters={"height_mm": 191.0, "lip_mm": 0.0})
    found = since(last, document(fixture("AAAA", joints=both[:1]), other))
    assert statuses(found) == {"AAAA": "still serves", "BBBB": "new"}
    assert why(found, "BBBB") == "AAAA did this at other sizes: height 190 mm → 191 mm"
    assert "2 are needed, 4 were" in why(found, "AAAA")


def test_more_of_the_same_says_how_many_to_print() -> None:
    found = since(document(fixture("AAAA")), document(fixture("AAAA", quantity=6)))
    assert "6 are needed, 2 were: print 4 more" in why(found, "AAAA")
    assert "print" in telling.lines(found, "", "out/p")[-1]


def test_what_was_ripped_was_not_printed() -> None:
    last = document(fixture("AAAA", make_from="offcut", made=None, files=[]))
    assert statuses(since(last, document(fixture("AAAA")))) == {"AAAA": "new"}


# --- within its fit ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thick", "status"),
    [(17.90, "still serves"), (18.25, "still serves"), (18.26, "reprint"), (17.89, "reprint")],
)
def test_a_socket_for_another_reading_serves_from_a_snug_to_a_loose_fit(
    thick: float, status: str
) -> None:
    """Its slots are 18.4 mm wide; snug is 0.15 mm and loose 0.50 mm of clearance in all."""
    last = document(socket("AAAA", 18.4, 18.0))
    found = since(last, document(socket("BBBB", thick + 0.4, thick)))
    assert statuses(found) == {"AAAA": status}
    assert f"{18.4 - thick:.2f} mm of clearance" in why(found, "AAAA")
    assert found.marks[0].by == "BBBB"


def test_a_socket_whose_slots_are_too_narrow_says_by_how_much() -> None:
    found = since(document(socket("AAAA", 18.4, 18.0)), document(socket("BBBB", 19.0, 18.6)))
    assert why(found, "AAAA") == "its slots are 0.20 mm too narrow now"


def test_a_socket_that_differs_in_more_than_its_sheet_is_printed_again() -> None:
    longer = socket("BBBB", 18.4, 18.0, parameters={"arm_mm": 80.0})
    found = since(document(socket("AAAA", 18.4, 18.0)), document(longer))
    assert statuses(found) == {"AAAA": "reprint"}
    assert "arm 60 mm → 80 mm" in why(found, "AAAA")


def test_a_socket_that_serves_on_is_judged_by_its_own_slots_in_every_kit_after() -> None:
    """Twice 0.2 mm thicker is 0.4 mm: what held once must not be taken for the kit's own."""
    kits = [document(socket(mark, thick + 0.4, thick)) for mark, thick in
            (("AAAA", 18.0), ("BBBB", 18.2), ("CCCC", 18.4))]  # fmt: skip
    first = since(kits[0], kits[1])
    assert statuses(first) == {"AAAA": "still serves"}
    second = kits[1] | telling.document(first)
    unchanged = since(second, kits[1])
    assert statuses(unchanged) == {"AAAA": "still serves"}  # BBBB never had to be printed
    third = since(second, kits[2])
    assert statuses(third) == {"AAAA": "reprint"}
    assert third.marks[0].by == "CCCC"
    back = since(second, kits[0])
    assert statuses(back) == {"AAAA": "still serves"}
    assert back.earlier == ()


# --- printer, version, damage --------------------------------------------------------------------


def test_the_same_shape_drawn_for_another_printer_still_serves() -> None:
    now = fixture("AAAA")
    now["made"]["sha256"] = {"spacer-block-AAAA.stl": "another"}
    found = since(
        document(fixture("AAAA")),
        document(now, given={"case.width": "600 mm", "printer.layer": "0.3 mm"}),
    )
    (change,) = found.marks
    assert change.status == "still serves"
    assert not change.same_file
    assert "drawn anew (printer.layer: not given → 0.3 mm)" in change.why


def test_another_shape_under_the_same_mark_is_printed_again_and_names_the_version() -> None:
    now = document(fixture("AAAA", shape="other"), made_with={"panelry": "0.2.0"})
    found = since(document(fixture("AAAA")), now)
    assert statuses(found) == {"AAAA": "reprint"}
    assert "panelry: 0.1.0 → 0.2.0" in why(found, "AAAA")


def test_a_kit_of_before_there_were_records_is_compared_by_its_marks() -> None:
    old = document(fixture("AAAA"), fixture("BBBB", joints=["shelf b at left"]))
    for one in old["fixtures"]:
        del one["made"], one["fits"]
    for key in ("given", "made_with", "as_built"):
        del old[key]
    found = since(old, document(fixture("AAAA")))
    assert statuses(found) == {"AAAA": "still serves", "BBBB": "no longer needed"}
    assert found.given == ()


def test_what_changed_in_the_file_is_told_key_by_key() -> None:
    now = document(fixture("AAAA"), given={"case.width": "610 mm", "case.depth": "200 mm"})
    found = since(document(fixture("AAAA")), now)
    assert set(found.given) == {
        "case.width: 600 mm → 610 mm",
        "case.depth: not given → 200 mm",
    }


def test_files_of_earlier_kits_stay_named_while_they_are_there() -> None:
    first = document(fixture("AAAA"), stale_files=["old.stl", "sheet.txt"])
    now = document(fixture("BBBB", joints=["x"]))
    found = since(first, now)
    assert found.stale == ("old.stl", "spacer-block-AAAA.stl", "spacer-block-AAAA.3mf")
    left = only_there(found, lambda name: name != "old.stl")
    assert left.stale == ("spacer-block-AAAA.stl", "spacer-block-AAAA.3mf")
    told = " ".join(telling.lines(left, "", "out/p"))
    assert "2 files of earlier kits are left in out/p and can go" in told


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b"[" * 100_000,
        b"[]",
        b'"kit"',
        b'{"schema": "someone/else"}',
        b'{"schema": "panelry/kit/1"}',
        json.dumps(document(fixture("AAAA", quantity="two"))).encode(),
        json.dumps(document(fixture("AAAA", places=[{"where": 1}]))).encode(),
        json.dumps(document(fixture("AAAA", fits=[{"slot_mm": "wide"}]))).encode(),
        json.dumps(document(fixture("AAAA", made={"sha256": 3}))).encode(),
        json.dumps(document(earlier=[{"mark": "AAAA"}])).encode(),
        json.dumps(document(stale_files=[3])).encode(),
        json.dumps(document(given=[])).encode(),
        json.dumps(document(made_with="0.1")).encode(),
    ],
)
def test_a_kit_that_is_damaged_or_foreign_is_said(data: bytes) -> None:
    read, said = last_kit(data)
    assert read is None
    assert said.endswith("All is made anew.")
    assert telling.lines(None, said, "out/p")[2:]


def test_without_a_last_kit_nothing_is_told() -> None:
    assert telling.lines(None, "", "out/p") == []
    assert telling.document(None)["changes"] == []
