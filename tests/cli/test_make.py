"""`panelry make`: what it writes, what it says, and what it does when something is wrong."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fixtures.stock import HOW_TO_MEASURE
from tests.cli.running import ROOT, Ran, files, run, run_apart

SOCKET = ("make", "corner-socket", "--thickness", "12.2 mm")
SPACER = ("make", "spacer-block", "--height", "60 mm")
COMB = ("make", "slot-comb", "--thickness", "12.2 mm")

PIECE = """\
format = 1
[piece]
units = "in"
[stock.case]
material = "MDF"
nominal = "19 mm"
readings = ["19.1 mm", "19.0 mm", "19.2 mm", "19.1 mm"]
[stock.back]
readings = ["9.1 mm", "9.2 mm", "9.1 mm", "9.2 mm"]
[printer]
bed = ["240 mm", "200 mm", "230 mm"]
material = "PETG"
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def socket(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """A socket made once, with its document."""
    folder = tmp_path_factory.mktemp("socket")
    ran = run(*SOCKET, "--angle", "90 deg", "--out", str(folder), "--json")
    assert ran.code == 0
    return folder, ran.document


# --- what is written ------------------------------------------------------------------------


@pytest.mark.parametrize("asked", [SOCKET, SPACER, COMB], ids=["socket", "spacer", "comb"])
def test_files_go_to_out_by_default_and_nowhere_else(shop: Path, asked: tuple[str, ...]) -> None:
    ran = run(*asked)
    assert ran.code == 0
    assert ran.err == ""
    written = files(shop)
    family = asked[1]
    mark = next(iter(written)).split("-")[-1][:4]
    assert set(written) == {
        str(Path("out") / f"{family}-{mark}.stl"),
        str(Path("out") / f"{family}-{mark}.3mf"),
    }
    for name in written:
        assert f"  {name}" in ran.out.splitlines()


def test_formats_and_folder_are_as_asked(shop: Path) -> None:
    ran = run(*SPACER, "--out", "made/here", "--as", " PNG, stl,stl", "--json")
    assert ran.code == 0
    assert sorted(ran.document["files"]) == sorted(
        Path(name).relative_to("made/here").name for name in files(shop)
    )
    assert [Path(name).suffix for name in ran.document["files"]] == [".png", ".stl"]
    assert (shop / "made/here" / ran.document["files"][0]).read_bytes()[:4] == b"\x89PNG"


def test_making_it_again_gives_the_same_files(shop: Path) -> None:
    run(*SPACER)
    before = files(shop)
    assert run(*SPACER).code == 0
    assert files(shop) == before


def test_three_quarters_of_an_inch_is_19_05_mm_to_the_byte(shop: Path) -> None:
    """The inch is 25.4 mm (international yard and pound agreement, 1959)."""
    metric = run("make", "spacer-block", "--height", "19.05 mm", "--out", "mm", "--json")
    inch = run("make", "spacer-block", "--height", "3/4 in", "--out", "in", "--json")
    assert (metric.code, inch.code) == (0, 0)
    assert files(shop / "mm") == files(shop / "in")
    assert metric.document == inch.document


def test_a_printers_bias_changes_the_file_and_not_what_was_asked_for(shop: Path) -> None:
    plain = run(*COMB, "--out", "plain", "--nominal", "--json")
    drawn = run(*COMB, "--out", "drawn", "--compensate", "--json")
    assert (plain.document["compensated"], drawn.document["compensated"]) == (False, True)
    assert plain.document["moves"] == []
    assert {move["role"] for move in drawn.document["moves"]} == {"slot wall", "slot end"}
    assert plain.document["parameters"] == drawn.document["parameters"]
    for document, wider in ((plain.document, 0.0), (drawn.document, 0.10)):
        for feature in document["features"]:
            if feature["kind"] == "slot":
                assert feature["cad_width_mm"] == pytest.approx(feature["width_mm"] + wider)
    assert files(shop / "plain").values() != files(shop / "drawn").values()


def test_without_being_asked_nothing_is_compensated(shop: Path) -> None:
    run(*COMB, "--out", "plain", "--nominal")
    run(*COMB, "--out", "silent")
    assert files(shop / "plain") == files(shop / "silent")


def test_a_part_drawn_for_a_printer_does_not_replace_the_nominal_one(shop: Path) -> None:
    plain = run(*COMB, "--json").document
    drawn = run(*COMB, "--compensate", "--json").document
    assert set(plain["files"]).isdisjoint(drawn["files"])


# --- the document ---------------------------------------------------------------------------

NUMBER = (int, float)
VECTOR = [float, float, float]


def is_vector(value: Any) -> bool:
    return isinstance(value, list) and [type(x) for x in value] == VECTOR


def test_the_document_holds_what_the_contract_names(socket: tuple[Path, Any]) -> None:
    _, made = socket
    assert made["schema"] == "panelry/make/1"
    assert made["family"] == "corner-socket"
    assert len(made["mark"]) == 4
    assert made["name"] == f"corner-socket-{made['mark']}"
    assert isinstance(made["parameters"], dict)
    fit = made["fit"]
    for key in (
        "slot_mm",
        "clearance_mm",
        "clearance_smallest_reading_mm",
        "swing_deg",
        "lean_deg",
    ):
        assert isinstance(fit[key], NUMBER), key
    mesh = made["mesh"]
    assert isinstance(mesh["triangles"], int)
    assert isinstance(mesh["volume_mm3"], float)
    assert len(mesh["bounds_mm"]) == 2
    assert all(map(is_vector, mesh["bounds_mm"]))
    assert (mesh["bodies"], mesh["watertight"]) == (1, True)
    assert mesh["bounds_mm"][0][2] == 0.0
    advice = made["advice"]
    assert isinstance(advice["print_pose"], str)
    assert isinstance(advice["infill_percent"], NUMBER)
    assert isinstance(advice["infill_by"]["rule"], str)
    assert isinstance(advice["infill_by"]["needed_percent"], NUMBER)
    assert advice["infill_by"]["feature"] in [f["name"] for f in made["features"]]
    assert isinstance(advice["rings"], int)
    assert isinstance(advice["roof_layers"], int)
    assert advice["supports"] is False
    # a wall of 6 mm with three rings: one more ring is told before infill
    assert [f["check"] for f in advice["findings"]] == ["socket-wall"]
    assert isinstance(advice["mass_g"], float)
    low, high = advice["time_s"]
    assert 0 < low < high


def test_fit_is_by_the_rule(socket: tuple[Path, Any]) -> None:
    """slot = largest reading + clearance; lean = atan(clearance / grip), 28 mm below the lead-in.

    0.40 mm for a removable end socket without a coupon is common practice, no source.
    """
    _, made = socket
    fit = made["fit"]
    assert fit["slot_mm"] == pytest.approx(12.6)
    assert fit["clearance_mm"] == pytest.approx(0.4)
    assert fit["lean_deg"] == pytest.approx(math.degrees(math.atan(0.4 / 28.0)), abs=1e-5)


def test_features_are_told_where_they_lie_in_the_mesh(socket: tuple[Path, Any]) -> None:
    _, made = socket
    names = [feature["name"] for feature in made["features"]]
    assert len(set(names)) == len(names)
    for feature in made["features"]:
        assert isinstance(feature["kind"], str)
        assert isinstance(feature["through"], bool)
        for key in ("at_mm", "axis", "across"):
            assert is_vector(feature[key]), (feature["name"], key)
        assert math.hypot(*feature["axis"]) == pytest.approx(1.0, abs=1e-5)
        assert math.hypot(*feature["across"]) == pytest.approx(1.0, abs=1e-5)
        assert np.dot(feature["axis"], feature["across"]) == pytest.approx(0.0, abs=1e-5)
    slot = next(feature for feature in made["features"] if feature["name"] == "slot_a")
    for key in ("width_mm", "cad_width_mm", "depth_mm", "length_mm"):
        assert isinstance(slot[key], float), key
    hole = next(feature for feature in made["features"] if feature["kind"] == "through hole")
    for key in ("diameter_mm", "cad_diameter_mm", "depth_mm"):
        assert isinstance(hole[key], float), key


def test_a_named_slot_is_found_by_rays_where_the_document_says(socket: tuple[Path, Any]) -> None:
    """Another library reads the file; from the slot's middle both walls are half its width away."""
    import trimesh

    folder, made = socket
    read: Any = trimesh.load(folder / made["files"][0])
    assert read.volume == pytest.approx(made["mesh"]["volume_mm3"], rel=1e-6)
    assert read.bounds == pytest.approx(np.array(made["mesh"]["bounds_mm"]), abs=1e-5)
    for feature in made["features"]:
        if feature["kind"] != "slot":
            continue
        middle = np.array(feature["at_mm"]) + 0.5 * feature["depth_mm"] * np.array(feature["axis"])
        for side in (1.0, -1.0):
            way = side * np.array(feature["across"])
            hits, _, _ = read.ray.intersects_location([middle], [way], multiple_hits=False)
            found = np.linalg.norm(hits[0] - middle)
            assert found == pytest.approx(feature["width_mm"] / 2, abs=0.005)


def test_lengths_of_parameters_are_numbers_with_their_unit(socket: tuple[Path, Any]) -> None:
    _, made = socket
    parameters = made["parameters"]
    assert parameters["thickness_mm"] == [12.2]
    assert parameters["angle_deg"] == 90.0
    assert (parameters["arm_mm"], parameters["grip_mm"], parameters["wall_mm"]) == (60.0, 30.0, 6.0)
    assert (parameters["joint"], parameters["panels"]) == ("mitre", 2)


def test_files_are_named_from_the_folder_they_are_in(socket: tuple[Path, Any]) -> None:
    folder, made = socket
    assert sorted(made["files"]) == sorted(files(folder))


def test_proof_names_what_was_tried_and_holds(socket: tuple[Path, Any]) -> None:
    _, made = socket
    assert made["proof"]["holds"] is True
    for check in made["proof"]["checks"]:
        assert set(check) == {"name", "holds", "measured", "limit", "unit", "message"}
        assert check["holds"] is True
    names = " ".join(check["name"] for check in made["proof"]["checks"])
    for word in ("seated", "held", "swing", "engaged", "comes off", "glue"):
        assert word in names


@pytest.mark.parametrize("where", ["", "--out made"], ids=["default", "out"])
def test_json_is_one_document_and_nothing_else(shop: Path, where: str) -> None:
    ran = run(*SPACER, *where.split(), "--json")
    assert ran.err == ""
    assert ran.out.startswith("{\n")
    assert ran.out.endswith("}\n")
    assert "NaN" not in ran.out
    assert ran.document["schema"] == "panelry/make/1"


def test_errors_are_a_document_too(shop: Path) -> None:
    ran = run("make", "corner-socket", "--thickness", "12", "--json")
    assert (ran.code, ran.err) == (2, "")
    assert ran.document == {
        "schema": "panelry/error/1",
        "faults": [
            {
                "where": "--thickness",
                "value": "12",
                "message": "12 has no unit.",
                "remedy": "Write 12 mm or 12 in.",
            }
        ],
    }


@pytest.mark.parametrize(
    "asked",
    [
        ("make",),
        ("make", "corner-soket"),
        ("make", "corner-socket", "--thickness"),
        ("make", "corner-socket", "--params", "nowhere.toml"),
        ("nothing",),
    ],
    ids=["no family", "unknown family", "no value", "no file", "no command"],
)
def test_every_usage_error_is_a_document_when_asked_for(shop: Path, asked: tuple[str, ...]) -> None:
    ran = run(*asked, "--json")
    assert ran.code == 2
    assert ran.document["schema"] == "panelry/error/1"
    for fault in ran.document["faults"]:
        assert set(fault) == {"where", "value", "message", "remedy"}
        assert fault["message"]


# --- all that is wrong, at once -------------------------------------------------------------


def test_all_faults_are_told_at_once(shop: Path) -> None:
    ran = run(
        *(
            "make",
            "corner-socket",
            "--thickness",
            "19,1 mm",
            "--thickness",
            "19",
            "--joint",
            "mitr",
        ),
        *("--fit", "tight", "--panels", "three", "--arm", "400 mm", "--bogus", "7"),
        *("--material", "wood", "--units", "cm", "--as", "stl,doc", "--params", "no.toml"),
        *("--readings", "no2.toml"),
    )
    assert (ran.code, ran.out) == (2, "")
    for said in (
        "--bogus is not known here.",
        "--thickness: 19,1 mm: is that 19.1 mm? Write a decimal point.",
        "--thickness: 19 has no unit. Write 19 mm or 19 in.",
        "--joint is mitr; it must be mitre or butt. Give --joint as mitre or butt.",
        "--fit is tight; it must be press, snug, slip or loose.",
        "--panels is 'three'; it must be a whole number, 2 to 3.",
        "--arm is 400 mm; it must be 40 mm to 100 mm. Give --arm as 40 mm to 100 mm.",
        "--material is wood; it must be one of PLA, PETG, ABS, ASA, PA, TPU.",
        "--units is cm; it must be mm or in.",
        "--as names 'doc'; stl, 3mf, png, svg, pdf, drawing can be written.",
        "no.toml is not there. Name a file.",
        "no2.toml is not there. Name a file.",
    ):
        assert said in ran.said
    assert ran.said.count("no2.toml is not there") == 1
    assert files(shop) == {}
    assert "Traceback" not in ran.err


def test_lines_of_errors_fit_a_window(shop: Path) -> None:
    ran = run("make", "corner-socket", "--thickness", "19,1 mm", "--colour", "red")
    assert all(len(line) <= 96 for line in ran.err.splitlines())


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("--angle", "90 mm", "90 mm is a length, not an angle."),
        ("--angle", "90", "90 has no unit."),
        ("--clearance", "3 mm", "--clearance is 3 mm; it must be 0.05 mm to 2 mm."),
        ("--panels", "4", "--panels is 4; it must be 2 to 3."),
        ("--grip", "nan mm", "nan mm"),
        ("--grip", "-30 mm", "-30 mm is negative."),
    ],
)
def test_a_value_out_of_range_is_told_with_range_and_remedy(
    shop: Path, option: str, typed: str, said: str
) -> None:
    ran = run(*SOCKET, option, typed, "--json")
    assert ran.code == 2
    (fault,) = ran.document["faults"]
    assert fault["where"] == option
    assert fault["value"] == typed
    assert fault["message"].startswith(said)
    assert fault["remedy"]


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("--arm", "400 mm", "--arm is 400 mm; it must be 40 mm to 100 mm."),
        ("--arm", "39.9 mm", "--arm is 39.9 mm; it must be 40 mm to 100 mm."),
        ("--grip", "51 mm", "--grip is 51 mm; it must be 15 mm to 50 mm."),
        ("--wall", "4 mm", "--wall is 4 mm; it must be 5 mm to 8 mm."),
        ("--angle", "160 deg", "--angle is 160 deg; it must be 30 deg to 150 deg."),
    ],
)
def test_a_size_out_of_range_is_told_with_its_range(
    shop: Path, option: str, typed: str, said: str
) -> None:
    ran = run(*SOCKET, option, typed, "--json")
    assert ran.code == 2
    (fault,) = ran.document["faults"]
    assert (fault["where"], fault["message"]) == (option, said)
    assert fault["remedy"].startswith(f"Give {option} as ")


