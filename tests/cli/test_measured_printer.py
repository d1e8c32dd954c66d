"""What a measured printer does to parts and kits, and how it is told, as a user types it."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.ingest import read
from fixtures.mesh import bounds
from tests.cli.measured import A_X, DATE, OUT_X, PIECE, PRINTER, SLOT
from tests.cli.running import run

READINGS = ("--thickness", "12.2 mm", "--thickness", "12.1 mm", "--thickness", "12.2 mm")
SOCKET = ("make", "corner-socket", *READINGS)
SPACER = ("make", "spacer-block", "--height", "160 mm")
MY = ("--printer", "my.toml")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with a printer file and a piece file."""
    monkeypatch.chdir(tmp_path)
    Path("my.toml").write_text(PRINTER, encoding="utf-8")
    Path("p.toml").write_text(PIECE, encoding="utf-8")
    return tmp_path


# --- nominal -------------------------------------------------------------------------------------


def test_nominal_makes_the_part_of_a_printer_nobody_measured(shop: Path) -> None:
    """Its mark, its clearance (0.40 mm, shop practice of fit) and its bytes."""
    plain = run(*SOCKET, "--json", "--out", "a").document
    nominal = run(*SOCKET, *MY, "--nominal", "--json", "--out", "b").document
    assert nominal["name"] == plain["name"]
    assert nominal["fit"]["clearance_mm"] == pytest.approx(0.40)
    (name,) = (name for name in plain["files"] if name.endswith(".stl"))
    assert Path("a", name).read_bytes() == Path("b", name).read_bytes()


def test_under_nominal_the_chance_is_of_the_slot_as_it_comes_out(shop: Path) -> None:
    """The slot is drawn 12.60, comes out 12.37 and leaves 0.17 mm at the largest reading."""
    nominal = run(*SOCKET, *MY, "--nominal", "--json").document["fit"]
    drawn_for = run(*SOCKET, *MY, "--json").document["fit"]
    assert nominal["clearance_printed_mm"] == pytest.approx(0.40 + SLOT)
    assert drawn_for["clearance_printed_mm"] == pytest.approx(0.30)
    assert nominal["goes_in_share"] < drawn_for["goes_in_share"]
    # a clearance asked for there loses what the printer takes off
    gap = nominal["clearance_wanted_mm"] - drawn_for["clearance_wanted_mm"]
    assert gap == pytest.approx(-SLOT, abs=0.002)
    said = run(*SOCKET, *MY, "--nominal").said
    assert "the slot comes out 0.23 mm narrower on this printer" in said


# --- what was drawn ------------------------------------------------------------------------------


def test_what_is_told_of_a_spacer_is_what_its_file_measures(shop: Path) -> None:
    """printed = a · drawn + b, so 160 mm is drawn (160 - 0.1) / 0.9976 = 160.28 mm."""
    wanted = (160 - OUT_X) / A_X
    document = run(*SPACER, *MY, "--json").document
    (name,) = (name for name in document["files"] if name.endswith(".stl"))
    low, high = bounds(read(Path("out", name).read_bytes(), name).mesh)
    assert high[0] - low[0] == pytest.approx(wanted, abs=0.005)
    assert document["scale"] == pytest.approx([1 / A_X, 1.0, 1.0], abs=1e-6)
    (span,) = document["drawn"]["spans"]
    assert span["drawn_mm"] == pytest.approx(wanted, abs=1e-4)
    said = run(*SPACER, *MY).said
    assert "along X drawn × 1.0024 and 0.10 mm smaller: 160 mm as 160.28 mm" in said


def test_a_part_that_is_only_scaled_says_so(shop: Path) -> None:
    said = run("make", "clamp-caul", *MY).said
    assert "lengths along X drawn × 1.0024" in said
    assert "nothing" not in said.partition("Drawn for this printer")[2].partition("Print ")[0]


def test_what_was_drawn_is_told_in_inches_where_inches_are_asked_for(shop: Path) -> None:
    said = run(*SPACER, *MY, "--units", "in").said
    assert "0.004 in smaller: 6.299 in as 6.310 in" in said  # 160 and 160.285 over 25.4
    assert "slots drawn 0.009 in wider" in run(*SOCKET, *MY, "--units", "in").said


def test_each_kind_of_size_is_told_once(shop: Path) -> None:
    out = run("make", "slot-comb", *READINGS, *MY).out
    assert out.count("slots drawn") == 1
    assert "slots drawn 0.23 mm wider" in out


def test_a_comb_drawn_for_its_printer_asks_for_no_clearance(shop: Path) -> None:
    comb = ("make", "slot-comb", *READINGS)
    assert "give the rest to --clearance" in run(*comb).said
    for how in ((), ("--nominal",)):
        said = run(*comb, *MY, *how).said
        assert "give the rest" not in said
        assert "ive none of it to --clearance" in said


