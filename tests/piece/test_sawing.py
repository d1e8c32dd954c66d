"""Set-ups of the saw: sizes by cutting boards anew in the plane, limits on both sides, every board
once. Limits without a source are common practice."""

from __future__ import annotations

import doctest
import math
from typing import TypeAlias

import pytest

from fixtures.errors import InputError
from fixtures.piece import saw as saw_module
from fixtures.piece import sawing as sawing_module
from fixtures.piece.blanks import Blank, blanks
from fixtures.piece.panels import panels
from fixtures.piece.saw import fence_refused, sled_refused, tilt_of, tilt_refused
from fixtures.piece.sawing import Sawing, SetUp, cut_within, sawing, set_ups, title
from fixtures.piece.tables import PieceFile, SawTable
from tests.piece.making import NAME, Tables, case, draw, mm, polygon, read, shelf, stock, tables

SAME = 1e-6
SAW = SawTable()

Point: TypeAlias = tuple[float, float]


def sawn(told: Tables) -> Sawing:
    piece = read(told)
    return sawing(piece, panels(piece, NAME))


def of_kind(found: Sawing, kind: str) -> list[SetUp]:
    return [one for one in found.set_ups if one.kind == kind]


# --- a cut, worked out anew --------------------------------------------------------------------


def kept(profile: list[Point], at: float, tilt: float) -> list[Point]:
    """What lies on the stop's side of a blade that leaves the table at x = at and leans away from
    the stop at x = 0; profile: (along, above the table). Cut by half plane (Sutherland-Hodgman)."""
    lean = math.tan(math.radians(tilt))

    def over(p: Point) -> float:
        return p[0] - (at + p[1] * lean)

    left: list[Point] = []
    for a, b in zip(profile, profile[1:] + profile[:1], strict=True):
        if over(a) <= 0:
            left.append(a)
        if (over(a) < 0 < over(b)) or (over(b) < 0 < over(a)):
            share = over(a) / (over(a) - over(b))
            left.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))
    return left


def turned(profile: list[Point]) -> list[Point]:
    """The same board end for end, against the stop again, the same face up."""
    far = max(x for x, _ in profile)
    return [(far - x, y) for x, y in reversed(profile)]


def bevelled(one: SetUp, square: float, thick: float) -> list[Point]:
    board = [(0.0, 0.0), (square, 0.0), (square, thick), (0.0, thick)]
    first = kept(board, one.distance, one.tilt)
    return kept(turned(first), one.distance, one.tilt)


def length_at(profile: list[Point], height: float) -> float:
    places = [x for x, y in profile if abs(y - height) < SAME]
    return max(places) - min(places)


@pytest.mark.parametrize(("sides", "short"), [(4, 264.000), (6, 279.215), (8, 285.088)])
def test_a_mitred_board_is_as_long_inside_as_trigonometry_says(sides: int, short: float) -> None:
    # long point less t tan(180/n) at either end, for t = 18 mm and 300 mm, worked out by hand
    found = sawn(tables(thick=18.0, polygon=polygon(sides, 300.0, 400.0)))
    (one,) = of_kind(found, "bevel")
    assert one.tilt == pytest.approx(180.0 / sides)
    assert one.lower == pytest.approx(short, abs=0.001)


@pytest.mark.parametrize("land", [0.0, 0.3, 1.5])
@pytest.mark.parametrize("sides", [4, 5, 6, 8, 12])
def test_the_stop_s_distance_cuts_both_ends_of_a_board_as_the_ring_wants(
    sides: int, land: float
) -> None:
    thick, length = 18.0, 420.0
    told = tables(thick=thick, polygon=polygon(sides, length, 250.0), saw={"land": mm(land)})
    found = sawn(told)
    (one,) = of_kind(found, "bevel")
    (cross,) = [c for c in of_kind(found, "crosscut") if c.tilt == 0.0]
    profile = bevelled(one, cross.distance, thick)
    assert length_at(profile, thick) == pytest.approx(one.upper, abs=SAME)
    assert length_at(profile, 0.0) == pytest.approx(one.lower, abs=SAME)
    # the land is the upright bit below the upper arris
    far = max(x for x, _ in profile)
    upright = [y for x, y in profile if abs(x - far) < SAME]
    assert thick - min(upright) == pytest.approx(land, abs=SAME)
    # the mitre's plane goes on to the corner of the outline as drawn
    slope = math.tan(math.radians(180.0 / sides))
    tip = max(x for x, y in profile if abs(y) < SAME) + thick * slope
    near = min(x for x, y in profile if abs(y) < SAME) - thick * slope
    assert tip - near == pytest.approx(length, abs=SAME)


