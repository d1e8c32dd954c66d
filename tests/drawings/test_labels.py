"""Panel labels: every board once, its own mark, and arrows that point as seen on the face."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from fixtures.drawings import svg
from fixtures.drawings.case_mark import case_marks
from fixtures.drawings.labels import facing_of
from fixtures.drawings.marks import LEAST, Drawing, Words
from fixtures.kit import Kit, kit
from fixtures.shop_sheet.document import Paper
from tests.drawings.full_size_pages import boxes, named, pages, small
from tests.piece.making import NAME, case, read, tables

NAMES = ("class-crate", "divided-cabinet", "mitred-case", "tool-shelf", "wall-case")
KINDS = ("mitred", "inches", "measured", "copies", "hexagon")
PAPERS: tuple[Paper, ...] = ("A4", "Letter")


def _said(drawings: list[Drawing]) -> list[Words]:
    return [mark for one in drawings for mark in one.marks if isinstance(mark, Words)]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_board_is_named_on_one_label(kind: str, paper: Paper) -> None:
    made = small(kind)
    told = Counter(word.text for word in _said(pages(made, paper, "labels")) if word.height > 4.4)
    names = [board.name for board in made.panels.boards]
    assert {name: told[name] for name in names} == dict.fromkeys(names, 1)


@pytest.mark.parametrize("kind", KINDS)
def test_a_ring_closes_one_triangle_and_no_two_boards_have_the_same_mark(kind: str) -> None:
    made = small(kind)
    marks = case_marks(made.panels)
    assert set(marks) == {board.name for board in made.panels.boards}
    ring = [marks[board.name].lines[0] for board in made.panels.shell.boards]
    for part, following in zip(ring, [*ring[1:], ring[0]], strict=True):
        assert part[-1] == pytest.approx(following[0], abs=1e-9)
    # the outline of an equilateral triangle of side 1
    length = sum(float(np.linalg.norm(np.diff(part, axis=0), axis=1).sum()) for part in ring)
    assert length == pytest.approx(3.0)
    for a, b in combinations(marks.values(), 2):
        same = len(a.lines) == len(b.lines) and all(
            p.shape == q.shape and np.allclose(p, q) for p, q in zip(a.lines, b.lines, strict=True)
        )
        assert not same or a.ring != b.ring


def test_marks_follow_the_places_of_the_boards_seen_from_the_front() -> None:
    made = named("divided-cabinet")
    marks = case_marks(made.panels)
    middles = {name: np.concatenate(mark.lines).mean(axis=0) for name, mark in marks.items()}
    assert middles["left"][0] < 0.5 < middles["right"][0]
    assert middles["bottom"][1] < middles["left"][1] < middles["top"][1]
    # the fixed shelf hangs 107.9 mm up and the loose one 207.9 mm (examples/divided-cabinet.toml)
    assert middles["shelf fixed"][1] < middles["shelf loose"][1]


# looked at from outside: the left side's front is at the right hand, the right side's at the left
WAYS = {
    "left": {"front edge": (1.0, 0.0), "lower end": (0.0, 1.0)},
    "right": {"front edge": (-1.0, 0.0), "lower end": (0.0, 1.0)},
    "top": {"front edge": (0.0, 1.0), "left end": (-1.0, 0.0)},
    # from below and behind, left and right change
    "bottom": {"front edge": (0.0, 1.0), "left end": (1.0, 0.0)},
    "back": {"lower edge": (0.0, 1.0), "left end": (1.0, 0.0)},
    "divider middle": {"front edge": (1.0, 0.0), "lower end": (0.0, 1.0)},
    "shelf fixed": {"front edge": (0.0, 1.0), "left end": (1.0, 0.0)},
}


@pytest.mark.parametrize("name", WAYS)
def test_arrows_point_as_seen_on_the_face(name: str) -> None:
    made = named("divided-cabinet")
    board = next(board for board in made.panels.boards if board.name == name)
    assert dict(facing_of(made, board).edges) == WAYS[name]


def _ok(kit: Kit, paper: Paper) -> None:
    for drawing in pages(kit, paper, "labels"):
        words = [mark for mark in drawing.marks if isinstance(mark, Words)]
        for mark in drawing.marks:
            left, top, right, bottom = boxes(mark)
            assert min(left, top) >= 12.0 - 0.3, mark
            assert right <= drawing.wide - 12.0 + 0.3, mark
            assert bottom <= drawing.high - 12.0 + 0.3, mark
        assert all(word.height >= LEAST - 1e-9 for word in words)
        for a, b in combinations(words, 2):
            p, q = boxes(a), boxes(b)
            assert p[2] <= q[0] or q[2] <= p[0] or p[3] <= q[1] or q[3] <= p[1], (a, b)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_words_keep_clear_of_each_other_and_of_the_margins(kind: str, paper: Paper) -> None:
    _ok(small(kind), paper)


@cache
def planted() -> Kit:
    """A case on a plinth, with boards over and under it."""
    told = tables(
        thick=18.0,
        case=case(700.0, 500.0, 300.0, corner="sides-run", fixing="dowel"),
        bit=[{"diameter": "8 mm", "stands_out": "95 mm"}],
    )
    told["top"] = told["base"] = {"stock": "case", "fixing": "screw"}
    told["plinth"] = {"stock": "case", "height": "90 mm"}
    return kit(read(told), NAME)


@pytest.mark.slow
def test_a_plinth_has_a_triangle_of_its_own_and_its_arrows_point_to_its_upper_edge() -> None:
    made = planted()
    assert made.panels.plinth is not None
    marks = case_marks(made.panels)
    assert {marks[board.name].ring for board in made.panels.plinth.boards} == {"plinth"}
    for board in made.panels.plinth.boards:
        assert dict(facing_of(made, board).edges)["upper edge"] == (0.0, -1.0)
    # seen from in front and outside, the front's left end is at the left hand
    front = next(board for board in made.panels.plinth.boards if board.name == "plinth front")
    assert dict(facing_of(made, front).edges)["left end"] == (-1.0, 0.0)
    for paper in PAPERS:
        _ok(made, paper)


def test_held_back_boards_say_so_and_sizes_are_told_in_the_pieces_units() -> None:
    made = named("tool-shelf")
    told = " ".join(word.text for word in _said(pages(made, "Letter", "labels")))
    held = [board for board in made.panels.boards if board.held_back]
    assert held
    assert told.count("Held back") == len(held)
    # 22.375 in and 26 1/2 in outside (examples/tool-shelf.toml); 673.1 mm is 26 1/2 in
    assert "26 1/2 in" in told
    assert " mm " not in told.replace("100 mm", "").replace("180 mm", "")


def test_copies_are_told_as_sets_to_print() -> None:
    made = named("class-crate")
    told = [word.text for word in _said(pages(made, "A4", "labels"))]
    assert "print 12 sets" in told
    assert sum(text.startswith("copy no.") for text in told) == len(made.panels.boards)


def test_labels_are_the_same_each_time() -> None:
    made = small("mitred")
    once, again = (pages(made, "A4", "labels") for _ in range(2))
    assert [svg.encode(one) for one in once] == [svg.encode(one) for one in again]
