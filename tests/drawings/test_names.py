"""Where names stand: on their own, else beside it with a leader; never on each other."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.drawings import lettering
from fixtures.drawings.bodies import Window, axes
from fixtures.drawings.marks import Disc, Lines, Words
from fixtures.drawings.names import Cells, placed

WINDOW = Window(0.0, 0.0, 100.0, 70.0, axes(0.0, 0.0), (0.0, 0.0), 1.0)


def cells() -> Cells:
    whose = np.full((70, 100), -1, dtype=np.int32)
    return Cells(np.zeros((70, 100), dtype=bool), np.zeros((70, 100), dtype=bool), whose, WINDOW)


def words(marks: tuple[object, ...]) -> list[Words]:
    return [mark for mark in marks if isinstance(mark, Words)]


def test_a_name_with_room_on_its_own_has_no_leader() -> None:
    there = cells()
    there.whose[10:60, 10:90] = 0
    marks, lost = placed(there, [("side", 0)], (), (50.0, 35.0))
    left, top, right, bottom = lettering.box(words(marks)[0])
    assert left >= 10
    assert right <= 90
    assert top >= 10
    assert bottom <= 60
    assert not any(isinstance(mark, Lines) for mark in marks)
    assert lost == ()


def test_a_name_too_wide_for_its_own_stands_beside_it_with_a_leader_into_it() -> None:
    there = cells()
    there.whose[10:60, 40:46] = 0
    marks, _ = placed(there, [("a long name", 0)], (), (43.0, 35.0))
    (x, y) = next(mark.at for mark in marks if isinstance(mark, Disc))
    assert there.whose[int(y), int(x)] == 0
    left, _, right, _ = lettering.box(words(marks)[0])
    assert right < 40 or left > 46


def test_a_name_does_not_stand_on_lines() -> None:
    there = cells()
    there.whose[:, :] = 0
    there.ink[:, ::7] = True  # no room between them
    marks, _ = placed(there, [("name", 0)], (), (50.0, 35.0))
    assert len(words(marks)) == 1
    assert len(marks) > 1  # on a plate of paper, with a leader


def test_names_keep_off_each_other_and_off_what_is_taken() -> None:
    there = cells()
    there.whose[:, :50], there.whose[:, 50:] = 0, 1
    taken = [(0.0, 0.0, 100.0, 30.0)]
    marks, lost = placed(there, [("one", 0), ("two", 1), ("three", 0)], taken, (50.0, 35.0))
    assert lost == ()
    boxes = [lettering.box(each) for each in words(marks)]
    assert len(boxes) == 3
    for n, (left, top, right, bottom) in enumerate(boxes):
        assert top >= 30.0
        for other in boxes[:n]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top


def test_a_leader_crosses_nothing_full() -> None:
    there = cells()
    there.whose[10:60, 10:14] = 0
    there.full[:, 14:20] = True
    there.whose[:, 14:20] = 1
    marks, _ = placed(there, [("behind the wall", 0)], (), (50.0, 35.0))
    for mark in marks:
        if isinstance(mark, Lines):
            (x0, y0), (x1, y1) = mark.ends[0]
            part = np.linspace(0.0, 1.0, 200)
            x, y = x0 + part * (x1 - x0), y0 + part * (y1 - y0)
            assert not there.full[y.astype(int), x.astype(int)].any()


@pytest.mark.parametrize("rows", [0, 2])
def test_what_is_hardly_seen_has_no_name(rows: int) -> None:
    there = cells()
    there.whose[:rows, :4] = 0
    assert placed(there, [("sliver", 0)], (), (50.0, 35.0)) == ((), ())


def test_a_name_that_finds_no_room_is_told() -> None:
    there = cells()
    there.whose[:, :] = 0
    assert placed(there, [("x" * 60, 0)], (), (50.0, 35.0))[1] == ("x" * 60,)
