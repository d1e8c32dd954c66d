"""The virtual assembly, on slot blocks put together by hand: each wrong is caught by its check."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from manifold3d import Manifold

from fixtures.joints import (
    Bead,
    Bit,
    Panel,
    Path,
    Rest,
    Seat,
    Span,
    bead_in,
    bit_in,
    path_in,
    rest_in,
    seat_in,
    span_in,
)
from fixtures.kernels.manifold import load, mesh
from fixtures.mesh import Mesh
from fixtures.outline import circle, rectangle
from fixtures.proof import (
    Check,
    beads_clear,
    bits,
    hold,
    in_the_way,
    overlap,
    paths,
    rests,
    spans,
    swept,
    ways_off,
)
from fixtures.solid import (
    Box,
    Difference,
    EdgeBrokenExtrude,
    Placed,
    Pose,
    Solid,
    Union,
    Vec,
    frame,
)
from tests.parts.made import part, read_back

LENGTH, DEPTH, THICK, CLEARANCE = 60.0, 30.0, 18.0, 0.4
ACROSS, ALONG, OFF = (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
TILT = frame((3.0, -2.0, 5.0), (1.0, 2.0, 2.0), (2.0, 1.0, -2.0))
SWING = math.degrees(math.atan(CLEARANCE / LENGTH))
"""atan(clearance / arm): what the slot lets the panel turn."""


def box(low: Vec, high: Vec) -> Placed:
    size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
    return Placed(Box(size), Pose(at=low))


def slot_block(
    slot: float = THICK + CLEARANCE, *, wall_to: float = LENGTH, closed_ends: bool = False
) -> Solid:
    """A floor 5 high and two walls 6 thick about a slot along X, its middle at y = 0.

    wall_to: where the wall at +y ends; closed_ends: a wall across each end of the slot.
    """
    half, top = slot / 2, 5.0 + DEPTH
    parts: list[Solid] = [
        box((0.0, -half - 6.0, 0.0), (LENGTH, half + 6.0, 5.0)),
        box((0.0, -half - 6.0, 2.0), (LENGTH, -half, top)),
        box((0.0, half, 2.0), (wall_to, half + 6.0, top)),
    ]
    if closed_ends:
        parts += [
            box((-6.0, -half - 6.0, 0.0), (1.0, half + 6.0, top)),
            box((LENGTH - 1.0, -half - 6.0, 0.0), (LENGTH + 6.0, half + 6.0, top)),
        ]
    return Union(tuple(parts))


def panel(thick: float = THICK, start: float = -100.0, end: float = 160.0) -> Panel:
    """Standing on the floor, in the middle of the slot."""
    return Panel(
        "side",
        tuple(
            (x, y, z) for x in (start, end) for y in (-thick / 2, thick / 2) for z in (5.0, 200.0)
        ),
    )


def seat(thick: float = THICK, clearance: float = CLEARANCE, **changed: object) -> Seat:
    made = Seat(
        panel(thick),
        "slot",
        ACROSS,
        ALONG,
        OFF,
        (LENGTH / 2, 0.0, 5.0 + DEPTH / 2),
        LENGTH,
        DEPTH,
        clearance,
        SWING,
    )
    return replace(made, **changed)  # type: ignore[arg-type]


def failed(checks: tuple[Check, ...]) -> list[str]:
    """Names of what does not hold, without the panel's and slot's."""
    return [check.name.removeprefix("side in slot: ") for check in checks if not check.holds]


# --- the hold test --------------------------------------------------------------------------


def lifted(by: float, there: Panel) -> Panel:
    return Panel(there.name, tuple((x, y, z + by) for x, y, z in there.corners))


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_the_right_panel_is_held(pose: Pose) -> None:
    right = seat(panel=lifted(0.01, panel()))
    checks = hold(mesh(Placed(slot_block(), pose)), [seat_in(right, pose)])
    assert [check.name for check in checks] == [
        "side in slot: seated",
        "side in slot: play",
        "side in slot: held one way",
        "side in slot: held other way",
        "side in slot: swing one way",
        "side in slot: swing other way",
        "side in slot: engaged",
        "comes off",
    ]
    assert failed(checks) == []


def test_a_panel_standing_on_the_floor_only_touches_it() -> None:
    assert failed(hold(mesh(slot_block()), [seat()])) == []


def test_a_panel_standing_on_the_floor_only_touches_it_in_any_pose() -> None:
    for x, y, z in ((1, 2, 3), (-2, 1, 5), (4, 3, -1), (1, -1, 7)):
        pose = frame((10.0 * x, 10.0 * y, 0.0), (x, y, z), (z, x, y))
        checks = hold(mesh(Placed(slot_block(), pose)), [seat_in(seat(), pose)])
        assert failed(checks) == []


def test_a_slot_too_wide_holds_nothing() -> None:
    """0.2 mm more than stated: the panel goes past clearance / 2 + 0.05 mm and meets no wall."""
    checks = hold(mesh(slot_block(THICK + CLEARANCE + 0.2)), [seat()])
    assert failed(checks) == ["held one way", "held other way", "swing one way", "swing other way"]
    held = checks[2]
    assert held.measured == 0.0
    assert held.message == "moved 0.250 mm across, nothing stops it"


@pytest.mark.parametrize(("more", "holds"), [(0.08, True), (0.12, False)])
def test_the_play_is_known_to_a_twentieth(more: float, holds: bool) -> None:
    """Moved clearance / 2 + 0.05: an excess of 0.10 mm over both sides is the limit."""
    checks = hold(mesh(slot_block(THICK + CLEARANCE + more)), [seat(swing=None)])
    assert ("held one way" not in failed(checks)) is holds


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize(("less", "holds"), [(0.01, True), (0.03, False), (0.05, False)])
def test_a_slot_too_tight_has_not_its_play(less: float, holds: bool, pose: Pose) -> None:
    """Moved clearance / 2 - 0.01: the slot may want 0.02 mm over both sides, and no more."""
    narrow = Placed(slot_block(THICK + CLEARANCE - less), pose)
    checks = hold(mesh(narrow), [seat_in(seat(panel=lifted(0.01, panel())), pose)])
    assert failed(checks) == ([] if holds else ["play"])
    play = checks[1]
    assert ("the slot is tight: moved 0.190 mm across" in play.message) is not holds
    if not holds:
        # either way it runs less / 2 - 0.01 into 60 × 29.99 mm of wall
        deep = less / 2 - 0.01
        assert play.measured == pytest.approx(2 * deep * LENGTH * (DEPTH - 0.01), rel=0.02)


def test_a_slot_out_of_place_has_its_play_on_one_side_only() -> None:
    checks = hold(mesh(Placed(slot_block(), Pose(at=(0.0, 0.04, 0.0)))), [seat(swing=None)])
    assert failed(checks) == ["play"]
    # one way 0.03 mm into the wall
    assert checks[1].measured == pytest.approx(0.03 * LENGTH * DEPTH, rel=1e-3)


def test_a_slot_without_clearance_has_no_play_to_try() -> None:
    checks = hold(mesh(slot_block(THICK)), [seat(clearance=0.0, swing=None)])
    assert not any("play" in check.name for check in checks)


def test_a_slot_too_narrow_does_not_seat_the_panel() -> None:
    checks = hold(mesh(slot_block(THICK - 0.1)), [seat()])
    # nor does it come off: its walls are in the panel
    assert {"seated", "play", "comes off"} <= set(failed(checks))
    # 0.05 mm each side over 60 × 30 mm
    assert checks[0].measured == pytest.approx(2 * 0.05 * LENGTH * DEPTH, rel=1e-4)
    assert checks[0].unit == "mm³"
    assert checks[0].message.startswith("the panel in place runs into the fixture (180.0")


def test_a_touching_fit_is_no_collision() -> None:
    checks = hold(mesh(slot_block(THICK)), [seat(clearance=0.0, swing=None)])
    assert {"seated", "held one way", "held other way", "comes off"}.isdisjoint(failed(checks))


def test_a_touching_fit_is_engaged() -> None:
    checks = hold(mesh(slot_block(THICK)), [seat(clearance=0.0, swing=None)])
    assert failed(checks) == []


@pytest.mark.parametrize(("wall_to", "holds"), [(60.0, True), (50.0, True), (46.0, False)])
def test_a_wall_shorter_than_stated_is_not_engaged(wall_to: float, holds: bool) -> None:
    """Each wall faces at least 80 % of the stated length: 48 of 60 mm."""
    checks = hold(mesh(slot_block(wall_to=wall_to)), [seat(swing=None)])
    assert failed(checks) == ([] if holds else ["engaged"])
    engaged = next(check for check in checks if "engaged" in check.name)
    # twelve rays along the wall: known to a twelfth
    assert engaged.measured == pytest.approx(wall_to / LENGTH, abs=1 / 12)
    assert engaged.limit == 0.8


def test_a_wall_too_far_away_faces_nothing() -> None:
    checks = hold(mesh(slot_block(THICK + 3.0)), [seat(swing=None)])
    assert "engaged" in failed(checks)
    assert next(check for check in checks if "engaged" in check.name).measured == 0.0


def test_a_lid_over_the_slot_traps_the_panel() -> None:
    """A bar across the top of a short panel: seated and held, but it does not come off."""
    low = Panel(
        "side",
        tuple((x, y, z) for x in (2.0, 58.0) for y in (-9.0, 9.0) for z in (5.0, 30.0)),
    )
    lid = box((20.0, -12.0, 33.0), (40.0, 12.0, 40.0))
    checks = hold(mesh(Union((slot_block(), lid))), [seat(panel=low, swing=None)])
    assert failed(checks) == ["comes off"]
    assert checks[-1].message.startswith(
        "the fixture is trapped: material is in its way off (2520.000 mm³)"
    )  # 20 × 18 × 7 of the lid


def test_the_other_way_off_is_blocked_by_the_floor() -> None:
    checks = hold(mesh(slot_block()), [seat(off=(0.0, 0.0, -1.0), swing=None)])
    assert "comes off" in failed(checks)


@pytest.mark.parametrize(
    ("share", "holds"), [(1.0, True), (0.90, True), (0.80, False), (0.5, False)]
)
def test_a_swing_stated_too_small_is_caught(share: float, holds: bool) -> None:
    """Turned 1.2 × what is stated it must meet a wall, so less than 1 / 1.2 of the truth fails."""
    checks = hold(mesh(slot_block()), [seat(swing=share * SWING)])
    assert failed(checks) == ([] if holds else ["swing one way", "swing other way"])
    swings = [check for check in checks if "swing" in check.name]
    assert all(("the swing is more than stated" in c.message) is not holds for c in swings)


def test_a_thinner_panel_than_the_slot_is_for_is_loose() -> None:
    checks = hold(mesh(slot_block()), [seat(thick=THICK - 0.3)])
    assert "held one way" in failed(checks)


def test_two_panels_leave_together() -> None:
    """Panels of one path are let off as one: neither is tried against the other's wall."""
    other = seat_in(seat(), Pose(at=(0.0, 60.0, 0.0)))
    other = replace(other, panel=Panel("shelf", other.panel.corners), slot="slot_b")
    twin = Union((slot_block(), Placed(slot_block(), Pose(at=(0.0, 60.0, 0.0))), floor()))
    checks = hold(mesh(twin), [seat(), other])
    assert failed(checks) == []
    assert [check.name for check in checks].count("comes off") == 1


