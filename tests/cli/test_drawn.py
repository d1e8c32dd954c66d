"""Dimensioned drawings as files, where they are asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import run

SPACER = ("make", "spacer-block", "--height", "60 mm")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_part_is_drawn_in_every_format_asked_for(shop: Path) -> None:
    assert run(*SPACER, "--as", "svg,pdf,drawing", "--out", "drawn").code == 0
    found = {path.suffix: path for path in Path("drawn").iterdir()}
    assert set(found) == {".svg", ".pdf", ".png"}
    assert found[".png"].name == f"{found['.svg'].stem}-drawing.png"
    assert found[".png"].read_bytes()[:4] == b"\x89PNG"
    assert found[".pdf"].read_bytes()[:5] == b"%PDF-"
    assert "dimensioned drawing, 1:1" in found[".svg"].read_text(encoding="utf-8")


def test_a_drawing_stands_beside_the_picture(shop: Path) -> None:
    ran = run(*SPACER, "--as", "png,drawing", "--json")
    assert len(ran.document["files"]) == len(list(Path("out").glob("*.png"))) == 2


def test_units_and_projection_are_as_asked(shop: Path) -> None:
    asked = (*SPACER, "--as", "svg")
    assert run(*asked, "--out", "a").code == 0
    assert run(*asked, "--out", "b", "--units", "in", "--projection", "third").code == 0
    first, third = (next(Path(folder).glob("*.svg")).read_text("utf-8") for folder in "ab")
    assert 'aria-label="first angle"' in first
    assert 'aria-label="third angle"' in third
    assert 'width="297mm" height="210mm"' in first  # A4, ISO 216
    assert 'width="279.4mm" height="215.9mm"' in third  # Letter, 11 by 8 1/2 in
    assert 'aria-label="60"' in first
    assert 'aria-label="2.362"' in third  # 60 / 25.4


@pytest.mark.parametrize("command", [SPACER, ("kit", "shelf.toml")])
def test_a_projection_nobody_knows_is_refused(command: tuple[str, ...], shop: Path) -> None:
    run("new", "shelf.toml")
    ran = run(*command, "--projection", "second")
    assert ran.code == 2
    assert "--projection is second; it must be first or third. Give first or third." in ran.said


@pytest.mark.slow
def test_a_kit_draws_its_parts(shop: Path) -> None:
    run("new", "shelf.toml")
    ran = run("kit", "shelf.toml", "--as", "pdf", "--paper", "none", "--json")
    assert ran.code == 0
    drawn = list(Path("out/shelf").glob("*.pdf"))
    assert len(drawn) >= 2
    told = ran.out
    assert all(f'"{path.name}"' in told for path in drawn)
