"""drill-guide on a face: holes lie where the register says, for panels of either hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from pydantic import ValidationError

from fixtures import proof
from fixtures.errors import PartRefused
from fixtures.features import Hole, features
from fixtures.kernels import manifold
from fixtures.mesh import volume
from fixtures.parts.catalog import family
from fixtures.parts.drill_guide import DrillGuide
from fixtures.parts.face_plate import PlateRegister, register
from fixtures.parts.family import TEXT, Part
from fixtures.printer import Printer
from fixtures.produce import produce, proved
from fixtures.solid import Pose, Vec
from tests.parts.made import PRINTER, part, read_back, unlabelled
from tests.parts.strategies import obeying
from tests.parts.test_contract import WIDE

BRACKET = ((20.0, 25.0), (60.0, 25.0), (40.0, 55.0))


def _plate(**values: object) -> Part:
    return part("drill-guide", **{"on": "face", "thickness": (), "drill": 5.0, **values})


def _register(**values: object) -> PlateRegister:
    return register(DrillGuide(**{"on": "face", "drill": 5.0, **values}))


def _judge(made: Part) -> trimesh.Trimesh:
    mesh = read_back(made)
    return trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)


def _first(read: trimesh.Trimesh, start: Vec, way: Vec) -> float:
    """Distance to the first surface met; infinite where there is none."""
    hits = read.ray.intersects_location([start], [way])[0]
    return float(np.linalg.norm(hits - np.array(start), axis=1).min()) if len(hits) else math.inf


def _bores(made: Part, read: trimesh.Trimesh, z: float = 20.0) -> list[tuple[float, float, float]]:
    """Of every bore: middle x and y and least diameter, by rays to its wall in 48 directions."""
    found = []
    for feature, _ in features(made.solid):
        if not (feature.name.startswith("bore_") and isinstance(feature.recipe, Hole)):
            continue
        x, y, _ = feature.recipe.at
        ways = [(math.cos(a), math.sin(a), 0.0) for a in np.arange(48) * math.pi / 24]
        reach = [_first(read, (x, y, z), way) for way in ways]
        both = [a + b for a, b in zip(reach[:24], reach[24:], strict=True)]
        found.append((x + (reach[0] - reach[24]) / 2, y + (reach[12] - reach[36]) / 2, min(both)))
    return found


def _ends(read: trimesh.Trimesh) -> tuple[float, float]:
    """X of the plate's two ends."""
    near = -100.0 + _first(read, (-100.0, 8.0, 15.0), (1.0, 0.0, 0.0))
    return near, 400.0 - _first(read, (400.0, 8.0, 15.0), (-1.0, 0.0, 0.0))


def _fence(read: trimesh.Trimesh, x: float) -> float:
    return 5.0 - _first(read, (x, 5.0, -5.0), (0.0, -1.0, 0.0))


def test_a_shelf_pin_row_lies_in_the_place_of_the_32_mm_convention() -> None:
    """37 mm from the front, 32 mm apart (trade convention, no standards body); either end bears."""
    made, k = _plate(count=4), _register(count=4)
    read = _judge(made)
    near, far = _ends(read)
    assert _fence(read, far / 2) == pytest.approx(0.0, abs=1e-4)
    wanted = [(37.0, 40.0 + 32.0 * i) for i in range(4)]
    assert np.array(k.bores) == pytest.approx(np.array(wanted))
    assert (k.both_hands, k.height) == (True, 32.5)
    bores = _bores(made, read)
    left = [(y, x - near) for x, y, _ in bores]
    right = [(y, far - x) for x, y, _ in reversed(bores)]
    assert np.array(left) == pytest.approx(np.array(wanted), abs=1e-3)
    assert np.array(right) == pytest.approx(np.array(wanted), abs=1e-3)
    assert far - near == pytest.approx(k.length, abs=1e-4)


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_pattern_of_its_own_is_made_for_one_hand_and_its_mate_for_the_other(hand: str) -> None:
    made, k = _plate(pattern=BRACKET, hand=hand), _register(pattern=BRACKET, hand=hand)
    read = _judge(made)
    near, far = _ends(read)
    assert k.ends == (hand,)
    assert k.bores == BRACKET
    places = [(y, x - near if hand == "left" else far - x) for x, y, _ in _bores(made, read)]
    assert np.array(places) == pytest.approx(np.array(BRACKET), abs=1e-3)
    other = "right" if hand == "left" else "left"
    assert f"--hand {other}" in made.quantity_reason
    assert [rest.face for rest in made.rests][2:] == [f"the {hand} end"]


