"""What a piece file gives, key by key, in words."""

from __future__ import annotations

from fixtures.piece.given import given
from tests.piece.making import case, read, shelf, stock, tables


def test_every_value_is_told_with_its_unit_and_defaults_are_not() -> None:
    piece = tables(
        thick=18.0,
        stocks={"back": stock(6.4, 6.5)},
        case=case(600.0, 500.0, 300.0, stocks={"top": "back"}, dowel={"count": 3}),
        shelf=[shelf("a", 100.0), shelf("b", 200.0, above="a")],
        legs={"size": "28 mm", "length": "150 mm", "inset": "60 mm", "rake": "8 deg"},
        as_built={"inner_width": ["563.5 mm", "564 mm"], "underside": {"a": ["99.5 mm"]}},
    )
    told = given(read(piece))
    assert told["format"] == "1"
    assert told["case.width"] == "600 mm"
    assert told["case.stocks.top"] == "back"
    assert told["case.dowel.count"] == "3"
    assert told["stock.back.readings"] == "6.4 mm, 6.5 mm"
    assert told["shelf a.height"] == "100 mm"
    assert told["shelf b.above"] == "a"
    assert told["legs.rake"] == "8 deg"
    assert told["as_built.inner_width"] == "563.5 mm, 564 mm"
    assert told["as_built.underside.a"] == "99.5 mm"
    assert not any(key.startswith(("case.corner", "saw", "goal", "piece")) for key in told)


def test_lengths_are_told_in_the_units_of_the_piece() -> None:
    piece = tables(piece={"units": "in"}, case=case(609.6, 500.0, 300.0))
    assert given(read(piece))["case.width"] == "24 in"


def test_a_shelf_goes_by_its_name_and_others_by_their_number() -> None:
    told = given(read(tables(case=case(), bit=[{"diameter": "8 mm", "stands_out": "90 mm"}])))
    assert told["bit 1.diameter"] == "8 mm"