@pytest.mark.parametrize(
    ("option", "typed"),
    [("--angle", "20°"), ("--grip", "2 in"), ("--arm", "4 1/8 in"), ("--grip", "0mm")],
)
def test_a_size_out_of_range_is_told_as_it_was_typed(shop: Path, option: str, typed: str) -> None:
    (fault,) = run(*SOCKET, option, typed, "--json").document["faults"]
    assert fault["value"] == typed
    assert typed in fault["message"]


@pytest.mark.parametrize(
    ("typed", "nearest"),
    [
        ("--thicknes", "Did you mean --thickness?"),
        ("--angel", "Did you mean --angle?"),
        ("--thickness-B", "Did you mean --thickness-b?"),
        ("--jsn", "Did you mean --json?"),
    ],
)
def test_an_unknown_option_is_refused_with_the_nearest(
    shop: Path, typed: str, nearest: str
) -> None:
    ran = run(*SOCKET, typed, "12 mm")
    assert ran.code == 2
    assert ran.said == f"{typed} is not known here. {nearest}"


def test_an_option_like_no_other_is_told_all_that_are_known(shop: Path) -> None:
    ran = run(*SOCKET, "--zzz=3")
    assert ran.code == 2
    named = set(ran.said.removeprefix("--zzz is not known here. Known here: ")[:-1].split(", "))
    helped = {w for w in run("make", "corner-socket", "--help").out.split() if w.startswith("--")}
    # each of these can be typed; of a pair such as --x / --no-x the first will do
    assert named <= helped
    assert {"--thickness", "--out", "--json", "--compensate", "--nominal"} <= named


