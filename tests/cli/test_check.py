"""`panelry check`: the advice on files from anywhere, good, bad and not meshes at all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fixtures.export import stl
from fixtures.kernels.manifold import mesh
from fixtures.mesh import Mesh, make
from fixtures.solid import Box, Placed, Pose, Solid, Union
from tests.cli.running import files, run, run_apart

CUBE = Box((20.0, 20.0, 20.0))
TABLE = Union((CUBE, Placed(Box((80.0, 20.0, 5.0)), Pose(at=(-30.0, 0.0, 18.0)))))
"""A slab on a post: 30 mm hang out on either side; turned over nothing hangs."""


def write(name: str, shape: Mesh | Solid) -> str:
    drawn = shape if isinstance(shape, Mesh) else mesh(shape)
    Path(name).write_bytes(stl.encode(drawn, "test"))
    return name


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def checks(document: Any, severity: str) -> list[str]:
    return [f["check"] for f in document["advice"]["findings"] if f["severity"] == severity]


# --- good files -----------------------------------------------------------------------------


def test_a_cube_is_fine(shop: Path) -> None:
    ran = run("check", write("cube.stl", CUBE))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("cube.stl: 12 triangles, 20 mm × 20 mm × 20 mm\n")
    assert "STL stores no unit: its numbers are taken as millimetres." in ran.said
    assert "supports    none" in ran.out
    assert " stop " not in ran.out


def test_nothing_is_written(shop: Path) -> None:
    write("cube.stl", CUBE)
    before = files(shop)
    run("check", "cube.stl")
    run("check", "cube.stl", "--pose", "best", "--json")
    assert files(shop) == before


def test_the_document_holds_what_the_contract_names(shop: Path) -> None:
    ran = run("check", write("table.stl", TABLE), "--json")
    made = ran.document
    assert made["schema"] == "panelry/check/1"
    assert made["file"] == "table.stl"
    assert isinstance(made["mesh"]["triangles"], int)
    # 20³ and 80 × 20 × 5, of which 20 × 20 × 2 lie in both (arithmetic)
    assert made["mesh"]["volume_mm3"] == pytest.approx(8000.0 + 8000.0 - 800.0)
    assert made["mesh"]["bounds_mm"] == [[-30.0, 0.0, 0.0], [50.0, 20.0, 23.0]]
    assert (made["mesh"]["bodies"], made["mesh"]["watertight"]) == (1, True)
    advice = made["advice"]
    for key, kind in (
        ("print_pose", str),
        ("infill_percent", int | float),
        ("infill_by", dict),
        ("rings", int),
        ("roof_layers", int),
        ("supports", bool),
        ("findings", list),
        ("mass_g", float),
        ("time_s", list),
    ):
        assert isinstance(advice[key], kind), key
    assert advice["print_pose"] == "as-is"
    assert {"rule", "feature", "needed_percent"} <= set(advice["infill_by"])


def test_findings_on_a_foreign_mesh_say_what_was_measured_and_where(shop: Path) -> None:
    found = run("check", write("table.stl", TABLE), "--json").document["advice"]["findings"]
    ledge = next(finding for finding in found if finding["check"] == "ledge")
    assert set(ledge) == {
        *("check", "severity", "feature", "measured", "limit", "unit"),
        *("z_mm", "area_mm2", "places_mm", "facing", "message", "remedy"),
    }
    assert ledge["feature"] is None
    assert ledge["measured"] == pytest.approx(30.0, abs=0.5)
    assert ledge["unit"] == "mm"
    low, high = ledge["z_mm"]
    assert low == pytest.approx(18.0, abs=0.25)  # a layer and a bit
    assert high >= low
    assert ledge["message"].endswith(".")
    assert ledge["remedy"].endswith(".")


def test_something_hanging_out_exits_1_and_turned_over_0(shop: Path) -> None:
    write("table.stl", TABLE)
    hanging = run("check", "table.stl", "--json")
    assert hanging.code == 1
    assert "ledge" in checks(hanging.document, "stop")
    assert hanging.document["advice"]["supports"] is True
    turned = run("check", "table.stl", "--pose", "best", "--json")
    assert turned.code == 0
    assert turned.document["advice"]["print_pose"] == "upside down"
    assert turned.document["advice"]["supports"] is False
    assert turned.document["mesh"]["volume_mm3"] == hanging.document["mesh"]["volume_mm3"]
    assert turned.document["mesh"]["bounds_mm"][0][2] == 0.0


def test_as_is_only_sets_it_on_the_bed(shop: Path) -> None:
    write("high.stl", Placed(CUBE, Pose(at=(3.0, 4.0, 55.0))))
    bounds = run("check", "high.stl", "--json").document["mesh"]["bounds_mm"]
    assert bounds[0][2] == 0.0
    assert np.subtract(bounds[1], bounds[0]).tolist() == pytest.approx([20.0, 20.0, 20.0])


def test_too_big_depends_on_the_printer(shop: Path) -> None:
    write("bar.stl", Box((300.0, 20.0, 20.0)))
    small = run("check", "bar.stl", "--json")
    assert small.code == 1
    assert checks(small.document, "stop") == ["too-big"]
    Path("large.toml").write_text(
        'format = 1\n[printer]\nbed = ["400 mm", "400 mm", "400 mm"]\n', encoding="utf-8"
    )
    assert run("check", "bar.stl", "--printer", "large.toml").code == 0


def test_the_material_changes_the_mass(shop: Path) -> None:
    """1.04 against 1.24 g/cm³, ABS and PLA (trade data sheets; common practice, no source)."""
    write("cube.stl", CUBE)
    masses = [
        run("check", "cube.stl", "--material", name, "--json").document["advice"]["mass_g"]
        for name in ("PLA", "abs")
    ]
    assert masses[1] / masses[0] == pytest.approx(1.04 / 1.24)


def test_sizes_are_told_in_the_units_asked_for(shop: Path) -> None:
    write("inch.stl", Box((25.4, 50.8, 12.7)))
    assert "1 in × 2 in × 1/2 in" in run("check", "inch.stl", "--units", "in").out


def test_an_open_mesh_is_told_to_be_open(shop: Path) -> None:
    cube = mesh(CUBE)
    write("open.stl", make(cube.vertices, cube.faces[1:]))
    ran = run("check", "open.stl", "--json")
    assert ran.code == 1
    assert checks(ran.document, "stop") == ["not-watertight"]
    assert ran.document["mesh"]["watertight"] is False


def test_two_bodies_are_counted(shop: Path) -> None:
    cube = mesh(CUBE)
    both = make(
        np.vstack([cube.vertices, np.add(cube.vertices, (50.0, 0.0, 0.0))]),
        np.vstack([cube.faces, cube.faces + len(cube.vertices)]),
    )
    assert run("check", write("two.stl", both), "--json").document["mesh"]["bodies"] == 2


@pytest.mark.parametrize("format_", ["stl", "obj", "ply", "glb", "3mf"])
def test_the_same_part_in_any_format_gets_the_same_advice(shop: Path, format_: str) -> None:
    """Written by another library."""
    import trimesh

    made: Any = trimesh.creation.box((30.0, 20.0, 10.0))
    if format_ == "glb":  # its unit is the metre
        made.apply_scale(0.001)
    made.export(f"box.{format_}")
    ran = run("check", f"box.{format_}", "--json")
    assert ran.code == 0
    assert ran.document["mesh"]["volume_mm3"] == pytest.approx(6000.0, rel=1e-4)
    assert ran.document["mesh"]["watertight"] is True
    assert ran.document["advice"]["findings"] == []


def test_what_make_wrote_is_as_good_when_checked(shop: Path) -> None:
    made = run("make", "slot-comb", "--thickness", "12.2 mm", "--json")
    for name in made.document["files"]:
        ran = run("check", str(Path("out") / name), "--json")
        assert ran.code == 0
        assert ran.document["mesh"]["volume_mm3"] == pytest.approx(
            made.document["mesh"]["volume_mm3"], rel=1e-5
        )
        assert ran.document["mesh"]["triangles"] == made.document["mesh"]["triangles"]
        for key in ("infill_percent", "rings", "roof_layers", "supports"):
            assert ran.document["advice"][key] == made.document["advice"][key], key


# --- units and repair -----------------------------------------------------------------------


def test_a_part_drawn_in_metres_is_taken_so_and_said_why(shop: Path) -> None:
    cube = mesh(CUBE)
    write("metres.stl", make(cube.vertices / 1000.0, cube.faces))
    ran = run("check", "metres.stl")
    assert ran.out.startswith("metres.stl: 12 triangles, 20 mm × 20 mm × 20 mm\n")
    assert "too small to be meant: metres are taken, which make it 20 mm." in ran.said
    document = run("check", "metres.stl", "--json").document
    assert (document["unit"], document["unit_taken"]) == ("none", "m")
    assert document["mesh"]["volume_mm3"] == pytest.approx(8000.0, rel=1e-5)


def test_the_unit_can_be_given(shop: Path) -> None:
    write("four.stl", Box((4.0, 3.0, 2.0)))
    ran = run("check", "four.stl", "--unit", "in", "--json")
    assert ran.document["mesh"]["volume_mm3"] == pytest.approx(24.0 * 25.4**3, rel=1e-5)
    refused = run("check", "four.stl", "--unit", "ell")
    assert refused.code == 2
    assert "--unit is ell; it must be mm, cm, m or in." in refused.said


def test_a_mesh_is_repaired_only_when_asked_and_said_what_was_done(shop: Path) -> None:
    cube = mesh(CUBE)
    write("open.stl", make(cube.vertices, cube.faces[1:]))
    before = files(shop)
    plain = run("check", "open.stl")
    assert plain.code == 1
    assert "It has one hole, its rim 68.3 mm long." in plain.said  # 20 + 20 + 20 √2
    assert "Repaired" not in plain.said
    mended = run("check", "open.stl", "--repair")
    assert mended.code == 0
    assert "Repaired: 1 hole filled with 1 face." in mended.said
    assert files(shop) == before
    document = run("check", "open.stl", "--repair", "--json").document
    assert document["repaired"]["holes_filled"] == 1
    assert document["mesh"]["watertight"] is True
    assert "files" not in document


def test_a_repaired_mesh_is_written_where_asked_and_is_whole(shop: Path) -> None:
    cube = mesh(CUBE)
    write("open.stl", make(cube.vertices, cube.faces[1:]))
    ran = run("check", "open.stl", "--repair", "--out", "mended", "--json")
    assert ran.document["files"] == ["open-repaired.stl"]
    again = run("check", str(Path("mended") / "open-repaired.stl"), "--json")
    assert (again.code, again.document["mesh"]["watertight"]) == (0, True)
    assert again.document["mesh"]["volume_mm3"] == pytest.approx(8000.0)
    assert "open-repaired.stl" in run("check", "open.stl", "--repair", "--out", "mended").out


def test_out_without_repair_is_refused(shop: Path) -> None:
    write("cube.stl", CUBE)
    ran = run("check", "cube.stl", "--out", "mended")
    assert ran.code == 2
    assert "--out is for a repaired mesh, and none is asked for. Add --repair" in ran.said
    assert not Path("mended").exists()


def test_an_open_sheet_is_told_what_can_be_told(shop: Path) -> None:
    """A table's top, 30 × 20 mm at 10 mm of height, as two triangles that look down."""
    corners = [(0, 0, 10), (30, 0, 10), (30, 20, 10), (0, 20, 10), (0, 0, 0), (1, 0, 0), (0, 1, 0)]
    sheet = make(corners, [(0, 2, 1), (0, 3, 2), (4, 6, 5)])
    write("sheet.stl", sheet)
    ran = run("check", "sheet.stl", "--json")
    found = {finding["check"]: finding for finding in ran.document["advice"]["findings"]}
    assert set(found) == {"not-watertight", "steep-faces", "not-checked"}
    assert found["steep-faces"]["area_mm2"] == pytest.approx(600.0)
    assert found["steep-faces"]["measured"] == pytest.approx(90.0)
    assert (
        "2 holes, their rims 103.4 mm in all, the longest 100.0 mm; 2 of its 2 pieces are open"
        in (found["not-watertight"]["message"])
    )


