"""Parts read back from their files: the same as built, and built where anything is not the same."""

from __future__ import annotations

import hashlib
import json
import random
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from fixtures import known
from fixtures.export import stl
from fixtures.kernels import manifold
from fixtures.parts.family import Part
from fixtures.printer import Calibration, Line, Printer
from fixtures.produce import Produced, produce
from fixtures.telling.parts import advice_document
from tests.parts.made import PRINTER, part

NAMES = ("corner-socket", "spacer-block", "drill-guide", "depth-sleeve", "clamp-caul")
MEASURED = replace(
    Printer(),
    calibration=Calibration("2026-01-31", slot=Line(1.0, -0.12, 0.99, 1.01, -0.15, -0.09, 0.02, 9)),
)


@cache
def sleeve() -> Produced:
    """The part that most tests here are about."""
    return produce(part("depth-sleeve"), PRINTER, biased=False)


def written(made: Produced) -> tuple[Any, dict[str, bytes]]:
    """A kit's document with one part, as it comes back from its file, and the files."""
    files = {f"{made.name}.stl": stl.part(made.mesh, title=made.name, mark=made.part.mark)}
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    advice = advice_document(made.advice, "as written")
    fixture = {"advice": advice, "made": known.record(made, advice, sums)}
    return json.loads(json.dumps({"fixtures": [fixture]})), files


@pytest.fixture
def builds(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Every solid that the kernel makes a mesh of from here on."""
    seen: list[object] = []
    real = manifold.mesh

    def counted(solid: Any, **how: Any) -> Any:
        seen.append(solid)
        return real(solid, **how)

    monkeypatch.setattr(manifold, "mesh", counted)
    return seen


def again(made: Part, printer: Printer, document: Any, files: dict[str, bytes]) -> Produced | None:
    biased = printer.calibration is not None
    return known.again(made, printer, known.known(document, files), biased=biased)


@pytest.mark.parametrize("name", NAMES)
def test_a_part_read_back_is_the_part_as_built_without_building(
    name: str, builds: list[object]
) -> None:
    made = produce(part(name), PRINTER, biased=False)
    document, files = written(made)
    builds.clear()
    found = again(part(name), PRINTER, document, files)
    assert found is not None
    assert builds == []
    assert np.array_equal(found.mesh.vertices, made.mesh.vertices)
    assert np.array_equal(found.mesh.faces, made.mesh.faces)
    assert found.pose == made.pose
    assert found.facts == made.facts
    assert found.checks == made.checks
    told = advice_document(made.advice, "as written")
    assert advice_document(found.advice, "as written") == told
    assert replace(found.advice, filament_m=None) == replace(made.advice, filament_m=None)
    assert stl.part(found.mesh, title=made.name, mark=made.part.mark) == files[f"{made.name}.stl"]


def test_drawn_for_a_measured_printer_only_its_shape_as_designed_is_built(
    builds: list[object],
) -> None:
    """The proof of such a part is on the part as it should come out, which is in no file."""
    made = produce(part("corner-socket"), MEASURED, biased=True)
    document, files = written(made)
    builds.clear()
    found = again(part("corner-socket"), MEASURED, document, files)
    assert found is not None
    assert len(builds) == 1
    assert np.array_equal(found.mesh.vertices, made.mesh.vertices)
    assert np.array_equal(found.proved.vertices, made.proved.vertices)
    assert found.moves == made.moves
    assert found.scale == made.scale
    assert found.chances == made.chances


@pytest.mark.parametrize(
    "printer",
    [
        replace(PRINTER, layer=0.16),
        replace(PRINTER, rings=4),
        replace(PRINTER, bed=(250.0, 210.0, 230.0)),
        replace(PRINTER, first_layer_relief=0.2),
    ],
)
def test_another_printer_builds(printer: Printer) -> None:
    document, files = written(sleeve())
    assert again(part("depth-sleeve"), PRINTER, document, files) is not None
    assert again(part("depth-sleeve"), printer, document, files) is None


def test_another_version_builds(monkeypatch: pytest.MonkeyPatch) -> None:
    document, files = written(sleeve())
    versions = {**known.made_with(), "panelry": "0.0.9"}
    monkeypatch.setattr(known, "made_with", lambda: versions)
    assert again(part("depth-sleeve"), PRINTER, document, files) is None


def test_a_shape_drawn_otherwise_under_the_same_mark_builds() -> None:
    made = part("depth-sleeve")
    document, files = written(produce(made, PRINTER, biased=False))
    other = replace(part("depth-sleeve", stand_out=91.0), mark=made.mark)
    assert again(other, PRINTER, document, files) is None


def test_a_file_that_is_not_as_written_builds() -> None:
    made = sleeve()
    document, files = written(made)
    (name, data), *_ = files.items()
    turned = bytearray(data)
    turned[200] ^= 1
    for there in ({name: bytes(turned)}, {name: data[:-50]}, {}, {"other.stl": data}):
        assert again(part("depth-sleeve"), PRINTER, document, there) is None


def spoiled(document: Any, *way: str, value: object) -> Any:
    """The document with one value in its record or advice replaced."""
    copy = json.loads(json.dumps(document))
    here = copy["fixtures"][0]
    for step in way[:-1]:
        here = here[step]
    here[way[-1]] = value
    return copy


@pytest.mark.parametrize(
    ("way", "value"),
    [
        (("advice", "mass_g"), 1.0),
        (("advice", "infill_percent"), 5),
        (("advice", "supports"), None),
        (("advice",), None),
        (("made", "at_mm"), [0.0, 0.0, 1.0]),
        (("made", "seal"), ""),
        (("made", "sha256"), {}),
        (("made", "sha256"), None),
        (("made",), []),
    ],
)
def test_a_record_that_is_not_as_written_builds(way: tuple[str, ...], value: object) -> None:
    document, files = written(sleeve())
    assert again(part("depth-sleeve"), PRINTER, document, files) is not None
    assert again(part("depth-sleeve"), PRINTER, spoiled(document, *way, value=value), files) is None


@pytest.mark.parametrize(
    "document", [None, [], {}, {"fixtures": None}, {"fixtures": [None, 3, {}, {"made": {}}]}]
)
def test_what_is_no_document_of_ours_has_no_parts(document: object) -> None:
    assert known.known(document, {}) == {}
    assert known.stl_files(document) == ()


def test_names_that_lead_out_of_the_folder_are_not_looked_for() -> None:
    made = sleeve()
    advice = advice_document(made.advice, "as written")
    for name in ("../a.stl", "a/b.stl", "a\\b.stl", "a.3mf"):
        fixture = {"advice": advice, "made": known.record(made, advice, {name: "0"})}
        assert known.stl_files({"fixtures": [fixture]}) == ()


def test_advice_that_would_not_be_told_the_same_is_not_taken_over() -> None:
    told = advice_document(sleeve().advice, "as written")
    assert known.advice_from(told, PRINTER) is not None
    assert known.advice_from(told | {"of_a_later_version": 1}, PRINTER) is None
    assert known.advice_from({k: v for k, v in told.items() if k != "rings"}, PRINTER) is None


def test_lengths_of_filament_come_back_to_the_last_bit() -> None:
    """Metres are told as millimetres: a quotient alone is a bit off for some of them."""
    luck = random.Random(5)
    for _ in range(300):
        advice = replace(sleeve().advice, filament_m=luck.uniform(0.1, 200.0))
        assert known.advice_from(advice_document(advice, "as written"), PRINTER) is not None
