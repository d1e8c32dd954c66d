"""Bed loads, judged by shapely on the parts' own triangles, and by sizes worked out by hand."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
import shapely

from fixtures import ingest
from fixtures.beds import GAP, MARGIN, Laid, Print, about, lay, prints
from fixtures.errors import InputError
from fixtures.export import stl
from fixtures.filling import WAYS, Filling, Shape, distinct
from fixtures.footprint import CELL, FINE, Turned, grown, hull, outline, touched, turned, within
from fixtures.piece.joining import joints
from fixtures.piece.panels import panels
from fixtures.piece.piece import printer_of
from fixtures.piece.plan import plan
from fixtures.produce import Produced
from fixtures.solid import Pose
from tests.bed_parts import bar, check, ell, mushroom, odd, shadow, shadows
from tests.export.shapes import PLATE, box, of
from tests.piece.making import NAME, case, read, shelf, tables

BED = (240.0, 200.0, 230.0)


@pytest.mark.parametrize("seed", range(12))
def test_random_parts_lie_apart_inside_and_all_of_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    parts = [odd(rng, f"part-{i}") for i in range(int(rng.integers(2, 6)))]
    gap, margin = ((5.0, 5.0), (0.0, 0.0), (3.7, 8.2), (1.0, 12.5))[seed % 4]
    bed = [(240.0, 200.0, 230.0), (200.0, 240.0, 230.0), (255.5, 180.3, 50.0)][seed % 3]
    laid = lay(parts, bed, gap=gap, margin=margin)
    check(laid)
    assert laid.loads
    assert {finding.feature for finding in laid.findings} == set(laid.unplaced)


def test_what_the_bed_less_its_margins_just_takes_is_laid_and_1_mm_more_is_named() -> None:
    """240 × 200 mm less 5 mm all round is 230 × 190 mm."""
    laid = lay([bar("fits", 230, 190), bar("over", 231, 190)], BED)
    check(laid)
    assert laid.unplaced == ("over",)
    (finding,) = laid.findings
    assert finding.severity == "mend"  # the bed itself takes it
    assert finding.message == (
        "It is on no bed load: from above it is 231.0 × 190.0 mm, and a bed of 240.0 × 200.0 mm "
        "less 5 mm all round takes 230.0 × 190.0 mm. It is 1.0 mm too long however it is turned."
    )


def test_what_fits_only_turned_is_turned() -> None:
    laid = lay([bar("across", 190, 230)], BED)
    check(laid)
    assert laid.loads[0].placements[0].pose.x == (0.0, 1.0, 0.0)
    deep = lay([bar("across", 190, 230)], (200.0, 240.0, 230.0))
    check(deep)
    assert deep.loads[0].placements[0].pose.x == (1.0, 0.0, 0.0)


def test_what_fits_only_askew_is_laid_askew() -> None:
    """A bar of 260 × 10 mm is longer than either side of 230 × 190 mm, whose diagonal is 298 mm."""
    laid = lay([bar("long", 260, 10, quantity=3)], BED)
    check(laid)
    turns = {
        round(math.degrees(math.atan2(one.pose.x[1], one.pose.x[0]))) % 90
        for one in laid.loads[0].placements
    }
    assert turns
    assert 0 not in turns


def test_what_is_longer_than_the_diagonal_stops() -> None:
    """hypot(240, 200) = 312.4 mm."""
    laid = lay([bar("beam", 320, 10, quantity=2), bar("small", 20, 20)], BED)
    check(laid)
    (finding,) = laid.findings
    assert (finding.severity, finding.feature) == ("stop", "beam")
    assert finding.message.startswith("None of 2 is on a bed load: from above it is 320.0 × 10.0")


def test_what_is_as_high_as_the_printer_is_laid_and_1_mm_more_is_named() -> None:
    laid = lay([bar("high", 30, 30, 230), bar("higher", 30, 30, 231)], BED)
    check(laid)
    assert laid.unplaced == ("higher",)
    assert laid.findings[0].message == (
        "It is on no bed load: it is 231.0 mm high and the printer reaches 230.0 mm."
    )


def test_whole_millimetres_lose_nothing() -> None:
    """3 × 60 + 2 × 5 = 190 mm, and 230 = 2 × 112.5 + 5 mm."""
    laid = lay([bar("third", 230, 60, quantity=3)], BED)
    check(laid)
    assert len(laid.loads) == 1


def test_the_whole_part_counts_not_its_lowest_layer() -> None:
    """Caps of 110 mm on feet of 10: 230 × 190 mm takes two beside each other, and no more."""
    laid = lay([mushroom("cap", 10, 110, quantity=4)], BED)
    check(laid)
    assert [len(load.placements) for load in laid.loads] == [2, 2]


def test_a_small_part_lies_in_the_opening_of_a_large_one() -> None:
    frame = Print("frame", "FR", of(box(230, 190, 10) - box(170, 130, 30, (30, 30, -5))))
    laid = lay([frame, bar("block", 160, 120)], BED)
    check(laid)
    assert len(laid.loads) == 1
    assert shapely.convex_hull(shadows(laid, laid.loads[0])[0]).contains(
        shadows(laid, laid.loads[0])[1]
    )


def test_bent_parts_take_fewer_beds_than_their_boxes() -> None:
    """Boxes of 100 × 100 mm lie two on a bed of 230 × 190 mm: twelve take six beds."""
    laid = lay([ell("ell", 100, 100, 25, quantity=12)], BED)
    check(laid)
    assert len(laid.loads) <= 3


def test_largest_first_and_like_parts_together() -> None:
    parts = [bar("small", 20, 20, quantity=9), bar("large", 150, 80, quantity=3), bar("m", 60, 40)]
    laid = lay(parts, BED)
    check(laid)
    assert laid.loads[0].placements[0].name == "large"
    for load in laid.loads:
        names = [one.name for one in load.placements]
        assert sorted(names, key=list(load.counts).index) == names


def test_the_order_they_are_given_in_changes_nothing() -> None:
    rng = np.random.default_rng(5)
    parts = [odd(rng, f"p{i}") for i in range(5)]
    shuffled = random.Random(1).sample(parts, 5)
    assert lay(parts, BED).loads == lay(shuffled, BED).loads


def test_a_part_read_back_from_its_file_lies_where_it_lay() -> None:
    rng = np.random.default_rng(6)
    parts = [odd(rng, f"p{i}") for i in range(3)]
    back = [
        replace(one, mesh=ingest.read(stl.encode(one.mesh, "x"), "x.stl").mesh) for one in parts
    ]
    assert lay(parts, BED).loads == lay(back, BED).loads


def test_hours_grams_and_metres_of_all_loads_are_those_of_all_parts() -> None:
    rng = np.random.default_rng(2)
    parts = [odd(rng, f"p{i}") for i in range(4)]
    laid = lay(parts, BED)
    assert len(laid.loads) > 1
    mass = sum(one.quantity * (one.mass or 0) for one in parts)
    assert sum(load.mass or 0 for load in laid.loads) == pytest.approx(mass)
    count = sum(one.quantity for one in parts)
    assert sum(load.time[1] for load in laid.loads if load.time) == pytest.approx(90.0 * count)
    assert sum(load.filament or 0 for load in laid.loads) == pytest.approx(3.0 * count)


def test_a_load_says_nothing_of_what_is_not_known_of_one_part() -> None:
    known = replace(bar("known", 20, 20), time=(60.0, 90.0), mass=3.0, filament=1.0)
    (load,) = lay([known, replace(bar("unknown", 20, 20), mass=4.0)], BED).loads
    assert (load.time, load.mass, load.filament) == (None, 7.0, None)


def test_other_quantities_take_beds_by_what_they_cover() -> None:
    """Two bars to a bed: 230 × 90 mm each, 190 mm deep. A plate with a hole counts without it."""
    bars = replace(bar("bar", 230, 90), quantity=4)
    laid = lay([bars, bar("over", 500, 10)], BED)
    assert len(laid.loads) == 2
    for n, beds in ((4, 2), (5, 3), (6, 3), (8, 4), (1, 1), (0, 0)):
        assert about(laid, {"bar": n, "over": 3}) == beds
    ring = Print("ring", "R", of(box(100, 90, 10) - box(80, 50, 30, (10, 10, -5))), 1)
    plate = bar("plate", 50, 100)  # 100 · 90 - 80 · 50 = 5000 mm², as much as 50 · 100
    assert about(lay([ring, plate], BED), {"ring": 0, "plate": 2}) == 1
    assert about(lay([ring, plate], BED), {"ring": 2, "plate": 1}) == 2


def _together(laid: Laid, name: str) -> list[int]:
    return [load.counts[name] for load in laid.loads if name in load.counts]


@pytest.mark.parametrize("seed", range(6))
def test_what_belongs_together_lies_on_one_bed_where_one_takes_it(seed: int) -> None:
    """One takes it where the group, laid alone and as single parts, is on one."""
    rng = np.random.default_rng(seed + 40)
    parts = [
        replace(odd(rng, f"p{i}"), quantity=int(rng.integers(1, 7)), together=i + 1)
        for i in range(4)
    ]
    laid = lay(parts, BED)
    check(laid)
    told = {finding.feature for finding in laid.findings if finding.check == "bed-set"}
    for one in parts:
        group = min(one.together, one.quantity)
        alone = lay([replace(one, quantity=group, together=1)], BED).loads
        assert (one.name in told) == (len(alone) > 1)
        if len(alone) == 1:
            # a bed has whole groups, and what is left of the quantity is a group of its own
            odds = [n % group for n in _together(laid, one.name) if n % group]
            assert odds == [one.quantity % group] * bool(one.quantity % group)


def test_a_pair_is_not_parted_for_room_that_takes_one_of_it() -> None:
    """230 × 190 mm takes a plate 120 mm deep and one bar 60 mm deep, or three such bars."""
    parts = [bar("plate", 230, 120), bar("pair", 230, 60, quantity=2)]
    assert _together(lay(parts, BED), "pair") == [1, 1]
    laid = lay([parts[0], replace(parts[1], together=2)], BED)
    check(laid)
    assert _together(laid, "pair") == [2]
    assert (len(laid.loads), laid.findings) == (2, ())


def test_more_than_a_bed_takes_is_told_and_pairs_of_it_stay_pairs() -> None:
    """230 × 190 mm takes three bars 60 mm deep: of four that belong together, two and two."""
    laid = lay([replace(bar("set", 230, 60, quantity=4), together=4)], BED)
    check(laid)
    assert _together(laid, "set") == [2, 2]
    (finding,) = laid.findings
    assert (finding.check, finding.severity, finding.feature) == ("bed-set", "note", "set")
    assert finding.message == (
        "4 of them belong in one print, and no bed takes so many. They lie in groups of 2."
    )
    assert laid.unplaced == ()


def test_two_of_which_a_bed_takes_one_are_told_and_laid() -> None:
    laid = lay([replace(bar("big", 230, 120, quantity=2), together=2)], BED)
    check(laid)
    assert _together(laid, "big") == [1, 1]
    assert [finding.check for finding in laid.findings] == ["bed-set"]


def test_every_copy_of_a_set_larger_than_its_quantity_is_laid() -> None:
    laid = lay([replace(bar("few", 20, 20, quantity=3), together=8)], BED)
    check(laid)
    assert _together(laid, "few") == [3]


def _planned(shelf_at: float, bed: list[str]) -> dict[str, tuple[int, int]]:
    """Quantity and how many belong together of each fixture of a case and its late shelf."""
    told = tables(
        case=case(600.0, 1100.0, 300.0),
        shelf=[shelf("a", shelf_at, fixing="through-dowel")],
        printer={"bed": bed},
    )
    table = read(told)
    printer = printer_of(table.printer)
    found = plan(joints(panels(table, NAME), table, printer, ()), table, printer, ())
    advice = SimpleNamespace(
        time_s=None, mass_g=None, filament_m=None, infill_percent=15.0, rings=3, roof_layers=4,
        supports=False,
    )  # fmt: skip
    made = [
        (one, cast(Produced, SimpleNamespace(part=one.part, mesh=PLATE, advice=advice)))
        for one in found.fixtures
    ]
    return {one.name.rpartition("-")[0]: (one.quantity, one.together) for one in prints(made)}


def test_spacers_under_one_shelf_belong_together_and_nothing_else_does() -> None:
    """Under a shelf deeper than 200 mm two stand on each side, so says the spacer's family."""
    told = _planned(200.0, ["250 mm", "250 mm", "250 mm"])
    assert told.pop("spacer-block") == (4, 4)
    assert told
    assert {together for _, together in told.values()} == {1}


