"""corner-socket's connector that stays: it goes on, it holds, and its screws stay inside."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold

from fixtures import proof
from fixtures.errors import InputError, PartRefused
from fixtures.features import features
from fixtures.joints import Bit, Panel, Seat
from fixtures.kernels import manifold
from fixtures.mesh import volume
from fixtures.parts.corner_post import CUT
from fixtures.parts.family import Part
from fixtures.produce import produce, proved
from fixtures.solid import Box, Placed, Pose, Recipe, Union, add, dot
from tests.parts.made import PRINTER, part, read_back, unlabelled

TWO, THREE = "corner-socket: connector", "corner-socket: connector of three"
THICKNESSES = (3.0, 6.4, 12.2, 19.0, 25.0, 38.0)
INCH = 25.4
# ASME B18.6.1 (Machinery's Handbook, 31st ed.): basic diameter of a wood screw 0.060 + 0.013 n in
SHANK_8 = (0.060 + 0.013 * 8) * INCH
# a table of tapping screws: flat head of #8, sharp edged, at most 0.332 in
HEAD_8 = 0.332 * INCH


def wrong(checks: tuple[proof.Check, ...]) -> list[str]:
    return [check.name for check in checks if not check.holds]


def recipe(made: Part, name: str) -> Recipe:
    return next(f.recipe for f, _ in features(made.solid) if f.name == name)


def fastening(thickness: float) -> str:
    """#8 wants 2 diameters of bite and 2 mm beyond: 10.3 mm of panel."""
    return "screw" if thickness > 10.4 else "glue"


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("name", [TWO, THREE])
def test_hold_test_passes_at_every_thickness_and_fit(name: str, joint: str) -> None:
    for thickness, clearance in itertools.product(THICKNESSES, (0.05, 0.20, 0.50)):
        made = part(
            name,
            joint=joint,
            thickness=(thickness,),
            thickness_c=(9.0,),
            clearance=clearance,
            fastening="glue",
        )
        mesh = read_back(made)
        manifold.probe(made.solid, mesh)
        assert len(made.seats) == (2 if name == TWO else 3)
        assert not wrong(proved(made, mesh, Pose())), (thickness, clearance)


@pytest.mark.parametrize("kind", ["screw", "dowel"])
@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("name", [TWO, THREE])
def test_holes_leave_walls_enough_to_hold(name: str, hand: str, kind: str) -> None:
    for thickness in (14.0, 18.0, 23.0):
        made = part(name, joint="butt", hand=hand, thickness=(thickness,), fastening=kind)
        mesh = read_back(made)
        manifold.probe(made.solid, mesh)
        assert not wrong(proved(made, mesh, Pose())), thickness


@pytest.mark.parametrize("angle", [30.0, 60.0, 120.0, 150.0])
@pytest.mark.parametrize("joint", ["mitre", "butt"])
def test_two_panels_are_joined_at_any_angle_of_the_end_socket(joint: str, angle: float) -> None:
    made = part(TWO, joint=joint, angle=angle, thickness=(19.0,))
    mesh = read_back(made)
    manifold.probe(made.solid, mesh)
    assert not wrong(proved(made, mesh, Pose()))