def test_mitres_of_a_ring_meet_all_round() -> None:
    # 2n bevels of the tilt turn the ring by 360 degrees
    for sides in range(4, 13):
        found = sawn(tables(thick=12.0, polygon=polygon(sides, 500.0, 200.0)))
        (one,) = of_kind(found, "bevel")
        assert 2 * one.test * one.tilt == pytest.approx(360.0)


def test_a_spline_s_slot_is_square_to_the_mitre_and_stays_inside() -> None:
    thick, kerf, land = 18.0, 3.2, 0.3
    told = tables(thick=thick, case=case(600.0, 500.0, 250.0))
    found = sawn(told)
    (slot,) = of_kind(found, "spline slot")
    assert slot.tilt == 45.0
    # outside face up; the long point's land at the stop, x from the stop, y above the table
    short = (thick - land) * 1.0
    mitre = ((short, 0.0), (0.0, thick - land))
    lean = (math.sin(math.pi / 4), math.cos(math.pi / 4))  # along the blade, away from the stop
    face = (mitre[1][0] - mitre[0][0], mitre[1][1] - mitre[0][1])
    assert face[0] * lean[0] + face[1] * lean[1] == pytest.approx(0.0, abs=SAME)
    # the blade's middle plane, from where it leaves the table
    start = (slot.distance + kerf / 2 / lean[1], 0.0)
    # where it meets the mitre x + y = short
    run = (short - start[0]) / (lean[0] + lean[1])
    assert run > 0  # the blade comes from the air below the mitre
    meets = (start[0] + run * lean[0], run * lean[1])
    from_inside = math.dist(meets, mitre[0])
    assert from_inside == pytest.approx(math.hypot(thick, thick) / 4, abs=SAME)
    assert from_inside - kerf / 2 > 1.5
    end = (meets[0] + slot.deep * lean[0], meets[1] + slot.deep * lean[1])
    corners = [end[1] + sign * kerf / 2 * lean[0] for sign in (-1, 1)]
    assert slot.height == pytest.approx(max(corners), abs=SAME)
    assert max(corners) < 0.75 * thick
    assert slot.deep == pytest.approx(math.hypot(thick, thick) / 4, abs=SAME)
    assert sum(share.cuts for share in slot.shares) == 8


@pytest.mark.parametrize(("thick", "there"), [(8.8, True), (8.7, False)])
def test_a_slot_wants_wood_to_the_inside_face(thick: float, there: bool) -> None:
    # a quarter of the face, t/(4 cos 45), less half a kerf of 3.2, is 1.5 mm at t = 8.77 mm
    found = sawn(tables(thick=thick, case=case(600.0, 500.0, 250.0)))
    assert bool(of_kind(found, "spline slot")) is there
    assert [f.check for f in found.findings] == ([] if there else ["spline-slot"])


def test_a_slot_square_to_another_mitre_is_no_cut_of_a_table_saw() -> None:
    found = sawn(tables(thick=18.0, polygon=polygon(6, 420.0)))
    assert not of_kind(found, "spline slot")
    (finding,) = found.findings
    assert finding.message == (
        "A slot square to a bevel of 30 deg wants the blade 60 deg off square, over 45 deg: that "
        "is no set-up of a table saw."
    )


@pytest.mark.parametrize(("error", "gap"), [(0.10, 0.089), (0.25, 0.222), (0.50, 0.444)])
def test_an_error_on_both_cuts_opens_a_mitre_by_twice_it(error: float, gap: float) -> None:
    # an 18 mm board's mitre face is 25.456 mm; gap = 25.456 tan 2e, worked out by hand
    assert cut_within(gap, 18.0, 45.0, 1) == pytest.approx(error, abs=0.001)
    assert cut_within(gap, 18.0, 45.0, 4) == pytest.approx(error / 4, abs=0.001)


