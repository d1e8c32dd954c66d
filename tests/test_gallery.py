"""The gallery in docs is what the command writes, and shows what it says."""

from __future__ import annotations

import re
import shlex
from functools import cache
from pathlib import Path

import pytest

from fixtures.gallery import files
from fixtures.parts.catalog import FAMILIES, family
from tests.cli.running import ROOT, run

DOCS = ROOT / "docs"
PAGE = (DOCS / "gallery.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
IMAGES = re.compile(r"!\[[^\]]+\]\(([^)]+)\)|<img[^>]* src=\"([^\"]+)\"")
NAMES = [entry.name for entry in FAMILIES]


@cache
def written() -> dict[str, bytes]:
    return files()


def section(name: str) -> str:
    return PAGE.split(f"\n## {name}\n")[1].split("\n## ")[0]


@pytest.mark.slow
def test_the_gallery_in_docs_is_what_the_command_writes_byte_for_byte() -> None:
    made = written()
    kept = {"gallery.md", *(f"gallery/{path.name}" for path in (DOCS / "gallery").iterdir())}
    assert set(made) == kept
    stale = [name for name, data in made.items() if (DOCS / name).read_bytes() != data]
    assert stale == [], "panelry families --page --out docs"


@pytest.mark.slow
def test_the_command_writes_the_page_and_its_pictures(tmp_path: Path) -> None:
    ran = run("families", "--page", "--out", str(tmp_path), "--json")
    assert ran.code == 0
    assert ran.document["files"] == [str(tmp_path / name) for name in written()]
    for name, data in written().items():
        assert (tmp_path / name).read_bytes() == data


def test_every_family_is_in_the_gallery_with_its_picture_and_every_parameter() -> None:
    assert re.findall(r"^## (.*)$", PAGE, flags=re.MULTILINE) == NAMES
    for name in NAMES:
        told = section(name)
        assert f"](gallery/{name}.png)" in told
        rows = re.findall(r"^\| `--([\w-]+)`", told, flags=re.MULTILINE)
        fields = family(name).parameters.model_fields
        assert [row.replace("-", "_") for row in rows] == list(fields)
        for field in fields.values():
            assert (field.description or "?").replace("|", "\\|") in told


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_command_under_a_picture_makes_the_part_that_is_shown(
    name: str, tmp_path: Path
) -> None:
    told = section(name)
    (command,) = re.findall(r"```sh\n(.*?)```", told, flags=re.DOTALL)
    words = shlex.split(command.replace("\\\n", ""))  # as a shell joins lines
    assert words[:3] == ["panelry", "make", name]
    ran = run(*words[1:], "--json", "--out", str(tmp_path))
    assert ran.code == 0
    assert f"![{name} {ran.document['mark']}: " in told


@pytest.mark.parametrize("path", sorted((DOCS / "gallery").glob("*.png")), ids=lambda p: p.stem)
def test_pictures_are_light_enough_for_a_page(path: Path) -> None:
    assert path.stat().st_size < 64_000


def test_the_readmes_pictures_are_the_gallerys() -> None:
    shown = [one or other for one, other in IMAGES.findall(README)]
    assert len(shown) >= 3
    for path in shown:
        assert (ROOT / path).parent == DOCS / "gallery"
        assert (ROOT / path).is_file()
