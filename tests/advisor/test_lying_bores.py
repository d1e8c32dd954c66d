"""Round bores on their side: the geometry of their roofs, and finding them in any mesh."""

from __future__ import annotations

import math

import manifold3d as m3
import numpy as np
import pytest

from fixtures.advisor import bores
from fixtures.advisor.faces import faces
from fixtures.advisor.overhangs import steep_faces
from fixtures.printer import MATERIALS, Printer
from fixtures.solid import Fact
from tests.advisor.solids import (
    HALVES,
    Solid,
    advised,
    along_y,
    as_mesh,
    bored_block,
    box,
    drum,
    lying,
    one,
    said,
)


def found(solid: m3.Manifold, angle: float = 45.0) -> tuple[bores.Bore, ...]:
    table = faces(as_mesh(solid))
    return bores.find(table, steep_faces(table, angle).steep, angle, ())


@pytest.mark.parametrize(
    ("angle", "width", "height", "at_5", "at_10"),
    [  # b/d = cos alpha, (1 - sin alpha)/2, B/cos alpha for B = 5 and 10
        (40, 0.7660, 0.1786, 6.53, 13.05),
        (45, 0.7071, 0.1464, 7.07, 14.14),
        (50, 0.6428, 0.1170, 7.78, 15.56),
        (55, 0.5736, 0.0904, 8.72, 17.43),
        (60, 0.5000, 0.0670, 10.00, 20.00),
    ],
)
def test_the_roof_of_a_lying_bore(
    angle: float, width: float, height: float, at_5: float, at_10: float
) -> None:
    assert bores.roof_width(1, angle) == pytest.approx(width, abs=5e-5)
    assert bores.roof_height(1, angle) == pytest.approx(height, abs=5e-5)
    assert bores.largest_unsupported(5, angle) == pytest.approx(at_5, abs=6e-3)
    assert bores.largest_unsupported(10, angle) == pytest.approx(at_10, abs=6e-3)


@pytest.mark.parametrize(
    ("diameter", "chord"),
    # 2 sqrt(d h - h²) at h = 0.2
    [(4, 1.744), (6, 2.154), (8, 2.498), (10, 2.800), (12, 3.072), (20, 3.980)],
)
def test_the_last_chord_of_a_lying_bore(diameter: float, chord: float) -> None:
    assert bores.top_chord(diameter, 0.2) == pytest.approx(chord, abs=1e-3)


@pytest.mark.parametrize("sides", [16, 32, 64, 200])
@pytest.mark.parametrize("diameter", [3.0, 8.0, 16.0])
def test_a_bore_is_found_by_its_faces(diameter: float, sides: int) -> None:
    (bore,) = found(bored_block(diameter, sides))
    # corners on the circle: the shaft that enters is d cos(pi/n)
    assert bore.diameter == pytest.approx(diameter * math.cos(math.pi / sides), rel=1e-4)
    assert bore.lean == pytest.approx(0, abs=1e-3)
    assert bore.length == pytest.approx(30, abs=1e-4)
    assert bore.roof_width == pytest.approx(bore.diameter * math.cos(math.pi / 4))
    assert bore.z[1] == pytest.approx(10 + diameter / 2, rel=1e-2)


@pytest.mark.parametrize("turn", [0.0, 23.0, 71.0, 90.0])
def test_a_bore_is_found_whichever_way_the_part_is_turned(turn: float) -> None:
    (bore,) = found(bored_block().rotate((0, 0, turn)).translate((31, -7, 0)))
    assert bore.diameter == pytest.approx(8 * math.cos(math.pi / 64), rel=1e-4)
    # 8 cos 45 × 30, seen from above
    assert bore.roof_width * bore.length == pytest.approx(169.706, rel=2e-3)


@pytest.mark.parametrize("lean", [10.0, 30.0, 40.0])
def test_a_leaning_bore_has_a_narrower_roof(lean: float) -> None:
    block = box(-20, -20, 0, 20, 20, 40)
    drill = (
        m3.Manifold.cylinder(120, 4, 4, 64, True).rotate((90 - lean, 0, 0)).translate((0, 0, 20))
    )
    (bore,) = found(block - drill)
    assert bore.lean == pytest.approx(lean, abs=0.01)
    # a facet of it is steeper than 45 where cos(turn) cos(lean) > sin 45
    half = math.acos(math.sin(math.pi / 4) / math.cos(math.radians(lean)))
    assert bore.roof_width == pytest.approx(bore.diameter * math.sin(half), rel=1e-6)


def test_a_bore_steep_enough_has_no_roof_past_the_angle() -> None:
    block = box(-20, -20, 0, 20, 20, 40)
    drill = m3.Manifold.cylinder(120, 4, 4, 64, True).rotate((44, 0, 0)).translate((0, 0, 20))
    assert found(block - drill) == ()
    assert bores.roof_width(8, 45, 46) == 0


def test_twelve_bores_are_twelve() -> None:
    solid = box(0, 0, 0, 200, 30, 20)
    for i in range(12):
        solid = solid - lying(10 + 15 * i, -1, 10, 4, 32)
    assert len(found(solid)) == 12
    finding = one(advised(solid), "lying-bore")
    assert finding.message.endswith("slightly low (and 11 more like it).")
    assert finding.area == pytest.approx(12 * 169.706, rel=2e-3)


