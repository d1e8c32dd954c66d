"""What is drawn for a printer whose errors are known, measured by rays and by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
from shapely.geometry import Polygon

from fixtures.compensate import Move, for_print
from fixtures.features import Block, Hole, Pocket, Slot, features, rebuilt
from fixtures.kernels.manifold import load, mesh, probe
from fixtures.mesh import Mesh, bounds
from fixtures.outline import Line, Outline, polygon, rectangle
from fixtures.printer import Bias, Printer
from fixtures.produce import produce
from fixtures.solid import (
    Box,
    Difference,
    Feature,
    Placed,
    Pose,
    Recipe,
    Solid,
    Vec,
    add,
    frame,
    lowered,
)
from tests.parts.made import part

PLAIN = Printer()
BIASED = Printer(bias=Bias(outside=0.06, slot=-0.10, bore_standing=-0.20, bore_lying=-0.30))
DOWN, RIGHT, AWAY, UP = (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
LEFT = (-1.0, 0.0, 0.0)
ON_SIDE = Pose((0.0, 0.0, -1.0), AWAY, RIGHT, (0.0, 0.0, 0.0))
"""X to the bed's Z, Z to minus X: what ran up now lies along the bed."""

GUIDED = Outline(
    (-6.0, -15.0),
    (
        Line((6.0, -15.0), "slot end"),
        Line((6.0, 15.0), "slot wall"),
        Line((-6.0, 15.0), "slot end"),
        Line((-6.0, -15.0), "slot wall"),
    ),
)
SLOT = Slot((25.0, 30.0, 20.0), DOWN, RIGHT, GUIDED, 12.0, 14.0, (-13.0, 13.0))


def block(*cuts: tuple[str, Recipe]) -> Difference:
    """50 × 60 × 20 with its cuts."""
    return Difference(Box((50.0, 60.0, 20.0)), tuple(Feature(*named) for named in cuts))


def drawn(solid: Solid, printer: Printer, pose: Pose | None = None, *, biased: bool = True) -> Mesh:
    """As it would be written, in the print pose."""
    on_bed = pose or Pose()
    made = for_print(solid, printer, on_bed, biased=biased)
    return mesh(Placed(made.solid, on_bed), scale=made.scale)


def met(shape: Mesh, start: Vec, way: Vec, reach: float = 100.0) -> float:
    hits = load(shape).ray_cast(start, add(start, way, reach))
    return min(float(hit.distance) * reach for hit in hits)


# --- slots ----------------------------------------------------------------------------------


def test_a_slot_that_prints_a_tenth_narrow_is_drawn_a_tenth_wider() -> None:
    made = drawn(block(("slot_a", SLOT)), BIASED)
    for y in (18.0, 30.0, 42.0):
        for z in (8.0, 13.0, 18.0):
            width = met(made, (25.0, y, z), RIGHT) + met(made, (25.0, y, z), LEFT)
            assert width == pytest.approx(12.10, abs=1e-5)


def test_its_ends_move_as_far_as_its_sides() -> None:
    made = drawn(block(("slot_a", SLOT)), BIASED)
    for way in (AWAY, (0.0, -1.0, 0.0)):
        assert met(made, (25.0, 30.0, 13.0), way) == pytest.approx(15.05, abs=1e-5)


def test_depth_along_z_is_never_moved() -> None:
    made = drawn(block(("slot_a", SLOT)), BIASED)
    assert met(made, (25.0, 30.0, 30.0), DOWN) == pytest.approx(10.0 + 14.0, abs=1e-5)
    assert bounds(made)[1][2] == pytest.approx(20.0)