def test_examples_in_the_docstrings_run() -> None:
    for module in (saw_module, sawing_module):
        failed, tried = doctest.testmod(module)
        assert (failed, tried > 0) == (0, True)


@pytest.mark.parametrize("error", [0.1, -0.1])
def test_a_ring_cut_with_too_much_tilt_gapes_on_the_inside(error: float) -> None:
    # four boards laid on by their mitres, tip to tip, by vectors: what is between the last face and
    # the first. With less tilt they overlap from the tips on, so that pressed together they gape
    # outside. The sheet says which way to change the tilt by it.
    thick, length, tilt = 18.0, 300.0, math.radians(45.0 + error)
    at, way = complex(0.0, 0.0), complex(1.0, 0.0)  # along the outside faces; inside on the left
    first = complex(thick * math.tan(tilt), thick)  # from tip to inner arris at the start
    for i in range(4):
        tip = at + length * way
        inner = tip + complex(-thick * math.tan(tilt), thick) * way
        if i < 3:
            turn = 2 * tilt
            at, way = tip, way * complex(math.cos(turn), math.sin(turn))
    last = inner - tip
    # from the tips: the first board fills 0 to its face, the last its own face to 90 degrees. Where
    # the last's face comes after the first's nothing is between, and the tips meet: open inside.
    empty = math.degrees(math.atan2((last / first).imag, (last / first).real))
    assert empty == pytest.approx(8 * error, abs=1e-9)


# --- what a saw can be asked for ---------------------------------------------------------------


def test_a_cut_of_620_mm_on_an_edge_of_300_mm_is_refused() -> None:
    refused = fence_refused(620.0, 300.0, 0.0, SAW)
    assert refused is not None
    assert (refused.measured, refused.limit) == (620.0, 300.0)
    assert refused.message == (
        "A cut 620 mm from the fence on an edge of 300 mm: the board can swing and be thrown back. "
        "The edge on the fence must be as long as the distance to the blade."
    )
    assert refused.remedy == "Use a sled with a stop block."
    bevel = fence_refused(620.0, 300.0, 45.0, SAW)
    assert bevel is not None
    assert bevel.remedy == ("Use a sled with a stop block, or bevel a long blank, then crosscut.")


@pytest.mark.parametrize(
    ("distance", "edge", "goes"),
    [
        (300.0, 300.0, True),
        (300.1, 300.0, False),
        (100.0, 300.0, True),
        (100.0, 299.9, False),
        (760.0, 900.0, True),
        (760.1, 900.0, False),
    ],
)
def test_the_fence_takes_what_its_edge_and_its_reach_allow(
    distance: float, edge: float, goes: bool
) -> None:
    assert (fence_refused(distance, edge, 0.0, SAW) is None) is goes


@pytest.mark.parametrize(
    ("width", "distance", "goes"),
    [(600.0, 1200.0, True), (600.1, 500.0, False), (200.0, 1200.1, False)],
)
def test_the_sled_takes_what_its_width_and_its_stop_allow(
    width: float, distance: float, goes: bool
) -> None:
    assert (sled_refused(width, distance, SAW) is None) is goes


def test_a_blade_tilts_to_45_degrees_and_no_more() -> None:
    assert tilt_refused(45.0, SAW) is None
    refused = tilt_refused(45.1, SAW)
    assert refused is not None
    assert refused.message.endswith("that is no set-up of this saw.")
    assert [tilt_of(corner) for corner in (90.0, 135.0, 60.0)] == [45.0, 22.5, 60.0]


def test_without_a_sled_a_long_board_on_a_short_edge_is_no_cut_of_this_saw() -> None:
    told = tables(
        thick=18.0, case=case(500.0, 620.0, 300.0, corner="sides-run"), saw={"sled": "0 mm"}
    )
    found = sawn(told)
    (sides,) = [one for one in of_kind(found, "crosscut") if one.distance == 620.0]
    assert sides.way == "guide"
    finding = next(f for f in found.findings if "right" in f.message)
    assert finding.check == "saw-reach"
    assert "A cut 620 mm from the fence on an edge of 300 mm" in finding.message


