"""Draws parameters over a family's whole space, by the bounds its own fields state."""

from __future__ import annotations

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
    if field.annotation is bool or name == "sheet":
        return None
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
            return drawn.map(_like_at_a_mitre)
        case "spacer-block":
            return drawn.map(_on_the_bed)
        case "drill-guide":
            return drawn.map(_bores_apart)
        case "slot-comb":
            return drawn.map(_few_enough)
        case "clamp-caul":
            return drawn.map(_worth_a_face)
        case _:
            return drawn


def _like_at_a_mitre(values: dict[str, Any]) -> dict[str, Any]:
    """At a mitre both panels are alike to 0.5 mm."""
    if values["joint"] == "mitre":
        values["thickness_b"] = values["thickness"]
    return values


def _on_the_bed(values: dict[str, Any]) -> dict[str, Any]:
    """A lip of 3 mm or more, where the spacer comes in one piece; 448 mm at most in two halves."""
    values["height"] = 12.0 + (values["height"] - 12.0) * 436.0 / 588.0
    if values["lip"] < 3.0 or values["height"] + values["lip"] > 230.0:
        values["lip"] = 0.0
    return values


def _bores_apart(values: dict[str, Any]) -> dict[str, Any]:
    """3 bits of guide, 2 bits of panel, bushes with a wall, chip ways apart; bit and bed reach."""
    drill = min(values["drill"], values["guide"] / 3)
    values["drill"] = max(drill, 3.2) if values["bush"] == "inch" else drill
    least = 24.0 if values["bush"] != "none" else 2 * values["drill"]
    values["thickness"] = (max(values["thickness"][0], least),)
    values["pitch"] = max(values["pitch"], 26.0)
    room = 230.0 - 2 * (values["first"] + values["drill"] + 6.0)
    values["count"] = min(values["count"], 1 + int(room / values["pitch"]))
    deepest = max(values["depth"], values["fence"] + values["face_depth"])
    values["bit_length"] = max(values["bit_length"], values["guide"] + 5.0 + deepest)
    return values


def _few_enough(values: dict[str, Any]) -> dict[str, Any]:
    """As many slots as the bed takes."""
    widest = values["thickness"][0] + 2 * values["finish"] + 1.0
    most = 2 * int((230.0 - 6.0) / (6.0 + widest))
    values["steps"] = max(4, min(values["steps"], most))
    return values


def _worth_a_face(values: dict[str, Any]) -> dict[str, Any]:
    """Bowed: a batten that bends 0.5 to 15 mm, and the first segment, which there always is."""
    if values["form"] == "bowed":
        share = ((values["span"] or 200.0) - 200.0) / 1300.0
        values["span"], values["load"], values["segment"] = 600.0 + 250.0 * share, 2.0, 1
        values["section_width"] = values["section_depth"] = 40.0
    return values
