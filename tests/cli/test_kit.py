"""`panelry kit`: what it writes for a piece, what it says, and what it refuses."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
import trimesh

from tests.cli.running import ROOT, Ran, files, run

EXAMPLES = ("mitred-case", "tool-shelf")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module", params=EXAMPLES)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """An example's kit made once: its folder, what was said, and its document."""
    folder = tmp_path_factory.mktemp(request.param)
    ran = run("kit", str(ROOT / "examples" / f"{request.param}.toml"), "--out", str(folder))
    return Made(folder, ran, json.loads((folder / "kit.json").read_text(encoding="utf-8")))


class Made:
    """A kit on the disk."""

    def __init__(self, folder: Path, ran: Ran, document: Any) -> None:
        self.folder, self.ran, self.document = folder, ran, document


# --- the examples -----------------------------------------------------------------------------


def test_an_example_is_written_and_its_proof_holds(made: Made) -> None:
    assert made.ran.code == 0
    assert "Proof holds" in made.ran.out
    proof = made.document["proof"]
    assert proof["holds"] is True
    assert len(proof["checks"]) > 200
    assert all(check["holds"] and check["message"] for check in proof["checks"])


def test_every_file_named_is_there_and_no_other(made: Made) -> None:
    named = [*made.document["files"], *(f for x in made.document["fixtures"] for f in x["files"])]
    assert sorted(named) == sorted(path.name for path in made.folder.iterdir())


def test_every_part_reads_back_by_another_library_as_one_closed_body(made: Made) -> None:
    for fixture in made.document["fixtures"]:
        (stl,) = (name for name in fixture["files"] if name.endswith(".stl"))
        read = trimesh.load_mesh(made.folder / stl)
        assert read.is_watertight
        assert read.body_count == 1
        assert read.volume > 500.0


def test_a_3mf_holds_as_many_items_as_are_needed(made: Made) -> None:
    for fixture in made.document["fixtures"]:
        (name,) = (name for name in fixture["files"] if name.endswith(".3mf"))
        with zipfile.ZipFile(made.folder / name) as archive:
            model = archive.read("3D/3dmodel.model").decode()
        assert model.count("<item ") == fixture["quantity"]


def test_lib3mf_reads_every_package_in_strict_mode_with_all_its_items(made: Made) -> None:
    lib3mf = pytest.importorskip("lib3mf")
    wrapper = lib3mf.get_wrapper()
    for fixture in made.document["fixtures"]:
        (name,) = (name for name in fixture["files"] if name.endswith(".3mf"))
        model = wrapper.CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(made.folder / name))
        assert reader.GetWarningCount() == 0
        assert model.GetBuildItems().Count() == fixture["quantity"]


def test_the_tables_say_what_the_document_says(made: Made) -> None:
    rows = list(csv.DictReader(io.StringIO((made.folder / "cut-list.csv").read_text("utf-8"))))
    listed = made.document["cut_list"]
    assert [int(row["count"]) for row in rows] == [row["count"] for row in listed]
    for row, told in zip(rows, listed, strict=True):
        assert float(row["outer_length_mm"]) == pytest.approx(told["outer_length_mm"], abs=0.006)
        assert (row["held_back"] != "no") is told["held_back"]
    holes = list(csv.DictReader(io.StringIO((made.folder / "drill-table.csv").read_text("utf-8"))))
    assert len(holes) == len(made.document["drill_table"])
    for row, told in zip(holes, made.document["drill_table"], strict=True):
        assert float(row["depth_mm"]) == pytest.approx(told["depth_mm"], abs=0.006)
        assert float(row["tip_depth_mm"]) > float(row["depth_mm"])
        assert row["mate"] == told["mate"]


def test_every_hole_has_its_guide_and_its_sleeve(made: Made) -> None:
    marks = {fixture["mark"]: fixture["family"] for fixture in made.document["fixtures"]}
    for hole in made.document["drill_table"]:
        assert marks[hole["guide"]] == "drill-guide"
        assert marks[hole["sleeve"]] == "depth-sleeve"


def test_the_sheet_has_steps_settings_and_cautions(made: Made) -> None:
    sheet = (made.folder / "sheet.txt").read_text(encoding="utf-8")
    for heading in ("CUT LIST", "PRINT", "STEPS", "DRILL TABLE", "TAKE CARE"):
        assert f"\n{heading}\n" in sheet
    for step in made.document["steps"]:
        assert step["title"] in sheet
    assert sheet.index("Dry fit") < sheet.index("held back\n   Boards") < sheet.index("Glue up")
    assert "saw unplugged" in sheet
    assert "load" in sheet
    assert all(len(line) <= 100 for line in sheet.splitlines() if "  " not in line.strip())


def test_quantities_are_those_of_the_places(made: Made) -> None:
    for fixture in made.document["fixtures"]:
        if fixture["family"] in ("corner-socket", "clamp-caul"):
            assert fixture["quantity"] == len(fixture["places"])
        if fixture["family"] in ("drill-guide", "depth-sleeve"):
            assert fixture["quantity"] == 1
        assert fixture["reason"]
        assert fixture["mark"] in fixture["name"]


