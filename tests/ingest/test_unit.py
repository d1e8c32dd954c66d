"""Units: asked for, stated, or guessed with the reason. One inch is 25.4 mm (ISO 80000-3)."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures import ingest
from fixtures.errors import FileRefused
from fixtures.export import stl, threemf
from fixtures.ingest.unit import in_mm
from fixtures.kernels.manifold import mesh
from fixtures.mesh import make
from fixtures.solid import Box

BED = 240.0


def boxed(x: float, y: float, z: float) -> ingest.Loaded:
    """An STL with a box in it, its sizes in the file's own numbers."""
    cube = mesh(Box((10.0, 10.0, 10.0)))
    drawn = make(cube.vertices / 10.0 * (x, y, z), cube.faces)
    return ingest.read(stl.encode(drawn, "box"), "box.stl")


def size(loaded: ingest.Loaded) -> list[float]:
    return np.ptp(loaded.mesh.vertices, axis=0).tolist()


def test_millimetres_that_make_sense_are_taken_without_a_word_more() -> None:
    read = boxed(120, 60, 20)
    taken, unit = in_mm(read, None, BED)
    assert (taken, unit) == (read, "mm")
    assert taken.notes == ("STL stores no unit: its numbers are taken as millimetres.",)


@pytest.mark.parametrize(
    ("longest", "unit", "mm"),
    [
        (0.120, "m", 120.0),
        (0.006, "m", 6.0),
        (0.24, "m", 240.0),  # just fits the bed
        (0.30, "m", 300.0),  # larger than the bed, but 7.6 mm in inches
        (0.5, "in", 12.7),  # two beds and more in metres
        (2.75, "in", 69.85),
        (2.999, "in", 76.1746),
        (3.0, "mm", 3.0),
        (0.001, "mm", 0.001),
    ],
)
def test_a_unit_is_guessed_only_where_millimetres_make_no_sense(
    longest: float, unit: str, mm: float
) -> None:
    taken, guessed = in_mm(boxed(longest, longest / 2, longest / 4), None, BED)
    assert guessed == unit
    assert max(size(taken)) == pytest.approx(mm, rel=1e-6)


def test_a_guess_gives_its_reason_and_the_way_out() -> None:
    (note,) = in_mm(boxed(0.12, 0.06, 0.02), None, BED)[0].notes
    assert note == (
        "STL stores no unit. In mm its longest side would be 0.12 mm, too small to be meant: "
        "metres are taken, which make it 120 mm. If that is wrong, say --unit mm, cm, m or in."
    )


def test_what_may_be_inches_is_taken_in_mm_and_asked_about() -> None:
    taken, unit = in_mm(boxed(4.0, 3.0, 1.0), None, BED)
    assert (unit, max(size(taken))) == ("mm", 4.0)
    assert "drawn in inches it would be 101.6 mm: then say --unit in." in taken.notes[0]
    # ten inches do not fit the bed
    assert "inches" not in in_mm(boxed(9.9, 3.0, 1.0), None, BED)[0].notes[0]


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)])
def test_the_unit_asked_for_is_taken_and_said(unit: str, mm: float) -> None:
    taken, used = in_mm(boxed(2.0, 1.0, 0.5), unit, BED)
    assert used == unit
    assert size(taken) == pytest.approx([2.0 * mm, mm, 0.5 * mm])
    assert taken.notes == (f"The file's numbers are taken in {unit}, as asked.",)


def test_a_unit_the_file_states_is_believed_until_asked_otherwise() -> None:
    cube = mesh(Box((1.0, 1.0, 1.0)))
    item = threemf.Item(cube, "cube", "0000", 1)
    read = ingest.read(threemf.encode([item], title="cube"), "cube.3mf")
    assert in_mm(read, None, BED) == (read, "millimeter")
    taken, unit = in_mm(read, "in", BED)
    assert (unit, max(size(taken))) == ("in", pytest.approx(25.4))
    (note,) = taken.notes
    assert note == "The file says its unit is millimeter; its numbers are taken in in, as asked."


def test_a_unit_that_makes_the_mesh_absurdly_large_is_refused() -> None:
    with pytest.raises(FileRefused, match=r"In m the mesh reaches .*limit is 1e\+06 mm"):
        in_mm(boxed(2000.0, 10.0, 10.0), "m", BED)


def test_other_notes_stay() -> None:
    data = stl.encode(mesh(Box((10.0, 10.0, 10.0))), "box") + b"xx"
    read = ingest.read(data, "box.stl")
    notes = in_mm(read, "cm", BED)[0].notes
    assert notes[1:] == ("Bytes after the last triangle, ignored: 2.",)
