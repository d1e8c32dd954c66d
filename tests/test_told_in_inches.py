"""Sentences written in mm and told to an inch shop: the same lengths, and nothing else changed."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures.errors import Fault
from fixtures.piece.blank import BLANK, blank
from fixtures.piece.piece import parse
from fixtures.telling import faults as telling
from fixtures.telling.text import wrapped
from fixtures.units import bound_in, lengths_in, parse_length, told_in
from tests.parts.made import DEFAULTS, FORMS, part

lengths = st.integers(1, 400_000).map(lambda hundredths: f"{hundredths / 100:.2f}")
between = st.sampled_from([" to ", " by ", " × ", ", ", " and "])
words = st.sampled_from(["It is", "bores at", "the 2 boards,", "M4 and", "12 mm² over", "at 40°,"])
after = st.sampled_from([" deep.", " from the front;", ", and 3 N/mm.", " wide (5 MPa)", "."])


@settings(deadline=None)  # the first text with a unit loads the unit library
@given(words, st.lists(lengths, min_size=1, max_size=4), between, after)
def test_a_told_length_is_the_same_length_and_the_words_stay(
    before: str, numbers: list[str], joint: str, behind: str
) -> None:
    told = told_in(f"{before} {joint.join(numbers)} mm{behind}", "in")
    assert told.startswith(f"{before} ")
    assert told.endswith(f" in{behind}")
    parts = told[len(before) + 1 : -len(f" in{behind}")].split(joint)
    assert [parse_length(f"{one} in") for one in parts] == pytest.approx(
        [float(number) for number in numbers], abs=0.02
    )
    # told together, told in one form
    assert len({"." in one for one in parts}) == 1
    assert told_in(told, "in") == told


SCRAPS = (
    "12 3.5 0 25.4 1/2 1/0 mm in pin nozzle #8 or and to by × more at most least layers of "
    "is that? ' \" ` ( ) , ; + - ± . mm²"
)
scraps = st.sampled_from(SCRAPS.split())


@given(st.lists(scraps, max_size=14).map(" ".join) | st.lists(scraps, max_size=9).map("".join))
def test_any_text_is_told_and_telling_it_again_changes_nothing(text: str) -> None:
    told = told_in(text, "in")
    assert told_in(told, "in") == told
    assert told_in(text, "mm") == text


@settings(deadline=None)
@given(st.integers(1, 40_000), st.sampled_from([(" or more", 1), (" or less", -1)]))
def test_what_is_told_of_a_bound_is_allowed(hundredths: int, end: tuple[str, int]) -> None:
    mm, (words, inward) = hundredths / 100, end
    told = told_in(f"Give {mm:.2f} mm{words}.", "in")
    read = parse_length(told.removeprefix("Give ").removesuffix(f"{words}."))
    assert read == parse_length(bound_in(mm, "in", inward))
    assert 0 <= inward * (read - mm) + 1e-4 < 0.0256


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        # 1 in is 25.4 mm: 19.05 is 3/4, 40 is 1.5748, 0.4 is 0.01575
        ("A leg of 19.05 mm.", "A leg of 3/4 in."),
        ("Bores 40, 72; 19.05, 9 mm from it.", "Bores 1.575, 2.835; 0.750, 0.354 in from it."),
        ("A clearance of 0.40 mm, ±0.1 mm.", "A clearance of 0.016 in, ±0.004 in."),
        ("-88 mm is the most.", "-3.465 in is the most."),
        ("z 0 to 18 mm: thin.", "z 0 to 0.709 in: thin."),
        ("13/64 in + 0.12 mm thick", "0.208 in thick"),
        (
            "at least 40 mm wide, at most 40 mm long",
            "at least 1.575 in wide, at most 1.574 in long",
        ),
        # 107.57 mm is 4.2350 in, and the 64th next to it is less
        ("Set it 107.57 mm farther left or more.", "Set it 4.236 in farther left or more."),
        # what stays: areas, volumes, speeds, pressures, quotes, goods by the mm, both ways told
        ("12 mm² of 3 mm³ at 30 mm/s, 5 N/mm", "12 mm² of 3 mm³ at 30 mm/s, 5 N/mm"),
        ("'12 mm' is not \"8 mm\" nor `4 mm`", "'12 mm' is not \"8 mm\" nor `4 mm`"),
        ("The panel's 25.4 mm end's 2 mm'", "The panel's 1 in end's 0.079 in'"),
        ("a 5 mm pin, a 6.35 mm pin", "a 5 mm pin, a 1/4 in pin"),
        ("a 0.4 mm nozzle, layers of 0.2 mm", "a 0.4 mm nozzle, layers of 0.2 mm"),
        ("one of #8, #10, 3 mm or 4 mm.", "one of #8, #10, 3 mm or 4 mm."),
        ("Write 30.25 mm or 30.25 in.", "Write 30.25 mm or 30.25 in."),
        ("more than 5000 mm (196.85 in). Is that 3000 mm?",) * 2,
    ],
)
def test_sentences_are_told_as_an_inch_shop_says_them(sentence: str, told: str) -> None:
    assert told_in(sentence, "in") == told


@pytest.mark.parametrize("name", [*DEFAULTS, *FORMS])
def test_no_note_of_a_family_is_left_in_mm(name: str) -> None:
    made = part(name)
    said = [*made.notes, *made.cautions, made.quantity_reason, *map(str, made.findings)]
    for sentence in said:
        told = told_in(sentence, "in")
        kept = re.sub(r"(layers? of|a) [\d.]+ mm|[\d.]+ mm (nozzle|bit|drill|pin)", "", told)
        assert not re.search(r"\bmm\b(?!²|³|/)", kept), told


def test_holes_of_one_row_are_told_in_one_form() -> None:
    """40 mm is 1.5748 in, no 64th; 255.984375 mm is 10 5/64 in."""
    assert lengths_in((40.0, 255.984375), "in") == ("1.575 in", "10.078 in")
    assert lengths_in((25.4, 255.984375), "in") == ("1 in", "10 5/64 in")
    assert lengths_in((40.0, 255.98)) == ("40 mm", "255.98 mm")


def test_a_fault_quotes_what_was_typed_and_tells_the_rest_in_inches() -> None:
    fault = Fault("size", "9 mm", "A leg of 9 mm is outside 12 mm to 60 mm.", "Use wood.")
    told = telling.lines([fault], "in", 'size = "9 mm"')
    assert told == ["A leg of 9 mm is outside 0.472 in to 2.362 in. Use wood."]
    # typed as 1/2 in, the family only knows 12.7 mm
    fault = Fault("size", "12.7 mm", "A leg of 12.7 mm is too thin.", "")
    assert telling.lines([fault], "in", 'size = "1/2 in"') == ["A leg of 1/2 in is too thin."]
    assert telling.document([fault])["faults"][0]["message"] == "A leg of 12.7 mm is too thin."


def test_a_length_is_turned_before_its_line_is_broken() -> None:
    assert all(" mm" not in line for line in wrapped("x " * 45 + "25.4 mm " * 9, units="in"))


# --- the blank file in inches -----------------------------------------------------------------


def test_the_blank_file_in_inches_holds_the_same_keys_and_no_mm_but_the_printer() -> None:
    inches = blank("in")
    keys = re.compile(r"^#? ?([a-z_]+) = ", re.MULTILINE)
    assert keys.findall(inches) == keys.findall(BLANK)
    left = [line for line in inches.splitlines() if "mm" in line]
    assert [line.split(" = ")[0] for line in left if not line.startswith("#")] == [
        "units", "nozzle", "layer",
    ]  # fmt: skip
    assert all('"12.2 mm", "23/32 in"' in line or '"mm"' in line for line in left[:2])


def test_the_blank_file_in_inches_reads_as_inches() -> None:
    piece = parse(blank("in"), "blank.toml")
    assert piece.piece.units == "in"
    assert piece.case is not None
    assert piece.case.width == pytest.approx(16.5 * 25.4)
    assert blank() == BLANK


@pytest.mark.parametrize("table", ["divider", "top", "plinth", "legs", "goal", "saw"])
def test_each_note_of_the_blank_file_in_inches_can_be_used(table: str) -> None:
    lines = blank("in").splitlines()
    start = next(i for i, line in enumerate(lines) if re.match(rf"# \[+{table}\]+", line))
    end = next(i for i in range(start, len(lines)) if not lines[i])
    used = [re.sub(r"^# (?=\[|[a-z_]+ = )", "", line) for line in lines[start:end]]
    used = [line for line in used if not line.startswith("right_of")]
    assert parse("\n".join((*lines[:start], *used, *lines[end:])), "blank.toml")
