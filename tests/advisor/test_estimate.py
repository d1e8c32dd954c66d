"""Mass and time against the stadium, kinematics and one cube worked out by hand."""

from __future__ import annotations

import math

import pytest

from fixtures.advisor import estimate
from fixtures.printer import MATERIALS, Printer
from tests.advisor.solids import advised, box, cube

W, H = 0.45, 0.2


def test_a_line_is_a_stadium() -> None:
    # (w - h) h + pi h²/4
    area = estimate.line_area(W, H)
    assert area == pytest.approx(0.081416, abs=5e-7)
    assert area / (W * H) == pytest.approx(0.9046, abs=5e-5)
    # pitch w - h (1 - pi/4); 1.75 mm filament is 2.405282 mm²
    assert estimate.solid_pitch(W, H) == pytest.approx(0.40708, abs=5e-6)
    assert estimate.filament(area) * 1000 == pytest.approx(0.033849, abs=5e-7)
    assert area * 60 == pytest.approx(4.885, abs=5e-4)
    assert area * 1000 * 1.24e-3 == pytest.approx(0.10096, abs=5e-6)


def test_speed_is_held_by_what_the_hot_end_melts() -> None:
    # 11 mm³/s through 0.081416 mm²: 135.1 mm/s
    assert estimate.printing_speed(Printer(width=W, speed=300)) == pytest.approx(135.1, abs=0.05)
    assert estimate.printing_speed(Printer(width=W, speed=60)) == 60


@pytest.mark.parametrize(
    ("length", "speed", "acceleration", "entry", "leave", "time"),
    [
        (10, 60, 1000, 0, 0, 0.22667),
        (1, 60, 1000, 0, 0, 0.063246),
        (3.6, 60, 1000, 0, 0, 0.12),
        (100, 60, 1000, 0, 0, 1.72667),
        (100, 150, 3000, 0, 0, 0.71667),
        (10, 60, 1000, 10, 20, 0.20083),
    ],
)
def test_time_of_a_move(
    length: float, speed: float, acceleration: float, entry: float, leave: float, time: float
) -> None:
    found = estimate.move_time(length, speed, acceleration, entry, leave)
    assert found == pytest.approx(time, abs=5e-6)


@pytest.mark.parametrize(
    ("angle", "speed"),
    [(90, 6.949), (120, 11.370), (135, 15.580), (150, 23.811), (170, 72.359)],
)
def test_speed_through_a_corner(angle: float, speed: float) -> None:
    assert estimate.corner_speed(angle, 1000, 0.02) == pytest.approx(speed, abs=6e-4)
    assert estimate.corner_speed(180, 1000) == math.inf


def test_the_reference_cube() -> None:
    """Cube of 20: 100 layers, 2 rings, 5 + 5 solid layers, 15 % one-way, full stop at each
    corner and line end, no travel. Worked out by hand from section and kinematics.
    """
    inner = (20 - 2 * estimate.ring_depth(2, W, H)) ** 2
    assert inner == pytest.approx(334.372, abs=5e-4)
    rings = estimate.ring_length(2, 400, inner, W, H)
    assert rings == pytest.approx(153.1433, abs=1e-4)
    solid = inner / estimate.solid_pitch(W, H)
    sparse = 0.15 * inner / W
    assert (solid, sparse) == pytest.approx((821.392, 111.4573), abs=5e-4)

    total = 100 * rings + 10 * solid + 90 * sparse
    assert total == pytest.approx(33_559.4, abs=0.05)
    volume = total * estimate.line_area(W, H)
    assert volume == pytest.approx(2732.27, abs=5e-3)
    assert volume * MATERIALS["PLA"].density / 1000 == pytest.approx(3.388, abs=5e-4)

    side = math.sqrt(inner)
    ring_time = 2 * estimate.lines_time(rings / 2, 4, 60, 1000)
    solid_time = estimate.lines_time(solid, side / estimate.solid_pitch(W, H), 60, 1000)
    sparse_time = estimate.lines_time(sparse, side / (W / 0.15), 60, 1000)
    time = 100 * ring_time + 10 * solid_time + 90 * sparse_time
    assert time == pytest.approx(667.2, abs=0.05)
    assert total / 60 == pytest.approx(559.3, abs=0.05)
    assert volume / 11 == pytest.approx(248.4, abs=0.05)


def test_a_part_weighs_its_lines() -> None:
    # the advisor's own figure for the cube, 3 rings, 7 roof and 3 floor layers, 15 % two-way
    printer = Printer(width=W)
    advice = advised(cube(), printer)
    inner = (20 - 2 * estimate.ring_depth(3, W, H)) ** 2
    rings = estimate.ring_length(3, 400, inner, W, H)
    density = advice.infill_percent / 100
    solid = advice.roof_layers + advice.floor_layers
    total = 100 * rings + inner * (solid / estimate.solid_pitch(W, H) + (100 - solid) * density / W)
    mass = total * estimate.line_area(W, H) * 1.24e-3
    assert advice.mass_g == pytest.approx(mass, rel=0.005)
    assert advice.filament_m == pytest.approx(mass / 1.24e-3 / 2.405282 / 1000, rel=0.005)


@pytest.mark.parametrize("thickness", [2.0, 1.2])
def test_a_solid_plate_weighs_nearly_its_volume(thickness: float) -> None:
    # all rings and skins: rounded line edges and the outermost ring's own half are missing
    advice = advised(box(0, 0, 0, 60, 60, thickness), Printer(width=W))
    assert advice.mass_g is not None
    assert 0.95 < advice.mass_g / (3.6 * thickness * 1.24) <= 1.0


def test_time_is_told_as_an_interval_of_a_fifth_either_way() -> None:
    time = advised(cube()).time_s
    assert time is not None
    assert time[0] / time[1] == pytest.approx(0.8 / 1.2)
    # never faster than melting allows, never below the shortest layer
    assert time[0] > 0.8 * 100 * estimate.SHORTEST_LAYER


def test_a_crawling_printer_takes_its_lines_and_a_share_of_travel() -> None:
    # at 0.5 mm/s nothing is lost at corners: length / speed, 15 % more, lifts, warm-up
    printer = Printer(width=W, speed=0.5)
    advice = advised(cube(), printer)
    assert advice.time_s is not None
    assert advice.filament_m is not None
    length = advice.filament_m * 1000 * 2.405282 / estimate.line_area(W, H)
    expected = length / 0.5 * 1.15 + 100 * 0.3 + 120
    assert sum(advice.time_s) / 2 == pytest.approx(expected, rel=1e-3)


def test_a_faster_printer_takes_less_time_and_as_much_filament() -> None:
    slow, fast = (advised(box(0, 0, 0, 60, 60, 20), Printer(speed=s)) for s in (40, 100))
    assert slow.mass_g == fast.mass_g
    assert slow.time_s is not None
    assert fast.time_s is not None
    assert fast.time_s[0] < slow.time_s[0]
