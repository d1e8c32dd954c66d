"""Legs of a piece: where they stand, how they are cut, and what is refused, against plain vectors.

Nothing of ours works out an expected number here. Screw lengths sold: from memory; 2 mm short of
the other face and 2 diameters of hold: common practice, no source.
"""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest

from fixtures.assembly import BitInHand, Leg, Transferred, Use
from fixtures.batch import count
from fixtures.errors import Fault, InputError
from fixtures.kit import kit
from fixtures.piece.leg_words import cut_line, findings, hands, held_lines, leg_lines, long_edge
from fixtures.piece.legs import legs_in, legs_of
from fixtures.piece.panels import Panels, panels
from fixtures.piece.plan import plan
from fixtures.piece.tables import PieceFile
from fixtures.printer import Printer
from tests.piece.making import NAME, case, polygon, read, stock, tables

W, H, D, T = 620.0, 420.0, 300.0, 18.0
PRINTER = Printer()


def told(**legs: Any) -> dict[str, Any]:
    values = {"size": "28 mm", "length": "150 mm", "inset": "60 mm", **legs}
    return tables(thick=T, case=case(W, H, D), legs=values)


def piece_of(tables: dict[str, Any]) -> tuple[PieceFile, Panels]:
    piece = read(tables)
    return piece, panels(piece, NAME)


def made(tables: dict[str, Any]) -> tuple[Leg, ...]:
    piece, boards = piece_of(tables)
    return legs_in(legs_of(boards, piece, PRINTER))


def refused(tables: dict[str, Any]) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as found:
        made(tables)
    return found.value.faults


def _draws() -> list[tuple[float, float, float, float, str]]:
    luck = random.Random(11)
    return [
        (
            luck.uniform(0.0, 16.0),
            luck.uniform(0.0, 16.0),
            luck.uniform(60.0, 400.0),
            luck.uniform(60.0, 90.0),
            luck.choice(["round", "square"]),
        )
        for _ in range(25)
    ]


@pytest.mark.parametrize(("rake", "splay", "height", "inset", "section"), _draws())
def test_every_leg_is_a_straight_stick_from_its_place_to_the_floor(
    rake: float, splay: float, height: float, inset: float, section: str
) -> None:
    """Corners of each leg's body: square top, flat foot at the height asked for, leaning out."""
    legs = made(
        told(
            rake=f"{rake:.6f} deg",
            splay=f"{splay:.6f} deg",
            length=f"{height:.6f} mm",
            inset=f"{inset:.6f} mm",
            section=section,
        )
    )
    assert [leg.name for leg in legs] == [
        "leg front left", "leg front right", "leg rear left", "leg rear right"
    ]  # fmt: skip
    places = [(inset, inset), (W - inset, inset), (inset, D - inset), (W - inset, D - inset)]
    for leg, (x, y) in zip(legs, places, strict=True):
        out = np.array([math.copysign(1.0, x - W / 2), math.copysign(1.0, y - D / 2)])
        down = np.array(
            [out[0] * math.tan(math.radians(splay)), out[1] * math.tan(math.radians(rake)), -1.0]
        )
        landed = np.array([x, y, 0.0]) + height * down
        down /= np.linalg.norm(down)
        points = np.array(leg.body.shape)
        along = points @ down
        top = points[np.isclose(along, along.min(), atol=1e-6)]
        foot = points[np.isclose(points[:, 2], -height, atol=1e-6)]
        assert len(top) == len(foot) == len(points) // 2
        # middles of top and foot lie on the stick that starts at the leg's place
        assert np.allclose(foot.mean(axis=0), landed, atol=1e-5)
        start = top.mean(axis=0) - np.array([x, y, 0.0])
        assert np.linalg.norm(np.cross(start, down)) < 1e-6
        # cut list against the body: each long edge from a corner of the top to the foot
        runs = np.array([(-height - corner[2]) / down[2] for corner in top])
        assert leg.cut.longest == pytest.approx(runs.max(), abs=0.02)
        assert leg.cut.shortest == pytest.approx(runs.min(), abs=0.02)
        longest = top[np.argmax(runs)] - top.mean(axis=0)
        if max(rake, splay) > 1.0:
            assert longest[:2] @ down[:2] > 0


