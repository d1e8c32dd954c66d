"""The advisor as a whole: bad meshes, ranking, the JSON form, and what must not change it."""

from __future__ import annotations

import doctest
import json
import math
from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures import mesh as meshes
from fixtures.advisor import estimate, patterns
from fixtures.advisor import settings as print_settings
from fixtures.advisor.advise import Advice, advise, to_json
from fixtures.advisor.checks import CHECKS
from fixtures.errors import InputError
from fixtures.features import Block, Hole
from fixtures.finding import Finding
from fixtures.kernels import manifold
from fixtures.mesh import Mesh, make
from fixtures.outline import rectangle
from fixtures.printer import Printer
from fixtures.solid import Difference, Feature, Pose, Union
from tests.advisor.solids import (
    HALVES,
    advised,
    as_mesh,
    block_with_hole,
    bored_block,
    box,
    cube,
    drum,
    frustum,
    hanging_cone,
    one,
    pendant,
    portal,
    said,
    tee,
)


def essence(advice: Advice) -> list[tuple[object, ...]]:
    """What must be the same of a part however it is turned or moved, rounded."""
    rows: list[tuple[object, ...]] = [
        (f.check, f.severity, round(f.measured or 0, 1), None if f.z is None else round(f.z[0], 3))
        for f in advice.findings
    ]
    return [
        *sorted(rows, key=str),
        (advice.infill_percent, advice.infill_by.rule, advice.roof_layers, advice.supports),
    ]


def soup(mesh: Mesh) -> Mesh:
    """Every triangle with corners of its own, as an STL file has them."""
    return make(mesh.triangles.reshape(-1, 3), np.arange(3 * len(mesh.faces)).reshape(-1, 3))


def test_a_cube_has_nothing_to_say_for_it() -> None:
    advice = advised(cube(), Printer())
    assert advice.findings == ()
    assert (advice.layers, advice.rings, advice.supports) == (100, 3, False)


SOLIDS = {
    "tee": tee,
    "portal": portal,
    "pendant": pendant,
    "frustum": lambda: frustum(60, 64),
    "bore": bored_block,
    "blind": lambda: block_with_hole(8, 12),
    "cone": lambda: hanging_cone(5.0),
}


@pytest.mark.parametrize("name", SOLIDS)
@settings(max_examples=5, deadline=None, derandomize=True)
@given(turn=st.floats(0, 360), x=st.floats(-80, 80), y=st.floats(-80, 80))
def test_turning_and_moving_on_the_bed_change_nothing(
    name: str, turn: float, x: float, y: float
) -> None:
    still = advised(SOLIDS[name]())
    turned = advised(SOLIDS[name]().rotate((0, 0, turn)).translate((x, y, 0)))
    assert essence(turned) == essence(still)
    assert turned.mass_g == pytest.approx(still.mass_g, rel=2e-3)


@pytest.mark.parametrize("name", SOLIDS)
def test_a_triangle_soup_is_told_as_the_welded_mesh(name: str) -> None:
    solid = SOLIDS[name]()
    assert advise(soup(as_mesh(solid)), HALVES) == advised(solid)


def test_the_same_mesh_gets_the_same_advice_twice() -> None:
    mesh = as_mesh(pendant())
    assert advise(mesh, HALVES) == advise(mesh, HALVES)


def test_a_foreign_mesh_is_told_as_much_as_our_own_but_for_names() -> None:
    hole = Hole((30, 30, 30), (0, 0, -1), (1, 0, 0), 8, 18)
    side = Hole((0, 30, 6), (1, 0, 0), (0, 1, 0), 8, 60, True)
    solid = Difference(
        Feature("body", Block(Pose(), rectangle(0, 0, 60, 60), 30)),
        (Feature("dowel", hole), Feature("side hole", side)),
    )
    mesh = manifold.mesh(solid)
    facts = (hole.fact("dowel"), side.fact("side hole"))
    own = advise(mesh, HALVES, facts)
    foreign = advise(make(mesh.vertices, mesh.faces), HALVES)
    # our own bores are drawn for the printer, or with its bias in their clearance
    assert essence(own) == [line for line in essence(foreign) if line[0] != "tight-hole"]
    assert one(own, "hole-over-infill").feature == "dowel"
    assert one(own, "lying-bore").feature == "side hole"
    assert one(own, "lying-bore").measured == 8.0
    assert own.infill_by.feature == "dowel"
    assert {finding.feature for finding in foreign.findings} == {None}


