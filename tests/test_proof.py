"""The virtual assembly, on slot blocks put together by hand: each wrong is caught by its check."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from manifold3d import Manifold

from fixtures.joints import Bead, Panel, Seat, Span, bead_in, seat_in, span_in
from fixtures.kernels.manifold import load, mesh
from fixtures.mesh import Mesh
from fixtures.proof import (
    Check,
    beads_clear,
    hold,
    in_the_way,
    overlap,
    spans,
    swept,
    ways_off,
)
from fixtures.solid import Box, Difference, Placed, Pose, Solid, Union, Vec, frame
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
    held = checks[1]
    assert held.measured == 0.0
    assert held.message == "moved 0.250 mm across, nothing stops it"


@pytest.mark.parametrize(("more", "holds"), [(0.08, True), (0.12, False)])
def test_the_play_is_known_to_a_twentieth(more: float, holds: bool) -> None:
    """Moved clearance / 2 + 0.05: an excess of 0.10 mm over both sides is the limit."""
    checks = hold(mesh(slot_block(THICK + CLEARANCE + more)), [seat(swing=None)])
    assert ("held one way" not in failed(checks)) is holds


def test_a_slot_too_narrow_does_not_seat_the_panel() -> None:
    checks = hold(mesh(slot_block(THICK - 0.1)), [seat()])
    # nor does it come off: its walls are in the panel
    assert {"seated", "comes off"} <= set(failed(checks))
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
