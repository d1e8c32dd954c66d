"""Dividers and the shelves between them: sizes, joints and holes by plain sums; what is refused."""

from __future__ import annotations

import random
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from fixtures.assembly import BitInHand, Context, Corner, Dowelled, FaceHoles, Joint, Level, Use
from fixtures.errors import Fault, InputError
from fixtures.piece.drilling import faults as hole_faults
from fixtures.piece.drilling import holes
from fixtures.piece.joining import joints, joints_and_faults
from fixtures.piece.panels import Panels, panels
from fixtures.piece.plan import plan
from fixtures.piece.setting import divider_base, divider_order
from fixtures.printer import Printer
from fixtures.serving import corner_socket
from fixtures.serving.spacer_block import serves
from fixtures.solid import add
from tests.piece.making import NAME, Tables, case, mm, read, shelf, stock, tables

T, W, H, D = 18.0, 900.0, 500.0, 300.0
IN_W, IN_H = W - 2 * T, H - 2 * T
SIDE = {"left", "bottom"}


def divider(name: str, at: float, **more: Any) -> Tables:
    return {"name": name, "at": mm(at), "stock": "case", **more}


def told(*dividers: Tables, shelves: tuple[Tables, ...] = (), **more: Any) -> Tables:
    stocks = {"back": stock(6.0), "thin": stock(12.0)}
    made = {"case": case(W, H, D, **more), "divider": list(dividers), "shelf": list(shelves)}
    return tables(thick=T, stocks=stocks, **{key: value for key, value in made.items() if value})


def of(piece: Tables) -> tuple[Panels, tuple[Joint, ...]]:
    read_in = read(piece)
    made = panels(read_in, NAME)
    return made, joints(made, read_in, Printer(), ())


def refused(piece: Tables) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as refusal:
        panels(read(piece), NAME)
    for fault in refusal.value.faults:
        assert fault.message.endswith(".")
        assert fault.remedy.endswith((".", "?"))
    return refusal.value.faults


def extent(made: Panels, name: str) -> list[tuple[float, float]]:
    shape = np.array(next(board.shape for board in made.boards if board.name == name))
    return list(zip(shape.min(axis=0).tolist(), shape.max(axis=0).tolist(), strict=True))


# --- sizes ----------------------------------------------------------------------------------


@pytest.mark.parametrize("corner", ["mitre", "sides-run", "top-runs"])
def test_a_divider_fills_the_case_from_floor_to_roof_at_its_clear_distance(corner: str) -> None:
    made, _ = of(told(divider("a", 250.0, setback="7 mm"), corner=corner))
    x, y, z = extent(made, "divider a")
    assert x == pytest.approx((T + 250.0, T + 250.0 + T))
    assert y == pytest.approx((7.0, D))
    assert z == pytest.approx((T, H - T))
    (one,) = made.dividers
    assert one.board.outer_length == one.board.inner_length == pytest.approx(IN_H)
    assert one.board.width == pytest.approx(D - 7.0)
    assert one.board.held_back


def test_a_divider_right_of_another_is_measured_from_its_right_face() -> None:
    made, _ = of(told(divider("b", 120.0, right_of="a"), divider("a", 200.0, stock="thin")))
    assert extent(made, "divider b")[0][0] == pytest.approx(T + 200.0 + 12.0 + 120.0)


@pytest.mark.parametrize(
    ("back", "clear"),
    [
        ({"stock": "back", "fit": "inset"}, D - 6.0),
        ({"stock": "back", "fit": "overlay"}, D - 6.0),
        # 10 mm of land, and a groove 0.2 mm wider than the back
        ({"stock": "back", "fit": "groove"}, D - 10.0 - 6.2),
    ],
)
def test_dividers_and_their_shelves_end_before_the_back(back: Tables, clear: float) -> None:
    shelves = (shelf("s", 150.0, between=["left", "a"], fixing="bracket"),)
    made, _ = of(told(divider("a", 250.0), shelves=shelves, back=back))
    assert extent(made, "divider a")[1][1] == pytest.approx(clear)
    assert extent(made, "shelf s")[1][1] == pytest.approx(clear)