@pytest.mark.parametrize("name", [TWO, THREE])
def test_the_clearance_is_that_of_a_part_that_stays(name: str) -> None:
    """0.20 mm, and a press fit is allowed where nothing must come off."""
    assert [seat.clearance for seat in part(name).seats] == [0.20] * len(part(name).seats)
    pressed = part(name, fit="press", fastening="glue")
    assert [seat.clearance for seat in pressed.seats] == [0.0] * len(pressed.seats)
    assert not wrong(proof.hold(read_back(pressed), pressed.seats))


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("thickness", [3.0, 19.0, 38.0])
def test_slots_are_as_wide_as_said_by_another_librarys_rays(thickness: float, joint: str) -> None:
    made = part(THREE, joint=joint, thickness=(thickness,), thickness_c=(12.0,), fastening="glue")
    mesh = read_back(made)
    read = trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)
    for seat, thick in zip(made.seats, (thickness, thickness, 12.0), strict=True):
        centre, normal = np.array(seat.centre), np.array(seat.normal)
        spots = [
            centre + s * seat.length * np.array(seat.along) + d * seat.depth * np.array(seat.off)
            for s in (-0.4, 0.0, 0.4)
            for d in (-0.4, 0.0, 0.3)
        ]
        widths = []
        for spot in spots:
            hits = [
                np.linalg.norm(
                    read.ray.intersects_location([spot], [side * normal], multiple_hits=True)[0]
                    - spot,
                    axis=1,
                ).min()
                for side in (1.0, -1.0)
            ]
            widths.append(sum(hits))
        assert widths == pytest.approx([thick + 0.20] * 9, abs=0.005)


def hull(panel: Panel) -> Manifold:
    return Manifold.hull_points(np.array(panel.corners))


def travelled(seat: Seat, distance: float = 150.0) -> Manifold:
    """All that a panel passes through on its way in."""
    return proof.swept(np.array(seat.panel.corners), seat.off, distance)


@pytest.mark.parametrize(
    ("joint", "hand"), [("mitre", "right"), ("butt", "right"), ("butt", "left")]
)
def test_three_panels_go_together_in_the_order_told_and_in_the_other(joint: str, hand: str) -> None:
    """C first along its diagonal, then A and B along their joint; or A and B first, then C."""
    made = part(THREE, joint=joint, hand=hand, thickness=(19.0,), thickness_c=(12.0,))
    body = manifold.load(read_back(made))
    a, b, c = made.seats
    assert a.off == b.off == (0.0, 0.0, 1.0)
    assert c.off == (1.0, 0.0, 0.0)
    for seat in made.seats:
        assert proof.in_the_way(body, [seat.panel], seat.off) == 0.0
    for wall in (a, b):
        assert proof.overlap(travelled(wall), hull(c.panel)) == 0.0
        assert proof.overlap(travelled(c), hull(wall.panel)) == 0.0
    assert proof.overlap(travelled(a), hull(b.panel)) == 0.0
    assert proof.overlap(travelled(b), hull(a.panel)) == 0.0
    assert any(note.startswith("Order: push the connectors onto") for note in made.notes)
    # the check can fail: C does not go in along the joint, nor A along the diagonal
    assert proof.in_the_way(body, [c.panel], (0.0, 0.0, 1.0)) > 100.0
    assert proof.in_the_way(body, [a.panel], (1.0, 0.0, 0.0)) > 100.0


def test_a_shut_slot_of_c_is_trapped_and_only_that() -> None:
    """A bar across the mouth of C's slot, clear of the panel in place: it could never go in."""
    made = part(THREE)
    c = made.seats[2]
    # C cut off square to the diagonal at x = 60; its edges run at 45°
    near, side = sorted({(x, abs(y)) for x, y, _ in c.panel.corners})[0]
    plan = [(x, s * (side + x - near)) for x in (near, 60.0) for s in (1.0, -1.0)]
    heights = {z for _, _, z in c.panel.corners}
    short = Panel("panel C", tuple((x, y, z) for x, y in plan for z in heights))
    held = [*made.seats[:2], replace(c, panel=short)]
    assert not wrong(proof.hold(read_back(made), held))
    bar = Placed(Box((4.0, 6.0, 20.0)), Pose(at=(63.0, -3.0, 1.0)))
    checks = proof.hold(manifold.mesh(Union((made.solid, bar))), held)
    assert wrong(checks) == ["comes off"]