def test_the_two_hands_carry_different_marks_and_a_row_only_one() -> None:
    hands = [_plate(pattern=BRACKET, hand=hand).mark for hand in ("left", "right")]
    assert len(set(hands)) == 2
    rows = [_plate(hand=hand).mark for hand in ("left", "right")]
    assert len(set(rows)) == 1


def test_a_pattern_alike_from_both_ends_does_both_hands() -> None:
    made = _plate(pattern=((20.0, 30.0), (50.0, 60.0), (20.0, 90.0)))
    assert _register(pattern=((20.0, 30.0), (50.0, 60.0), (20.0, 90.0))).ends == ("left", "right")
    assert made.quantity_reason == "one for panels of both hands: either end may bear"
    assert len(made.rests) == 4


@pytest.mark.parametrize(("drill", "guide"), [(2.0, 20.0), (3.5, 20.0), (5.0, 30.0), (12.0, 40.0)])
def test_the_bit_passes_and_has_no_more_room_than_stated(drill: float, guide: float) -> None:
    """Rays of another library on the read-back mesh, at three depths; 0.15 over the bit."""
    made = _plate(drill=drill, guide=guide, count=2)
    read = _judge(made)
    for z in (3.0, 12.0, guide):
        for _, _, across in _bores(made, read, z):
            assert drill + 0.15 - 0.006 <= across <= drill + 0.15 + 0.025
    assert all(check.holds for check in proof.bits(read_back(made), made.bits))


def test_every_datum_bears() -> None:
    made = _plate()
    assert [rest.face for rest in made.rests] == [
        "the plate", "the fence", "the left end", "the right end",
    ]  # fmt: skip
    assert all(check.holds for check in proof.rests(read_back(made), made.rests))


def test_a_row_a_millimetre_off_is_found_out() -> None:
    made = _plate()
    for other in (_plate(setback=38.0), _plate(first=41.0)):
        checks = proof.bits(read_back(other), made.bits)
        failed = {check.name for check in checks if not check.holds}
        assert {f"bore {n}: passes" for n in (1, 2, 3)} <= failed


@pytest.mark.slow
def test_whatever_is_asked_for_the_proof_holds() -> None:
    chosen = family("drill-guide")

    @settings(WIDE, max_examples=40)
    @given(obeying(chosen).filter(lambda values: values["on"] == "face"))
    def over_the_space(values: dict[str, object]) -> None:
        made = chosen.build(chosen.parameters(**values), PRINTER)
        checks = proved(made, read_back(made), Pose())
        assert not [check for check in checks if not check.holds]

    over_the_space()


def test_chips_leave_sideways_and_the_upper_side_is_flat() -> None:
    made = _plate(pattern=BRACKET)
    read = _judge(made)
    for x, y, _ in _bores(made, read):
        assert _first(read, (x, y, 1.25), (0.0, 1.0, 0.0)) == math.inf
        ring = [(x + 6.0 * math.cos(a), y + 6.0 * math.sin(a), 100.0) for a in range(6)]
        tops = [_first(read, spot, (0.0, 0.0, -1.0)) for spot in ring]
        assert tops == pytest.approx([100.0 - 32.5] * 6, abs=1e-3)


def test_an_inch_bush_gets_a_seat_of_its_actual_size() -> None:
    """ASME B94.33: 1/4 in drills take P bushes 0.4078 in outside."""
    made = _plate(drill=6.35, bush="inch", count=1)
    (_, _, across), *_ = _bores(made, _judge(made), 12.0)
    assert across == pytest.approx(0.4078 * 25.4, abs=0.02)


def test_volume_agrees_with_the_exact_kernel_within_the_chord() -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    solid = unlabelled(_plate(pattern=BRACKET).solid)
    walls = 3 * math.pi * 5.15 * 32.5
    assert abs(volume(manifold.mesh(solid)) - brep.volume(solid)) <= 0.01 * walls


@pytest.mark.parametrize(
    "values",
    [
        {"drill": 2.0, "guide": 20.0},
        {"drill": 12.0, "guide": 40.0, "count": 1, "first": 25.0},
        {"bush": "metric"},
        {"pattern": BRACKET, "hand": "right"},
        {"setback": 150.0, "count": 2},
    ],
)
def test_plates_print_without_support_or_alarm(values: dict[str, object]) -> None:
    made = produce(_plate(**values), PRINTER, biased=False)
    assert not [f for f in made.advice.findings if f.severity != "note"]
    assert not made.advice.supports
    assert made.holds
    ways = [fact.axis for fact in made.facts if fact.name.startswith("bore")]
    assert all(abs(way[2]) == pytest.approx(1.0) for way in ways)


