"""The pad: it presses over the joint, hangs by itself, keeps the jaw, and keeps off the glue.

Shop sizes (seat, hook, 45° of spread) are common practice, no source.
"""

from __future__ import annotations

import doctest
import itertools
import math

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from fixtures import proof
from fixtures.errors import InputError
from fixtures.features import Label, features
from fixtures.joints import Bead, Rest
from fixtures.kernels import manifold
from fixtures.mesh import Floats, bounds, volume
from fixtures.parts import clamping
from fixtures.parts.clamping import pad_stations
from fixtures.parts.family import Part
from fixtures.produce import produce
from fixtures.solid import Vec
from tests.parts.made import PRINTER, part, read_back, unlabelled

HOOKS = ("end", "front")
SIZES = [(18.1, 30.0, 15.0), (7.0, 20.0, 12.0), (12.2, 40.0, 20.0), (38.0, 20.0, 30.0)]
SIZES += [(60.0, 60.0, 30.0), (60.0, 20.0, 12.0)]
SPACE = [
    {"hook": hook, "thickness": (thick,), "jaw": jaw, "pad": depth}
    for hook, (thick, jaw, depth) in itertools.product(HOOKS, SIZES)
]


def pad(**values: object) -> Part:
    return part("clamp-caul", **{"form": "pad", "thickness": (18.1,), **values})


def hull(points: Floats) -> m3.Manifold:
    return m3.Manifold.hull_points(points)


def resting(made: Part, face: str) -> Rest:
    (one,) = (rest for rest in made.rests if rest.face == face)
    return one


def moved(made: Part, face: str, by: Vec) -> float:
    """What the panel or jaw on that face runs into when moved, mm³."""
    corners = np.array(resting(made, face).panel.corners) + by
    return proof.overlap(manifold.load(read_back(made)), hull(corners))


def box(low: Vec, high: Vec) -> m3.Manifold:
    size = np.subtract(high, low)
    return m3.Manifold.cube(tuple(size.tolist())).translate(low)


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_its_proof_holds_and_it_prints_without_support(values: dict[str, object]) -> None:
    made = produce(pad(**values), PRINTER, biased=False)
    assert [check for check in made.checks if not check.holds] == []
    names = {check.name for check in made.checks}
    for face in ("running panel on land", "running panel on hook", "jaw on seat"):
        assert {f"{face}: seated", f"{face}: bears"} <= names
    assert "path: abutting panel" in names
    assert not made.advice.supports
    assert not [f for f in made.advice.findings if f.severity != "note"]


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_it_touches_the_face_only_over_the_abutting_panel_and_in_its_middle(
    values: dict[str, object],
) -> None:
    """The running panel pressed 0.05 mm in meets the land; where it meets is inside the joint."""
    made = pad(**values)
    thick = max(values["thickness"])  # type: ignore[call-overload]
    # only the face: the hook lies beyond its edges
    shared = manifold.load(read_back(made)) ^ box((-0.05, 0.01, 0.01), (0.0, 300.0, 300.0))
    (_, low, _), (_, high, _) = np.array(shared.bounding_box()).reshape(2, 3)
    assert low >= 1.5 - 1e-4
    assert high <= thick - 1.5 + 1e-4
    assert (low + high) / 2 == pytest.approx(thick / 2, abs=1e-4)
    # the panel beside the joint keeps 1.5 mm of air, but for the 0.3 mm at the heel
    for air, free in ((0.29, True), (0.31, values["hook"] == "front"), (1.51, False)):
        beside = box((-air, thick, 0.01), (0.0, 400.0, 200.0))
        assert (proof.overlap(manifold.load(read_back(made)), beside) == 0.0) is free


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_all_of_the_land_lies_within_45_degrees_of_the_jaw(values: dict[str, object]) -> None:
    made = pad(**values)
    jaw = np.array(resting(made, "seat").panel.corners)
    face = box((-0.05, 0.01, 0.01), (0.0, 300.0, 300.0))
    land = np.array((manifold.load(read_back(made)) ^ face).bounding_box())
    depth = -jaw[:, 0].max()
    assert depth == pytest.approx(float(values["pad"]))  # type: ignore[arg-type]
    for axis in (1, 2):
        assert land[axis] >= jaw[:, axis].min() - depth - 0.05
        assert land[3 + axis] <= jaw[:, axis].max() + depth + 0.05


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_it_hangs_by_itself_on_a_quarter_of_friction(values: dict[str, object]) -> None:
    """Moments about the arris it hangs over, its weight where another library finds it.

    Weight W off the face by a, heel below by h: the heel is pushed with W a / h, and the hook
    must hold that by friction. Wood on plastic drags with 0.25 and more (from memory).
    """
    made = pad(**values)
    mesh = read_back(made)
    read = trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)
    off = -float(read.center_mass[0])
    down = 1 if values["hook"] == "end" else 2
    body = manifold.load(mesh)
    # the lowest place where it comes within 0.35 mm of the face
    near = np.array((body ^ box((-0.35, 0.1, 0.1), (50.0, 400.0, 400.0))).bounding_box())
    heel = near[3 + down]
    assert 0.0 < off / heel <= 0.25
    # its weight lies below the hook, or it would fall over it
    assert float(read.center_mass[down]) > 0.0


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_the_jaw_stays_in_its_seat_but_for_the_way_it_came(values: dict[str, object]) -> None:
    """1 mm wider than the jaw: free to half of that, held just beyond, on three sides."""
    made = pad(**values)
    way = {"end": (0.0, 1.0, 0.0), "front": (0.0, 0.0, 1.0)}[str(values["hook"])]
    side = {"end": (0.0, 0.0, 1.0), "front": (0.0, 1.0, 0.0)}[str(values["hook"])]
    for direction in (way, side, tuple(-x for x in side)):
        free, met = (tuple(by * x for x in direction) for by in (0.49, 0.55))
        assert moved(made, "seat", free) == 0.0  # type: ignore[arg-type]
        assert moved(made, "seat", met) > 0.0  # type: ignore[arg-type]
    seat = resting(made, "seat")
    back = tuple(-x for x in way)
    body = manifold.load(read_back(made))
    assert proof.in_the_way(body, [seat.panel], back) == 0.0  # type: ignore[arg-type]


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_it_comes_off_outwards_only_and_past_the_hook_no_way(values: dict[str, object]) -> None:
    made = pad(**values)
    body = manifold.load(read_back(made))
    panel = [resting(made, "hook").panel]
    assert proof.in_the_way(body, panel, (1.0, 0.0, 0.0)) == 0.0
    past = (0.0, -1.0, 0.0) if values["hook"] == "end" else (0.0, 0.0, -1.0)
    assert proof.in_the_way(body, panel, past) > 0.0


