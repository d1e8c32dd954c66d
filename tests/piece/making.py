"""Piece files for tests: as tables from keywords, as text, and drawn at random.

A draw is a function of its seed alone and is never thrown away: what cannot be built is drawn too.
"""

from __future__ import annotations

import json
import random
from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from fixtures.piece.piece import parse
from fixtures.piece.tables import PieceFile

Tables: TypeAlias = dict[str, Any]
NAME = "p.toml"


def mm(size: float) -> str:
    return f"{round(size, 3):.10g} mm"


def stock(*readings: float, **more: Any) -> Tables:
    return {"readings": [mm(reading) for reading in readings], **more}


def case(width: float = 620.0, height: float = 480.0, depth: float = 300.0, **more: Any) -> Tables:
    sizes = {"width": mm(width), "height": mm(height), "depth": mm(depth)}
    return {**sizes, "stock": "case", **more}


def polygon(sides: int, length: float, depth: float = 200.0, **more: Any) -> Tables:
    return {"sides": sides, "length": mm(length), "depth": mm(depth), "stock": "case", **more}


def shelf(name: str, height: float, **more: Any) -> Tables:
    return {"name": name, "height": mm(height), "stock": "case", **more}


def tables(
    *, thick: float = 19.1, stocks: Mapping[str, Tables] | None = None, **more: Any
) -> Tables:
    """A piece file's tables: one stock called case, and what else is given."""
    known = {"case": stock(thick), **(stocks or {})}
    return {"format": 1, "stock": known, **more}


def toml(told: Mapping[str, Any]) -> str:
    """Tables as TOML text; below the top level every value is written in line."""
    top = [(key, value) for key, value in told.items() if not _nested(value)]
    lines = [f"{key} = {_inline(value)}" for key, value in top]
    for key, value in told.items():
        if not _nested(value):
            continue
        for table in value if isinstance(value, list) else [value]:
            lines.append(f"[[{key}]]" if isinstance(value, list) else f"[{key}]")
            lines += [f"{_key(inner)} = {_inline(item)}" for inner, item in table.items()]
    return "\n".join(lines) + "\n"


def read(told: Mapping[str, Any]) -> PieceFile:
    """The tables as the tool reads them from a file."""
    return parse(toml(told), NAME)


def _nested(value: Any) -> bool:
    return isinstance(value, Mapping) or (
        isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)
    )


def _key(name: str) -> str:
    return name if name.replace("_", "").replace("-", "").isalnum() else json.dumps(name)


def _inline(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_inline(v)}" for k, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_inline(item) for item in value) + "]"
    return json.dumps(value)


# --- drawn at random ------------------------------------------------------------------------

SHEETS = (3.0, 4.0, 6.0, 9.0, 12.0, 15.0, 16.0, 18.0, 19.0, 22.0, 25.0, 28.0, 30.0, 38.0)
"""mm; sheet goods that are sold."""
CORNERS = ("mitre", "sides-run", "top-runs")
FITS = ("inset", "groove", "overlay")
FIXINGS = ("dowel", "through-dowel", "bracket", "pin")