def test_a_word_that_belongs_nowhere_is_refused(shop: Path) -> None:
    ran = run(*SOCKET, "mitre")
    assert ran.code == 2
    assert ran.said.startswith("'mitre' stands alone and belongs to no option.")


def test_an_unknown_family_is_refused_with_the_nearest(shop: Path) -> None:
    ran = run("make", "spacer")
    assert (ran.code, ran.said) == (
        2,
        "Family spacer is not known here. Did you mean spacer-block?",
    )


def test_what_is_missing_is_said(shop: Path) -> None:
    assert run("make", "corner-socket").said == (
        f"--thickness: There is no thickness reading. {HOW_TO_MEASURE}"
    )
    ran = run("make", "spacer-block")
    assert ran.said == (
        "--height is missing (from the floor to the shelf's underside). "
        "Give --height as 12 mm to 600 mm."
    )


def test_a_missing_value_draws_no_second_fault(shop: Path) -> None:
    """Faults that only follow from one that is told are left out."""
    ran = run("make", "corner-socket", "--thickness", "19", "--thickness-b", "12", "--json")
    assert ran.places() == ["--thickness", "--thickness-b"]


def test_rules_between_options_name_both(shop: Path) -> None:
    ran = run(*SOCKET, "--thickness-b", "19 mm", "--json")
    (fault,) = ran.document["faults"]
    assert fault["where"] == "--thickness-b"
    assert "A is 12.2 mm and B is 19 mm" in fault["message"]
    ran = run(*SOCKET, "--fit", "snug", "--clearance", "0.3 mm", "--json")
    assert ran.places() == ["--fit"]
    assert run(*SOCKET, "--fit", "press", "--json").places() == ["--fit"]