def test_a_ledge_is_told_by_the_feature_that_hangs() -> None:
    cap = Block(Pose(at=(0, 0, 20)), rectangle(0, 0, 30, 20), 5)
    stem = Block(Pose(), rectangle(10, 0, 20, 20), 20.5)
    mesh = manifold.mesh(Union((Feature("stem", stem), Feature("cap", cap))))
    advice = advise(mesh, HALVES, (stem.fact("stem"), cap.fact("cap")))
    assert {finding.feature for finding in advice.findings} == {"cap"}
    assert one(advice, "overhang").area == pytest.approx(400)


@pytest.mark.parametrize(
    ("change", "open_edges", "flipped"),
    [("missing", 3, 0), ("flipped", 0, 3)],
)
def test_a_mesh_with_a_hole_or_a_turned_face_is_not_watertight(
    change: str, open_edges: int, flipped: int
) -> None:
    mesh = as_mesh(cube())
    faces = mesh.faces[1:]
    if change == "flipped":
        faces = np.vstack([mesh.faces[:1, ::-1], faces])
    advice = advise(make(mesh.vertices, faces), HALVES)
    finding = one(advice, "not-watertight")
    assert finding.severity == "stop"
    assert finding.measured == 3
    # half a square of 20 mm: 20 + 20 + 20 √2 round it
    hole = " It has one hole, its rim 68.3 mm long." if open_edges else ""
    assert finding.message == (
        f"The surface is not closed: {open_edges} open edges, 0 with more than two faces, "
        f"{flipped} between faces turned against each other.{hole}"
    )
    note = one(advice, "not-checked")
    assert note.severity == "note"
    assert note.message == (
        "Not checked, because the mesh has no inside: many-bodies, self-crossing, island, bridge, "
        "ledge, overhang, lying-bore, small-hole, tight-hole, bed-mouth, thin-wall, thin-flat, "
        "hole-over-infill, no-infill."
    )
    assert (advice.mass_g, advice.time_s, advice.layers) == (None, None, 0)
    assert advice.infill_by.rule == "floor value"


def test_an_open_mesh_too_big_is_told_both() -> None:
    mesh = as_mesh(box(0, 0, 0, 400, 400, 10))
    advice = advise(make(mesh.vertices, mesh.faces[1:]), HALVES)
    assert {finding.check for finding in advice.findings} == {
        "not-watertight",
        "too-big",
        "not-checked",
    }


def test_bodies_that_touch_along_an_edge_are_not_watertight_but_still_looked_at() -> None:
    a, b = as_mesh(box(0, 0, 0, 10, 10, 10)), as_mesh(box(10, 10, 0, 20, 20, 10))
    both = make(
        np.vstack([a.vertices, b.vertices]), np.vstack([a.faces, b.faces + len(a.vertices)])
    )
    advice = advise(both, HALVES)
    finding = one(advice, "not-watertight")
    assert finding.message.startswith(
        "The surface is not closed: 0 open edges, 1 with more than two"
    )
    assert advice.layers == 50


def test_an_inside_out_mesh_is_stopped_and_looked_at_turned_round() -> None:
    mesh = as_mesh(tee())
    advice = advise(make(mesh.vertices, mesh.faces[:, ::-1]), HALVES)
    finding = one(advice, "inside-out")
    assert (finding.severity, finding.measured) == ("stop", pytest.approx(-7000))
    right = advised(tee())
    assert [f for f in advice.findings if f.check != "inside-out"] == list(right.findings)


@pytest.mark.parametrize(
    ("mesh", "message"),
    [
        (make([], []), "The mesh has no faces: there is nothing to look at."),
        (
            make([(0, 0, 0), (1, 0, 0), (0, math.nan, 1)], [(0, 1, 2)]),
            "1 of 3 corner points are",
        ),
        (
            make([(0, 0, 0), (1, 0, 0), (0, math.inf, 1)], [(0, 1, 2)]),
            "1 of 3 corner points are",
        ),
        (
            make([(0, 0, 0), (9, 0, 0), (0, 0, 9)], [(0, 1, 2), (2, 1, 0)]),
            "The mesh encloses 0 mm³: it has no volume.",
        ),
        (as_mesh(box(0, 0, 3, 5, 5, 9)), "The mesh begins at z = 3.000 mm, not on the bed."),
        (as_mesh(box(0, 0, 0, 5, 5, 0.05)), "The mesh is 0.050 mm high, less than half a layer of"),
    ],
    ids=["empty", "nan", "inf", "flat", "floating", "metres"],
)
def test_what_is_no_part_is_refused(mesh: Mesh, message: str) -> None:
    with pytest.raises(InputError, match="^" + message.replace("(", r"\(").replace(")", r"\)")):
        advise(mesh, HALVES)


