"""What lies on a case and under it: sizes by plain sums, hidden screws, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from fixtures.assembly import Context, Corner, Dowelled, FaceHoles, Joint, Transferred, Use
from fixtures.errors import Fault, InputError
from fixtures.piece.drilling import Hole, holes
from fixtures.piece.drilling import faults as hole_faults
from fixtures.piece.hardware import hardware
from fixtures.piece.joining import joints, joints_and_faults
from fixtures.piece.panels import Panels, panels
from fixtures.piece.plan import wanted
from fixtures.printer import Printer
from fixtures.serving import clamp_caul, corner_socket
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables

T, P, W, H, D = 18.0, 15.0, 800.0, 500.0, 300.0
CASES = ("mitre", "sides-run", "top-runs")
OVER = {"front": "20 mm", "rear": "10 mm", "left": "15 mm", "right": "5 mm"}


def told(corner: str = "top-runs", /, *, inside: Tables | None = None, **more: Any) -> Tables:
    stocks = {"back": stock(6.0), "p": stock(P), "thin": stock(8.0)}
    return tables(thick=T, stocks=stocks, case=case(W, H, D, corner=corner, **(inside or {})),
                  **more)  # fmt: skip


def of(piece: Tables) -> tuple[Panels, tuple[Joint, ...]]:
    read_in = read(piece)
    made = panels(read_in, NAME)
    return made, joints(made, read_in, Printer(), ())


def refused(piece: Tables) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as refusal:
        of(piece)
    for fault in refusal.value.faults:
        assert fault.message.endswith(".")
        assert fault.remedy.endswith((".", "?"))
    return refusal.value.faults


def box(made: Panels, name: str) -> np.ndarray:
    shape = np.array(next(board.shape for board in made.boards if board.name == name))
    return np.array([shape.min(axis=0), shape.max(axis=0)])


def outer(**more: Any) -> Tables:
    return {"stock": "p", **more}


def plinth(height: float = 90.0, /, **more: Any) -> Tables:
    return {"height": mm(height), "stock": "p", **more}


# --- top and base ---------------------------------------------------------------------------


@pytest.mark.parametrize("corner", CASES)
def test_top_and_base_lie_on_the_case_and_stand_out_by_their_overhangs(corner: str) -> None:
    made, _ = of(told(corner, top=outer(overhang=OVER), base=outer()))
    assert box(made, "top board") == pytest.approx(
        np.array([(-15.0, -20.0, H), (W + 5.0, D + 10.0, H + P)])
    )
    assert box(made, "base board") == pytest.approx(np.array([(0.0, 0.0, -P), (W, D, 0.0)]))
    assert made.top is not None
    assert made.top.outer_length == pytest.approx(W + 20.0)
    assert made.top.width == pytest.approx(D + 30.0)
    assert made.top.enters == "fit out"


def test_a_top_covers_an_overlaid_back() -> None:
    """The case's depth is that with its back: flush at the rear means flush with that."""
    made, _ = of(told(inside={"back": {"stock": "back", "fit": "overlay"}}, top=outer()))
    assert box(made, "top board")[1][1] == pytest.approx(D)
    assert box(made, "back")[1][1] == pytest.approx(D)


@pytest.mark.parametrize("side", ["front", "rear", "left", "right"])
@pytest.mark.parametrize("size", ["-1 mm", "301 mm", "20"])
def test_an_overhang_that_is_none_is_refused(side: str, size: str) -> None:
    with pytest.raises(InputError) as refusal:
        read(told(top=outer(overhang={side: size})))
    assert len(refusal.value.faults) == 1


def of_joint(drilled: tuple[Hole, ...], board: str, start: str) -> list[Hole]:
    return [hole for hole in drilled if hole.board == board and hole.joint.startswith(start)]


