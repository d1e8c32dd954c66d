"""The way of work: what comes before what, where each fixture stands, what is written down.

Trade order (common practice): dry before glue, measured before cut, blind dowels before the case
closes, inside finished before glue-up. No part is meshed here.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import Any

import pytest

from fixtures.assembly import BitInHand
from fixtures.piece.drilling import holes
from fixtures.piece.joining import joints
from fixtures.piece.legs import legs_of
from fixtures.piece.order import order
from fixtures.piece.panels import panels
from fixtures.piece.piece import printer_of
from fixtures.piece.plan import Fixture, plan
from fixtures.piece.sawing import set_ups
from fixtures.piece.step import Box, Step
from fixtures.piece.steps import steps
from fixtures.telling.steps import document, heading, lines
from tests.piece.making import NAME, Tables, case, mm, polygon, read, shelf, stock, tables

T = 18.0
BIT = {"diameter": "8 mm", "stands_out": "95 mm"}


def way(told: Tables) -> tuple[tuple[Step, ...], tuple[Fixture, ...]]:
    """The steps of a piece, and its fixtures as planned."""
    piece = read(told)
    printer = printer_of(piece.printer)
    bits = tuple(BitInHand(b.diameter, b.stands_out, b.point) for b in piece.bit)
    made = panels(piece, NAME)
    found = (*joints(made, piece, printer, bits), *legs_of(made, piece, printer, bits))
    planned = plan(found, piece, printer, bits).fixtures
    ordered = order(made, found)
    return steps(piece, made, found, holes(found, bits), planned, bits, ordered), planned


def told(corner: str, fit: str, fixings: Sequence[str], **more: Any) -> Tables:
    back = {"back": {"stock": "back", "fit": fit}} if fit else {}
    rows = [shelf(each, 110.0 + 110.0 * n, fixing=each) for n, each in enumerate(fixings)]
    return tables(
        thick=T,
        stocks={"back": stock(6.0)},
        case=case(420.0, 130.0 + 130.0 * len(rows), 240.0, corner=corner, **back),
        shelf=rows,
        bit=[BIT],
        **more,
    )


@cache
def of(corner: str, fit: str, *fixings: str) -> tuple[tuple[Step, ...], tuple[Fixture, ...]]:
    return way(told(corner, fit, fixings))


def at(found: Sequence[Step], title: str) -> int:
    return next(n for n, step in enumerate(found) if step.title.startswith(title))


KINDS = (
    ("mitre", "inset", "dowel", "pin"),
    ("mitre", "groove", "bracket"),
    ("sides-run", "overlay", "through-dowel", "dowel"),
    ("sides-run", "groove", "pin"),
    ("top-runs", "inset", "dowel", "bracket"),
    ("top-runs", "", "through-dowel"),
)


@pytest.mark.parametrize("kind", KINDS)
def test_steps_come_in_the_order_of_the_trade(kind: tuple[str, ...]) -> None:
    found, _ = of(*kind)
    order_of = ["Print", "Cut what needs", "Test fit", "Dry fit", "Measure the dry case",
                "Cut what was held back", "Finish the insides", "Glue up"]  # fmt: skip
    places = [at(found, title) for title in order_of]
    assert places == sorted(places)
    drill = [n for n, step in enumerate(found) if step.phase == "drill"]
    assert all(n < at(found, "Finish the insides") for n in drill)
    corners = [n for n in drill if "corners" in found[n].title]
    assert all(n < at(found, "Dry fit") for n in corners)
    assert all(n > at(found, "Cut what was held") for n in drill if n not in corners)


@pytest.mark.parametrize("kind", KINDS)
def test_blind_shelves_are_glued_with_the_case_and_all_others_set_after_it(
    kind: tuple[str, ...],
) -> None:
    found, _ = of(*kind)
    glued = found[at(found, "Glue up")].boards
    for fixing in kind[2:]:
        name = f"shelf {fixing}"
        if fixing == "dowel":
            assert name in glued
            assert all(name not in step.boards for step in found[at(found, "Glue up") + 1 :])
        else:
            assert name not in glued
            assert at(found, "Glue up") < at(found, "Set the shelves")
            assert name in found[at(found, "Set the shelves")].boards
    if kind[1] in ("inset", "overlay"):
        laid = {f"shelf {fixing}" for fixing in kind[2:] if fixing in ("pin", "bracket")}
        n = at(found, "Fit the back")
        assert {name for step in found[n + 1 :] for name in step.boards} == laid
    if kind[1] == "groove":  # it goes into its groove as the case closes
        assert "back" in glued


@pytest.mark.parametrize("kind", KINDS)
def test_every_fixture_is_told_where_it_stands_and_each_that_stands_comes_off(
    kind: tuple[str, ...],
) -> None:
    found, planned = of(*kind)
    by_name = {fixture.name: fixture for fixture in planned}
    for step in found:
        stands = dict(step.stands)
        on = {name for name, _ in step.fixtures}
        assert set(stands) <= on
        if step.phase is None:
            continue
        for name, count in step.fixtures:
            fixture = by_name[name]
            assert 1 <= count <= fixture.quantity
            if fixture.uses[0].role != "stop":
                assert stands[name], (step.title, name)
    for phase in ("dry fit", "glue-up", "fit out"):
        of_phase = [step for step in found if step.phase == phase]
        stood = {
            name
            for step in of_phase
            for name, _ in step.fixtures
            if by_name[name].uses[0].role in ("hold", "press", "set", "template")
        }
        assert stood == {off.fixture for step in of_phase for off in step.off}, phase
        for step in of_phase:
            for off in step.off:
                assert off.when
                places = {use.where for use in by_name[off.fixture].uses if phase in use.phases}
                assert {where for where, _ in off.ways} <= places


def test_sockets_come_off_as_soon_as_the_glue_has_grabbed_and_cauls_when_it_has_set() -> None:
    found, _ = of("mitre", "inset", "dowel", "pin")
    when = {off.fixture.rpartition("-")[0]: off.when for off in found[at(found, "Glue up")].off}
    assert when["corner-socket"] == "as soon as the glue has grabbed, along the joint"
    assert when["clamp-caul"].startswith("once the glue has set")
    ways = {
        way for off in found[at(found, "Glue up")].off if "socket" in off.fixture
        for _, (way,) in off.ways
    }  # fmt: skip
    assert {(round(x), round(y), round(z)) for x, y, z in ways} == {(0, -1, 0), (0, 1, 0)}


def test_where_a_fixture_stands_is_said_once_for_all_corners() -> None:
    found, _ = of("mitre", "inset", "dowel", "pin")
    stands = dict(found[at(found, "Dry fit")].stands)
    told_of = {name.rpartition("-")[0]: where for name, where in stands.items()}
    assert told_of["corner-socket"] == "front end and rear end of every corner"
    # a strap 25 mm wide between sockets that grip 30 mm: three of them in 240 mm
    assert told_of["clamp-caul"] == "every corner, strap at 53.5, 120, 186.5 mm from the front"


def test_every_set_up_of_the_saw_is_in_a_step_and_what_is_held_back_is_cut_after_measuring() -> (
    None
):
    piece = told("mitre", "inset", ["dowel", "pin"])
    table = read(piece)
    found, _ = of("mitre", "inset", "dowel", "pin")
    early, late = (found[at(found, t)] for t in ("Cut what needs", "Cut what was held"))
    for one in set_ups(table, panels(table, NAME)):
        step = late if one.held_back else early
        assert any(line.startswith(f"Set-up {one.number}, ") for line in step.settings)
        assert set(one.boards) <= set(step.boards)
    assert not set(early.boards) & set(late.boards)


def test_measuring_leaves_boxes_to_write_in_on_the_sheet_and_in_the_document() -> None:
    found, _ = of("mitre", "inset", "dowel", "pin")
    n = at(found, "Measure the dry case")
    labels = {box.label: box for box in found[n].boxes}
    assert labels["inside diagonals at mid-depth"] == Box("inside diagonals at mid-depth", "mm", 2)
    widths = next(box for label, box in labels.items() if label.startswith("inside width"))
    assert widths.count == 3
    sheet = "\n".join(lines(n + 1, found[n]))
    assert "Inside diagonals at mid-depth: [______] [______] mm" in sheet
    document_of = document(n + 1, found[n])
    assert document_of["number"] == n + 1
    assert {"label": "inside diagonals at mid-depth", "unit": "mm", "count": 2} in document_of[
        "write_in"
    ]


def test_a_document_of_a_step_keeps_its_keys_and_tells_ways_as_vectors() -> None:
    found, _ = of("sides-run", "overlay", "through-dowel", "dowel")
    n = at(found, "Glue up")
    document_of = document(n + 1, found[n])
    assert set(document_of) >= {"title", "panels", "fixtures", "settings", "go", "cautions"}
    assert [join["panels"] for join in document_of["joins"]][-1] == ["right"]
    assert document_of["joins"][-1]["along"] == [[-1.0, 0.0, 0.0]]
    for fixture in document_of["fixtures"]:
        assert set(fixture) == {"name", "count", "where"}
    for off in document_of["comes_off"]:
        for place in off["ways"]:
            for leg in place["along"]:
                assert sum(x * x for x in leg) == pytest.approx(1.0)


def test_the_sheet_tells_the_order_in_words() -> None:
    found, _ = of("top-runs", "inset", "dowel", "bracket")
    sheet = "\n".join(lines(9, found[at(found, "Glue up")]))
    shelf_in = sheet.index("shelf dowel onto left, from the right.")
    assert shelf_in < sheet.index("top onto left and right, from above.")
    assert sheet.startswith("9. Glue up\n")
    assert "Take off corner-socket" in sheet


def test_a_blind_shelf_makes_the_glue_up_one_go() -> None:
    blind, _ = of("sides-run", "overlay", "through-dowel", "dowel")
    plain, _ = of("sides-run", "groove", "pin")
    says = [" ".join(found[at(found, "Glue up")].settings) for found in (blind, plain)]
    assert "in one go" in says[0]
    assert "battens" in says[0]
    assert "in one go" not in says[1]


def test_screwed_corners_are_drilled_and_driven_after_the_glue() -> None:
    piece = told("top-runs", "", ["pin"])
    piece["case"] |= {"fixing": "screw"}
    found, _ = way(piece)
    n = at(found, "Screw the corners")
    assert n > at(found, "Glue up")
    assert any("template" in {u.role for u in f.uses} for f in _ if f.name in dict(found[n].stands))


def test_a_ring_is_dry_fitted_and_glued_and_nothing_is_measured_on_it() -> None:
    found, _ = way(tables(thick=12.0, polygon=polygon(6, 220.0, 180.0, fixing="glue")))
    titles = [step.title for step in found]
    assert titles[-3:] == ["Dry fit", "Finish the insides and tape the joints", "Glue up"]
    assert found[titles.index("Dry fit")].off
    assert not any("diagonal" in box.label for step in found for box in step.boxes)


def test_a_narrow_case_gives_its_spacers_room_by_taking_the_sockets_off_first() -> None:
    """Between arms of 60 mm and walls a case of 160 mm leaves no lane for 40 mm of spacer."""
    piece = tables(thick=T, case=case(160.0, 360.0, 240.0), shelf=[shelf("low", 150.0)], bit=[BIT])
    found, _ = way(piece)
    assert not any("spacer" in off.fixture for off in found[at(found, "Dry fit")].off)
    late = [off.fixture.rpartition("-")[0] for off in found[at(found, "Cut what was held")].off]
    assert late.index("corner-socket") < late.index("spacer-block")


def test_in_inches_every_box_and_number_is_in_inches() -> None:
    piece = told("mitre", "inset", ["bracket"])
    piece["piece"] = {"units": "in"}
    found, _ = way(piece)
    assert {box.unit for step in found for box in step.boxes} == {"in"}
    assert not any(" mm" in line for line in found[at(found, "Measure")].settings)


def test_a_divider_and_its_shelf_are_drilled_on_the_bench_and_glued_in() -> None:
    piece = told("sides-run", "inset", [])
    piece["case"]["width"], piece["case"]["height"] = mm(820.0), mm(600.0)
    piece["divider"] = [{"name": "mid", "at": mm(380.0), "stock": "case"}]
    piece["shelf"] = [shelf("low", 250.0, between=["left", "mid"])]
    found, _ = way(piece)
    drilled = next(step for step in found if "on the bench" in step.title)
    assert drilled.title == "Drill for the dividers and shelves, on the bench"
    glue = found[at(found, "Glue up")]
    assert {"divider mid", "shelf low"} <= set(glue.boards)
    assert [name for move in glue.joins for name in move.boards][-1] == "right"


OUTER = {"stock": "case", "overhang": {"front": "20 mm", "left": "12 mm", "right": "12 mm"}}


def test_what_is_driven_from_inside_comes_before_loose_shelves_and_legs_before_those_on_pins() -> (
    None
):
    piece = told("top-runs", "inset", ["pin", "bracket"], top=OUTER, base=OUTER)
    piece["legs"] = {"size": "28 mm", "length": "150 mm", "inset": "60 mm"}
    found, _ = way(piece)
    places = [
        at(found, "Fit the top board"),
        at(found, "Fit the base board"),
        at(found, "Set the shelves"),
        at(found, "Fit the legs"),
    ]
    assert places == sorted(places)
    assert found[places[2]].boards == ("shelf bracket",)
    assert found[-1].boards == ("shelf pin",)


def test_outer_boards_are_told_how_far_they_stand_out() -> None:
    found, _ = way(told("top-runs", "", ["pin"], top=OUTER))
    (says,) = [s for s in found[at(found, "Fit the top board")].settings if "Set it" in s]
    assert "20 mm at the front, 12 mm at the left and 12 mm at the right" in says
    assert "flush at the rear" in says


def test_a_plinth_is_told_where_it_stands_and_why_its_rear_does() -> None:
    """An inset back of 6 mm clears the case at 234 of 240 mm; 10 mm more for the screws."""
    plinth = {"height": "80 mm", "stock": "case", "setback": "40 mm", "sides": "15 mm"}
    found, _ = way(told("top-runs", "inset", ["pin"], plinth=plinth))
    (says,) = [s for s in found[at(found, "Fit the plinth")].settings if "Set it in" in s]
    assert "40 mm at the front, 16 mm at the rear, 15 mm at the left and 15 mm at the right" in says
    assert "screws from inside" in says
    dry = " ".join(found[at(found, "Dry fit the plinth")].settings)
    # 420 - 2·15 - 2·18 by 240 - 40 - 16 - 2·18, and Pythagoras
    assert "354 mm × 148 mm" in dry
    assert f"{(354.0**2 + 148.0**2) ** 0.5:.2f} mm" in dry


def test_the_measured_case_goes_on_where_it_was_left() -> None:
    piece = told("top-runs", "inset", ["pin"])
    piece["as_built"] = {"inner_width": ["384.2 mm", "384.1 mm", "384.2 mm"]}
    found, _ = way(piece)
    on = at(found, "Cut what was held back")
    done = [n for n, step in enumerate(found) if step.done]
    assert done == list(range(1, on))
    assert {"back", "shelf pin"} <= set(found[on].boards)
    assert f"go on at step {on + 1}." in " ".join(heading(found))
    assert "[x] Done" in lines(2, found[1])[1]
    assert not any("Set-up" in line for line in lines(2, found[1]))
    fresh, _ = way(told("top-runs", "inset", ["pin"]))
    assert not any(step.done for step in fresh)
    assert "go on" not in " ".join(heading(fresh))


def test_a_shelf_whose_underside_was_measured_is_not_set_or_drilled_again() -> None:
    piece = told("sides-run", "inset", ["through-dowel", "bracket"])
    piece["as_built"] = {"underside": {"through-dowel": ["109.6 mm", "109.8 mm"]}}
    found, _ = way(piece)
    set_by_now = next(step for step in found if "shelf through-dowel" in step.boards and step.joins)
    assert set_by_now.done
    assert found[at(found, "Glue up")].done
    assert not found[at(found, "Cut what was held back")].done
    drilled = [s for s in found if s.phase == "drill" and not s.done]
    assert not any("shelf through-dowel" in step.boards for step in drilled)


def test_a_measured_blind_shelf_is_told_the_line_to_drill_from() -> None:
    piece = told("sides-run", "inset", ["dowel"])
    piece["as_built"] = {"underside": {"dowel": ["109.5 mm", "109.5 mm"]}}
    found, _ = way(piece)
    (says,) = [s for step in found for s in step.settings if "its underside was measured" in s]
    assert "109.5 mm over the inner floor" in says
    assert "left and right" in says


@pytest.mark.parametrize("fit", ["groove", "inset"])
def test_behind_a_back_in_its_groove_a_shelf_is_pressed_through_the_bay_beyond(fit: str) -> None:
    piece = told("sides-run", fit, [])
    piece["case"]["width"], piece["case"]["height"] = mm(820.0), mm(600.0)
    piece["divider"] = [{"name": "mid", "at": mm(380.0), "stock": "case"}]
    piece["shelf"] = [shelf("low", 250.0, between=["left", "mid"])]
    found, _ = way(piece)
    says = " ".join(found[at(found, "Glue up")].settings)
    assert "shelf low: " in says
    assert ("Stand sticks in the bay beyond" in says) is (fit == "groove")
    assert ("to the far side of the divider" in says) is (fit == "inset")
    plain, _ = of("sides-run", "overlay", "through-dowel", "dowel")
    assert "stick" not in " ".join(plain[at(plain, "Glue up")].settings)


def test_sides_between_running_boards_go_in_without_dragging_along_the_glue() -> None:
    """Sides stand on the bottom and the top comes down on them: nobody slides along a glued end."""
    found, _ = of("top-runs", "inset", "dowel", "bracket")
    plain, _ = way(told("top-runs", "", ["pin"]))
    for steps_of in (found, plain):
        ways = [w for move in steps_of[at(steps_of, "Glue up")].joins for w in move.ways]
        assert all(abs(w[1]) < 1e-9 for w in ways)
    moved = [name for move in plain[at(plain, "Glue up")].joins for name in move.boards]
    assert moved[-1] == "top"


def test_an_overlay_back_is_not_told_to_go_in() -> None:
    overlay, _ = of("sides-run", "overlay", "through-dowel", "dowel")
    says = " ".join(overlay[at(overlay, "Cut what was held back")].go)
    assert "the back is flush with the outside" in says
    only = told("sides-run", "overlay", [])
    says = " ".join(way(only)[0][at(way(only)[0], "Cut what was held back")].go)
    assert "spreading" not in says


@pytest.mark.parametrize(("wide", "kind"), [(250.0, "rip"), (700.0, "crosscut")])
def test_boards_are_banded_right_after_the_cut_that_makes_their_front_edges(
    wide: float, kind: str
) -> None:
    piece = tables(thick=T, case=case(600.0, 500.0, wide, corner="sides-run"))
    piece["stock"]["case"]["edge_band"] = "1 mm"
    piece["saw"] = {"sled": "900 mm"}
    settings = way(piece)[0][1].settings
    bands = [i for i, line in enumerate(settings) if line.startswith("Band the front edges")]
    assert bands
    for i in bands:
        assert f", {kind}: " in settings[i - 1]
        assert f"{wide - 1:g} mm" in settings[i - 1]
        if kind == "rip":
            assert all(", crosscut: " not in line for line in settings[:i])


@pytest.mark.parametrize(("sides", "slotted"), [(3, False), (4, True), (5, False), (6, False)])
def test_no_step_orders_a_slot_that_no_set_up_cuts(sides: int, slotted: bool) -> None:
    step = way(tables(thick=T, polygon=polygon(sides, 420.0, 250.0)))[0][1]
    told = " ".join(step.settings)
    assert ("spline slot: " in told) is slotted
    assert ('fixing = "glue" in [polygon]' in told) is not slotted
    assert any("No cut through" in caution for caution in step.cautions) is slotted


def test_a_loose_shelf_that_a_spacer_stood_on_is_lifted_out_before_the_piece_is_turned() -> None:
    piece = told("top-runs", "", [], top=OUTER)
    piece["case"]["height"] = mm(600.0)
    piece["shelf"] = [
        shelf("low", 150.0, fixing="pin"),
        shelf("high", 200.0, above="low", fixing="through-dowel"),
    ]
    piece["legs"] = {"size": "28 mm", "length": "150 mm", "inset": "60 mm"}
    found, _ = way(piece)
    assert at(found, "Set the shelves") < at(found, "Fit the top board")
    for title in ("Fit the top board", "Fit the legs"):
        assert "Lift out shelf low first" in " ".join(found[at(found, title)].settings)
    plain, _ = of("top-runs", "", "through-dowel")
    assert not any("Lift out" in says for step in plain for says in step.settings)


def test_a_spacer_of_two_halves_is_put_together_before_it_is_set() -> None:
    piece = told("mitre", "", ["dowel"], printer={"bed": ["200 mm", "200 mm", "200 mm"]})
    piece["case"]["height"] = mm(480.0)
    piece["shelf"] = [shelf("a", 250.0, fixing="dowel")]
    found, planned = way(piece)
    step = found[at(found, "Dry fit")]
    (spacer,) = (one.name for one in planned if one.family == "spacer-block")
    assert step.halved == (spacer,)
    made, used = (
        next(n for n, says in enumerate(step.settings) if part in says)
        for part in (f"{spacer}: two halves make one spacer: turn one over", "Set a spacer where")
    )
    assert made < used
    assert dict(step.fixtures)[spacer] == 4
    assert f"4 × {spacer} (2 spacers of two halves): " in " ".join(
        line.strip() for line in lines(1, step)
    )
    whole, _ = of("mitre", "inset", "dowel", "pin")
    assert not any(one.halved for one in whole)


@pytest.mark.parametrize("kind", [("mitre", "inset", "dowel"), ("top-runs", "inset", "dowel")])
def test_the_drilling_step_tells_the_batten_s_distance_as_the_guide_s_notes_do(
    kind: tuple[str, ...],
) -> None:
    found, planned = of(*kind)
    step = found[at(found, "Drill for")]
    says = next(says for says in step.settings if "clamp a straight batten across" in says)
    told_off = re.search(
        r"across, (\S+ mm) from (the line of the shelf's underside, upwards)", says
    )
    assert told_off is not None
    notes = [
        note
        for one in planned
        if one.family == "drill-guide" and one.name in says
        for note in one.part.notes
        if "clamp a straight batten" in note
    ]
    assert notes
    assert all(f"the face {told_off[1]} from {told_off[2]}" in note for note in notes)


def test_no_step_clamps_a_guide_where_it_has_none() -> None:
    piece = told("top-runs", "", ["through-dowel", "bracket"])
    piece["legs"] = {"size": "28 mm", "length": "150 mm", "inset": "60 mm"}
    found, planned = way(piece)
    guides = {one.name for one in planned if one.family == "drill-guide"}
    clamped = {
        step.title for step in found if any("clamp a guide" in caution for caution in step.cautions)
    }
    assert clamped == {
        step.title
        for step in found
        if step.phase == "fit out" and guides & {name for name, _ in step.fixtures}
    }
    legs = found[at(found, "Fit the legs")]
    assert any("wear eye protection" in caution for caution in legs.cautions)
