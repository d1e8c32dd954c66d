"""Outlines: areas in closed form, polygons on the right side of their arcs, edges that move."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures.outline import (
    Arc,
    Line,
    Outline,
    Point,
    Role,
    arc_sides,
    area,
    chamfered,
    circle,
    mirrored_x,
    moved,
    normal,
    polygon,
    polygon_outline,
    rectangle,
    stadium,
    translated,
)

PI = math.pi
RADII = st.floats(0.5, 150.0)
DEFLECTIONS = st.floats(0.001, 0.4)
MOVES = st.floats(-0.4, 0.4)

FILLETED = Outline(
    (0.0, 0.0),
    (
        Line((20.0, 0.0)),
        Line((20.0, 5.0)),
        Line((8.0, 5.0)),
        Arc((5.0, 8.0), (8.0, 8.0), left=False),
        Line((5.0, 20.0)),
        Line((0.0, 20.0)),
        Line((0.0, 0.0)),
    ),
)
"""An L of 20 × 20 × 5 with a fillet of 3 in its inner corner: 175 + 9 (1 - pi/4)."""

FILLET_AREA = 175.0 + 9.0 * (1 - PI / 4)


def shoelace(points: list[Point]) -> float:
    """Area of a polygon by the surveyor's formula."""
    ahead = [*points[1:], points[0]]
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, ahead, strict=True)) / 2


def distance_to_line(point: Point, a: Point, b: Point) -> float:
    nx, ny = normal(a, b)
    return (point[0] - a[0]) * nx + (point[1] - a[1]) * ny


def near(points: Sequence[Point], wanted: Sequence[Point]) -> bool:
    return all(math.dist(a, b) < 1e-9 for a, b in zip(points, wanted, strict=True))


def out_by(by: float) -> Callable[[Role, Point], float]:
    return lambda role, n: by


# --- area -----------------------------------------------------------------------------------


def test_area_of_a_rectangle_is_its_sides_multiplied() -> None:
    assert area(rectangle(-2.0, 1.0, 5.0, 4.0)) == pytest.approx(21.0)


@given(RADII)
def test_area_of_a_circle_is_pi_r_squared(radius: float) -> None:
    assert area(circle(radius, (3.0, -7.0))) == pytest.approx(PI * radius**2)


@given(RADII, st.floats(1.0, 80.0), st.floats(0.0, 2 * PI))
def test_area_of_a_stadium_is_a_circle_and_a_rectangle(
    radius: float, length: float, way: float
) -> None:
    end = (1.0 + length * math.cos(way), 2.0 + length * math.sin(way))
    made = stadium((1.0, 2.0), end, radius)
    assert area(made) == pytest.approx(PI * radius**2 + 2 * radius * length)


def test_area_of_an_inner_fillet_is_added() -> None:
    assert area(FILLETED) == pytest.approx(FILLET_AREA)


def test_area_of_a_full_turn_in_one_arc() -> None:
    assert area(Outline((5.0, 0.0), (Arc((5.0, 0.0), (0.0, 0.0)),))) == pytest.approx(25 * PI)


def test_a_clockwise_outline_has_negative_area() -> None:
    points = [(0.0, 0.0), (0.0, 4.0), (3.0, 4.0), (3.0, 0.0)]
    assert area(polygon_outline(points)) == pytest.approx(-12.0)
    halves = (Arc((-5.0, 0.0), (0.0, 0.0), left=False), Arc((5.0, 0.0), (0.0, 0.0), left=False))
    assert area(Outline((5.0, 0.0), halves)) == pytest.approx(-25 * PI)


def test_a_full_turn_to_the_right_in_one_arc_has_negative_area() -> None:
    right = Outline((5.0, 0.0), (Arc((5.0, 0.0), (0.0, 0.0), left=False),))
    assert area(right) == pytest.approx(-25 * PI)


@pytest.mark.parametrize(
    ("points", "roles"),
    [([(0.0, 0.0), (1.0, 0.0)], ()), ([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)], (None, "datum"))],
    ids=["two corners", "two roles for three edges"],
)
def test_what_makes_no_outline_is_refused(points: list[Point], roles: tuple[Role | None]) -> None:
    with pytest.raises(ValueError, match="do not make an outline"):
        polygon_outline(points, roles)


# --- polygons -------------------------------------------------------------------------------


@given(RADII, DEFLECTIONS)
def test_a_cutters_circle_is_drawn_outside_and_within_the_deflection(
    radius: float, deflection: float
) -> None:
    """Every side touches the circle (a pin of the true size passes), no corner strays further."""
    points = polygon(circle(radius, (1.0, 2.0)), deflection, grow=True)
    # once round, a side touches at its middle: the apothem is the radius
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        away = abs(distance_to_line((1.0, 2.0), a, b))
        assert away == pytest.approx(radius, rel=1e-9)
    # r (1 / cos(pi/n) - 1) is the sagitta / cos(pi/n): at n = 32 half a percent more
    furthest = max(math.dist(point, (1.0, 2.0)) for point in points)
    assert 0 < furthest - radius <= 1.005 * deflection


