"""Lines set anew in another width: nothing said is lost, nothing stands out."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from fixtures.telling.terminal import Style, shown
from fixtures.telling.text import WIDE, columns, fitted, wrapped

WORD = st.text("abcdefgh-.", min_size=1, max_size=14)
SENTENCE = st.lists(WORD, min_size=1, max_size=40).map(" ".join)


def flat(lines: list[list[str]]) -> list[str]:
    return [line for fit in lines for line in fit]


@given(st.lists(SENTENCE, min_size=1, max_size=4), st.integers(40, 140))
def test_paragraphs_keep_their_words_in_order_and_fit(texts: list[str], wide: int) -> None:
    lines = [line for text in texts for line in wrapped(text, "    ")]
    made = flat(fitted(lines, wide))
    assert [line for line in made if len(line) > wide] == []
    assert " ".join(made).split() == " ".join(texts).split()
    if wide >= WIDE:
        assert made == lines


@given(st.lists(st.lists(WORD, min_size=4, max_size=4), min_size=1, max_size=4))
def test_a_table_without_room_says_each_cell_with_its_head(rows: list[list[str]]) -> None:
    head = ["", "panel", "outside", "stock"]
    lines = columns([head, *rows], right=(0, 2))
    made = flat(fitted(lines, 40))
    if max(map(len, lines)) <= 40:
        assert made == lines
        return
    assert max(map(len, made)) <= 40
    said = " ".join(" ".join(made).split())
    for n, panel, outside, stock in rows:
        assert f"{n} {panel} outside {outside}; stock {stock}" in said


def test_a_table_with_room_stays_and_only_a_path_stands_out() -> None:
    table = columns([("", "a", "b"), ("2 ×", "bottom", "420 mm")], right=(0, 2))
    path = "  " + "x" * 60
    assert flat(fitted([*table, "", "Files", path], 40)) == [*table, "", "Files", path]


def test_words_of_severity_stand_in_the_text_and_weigh_by_what_they_ask() -> None:
    lines = ["part ABCD", "", "Found"]
    for severity in ("stop", "mend", "note"):
        lines += wrapped(f"thin-wall {severity}  fence: A wall is thin. Please note that.")
    told = shown(lines, 96, Style(weight=True))
    bare = [re.sub(r"\x1b\[[\d;]*m", "", line) for line in told]
    assert bare == lines
    # ECMA-48, 8.3.117: 1 bold, 2 faint, 7 negative image
    assert told[0] == "\x1b[1mpart ABCD\x1b[22m"
    assert "thin-wall \x1b[1;7mstop\x1b[22;27m  fence" in told[3]
    assert "thin-wall \x1b[1mmend\x1b[22m  fence" in told[4]
    assert "\x1b[2mthin-wall note\x1b[22m  fence" in told[5]
    assert all(line.count("\x1b") == 2 for line in told[2:])


def test_the_one_colour_is_for_marks_of_parts() -> None:
    lines = ["  2 × corner-socket-45C2: of PETG, 12 MDF boards, see out/drill-guide-L4AY.stl"]
    (told,) = shown(lines, 96, Style(colour=True))
    assert re.findall(r"\x1b\[35m(.*?)\x1b\[39m", told) == ["45C2", "L4AY"]
    assert shown(lines, 96, Style()) == lines
