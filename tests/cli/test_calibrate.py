"""From a coupon to a printer file to a part drawn for that printer, as a user types it."""

from __future__ import annotations

import csv
import io
import json
import random
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import files, run

COUPON = ("coupon", "--thickness", "12.2 mm", "--thickness", "12.0 mm", "--thickness", "12.1 mm")
BIAS = {
    "outside x": 0.04,
    "outside y": 0.06,
    "outside z": 0.02,
    "slot": -0.17,
    "bore standing": -0.24,
    "bore lying": -0.33,
}


@pytest.fixture(scope="module")
def coupon(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A coupon's files, made once."""
    folder = tmp_path_factory.mktemp("coupon")
    assert run(*COUPON, "--out", str(folder)).code in (0, 1)
    return folder


@pytest.fixture
def shop(tmp_path: Path, coupon: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with the coupon's sheet and questions."""
    for path in coupon.iterdir():
        if path.suffix in (".csv", ".json"):
            (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def sheet() -> Path:
    (path,) = Path().glob("*-answers.csv")
    return path


def filled(text: str, *, measure: bool = True, noise: float = 0.01) -> str:
    """The sheet as a printer with BIAS and that noise, mm, would have it filled in."""
    rng = random.Random(1)
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    for line in text.splitlines():
        cells = next(csv.reader([line]))
        if line.startswith("#") or cells[0] == "label" or cells[1] not in BIAS:
            out.write(line + "\n")
            continue
        printed = float(cells[2]) + BIAS[cells[1]] + rng.gauss(0, noise)
        if cells[3]:
            cells[5] = "yes" if printed >= float(cells[3]) else "no"
        elif measure:
            cells[4] = f"{printed:.2f}"
        rows.writerow(cells)
    return out.getvalue()


def fill(**how: Any) -> None:
    path = sheet()
    path.write_text(filled(path.read_text(encoding="utf-8"), **how), encoding="utf-8")


def test_a_coupon_comes_with_a_sheet_to_fill_in(coupon: Path) -> None:
    names = {path.name.split("-", 3)[-1].partition(".")[2] for path in coupon.iterdir()}
    assert names == {"stl", "3mf", "csv", "json", "png"}
    (path,) = coupon.glob("*.csv")
    text = path.read_text(encoding="utf-8")
    assert "label,kind,nominal_mm,gauge_mm,measured_mm,goes,where" in text
    assert {row.split(",")[1] for row in text.splitlines() if not row.startswith("#")} >= set(BIAS)


def test_a_coupon_is_never_drawn_for_a_printer(shop: Path) -> None:
    ran = run(*COUPON, "--compensate")
    assert ran.code == 2
    assert "tells what the printer does, so it is drawn as designed" in ran.said


def test_answers_become_a_printer_file_with_what_was_hidden_in_them(shop: Path) -> None:
    fill()
    ran = run("calibrate", str(sheet()), "--json")
    assert ran.code == 0
    for kind, bias in BIAS.items():
        line = ran.document["lines"][kind.replace(" ", "_")]
        low, high = line["b_interval_mm"]
        slack = 0.02  # one seed of noise, and a step of 0.05 or 0.1 mm where only gauges tell
        assert low - slack <= bias <= high + slack, kind
    table = tomllib.loads(Path("printer.toml").read_text(encoding="utf-8"))["printer"]
    assert table["material"] == "PLA"
    assert set(table["calibration"]) >= {"date", "slot", "bore_standing"}


def test_gauges_alone_are_enough_for_slots(shop: Path) -> None:
    fill(measure=False, noise=0.002)
    document = run("calibrate", str(sheet()), "--json").document
    line = document["lines"]["slot"]
    assert line["b_interval_mm"][0] <= BIAS["slot"] <= line["b_interval_mm"][1]


def test_a_measured_printer_is_drawn_for_without_being_asked(shop: Path) -> None:
    fill()
    assert run("calibrate", str(sheet())).code == 0
    made = ("make", "corner-socket", "--thickness", "12.2 mm", "--printer", "printer.toml")
    ran = run(*made, "--json")
    assert ran.document["compensated"] is True
    slot = next(f for f in ran.document["features"] if f["name"] == "slot_a")
    # drawn wider by what the printer takes off, so that it comes out as designed
    assert slot["cad_width_mm"] - slot["width_mm"] == pytest.approx(0.17, abs=0.02)
    assert ran.document["fit"]["goes_in_share"] > 0.99
    assert run(*made, "--nominal", "--json").document["compensated"] is False
    assert "By the coupon of" in run(*made).said


def test_a_kit_is_drawn_for_the_printer_its_file_names(shop: Path) -> None:
    fill()
    assert run("calibrate", str(sheet())).code == 0
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8")
    head = text.split("[printer]")[0]
    Path("shelf.toml").write_text(f'{head}[printer]\nfile = "printer.toml"\n', encoding="utf-8")
    document = run("kit", "shelf.toml", "--json").document
    assert document["proof"]["holds"] is True
    assert all("-compensated" in name for x in document["fixtures"] for name in x["files"])


def test_a_printer_file_is_never_written_over(shop: Path) -> None:
    fill()
    Path("printer.toml").write_text("mine", encoding="utf-8")
    ran = run("calibrate", str(sheet()))
    assert ran.code == 2
    assert "printer.toml is there already" in ran.said
    assert Path("printer.toml").read_text(encoding="utf-8") == "mine"


def test_a_changed_nominal_is_found_out_and_nothing_is_written(shop: Path) -> None:
    fill()
    path = sheet()
    text = path.read_text(encoding="utf-8").replace("S1,slot,6.000", "S1,slot,6.500")
    path.write_text(text, encoding="utf-8")
    before = files(shop)
    ran = run("calibrate", str(path))
    assert ran.code == 2
    assert "S1" in ran.said
    assert files(shop) == before


def test_a_coupon_made_anew_leaves_the_answers_as_they_are(shop: Path) -> None:
    fill()
    measured = sheet().read_bytes()
    ran = run(*COUPON, "--out", ".")
    assert ran.code in (0, 1)
    assert sheet().read_bytes() == measured
    assert "is there already and was kept as it is" in ran.said


def test_an_empty_sheet_is_refused(shop: Path) -> None:
    ran = run("calibrate", str(sheet()))
    assert ran.code == 2
    assert "has no answer in it yet" in ran.said
    assert not Path("printer.toml").exists()


def test_a_named_printer_file_that_is_not_there_is_refused(shop: Path) -> None:
    run("new", "shelf.toml")
    text = Path("shelf.toml").read_text(encoding="utf-8").split("[printer]")[0]
    Path("shelf.toml").write_text(f'{text}[printer]\nfile = "none.toml"\n', encoding="utf-8")
    ran = run("kit", "shelf.toml")
    assert ran.code == 2
    assert "none.toml is not there" in ran.said


def test_what_a_coupon_asks_is_kept_beside_it(coupon: Path) -> None:
    (path,) = coupon.glob("*.json")
    document = json.loads(path.read_text(encoding="utf-8"))
    assert document["schema"] == "panelry/coupon/1"
    assert len(document["questions"]) > 30


def test_replacing_a_printer_file_keeps_the_old_ones_aside(shop: Path) -> None:
    fill()
    Path("my.toml").write_text("mine", encoding="utf-8")
    Path("my.toml.before").write_text("older", encoding="utf-8")
    ran = run("calibrate", str(sheet()), "--to", "my.toml")
    assert "Add --replace, which keeps the old one as my.toml.before-2" in ran.said
    ran = run("calibrate", str(sheet()), "--to", "my.toml", "--replace", "--json")
    assert ran.code == 0
    assert ran.document["files"] == ["my.toml", "my.toml.before-2"]
    assert Path("my.toml.before-2").read_text(encoding="utf-8") == "mine"
    assert Path("my.toml.before").read_text(encoding="utf-8") == "older"
    assert "[printer.calibration.slot]" in Path("my.toml").read_text(encoding="utf-8")


def test_the_coupon_is_named_and_its_rows_are_held_against_its_mark(shop: Path) -> None:
    """Without the questions beside it the mark, worked out of the rows, tells a changed size."""
    fill()
    (questions,) = Path().glob("fit-coupon-*.json")
    own = json.loads(questions.read_text(encoding="utf-8"))["mark"]
    questions.unlink()
    ran = run("calibrate", str(sheet()))
    assert ran.code == 0
    assert f"Coupon {own}: labels and sizes are as it was made." in ran.said
    text = Path("printer.toml").read_text(encoding="utf-8")
    assert f"# coupon {own}" in text
    path = sheet()
    changed = path.read_text(encoding="utf-8").replace("S1,slot,6.000", "S1,slot,6.100")
    path.write_text(changed, encoding="utf-8")
    ran = run("calibrate", str(path), "--to", "other.toml")
    assert ran.code == 2
    assert f"names coupon {own}, but its labels and sizes are not that coupon's" in ran.said
    assert not Path("other.toml").exists()


def test_a_sheet_that_lost_its_coupon_is_told_which_it_would_be(shop: Path) -> None:
    fill()
    path = sheet()
    lines = path.read_text(encoding="utf-8").splitlines()
    own = next(line.split()[-1] for line in lines if line.startswith("# coupon "))
    kept = [line for line in lines if not line.startswith("# coupon ")]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    ran = run("calibrate", str(path), "--json")
    assert (ran.document["coupon"], ran.document["coupon_checked"]) == (None, False)
    said = run("calibrate", str(path), "--replace").said
    assert f"The sheet names no coupon; by its rows it is {own}" in said


def test_calipers_alone_make_a_printer_file(shop: Path) -> None:
    """Nothing tried: every kind has three sizes or more to measure."""
    fill()
    path, out = sheet(), io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    for line in path.read_text(encoding="utf-8").splitlines():
        cells = next(csv.reader([line]))
        if not line.startswith(("#", "label")) and cells[3]:
            cells[5] = ""
            rows.writerow(cells)
        else:
            out.write(line + "\n")
    path.write_text(out.getvalue(), encoding="utf-8")
    ran = run("calibrate", str(path), "--json")
    assert ran.code == 0
    assert set(ran.document["lines"]) == {kind.replace(" ", "_") for kind in BIAS}
    assert ran.document["notes"] == []


def test_inches_are_told_where_they_are_asked_for(shop: Path) -> None:
    fill()
    said = run("calibrate", str(sheet()), "--units", "in").said
    assert "slot: printed = drawn -0.00" in said  # 0.17 mm is 0.0067 in
    assert "extrapolated, 0.236 in to 1.004 in was measured or tried" in said  # 6 and 25.5 mm


def test_a_coupon_told_in_inches_says_both(tmp_path: Path) -> None:
    said = run(*COUPON, "--units", "in", "--out", str(tmp_path)).said
    assert "A are bores for a bit's shank, 8 mm (0.315 in) across" in said
    assert "X1 10 (0.394 in)" in said


def test_a_coupon_is_not_told_of_what_is_meant_to_fail_nor_of_no_proof(tmp_path: Path) -> None:
    ran = run(*COUPON, "--out", str(tmp_path))
    assert "bridge mend" not in ran.said
    assert "findings on its bridges, overhangs and lying bores are left out" in ran.said
    assert "0 of 0" not in ran.said


def test_a_bound_in_inches_is_a_size_of_the_shop(tmp_path: Path) -> None:
    ran = run(*COUPON, "--drill", "1/2 in", "--units", "in", "--out", str(tmp_path))
    assert ran.code == 2
    assert "--drill is 1/2 in; it must be 0.158 in to 0.472 in." in ran.said  # 4 to 12 mm