def floor() -> Placed:
    return box((10.0, 0.0, 0.0), (20.0, 60.0, 4.0))


def mirrored(point: Vec) -> Vec:
    return point[0], -point[1], point[2]


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"angle": 60.0},
        {"thickness_b": (12.6,)},
        {"joint": "butt"},
        {"joint": "butt", "thickness_b": (19.0,)},
        {"joint": "butt", "angle": 120.0, "thickness_b": (6.4,)},
    ],
    ids=["mitre", "sharp mitre", "mitre, B thicker", "butt", "butt, B thicker", "blunt butt"],
)
def test_a_set_serves_both_ends_of_a_joint(values: dict[str, object]) -> None:
    """On the other end it is turned over, so that A and B of the same joint have changed sides."""
    made, mate = part("corner-socket", **values), part("corner-socket", hand="left", **values)
    seats = [
        replace(
            one,
            panel=Panel(one.panel.name, tuple(map(mirrored, one.panel.corners))),
            normal=mirrored(one.normal),
            along=mirrored(one.along),
            centre=mirrored(one.centre),
        )
        for one in made.seats
    ]
    beads = [replace(b, start=mirrored(b.start), end=mirrored(b.end)) for b in made.beads]
    checks = hold(read_back(mate), seats) + beads_clear(read_back(mate), beads)
    assert [check.name for check in checks if not check.holds] == []
    if values.get("joint") == "butt":
        own = hold(read_back(mate), mate.seats) + beads_clear(read_back(mate), mate.beads)
        assert all(check.holds for check in own)
        assert made.mark != mate.mark
        wrong = hold(read_back(made), seats) + beads_clear(read_back(made), beads)
        assert not all(check.holds for check in wrong)
    else:
        assert made.mark == mate.mark