def test_bounds_are_told_in_the_units_asked_for(shop: Path) -> None:
    ran = run(*SOCKET, "--wall", "1 in", "--units", "in")
    # 5 mm is 0.19685 in and 8 mm is 0.31496 in: rounded inwards, so that what is told is allowed
    assert "it must be 0.197 in to 0.314 in" in ran.said
    for told in ("0.197 in", "0.314 in"):
        assert run(*SOCKET, "--wall", told).code == 0


# --- exit codes -----------------------------------------------------------------------------


def test_a_part_too_big_for_the_bed_is_made_and_exits_1(shop: Path) -> None:
    """Done, but with a finding of severity stop: files are there, and the code says look."""
    Path("small.toml").write_text(
        'format = 1\n[printer]\nbed = ["60 mm", "60 mm", "60 mm"]\n', encoding="utf-8"
    )
    ran = run(*SOCKET, "--printer", "small.toml", "--json")
    assert ran.code == 1
    stops = [f["check"] for f in ran.document["advice"]["findings"] if f["severity"] == "stop"]
    assert stops == ["too-big"]
    assert {Path(name).name for name in files(shop / "out")} == set(ran.document["files"])
    finding = ran.document["advice"]["findings"][0]
    assert set(finding) == {
        *("check", "severity", "feature", "measured", "limit", "unit"),
        *("z_mm", "area_mm2", "places_mm", "facing", "message", "remedy"),
    }