def test_halves_of_spacers_belong_together() -> None:
    """400 mm is longer than the bed: four spacers of two halves each."""
    assert _planned(400.0, ["250 mm", "250 mm", "250 mm"])["spacer-block"] == (8, 8)


def test_nothing_to_print_takes_no_bed() -> None:
    assert lay([], BED).loads == ()


@pytest.mark.parametrize(("gap", "margin", "where"), [(-1.0, 5.0, "gap"), (5.0, 100.0, "margin")])
def test_a_gap_or_margin_that_cannot_be_is_refused(gap: float, margin: float, where: str) -> None:
    with pytest.raises(InputError) as refused:
        lay([bar("b", 10, 10)], BED, gap=gap, margin=margin)
    assert [fault.where for fault in refused.value.faults] == [where]


def test_two_prints_of_one_name_or_none_of_a_print_are_a_mistake_of_ours() -> None:
    with pytest.raises(ValueError, match="one name"):
        lay([bar("b", 10, 10), bar("b", 20, 10)], BED)
    with pytest.raises(ValueError, match="once at least"):
        lay([replace(bar("b", 10, 10), quantity=0)], BED)
    with pytest.raises(ValueError, match="with itself at least"):
        lay([replace(bar("b", 10, 10), together=0)], BED)


def test_the_defaults_are_what_long_parts_are_made_for() -> None:
    from fixtures.parts import guided_bore, spacer_block

    assert MARGIN == spacer_block.MARGIN == guided_bore.MARGIN
    assert GAP == 5.0