@pytest.mark.parametrize("values", SPACE, ids=str)
def test_glue_has_room_beside_the_hook(values: dict[str, object]) -> None:
    """4 mm from the hook to the joint line: an 8 mm bead just fits, a fatter one does not."""
    made = pad(**values)
    thick = max(values["thickness"])  # type: ignore[call-overload]
    mesh = read_back(made)
    fits, fat = ([Bead(b.name, b.start, b.end, size) for b in made.beads] for size in (3.0, 8.3))
    assert all(check.holds for check in proof.beads_clear(mesh, fits))
    if thick <= 12.0:  # there the hook ends as near the glue as it may
        assert not all(check.holds for check in proof.beads_clear(mesh, fat))
    assert len(made.beads) == {"end": 1, "front": 2}[str(values["hook"])]


@pytest.mark.parametrize("hook", HOOKS)
def test_a_pad_made_for_other_panels_is_found_out(hook: str) -> None:
    """For thicker ones its land goes on past the joint; for thinner ones it misses half of it."""
    thin, thick = pad(hook=hook, thickness=(12.0,)), pad(hook=hook, thickness=(24.0,))

    def wrong(here: Part, there: Part) -> set[str]:
        mesh = read_back(here)
        checks = proof.rests(mesh, there.rests) + proof.paths(mesh, there.paths)
        return {check.name for check in checks if not check.holds}

    assert wrong(thin, thin) == wrong(thick, thick) == set()
    assert "path: face beside the joint" in wrong(thick, thin)
    assert "running panel on land: bears" in wrong(thin, thick)


@pytest.mark.parametrize("hook", HOOKS)
def test_volume_agrees_with_the_exact_kernel(hook: str) -> None:
    """It has no arcs: both kernels give the same solid to rounding."""
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    solid = unlabelled(pad(hook=hook).solid)
    assert volume(manifold.mesh(solid)) == pytest.approx(brep.volume(solid), rel=1e-5)


def test_it_is_as_thick_as_asked_from_jaw_to_land() -> None:
    for depth in (12.0, 15.0, 30.0):
        made = pad(pad=depth)
        body, y = manifold.load(read_back(made)), 18.1 / 2
        middle = (bounds(read_back(made))[0][2] + bounds(read_back(made))[1][2]) / 2
        hits = body.ray_cast((-100.0, y, middle), (100.0, y, middle))
        there = [-100.0 + 200.0 * hit.distance for hit in hits]
        assert there == pytest.approx([-depth, 0.0], abs=1e-3)


# --- where they stand -------------------------------------------------------------------------


@pytest.mark.parametrize("grip", [0.0, 30.0, 50.0])
@pytest.mark.parametrize(("pad_length", "reach"), [(42.0, 33.1), (60.0, 48.0), (32.0, 19.0)])
def test_pads_stand_at_most_twice_their_reach_apart_or_side_by_side(
    pad_length: float, reach: float, grip: float
) -> None:
    """Pressure spreads 45° to each side (common practice, no source)."""
    for length in range(50, 3000, 7):
        placed = pad_stations(float(length), pad_length, reach, grip)
        if not placed:
            assert length < pad_length + 2 * grip + 10.0
            continue
        assert placed[0] - pad_length / 2 >= grip
        assert [length - place for place in reversed(placed)] == pytest.approx(list(placed))
        gaps = np.diff(placed)
        assert np.all(gaps >= pad_length + 5.0 - 1e-9)
        # one more pad would run into its neighbours, or twice the reach is kept
        room = placed[-1] - placed[0]
        assert np.all(gaps <= 2 * reach + 1e-9) or room / len(placed) < pad_length + 5.0


