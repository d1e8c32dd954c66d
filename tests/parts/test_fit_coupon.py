"""fit-coupon: every question's size is on the read-back mesh, by another library's rays."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import trimesh

from fixtures.calibration.question import SIZES, Question, Sized
from fixtures.errors import InputError, PartRefused
from fixtures.features import features
from fixtures.kernels import brep, manifold
from fixtures.mesh import volume
from fixtures.parts import fit_coupon
from fixtures.parts.fit_coupon import FitCoupon
from fixtures.printer import MATERIALS, Printer
from fixtures.produce import produce
from tests.parts.made import PRINTER, part, read_back, unlabelled

NEAR = 0.005
"""mm; twice what a drawn bore's polygon may lie about its circle is allowed on top for bores."""


def _asked(printer: Printer = PRINTER, **values: object) -> tuple[Question, ...]:
    return fit_coupon.questions(FitCoupon(**({"thickness": (12.2,)} | values)), printer)


def _read(**values: object) -> trimesh.Trimesh:
    mesh = read_back(part("fit-coupon", **values))
    return trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)


def _across(read: trimesh.Trimesh, start: np.ndarray, way: np.ndarray) -> float:
    hits = [
        np.linalg.norm(read.ray.intersects_location([start], [w])[0] - start, axis=1).min()
        for w in (way, -way)
    ]
    return float(sum(hits))