@pytest.mark.parametrize("seed", range(6))
def test_an_outline_is_the_shadow_of_all_triangles(seed: int) -> None:
    mesh = odd(np.random.default_rng(seed), "p").mesh
    rings = [shapely.Polygon(ring) for ring in outline(mesh)]
    # rings of holes run the other way; symmetric difference is the even-odd rule
    found = rings[0]
    for ring in rings[1:]:
        found = shapely.symmetric_difference(found, ring)
    true = shadow(mesh, Pose())
    assert shapely.symmetric_difference(found, true).area < 1e-3 * true.length


def test_an_outline_keeps_its_openings() -> None:
    assert len(outline(PLATE)) == 2


@pytest.mark.parametrize("seed", range(4))
def test_cells_are_those_that_a_shape_reaches_into(seed: int) -> None:
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0, 2 * np.pi, 9))
    ring = 20 + np.column_stack((np.cos(angles), np.sin(angles))) * rng.uniform(4, 18, (9, 1))
    shape = shapely.Polygon(ring)
    cells, middles = touched([ring], 40, 40), within([ring], 40, 40)
    for row in range(40):
        for column in range(40):
            cell = shapely.box(column, row, column + CELL, row + CELL)
            shared = shapely.intersection(cell, shape).area
            assert middles[row, column] == shape.contains(shapely.centroid(cell))
            if shared > 4 * FINE:
                assert cells[row, column]
            if shared == 0:
                assert not cells[row, column]