def test_legs_stand_under_the_base_where_there_is_one() -> None:
    overhang = {"front": "20 mm", "left": "30 mm", "right": "30 mm"}
    tables = told(inset="70 mm")
    tables["base"] = {"stock": "case", "overhang": overhang}
    first = made(tables)[0]
    assert first.over.name == "base board"
    # 70 mm in from the base's edges, which stand out 30 and 20 mm; its underside is T lower
    assert first.at == pytest.approx((-30.0 + 70.0, -20.0 + 70.0, -T))


def test_insets_are_measured_from_the_case_though_its_sides_run_past_the_bottom() -> None:
    """The bottom lies between sides of 18 mm: the leg is 60 mm from the side's outside, and its
    flange, 35.5 mm round it, must stay on the bottom."""
    tables = told(inset="60 mm")
    tables["case"]["corner"] = "sides-run"
    assert made(tables)[0].at == pytest.approx((60.0, 60.0, 0.0))
    tables["legs"]["inset"] = "40 mm"
    fault = refused(tables)[0]
    assert "over the left edge of the bottom" in fault.message
    wanted = float(fault.remedy.split("legs.inset to ")[1].split(" mm")[0])
    assert wanted == pytest.approx(18.0 + 35.3, abs=0.3)


def test_no_legs_table_is_no_legs() -> None:
    piece, boards = piece_of(tables(thick=T, case=case(W, H, D)))
    assert legs_of(boards, piece, PRINTER) == ()


# --- the flange under the piece -------------------------------------------------------------


def _square_reach(turned: float, lean: float) -> float:
    """Half of what a square flange takes across, turned: 28.3 mm bore, 5 mm of wall, #8 screws.

    Half its side: bore and wall as they lean, 1 mm, the head of 0.332 in, 3 mm of lip. The corners
    are cut off 3 mm along each edge.
    """
    half = 19.15 / math.cos(math.radians(lean)) + 1.0 + 0.332 * 25.4 + 3.0
    turn = math.radians(turned)
    corners = [(half - 3.0, half), (half, half - 3.0)]
    points = [(s * x, y) for x, y in corners for s in (1.0, -1.0)]
    points += [(-x, -y) for x, y in points]
    return max(x * math.cos(turn) - y * math.sin(turn) for x, y in points)


def test_a_square_flange_turned_on_the_diagonal_must_stay_on_the_base() -> None:
    """8° and 8° turn it by 45°: its corners then reach out farthest; the socket leans 6·tan on."""
    shift = 6.0 * math.tan(math.radians(8.0))  # of the flange's middle, each way
    lean = math.degrees(math.atan(math.sqrt(2.0) * math.tan(math.radians(8.0))))
    least = _square_reach(45.0, lean) + shift
    values = {"rake": "8 deg", "splay": "8 deg", "base": "square"}
    assert made(told(inset=f"{least + 0.01:.3f} mm", **values))
    fault = refused(told(inset=f"{least - 4.0:.3f} mm", **values))[0]
    assert fault.where == "legs.inset"
    assert "square flange" in fault.message
    assert "turned 45 deg" in fault.message
    assert "4 mm over the left edge of the bottom" in fault.message
    wanted = float(fault.remedy.split("legs.inset to ")[1].split(" mm")[0])
    assert least <= wanted <= least + 0.11
    assert made(told(inset=f"{wanted} mm", **values))
    assert 'base = "round"' in fault.remedy


def test_a_round_flange_takes_less_at_the_corner() -> None:
    """Screws at 60° from the sightline, a head and a lip of 3 mm outside the middle of each."""
    head = 0.332 * 25.4
    reach = (19.15 + 1.0 + head / 2) / math.sin(math.radians(60.0)) + head / 2 + 3.0
    assert made(told(inset=f"{reach + 0.01:.3f} mm"))
    fault = refused(told(inset=f"{reach - 2.0:.3f} mm"))[0]
    assert "2 mm over" in fault.message
    assert reach < _square_reach(45.0, 0.0)


def test_flanges_that_meet_are_refused() -> None:
    fault = refused(told(inset="130 mm"))[0]
    assert fault.where == "legs.inset"
    assert "one behind the other overlap" in fault.message
    less = float(fault.remedy.split("legs.inset to ")[1].split(" mm")[0])
    assert made(told(inset=f"{less} mm"))


def test_where_two_flanges_find_no_room_no_inset_is_advised() -> None:
    """Two of 71 mm do not stand behind each other in 120 mm."""
    tables = told(inset="40 mm")
    tables["case"]["depth"] = "120 mm"
    fault = refused(tables)[0]
    assert fault.remedy == "Use smaller legs, or a larger case."