def draw(seed: int) -> Tables:
    """A piece of 3 to 30 panels. One in four is wild: anything the tables let pass goes."""
    luck = random.Random(seed)
    wild = luck.random() < 0.25
    known = {name: _stock(luck, wild) for name in ("case", "other", "back", "shelf")}
    told: Tables = {
        "format": 1,
        "piece": {"name": f"draw {seed}", "units": luck.choice(["mm", "mm", "in"])},
        "stock": known,
    }
    if luck.random() < 0.25:
        told["polygon"] = _polygon(luck, wild)
        if wild and luck.random() < 0.1:
            told["shelf"] = [shelf("none", 100.0)]
    else:
        panels = luck.choice([luck.randint(4, 9), luck.randint(4, 9), luck.randint(4, 30)])
        backed = panels > 4 and luck.random() < 0.6
        shelves = panels - 4 - backed
        told["case"] = _case(luck, wild, shelves)
        if backed:
            told["case"]["back"] = _back(luck, wild)
        if shelves:
            told["shelf"] = _shelves(luck, wild, shelves, told["case"])
    told["bit"] = [_bit(luck, wild) for _ in range(luck.randint(0, 2))]
    told["fixtures"] = [_wish(luck) for _ in range(luck.choice([0, 0, 0, 1, 2]))]
    if luck.random() < 0.4:
        told["printer"] = _printer(luck, wild)
    if "case" in told and luck.random() < 0.2:
        told["as_built"] = _as_built(luck, wild, told)
    _divided(luck, wild, told)
    if luck.random() < 0.2 and ("case" in told or wild):
        told["legs"] = _legs(luck, wild)
        if not wild:
            told.pop("plinth", None)
    return {key: value for key, value in told.items() if value != []}


def _as_built(luck: random.Random, wild: bool, told: Tables) -> Tables:
    """What the half-built case measures: about what is computed, or in wild ones anything."""
    case, off = told["case"], luck.uniform(0.0, 60.0) if wild else 1.0

    def size(text: str) -> float:
        return float(text.split()[0])

    def thick(side: str) -> float:
        table = told["stock"][case.get("stocks", {}).get(side, case["stock"])]
        sheets = table.get("readings") or [r for s in table["sheet"] for r in s["readings"]]
        return max(size(reading) for reading in sheets) + 2 * size(table.get("finish", "0 mm"))

    def around(middle: float, count: int) -> list[str]:
        return [mm(max(1.0, middle + luck.uniform(-off, off))) for _ in range(count)]

    wide = size(case["width"]) - thick("left") - thick("right")
    tall = size(case["height"]) - thick("bottom") - thick("top")
    found: Tables = {"inner_width": around(wide, luck.randint(1, 3))}
    if luck.random() < 0.4:
        found["inner_height"] = around(tall, luck.randint(1, 2))
    if luck.random() < 0.3:
        found["diagonals"] = around((wide**2 + tall**2) ** 0.5 if tall > 0 else 100.0, 2)
    if luck.random() < 0.3:
        found["thickness"] = {"left": [mm(thick("left") + luck.uniform(-0.2, 0.2))]}
    set_by_now = [table for table in told.get("shelf", []) if table["fixing"] != "pin" or wild]
    if set_by_now and luck.random() < 0.4:
        table = luck.choice(set_by_now)
        found["underside"] = {table["name"]: around(size(table["height"]), luck.randint(1, 2))}
    return found