def test_a_shape_on_the_lines_of_the_grid_takes_no_cell_beyond_them() -> None:
    cells = touched([np.array([[2.0, 3.0], [7.0, 3.0], [7.0, 5.0], [2.0, 5.0]])], 10, 10)
    assert np.argwhere(cells).min(axis=0).tolist() == [3, 2]
    assert np.argwhere(cells).max(axis=0).tolist() == [4, 6]
    assert cells.sum() == 10


def _turned(part: Print, degrees: float) -> Turned:
    rings = outline(part.mesh)
    around = hull(part.mesh.vertices[:, :2])
    return turned(around, rings, grown(rings, GAP), GAP, degrees)


def test_the_transform_counts_shared_cells_as_counting_does() -> None:
    """Every place of a large part on a bed half full, counted one by one."""
    shape = Shape("ell", 8, distinct([_turned(ell("ell", 90, 70, 30), 0.0)]))
    filling = Filling([shape], (230.0, 190.0), GAP)
    spots = (filling.fill(WAYS[0]) or [[]])[0]
    assert len(spots) > 3
    kept = np.zeros(filling.size)
    for spot in spots[:-1]:
        rows, columns = spot.turned.kept.shape
        kept[spot.row : spot.row + rows, spot.column : spot.column + columns] += spot.turned.kept
    cells = shape.turns[0].cells
    rows, columns = cells.shape
    free = [
        (column + row, column, row)
        for row in range(190 - rows + 1)
        for column in range(230 - columns + 1)
        if not (kept[row + 5 : row + 5 + rows, column + 5 : column + 5 + columns] * cells).any()
    ]
    assert min(free)[0] == spots[-1].column + spots[-1].row


def test_turns_of_a_bar_are_two() -> None:
    part = bar("bar", 50, 20)
    assert len(distinct([_turned(part, turn) for turn in (0.0, 90.0, 180.0, 270.0)])) == 2
