"""README and the examples' pages tell the truth: their lines of use give the output shown there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
CHECKED = TEXT.split("<!-- checked -->")[1].split("<!-- /checked -->")[0]
SESSIONS = re.findall(r"```console\n\$ (.*?)\n(.*?)```", CHECKED, flags=re.DOTALL)


def output_of(command: str, folder: Path) -> str:
    """What a terminal shows, standard output and error together."""
    scripts = str(Path(sys.executable).parent)
    done = subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        env={**os.environ, "PATH": scripts + os.pathsep + os.environ["PATH"]},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
        timeout=60,
    )
    return done.stdout.decode("utf-8")


@pytest.mark.parametrize(("command", "expected"), SESSIONS, ids=[c[:40] for c, _ in SESSIONS])
def test_lines_of_use_give_the_output_shown(command: str, expected: str, tmp_path: Path) -> None:
    assert output_of(command, tmp_path) == expected


def test_every_session_is_found() -> None:
    assert len(SESSIONS) == TEXT.count("```console") >= 3


def test_the_first_command_works_on_the_files_of_the_repository(tmp_path: Path) -> None:
    block = TEXT.split("<!-- start -->")[1].split("<!-- /start -->")[0]
    command = block.split(".venv/bin/panelry ")[1].split("\n")[0]
    shown = output_of(f"panelry {command} --out {tmp_path}", ROOT)
    assert "Proof holds" in shown
    written = {path.suffix for path in tmp_path.iterdir()}
    assert written == {".3mf", ".png", ".stl", ".json", ".csv", ".txt", ".svg", ".pdf", ".html"}
    # the picture on the example's page is the command's own output, byte for byte
    drawn = (tmp_path / "kit.png").read_bytes()
    assert drawn == (ROOT / "examples" / "mitred-case.png").read_bytes()


EXAMPLES = ROOT / "examples"
INDEX = (EXAMPLES / "README.md").read_text(encoding="utf-8")
PAGES = sorted(set(EXAMPLES.glob("*.md")) - {EXAMPLES / "README.md"})
EXCERPT = re.compile(
    r'<!-- (?P<file>\S+) from "(?P<start>.+?)"(?: before "(?P<end>.+?)")? -->\n'
    r"```text\n(?P<shown>.*?)```",
    flags=re.DOTALL,
)


def excerpt(text: str, start: str, end: str | None) -> str:
    """Whole lines of a file, from the first that starts so, its number apart, to the next blank
    line, or to the one that starts with `end`."""
    lines = text.splitlines()
    bare = [re.sub(r"^\s*(\d+\. )?", "", line) for line in lines]
    first = next(i for i, line in enumerate(bare) if line.startswith(start))
    after = range(first + 1, len(lines))
    stop = next(i for i in after if (bare[i].startswith(end) if end else not bare[i]))
    return "\n".join(lines[first:stop]).rstrip() + "\n"


@pytest.mark.slow
@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_an_examples_page_shows_what_its_command_gives(page: Path, tmp_path: Path) -> None:
    text = page.read_text(encoding="utf-8")
    ((command, expected),) = re.findall(r"```console\n\$ (.*?)\n(.*?)```", text, flags=re.DOTALL)
    (tmp_path / "examples").mkdir()
    shutil.copy(page.with_suffix(".toml"), tmp_path / "examples")
    assert output_of(command, tmp_path) == expected
    excerpts = list(EXCERPT.finditer(text))
    assert len(excerpts) == text.count("```text") >= 2
    for found in excerpts:
        written = (tmp_path / found["file"]).read_text(encoding="utf-8")
        assert excerpt(written, found["start"], found["end"]) == found["shown"]
    assert f"]({page.stem}.png)" in text
    drawn = (tmp_path / "out" / page.stem / "kit.png").read_bytes()
    assert drawn == page.with_suffix(".png").read_bytes()


def test_every_example_is_named_and_says_that_its_data_is_invented() -> None:
    pieces = sorted(EXAMPLES.glob("*.toml"))
    assert len(pieces) >= 5
    for piece in pieces:
        assert f"examples/{piece.name}" in TEXT or f"({piece.stem}.md)" in INDEX
        assert "invented" in piece.read_text(encoding="utf-8").split("\n\n")[0]
