"""Loaded places: comparisons by closed forms, measured on parts that trip them or just do not."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from fixtures.advisor import loads
from fixtures.advisor.advise import advise
from fixtures.advisor.loads import Pressed
from fixtures.features import Block, Hole, Pocket, Slot, features
from fixtures.finding import Finding
from fixtures.kernels.manifold import mesh
from fixtures.outline import Line, Outline, circle, rectangle
from fixtures.printer import Printer
from fixtures.produce import pressed
from fixtures.solid import (
    Box,
    Break,
    Cylinder,
    Difference,
    Feature,
    Placed,
    Pose,
    Solid,
    Union,
    Vec,
)
from tests.parts.made import part

PRINTER = Printer(width=0.45, layer=0.2)
DOWN, RIGHT, AWAY = (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
CHECKS = ("socket-wall", "screw-boss", "pressed-face")


def found(solid: Solid, printer: Printer = PRINTER, *faces: Pressed) -> list[Finding]:
    facts = tuple(feature.recipe.fact(feature.name) for feature, _ in features(solid))
    told = advise(mesh(solid), printer, facts, faces).findings
    return [finding for finding in told if finding.check in CHECKS]


# --- closed forms ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rings", "density", "newtons"),
    [(2, 0.15, 57.2), (2, 0.30, 58.9), (3, 0.15, 64.7), (4, 0.15, 66.6)],
)
def test_rings_beat_infill_in_a_wall_that_bends(rings: int, density: float, newtons: float) -> None:
    """A wall 30 wide and 4 thick held at its root, pushed 10 mm up: 8.333 MPa at the root are
    66.67 N of a solid one, F = sigma b t² / (6 e); with skins I = b (t³ - c³)/12 + density b c³/12.
    """
    solid = 8.3333 * 30 * 4**2 / (6 * 10)
    share = loads.bending_share(4.0, rings * 0.45, density)
    assert solid * share == pytest.approx(newtons, abs=0.05)


def test_a_wall_of_rings_alone_is_solid() -> None:
    assert loads.bending_share(4.0, 2.0, 0.15) == loads.bending_share(4.0, 3.0, 0.15) == 1.0


def test_a_slim_boss_by_the_area_that_tears() -> None:
    """25 MPa × pi/4 (D² - d²), d = 4: 942 N at 8 mm, 1649 N at 10 mm."""
    assert loads.boss_share(8.0, 4.0) == pytest.approx(942 / 1649, abs=1e-3)
    assert loads.boss_share(10.0, 4.0) == 1.0


def test_a_solid_ring_takes_six_lines() -> None:
    assert (loads.rings_for(2.4, 0.45), loads.rings_for(2.4, 0.40)) == (6, 6)


@pytest.mark.parametrize(("span", "times"), [(5.55, 9.5), (2.55, 2.0)])
def test_a_roof_cell_is_bent(span: float, times: float) -> None:
    """Clamped square plate, 0.31 q (S/T)², T = 1."""
    assert loads.skin_bending(span, 1.0) == pytest.approx(times, abs=0.05)
    assert loads.skin_bending(span, 1.0, strip=True) == pytest.approx(0.5 * span**2)


@pytest.mark.parametrize(
    ("density", "better"),  # clear spans 5.55, 4.05, 3.15, 2.55, 1.80: half is 3.92, 2.86, 2.23
    [(0.15, 0.25), (0.20, 0.30), (0.25, 0.35), (0.95, 1.0)],
)
def test_the_next_better_infill_halves_the_bending(density: float, better: float) -> None:
    assert loads.better_density("two-way", density, 0.45) == pytest.approx(better)


# --- walls beside slots ---------------------------------------------------------------------


def socket(wall: float, *more: Solid, flange: float = 0.0, through: bool = False) -> Solid:
    """A slot 12 wide and 30 deep between two walls, on a foot that stands out by `flange`."""
    half = 6.0 + wall
    outline = Outline(
        (-6.0, -50.0),
        (
            Line((6.0, -50.0)),
            Line((6.0, 50.0), "slot wall"),
            Line((-6.0, 50.0)),
            Line((-6.0, -50.0), "slot wall"),
        ),
    )
    slot = Slot((30.0, 0.0, 38.0), DOWN, AWAY, outline, 12.0, 30.0, (-25.0, 25.0), through=through)
    body = Feature("body", Block(Pose(), rectangle(0.0, -half, 60.0, half), 38.0))
    foot = Feature("foot", Block(Pose(), rectangle(0.0, -half - flange, 60.0, half + flange), 8.0))
    return Difference(Union((body, foot, *more)), (Feature("slot_a", slot),))


def test_a_wall_is_measured_and_rings_are_told_before_infill() -> None:
    """4 mm, 2 rings of 0.45 mm: one ring more gains 13 %, infill doubled 3 % (64.7, 58.9 over
    57.2 N)."""
    (told,) = found(socket(4.0), replace(PRINTER, rings=2))
    assert (told.check, told.severity, told.feature) == ("socket-wall", "note", "slot_a")
    assert told.measured == pytest.approx(4.0, abs=1e-3)
    assert "one more ring makes it 13 % stronger, 32 % infill 3 %" in told.message
    assert "across its layers" in told.message
    assert told.z == (8.0, 38.0)
    assert {(low[2], high[2]) for low, high in told.places} == {(8.0, 38.0)}
    assert [high[1] - low[1] for low, high in told.places] == pytest.approx([4.2] * 8, abs=2e-3)


def test_a_wall_of_rings_all_but_through_is_not_told() -> None:
    """3 rings of 0.45 mm each side leave 1.3 of 4 mm: the fourth would gain 3 %."""
    assert found(socket(4.0)) == []


@pytest.mark.parametrize(("wall", "severity"), [(2.42, None), (2.36, "mend")])
def test_a_wall_under_six_lines_is_too_thin(wall: float, severity: str | None) -> None:
    told = found(socket(wall))
    assert [one.severity for one in told] == ([severity] if severity else [])


def test_a_wall_that_lies_bends_along_its_layers() -> None:
    laid = Placed(socket(6.0), Pose((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (0, 0, 12)))
    facts = tuple(
        replace(
            fact, at=pose.apply(fact.at), axis=pose.turn(fact.axis), across=pose.turn(fact.across)
        )
        for fact, pose in (
            (feature.recipe.fact(feature.name), pose) for feature, pose in features(laid)
        )
    )
    told = [f for f in advise(mesh(laid), PRINTER, facts).findings if f.check == "socket-wall"]
    assert len(told) == 1
    assert told[0].measured == pytest.approx(6.0, abs=1e-3)
    assert "across" not in told[0].message


def test_letters_and_holes_are_no_thinner_wall() -> None:
    solid = socket(6.0)
    assert isinstance(solid, Difference)
    nick = Pocket((30.0, 12.0, 20.0), (0.0, -1.0, 0.0), RIGHT, rectangle(-4.0, -4.0, 4.0, 4.0), 2.0)
    (told,) = found(Difference(solid.body, (*solid.cuts, Feature("nick", nick))))
    assert told.measured == pytest.approx(6.0, abs=1e-3)


def gusset(size: float) -> Solid:
    """Four triangles of 45° between foot and walls, outside, 12 mm wide about where rays go."""
    made: list[Solid] = []
    for n, (side, x) in enumerate((s, x) for s in (1.0, -1.0) for x in (25.0, 5.0)):
        pose = Pose(
            (0.0, side, 0.0), (0.0, 0.0, 1.0), (side, 0.0, 0.0), (x if side > 0 else x + 12, 0, 0)
        )
        points = [
            (11.0, 7.0),
            (12.0 + size, 7.0),
            (12.0 + size, 8.0),
            (12.0, 8.0 + size),
            (11.0, 9.0),
        ]
        outline = Outline(points[0], tuple(Line(to) for to in (*points[1:], points[0])))
        made.append(Feature(f"gusset {n}", Block(pose, outline, 12.0, kind="gusset")))
    return Union(tuple(made))


@pytest.mark.parametrize(
    ("flange", "with_gusset", "told"),
    [(0.0, False, False), (2.0, False, False), (8.0, False, True), (8.0, True, False)],
    ids=["flush", "hardly out", "sharp corner", "gusset there"],
)
def test_a_fillet_is_asked_for_where_the_root_has_a_corner(
    flange: float, with_gusset: bool, told: bool
) -> None:
    more = (gusset(5.0),) if with_gusset else ()
    (wall,) = found(socket(6.0, *more, flange=flange))
    assert ("gusset" in wall.remedy) == told


def test_a_through_slot_has_no_root() -> None:
    """Blind spot: its walls are held at their ends, and nothing is said of them."""
    assert found(socket(6.0, through=True)) == []


# --- screw holes ----------------------------------------------------------------------------


def boss(outside: float, *, seat: bool = True, name: str = "hole 1", count: int = 1) -> Solid:
    """Bosses 12 mm high on a plate, each with a hole of 4 mm, countersunk below."""
    bodies: list[Solid] = [Box((30.0 * count, 30.0, 3.0))]
    cuts: list[Solid] = []
    for n in range(count):
        x = 15.0 + 30.0 * n
        turned = Placed(Cylinder(outside / 2, 15.0), Pose(at=(x, 15.0, 0.0)))
        bodies.append(turned)
        called = name if count == 1 else f"{name}{n}"
        hole = Hole((x, 15.0, 15.0), DOWN, RIGHT, 4.0, 15.0, through=True)
        cone = Pocket(
            (x, 15.0, 15.0), DOWN, RIGHT, circle(1.9), 1.0, "countersink", mouth=Break(-0.6, 0.6)
        )
        cuts.append(Feature(called, hole))
        cuts += [Feature(f"{called} countersink", cone)] if seat else []
    return Difference(Union(tuple(bodies)), tuple(cuts))


SOLID_ROUND = replace(PRINTER, rings=6)


@pytest.mark.parametrize(
    ("outside", "severity"), [(10.02, None), (9.9, "note"), (8.05, "note"), (7.9, "mend")]
)
def test_a_boss_on_both_sides_of_its_limits(outside: float, severity: str | None) -> None:
    """2.5 and 2 diameters of 4 mm (common practice)."""
    told = found(boss(outside), SOLID_ROUND)
    assert [(f.check, f.severity) for f in told] == ([("screw-boss", severity)] if severity else [])


def test_a_slim_boss_is_told_by_its_share() -> None:
    """942 of 1649 N: 57 %."""
    (told,) = found(boss(8.02), SOLID_ROUND)
    assert told.measured == pytest.approx(8.02, abs=0.02)
    assert told.limit == 10.0
    assert "57 % of the plastic" in told.message
    assert "across its layers" in told.message


@pytest.mark.parametrize(("rings", "told"), [(3, True), (6, False)])
def test_a_screw_hole_wants_a_solid_ring(rings: int, told: bool) -> None:
    """2.4 mm: six lines of 0.45 mm; three are 1.35 mm."""
    said = found(boss(16.0), replace(PRINTER, rings=rings))
    assert len(said) == told
    if told:
        assert said[0].measured == pytest.approx(1.35, abs=0.1)
        assert "takes 6 rings of 0.45 mm; 3 are set" in said[0].remedy


def test_what_is_no_screw_hole_is_not_told() -> None:
    assert found(boss(7.0, seat=False)) == []
    assert [f.check for f in found(boss(7.0, seat=False, name="screw 1"))] == ["screw-boss"]


def test_screw_holes_that_are_alike_are_told_once() -> None:
    (told,) = found(boss(16.0, count=3, name="hole "))
    assert "(so in hole 1, hole 2)" in told.message


# --- pressed faces --------------------------------------------------------------------------

CUBE = Feature("cube", Block(Pose(), rectangle(0.0, 0.0, 30.0, 30.0), 30.0))
TOP = Pressed("top", (1.0, 1.0, 30.0), DOWN)
SIDE = Pressed("side", (0.0, 1.0, 1.0), RIGHT)


@pytest.mark.parametrize(
    ("face", "skin", "now", "then"),
    [  # 16 % two-way: clear 0.9/0.16 - 0.45 = 5.175; 25 %: 3.15; 7 layers 1.4 mm, 3 rings 1.35 mm
        (TOP, "7 layers", 0.31 * (5.175 / 1.4) ** 2, 0.31 * (3.15 / 1.4) ** 2),
        (SIDE, "3 rings", 0.5 * (5.175 / 1.35) ** 2, 0.5 * (3.15 / 1.35) ** 2),
        (Pressed("foot", (0, 0, 0), (0, 0, 1)), "3 layers", 0.31 * (5.175 / 0.6) ** 2, 8.54),
    ],
    ids=["roof", "wall", "floor"],
)
def test_a_pressed_skin_is_compared(face: Pressed, skin: str, now: float, then: float) -> None:
    (told,) = found(CUBE, PRINTER, face)
    assert (told.check, told.severity, told.feature) == ("pressed-face", "note", face.name)
    assert f"its skin of {skin} is bent {now:.1f} times" in told.message
    assert f"at 25 %, {then:.1f} times" in told.message
    assert "creeps" in told.remedy


def test_the_face_bent_most_is_told_alone() -> None:
    (told,) = found(CUBE, PRINTER, TOP, SIDE)
    assert told.feature == "side"


def test_a_skin_that_is_hardly_bent_is_not_told() -> None:
    """6 rings are 2.7 mm: 0.5 (5.175/2.7)² = 1.8, under twice the pressure; 5 rings 2.6."""
    assert found(CUBE, replace(PRINTER, rings=6), SIDE) == []
    assert len(found(CUBE, replace(PRINTER, rings=5), SIDE)) == 1


def test_a_face_without_infill_behind_it_is_not_told() -> None:
    plate = Feature("plate", Block(Pose(), rectangle(0.0, 0.0, 30.0, 30.0), 2.0))
    assert found(plate, PRINTER, Pressed("top", (1.0, 1.0, 2.0), DOWN)) == []
    assert found(CUBE, PRINTER, Pressed("nowhere", (0.0, 0.0, 12.0), DOWN)) == []


def test_a_part_says_which_of_its_faces_are_pressed() -> None:
    caul = part("clamp-caul")
    faces = pressed(caul, caul.pose)
    assert [face.name for face in faces] == [
        "leg A",
        "leg B",
        "seat to strap, foot",
        "seat to strap, head",
    ]
    for face in faces:
        assert math.hypot(*face.normal) == pytest.approx(1.0)
        assert abs(face.normal[2]) < 1e-9  # it stands, and is pressed from the side
    assert pressed(part("drill-guide"), Pose()) == ()


def test_pressed_faces_follow_the_print_pose() -> None:
    spacer = part("spacer-block")
    foot, head = pressed(spacer, spacer.pose)
    up: Vec = spacer.pose.turn((0.0, 0.0, 1.0))
    assert foot.normal == pytest.approx(up)
    assert head.normal == pytest.approx((-up[0], -up[1], -up[2]))
    assert math.dist(foot.at, head.at) == pytest.approx(210.0)