@pytest.mark.parametrize("corner", CASES)
@pytest.mark.parametrize(
    ("which", "carrier", "up"), [("top", "top", 1.0), ("base", "bottom", -1.0)]
)
def test_hidden_screws_go_from_inside_into_the_board_and_not_through_it(
    corner: str, which: str, carrier: str, up: float
) -> None:
    made, found = of(told(corner, **{which: outer(overhang=OVER)}))
    drilled = holes(found, ())
    through = of_joint(drilled, carrier, f"{which} board")
    pilots = of_joint(drilled, f"{which} board", f"{which} board")
    assert len(through) == len(pilots) >= 4
    for one, pilot in zip(sorted(through, key=at), sorted(pilots, key=at), strict=True):
        assert one.axis == pilot.axis == (0.0, 0.0, up)
        # the clearance hole ends where the pilot hole begins, on the same line
        assert one.at[:2] == pytest.approx(pilot.at[:2])
        assert one.at[2] + up * T == pytest.approx(pilot.at[2])
        assert one.diameter > pilot.diameter
        # 2 mm of skin past a 118° point, 0.3 d long (common practice, no source)
        assert pilot.depth + 0.3 * pilot.diameter + 2.0 <= P
        assert pilot.tip == pytest.approx(pilot.depth + 0.3 * pilot.diameter)
    assert hole_faults(drilled, made.boards) == ()


def at(hole: Hole) -> tuple[float, ...]:
    return tuple(round(value, 6) for value in hole.at)


def test_pilot_holes_are_told_from_the_boards_own_edges() -> None:
    _, found = of(told(top=outer(overhang=OVER)))
    for hole in of_joint(holes(found, ()), "top board", "top board"):
        assert hole.from_front == pytest.approx(hole.at[1] + 20.0)
        assert hole.from_datum == pytest.approx(hole.at[0] + 15.0)


def test_screws_are_at_most_200_mm_apart_and_clear_of_dividers_and_sides() -> None:
    dividers = [
        {"name": "a", "at": "180 mm", "stock": "case"},
        {"name": "b", "at": "45 mm", "right_of": "a", "stock": "case"},
    ]
    made, found = of(told(divider=dividers, top=outer()))
    bays = [(T, T + 180.0), (2 * T + 180.0, 2 * T + 225.0), (3 * T + 225.0, W - T)]
    xs = {joint.name: [at[0] for at in joint.at] for joint in found
          if isinstance(joint, Transferred)}  # fmt: skip
    for low, high in bays:
        own = [row for row in xs.values() if low < row[0] < high]
        assert len(own) == 2  # front and rear
        for row in own:
            assert all(low + 20.0 <= x <= high - 20.0 for x in row)
            # whole millimetres, so half of one either way
            assert (np.diff(row) <= 200.0 + 1.0).all()
    assert hole_faults(holes(found, ()), made.boards) == ()


def test_hidden_screw_holes_want_no_fixture() -> None:
    """They are wide, and guide what they must meet: a rule does."""
    hidden = [joint for joint in of(told(top=outer()))[1] if "top board" in joint.name]
    assert hidden
    assert {wanted(joint) for joint in hidden} == {()}


@pytest.mark.parametrize(("which", "z"), [("top", H), ("base", 0.0)])
def test_hidden_dowels_meet_face_to_face(which: str, z: float) -> None:
    made, found = of(told(**{which: outer(fixing="dowel", overhang=OVER)}))
    drilled = [hole for hole in holes(found, ()) if hole.joint.startswith(f"{which} board")]
    own = {hole.board: hole for hole in drilled}
    case_side, mate = (sorted((h for h in drilled if (h.board == f"{which} board") is far), key=at)
                       for far in (False, True))  # fmt: skip
    assert [at(h) for h in case_side] == [at(h) for h in mate]
    assert {h.at[2] for h in drilled} == {z}
    for a, b in zip(case_side, mate, strict=True):
        assert np.array(a.axis) == pytest.approx(-np.array(b.axis))
    # half of the pin in each, and 1 mm of glue room
    (pin,) = [line for line in hardware(read(told(top=outer(fixing="dowel"))), found, ())
              if f"{which} board" in line]  # fmt: skip
    depth = next(iter(own.values())).depth
    assert f"{2 * (depth - 1.0):g} mm" in pin
    assert hole_faults(drilled, made.boards) == ()


