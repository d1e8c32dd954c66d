"""A benchmark nobody runs is worse than none: they are left out by default and found on request."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def collected(*words: str) -> str:
    command = [sys.executable, "-m", "pytest", "tests/bench", "--collect-only", "-q", *words]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout


def test_benchmarks_are_found_on_request() -> None:
    found = collected("-m", "bench")
    for name in ("test_make_cold_beside_the_peer", "test_a_million_triangles", "plate_60_holes"):
        assert name in found


def test_benchmarks_are_left_out_by_default() -> None:
    assert "test_make_cold" not in collected()
