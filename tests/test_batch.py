"""Copies of a piece: numbers worked out by hand from the way the work goes."""

from __future__ import annotations

import math
from functools import cache

import pytest

from fixtures.assembly import BitInHand
from fixtures.batch import Batch, Saw, batch, count, for_copies, passes, rounds
from fixtures.beds import Laid, lay, prints
from fixtures.kit import Kit, kit
from fixtures.piece.joining import joints
from fixtures.piece.panels import panels
from fixtures.piece.piece import printer_of
from fixtures.piece.plan import plan
from fixtures.telling import batch as telling
from tests.piece.making import NAME, Tables, case, polygon, read, shelf, tables

BIG = ["500 mm", "400 mm", "300 mm"]
BITS = [{"diameter": "8 mm", "stands_out": "95 mm"}]


def piece(fixing: str = "dowel", bed: list[str] = BIG, **more: object) -> Tables:
    """A mitred case with one shelf of 3 pins or dowels at either side."""
    return tables(
        thick=18.0,
        case=case(600.0, 500.0, 300.0),
        shelf=[shelf("a", 200.0, fixing=fixing, dowel={"diameter": "8 mm", "count": 3})],
        bit=BITS,
        printer={"bed": bed},
        **more,
    )


def counted(told: Tables, family: str, copies: int, stations: int) -> list[tuple[int, int, int]]:
    """In use, spare and holes of the fixtures of a family."""
    table = read(told)
    bits = tuple(BitInHand(b.diameter, b.stands_out, b.point) for b in table.bit)
    printer = printer_of(table.printer)
    found = joints(panels(table, NAME), table, printer, bits)
    counts = [
        count(fixture, found, copies, stations)
        for fixture in plan(found, table, printer, bits).fixtures
        if fixture.family == family
    ]
    assert counts
    return [(one.in_use, one.spare, one.holes) for one in counts]


# --- how many of what -----------------------------------------------------------------------


def test_every_station_has_the_sockets_of_a_whole_piece() -> None:
    """4 corners, a socket at either end: 8 a piece, 24 at 3 stations, and none wears."""
    assert counted(piece(), "corner-socket", 12, 3) == [(24, 0, 0)]


def test_a_ring_of_six_takes_twelve_sockets_a_station() -> None:
    told = tables(thick=12.0, polygon=polygon(6, 260.0))
    assert counted(told, "corner-socket", 5, 2) == [(24, 0, 0)]


def test_more_stations_than_copies_are_not_filled() -> None:
    assert counted(piece(), "corner-socket", 2, 5) == [(16, 0, 0)]


def test_spacers_that_mark_a_height_go_from_case_to_case() -> None:
    """A blind-dowelled shelf's height is marked in the dry case, at both sides: 2 in all."""
    assert counted(piece("dowel"), "spacer-block", 12, 3) == [(2, 0, 0)]


def test_spacers_that_set_a_shelf_stay_at_every_station() -> None:
    """A through-dowelled shelf 300 mm deep rests on 2 at either side until it is fixed: 4 × 3."""
    assert counted(piece("through-dowel"), "spacer-block", 12, 3) == [(12, 0, 0)]


def test_one_guide_is_shared_and_one_more_is_kept() -> None:
    """3 bores for 3 pins: a bore guides one hole in each of 2 mates at 2 sides; 4 × 12 copies."""
    assert counted(piece(), "drill-guide", 12, 3) == [(1, 1, 48)]


def test_a_guide_that_steps_on_guides_more_holes_through_a_bore() -> None:
    """2 bores for 3 pins on a small bed: the second drills 2 of the 3; 2 × 2 × 2 × 12 copies."""
    small = ["240 mm", "200 mm", "230 mm"]
    assert counted(piece(bed=small), "drill-guide", 12, 3) == [(1, 1, 96)]


def test_a_sleeve_stops_every_hole_of_its_depth() -> None:
    """One for the edge and one for the face: 3 pins at 2 sides each, 6 × 12 copies."""
    assert counted(piece(), "depth-sleeve", 12, 3) == [(1, 1, 72), (1, 1, 72)]


@pytest.mark.parametrize(
    ("copies", "worn"),
    # 4 holes a copy through each bore; checked, and at worst worn, after every 30
    [(2, 0), (7, 0), (8, 1), (15, 1), (16, 2), (30, 3)],
)
def test_a_bare_guide_wears_out_after_every_thirty_holes_at_worst(copies: int, worn: int) -> None:
    found = batch_of(copies, 1)
    (guide,) = (one for one in found.counts if one.name.startswith("drill-guide"))
    assert guide.holes == 4 * copies
    assert guide.worn == worn


def test_steel_bushes_outlast_a_class_set() -> None:
    wish = [{"family": "drill-guide", "parameters": {"bush": "metric"}}]
    found = batch_of(30, 3, fixtures=wish)
    (guide,) = (one for one in found.counts if one.name.startswith("drill-guide"))
    assert (guide.holes, guide.worn, guide.bushed) == (120, 0, True)


