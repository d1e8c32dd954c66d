"""Templates: holes where the drill table puts them, of the right hand, at 100 % on the paper."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from fixtures.assembly import Board, Corner, Dowelled, FaceHoles
from fixtures.drawings import svg
from fixtures.drawings.full_size import MEASURE
from fixtures.drawings.marks import LEAST, Disc, Drawing, Words
from fixtures.drawings.pattern_card import ARM, view_of
from fixtures.drawings.patterns import Pattern, patterns
from fixtures.drawings.profiles import section
from fixtures.drawings.tiles import tiles
from fixtures.kit import Kit
from fixtures.piece.drilling import Hole
from fixtures.shop_sheet.document import Paper
from tests.drawings.full_size_pages import DOTS, boxes, named, pages, pixels, small

KINDS = ("mitred", "inches", "measured", "copies", "hexagon")
PAPERS: tuple[Paper, ...] = ("A4", "Letter")


def _from_a_table(kit: Kit) -> list[Hole]:
    """Holes that no other board's holes give, and that want more than a rule."""
    joints = {joint.name: joint for joint in kit.joints}
    found = []
    for hole in kit.holes:
        joint = joints[hole.joint]
        faced = (
            isinstance(joint, FaceHoles)
            and joint.board.name == hole.board
            and not joint.through  # wide ones, drilled by a rule
        )
        if isinstance(joint, Dowelled) or faced:
            found.append(hole)
    return found


def _matching(kit: Kit, hole: Hole) -> list[tuple[Pattern, str, float]]:
    """The patterns that put a hole of its width there, with the edge and the distance from it."""
    width = next(board.width for board in kit.panels.boards if board.name == hole.board)
    found = []
    for pattern in patterns(kit):
        for place in pattern.serves:
            if (place.board, place.face, place.datum) != (hole.board, hole.face, hole.datum_name):
                continue
            rear = place.edge in ("rear edge", "lower edge")
            across = width - hole.from_front if rear else hole.from_front
            found += [
                (pattern, place.edge, across)
                for a, b, diameter in pattern.holes
                if abs(a - across) < 0.002
                and abs(b - hole.from_datum) < 0.002
                and diameter == hole.diameter
            ]
    return found


@pytest.mark.parametrize("name", ["divided-cabinet", "tool-shelf", "wall-case", "class-crate"])
def test_every_hole_of_the_drill_table_is_on_one_pattern(name: str) -> None:
    kit = named(name)
    wanted = _from_a_table(kit)
    for hole in wanted:
        assert len(_matching(kit, hole)) == 1, hole
    assert sum(len(p.holes) * len(p.serves) for p in patterns(kit)) == len(wanted)


def _onward(hole: Hole, board: Board, heart: np.ndarray) -> np.ndarray:
    """The way on from a hole's datum, by the words of the drill table and where the board lies."""
    words = {"upwards": (0, 0, 1), "downwards": (0, 0, -1), "to the right": (1, 0, 0)}
    words |= {"underside": (0, 0, 1), "left face": (1, 0, 0)}
    told = hole.datum_name.split(", ")[-1]
    if told in words:
        return np.array(words[told], dtype=float)
    middle = np.mean(board.shape, axis=0)
    # an end's holes lead from its outside face to the heart of the case, a face's along the board
    way = heart - middle if told == "outside face" else middle - np.array(hole.at)
    way = way * (1.0, 0.0, 1.0) * (np.abs(hole.axis) < 0.5)
    way[np.abs(way) < np.abs(way).max()] = 0.0
    return np.array(np.sign(way))


