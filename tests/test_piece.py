"""The piece file: what it says becomes values, and what it may not say is refused in words."""

from __future__ import annotations

from typing import Any

import pytest

from fixtures.errors import Fault, InputError
from fixtures.piece.blank import BLANK
from fixtures.piece.piece import parse, printer_from_file, printer_of, stock_of
from fixtures.piece.tables import PieceFile, PrinterTable
from fixtures.printer import Printer
from fixtures.stock import HOW_TO_MEASURE, Sheet, Stock

HEAD = "format = 1\n"
CASE = """
[stock.case]
material = "MDF"
nominal = "19 mm"
readings = ["19.1 mm", "19.0 mm", "3/4 in", "19.2 mm"]
finish = "0.1 mm"
"""


def read(text: str) -> PieceFile:
    return parse(HEAD + text, "p.toml")


def faults(text: str) -> tuple[Fault, ...]:
    """What is wrong with a file, from reading it to taking its stock and its printer."""

    def used() -> None:
        piece = read(text)
        printer_of(piece.printer)
        stock_of(piece, None, "p.toml")

    with pytest.raises(InputError) as refusal:
        used()
    return refusal.value.faults


def told(text: str) -> list[str]:
    return [str(fault) for fault in faults(text)]


# --- what is read ---------------------------------------------------------------------------


def test_the_blank_file_can_be_used_as_it_is() -> None:
    piece = parse(BLANK, "blank.toml")
    stock = stock_of(piece, "case", "blank.toml")
    assert stock.readings == (12.1, 12.2, 12.0, 12.2)
    assert stock.thickness_for_slot == 12.2
    assert (stock.material, stock.nominal) == ("birch plywood", 12.0)
    printer = printer_of(piece.printer)
    assert (printer.bed, printer.nozzle, printer.layer) == ((240.0, 200.0, 230.0), 0.4, 0.2)
    assert piece.piece.units == "mm"


def test_every_line_of_the_blank_file_that_is_a_note_can_be_used_too() -> None:
    assert '# finish = "0.1 mm"' in BLANK
    piece = parse(BLANK.replace('# finish = "0.1 mm"', 'finish = "0.1 mm"'), "blank.toml")
    assert stock_of(piece, "case", "blank.toml").thickness_for_slot == pytest.approx(12.4)


def test_lengths_are_read_with_their_units() -> None:
    stock = stock_of(read(CASE), "case", "p.toml")
    assert stock == Stock("case", "MDF", 19.0, (19.1, 19.0, 19.05, 19.2), 0.1)


SHEETS = """
[[stock.case.sheet]]
id = "A"
readings = ["19.1 mm", "19.2 mm"]
[[stock.case.sheet]]
id = "B"
readings = ["{b} mm", "18.8 mm"]
"""


def test_several_sheets_keep_their_letters() -> None:
    stock = stock_of(read(SHEETS.format(b="18.7")), None, "p.toml")
    assert stock.sheets == (Sheet("A", (19.1, 19.2)), Sheet("B", (18.7, 18.8)))
    assert stock.readings == (19.1, 19.2, 18.7, 18.8)


def test_sheets_far_apart_are_asked_for_one_by_one() -> None:
    piece = read(SHEETS.format(b="18.4"))
    with pytest.raises(InputError) as refusal:
        stock_of(piece, "case", "p.toml")
    assert str(refusal.value) == (
        "The sheets of case are 0.80 mm apart, sheet A, sheet B: one slot would be loose on the "
        "thinner. Make a set for each sheet letter: --stock case:A and so on."
    )
    assert stock_of(piece, "case:B", "p.toml").readings == (18.4, 18.8)
    with pytest.raises(InputError, match="case has no sheet 'C'"):
        stock_of(piece, "case:C", "p.toml")