def test_walls_that_lie_are_told_and_not_moved() -> None:
    """On its side this slot's walls look up and down: layers decide its width."""
    solid = block(("slot_a", SLOT))
    pose = lowered(ON_SIDE, -50.0)
    pose = lowered(ON_SIDE, bounds(mesh(Placed(solid, ON_SIDE)))[0][2])
    made = for_print(solid, BIASED, pose, biased=True)
    assert Move("slot", "slot wall", "z, told only", 0.0) in made.moves
    assert Move("slot", "slot end", "xy", -0.05) in made.moves
    shape = mesh(Placed(made.solid, pose))
    middle = pose.apply((25.0, 30.0, 13.0))
    assert met(shape, middle, UP) + met(shape, middle, DOWN) == pytest.approx(12.0, abs=1e-5)
    ends = met(shape, middle, AWAY) + met(shape, middle, (0.0, -1.0, 0.0))
    assert ends == pytest.approx(30.10, abs=1e-5)


def test_moves_say_what_was_moved_and_how_far() -> None:
    hole = Hole((10.0, 30.0, 20.0), DOWN, RIGHT, 6.0, 20.0, through=True)
    made = for_print(block(("slot_a", SLOT), ("hole", hole)), BIASED, Pose(), biased=True)
    assert made.moves == (
        Move("slot", "slot end", "xy", -0.05),
        Move("slot", "slot wall", "xy", -0.05),
        Move("through hole", "bore", "standing", -0.10),
    )


# --- the mitred corner ----------------------------------------------------------------------


def plan(slot: Slot) -> Polygon:
    """The slot's outline as it lies in the part's plan."""
    pose = slot.pose
    return Polygon([pose.apply((x, y, 0.0))[:2] for x, y in polygon(slot.outline, 0.01, grow=True)])


def slots_of(solid: Solid) -> list[Slot]:
    found = [feature.recipe for feature, _ in features(solid)]
    return [recipe for recipe in found if isinstance(recipe, Slot)]


def as_printed(slots: list[Slot], bias: float) -> Polygon:
    """Both slots after printing: every wall grows into them by half the bias."""
    hollow = shapely.union_all([plan(slot) for slot in slots])
    return hollow.buffer(bias / 2, join_style="mitre", mitre_limit=20.0)


def stands_clear(slots: list[Slot], panels: Polygon, bias: float, drawn_back: float) -> bool:
    """Whether panels drawn back so far along the bisector (X) meet no plastic after printing."""
    back = shapely.affinity.translate(panels, drawn_back, 0.0)
    return bool(back.difference(as_printed(slots, bias)).area < 1e-7)


@pytest.mark.parametrize("angle", [45.0, 60.0, 90.0, 120.0])
def test_panels_seat_at_the_tip_of_a_mitred_corner(angle: float) -> None:
    """Ends move with the sides, so after printing the panels still reach their outer arris.

    The panels lie against both outer walls, all play inside, as a strap seats them. Widened
    about their middles only, the slots would leave a corner of plastic at the tip, half the bias
    d inside both walls: the panels would stop d / sin(half the corner) short (trigonometry).
    """
    made = part("corner-socket", angle=angle, clearance=1.0)
    filling = part("corner-socket", angle=angle, clearance=0.05)
    bias = -0.20
    printer = Printer(bias=Bias(slot=bias))
    # 40 mm about the arris: the slots' open ends are no walls, and do not grow
    near_the_tip = shapely.Point(0.0, 0.0).buffer(40.0)
    panels = shapely.union_all([plan(slot) for slot in slots_of(filling.solid)])
    panels = panels.intersection(near_the_tip)
    moved = slots_of(for_print(made.solid, printer, Pose(), biased=True).solid)
    assert stands_clear(moved, panels, bias, 0.0)

    def about_the_middle(recipe: Recipe, pose: Pose) -> Recipe:
        return recipe.moved(lambda face: bias / 2 if face.role == "slot wall" else 0.0)

    widened = slots_of(rebuilt(made.solid, about_the_middle))
    short = -bias / 2 / math.sin(math.radians(angle / 2))
    assert not stands_clear(widened, panels, bias, 0.0)
    assert not stands_clear(widened, panels, bias, short - 0.002)
    assert stands_clear(widened, panels, bias, short + 1e-4)