@pytest.mark.parametrize("thickness", [6.0, 19.0])
def test_panel_c_must_have_its_corner_cut_off_for_the_post(thickness: float) -> None:
    """20 mm along each edge are told; whole, or cut by 15 mm, the panel runs into the post."""
    made = part(THREE, thickness=(thickness,), fastening="glue")
    assert any(f"{CUT:g} mm along each edge" in note for note in made.notes)
    body, c = manifold.load(read_back(made)), made.seats[2]
    assert proof.overlap(body, hull(c.panel)) == 0.0
    # its two corners at the cut lie CUT apart from where its edges would meet
    near = sorted({(x, y) for x, y, _ in c.panel.corners}, key=lambda p: p[0])[:2]
    assert math.dist(*near) == pytest.approx(CUT * math.sqrt(2.0))
    tip = min(x for x, _ in near) - CUT / math.sqrt(2.0)
    for cut in (0.0, 15.0):
        least = tip + cut / math.sqrt(2.0)
        wedge = [(least, y, z) for y in (-0.1, 0.1) for z in (5.0, 5.0 + thickness)]
        more = Panel("panel C", (*c.panel.corners, *wedge))
        assert proof.overlap(body, hull(more)) > 1.0


@pytest.mark.parametrize("name", [TWO, THREE])
def test_a_number_8_screw_passes_and_its_head_goes_under(name: str) -> None:
    made = part(name, thickness=(19.0,))
    mesh = read_back(made)
    body = manifold.load(mesh)
    holes = [f.name for f, _ in features(made.solid) if f.recipe.kind == "countersink"]
    assert {hole[:6] for hole in holes} == {
        "hole a",
        "hole b",
        *(["hole c"] if name == THREE else []),
    }
    for sunk in holes:
        cone, bore = recipe(made, sunk), recipe(made, sunk.removesuffix(" countersink"))
        mouth, axis = cone.fact("").at, cone.fact("").axis
        depth = dot(add(bore.fact("").at, mouth, -1.0), axis) + (bore.fact("").depth or 0.0)
        # ASME B18.6.1 has the head's cone at 82°
        high = (HEAD_8 - SHANK_8) / 2 / math.tan(math.radians(41.0))
        bit = Bit(sunk, mouth, axis, depth + 1.0, (high + 0.5, depth - 0.3), SHANK_8, 0.7)
        assert not wrong(proof.bits(mesh, [bit]))
        head = Manifold.cylinder(high, HEAD_8 / 2 - 0.02, SHANK_8 / 2, 64)
        across = cone.pose
        turned = head.transform(np.array([across.x, across.y, across.z, mouth]).T)
        assert proof.overlap(body, turned) == 0.0
        wider = Manifold.cylinder(high, HEAD_8 / 2 + 0.3, SHANK_8 / 2, 64)
        wider = wider.transform(np.array([across.x, across.y, across.z, mouth]).T)
        assert proof.overlap(body, wider) > 0.1


@pytest.mark.parametrize(("name", "wall"), [(TWO, 6.0), (THREE, 6.0)])
@pytest.mark.parametrize("thickness", [12.2, 15.9, 19.0, 25.4])
def test_no_screw_of_the_length_told_comes_nearer_than_2_mm_to_the_other_face(
    thickness: float, name: str, wall: float
) -> None:
    made = part(name, thickness=(thickness + 0.3, thickness))
    told = [note for note in made.notes if "flat-head screws" in note]
    assert told[0].startswith("Panel A and B: #8 flat-head screws")
    for note, plate in zip(told, (wall, 5.0), strict=False):
        found = re.search(r"screws from (?:outside|inside the corner), ([0-9.]+) mm long at", note)
        assert found
        most = float(found[1])
        # of the thinnest reading, and to the whole mm
        assert plate + thickness - 2.0 - 1.0 < most <= plate + thickness - 2.0


