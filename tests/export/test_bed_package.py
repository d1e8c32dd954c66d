"""A bed load's 3MF as lib3mf reads it in strict mode; where items lie is judged by shapely."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image

from fixtures.beds import Laid, Print, lay
from fixtures.drawings import bed_picture
from fixtures.export import bed_package
from fixtures.footprint import EXACT
from tests.bed_parts import bar, ell, odd
from tests.export.test_threemf import arrays, items, objects, placed, strictly_read

BED = (240.0, 200.0, 230.0)
CARE = "Clamp lightly & evenly."


def some() -> Laid:
    rng = np.random.default_rng(11)
    parts = [odd(rng, f"part-{i}") for i in range(3)]
    told = replace(ell("ell", 100, 90, 25, 5), settings="infill 20 %, 3 rings", cautions=(CARE,))
    return lay([*parts, told, replace(bar("bar", 60, 20, quantity=3), cautions=(CARE,))], BED)


def test_items_lie_apart_and_on_the_bed_as_they_are_read_back() -> None:
    laid = some()
    assert len(laid.loads) > 1
    for load in laid.loads:
        model = strictly_read(bed_package.encode(laid, load, title="kit"))
        meshes = {o.GetResourceID(): arrays(o) for o in objects(model)}
        there = []
        for item in items(model):
            points, faces = meshes[item.GetObjectResourceID()]
            points = placed(item, points)
            assert points[:, 2].min() == pytest.approx(0.0, abs=1e-3)
            corners = points[faces][:, :, :2]
            u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
            seen = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) > 1e-6
            there.append(shapely.union_all(shapely.polygons(corners[seen]), grid_size=1e-6))
        for one, other in itertools.combinations(there, 2):
            assert shapely.distance(one, other) >= laid.gap - EXACT
        left, front, right, rear = shapely.union_all(there).bounds
        assert min(left, front) >= laid.margin - 2e-3
        assert right <= BED[0] - laid.margin + 2e-3
        assert rear <= BED[1] - laid.margin + 2e-3


def test_names_marks_and_how_many_are_those_of_the_load() -> None:
    laid = some()
    for load in laid.loads:
        model = strictly_read(bed_package.encode(laid, load, title="kit"))
        names = {o.GetResourceID(): o.GetName() for o in objects(model)}
        marks = {o.GetName(): o.GetPartNumber() for o in objects(model)}
        assert marks == {name: laid.named(name).mark for name in load.counts}
        found = [names[item.GetObjectResourceID()] for item in items(model)]
        assert {name: found.count(name) for name in found} == dict(load.counts)
        assert {item.GetPartNumber() for item in items(model)} == set(marks.values())


def test_it_says_the_piece_the_load_the_cautions_and_the_settings() -> None:
    laid = some()
    model = strictly_read(bed_package.encode(laid, laid.loads[0], title="hall cabinet"))
    group = model.GetMetaDataGroup()
    told = {
        (e := group.GetMetaData(i)).GetName(): e.GetValue() for i in range(group.GetMetaDataCount())
    }
    assert set(told) == {"Title", "Application", "Description"}
    assert told["Title"] == f"hall cabinet, bed load 1 of {len(laid.loads)}"
    assert told["Description"].startswith(CARE)  # once, though two parts say it
    assert told["Description"].count(CARE) == 1
    assert "ell: infill 20 %, 3 rings." in told["Description"]
    assert "a bed of 240.0 × 200.0 mm, 5 mm apart and 5 mm from its edges" in told["Description"]


def test_its_thumbnail_is_the_bed_from_above() -> None:
    laid = some()
    small = bed_picture.thumbnail(laid, laid.loads[0])
    model = strictly_read(bed_package.encode(laid, laid.loads[0], title="kit", thumbnail=small))
    assert bytes(model.CreatePackageThumbnailAttachment().WriteToBuffer()) == small
    assert Image.open(io.BytesIO(small)).size == (256, 256)


def test_the_same_load_gives_the_same_bytes() -> None:
    one, other = some(), some()
    for first, second in zip(one.loads, other.loads, strict=True):
        made = [
            bed_package.encode(laid, load, title="kit", thumbnail=bed_picture.thumbnail(laid, load))
            for laid, load in ((one, first), (other, second))
        ]
        assert made[0] == made[1]


def test_files_are_called_by_the_number_of_their_load() -> None:
    laid = lay([Print("b", "B", bar("b", 230, 190).mesh, 2)], BED)
    assert [bed_package.file_name(load) for load in laid.loads] == ["bed-1.3mf", "bed-2.3mf"]