def test_the_tip_itself_moves_out_along_the_bisector() -> None:
    """Both outer walls out by d put their arris d / sin(half the corner) out: 1.4142 d at 90°."""
    made = part("corner-socket", angle=90.0)
    tips = []
    for biased in (False, True):
        printed = for_print(made.solid, BIASED, Pose(), biased=biased)
        tips.append(
            min(x for slot in slots_of(printed.solid) for x, _ in plan(slot).exterior.coords)
        )
    assert tips[0] - tips[1] == pytest.approx(0.05 / math.sin(math.radians(45.0)))


# --- bores ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tilt", "grown"),
    [(0.0, 0.20), (44.0, 0.20), (46.0, 0.30), (90.0, 0.30)],
    ids=["standing", "leaning", "leaning far", "lying"],
)
def test_a_bore_grows_by_how_it_stands_in_the_print_pose(tilt: float, grown: float) -> None:
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    t = math.radians(tilt)
    pose = Pose((math.cos(t), 0.0, -math.sin(t)), AWAY, (math.sin(t), 0.0, math.cos(t)))
    made = for_print(block(("hole", hole)), BIASED, pose, biased=True)
    (feature, _), *_ = features(made.solid)
    assert feature.recipe.fact("hole").diameter == pytest.approx(8.0 + grown)
    (move,) = made.moves
    assert move.direction == ("standing" if tilt < 45 else "lying")
    assert move.by == pytest.approx(-grown / 2)


def test_a_bore_is_met_wider_on_the_mesh() -> None:
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    made = drawn(block(("hole", hole)), BIASED)
    for way in (RIGHT, AWAY, LEFT):
        assert met(made, (25.0, 30.0, 10.0), way) == pytest.approx(4.10, abs=0.011)


def test_the_pose_of_a_part_within_a_part_counts() -> None:
    """A hole that stands in its own block lies once the block is laid on its side."""
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    laid = Placed(block(("hole", hole)), ON_SIDE)
    assert for_print(laid, BIASED, Pose(), biased=True).moves[0].direction == "lying"
    assert for_print(laid, BIASED, ON_SIDE, biased=True).moves[0].direction == "standing"


# --- outsides -------------------------------------------------------------------------------


def test_an_outside_that_prints_large_is_drawn_small() -> None:
    """0.06 mm over the whole size: 0.03 mm off each of its two faces."""
    outline = Outline(
        (0.0, 0.0),
        (
            Line((50.0, 0.0)),
            Line((50.0, 30.0), "outside size"),
            Line((0.0, 30.0)),
            Line((0.0, 0.0), "outside size"),
        ),
    )
    solid = Feature("body", Block(Pose(), outline, 12.0))
    low, high = bounds(drawn(solid, replace(BIASED, first_layer_relief=0.0)))
    assert high[0] - low[0] == pytest.approx(49.94, abs=1e-5)
    assert high[1] - low[1] == pytest.approx(30.0, abs=1e-5)
    assert high[2] - low[2] == pytest.approx(12.0, abs=1e-5)


# --- scale ----------------------------------------------------------------------------------


def pitches(shape: Mesh, count: int) -> list[float]:
    """Distances along x from each bore to the next, by the middles of their walls."""
    middles = []
    for n in range(count):
        owned = shape.owner == shape.names.index(f"hole_{n + 1}")
        wall = shape.triangles[owned].reshape(-1, 3)
        middles.append(float(wall[:, 0].min() + wall[:, 0].max()) / 2)
    return np.diff(middles).tolist()