@pytest.mark.parametrize("name", [TWO, THREE])
@pytest.mark.parametrize("screw", ["#4", "#8", "#12", "5 mm"])
def test_holes_keep_two_diameters_from_the_panels_ends(screw: str, name: str) -> None:
    """Common practice, no source."""
    shank = float(screw[:-3]) if screw.endswith("mm") else (0.060 + 0.013 * int(screw[1:])) * INCH
    made = part(name, screw=screw, thickness=(19.0,), floor=6.0)
    for feature, _ in features(made.solid):
        if feature.recipe.kind != "through hole":
            continue
        seat = made.seats["abc".index(feature.name[5])]
        at = np.array(feature.recipe.fact("").at)
        if feature.name[5] in "ab":
            end = min(z for _, _, z in seat.panel.corners)
            assert at[2] - end >= 2 * shank - 1e-9
            along = np.array(seat.panel.corners) @ np.array(seat.along)
            assert at @ np.array(seat.along) - along.min() >= 2 * shank
        else:
            rays = [(math.sqrt(0.5), s * math.sqrt(0.5), 0.0) for s in (1.0, -1.0)]
            for way in rays:
                edge = min(dot(corner, way) for corner in seat.panel.corners)
                assert dot(tuple(at), way) - edge >= 2 * shank
            assert at[0] - min(x for x, _, _ in seat.panel.corners) >= 2 * shank - 1e-6


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("thickness", [3.0, 12.2, 15.9, 19.0, 25.0, 38.0])
def test_it_prints_without_support(thickness: float, joint: str) -> None:
    for name in (TWO, THREE):
        values = {"joint": joint, "thickness": (thickness,), "fastening": fastening(thickness)}
        made = produce(part(name, **values), PRINTER, biased=False)
        assert made.holds
        assert not made.advice.supports
        assert not [f for f in made.advice.findings if f.severity != "note"], (name, thickness)


def test_with_three_panels_it_stands_on_a_foot_square_to_its_diagonal() -> None:
    made = produce(part(THREE), PRINTER, biased=False)
    corners = made.mesh.triangles
    on_bed = np.abs(corners[:, :, 2]).max(axis=1) < 1e-4
    areas = np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    # an equilateral triangle of 14 mm has 85 mm²
    assert areas[on_bed].sum() / 2 > 85.0


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (
            {"thickness": (9.0,)},
            "A #8 screw should go 8.3 mm into panel A, and may go 7.0 mm: 2 mm short of its other "
            "face. Use a smaller --screw, or --fastening glue.",
        ),
        (
            {"panels": 3, "thickness": (19.0,), "grip": 15.0},
            "A grip of 15 mm is 2.4 mm short of what a #8 screw wants from the panel's end to the "
            "wall's edge. Set --grip to 18 mm or more, or choose a slimmer one.",
        ),
        (
            {"panels": 3, "thickness": (19.0,), "floor": 4.0, "screw": "#12"},
            "Under the head of a #12 screw a floor of 4 mm keeps 0.9 mm, and 1.5 mm is wanted. "
            "Set --floor to 4.7 mm or more, or choose a smaller screw.",
        ),
        (
            {"thickness": (9.0,), "fastening": "dowel"},
            "For panel A no pin is found: A piece 9 mm thick takes a pin of 3 mm to 4.5 mm (1/3 "
            "to 1/2 of its thickness), and the slimmest metric pin here is 6 mm. Use --fastening "
            "screw or --fastening glue.",
        ),
    ],
    ids=["thin panel", "short grip", "thin floor", "no pin"],
)
def test_what_finds_no_room_is_refused_in_words(values: dict[str, object], said: str) -> None:
    with pytest.raises(PartRefused) as refusal:
        part(TWO, **values)
    assert str(refusal.value).splitlines()[0] == said


def test_pins_are_drilled_short_of_the_other_face() -> None:
    """18 mm: skin 2 and the point of a 6 mm bit, 0.3 d = 1.8, leave 14.2; whole mm are told."""
    made = part(TWO, thickness=(18.0,), fastening="dowel")
    told = next(note for note in made.notes if "pins" in note)
    assert told == (
        "Panel A and B: 6 mm pins, glued in from outside; drill 14 mm into the panel at most, and "
        "cut the pins to 19 mm."
    )