def test_the_printer_has_defaults_for_what_is_not_said() -> None:
    assert printer_of(read("").printer) == Printer()
    said = printer_of(read('[printer]\nnozzle = "0.6 mm"\nlayer = "0.3 mm"\n').printer)
    assert (said.nozzle, said.layer) == (0.6, 0.3)
    assert said.line_width == pytest.approx(1.1 * 0.6)


def test_the_printers_material_is_looked_up() -> None:
    assert printer_of(read('[printer]\nmaterial = "PETG"\n').printer).material.name == "PETG"


# --- what is refused ------------------------------------------------------------------------


def test_a_file_that_is_not_toml_says_where() -> None:
    with pytest.raises(InputError) as refusal:
        parse("format = 1\nname = potting shelf\n", "p.toml")
    (fault,) = refusal.value.faults
    assert fault.where == "p.toml"
    assert fault.message.startswith("p.toml is not TOML: ")
    assert "line 2" in fault.message
    assert "`panelry new` writes a file to start from." in fault.remedy


@pytest.mark.parametrize("text", ["", "[piece]\nname = 'a'\n"])
def test_a_file_without_a_format_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="format is missing"):
        parse(text, "p.toml")


@pytest.mark.parametrize("said", ["2", "0", '"1"'])
def test_another_format_is_refused(said: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse(f"format = {said}\n", "p.toml")
    number = said.strip('"')
    assert str(refusal.value) == f"format is {number}; it must be 1. Give format as 1."


@pytest.mark.parametrize("said", ["true", "1.0"])
def test_a_format_that_is_no_whole_number_is_refused(said: str) -> None:
    with pytest.raises(InputError):
        parse(f"format = {said}\n", "p.toml")


def test_bare_numbers_are_refused_each_with_its_place_and_remedy() -> None:
    found = faults('[stock.case]\nreadings = [19.1, "19 mm", 19]\nnominal = 19\nfinish = 0.1\n')
    assert [(fault.where, fault.value, str(fault)) for fault in found] == [
        ("stock.case.nominal", "19", "19 has no unit. Write 19 mm or 19 in."),
        ("stock.case.readings.1", "19.1", "19.1 has no unit. Write 19.1 mm or 19.1 in."),
        ("stock.case.readings.3", "19", "19 has no unit. Write 19 mm or 19 in."),
        ("stock.case.finish", "0.1", "0.1 has no unit. Write 0.1 mm or 0.1 in."),
    ]


def test_a_bare_number_in_quotes_is_refused_too() -> None:
    assert told('[printer]\nnozzle = "0.4"\n') == ["0.4 has no unit. Write 0.4 mm or 0.4 in."]


def test_a_decimal_comma_is_asked_about() -> None:
    (said,) = told('[stock.case]\nreadings = ["19,1 mm"]\n')
    assert said.startswith("19,1 mm: is that 19.1 mm? Write a decimal point.")


@pytest.mark.parametrize(
    ("text", "where", "nearest"),
    [
        ('[stok.case]\nreadings = ["19 mm"]\n', "stok", "Did you mean stock?"),
        ("[piece]\ncopys = 2\n", "piece.copys", "Did you mean piece.copies?"),
        ('[printer]\nnozle = "0.4 mm"\n', "printer.nozle", "Did you mean printer.nozzle?"),
        (
            "colour = 3\n",
            "colour",
            f"Known here: {', '.join(PieceFile.model_fields)}.",
        ),
    ],
)
def test_unknown_keys_are_refused_with_the_nearest(text: str, where: str, nearest: str) -> None:
    (fault,) = faults(text)
    assert fault.where == where
    assert fault.message == f"{where} is not known here."
    assert fault.remedy == nearest


@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ('[stock.case]\nreading = ["19 mm"]\n', "Did you mean stock.case.readings?"),
        (
            '[[stock.case.sheet]]\nid = "A"\nreadigns = ["19 mm"]\n',
            "Did you mean stock.case.sheet.1.readings?",
        ),
    ],
)
def test_unknown_keys_of_a_stock_are_refused_with_the_nearest(text: str, nearest: str) -> None:
    assert nearest in [fault.remedy for fault in faults(text)]


