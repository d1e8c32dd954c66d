"""Recipes in a plain block: their probes hold, say what blocks them, and their faces look out."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from shapely import Polygon, union_all

from fixtures.errors import KernelError, PartRefused
from fixtures.features import Block, Hole, Label, Pocket, Slot, features, rebuilt
from fixtures.glyphs import strokes
from fixtures.kernels import manifold
from fixtures.kernels.manifold import load, mesh, probe
from fixtures.mesh import volume
from fixtures.outline import Line, Outline, Role, rectangle
from fixtures.solid import (
    Box,
    Break,
    Difference,
    Feature,
    Placed,
    Pose,
    Recipe,
    Solid,
    Union,
    Vec,
    add,
    cross,
    frame,
)
from tests.parts.made import part, unlabelled

SIZE = (40.0, 30.0, 20.0)
BLOCK = Box(SIZE)
TOP, DOWN, RIGHT = 20.0, (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)
TILT = frame((3.0, -2.0, 5.0), (1.0, 2.0, 2.0), (2.0, 1.0, -2.0))

CLOSED = Outline(
    (-3.0, -10.0),
    (
        Line((3.0, -10.0), "slot end"),
        Line((3.0, 10.0), "slot wall"),
        Line((-3.0, 10.0), "slot end"),
        Line((-3.0, -10.0), "slot wall"),
    ),
)
"""6 × 20, guided all round."""
OPEN = Outline(
    (-3.0, -8.0),
    (
        Line((3.0, -8.0), "slot end"),
        Line((3.0, 20.0), "slot wall"),
        Line((-3.0, 20.0)),
        Line((-3.0, -8.0), "slot wall"),
    ),
)
"""6 wide, running out at one end."""

RECIPES: dict[str, Recipe] = {
    "through hole": Hole((20.0, 15.0, TOP), DOWN, RIGHT, 8.0, 20.0, through=True),
    "through hole, edges broken": Hole(
        (20.0, 15.0, TOP), DOWN, RIGHT, 8.0, 20.0, through=True, mouth=1.0, exit=0.5
    ),
    "through hole from the side": Hole(
        (0.0, 15.0, 10.0), RIGHT, (0.0, 1.0, 0.0), 6.0, 40.0, through=True
    ),
    "blind hole": Hole((20.0, 15.0, TOP), DOWN, RIGHT, 8.0, 12.0),
    "blind hole with its mouth broken": Hole((20.0, 15.0, TOP), DOWN, RIGHT, 8.0, 12.0, mouth=1.0),
    "slot": Slot((20.0, 15.0, TOP), DOWN, RIGHT, CLOSED, 6.0, 12.0, (-9.0, 9.0)),
    "slot with a lead-in": Slot(
        (20.0, 15.0, TOP), DOWN, RIGHT, CLOSED, 6.0, 12.0, (-9.0, 9.0), Break(-1.0, 2.0)
    ),
    "slot open at one end": Slot(
        (20.0, 15.0, TOP), DOWN, RIGHT, OPEN, 6.0, 12.0, (-7.0, 14.0), Break(-0.5, 0.5)
    ),
    "through slot": Slot(
        (20.0, 15.0, TOP), DOWN, RIGHT, CLOSED, 6.0, 20.0, (-9.0, 9.0), through=True
    ),
    "pocket": Pocket((20.0, 15.0, TOP), DOWN, RIGHT, rectangle(-6.0, -4.0, 6.0, 4.0), 7.0),
    "through pocket": Pocket(
        (20.0, 15.0, TOP), DOWN, RIGHT, rectangle(-6.0, -4.0, 6.0, 4.0), 20.0, through=True
    ),
    "flared pocket": Pocket(
        (20.0, 15.0, TOP),
        DOWN,
        RIGHT,
        rectangle(-6.0, -4.0, 6.0, 4.0),
        20.0,
        through=True,
        mouth=Break(-1.0, 1.0),
        exit=Break(-0.5, 1.0),
    ),
}


def cut(recipe: Recipe, name: str = "cut") -> Difference:
    return Difference(BLOCK, (Feature(name, recipe),))


def met(solid: Solid, start: Vec, way: Vec, reach: float = 100.0) -> float | None:
    """How far from `start` the surface is met along a unit way, mm."""
    hits = load(mesh(solid)).ray_cast(start, add(start, way, reach))
    return min((float(hit.distance) * reach for hit in hits), default=None) if hits else None


def is_inside(solid: Solid, point: Vec) -> bool:
    """By the parity of crossings on a way that runs along no face of these parts."""
    hits = load(mesh(solid)).ray_cast(point, add(point, (0.3217, 0.5391, 0.7784), 200.0))
    return len(hits) % 2 == 1


# --- probes that hold -----------------------------------------------------------------------


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize("name", RECIPES)
def test_probes_hold_in_a_plain_block(name: str, pose: Pose) -> None:
    solid = Placed(cut(RECIPES[name]), pose)
    assert RECIPES[name].probes()
    probe(solid, mesh(solid))


def test_a_hole_is_probed_all_round_and_along_its_axis() -> None:
    made = RECIPES["through hole"].probes()
    assert [one.hit for one in made] == [None] + [4.0] * 8
    ways = {tuple(round(x, 3) for x in one.direction) for one in made[1:]}
    assert len(ways) == 8


def test_a_slot_is_probed_at_three_depths_and_three_stations() -> None:
    """One way in and three times both walls at each station."""
    made = RECIPES["slot with a lead-in"].probes()
    into = [one for one in made if one.direction == pytest.approx(DOWN)]
    across = [one for one in made if one.direction != pytest.approx(DOWN)]
    assert [one.hit for one in into] == [12.5] * 3
    assert len(across) == 18
    assert {one.hit for one in across} == {3.0}
    depths = sorted({round(TOP - one.origin[2], 6) for one in across})
    # below the lead-in of 2 mm the wall is straight for 10 mm
    assert depths == pytest.approx([3.0, 7.0, 11.0])


# --- probes that fail -----------------------------------------------------------------------

PLUG = Placed(Box((4.0, 30.0, 4.0)), Pose(at=(18.0, 0.0, 8.0)))
"""A bar across the middle of the block."""
LUMP = Placed(Box((4.0, 4.0, 8.0)), Pose(at=(21.5, 13.0, 8.0)))
"""Stands in the wall of a cut, clear of its axis."""


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("through hole", "its axis must be clear from end to end"),
        ("through hole from the side", "its axis must be clear from end to end"),
        ("blind hole", "its floor must lie at its depth"),
        ("slot", "the way in must be open down to its floor"),
        ("through slot", "the way in must be open down to its floor"),
        ("pocket", "its floor must lie at its depth"),
        ("through pocket", "it must be open from end to end"),
    ],
)
def test_a_blocked_cut_is_refused_by_name(name: str, expected: str) -> None:
    plug = PLUG if name != "pocket" else Placed(PLUG, Pose(at=(0.0, 0.0, 6.0)))
    solid = Union((cut(RECIPES[name], "cut_7"), plug))
    with pytest.raises(PartRefused) as refusal:
        probe(solid, mesh(solid))
    (fault,) = refusal.value.faults
    assert fault.where == "cut_7"
    assert fault.message.startswith(f"'cut_7': {expected}; the probe meets ")
    assert fault.remedy == "Move the features apart, or make the part larger."


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("through hole", "its wall must be met all round"),
        ("blind hole", "its wall must be met all round"),
        ("slot", "both its walls must be met at half its width"),
        ("through slot", "both its walls must be met at half its width"),
    ],
)
def test_a_lump_on_the_wall_is_refused_by_name(name: str, expected: str) -> None:
    solid = Union((cut(RECIPES[name]), LUMP))
    with pytest.raises(PartRefused, match=f"'cut': {expected}"):
        probe(solid, mesh(solid))


@pytest.mark.parametrize("name", ["blind hole", "slot", "pocket"])
def test_a_floor_cut_away_is_refused(name: str) -> None:
    recipe = RECIPES[name]
    depth = 12.0 if name != "pocket" else 7.0
    below = Placed(Box((10.0, 22.0, 22.0 - depth)), Pose(at=(15.0, 4.0, -1.0)))
    solid = Difference(BLOCK, (Feature("cut", recipe), below))
    with pytest.raises(PartRefused, match="the probe meets nothing, not it after"):
        probe(solid, mesh(solid))


def test_a_wall_cut_away_is_refused() -> None:
    neighbour = Hole((26.0, 15.0, TOP), DOWN, RIGHT, 8.0, 20.0, through=True)
    solid = Difference(
        BLOCK, (Feature("hole_1", RECIPES["through hole"]), Feature("hole_2", neighbour))
    )
    with pytest.raises(PartRefused) as refusal:
        probe(solid, mesh(solid))
    assert [fault.where for fault in refusal.value.faults] == ["hole_1", "hole_2"]


@pytest.mark.parametrize(
    "recipe",
    [
        Hole((20.0, 15.0, TOP), DOWN, RIGHT, 8.0, 15.0, through=True),
        Slot((20.0, 15.0, TOP), DOWN, RIGHT, CLOSED, 6.0, 15.0, (-9.0, 9.0), through=True),
        Pocket((20.0, 15.0, TOP), DOWN, RIGHT, rectangle(-6.0, -4.0, 6.0, 4.0), 15.0, through=True),
    ],
    ids=["hole", "slot", "pocket"],
)
def test_a_through_cut_that_stops_short_is_refused(recipe: Recipe) -> None:
    solid = cut(recipe)
    with pytest.raises(PartRefused, match=r"the probe meets material after 16\.50 mm, not nothing"):
        probe(solid, mesh(solid))


def test_a_slot_narrower_than_promised_is_refused() -> None:
    promised = replace(RECIPES["slot"], width=6.2)  # type: ignore[type-var]
    solid = cut(promised)
    with pytest.raises(PartRefused, match=r"material after 3\.00 mm, not it after 3\.10 mm"):
        probe(solid, mesh(solid))


def test_a_cut_that_removes_nothing_is_refused_by_name() -> None:
    beside = Hole((60.0, 15.0, TOP), DOWN, RIGHT, 8.0, 20.0, through=True)
    with pytest.raises(PartRefused) as refusal:
        mesh(Difference(BLOCK, (Feature("hole_1", beside),)))
    assert str(refusal.value) == (
        "'hole_1' leaves no trace in the finished part: it is cut away or cuts only air."
    )


def test_a_cut_swallowed_by_another_is_refused_by_name() -> None:
    small = Hole((20.0, 15.0, TOP), DOWN, RIGHT, 4.0, 5.0)
    with pytest.raises(PartRefused, match=r"^'small' leaves no trace"):
        mesh(
            Difference(BLOCK, (Feature("large", RECIPES["through hole"]), Feature("small", small)))
        )


def test_two_features_of_one_name_are_our_own_fault() -> None:
    one = RECIPES["through hole from the side"]
    with pytest.raises(KernelError, match="two features are named 'hole'"):
        mesh(Difference(BLOCK, (Feature("hole", one), Feature("hole", RECIPES["pocket"]))))


# --- what comes out -------------------------------------------------------------------------


def test_a_blind_hole_keeps_its_floor() -> None:
    made = cut(RECIPES["blind hole"])
    for x, y in ((20.0, 15.0), (23.5, 15.0), (20.0, 11.5)):
        assert met(made, (x, y, 30.0), DOWN) == pytest.approx(10.0 + 12.0, abs=1e-5)
    # drawn with a deflection of 0.01 mm, on the air side: a little more is taken away
    lost = math.prod(SIZE) - volume(mesh(made))
    assert math.pi * 16 * 12 < lost < math.pi * 4.0101**2 * 12


@pytest.mark.parametrize("name", RECIPES)
def test_a_cut_reaches_no_deeper_and_opens_where_it_says(name: str) -> None:
    """At its mouth the surface is gone; a through cut is open, a blind one shut at its depth."""
    recipe = RECIPES[name]
    fact = recipe.fact("cut")
    assert fact.depth is not None
    far = add(fact.at, fact.axis, -10.0)
    found = met(cut(recipe), far, fact.axis)
    assert found == (None if fact.through else pytest.approx(10.0 + fact.depth, abs=1e-5))


def test_a_broken_mouth_is_a_45_degree_chamfer() -> None:
    """1 mm down at 1 mm less of radius: half a millimetre outside the bore it is 0.5 mm deep."""
    made = cut(RECIPES["blind hole with its mouth broken"])
    for aside, depth in ((0.25, 0.75), (0.5, 0.5), (0.75, 0.25)):
        found = met(made, (20.0 + 4.0 + aside, 15.0, 30.0), DOWN)
        assert found == pytest.approx(10.0 + depth, abs=0.011)
    assert met(made, (20.0 + 5.1, 15.0, 30.0), DOWN) == pytest.approx(10.0, abs=1e-5)


def test_facts_say_the_sizes_asked_for() -> None:
    hole = RECIPES["through hole"].fact("hole_1")
    assert (hole.name, hole.kind, hole.diameter, hole.cad) == ("hole_1", "through hole", 8.0, 8.0)
    assert (hole.at, hole.axis, hole.across) == ((20.0, 15.0, TOP), DOWN, RIGHT)
    assert hole.through
    slot = RECIPES["slot"].fact("slot_a")
    assert (slot.kind, slot.width, slot.depth, slot.length) == ("slot", 6.0, 12.0, 18.0)
    assert RECIPES["blind hole"].fact("x").kind == "blind hole"
    assert not RECIPES["blind hole"].fact("x").through


# --- working faces --------------------------------------------------------------------------


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize(
    "name", [name for name, recipe in RECIPES.items() if isinstance(recipe, Slot)]
)
def test_faces_of_a_slot_look_out_of_the_material(name: str, pose: Pose) -> None:
    """0.2 mm along its normal there is air, 0.2 mm against it there is material."""
    recipe = RECIPES[name]
    solid = Placed(cut(recipe), pose)
    assert {face.role for face in recipe.faces()} == {"slot wall", "slot end"}
    for face in recipe.faces():
        point, out = pose.apply(face.point), pose.turn(face.normal)
        assert not is_inside(solid, add(point, out, 0.2)), face
        assert is_inside(solid, add(point, out, -0.2)), face


def test_faces_of_a_block_look_out_of_the_material() -> None:
    roles: tuple[Role, ...] = ("datum", "outside size", "datum", "outside size")
    outline = Outline(
        (0.0, 0.0),
        tuple(
            Line(edge.to, role)
            for edge, role in zip(rectangle(0.0, 0.0, 20.0, 10.0).edges, roles, strict=True)
        ),
    )
    block = Block(TILT, outline, 8.0, Break(1.0, 1.0), Break(1.0, 1.0))
    assert [face.role for face in block.faces()] == list(roles)
    for face in block.faces():
        assert not is_inside(block.solid(), add(face.point, face.normal, 0.2))
        assert is_inside(block.solid(), add(face.point, face.normal, -0.2))


def test_a_bores_wall_moves_in_by_what_is_asked() -> None:
    """Out of the material is towards the axis: 0.1 mm on the wall is 0.2 mm on the diameter."""
    hole = RECIPES["through hole"]
    (face,) = hole.faces()
    assert face.role == "bore"
    assert hole.moved(lambda face: 0.1).fact("x").diameter == pytest.approx(7.8)
    assert hole.moved(lambda face: -0.1).fact("x").diameter == pytest.approx(8.2)


@pytest.mark.parametrize("by", [0.05, -0.05])
def test_a_slots_walls_move_out_of_the_material(by: float) -> None:
    wide = RECIPES["slot"].moved(lambda face: by)
    assert wide.fact("x").width == pytest.approx(6.0 - 2 * by)
    made = cut(wide)
    half, run = 3.0 - by, 10.0 - by
    for way, distance in ((RIGHT, half), ((-1.0, 0.0, 0.0), half), ((0.0, 1.0, 0.0), run)):
        found = met(made, (20.0, 15.0, 14.0), way)
        assert found == pytest.approx(distance, abs=1e-5)
    probe(made, mesh(made))


# --- relief ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["through hole", "slot", "through slot", "pocket"])
def test_a_relieved_mouth_is_opened_by_45_degrees(name: str) -> None:
    """0.4 mm asked for: 0.2 mm outside the mouth the surface lies 0.2 mm deep."""
    recipe = RECIPES[name].relieved("mouth", 0.4)
    half = {"through hole": 4.0, "pocket": 6.0}.get(name, 3.0)
    found = met(cut(recipe), (20.0 + half + 0.2, 15.0, 30.0), DOWN)
    assert found == pytest.approx(10.2, abs=0.011)
    assert met(cut(recipe), (20.0 + half + 0.5, 15.0, 30.0), DOWN) == pytest.approx(10.0, abs=1e-5)


@pytest.mark.parametrize("name", ["through hole", "through slot", "through pocket"])
def test_a_relieved_exit_is_opened_and_the_mouth_is_not(name: str) -> None:
    recipe = RECIPES[name].relieved("exit", 0.4)
    half = {"through hole": 4.0, "through pocket": 6.0}.get(name, 3.0)
    up = (0.0, 0.0, 1.0)
    found = met(cut(recipe), (20.0 + half + 0.2, 15.0, -10.0), up)
    assert found == pytest.approx(10.2, abs=0.011)
    assert met(cut(recipe), (20.0 + half + 0.2, 15.0, 30.0), DOWN) == pytest.approx(10.0, abs=1e-5)


def test_a_mouth_broken_wider_already_stays_as_it_is() -> None:
    for name in ("through hole, edges broken", "slot with a lead-in", "flared pocket"):
        assert RECIPES[name].relieved("mouth", 0.3) == RECIPES[name]


# --- labels ---------------------------------------------------------------------------------

AXES: tuple[Vec, ...] = (
    (1.0, 0.0, 0.0),
    (-1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0),
    (0.0, -1.0, 0.0),
    (0.0, 0.0, 1.0),
    (0.0, 0.0, -1.0),
)
ON_FACES = [
    (into, reading)
    for into, reading in itertools.product(AXES, AXES)
    if abs(sum(a * b for a, b in zip(into, reading, strict=True))) < 0.5
]


@pytest.mark.parametrize(("into", "reading"), ON_FACES)
def test_a_label_reads_the_right_way_round_on_every_face(into: Vec, reading: Vec) -> None:
    """An F has a stem on its reader's left and an arm at the top right, none at the foot.

    The reader looks into the material; to the right lies `across`, and up is what is left of a
    right-handed set of right, up, towards the reader.
    """
    towards = (-into[0], -into[1], -into[2])
    up = cross(towards, reading)
    middle = (20.0, 20.0, 20.0)
    surface = add(middle, into, -20.0)
    at = add(add(surface, reading, -4.0), up, -4.0)
    label = Label(at, into, reading, "F", 8.0, 1.0)
    solid = Difference(Box((40.0, 40.0, 40.0)), (Feature("label", label),))
    # F at a height of 8: its pen 1 mm wide runs 0.5 to 7.5 up, and its stem is the left one

    def depth(right: float, high: float) -> float:
        start = add(add(add(at, reading, right), up, high), into, -10.0)
        found = met(solid, start, into)
        assert found is not None
        return found - 10.0

    stem = next(i / 10 for i in range(80) if depth(i / 10, 4.0) > 0.3) + 0.5
    for high in (0.6, 2.0, 6.0, 7.4):
        assert depth(stem, high) == pytest.approx(0.6, abs=1e-4)
    assert depth(stem + 2.5, 7.4) == pytest.approx(0.6, abs=1e-4)
    assert depth(stem + 2.5, 0.6) == pytest.approx(0.0, abs=1e-4)
    assert stem < 2.0


def test_letters_follow_each_other_along_the_way_they_read() -> None:
    """In `L.` the stem stands before the dot."""
    label = Label((5.0, 5.0, TOP), DOWN, RIGHT, "L.", 8.0, 1.0)
    body = load(mesh(Difference(BLOCK, (Feature("label", label),))))
    places = [
        i / 10
        for i in range(50, 250)
        if body.ray_cast((i / 10, 9.5, 30.0), (i / 10, 9.5, 0.0))[0].distance * 30 > 10.3
    ]
    dots = [
        i / 10
        for i in range(50, 250)
        if body.ray_cast((i / 10, 5.5, 30.0), (i / 10, 5.5, 0.0))[0].distance * 30 > 10.3
    ]
    assert max(places) < max(dots) - 4.0
    assert min(places) < 7.0


@pytest.mark.parametrize(
    ("family", "values"),
    [
        ("corner-socket", {}),
        ("corner-socket", {"joint": "butt"}),
        ("corner-socket", {"angle": 30.0, "thickness": (3.0,)}),
        ("corner-socket", {"angle": 150.0, "grip": 15.0, "arm": 40.0}),
        ("spacer-block", {}),
        ("spacer-block", {"height": 12.0}),
        ("spacer-block", {"lip": 8.0}),
        ("slot-comb", {}),
        ("spacer-block", {"height": 400.0}),
    ],
)
def test_labels_are_engraved_whole(family: str, values: dict[str, object]) -> None:
    """What a label takes away is the area of its letters times its depth: none of it is air."""
    made = part(family, **values)
    plain = unlabelled(made.solid)
    whole = volume(mesh(plain))
    for feature, pose in features(made.solid):
        label = feature.recipe
        if not isinstance(label, Label):
            continue
        letters = [Polygon(o.corners()) for o in strokes(label.text, label.height, label.stroke)[0]]
        engraved = Difference(plain, (Placed(feature, pose),))
        taken = whole - volume(mesh(engraved))
        assert taken == pytest.approx(union_all(letters).area * label.depth, rel=0.002), label.text


# --- the tree -------------------------------------------------------------------------------


def test_features_are_found_with_the_pose_they_stand_in() -> None:
    inner = Placed(cut(RECIPES["slot"], "slot"), TILT)
    moved = Pose(at=(1.0, 2.0, 3.0))
    solid = Union(
        (Feature("body", Block(Pose(), rectangle(0, 0, 5, 5), 5.0)), Placed(inner, moved))
    )
    found = {feature.name: pose for feature, pose in features(solid)}
    assert list(found) == ["body", "slot"]
    assert found["body"] == Pose()
    assert found["slot"].apply((7.0, 8.0, 9.0)) == pytest.approx(
        add(TILT.apply((7.0, 8.0, 9.0)), moved.at)
    )


def test_rebuilding_changes_recipes_and_leaves_the_old_tree() -> None:
    old = Placed(cut(RECIPES["through hole"], "hole"), TILT)
    before = repr(old)
    new = rebuilt(old, lambda recipe, pose: recipe.moved(lambda face: -0.5))
    (feature, _), *_ = features(new)
    assert feature.recipe.fact("x").diameter == pytest.approx(9.0)
    assert repr(old) == before
    assert manifold.mesh(new).names == ("hole",)