# --- screws and their holes -----------------------------------------------------------------


def test_screws_are_the_longest_sold_that_stay_in_the_board() -> None:
    """6 mm of flange and 18 mm of board less 2 mm: 22 mm, and 20 mm are sold."""
    assert made(told())[0].socket["screw_length"] == 20.0
    inches = told()
    inches["piece"] = {"units": "in"}
    assert made(inches)[0].socket["screw_length"] == pytest.approx(0.75 * 25.4)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"screw_length": "30 mm"}, "come out 6 mm on its other side"),
        ({"screw_length": "23 mm"}, "leave 1 mm of it"),
        ({"screw_length": "12 mm"}, "8.33 mm"),
    ],
)
def test_screws_that_cannot_stay_or_hold_are_refused(values: dict[str, str], says: str) -> None:
    fault = refused(told(**values))[0]
    assert fault.where == "legs.screw_length"
    assert says in fault.message
    assert "22 mm" in fault.remedy


def test_a_board_too_thin_for_any_screw_is_refused() -> None:
    thin = tables(
        thick=T,
        stocks={"thin": stock(9.0)},
        case=case(W, H, D, corner="sides-run", stocks={"bottom": "thin"}),
        legs={"size": "28 mm", "length": "150 mm", "inset": "60 mm"},
    )
    fault = refused(thin)[0]
    assert fault.where == "legs.screw"
    assert "[base]" in fault.remedy


def test_a_length_that_is_not_sold_is_asked_for() -> None:
    """3.5 mm screws under 9 mm: 6 + 7 mm to hold, 6 + 9 - 2 mm at most."""
    thin = tables(
        thick=T,
        stocks={"thin": stock(9.0)},
        case=case(W, H, D, corner="sides-run", stocks={"bottom": "thin"}),
        legs={"size": "28 mm", "length": "150 mm", "inset": "60 mm", "screw": "3.5 mm"},
    )
    fault = refused(thin)[0]
    assert "13 mm to 13 mm" in fault.message
    thin["legs"]["screw_length"] = "13 mm"
    assert made(thin)


def test_pilot_holes_lie_under_the_sockets_and_stay_in_the_board() -> None:
    piece, boards = piece_of(told(rake="8 deg", splay="12 deg"))
    joints = legs_of(boards, piece, PRINTER)
    rows = [joint for joint in joints if isinstance(joint, Transferred)]
    assert [len(row.at) for row in rows] == [4, 4, 4, 4]
    for leg, row in zip(legs_in(joints), rows, strict=True):
        middle = np.array(row.at).mean(axis=0)
        # the flange's middle is where the leaning socket leaves the flange, 6 mm down the leg
        wanted = np.array(leg.at) + 6.0 * np.array(leg.down) / -leg.down[2]
        assert np.allclose(middle[:2], wanted[:2], atol=1e-6)
        edge = W if leg.name.endswith("right") else 0.0
        for (x, y, z), (front, end) in zip(row.at, row.where, strict=True):
            assert (front, end) == pytest.approx((y, abs(x - edge)))
            assert z == pytest.approx(0.0)
        # tip no deeper than the screw's, 20 - 6 mm; a 118° point is 0.3 of the diameter
        assert row.depth + 0.3 * row.diameter <= 14.0 + 0.01
        # #8 in softwood: 5/64 to 6/64 in (common practice)
        assert 5 / 64 * 25.4 <= row.diameter <= 6 / 64 * 25.4 + 1e-9


def test_a_bit_with_a_long_point_drills_less_deep() -> None:
    """A brad runs 2.5 mm ahead (common practice): its point then reaches the 14 mm as well."""
    piece, boards = piece_of(told(pilot="3 mm"))
    bits = (BitInHand(3.0, 60.0, "brad"),)
    rows = [j for j in legs_of(boards, piece, PRINTER, bits) if isinstance(j, Transferred)]
    assert {round(row.depth, 6) for row in rows} == {11.5}


def test_pilots_that_meet_a_groove_or_a_pin_are_refused_with_what_moves_them() -> None:
    """Rear screws 33 and 60 mm from the rear edge: a groove 25 to 35 mm from it is met."""
    tables = told(inset="60 mm", screw_length="20 mm")
    tables["stock"]["back"] = stock(6.0)
    tables["case"]["back"] = {
        "stock": "back", "fit": "groove", "groove_width": "20 mm", "groove_land": "30 mm"
    }  # fmt: skip
    with pytest.raises(InputError) as found:
        kit(read(tables), NAME)
    legs = [fault for fault in found.value.faults if fault.where.startswith("leg rear")]
    assert legs
    assert all("legs.inset" in fault.remedy for fault in legs)