@given(RADII, DEFLECTIONS)
def test_a_bodys_circle_is_drawn_inside_and_within_the_deflection(
    radius: float, deflection: float
) -> None:
    points = polygon(circle(radius), deflection, grow=False)
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        assert math.hypot(*a) == pytest.approx(radius, rel=1e-12)
        assert 0 < radius - abs(distance_to_line((0.0, 0.0), a, b)) <= deflection * (1 + 1e-9)


@pytest.mark.parametrize("deflection", [0.2, 0.02, 0.002])
@pytest.mark.parametrize(
    ("outline", "true"),
    [
        (circle(7.0), 49 * PI),
        (stadium((0.0, 0.0), (8.0, 6.0), 4.0), 80 + 16 * PI),
        (FILLETED, FILLET_AREA),
    ],
    ids=["circle", "stadium", "inner fillet"],
)
def test_growing_bounds_the_area_from_above_and_not_growing_from_below(
    outline: Outline, true: float, deflection: float
) -> None:
    more = shoelace(polygon(outline, deflection, grow=True))
    less = shoelace(polygon(outline, deflection, grow=False))
    assert less < true < more
    # the strip between arc and polygon is thinner than the deflection all along the arcs
    assert more - less < 2.02 * deflection * 2 * PI * 7


def test_a_circle_is_exact_at_its_quarter_points() -> None:
    points = polygon(circle(5.0), 0.01, grow=False)
    for quarter in ((5.0, 0.0), (0.0, 5.0), (-5.0, 0.0), (0.0, -5.0)):
        assert min(math.dist(quarter, point) for point in points) < 1e-12


@given(RADII, DEFLECTIONS)
def test_sides_of_an_arc_keep_its_chord_height(radius: float, deflection: float) -> None:
    """Chord height r (1 - cos(pi/n)); at least 32 sides a turn, in fours."""
    n = arc_sides(radius, 2 * PI, deflection)
    assert n >= 32
    assert n % 4 == 0
    assert radius * (1 - math.cos(PI / n)) <= deflection * (1 + 1e-9)
    assert arc_sides(radius, PI / 2, deflection) == n // 4
    assert arc_sides(radius, -PI / 2, deflection) == n // 4