def _stock(luck: random.Random, wild: bool) -> Tables:
    usual = luck.choice(SHEETS[4:])
    nominal = luck.choice([usual, usual, luck.choice(SHEETS), luck.uniform(3.0, 38.0)])
    if not wild and luck.random() < 0.7:
        nominal = usual
    spread = luck.choice([0.0, 0.1, 0.2, 0.6 if wild else 0.3])
    sizes = [nominal + luck.uniform(-spread, spread) for _ in range(luck.randint(1, 5))]
    told: Tables = {"readings": [mm(size) for size in sizes]}
    if luck.random() < 0.5:
        told |= {"nominal": mm(nominal), "material": luck.choice(["MDF", "birch plywood"])}
    if luck.random() < 0.2:
        told["finish"] = mm(luck.choice([0.05, 0.1, 0.2]))
    if luck.random() < 0.15:
        half = max(1, len(sizes) // 2)
        parts = [sizes[:half], sizes[half:] or sizes[:1]]
        told.pop("readings")
        told["sheet"] = [
            {"id": letter, "readings": [mm(size) for size in part]}
            for letter, part in zip("AB", parts, strict=True)
        ]
    return told


def _polygon(luck: random.Random, wild: bool) -> Tables:
    length = luck.uniform(60.0, 1500.0) if wild else luck.uniform(140.0, 700.0)
    depth = luck.uniform(40.0, 1200.0) if wild else luck.uniform(60.0, 500.0)
    told = polygon(luck.randint(3, 12), length, depth)
    told["stock"] = luck.choice(["case", "other"])
    if luck.random() < 0.5:
        told["fixing"] = luck.choice(["spline", "glue"])
    return told


def _case(luck: random.Random, wild: bool, shelves: int) -> Tables:
    if wild:
        told = case(luck.uniform(60, 3000), luck.uniform(60, 3000), luck.uniform(40, 1200))
    else:
        tall = luck.uniform(220.0, 900.0) + shelves * luck.uniform(60.0, 120.0)
        told = case(luck.uniform(220.0, 1200.0), min(3000.0, tall), luck.uniform(90.0, 600.0))
    told["corner"] = corner = luck.choice(CORNERS)
    if luck.random() < 0.7:
        fitting = ["spline", "glue"] if corner == "mitre" else ["dowel", "screw", "glue"]
        told["fixing"] = luck.choice(["spline", "dowel", "screw", "glue"] if wild else fitting)
    if luck.random() < (0.3 if wild or corner != "mitre" else 0.05):
        side = luck.choice(["left", "right", "top", "bottom"])
        told["stocks"] = {side: luck.choice(["other", "shelf", "back"])}
    fixing = told.get("fixing", "spline" if corner == "mitre" else "dowel")
    if luck.random() < (0.3 if wild or fixing == "dowel" else 0.02):
        told["dowel"] = _dowel(luck, wild)
    if luck.random() < (0.2 if wild or fixing == "screw" else 0.02):
        told["screw"] = {
            "pilot": mm(luck.uniform(2.0, 12.0 if wild else 4.0)),
            "count": luck.randint(1, 20 if wild else 4),
        }
    return told


def _back(luck: random.Random, wild: bool) -> Tables:
    told: Tables = {"stock": luck.choice(["back", "back", "other"]), "fit": luck.choice(FITS)}
    if luck.random() < (0.3 if told["fit"] == "groove" else 0.02):
        told["groove_width"] = mm(luck.uniform(2.0, 60.0) if wild else luck.uniform(4.0, 20.0))
    if luck.random() < (0.3 if told["fit"] == "groove" else 0.02):
        told["groove_depth"] = mm(luck.uniform(2.0, 30.0) if wild else luck.uniform(3.0, 8.0))
    if luck.random() < (0.3 if told["fit"] == "groove" else 0.02):
        told["groove_land"] = mm(luck.uniform(3.0, 200.0) if wild else luck.uniform(6.0, 40.0))
    return told


def _shelves(luck: random.Random, wild: bool, count: int, case: Mapping[str, Any]) -> list[Tables]:
    tall, deep = (float(case[key].split()[0]) for key in ("height", "depth"))
    room = max(1.0, tall - 60.0)
    usual = luck.choice(FIXINGS)
    stacked = luck.random() < 0.5
    found = []
    for i in range(count):
        share = (i + luck.uniform(0.6, 1.0)) / (count + 1)
        told: Tables = {"name": f"s{i + 1}"}
        if wild and luck.random() < 0.3:
            told["height"] = mm(luck.uniform(0.0, tall))
        elif stacked and i:
            told |= {"height": mm(room / (count + 1) * luck.uniform(0.3, 0.8)), "above": f"s{i}"}
        else:
            told["height"] = mm(room * share)
        if wild and luck.random() < 0.05:
            told["above"] = f"s{luck.randint(1, count)}"
        told["stock"] = luck.choice(["case", "case", "shelf"])
        if luck.random() < 0.4:
            told["setback"] = mm(luck.uniform(0.0, deep if wild else min(30.0, deep / 4)))
        told["fixing"] = usual if luck.random() < 0.7 else luck.choice(FIXINGS)
        if luck.random() < 0.25:
            told["dowel"] = _dowel(luck, wild)
        if luck.random() < 0.25:
            told["bracket"] = {
                "holes": [mm(8.0 + 15.0 * k) for k in range(luck.randint(1, 4))],
                "depth": mm(luck.uniform(4.0, 40.0 if wild else 12.0)),
                "from_edge": mm(luck.uniform(15.0, 300.0 if wild else 60.0)),
            }
        if luck.random() < 0.25:
            told["pin"] = {
                "diameter": mm(luck.choice([5.0, 6.0, 6.35, 7.0])),
                "count": luck.randint(1, 12 if wild else 5),
                "depth": mm(luck.uniform(5.0, 20.0 if wild else 12.0)),
            }
        found.append(told)
    luck.shuffle(found)
    return found


def _divided(luck: random.Random, wild: bool, told: Tables) -> None:
    """Dividers, a top, a base, a plinth and banded edges, where the piece is a case."""
    if "case" not in told:
        if wild and luck.random() < 0.1:
            told["top"] = {"stock": "case"}
        return
    width = float(told["case"]["width"].split()[0])
    if luck.random() < 0.4:
        told["divider"] = _dividers(luck, wild, width)
        names = ["left", *(one["name"] for one in told["divider"]), "right"]
        if wild:
            luck.shuffle(names)
        for one in told.get("shelf", []):
            at = luck.randrange(len(names) - 1)
            one["between"] = names[at : at + 2]
            if wild:
                continue
            late = any("fixing" in divider for divider in told["divider"])
            if one["fixing"] == "through-dowel" or (late and one["fixing"] == "dowel"):
                one["fixing"] = "bracket"
            if "setback" not in one or luck.random() < 0.9:
                one["setback"] = "3 mm"
    for name in ("top", "base"):
        if luck.random() < 0.25:
            told[name] = _outer(luck, wild)
    if luck.random() < 0.25:
        told["plinth"] = _plinth(luck, wild)
    if luck.random() < 0.2:
        told["stock"]["case"]["edge_band"] = mm(luck.choice([0.5, 1.0, 3.0]))


def _dividers(luck: random.Random, wild: bool, width: float) -> list[Tables]:
    count = luck.randint(1, 3) if wild else max(1, min(luck.randint(1, 3), int(width / 150) - 1))
    made = []
    for i in range(count):
        share = (width - 100.0) / (count + 1) * luck.uniform(0.7, 1.05) - 20.0
        one: Tables = {"name": f"d{i + 1}", "at": mm(max(1.0, share))}
        if i:
            one["right_of"] = f"d{i}" if not wild else f"d{luck.randint(1, 4)}"
        one["stock"] = luck.choice(["case", "case", "other"])
        if luck.random() < 0.3:
            one["setback"] = mm(luck.uniform(0.0, 60.0 if wild else 2.0))
        if luck.random() < 0.3:
            one["fixing"] = "through-dowel"
        made.append(one)
    return made


def _outer(luck: random.Random, wild: bool) -> Tables:
    most = 300.0 if wild else 40.0
    sides = ("front", "rear", "left", "right")
    told: Tables = {"stock": luck.choice(["case", "other"])}
    told["overhang"] = {side: mm(luck.uniform(0.0, most)) for side in sides if luck.random() < 0.6}
    if luck.random() < 0.3:
        told["fixing"] = "dowel"
    return told


def _plinth(luck: random.Random, wild: bool) -> Tables:
    told: Tables = {"height": mm(luck.uniform(30.0, 400.0) if wild else luck.uniform(60.0, 150.0))}
    told["stock"] = luck.choice(["case", "other"])
    if luck.random() < 0.5:
        told["setback"] = mm(luck.uniform(0.0, 300.0 if wild else 60.0))
    if luck.random() < 0.3:
        told["sides"] = mm(luck.uniform(0.0, 200.0 if wild else 40.0))
    if wild and luck.random() < 0.3:
        told["rear"] = mm(luck.uniform(0.0, 100.0))
    told["corner"] = corner = luck.choice(["mitre", "butt"])
    if luck.random() < 0.6:
        told["fixing"] = luck.choice(["spline", "glue"] if corner == "mitre" else
                                     ["dowel", "screw", "glue"])  # fmt: skip
    return told


def _legs(luck: random.Random, wild: bool) -> Tables:
    size = luck.choice([20.0, 25.0, 28.0, 32.0, 40.0])
    lean = 20.0 if wild else 15.0
    return {
        "section": luck.choice(["round", "square"]),
        "size": mm(size),
        "readings": [mm(size + luck.uniform(-0.2, 0.2)) for _ in range(luck.randint(1, 4))],
        "length": mm(luck.uniform(30.0, 700.0) if wild else luck.uniform(100.0, 300.0)),
        "rake": f"{luck.choice([0.0, luck.uniform(0.0, lean)]):.3f} deg",
        "splay": f"{luck.choice([0.0, luck.uniform(0.0, lean)]):.3f} deg",
        "inset": mm(luck.uniform(20.0, 200.0) if wild else luck.uniform(45.0, 80.0)),
        "base": luck.choice(["round", "square"]),
        "screw": luck.choice(["#6", "#8", "3.5 mm"]),
        "head": luck.choice(["flat", "flat", "pan"]),
    }


def _dowel(luck: random.Random, wild: bool) -> Tables:
    told: Tables = {}
    if luck.random() < (0.6 if wild else 0.3):
        told["diameter"] = mm(luck.uniform(3.0, 12.0) if wild else luck.choice([6.0, 6.35, 8.0]))
    if luck.random() < 0.5:
        told["length"] = mm(luck.uniform(19.0, 120.0) if wild else luck.choice([30.0, 40.0, 50.0]))
    if luck.random() < (0.5 if wild else 0.2):
        told["count"] = luck.randint(1, 20) if wild else luck.randint(3, 5)
    return told


def _bit(luck: random.Random, wild: bool) -> Tables:
    size = luck.uniform(2.0, 12.0) if wild else luck.choice([3.0, 5.0, 6.0, 8.0, 10.0])
    return {
        "diameter": mm(size),
        "stands_out": mm(luck.uniform(20.0, 300.0) if wild else luck.uniform(75.0, 140.0)),
        "point": luck.choice(["118 deg", "brad"]),
    }


WISHES: Sequence[Tables] = (
    {"family": "spacer-block", "make_from": "offcut"},
    {"family": "spacer-block", "parameters": {"lip": "8 mm"}},
    {"family": "corner-socket", "parameters": {"arm": "80 mm"}},
    {"family": "corner-socket", "parameters": {"clearance": "0.3 mm", "wall": "7 mm"}},
    {"family": "corner-socket", "parameters": {"grip": "45 mm"}},
    {"family": "corner-socket", "use": False},
    {"family": "drill-guide", "parameters": {"guide": "35 mm"}},
    {"family": "drill-guide", "parameters": {"bush": "metric"}},
    {"family": "clamp-caul", "parameters": {"strap": "35 mm"}},
    {"family": "clamp-caul", "parameters": {"leg": "70 mm", "bend": "18 mm"}},
    {"family": "clamp-caul", "use": False},
)


def _wish(luck: random.Random) -> Tables:
    return dict(luck.choice(WISHES))


def _printer(luck: random.Random, wild: bool) -> Tables:
    nozzle = luck.choice([0.4, 0.6, 0.25, 0.8])
    told: Tables = {"nozzle": mm(nozzle), "layer": mm(nozzle * luck.uniform(0.3, 0.75))}
    if luck.random() < 0.7:
        low = 50.0 if wild else 150.0
        told["bed"] = [mm(luck.uniform(low, 420.0)) for _ in range(3)]
    told["material"] = luck.choice(["PLA", "PETG", "ASA", "TPU"])
    return told