def test_a_top_too_thin_for_screws_or_pins_is_refused() -> None:
    # 8 mm less 2 mm of skin and 0.9 mm of point leaves 5.1 mm of thread
    (fault,) = refused(told(top={"stock": "thin"}))
    assert "5.1 mm" in fault.message
    assert fault.where == "top.stock"
    (fault,) = refused(told(top={"stock": "thin", "fixing": "dowel"}))
    assert "8 mm" in fault.message


def test_a_screw_held_too_deep_would_come_through_the_show_face() -> None:
    made, found = of(told(top=outer(screw={"hold": "13 mm"})))
    faults = hole_faults(holes(found, ()), made.boards)
    assert faults
    assert all("skin" in fault.message for fault in faults)


# --- plinth ---------------------------------------------------------------------------------


@pytest.mark.parametrize("corner", ["mitre", "butt"])
@pytest.mark.parametrize("based", [False, True])
def test_a_plinth_is_a_ring_under_the_case_or_its_base(corner: str, based: bool) -> None:
    more = {"base": outer()} if based else {}
    table = plinth(90.0, corner=corner, setback="40 mm", rear="30 mm", sides="25 mm")
    made, _ = of(told(plinth=table, **more))
    assert made.plinth is not None
    under = -P if based else 0.0
    corners = np.concatenate([np.array(board.shape) for board in made.plinth.boards])
    assert corners.min(axis=0) == pytest.approx((25.0, 40.0, under - 90.0))
    assert corners.max(axis=0) == pytest.approx((W - 25.0, D - 30.0, under))
    wide, deep = W - 50.0, D - 70.0
    total = sum(ConvexHull(np.array(board.shape)).volume for board in made.plinth.boards)
    ring = wide * deep - (wide - 2 * P) * (deep - 2 * P)
    assert total == pytest.approx(ring * 90.0, rel=1e-9)
    lengths = {board.name: board.outer_length for board in made.plinth.boards}
    assert lengths["plinth front"] == lengths["plinth rear"] == pytest.approx(wide)
    sides = deep if corner == "mitre" else deep - 2 * P
    assert lengths["plinth left"] == lengths["plinth right"] == pytest.approx(sides)
    assert {board.width for board in made.plinth.boards} == {90.0}


def test_a_plinth_left_to_itself_takes_screws_in_front_of_the_back() -> None:
    for fit in ("inset", "groove", "overlay"):
        made, found = of(told(inside={"back": {"stock": "back", "fit": fit}}, plinth=plinth()))
        rows = [joint for joint in found if isinstance(joint, Transferred)]
        assert {joint.board.name for joint in rows} == {"plinth front", "plinth rear"}
        for joint in rows:
            low, high = box(made, joint.board.name)
            for x, y, z in joint.at:
                assert y <= made.shell.clear
                assert z == pytest.approx(0.0)
                assert low[0] < x < high[0]
                # within half a millimetre of the middle of the edge
                assert y == pytest.approx((low[1] + high[1]) / 2, abs=0.5)
        assert hole_faults(holes(found, ()), made.boards) == ()


def plinth_corners(table: Tables) -> list[Corner]:
    found = of(told(plinth=table))[1]
    return [joint for joint in found if isinstance(joint, Corner) and joint.work == "plinth"]