def test_a_spacer_says_what_was_measured_of_its_height(shop: Path) -> None:
    assert "commonly about ±0.2 mm until measured" in run(*SPACER).said
    measured, nominal = run(*SPACER, *MY).said, run(*SPACER, *MY, "--nominal").said
    assert f"by the coupon of {DATE}, 95 of 100 prints come within" in measured
    # 0.9976 · 160 + 0.1 is 0.28 mm less than 160
    assert "160 mm comes out about 0.28 mm too short" in nominal
    assert "until measured" not in measured + nominal


def test_one_reading_makes_the_sheets_spread_an_assumption(shop: Path) -> None:
    said = run("make", "corner-socket", "--thickness", "12.2 mm", *MY).said
    assert "the sheet 0.10 mm (assumed, there is one reading)" in said
    assert "assumed" not in run(*SOCKET, *MY).said


# --- what contradicts what was measured ----------------------------------------------------------


def test_another_material_than_the_coupons_is_told_and_not_refused(shop: Path) -> None:
    ran = run(*SPACER, *MY, "--material", "PETG", "--json")
    assert ran.code == 0
    (found,) = (f for f in ran.document["findings"] if f["check"] == "measured-for-another")
    assert found["severity"] == "mend"
    assert f"measured for PLA (coupon of {DATE}), and PETG is asked for" in found["message"]
    same = run(*SPACER, *MY, "--material", "pla", "--json").document
    assert not any(f["check"] == "measured-for-another" for f in same["findings"])
    unmeasured = run(*SPACER, "--material", "PETG", "--json").document
    assert not any(f["check"] == "measured-for-another" for f in unmeasured["findings"])


def with_printer(lines: str) -> None:
    Path("p.toml").write_text(f"{PIECE}[printer]\n{lines}\n", encoding="utf-8")


def test_keys_beside_a_printer_file_may_only_say_the_same(shop: Path) -> None:
    with_printer('file = "my.toml"\nlayer = "0.3 mm"\nmaterial = "PETG"\nnozzle = "0.4 mm"')
    text = Path("p.toml").read_text(encoding="utf-8")
    Path("p.toml").write_text(text.replace('stock = "case"\nfixing', 'stock = "no"\nfixing'))
    ran = run("kit", "p.toml", "--json")
    assert ran.code == 2
    # all at once, with what else is wrong in the file
    assert {"printer.layer", "printer.material"} < set(ran.places())
    assert "printer.nozzle" not in ran.places()
    assert any(place.startswith("shelf") for place in ran.places())
    said = run("kit", "p.toml").said
    assert "printer.layer is 0.3 mm, and my.toml says 0.2 mm" in said
    assert "Leave out printer.layer, or print a coupon with 0.3 mm" in said


def test_a_printer_file_is_looked_up_beside_the_piece_and_that_is_said(shop: Path) -> None:
    with_printer('file = "none.toml"')
    said = run("kit", "p.toml").said
    assert "none.toml is not there" in said
    assert "is looked up beside the piece file" in said


# --- a kit ---------------------------------------------------------------------------------------


def test_a_kit_tells_its_printer_and_what_becomes_of_an_earlier_one(shop: Path) -> None:
    """One walk, as each kit takes seconds: unmeasured, by --printer, as designed."""
    with_printer('bed = ["200 mm", "200 mm", "200 mm"]')
    plain = run("kit", "p.toml", "--as", "stl", "--json").document
    assert plain["printer"]["coupon"] is None
    assert "PRINTER" not in Path("out/p/sheet.txt").read_text(encoding="utf-8")

    ran = run("kit", "p.toml", "--as", "stl", *MY)
    assert ran.code == 0
    assert f"measured with the coupon of {DATE} for PLA, layers of 0.2 mm" in ran.said
    assert f"changed printer: measured with the coupon of {DATE}" in ran.said
    assert "printer.calibration" not in ran.said
    # drawn 100, printed 0.9976 · 100 + 0.1 = 99.86; a socket's 12.6 leaves 0.40 - 0.23
    assert "about 0.14 mm less than 100 mm" in ran.said
    assert "its slots leave 0.17 mm of clearance now, as they came out" in ran.said
    sheet = " ".join(Path("out/p/sheet.txt").read_text(encoding="utf-8").split())
    printer = sheet.partition("PRINTER")[2].partition("PRINT ")[0]
    assert "slots drawn 0.23 mm wider" in printer
    assert "at the largest reading: 0.30 mm (corner-socket)" in printer
    assert "would not go into the least sure slot" in printer
    assert "To improve it, begin with the" in printer

    nominal = run("kit", "p.toml", "--as", "stl", *MY, "--nominal", "--json").document
    assert [f["name"] for f in nominal["fixtures"]] == [f["name"] for f in plain["fixtures"]]
    assert nominal["changed"] == ["printer: parts are drawn as designed"]
    assert nominal["printer"]["compensated"] is False
    least = nominal["printer"]["least_sure"]
    assert least["clearance_likely_mm"] == pytest.approx(0.40 + SLOT + 0.025, abs=1e-3)
    assert not any("-compensated" in name for f in nominal["fixtures"] for name in f["files"])
