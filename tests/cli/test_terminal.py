"""What a terminal shows, through a terminal of its own (pty): width, weight, colour, the bar."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.cli.running import ROOT, run_apart

pty = pytest.importorskip("pty")
fcntl = pytest.importorskip("fcntl")
termios = pytest.importorskip("termios")

CODES = re.compile(r"\x1b\[[\d;]*[A-Za-z]")  # ECMA-48: CSI, parameters, final byte
COLOURS = re.compile(
    r"\x1b\[(?:\d+;)*(?:3[0-9]|4[0-9]|9[0-7]|10[0-7])(?:;\d+)*m"
)  # SGR 30 to 49, …
MAKE = ("make", "slot-comb", "--thickness", "12.2 mm", "--thickness", "12.0 mm")
BAD = ("make", "corner-socket", "--thickness", "12.2", "--arm", "200 mm", "--angel", "45")


def in_terminal(
    *arguments: str, wide: int, folder: Path, environment: Mapping[str, str] | None = None
) -> tuple[int, str]:
    """Exit code, and all that came to a terminal of that width, line ends as \\n."""
    lead, end = pty.openpty()
    termios.tcsetwinsize(end, (40, wide))
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "TERM")}
    running = subprocess.Popen(
        [sys.executable, "-m", "fixtures", *arguments],
        cwd=folder,
        env={**kept, "TERM": "xterm", "PYTHONPATH": str(ROOT), **(environment or {})},
        stdin=end,
        stdout=end,
        stderr=end,
    )
    os.close(end)
    came = b""
    while True:
        try:
            data = os.read(lead, 65536)
        except OSError:  # Linux: the other end is closed
            break
        if not data:
            break
        came += data
    os.close(lead)
    return running.wait(), came.decode().replace("\r\n", "\n")


def plain(text: str) -> str:
    """Without codes, and without what a line held before it was begun anew."""
    return "\n".join(line.rpartition("\r")[2] for line in CODES.sub("", text).split("\n"))


@pytest.mark.parametrize("wide", [40, 80, 120])
@pytest.mark.parametrize("asked", [MAKE, BAD, ("families",), ("--help",), ("checks",)])
def test_no_line_is_longer_than_the_terminal(
    asked: tuple[str, ...], wide: int, tmp_path: Path
) -> None:
    _, told = in_terminal(*asked, wide=wide, folder=tmp_path)
    long = [line for line in plain(told).split("\n") if len(line) > wide]
    assert all(len(line.split()) == 1 for line in long), long
    piped = run_apart(*asked, folder=tmp_path)
    if asked != ("--help",):  # click sets its tables in the width of the terminal
        assert plain(told).split() == (piped.out + piped.err).split()


@pytest.mark.parametrize("asked", [MAKE, BAD])
def test_a_wide_terminal_shows_the_lines_that_are_piped(
    asked: tuple[str, ...], tmp_path: Path
) -> None:
    _, told = in_terminal(*asked, wide=120, folder=tmp_path)
    piped = run_apart(*asked, folder=tmp_path)
    assert plain(told) == piped.out + piped.err
    assert CODES.search(told)
    assert not CODES.search(piped.out + piped.err)


def test_no_color_takes_colour_and_leaves_weight(tmp_path: Path) -> None:
    """As no-color.org asks (from memory): any value but an empty one, and only colour."""
    _, told = in_terminal(*MAKE, wide=80, folder=tmp_path)
    assert COLOURS.search(told)
    _, empty = in_terminal(*MAKE, wide=80, folder=tmp_path, environment={"NO_COLOR": ""})
    assert empty == told
    _, without = in_terminal(*MAKE, wide=80, folder=tmp_path, environment={"NO_COLOR": "0"})
    assert not COLOURS.search(without)
    assert CODES.search(without)
    assert plain(without) == plain(told)


def test_a_dumb_terminal_gets_plain_lines_in_its_width(tmp_path: Path) -> None:
    _, told = in_terminal(*MAKE, wide=60, folder=tmp_path, environment={"TERM": "dumb"})
    assert "\x1b" not in told
    assert "\r" not in told
    assert 40 < max(len(line) for line in told.split("\n")) <= 60


def test_columns_goes_before_the_terminals_own_width(tmp_path: Path) -> None:
    _, told = in_terminal("families", wide=120, folder=tmp_path, environment={"COLUMNS": "50"})
    assert max(len(line) for line in plain(told).split("\n")) <= 50


def test_a_document_is_plain_on_a_terminal_too(tmp_path: Path) -> None:
    _, told = in_terminal("families", "--json", wide=40, folder=tmp_path)
    assert told == run_apart("families", "--json", folder=tmp_path).out


@pytest.mark.slow
def test_a_kit_shows_a_bar_and_then_what_took_the_time(tmp_path: Path) -> None:
    piece = str(ROOT / "examples" / "tool-shelf.toml")
    code, told = in_terminal("kit", piece, "--out", "out", wide=40, folder=tmp_path)
    assert code == 0
    bars = [bar for bar in told.split("\r\x1b[K") if "█" in bar or "░" in bar]
    assert bars
    assert all(len(bar) < 40 for bar in bars)
    lines = plain(told).rstrip("\n").split("\n")
    (first,) = (at for at, line in enumerate(lines) if re.match(r"\d+\.\d s: ", line))
    took = " ".join(line.strip() for line in lines[first:])
    whole = float(took.split(" s: ")[0])
    parts = [float(part.rpartition(" ")[2]) for part in took.split(" s: ")[1].split(", ")]
    assert len(parts) >= 4
    assert sum(parts) == pytest.approx(whole, abs=0.05 * (len(parts) + 1))  # each rounded to 0.1 s
    long = [line for line in lines if len(line) > 40]
    assert all(len(line.split()) == 1 for line in long), long
    assert "  2 ×  bottom, top\n    outside 20.931 in; inside 20.931 in;\n" in plain(told)
