"""Errors planted in a kit, in a written mesh, a pose or a board: each is caught by its own check.

The whole kit is proved again with one thing wrong; its clean twin is the same kit as it was made.
What is wrong with a part alone is for test_planted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fixtures.assembly import Board, Corner, Level, Phase, Role, Use
from fixtures.in_place import strap_closes
from fixtures.kit import Item, Kit, kit, prove
from fixtures.mesh import Mesh, make
from fixtures.parts.catalog import family
from fixtures.parts.guided_bore import DrillGuide
from fixtures.produce import produce
from fixtures.solid import Placed, Pose, Vec, add
from tests.piece.making import NAME, case, mm, read, shelf, stock, tables
from tests.test_planted import with_more, written
from tests.test_proof import box

W, H, D, T = 420.0, 360.0, 220.0, 18.0


@cache
def mitred() -> Kit:
    """A mitred case with an inset back and two shelves, one glued in and one set after it."""
    told = tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(W, H, D, back={"stock": "back", "fit": "inset"}),
        shelf=[
            shelf("low", 120.0, fixing="dowel"),
            shelf("high", 80.0, above="low", fixing="through-dowel"),
        ],
        bit=[{"diameter": "8 mm", "stands_out": mm(95.0)}],
    )
    return kit(read(told), NAME)


@cache
def butted() -> Kit:
    """A case whose sides run past top and bottom, dowelled."""
    told = tables(thick=T, case=case(W, H, D, corner="sides-run", fixing="dowel"))
    return kit(read(told), NAME)


def proved(
    made: Kit, items: tuple[Item, ...] | None = None, boards: tuple[Board, ...] | None = None
) -> set[str]:
    """Names of the checks that fail, without where they were made."""
    checks = prove(
        boards or made.panels.boards,
        made.joints,
        made.holes,
        made.items if items is None else items,
        made.bits,
        made.steps,
    )
    places = [f"{i.fixture.name}, {use.where}: " for i in made.items for use in i.fixture.uses]
    found = set()
    for check in checks:
        if not check.holds:
            place = next((p for p in places if check.name.startswith(p)), "")
            found.add(check.name.removeprefix(place))
    return found


def first(made: Kit, role: Role) -> int:
    """Which item is the first to serve that role."""
    return next(
        n
        for n, item in enumerate(made.items)
        if any(use.role == role and use.place for use in item.fixture.uses)
    )


def with_item(made: Kit, n: int, item: Item) -> tuple[Item, ...]:
    return (*made.items[:n], item, *made.items[n + 1 :])


def with_mesh(made: Kit, n: int, mesh: Mesh) -> tuple[Item, ...]:
    """The kit with another mesh read back for one part; its promises stay."""
    part = made.items[n].made
    assert part is not None
    return with_item(made, n, replace(made.items[n], made=replace(part, proved=written(mesh))))


def mesh_of(made: Kit, n: int) -> Mesh:
    part = made.items[n].made
    assert part is not None
    return part.proved


def with_place(made: Kit, n: int, which: int, move: Callable[[Pose], Pose]) -> tuple[Item, ...]:
    """The kit with one use of a part standing elsewhere."""
    item = made.items[n]
    use = item.fixture.uses[which]
    assert use.place is not None
    uses = list(item.fixture.uses)
    uses[which] = replace(use, place=move(use.place))
    return with_item(made, n, replace(item, fixture=replace(item.fixture, uses=tuple(uses))))


def with_board(made: Kit, low: Vec, high: Vec, enters: Phase) -> tuple[Board, ...]:
    """The boards and one more, between two corners."""
    shape = tuple(
        (x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])
    )
    like = made.panels.boards[0]
    extra = replace(like, name="extra", shape=shape, pieces=(shape,), enters=enters)
    return (*made.panels.boards, extra)


# --- the clean twins ------------------------------------------------------------------------


@pytest.mark.parametrize("clean", [mitred, butted])
def test_the_clean_twin_holds(clean: Callable[[], Kit]) -> None:
    made = clean()
    assert made.holds
    assert proved(made) == set()
    assert {"hold", "press", "drill"} <= {u.role for i in made.items for u in i.fixture.uses}


def test_an_item_put_back_as_it_was_is_the_clean_twin() -> None:
    made = mitred()
    n = first(made, "hold")
    assert proved(made, with_mesh(made, n, mesh_of(made, n))) == set()
    assert proved(made, with_place(made, n, 0, lambda pose: pose)) == set()


# --- planted --------------------------------------------------------------------------------


def uses_of(made: Kit, role: Role) -> tuple[int, list[tuple[int, Use]]]:
    n = first(made, role)
    return n, list(enumerate(made.items[n].fixture.uses))


def flipped(pose: Pose, span: float) -> Pose:
    """Half round about the bores' own direction, so that the block ends where it began."""

    def back(v: Vec) -> Vec:
        return -v[0], -v[1], -v[2]

    return Pose(back(pose.x), back(pose.y), pose.z, add(pose.at, pose.x, span))