# --- ways off -------------------------------------------------------------------------------


def test_a_closed_slot_has_a_single_way_off() -> None:
    solid = slot_block(closed_ends=True)
    inside = panel(start=1.2, end=58.8)
    assert ways_off(mesh(solid), [inside], [ACROSS, ALONG]) == (OFF,)


def test_a_slot_open_at_its_ends_has_three_ways_off() -> None:
    made = ways_off(mesh(slot_block()), [panel(start=0.0, end=60.0)], [ACROSS, OFF])
    assert set(made) == {OFF, (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)}


def test_the_single_line_of_a_tilted_slot_is_found() -> None:
    """The only way is the cross product of its walls' normals: no direction at random hits it."""
    solid = slot_block(closed_ends=True)
    inside = lifted(0.01, panel(start=1.2, end=58.8))
    there = Panel("side", tuple(TILT.apply(corner) for corner in inside.corners))
    normals = [TILT.turn(ACROSS), TILT.turn(ALONG)]
    (way,) = ways_off(mesh(Placed(solid, TILT)), [there], normals)
    assert way == pytest.approx(TILT.turn(OFF))


def test_a_trapped_panel_has_no_way_off() -> None:
    box_in = Difference(
        box((-10.0, -20.0, 0.0), (70.0, 20.0, 50.0)), (box((0.0, -9.2, 5.0), (60.0, 9.2, 40.0)),)
    )
    inside = Panel(
        "side", tuple((x, y, z) for x in (1.0, 59.0) for y in (-9.0, 9.0) for z in (5.0, 39.0))
    )
    assert ways_off(mesh(box_in), [inside], [ACROSS, ALONG, OFF]) == ()


