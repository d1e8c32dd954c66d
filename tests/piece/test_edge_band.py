"""Banded front edges: what is cut is less by the band, what is drilled and shown is finished."""

from __future__ import annotations

import pytest

from fixtures.errors import InputError
from fixtures.piece.drilling import holes
from fixtures.piece.joining import joints
from fixtures.piece.panels import Panels, panels
from fixtures.printer import Printer
from tests.piece.making import NAME, Tables, case, read, shelf, stock, tables


def told(**more: str) -> Tables:
    return tables(
        stocks={"case": stock(18.0, **more), "plain": stock(18.0), "back": stock(6.0)},
        case=case(600.0, 400.0, 250.0, back={"stock": "back", "fit": "inset"}),
        divider=[{"name": "a", "at": "250 mm", "stock": "case"}],
        shelf=[
            shelf("s", 120.0, between=["left", "a"], setback="10 mm"),
            shelf("p", 220.0, between=["a", "right"], stock="plain"),
        ],
        top={"stock": "case", "overhang": {"front": "20 mm"}},
        plinth={"height": "80 mm", "stock": "case"},
    )


def made(piece: Tables) -> Panels:
    return panels(read(piece), NAME)


def test_a_banded_board_is_cut_narrower_by_its_band_and_no_other_size_changes() -> None:
    plain, banded = made(told()), made(told(edge_band="1.5 mm"))
    for one, other in zip(plain.boards, banded.boards, strict=True):
        bare = one.name in ("back", "shelf p") or one.name.startswith("plinth")
        assert other.cut_width == pytest.approx(one.width - (0.0 if bare else 1.5))
        assert (other.width, other.shape, other.outer_length) == (
            one.width,
            one.shape,
            one.outer_length,
        )


def test_holes_stay_where_they_are_from_the_finished_front() -> None:
    found = []
    for piece in (read(told()), read(told(edge_band="1.5 mm"))):
        of = panels(piece, NAME)
        drilled = holes(joints(of, piece, Printer(), ()), ())
        found.append([(hole.board, hole.at, hole.from_front) for hole in drilled])
    assert found[0] == found[1]


def test_the_kit_says_to_band_before_it_is_drilled_and_which_boards() -> None:
    assert not [f for f in made(told()).findings if f.check == "edge-band"]
    (note,) = (f for f in made(told(edge_band="1.5 mm")).findings if f.check == "edge-band")
    for name in ("bottom", "left", "divider a", "shelf s", "top board"):
        assert name in note.message
    for name in ("back", "shelf p", "plinth"):
        assert name not in note.message
    assert "before they are drilled" in note.remedy


def test_a_band_that_no_edge_takes_is_told() -> None:
    piece = told()
    piece["stock"]["back"] = stock(6.0, edge_band="1 mm")
    (note,) = (f for f in made(piece).findings if f.check == "edge-band")
    assert note.feature == "back"


@pytest.mark.parametrize("band", ["-1 mm", "11 mm"])
def test_a_band_that_is_none_is_refused(band: str) -> None:
    with pytest.raises(InputError):
        read(told(edge_band=band))


def test_finish_is_counted_on_each_face_and_the_band_is_not() -> None:
    piece = told(edge_band="1 mm", finish="0.1 mm")
    for board in made(piece).boards:
        if board.stock.name == "case":
            assert board.thickness == pytest.approx(18.2)
