"""Standing bores: found where they are, told on both sides of each limit."""

from __future__ import annotations

import math

import manifold3d as m3
import pytest

from fixtures.advisor import standing_bores
from fixtures.advisor.bore_checks import shrinks
from fixtures.printer import MATERIALS, Printer
from tests.advisor.solids import HALVES, advised, block_with_hole, box, cut, drum, one, said


def plate(*holes: m3.Manifold) -> m3.Manifold:
    return box(0, 0, 0, 60, 40, 10) - sum(holes, m3.Manifold())


def test_bores_are_found_where_they_are() -> None:
    solid = plate(drum(15, 20, -1, 4, 20), drum(45, 20, 4, 2.5, 20))
    through, blind = standing_bores.find(cut(solid))
    assert (through.x, through.y) == pytest.approx((15, 20), abs=1e-3)
    assert through.z == pytest.approx((0.0, 10.0))
    assert blind.z == pytest.approx((4.0, 10.0), abs=0.11)
    # corners on the circle: the largest shaft is that of the flats, r cos(pi / 64)
    assert through.diameter == pytest.approx(8 * math.cos(math.pi / 64), abs=2e-3)
    assert blind.diameter == pytest.approx(5 * math.cos(math.pi / 64), abs=2e-3)
    assert (through.relief, blind.relief) == (0.0, None)


def test_what_is_not_round_is_no_bore() -> None:
    square = box(10, 10, -1, 18, 18, 20)
    slot = box(30, 10, -1, 36, 30, 20) + drum(33, 30, -1, 3, 21)
    assert standing_bores.find(cut(plate(square, slot))) == ()


@pytest.mark.parametrize(("sides", "found"), [(8, 0), (12, 1), (64, 1)])
def test_from_twelve_sides_on_a_hole_is_round(sides: int, found: int) -> None:
    assert len(standing_bores.find(cut(plate(drum(20, 20, -1, 4, 20, sides))))) == found


@pytest.mark.parametrize(
    ("diameter", "severity"), [(2.05, None), (1.9, "note"), (1.05, "note"), (0.9, "mend")]
)
def test_small_holes_on_both_sides_of_their_limits(diameter: float, severity: str | None) -> None:
    radius = diameter / 2 / math.cos(math.pi / 64)
    found = said(advised(plate(drum(20, 20, -1, radius, 20))), "small-hole")
    assert [finding.severity for finding in found] == ([severity] if severity else [])


def test_many_small_holes_are_told_once() -> None:
    holes = [drum(10 + 6 * k, 20, -1, 0.9, 20) for k in range(5)]
    assert "4 more" in one(advised(plate(*holes)), "small-hole").message


def test_how_small_a_bore_prints_by_shape_and_cooling() -> None:
    """A line 0.45 × 0.20 fed as a rectangle is 0.04292 wider; PLA shrinks 101e-6 × 35 K = 0.35 %,
    0.028 mm at 8 mm: the terms of the published budget of a printed hole."""
    shape, cooling = shrinks(8.0, Printer(width=0.45, material=MATERIALS["PLA"]))
    assert shape == pytest.approx(0.04292, abs=1e-5)
    assert cooling == pytest.approx(0.028, abs=5e-4)


def test_bores_of_a_foreign_mesh_are_told_to_print_small() -> None:
    assert "commonly 0.1 to 0.3 mm" in one(advised(block_with_hole(8, -1)), "tight-hole").message
    assert said(advised(block_with_hole(30, -1)), "tight-hole") == []  # no bit is that wide


@pytest.mark.parametrize(("relief", "told"), [(0.0, True), (0.05, True), (0.15, False)])
def test_a_mouth_on_the_bed_wants_relief(relief: float, told: bool) -> None:
    """relief on the radius: 0.2 mm of diameter is the least that is taken for one."""
    mouth = drum(20, 20, -0.1, 4 + relief, 0.5)
    found = said(advised(plate(drum(20, 20, -1, 4, 20), mouth), HALVES), "bed-mouth")
    assert bool(found) is told


def test_a_blind_bore_from_above_has_no_mouth_on_the_bed() -> None:
    assert said(advised(block_with_hole(8, 10)), "bed-mouth") == []