def test_a_hook_beyond_the_panels_own_length_is_in_the_way() -> None:
    """The whole way out is swept, not only the first step."""
    hook = Union((slot_block(), box((0.0, -15.2, 30.0), (10.0, -9.2, 260.0))))
    hooked = Union((hook, box((0.0, -15.2, 250.0), (10.0, 9.0, 260.0))))
    assert in_the_way(load(mesh(hook)), [panel(start=0.0, end=60.0)], OFF) == 0.0
    blocked = in_the_way(load(mesh(hooked)), [panel(start=0.0, end=60.0)], OFF)
    assert blocked == pytest.approx(10.0 * 18.0 * 10.0)


def test_what_a_panel_sweeps_is_the_hull_of_both_ends() -> None:
    """A box 2 × 3 × 4 swept 5 along a diagonal: its volume and that of its shadow times the way."""
    points = load(mesh(Box((2.0, 3.0, 4.0)))).to_mesh64().vert_properties[:, :3]
    way = (0.6, 0.8, 0.0)
    shadow = 0.6 * 3.0 * 4.0 + 0.8 * 2.0 * 4.0
    assert swept(points, way, 5.0).volume() == pytest.approx(24.0 + 5.0 * shadow)


# --- overlap --------------------------------------------------------------------------------


def body(low: Vec, high: Vec) -> Manifold:
    return load(mesh(box(low, high)))