def test_all_that_is_wrong_is_told_at_once() -> None:
    found = faults(
        '[piece]\ncopies = 0\nunits = "cm"\n[stock.case]\nreadings = [19]\n'
        '[printer]\nmaterial = "wood"\nrings = 0\n'
    )
    assert [fault.where for fault in found] == [
        "piece.copies",
        "piece.units",
        "stock.case.readings.1",
        "printer.material",
        "printer.rings",
    ]
    assert [fault.value for fault in found] == ["0", "cm", "19", "wood", "0"]
    assert str(found[0]) == (
        "piece.copies is 0; it must be 1 to 1000. Give piece.copies as 1 to 1000."
    )
    assert "PLA, PETG, ABS, ASA, PA or TPU" in found[3].message


def test_bounds_of_lengths_are_told_with_their_unit() -> None:
    (said,) = told('[printer]\nwidth = "9 mm"\n')
    assert said == (
        "printer.width is 9 mm; it must be 0.1 mm to 3 mm. Give printer.width as 0.1 mm to 3 mm."
    )


@pytest.mark.parametrize(
    "text",
    [
        '[stock.case]\nreadings = "19 mm"\n',
        '[printer]\nbed = "240 mm"\n',
        '[stock]\ncase = "19 mm"\n',
        "stock = 3\n",
        "[piece]\nname = 3\n",
    ],
)
def test_no_message_speaks_in_the_words_of_a_library(text: str) -> None:
    for said in told(text):
        assert "Input should be" not in said
        assert "tuple" not in said
        assert "dictionary" not in said


def test_a_bound_that_is_not_allowed_itself_is_told_with_the_other() -> None:
    assert told('[goal]\ndiagonals = "0 mm"\n') == [
        "goal.diagonals is 0 mm; it must be more than 0 and up to 20 mm. Give goal.diagonals as "
        "more than 0 and up to 20 mm."
    ]
    # 5 mm is 0.19685 in, told rounded down so that it is allowed
    assert told('[piece]\nunits = "in"\n[goal]\nmitre_gap = "0 in"\n') == [
        "goal.mitre_gap is 0 in; it must be more than 0 and up to 0.196 in. Give goal.mitre_gap as "
        "more than 0 and up to 0.196 in."
    ]


@pytest.mark.parametrize("key", ["shelf", "divider", "bit", "fixtures"])
def test_one_of_several_that_is_headed_as_the_only_one_is_told_how_to_be_headed(key: str) -> None:
    assert told(f'[{key}]\nname = "a"\n') == [
        f"{key} is written as one table, [{key}], and there can be several. Write [[{key}]], once "
        "for each."
    ]


def test_a_sheet_of_a_stock_that_is_headed_as_the_only_one_is_told_with_its_stock() -> None:
    head = '[stock."side board".sheet]\nid = "A"\nreadings = ["19 mm"]\n'
    assert told(head) == [
        'stock.side board.sheet is written as one table, [stock."side board".sheet], and there can '
        'be several. Write [[stock."side board".sheet]], once for each.'
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '[[case]]\nwidth = "300 mm"\n',
            "case is written as a list of tables, [[case]], and there is only one. Write [case].",
        ),
        (
            '[[stock]]\nreadings = ["19 mm"]\n',
            "stock is written as a list of tables, [[stock]], and each of them wants a name. "
            "Write [stock.NAME] for each.",
        ),
    ],
)
def test_a_table_that_is_headed_as_a_list_is_told_how_to_be_headed(
    text: str, sentence: str
) -> None:
    assert told(text) == [sentence]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '[case]\nwidth = "300 mm"\n[case]\n',
            "[case] is in p.toml twice, again in line 4. Put all its keys under one [case].",
        ),
        (
            "[stock.case]\n[stock.case]",
            "[stock.case] is in p.toml twice, again in line 3. Put all its keys under one "
            "[stock.case].",
        ),
        (
            "[case]\nback = {}\n[case.back]\n",
            "[case.back] is in p.toml twice, again in line 4. Put all its keys under one "
            "[case.back].",
        ),
        (
            "[[shelf]]\n[shelf]\n",
            "[shelf] is in p.toml twice, again in line 3. Write [[shelf]] for each one.",
        ),
        (
            "[shelf]\n[[shelf]]\n",
            "[shelf] is in p.toml twice, again in line 3. Write [[shelf]] for each one.",
        ),
        (
            "[wall]\n[wall]\n",
            "[wall] is in p.toml twice, again in line 3. Put all its keys under one [wall].",
        ),
        (
            '[piece]\nname = "a"\nname = "b"\n',
            "name is twice in one table of p.toml, again in line 4. Leave one of them out.",
        ),
    ],
)
def test_what_is_in_a_file_twice_is_told_by_its_name(text: str, sentence: str) -> None:
    with pytest.raises(InputError) as refusal:
        read(text)
    assert str(refusal.value) == sentence


