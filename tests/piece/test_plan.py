"""The plan: which family serves a joint, how many are made, what the user's wishes change."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from fixtures.assembly import BitInHand
from fixtures.errors import Fault, InputError
from fixtures.finding import Finding
from fixtures.parts.catalog import FAMILIES
from fixtures.piece.joining import joints
from fixtures.piece.panels import panels
from fixtures.piece.piece import printer_of
from fixtures.piece.plan import Fixture, Plan, plan
from tests.piece.making import NAME, Tables, case, polygon, read, shelf, stock, tables

T, W, H, D = 18.0, 600.0, 500.0, 300.0


def planned(told: Tables) -> Plan:
    piece = read(told)
    bits = tuple(BitInHand(b.diameter, b.stands_out, b.point) for b in piece.bit)
    printer = printer_of(piece.printer)
    found = joints(panels(piece, NAME), piece, printer, bits)
    return plan(found, piece, printer, bits)


def faults(told: Tables) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as refusal:
        planned(told)
    for fault in refusal.value.faults:
        assert fault.where.startswith("fixtures.")
        assert fault.message.endswith(".")
        assert fault.remedy.endswith((".", "?"))
    return refusal.value.faults


def a_case(*shelves: Tables, wishes: list[Tables] | None = None, **more: Any) -> Tables:
    told = tables(thick=T, case=case(W, H, D, **more), shelf=list(shelves))
    return told | ({"fixtures": wishes} if wishes else {})


def made_of(found: Plan, family: str) -> list[Fixture]:
    return [fixture for fixture in found.fixtures if fixture.family == family]


def served(found: Plan) -> set[str]:
    return {fixture.family for fixture in found.fixtures}


def told_of(found: Plan, where: str) -> list[Finding]:
    return [finding for finding in found.findings if where in (finding.feature or "")]


# --- who serves, and how many ---------------------------------------------------------------


def test_a_mitred_case_takes_a_socket_for_each_end_of_four_corners() -> None:
    found = planned(a_case())
    (socket,) = made_of(found, "corner-socket")
    assert socket.quantity == 8
    assert {use.joint for use in socket.uses} == {
        "left-bottom",
        "bottom-right",
        "right-top",
        "top-left",
    }
    (caul,) = made_of(found, "clamp-caul")
    stations = {use.where.rsplit(",", 1)[1] for use in caul.uses}
    assert caul.quantity == 4 * len(stations)


@pytest.mark.parametrize("sides", [3, 6, 12])
def test_a_ring_takes_a_socket_for_each_end_of_its_corners(sides: int) -> None:
    (socket,) = made_of(planned(tables(thick=12.0, polygon=polygon(sides, 420.0))), "corner-socket")
    assert socket.quantity == 2 * sides


def test_butt_sockets_come_in_two_hands() -> None:
    sockets = made_of(planned(a_case(corner="sides-run")), "corner-socket")
    # of each corner the front end is of one hand and the rear end of the other
    assert [socket.quantity for socket in sockets] == [4, 4]
    assert {getattr(socket.parameters, "hand", None) for socket in sockets} == {"left", "right"}


def test_boards_of_unlike_thickness_at_a_butt_have_a_socket_each_of_their_own() -> None:
    told = a_case(corner="sides-run", fixing="glue", stocks={"top": "thin"})
    told["stock"]["thin"] = stock(9.0)
    sockets = made_of(planned(told), "corner-socket")
    assert [socket.quantity for socket in sockets] == [2, 2, 2, 2]
    assert {getattr(s.parameters, "thickness_b", None) for s in sockets} == {(T,), (9.0,)}


def test_a_finish_counts_for_the_board_that_has_it() -> None:
    told = a_case(corner="sides-run", stocks={"top": "painted", "bottom": "painted"})
    told["stock"]["painted"] = stock(T, finish="0.2 mm")
    for socket in made_of(planned(told), "corner-socket"):
        # the second board's slot: reading and finish on both faces
        assert getattr(socket.parameters, "thickness_b", None) == (pytest.approx(T + 2 * 0.2),)
        assert getattr(socket.parameters, "finish", None) == 0.0


def test_two_stocks_of_one_thickness_share_their_fixtures() -> None:
    told = a_case(corner="sides-run", stocks={"top": "same"})
    told["stock"]["same"] = stock(T)
    assert [s.quantity for s in made_of(planned(told), "corner-socket")] == [4, 4]


def test_sheets_close_to_each_other_share_the_slot_of_the_thickest() -> None:
    told = a_case()
    told["stock"]["case"] = {
        "sheet": [
            {"id": "A", "readings": ["18.0 mm", "18.1 mm"]},
            {"id": "B", "readings": ["18.3 mm", "18.4 mm"]},
        ]
    }
    (socket,) = made_of(planned(told), "corner-socket")
    assert max(getattr(socket.parameters, "thickness", ())) == 18.4


def late(name: str, height: float, **more: Any) -> Tables:
    return shelf(name, height, fixing="through-dowel", **more)


def test_spacers_are_as_many_as_stand_at_once() -> None:
    # two a side under a deep shelf; each shelf is set in its turn
    one = made_of(planned(a_case(late("a", 150.0))), "spacer-block")
    assert [spacer.quantity for spacer in one] == [4]
    two = made_of(planned(a_case(late("a", 150.0), late("b", 150.0, above="a"))), "spacer-block")
    assert [spacer.quantity for spacer in two] == [4]
    other = made_of(planned(a_case(late("a", 100.0), late("b", 200.0))), "spacer-block")
    assert [spacer.quantity for spacer in other] == [4, 4]


def test_a_spacer_longer_than_the_bed_is_made_in_two_halves() -> None:
    told = a_case(late("a", 300.0))
    told["printer"] = {"bed": ["200 mm", "200 mm", "200 mm"]}
    (halves,) = made_of(planned(told), "spacer-block")
    assert halves.quantity == 2 * 4
    assert {use.each for use in halves.uses} == {2}


def test_one_guide_drills_both_mates_of_every_like_joint() -> None:
    found = planned(a_case(shelf("a", 210.0, fixing="dowel"), shelf("b", 320.0, fixing="dowel")))
    guides = made_of(found, "drill-guide")
    assert all(guide.quantity == 1 for guide in guides)
    uses = [use for guide in guides for use in guide.uses if use.role == "drill"]
    assert {use.joint for use in uses} == {
        f"shelf {name} at {side}" for name in "ab" for side in ("left", "right")
    }
    for joint in {use.joint for use in uses}:
        own = [use for use in uses if use.joint == joint]
        assert len(own) == 2
        assert "on the edge" in own[0].where
        assert "on the face" in own[1].where
        # the same block, so that its own errors cancel
        assert own[0].parameters == own[1].parameters


def test_a_sleeve_is_made_for_each_depth_of_a_bit_in_the_file() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel", dowel={"diameter": "8 mm", "length": "40 mm"}))
    without = planned(told)
    assert "depth-sleeve" not in served(without)
    notes = told_of(without, "shelf a at left")
    assert any("[[bit]] of 8 mm" in note.message and note.severity == "note" for note in notes)
    told["bit"] = [{"diameter": "8 mm", "stands_out": "95 mm"}]
    sleeves = made_of(planned(told), "depth-sleeve")
    # 12 and 28 mm of pin, 1 mm more for glue
    assert {getattr(sleeve.parameters, "depth", None) for sleeve in sleeves} == {13.0, 29.0}
    assert all(sleeve.quantity == 1 for sleeve in sleeves)


def test_fixtures_come_in_catalogue_order() -> None:
    order = [entry.name for entry in FAMILIES]
    found = planned(a_case(shelf("a", 210.0, fixing="dowel"), late("b", 330.0)))
    places = [order.index(fixture.family) for fixture in found.fixtures]
    assert places == sorted(places)
    assert len(set(places)) > 2


def test_the_same_piece_gives_the_same_plan() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel"), late("b", 330.0))
    one, two = planned(told), planned(told)
    assert one.findings == two.findings
    assert [(f.name, f.quantity, f.uses) for f in one.fixtures] == [
        (f.name, f.quantity, f.uses) for f in two.fixtures
    ]


def test_every_fixture_says_what_for_and_where() -> None:
    for fixture in planned(a_case(shelf("a", 210.0, fixing="dowel"), late("b", 330.0))).fixtures:
        assert fixture.name == f"{fixture.family}-{fixture.part.mark}"
        assert fixture.reason
        assert any(use.joint in fixture.reason for use in fixture.uses)


# --- what nobody serves ---------------------------------------------------------------------


def test_a_corner_with_no_room_for_a_socket_is_told_with_both_numbers() -> None:
    found = planned(tables(thick=T, case=case(100.0, H, D)))
    assert "corner-socket" not in served(found)
    # half of 100 - 2·18 inside; an arm of 40 and 3 mm
    says = [f for f in found.findings if "holds it square" in f.message]
    assert says
    assert any("32 mm" in f.message and "43 mm" in f.message for f in says)
    assert all(f.check == "nothing-serves" and f.severity == "mend" and f.remedy for f in says)


def test_short_boards_have_no_cauls_beside_each_other() -> None:
    found = planned(tables(thick=6.0, case=case(105.0, H, D)))
    says = [f for f in found.findings if "presses it" in f.message]
    # two legs of 40 and their ears of 14, and 1 mm each
    assert any("105 mm" in f.message and "110 mm" in f.message for f in says)
    assert "clamp-caul" not in served(found)


def test_a_bit_too_short_for_guide_and_depth_is_told() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel", dowel={"diameter": "8 mm", "length": "40 mm"}))
    told["bit"] = [{"diameter": "8 mm", "stands_out": "60 mm"}]
    found = planned(told)
    says = [f for f in found.findings if "guides the drill" in f.message]
    assert says
    assert all("60 mm" in f.message for f in says)
    # 30 of guide, chip relief and 29 of hole, and its point: what is needed is told too
    assert all(any(c.isdigit() for c in f.remedy + f.message.split("60 mm", 1)[1]) for f in says)
    told["bit"][0]["stands_out"] = "95 mm"
    assert not [f for f in planned(told).findings if "guides the drill" in f.message]


def test_a_spline_is_asked_for_and_not_served() -> None:
    says = [f for f in planned(a_case()).findings if "spline" in f.message]
    assert says
    assert all(f.severity == "note" for f in says)
    assert not [f for f in planned(a_case(fixing="glue")).findings if "spline" in f.message]


def test_like_findings_of_several_places_are_told_once_with_all_places() -> None:
    found = planned(tables(thick=T, case=case(100.0, H, D))).findings
    assert len({(f.message, f.remedy) for f in found}) == len(found)


# --- wishes ---------------------------------------------------------------------------------


def test_a_family_left_out_is_told_where_it_would_have_served() -> None:
    found = planned(a_case(wishes=[{"family": "corner-socket", "use": False}]))
    assert "corner-socket" not in served(found)
    (says,) = [f for f in found.findings if "is left out" in f.message]
    assert says.remedy
    for joint in ("left-bottom", "bottom-right", "right-top", "top-left"):
        assert joint in (says.feature or "")


def test_a_family_can_be_left_out_at_one_joint() -> None:
    wish = {"family": "corner-socket", "joint": "top-left", "use": False}
    found = planned(a_case(wishes=[wish]))
    (socket,) = made_of(found, "corner-socket")
    assert socket.quantity == 6
    assert "top-left" not in {use.joint for use in socket.uses}


def test_spacers_can_be_ripped_from_an_offcut() -> None:
    wish = {"family": "spacer-block", "make_from": "offcut"}
    for spacer in made_of(planned(a_case(late("a", 150.0), wishes=[wish])), "spacer-block"):
        assert spacer.make_from == "offcut"


def test_an_offcut_at_one_joint_leaves_the_others_to_the_printer() -> None:
    wish = {"family": "spacer-block", "joint": "shelf a at left", "make_from": "offcut"}
    found = made_of(planned(a_case(late("a", 150.0), wishes=[wish])), "spacer-block")
    assert {(spacer.make_from, spacer.quantity) for spacer in found} == {
        ("offcut", 2),
        ("print", 2),
    }


def test_parameters_are_taken_with_their_units() -> None:
    wish = {"family": "corner-socket", "parameters": {"arm": "3 in", "clearance": "0.3 mm"}}
    (socket,) = made_of(planned(a_case(wishes=[wish])), "corner-socket")
    assert getattr(socket.parameters, "arm", None) == pytest.approx(76.2)
    assert getattr(socket.parameters, "clearance", None) == pytest.approx(0.3)


def test_a_wish_for_one_joint_goes_before_one_for_all() -> None:
    wishes: list[Tables] = [
        {"family": "corner-socket", "joint": "top-left", "parameters": {"arm": "50 mm"}},
        {"family": "corner-socket", "parameters": {"arm": "70 mm"}},
    ]
    found = made_of(planned(a_case(wishes=wishes)), "corner-socket")
    assert {(s.quantity, getattr(s.parameters, "arm", None)) for s in found} == {(2, 50.0), (6, 70)}


def test_cauls_stand_clear_of_sockets_of_the_grip_asked_for() -> None:
    wish = {"family": "corner-socket", "parameters": {"grip": "50 mm"}}
    for caul in made_of(planned(a_case(wishes=[wish])), "clamp-caul"):
        assert getattr(caul.parameters, "grip", None) == 50.0


def test_a_sleeve_comes_down_on_the_guide_asked_for_and_on_none_that_is_left_out() -> None:
    told = a_case(
        shelf("a", 210.0, fixing="dowel", dowel={"diameter": "8 mm"}),
        wishes=[{"family": "drill-guide", "parameters": {"guide": "38 mm"}}],
    )
    told["bit"] = [{"diameter": "8 mm", "stands_out": "110 mm"}]
    found = planned(told)
    blocks = {u.block for guide in made_of(found, "drill-guide") for u in guide.uses}
    assert {getattr(s.parameters, "block", None) for s in made_of(found, "depth-sleeve")} == blocks
    assert min(blocks) >= 38.0
    told["fixtures"] = [{"family": "drill-guide", "use": False}]
    assert "depth-sleeve" not in served(planned(told))


def test_wishes_that_cannot_be_are_refused_all_at_once() -> None:
    wishes: list[Tables] = [
        {"family": "corner-sokcet"},
        {"family": "corner-socket", "joint": "roof"},
        {"family": "corner-socket", "parameters": {"armm": "60 mm"}},
        {"family": "corner-socket", "parameters": {"arm": 60}},
        {"family": "corner-socket", "parameters": {"arm": "400 mm"}},
        {"family": "clamp-caul", "make_from": "offcut"},
        {"family": "spacer-block", "parameters": {"height": "100 mm"}},
    ]
    found = faults(a_case(late("a", 150.0), wishes=wishes))
    assert [fault.where for fault in found] == [
        "fixtures.1.family",
        "fixtures.2.joint",
        "fixtures.corner-socket.armm",
        "fixtures.corner-socket.arm",
        "fixtures.corner-socket.arm",
        "fixtures.6.make_from",
        "fixtures.spacer-block.height",
    ]
    told = [str(fault) for fault in found]
    assert "Did you mean corner-socket?" in told[0]
    assert "left-bottom" in told[1]
    assert "Did you mean fixtures.corner-socket.arm?" in told[2]
    assert "60 mm" in told[3]
    assert "40 mm to 100 mm" in told[4]


def test_no_message_speaks_of_options_of_the_command_line() -> None:
    # bushes leave no wall in a thin edge: what the family refuses is a finding of the kit
    told = a_case(
        shelf("a", 210.0, fixing="dowel"),
        wishes=[{"family": "drill-guide", "parameters": {"bush": "metric"}}],
    )
    found = planned(told)
    assert all("--" not in f.message + f.remedy for f in found.findings)


def test_the_bed_in_the_file_is_the_one_that_guides_are_made_for() -> None:
    told = a_case(shelf("a", 210.0, fixing="dowel"))
    wide = planned(told | {"printer": {"bed": ["300 mm", "300 mm", "300 mm"]}})
    (one,) = made_of(wide, "drill-guide")
    (two,) = made_of(planned(told), "drill-guide")
    assert getattr(one.parameters, "count", 0) >= getattr(two.parameters, "count", 0)
    assert replace(one, quantity=1) == one


# --- how each is used, told by the boards of the piece --------------------------------------


def told_notes(found: Plan, use: str) -> str:
    """Notes of the one fixture used there."""
    (one,) = [f for f in found.fixtures if any(use in place.where for place in f.uses)]
    return " ".join(one.part.notes)


def test_plates_say_the_edge_their_fence_hangs_over_at_each_place() -> None:
    """The same holes from the rear take the plate of the front, or one of their own."""
    pin = {"diameter": "5 mm", "count": 3, "setback": "37 mm"}
    found = planned(a_case(shelf("a", 210.0, fixing="pin", pin=pin), corner="sides-run"))
    plates = [f for f in made_of(found, "drill-guide") if f.parameters.on == "face"]  # type: ignore[attr-defined]
    assert plates
    for plate in plates:
        notes = " ".join(plate.part.notes)
        assert "panel's front edge" not in notes
        for use in plate.uses:
            edge = "rear" if "rear row" in use.joint else "front"
            assert f"fence over the {edge} edge" in notes
            assert use.boards[0] in notes


def test_no_plate_of_a_kit_asks_for_a_mate_that_the_kit_has() -> None:
    found = planned(a_case(shelf("a", 210.0, fixing="bracket"), corner="top-runs", fixing="screw"))
    for fixture in made_of(found, "drill-guide"):
        assert "--hand" not in " ".join(fixture.part.notes)


def test_guides_at_corners_and_dividers_speak_of_their_own_datums() -> None:
    told = a_case(corner="sides-run", fixing="dowel")
    notes = told_notes(planned(told), "left-top, on the face")
    assert "shelf" not in notes
    assert "outside face of bottom or top" in notes
    assert "end of right or left" in notes or "end of left or right" in notes


def test_sockets_of_a_kit_name_the_boards() -> None:
    found = planned(a_case(corner="sides-run", fixing="dowel"))
    for socket in made_of(found, "corner-socket"):
        notes = " ".join(socket.part.notes)
        assert "panel A" not in notes
        assert "trimmed flush" in notes
