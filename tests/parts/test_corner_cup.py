"""corner-socket's cup and inner block: three panels held, let go, and seen while they are held."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold

from fixtures import proof
from fixtures.errors import PartRefused
from fixtures.export import stl
from fixtures.joints import Bead, Panel, Rest, panel_in, rest_in
from fixtures.kernels import manifold
from fixtures.mesh import Floats, bodies, volume
from fixtures.parts.family import Part
from fixtures.produce import produce, proved
from fixtures.solid import (
    Box,
    Difference,
    Feature,
    Placed,
    Pose,
    Solid,
    Union,
    Vec,
    add,
    dot,
    unit,
)
from tests.parts.made import PRINTER, part, read_back, unlabelled

CUP, BLOCK = "corner-socket: cup", "corner-socket: block"
THICKNESSES = (2.0, 3.0, 6.4, 12.2, 19.0, 25.0, 38.0, 60.0)
FORMS = [("mitre", "right"), ("butt", "right"), ("butt", "left")]
ROOT = math.sqrt(0.5)


def axes(hand: str) -> tuple[Vec, Vec, Vec]:
    """Into panel A, into panel B, up: at a left-hand corner A lies on the other side of X."""
    into = (ROOT, ROOT, 0.0), (ROOT, -ROOT, 0.0)
    a, b = into if hand == "right" else into[::-1]
    return a, b, (0.0, 0.0, 1.0)


def minus(v: Vec) -> Vec:
    return -v[0], -v[1], -v[2]


def wrong(checks: tuple[proof.Check, ...]) -> list[str]:
    return [check.name for check in checks if not check.holds]


@pytest.mark.parametrize(("joint", "hand"), FORMS)
@pytest.mark.parametrize("name", [CUP, BLOCK])
def test_three_panels_sit_bear_and_part_at_every_thickness(
    name: str, joint: str, hand: str
) -> None:
    for thickness in THICKNESSES:
        made = part(name, joint=joint, hand=hand, thickness=(thickness,), thickness_c=(9.0,))
        mesh = read_back(made)
        manifold.probe(made.solid, mesh)
        checks = proved(made, mesh, Pose())
        assert len(checks) >= 10
        assert not wrong(checks), thickness


@pytest.mark.parametrize("name", [CUP, BLOCK])
@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("thickness", [3.0, 19.0, 60.0])
def test_it_prints_without_support_drawn_for_a_printer_or_not(
    thickness: float, joint: str, name: str
) -> None:
    for biased in (False, True):
        made = produce(part(name, joint=joint, thickness=(thickness,)), PRINTER, biased=biased)
        assert made.holds
        assert not made.advice.supports
        assert not [f for f in made.advice.findings if f.severity != "note"]


@pytest.mark.parametrize(("joint", "hand"), FORMS)
def test_the_cup_comes_off_outwards_and_the_block_inwards(joint: str, hand: str) -> None:
    a, b, up = axes(hand)
    diagonal = unit(add(add(a, b), up))
    for name, way in ((CUP, diagonal), (BLOCK, minus(diagonal))):
        made = part(name, joint=joint, hand=hand)
        body, panels = manifold.load(read_back(made)), [rest.panel for rest in made.rests]
        assert {rest.off for rest in made.rests} == {made.rests[0].off}
        assert dot(made.rests[0].off, way) == pytest.approx(1.0)
        assert proof.in_the_way(body, panels, way) == 0.0
        assert proof.in_the_way(body, panels, minus(way)) > 1000.0


@pytest.mark.parametrize(("joint", "hand"), FORMS)
def test_the_block_leaves_a_closed_case_through_whichever_side_is_open(
    joint: str, hand: str
) -> None:
    """Six sides but one round an inside of 150 mm; the block goes out along a joint line."""
    made = part(BLOCK, joint=joint, hand=hand, arm=100.0, grip=50.0)
    body, three = manifold.load(read_back(made)), [rest.panel for rest in made.rests]
    ways = axes(hand)
    for open_side, way in enumerate(ways):
        others = [opposite(ways, i, 150.0) for i in range(3) if i != open_side]
        # panels leave against the way the block goes
        assert proof.in_the_way(body, [*three, *others], minus(way)) == 0.0
        shut = opposite(ways, open_side, 150.0)
        assert proof.in_the_way(body, [shut], minus(way)) > 1000.0


def opposite(ways: tuple[Vec, Vec, Vec], across: int, inside: float) -> Panel:
    """The panel that faces A, B or C at that distance."""
    corners: list[Vec] = [(0.0, 0.0, 0.0)]
    for i, way in enumerate(ways):
        low, high = (inside, inside + 12.0) if i == across else (0.0, inside)
        corners = [add(corner, way, by) for corner in corners for by in (low, high)]
    return Panel("opposite", tuple(corners))


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("thickness", [3.0, 12.2, 25.0])
def test_all_three_joints_are_seen_from_outside(thickness: float, joint: str) -> None:
    """By another library's rays, from outside the cup to a place on each joint line."""
    made = part(CUP, joint=joint, thickness=(thickness,))
    mesh = read_back(made)
    read = trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)
    a, b, up = (np.array(way) for way in axes("right"))
    floor = 5.0
    seams = {
        # along B's length A's end, then along A's length B's, each at the floor
        "ac": (thickness * a + (thickness + 30.0) * b + floor * up, -up),
        "bc": (thickness * b + (thickness + 30.0) * a + floor * up, -up),
        "ab": (
            (thickness * a if joint == "butt" else 0.0 * a) + (floor + 20.0) * up,
            -b if joint == "butt" else -(a + b) * ROOT,
        ),
    }
    for name, (place, out) in seams.items():
        assert not meets(read, place, out), name
        beside = place + 8.0 * (a + b) if name != "ab" else place + (thickness + 7.0) * up
        assert meets(read, beside, out), f"{name}: nothing beside the window"