@pytest.mark.parametrize("corner", ["mitre", "butt"])
def test_corners_of_a_plinth_stand_upright_and_run_into_their_boards(corner: str) -> None:
    found = plinth_corners(plinth(90.0, corner=corner))
    assert len(found) == 4
    for joint in found:
        assert joint.angle == pytest.approx(90.0)
        assert joint.length == pytest.approx(90.0)
        upper, lower = joint.ends
        assert (upper.name, lower.name) == ("upper", "lower")
        assert upper.at[2] == pytest.approx(0.0)
        assert lower.at[2] == pytest.approx(-90.0)
        for board, way in zip((joint.a, joint.b), joint.ways, strict=True):
            middle = np.array(board.shape).mean(axis=0) - np.array(upper.at)
            assert middle @ np.array(way) > 0
            assert middle @ np.array(joint.into) > 0
    if corner == "butt":
        assert {joint.a.name for joint in found} == {"plinth front", "plinth rear"}


@pytest.mark.parametrize(("height", "served"), [(90.0, True), (30.0, False)])
def test_sockets_hold_a_plinth_that_is_high_enough(height: float, served: bool) -> None:
    """A socket grips 15 mm at least and keeps 3 mm from the middle: 36 mm of joint for two."""
    for joint in plinth_corners(plinth(height)):
        offers = corner_socket.serves(joint, Context(Printer()))
        assert [isinstance(offer, Use) for offer in offers] == [served, served]
        assert {offer.work for offer in offers if isinstance(offer, Use)} <= {"plinth"}


def test_a_high_plinth_takes_a_strap_and_a_low_one_is_told_to_be_taped() -> None:
    high, low = (clamp_caul.serves(plinth_corners(plinth(size))[0], Context(Printer()))
                 for size in (160.0, 80.0))  # fmt: skip
    assert all(isinstance(offer, Use) for offer in high)
    assert all("upper edge" in offer.where for offer in high)
    assert not any(isinstance(offer, Use) for offer in low)


@pytest.mark.parametrize("fixing", ["dowel", "screw"])
def test_a_butted_plinth_is_drilled_from_its_upper_edge(fixing: str) -> None:
    made, found = of(told(plinth=plinth(120.0, corner="butt", fixing=fixing)))
    kind = Dowelled if fixing == "dowel" else FaceHoles
    own = {joint.name for joint in found if isinstance(joint, kind) and "plinth" in joint.name}
    drilled = [hole for hole in holes(found, ()) if hole.joint in own
               and "at bottom" not in hole.joint]  # fmt: skip
    assert drilled
    for hole in drilled:
        assert hole.from_front == pytest.approx(-hole.at[2])
    assert hole_faults(holes(found, ()), made.boards) == ()


def test_a_plinth_under_a_base_is_screwed_through_both_from_inside() -> None:
    """Heads between base and bottom could not be reached once the base is on."""
    made, found = of(told(plinth=plinth(), base=outer()))
    drilled = holes(found, ())
    assert hole_faults(drilled, made.boards) == ()
    own = [hole for hole in drilled if hole.joint.startswith("plinth front at bottom")]
    lines: dict[tuple[float, float], list[Hole]] = {}
    for hole in own:
        lines.setdefault((round(hole.at[0], 6), round(hole.at[1], 6)), []).append(hole)
    assert len(lines) >= 2
    for line in lines.values():
        assert [(hole.board, round(hole.at[2], 6)) for hole in line] == [
            ("bottom", T),
            ("base board", 0.0),
            ("plinth front", -P),
        ]
        # what the drill enters by is the inner floor, for all three
        assert line[2].run == pytest.approx(T + P + line[2].tip)
    listed = hardware(read(told()), found, ())
    (screws,) = [line for line in listed if "the plinth" in line]
    # 18 mm of bottom, 15 mm of base, 25 mm in the edge
    assert "58 mm" in screws
    (few,) = [line for line in listed if "the base board" in line]
    assert "30 mm" in few  # 18 mm of bottom, and 12 mm that leave 2 mm of skin and 0.9 mm of point