def test_one_copy_takes_what_it_did() -> None:
    made = made_of(1, 1)
    assert made.batch is None
    for item in made.items:
        assert item.fixture.spares == 0
        assert for_copies(item.fixture, made.joints, made.piece.piece) is item.fixture


@pytest.mark.parametrize("bores", range(1, 6))
@pytest.mark.parametrize("holes", range(1, 13))
def test_the_busiest_bore_is_that_of_drilling_step_by_step(holes: int, bores: int) -> None:
    """Simulated: drill with every bore, move on until the first bore is over the last hole."""
    drilled = [0] * bores
    at, done = 0, 0
    while done < holes:
        for bore in range(bores):
            if done <= at + bore < holes:
                drilled[bore] += 1
        done = min(at + bores, holes)
        at = done - 1 if bores > 1 else done
    assert sum(drilled) == holes
    assert passes(holes, bores) == max(drilled)


# --- rounds, hours, filament ----------------------------------------------------------------


@cache
def kit_of(copies: int, stations: int, clamp: str, bush: bool) -> Kit:
    told = piece(**({"fixtures": [WISH]} if bush else {}))
    told["piece"] = {"copies": copies, "stations": stations}
    if clamp:
        told["piece"]["clamp_time"] = clamp
    return kit(read(told), NAME)


WISH = {"family": "drill-guide", "parameters": {"bush": "metric"}}


@cache
def laid_of(bush: bool) -> Laid:
    """The beds of one copy: those of several are reckoned as full."""
    one = kit_of(1, 1, "", bush)
    return lay(prints([(item.fixture, item.made) for item in one.items]), one.printer.bed)


def made_of(copies: int, stations: int, clamp: str = "45 min") -> Kit:
    return kit_of(copies, stations, clamp, False)


def batch_of(
    copies: int, stations: int, clamp: str = "45 min", saw: Saw | None = None, **more: object
) -> Batch:
    """The batch of a kit that was made once: only the table changes."""
    one = kit_of(1, 1, "", bool(more))
    told = piece(**more)
    told["piece"] = {"copies": copies, "stations": stations}
    if clamp:
        told["piece"]["clamp_time"] = clamp
    parts = [(item.fixture, item.made) for item in one.items]
    found = batch(read(told).piece, parts, one.joints, one.printer, saw, laid_of(bool(more)))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("copies", "stations", "expected"), [(12, 3, 4), (12, 5, 3), (12, 12, 1), (7, 2, 4), (2, 9, 1)]
)
def test_stations_are_filled_until_all_copies_are_done(
    copies: int, stations: int, expected: int
) -> None:
    assert rounds(copies, stations) == expected


def test_clamp_hours_are_rounds_of_clamp_time() -> None:
    """12 copies at 3 stations: 4 rounds of 45 min are 3 h."""
    found = batch_of(12, 3)
    assert found.way.rounds == 4
    assert found.way.clamps == 3 * 3600


def test_without_a_clamp_time_no_hours_are_told_but_the_way_to_have_them() -> None:
    found = batch_of(12, 3, clamp="")
    assert found.way.clamps is None
    assert found.bottleneck is None
    assert "clamp_time" in " ".join(telling.lines(found))


def test_stations_that_save_no_round_are_told() -> None:
    """12 copies at 5 stations take 3 rounds, as at 4; 6 stations take 2."""
    found = batch_of(12, 5)
    assert found.leanest.stations == 4
    assert found.saving is not None
    assert found.saving.stations == 6
    assert [way.stations for way in found.others] == [4, 6]
    assert "4 stations would take as many rounds" in " ".join(telling.lines(found))


def test_with_all_copies_in_clamps_at_once_no_station_more_saves_a_round() -> None:
    found = batch_of(3, 3)
    assert found.way.rounds == 1
    assert found.saving is None


def test_print_hours_and_filament_are_those_of_all_parts_with_spares() -> None:
    made = made_of(12, 3)
    found = made.batch
    assert found is not None
    low = high = grams = 0.0
    for item in made.items:
        assert item.made is not None
        advice = item.made.advice
        assert advice.time_s is not None
        assert advice.mass_g is not None
        low += item.fixture.quantity * advice.time_s[0]
        high += item.fixture.quantity * advice.time_s[1]
        grams += item.fixture.quantity * advice.mass_g
    assert found.way.print == pytest.approx((low, high))
    assert found.way.mass == pytest.approx(grams)
    # PLA of 1.24 g/cm³, 1.75 mm across: a metre weighs 1.24 × π/4 × 0.175² × 100 g
    assert found.way.filament == pytest.approx(grams / (1.24 * math.pi / 4 * 0.175**2 * 100))


def test_what_is_printed_is_what_is_in_use_and_a_spare() -> None:
    made = made_of(12, 3)
    assert made.batch is not None
    for item, one in zip(made.items, made.batch.counts, strict=True):
        assert item.fixture.name == one.name
        assert item.fixture.quantity == one.in_use + one.spare
        assert item.fixture.spares == one.spare
    drilling = [step for step in made.steps if step.title.startswith("Drill")]
    assert drilling
    used = {name: n for step in drilling for name, n in step.fixtures}
    assert {n for name, n in used.items() if name.startswith(("drill", "depth"))} == {1}