# --- stock ----------------------------------------------------------------------------------


def test_a_file_without_stock_says_how_to_measure() -> None:
    assert told("") == [f"p.toml has no [stock.…] table. {HOW_TO_MEASURE}"]


def test_no_reading_is_an_error_even_with_a_nominal_size() -> None:
    found = faults('[stock.case]\nnominal = "19 mm"\n')
    assert [(fault.where, str(fault)) for fault in found] == [
        ("stock.case.readings", f"There is no thickness reading. {HOW_TO_MEASURE}")
    ]


TWO = '[stock.case]\nreadings = ["19 mm"]\n[stock.back]\nreadings = ["9 mm"]\n'


def test_of_several_stocks_one_must_be_named() -> None:
    (fault,) = faults(TWO)
    assert fault.where == "--stock"
    assert str(fault) == "p.toml holds 2 stocks: case, back. Say which one with --stock."
    assert stock_of(read(TWO), "back", "p.toml").readings == (9.0,)


@pytest.mark.parametrize(
    ("typed", "remedy"),
    [("bakc", "Did you mean back?"), ("shelf", "Known here: case, back.")],
)
def test_a_stock_that_is_not_there_is_refused_with_the_nearest(typed: str, remedy: str) -> None:
    with pytest.raises(InputError) as refusal:
        stock_of(read(TWO), typed, "p.toml")
    (fault,) = refusal.value.faults
    assert (fault.where, fault.value) == ("--stock", typed)
    assert str(fault) == f"There is no stock '{typed}' in p.toml. {remedy}"


def test_readings_with_and_without_a_sheet_letter_are_refused() -> None:
    found = told(
        '[stock.case]\nreadings = ["18 mm"]\n[[stock.case.sheet]]\nid = "A"\nreadings = ["19 mm"]\n'
    )
    assert found == [
        "There are readings both with and without a sheet letter. "
        "Give every reading under its sheet letter."
    ]


def test_a_sheet_wants_a_letter_of_its_own() -> None:
    twice = '[[stock.case.sheet]]\nid = "A"\nreadings = ["19 mm"]\n' * 2
    assert told(twice) == ["Two sheets are called A. Give each its own letter."]
    none = '[[stock.case.sheet]]\nreadings = ["19 mm"]\n'
    assert [fault.where for fault in faults(none)] == ["stock.case.sheet.1.id"]


def test_a_reading_ten_times_too_large_is_asked_about() -> None:
    (said,) = told('[stock.case]\nreadings = ["191 mm"]\n')
    assert said == (
        "191 mm is not a panel's thickness: it is outside 2 to 60 mm. Is it 19.1 mm? "
        "Give a thickness from 2 to 60 mm."
    )