def test_a_part_that_cannot_be_made_exits_2_and_writes_nothing(shop: Path) -> None:
    ran = run("make", "spacer-block", "--height", "460 mm")
    assert ran.code == 2
    assert "Rip an offcut to this height" in ran.said
    assert files(shop) == {}


def test_a_broken_installation_exits_3_with_one_line_and_no_traceback(tmp_path: Path) -> None:
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "manifold3d.py").write_text("raise ImportError('broken')\n", encoding="utf-8")
    shop = tmp_path / "shop"
    shop.mkdir()
    for json_too in ((), ("--json",)):
        ran = run_apart(*SPACER, *json_too, folder=shop, environment={"PYTHONPATH": str(broken)})
        assert ran.code == 3
        assert "Traceback" not in ran.err
        said = ran.document["faults"][0]["message"] if json_too else ran.err
        assert "This is our fault." in said
        assert "ImportError: broken" in said
        assert len(ran.err.splitlines()) == (0 if json_too else 1)
    assert files(shop) == {}


# --- files of input -------------------------------------------------------------------------


def test_params_are_read_and_options_win(shop: Path) -> None:
    Path("p.toml").write_text(
        'thickness = ["12.2 mm", "12.1 mm"]\narm = "50 mm"\ngrip = "20 mm"\n', encoding="utf-8"
    )
    ran = run("make", "corner-socket", "--params", "p.toml", "--arm", "45 mm", "--json")
    assert ran.code == 0
    made = ran.document["parameters"]
    assert made["thickness_mm"] == [12.2, 12.1]
    assert (made["arm_mm"], made["grip_mm"]) == (45.0, 20.0)


def test_params_are_judged_like_options(shop: Path) -> None:
    Path("p.toml").write_text(
        'thickness = [12.2]\narmm = "50 mm"\nangle = 90\nunmeasured = "maybe"\n', encoding="utf-8"
    )
    ran = run("make", "corner-socket", "--params", "p.toml")
    assert ran.code == 2
    for said in (
        "--thickness: 12.2 has no unit. Write 12.2 mm or 12.2 in.",
        "--unmeasured is 'maybe'; it must be true or false.",
        "--angle: 90 has no unit. Write 90 deg.",
        "--armm is not known here. Did you mean --arm?",
    ):
        assert said in ran.said


def test_params_that_are_not_toml_say_where(shop: Path) -> None:
    Path("p.toml").write_text("thickness = 12.2 mm\n", encoding="utf-8")
    ran = run("make", "corner-socket", "--params", "p.toml")
    assert ran.code == 2
    assert "p.toml is not TOML" in ran.said
    assert "line 1" in ran.said
    assert ran.said.endswith("Write lengths in quotes.")


@pytest.mark.parametrize("option", ["--params", "--readings", "--printer"])
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("nowhere.toml", "nowhere.toml is not there. Name a file."),
        ("folder", "folder is a folder. Name a file."),
        ("latin.toml", "latin.toml is not UTF-8 text (byte 3). Save it as UTF-8."),
        ("long.toml", "long.toml has 1000001 bytes; at most 1000000 are read. Make it smaller."),
    ],
)
def test_a_file_that_cannot_be_read_is_refused(
    shop: Path, option: str, name: str, said: str
) -> None:
    (shop / "folder").mkdir()
    (shop / "latin.toml").write_bytes(b"# M\xf6bel\n")
    (shop / "long.toml").write_bytes(b"#" * 1_000_001)
    ran = run(*SOCKET, option, name)
    assert (ran.code, ran.said) == (2, said)
    assert not (shop / "out").exists()


def test_readings_give_thickness_sheet_printer_and_units(shop: Path) -> None:
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    ran = run("make", "corner-socket", "--readings", "piece.toml", "--stock", "case", "--json")
    assert ran.code == 0
    made = ran.document["parameters"]
    assert made["thickness_mm"] == [19.1, 19.0, 19.2, 19.1]
    assert made["sheet"] == "19 mm MDF"
    assert ran.document["fit"]["slot_mm"] == pytest.approx(19.6)
    told = run("make", "corner-socket", "--readings", "piece.toml", "--stock", "case").out
    assert "The slot is 0.772 in" in told  # 19.6 mm is 0.7717 in
    metric = run(
        *("make", "corner-socket", "--readings", "piece.toml", "--stock", "case"),
        *("--units", "mm"),
    ).out
    assert "The slot is 19.6 mm wide" in metric


