"""An inch shop is told inches: a kit, a part and every refusal; programs are told mm as ever."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from fixtures.piece.blank import blank
from fixtures.piece.given import given
from fixtures.piece.piece import parse
from fixtures.units import parse_length
from tests.cli.running import Ran, run

METRIC = re.compile(r"\d mm\b(?![²³/])")
PRINTING = re.compile(r"(layers?|rings?|lines) of [\d.]+ mm")  # as a printer is set, everywhere


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    """The kit of the piece file that `new --units in` writes, as it stands."""
    folder = tmp_path_factory.mktemp("inches")
    piece = folder / "shelf.toml"
    assert run("new", str(piece), "--units", "in").code == 0
    return folder / "kit", run("kit", str(piece), "--out", str(folder / "kit"), "--as", "stl")


def changed(shop: Path, *changes: tuple[str, str]) -> str:
    """The new inch file with texts changed."""
    run("new", "shelf.toml", "--units", "in")
    text = (shop / "shelf.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (shop / "shelf.toml").write_text(text, encoding="utf-8")
    return "shelf.toml"


# --- a kit ------------------------------------------------------------------------------------


def test_the_new_file_in_inches_makes_a_kit_that_holds(made: tuple[Path, Ran]) -> None:
    assert made[1].code == 0
    assert "Proof holds" in made[1].out


def test_sheet_and_terminal_tell_no_mm(made: tuple[Path, Ran]) -> None:
    folder, ran = made
    for told in (ran.said, " ".join((folder / "sheet.txt").read_text("utf-8").split())):
        assert not METRIC.search(PRINTING.sub("", told))
        assert " in from the front" in told or "Kit for" in told


def test_the_drill_table_is_told_in_both(made: tuple[Path, Ran]) -> None:
    rows = list(csv.DictReader(io.StringIO((made[0] / "drill-table.csv").read_text("utf-8"))))
    assert rows
    for row in rows:
        for name in ("from_front", "from_datum", "diameter", "depth", "tip_depth", "collar"):
            assert row[name].endswith(" in")
            assert parse_length(row[name]) == pytest.approx(float(row[f"{name}_mm"]), abs=0.025)


def test_the_document_keeps_mm(made: tuple[Path, Ran]) -> None:
    assert METRIC.search((made[0] / "kit.json").read_text("utf-8"))


def test_a_reading_is_told_as_it_was_read() -> None:
    """0.718 in is less than 0.02 mm from 23/32 in, and still another reading."""
    told = given(parse(blank("in"), "blank.toml"))
    assert told["stock.case.readings"] == "0.719 in, 0.715 in, 0.720 in, 0.718 in"
    assert told["case.width"] == "16 1/2 in"


# --- refusals ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        # 60 mm is 2.3622 in and 3000 mm 118.1102 in: what is told is allowed
        ('width = "16 1/2 in"', 'width = "2 in"', "is 2 in; it must be 2.363 in to 118.110 in."),
        # 182.88 mm; a tenth of it
        (
            '"0.720 in"',
            '"7.20 in"',
            "7.200 in is not a panel's thickness: it is outside 0.079 to 2.362 in. Is it 0.720 in?",
        ),
        ('"16 1/2 in"', '"16 1/2"', "16 1/2 has no unit. Write 16 1/2 mm or 16 1/2 in."),
        ('width = "16 1/2 in"', 'width = "30 mm"', "case.width is 30 mm; it must be 2.363 in to"),
        ("copies = 1 ", "copies = 1.5 ", "is '1.5'; it must be a whole number, 1 to 1000."),
        ('name = "first piece"', 'name = ""', "piece.name is empty; it must be 1 character"),
    ],
)
def test_a_piece_is_refused_in_its_own_units(shop: Path, old: str, new: str, said: str) -> None:
    ran = run("kit", changed(shop, (old, new)))
    assert ran.code == 2
    assert said in ran.said


def test_a_shelf_that_leaves_the_case_is_refused_in_inches(shop: Path) -> None:
    ran = run("kit", changed(shop, ('height = "6 1/4 in"', 'height = "40 in"')))
    assert ran.code == 2
    assert "40 in" in ran.said
    assert not METRIC.search(ran.said)
    (fault, *_) = run("kit", "shelf.toml", "--json").document["faults"]
    assert METRIC.search(fault["message"])


def test_a_part_is_refused_in_the_units_asked_for(shop: Path) -> None:
    """6.35 mm holes in 6.35 mm panels; half of it is 1/8 in."""
    asked = ("make", "drill-guide", "--thickness", "1/4 in", "--drill", "1/4 in")
    assert "A 1/4 in hole is too wide for a 1/4 in panel" in run(*asked, "--units", "in").said
    assert "A 1/4 in hole is too wide for a 1/4 in panel" in run(*asked, "--units=in").said
    assert "A 6.35 mm hole is too wide for a 6.35 mm panel" in run(*asked).said


def test_a_part_is_told_in_the_units_asked_for(shop: Path) -> None:
    asked = ("make", "spacer-block", "--height", "8 in", "--lip", "1/4 in", "--shelf-depth", "9 in")
    ran = run(*asked, "--units", "in", "--as", "stl")
    assert ran.code == 0
    assert "the lip holds the shelf" in ran.said
    assert not METRIC.search(PRINTING.sub("", ran.said))


def test_new_knows_two_units(shop: Path) -> None:
    ran = run("new", "shelf.toml", "--units", "cm")
    assert (ran.code, "it must be mm or in" in ran.said) == (2, True)
    assert not (shop / "shelf.toml").exists()