def test_a_triangle_s_boards_get_no_bevel_here() -> None:
    found = sawn(tables(thick=18.0, polygon=polygon(3, 420.0)))
    assert not of_kind(found, "bevel")
    assert of_kind(found, "crosscut")


def test_a_saw_that_tilts_less_says_so() -> None:
    found = sawn(tables(thick=18.0, case=case(), saw={"tilt": "40 deg"}))
    assert not of_kind(found, "bevel")
    assert "saw-tilt" in {finding.check for finding in found.findings}


# --- which boards, in which order --------------------------------------------------------------


def test_boards_of_one_width_share_a_fence_and_of_one_length_a_stop() -> None:
    found = sawn(tables(thick=18.0, case=case(600.0, 500.0, 250.0)))
    (rip,) = of_kind(found, "rip")
    assert rip.boards == ("bottom", "top", "right", "left")
    assert rip.distance == 250.0
    # 600 and 500, less two lands of 0.3 mm at 45 degrees, the longest first
    assert [(one.distance, one.boards) for one in of_kind(found, "crosscut")] == [
        (pytest.approx(599.4), ("bottom", "top")),
        (pytest.approx(499.4), ("right", "left")),
    ]
    # the blade at the table: the same less (18 - 0.3) tan 45
    assert [one.distance for one in of_kind(found, "bevel")] == [
        pytest.approx(581.7),
        pytest.approx(481.7),
    ]
    assert [one.number for one in found.set_ups] == list(range(1, len(found.set_ups) + 1))


def test_short_mitred_boards_come_from_a_long_blank() -> None:
    told = tables(thick=18.0, polygon=polygon(8, 160.0, 180.0), piece={"copies": 3})
    found = sawn(told)
    (blank,) = found.blanks
    # 24 boards, 180 mm and a kerf each: 6 go into the 1200 mm between the trims
    assert (blank.holds, blank.count, blank.each) == ("long blank", 4, 6)
    assert blank.width == pytest.approx(6 * 180 + 5 * 3.2 + 3)
    (bevel,) = of_kind(found, "bevel")
    assert bevel.way == "fence"
    assert bevel.cuts == 8
    assert found.set_ups[-1].kind == "crosscut"
    assert found.set_ups[-1].distance == 180.0


def test_long_blanks_are_slotted_along_the_fence_before_they_are_parted() -> None:
    told = tables(thick=12.0, case=case(400.0, 250.0, 180.0), piece={"copies": 4})
    found = sawn(told)
    slots = {one.way: one for one in of_kind(found, "spline slot")}
    assert slots["sled"].boards == ("bottom", "top")
    assert slots["fence"].boards == ("right", "left")
    (part,) = [one for one in of_kind(found, "crosscut") if one.distance == 180.0]
    assert part.number > slots["fence"].number
    # 8 boards of 180, 6 to a blank of the 1200 mm between the trims, so two blanks of 4
    assert slots["fence"].cuts == 4
    assert slots["sled"].distance == pytest.approx(slots["fence"].distance)


def test_boards_too_short_to_rip_come_in_strips() -> None:
    told = tables(thick=9.0, case=case(120.0, 100.0, 90.0, corner="sides-run"))
    for blank in sawn(told).blanks:
        assert blank.holds == "strip"
        assert blank.length >= 300.0


def test_what_is_held_back_comes_last_and_by_itself() -> None:
    told = tables(
        thick=18.0,
        case=case(600.0, 500.0, 250.0, corner="sides-run"),
        shelf=[shelf("one", 150.0), shelf("two", 300.0)],
    )
    held = [bool(one.held_back) for one in sawn(told).set_ups]
    assert held == sorted(held)
    assert any(held)
    # the shelves are as wide as the sides and still wait for their own setting
    assert [one.boards for one in of_kind(sawn(told), "rip")][-1] == ("shelf one", "shelf two")


