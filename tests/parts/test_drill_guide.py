"""drill-guide: the stated bit passes its bores, and both mates get their holes in one place."""

from __future__ import annotations

import doctest
import math

import manifold3d as m3
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings

from fixtures import proof
from fixtures.compensate import for_print
from fixtures.errors import InputError, PartRefused
from fixtures.features import Hole, features
from fixtures.kernels import manifold
from fixtures.mesh import volume
from fixtures.parts import drill_guide, guided_bore
from fixtures.parts.catalog import family
from fixtures.parts.drill_guide import DrillGuide, offset, register
from fixtures.parts.family import Part
from fixtures.printer import Printer
from fixtures.produce import produce, proved
from fixtures.solid import Pose, Vec
from tests.parts.made import PRINTER, part, read_back, unlabelled
from tests.parts.strategies import obeying
from tests.parts.test_contract import WIDE


def _judge(made: Part) -> trimesh.Trimesh:
    mesh = read_back(made)
    return trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)


def _first(read: trimesh.Trimesh, start: Vec, way: Vec) -> float:
    """Distance to the first surface met; infinite where there is none."""
    hits = read.ray.intersects_location([start], [way])[0]
    return float(np.linalg.norm(hits - np.array(start), axis=1).min()) if len(hits) else math.inf


def _across(read: trimesh.Trimesh, x: float, y: float, z: float) -> np.ndarray:
    """Distances from a bore's axis to its wall in 48 directions."""
    angles = np.arange(48) * 2 * np.pi / 48 + 0.013
    ways = np.stack([np.cos(angles), np.sin(angles), 0 * angles], axis=1)
    return np.array([_first(read, (x, y, z), tuple(way)) for way in ways])


def _holes(made: Part, kind: str) -> list[Hole]:
    return [
        feature.recipe
        for feature, _ in features(made.solid)
        if feature.name.startswith(kind) and isinstance(feature.recipe, Hole)
    ]


# Derivation: a bit with clearance c in a bore of length Lg touches it on opposite sides at its two
# ends, so it leans by atan(c / Lg), and z deep is c / 2 + (g + z) c / Lg aside; here g = 0.
# Columns: d, Lg, c, z, tilt in degrees, offset at the entry, offset at the bottom.
TILT = [
    (8, 20, 0.1, 20, 0.2865, 0.050, 0.150),
    (8, 16, 0.2, 20, 0.7162, 0.100, 0.350),
    (8, 30, 0.3, 21, 0.5729, 0.150, 0.360),
    (5, 20, 0.2, 13, 0.5729, 0.100, 0.230),
    (6, 12, 0.3, 16, 1.4321, 0.150, 0.550),
]


@pytest.mark.parametrize(("d", "lg", "c", "z", "tilt", "entry", "bottom"), TILT)
def test_tilt_and_offset_follow_from_clearance_and_length(
    d: float, lg: float, c: float, z: float, tilt: float, entry: float, bottom: float
) -> None:
    lean, off = offset(c, lg, 0.0, z)
    assert lean == pytest.approx(tilt, abs=5e-5)
    assert off == pytest.approx(bottom)
    assert offset(c, lg, 0.0, 0.0)[1] == pytest.approx(entry)


def test_the_stated_offset_counts_the_chip_gap() -> None:
    """0.15 / 30: atan gives 0.2865°; 0.075 + (2.5 + 28) × 0.005 = 0.2275 (same derivation)."""
    assert any("leans 0.29° " in n and "is 0.23 mm off" in n for n in part("drill-guide").notes)


def test_turned_over_a_bush_is_at_the_far_end_and_the_offset_says_so() -> None:
    """G6 at 8 mm, +0.014 (ISO 286), a 20 mm bush in 40 mm: 0.007 + (22.5 + 60) × 0.0007."""
    made = part("drill-guide", bush="metric", guide=40.0, depth=60.0)
    assert any("is 0.06 mm off" in note for note in made.notes)