def test_a_pilot_of_ones_own_is_taken() -> None:
    piece, boards = piece_of(told(pilot="3 mm"))
    rows = [j for j in legs_of(boards, piece, PRINTER) if isinstance(j, Transferred)]
    assert {row.diameter for row in rows} == {3.0}


# --- refusals -------------------------------------------------------------------------------


def test_what_is_wrong_with_the_legs_is_told_under_their_keys() -> None:
    wrong = refused(told(rake="19 deg", splay="18 deg", depth="16 mm"))
    assert [fault.where for fault in wrong] == ["legs.rake"]
    wrong = refused(told(depth="16 mm"))
    assert [fault.where for fault in wrong] == ["legs.depth"]
    assert "legs.depth 23 mm" in wrong[0].remedy  # 0.8 × 28 mm
    assert refused(told(screw="#14"))[0].where == "legs.screw"
    assert "--" not in " ".join(fault.remedy for fault in wrong)


def test_readings_that_are_not_those_of_the_size_are_refused() -> None:
    fault = refused(told(readings=["28.1 mm", "38.1 mm"]))[0]
    assert fault.where == "legs.readings"
    assert "38.1 mm" in fault.message


def test_a_ring_has_no_legs_and_a_plinth_is_refused_with_them() -> None:
    legs = {"size": "28 mm", "length": "150 mm", "inset": "60 mm"}
    ring = tables(thick=T, polygon=polygon(6, 300.0), legs=legs)
    assert refused(ring)[0].where == "legs"
    both = {**told(), "plinth": {"height": "80 mm", "stock": "case"}}
    with pytest.raises(InputError) as found:
        piece_of(both)
    assert any("[legs]" in fault.message for fault in found.value.faults)


def test_a_wish_about_what_follows_from_the_piece_is_refused() -> None:
    tables = told()
    tables["fixtures"] = [{"family": "leg-socket", "parameters": {"wall": "7 mm"}}]
    piece, boards = piece_of(tables)
    with pytest.raises(InputError) as found:
        plan(legs_of(boards, piece, PRINTER), piece, PRINTER, ())
    assert found.value.faults[0].where == "fixtures.leg-socket.wall"


def test_legs_without_their_sockets_are_refused() -> None:
    """How long they are cut follows from the sockets."""
    tables = told()
    tables["fixtures"] = [{"family": "leg-socket", "use": False}]
    fault = refused(tables)[0]
    assert fault.where == "fixtures.leg-socket.use"
    assert "[legs]" in fault.remedy


# --- what serves, and what is said ----------------------------------------------------------


def _uses(tables: dict[str, Any]) -> list[tuple[str, Use]]:
    piece, boards = piece_of(tables)
    planned = plan(legs_of(boards, piece, PRINTER), piece, PRINTER, ())
    assert not planned.findings
    return [(fixture.name, use) for fixture in planned.fixtures for use in fixture.uses]


def test_round_legs_take_four_sockets_alike_and_square_ones_two_of_each_hand() -> None:
    lean = {"rake": "8 deg", "splay": "12 deg"}
    assert len({name for name, _ in _uses(told(**lean))}) == 1
    square = _uses(told(section="square", **lean))
    names: dict[str, list[str]] = {}
    for name, use in square:
        names.setdefault(name, []).append(use.joint)
    assert sorted(names.values()) == [
        ["leg front left", "leg rear right"],
        ["leg front right", "leg rear left"],
    ]


def test_sockets_are_a_part_of_every_copy() -> None:
    """Four a piece: 12 copies take 48, however few are put together at once."""
    piece, boards = piece_of(told())
    joints = legs_of(boards, piece, PRINTER)
    fixture = plan(joints, piece, PRINTER, ()).fixtures[0]
    assert [count(fixture, joints, 12, at).in_use for at in (1, 3, 12)] == [48, 48, 48]