def test_readings_of_another_stock_are_panel_b(shop: Path) -> None:
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    ran = run(
        *("make", "corner-socket", "--readings", "piece.toml", "--stock", "case"),
        *("--stock-b", "back", "--joint", "butt", "--json"),
    )
    assert ran.code == 0
    assert ran.document["parameters"]["thickness_b_mm"] == [9.1, 9.2, 9.1, 9.2]
    widths = {f["name"]: f["width_mm"] for f in ran.document["features"] if f["kind"] == "slot"}
    assert widths == {"slot_a": pytest.approx(19.6), "slot_b": pytest.approx(9.6)}


def test_an_option_wins_over_readings(shop: Path) -> None:
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    ran = run(
        *("make", "slot-comb", "--readings", "piece.toml", "--stock", "back"),
        *("--thickness", "9.5 mm", "--json"),
    )
    assert ran.document["parameters"]["thickness_mm"] == [9.5]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--readings", "piece.toml"), "piece.toml holds 2 stocks: case, back."),
        (("--readings", "piece.toml", "--stock", "bakc"), "Did you mean back?"),
        (("--thickness", "12 mm", "--stock", "case"), "Add --readings FILE."),
        (
            ("--readings", "piece.toml", "--stock", "case", "--stock-b", "nix"),
            "There is no stock 'nix' in piece.toml.",
        ),
    ],
)
def test_stocks_that_cannot_be_found_are_refused(
    shop: Path, asked: tuple[str, ...], said: str
) -> None:
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    ran = run("make", "corner-socket", *asked)
    assert ran.code == 2
    assert said in ran.said
    assert not (shop / "out").exists()


def test_readings_are_of_no_use_to_a_spacer(shop: Path) -> None:
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    ran = run(*SPACER, "--readings", "piece.toml")
    assert ran.code == 2
    assert "This family is not made for a sheet, so readings are of no use to it." in ran.said


def test_sheets_far_apart_do_not_share_a_slot(shop: Path) -> None:
    """Above 0.5 mm between sheets each letter has its own fixtures: one slot would be loose."""
    Path("piece.toml").write_text(
        "format = 1\n"
        '[[stock.case.sheet]]\nid = "A"\nreadings = ["19.1 mm", "19.2 mm"]\n'
        '[[stock.case.sheet]]\nid = "B"\nreadings = ["18.4 mm", "18.5 mm"]\n',
        encoding="utf-8",
    )
    ran = run("make", "slot-comb", "--readings", "piece.toml")
    assert "sheet A" in ran.said or "sheet letter" in ran.said


def test_a_printer_file_sets_the_material_and_an_option_wins(shop: Path) -> None:
    """PETG weighs 1.27 / 1.24 of PLA (trade data sheets; common practice, no source)."""
    Path("piece.toml").write_text(PIECE, encoding="utf-8")
    masses = {}
    for name, asked in {
        "file": ("--printer", "piece.toml"),
        "option": ("--printer", "piece.toml", "--material", "pla"),
        "none": (),
    }.items():
        masses[name] = run(*SPACER, *asked, "--json").document["advice"]["mass_g"]
    assert masses["option"] == masses["none"]
    assert masses["file"] / masses["none"] == pytest.approx(1.27 / 1.24)


# --- nothing is lost ------------------------------------------------------------------------


def test_a_failed_run_leaves_the_last_good_files_alone(shop: Path) -> None:
    assert run(*COMB).code == 0
    before = files(shop)
    for wrong in (("--steps", "2"), ("--as", "stl,step"), ("--material", "wood"), ("--below", "1")):
        assert run(*COMB, *wrong).code == 2
        assert files(shop) == before
    assert not list(shop.rglob(".panelry-*"))


@pytest.mark.parametrize("out", ["taken", "taken/sub"])
def test_a_folder_that_cannot_be_written_to_is_refused(shop: Path, out: str) -> None:
    """A file stands in its place: nobody can write there, not even the administrator."""
    (shop / "taken").write_text("mine", encoding="utf-8")
    ran = run(*SPACER, "--out", out, "--json")
    assert ran.code == 2
    (fault,) = ran.document["faults"]
    assert (fault["where"], fault["value"]) == ("--out", str(Path(out)))
    assert "cannot be written to" in fault["message"]
    assert fault["remedy"] == "Name another folder with --out."
    assert (shop / "taken").read_text(encoding="utf-8") == "mine"
    assert set(files(shop)) == {"taken"}


def stand_in_the_way(shop: Path, name: str) -> None:
    (shop / "out" / name).unlink()
    (shop / "out" / name).mkdir()


def test_a_file_that_cannot_be_replaced_leaves_no_temporary_one(shop: Path) -> None:
    made = run(*COMB, "--json").document["files"]
    stand_in_the_way(shop, made[0])
    before = files(shop)
    ran = run(*COMB, "--json")
    assert (ran.code, ran.places()) == (2, ["--out"])
    assert files(shop) == before
    assert not list(shop.rglob(".panelry-*"))


def test_files_are_replaced_all_or_none(shop: Path) -> None:
    """As on Windows, where the second file is open in another program."""
    made = run(*COMB, "--json").document["files"]
    stand_in_the_way(shop, made[1])
    before = files(shop)
    assert run(*COMB).code == 2
    assert files(shop) == before