def _hits(read: trimesh.Trimesh, start: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Distances to every face on the way, nearest first."""
    met = read.ray.intersects_location([start], [way])[0]
    return np.sort(np.linalg.norm(met - start, axis=1))


@pytest.mark.parametrize("thickness", [4.0, 12.2, 19.0])
def test_slots_and_bores_are_as_wide_as_asked(thickness: float) -> None:
    made, read = part("fit-coupon", thickness=(thickness,)), _read(thickness=(thickness,))
    recipes = {f.name: f.recipe for f, _ in features(made.solid)}
    tried = 0
    for q in _asked(thickness=(thickness,)):
        kind = q.kind.split()[0]
        if kind not in ("slot", "bore") or q.label == "S4":
            continue
        fact = recipes[f"{kind} {q.label}"].fact("")
        assert fact.depth is not None
        start = np.array(fact.at) + 0.5 * fact.depth * np.array(fact.axis)
        slack = NEAR if kind == "slot" else NEAR + 0.02
        assert _across(read, start, np.array(fact.across)) == pytest.approx(q.nominal, abs=slack)
        tried += 1
    assert tried == 8 + 3 + 5 + 3 + 3 + 5 + 3


@pytest.mark.parametrize("thickness", [4.0, 12.2, 19.0])
def test_blocks_are_as_large_as_asked_where_their_label_stands(thickness: float) -> None:
    """A ray through the block under its label, along the direction it is asked for."""
    made, read = part("fit-coupon", thickness=(thickness,)), _read(thickness=(thickness,))
    recipes = {f.name: f.recipe for f, _ in features(made.solid)}
    high = read.bounds[1]
    ways = {"outside x": 0, "outside y": 1, "outside z": 2, "flare": 0}
    for q in _asked(thickness=(thickness,)):
        if q.kind not in ways:
            continue
        label = recipes[f"label {q.label}"].fact("")
        if q.label in ("X3", "Y3"):
            edge = {"X3": 0, "Y3": 1}[q.label]
            assert high[edge] == pytest.approx(q.nominal, abs=NEAR)
            continue
        axis = ways[q.kind]
        start = np.array(label.at) + 1.0 * np.array(label.axis) + 0.4 * np.array(label.across)
        if axis == 2:  # below the letters
            start += 0.4 * np.cross(label.axis, label.across)
        if q.label == "Z3":  # between the tower's bores, in the middle of its label
            start += 2.6 * np.array(label.across)
        if q.label == "Y4":  # its label is on the tie beside the bar; bores cross the bar
            middle = read.bounds[0][0] + 2.6
            along = _hits(read, np.array([middle, -9.0, 3.0]), np.eye(3)[1])
            assert along[-1] - along[0] == pytest.approx(q.nominal, abs=NEAR)
        elif q.label == "X4":  # its label is on the back bar, behind what it is about
            bore = recipes["bore M3"].fact("").at
            before = np.array([bore[0], label.at[1] - 0.9, 1.0])
            assert _across(read, before, np.eye(3)[0]) == pytest.approx(q.nominal, abs=NEAR)
        elif q.label == "X2":  # from its finger, whose bridge it misses, and across the large bore
            left, right = (_hits(read, start, way * np.eye(3)[0]) for way in (-1.0, 1.0))
            assert left[2] + right[0] == pytest.approx(q.nominal, abs=NEAR)
        else:
            assert _across(read, start, np.eye(3)[axis]) == pytest.approx(q.nominal, abs=NEAR), (
                q.label
            )


@pytest.mark.parametrize("thickness", [4.0, 19.0])
def test_a_slot_across_x_is_measured_between_the_bores_and_the_right_bar(thickness: float) -> None:
    made, read = part("fit-coupon", thickness=(thickness,)), _read(thickness=(thickness,))
    recipes = {f.name: f.recipe for f, _ in features(made.solid)}
    (q,) = (q for q in _asked(thickness=(thickness,)) if q.label == "S4")
    label = recipes["label S4"].fact("")
    beside = np.array(label.at) + np.array([-8.0, 2.0, -1.0])  # the label reads along Y on the bar
    assert _across(read, beside, np.eye(3)[0]) == pytest.approx(q.nominal, abs=NEAR)


def test_labels_are_unique_and_engraved() -> None:
    engraved = {f.name for f, _ in features(part("fit-coupon").solid)}
    labels = [q.label for q in _asked()]
    assert len(set(labels)) == len(labels)
    assert {f"label {text}" for text in labels} <= engraved


def test_go_no_go_slots_step_by_a_twentieth_about_the_largest_reading() -> None:
    tried = [q for q in _asked(thickness=(12.0, 12.2, 12.1)) if q.kind == "slot" and q.gauge]
    assert [q.nominal for q in tried] == pytest.approx([12.15 + 0.05 * i for i in range(8)])
    assert {q.gauge for q in tried} == {12.2}
    assert [q.label for q in tried] == [f"T{n}" for n in range(1, 9)]


@pytest.mark.parametrize("slots", [5, 7, 15])
def test_an_odd_number_of_slots_is_shared_by_both_sides(slots: int) -> None:
    asked: dict[str, Any] = {"slots": slots, "thickness": (12.2,)}
    tried = [q for q in _asked(**asked) if q.kind == "slot" and q.gauge]
    assert [q.nominal for q in tried] == pytest.approx([12.15 + 0.05 * i for i in range(slots)])
    recipes = {f.name: f.recipe for f, _ in features(part("fit-coupon", **asked).solid)}
    back = [q for q in tried if recipes[f"slot {q.label}"].fact("").at[1] > 30.0]
    assert len(back) in (0, slots // 2)


@pytest.mark.parametrize("kind", SIZES)
def test_every_kind_of_size_is_asked_at_three_or_more_well_apart(kind: Sized) -> None:
    """Measured, or closed in by a gauge; three sizes are the fewest that show a line's scatter.

    Calipers: inside jaws from 6 mm up. Apart: the largest half as large again as the smallest.
    """
    for thickness in (3.0, 19.2, 32.0):
        asked = [q for q in _asked(thickness=(thickness,)) if q.kind == kind]
        measured = {q.nominal for q in asked if q.gauge is None}
        assert len(measured | {q.gauge for q in asked if q.gauge is not None}) >= 3
        assert max(measured) >= 1.5 * min(measured)
        if kind.startswith(("slot", "bore")):
            assert min(measured) >= 6.0
        assert len(measured) >= 3, "calipers alone are enough"
        if kind == "outside x":
            assert len(measured) == 4


@pytest.mark.parametrize("thickness", [6.0, 12.0, 19.2])
def test_it_prints_in_about_an_hour(thickness: float) -> None:
    """At defaults and a plain printer; about: the interval's middle, at most 68 min."""
    made = produce(part("fit-coupon", thickness=(thickness,)), PRINTER, biased=False)
    assert made.advice.time_s is not None
    assert sum(made.advice.time_s) / 2 <= 68 * 60


@pytest.mark.slow
@pytest.mark.parametrize("material", ["PLA", "PETG"])
@pytest.mark.parametrize("nozzle", [0.4, 0.6])
@pytest.mark.parametrize("thickness", [3.0, 32.0])
@pytest.mark.parametrize("bush", ["metric", "inch", "none"])
def test_only_what_is_there_to_fail_is_to_be_mended(
    material: str, nozzle: float, thickness: float, bush: str
) -> None:
    printer = Printer(material=MATERIALS[material], nozzle=nozzle, layer=nozzle / 2)
    made = fit_coupon.build(FitCoupon(thickness=(thickness,), bush=bush), printer)
    told = [f for f in produce(made, printer, biased=False).advice.findings if f.severity != "note"]
    assert not [f for f in told if not (f.feature or "").startswith(("bridge ", "overhang "))]


def test_heights_are_whole_layers() -> None:
    for layer in (0.12, 0.2, 0.28):
        for q in _asked(Printer(layer=layer)):
            if q.kind == "outside z":
                assert math.isclose(q.nominal / layer, round(q.nominal / layer), abs_tol=1e-4)


def test_bridges_end_where_the_material_does_and_nothing_must_stop_the_print() -> None:
    for name in ("PLA", "PETG", "TPU"):
        printer = Printer(material=MATERIALS[name])
        longest = max(q.nominal for q in _asked(printer) if q.kind == "bridge")
        assert longest == printer.material.bridge_limit
        made = fit_coupon.build(FitCoupon(thickness=(12.2,)), printer)
        advice = produce(made, printer, biased=False).advice
        assert not [f for f in advice.findings if f.severity == "stop"]
        assert not advice.supports


def test_the_first_layer_is_relieved_everywhere_but_on_the_flare_block() -> None:
    mesh = produce(part("fit-coupon"), PRINTER, biased=False).mesh
    owner = mesh.names.index("flare F1")
    bottom = mesh.vertices[mesh.faces[mesh.owner == owner]].reshape(-1, 3)
    bottom = bottom[bottom[:, 2] < 1e-6]
    assert np.ptp(bottom[:, 0]) == pytest.approx(10.0, abs=NEAR)


@pytest.mark.slow
def test_the_mesh_and_the_exact_solid_enclose_the_same() -> None:
    """Without the letters, of which the exact kernel would take minutes."""
    plain = unlabelled(part("fit-coupon").solid)
    assert volume(manifold.mesh(plain)) == pytest.approx(brep.volume(plain), rel=2e-3)


def test_a_bed_too_small_is_told_in_words() -> None:
    with pytest.raises(PartRefused, match="the bed takes 110 × 110 mm"):
        _asked(Printer(bed=(120.0, 120.0, 120.0)), thickness=(30.0,))


def test_a_panel_nobody_measured_gauges_nothing() -> None:
    with pytest.raises(InputError, match="thickness must be known"):
        _asked(thickness=(), sheet="18 mm birch plywood", unmeasured=True)


@pytest.mark.parametrize("thickness", [4.0, 12.2, 19.0, 30.0])
@pytest.mark.parametrize("values", [{}, {"drill": 4.0, "bush": "none", "slots": 11}])
def test_no_label_runs_into_another(thickness: float, values: dict[str, Any]) -> None:
    """Boxes of the engraved letters on the plate, from the mesh's own faces."""
    mesh = manifold.mesh(part("fit-coupon", thickness=(thickness,), **values).solid)
    boxes = {}
    for i, name in enumerate(mesh.names):
        if name.startswith("label"):
            points = mesh.vertices[mesh.faces[mesh.owner == i]].reshape(-1, 3)
            boxes[name] = (points.min(axis=0), points.max(axis=0))
    names = sorted(boxes)
    for n, one in enumerate(names):
        for other in names[n + 1 :]:
            (low, high), (lo, hi) = boxes[one], boxes[other]
            assert np.any(low >= hi) or np.any(lo >= high), (one, other)


def _box(mesh: Any, name: str) -> tuple[np.ndarray, np.ndarray]:
    points = mesh.vertices[mesh.faces[mesh.owner == mesh.names.index(name)]].reshape(-1, 3)
    return points.min(axis=0), points.max(axis=0)


def test_the_mark_is_engraved_and_is_that_of_the_questions() -> None:
    made = part("fit-coupon")
    assert f"label {made.mark}" in {f.name for f, _ in features(made.solid)}
    assert fit_coupon.mark_of(_asked()) == made.mark
    assert fit_coupon.mark_of(tuple(reversed(_asked()))) == made.mark
    others = (*_asked()[1:], Question("X1", "outside x", 10.1))
    assert fit_coupon.mark_of(others) != made.mark


@pytest.mark.parametrize("layer", [0.12, 0.2, 0.28])
def test_no_letter_breaks_out_of_its_overhang_step(layer: float) -> None:
    printer = Printer(layer=layer)
    mesh = manifold.mesh(fit_coupon.build(FitCoupon(thickness=(12.2,)), printer).solid)
    for q in _asked(printer):
        if q.kind == "overhang":
            (low, high), (least, most) = (_box(mesh, f"{k} {q.label}") for k in LETTERED)
            assert np.all(least[:2] - low[:2] >= 0.29)
            assert np.all(high[:2] - most[:2] >= 0.29)


LETTERED = ("overhang", "label")


def test_a_jaw_has_room_between_the_left_bar_and_the_plates() -> None:
    """6 mm: a caliper's jaw is 3 to 4 mm thick (common practice, no source)."""
    mesh = manifold.mesh(part("fit-coupon").solid)
    bar = _box(mesh, "bar")
    front = _box(mesh, "front")
    assert front[0][0] - bar[1][0] >= 6.0 - 1e-6


@pytest.mark.parametrize("thickness", [4.0, 12.2, 19.0])
def test_every_question_says_where_it_is_in_words_no_spreadsheet_splits(thickness: float) -> None:
    asked = _asked(thickness=(thickness,))
    places = [q.where for q in asked]
    assert all(places)
    assert len(set(places)) == len(places)
    assert not [place for place in places if any(sign in place for sign in ",;.\t\n")]
    slots = [q.where for q in asked if q.label[0] == "T"]
    assert all("open notch" in place for place in slots)