def meets(read: trimesh.Trimesh, place: Floats, way: Floats) -> bool:
    """Whether a ray meets the mesh."""
    found = read.ray.intersects_any([place], [way])  # type: ignore[no-untyped-call]
    return bool(found[0])


@pytest.mark.parametrize("name", [CUP, BLOCK])
def test_a_thick_bead_of_glue_would_touch(name: str) -> None:
    """The glue check can fail: a 16 mm bead has no room where a 3 mm one has."""
    made = part(name)
    for bead in made.beads:
        fat = Bead(bead.name, bead.start, bead.end, 16.0)
        assert wrong(proof.beads_clear(read_back(made), [fat]))


def shortened(panel: Panel, way: Vec, most: float) -> Panel:
    """The panel cut off square at that distance along a way."""
    corners = tuple(add(p, way, min(0.0, most - dot(p, way))) for p in panel.corners)
    return Panel(panel.name, corners)


def trapping(joined: bool) -> tuple[Part, Union, list[Rest]]:
    """Cup and block in place; joined by a bow round the end of A, or the cup alone."""
    cup, block = part(CUP), part(BLOCK)
    a, b, up = axes("right")
    inner = Pose(at=add(add((0.0, 0.0, 5.0 + 12.2), a, 12.2), b, 12.2))
    end = 12.2 + 60.0
    off = cup.rests[0].off
    rests = [replace(rest, panel=shortened(rest.panel, b, end + 2.0)) for rest in cup.rests]
    if not joined:
        return cup, Union((cup.solid,)), rests

    def box(low: Vec, high: Vec) -> Placed:
        """Between two places along B's normal (A's length), A's normal and up."""
        at = add(add(add((0.0, 0.0, 0.0), b, low[0]), a, low[1]), up, low[2])
        size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
        return Placed(Box(size), Pose(minus(minus(b)), a, up, at))

    low, high = 25.0, 35.0
    bow = [
        box((end - 5.0, -5.0, low), (end + 16.0, -0.5, high)),
        box((end + 6.0, -5.0, low), (end + 16.0, 17.0, high)),
        box((end - 5.0, 12.7, low), (end + 16.0, 17.0, high)),
    ]
    moved = [rest_in(rest, inner) for rest in block.rests]
    rests += [replace(r, panel=shortened(r.panel, b, end + 2.0), off=off) for r in moved]
    renamed = Placed(plain(block.solid), inner)
    return cup, Union((cup.solid, renamed, *bow)), rests


def plain(solid: Solid) -> Solid:
    """The solid without its named features, so that it can stand in a tree with another."""
    match solid:
        case Feature(_, recipe):
            return recipe.solid()
        case Union(parts):
            return Union(tuple(plain(one) for one in parts))
        case Difference(body, cuts):
            return Difference(plain(body), tuple(plain(cut) for cut in cuts))
        case _:
            return solid


def test_inner_and_outer_walls_in_one_part_are_trapped_and_only_that() -> None:
    """One body of the family's own cup and block: all seated, all bearing, and it cannot leave."""
    _, solid, rests = trapping(joined=True)
    mesh = manifold.mesh(solid)
    assert bodies(mesh) == 1
    assert len(rests) == 6
    checks = proof.rests(mesh, rests)
    assert wrong(checks) == ["comes off"]
    assert checks[-1].message.startswith("the fixture is trapped: material is in its way off")
    inwards = [replace(rest, off=minus(rest.off)) for rest in rests]
    assert wrong(proof.rests(mesh, inwards)) == ["comes off"]