def test_a_joint_of_300_mm_takes_four_pads() -> None:
    """18.1 mm panels, 15 mm pad: 33.1 mm to the glue, so 66.2 mm apart at most.

    44 mm of pad (30 + 1 for the jaw, 6.5 each side) 5 mm clear of 30 mm sockets: the first stands
    at 57 mm, and 186 mm to the last take three gaps of 62 mm.
    """
    made = pad(length=300.0)
    assert any("57, 119, 181, 243 mm" in note for note in made.notes)
    assert any("at most 66 mm apart" in note for note in made.notes)
    assert any("the last 24 mm at each end" in note for note in made.notes)
    assert made.quantity == 8
    assert made.quantity_reason == (
        "one under each jaw of a clamp across the piece; 4 clamps along each joint"
    )
    assert pad().quantity == 2


def test_without_sockets_the_joint_is_pressed_to_its_ends() -> None:
    assert not any("at each end" in note for note in pad(length=300.0, grip=0.0).notes)


def test_no_room_between_sockets_is_said() -> None:
    notes = pad(length=90.0).notes
    assert any("finds no room on a joint of 90 mm" in note for note in notes)


def test_pads_that_cannot_stand_close_enough_say_so() -> None:
    """Jaw 60 mm, 12 mm panel, 12 mm pad: 74 mm of pad, where clamps should stand 48 mm apart."""
    notes = pad(length=400.0, jaw=60.0, pad=12.0, thickness=(12.0,)).notes
    assert any("find no room closer" in note for note in notes)


# --- what is said -----------------------------------------------------------------------------


def test_pressure_is_told_of_the_users_own_force_only() -> None:
    """1500 N on 18.1 mm × 300 / 4 mm: 1.105 MPa."""
    assert not any("MPa" in note for note in pad(length=300.0).notes)
    assert not any("MPa" in note for note in pad(force=1500.0).notes)
    (told,) = (note for note in pad(length=300.0, force=1500.0).notes if "MPa" in note)
    assert f"{1500.0 / (18.1 * 75.0):.2f} MPa" in told
    assert told.startswith("At your 1500 N a clamp presses 1.10 MPa over the 75 mm of joint")
    assert "no rating of clamp or pad" in told


@pytest.mark.parametrize("hook", HOOKS)
def test_cautions_speak_of_even_force_squareness_and_straps(hook: str) -> None:
    said = " ".join(pad(hook=hook).cautions)
    for words in ("light, even force", "square", "diagonals", "No strap on a butt joint", "Wax"):
        assert words in said


def test_the_label_tells_operation_thickness_and_mark() -> None:
    made = pad(thickness=(18.1, 18.28, 18.2))
    texts = {f.recipe.text for f, _ in features(made.solid) if isinstance(f.recipe, Label)}
    assert texts == {"PRESS", f"18.3 {made.mark}"}


def test_the_mark_follows_what_shapes_it() -> None:
    marks = [
        pad(**values).mark
        for values in ({}, {"hook": "front"}, {"jaw": 31.0}, {"pad": 16.0}, {"thickness": (18.2,)})
    ]
    assert len(set(marks)) == 5
    same = [pad(**values).mark for values in ({"length": 300.0}, {"force": 900.0}, {"grip": 0.0})]
    assert set(same) == {marks[0]}


def test_what_a_pad_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(InputError) as refusal:
        part("clamp-caul", form="pad")
    assert str(refusal.value) == (
        "A pad needs the thickness of the panels, measured. Give it as --thickness 18.1mm."
    )
    with pytest.raises(InputError) as refusal:
        pad(thickness=(6.4,))
    assert str(refusal.value) == (
        "Over the edge of 6.4 mm panels a hook has 2.4 mm before it meets the glue; it needs 3 mm, "
        "so panels of 7 mm or more. Lay a batten over the joint instead, with packing tape under "
        "it."
    )
    for values in ({"jaw": 19.0}, {"pad": 31.0}, {"force": 10.0}):
        with pytest.raises(ValueError, match=next(iter(values))):
            pad(**values)


def test_examples_in_the_docstrings_run() -> None:
    ran = doctest.testmod(clamping)
    assert ran.attempted == 3
    assert ran.failed == 0


def test_a_pad_7_mm_panels_take_stands_on_the_hook_it_promises() -> None:
    """t − 4 mm of hook: 3 mm on 7 mm panels, 8 mm at most."""
    for thick, reach in ((7.0, 3.0), (10.0, 6.0), (12.0, 8.0), (38.0, 8.0)):
        assert bounds(read_back(pad(thickness=(thick,))))[1][0] == pytest.approx(reach, abs=1e-4)
    assert math.isclose(resting(pad(), "hook").contact, 0.9 * 7.0 * 42.0)
