"""depth-sleeve: its length stops the bit at the depth asked for, and the bit turns free in it."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings

from fixtures import proof
from fixtures.errors import PartRefused
from fixtures.kernels import manifold
from fixtures.mesh import bounds, volume
from fixtures.parts.catalog import family
from fixtures.parts.depth_sleeve import DepthSleeve, across_corners, length_of
from fixtures.parts.family import Part
from fixtures.produce import produce
from tests.parts.made import PRINTER, feature_names, part, read_back, unlabelled
from tests.parts.strategies import obeying
from tests.parts.test_contract import WIDE


def _judge(made: Part) -> trimesh.Trimesh:
    mesh = read_back(made)
    return trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)


def _height(made: Part) -> float:
    low, high = bounds(read_back(made))
    return high[2] - low[2]


@pytest.mark.parametrize(
    ("values", "length"),
    [
        # a 118° point is d / 2 / tan 59° = 0.300 d; a brad's 2.5 mm is common practice, no source
        ({"drill": 8.0, "stand_out": 90.0, "block": 35.0, "depth": 28.0}, 24.6),
        ({"drill": 8.0, "stand_out": 90.0, "block": 35.0, "depth": 28.0, "point": "brad"}, 24.5),
        ({"drill": 5.0, "stand_out": 60.0, "block": 32.5, "depth": 13.0, "point": "brad"}, 12.0),
    ],
)
def test_the_sleeve_fills_what_is_left_of_the_bit(values: dict[str, object], length: float) -> None:
    """Tip stops at stand-out less sleeve less guide; less the point that is the depth asked for."""
    made = part("depth-sleeve", **values)
    assert _height(made) == pytest.approx(length, abs=1e-4)
    assert length_of(DepthSleeve(**values)) == pytest.approx(length)
    assert all(check.holds for check in proof.spans(read_back(made), made.spans))


@pytest.mark.parametrize("drill", [2.0, 3.5, 8.0, 13.0])
def test_the_bit_turns_free_and_the_sleeve_does_not_guide(drill: float) -> None:
    """Rays of another library to the wall at three heights: 0.4 mm over the bit, on diameter."""
    made = part("depth-sleeve", drill=drill)
    read = _judge(made)
    high = _height(made)
    ways = np.array([(math.cos(a), math.sin(a), 0.0) for a in np.arange(48) * math.pi / 24 + 0.01])
    for z in (1.0, high / 2, high - 1.0):
        start = np.array([0.0, 0.0, z])
        hits = read.ray.intersects_location(np.tile(start, (48, 1)), ways, multiple_hits=False)[0]
        reach = np.linalg.norm(hits - start, axis=1)
        assert len(reach) == 48
        assert drill + 0.4 - 0.003 <= 2 * reach.min() <= 2 * reach.max() <= drill + 0.4 + 0.025
    assert all(check.holds for check in proof.bits(read_back(made), made.bits))


def test_a_millimetre_short_fails_its_size_and_nothing_else() -> None:
    made = part("depth-sleeve")
    mesh = read_back(part("depth-sleeve", stand_out=89.0))
    spans, bits = proof.spans(mesh, made.spans), proof.bits(mesh, made.bits)
    assert [check.name for check in spans if not check.holds] == ["length: size"]
    assert all(check.holds for check in bits)


def test_a_bore_as_tight_as_the_bit_is_found_out() -> None:
    made = part("depth-sleeve")
    checks = proof.bits(read_back(part("depth-sleeve", drill=7.6, stand_out=89.88)), made.bits)
    assert [check.name for check in checks if not check.holds] == ["bore: passes"]


@pytest.mark.slow
def test_whatever_is_asked_for_it_prints_standing_and_the_proof_holds() -> None:
    """What engraved letters leave thin or hanging, less than a mm deep, is not counted."""
    chosen = family("depth-sleeve")

    @settings(WIDE, max_examples=20)
    @given(obeying(chosen))
    def over_the_space(values: dict[str, object]) -> None:
        made = produce(chosen.build(chosen.parameters(**values), PRINTER), PRINTER, biased=False)
        assert made.holds
        assert not made.advice.supports
        alarms = [f for f in made.advice.findings if f.severity != "note"]
        assert not [f for f in alarms if f.check not in ("thin-wall", "overhang")]

    over_the_space()


@pytest.mark.parametrize(
    "values", [{}, {"stand_out": 75.0}, {"drill": 2.0, "wall": 2.0}, {"drill": 13.0, "wall": 8.0}]
)
def test_it_prints_without_support_or_alarm(values: dict[str, object]) -> None:
    made = produce(part("depth-sleeve", **values), PRINTER, biased=False)
    assert not made.advice.supports
    assert not [f for f in made.advice.findings if f.severity != "note"]
    assert made.part.pose.z == (0.0, 0.0, 1.0)


@pytest.mark.parametrize(("stand_out", "wall"), [(90.0, 4.0), (75.0, 4.0), (120.0, 8.0)])
def test_the_wall_is_as_thick_as_asked_for_and_more_only_for_letters(
    stand_out: float, wall: float
) -> None:
    made = part("depth-sleeve", stand_out=stand_out, wall=wall)
    read = _judge(made)
    flats = [
        float(np.ptp(read.vertices[:, :2] @ np.array([math.cos(a), math.sin(a)])))
        for a in np.radians([30.0, 90.0, 150.0])
    ]
    assert min(flats) >= 8.4 + 2 * wall - 1e-4
    if stand_out > 80.0:
        assert max(flats) == pytest.approx(8.4 + 2 * wall, abs=1e-4)


def test_a_long_one_turns_beside_the_fence_of_an_eighteen_millimetre_panel() -> None:
    """Bores 9 mm from the fence leave less than 18 mm across for what turns in them."""
    p = DepthSleeve(stand_out=90.0)
    mesh = read_back(part("depth-sleeve"))
    turned = 2 * float(np.linalg.norm(mesh.vertices[:, :2], axis=1).max())
    assert turned == pytest.approx(across_corners(p), abs=1e-3)
    assert turned < 17.5


def test_too_short_a_bit_is_told_with_both_numbers() -> None:
    """90 - 2.4 - 35 - 28 leaves 24.6; 70 leaves 4.6, which is 1.4 short of 6."""
    with pytest.raises(PartRefused) as refused:
        part("depth-sleeve", stand_out=70.0)
    assert str(refused.value) == (
        "A bit that stands out 70 mm and drills 28 mm deep through 35 mm of guide, with 2.4 mm of "
        "point, leaves 4.6 mm for the sleeve, which takes 6 mm: the bit is too short or the hole "
        "too deep. Let it stand out 71.4 mm or more, or drill 26.6 mm or less."
    )
    part("depth-sleeve", stand_out=71.4)


def test_too_long_a_sleeve_asks_to_chuck_the_bit_deeper() -> None:
    with pytest.raises(PartRefused, match=r"Chuck the bit deeper: 145\.4 mm or less of stand-out"):
        part("depth-sleeve", stand_out=150.0)
    assert _height(part("depth-sleeve", stand_out=145.4)) == pytest.approx(80.0, abs=1e-4)


def test_depth_bit_and_mark_are_on_it() -> None:
    """Three flats of a long one, four of a short one, which has the mark on two."""
    for stand_out, sides in ((110.0, {"1", "2", "3"}), (73.0, {"1", "2", "3", "4"})):
        made = part("depth-sleeve", stand_out=stand_out)
        labels = [name for name in feature_names(made) if name.startswith("label")]
        assert {name.removeprefix("label ").split(".")[0] for name in labels} == sides
    marks = {part("depth-sleeve", depth=depth).mark for depth in (27.0, 28.0)}
    assert len(marks) == 2


def test_rounding_to_layers_is_told_with_what_it_does_to_the_hole() -> None:
    """24.6 is 123 layers of 0.2; 24.5 comes out as 24.4 or 24.6, 0.1 off."""
    assert any("which hit it" in note for note in part("depth-sleeve").notes)
    off = part("depth-sleeve", point="brad").notes
    assert any("0.10 mm off: the hole comes out that much" in note for note in off)


def test_it_says_to_measure_to_try_in_scrap_and_to_keep_fingers_off() -> None:
    told = " ".join(part("depth-sleeve").cautions)
    for words in ("Measure the stand-out", "in scrap", "keep fingers", "Stop when it runs warm"):
        assert words in told


def test_volume_agrees_with_the_exact_kernel_within_the_chord() -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    for stand_out in (75.0, 110.0):
        made = part("depth-sleeve", stand_out=stand_out)
        solid = unlabelled(made.solid)
        walls = math.pi * 9.4 * _height(made)
        assert abs(volume(manifold.mesh(solid)) - brep.volume(solid)) <= 0.01 * walls