@pytest.mark.parametrize("clean", [mitred, butted])
def test_a_block_flipped_on_its_datum_drills_holes_that_do_not_meet(
    clean: Callable[[], Kit],
) -> None:
    made = clean()
    n, uses = uses_of(made, "drill")
    which = next(i for i, use in uses if "face" in use.where)
    values = made.items[n].fixture.parameters
    assert isinstance(values, DrillGuide)
    span = 2 * values.first + (values.count - 1) * values.pitch
    found = proved(made, with_place(made, n, which, lambda pose: flipped(pose, span)))
    assert found
    assert {name.partition(":")[0] for name in found} == {
        "bores meet",
        "bores as in the drill table",
    }


def test_a_block_a_tenth_off_along_the_joint_is_caught_by_its_bores() -> None:
    made = mitred()
    n, uses = uses_of(made, "drill")
    which = next(i for i, use in uses if "face" in use.where)
    moved = with_place(made, n, which, lambda pose: replace(pose, at=add(pose.at, (0.0, 0.1, 0.0))))
    assert {name.partition(":")[0] for name in proved(made, moved)} == {
        "bores meet",
        "bores as in the drill table",
    }


def test_a_drill_stop_1_mm_deep_is_caught_by_its_depth() -> None:
    made = mitred()
    n = next(i for i, item in enumerate(made.items) if item.fixture.family == "depth-sleeve")
    mesh = mesh_of(made, n)
    low = mesh.vertices.copy()
    top = low[:, 2].max()
    low[low[:, 2] > top / 2, 2] -= 1.0
    found = proved(made, with_mesh(made, n, make(low, mesh.faces)))
    assert found
    assert {name.partition(":")[0] for name in found} == {"drill stop"}


def test_a_strap_does_not_close_a_butt_socket() -> None:
    corners = {
        kind: [joint for joint in made.joints if isinstance(joint, Corner)]
        for kind, made in (("butt", butted()), ("mitre", mitred()))
    }
    for corner in corners["mitre"]:
        assert strap_closes(corner).holds
    for corner in corners["butt"]:
        told = strap_closes(corner)
        assert not told.holds
        assert corner.b.name in told.message or corner.a.name in told.message
        assert told.message.startswith("nothing stops ")


def test_a_slot_too_tight_by_a_twentieth_is_caught_by_its_play() -> None:
    made = mitred()
    n = first(made, "hold")
    item = made.items[n]
    chosen = family(item.fixture.family)
    values = chosen.parameters(**(dict(item.fixture.parameters) | {"clearance": 0.35}))
    tight = produce(chosen.build(values, made.printer), made.printer, biased=False)
    found = proved(made, with_mesh(made, n, tight.proved))
    assert found
    assert all(name.endswith(": play") for name in found)


def test_a_socket_pushed_1_mm_along_a_panel_no_longer_fits_the_other() -> None:
    made = mitred()
    n, uses = uses_of(made, "hold")
    use = uses[0][1]
    corner = next(j for j in made.joints if isinstance(j, Corner) and j.name == use.joint)
    way, mate = corner.ways[0], corner.b.name
    moved = with_place(made, n, 0, lambda pose: replace(pose, at=add(pose.at, way, 1.0)))
    found = proved(made, moved)
    assert f"{mate} in slot_b: seated" in found or f"{mate} in slot_a: seated" in found
    # only what the slot of the other panel promises, and that the socket comes off it
    assert all(name.startswith(f"{mate} in slot_") or name == "comes off" for name in found)