@pytest.mark.parametrize("nth", [1, 2, 3, 4])
def test_a_run_stopped_by_hand_loses_no_file(
    shop: Path, nth: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C at any renaming: every file is still there, whole, and nothing else is."""
    run(*COMB)
    before, real, calls = files(shop), os.replace, 0

    def stopped(source: Path, target: Path) -> None:
        nonlocal calls
        calls += 1
        if calls == nth:
            raise KeyboardInterrupt
        real(source, target)

    monkeypatch.setattr(os, "replace", stopped)
    assert run(*COMB).code == (130 if calls >= nth else 0)
    assert files(shop) == before


def test_the_message_names_the_file_that_cannot_be_replaced(shop: Path) -> None:
    made = run(*COMB, "--json").document["files"]
    stand_in_the_way(shop, made[1])
    said = run(*COMB).said
    assert made[1] in said
    assert ".panelry-" not in said


def test_names_in_a_piece_file_cannot_leave_the_folder(shop: Path) -> None:
    evil = "../../../evil"
    Path("piece.toml").write_text(
        f'format = 1\n[piece]\nname = "{evil}"\n[stock."{evil}"]\nmaterial = "{evil}"\n'
        'readings = ["12.2 mm"]\n',
        encoding="utf-8",
    )
    inner = shop / "a" / "b"
    ran = run("make", "slot-comb", "--readings", "piece.toml", "--out", str(inner), "--json")
    assert ran.code == 0
    assert set(files(shop)) - {"piece.toml"} == {
        str(Path("a") / "b" / name) for name in ran.document["files"]
    }
    assert not list(shop.parent.glob("evil*"))


# --- the same everywhere --------------------------------------------------------------------


@pytest.mark.slow
def test_the_same_bytes_whatever_the_surroundings(tmp_path: Path) -> None:
    """Hash seed, time zone, locale, working folder and the number of cores make no difference."""
    made: list[dict[str, str]] = []
    told: list[str] = []
    for n, environment in enumerate(
        (
            {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C", "OMP_NUM_THREADS": "1"},
            {"PYTHONHASHSEED": "77", "TZ": "Pacific/Auckland", "LC_ALL": "C.UTF-8"},
            {"PYTHONHASHSEED": "0", "TZ": "America/New_York", "LC_ALL": "de_DE.UTF-8"},
        )
    ):
        folder = tmp_path / f"shop {n}" / "träger"
        folder.mkdir(parents=True)
        ran = run_apart(
            *SOCKET, "--as", "stl,3mf,png", "--json", folder=folder, environment=environment
        )
        assert ran.code == 0, ran.err
        made.append(files(folder))
        told.append(ran.out)
    assert made[0] == made[1] == made[2]
    assert told[0] == told[1] == told[2]
    assert len(made[0]) == 3


def test_in_a_process_of_its_own_it_says_and_does_the_same(shop: Path) -> None:
    apart = shop / "apart"
    apart.mkdir()
    ran = run_apart(*SPACER, folder=apart)
    here = run(*SPACER)
    assert ran == here
    assert files(apart) == {name: h for name, h in files(shop).items() if "apart" not in name}


# --- what is said ---------------------------------------------------------------------------


def test_what_is_needed_at_the_bench_is_told(shop: Path) -> None:
    ran = run(*SOCKET)
    lines = ran.out.splitlines()
    assert all(len(line) <= 96 for line in lines)
    heads = [line for line in lines if line and not line.startswith(" ")]
    assert heads[0].startswith("corner-socket ")
    for head in ("Fit", "Print", "Files", "Take care"):
        assert head in heads
    assert any(line.startswith("Proof holds: ") for line in heads)
    assert any(line.startswith("Make 8: ") for line in heads)
    assert "The slot is 12.6 mm wide: 0.4 mm of clearance at the largest reading" in ran.said
    assert "never use one as a lasting or load-bearing connector" in ran.said


def test_units_of_what_is_told_are_as_asked(shop: Path) -> None:
    """12.6 mm is 0.496 in."""
    ran = run(*SOCKET, "--units", "in")
    assert "The slot is 0.496 in wide" in ran.said


# --- help and the names relied on -----------------------------------------------------------

NAMES = {
    "corner-socket": ["--panels", "--joint", "--angle", "--arm", "--grip", "--wall"],
    "spacer-block": ["--height", "--lip"],
    "slot-comb": ["--steps"],
}
COMMON = [
    *("--params", "--printer", "--material", "--as", "--compensate", "--nominal"),
    *("--units", "--out", "--json"),
]
OF_SHEETS = ["--thickness", "--fit", "--clearance"]


def options(text: str) -> list[str]:
    return [word.rstrip(",") for word in text.split() if word.startswith("--")]


@pytest.mark.parametrize("family", NAMES)
def test_names_relied_on_are_options(family: str) -> None:
    ran = run("make", family, "--help")
    assert (ran.code, ran.err) == (0, "")
    missing = set(NAMES[family] + COMMON) - set(options(ran.out))
    assert not missing


def test_a_socket_can_be_asked_for_by_readings_fit_and_clearance() -> None:
    shown = options(run("make", "corner-socket", "--help").out)
    assert set([*OF_SHEETS, "--thickness-b"]) <= set(shown)


def test_a_connector_that_stays_can_be_asked_for() -> None:
    assert {"--stays", "--thickness-c"} <= set(options(run("make", "corner-socket", "--help").out))


@pytest.mark.parametrize("family", NAMES)
def test_help_says_of_every_option_what_it_is_and_may_be(family: str) -> None:
    from fixtures.parts import catalog

    text = run("make", family, "--help").out
    flat = " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())
    for name, field in catalog.family(family).parameters.model_fields.items():
        assert "--" + name.replace("_", "-") in text
        assert field.description
        assert " ".join(field.description.split()) in flat


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--help",), ["calibrate", "check", "coupon", "families", "kit", "make", "new"]),
        (("-h",), ["calibrate", "check", "coupon", "families", "kit", "make", "new"]),
        (("make", "--help"), ["corner-socket", "spacer-block", "slot-comb"]),
        (
            ("check", "--help"),
            ["FILE", "--pose", "--printer", "--json", "STL, OBJ, PLY, 3MF or GLB"],
        ),
        (("new", "--help"), ["PIECE"]),
    ],
)
def test_help_of_every_command(asked: tuple[str, ...], words: list[str]) -> None:
    ran = run(*asked)
    assert (ran.code, ran.err) == (0, "")
    assert all(word in ran.out for word in words)


@pytest.mark.parametrize("asked", [(), ("make",)])
def test_without_a_command_help_is_shown_as_an_error(asked: tuple[str, ...]) -> None:
    ran = run(*asked)
    assert (ran.code, ran.out) == (2, "")
    assert "Usage: panelry" in ran.err


@pytest.mark.parametrize("command", ["kit", "coupon", "calibrate"])
def test_commands_of_the_contract_are_there(command: str) -> None:
    assert run(command, "--help").code == 0


# --- what is imported -----------------------------------------------------------------------

HEAVY = (
    *("numpy", "pydantic", "pint", "trimesh", "scipy", "shapely", "manifold3d", "OCP"),
    *("scipy.sparse", "scipy.spatial", "scipy.linalg"),
    *("fixtures.parts.corner_socket", "fixtures.parts.spacer_block", "fixtures.parts.slot_comb"),
)
WATCH = """
import json, sys
from fixtures.cli import main
sys.argv = ["panelry", *json.loads(sys.argv[1])]
try:
    main()
except SystemExit as left:
    assert not left.code, left.code
loaded = [name for name in json.loads(sys.stdin.read()) if name in sys.modules]
if "pint" in sys.modules:
    import pint
    if type(pint.application_registry.get()).__name__ != "LazyRegistry":
        loaded.append("pint's default registry")
print(json.dumps(loaded), file=sys.stderr)
"""


def loaded(folder: Path, *asked: str, watched: tuple[str, ...] = HEAVY) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", WATCH, json.dumps(asked)],
        input=json.dumps(watched),
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    found: list[str] = json.loads(done.stderr.splitlines()[-1])
    return found


@pytest.mark.parametrize(
    "asked", [("--help",), ("families",), ("make", "--help"), ("--version",)], ids=" ".join
)
def test_help_loads_nothing_heavy(tmp_path: Path, asked: tuple[str, ...]) -> None:
    assert loaded(tmp_path, *asked) == []


def test_help_of_one_family_loads_that_family_and_no_geometry(tmp_path: Path) -> None:
    found = loaded(tmp_path, "make", "corner-socket", "--help")
    assert {"trimesh", "scipy", "shapely", "manifold3d", "OCP"}.isdisjoint(found)
    assert "fixtures.parts.spacer_block" not in found


@pytest.mark.parametrize(
    "asked",
    [
        ("make", "corner-socket", "--thickness", "1/2 in"),
        ("make", "spacer-block", "--height", "60 mm", "--as", "stl,3mf,png"),
    ],
    ids=["socket in inches", "spacer with a picture"],
)
def test_make_loads_no_oracle_and_no_full_unit_registry(
    tmp_path: Path, asked: tuple[str, ...]
) -> None:
    found = loaded(tmp_path, *asked)
    # where scipy is installed pint loads its bare top, and nothing that computes
    assert {"trimesh", "shapely", "OCP", "pint's default registry"}.isdisjoint(found)
    assert {"scipy.sparse", "scipy.spatial", "scipy.linalg"}.isdisjoint(found)
    others = {
        name
        for name in found
        if name.startswith("fixtures.parts.") and asked[1].replace("-", "_") not in name
    }
    assert not others


def test_ran_twice_in_one_process_it_forgets_the_first(shop: Path) -> None:
    wrong: Ran = run(*SPACER, "--lip", "99 mm")
    assert wrong.code == 2
    assert run(*SPACER).code == 0