def test_its_clean_twin_without_inner_walls_comes_off() -> None:
    _, solid, rests = trapping(joined=False)
    assert not wrong(proof.rests(manifold.mesh(solid), rests))


def test_inner_and_outer_walls_on_three_panels_are_refused_in_those_words() -> None:
    with pytest.raises(PartRefused) as refusal:
        part("corner-socket", panels=3, piece="both")
    assert str(refusal.value) == (
        "Inner and outer walls on three panels would be trapped: once the corner is closed, "
        "nothing could take such a part off. Make two parts: --piece cup goes outside and "
        "--piece block inside."
    )


@pytest.mark.parametrize("stays", [False, True])
def test_three_panels_at_another_angle_are_refused_in_words(stays: bool) -> None:
    with pytest.raises(PartRefused) as refusal:
        part("corner-socket", panels=3, angle=75.0, stays=stays)
    assert str(refusal.value) == (
        "Three panels meet at right angles here, and --angle is 75°. Leave out --angle, or hold "
        "two panels with --panels 2."
    )


def test_one_block_serves_every_thickness_and_joint() -> None:
    made = [
        part(BLOCK, thickness=(t,), joint=joint, hand=hand)
        for t, joint, hand in ((3.0, "mitre", "right"), (25.0, "butt", "left"))
    ]
    files = [stl.encode(manifold.mesh(one.solid), "block") for one in made]
    assert files[0] == files[1]
    assert made[0].mark == made[1].mark


def test_a_mitres_cup_serves_all_corners_and_a_butts_comes_in_two_hands() -> None:
    assert part(CUP).quantity == 4
    butt = part(CUP, joint="butt")
    assert butt.quantity == 2
    assert "as many with --hand left" in butt.quantity_reason
    assert part(BLOCK, joint="butt").quantity == 4


def test_notes_say_where_panel_c_lies() -> None:
    for name in (CUP, BLOCK):
        assert (
            "Panel C lies between A and B, its outside flush with the ends of both."
            in part(name).notes
        )


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("name", [CUP, BLOCK])
def test_volume_agrees_with_the_exact_kernel_within_the_chord(name: str, joint: str) -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    solid = unlabelled(part(name, joint=joint).solid)
    exact = brep.volume(solid)
    # arcs of the cup: tip and arris reliefs, sight hole, ends of the two windows in the floor
    tall = 47.0
    walls = tall * 2 * math.pi * (3.0 + 1.5) + 2.0 * 2 * math.pi * (3.0 + 2.0 + 2.0)
    for deflection in (0.04, 0.01):
        error = abs(volume(manifold.mesh(solid, deflection)) - exact)
        assert error <= (deflection * walls if name == CUP else 0.05)  # rounding of the file


def test_panels_of_the_proof_leave_no_gap_and_do_not_overlap() -> None:
    """A check on the check: the three panels touch along their joints and share nothing."""
    for joint in ("mitre", "butt"):
        panels = [rest.panel for rest in part(CUP, joint=joint, thickness=(19.0,)).rests]
        hulls = [Manifold.hull_points(np.array(p.corners)) for p in panels]
        for i, j in ((0, 1), (0, 2), (1, 2)):
            assert (hulls[i] ^ hulls[j]).volume() < 1e-3
            pushed = hulls[i].translate((0.05, 0.0, 0.0)) + hulls[i].translate((0.0, 0.0, 0.05))
            near = (
                pushed
                + hulls[i].translate((0.03, 0.05, 0.0))
                + hulls[i].translate((0.03, -0.05, 0.0))
            )
            assert (near ^ hulls[j]).volume() > 1.0


def test_the_block_in_place_and_the_cup_about_it_leave_room_for_the_panels_alone() -> None:
    """Cup, panels and block together: no two of them overlap."""
    cup, block = part(CUP), part(BLOCK)
    a, b, _ = axes("right")
    inner = Pose(at=add(add((0.0, 0.0, 5.0 + 12.2), a, 12.2), b, 12.2))
    inside = manifold.load(manifold.mesh(Placed(block.solid, inner)))
    assert proof.overlap(inside, manifold.load(read_back(cup))) == 0.0
    for one, other in zip(cup.rests, block.rests, strict=True):
        moved = panel_in(other.panel, inner)
        assert np.allclose(one.panel.corners, moved.corners, atol=1e-9)