def test_bays_and_dividers_add_up_to_the_inner_width() -> None:
    luck = random.Random(4)
    for _ in range(10):
        gaps = [round(luck.uniform(60.0, 180.0), 1) for _ in range(3)]
        names = ["a", "b", "c"]
        dividers = [divider("a", gaps[0])]
        dividers += [
            divider(name, gap, right_of=before)
            for (before, name), gap in zip(pairwise(names), gaps[1:], strict=True)
        ]
        ends = ["left", *names, "right"]
        shelves = tuple(
            shelf(f"s{n}", 100.0 + 50 * (n % 2), between=list(pair), fixing="dowel")
            for n, pair in enumerate(pairwise(ends))
        )
        made, _ = of(told(*dividers, shelves=shelves))
        lengths = [one.board.outer_length for one in made.shelves]
        assert lengths[:3] == pytest.approx(gaps)
        assert sum(lengths) + 3 * T == pytest.approx(IN_W)


def test_a_divider_is_cut_to_the_inner_height_that_was_measured() -> None:
    piece = told(divider("a", 250.0)) | {"as_built": {"inner_height": [mm(IN_H - 0.4)]}}
    (one,) = of(piece)[0].dividers
    assert one.board.outer_length == pytest.approx(IN_H - 0.4)
    assert one.board.held_back == ""


@pytest.mark.parametrize(("fixing", "play"), [("dowel", 0.0), ("bracket", 0.5), ("pin", 2.0)])
def test_a_shelf_is_as_long_as_its_bay_less_its_play(fixing: str, play: float) -> None:
    shelves = (shelf("s", 160.0, between=["a", "right"], fixing=fixing),)
    made, _ = of(told(divider("a", 250.0), shelves=shelves))
    (one,) = made.shelves
    assert one.board.outer_length == pytest.approx(IN_W - 250.0 - T - play)
    low, high = extent(made, "shelf s")[0]
    assert (low + high) / 2 == pytest.approx((T + 250.0 + T + W - T) / 2)


def test_the_order_of_the_two_names_does_not_matter() -> None:
    one, other = (
        of(told(divider("a", 250.0), shelves=(shelf("s", 160.0, between=pair),)))[0]
        for pair in (["a", "left"], ["left", "a"])
    )
    assert extent(one, "shelf s") == extent(other, "shelf s")


# --- where they are set ---------------------------------------------------------------------


def levels(found: tuple[Joint, ...]) -> dict[str, Level]:
    return {joint.name: joint for joint in found if isinstance(joint, Level)}


def test_a_dowelled_divider_is_marked_at_floor_and_roof_of_the_dry_case() -> None:
    found = levels(of(told(divider("a", 100.0), divider("b", 250.0, right_of="a")))[1])
    for where, z, inward in (("bottom", T, 1.0), ("top", H - T, -1.0)):
        one, two = found[f"divider a at {where}"], found[f"divider b at {where}"]
        # neither divider is in the dry case: both are measured from the left side
        assert (one.below.name, two.below.name) == ("left", "left")
        assert one.height == pytest.approx(100.0)
        assert two.height == pytest.approx(100.0 + T + 250.0)
        assert one.phase == two.phase == "dry fit"
        assert one.foot == pytest.approx((T, 0.0, z))
        assert one.inward == (0.0, 0.0, inward)
        assert one.up == (1.0, 0.0, 0.0)


def test_a_late_divider_is_set_from_the_one_it_is_measured_from() -> None:
    late = {"fixing": "through-dowel"}
    piece = told(divider("a", 100.0, **late), divider("b", 250.0, right_of="a", **late))
    made, found = of(piece)
    assert [one.table.name for one in divider_order(made)] == ["a", "b"]
    assert [divider_base(one, made).name for one in made.dividers] == ["left", "divider a"]
    level = levels(found)["divider b at bottom"]
    assert level.height == pytest.approx(250.0)
    assert level.before == ("divider a",)
    assert level.phase == "fit out"


def test_late_dividers_measured_from_the_side_are_set_from_the_far_one_on() -> None:
    late = {"fixing": "through-dowel"}
    made, _ = of(told(divider("a", 100.0, **late), divider("b", 400.0, **late)))
    assert [one.table.name for one in divider_order(made)] == ["b", "a"]