def test_a_mesh_in_the_wrong_unit_is_not_cut_into_a_million_layers() -> None:
    advice = advised(box(0, 0, 0, 1e4, 1e4, 3e5))
    assert "1500000 layers" in one(advice, "not-checked").message
    assert {finding.severity for finding in said(advice, "too-big")} == {"stop"}


@pytest.mark.parametrize(
    ("size", "severities"),
    [  # bed 240 × 200 × 230
        ((239.9, 199.9, 10), []),
        ((199.9, 239.9, 10), []),
        ((241.0, 20.0, 10), ["note"]),
        ((20.0, 241.0, 10), ["note"]),
        ((290.0, 5.0, 10), ["note"]),
        ((241.0, 100.0, 10), ["stop"]),
        ((320.0, 5.0, 10), ["stop"]),
        ((241.0, 201.0, 10), ["stop"]),
        ((20.0, 20.0, 229.9), []),
        ((20.0, 20.0, 231.0), ["stop"]),
    ],
)
def test_too_big_is_what_fits_in_no_turn(
    size: tuple[float, float, float], severities: list[str]
) -> None:
    advice = advised(box(0, 0, 0, *size))
    assert [finding.severity for finding in said(advice, "too-big")] == severities


def test_a_note_of_size_says_how_to_turn_it() -> None:
    finding = one(advised(box(0, 0, 0, 290, 5, 10)), "too-big")
    (turn,) = [int(word[:-1]) for word in finding.remedy.split() if word.endswith("°")]
    across = math.radians(turn)
    assert 290 * abs(math.cos(across)) + 5 * abs(math.sin(across)) <= 240
    assert 290 * abs(math.sin(across)) + 5 * abs(math.cos(across)) <= 200


def test_bodies_are_counted() -> None:
    two = box(0, 0, 0, 5, 5, 5) + box(10, 0, 0, 15, 5, 5)
    assert one(advised(two), "many-bodies").measured == 2
    hollow = box(0, 0, 0, 20, 20, 20) - box(8, 8, 8, 12, 12, 12)
    assert said(advised(hollow), "many-bodies") == []


def test_the_worst_is_told_first() -> None:
    rank = ["stop", "mend", "note"]
    advice = advised(pendant() + box(40, 0, 0, 45, 20, 12) + box(40, 0, 10, 47, 20, 12))
    order = [rank.index(finding.severity) for finding in advice.findings]
    assert order == sorted(order)
    assert advice.findings[0].check == "island"
    assert len(set(order)) == 3


def test_many_findings_of_the_same_words_are_told_as_one() -> None:
    def posts(count: int) -> m3.Manifold:
        """Shelves of 2 mm between which nothing can be told apart, on one wall."""
        solid = box(0, 0, 0, 5, 20, 10 * count + 2)
        for i in range(count):
            solid = solid + box(0, 0, 10 * i + 10, 7, 20, 10 * i + 12)
        return solid

    assert len(said(advised(posts(4)), "ledge")) == 4
    ledge = one(advised(posts(5)), "ledge")
    assert ledge.message.endswith("1.5 mm print cleanly. (So in 5 places.)")
    assert ledge.z == (10.0, 50.2)
    assert ledge.area == pytest.approx(5 * 1.8 * 20, rel=1e-6)


def test_the_island_message_reads() -> None:
    assert str(one(advised(pendant()), "island")) == (
        "island stop  z 12.0 to 12.2 mm: "
        "It begins in mid-air at z = 12.00 mm, with nothing under it. Turn the part "
        "over, let it grow out of a wall, or print with supports."
    )


