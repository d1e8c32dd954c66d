"""`panelry kit` a second time in the same folder: what is kept, what is built, what is said."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from fixtures.kernels import manifold
from tests.cli.running import ROOT, Ran, files, run

MITRED = (ROOT / "examples" / "mitred-case.toml").read_text(encoding="utf-8")
AS_BUILT = """
[as_built]
inner_width = ["524.0 mm", "523.8 mm", "523.9 mm"]
"""


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example's kit made once, with its piece file beside it."""
    folder = tmp_path_factory.mktemp("first")
    (folder / "p.toml").write_text(MITRED, encoding="utf-8")
    assert run("kit", str(folder / "p.toml"), "--out", str(folder / "out"), "--jobs", "1").code == 0
    return folder


@pytest.fixture
def shop(first: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it to go on from."""
    shutil.copytree(first, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def builds(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Every solid that the kernel makes a mesh of from here on."""
    seen: list[object] = []
    real = manifold.mesh

    def counted(solid: Any, **how: Any) -> Any:
        seen.append(solid)
        return real(solid, **how)

    monkeypatch.setattr(manifold, "mesh", counted)
    return seen


def again(*more: str) -> Ran:
    return run("kit", "p.toml", "--out", "out", "--jobs", "1", *more)


def change(old: str, new: str) -> None:
    text = Path("p.toml").read_text(encoding="utf-8")
    assert old in text
    Path("p.toml").write_text(text.replace(old, new, 1), encoding="utf-8")


def add(text: str) -> None:
    with Path("p.toml").open("a", encoding="utf-8") as file:
        file.write(text)


def marks(document: Any, **what: object) -> set[str]:
    """Marks in `changes` that have all these values."""
    rows = [row for row in document["changes"] if all(row[k] == v for k, v in what.items())]
    return {row["mark"] for row in rows}


def written(document: Any) -> set[str]:
    return {fixture["mark"] for fixture in document["fixtures"]}


def stls(folder: Path) -> dict[str, str]:
    """Hashes of the parts' meshes, by mark."""
    return {
        Path(name).stem.rsplit("-", 1)[1]: sum_
        for name, sum_ in files(folder).items()
        if name.endswith(".stl")
    }


# --- nothing changed -----------------------------------------------------------------------------


def test_the_same_again_builds_nothing_and_keeps_every_byte(
    shop: Path, builds: list[object]
) -> None:
    before = files(shop / "out")
    ran = again("--as", "stl,3mf")
    after = files(shop / "out")
    assert ran.code == 0
    assert builds == []
    assert {name for name in after if after[name] != before.get(name)} == {"kit.json"}
    assert set(after) == set(before)
    assert "All 7 printed marks still serve" in ran.said
    third = again("--json")
    assert files(shop / "out") == after
    assert marks(third.document, status="still serves", same_file=True) == written(third.document)
    assert third.document["stale_files"] == []


def test_the_proof_and_all_that_is_told_are_the_same_as_built(shop: Path) -> None:
    before = json.loads(Path("out/kit.json").read_text(encoding="utf-8"))
    after = again("--json").document
    for key in ("changed", "changes", "stale_files", "earlier"):
        before.pop(key), after.pop(key)
    assert after == before


def test_anew_builds_every_part_to_the_same_bytes(shop: Path, builds: list[object]) -> None:
    before = stls(shop / "out")
    document = again("--anew", "--json").document
    assert len(builds) >= len(before)
    assert stls(shop / "out") == before
    assert marks(document, same_file=True) == written(document)


# --- a reading, a size as built ------------------------------------------------------------------


def test_a_thicker_reading_rebuilds_what_depends_on_it_and_names_exactly_that(
    shop: Path, builds: list[object]
) -> None:
    before = stls(shop / "out")
    change('"17.9 mm"', '"18.0 mm"')
    document = again("--json").document
    after = stls(shop / "out")
    kept = {mark for mark in written(document) if after[mark] == before.get(mark)}
    fresh = written(document) - kept
    assert fresh
    assert kept
    assert marks(document, same_file=True) == kept
    told = [row for row in document["changes"] if row["mark"] not in kept]
    assert {row["mark"] for row in told} == set(before) - kept
    assert {row["by"] for row in told} == fresh
    assert len(builds) == 2 * len(fresh)  # the part, and its body to see where it stands
    (readings,) = document["changed"]
    assert readings.startswith("stock.case.readings: ")
    # 0.1 mm more of sheet leaves 0.3 mm of clearance in slots made with 0.4 mm
    (row,) = (row for row in told if row["family"] == "corner-socket")
    assert row["status"] == "still serves"
    assert "0.30 mm" in row["why"]
    assert {row["status"] for row in told} == {"still serves", "reprint"}
    assert {row["family"] for row in told if row["status"] == "reprint"} >= {"spacer-block"}


def test_a_reading_that_is_not_the_largest_changes_no_part(
    shop: Path, builds: list[object]
) -> None:
    before = stls(shop / "out")
    change('"17.7 mm", "17.9 mm"', '"17.75 mm", "17.9 mm"')
    document = again("--json").document
    assert builds == []
    assert stls(shop / "out") == before
    assert marks(document, status="still serves") == written(document)
    assert document["changed"]


def test_a_width_as_built_moves_boards_and_no_part(shop: Path, builds: list[object]) -> None:
    before = stls(shop / "out")
    add(AS_BUILT)
    ran = again()
    assert ran.code == 0
    assert builds == []
    assert stls(shop / "out") == before
    document = json.loads(Path("out/kit.json").read_text(encoding="utf-8"))
    assert document["as_built"] == {"inner_width_mm": [524.0, 523.8, 523.9]}
    moved = {(row["panel"], row["what"]): row for row in document["moved"]}
    # 560 mm outside less two boards of 17.9 mm are 524.2 mm
    assert moved["shelf lower", "length"] == {
        "panel": "shelf lower",
        "what": "length",
        "from_mm": 524.2,
        "to_mm": 523.8,
        "by_mm": -0.4,
    }
    listed = {row["panel"]: row for row in document["cut_list"]}
    assert listed["shelf lower, shelf upper"]["outer_length_mm"] == 523.8
    assert not listed["shelf lower, shelf upper"]["held_back"]
    assert listed["back"]["outer_length_mm"] == 522.8
    sheet = Path("out/sheet.txt").read_text(encoding="utf-8")
    assert "\nAS BUILT\n" in sheet
    assert "-0.40 mm" in sheet.split("AS BUILT")[1].split("CUT LIST")[0]
    assert "-0.40 mm" in ran.out
    assert "stop block at 523.8 mm" in sheet.split("SAW SET-UPS")[1]
    steps = sheet.split("\nSTEPS\n")[1].split("DRILL TABLE")[0]
    assert "[x] Done, as measured" in steps.split("Cut what was held back")[0]


def test_a_shelf_that_is_set_leaves_the_spacer_of_the_one_above(
    shop: Path, builds: list[object]
) -> None:
    add('[as_built.underside]\nlower = ["189.5 mm", "189.5 mm"]\n')
    ran = again("--json")
    document = ran.document
    assert ran.code == 0
    assert document["proof"]["holds"]
    spacers = [row for row in document["changes"] if row["family"] == "spacer-block"]
    by_status = {row["status"]: row for row in spacers}
    assert by_status["no longer needed"]["why"] == "shelf lower is set"
    assert "387.9 mm → 387.4 mm" in by_status["reprint"]["why"]
    assert len(builds) == 2
    others = {row["mark"] for row in document["changes"]} - {row["mark"] for row in spacers}
    assert marks(document, status="still serves", same_file=True) == others


def test_files_of_marks_that_are_done_stay_and_are_named(shop: Path) -> None:
    add('[as_built.underside]\nlower = ["189.5 mm", "189.5 mm"]\n')
    ran = again()
    document = json.loads(Path("out/kit.json").read_text(encoding="utf-8"))
    stale = document["stale_files"]
    assert len(stale) == 5  # STL and 3MF of two marks, and one bed load less
    assert all((shop / "out" / name).is_file() for name in stale)
    assert "5 files of earlier kits are left in out and can go" in ran.said
    (shop / "out" / stale[0]).unlink()
    assert again("--json").document["stale_files"] == stale[1:]


def test_a_racked_case_out_of_square_is_told_and_the_kit_is_made(shop: Path) -> None:
    """Planted: 1.2 mm of taper, and a lean of 0.005 rad: diagonals by the law of cosines."""
    wide, tall = 523.0, 584.2
    product = 2 * wide * tall * 0.005
    rising, falling = ((wide**2 + tall**2 + sign * product) ** 0.5 for sign in (1, -1))
    add(f"""[as_built]
inner_width = ["523.6 mm", "522.4 mm"]
inner_height = ["584.2 mm"]
diagonals = ["{rising:.2f} mm", "{falling:.2f} mm"]
""")
    ran = again("--json")
    assert ran.code == 0
    found = {finding["check"]: finding for finding in ran.document["findings"]}
    assert "wider towards the bottom" in found["racked"]["message"]
    assert found["out-of-square"]["measured"] == pytest.approx(rising - falling, abs=0.011)
    assert "0.29 deg" in found["out-of-square"]["message"]  # 0.005 rad
    assert "lower left to upper right" in found["out-of-square"]["remedy"]
    assert "as-built-contradicts" not in found


def test_sizes_that_cannot_be_are_refused_and_nothing_is_written(shop: Path) -> None:
    before = files(shop / "out")
    add('[as_built]\ninner_width = ["584.2 mm"]\ninner_height = ["524.2 mm"]\n')
    ran = again("--json")
    assert ran.code == 2
    assert ran.places() == ["as_built.inner_width", "as_built.inner_height"]
    assert "swapped" in ran.said
    assert files(shop / "out") == before


# --- printer, damage ----------------------------------------------------------------------------


def test_another_printer_draws_anew_what_still_serves(shop: Path, builds: list[object]) -> None:
    change('layer = "0.2 mm"', 'layer = "0.16 mm"')
    document = again("--json").document
    assert len(builds) == 2 * len(written(document))
    assert document["changed"] == ["printer.layer: 0.2 mm → 0.16 mm"]
    assert marks(document, status="still serves") == written(document)


def test_a_part_whose_file_was_touched_is_built_again(shop: Path, builds: list[object]) -> None:
    before = stls(shop / "out")
    (path, *_) = sorted((shop / "out").glob("spacer-block-*.stl"))
    data = bytearray(path.read_bytes())
    data[300] ^= 8
    path.write_bytes(bytes(data))
    (gone, *_) = sorted((shop / "out").glob("clamp-caul-*.stl"))
    gone.unlink()
    again()
    assert len(builds) == 4
    assert stls(shop / "out") == before


@pytest.mark.parametrize("data", [b"{", b'{"schema": "panelry/make/1"}'])
def test_a_last_kit_that_cannot_be_read_is_said_and_all_is_built(
    shop: Path, builds: list[object], data: bytes
) -> None:
    before = stls(shop / "out")
    Path("out/kit.json").write_bytes(data)
    ran = again()
    assert ran.code == 0
    assert "The kit.json there is" in ran.said
    assert len(builds) == 2 * len(before)
    assert stls(shop / "out") == before


def test_advice_that_somebody_changed_is_not_taken_over(shop: Path, builds: list[object]) -> None:
    document = json.loads(Path("out/kit.json").read_text(encoding="utf-8"))
    (fixture, *_) = document["fixtures"]
    honest = fixture["advice"]["infill_percent"]
    fixture["advice"]["infill_percent"] = honest + 40
    Path("out/kit.json").write_text(json.dumps(document), encoding="utf-8")
    after = again("--json").document
    assert after["fixtures"][0]["advice"]["infill_percent"] == honest
    assert len(builds) == 2
