"""Kits whose shop sheets are tested: small pieces of every kind, in mm and in inches, measured, in
copies, on legs; and the examples."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from fixtures.kit import Kit, kit
from fixtures.piece.piece import parse
from tests.piece.making import NAME, Tables, case, polygon, read, shelf, stock, tables

BITS = [{"diameter": "8 mm", "stands_out": "95 mm"}]
EXAMPLES = tuple(sorted((Path(__file__).parents[2] / "examples").glob("*.toml")))


def _told(kind: str) -> Tables:
    measured: Tables = {}
    fixing = "through-dowel"
    match kind:
        case "mitred":
            more: Tables = {"back": {"stock": "back", "fit": "groove"}}
            shelves = [shelf("a", 110.0, fixing="dowel"), shelf("b", 230.0, fixing="pin")]
        case "inches":
            more = {"corner": "top-runs", "fixing": "screw"}
            more["back"] = {"stock": "back", "fit": "overlay"}
            shelves = [shelf("a", 150.0, fixing=fixing)]
        case "measured":
            more = {"back": {"stock": "back", "fit": "inset"}}
            shelves = [shelf("a", 150.0, fixing="dowel")]
            measured = {"inner_width": ["384.6 mm", "384.2 mm"]}
        case "copies":
            more = {"corner": "sides-run", "fixing": "dowel"}
            shelves = []
        case _:
            return tables(thick=12.0, polygon=polygon(6, 220.0, 180.0, fixing="glue"))
    told = tables(
        thick=18.0,
        stocks={"back": stock(6.0)},
        case=case(420.0, 360.0, 240.0, **more),
        bit=BITS,
        piece={"name": kind, "units": "in" if kind == "inches" else "mm"},
    )
    told |= {"shelf": shelves} if shelves else {}
    told |= {"as_built": measured} if measured else {}
    if kind == "copies":
        told["piece"] |= {"copies": 5, "stations": 2, "clamp_time": "45 min"}
    if kind == "mitred":
        sizes = {"length": "150 mm", "inset": "62 mm", "size": "28 mm"}
        told["legs"] = {**sizes, "rake": "8 deg", "splay": "8 deg"}
    return told


KINDS = ("mitred", "inches", "measured", "copies", "hexagon")


@cache
def small(kind: str) -> Kit:
    """A small piece of a kind."""
    return kit(read(_told(kind)), NAME)


@cache
def example(path: Path) -> Kit:
    """The kit of an example."""
    return kit(parse(path.read_text(encoding="utf-8"), path.name), path.name)