def test_a_hanging_rod_is_one_island_of_its_foot() -> None:
    finding = one(advised(pendant()), "island")
    assert finding.z == (12.0, 12.2)  # the layer whose middle is 12.1
    assert finding.area == pytest.approx(28.229, abs=1e-3)
    overhang = one(advised(pendant()), "overhang")
    assert overhang.area == pytest.approx(660, abs=1e-3)


def test_the_json_form_has_the_promised_keys() -> None:
    data = json.loads(json.dumps(to_json(advised(pendant())), allow_nan=False))
    assert {
        "infill_percent",
        "infill_by",
        "rings",
        "roof_layers",
        "supports",
        "findings",
        "mass_g",
        "time_s",
    } <= data.keys()
    assert data["infill_by"].keys() == {"rule", "feature", "needed_percent"}
    assert len(data["time_s"]) == 2
    for finding in data["findings"]:
        assert finding.keys() == {
            "check",
            "severity",
            "feature",
            "measured",
            "limit",
            "unit",
            "z_mm",
            "area_mm2",
            "places_mm",
            "facing",
            "message",
            "remedy",
        }


def test_an_open_mesh_has_a_json_form_too() -> None:
    mesh = as_mesh(cube())
    data = json.loads(json.dumps(to_json(advise(make(mesh.vertices, mesh.faces[1:]), HALVES))))
    assert data["mass_g"] is None
    assert data["time_s"] is None


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_each_check_documents_itself(check: object) -> None:
    text = (check.__doc__ or "").split("\n")
    name = getattr(check, "__name__", "").replace("_", "-")
    assert text[0] == f"{name}."
    heads = [line.strip().split(":")[0] for line in text if ":" in line and line[4:5].isupper()]
    for head in ("Finds", "Harm", "Example", "Remedy", "Blind spot", "Source"):
        assert head in heads


def test_every_finding_carries_its_checks_code() -> None:
    codes = {check.__name__.replace("_", "-") for check in CHECKS}
    everything = pendant() + drum(50, 10, 0, 5, 10) - drum(50, 10, 3, 2, 10)
    findings: tuple[Finding, ...] = advised(everything).findings
    assert len(findings) > 3
    assert {finding.check for finding in findings} <= codes


@pytest.mark.parametrize("module", [patterns, print_settings, estimate])
def test_the_examples_in_the_docs_run(module: object) -> None:
    result = doctest.testmod(module, extraglobs={"Printer": Printer})  # type: ignore[arg-type]
    assert result.attempted > 0
    assert result.failed == 0


def test_float32_noise_in_a_pose_raises_no_finding() -> None:
    # a part turned over and back carries rounding in every coordinate
    mesh = as_mesh(
        box(0, 0, 0, 60, 40, 20) - drum(20, 20, -1, 4, 22) - box(40, 10, 3.5, 50, 30, 21)
    )
    turned = mesh.vertices
    for step in (37.0, 71.0, -108.0):
        c, s = math.cos(math.radians(step)), math.sin(math.radians(step))
        turned = (turned @ np.array([[1, 0, 0], [0, c, -s], [0, s, c]])).astype(np.float32)
    lowered = turned.astype(float) - [0, 0, float(turned[:, 2].min())]
    noisy = meshes.canonical(replace(mesh, vertices=lowered))
    assert essence(advise(noisy, Printer())) == essence(advise(mesh, Printer()))


def test_two_overlapping_bodies_count_once_in_layers() -> None:
    a, b = as_mesh(box(0, 0, 0, 10, 20, 10)), as_mesh(box(5, 0, 0, 20, 20, 10))
    both = make(
        np.vstack([a.vertices, b.vertices]), np.vstack([a.faces, b.faces + len(a.vertices)])
    )
    joined = advised(box(0, 0, 0, 20, 20, 10))
    assert advise(both, HALVES).mass_g == pytest.approx(joined.mass_g)


def test_a_hollow_ball_is_cut_by_the_boolean_library_alike() -> None:
    # its own volume by layers against the boolean library's
    ball = m3.Manifold.sphere(10, 64).translate((0, 0, 10))
    advice = advised(ball, replace(HALVES, rings=40))
    assert advice.mass_g is not None
    # all rings: 1 - share of voids between rounded lines, the outermost ring's half included
    assert 0.9 < advice.mass_g / (ball.volume() * 1.24e-3) <= 1.0