@pytest.mark.parametrize(
    "solid",
    [
        # a lying shaft: its underside is round, but outwards
        lambda: lying(0, 0, 6, 6, 30),
        # half an arch, leaning against a wall
        lambda: box(0, 0, 0, 30, 30, 30) - (lying(15, -1, 10, 8, 32) ^ box(0, -9, 0, 15, 40, 30)),
        # a hollow fillet under a shelf: a quarter of a bore, on one side only
        lambda: (
            box(0, 0, 0, 5, 30, 30)
            + box(0, 0, 20, 15, 30, 30)
            + box(5, 0, 14, 11, 30, 20)
            - lying(11, -1, 14, 6, 32)
        ),
        # a pointed roof of 45 degrees, and a flat one
        lambda: (
            box(0, 0, 0, 20, 30, 20)
            - along_y([(6, 4), (14, 4), (14, 10), (10, 14), (6, 10)], -1, 31)
        ),
        lambda: box(0, 0, 0, 20, 30, 20) - box(6, -1, 4, 14, 31, 12),
        # a ball-shaped hollow
        lambda: box(-9, -9, 0, 9, 9, 18) - m3.Manifold.sphere(6, 64).translate((0, 0, 9)),
    ],
    ids=["shaft", "half", "fillet", "pointed", "flat", "ball"],
)
def test_what_is_no_bore_is_not_taken_for_one(solid: Solid) -> None:
    assert found(solid()) == ()


def test_a_tapered_bore_is_not_recognised_and_stays_an_overhang() -> None:
    # the documented blind spot
    cone = m3.Manifold.cylinder(32, 8, 6, 64).rotate((-90, 0, 0)).translate((15, -1, 15))
    advice = advised(box(0, 0, 0, 30, 30, 30) - cone)
    assert said(advice, "lying-bore") == []
    assert one(advice, "overhang").severity in ("mend", "note")


@pytest.mark.parametrize(
    ("diameter", "severity"),
    [  # 6 and 14 mm: common practice, no source; 10 / cos 45 = 14.14 is wider than that
        (5.9, None),
        (6.0, None),
        (6.2, "note"),
        (13.9, "note"),
        (14.2, "mend"),
        (20.0, "mend"),
    ],
)
def test_lying_bores_are_judged_by_diameter(diameter: float, severity: str | None) -> None:
    solid = box(0, 0, 0, 40, 30, 40) - lying(20, -1, 20, diameter / 2, 32, 256)
    advice = advised(solid)
    assert [finding.severity for finding in advice.findings] == ([severity] if severity else [])
    assert advice.supports is False


@pytest.mark.parametrize(("diameter", "severity"), [(9.8, "note"), (10.0, "mend")])
def test_a_worse_bridging_material_lowers_the_limit(diameter: float, severity: str) -> None:
    # PETG bridges 7 mm cleanly: 7 / cos 45 = 9.90
    printer = Printer(width=0.4, material=MATERIALS["PETG"])
    solid = box(0, 0, 0, 40, 30, 40) - lying(20, -1, 20, diameter / 2, 32, 256)
    assert one(advised(solid, printer), "lying-bore").severity == severity


def test_what_hangs_inside_a_bore_is_still_an_island() -> None:
    solid = box(0, 0, 0, 40, 30, 40) - lying(20, -1, 20, 10, 32, 128) + drum(20, 15, 28, 2, 8)
    advice = advised(solid)
    assert one(advice, "island").z == (28.0, 28.2)
    assert advice.supports is True


def test_a_very_wide_bore_needs_supports() -> None:
    # roof 36 cos 45 = 25.5, past the 25 mm PLA bridges at most
    solid = box(0, 0, 0, 60, 10, 60) - lying(30, -1, 30, 18, 12, 256)
    assert advised(solid).supports is True
    assert said(advised(solid), "ledge") == []


def test_a_named_hole_is_told_by_its_name_and_its_drawn_diameter() -> None:
    from dataclasses import replace

    mesh = as_mesh(bored_block())
    table = faces(mesh)
    wall = np.abs(np.hypot(*(mesh.triangles.mean(axis=1)[:, [0, 2]] - 10).T) - 4) < 0.5
    owner = np.where(wall, 1, 0)
    named = replace(table, mesh=replace(mesh, owner=owner, names=("body", "hole_1")))
    steep = steep_faces(named, 45).steep
    fact = Fact("hole_1", "through hole", (10, 0, 10), (0, 1, 0), (1, 0, 0), diameter=8.0, cad=8.0)
    (bore,) = bores.find(named, steep, 45, (fact,))
    assert (bore.feature, bore.diameter) == ("hole_1", 8.0)


def test_the_message_of_a_lying_bore() -> None:
    finding = one(advised(bored_block(8, 256), HALVES), "lying-bore")
    assert str(finding) == (
        "lying-bore note  z 12.8 to 14.0 mm: "
        "A round bore of 8.00 mm lies: its roof, 5.7 mm wide, will be slightly "
        "low. Print it standing, or give it a flat-topped teardrop where it must gauge."
    )
    assert finding.z == pytest.approx((10 + 4 * math.sin(math.pi / 4), 14), abs=0.05)
