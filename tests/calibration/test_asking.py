"""Answers typed at the terminal: what is taken, what is asked again, and that none is lost."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field, replace
from io import StringIO
from pathlib import Path

import click
import pytest

from fixtures.calibration.asking import Asked, asked
from fixtures.calibration.question import Question
from fixtures.calibration.sheet import read, template
from tests.cli.running import Ran, run

QUESTIONS = (
    *(Question(f"X{n}", "outside x", size) for n, size in enumerate((10.0, 20.0, 30.0), 1)),
    *(Question(f"T{n}", "slot", 12.0 + 0.05 * n, 12.1) for n in range(1, 5)),
    Question("B1", "bridge", 10.0),
)
SHEET = template(QUESTIONS, "c1", 60.0)


@dataclass(slots=True)
class Terminal:
    """What is typed, line by line, and then ctrl-D; what was shown, and every sheet kept."""

    typed: Iterator[str]
    prompts: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)

    def prompt(self, words: str) -> str | None:
        self.prompts.append(words)
        return next(self.typed, None)


def ask(*typed: str, sheet: str = SHEET) -> tuple[Asked, Terminal]:
    at = Terminal(iter(typed))
    return asked(sheet, at.prompt, at.told.append, at.kept.append), at


def row(sheet: str, label: str) -> str:
    (found,) = [line for line in sheet.splitlines() if line.startswith(f"{label},")]
    return found


def test_every_question_is_asked_once_and_its_answer_put_in_its_row() -> None:
    found, at = ask("10.04", "20.05", "30.06", "no", "no", "no", "yes", "yes", "75")
    assert (found.given, found.stopped) == (9, False)
    assert len(at.prompts) == 9
    assert at.prompts[0] == "[1/9] X1: size along X of 10 mm, measured mm"
    assert at.prompts[3] == "[4/9] T1: slot of 12.05 mm, does 12.1 mm go in (yes or no)"
    assert at.prompts[8] == "[9/9] How many minutes did the print take (60 computed)"
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,"
    assert row(found.sheet, "T4") == "T4,slot,12.200,12.100,,yes"
    answers = read(found.sheet, "s.csv", QUESTIONS, "c1")
    assert answers.time == (60.0, 75.0)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("ten", "Not taken: ten. Write mm as a plain number, such as 18.2."),
        ("-10", "Not taken: -10. Write 0.01 to 1000 mm."),
        ("0.394", "Not taken: 0.394 mm is far from its 10 mm. Write 0.394 in, if it is inches."),
        ("20.1", "Not taken: 20.1 mm is far from its 10 mm. Measure it again, or pass on."),
        ("yes", "Not taken: yes. Write mm as a plain number, such as 18.2."),
    ],
)
def test_what_a_row_cannot_hold_is_asked_again(typed: str, why: str) -> None:
    found, at = ask(typed, "10.04")
    assert at.told == [why]
    assert at.prompts[0] == at.prompts[1]
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,"


def test_a_word_that_is_neither_yes_nor_no_is_asked_again() -> None:
    found, at = ask("", "", "", "perhaps", "NO")
    assert at.told == ["Not taken: perhaps. Write yes or no, or leave it empty."]
    assert row(found.sheet, "T1") == "T1,slot,12.050,12.100,,NO"


@pytest.mark.parametrize(("typed", "cell"), [("10,04", "10.04"), ("0.395 in", "0.395 in")])
def test_a_decimal_comma_and_inches_that_say_so_are_taken(typed: str, cell: str) -> None:
    found, at = ask(typed)
    assert not at.told
    assert row(found.sheet, "X1") == f"X1,outside x,10.000,,{cell},"


def test_nothing_typed_leaves_the_sheet_as_it_was() -> None:
    found, at = ask(*[""] * 9)
    assert found == Asked(SHEET, 0, False)
    assert not at.kept


def test_stopped_half_way_what_was_said_is_kept_and_not_asked_again() -> None:
    first, at = ask("10.04", "20.05")
    assert (first.given, first.stopped) == (2, True)
    assert at.kept[-1] == first.sheet
    assert len(at.kept) == 2
    _, later = ask(sheet=first.sheet)
    assert later.prompts == ["[1/7] X3: size along X of 30 mm, measured mm"]


def test_a_sheet_from_a_spreadsheet_is_asked_about_too() -> None:
    sheet = SHEET.replace(",", ";").replace(".", ",")
    found, _ = ask("10,04", "20.05", sheet=sheet)
    answers = read(found.sheet, "s.csv", QUESTIONS)
    assert [a.measured for a in answers.answers[:3]] == [10.04, 20.05, None]


def test_what_is_no_sheet_asks_nothing_and_is_left_as_it_is() -> None:
    found, at = ask("10.04", sheet="We measured it\n")
    assert found == Asked("We measured it\n", 0, False)
    assert not at.prompts


def test_back_corrects_the_last_answer() -> None:
    found, at = ask("10.40", "<", "10.04", "20.05", "back", "20.06")
    assert at.prompts[0] == at.prompts[2]
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,"
    assert row(found.sheet, "X2") == "X2,outside x,20.000,,20.06,"
    assert found.given == 2
    assert row(at.kept[1], "X1") == "X1,outside x,10.000,,,"  # taken back on disk as well


def test_back_goes_past_questions_that_were_passed() -> None:
    found, _ = ask("10.40", "", "<", "10.04")
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,"


def test_back_before_anything_was_answered_says_so() -> None:
    found, at = ask("<", "10.04")
    assert at.told == ["Nothing was answered yet to go back to."]
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,"


def test_a_question_mark_tells_where_it_is_and_in_which_unit() -> None:
    placed = tuple(replace(q, where=f"the place of {q.label}") for q in QUESTIONS)
    found, at = ask("?", "10.04", sheet=template(placed, "c1"))
    assert at.prompts[0] == "[1/8] X1 - the place of X1\n  size along X of 10 mm, measured mm"
    assert at.prompts[1] == at.prompts[0]
    assert at.told == [
        "X1 is here: the place of X1. Lengths are mm; another unit must be written: 0.75 in. Yes "
        "or no may be y or n. < goes back to the last answer, Enter passes on, ctrl-D stops."
    ]
    assert row(found.sheet, "X1") == "X1,outside x,10.000,,10.04,,the place of X1"


def test_once_a_gauge_goes_in_wider_ones_are_not_asked_and_stay_empty() -> None:
    found, at = ask("", "", "", "no", "yes", "no", "75")
    assert [words.split()[1] for words in at.prompts[3:]] == ["T1:", "T2:", "B1:", "How"]
    assert row(found.sheet, "T3") == "T3,slot,12.150,12.100,,"
    _, later = ask(sheet=found.sheet)
    assert later.prompts[0].startswith("[1/5] X1:")
    _, later = ask("1", "", "", "", sheet=found.sheet)
    assert not any("T3" in words or "T4" in words for words in later.prompts)


def test_a_yes_taken_back_has_the_wider_ones_asked_again() -> None:
    found, at = ask("", "", "", "yes", "<", "no", "yes")
    assert row(found.sheet, "T1") == "T1,slot,12.050,12.100,,no"
    assert row(found.sheet, "T2") == "T2,slot,12.100,12.100,,yes"
    assert at.prompts[-1].startswith("[8/9] B1:")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with the coupon's sheet and questions."""
    (tmp_path / "a.csv").write_text(SHEET, encoding="utf-8")
    document = {"questions": [asdict(question) for question in QUESTIONS]}
    (tmp_path / "fit-coupon-c1.json").write_text(json.dumps(document), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def typing(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ran]:
    """The command with lines typed into it, ctrl-D after the last."""

    def typed(*lines: str, options: tuple[str, ...] = ()) -> Ran:
        monkeypatch.setattr(sys, "stdin", StringIO("".join(f"{line}\n" for line in lines)))
        return run("calibrate", "a.csv", "--ask", *options)

    return typed


def test_ctrl_d_keeps_the_answers_and_says_how_to_go_on(
    shop: Path, typing: Callable[..., Ran]
) -> None:
    ran = typing("10.04", "20.05")
    assert ran.code == 130
    assert "a.csv has 2 more answers in it. Go on with: panelry calibrate a.csv --ask" in ran.said
    assert "X2,outside x,20.000,,20.05," in (shop / "a.csv").read_text(encoding="utf-8")
    assert not (shop / "printer.toml").exists()


def test_ctrl_d_at_once_says_that_nothing_was_answered(
    shop: Path, typing: Callable[..., Ran]
) -> None:
    ran = typing(options=("--to", "my printer.toml"))
    assert ran.code == 130
    assert "Stopped; nothing was answered. Go on with:" in ran.said
    assert "panelry calibrate a.csv --ask --to 'my printer.toml'" in ran.said


def test_questions_do_not_mix_with_the_document(shop: Path, typing: Callable[..., Ran]) -> None:
    ran = typing(
        "10.04", "20.05", "30.06", "no", "no", "no", "yes", "yes", "75", options=("--json",)
    )
    assert ran.code == 0
    assert ran.document["lines"]["outside_x"]["n"] == 3
    assert "does 12.1 mm go in" in ran.err


def test_a_sheet_changed_meanwhile_is_not_written_over(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody saves the same sheet in a spreadsheet while the terminal asks."""
    sheet = shop / "a.csv"
    theirs = SHEET.replace("X3,outside x,30.000,,,", "X3,outside x,30.000,,30.01,")

    def typing() -> Iterator[str]:
        yield "10.04"
        sheet.write_text(theirs, encoding="utf-8")
        yield "20.05"
        raise click.Abort

    typed = typing()
    monkeypatch.setattr(click, "prompt", lambda *_words, **_how: next(typed))
    ran = run("calibrate", "a.csv", "--ask")
    assert sheet.read_text(encoding="utf-8") == theirs
    aside = (shop / "a-asked-1.csv").read_text(encoding="utf-8")
    assert "X1,outside x,10.000,,10.04," in aside
    assert "X2,outside x,20.000,,20.05," in aside
    assert "was changed meanwhile; answers now go to a-asked-1.csv" in ran.said


def test_a_printer_file_that_is_there_is_told_before_anything_is_asked(
    shop: Path, typing: Callable[..., Ran]
) -> None:
    (shop / "printer.toml").write_text("mine", encoding="utf-8")
    ran = typing("10.04")
    assert ran.code == 2
    assert "printer.toml is there already" in ran.said
    assert (shop / "a.csv").read_text(encoding="utf-8") == SHEET