@pytest.mark.parametrize(
    ("drill", "thickness"), [(3.0, 6.0), (5.0, 12.2), (8.0, 19.2), (10.0, 25.0), (12.0, 45.0)]
)
def test_the_bit_passes_every_bore_and_has_no_more_room_than_stated(
    drill: float, thickness: float
) -> None:
    """Rays of another library on the read-back mesh, at three depths."""
    made = part("drill-guide", drill=drill, thickness=(thickness,), count=2, guide=36.0)
    read = _judge(made)
    bores = _holes(made, "bore_") + _holes(made, "pin_")
    assert len(bores) == 4
    for bore in bores:
        x, y, _ = bore.at
        assert _first(read, (x, y, -50.0), (0.0, 0.0, 1.0)) == math.inf
        for z in (6.0 + drill / 2, 20.0, 34.0):
            reach = _across(read, x, y, z)
            assert 2 * reach.min() > drill
            assert 2 * reach.min() >= drill + 0.15 - 0.003
            assert 2 * reach.max() <= drill + 0.15 + 0.025


def test_a_bush_enters_its_seat_and_rests_on_a_shoulder() -> None:
    """DIN 179: an 8 mm drill takes a bush 12 mm outside; lengths 10, 16, 20 (from memory)."""
    made = part("drill-guide", bush="metric")
    read = _judge(made)
    bores = _holes(made, "bore_")
    assert len(bores) == 3
    for bore in bores:
        x, y, _ = bore.at
        reach = _across(read, x, y, 12.0)
        assert 12.0 - 0.003 <= 2 * reach.min() <= 2 * reach.max() <= 12.025
        # from the chip way's floor at 2.5 the bush is 20 long
        assert _first(read, (x + 5.2, y, -50.0), (0.0, 0.0, 1.0)) == pytest.approx(72.5, abs=1e-3)
        assert 2 * _across(read, x, y, 25.0).min() > 8.2


def test_an_inch_bush_gets_a_seat_of_its_actual_size() -> None:
    """ASME B94.33: 1/4 in drills take P bushes 0.4078 in outside."""
    made = part("drill-guide", bush="inch", drill=6.35)
    x, y, _ = _holes(made, "bore_")[0].at
    assert 2 * _across(_judge(made), x, y, 12.0).min() == pytest.approx(0.4078 * 25.4, abs=0.02)


def _planes(read: trimesh.Trimesh, k: drill_guide.Register) -> tuple[float, float, float]:
    """Y of the fence's inside, of the far side low down on the face, and of the body's back."""
    fence = 5.0 - _first(read, (k.span / 2, 5.0, -12.0), (0.0, -1.0, 0.0))
    far = 200.0 - _first(read, (k.span / 2, 200.0, k.height - 6.0), (0.0, -1.0, 0.0))
    back = -80.0 + _first(read, (k.span / 2, -80.0, k.height - 6.0), (0.0, 1.0, 0.0))
    return fence, far, back


def _axis(read: trimesh.Trimesh, x: float, y: float) -> tuple[float, float]:
    """Middle of the bore near (x, y), by its walls to four sides."""
    ways = [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0)]
    right, left, back, front = (_first(read, (x, y, 20.0), way) for way in ways)
    return x + (right - left) / 2, y + (back - front) / 2


@pytest.mark.parametrize("thickness", [16.0, 18.4, 19.2, 25.0])
def test_holes_in_edge_and_face_fall_in_one_place(thickness: float) -> None:
    """Measured on the mesh: from the fence on the edge, from batten and far side on the face.

    The pin is the front for both mates, whichever end it stands in. Half the panel to the nearest
    0.5 mm is the place asked for.
    """
    values = {"thickness": (thickness,), "pitch": 50.0}
    made, k = part("drill-guide", **values), register(DrillGuide(**values))
    read = _judge(made)
    fence, far, _ = _planes(read, k)
    assert fence == pytest.approx(0.0, abs=1e-4)
    assert far == pytest.approx(k.batten, abs=1e-4)
    assert k.batten % 5.0 == 0.0
    assert k.bores == pytest.approx([40.0, 90.0, 140.0])
    pins = [_axis(read, hole.at[0], hole.at[1]) for hole in _holes(made, "pin_")]
    front = [pins[0][0] + 4.0, pins[1][0] - 4.0]
    bores = [_axis(read, x, k.aside) for x in k.bores]
    on_edge = [(x - front[0], y - fence) for x, y in bores]
    on_face = [(x - front[0], k.batten - (far - y)) for x, y in bores]
    other_edge = [(front[1] - x, y - fence) for x, y in reversed(bores)]
    other_face = [(front[1] - x, k.batten - (far - y)) for x, y in reversed(bores)]
    wanted = [(40.0 + 50.0 * i, math.floor(thickness + 0.5) / 2) for i in range(3)]
    for places in (on_edge, on_face, other_edge, other_face):
        assert np.array(places) == pytest.approx(np.array(wanted), abs=1e-3)