@pytest.mark.parametrize(
    ("deep", "wanted"),
    [(0.0, 0.0), (5e-5, 0.0), (0.001, 0.1), (1.0, 100.0)],
    ids=["touching", "a rounding", "a micrometre", "a millimetre"],
)
def test_overlap_is_the_shared_volume_from_a_tenth_of_a_micrometre_on(
    deep: float, wanted: float
) -> None:
    one = body((0.0, 0.0, 0.0), (10.0, 10.0, 10.0))
    other = body((10.0 - deep, 0.0, 0.0), (20.0, 10.0, 10.0))
    assert overlap(one, other) == pytest.approx(wanted, rel=0.01)


def test_a_wide_touch_does_not_hide_a_small_clash() -> None:
    """Half a cubic millimetre of rounding over a face, and a cube of 0.3 mm truly in the way."""
    one = body((0.0, 0.0, 0.0), (100.0, 100.0, 10.0))
    other = body((0.0, 0.0, 10.0 - 5e-5), (100.0, 100.0, 20.0))
    assert overlap(one, other) == 0.0
    peg = body((120.0, 0.0, 0.0), (120.3, 0.3, 0.3))
    bar = body((119.0, -1.0, -1.0), (121.0, 1.0, 1.0))
    assert overlap(one + bar, other + peg) == pytest.approx(0.3**3, rel=1e-4)


# --- glue -----------------------------------------------------------------------------------


def channel(width: float) -> Mesh:
    """A block with an open channel along X, its floor at z = 10."""
    cut = box((-1.0, -width / 2, 10.0), (61.0, width / 2, 21.0))
    return mesh(Difference(box((0.0, -10.0, 0.0), (60.0, 10.0, 20.0)), (cut,)))


@pytest.mark.parametrize(("width", "room"), [(6.0, True), (3.1, True), (2.9, False)])
def test_a_bead_of_three_millimetres_wants_its_room(width: float, room: bool) -> None:
    bead = Bead("arris", (5.0, 0.0, 12.0), (55.0, 0.0, 12.0))
    (check,) = beads_clear(channel(width), [bead])
    assert check.holds is room
    assert check.name == "glue: arris"
    if room:
        assert check.message == "a 3 mm bead of glue has room"
    else:
        assert "would stick the fixture to the work" in check.message


def test_a_bead_is_as_thick_as_it_is_said_to_be() -> None:
    """Its volume is that of a cylinder, drawn round: tan(pi/24) 24 / pi = 1.0058 of it at most."""
    bead = Bead("arris", (5.0, 0.0, 12.0), (55.0, 0.0, 12.0), diameter=5.0)
    (check,) = beads_clear(mesh(box((0.0, -10.0, 0.0), (60.0, 10.0, 30.0))), [bead])
    assert check.measured == pytest.approx(math.pi * 2.5**2 * 50.0, rel=0.006)


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_bead_in_any_direction_is_found(pose: Pose) -> None:
    for end in ((50.0, 0.0, 12.0), (5.0, 40.0, 12.0), (5.0, 0.0, 60.0), (30.0, 20.0, 40.0)):
        bead = bead_in(Bead("line", (5.0, 0.0, 12.0), end), pose)
        solid = Placed(box((4.0, -1.0, 11.0), (6.0, 1.0, 13.0)), pose)
        assert not beads_clear(mesh(solid), [bead])[0].holds


# --- set sizes ------------------------------------------------------------------------------


def block(height: float, *, foot: float = 60.0, slope: float = 0.0) -> Mesh:
    """40 × 60 × height; foot: how much of its length stands on z = 0."""
    parts: list[Solid] = [
        box((0.0, 0.0, 2.0), (40.0, 60.0, height)),
        box((0.0, 0.0, 0.0), (40.0, foot, 3.0)),
    ]
    return mesh(Union(tuple(parts)))