@pytest.mark.parametrize("by", [-0.5, 0.5])
def test_a_spacer_half_a_millimetre_off_is_caught_by_its_size(by: float) -> None:
    made = mitred()
    n = first(made, "set")
    mesh = mesh_of(made, n)
    part = made.items[n].made
    assert part is not None
    span = part.part.spans[0]
    foot, head = (np.array(part.pose.apply(point)) for point in (span.foot, span.head))
    way = (head - foot) / np.linalg.norm(head - foot)
    low = mesh.vertices.copy()
    above = (low - foot) @ way > np.linalg.norm(head - foot) / 2
    low[above] += by * way
    found = proved(made, with_mesh(made, n, make(low, mesh.faces)))
    wanted = {"height: size"}
    if by > 0:  # it also stands in the shelf that it should carry
        found = {name for name in found if "shelf" not in name and name != "comes off"}
    assert found == wanted


def test_a_spacer_in_the_wrong_place_of_two_is_caught_by_its_size() -> None:
    """The shelf's height is not the spacer's: its level is planted 0.5 mm higher."""
    made = mitred()
    level = next(j for j in made.joints if isinstance(j, Level))
    board = level.shelf
    shape = tuple((x, y, z + 0.5) for x, y, z in board.shape)
    higher = replace(board, shape=shape, pieces=(shape,))
    boards = tuple(higher if b.name == board.name else b for b in made.panels.boards)
    found = proved(made, boards=boards)
    assert "height: size" in found


def test_a_board_in_the_way_of_a_socket_is_caught() -> None:
    made = mitred()
    # as wide as the case inside, 10 mm over its floor: where the arms of the sockets are
    boards = with_board(made, (T + 0.01, 0.0, T + 10.0), (W - T - 0.01, 60.0, T + 22.0), "glue-up")
    assert proved(made, boards=boards) == {"clear of the other boards"}
    far = with_board(made, (T + 150.0, 0.0, T + 50.0), (W - T - 150.0, 60.0, T + 62.0), "glue-up")
    assert proved(made, boards=far) == set()


def test_boards_that_share_space_are_caught() -> None:
    made = mitred()
    low = made.panels.shelves[0]
    z = low.top - 0.01
    boards = with_board(made, (W / 2 - 20.0, 100.0, z), (W / 2 + 20.0, 120.0, z + 12.0), "glue-up")
    assert proved(made, boards=boards) == {"boards apart"}
    on_it = with_board(
        made, (W / 2 - 20.0, 100.0, z + 0.01), (W / 2 + 20.0, 120.0, z + 12.0), "glue-up"
    )
    assert proved(made, boards=on_it) == set()


def test_a_back_that_has_no_way_in_is_caught() -> None:
    made = mitred()
    # a rail across the rear; from the front the glued shelf is in the way
    boards = with_board(made, (T, D, H / 2 - 20.0), (W - T, D + 12.0, H / 2 + 20.0), "dry fit")
    assert proved(made, boards=boards) == {"goes in: back"}
    inside = with_board(made, (0.0, D, H / 2 + 20.0), (T - 1.0, D + 12.0, H / 2 + 30.0), "dry fit")
    assert proved(made, boards=inside) == set()


def test_glue_that_touches_a_socket_is_caught_by_its_bead() -> None:
    made = mitred()
    n = first(made, "hold")
    part = made.items[n].made
    assert part is not None
    bead = next(b for b in part.part.beads if "tip" in b.name or "outer" in b.name)
    x, _, z = bead.start
    rib = box((x - 6.0, -1.0, 1.0), (x - 1.0, 1.0, z + 20.0))
    mesh = with_more(part.proved, Placed(rib, part.pose))
    found = proved(made, with_mesh(made, n, mesh))
    assert found
    assert all(name.startswith("glue: outside of ") for name in found)


def test_a_fixture_in_anothers_place_is_caught() -> None:
    made = mitred()
    n, uses = uses_of(made, "press")
    one = next(use for _, use in uses if use.place)
    assert one.place is not None
    other = next(
        i for i, use in uses if use.joint == one.joint and use.place and use.where != one.where
    )
    step = made.items[n].fixture.uses[other].place
    assert step is not None
    # the second caul of a joint drawn up to 10 mm from the first
    along = np.array(step.at) - np.array(one.place.at)
    shift = along * (10.0 / np.linalg.norm(along) - 1.0)
    x, y, z = shift.tolist()
    moved = with_place(made, n, other, lambda pose: replace(pose, at=add(pose.at, (x, y, z))))
    assert proved(made, moved) == {"dry fit: fixtures apart", "glue-up: fixtures apart"}
