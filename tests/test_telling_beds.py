"""How bed loads are told, on a terminal and in the document."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np

from fixtures.beds import lay
from fixtures.telling import beds
from tests.bed_parts import bar

BED = (240.0, 200.0, 230.0)
LAID = lay(
    [
        replace(bar("bar", 230, 60, quantity=4), time=(3600.0, 5400.0), mass=20.0, filament=6.7),
        bar("beam", 320, 10),
    ],
    BED,
)


def test_each_load_tells_its_parts_hours_grams_and_filament() -> None:
    told = beds.lines(LAID)
    assert told[0] == "  bed 1: 3 × bar; 3 h 00 min to 4 h 30 min, 60 g, 20 m of filament."
    assert told[1] == "  bed 2: 1 × bar; 1 h 00 min to 1 h 30 min, 20 g, 7 m of filament."


def test_what_no_bed_takes_is_told_with_its_sizes() -> None:
    told = " ".join(line.strip() for line in beds.lines(LAID))
    assert "bed-load stop beam: It is on no bed load" in " ".join(told.split())
    assert "320.0 × 10.0 mm" in told
    assert "(judgement)" in told


def test_sizes_are_told_in_inches_to_who_works_in_inches() -> None:
    """230 mm is 9.06 in; 5 mm is 0.197 in."""
    told = " ".join(beds.lines(LAID, "in"))
    assert "0.197 in" in told
    assert " mm" not in told


def test_what_is_not_known_is_not_told() -> None:
    assert beds.lines(lay([bar("b", 20, 20)], BED))[0] == "  bed 1: 1 × b."


def test_the_document_places_every_copy() -> None:
    told = json.loads(json.dumps(beds.document(LAID)))
    assert [load["number"] for load in told["bed_loads"]] == [1, 2]
    first = told["bed_loads"][0]
    assert first["time_s"] == [10800.0, 16200.0]
    assert (first["mass_g"], first["filament_m"]) == (60.0, 20.1)
    assert [(part["name"], part["copy"]) for part in first["parts"]] == [
        ("bar", 1),
        ("bar", 2),
        ("bar", 3),
    ]
    depths = []
    for part in first["parts"]:
        pose = part["pose"]
        points = LAID.named("bar").mesh.vertices @ np.array([pose[axis] for axis in "xyz"])
        low = (points + pose["at_mm"]).min(axis=0)
        depths.append(round(float(low[1]), 3))
    # 60 mm deep each, 5 mm apart, the first 5 mm from the front
    assert sorted(depths) == [5.0, 70.0, 135.0]
    assert told["beds"]["unplaced"] == ["beam"]
    assert told["beds"]["bed_mm"] == [240.0, 200.0, 230.0]
    assert [finding["feature"] for finding in told["beds"]["findings"]] == ["beam"]