def test_a_shelf_at_a_divider_is_marked_on_the_bench_and_at_a_side_in_the_dry_case() -> None:
    shelves = (shelf("s", 160.0, between=["left", "a"], fixing="dowel"),)
    found = levels(of(told(divider("a", 250.0), shelves=shelves))[1])
    side, upright = found["shelf s at left"], found["shelf s at divider a"]
    assert (side.phase, upright.phase) == ("dry fit", "drill")
    assert upright.side.name == "divider a"
    assert upright.foot == pytest.approx((T + 250.0, 0.0, T))
    assert upright.inward == (-1.0, 0.0, 0.0)
    assert side.height == upright.height == pytest.approx(160.0)
    assert side.span == upright.span == pytest.approx(250.0)


def test_spacers_of_a_divider_lie_with_their_height_across_the_case() -> None:
    """In the part's own axes Z is the height and X points away from what it stands against."""
    for name, inward in (("bottom", 1.0), ("top", -1.0)):
        level = levels(of(told(divider("a", 200.0)))[1])[f"divider a at {name}"]
        (use,) = serves(level, Context(Printer()))
        assert isinstance(use, Use)
        assert use.place is not None
        assert use.boards == ("left", "divider a")
        assert use.place.z == (1.0, 0.0, 0.0)
        assert use.place.x == (0.0, 0.0, inward)
        assert np.cross(use.place.z, use.place.x) == pytest.approx(use.place.y)
        # its foot and its head, 200 mm apart
        head = add(use.place.at, use.place.z, 200.0)
        assert use.place.at[0] == pytest.approx(T)
        assert head[0] == pytest.approx(level.shelf.shape[0][0])


@pytest.mark.parametrize("corner", ["mitre", "sides-run", "top-runs"])
def test_the_arms_of_a_socket_end_short_of_a_divider_beside_it(corner: str) -> None:
    """3 mm are kept to what stands there; at a butt the arm of the board that abuts, and so all of
    the socket, is 3 mm shorter: it begins past the glue at the other board's face."""
    found = of(told(divider("a", 56.0), corner=corner))[1]
    beside = next(j for j in found if isinstance(j, Corner) and {j.a.name, j.b.name} == SIDE)
    for offer in corner_socket.serves(beside, Context(Printer())):
        assert isinstance(offer, Use)
        late = 3.0 if corner == "sides-run" else 0.0  # there the bottom abuts
        assert offer.parameters["arm"] == pytest.approx(56.0 - 3.0 - late)


# --- what is drilled ------------------------------------------------------------------------


def test_a_dowelled_divider_is_drilled_from_its_left_face_and_front() -> None:
    found = of(told(divider("a", 250.0, setback="12 mm")))[1]
    low, high = (joint for joint in found if isinstance(joint, Dowelled))
    assert (low.face.name, high.face.name) == ("bottom", "top")
    assert low.datum == pytest.approx((T + 250.0, 12.0, T))
    assert high.datum == pytest.approx((T + 250.0, 12.0, H - T))
    assert (low.out, high.out) == ((0.0, 0.0, -1.0), (0.0, 0.0, 1.0))
    assert low.into == high.into == (1.0, 0.0, 0.0)
    assert low.setback == high.setback == 12.0


def test_holes_of_a_shelf_in_side_and_divider_lie_at_its_ends() -> None:
    shelves = (shelf("s", 160.0, between=["a", "right"], fixing="dowel", setback="9 mm"),)
    made, found = of(told(divider("a", 250.0, setback="5 mm"), shelves=shelves))
    own = [hole for hole in holes(found, ()) if hole.joint.startswith("shelf s")]
    ends = extent(made, "shelf s")[0]
    for board, x, front in (("divider a", ends[0], 5.0), ("right", ends[1], 0.0)):
        in_face = [hole for hole in own if hole.board == board]
        assert in_face
        for hole in in_face:
            assert hole.at[0] == pytest.approx(x)
            assert T + 160.0 < hole.at[2] < T + 160.0 + T
            # measured from the front of the board that is drilled
            assert hole.from_front == pytest.approx(hole.at[1] - front)
    faces = {hole.face for hole in own if hole.board == "divider a"}
    assert faces == {"right face"}