SPAN = Span("height", (20.0, 30.0, 0.0), (20.0, 30.0, 100.0), 0.5 * 40.0 * 60.0)


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_right_size_holds(pose: Pose) -> None:
    solid = Placed(box((0.0, 0.0, 0.0), (40.0, 60.0, 100.0)), pose)
    checks = spans(mesh(solid), [span_in(SPAN, pose)])
    assert [check.name for check in checks] == ["height: foot", "height: head", "height: size"]
    assert all(check.holds for check in checks)
    assert checks[0].measured == pytest.approx(2400.0, rel=1e-6)
    assert checks[2].measured == pytest.approx(100.0, abs=1e-4)


@pytest.mark.parametrize(
    ("height", "holds"), [(100.004, True), (100.01, False), (99.99, False), (100.3, False)]
)
def test_a_wrong_size_is_measured_and_refused(height: float, holds: bool) -> None:
    size = spans(block(height), [SPAN])[2]
    assert size.holds is holds
    assert size.measured == pytest.approx(height, abs=1e-4)
    assert size.message == f"it measures {height:.3f} mm where 100.000 mm is wanted"


def test_a_size_far_off_is_no_size_at_all() -> None:
    """Where no face lies within half a millimetre there is nothing to measure."""
    checks = spans(block(110.0), [SPAN])
    assert [check.holds for check in checks] == [True, False, False]
    assert checks[1].measured == 0.0


@pytest.mark.parametrize(("foot", "holds"), [(40.0, True), (31.0, True), (29.0, False)])
def test_too_little_to_stand_on_is_refused(foot: float, holds: bool) -> None:
    checks = spans(block(100.0, foot=foot), [SPAN])
    assert checks[0].holds is holds
    assert checks[0].measured == pytest.approx(40.0 * foot, rel=1e-6)
    assert checks[1].holds
    assert checks[2].holds


def test_a_face_that_looks_the_wrong_way_bears_nothing() -> None:
    """A ceiling at the height of the head is no head."""
    hollow = Difference(
        box((0.0, 0.0, 0.0), (40.0, 60.0, 120.0)), (box((5.0, 5.0, 50.0), (35.0, 55.0, 100.0)),)
    )
    checks = spans(mesh(hollow), [SPAN])
    assert not checks[1].holds


# --- resting without being held -------------------------------------------------------------

ON_IT = Panel("side", tuple((x, y, z) for x in (0.0, 60.0) for y in (0.0, 40.0) for z in (5.0, 99)))
REST = Rest(ON_IT, "table", (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), 0.8 * 60.0 * 40.0)


def table(*more: Solid, width: float = 60.0, top: float = 5.0) -> Solid:
    return Union((box((0.0, 0.0, 0.0), (width, 40.0, top)), *more))


def rested(solid: Solid, rest: Rest = REST, pose: Pose | None = None) -> tuple[Check, ...]:
    pose = pose or Pose()
    return rests(mesh(Placed(solid, pose)), [rest_in(rest, pose)])


def not_rested(checks: tuple[Check, ...]) -> list[str]:
    return [check.name.removeprefix("side on table: ") for check in checks if not check.holds]


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_panel_that_lies_on_a_table_rests_on_all_of_it(pose: Pose) -> None:
    checks = rested(table(), pose=pose)
    assert [check.name for check in checks] == [
        "side on table: seated",
        "side on table: bears",
        "comes off",
    ]
    assert not_rested(checks) == []
    assert checks[1].measured == pytest.approx(60.0 * 40.0, rel=0.005)
    assert checks[1].limit == 0.8 * 60.0 * 40.0
    assert checks[1].unit == "mm²"


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize(("width", "holds"), [(49.0, True), (47.0, False)])
def test_a_panel_with_too_little_under_it_does_not_bear(
    width: float, holds: bool, pose: Pose
) -> None:
    """Four fifths of 60 mm are 48 mm."""
    checks = rested(table(width=width), pose=pose)
    assert not_rested(checks) == ([] if holds else ["bears"])
    assert checks[1].measured == pytest.approx(width * 40.0, rel=0.005)


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize(("gap", "holds"), [(0.001, True), (0.003, False), (0.02, False)])
def test_a_panel_that_stands_off_does_not_bear(gap: float, holds: bool, pose: Pose) -> None:
    """Pressed 0.01 mm, it meets the table over less than four fifths of that from 0.002 mm on."""
    checks = rested(table(top=5.0 - gap), pose=pose)
    assert not_rested(checks) == ([] if holds else ["bears"])