def test_no_corner_comes_twice() -> None:
    for outline in (circle(3.0), stadium((0.0, 0.0), (5.0, 0.0), 2.0), FILLETED):
        for grow in (True, False):
            points = polygon(outline, 0.01, grow=grow)
            gaps = [math.dist(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
            assert min(gaps) > 1e-6


def test_straight_outlines_keep_their_corners() -> None:
    corners = [(0.0, 0.0), (10.0, 0.0), (4.0, 7.0)]
    for grow in (True, False):
        assert polygon(polygon_outline(corners), 0.01, grow=grow) == corners


# --- moved edges ----------------------------------------------------------------------------


def square(*tagged: int, side: float = 10.0) -> Outline:
    corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
    return polygon_outline(corners, ["slot wall" if i in tagged else None for i in range(4)])


def test_normals_point_out_of_a_counter_clockwise_outline() -> None:
    corners = square().corners()
    ends = [*corners[1:], corners[0]]
    normals = [normal(a, b) for a, b in zip(corners, ends, strict=True)]
    assert normals == [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]


@given(MOVES)
def test_a_tagged_edge_of_a_square_moves_and_the_others_stay(by: float) -> None:
    made = moved(square(1), out_by(by))
    x = 10.0 + by
    assert near(made.corners(), [(0.0, 0.0), (x, 0.0), (x, 10.0), (0.0, 10.0)])
    assert area(made) == pytest.approx(10.0 * x)
    assert [edge.role for edge in made.edges] == [edge.role for edge in square(1).edges]  # type: ignore[union-attr]


@given(MOVES)
def test_the_corner_between_two_moved_edges_moves_with_both(by: float) -> None:
    made = moved(square(0, 1), out_by(by))
    assert made.corners()[1] == pytest.approx((10.0 + by, -by))
    assert area(made) == pytest.approx((10.0 + by) ** 2)


def test_each_edge_moves_by_its_own_role_and_normal() -> None:
    corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    roles: list[Role | None] = ["slot end", "slot wall", None, "datum"]
    by = {"slot end": 1.0, "slot wall": 2.0, "datum": 3.0}
    seen: list[tuple[Role, Point]] = []

    def shift(role: Role, n: Point) -> float:
        seen.append((role, n))
        return by[role]

    made = moved(polygon_outline(corners, roles), shift)
    assert near(made.corners(), [(-3.0, -1.0), (12.0, -1.0), (12.0, 10.0), (-3.0, 10.0)])
    assert seen == [("slot end", (0.0, -1.0)), ("slot wall", (1.0, 0.0)), ("datum", (-1.0, 0.0))]


def wedge(degrees: float, *tagged: int) -> Outline:
    """A triangle with its tip at the origin, opening along +x; edges 0 and 2 are its sides."""
    half = math.radians(degrees) / 2
    far = 50.0
    points = [(0.0, 0.0), (far, -far * math.tan(half)), (far, far * math.tan(half))]
    return polygon_outline(points, ["slot wall" if i in tagged else None for i in range(3)])


@pytest.mark.parametrize("degrees", [30.0, 60.0, 90.0, 120.0])
@pytest.mark.parametrize("by", [0.05, 0.5, -0.2])
def test_a_mitres_tip_moves_along_its_bisector(degrees: float, by: float) -> None:
    """Both sides out by d take the tip d / sin(half the angle) out: 2 d at 60°."""
    tip = moved(wedge(degrees, 0, 2), out_by(by)).corners()[0]
    assert tip == pytest.approx((-by / math.sin(math.radians(degrees / 2)), 0.0))
    if degrees == 60.0:
        assert tip[0] == pytest.approx(-2 * by)


def test_with_one_side_moved_the_tip_slides_along_the_other() -> None:
    """By d / sin(angle), and on the other side's own line."""
    tip = moved(wedge(60.0, 0), out_by(0.3)).corners()[0]
    assert math.hypot(*tip) == pytest.approx(0.3 / math.sin(math.radians(60.0)))
    assert math.atan2(tip[1], tip[0]) == pytest.approx(math.radians(30.0) - PI)


def test_there_and_back_again_changes_nothing() -> None:
    out = moved(wedge(75.0, 0, 2), out_by(0.25))
    back = moved(out, out_by(-0.25))
    assert near(back.corners(), wedge(75.0).corners())


def test_nothing_tagged_or_nothing_to_move_gives_the_outline_itself() -> None:
    assert moved(square(), out_by(1.0)) == square()
    assert moved(square(0, 2), out_by(0.0)) == square(0, 2)


def test_an_edge_beside_an_arc_is_refused() -> None:
    half_round = Outline(
        (0.0, 0.0),
        (
            Line((10.0, 0.0)),
            Arc((10.0, 6.0), (10.0, 3.0)),
            Line((0.0, 6.0), "slot wall"),
            Line((0.0, 0.0)),
        ),
    )
    with pytest.raises(ValueError, match="cannot move: it meets an arc"):
        moved(half_round, out_by(0.1))


def test_an_edge_in_line_with_its_neighbour_is_refused() -> None:
    points = [(0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    roles: list[Role | None] = ["slot wall", None, None, None, None]
    with pytest.raises(ValueError, match="runs on in line with its neighbour"):
        moved(polygon_outline(points, roles), out_by(0.1))


# --- mirrored, translated, chamfered --------------------------------------------------------


def test_mirroring_keeps_area_and_way_round() -> None:
    for outline in (FILLETED, stadium((1.0, 2.0), (8.0, 3.0), 2.0), circle(4.0, (9.0, 0.0))):
        assert area(mirrored_x(outline)) == pytest.approx(area(outline))


def test_mirroring_takes_roles_and_arcs_to_the_other_side() -> None:
    made = mirrored_x(square(1))
    tagged = [
        (begin, edge.to)
        for begin, edge in zip(made.corners(), made.edges, strict=True)
        if isinstance(edge, Line) and edge.role
    ]
    assert len(tagged) == 1
    assert {x for x, _ in tagged[0]} == {-10.0}
    away = [
        math.dist(point, (-8.0, 8.0))
        for point in polygon(mirrored_x(FILLETED), 0.01, grow=False)
        if point[0] < -5.0 + 1e-9 and 5.0 - 1e-9 < point[1] < 8.0 + 1e-9
    ]
    # the fillet's corners: with less material its concave arc is drawn by tangents
    assert len(away) > 8
    assert min(away) >= 3.0 - 1e-9


def test_mirroring_twice_gives_the_outline_back() -> None:
    for outline in (FILLETED, square(1), stadium((1.0, 2.0), (8.0, 3.0), 2.0)):
        assert mirrored_x(mirrored_x(outline)) == outline


def test_translation_moves_every_point_and_every_centre() -> None:
    made = translated(stadium((0.0, 0.0), (5.0, 0.0), 2.0), (10.0, -3.0))
    assert made == stadium((10.0, -3.0), (15.0, -3.0), 2.0)
    assert area(translated(FILLETED, (-100.0, 40.0))) == pytest.approx(FILLET_AREA)
    assert translated(square(2), (1.0, 1.0)).edges[2] == Line((1.0, 11.0), "slot wall")


@pytest.mark.parametrize("degrees", [60.0, 90.0, 120.0])
def test_a_cut_corner_loses_a_triangle(degrees: float) -> None:
    """Two sides of length c at an angle enclose c² sin(angle) / 2."""
    turn = math.radians(degrees)
    points = [(0.0, 0.0), (20.0, 0.0), (20.0 * math.cos(turn), 20.0 * math.sin(turn))]
    lost = shoelace(points) - shoelace(chamfered(points, [3.0, 0.0, 0.0]))
    assert lost == pytest.approx(9.0 * math.sin(turn) / 2)


def test_corners_without_a_cut_stay_in_their_order() -> None:
    points = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    assert chamfered(points, [0.0] * 4) == points
    made = chamfered(points, [0.0, 2.0, 0.0, 0.0])
    assert made == [(0.0, 0.0), (8.0, 0.0), (10.0, 2.0), (10.0, 10.0), (0.0, 10.0)]
