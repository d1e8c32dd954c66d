"""What every family promises, whatever its parameters."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fixtures.errors import InputError
from fixtures.export import stl, threemf
from fixtures.kernels import manifold
from fixtures.mesh import bodies, is_closed, volume
from fixtures.parts.catalog import FAMILIES, family
from fixtures.produce import produce
from fixtures.validation import allowed
from tests.parts.made import FORMS, PRINTER, feature_names, part, read_back
from tests.parts.strategies import obeying, parameters

NAMES = [entry.name for entry in FAMILIES]
MADE = [*NAMES, *FORMS]
MEANT_TO_FAIL = {"fit-coupon": ("bridge ", "overhang ")}
"""Features that are there to be judged: a coupon shows by them where a printer's limits lie."""
WIDE = settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=60)


def test_the_catalogue_and_the_families_say_the_same_name_and_line() -> None:
    for entry in FAMILIES:
        made = family(entry.name)
        assert (made.name, made.line) == (entry.name, entry.line)


@pytest.mark.parametrize("name", NAMES)
def test_every_parameter_says_what_it_is_and_what_it_may_be(name: str) -> None:
    model = family(name).parameters
    for field_name, field in model.model_fields.items():
        assert field.description, field_name
        told = allowed(field)
        if field.annotation is not bool and field_name != "sheet":
            assert told, f"{field_name} has no stated range, choice or unit"
    properties = model.model_json_schema()["properties"]
    assert set(properties) == set(model.model_fields)


@pytest.mark.parametrize("name", MADE)
def test_at_defaults_a_part_prints_holds_and_raises_no_alarm(name: str) -> None:
    made = produce(part(name), PRINTER, biased=False)
    assert made.holds
    meant = MEANT_TO_FAIL.get(name, ())
    assert not [
        f
        for f in made.advice.findings
        if f.severity == "stop"
        or (f.severity == "mend" and not (f.feature or "").startswith(meant or ("\0",)))
    ]
    assert not made.advice.supports
    # a part that stands turned on a corner comes down to within the rounding of its pose
    assert abs(made.mesh.vertices[:, 2].min()) < 1e-6
    assert made.part.cautions


@pytest.mark.parametrize("name", MADE)
def test_every_feature_owns_a_face_and_has_a_name_of_its_own(name: str) -> None:
    made = part(name)
    mesh = manifold.mesh(made.solid)
    assert len(set(feature_names(made))) == len(feature_names(made))
    owned = {mesh.names[i] for i in np.unique(mesh.owner) if i >= 0}
    assert owned == set(feature_names(made))


@pytest.mark.parametrize("name", MADE)
def test_another_library_reads_the_files_back_as_one_closed_solid(name: str) -> None:
    made = produce(part(name), PRINTER, biased=False)
    data = stl.encode(made.mesh, name)
    read = trimesh.load(io.BytesIO(data), file_type="stl")
    assert read.is_watertight
    assert read.body_count == 1
    assert read.volume == pytest.approx(volume(made.mesh), rel=1e-6)
    item = threemf.Item(made.mesh, name, made.part.mark)
    scene = trimesh.load(io.BytesIO(threemf.encode([item], title=name)), file_type="3mf")
    assert sum(g.volume for g in scene.geometry.values()) == pytest.approx(read.volume, rel=1e-6)


