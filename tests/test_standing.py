"""Errors planted in a piece on legs: in a mesh, a place, a board or a cut. Each is found out by its
own check; the clean twin holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fixtures import standing
from fixtures.assembly import Board, Leg, Transferred, Use
from fixtures.in_place import Placed
from fixtures.mesh import Mesh, make
from fixtures.parts.catalog import family
from fixtures.piece.legs import legs_in, legs_of
from fixtures.piece.panels import panels
from fixtures.piece.plan import plan
from fixtures.printer import Printer
from fixtures.produce import produce
from fixtures.proof import Check
from fixtures.solid import Pose, add
from tests.piece.making import NAME, case, read, shelf, tables

PRINTER = Printer()


@cache
def on_legs(
    section: str = "round", head: str = "flat"
) -> tuple[tuple[Placed, ...], tuple[Leg, ...], tuple[Board, ...], tuple[Transferred, ...]]:
    """A case on raked and splayed legs: sockets in place, legs, boards, and rows of holes."""
    piece = read(
        tables(
            thick=18.0,
            case=case(500.0, 300.0, 280.0),
            shelf=[shelf("middle", 120.0)],
            legs={
                "size": "28 mm", "length": "160 mm", "inset": "60 mm", "section": section,
                "rake": "9 deg", "splay": "13 deg", "head": head,
            },
        )
    )  # fmt: skip
    boards = panels(piece, NAME)
    joints = legs_of(boards, piece, PRINTER)
    planned = plan(joints, piece, PRINTER, ())
    placed: dict[str, Placed] = {}
    for fixture in planned.fixtures:
        made = produce(fixture.part, PRINTER, biased=False)
        for use in fixture.uses:
            assert use.place is not None
            placed[use.joint] = Placed(made, use, use.place)
    legs = legs_in(joints)
    rows = tuple(joint for joint in joints if isinstance(joint, Transferred))
    return tuple(placed[leg.name] for leg in legs), legs, boards.boards, rows


def failing(checks: Sequence[Check]) -> set[str]:
    return {check.name.rsplit(": ", 1)[-1] for check in checks if not check.holds}


def proved(
    placed: Sequence[Placed] | None = None,
    legs: Sequence[Leg] | None = None,
    boards: Sequence[Board] | None = None,
) -> set[str]:
    clean = on_legs()
    return failing(
        standing.proved(
            clean[0] if placed is None else placed,
            clean[1] if legs is None else legs,
            clean[2] if boards is None else boards,
        )
    )


def with_place(placed: Placed, by: tuple[float, float, float]) -> Placed:
    pose = placed.place
    return replace(placed, place=Pose(pose.x, pose.y, pose.z, add(pose.at, by)))


def with_mesh(placed: Placed, mesh: Mesh) -> Placed:
    return replace(placed, made=replace(placed.made, proved=mesh))


@pytest.mark.parametrize(("section", "head"), [("round", "flat"), ("square", "pan")])
def test_a_piece_on_legs_holds(section: str, head: str) -> None:
    placed, legs, boards, rows = on_legs(section, head)
    checks = standing.proved(placed, legs, boards)
    checks += [standing.spotted(one, row.at) for one, row in zip(placed, rows, strict=True)]
    assert not failing(checks)
    names = {check.name for check in checks}
    assert {"feet in one plane", "standing height", "feet lie flat"} <= names
    assert sum("leg goes in" in name for name in names) == 4


def test_a_socket_over_the_edge_no_longer_bears() -> None:
    """Moved 40 mm out its flange of 35 mm radius hangs over; its leg is then in the air too."""
    placed = on_legs()[0]
    wrong = (with_place(placed[0], (-40.0, 0.0, 0.0)), *placed[1:])
    assert "bears" in proved(wrong)


def test_a_socket_off_its_marks_misses_the_drill_table() -> None:
    placed, _, _, rows = on_legs()
    assert failing([standing.spotted(with_place(placed[0], (0.3, 0.0, 0.0)), rows[0].at)])
    assert not failing([standing.spotted(placed[0], rows[0].at)])
    assert failing([standing.spotted(placed[0], ())])


def test_a_bore_that_leans_too_little_is_seen_at_the_foot() -> None:
    """A socket for 8° and 12° at the place of one for 9° and 13°: 1.4° at the foot."""
    placed, legs, boards, _ = on_legs()
    part = placed[0].made.part
    assert part.family == "leg-socket"

    chosen = family("leg-socket")
    other = chosen.build(
        chosen.parameters(**{**legs[0].socket, "rake": 8.0, "splay": 12.0}), PRINTER
    )
    wrong = replace(placed[0], made=produce(other, PRINTER, biased=False))
    found = failing(standing.proved((wrong, *placed[1:]), legs, boards))
    assert {"standing height", "feet lie flat", "feet in one plane"} <= found


def test_a_short_leg_rocks() -> None:
    _, legs, _, _ = on_legs()
    short = replace(legs[0], cut=replace(legs[0].cut, on_axis=legs[0].cut.on_axis - 1.0))
    assert proved(legs=(short, *legs[1:])) == {"feet in one plane", "standing height"}


def test_four_legs_cut_alike_but_short_stand_too_low() -> None:
    legs = tuple(
        replace(leg, cut=replace(leg.cut, on_axis=leg.cut.on_axis - 0.5)) for leg in on_legs()[1]
    )
    assert proved(legs=legs) == {"standing height"}


def test_a_foot_bevelled_for_another_lean_does_not_lie_flat() -> None:
    legs = tuple(
        replace(leg, cut=replace(leg.cut, bevel=leg.cut.bevel + 1.0)) for leg in on_legs()[1]
    )
    assert proved(legs=legs) == {"feet lie flat"}


@pytest.mark.parametrize(("head", "longest"), [("flat", 22.9), ("pan", 19.9)])
def test_a_screw_too_long_leaves_no_skin(head: str, longest: float) -> None:
    """Flange 6 mm (3.1 mm under a pan head of #8), board 18 mm, 1 mm of skin at least."""
    placed, legs, boards, _ = on_legs("round", head)
    for length, fails in ((longest, False), (longest + 0.3, True)):
        told = tuple(replace(leg, socket={**leg.socket, "screw_length": length}) for leg in legs)
        found = failing(standing.proved(placed, told, boards))
        assert ("screws stay in" in found) is fails


def test_a_board_in_the_way_of_a_leg_is_found() -> None:
    boards = on_legs()[2]
    # a rail under the front, 100 mm down, where the front legs pass
    shape = tuple((x, y, z) for x in (0.0, 500.0) for y in (20.0, 60.0) for z in (-120.0, -100.0))
    rail = replace(boards[0], name="rail", shape=shape, pieces=(shape,))
    assert proved(boards=(*boards, rail)) == {"leg goes in"}


def test_a_board_in_the_way_of_a_socket_is_found() -> None:
    boards = on_legs()[2]
    shape = tuple((x, y, z) for x in (70.0, 90.0) for y in (0.0, 280.0) for z in (-30.0, 0.0))
    rail = replace(boards[0], name="rail", shape=shape, pieces=(shape,))
    assert "clear of boards and other legs" in proved(boards=(*boards, rail))


def test_a_bore_drawn_a_little_narrow_holds_no_leg() -> None:
    """The mesh of one socket shrunk by 1.5 % towards its middle: 0.43 mm of the bore are gone."""
    placed = on_legs()[0]
    mesh = placed[0].made.proved
    points = np.array(mesh.vertices)
    middle = np.array(placed[0].made.pose.at)
    small = make(middle + (points - middle) * 0.985, mesh.faces, mesh.owner, mesh.names)
    found = proved((with_mesh(placed[0], small), *placed[1:]))
    assert "seated" in found


def test_a_use_of_another_leg_is_measured_at_its_own() -> None:
    """Sockets of two legs changed over: each leg's axis is then another one's."""
    placed, legs, boards, _ = on_legs()

    def at(one: Placed, use: Use) -> Placed:
        return replace(one, use=use)

    crossed = (at(placed[0], placed[1].use), at(placed[1], placed[0].use), *placed[2:])
    found = failing(standing.proved(crossed, legs, boards))
    assert {"engaged", "held one way", "held other way"} <= found