@pytest.mark.parametrize("grown", [0.15, -0.1])
def test_what_a_printer_adds_to_faces_cancels_between_the_mates(grown: float) -> None:
    """Derivation: fence and far side both look along Y, so with every face `e` farther out the
    bores lie aside - e from the underside and batten - (wide + e - aside) = aside - e from its
    line. Held by its back, which looks against Y, the block would put the mates 2 e apart.
    """
    made, k = part("drill-guide"), register(DrillGuide(thickness=(19.2,)))
    read = _judge(made)
    ways = read.face_normals[:, 1]
    flat = np.abs(ways) > 0.99
    points = read.vertices.copy()
    moves = np.zeros(len(points))
    for side in np.nonzero(flat)[0]:
        moves[read.faces[side]] = grown * np.sign(ways[side])
    points[:, 1] += moves
    fat = trimesh.Trimesh(points, read.faces, process=False)
    fence, far, back = _planes(fat, k)
    assert fence == pytest.approx(grown, abs=1e-4)
    for x in k.bores:
        _, y = _axis(fat, x, k.aside)
        edge, face = y - fence, k.batten - (far - y)
        assert edge == pytest.approx(k.aside - grown, abs=1e-3)
        assert face == pytest.approx(edge, abs=1e-3)
        assert abs((y - back) - edge) == pytest.approx(2 * abs(grown), abs=1e-3)


def test_compensation_moves_fence_and_far_side_the_same_way() -> None:
    """Half the outside bias each, both along -Y, so their distance stays as it is drawn."""
    k = register(DrillGuide(thickness=(19.2,)))
    made, printer = part("drill-guide"), Printer()
    drawn = manifold.mesh(for_print(made.solid, printer, made.pose, biased=True).solid)
    fence, far, back = _planes(trimesh.Trimesh(drawn.vertices, drawn.faces, process=False), k)
    assert printer.bias.outside > 0.0
    assert fence == pytest.approx(-printer.bias.outside / 2, abs=1e-4)
    assert far - fence == pytest.approx(k.batten, abs=1e-4)
    assert back == pytest.approx(0.0, abs=1e-4)


def test_shrinkage_is_undone_by_setting_the_batten_at_what_is_measured() -> None:
    """0.5 % of 40 mm sets the mates 0.2 mm apart, unless the batten stands at the block's size."""
    k = register(DrillGuide(thickness=(19.2,)))
    read = _judge(part("drill-guide"))
    small = trimesh.Trimesh(read.vertices * 0.995, read.faces, process=False)
    fence, far, _ = _planes(small, k)
    _, y = _axis(small, k.bores[0] * 0.995, k.aside * 0.995)
    edge = y - fence
    assert k.batten - (far - y) - edge == pytest.approx(0.2, abs=1e-3)
    assert (far - fence) - (far - y) == pytest.approx(edge, abs=1e-4)


