"""A step as a whole: boards drawn apart on their ways, arrows towards where they go."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from fixtures.assembly import Move
from fixtures.drawings import lettering, svg
from fixtures.drawings.marks import Area, Drawing, Words
from fixtures.drawings.step_picture import letter, moved, step_picture
from fixtures.look import PLUM
from fixtures.telling import steps as telling
from tests.shop_sheet.kits import small

KINDS = ("mitred", "inches", "hexagon")
DOWN, LEFT = (0.0, 0.0, -1.0), (-1.0, 0.0, 0.0)


@cache
def pictures(kind: str) -> dict[int, Drawing]:
    made = small(kind)
    found = {n: step_picture(made, n) for n in range(1, len(made.steps) + 1)}
    return {n: drawing for n, drawing in found.items() if drawing is not None}


@pytest.mark.parametrize("kind", KINDS)
def test_a_step_at_which_boards_go_in_has_a_picture_and_no_other(kind: str) -> None:
    wanted = {n for n, step in enumerate(small(kind).steps, 1) if step.joins}
    assert wanted
    assert set(pictures(kind)) == wanted


def test_a_board_is_drawn_back_along_its_way() -> None:
    found = moved([Move(("left", "right"), (LEFT, DOWN), ())], 100.0)
    assert found["left"].tolist() == [100.0, 0.0, 0.0]
    assert found["right"].tolist() == [0.0, 0.0, 100.0]


def test_what_goes_onto_boards_that_are_drawn_off_is_drawn_off_as_far_again() -> None:
    joins = [
        Move(("left",), (DOWN,), ("bottom",)),
        Move(("right",), (DOWN,), ("bottom",)),
        Move(("top",), (DOWN,), ("left", "right")),
    ]
    found = moved(joins, 100.0)
    assert [found[name][2] for name in ("left", "right", "top")] == [100.0, 100.0, 200.0]


def test_what_goes_onto_boards_drawn_apart_is_drawn_off_its_own_place() -> None:
    joins = [Move(("shelf",), (LEFT,), ("post",)), Move(("top",), (DOWN,), ("post", "shelf"))]
    assert moved(joins, 100.0)["top"].tolist() == [0.0, 0.0, 100.0]


@pytest.mark.parametrize("kind", KINDS)
def test_all_stays_on_the_paper_and_words_off_each_other(kind: str) -> None:
    for drawing in pictures(kind).values():
        size = (drawing.wide, drawing.high)
        boxes = [lettering.box(mark) for mark in drawing.marks if isinstance(mark, Words)]
        for n, (left, top, right, bottom) in enumerate(boxes):
            assert left >= 0
            assert top >= 0
            assert right <= size[0]
            assert bottom <= size[1]
            for other in boxes[:n]:
                assert (
                    right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
                )
        for mark in drawing.marks:
            if isinstance(mark, Area):
                for ring in mark.rings:
                    assert ring.min() >= 0
                    assert np.all(ring <= size)


@pytest.mark.parametrize("kind", KINDS)
def test_every_way_of_a_move_has_an_arrow(kind: str) -> None:
    made = small(kind)
    for number, drawing in pictures(kind).items():
        arrows = [m for m in drawing.marks if isinstance(m, Area) and m.fill == PLUM]
        assert len(arrows) == sum(len(set(move.ways)) for move in made.steps[number - 1].joins)


def test_moves_have_the_letters_that_the_words_give_them() -> None:
    made = small("inches")
    number, step = next((n, s) for n, s in enumerate(made.steps, 1) if len(s.joins) > 1)
    told = [mark.text for mark in pictures("inches")[number].marks if isinstance(mark, Words)]
    given = telling.letters(len(step.joins))
    assert given == [letter(n) for n in range(len(step.joins))]
    assert set(given) <= set(told)
    assert all(f"{each}. " in "\n".join(telling.lines(number, step)) for each in given)


def test_the_boards_are_named() -> None:
    made = small("mitred")
    number = next(n for n, step in enumerate(made.steps, 1) if step.title == "Dry fit")
    told = {mark.text for mark in pictures("mitred")[number].marks if isinstance(mark, Words)}
    assert {"left", "right", "top", "bottom"} <= told


def test_the_same_step_gives_the_same_bytes() -> None:
    made = small("hexagon")
    number = min(pictures("hexagon"))
    again = step_picture(made, number)
    assert again is not None
    assert svg.encode(again) == svg.encode(pictures("hexagon")[number])
