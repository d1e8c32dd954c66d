"""Splines beside a back in its groove: sizes by hand from 18 mm boards, and an error planted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures.assembly import Corner
from fixtures.in_place import splines_clear
from fixtures.piece.corners import corners_of
from fixtures.piece.hardware import hardware
from fixtures.piece.panels import Panels, panels
from fixtures.piece.tables import PieceFile
from tests.piece.making import NAME, Tables, case, polygon, read, stock, tables


def made(told: Tables) -> tuple[PieceFile, Panels, tuple[Corner, ...]]:
    piece = read(told)
    boards = panels(piece, NAME)
    return piece, boards, corners_of(boards, piece)


def grooved(deep: str = "6 mm") -> Tables:
    told = tables(thick=18.0, stocks={"back": stock(6.5)}, case=case(600.0, 500.0, 320.0))
    told["case"]["back"] = {"stock": "back", "fit": "groove", "groove_depth": deep}
    return told


# the slot's middle lies a quarter of 25.456 mm from the inner arris, its near side 1.6 mm before
# that, at 4.764 mm; a groove of depth d reaches d / cos 45: so one of 3.36 mm goes, 3.38 mm not.
# The groove begins 320 - 10 - 6.7 mm from the front, and the spline ends 3 mm before it.
@pytest.mark.parametrize(("deep", "long"), [("3.36 mm", 320.0), ("3.38 mm", 300.3)])
def test_a_spline_ends_before_a_groove_whose_back_would_reach_it(deep: str, long: float) -> None:
    piece, boards, corners = made(grooved(deep))
    assert [corner.spline and corner.spline.length for corner in corners] == [
        pytest.approx(long)
    ] * 4
    assert all(check.holds for check in splines_clear(corners, boards.boards))
    (line,) = hardware(piece, corners, ())
    told = {320.0: "4 × spline strips as long as the joints, 320 mm",
            300.3: "4 × spline strips 300.3 mm long, to end before the back's groove"}  # fmt: skip
    assert line == told[long]


def test_a_spline_as_long_as_its_joint_in_the_way_of_the_back_is_caught() -> None:
    _, boards, corners = made(grooved())
    planted = []
    for corner in corners:
        assert corner.spline
        body = tuple((x, 320.0 if y > 1.0 else y, z) for x, y, z in corner.spline.body)
        planted.append(replace(corner, spline=replace(corner.spline, body=body)))
    (check,) = splines_clear(planted, boards.boards)
    assert not check.holds
    assert "runs into back" in check.message
    # the wedge of the back's corner past the slot's near side, 6 - 0.5 mm deep: it reaches
    # 5.5 / cos 45 = 7.778, that is 3.014 mm into 3.2, a triangle 3.014 high and twice as wide
    assert check.measured == pytest.approx(3.014**2 * 6.5, rel=0.01)


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8])
def test_a_spline_lies_across_its_mitre_half_in_either_board(sides: int) -> None:
    _, _, corners = made(tables(thick=18.0, polygon=polygon(sides, 400.0)))
    for corner in corners:
        assert corner.spline
        points = np.array(corner.spline.body)
        away = points - np.array(corner.ends[0].at)
        # as far along one board as along the other, from the tip where the outsides meet
        along = [away @ np.array(way) for way in corner.ways]
        assert along[0].mean() == pytest.approx(along[1].mean())
        assert not splines_clear([replace(corner, spline=None)], ())


def test_a_corner_without_a_spline_has_none_and_nothing_is_checked() -> None:
    _, boards, corners = made(tables(thick=18.0, case=case(corner="sides-run")))
    assert all(corner.spline is None for corner in corners)
    assert splines_clear(corners, boards.boards) == []
