"""Draws parameters over a family's whole space, by the bounds its own fields state."""

from __future__ import annotations

import math
from typing import Any, get_args, get_origin

from hypothesis import strategies as st
from pydantic.fields import FieldInfo

from fixtures.parts.family import Family
from fixtures.validation import choices

THICKNESS = st.floats(2.0, 60.0)
"""mm; what stock accepts."""


def _bound(field: FieldInfo, name: str) -> float | None:
    return next((getattr(m, name) for m in field.metadata if hasattr(m, name)), None)


def _numbers(field: FieldInfo) -> st.SearchStrategy[Any]:
    low, high = _bound(field, "ge"), _bound(field, "le")
    assert low is not None
    assert high is not None
    if int in (field.annotation, *get_args(field.annotation)):
        return st.integers(int(low), int(high))
    return st.floats(low, high)


def _field(name: str, field: FieldInfo) -> st.SearchStrategy[Any] | None:
    words = choices(field)
    if name == "fit":
        return st.none()  # clearance covers every fit and more
    if words:
        return st.sampled_from(words)
    if name in ("unmeasured", "sheet"):
        return None
    if field.annotation is bool:
        return st.booleans()
    if name == "pattern":
        place = st.tuples(st.floats(8.0, 150.0), st.floats(8.0, 150.0))
        return st.one_of(st.just(()), st.lists(place, min_size=1, max_size=4).map(tuple))
    if name == "angle":
        return st.just(90.0) | _numbers(field)  # most corners are square, three panels' always
    if get_origin(field.annotation) is tuple:
        return THICKNESS.map(lambda t: (t,))
    return _numbers(field)


def parameters(family: Family) -> st.SearchStrategy[dict[str, Any]]:
    """Values for every field of a family; cross-field rules are not minded."""
    drawn = {
        name: strategy
        for name, field in family.parameters.model_fields.items()
        if (strategy := _field(name, field)) is not None
    }
    return st.fixed_dictionaries(drawn)


def obeying(family: Family) -> st.SearchStrategy[dict[str, Any]]:
    """The same, kept to the documented rules between fields."""
    drawn = parameters(family)
    match family.name:
        case "corner-socket":
            return drawn.map(_a_corner)
        case "spacer-block":
            return drawn.map(_on_the_bed)
        case "drill-guide":
            return drawn.map(_a_guide)
        case "depth-sleeve":
            return drawn.map(_a_bit_long_enough)
        case "slot-comb":
            return drawn.map(_few_enough)
        case "fit-coupon":
            return drawn.map(_a_coupon)
        case "clamp-caul":
            return drawn.map(_worth_a_face)
        case "leg-socket":
            return drawn.map(_a_leg)
        case _:
            return drawn


def _a_corner(values: dict[str, Any]) -> dict[str, Any]:
    """Three panels at right angles, cup and block apart; what stays: room for screws and pins.

    At a mitre both panels are alike to 0.5 mm. Screws go in by 2 diameters and stop 2 mm short,
    of which #12 asks 13 mm; pins of 6 or 8 mm.
    """
    if values["panels"] == 3:
        values["angle"] = 90.0
        if values["piece"] == "both":
            values["piece"] = "cup"
    if values["stays"] and values["fastening"] != "glue":
        values["grip"], values["floor"] = max(values["grip"], 25.0), max(values["floor"], 5.0)
        least, most = (13.0, 60.0) if values["fastening"] == "screw" else (12.0, 24.0)
        for name in ("thickness", "thickness_b", "thickness_c"):
            values[name] = (min(max(values[name][0], least), most),)
    if values["joint"] == "mitre":
        values["thickness_b"] = values["thickness"]
    return values


def _on_the_bed(values: dict[str, Any]) -> dict[str, Any]:
    """A lip of 3 mm or more, where the spacer comes in one piece; 448 mm at most in two halves."""
    values["height"] = 12.0 + (values["height"] - 12.0) * 436.0 / 588.0
    if values["lip"] < 3.0 or values["height"] + values["lip"] > 230.0:
        values["lip"] = 0.0
    return values


def _a_guide(values: dict[str, Any]) -> dict[str, Any]:
    return _bores_apart(values) if values["on"] == "edge" else _on_a_face(values)