@pytest.mark.parametrize("name", [TWO, THREE])
@pytest.mark.parametrize(
    ("thickness", "pin", "kind"),  # the slimmest pin is a third of the panel or more
    [(18.0, 6.0, "through teardrop"), (24.0, 8.0, "through teardrop")],
)
def test_pins_holes_that_lie_are_teardrops(
    name: str, thickness: float, pin: float, kind: str
) -> None:
    """A hole 0.2 mm wider than the pin; over 6 mm a lying one is roofed, and then nothing is said
    of it."""
    holes = {"thickness": (thickness,), "fastening": "dowel"}
    roofed = produce(part(name, **holes), PRINTER, biased=False)
    facts = [fact for fact in roofed.facts if fact.name.startswith("hole")]
    assert len(facts) == (4 if name == TWO else 5)
    assert {(fact.kind, fact.diameter) for fact in facts} == {(kind, pin + 0.2)}
    assert "lying-bore" not in [finding.check for finding in roofed.advice.findings]


def test_round_pins_holes_can_be_asked_for_and_are_marked_apart() -> None:
    values = {"thickness": (24.0,), "fastening": "dowel"}
    roofed, left = (
        part(TWO, **values),
        produce(part(TWO, **values, holes="round"), PRINTER, biased=False),
    )
    assert {f.recipe.kind for f, _ in features(left.part.solid) if f.name.startswith("hole")} == {
        "through hole"
    }
    assert "lying-bore" in [finding.check for finding in left.advice.findings]
    assert roofed.mark != left.part.mark


def test_a_screws_hole_stays_round() -> None:
    made = part(TWO, thickness=(24.0,), screw="#12")
    assert {f.recipe.kind for f, _ in features(made.solid) if f.name.startswith("hole")} == {
        "through hole",
        "countersink",
    }


@pytest.mark.parametrize("kind", ["screw", "dowel", "glue"])
def test_it_says_that_no_load_is_stated(kind: str) -> None:
    made = part(TWO, fastening=kind, thickness=(18.0,))
    words = " ".join((*made.cautions, *made.notes))
    assert "no load is stated" in words
    assert "creeps" in words
    assert "layers" in words
    assert "sun" in words
    # nothing is promised that reads like a rating
    assert not re.search(r"\b(kg|lb|N|kN|rated|carries)\b", words)


@pytest.mark.parametrize(("name", "joint"), [(TWO, "butt"), (THREE, "mitre"), (THREE, "butt")])
def test_volume_agrees_with_the_exact_kernel_within_the_chord(name: str, joint: str) -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    made = part(name, joint=joint, thickness=(19.0,))
    solid = unlabelled(made.solid)
    exact = brep.volume(solid)
    # arcs: the tip's relief, and holes 4.4 mm across that open into cones of 8.5 mm
    holes = sum(f.recipe.kind == "countersink" for f, _ in features(made.solid))
    walls = 30.0 * 2 * math.pi * 1.0 + holes * (4.0 * 2 * math.pi * 2.2 + 4.0 * 2 * math.pi * 3.3)
    for deflection in (0.04, 0.01):
        error = abs(volume(manifold.mesh(solid, deflection)) - exact)
        assert error <= deflection * walls + 0.05  # and the rounding of the file


def test_fastening_and_screw_change_the_mark_and_glue_forgets_the_screw() -> None:
    marks = [
        part(TWO, thickness=(19.0,), **values).mark
        for values in ({}, {"screw": "#6"}, {"fastening": "glue"})
    ]
    assert len(set(marks)) == 3
    glued = [part(TWO, fastening="glue", screw=screw).mark for screw in ("#6", "#8")]
    assert glued[0] == glued[1]


def test_all_that_is_wrong_with_three_sheets_is_told_at_once() -> None:
    with pytest.raises(InputError) as refusal:
        part(THREE, joint="butt", thickness=(122.0,), thickness_b=(1.0,), thickness_c=(99.0,))
    assert [fault.where for fault in refusal.value.faults] == [
        "thickness",
        "thickness_b",
        "thickness_c",
    ]