@pytest.mark.parametrize(
    ("more", "where", "says"),
    [
        ({"plinth": plinth(sides="380 mm")}, "plinth.sides", "40 mm of the case's 800 mm"),
        ({"plinth": plinth(setback="250 mm")}, "plinth.setback", "between its boards"),
        ({"plinth": plinth(rear="0 mm")}, "plinth.rear", "no screw"),
        ({"plinth": plinth(fixing="screw")}, "plinth.fixing", "mitre"),
        ({"plinth": plinth(corner="butt", fixing="spline")}, "plinth.fixing", "butt"),
        ({"plinth": plinth() | {"stock": "oak"}}, "plinth.stock", "'oak'"),
        ({"top": {"stock": "oak"}}, "top.stock", "'oak'"),
        (
            {"plinth": plinth(), "legs": {"size": "28 mm", "length": "90 mm", "inset": "60 mm"}},
            "plinth",
            "both",
        ),
    ],
)
def test_what_cannot_stand_under_a_case_is_refused(more: Tables, where: str, says: str) -> None:
    (fault,) = refused(told(**more))
    assert fault.where == where
    assert says in fault.message


def test_a_plinth_is_never_larger_than_the_case() -> None:
    for key in ("setback", "sides", "rear"):
        with pytest.raises(InputError) as refusal:
            read(told(plinth=plinth(**{key: "-5 mm"})))
        assert "negative" in str(refusal.value)


def test_a_polygon_has_none_of_these() -> None:
    piece = tables(
        polygon=polygon(6, 300.0),
        divider=[{"name": "a", "at": "50 mm", "stock": "case"}],
        shelf=[shelf("s", 50.0)],
        top={"stock": "case"},
        base={"stock": "case"},
        plinth={"height": "80 mm", "stock": "case"},
    )
    assert {fault.where for fault in refused(piece)} == {
        "divider", "shelf", "top", "base", "plinth",
    }  # fmt: skip


def test_all_that_is_wrong_is_told_at_once() -> None:
    piece = told(top={"stock": "thin"}, base={"stock": "thin"}, plinth=plinth())
    read_in = read(piece)
    _, faults = joints_and_faults(panels(read_in, NAME), read_in, Printer(), ())
    assert [fault.where for fault in faults] == ["top.stock", "base.stock"]


def test_the_whole_height_is_told() -> None:
    made, _ = of(told(top=outer(), base=outer(), plinth=plinth(90.0)))
    (note,) = (finding for finding in made.findings if finding.check == "whole-height")
    assert note.measured == pytest.approx(H + 2 * P + 90.0)


def test_holes_in_a_plinths_edge_are_told_across_it_from_the_outside_face() -> None:
    """In the middle of an edge of P, to the half millimetre that the row is marked to by rule."""
    _, found = of(told(inside={"back": {"stock": "back", "fit": "inset"}}, plinth=plinth()))
    rows = [joint for joint in found if isinstance(joint, Transferred)]
    assert {joint.board.name for joint in rows} == {"plinth front", "plinth rear"}
    for joint in rows:
        front = min(corner[1] for corner in joint.board.shape)
        rear = max(corner[1] for corner in joint.board.shape)
        for (_, y, _), (across, _) in zip(joint.at, joint.where, strict=True):
            outside = front if joint.board.name == "plinth front" else rear
            assert across == pytest.approx(abs(y - outside))
            assert across == pytest.approx((rear - front) / 2, abs=0.5)


def test_how_high_the_whole_stands_counts_its_legs() -> None:
    legs = {"size": "28 mm", "length": "90 mm", "inset": "60 mm"}
    (high,) = [f for f in of(told(base=outer(), legs=legs))[0].findings
               if f.check == "whole-height"]  # fmt: skip
    (without,) = [f for f in of(told(base=outer()))[0].findings if f.check == "whole-height"]
    assert high.measured is not None
    assert without.measured is not None
    assert high.measured - without.measured == pytest.approx(90.0)