def test_one_bar_goes_through_the_block_on_the_edge_and_on_the_face() -> None:
    """Both placed in the assembled joint; turned end for end against the batten they miss."""
    made, k = part("drill-guide"), register(DrillGuide(thickness=(19.2,)))
    block = manifold.load(read_back(made))
    assert k.on_edge == Pose()
    on_face = block.translate(k.on_face.at)
    assert on_face.bounding_box()[5] == pytest.approx(0.0, abs=1e-4)
    turned = on_face.rotate((0.0, 0.0, 180.0)).translate((k.span, k.batten, 0.0))
    for x in k.bores:
        bar = m3.Manifold.cylinder(200.0, 4.0, 4.0, 96).translate((x, k.aside, -100.0))
        assert proof.overlap(block, bar) == 0.0
        assert proof.overlap(on_face, bar) == 0.0
        assert proof.overlap(turned, bar) > 100.0


def test_the_register_tells_all_that_sets_a_bit() -> None:
    """30 mm of guide and twice 2.5 of chip room; 2 × 40 + 2 × 32 between the pins."""
    k = register(DrillGuide(thickness=(19.2,)))
    assert (k.height, k.fence, k.pin, k.aside) == (35.0, 25.0, 8.0, 9.5)
    assert (k.span, k.bores) == (144.0, (40.0, 72.0, 104.0))
    with pytest.raises(ValueError, match=r"ask face_plate\.register"):
        register(DrillGuide(on="face"))


def test_every_datum_bears_and_every_bit_passes() -> None:
    made = part("drill-guide")
    mesh = read_back(made)
    checks = (*proof.rests(mesh, made.rests), *proof.bits(mesh, made.bits))
    assert [rest.face for rest in made.rests] == [
        "the fence", "the block", "the block", "the far side",
    ]  # fmt: skip
    assert len(made.bits) == 6
    assert all(check.holds for check in checks)


def test_a_bit_that_is_too_large_or_a_bore_that_is_too_wide_is_found_out() -> None:
    made = part("drill-guide")
    wide = proof.bits(read_back(part("drill-guide", drill=8.3)), made.bits)
    assert [c.name for c in wide if not c.holds] == [f"{bit.name}: guides" for bit in made.bits]
    tight = proof.bits(read_back(part("drill-guide", drill=7.8)), made.bits)
    assert [c.name for c in tight if not c.holds] == [f"{bit.name}: passes" for bit in made.bits]


@pytest.mark.slow
def test_whatever_is_asked_for_the_proof_holds() -> None:
    chosen = family("drill-guide")

    @settings(WIDE, max_examples=40)
    @given(obeying(chosen))
    def over_the_space(values: dict[str, object]) -> None:
        made = chosen.build(chosen.parameters(**values), PRINTER)
        checks = proved(made, read_back(made), Pose())
        assert not [check for check in checks if not check.holds]

    over_the_space()


def test_volume_agrees_with_the_exact_kernel_within_the_chord() -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    for values in ({"count": 1}, {"bush": "metric", "count": 1}):
        solid = unlabelled(part("drill-guide", **values).solid)
        # three round walls and a seat, at most 12 mm across and 35 mm long
        walls = 3 * math.pi * 8.5 * 35.0 + math.pi * 12.0 * 23.0
        off = volume(manifold.mesh(solid)) - brep.volume(solid)
        assert abs(off) <= 0.01 * walls


def test_a_panel_goes_in_with_a_millimetre_to_spare_and_comes_off() -> None:
    """Panels up to 19.5 mm take the same bores as one of 19.2, and have 1 mm to spare."""
    made = part("drill-guide")
    checks = proof.hold(read_back(made), made.seats)
    assert len(made.seats) == 2
    assert all(check.holds for check in checks)
    read = _judge(made)
    assert _first(read, (15.0, 5.0, -10.0), (0.0, -1.0, 0.0)) == pytest.approx(5.0, abs=1e-4)
    assert _first(read, (15.0, 5.0, -10.0), (0.0, 1.0, 0.0)) == pytest.approx(15.5, abs=1e-4)


@pytest.mark.parametrize("bush", ["none", "metric"])
def test_chips_leave_sideways_on_both_sides_of_the_block(bush: str) -> None:
    made = part("drill-guide", bush=bush)
    read = _judge(made)
    for bore in _holes(made, "bore_"):
        x, y, _ = bore.at
        assert _first(read, (x, y, 1.25), (0.0, 1.0, 0.0)) == math.inf
        assert _first(read, (x, y, 35.0 - 1.25), (0.0, 1.0, 0.0)) == math.inf