def test_a_panel_that_lies_askew_does_not_bear() -> None:
    """By 0.1° over 60 mm: it meets the table along a line."""
    askew = frame((0.0, 0.0, 0.0), (math.tan(math.radians(0.1)), 0.0, 1.0), (1.0, 0.0, 0.0))
    assert not_rested(rested(Placed(table(), askew))) == ["bears"]


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_table_too_high_is_in_the_panel(pose: Pose) -> None:
    checks = rested(table(top=5.1), pose=pose)
    assert not_rested(checks) == ["seated", "comes off"]
    assert checks[0].measured == pytest.approx(0.1 * 60.0 * 40.0, rel=1e-3)


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_roof_over_a_resting_panel_traps_it(pose: Pose) -> None:
    """The panel ends at z = 99; a bar over it leaves it seated, and no way off."""
    post = box((61.0, 0.0, 0.0), (65.0, 40.0, 110.0))
    foot = box((50.0, 0.0, 0.0), (65.0, 40.0, 4.0))
    roof = box((50.0, 0.0, 105.0), (65.0, 40.0, 110.0))
    checks = rested(table(post, foot, roof), pose=pose)
    assert not_rested(checks) == ["comes off"]
    assert checks[-1].measured == pytest.approx(10.0 * 40.0 * 5.0, rel=1e-3)
    assert not_rested(rested(table(post, foot), pose=pose)) == []


def test_panels_that_leave_on_different_ways_are_let_off_one_by_one() -> None:
    """Each leaves away from the table between them, and would run into it the other way."""
    below = Panel("shelf", tuple((x, y, z - 104.0 + 5.0) for x, y, z in ON_IT.corners))
    other = Rest(below, "underside", (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), 1900.0)
    checks = rests(mesh(table()), [REST, other])
    assert [check.name for check in checks].count("comes off") == 2
    assert all(check.holds for check in checks)
    wrong = replace(other, off=(0.0, 0.0, 1.0))
    assert not_rested(rests(mesh(table()), [REST, wrong])) == ["comes off"]


# --- a bit in its bore ----------------------------------------------------------------------

BIT = Bit("hole", (0.0, 0.0, 30.0), (0.0, 0.0, -1.0), 31.0, (0.0, 30.0), 8.0, 0.15)


def bored(diameter: float, *, at: float = 0.0, depth: float = 40.0, room: float = 0.0) -> Solid:
    """A block 30 high with a bore from above; room: of an opening to one side of it, mm wide."""
    cuts: list[Solid] = [
        Placed(EdgeBrokenExtrude((circle(diameter / 2),), depth), Pose(at=(at, 0.0, 31.0 - depth)))
    ]
    if room:
        chip_way = rectangle(0.0, -room / 2, 20.0, room / 2)
        cuts.append(Placed(EdgeBrokenExtrude((chip_way,), 12.0), Pose(at=(0.0, 0.0, -1.0))))
    return Difference(box((-15.0, -15.0, 0.0), (15.0, 15.0, 30.0)), tuple(cuts))


def drilled(solid: Solid, bit: Bit = BIT, pose: Pose | None = None) -> tuple[Check, ...]:
    pose = pose or Pose()
    return bits(mesh(Placed(solid, pose)), [bit_in(bit, pose)])