def test_the_same_piece_gives_the_same_bytes(shop: Path) -> None:
    piece = str(ROOT / "examples" / "mitred-case.toml")
    sums = []
    for folder in ("one", "two"):
        assert run("kit", piece, "--out", folder).code == 0
        sums.append(
            {
                path.name: hashlib.sha256(path.read_bytes()).hexdigest()
                for path in Path(folder).iterdir()
            }
        )
    assert sums[0] == sums[1]


# --- what it does with what is asked ------------------------------------------------------------


def test_files_go_to_out_and_the_piece_files_name(shop: Path) -> None:
    run("new", "shelf.toml")
    assert run("kit", "shelf.toml").code == 0
    assert {Path(name).parts[:2] for name in files(shop)} == {("shelf.toml",), ("out", "shelf")}


def test_json_prints_the_document_that_is_written(shop: Path) -> None:
    run("new", "shelf.toml")
    ran = run("kit", "shelf.toml", "--json")
    assert ran.document["schema"] == "panelry/kit/1"
    assert ran.out == Path("out/shelf/kit.json").read_text(encoding="utf-8")


def test_a_picture_of_the_kit_is_drawn_where_pictures_are_asked_for(shop: Path) -> None:
    run("new", "shelf.toml")
    assert run("kit", "shelf.toml", "--as", "png").code == 0
    assert Path("out/shelf/kit.png").read_bytes()[:4] == b"\x89PNG"
    assert not list(Path("out/shelf").glob("*.stl"))


def test_from_an_offcut_no_file_is_written(shop: Path) -> None:
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8")
    wish = '[[fixtures]]\nfamily = "spacer-block"\nmake_from = "offcut"\n[printer]'
    Path("shelf.toml").write_text(text.replace("[printer]", wish, 1), encoding="utf-8")
    document = run("kit", "shelf.toml", "--json").document
    (spacer,) = (x for x in document["fixtures"] if x["family"] == "spacer-block")
    assert spacer["make_from"] == "offcut"
    assert spacer["files"] == []
    assert not list(Path("out/shelf").glob("spacer*"))


def test_copies_multiply_the_cut_list_and_add_a_spare_of_what_wears(shop: Path) -> None:
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8")
    one = run("kit", "shelf.toml", "--json").document
    Path("shelf.toml").write_text(text.replace("copies = 1", "copies = 12"), encoding="utf-8")
    twelve = run("kit", "shelf.toml", "--json").document
    for row, more in zip(one["cut_list"], twelve["cut_list"], strict=True):
        assert more["count"] == 12 * row["count"]
    for fixture, more in zip(one["fixtures"], twelve["fixtures"], strict=True):
        spare = fixture["family"] in ("drill-guide", "depth-sleeve")
        assert more["quantity"] == fixture["quantity"] + spare


def test_a_name_cannot_lead_out_of_the_folder(shop: Path) -> None:
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8")
    hostile = text.replace('"first piece"', '"../../up"').replace('"middle"', '"../side"')
    Path("shelf.toml").write_text(hostile, encoding="utf-8")
    assert run("kit", "shelf.toml", "--out", "here").code == 0
    assert {Path(name).parts[0] for name in files(shop)} == {"shelf.toml", "here"}


# --- what it refuses ----------------------------------------------------------------------------


def test_all_faults_are_told_at_once_and_nothing_is_written(shop: Path) -> None:
    text = (ROOT / "examples" / "mitred-case.toml").read_text(encoding="utf-8")
    text = text.replace('height = "190 mm"', 'height = "590 mm"')
    text = text.replace('diameter = "8 mm", length', 'diameter = "10 mm", length')
    Path("bad.toml").write_text(text, encoding="utf-8")
    ran = run("kit", "bad.toml")
    assert ran.code == 2
    assert ran.out == ""
    assert "584.2 mm high inside, so the shelf leaves it" in ran.said
    assert "wider than half of a board of 17.9 mm" in ran.said
    assert list(files(shop)) == ["bad.toml"]


def test_faults_are_a_document_when_asked_for(shop: Path) -> None:
    Path("bad.toml").write_text("format = 1\n", encoding="utf-8")
    ran = run("kit", "bad.toml", "--json")
    assert ran.code == 2
    assert ran.document["schema"] == "panelry/error/1"
    assert ran.document["faults"][0]["message"] == "bad.toml has no [case] and no [polygon]."


def test_the_last_good_files_stay_when_a_run_is_refused(shop: Path) -> None:
    run("new", "shelf.toml")
    assert run("kit", "shelf.toml").code == 0
    before = files(shop)
    text = Path("shelf.toml").read_text(encoding="utf-8")
    Path("shelf.toml").write_text(text.replace('"160 mm"', '"1600 mm"'), encoding="utf-8")
    assert run("kit", "shelf.toml").code == 2
    after = files(shop)
    assert {k: v for k, v in after.items() if k != "shelf.toml"} == {
        k: v for k, v in before.items() if k != "shelf.toml"
    }
