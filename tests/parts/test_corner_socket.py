"""corner-socket as an end socket: it holds, it comes off, glue gets out, and it is what it says."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import trimesh

from fixtures import proof
from fixtures.errors import InputError
from fixtures.fit import FITS
from fixtures.joints import Bead
from fixtures.kernels import manifold
from fixtures.mesh import volume
from fixtures.produce import produce
from tests.parts.made import PRINTER, part, read_back, unlabelled

ANGLES = (30.0, 45.0, 60.0, 90.0, 120.0, 150.0)
THICKNESSES = (3.0, 6.4, 12.2, 19.0, 25.0, 38.0)
# press is never for a part that must come off; 0.40 is the default without a coupon
CLEARANCES = (*(mm for name, mm in FITS.items() if name != "press"), 0.40)
UNLIKE = [pair for pair in itertools.product(THICKNESSES, repeat=2) if pair[0] != pair[1]]


def _pairs(joint: str) -> list[tuple[float, float]]:
    alike = [(t, t) for t in THICKNESSES]
    return alike if joint == "mitre" else alike + UNLIKE


@pytest.mark.slow
@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("angle", ANGLES)
def test_hold_test_passes_at_every_thickness_and_fit(angle: float, joint: str) -> None:
    for (a, b), clearance in itertools.product(_pairs(joint), CLEARANCES):
        made = part(
            "corner-socket",
            joint=joint,
            angle=angle,
            thickness=(a,),
            thickness_b=(b,),
            clearance=clearance,
        )
        mesh = read_back(made)
        manifold.probe(made.solid, mesh)
        checks = proof.hold(mesh, made.seats) + proof.beads_clear(mesh, made.beads)
        failed = [check for check in checks if not check.holds]
        assert not failed, f"{angle}° {joint} {a} and {b} mm, {clearance} mm: {failed}"


@pytest.mark.slow
@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("angle", ANGLES)
def test_the_advisor_stops_no_socket_of_that_range(angle: float, joint: str) -> None:
    """At the default fit, over the same angles, joints and thicknesses as the hold test."""
    for a, b in _pairs(joint):
        made = part("corner-socket", joint=joint, angle=angle, thickness=(a,), thickness_b=(b,))
        advice = produce(made, PRINTER, biased=False).advice
        assert not [f for f in advice.findings if f.severity == "stop"], (a, b)
        assert not advice.supports


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("angle", [30.0, 90.0, 150.0])
@pytest.mark.parametrize("thickness", [3.0, 19.0, 38.0])
def test_slots_are_as_wide_as_said_by_another_librarys_rays(
    thickness: float, angle: float, joint: str
) -> None:
    made = part("corner-socket", joint=joint, angle=angle, thickness=(thickness,))
    read = trimesh.Trimesh(*_arrays(made), process=False)
    for seat in made.seats:
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
        assert widths == pytest.approx([thickness + 0.40] * 9, abs=0.005)


def _arrays(made):  # type: ignore[no-untyped-def]
    mesh = read_back(made)
    return mesh.vertices.copy(), mesh.faces.copy()


@pytest.mark.parametrize("joint", ["mitre", "butt"])
@pytest.mark.parametrize("angle", ANGLES)
def test_both_panels_leave_together_only_along_the_joint(angle: float, joint: str) -> None:
    made = part("corner-socket", joint=joint, angle=angle)
    mesh = read_back(made)
    ways = proof.ways_off(
        mesh, [s.panel for s in made.seats], [*(s.normal for s in made.seats), (0.0, 0.0, 1.0)]
    )
    assert ways == ((0.0, 0.0, 1.0),)


@pytest.mark.parametrize("angle", [30.0, 90.0, 150.0])
def test_a_thick_bead_of_glue_would_touch(angle: float) -> None:
    """The glue check can fail: a 12 mm bead has no room where a 3 mm one has."""
    made = part("corner-socket", angle=angle)
    fat = [Bead(b.name, b.start, b.end, 12.0) for b in made.beads]
    assert not all(check.holds for check in proof.beads_clear(read_back(made), fat))


@pytest.mark.parametrize("angle", ANGLES)
def test_the_lug_can_be_reached_with_a_tapping_block(angle: float) -> None:
    """A 10 × 10 mm bar held along the joint stands on the lug and meets nothing above it."""
    made = part("corner-socket", angle=angle)
    mesh = manifold.mesh(made.solid)
    lug = mesh.faces[mesh.owner == mesh.names.index("lug")]
    corners = mesh.vertices[lug].reshape(-1, 3)
    top, out = corners[:, 2].max(), corners[:, 0].min() + 1.5
    bar = np.array([(out + x, y, top + z) for x in (0, 7) for y in (-4, 4) for z in (0.01, 300)])
    reach = manifold.m3.Manifold.hull_points(bar)
    assert proof.overlap(manifold.load(mesh), reach) == 0.0
    lower = manifold.m3.Manifold.hull_points(bar - (0, 0, 0.5))
    assert proof.overlap(manifold.load(mesh), lower) > 0.0


@pytest.mark.parametrize(
    ("values", "both"),
    [
        ({"joint": "mitre"}, 1),
        ({"joint": "mitre", "angle": 45.0, "thickness": (19.0,)}, 1),
        ({"joint": "butt", "angle": 120.0, "thickness_b": (19.0,)}, 1),
    ],
)
def test_volume_agrees_with_the_exact_kernel_within_the_chord(
    values: dict[str, object], both: int
) -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    solid = unlabelled(part("corner-socket", **values).solid)
    errors = [
        abs(volume(manifold.mesh(solid, deflection)) - brep.volume(solid))
        for deflection in (0.04, 0.01)
    ]
    # arcs of the socket: channel, tip relief, sight hole; their wall area bounds the error
    walls = 36.0 * (2 * math.pi * (6.6 + 3.0 + 1.5)) + 2.0 * 2 * math.pi * 3.0
    assert errors[0] <= 0.04 * walls
    assert errors[1] <= 0.01 * walls


def test_unlike_panels_are_refused_at_a_mitre_with_both_numbers() -> None:
    with pytest.raises(InputError) as refusal:
        part("corner-socket", thickness=(12.2,), thickness_b=(19.0,))
    assert str(refusal.value) == (
        "At a mitre both panels must be alike: A is 12.2 mm and B is 19 mm, 6.80 mm apart, and "
        "at most 0.5 mm can be hidden. Use --joint butt, or panels of one thickness."
    )
    part("corner-socket", thickness=(12.2,), thickness_b=(12.7,))


def test_a_press_fit_is_refused_because_it_must_come_off() -> None:
    with pytest.raises(InputError, match="must come off again"):
        part("corner-socket", fit="press")


def test_all_that_is_wrong_with_fit_and_both_sheets_is_told_at_once() -> None:
    with pytest.raises(InputError) as refusal:
        part("corner-socket", joint="butt", fit="press", thickness=(122.0,), thickness_b=(1.0,))
    assert [fault.where for fault in refusal.value.faults] == ["fit", "thickness", "thickness_b"]


def test_no_strap_at_a_butt_and_a_strap_at_a_mitre() -> None:
    assert any("No strap" in caution for caution in part("corner-socket", joint="butt").cautions)
    assert not any("No strap" in caution for caution in part("corner-socket").cautions)


def test_a_bevel_beyond_the_saw_is_noted() -> None:
    """A blade tilts to 45° (common practice, no source); a 60° mitre corner asks for 60°."""
    sharp = part("corner-socket", angle=60.0)
    assert [f.measured for f in sharp.findings if f.check == "saw-tilt"] == [60.0]
    assert not [f for f in part("corner-socket").findings if f.check == "saw-tilt"]


def test_more_clearance_leaves_less_plastic() -> None:
    volumes = [
        volume(manifold.mesh(unlabelled(part("corner-socket", clearance=c).solid)))
        for c in (0.15, 0.3, 0.5)
    ]
    # the walls move apart with the slot: only the floor under it and the ends grow
    assert volumes[0] < volumes[1] < volumes[2]


def test_finish_on_both_faces_widens_the_slot() -> None:
    plain, finished = (
        next(s.clearance for s in part("corner-socket", finish=f).seats) for f in (0.0, 0.2)
    )
    assert plain == finished
    wide = part("corner-socket", finish=0.2)
    assert wide.fits[0].slot == pytest.approx(12.2 + 2 * 0.2 + 0.40)