def not_drilled(checks: tuple[Check, ...]) -> list[str]:
    return [check.name.removeprefix("hole: ") for check in checks if not check.holds]


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize("size", [3.0, 8.0, 12.0, 20.0])
def test_a_bit_goes_through_a_bore_of_its_allowance(size: float, pose: Pose) -> None:
    checks = drilled(bored(size + 0.15), replace(BIT, diameter=size), pose)
    assert [check.name for check in checks] == ["hole: passes", "hole: guides"]
    assert not_drilled(checks) == []
    # the polygon lies about the circle, at most 0.01 mm off at its corners
    assert -1e-4 <= checks[1].measured - (size + 0.15) <= 0.0201
    assert checks[1].limit == pytest.approx(size + 0.15 + 0.02)


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
@pytest.mark.parametrize(
    ("diameter", "wrong"),
    [(8.01, []), (7.95, ["passes"]), (8.15, []), (8.20, ["guides"])],
)
def test_a_bore_too_tight_or_too_wide_is_known(
    diameter: float, wrong: list[str], pose: Pose
) -> None:
    """8.15 mm is meant: 0.02 mm more may be the polygon's, 0.05 mm more is a bore too wide."""
    assert not_drilled(drilled(bored(diameter), pose=pose)) == wrong


def test_a_bore_beside_its_place_stops_the_bit_and_guides_it_wrong() -> None:
    """0.2 mm aside: the bit hits its wall, and from its axis the far wall is 4.275 mm away."""
    checks = drilled(bored(8.15, at=0.2))
    assert not_drilled(checks) == ["passes", "guides"]
    assert checks[1].measured == pytest.approx(8.15 + 2 * 0.2, abs=0.02)


def test_a_bore_that_ends_early_stops_the_bit() -> None:
    """29 mm deep of 31: 1 mm of floor is left of the block, 8 mm across (pi r² h)."""
    checks = drilled(bored(8.15, depth=30.0))
    assert not_drilled(checks) == ["passes"]
    assert checks[0].measured == pytest.approx(math.pi * 4.0**2 * 1.0, rel=2e-3)


def test_a_bore_without_a_wall_guides_nothing() -> None:
    """Its last 11 mm are open to a chip way; a guide that claims to end above them is right."""
    open_below = bored(8.15, room=3.0)
    assert not_drilled(drilled(open_below)) == ["guides"]
    assert drilled(open_below)[1].measured == math.inf
    assert not_drilled(drilled(open_below, replace(BIT, guide=(0.0, 18.0)))) == []


# --- a way to be kept free ------------------------------------------------------------------


def strap(out: float, bend: float = 0.0) -> Path:
    """Two pieces of a strap 20 wide and 2 thick along X, lying `out` over z = 5; then it rises."""
    low, high = 5.0 + out, 7.0 + out
    straight = tuple((x, y, z) for x in (-50.0, 30.0) for y in (10.0, 30.0) for z in (low, high))
    risen = tuple(
        (x, y, z + (bend if x > 30.0 else 0.0))
        for x in (30.0, 110.0)
        for y in (10.0, 30.0)
        for z in (low, high)
    )
    return Path("strap", (straight, risen))


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_a_strap_over_a_table_is_free(pose: Pose) -> None:
    (check,) = paths(mesh(Placed(table(), pose)), [path_in(strap(0.001), pose)])
    assert check.holds
    assert (check.name, check.message) == ("path: strap", "the way is free")


@pytest.mark.parametrize("pose", [Pose(), TILT], ids=["upright", "tilted"])
def test_what_stands_in_any_piece_of_the_way_is_found(pose: Pose) -> None:
    for x in (20.0, 50.0):
        peg = box((x, 20.0, 4.0), (x + 4.0, 24.0, 6.0))
        (check,) = paths(mesh(Placed(table(peg), pose)), [path_in(strap(0.001), pose)])
        assert not check.holds
        assert check.measured == pytest.approx(4.0 * 4.0 * 0.999, rel=1e-3)
        assert check.message.startswith("the fixture is in the way (15.98")
    beside = box((20.0, 32.0, 4.0), (24.0, 36.0, 9.0))
    assert paths(mesh(Placed(table(beside), pose)), [path_in(strap(0.001), pose)])[0].holds


def test_a_strap_a_hair_too_low_is_in_the_way() -> None:
    assert paths(mesh(table()), [strap(0.0)])[0].holds
    assert not paths(mesh(table()), [strap(-0.001)])[0].holds
    # only the second piece dips into the table
    assert not paths(mesh(table()), [strap(0.001, bend=-4.0)])[0].holds
