"""Files of an earlier run: read where they are there, and else nothing happens."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures import files
from fixtures.files import if_there


def test_a_file_of_an_earlier_run_is_read(tmp_path: Path) -> None:
    (tmp_path / "kit.json").write_bytes(b"{}")
    assert if_there(tmp_path, "kit.json") == b"{}"


def test_what_is_not_a_file_there_is_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "out.stl").write_bytes(b"x")
    assert if_there(tmp_path, "kit.json") is None
    assert if_there(tmp_path / "nowhere", "kit.json") is None
    assert if_there(tmp_path, "in") is None
    assert if_there(tmp_path, "") is None
    assert if_there(tmp_path / "in", "../out.stl") is None
    assert if_there(tmp_path, "a\0b") is None
    monkeypatch.setattr(files, "MOST_LAST", 0)
    assert if_there(tmp_path, "out.stl") is None