@pytest.mark.parametrize("fixing", ["dowel", "bracket", "pin"])
def test_holes_of_shelves_on_both_sides_that_meet_in_a_divider_are_refused(fixing: str) -> None:
    """Two holes 13 mm or 10 mm deep from both faces of 18 mm run into each other."""

    def faults(high: float) -> tuple[Fault, ...]:
        shelves = (
            shelf("l", 160.0, between=["left", "a"], fixing=fixing),
            shelf("r", high, between=["a", "right"], fixing=fixing),
        )
        made, found = of(told(divider("a", 400.0), shelves=shelves))
        return hole_faults(holes(found, ()), made.boards)

    assert {fault.message.split(" the ")[0] for fault in faults(160.0)} == {"In divider a"}
    # half a pitch of pins higher, or clear of the pins of the other: nothing meets
    assert faults(160.0 + 16.0 if fixing == "pin" else 260.0) == ()


def test_a_thick_divider_takes_brackets_on_both_sides_at_one_height() -> None:
    shelves = tuple(
        shelf(name, 160.0, between=pair, fixing="bracket")
        for name, pair in (("l", ["left", "a"]), ("r", ["a", "right"]))
    )
    piece = told(divider("a", 400.0, stock="stout"), shelves=shelves)
    piece["stock"]["stout"] = stock(28.0)
    made, found = of(piece)
    assert hole_faults(holes(found, ()), made.boards) == ()


def test_through_dowels_of_a_divider_come_from_outside_into_its_ends() -> None:
    found = of(told(divider("a", 250.0, fixing="through-dowel"), corner="top-runs"))[1]
    through = [joint for joint in found if isinstance(joint, FaceHoles)
               and joint.what == "through dowels"]  # fmt: skip
    assert {joint.board.name for joint in through} == {"bottom", "top"}
    for joint in through:
        assert joint.reaches is not None
        assert joint.corner[2] in (0.0, H)
        assert {hole[1] for hole in joint.holes} == {T / 2}
        into = np.array(joint.into)
        far = (np.array(joint.board.shape) @ into).max()
        assert (np.array(joint.reaches.shape) @ into).min() == pytest.approx(far)


def test_a_divider_and_its_shelves_have_guides_sleeves_and_spacers() -> None:
    shelves = (
        shelf("l", 160.0, between=["left", "a"], fixing="dowel"),
        shelf("r", 260.0, between=["a", "right"], fixing="dowel"),
    )
    piece = read(told(divider("a", 200.0), shelves=shelves))
    bits = (BitInHand(8.0, 95.0, "brad"),)
    made = panels(piece, NAME)
    planned = plan(joints(made, piece, Printer(), bits), piece, Printer(), bits)
    served: dict[str, set[str]] = {}
    for fixture in planned.fixtures:
        for use in fixture.uses:
            served.setdefault(use.joint, set()).add(fixture.family)
    for name in ("divider a at bottom", "divider a at top", "shelf l at divider a",
                 "shelf r at divider a", "shelf l at left", "shelf r at right"):  # fmt: skip
        assert served[name] == {"spacer-block", "drill-guide", "depth-sleeve"}, name
    # one guide does edge and face, floor and roof, and every shelf: all have the same datum sizes
    assert len({f.name for f in planned.fixtures if f.family == "drill-guide"}) == 1


# --- what is refused ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("piece", "where", "parts"),
    [
        (told(divider("a", 850.0)), "divider a.at", ("864 mm", "868 mm", "leaves it")),
        (told(divider("a", 10.0)), "divider a.at", ("10 mm", "40 mm")),
        (told(divider("a", 820.0)), "divider a.at", ("26 mm", "right side")),
        (
            told(divider("a", 200.0), divider("b", 205.0)),
            "divider b.at",
            ("overlap by 13 mm", "farther apart"),
        ),
        (told(divider("a", 200.0), divider("a", 300.0)), "divider.name", ("'a'",)),
        (told(divider("left", 200.0)), "divider.name", ("'left'", "another name")),
        (told(divider("a", 200.0, right_of="z")), "divider a.right_of", ("'z'",)),
        (told(divider("a", 200.0, stock="oak")), "divider a.stock", ("'oak'",)),
        (told(divider("a", 200.0, setback="270 mm")), "divider a.setback", ("30 mm", "260 mm")),
    ],
)
def test_a_divider_that_cannot_be_is_refused_with_its_numbers(
    piece: Tables, where: str, parts: tuple[str, ...]
) -> None:
    (fault,) = refused(piece)
    assert fault.where == where
    for part in parts:
        assert part in str(fault)