# --- bad files ------------------------------------------------------------------------------

PNG = b"\x89PNG\r\n\x1a\n" + bytes(64)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("empty.stl", b"", "empty.stl is empty."),
        ("letter.stl", b"Dear shop,\nplease make eight.\n", "letter.stl"),
        ("picture.stl", PNG, "picture.stl is a PNG picture."),
        ("noise.stl", bytes(range(256)) * 40, "noise.stl"),
        ("cut.stl", bytes(80) + (1000).to_bytes(4, "little") + bytes(500), "cut.stl is cut short"),
        ("none.stl", bytes(84), "none.stl"),
        ("word.docx", b"PK\x03\x04" + bytes(40), "word.docx"),
        ("page.html", b"<!doctype html><html></html>", "page.html"),
        ("cube.dxf", b"0\nSECTION\n2\nENTITIES\n", "cube.dxf"),
    ],
)
def test_what_is_no_mesh_is_refused_in_a_sentence(
    shop: Path, name: str, data: bytes, said: str
) -> None:
    Path(name).write_bytes(data)
    ran = run("check", name)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.said
    assert ran.said.endswith((".", "?"))
    assert "Traceback" not in ran.err
    assert "Error" not in ran.said
    document = run("check", name, "--json").document
    assert document["schema"] == "panelry/error/1"
    assert document["faults"][0]["remedy"]