def test_ten_holes_come_out_at_their_pitch_after_shrinking() -> None:
    """Ten holes at 32 mm in a material that prints at 0.9980 and 0.9975 of its drawing.

    Drawn as designed, the last would stand 9 × 32 × 0.002 = 0.58 mm off (arithmetic).
    """
    shrinks = (0.9980, 0.9975, 1.0)
    printer = replace(PLAIN, scale=(1 / shrinks[0], 1 / shrinks[1], 1.0))
    holes: list[Solid] = [
        Feature(f"hole_{n + 1}", Hole((20.0 + 32.0 * n, 15.0, 6.0), DOWN, RIGHT, 5.0, 6.0, True))
        for n in range(10)
    ]
    solid = Difference(Box((328.0, 30.0, 6.0)), tuple(holes))
    as_drawn = pitches(drawn(solid, printer), 10)
    assert [pitch * shrinks[0] for pitch in as_drawn] == pytest.approx([32.0] * 9, abs=1e-3)
    assert sum(as_drawn) * shrinks[0] == pytest.approx(288.0, abs=1e-3)
    plain = sum(pitches(drawn(solid, printer, biased=False), 10)) * shrinks[0]
    assert 288.0 - plain == pytest.approx(0.576, abs=1e-3)
    low, high = bounds(drawn(solid, printer))
    assert (high[1] - low[1]) * shrinks[1] == pytest.approx(30.0, abs=1e-4)
    assert high[2] - low[2] == pytest.approx(6.0, abs=1e-5)


def test_width_and_pitch_are_both_right_together() -> None:
    """Bias moves the walls, shrinkage scales them: printed = drawn × shrinkage + bias."""
    shrink, bias = 0.997, -0.10
    printer = Printer(bias=Bias(slot=bias), scale=(1 / shrink, 1 / shrink, 1.0))
    made = drawn(block(("slot_a", SLOT)), printer)
    middle = (25.0 / shrink, 30.0 / shrink, 13.0)
    width = met(made, middle, RIGHT) + met(made, middle, LEFT)
    # the bias itself is scaled too: 0.10 × 0.003 mm, far below a caliper's 0.01
    assert width * shrink + bias == pytest.approx(12.0, abs=1e-3)


# --- the first layer ------------------------------------------------------------------------


def test_only_mouths_on_the_bed_are_relieved() -> None:
    """0.4 mm at 45°: 0.1 mm up, the bore is 0.3 mm wider on each side; on top it is not."""
    printer = replace(PLAIN, first_layer_relief=0.4)
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 20.0, through=True)
    slot = replace(SLOT, at=(25.0, 30.0, 20.0), depth=20.0, through=True)
    for recipe, half in ((hole, 4.0), (slot, 6.0)):
        made = drawn(block(("cut", recipe)), printer, biased=False)
        assert met(made, (25.0, 30.0, 0.1), RIGHT) == pytest.approx(half + 0.3, abs=0.011)
        assert met(made, (25.0, 30.0, 0.5), RIGHT) == pytest.approx(half, abs=0.011)
        assert met(made, (25.0, 30.0, 19.9), RIGHT) == pytest.approx(half, abs=0.011)


def test_turned_over_the_other_end_is_relieved() -> None:
    printer = replace(PLAIN, first_layer_relief=0.4)
    hole = Hole((25.0, 30.0, 20.0), DOWN, RIGHT, 8.0, 12.0)
    over = Pose(RIGHT, (0.0, -1.0, 0.0), DOWN, (0.0, 60.0, 20.0))
    upright = drawn(block(("hole", hole)), printer, biased=False)
    turned = drawn(block(("hole", hole)), printer, over, biased=False)
    assert met(upright, (25.0, 30.0, 19.9), RIGHT) == pytest.approx(4.0, abs=0.011)
    assert met(turned, (25.0, 30.0, 0.1), RIGHT) == pytest.approx(4.3, abs=0.011)


def test_a_mouth_in_the_air_or_on_its_side_is_left_alone() -> None:
    lying = Hole((0.0, 30.0, 10.0), RIGHT, AWAY, 8.0, 50.0, through=True)
    window = Pocket((25.0, 30.0, 20.0), DOWN, RIGHT, rectangle(-5.0, -5.0, 5.0, 5.0), 10.0)
    for recipe in (lying, window):
        solid = block(("cut", recipe))
        assert for_print(solid, PLAIN, Pose(), biased=False).solid == solid