def test_the_fence_offers_a_clamp_forty_by_forty() -> None:
    """Flat and square to the panel on the outside of the fence, but for what is engraved there."""
    read = _judge(part("drill-guide", count=1, first=25.0, drill=3.0, fence=40.0))
    spots = [
        _first(read, (25.0 + x, -50.0, z), (0.0, 1.0, 0.0))
        for x in np.linspace(-20.0, 20.0, 9)
        for z in np.linspace(-38.9, 1.1, 9)
    ]
    flat = [spot for spot in spots if abs(spot - 44.0) < 1e-3]
    assert len(flat) > 0.8 * len(spots)
    assert spots == pytest.approx([44.3] * len(spots), abs=0.301)


def test_the_far_side_is_clear_of_letters_where_a_batten_bears() -> None:
    read = _judge(part("drill-guide"))
    spots = [
        _first(read, (x, 100.0, z), (0.0, -1.0, 0.0))
        for x in np.linspace(1.0, 143.0, 48)
        for z in (23.5, 28.0, 32.0)
    ]
    assert spots == pytest.approx([60.0] * len(spots), abs=1e-3)


def test_a_clamp_has_a_land_past_the_keeper_walls() -> None:
    """20 mm by 20 mm at each end of the side away from the face, and no wall within reach."""
    made = part("drill-guide")
    read = _judge(made)
    for x0 in (-16.0, 144.0 - 4.0):
        spots = [
            _first(read, (x0 + dx, y, -100.0), (0.0, 0.0, 1.0))
            for dx in np.linspace(0.3, 19.7, 6)
            for y in np.linspace(14.5, 34.5, 6)
        ]
        assert spots == pytest.approx([100.0] * len(spots), abs=1e-3)


def test_compensation_opens_the_bores_by_what_the_printer_takes_off() -> None:
    made = produce(part("drill-guide"), Printer(), biased=True)
    bore = next(fact for fact in made.facts if fact.name == "bore_1")
    assert bore.cad == pytest.approx(8.15 + 0.20)
    assert made.holds


@pytest.mark.parametrize(
    "values",
    [
        {"drill": 3.0, "thickness": (6.0,), "count": 5, "pitch": 16.0, "guide": 20.0},
        {"drill": 12.0, "thickness": (60.0,), "count": 1, "guide": 40.0, "first": 60.0},
        {"drill": 10.0, "thickness": (25.0,), "bush": "metric", "guide": 40.0},
        {"drill": 6.0, "thickness": (15.0,), "count": 5, "first": 25.0},
    ],
)
def test_guides_of_all_sizes_print_without_support_or_alarm(values: dict[str, object]) -> None:
    made = produce(part("drill-guide", **values), PRINTER, biased=False)
    assert not [f for f in made.advice.findings if f.severity != "note"]
    assert not made.advice.supports
    assert made.holds


def test_turned_over_the_bit_must_reach_past_the_fence() -> None:
    """5 + 30 of block and 2.4 of point: 28 more is 65.4 mm in the edge, 25 + 14 more is 76.4 mm."""
    with pytest.raises(PartRefused, match=r"edge take 65.4 mm, .* in the face 76.4 mm"):
        part("drill-guide", bit_length=76.3)
    part("drill-guide", bit_length=76.4)


def test_a_smaller_bed_takes_a_shorter_guide() -> None:
    chosen = drill_guide.DrillGuide(thickness=(19.2,), count=4)
    with pytest.raises(PartRefused, match=r"212 mm long and the bed takes 170 mm\. Use --count 2"):
        drill_guide.build(chosen, Printer(bed=(180.0, 180.0, 180.0)))


def test_bores_stand_upright_in_the_print() -> None:
    made = produce(part("drill-guide"), PRINTER, biased=False)
    ways = [fact.axis for fact in made.facts if fact.name.startswith("bore")]
    assert len(ways) == 3
    assert all(abs(way[2]) == pytest.approx(1.0) for way in ways)