def test_a_wrong_ending_is_no_hindrance(shop: Path) -> None:
    write("cube.obj", CUBE)
    ran = run("check", "cube.obj", "--json")
    assert ran.code == 0
    assert any("STL" in note for note in ran.document["notes"])


def test_all_faults_are_told_at_once(shop: Path) -> None:
    ran = run(
        *("check", "nowhere.stl", "--pose", "lying", "--units", "furlong"),
        *("--material", "wood", "--printer", "no.toml"),
    )
    assert (ran.code, ran.out) == (2, "")
    for said in (
        "no.toml is not there. Name a file.",
        "--material is wood; it must be one of PLA, PETG, ABS, ASA, PA, TPU.",
        "--units is furlong; it must be mm or in.",
        "--pose is lying; it must be as-is or best.",
        "nowhere.stl is not there. Name a file.",
    ):
        assert said in ran.said


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("nowhere.stl",), "nowhere.stl is not there. Name a file."),
        (("folder",), "folder is a folder. Name a file."),
        ((), "Missing argument 'FILE'."),
        (("cube.stl", "other.stl"), "unexpected extra argument"),
        (("cube.stl", "--poes", "best"), "--poes"),
    ],
)
def test_a_wrong_call_is_refused(shop: Path, asked: tuple[str, ...], said: str) -> None:
    write("cube.stl", CUBE)
    (shop / "folder").mkdir()
    ran = run("check", *asked)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.said
    assert run("check", *asked, "--json").document["faults"]


def test_in_a_process_of_its_own_it_says_the_same(shop: Path) -> None:
    write("table.stl", TABLE)
    here = run("check", "table.stl", "--json")
    apart = run_apart("check", "table.stl", "--json", folder=shop, environment={"LC_ALL": "C"})
    assert apart == here
    assert apart.code == 1


def test_lines_fit_a_window(shop: Path) -> None:
    write("table.stl", TABLE)
    assert all(len(line) <= 96 for line in run("check", "table.stl").out.splitlines())