def _on_a_face(values: dict[str, Any]) -> dict[str, Any]:
    """3 bits of guide; bores a seat and a wall off both datums and each other; skin is left."""
    drill = min(values["drill"], values["guide"] / 3)
    values["drill"] = max(drill, 3.2) if values["bush"] == "inch" else drill
    # 19.05 across is the widest bush: half of it and 2.5 of wall, all of it and 3
    values["setback"] = max(values["setback"], 12.1)
    places = [(max(front, 12.1), max(end, 12.1)) for front, end in values["pattern"]]
    values["pattern"] = tuple(
        place
        for i, place in enumerate(places)
        if all(math.dist(place, other) >= 22.1 for other in places[:i])
    )
    values["pitch"] = max(values["pitch"], 22.1)
    room = 230.0 - 2 * values["first"]
    values["count"] = min(values["count"], 1 + int(room / values["pitch"]))
    if not values["through"]:
        values["thickness"] = (max(values["thickness"][0], values["face_depth"] + 5.6),)
    return values


def _a_bit_long_enough(values: dict[str, Any]) -> dict[str, Any]:
    """A bit that stands out by 6 to 80 mm more than point, guide and hole."""
    share = (values["stand_out"] - 15.0) / 235.0
    values["block"], values["depth"] = min(values["block"], 90.0), min(values["depth"], 70.0)
    values["stand_out"] = values["block"] + values["depth"] + 10.0 + 70.0 * share
    return values


def _bores_apart(values: dict[str, Any]) -> dict[str, Any]:
    """3 bits of guide, 2 bits of panel, bushes with a wall, chip ways apart; bit and bed reach.

    No pattern on an edge, and no bit thinner than 3 mm.
    """
    drill = max(3.0, min(values["drill"], values["guide"] / 3))
    values["drill"] = max(drill, 3.2) if values["bush"] == "inch" else drill
    values["pattern"] = ()
    least = 24.0 if values["bush"] != "none" else 2 * values["drill"]
    values["thickness"] = (max(values["thickness"][0], least),)
    values["pitch"] = max(values["pitch"], 26.0)
    room = 230.0 - 2 * (values["first"] + values["drill"] + 10.0)
    values["count"] = min(values["count"], 1 + int(room / values["pitch"]))
    deepest = max(values["depth"], values["fence"] + values["face_depth"])
    reach = values["guide"] + 5.0 + deepest + 0.3 * values["drill"]
    values["bit_length"] = max(values["bit_length"], reach)
    return values


def _few_enough(values: dict[str, Any]) -> dict[str, Any]:
    """As many slots as the bed takes."""
    widest = values["thickness"][0] + 2 * values["finish"] + 1.0
    most = 2 * int((230.0 - 6.0) / (6.0 + widest))
    values["steps"] = max(4, min(values["steps"], most))
    return values


def _a_coupon(values: dict[str, Any]) -> dict[str, Any]:
    """As many slots as the bed takes, an even number; inch bushes are made for 3.2 mm and more."""
    pitch = max(values["thickness"][0] + 1.1 + 4.5, 13.6)
    most = 2 * int((220.0 - 17.0) / pitch)
    values["slots"] = max(4, 2 * (min(values["slots"], most) // 2))
    values["thickness"] = (min(values["thickness"][0], 50.0),)
    return values


def _worth_a_face(values: dict[str, Any]) -> dict[str, Any]:
    """Bowed: a batten that bends 0.5 to 15 mm, and the first segment, which there always is.

    Pad: panels of 7 mm or more.
    """
    if values["form"] == "pad":
        values["thickness"] = (max(values["thickness"][0], 7.0),)
    if values["form"] == "bowed":
        share = ((values["span"] or 200.0) - 200.0) / 1300.0
        values["span"], values["load"], values["segment"] = 600.0 + 250.0 * share, 2.0, 1
        values["section_width"] = values["section_depth"] = 40.0
    return values


def _a_leg(values: dict[str, Any]) -> dict[str, Any]:
    """A leg of 12 mm or more, a socket 0.8 times as deep, 25° of lean in all; a flange for the
    head: the deepest, for #12, asks 7 mm. The leg comes out of its socket."""
    values["size"] = (max(12.0, values["size"][0] - 2 * values["finish"]),)
    leg = values["size"][0] + 2 * values["finish"]
    values["depth"] = max(values["depth"], 0.81 * leg)
    values["flange"] = max(values["flange"], 7.0)
    for name in ("rake", "splay"):
        values[name] *= 0.9
    values["length"] = max(values["length"], values["depth"] + 90.0)
    return values