# --- printer --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "where", "expected"),
    [
        (
            'bed = ["24 mm", "200 mm", "200 mm"]',
            "printer.bed",
            "The bed is 24 mm along x; 50 mm to 2000 mm can be. Give x, y and z.",
        ),
        (
            'layer = "0.4 mm"',
            "printer.layer",
            # 0.8 × the nozzle: common practice, no source
            "A layer of 0.4 mm is more than 0.8 × the 0.4 mm nozzle and will not stick (common "
            "practice, no source). Use 0.32 mm or less.",
        ),
        (
            'width = "0.2 mm"',
            "printer.width",
            "A line 0.2 mm wide and 0.2 mm high is no line. Make it wider than it is high.",
        ),
    ],
)
def test_a_printer_that_cannot_be_is_refused(table: str, where: str, expected: str) -> None:
    (fault,) = faults(f"[printer]\n{table}\n")
    assert (fault.where, str(fault)) == (where, expected)


def test_all_faults_of_a_printer_are_told_at_once() -> None:
    found = faults(
        '[printer]\nbed = ["20 mm", "9000 mm", "200 mm"]\nlayer = "0.5 mm"\nwidth = "0.45 mm"\n'
    )
    # a bed of 9 m is more than any length the file may hold
    wheres = [fault.where for fault in found]
    assert wheres == ["printer.bed.2"]
    found = faults(
        '[printer]\nbed = ["20 mm", "3000 mm", "200 mm"]\nlayer = "0.5 mm"\nwidth = "0.45 mm"\n'
    )
    assert [fault.where for fault in found] == ["printer.bed"] * 2 + [
        "printer.layer",
        "printer.width",
    ]


def test_a_bed_wants_three_lengths() -> None:
    assert [fault.where for fault in faults('[printer]\nbed = ["240 mm", "200 mm"]\n')] == [
        "printer.bed.3"
    ]


@pytest.mark.parametrize(
    "value",
    ["nan", "inf", "true", "1979-05-27", '"19 mm', "{ a = 1 }", '"-3 mm"', '"1e400 mm"', '""'],
)
def test_no_value_at_all_gets_past_as_a_length(value: str) -> None:
    with pytest.raises(InputError) as refusal:
        read(f"[stock.case]\nreadings = [{value}]\n")
    assert all(fault.message.endswith((".", "?")) for fault in refusal.value.faults)


def test_values_cannot_be_changed_once_read() -> None:
    piece: Any = read(CASE)
    with pytest.raises(ValueError, match="frozen"):
        piece.format = 2


# --- a printer file ------------------------------------------------------------------------------

FILE = '[printer]\nbed = ["200 mm", "200 mm", "200 mm"]\nlayer = "0.2 mm"\nwidth = "0.44 mm"\n'


def beside(keys: str) -> PrinterTable:
    own, measured = read(f'[printer]\nfile = "my.toml"\n{keys}').printer, read(FILE).printer
    assert own is not None
    return printer_from_file(own, measured, "my.toml")


@pytest.mark.parametrize(
    "keys", ["", 'layer = "0.2 mm"\n', 'width = "0.44 mm"\nnozzle = "0.4 mm"\nrings = 3\n']
)
def test_keys_beside_a_printer_file_may_say_the_same(keys: str) -> None:
    assert beside(keys) == read(FILE).printer


def test_a_bed_beside_a_printer_file_counts() -> None:
    chosen = printer_of(beside('bed = ["300 mm", "300 mm", "300 mm"]\n'))
    assert chosen.bed == (300.0, 300.0, 300.0)
    assert chosen.layer == 0.2


def test_all_keys_that_contradict_a_printer_file_are_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        beside('layer = "0.3 mm"\nwidth = "0.5 mm"\nmaterial = "ABS"\npattern = "gyroid"\n')
    where = {fault.where for fault in refused.value.faults}
    assert where == {"printer.layer", "printer.width", "printer.material", "printer.pattern"}
    assert all(fault.remedy for fault in refused.value.faults)


def test_a_printer_file_that_names_another_is_refused() -> None:
    with pytest.raises(InputError, match=r"has no .printer. of its own"):
        printer_from_file(PrinterTable(file="a.toml"), PrinterTable(file="b.toml"), "a.toml")
