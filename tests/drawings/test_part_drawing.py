"""A part's drawing: every number is the feature's own, true to scale, and nothing lies on anything.

Sizes are judged by the features' facts, which the parts' own tests prove, and by rays on the mesh
(trimesh); meeting of words and lines by shapely; the PDF by pypdfium2.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely
import trimesh

from fixtures import ingest
from fixtures.drawings import lettering, on_page, pixels, svg
from fixtures.drawings.dimensions import Told
from fixtures.drawings.hidden import projected
from fixtures.drawings.marks import LEAST, Area, Disc, Lines, Words
from fixtures.drawings.part_drawing import Sheet, sheet
from fixtures.drawings.part_sizes import number
from fixtures.drawings.part_views import VIEWS
from fixtures.drawings.title_block import PAPERS, SCALES, Projection, symbol
from fixtures.export import stl
from fixtures.mesh import Floats
from fixtures.produce import Produced, produce
from fixtures.solid import Fact
from fixtures.units import Units
from tests.drawings.making import of_pdf
from tests.parts.made import DEFAULTS, FORMS, PRINTER, part

EVERY = [*DEFAULTS, *FORMS]
ASKED: list[tuple[Projection, Units]] = [("first", "mm"), ("third", "in")]


@cache
def made(name: str, biased: bool = False) -> Produced:
    return produce(part(name), PRINTER, biased=biased)


@cache
def drawn(name: str, projection: Projection = "first", units: Units = "mm") -> Sheet:
    return sheet(made(name), projection=projection, units=units)


def words(found: Sheet) -> list[Words]:
    return [mark for mark in found.drawing.marks if isinstance(mark, Words)]


def text(found: Sheet) -> str:
    return " ".join(one.text for one in words(found))


def told(found: Sheet, name: str) -> list[Told]:
    return [one for one in found.told if name in one.names]


def seen_on_paper(found: Sheet) -> Floats:
    return np.concatenate([p.view.flat(p.view.lines.seen) + p.corner for p in found.views])


def bored(facts: tuple[Fact, ...]) -> list[Fact]:
    return [fact for fact in facts if fact.kind in ("slot", "through hole", "blind hole")]


@pytest.mark.parametrize(("projection", "units"), ASKED)
@pytest.mark.parametrize("name", EVERY)
def test_words_meet_no_words_no_edge_and_no_border(
    name: str, projection: Projection, units: Units
) -> None:
    found = drawn(name, projection, units)
    rooms = [shapely.box(*lettering.box(one)) for one in words(found)]
    assert not [(a, b) for a, b in combinations(rooms, 2) if a.intersects(b)]
    edges = shapely.MultiLineString(list(seen_on_paper(found)))
    met = [
        one.text for one, room in zip(words(found), rooms, strict=True) if room.intersects(edges)
    ]
    assert not met
    wide, high = PAPERS["Letter" if units == "in" else "A4"]
    assert (found.drawing.wide, found.drawing.high) == (wide, high)
    frame = shapely.box(20.0, 10.0, wide - 10.0, high - 10.0)
    assert all(frame.contains_properly(room) for room in rooms)
    for mark in found.drawing.marks:
        if isinstance(mark, Lines) and len(mark.ends):
            assert frame.buffer(1e-6).contains(shapely.MultiPoint(mark.ends.reshape(-1, 2)))
    assert min(one.height for one in words(found)) >= LEAST
    assert found.scale in SCALES


@pytest.mark.parametrize(("projection", "units"), ASKED)
@pytest.mark.parametrize("name", EVERY)
def test_every_slot_and_bore_has_its_nominal_size(
    name: str, projection: Projection, units: Units
) -> None:
    found = drawn(name, projection, units)
    everything = text(found)
    for fact in bored(made(name).facts):
        value = fact.diameter or fact.width
        assert value is not None
        size = number(value, units)
        here = [one for one in told(found, fact.name) if abs(one.value - value) < 1e-9]
        listed = re.search(rf"{re.escape(fact.name)} ⌀?{re.escape(size)}(?=[;.])", everything)
        assert here or listed
        alike = {size, f"{value / 25.4:.3f}"}  # slots are all told as decimals if one is
        assert all(any(text in one.text for text in alike) for one in here)


@pytest.mark.parametrize(("projection", "units"), ASKED)
@pytest.mark.parametrize("name", EVERY)
def test_what_sizes_are_told_between_lies_value_times_scale_apart(
    name: str, projection: Projection, units: Units
) -> None:
    found = drawn(name, projection, units)
    between = [one for one in found.told if one.spots]
    assert len(between) >= 3  # length, width and height at least
    for one in between:
        assert one.spots is not None
        (a, b), (c, d) = one.spots
        apart = max(abs(c - a), abs(d - b)) if "edge" in one.names else 0.0
        along = [abs(c - a), abs(d - b), float(np.hypot(c - a, d - b)), apart]
        # running sizes are measured along their line; their two spots lie on it
        assert min(abs(far - one.value * found.scale) for far in along) < 0.01
    overall = sorted(one.value for one in told(found, "overall"))
    assert overall == pytest.approx(sorted(np.ptp(made(name).mesh.vertices, axis=0)), abs=1e-6)


@pytest.mark.parametrize("name", ["corner-socket", "leg-socket", "drill-guide", "slot-comb"])
def test_sizes_told_are_those_that_rays_measure_in_the_mesh(name: str) -> None:
    mesh = made(name).mesh
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    for fact in bored(made(name).facts):
        middle = np.array(fact.at) + 0.5 * (fact.depth or 0.0) * np.array(fact.axis)
        across = np.array([fact.across, np.negative(fact.across)])
        hit, ray, _ = body.ray.intersects_location(np.array([middle, middle]), across)
        reach = [min(np.linalg.norm(hit[ray == k] - middle, axis=1)) for k in (0, 1)]
        value = next(
            one.value for one in told(drawn(name), fact.name)
            if one.value == (fact.diameter or fact.width)
        )  # fmt: skip
        assert sum(reach) == pytest.approx(value, abs=0.05)  # a bore's facets lie within 0.02 mm


def test_a_guides_bores_are_told_from_its_origin() -> None:
    # asked for: bores at 40, 72 and 104 mm from the datum, 9.5 mm in from the fence: half of
    # 19.2 mm less 0.1 is a matter of the family; the mesh has them there (its own tests)
    found = drawn("drill-guide")
    at = {name: sorted(one.value for one in told(found, name)) for name in ("bore_1", "bore_3")}
    assert at["bore_1"] == pytest.approx([8.15, 9.5, 40.0])
    assert at["bore_3"] == pytest.approx([8.15, 9.5, 104.0])
    assert "5× ⌀8.15 through" in text(found)


def test_a_spacers_height_and_the_angle_between_slots_are_told() -> None:
    (height,) = told(drawn("spacer-block"), "height")
    assert (height.text, height.value) == ("210", 210.0)
    angle = next(o for o in drawn("corner-socket").told if o.names[0].startswith("angle"))
    assert (angle.text, angle.value) == ("90°", pytest.approx(90.0))


def test_holes_alike_are_counted_and_their_countersink_is_told() -> None:
    assert "4× ⌀4.37 through" in text(drawn("leg-socket"))
    assert "⌵ ↧ 2.55" in text(drawn("leg-socket"))
    assert "⌀28.5 ↧ 33.84" in text(drawn("leg-socket"))


def test_inches_are_fractions_where_a_size_meets_one() -> None:
    # 11/64 in is 4.366 mm: the hole for a no. 8 screw (3/16 less 1/64)
    assert "4× ⌀11/64 through" in text(drawn("leg-socket", "third", "in"))
    assert "inches" in text(drawn("leg-socket", "third", "in"))
    assert "mm" in text(drawn("leg-socket"))


@pytest.mark.parametrize("name", EVERY)
def test_views_lie_as_first_and_third_angle_want_them(name: str) -> None:
    first = {p.view.name: p for p in drawn(name).views}
    third = {p.view.name: p for p in drawn(name, "third", "in").views}
    # ISO 5456-2: first angle puts the view from above below, and the one from the left on the right
    assert first["top"].corner[1] > first["front"].corner[1] + first["front"].view.high
    assert first["left"].corner[0] > first["front"].corner[0] + first["front"].view.wide
    assert third["top"].corner[1] + third["top"].view.high < third["front"].corner[1]
    assert third["right"].corner[0] > third["front"].corner[0] + third["front"].view.wide
    for views, side in ((first, "left"), (third, "right")):
        assert views["top"].corner[0] == pytest.approx(views["front"].corner[0], abs=1e-6)
        assert views[side].corner[1] == pytest.approx(views["front"].corner[1], abs=1e-6)


@pytest.mark.parametrize("name", ["corner-socket", "leg-socket"])
def test_each_view_is_the_parts_projection(name: str) -> None:
    for placed in (*drawn(name).views, *drawn(name, "third", "in").views):
        if placed.view.name == "section":
            continue
        alone = projected([made(name).mesh], VIEWS[placed.view.name], with_hidden=False)
        drawn_here = np.linalg.norm(np.diff(placed.view.lines.seen, axis=1), axis=-1).sum()
        assert drawn_here == pytest.approx(
            np.linalg.norm(np.diff(alone.seen, axis=1), axis=-1).sum(), rel=1e-6
        )


def test_hidden_letters_are_not_drawn() -> None:
    mesh = made("corner-socket").mesh
    with_letters = projected([mesh], VIEWS["front"])
    front = next(p.view for p in drawn("corner-socket").views if p.view.name == "front")
    assert len(front.lines.hidden) < len(with_letters.hidden)


@pytest.mark.parametrize("projection", ["first", "third"])
def test_the_symbol_is_a_cone_with_its_circles_on_the_right_side(projection: Projection) -> None:
    marks = symbol((0.0, 0.0), projection)
    cone = next(mark for mark in marks if isinstance(mark, Area)).rings[0]
    circles = [mark for mark in marks if isinstance(mark, Disc)]
    # ISO 5456-2: in first angle the circles are the view from the small end's side, put beyond
    # the large end; in third angle they stand before the small end. Both circles are seen.
    left = np.ptp(cone[cone[:, 0] == cone[:, 0].min()][:, 1])
    right = np.ptp(cone[cone[:, 0] == cone[:, 0].max()][:, 1])
    assert sorted(2 * one.radius for one in circles) == [left, right]
    beyond = {one.at[0] > cone[:, 0].max() for one in circles}
    assert beyond == {projection == "first"}


def test_a_section_is_named_and_hatched_and_its_plane_is_shown() -> None:
    found = drawn("corner-socket")
    assert [w.text for w in words(found)].count("A") == 2
    assert "A-A" in {w.text for w in words(found)}
    edges = [one.value for one in found.told if one.names == ("edge",)]
    # walls of 6 mm, the slot of 12.6 mm between them, a floor of 5 mm; in front the lug, 12 mm
    assert sorted(edges) == pytest.approx([5.0, 6.0, 12.0, 18.6, 24.6], abs=0.005)
    assert "A-A" not in {w.text for w in words(drawn("spacer-block"))}


def test_a_compensated_part_is_drawn_as_it_should_come_out() -> None:
    found, plain = sheet(made("leg-socket", biased=True)), drawn("leg-socket")
    assert [(o.text, o.names) for o in found.told] == [(o.text, o.names) for o in plain.told]
    assert "compensated" in text(found)
    assert "compensated" not in text(plain)


def test_a_part_read_back_from_its_file_is_drawn_alike() -> None:
    first = made("corner-socket")
    back = ingest.read(stl.encode(first.mesh, "test"), "test.stl").mesh
    assert not back.names
    assert svg.encode(sheet(replace(first, mesh=back)).drawing) == svg.encode(
        drawn("corner-socket").drawing
    )


def test_the_same_part_gives_the_same_bytes() -> None:
    again = sheet(produce(part("drill-guide"), PRINTER, biased=False)).drawing
    for encode in (svg.encode, on_page.encode, pixels.encode):
        assert encode(again) == encode(drawn("drill-guide").drawing)  # type: ignore[operator]


def test_a_pdf_is_true_to_scale() -> None:
    found = drawn("slot-comb")
    dots = 10.0
    page = of_pdf(on_page.encode(found.drawing), dots)
    assert page.shape == (2100, 2970)
    (whole,) = (one for one in told(found, "overall") if one.text == "99")
    assert whole.spots is not None
    (left, y), (right, _) = whole.spots
    row = round((y + 1.2) * dots)  # past the arrows, where the extension lines run on
    dark = np.flatnonzero(page[row, round((left - 3) * dots) : round((right + 3) * dots)] < 128)
    run = dark + round((left - 3) * dots)
    assert run[0] / dots == pytest.approx(left, abs=0.25)
    assert (run[-1] - run[0] + 1) / dots == pytest.approx(99.0 * found.scale + 0.25, abs=0.15)


def test_the_block_says_what_the_drawing_is() -> None:
    everything = text(drawn("leg-socket", "third", "in"))
    for said in ("leg-socket", made("leg-socket").part.mark, "1:2", "PLA", "as printed", "nominal",
                 "third angle", "Nominal sizes; print from the mesh file"):  # fmt: skip
        assert said in everything
