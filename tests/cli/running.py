"""Runs the command line as a person would, in this process or in one of its own."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest import mock

import fixtures
from fixtures.cli import main

ROOT = Path(fixtures.__file__).parents[1]


@dataclass(frozen=True, slots=True)
class Ran:
    """code: exit code; out and err: what was printed where."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Standard output as the one JSON document it must be."""
        return json.loads(self.out)

    @property
    def said(self) -> str:
        """All lines joined, as they were before they were wrapped."""
        return " ".join((self.out + self.err).split())

    def places(self) -> list[str]:
        """Where the faults of an error document are."""
        assert self.document["schema"] == "panelry/error/1"
        return [fault["where"] for fault in self.document["faults"]]


def run(*arguments: str) -> Ran:
    """The command in this process; `json` documents and exit codes are the same as outside."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    with (
        mock.patch.object(sys, "argv", ["panelry", *arguments]),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            main()
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else 0 if left.code is None else 99
    return Ran(code, out.getvalue(), err.getvalue())


def run_apart(*arguments: str, folder: Path, environment: Mapping[str, str] | None = None) -> Ran:
    """`python -m fixtures` in a process, folder and environment of its own."""
    paths = [(environment or {}).get("PYTHONPATH", ""), str(ROOT)]
    done = subprocess.run(
        [sys.executable, "-m", "fixtures", *arguments],
        cwd=folder,
        env={
            **os.environ,
            **(environment or {}),
            "PYTHONPATH": os.pathsep.join(filter(None, paths)),
        },
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


def files(folder: Path) -> dict[str, str]:
    """Every file under a folder, by its path in it, with the hash of its bytes."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