def test_beds_are_those_that_all_parts_are_laid_on() -> None:
    made = made_of(12, 3)
    assert made.batch is not None
    wanted = {one.name: one.quantity for one in made.batch.counts}
    parts = [(item.fixture, item.made) for item in made.items]
    printed = prints(parts)
    assert {one.name: one.quantity for one in printed}.items() <= wanted.items()
    laid = lay(printed, made.printer.bed)
    assert sum(len(load.placements) for load in laid.loads) == sum(one.quantity for one in printed)
    assert made.batch.way.loads == len(laid.loads)


def test_more_stations_take_as_many_more_beds_as_their_parts_cover() -> None:
    found = batch_of(12, 3)
    ways = sorted((found.way, *found.others), key=lambda way: way.stations)
    assert [way.loads for way in ways] == sorted(way.loads for way in ways)
    for way in ways:
        # parts of one kit are about as dense, so beds go with mass: to a bed more or less
        assert abs(way.loads - found.way.loads * way.mass / found.way.mass) < 2


@pytest.mark.parametrize(
    ("saw", "clamp", "slowest"),
    [
        (Saw(4, 30), "45 min", "printer"),  # 4 × 15 + 30 min; nobody prints as fast
        (Saw(400, 9000), "45 min", "saw"),  # 400 × 15 + 9000 min = 250 h
        (Saw(4, 30), "72 h", "clamps"),  # 4 rounds of 72 h
        (None, "45 min", "printer"),
    ],
)
def test_what_takes_the_longest_is_told_with_what_to_do(
    saw: Saw | None, clamp: str, slowest: str
) -> None:
    found = batch_of(12, 3, clamp, saw)
    assert found.bottleneck == slowest
    said = " ".join(" ".join(telling.lines(found)).split())
    match slowest:
        case "printer":
            # one fewer: 2 stations take 6 rounds, 2 more, each of 45 min
            assert "The printer takes the longest. One station fewer prints" in said
            assert "for 2 rounds more (1 h 30 min in clamps)" in said
        case "clamps":
            # 4 stations take 3 rounds
            assert "The clamps take the longest. 4 stations would save 1 round (72 h 00 min" in said
        case _:
            assert "The saw takes the longest: cut the boards of all copies at a set-up" in said


def test_saw_hours_are_set_ups_once_and_every_cut() -> None:
    """Judgement: a quarter of an hour a set-up, a minute a cut. 10 and 100: 250 min."""
    assert Saw(10, 100).seconds == 250 * 60


def test_a_station_more_or_less_changes_what_stays_there_alone() -> None:
    found = batch_of(12, 3)
    two, four = found.others
    assert (two.stations, two.rounds, four.stations, four.rounds) == (2, 6, 4, 3)
    # the same parts at each station: as much more as less
    assert four.mass - found.way.mass == pytest.approx(found.way.mass - two.mass)
    assert four.mass > found.way.mass


def test_hardware_is_for_all_copies_and_clamps_for_all_stations() -> None:
    """A copy: 3 pins at 2 sides, 4 splines; a station: its straps, 2 clamps at the shelf."""
    one, many = made_of(1, 1).hardware, made_of(12, 3).hardware

    def number(lines: tuple[str, ...], what: str) -> int:
        (line,) = (line for line in lines if what in line)
        return int(line.split(" × ")[0])

    assert number(one, "dowel pins") == 6
    assert number(many, "dowel pins") == 72
    assert number(many, "spline") == 48
    assert number(many, "straps") == 3 * number(one, "straps")
    assert number(many, "bar clamps") == 6


def test_every_copy_keeps_the_sockets_of_its_legs() -> None:
    """4 legs a piece, under all 12 of them, however many are put together at once."""
    told = tables(thick=18.0, case=case(400.0, 300.0, 260.0))
    told["piece"] = {"copies": 12, "stations": 3}
    told["legs"] = {"size": "28 mm", "length": "150 mm", "inset": "60 mm"}
    made = kit(read(told), NAME)
    sockets = [item.fixture for item in made.items if item.fixture.family == "leg-socket"]
    assert sum(fixture.quantity for fixture in sockets) == 48
    assert all(fixture.spares == 0 for fixture in sockets)


def test_an_offcut_has_no_spare_and_is_ripped_for_every_station() -> None:
    told = piece("through-dowel", fixtures=[{"family": "spacer-block", "make_from": "offcut"}])
    told["piece"] = {"copies": 12, "stations": 3}
    made = kit(read(told), NAME)
    (spacer,) = (item for item in made.items if item.fixture.family == "spacer-block")
    assert spacer.made is None
    assert (spacer.fixture.quantity, spacer.fixture.spares) == (12, 0)


def test_judgement_is_called_judgement() -> None:
    said = " ".join(telling.sheet_lines(batch_of(12, 3)))
    assert "Judgement:" in said
    assert "from memory" in said
    document = telling.document(batch_of(12, 3))
    assert document["judgement"]["holes_bare"] == 30