def test_compensation_opens_the_bores_by_what_the_printer_takes_off() -> None:
    made = produce(_plate(), Printer(), biased=True)
    bore = next(fact for fact in made.facts if fact.name == "bore_1")
    assert bore.cad == pytest.approx(5.15 + 0.20)
    assert made.holds


def test_the_worst_lean_counts_the_chip_gap() -> None:
    """0.15 / 30: atan gives 0.2865°; 0.075 + (2.5 + 14) × 0.005 = 0.1575 (plane geometry)."""
    assert any("leans 0.29° " in n and "is 0.16 mm off" in n for n in _plate().notes)


def test_a_blind_hole_keeps_two_millimetres_past_the_point() -> None:
    """A 118° point is 0.3 of the bit: 14 + 2.4 in 18 mm leaves 1.6; in 18.4 it leaves 2.0."""
    with pytest.raises(PartRefused) as refused:
        _plate(drill=8.0, thickness=(18.0,))
    assert str(refused.value) == (
        "A hole 14 mm deep, with 2.4 mm of point, leaves 1.6 mm of a panel of 18 mm; 2 mm must "
        "stay. Drill 13.6 mm or less, or use --through."
    )
    _plate(drill=8.0, thickness=(18.4,))
    _plate(drill=8.0, thickness=())
    through = _plate(drill=8.0, thickness=(18.0,), through=True)
    assert any("Clamp scrap behind the panel" in caution for caution in through.cautions)
    assert not any("Clamp scrap behind" in caution for caution in _plate().cautions)


def test_longer_than_the_bed_says_how_many_fit_and_to_step_on() -> None:
    """2 × 40 of ends leave 150 of 230 mm: four steps of 32, so five bores."""
    with pytest.raises(PartRefused, match=r"272 by .* 230 by 190 mm\. Use --count 5 and step"):
        _plate(count=7)
    _plate(count=5)
    with pytest.raises(PartRefused, match="Split the pattern over two plates"):
        _plate(pattern=((20.0, 20.0), (20.0, 230.0)))


def test_bores_too_near_a_datum_or_each_other_are_refused_with_the_numbers() -> None:
    with pytest.raises(PartRefused) as refused:
        _plate(drill=12.0, guide=36.0, pattern=((8.0, 40.0), (20.0, 48.0)))
    assert [fault.message for fault in refused.value.faults] == [
        "A bore 8 mm from the front leaves no wall beside the datum: with a 12 mm bit it must be "
        "9 mm or more.",
        "Two bores are 14.42 mm apart; with a 12 mm bit they must be 16 mm apart or more.",
    ]


def test_a_guide_shorter_than_three_bits_is_refused() -> None:
    with pytest.raises(PartRefused, match="it must be 3 times the bit, 30 mm, or more"):
        _plate(drill=10.0, guide=29.0)


def test_a_pattern_is_read_from_a_file_of_pairs_or_from_pairs_typed_as_text() -> None:
    listed = DrillGuide.model_validate(
        {"on": "face", "pattern": [["37 mm", "2 in"], ["37 mm", "96 mm"]]}, context=TEXT
    )
    typed = DrillGuide.model_validate(
        {"on": "face", "pattern": ["37 mm, 2 in", "37 mm, 96 mm"]}, context=TEXT
    )
    assert listed.pattern == typed.pattern == ((37.0, 50.8), (37.0, 96.0))


@pytest.mark.parametrize("typed", ["37 mm", "37 mm, 64 mm, 3 mm", [37.0]])
def test_a_place_that_is_no_pair_is_refused_with_the_way_to_write_it(typed: object) -> None:
    with pytest.raises(ValidationError, match="is not a place of two lengths"):
        DrillGuide.model_validate({"on": "face", "pattern": [typed]})


def test_the_edge_form_has_a_register_of_its_own() -> None:
    with pytest.raises(ValueError, match=r"ask drill_guide\.register"):
        register(DrillGuide(thickness=(19.2,)))


@pytest.mark.parametrize("drill", [6.0, 9.0, 9.525, 10.0])
@pytest.mark.parametrize("bush", ["metric", "inch"])
def test_a_bushed_plate_proves_as_it_is_written(drill: float, bush: str) -> None:
    """Behind a long bush little of the bore is left, and the bed side's break is most of it."""
    made = produce(part("drill-guide", on="face", drill=drill, bush=bush), PRINTER, biased=False)
    assert [check.message for check in made.checks if not check.holds] == []
