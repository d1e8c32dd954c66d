"""`panelry new`, `panelry families` and the odds and ends of the command itself."""

from __future__ import annotations

import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest

from fixtures.parts.catalog import FAMILIES
from tests.cli.running import files, run, run_apart


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


# --- families -------------------------------------------------------------------------------


def test_families_are_listed_one_a_line() -> None:
    ran = run("families")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert [line.split()[0] for line in lines] == [entry.name for entry in FAMILIES]
    for line, entry in zip(lines, FAMILIES, strict=True):
        assert line.endswith(entry.line)
        assert len(line) <= 100


def test_families_are_a_document_too() -> None:
    ran = run("families", "--json")
    assert ran.code == 0
    assert ran.document == {
        "schema": "panelry/families/1",
        "families": [{"name": entry.name, "line": entry.line} for entry in FAMILIES],
    }


def test_every_family_listed_can_be_asked_for_help() -> None:
    for name in (line.split()[0] for line in run("families").out.splitlines()):
        assert run("make", name, "--help").code == 0


# --- new ------------------------------------------------------------------------------------


def test_a_new_piece_file_is_written_and_works_as_it_is(shop: Path) -> None:
    ran = run("new", "shelf.toml")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == (
        "Wrote shelf.toml. Put in your sizes and readings, then:\n  panelry kit shelf.toml\n"
    )
    assert list(files(shop)) == ["shelf.toml"]
    example = ran.out.splitlines()[1].split()
    assert example[0] == "panelry"
    assert run(*example[1:]).code == 0


def test_a_new_piece_file_is_toml_with_a_note_on_every_part(shop: Path) -> None:
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["format"] == 1
    assert "Measure in 4 places or more" in text
    assert text.count("#") > 8


def test_a_file_that_is_there_is_never_written_over(shop: Path) -> None:
    Path("shelf.toml").write_text("my readings", encoding="utf-8")
    ran = run("new", "shelf.toml")
    assert (ran.code, ran.out) == (2, "")
    assert ran.said == "shelf.toml is there already. Choose another name."
    assert Path("shelf.toml").read_text(encoding="utf-8") == "my readings"


def test_a_folder_is_made_for_it(shop: Path) -> None:
    assert run("new", "pieces/shelf.toml").code == 0
    assert list(files(shop)) == [str(Path("pieces") / "shelf.toml")]


def test_where_no_file_can_be_it_is_refused_and_leaves_nothing(shop: Path) -> None:
    Path("taken").write_text("mine", encoding="utf-8")
    ran = run("new", "taken/shelf.toml")
    assert ran.code == 2
    assert "taken cannot be written to" in ran.said
    assert files(shop).keys() == {"taken"}


def test_the_remedy_is_one_that_can_be_followed(shop: Path) -> None:
    Path("taken").write_text("mine", encoding="utf-8")
    assert "--out" not in run("new", "taken/shelf.toml").said


def test_every_command_can_answer_with_a_document(shop: Path) -> None:
    assert run("new", "shelf.toml", "--json").document["schema"] == "panelry/new/1"


def test_new_wants_a_name(shop: Path) -> None:
    ran = run("new")
    assert ran.code == 2
    assert "Missing argument 'PIECE'." in ran.said


# --- the command itself ---------------------------------------------------------------------


def test_the_version_is_that_of_the_distribution() -> None:
    ran = run("--version")
    assert (ran.code, ran.out) == (0, f"panelry, version {version('panelry')}\n")


@pytest.mark.parametrize(
    ("typed", "nearest"), [("familes", "families"), ("mak", "make"), ("chek", "check")]
)
def test_a_mistyped_command_is_answered_with_the_nearest(typed: str, nearest: str) -> None:
    ran = run(typed)
    assert (ran.code, ran.out) == (2, "")
    assert typed in ran.said
    assert nearest in ran.said
    (fault,) = run(typed, "--json").document["faults"]
    assert nearest in fault["message"]


@pytest.mark.parametrize("typed", [("--bogus",), ("families", "extra"), ("families", "--x")])
def test_what_is_not_known_is_refused(typed: tuple[str, ...]) -> None:
    ran = run(*typed)
    assert (ran.code, ran.out) == (2, "")
    assert typed[-1] in ran.said
    assert "Traceback" not in ran.err


def test_the_module_is_the_command(tmp_path: Path) -> None:
    assert run_apart("families", folder=tmp_path) == run("families")