def test_copies_are_cut_with_the_same_set_ups() -> None:
    told = tables(thick=18.0, case=case())
    one = sawn(told)
    twelve = sawn({**told, "piece": {"copies": 12}})
    assert [s.distance for s in one.set_ups] == [s.distance for s in twelve.set_ups]
    assert [12 * s.cuts for s in one.set_ups] == [s.cuts for s in twelve.set_ups]


def test_a_groove_wider_than_the_kerf_takes_passes_that_leave_nothing_between() -> None:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case())
    told["case"]["back"] = {"stock": "back", "fit": "groove"}
    (groove,) = of_kind(sawn(told), "groove")
    # the back and 0.2 mm of play, 10 mm from the rear edge, a third of the panel deep
    assert (groove.distance, groove.width, groove.deep) == pytest.approx((10.0, 6.7, 6.0))
    assert groove.passes == 3
    assert groove.last == pytest.approx(10.0 + 6.7 - 3.2)
    assert (groove.last - groove.distance) / (groove.passes - 1) <= 3.2


@pytest.mark.parametrize(("corner", "routed"), [("sides-run", {"left", "right"}),
                                                ("top-runs", {"top", "bottom"})])  # fmt: skip
def test_a_groove_that_would_show_at_a_butt_is_routed(corner: str, routed: set[str]) -> None:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case(corner=corner))
    told["case"]["back"] = {"stock": "back", "fit": "groove"}
    grooves = of_kind(sawn(told), "groove")
    assert {name for one in grooves if one.way == "router" for name in one.boards} == routed
    assert {one.way for one in grooves} == {"fence", "router"}


def test_a_groove_narrower_than_the_kerf_is_routed() -> None:
    told = tables(thick=18.0, stocks={"back": stock(2.8)}, case=case())
    told["case"]["back"] = {"stock": "back", "fit": "groove"}
    (groove,) = of_kind(sawn(told), "groove")
    assert groove.way == "router"
    assert "kerf" in groove.why[0]


def test_a_set_up_is_named_in_a_line() -> None:
    piece = read(tables(thick=18.0, case=case(600.0, 500.0, 250.0)))
    found = set_ups(piece, panels(piece, NAME))
    assert [title(one, "mm") for one in found[:2]] == [
        "set-up 1, rip: fence at 250 mm, blade 0 deg",
        "set-up 2, crosscut: sled, stop at 599.4 mm, blade 0 deg",
    ]


def _buildable(seed: int) -> PieceFile | None:
    try:
        piece = read(draw(seed))
        panels(piece, NAME)
    except InputError:
        return None
    return piece


def test_every_board_of_random_pieces_is_ripped_and_crosscut_and_no_cut_is_unsafe() -> None:
    seen = 0
    for seed in range(60):
        piece = _buildable(seed)
        if piece is None:
            continue
        seen += 1
        made = panels(piece, NAME)
        found = sawing(piece, made)
        _all_there(found.blanks, len(made.boards) * piece.piece.copies)
        for blank in blanks(piece, made):
            for kind in ("rip", "crosscut"):
                shares = [
                    share
                    for one in (*found.done, *found.set_ups)
                    if one.kind == kind
                    for share in one.shares
                    if share.boards == blank.lot.names
                ]
                assert len(shares) == 1, (seed, kind, blank.lot.names)
        keys = [
            (s.kind, s.way, round(s.distance, 3), s.tilt, s.height, bool(s.held_back))
            for s in found.set_ups
        ]
        assert len({*keys}) == len(keys), seed
        for one in found.set_ups:
            assert one.distance > 0, seed
            assert one.tilt <= 45.0
            for share in one.shares if one.way == "fence" else ():
                assert share.edge >= 300.0 - SAME, (seed, one)
                assert share.edge >= one.distance - SAME, (seed, one)
                assert one.distance <= piece.saw.fence
    assert seen > 30


def _all_there(found: tuple[Blank, ...], boards: int) -> None:
    assert sum(blank.lot.count for blank in found) == boards
    for blank in found:
        assert blank.count * blank.each >= blank.lot.count
        assert (blank.count - 1) * blank.each < blank.lot.count