def test_a_body_is_relieved_round_its_bed_edge_once() -> None:
    body = Block(Pose(), rectangle(0.0, 0.0, 30.0, 20.0), 10.0)
    printer = replace(PLAIN, first_layer_relief=0.4)
    made = drawn(Feature("body", body), printer, biased=False)
    inside = (15.0, 10.0, 0.1)
    assert met(made, inside, RIGHT) == pytest.approx(15.0 - 0.3, abs=1e-4)
    assert met(made, (15.0, 10.0, 0.5), RIGHT) == pytest.approx(15.0, abs=1e-5)
    assert met(made, (15.0, 10.0, 9.9), RIGHT) == pytest.approx(15.0, abs=1e-5)


# --- what stays -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["corner-socket", "spacer-block", "slot-comb"])
def test_the_nominal_part_is_not_touched(name: str) -> None:
    made = part(name)
    before = repr(made.solid)
    changed = for_print(made.solid, BIASED, made.pose, biased=True)
    assert repr(made.solid) == before
    assert changed.solid != made.solid


def test_drawn_as_designed_nothing_moves() -> None:
    made = for_print(block(("slot_a", SLOT)), BIASED, Pose(), biased=False)
    assert made.moves == ()
    assert made.scale == (1.0, 1.0, 1.0)
    assert made.solid == block(("slot_a", SLOT))


def test_a_printer_without_errors_changes_no_size() -> None:
    perfect = Printer(bias=Bias(0.0, 0.0, 0.0, 0.0))
    solid = block(("slot_a", SLOT))
    assert for_print(solid, perfect, Pose(), biased=True).solid == solid


def test_a_compensated_part_still_is_what_its_probes_say() -> None:
    made = part("corner-socket")
    changed = for_print(made.solid, BIASED, Pose(), biased=True)
    probe(changed.solid, mesh(changed.solid))


def test_the_record_tells_both_the_size_asked_for_and_the_size_drawn() -> None:
    made = produce(part("corner-socket"), BIASED, biased=True)
    slot = next(fact for fact in made.facts if fact.name == "slot_a")
    assert slot.width == pytest.approx(12.6)
    assert slot.cad == pytest.approx(12.7)
    assert made.holds
    hole = next(fact for fact in made.facts if fact.name == "sight hole")
    assert [hole.diameter, hole.cad] == pytest.approx([6.0, 6.2])


def test_features_are_told_where_they_lie_in_the_scaled_mesh() -> None:
    """Its bore's own wall stands 3 mm about the middle told, in the print pose and scaled."""
    printer = replace(PLAIN, scale=(1.02, 1.01, 1.0))
    made = produce(part("corner-socket"), printer, biased=True)
    hole = next(fact for fact in made.facts if fact.name == "sight hole")
    owned = made.mesh.owner == made.mesh.names.index("sight hole")
    wall = made.mesh.triangles[owned].reshape(-1, 3)
    middle = (wall.min(axis=0) + wall.max(axis=0)) / 2
    assert hole.at[:2] == pytest.approx(middle[:2].tolist(), abs=1e-4)
    plain = produce(part("corner-socket"), printer, biased=False)
    nominal = next(fact for fact in plain.facts if fact.name == "sight hole")
    assert hole.at[0] == pytest.approx(1.02 * nominal.at[0])


def test_frames_square_up_their_across() -> None:
    """The pose a recipe stands in is rigid, whatever hint was given for its width."""
    pose = frame((1.0, 2.0, 3.0), DOWN, (1.0, 0.0, 5.0))
    assert pose.x == pytest.approx(RIGHT)
    assert pose.z == pytest.approx(DOWN)
