"""Pictures of what was found, as they are asked for on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import run
from tests.cli.test_check import CUBE, TABLE, write


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_check_draws_what_it_found_and_numbers_it_alike(shop: Path) -> None:
    ran = run("check", write("table.stl", TABLE), "--picture", "seen/table.png")
    assert ran.code == 1
    assert Path("seen/table.png").read_bytes()[:4] == b"\x89PNG"
    assert "\n  1  ledge stop  " in ran.out
    assert ran.out.endswith("Files\n  seen/table.png\n")


def test_the_document_names_the_picture_and_the_places(shop: Path) -> None:
    ran = run("check", write("table.stl", TABLE), "--picture", "table.png", "--json")
    assert ran.document["picture"] == "table.png"
    (low, high), *_ = ran.document["advice"]["findings"][0]["places_mm"]
    # 30 mm hang out on either side of the post, at z = 18
    assert high[0] - low[0] == pytest.approx(30.0, abs=0.3)
    assert low[2] < 18.0 < high[2] + 0.11
    assert ran.document["advice"]["findings"][0]["facing"] == [0.0, 0.0, -1.0]


def test_without_a_picture_nothing_is_numbered(shop: Path) -> None:
    ran = run("check", write("table.stl", TABLE))
    assert "\n  ledge stop  " in ran.out
    assert "Files" not in ran.out


def test_a_part_with_nothing_found_is_drawn_as_well(shop: Path) -> None:
    assert run("check", write("cube.stl", CUBE), "--picture", "cube.png").code == 0
    assert Path("cube.png").exists()


def test_a_picture_is_a_png(shop: Path) -> None:
    ran = run("check", write("cube.stl", CUBE), "--picture", "cube.jpg")
    assert ran.code == 2
    assert "--picture is cube.jpg; a picture is written as PNG. Name a file" in ran.said
    assert not Path("cube.jpg").exists()


def test_make_marks_its_picture_where_one_is_asked_for(shop: Path) -> None:
    asked = ("make", "corner-socket", "--thickness", "12.2 mm")
    marked = run(*asked, "--as", "png", "--out", "a")
    assert "\n  1  socket-wall note  " in marked.out
    assert "\n  socket-wall note  " in run(*asked, "--as", "stl", "--out", "b").out
    (png,) = Path("a").glob("*.png")
    width = int.from_bytes(png.read_bytes()[16:20], "big")
    assert width == 2 * (640 + 2 * 56)  # two views, with margins for numbers