def test_a_square_legs_front_face_stays_parallel_to_the_front() -> None:
    for leg in made(told(section="square", rake="8 deg", splay="12 deg")):
        points = np.array(leg.body.shape)
        foot = points[np.isclose(points[:, 2], -150.0, atol=1e-6)]
        edges = [b - a for i, a in enumerate(foot) for b in foot[i + 1 :]]
        # on the floor, the lower edges of its front and rear faces run from left to right
        level = [edge for edge in edges if abs(edge[1]) < 1e-6]
        assert len(level) == 2
        assert all(abs(edge[0]) > 28.0 for edge in level)


def test_the_lines_tell_every_number_there_is_to_set() -> None:
    """8° and 12°: resultant 14.2957° and sightline 56.5276° by the closed form."""
    lines = " ".join(leg_lines(made(told(rake="8 deg", splay="12 deg")), "mm"))
    for text in (
        "14.3 deg",
        "56.53 deg",
        "60 mm in from both outer faces of the case",
        "16 #8 flat-head",
        "150 mm",
    ):
        assert text in lines
    along, across = (150.0 * math.tan(math.radians(angle)) for angle in (8.0, 12.0))
    assert f"{along:.2f} mm out fore and aft and {across:.2f} mm out sideways" in lines
    upright = " ".join(leg_lines(made(told()), "mm"))
    assert "sightline" not in upright
    assert "both ends square" in upright


def test_where_the_feet_stand_is_told_in_numbers_and_no_load_is_rated() -> None:
    piece, boards = piece_of(told(rake="8 deg", splay="12 deg"))
    found = {f.check: f for f in findings(boards, legs_of(boards, piece, PRINTER), "mm")}
    tips = found["can-tip"]
    wide = W - 2 * 60.0 + 2 * 150.0 * math.tan(math.radians(12.0))
    deep = D - 2 * 60.0 + 2 * 150.0 * math.tan(math.radians(8.0))
    assert f"{wide:.2f} mm by {deep:.2f} mm" in tips.message
    # the empty case's middle is half its height over the legs
    lean = math.degrees(math.atan2(deep / 2, H / 2 + 150.0))
    assert tips.measured == pytest.approx(lean, abs=1e-6)
    assert tips.severity == "note"
    assert "rates a load" in tips.remedy
    assert found["stock-readings"].message.startswith("legs")


def test_square_legs_that_lean_both_ways_are_told_two_and_two_with_the_side_each_falls_to() -> None:
    """By vectors: seen square on the outer face, the leg's top up, its longest edge at the foot
    lies on the side that is told. The other two legs are mirror images."""
    legs = made(told(section="square", rake="10 deg", splay="6 deg"))
    assert [[leg.name for leg in own] for _, own in hands(legs)] == [
        ["leg front left", "leg rear right"],
        ["leg front right", "leg rear left"],
    ]
    for leg in legs:
        down = np.array(leg.down)
        out = np.array([0.0, -1.0 if "front" in leg.name else 1.0, 0.0])
        normal = out - (out @ down) * down
        # looking against the face's normal with the top up: right is the way of looking × up
        right = np.cross(-normal, -down)
        foot = [np.array(c) for c in leg.body.shape if np.isclose(c[2], -150.0, atol=1e-6)]
        face = sorted(foot, key=lambda corner: corner @ normal)[2:]
        longest, other = sorted(face, key=lambda corner: -(corner @ down))
        assert longest @ down > max(c @ down for c in foot if c is not longest)
        side = "right" if (longest - other) @ right > 0 else "left"
        assert long_edge(leg) == side
        assert f"falling to the {side}" in cut_line(leg, "mm")
    lines = leg_lines(legs, "mm")
    assert any("legs front left and rear right" in line for line in lines)
    assert any("mirror images" in line for line in lines)


@pytest.mark.parametrize(
    "legs",
    [
        {"section": "round", "rake": "10 deg", "splay": "6 deg"},
        {"section": "square", "rake": "10 deg"},
        {"section": "square", "splay": "6 deg"},
    ],
)
def test_legs_without_hands_are_told_as_four_alike(legs: dict[str, str]) -> None:
    found = made(told(**legs))
    ((which, own),) = hands(found)
    assert (which, len(own)) == ("legs", 4)
    assert not any("mirror" in line for line in leg_lines(found, "mm"))


def test_short_round_legs_are_held_from_rolling() -> None:
    round_legs, square_legs = (
        " ".join(held_lines(made(told(section=section, rake="8 deg")), "mm"))
        for section in ("round", "square")
    )
    assert "V-cradle" in round_legs
    assert "V-cradle" not in square_legs
    assert "too short" in square_legs
