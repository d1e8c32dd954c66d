"""A whole kit: what is in it, that it holds, and that all that is wrong is told at once."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from fixtures.assembly import PHASES
from fixtures.errors import InputError
from fixtures.kit import Kit, kit
from fixtures.telling.kit import findings
from tests.piece.making import NAME, Tables, case, polygon, read, shelf, stock, tables

T = 18.0


def told(kind: str) -> Tables:
    """Small pieces of every kind of corner, back and shelf between them."""
    more: Tables
    match kind:
        case "mitred":
            more = {"back": {"stock": "back", "fit": "groove"}}
            shelves = [shelf("a", 110.0, fixing="dowel"), shelf("b", 230.0, fixing="pin")]
        case "sides run":
            more = {"corner": "sides-run", "back": {"stock": "back", "fit": "inset"}}
            shelves = [shelf("a", 150.0, fixing="bracket", setback="10 mm")]
        case "tops run":
            more = {"corner": "top-runs", "fixing": "screw"}
            more["back"] = {"stock": "back", "fit": "overlay"}
            shelves = [shelf("a", 150.0, fixing="through-dowel")]
        case _:
            return tables(thick=12.0, polygon=polygon(6, 220.0, 180.0, fixing="glue"))
    return tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(420.0, 360.0, 240.0, **more),
        shelf=shelves,
        bit=[{"diameter": "8 mm", "stands_out": "95 mm"}],
    )


KINDS = ("mitred", "sides run", "tops run", "hexagon")


@cache
def made(kind: str) -> Kit:
    return kit(read(told(kind)), NAME)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kit_of_every_kind_holds_and_may_be_used(kind: str) -> None:
    found = made(kind)
    assert [check.name for check in found.checks if not check.holds] == []
    assert found.holds
    assert not found.stops
    assert len({check.name for check in found.checks}) > 30


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_of_a_kit_is_printed_on_its_printer(kind: str) -> None:
    found = made(kind)
    assert found.items
    for item in found.items:
        assert item.made is not None
        assert item.fixture.quantity >= 1
        size = np.ptp(item.made.mesh.vertices, axis=0)
        assert np.all(size <= np.array(found.printer.bed))
        assert item.made.mesh.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("kind", KINDS)
def test_steps_speak_of_the_fixtures_and_boards_that_there_are(kind: str) -> None:
    found = made(kind)
    known = {item.fixture.name: item.fixture.quantity for item in found.items}
    boards = {board.name for board in found.panels.boards}
    used = set()
    for step in found.steps:
        assert set(step.boards) <= boards
        for name, count in step.fixtures:
            assert count <= known[name], (step.title, name)
            used.add(name)
    assert used == set(known)
    phases = [
        PHASES.index(step.phase) for step in found.steps if step.phase and step.phase != "drill"
    ]
    assert phases == sorted(phases)


@pytest.mark.parametrize("kind", KINDS)
def test_every_place_of_a_fixture_is_a_joint_that_there_is(kind: str) -> None:
    found = made(kind)
    names = {joint.name for joint in found.joints}
    for item in found.items:
        for use in item.fixture.uses:
            assert use.joint in names
            assert set(use.boards) <= {board.name for board in found.panels.boards}


def test_a_kit_says_what_it_is_doing() -> None:
    doing: list[str] = []
    found = kit(read(told("hexagon")), NAME, doing.append)
    assert doing[0] == "planning"
    assert doing[-2:] == ["proving", "laying out"]
    assert {item.fixture.name for item in found.items} <= set(doing)


def test_the_same_piece_gives_the_same_kit() -> None:
    one, two = made("hexagon"), kit(read(told("hexagon")), NAME)
    assert one.checks == two.checks
    assert one.findings == two.findings
    assert one.steps == two.steps
    for a, b in zip(one.items, two.items, strict=True):
        assert (a.fixture.name, a.fixture.quantity) == (b.fixture.name, b.fixture.quantity)
        assert a.made is not None
        assert b.made is not None
        assert np.array_equal(a.made.mesh.vertices, b.made.mesh.vertices)
        assert np.array_equal(a.made.mesh.faces, b.made.mesh.faces)


def test_what_is_ripped_from_an_offcut_is_not_printed_nor_proved() -> None:
    piece = told("tops run")
    piece["fixtures"] = [{"family": "spacer-block", "make_from": "offcut"}]
    found = kit(read(piece), NAME)
    spacers = [item for item in found.items if item.fixture.family == "spacer-block"]
    assert spacers
    assert all(item.made is None for item in spacers)
    assert found.holds
    assert not [check for check in found.checks if "spacer-block" in check.name]
    assert any("from an offcut" in line for step in found.steps for line in step.settings)


def test_glue_alone_is_told() -> None:
    piece = tables(thick=T, case=case(300.0, 260.0, 150.0, fixing="glue"))
    checks = {finding.check: finding for finding in kit(read(piece), NAME).findings}
    assert "glue alone" in checks["glue-alone"].message
    assert checks["glue-alone"].remedy


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (
            {"stations": 3},
            "stations under [piece] has no effect: one copy is to be made. Give copies under "
            "[piece], or leave it out.",
        ),
        (
            {"stations": 3, "clamp_time": "45 min"},
            "stations and clamp_time under [piece] have no effect: one copy is to be made. Give "
            "copies under [piece], or leave them out.",
        ),
    ],
)
def test_what_is_for_several_copies_is_told_where_one_is_made(
    given: dict[str, object], sentence: str
) -> None:
    piece = tables(thick=T, case=case(300.0, 260.0, 150.0), piece=given)
    (note,) = (f for f in kit(read(piece), NAME).findings if f.check == "one-copy")
    assert f"{note.message} {note.remedy}" == sentence
    assert note.severity == "note"


def test_a_note_on_a_stock_is_told_once_and_by_the_name_it_was_given() -> None:
    piece = tables(
        thick=T,
        case=case(300.0, 260.0, 150.0),
        shelf=[shelf("middle", 110.0)],
        bit=[{"diameter": "6 mm", "stands_out": "120 mm"}],
    )
    found = kit(read(piece), NAME)
    families = {item.fixture.family for item in found.items}
    assert {"corner-socket", "drill-guide"} <= families  # each has a note of its own on its sheet
    told = [f.said for f in findings(found) if f.check.startswith("stock-")]
    assert told == [
        "case: one reading, so how far the thickness spreads is unknown, not zero. Measure in 4 "
        "places or more, each 20 mm or more in from the edge, after sanding, and give every "
        "reading."
    ]


def test_a_piece_on_legs_has_sockets_holes_screws_and_steps_for_them() -> None:
    piece = tables(thick=T, case=case(420.0, 300.0, 240.0))
    piece["legs"] = {"size": "28 mm", "length": "150 mm", "inset": "60 mm", "rake": "8 deg"}
    found = kit(read(piece), NAME)
    assert found.holds
    sockets = [item for item in found.items if item.fixture.family == "leg-socket"]
    assert [item.fixture.quantity for item in sockets] == [4]
    assert sum("leg" in hole.joint for hole in found.holes) == 16
    assert any(line.startswith("16 × flat-head wood screws #8 × 20 mm") for line in found.hardware)
    assert [step.title for step in found.steps][-2:] == ["Cut the legs", "Fit the legs"]
    names = {check.name for check in found.checks}
    assert {"feet in one plane", "standing height", "feet lie flat"} <= names
    assert any(finding.check == "can-tip" for finding in found.findings)


def test_all_that_is_wrong_with_a_piece_is_told_at_once() -> None:
    piece = tables(
        thick=T,
        case=case(420.0, 360.0, 240.0, corner="top-runs", dowel={"diameter": "10 mm"}),
        shelf=[
            shelf("a", 150.0, fixing="dowel", dowel={"count": 20}),
            shelf("b", 260.0, fixing="pin", pin={"depth": "18 mm"}),
        ],
        printer={"layer": "0.5 mm"},
        fixtures=[{"family": "corner-sokcet"}],
    )
    with pytest.raises(InputError) as refusal:
        kit(read(piece), NAME)
    where = [fault.where for fault in refusal.value.faults]
    assert "printer.layer" in where
    assert "fixtures.1.family" in where
    assert "case.dowel.diameter" in where
    assert "shelf a.dowel.count" in where
    assert any(place.startswith("shelf b at") for place in where)
    assert all(fault.message.endswith(".") for fault in refusal.value.faults)
    assert len(where) == len({(fault.where, fault.message) for fault in refusal.value.faults})


def test_sizes_and_names_wrong_in_several_tables_are_told_at_once() -> None:
    piece = tables(
        thick=T,
        case=case(70.0, 360.0, 240.0, back={"stock": "bcak", "fit": "inset"}),
        shelf=[shelf("a", 150.0), shelf("a", 200.0, above="c")],
        printer={"bed": ["20 mm", "200 mm", "200 mm"]},
        fixtures=[{"family": "clamp-caul", "parameters": {"strapp": "30 mm"}}],
    )
    with pytest.raises(InputError) as refusal:
        kit(read(piece), NAME)
    where = {fault.where for fault in refusal.value.faults}
    assert {"printer.bed", "case.back.stock", "fixtures.clamp-caul.strapp"} <= where


def test_a_strap_runs_at_one_height_though_a_shelf_keeps_a_socket_away() -> None:
    """A dowelled shelf 5 mm over the floor: the lower corners have no sockets at the front."""
    low = tables(
        thick=T,
        case=case(420.0, 360.0, 240.0),
        shelf=[shelf("low", 5.0, fixing="dowel")],
    )
    made = kit(read(low), NAME)
    places = {
        use.joint: [
            other.where.split("strap at ")[1]
            for item in made.items
            for other in item.fixture.uses
            if other.joint == use.joint and "strap at" in other.where
        ]
        for item in made.items
        for use in item.fixture.uses
        if use.role == "press"
    }
    assert len(places) == 4
    assert len({tuple(where) for where in places.values()}) == 1
    assert made.holds


def test_boards_of_a_mitre_a_little_unlike_lie_in_their_sockets() -> None:
    """Made for the thicker, a socket holds the thinner one to one side: 0.3 mm more play."""
    piece = tables(
        thick=T,
        stocks={"thin": stock(T - 0.3)},
        case=case(300.0, 260.0, 150.0, stocks={"left": "thin"}),
    )
    made = kit(read(piece), NAME)
    assert [check.name for check in made.checks if not check.holds] == []
    assert any("left in slot" in check.name for check in made.checks)


def test_a_lip_stands_before_the_shelf_it_stops_and_nowhere_else() -> None:
    """Only in front of a shelf that is laid on its spacers, left and right handed: where a height
    is marked, or at the rear, a lip would be in the shelf's way."""
    wish = [{"family": "spacer-block", "parameters": {"lip": "6 mm"}}]
    laid = shelf("laid", 150.0, fixing="through-dowel", setback="5 mm")
    pegged = shelf("pegged", 300.0, fixing="dowel", setback="5 mm")
    made = kit(read(tables(case=case(), shelf=[laid, pegged], fixtures=wish)), NAME)
    assert [check.message for check in made.checks if not check.holds] == []
    spacers = [item.fixture for item in made.items if item.fixture.family == "spacer-block"]
    lips = {use.where: use.parameters.get("lip") for fixture in spacers for use in fixture.uses}
    before = {where for where, lip in lips.items() if lip}
    assert before == {
        f"shelf laid at {side}, its lip before the shelf's front edge" for side in ("left", "right")
    }
    assert any(where.startswith("shelf laid") for where in set(lips) - before)