@pytest.mark.parametrize("name", ["divided-cabinet", "tool-shelf", "wall-case", "class-crate"])
def test_patterns_have_the_hand_of_the_face_they_are_laid_on(name: str) -> None:
    kit = named(name)
    boards = {board.name: board for board in kit.panels.boards}
    heart = np.mean([p for board in kit.panels.shell.boards for p in board.shape], axis=0)
    for hole in _from_a_table(kit):
        ((pattern, edge, _),) = _matching(kit, hole)
        # the front of the piece is at y = 0
        inward = np.array((0.0, 1.0 if edge == "front edge" else -1.0, 0.0))
        up = _onward(hole, boards[hole.board], heart)
        # whoever looks along the drill has his right hand at: look × up
        right_hand = np.cross(hole.axis, up)
        assert bool(inward @ right_hand > 0) is not pattern.right, hole
        view = view_of(pattern)
        (x0, y0), (x1, y1), (x2, y2) = view.at(0, 0), view.at(1, 0), view.at(0, 1)
        turn = (x1 - x0) * (y0 - y2) - (y0 - y1) * (x2 - x0)  # y down: this way counter-clockwise
        assert (turn < 0) is pattern.right


def _discs(drawing: Drawing) -> list[Disc]:
    return [mark for mark in drawing.marks if isinstance(mark, Disc)]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["divided-cabinet", "tool-shelf"])
def test_every_hole_is_drawn_whole_at_least_once(name: str, paper: Paper) -> None:
    kit = named(name)
    drawn = [disc.radius * 2 for page in pages(kit, paper, "templates") for disc in _discs(page)]
    for diameter in {hole.diameter for hole in _from_a_table(kit)}:
        wanted = sum(h[2] == diameter for p in patterns(kit) for h in p.holes)
        assert sum(abs(d - diameter) < 1e-9 for d in drawn) >= wanted


@pytest.mark.parametrize(("wide", "high"), [(34.0, 293.0), (400.0, 500.0), (80.0, 1900.0)])
def test_tiles_go_together_by_their_register_marks(wide: float, high: float) -> None:
    overlap = 20.0
    parts = tiles(wide, high, (86.0, 200.0), overlap)
    assert max(tile.wide for tile in parts) <= 86.0
    assert max(tile.high for tile in parts) <= 200.0
    shared = 0
    for a, b in combinations(parts, 2):
        level = abs(a.y - b.y) < 1e-9 and 0 < b.x - a.x < a.wide
        stacked = abs(a.x - b.x) < 1e-9 and 0 < b.y - a.y < a.high
        if level or stacked:
            shared += 1
            both = set(a.register) & set(b.register)
            # two marks fix a paper's place and its turn; the further apart the better
            assert max(np.hypot(p[0] - q[0], p[1] - q[1]) for p in both for q in both) > 20.0
    assert shared >= len(parts) - 1
    # anything no larger than the overlap lies whole on a tile
    for x in np.linspace(overlap / 2, wide - overlap / 2, 23):
        for y in np.linspace(overlap / 2, high - overlap / 2, 61):
            assert any(tile.holds(float(x), float(y), overlap / 2) for tile in parts)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_lies_in_the_margins_and_words_keep_clear(kind: str, paper: Paper) -> None:
    for drawing in pages(small(kind), paper, "templates"):
        words = [mark for mark in drawing.marks if isinstance(mark, Words)]
        assert any(word.text == MEASURE for word in words)
        assert all(word.height >= LEAST - 1e-9 for word in words)
        for mark in drawing.marks:
            left, top, right, bottom = boxes(mark)
            assert min(left, top) >= 12.0 - 0.3, mark
            assert right <= drawing.wide - 12.0 + 0.3, mark
            assert bottom <= drawing.high - 12.0 + 0.3, mark
        for a, b in combinations(words, 2):
            p, q = boxes(a), boxes(b)
            assert p[2] <= q[0] or q[2] <= p[0] or p[3] <= q[1] or q[3] <= p[1], (a, b)
        for word in words:
            p = boxes(word)
            for disc in _discs(drawing):
                q = boxes(disc)
                assert p[2] <= q[0] or q[2] <= p[0] or p[3] <= q[1] or q[3] <= p[1], (word, disc)