@pytest.mark.parametrize("name", MADE)
def test_the_same_parameters_give_the_same_bytes(name: str) -> None:
    files = [
        hashlib.sha256(stl.encode(manifold.mesh(part(name).solid), name)).hexdigest()
        for _ in range(3)
    ]
    assert len(set(files)) == 1


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_any_parameters_give_one_closed_body_or_a_refusal_in_words(name: str) -> None:
    chosen = family(name)

    refusals: list[InputError] = []

    @WIDE
    @given(parameters(chosen))
    def over_the_whole_space(values: dict[str, object]) -> None:
        try:
            made = chosen.build(chosen.parameters(**values), PRINTER)
            mesh = manifold.mesh(made.solid)
        except InputError as refusal:
            refusals.append(refusal)
            return
        assert is_closed(mesh)
        assert bodies(mesh) == 1
        assert volume(mesh) > 1000.0

    over_the_whole_space()
    for refusal in refusals:
        assert refusal.faults
        assert all(fault.message.endswith(".") for fault in refusal.faults)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_at_most_one_draw_in_a_hundred_that_keeps_the_rules_is_refused(
    name: str, record_property: Callable[[str, object], None]
) -> None:
    chosen, drawn, refused = family(name), 0, []

    @settings(WIDE, max_examples=150)
    @given(obeying(chosen), st.data())
    def within_the_rules(values: dict[str, object], data: st.DataObject) -> None:
        nonlocal drawn
        drawn += 1
        try:
            made = chosen.build(chosen.parameters(**values), PRINTER)
            mesh = manifold.mesh(made.solid)
            manifold.probe(made.solid, mesh)
        except InputError as refusal:
            refused.append(str(refusal))

    within_the_rules()
    rate = len(refused) / drawn
    record_property("told", f"{name}: {len(refused)} of {drawn} draws refused ({rate:.1%})")
    assert len(refused) <= 0.01 * drawn, refused


@pytest.mark.parametrize("name", NAMES)
def test_the_mark_follows_the_geometry_and_nothing_else(name: str) -> None:
    chosen = family(name)
    plain = {"spacer-block": "height", "clamp-caul": "strap", "depth-sleeve": "block"}
    sized = plain.get(name)
    needed = {"depth-sleeve": {"stand_out": 90.0}}.get(name, {})
    # bores go in half millimetres from the fence: 19.05 and 19.1 mm make one and the same guide
    unlike = "20.1 mm" if name == "drill-guide" else "19.1 mm"
    inches, metric, other = (
        {**needed, sized: size}
        if sized
        else {"size" if name == "leg-socket" else "thickness": (size,)}
        for size in ("3/4 in", "19.05 mm", unlike)
    )
    marks = [
        chosen.build(chosen.parameters(**values), PRINTER).mark
        for values in (inches, metric, other)
    ]
    assert marks[0] == marks[1] != marks[2]
    assert len(marks[0]) == 4


def test_marks_are_spread_over_all_four_letters() -> None:
    marks = {part("spacer-block", height=50.0 + i / 10).mark for i in range(200)}
    assert len(marks) == 200
    assert all(len({mark[i] for mark in marks}) > 20 for i in range(4))


@pytest.mark.parametrize("name", MADE)
def test_labels_keep_off_the_faces_that_guide(name: str) -> None:
    """No face of a label lies within 0.3 mm of a slot's wall or a set size's plane."""
    made = part(name)
    mesh = read_back(made)
    full = manifold.mesh(made.solid)
    labels = [i for i, n in enumerate(full.names) if n.startswith("label")]
    assert labels
    points = full.vertices[full.faces[np.isin(full.owner, labels)]].reshape(-1, 3)
    for seat in made.seats:
        normal, centre = np.array(seat.normal), np.array(seat.centre)
        half = np.ptp(np.array(seat.panel.corners) @ normal) / 2
        along = np.abs((points - centre) @ np.array(seat.along)) <= seat.length / 2
        gap = np.abs(np.abs((points - centre) @ normal) - half)
        assert not np.any(along & (gap < 0.3))
    for rest in made.rests:
        # the fixture's face lies where the panel ends along the normal
        normal, corners = np.array(rest.normal), np.array(rest.panel.corners)
        assert np.abs(points @ normal - (corners @ normal).max()).min() > 0.3
    for span in made.spans:
        way = np.array(span.head) - np.array(span.foot)
        heights = (points - np.array(span.foot)) @ (way / np.linalg.norm(way))
        for plane in (0.0, np.linalg.norm(way)):
            assert np.abs(heights - plane).min() > 0.3
    assert is_closed(mesh)
