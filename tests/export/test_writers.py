"""The list of writers, and the promise of the same bytes."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from fixtures import export
from fixtures.errors import InputError
from tests.export.shapes import BLOCK

ROOT = Path(__file__).parents[2]
SCRIPT = """
import hashlib
from fixtures import export
from fixtures.export import picture, threemf
from tests.export.shapes import BRACKET, PLATE
made = [export.part(n, BRACKET, title="Nuß & co", mark="AB12") for n in export.WRITERS]
made.append(threemf.encode([threemf.Item(BRACKET, "a", "AB12", 3)], title="t", description="d"))
made.append(picture.sheet([PLATE], width=200, height=150, panels=[BRACKET]))
print(" ".join(hashlib.sha256(m).hexdigest() for m in made))
"""


def test_every_writer_can_be_asked_for_a_part() -> None:
    starts = {"stl": b"binary STL", "3mf": b"PK", "png": b"\x89PNG"}
    assert set(export.WRITERS) == set(starts)
    for name, writer in export.WRITERS.items():
        data = export.part(name, BLOCK, title="block", mark="AB12")
        assert data.startswith(starts[name])
        assert writer.extension == f".{name}"


def test_an_unknown_format_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(InputError) as refusal:
        export.part("doc", BLOCK, title="", mark="")
    assert str(refusal.value) == (
        "'doc' is not a format that can be written. Choose stl, 3mf, png."
    )


def test_the_list_of_writers_imports_none_of_them() -> None:
    code = (
        "import sys; from fixtures import export; "
        "sys.exit(any(w.module in sys.modules for w in export.WRITERS.values()))"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_the_same_part_gives_the_same_bytes_twice() -> None:
    for name in export.WRITERS:
        first, second = (export.part(name, BLOCK, title="b", mark="AB12") for _ in range(2))
        assert hashlib.sha256(first).digest() == hashlib.sha256(second).digest()


@pytest.mark.slow
def test_hash_seed_zone_language_and_folder_do_not_show_in_the_bytes(tmp_path: Path) -> None:
    outputs = set()
    for seed, zone, language, folder in (
        ("0", "UTC", "C", ROOT),
        ("12345", "Asia/Kathmandu", "de_DE.UTF-8", tmp_path),
    ):
        world = {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": language, "PYTHONPATH": str(ROOT)}
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env=os.environ | world,
            cwd=folder,
            capture_output=True,
            text=True,
            check=True,
        )
        assert len(run.stdout.split()) == 5
        outputs.add(run.stdout)
    assert len(outputs) == 1