def test_dividers_in_a_circle_are_refused() -> None:
    piece = told(divider("a", 100.0, right_of="b"), divider("b", 100.0, right_of="a"))
    assert any("circle" in fault.message for fault in refused(piece))


@pytest.mark.parametrize(
    ("more", "key", "says"),
    [
        ({}, "between", "divider a is in its way"),
        ({"between": ["left", "right"]}, "between", "divider a is in its way"),
        ({"between": ["left", "z"]}, "between", "nothing is called 'z'"),
        ({"between": ["a", "a"]}, "between", "no bay"),
        ({"between": ["left", "a"], "setback": "3 mm"}, "setback", "in front of it"),
        ({"between": ["left", "a"], "fixing": "through-dowel"}, "fixing", "next bay"),
    ],
)
def test_a_shelf_that_does_not_suit_its_uprights_is_refused(
    more: Tables, key: str, says: str
) -> None:
    one = shelf("s", 160.0, **{"setback": "5 mm", **more})
    (fault,) = refused(told(divider("a", 250.0, setback="5 mm"), shelves=(one,)))
    assert fault.where == f"shelf s.{key}"
    assert says in fault.message


def test_a_blind_dowelled_shelf_cannot_end_at_a_divider_that_comes_after_glue_up() -> None:
    one = shelf("s", 160.0, between=["left", "a"], fixing="dowel")
    (fault,) = refused(told(divider("a", 250.0, fixing="through-dowel"), shelves=(one,)))
    assert "after glue-up" in fault.message


def test_shelves_overlap_in_one_bay_and_not_in_two() -> None:
    pair = (
        shelf("l", 160.0, between=["left", "a"], fixing="bracket"),
        shelf("r", 165.0, between=["a", "right"], fixing="bracket"),
    )
    of(told(divider("a", 250.0), shelves=pair))
    same = tuple(one | {"between": ["left", "a"]} for one in pair)
    (fault,) = refused(told(divider("a", 250.0), shelves=same))
    assert "overlap" in fault.message


def test_all_that_is_wrong_with_shelves_and_dividers_is_told_at_once() -> None:
    shelves = (
        shelf("1", 100.0, between=["left", "z"]),
        shelf("2", 100.0, between=["left", "right"]),
        shelf("3", 100.0, between=["a", "b"], stock="oak"),
    )
    piece = told(divider("a", 200.0), divider("b", 400.0), shelves=shelves)
    assert len(refused(piece)) == 3
    wrong = told(divider("a", 860.0), divider("b", 200.0, stock="oak"))
    assert {fault.where for fault in refused(wrong)} == {"divider b.stock"}


def test_a_pin_that_is_too_stout_for_a_divider_is_told_of_both_its_ends_once() -> None:
    piece = read(told(divider("a", 200.0, stock="thin", dowel={"diameter": "8 mm"})))
    made = panels(piece, NAME)
    _, faults = joints_and_faults(made, piece, Printer(), ())
    assert {fault.where for fault in faults} == {"divider a.dowel.diameter"}
    assert all("12 mm" in fault.message for fault in faults)


@pytest.mark.parametrize("name", ["left", "top", "post"])
def test_a_shelf_is_called_like_no_other_board(name: str) -> None:
    own = shelf(name, 100.0, between=["left", "post"])
    piece = read(told(divider("post", 200.0), shelves=(own,)))
    with pytest.raises(InputError) as refusal:
        panels(piece, NAME)
    assert [fault.where for fault in refusal.value.faults] == ["shelf.name"]
