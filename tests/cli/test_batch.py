"""`panelry kit` of several copies, and in several processes: what is said, written and refused."""

from __future__ import annotations

import json
import shutil
import zipfile
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, NoReturn

import pytest

from tests.cli.running import Ran, files, run


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder with the piece that `panelry new` writes."""
    monkeypatch.chdir(tmp_path)
    run("new", "shelf.toml")
    return tmp_path


def asked(*lines: str) -> None:
    """The piece file with these lines in its [piece]."""
    path = Path("shelf.toml")
    text = path.read_text(encoding="utf-8")
    start = text.index("copies = 1")
    end = text.index("units = ", start)
    path.write_text(text[:start] + "\n".join(lines) + "\n" + text[end:], encoding="utf-8")


def made(*lines: str) -> tuple[Ran, Any]:
    asked(*lines)
    ran = run("kit", "shelf.toml", "--jobs", "1")
    return ran, json.loads(Path("out/shelf/kit.json").read_text(encoding="utf-8"))


def test_a_class_set_is_told_in_terminal_sheet_and_document(shop: Path) -> None:
    """12 copies at 3 stations: 4 rounds of 45 min, 3 h; 8 sockets and 8 cauls a station."""
    ran, document = made("copies = 12", "stations = 3", 'clamp_time = "45 min"')
    assert ran.code == 0
    assert "For 12 copies at 3 stations\n  4 rounds of 45 min: 3 h 00 min in clamps" in ran.out
    sheet = Path("out/shelf/sheet.txt").read_text(encoding="utf-8")
    assert "\nFOR 12 COPIES AT 3 STATIONS\n" in sheet
    assert "8 at each station, where they stay" in sheet
    assert "Judgement:" in sheet
    batch = document["batch"]
    assert (batch["copies"], batch["stations"], batch["clamp_time_s"]) == (12, 3, 2700.0)
    assert (batch["way"]["rounds"], batch["way"]["clamps_s"]) == (4, 10800.0)
    assert [way["stations"] for way in batch["others"]] == [2, 4]
    quantities = {x["family"]: x["quantity"] for x in document["fixtures"]}
    assert quantities["corner-socket"] == quantities["clamp-caul"] == 24
    assert quantities["drill-guide"] == quantities["depth-sleeve"] == 2
    for fixture, told in zip(document["fixtures"], batch["fixtures"], strict=True):
        assert fixture["name"] == told["name"]
        assert fixture["quantity"] == told["in_use"] + told["spare"] == told["quantity"]


def test_a_3mf_holds_what_is_to_be_printed_for_all_copies(shop: Path) -> None:
    _, document = made("copies = 4", "stations = 2")
    for fixture in document["fixtures"]:
        (name,) = (name for name in fixture["files"] if name.endswith(".3mf"))
        with zipfile.ZipFile(Path("out/shelf") / name) as archive:
            model = archive.read("3D/3dmodel.model").decode()
        assert model.count("<item ") == fixture["quantity"]


def test_one_copy_at_one_station_says_and_writes_nothing_new(shop: Path) -> None:
    ran, document = made("copies = 1")
    plain = files(Path("out"))
    shutil.rmtree("out")
    again, _ = made("copies = 1", "stations = 1")
    assert again.out == ran.out
    assert "station" not in ran.out
    assert "batch" not in document
    changed = {name for name, data in files(Path("out")).items() if plain[name] != data}
    assert changed <= {"shelf/kit.json"}  # it may keep what was asked


def test_the_lines_that_a_new_piece_file_has_as_notes_are_read(shop: Path) -> None:
    path = Path("shelf.toml")
    text = path.read_text(encoding="utf-8")
    for key in ("stations", "clamp_time"):
        assert f"# {key} = " in text
        text = text.replace(f"# {key} = ", f"{key} = ")
    path.write_text(text.replace("copies = 1", "copies = 6"), encoding="utf-8")
    document = run("kit", "shelf.toml", "--json", "--jobs", "1").document
    assert document["batch"]["way"]["rounds"] == 2


@pytest.mark.parametrize(
    ("line", "where", "said"),
    [
        ('clamp_time = "45"', "piece.clamp_time", "45 has no unit"),
        ("clamp_time = 45", "piece.clamp_time", "45 has no unit"),
        ('clamp_time = "45 mm"', "piece.clamp_time", "no unit of time"),
        ("stations = 0", "piece.stations", "1 to 100"),
        ('stations = "three"', "piece.stations", "1 to 100"),
        ("copies = 0", "piece.copies", "1 to 1000"),
        ("station = 2", "piece.station", "stations"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(
    shop: Path, line: str, where: str, said: str
) -> None:
    asked(line)
    ran = run("kit", "shelf.toml", "--json")
    assert ran.code == 2
    assert ran.places() == [where]
    assert said in str(ran.document["faults"])
    assert not Path("out").exists()


@pytest.mark.parametrize("jobs", ["0", "-1", "two", "1.5", "", "61", "٣"])
def test_jobs_are_a_whole_number(shop: Path, jobs: str) -> None:
    ran = run("kit", "shelf.toml", "--json", "--jobs", jobs)
    assert ran.code == 2
    assert ran.places() == ["--jobs"]
    assert "1 to 60" in ran.said


def test_wrong_jobs_and_a_wrong_piece_are_told_at_once(shop: Path) -> None:
    asked("copies = 0")
    ran = run("kit", "shelf.toml", "--json", "--jobs", "no")
    assert sorted(ran.places()) == ["--jobs", "piece.copies"]


@pytest.mark.slow
def test_several_processes_write_the_same_bytes(shop: Path) -> None:
    sums = []
    for jobs in ("1", "2", "3"):
        assert run("kit", "shelf.toml", "--out", jobs, "--jobs", jobs).code == 0
        sums.append(files(Path(jobs)))
    assert sums[0] == sums[1] == sums[2]


def test_a_process_that_was_ended_is_told_with_a_way_round_it(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> NoReturn:
        raise BrokenProcessPool("ended")

    monkeypatch.setattr("fixtures.kit.kit", broken)
    ran = run("kit", "shelf.toml", "--json")
    assert ran.code == 2
    assert ran.places() == ["--jobs"]
    assert "--jobs 1" in ran.said
    assert not Path("out").exists()