def _places(line: np.ndarray) -> list[float]:
    """Middles of the strokes that a line of pixels crosses, mm."""
    dark = np.flatnonzero(line > 0.25)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    return [float((run + 0.5) @ line[run] / line[run].sum()) / DOTS for run in runs if len(run)]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_bar_measures_180_mm_and_7_inches_as_printed(paper: Paper) -> None:
    page = pixels("mitred-case", paper, 0)
    # the bar's long line is 12 + 2.8 + 4.4 mm over the lower edge: look 1 mm over and under it
    y = page.shape[0] / DOTS - 12.0 - 2.8 - 4.4
    over = _places(page[round((y - 1.0) * DOTS)])
    under = _places(page[round((y + 1.0) * DOTS)])
    assert len(over) == 19
    assert over[-1] - over[0] == pytest.approx(180.0, abs=0.1)
    assert over[10] - over[0] == pytest.approx(100.0, abs=0.1)
    assert len(under) == 8
    # an inch is 25.4 mm (ISO 80000-3)
    assert under[-1] - under[0] == pytest.approx(7 * 25.4, abs=0.1)
    assert under[4] - under[0] == pytest.approx(4 * 25.4, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS)
def test_holes_are_as_far_apart_on_paper_as_in_the_drill_table(paper: Paper) -> None:
    kit = named("mitred-case")
    drawings = pages(kit, paper, "labels") + pages(kit, paper, "templates")
    first = next(i for i, drawing in enumerate(drawings) if drawing.title.startswith("Templates"))
    page, drawing = pixels("mitred-case", paper, first), drawings[first]
    # bores of 8 mm (examples/mitred-case.toml); the smaller circles are register marks
    bores = [disc for disc in _discs(drawing) if disc.radius == 4.0]
    left = min(disc.at[0] for disc in bores)
    column = [disc for disc in bores if abs(disc.at[0] - left) < 1e-6]
    found = []
    for disc in column:
        # the level arm of its cross, beside the circle
        x, y = disc.at[0] + disc.radius + ARM / 2, disc.at[1]
        strip = page[round((y - 1.5) * DOTS) : round((y + 1.5) * DOTS), round(x * DOTS)]
        (place,) = _places(strip)
        found.append(place + round((y - 1.5) * DOTS) / DOTS)
    shelf = [hole for hole in kit.holes if hole.joint == "shelf lower at left"]
    fronts = sorted(hole.from_front for hole in shelf if hole.board == "shelf lower")
    apart = np.diff(fronts)
    assert apart == pytest.approx([75.0, 75.0])
    assert np.diff(sorted(found)) == pytest.approx(apart, abs=0.1)


def test_a_mitre_is_drawn_as_thick_as_measured_and_at_its_angle() -> None:
    kit = named("mitred-case")
    corner = next(joint for joint in kit.joints if isinstance(joint, Corner))
    a, b, spline = section(corner)
    # the thickest reading of the sheet with its finish (examples/mitred-case.toml): 17.9 mm
    assert a[:, 1].max() - a[:, 1].min() == pytest.approx(17.9, abs=1e-6)
    assert b[:, 0].max() - b[:, 0].min() == pytest.approx(17.9, abs=1e-6)
    # they share the mitre from the outer arris to the inner, at 45°
    for ring in (a, b):
        assert any(np.allclose(spot, (0.0, 0.0), atol=1e-6) for spot in ring)
        assert any(np.allclose(spot, (17.9, 17.9), atol=1e-6) for spot in ring)
    assert spline is not None
    # square to the mitre and half in either board: its middle lies on it
    middle = spline.mean(axis=0)
    assert middle[0] == pytest.approx(middle[1], abs=1e-6)


def test_templates_are_the_same_each_time() -> None:
    kit = small("mitred")
    once, again = (pages(kit, "A4", "templates") for _ in range(2))
    assert [svg.encode(one) for one in once] == [svg.encode(one) for one in again]