def test_every_broken_rule_is_told_at_once() -> None:
    with pytest.raises(PartRefused) as refused:
        part(
            "drill-guide",
            drill=10.0,
            thickness=(12.0,),
            pitch=16.0,
            guide=20.0,
            bit_length=40.0,
            bush="metric",
            pattern=((40.0, 40.0),),
        )
    assert [fault.message for fault in refused.value.faults] == [
        "A pattern is drilled in a face, and this guide is for an edge.",
        "A 10 mm hole is too wide for a 12 mm panel: it may take half of it, 6 mm, at most.",
        "A guide of 20 mm is short for a 10 mm bit: it must be 3 times the bit, 30 mm, or more.",
        "Bores 16 mm apart run into each other's bushes or chip ways: with a 10 mm bit they must "
        "be 18 mm apart or more.",
        "The bit stands out 40 mm; its point counted, block and hole in the edge take 56 mm, and "
        "turned over block, fence and hole in the face 67 mm.",
    ]


def test_longer_than_the_bed_says_how_many_fit_and_to_step_on() -> None:
    """2 × (40 + 8 + 10) of ends leave 114 of 230 mm: three steps of 32, so four bores."""
    with pytest.raises(PartRefused, match=r"Use --count 4 and step on: a pin through the first"):
        part("drill-guide", count=9)
    part("drill-guide", count=4)
    with pytest.raises(PartRefused, match="Use a smaller --pitch or --first"):
        part("drill-guide", count=2, pitch=200.0)


def test_the_largest_common_bushes_go_into_a_three_quarter_inch_panel() -> None:
    """3/8 in drills take 0.6267 in bushes (ASME B94.33): 9.5 - 7.96 = 1.54 mm of wall."""
    made = part("drill-guide", drill=9.525, thickness=(19.05,), bush="inch", guide=30.0)
    assert produce(made, PRINTER, biased=False).holds


def test_a_bush_too_wide_for_the_panel_is_refused_with_both_numbers() -> None:
    with pytest.raises(
        PartRefused, match=r"A bush 10 mm across, 6 mm from the fence, leaves 1\.00"
    ):
        part("drill-guide", drill=6.0, thickness=(12.0,), bush="metric")


def test_an_inch_bush_for_a_drill_below_the_table_is_refused() -> None:
    with pytest.raises(InputError, match="no inch bush for a 3 mm drill"):
        part("drill-guide", drill=3.0, bush="inch")


def test_a_bit_too_thin_for_dowels_is_refused_on_an_edge() -> None:
    with pytest.raises(PartRefused, match="A 2 mm bit is too thin for dowel holes"):
        part("drill-guide", drill=2.0)


def test_nothing_measured_is_an_error_that_says_to_measure() -> None:
    with pytest.raises(InputError, match="Measure in 4 places"):
        part("drill-guide", thickness=())


def test_bare_bores_and_bushes_come_with_their_own_caution() -> None:
    bare, bushed = part("drill-guide").cautions, part("drill-guide", bush="metric").cautions
    assert any("check after 30 holes" in caution for caution in bare)
    assert any("Press bushes in square" in caution for caution in bushed)
    for cautions in (bare, bushed):
        assert any("eye protection" in caution for caution in cautions)
        assert any("never hold either by hand" in caution for caution in cautions)


def test_the_example_in_the_text_runs() -> None:
    assert doctest.testmod(guided_bore).failed == 0
    assert doctest.testmod(guided_bore).attempted == 1


def test_panels_that_take_the_same_bores_take_the_same_guide() -> None:
    """Half of 17.9 and of 18.0 to the nearest 0.5 mm is 9.0, and of 18.6 it is 9.5."""
    first, second, third = (part("drill-guide", thickness=(t,)) for t in (17.9, 18.0, 18.6))
    assert (first.mark, first.solid) == (second.mark, second.solid)
    assert third.mark != first.mark
