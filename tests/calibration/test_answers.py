"""A sheet filled in for a printer whose errors are known, read back; and sheets filled in wrong."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable
from dataclasses import astuple, replace

import pytest

from fixtures.calibration.by_eye import last_clean
from fixtures.calibration.estimate import calibration, fitted
from fixtures.calibration.question import Question
from fixtures.calibration.sheet import read, template
from fixtures.calibration.writing import printer_file
from fixtures.errors import InputError
from fixtures.piece.piece import printer_of
from fixtures.piece.tables import PieceFile
from fixtures.printer import Line, Printer

SIZES = (5.0, 8.0, 12.0, 16.0, 20.0, 25.0, 30.0)
BLOCKS = tuple(Question(f"X{n}", "outside x", s) for n, s in enumerate(SIZES, 1))
SLOTS = tuple(Question(f"A{n}", "slot", 18.0 + 0.05 * n, 18.1) for n in range(1, 9))
REST = (
    Question("F1", "flare", 16.0),
    Question("B1", "bridge", 10.0),
    Question("B2", "bridge", 20.0),
    Question("B3", "bridge", 30.0),
)
ASKED = (*BLOCKS, *SLOTS, *REST)
SAID = {
    **{q.label: f"{q.nominal + 0.05 + 0.01 * (n % 2):.2f}," for n, q in enumerate(BLOCKS)},
    **{q.label: f",{'yes' if q.nominal > 18.22 else 'no'}" for q in SLOTS},
    "F1": "16.35,",
    "B1": ",yes",
    "B2": ",yes",
    "B3": ",no",
    "time": "78,",
}


def filled(said: dict[str, str] | None = None, *, asked: tuple[Question, ...] = ASKED) -> str:
    """The template with the last two cells of a row as said."""
    said = SAID if said is None else said
    lines = []
    for line in template(asked, "c1", 60.0).splitlines():
        label = line.split(",")[0]
        lines.append(line[:-1] + said[label] if label in said else line)
    return "\n".join(lines) + "\n"


def told(text: str | bytes) -> str:
    with pytest.raises(InputError) as refusal:
        calibration(read(text, "s.csv", ASKED, "c1"), "2026-01-31")
    return str(refusal.value)


def test_a_sheet_filled_in_gives_the_printer() -> None:
    answers = read(filled(), "s.csv", ASKED, "c1")
    found = calibration(answers, "2026-01-31")
    assert found.outside_x is not None
    assert found.slot is not None
    assert found.outside_x.a == 1.0
    assert found.outside_x.b == pytest.approx(0.05 + 0.01 * 3 / 7)  # mean of the offsets
    # 18.20 does not take 18.10, 18.25 does: b between -0.15 and -0.10
    assert found.slot.b == pytest.approx(-0.125)
    # the step / sqrt 12, the calipers the panel was measured with, the slots' own scatter: GUM
    half = 1.96 * math.sqrt(0.05**2 / 12 + 0.0147**2 + 0.02**2)
    assert found.slot.b_low == pytest.approx(-0.125 - half, abs=1e-4)
    assert found.slot.b_high == pytest.approx(-0.125 + half, abs=1e-4)
    assert found.slot.spread == 0.02  # what is usual: one gauge tells nothing of it
    assert found.slot.a == 1.0
    assert found.slot.mean == pytest.approx(18.225)
    assert (found.slot.a_low, found.slot.a_high) == (0.994, 1.006)
    assert found.flare == pytest.approx((0.35 - found.outside_x.b) / 2)
    assert found.time_scale == pytest.approx(1.3)
    assert found.outside_y is None
    assert last_clean(answers, "bridge") == found.bridge == 20.0
    assert found.overhang is None


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda t: "\ufeff" + t,
        lambda t: t.replace("\n", "\r\n"),
        lambda t: t.replace(".", "§").replace(",", ";").replace("§", ","),
        lambda t: t.replace(",", "\t"),
        lambda t: "\n".join(
            ",".join(f'"{c}"' for c in line.split(",")) if line[0] != "#" else line
            for line in t.splitlines()
        ),
        lambda t: t.replace("yes", "YES").replace("\n", ",,\n"),
        lambda t: t.replace("78,", "1:18,"),
        lambda t: t.replace("16.35,", "16.35 mm,"),
    ],
    ids=["bom", "crlf", "decimal comma", "tabs", "quoted", "padded", "clock", "unit"],
)
def test_what_spreadsheets_do_is_taken(spoilt: Callable[[str], str]) -> None:
    plain = calibration(read(filled(), "s.csv", ASKED, "c1"), "2026-01-31")
    assert calibration(read(spoilt(filled()), "s.csv", ASKED, "c1"), "2026-01-31") == plain


def swap(*pairs: tuple[str, str]) -> str:
    said = {**SAID, **dict(pairs)}
    return filled(said)


def changed(old: str, new: str) -> str:
    text = filled()
    assert old in text
    return text.replace(old, new, 1)


INCHES = filled({**SAID, **{q.label: f"{q.nominal / 25.4:.3f}," for q in BLOCKS}})
CM = filled({**SAID, **{q.label: f"{q.nominal / 10:.3f}," for q in BLOCKS}})
FEW = filled({"X1": "5.05,", "X2": "8.05,"})
NOISE = (0.12, -0.12, 0.12, -0.12, 0.12, -0.12, 0.12)
NOISY = filled({**SAID, **{q.label: f"{q.nominal + NOISE[n]:.2f}," for n, q in enumerate(BLOCKS)}})
WRONG: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "s.csv is empty."),
    "workbook": (b"PK\x03\x04\0\0", "Save the sheet as CSV, not as a workbook."),
    "zeros": (b"a\0b", "is not text"),
    "prose": ("We measured it\n", "line 1 is no row of CSV"),
    "notes only": ("# hello\n", "holds no table"),
    "other table": ("x,y\n1,2\n", "is no line of headings: x, y"),
    "missing column": (changed("measured_mm,goes\n", "goes\n"), "has no column measured_mm"),
    "extra column": (changed("goes\n", "goes,why\n"), "has a column why too many"),
    "double column": (changed("gauge_mm,measured", "gauge_mm,gauge_mm,measured"), "two columns"),
    "headings only": (template((), "c1"), "has headings and no rows"),
    "no answer": (template(ASKED, "c1"), "has no answer in it yet"),
    "other coupon": (changed("# coupon c1", "# coupon c2"), "is about coupon c2; this one is c1"),
    "unknown label": (changed("X1,", "X9,"), "about X9, which is not on this coupon"),
    "no label": (changed("X1,", ","), "has no label"),
    "label twice": (changed("X2,", "X1,"), "answers X1 again, after line"),
    "unknown kind": (changed("X1,outside x", "X1,outsize x"), "Did you mean outside x?"),
    "other kind": (changed("X1,outside x", "X1,outside y"), "X1 is outside y; it is outside x"),
    "nominal edited": (changed("5.000", "5.050"), "has nominal_mm 5.05 for X1; it is 5"),
    "nominal gone": (changed("5.000", ""), "has no nominal_mm"),
    "gauge edited": (changed("18.100", "19.200"), "another gauge_mm for A1; it is 18.1"),
    "not a number": (swap(("X1", "wide,")), "has measured_mm 'wide'"),
    "other unit": (swap(("X1", "5 kg,")), "'kg' is not a unit of length"),
    "spreadsheet error": (swap(("X1", "#REF!,")), "left in place of a number"),
    "date": (swap(("X1", "5.Jan,")), "a spreadsheet made a date of it"),
    "comma quoted": (swap(("X1", '"5,05",')), "with a comma. Write a decimal point"),
    "extra cell": (swap(("X1", "5.05,,later")), "has 7 cells, not 6"),
    "comma bare": (swap(("X1", "5,05,")), "has goes '05'. Was that a decimal comma before it?"),
    "negative": (swap(("X1", "-5,")), "which is negative"),
    "zero": (swap(("X1", "0,")), "leave it empty if you did not measure"),
    "huge": (swap(("X1", "5050,")), "which is more than 1000 mm"),
    "not finite": (swap(("X1", "nan,")), "which is not a finite number"),
    "goes perhaps": (swap(("A1", ",perhaps")), "has goes 'perhaps'. Write yes or no"),
    "goes contradicts": (swap(("A1", ",yes")), "but the wider A4"),
    "all go": (filled({q.label: ",yes" for q in SLOTS}), "every size takes it"),
    "none goes": (filled({q.label: ",no" for q in SLOTS}), "no size takes it"),
    "goes without gauge": (swap(("X1", ",yes")), "X1 has no gauge to go in"),
    "measured and goes": (swap(("A8", "17.70,yes")), "yet a gauge of 18.1 mm goes in"),
    "inches": (INCHES, "these are inches"),
    "centimetres": (CM, "these are centimetres"),
    "one in inches": (swap(("X7", "1.183,")), "that is inches"),
    "swapped rows": (swap(("X1", "8.05,"), ("X2", "5.05,")), "size of X2, swapped rows?"),
    "mistyped": (swap(("X5", "23.02,")), "far from its nominal 20 mm."),
    "too few": (FEW, "outside x has 2 measured; 1 more needed"),
    "one off": (swap(("X5", "20.45,")), "X5 (outside x) is +0.39 mm off the line"),
    "scatter": (NOISY, "0.05 mm is the most"),
    "flare": (swap(("F1", "19.00,")), "the flare comes out as 1.47 mm a side"),
    "time word": (swap(("time", "long,")), "has time 'long'"),
    "time in hours": (swap(("time", "1.3,")), "took 1.3 minutes where 60 were computed"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_sheet_is_told_what_is_wrong(case: str) -> None:
    text, words = WRONG[case]
    assert words in told(text)


def test_every_wrong_sheet_has_a_message_of_its_own() -> None:
    messages = {told(text) for text, _ in WRONG.values()}
    assert len(messages) == len(WRONG) >= 25


def test_all_that_is_wrong_is_told_at_once() -> None:
    said = told(swap(("X1", "wide,"), ("A1", ",perhaps"), ("X3", "-2,")))
    assert len(said.splitlines()) == 3


def test_a_printer_file_reads_back_to_a_tenth_of_a_micrometre() -> None:
    found = calibration(read(filled(), "s.csv"), "2026-01-31")
    tiny = Line(0.9971, -0.20003, 0.99, 0.999, -0.0004, 0.00007, 0.01234, 9, 7.25)
    printer = replace(Printer(), calibration=replace(found, bore_lying=tiny, overhang=55.0))
    read_back = printer_of(PieceFile.model_validate(tomllib.loads(printer_file(printer))).printer)
    assert read_back.calibration is not None
    assert printer.calibration is not None
    for kind in ("outside_x", "slot", "bore_lying"):
        ours, theirs = getattr(printer.calibration, kind), getattr(read_back.calibration, kind)
        assert astuple(theirs) == pytest.approx(astuple(ours), abs=1e-4)
    assert read_back.calibration.flare == pytest.approx(found.flare, abs=1e-4)
    assert (read_back.calibration.bridge, read_back.calibration.overhang) == (20.0, 55.0)
    assert read_back.calibration.time_scale == found.time_scale
    assert (read_back.bed, read_back.layer) == (printer.bed, printer.layer)


def test_labels_a_spreadsheet_took_for_numbers_are_known_again() -> None:
    asked = tuple(Question(f"{q.nominal:.2f}", "slot", q.nominal, 18.1) for q in SLOTS)
    said = {q.label: f",{'yes' if q.nominal > 18.22 else 'no'}" for q in asked}
    text = filled(said, asked=asked)
    assert "\n18.20," in text
    mangled = text.replace("\n18.20,", "\n18.2,").replace(".", "§").replace(",", ";")
    again = read(mangled.replace("§", ","), "s.csv", asked)
    assert again == read(text, "s.csv", asked)


def test_a_gauge_that_goes_in_nowhere_spoils_nothing_where_another_closes_in() -> None:
    small = (Question("D1", "slot", 12.1, 12.0), Question("D2", "slot", 12.2, 12.0))
    said = {**SAID, "D1": ",no", "D2": ",no"}
    found = calibration(read(filled(said, asked=(*ASKED, *small)), "s.csv"), "2026-01-31")
    assert found.slot is not None
    assert found.slot.b == pytest.approx(-0.125)


def test_a_printer_file_of_before_the_mean_size_was_kept_still_reads() -> None:
    found = calibration(read(filled(), "s.csv"), "2026-01-31")
    text = printer_file(replace(Printer(), calibration=found))
    without = re.sub(r"\nmean = .*", "", text)
    assert without.count("mean") == 0 < text.count("mean")
    old = printer_of(PieceFile.model_validate(tomllib.loads(without)).printer).calibration
    assert old is not None
    assert old.slot is not None
    assert old.slot.mean is None
    assert old.slot.doubt(3.0) == old.slot.doubt(30.0)


def crossing(*stuck: float) -> str:
    """Slots as tried, those of these sizes stuck."""
    return filled({**SAID, **{q.label: f",{'no' if q.nominal in stuck else 'yes'}" for q in SLOTS}})


def test_neighbours_that_come_out_the_other_way_round_are_taken_with_more_doubt() -> None:
    """Prints scatter: 18.10 and 18.20 stuck, 18.15 not; the limit is about 18.175."""
    sizes = {round(q.nominal, 2): q.nominal for q in SLOTS}
    mixed = crossing(sizes[18.05], sizes[18.1], sizes[18.2])
    found = calibration(read(mixed, "s.csv"), "2026-01-31").slot
    assert found is not None
    assert found.b == pytest.approx(18.1 - 18.175)
    # closed in between two steps, not one
    half = 1.96 * math.sqrt(0.10**2 / 12 + 0.0147**2 + 0.02**2)
    assert found.b_high - found.b == pytest.approx(half, abs=1e-4)


def test_gauges_that_agree_are_no_proof_of_a_printer_without_scatter() -> None:
    small = tuple(Question(f"D{n}", "slot", 12.0 + 0.05 * n, 12.1) for n in range(1, 9))
    said = {q.label: f",{'yes' if q.nominal > 12.22 else 'no'}" for q in small}
    found = calibration(
        read(filled({**SAID, **said}, asked=(*ASKED, *small)), "s.csv"), "2026-01-31"
    )
    assert found.slot is not None
    assert found.slot.b == pytest.approx(-0.125)
    assert found.slot.spread == 0.02
    assert found.slot.doubt(15.0) > 0.03


def test_a_gauge_far_off_the_others_is_refused() -> None:
    small = tuple(Question(f"D{n}", "slot", 12.0 + 0.1 * n, 12.1) for n in range(1, 9))
    said = {q.label: f",{'yes' if q.nominal > 12.62 else 'no'}" for q in small}
    with pytest.raises(InputError, match=r"slot, gauge 1\d\.1 mm: its limit lies 0\.21 mm off"):
        calibration(read(filled({**SAID, **said}, asked=(*ASKED, *small)), "s.csv"), "2026-01-31")


LYING = (
    *(Question(f"E{n}", "bore lying", 5.1 + 0.1 * n, 5.0) for n in range(1, 6)),
    *(Question(f"N{n}", "bore lying", size) for n, size in enumerate((6.0, 9.0, 7.5), 1)),
)


def notes(said: dict[str, str], asked: tuple[Question, ...] = (*ASKED, *LYING)) -> list[str]:
    answers = read(filled({**SAID, **said}, asked=asked), "s.csv", asked, "c1")
    return list(fitted(answers, "2026-01-31").notes)


def test_a_kind_with_too_few_answers_goes_by_guide_values_and_the_others_are_fitted() -> None:
    said = {**SAID, "N1": "5.71,", "N2": "8.70,"}
    asked = (*ASKED, *LYING)
    found = fitted(read(filled(said, asked=asked), "s.csv", asked, "c1"), "2026-01-31")
    assert found.calibration.bore_lying is None
    assert found.calibration.outside_x is not None
    assert found.notes == ("Lying bores go by guide values: 2 of 3 measured; not N3.",)


def test_calipers_alone_are_enough() -> None:
    said = {**SAID, "N1": "5.71,", "N2": "8.70,", "N3": "7.21,"}
    asked = (*ASKED, *LYING)
    found = fitted(read(filled(said, asked=asked), "s.csv", asked, "c1"), "2026-01-31")
    assert found.calibration.bore_lying is not None
    assert found.calibration.bore_lying.b == pytest.approx(-0.2933, abs=1e-4)  # their mean
    assert found.notes == ()
    assert found.between["bore lying"] == (6.0, 9.0)


MEASURED = {"N1": "5.71,", "N2": "8.70,", "N3": "7.21,"}


def test_a_gauge_that_closes_nothing_in_is_told_and_left_out() -> None:
    """All five, 5.2 to 5.6 mm, are about 0.3 mm narrower: a shank of 4.9 mm goes into each."""
    small = tuple(replace(q, gauge=4.88) if q.gauge == 5.0 else q for q in LYING)
    yes = {f"E{n}": ",yes" for n in range(1, 6)}
    (note,) = notes({**MEASURED, **yes}, (*ASKED, *small))
    assert note == (
        "Lying bores: every size tried takes the gauge of 4.88 mm, so it closes nothing in and was "
        "left out; calipers alone tell."
    )


@pytest.mark.parametrize(
    ("goes", "off", "words", "remedy"),
    [
        ("no", -0.30, "no size tried takes the gauge of 5 mm, but by what was measured E5", "Cut"),
        ("yes", -0.50, "every size tried takes the gauge of 5 mm, but by what was", "Measure the"),
    ],
)
def test_a_gauge_that_contradicts_the_calipers_is_a_fault(
    goes: str, off: float, words: str, remedy: str
) -> None:
    """E5 should be 5.3 mm wide, so a shank of 5 mm goes in; E1 4.7 mm, so none does."""
    said = {q.label: f"{q.nominal + off:.2f}," for q in LYING if q.gauge is None}
    with pytest.raises(InputError) as refusal:
        notes({**said, **{f"E{n}": f",{goes}" for n in range(1, 6)}})
    (fault,) = refusal.value.faults
    assert words in fault.message
    assert fault.remedy.startswith(remedy)


def test_a_swapped_row_names_its_twin_of_the_same_kind_first() -> None:
    """M1 and M2 are as large as blocks and slots that stand in other rows."""
    bores = tuple(
        Question(f"M{n}", "bore standing", size) for n, size in enumerate((6.0, 12.0, 16.0), 1)
    )
    asked = (*ASKED, *bores)
    said = {**SAID, "M1": "11.80,", "M2": "5.80,", "M3": "15.80,"}
    with pytest.raises(InputError) as refusal:
        fitted(read(filled(said, asked=asked), "s.csv", asked, "c1"), "2026-01-31")
    first, second = str(refusal.value).splitlines()
    assert "M1 measured 11.8 mm" in first
    assert "that is the size of M2, swapped rows? Look at M2 in line" in first
    assert "that is the size of M1, swapped rows?" in second


def test_one_size_far_off_is_named_even_among_three() -> None:
    said = {**SAID, "N1": "5.71,", "N2": "9.01,", "N3": "7.21,"}
    asked = (*ASKED, *LYING)
    text = filled(said, asked=asked)
    line = next(n for n, row in enumerate(text.splitlines(), 1) if row.startswith("N2,"))
    with pytest.raises(InputError) as refusal:
        fitted(read(text, "s.csv", asked, "c1"), "2026-01-31")
    told_ = str(refusal.value)
    # 9.01 - 8.70, which the mean offset of the others gives
    assert f"s.csv line {line}: N2 (bore lying) is +0.30 mm off what the others say" in told_
    assert told_.endswith("Measure N2 again.")


def test_a_clean_overhang_after_one_that_is_not_is_told() -> None:
    steps = tuple(Question(f"H{n}", "overhang", 30.0 + 10.0 * n) for n in range(1, 5))
    said = {"H1": ",yes", "H2": ",yes", "H3": ",no", "H4": ",yes"}
    (note,) = notes(said, (*ASKED, *steps))
    assert note == (
        "Overhangs: H3 (60°) is not clean, yet H4 (70°) is. Look at both again; until then 50° is "
        "taken as the last clean one."
    )


@pytest.mark.parametrize("asked", [ASKED, None], ids=["coupon known", "sheet alone"])
def test_a_gauge_corrected_in_one_row_is_that_size_in_all(
    asked: tuple[Question, ...] | None,
) -> None:
    """The panel is 18.05 mm where it was tried, not 18.10."""
    text = filled().replace("A3,slot,18.150,18.100", "A3,slot,18.150,18.050")
    found = calibration(read(text, "s.csv", asked), "2026-01-31")
    assert found.slot is not None
    assert found.slot.b == pytest.approx(18.05 - 18.225)


def test_a_gauge_cannot_have_two_real_sizes() -> None:
    text = filled().replace("A3,slot,18.150,18.100", "A3,slot,18.150,18.050")
    text = text.replace("A5,slot,18.250,18.100", "A5,slot,18.250,18.150")
    with pytest.raises(InputError, match=r"has gauge_mm 18\.15 for A5; A3 in line"):
        read(text, "s.csv", ASKED, "c1")


def test_what_is_known_least_is_said_with_the_rows_to_measure() -> None:
    said = {**SAID, **{q.label: f"{q.nominal - 0.3:.2f}," for q in LYING if q.gauge is None}}
    asked = (*ASKED, *LYING)
    del said["X7"]
    answers = read(filled(said, asked=asked), "s.csv", asked, "c1")
    found = fitted(answers, "2026-01-31")
    assert found.unsure.startswith("Known least: ")
    # the slots, closed in by one gauge alone to half a step and the usual scatter
    assert "slots, to within" in found.unsure


def test_the_printer_file_names_its_coupon() -> None:
    found = calibration(read(filled(), "s.csv"), "2026-01-31")
    text = printer_file(replace(Printer(), calibration=found), "SNJQ")
    assert 'date = "2026-01-31"  # coupon SNJQ' in text
    assert tomllib.loads(text)["printer"]["calibration"]["date"] == "2026-01-31"


def test_words_on_where_a_question_is_are_written_and_not_read() -> None:
    placed = tuple(replace(q, where=f"place of {q.label}") for q in ASKED)
    text = template(placed, "c1", 60.0)
    heading = next(line for line in text.splitlines() if line.startswith("label"))
    assert heading == "label,kind,nominal_mm,gauge_mm,measured_mm,goes,where"
    assert "A1,slot,18.050,18.100,,,place of A1" in text
    said = text.replace("A1,slot,18.050,18.100,,,place", "A1,slot,18.050,18.100,,no,a place")
    (first,) = [a for a in read(said, "s.csv", placed, "c1").answers if a.goes is not None]
    assert (first.question.label, first.goes) == ("A1", False)
