"""Shop text becomes mm exactly, and what is not a measurement is refused in a whole sentence."""

from __future__ import annotations

import doctest
import subprocess
import sys
import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures import units
from fixtures.errors import MeasureError
from fixtures.units import format_angle, format_length, parse_angle, parse_length

# The inch is 25.4 mm by definition (international yard and pound agreement, 1959); the values
# below are that times the fraction, worked by hand.
LENGTHS = {
    "23/32 in": 18.25625,
    '22 3/8"': 568.325,
    "1-3/4 in": 44.45,
    '3/4"': 19.05,
    "3/4''": 19.05,
    "3/4 in.": 19.05,
    "3/4-inch": 19.05,
    "5' 2 1/2\"": 1587.5,
    "5'-2 1/2\"": 1587.5,
    "5 feet 2 1/2 inches": 1587.5,
    "5  ft.  2 in.": 1574.8,
    "5ft2in": 1574.8,
    "2 foot": 609.6,
    "1 3/4in": 44.45,
    "47/32 in": 37.30625,
    ".5 IN": 12.7,
    "500 thou": 12.7,
    "12.2 mm": 12.2,
    "12.2mm": 12.2,
    "+19. mm": 19.0,
    "1.9 cm": 19.0,
    "0.5 m": 500.0,
    "19 millimetres": 19.0,
    "¾″": 19.05,
    "1¾ in": 44.45,
    "1-¾ in": 44.45,
    "5′ 2½″": 1587.5,
    "3⁄4”": 19.05,
    "19\u00a0mm": 19.0,
    "1 3/4 in - 0.02 mm": 44.43,
    "1 3/4 in + 0.02 mm": 44.47,
}

ANGLES = {"45°": 45.0, "45 deg": 45.0, "22½°": 22.5, "22 1/2 degrees": 22.5, "8.25 deg": 8.25}

LENGTH_LIKE = "Write a length with its unit, such as 19 mm or 3/4 in."
ANGLE_LIKE = "Write an angle with its unit, such as 45 deg or 22 1/2 deg."
POINT = "Write a decimal point. (A comma is not read as a thousands mark either.)"
KNOWN = "Known units are mm, cm, m, in, ft and thou."
DIGITS = "Write the number with the digits 0 to 9."

REFUSED_LENGTHS = {
    "19": "19 has no unit. Write 19 mm or 19 in.",
    "3/4": "3/4 has no unit. Write 3/4 mm or 3/4 in.",
    "5' 2": "5' 2: the 2 at the end has no unit. Write a unit after every number.",
    "19,5 mm": f"19,5 mm: is that 19.5 mm? {POINT}",
    "1,200 mm": f"1,200 mm: is that 1.200 mm or 1200 mm? {POINT}",
    "19,5": f"19,5 has a comma. {POINT}",
    "-3 mm": "-3 mm is negative. Write more than 0 and no minus sign.",
    "−3 mm": "−3 mm is negative. Write more than 0 and no minus sign.",
    "0 mm": f"0 mm: this length must be more than 0. {LENGTH_LIKE}",
    "0/4 in": f"0/4 in: this length must be more than 0. {LENGTH_LIKE}",
    "0.0001 mm": "0.0001 mm is less than 0.001 mm. Check the number and its unit.",
    "nan mm": f"nan mm is not a finite length. {LENGTH_LIKE}",
    "-inf": f"-inf is not a finite length. {LENGTH_LIKE}",
    "19 mn": f"19 mn: 'mn' is not a unit of length. Did you mean mm? {KNOWN}",
    "19 inchs": f"19 inchs: 'inchs' is not a unit of length. Did you mean inches? {KNOWN}",
    "19 in*mm": f"19 in*mm: 'in*mm' is not a unit of length. Did you mean mm? {KNOWN}",
    "19 parsec": f"19 parsec: 'parsec' is not a unit of length. {KNOWN}",
    "1e3 mm": f"1e3 mm: 'e' is not a unit of length. {KNOWN}",
    "1/0 in": f"1/0 in divides by zero. {LENGTH_LIKE}",
    "1 1/0 in": f"1 1/0 in divides by zero. {LENGTH_LIKE}",
    "1 5/4 in": f"1 5/4 in: a fraction after a whole number must be less than 1. {LENGTH_LIKE}",
    "3/4/5 in": f"3/4/5 in: '3/4/5' is not a number. {LENGTH_LIKE}",
    "1.5/2 in": f"1.5/2 in: '1.5/2' is not a number. {LENGTH_LIKE}",
    "1 - 3/4 in": f"1 - 3/4 in: '1 - 3/4' is not a number. {LENGTH_LIKE}",
    "1 2 mm": f"1 2 mm: '1 2' is not a number. {LENGTH_LIKE}",
    "1..2 mm": f"1..2 mm: '1..2' is not a number. {LENGTH_LIKE}",
    "5' 14\"": "5' 14\": feet before inches must be whole, and the inches less than 12. "
    + LENGTH_LIKE,
    "5' - 2\"": f"5' - 2\" does not read as one length. {LENGTH_LIKE}",
    "19 mm + 3 mm": f"19 mm + 3 mm does not read as one length. {LENGTH_LIKE}",
    "19 mm x 3": f"19 mm x 3 does not read as one length. {LENGTH_LIKE}",
    "mm": f"mm does not read as one length. {LENGTH_LIKE}",
    "--3 mm": f"--3 mm does not read as one length. {LENGTH_LIKE}",
    "": f"The length is missing. {LENGTH_LIKE}",
    "  ": f"The length is missing. {LENGTH_LIKE}",
    "19 m": "19 m is more than 5000 mm. Is that 19 mm? Write 5000 mm or less.",
    "6000 mm": "6000 mm is more than 5000 mm. Write 5000 mm or less.",
    "300 in": "300 in is more than 5000 mm (196.85 in). Is that 300 mm? "
    "Write 5000 mm (196.85 in) or less.",
    "45 deg": f"45 deg is an angle, not a length. {LENGTH_LIKE}",
    "45°": f"45° is an angle, not a length. {LENGTH_LIKE}",
    "１９ mm": f"１９ mm: '１' is not one of the digits 0 to 9. {DIGITS}",
    "٣ mm": f"٣ mm: '٣' is not one of the digits 0 to 9. {DIGITS}",
    "19 mm²": f"19 mm²: '²' is not one of the digits 0 to 9. {DIGITS}",
    "19 µm": f"19 µm: the sign 'µ' (U+00B5) is not read. {LENGTH_LIKE}",
    "19\x00mm": "19\\u0000mm holds a control character (U+0000). Type the length anew.",
    "19\tmm": "19\\u0009mm holds a control character (U+0009). Type the length anew.",
    "19 mm\n": "19 mm\\u000a holds a control character (U+000A). Type the length anew.",
    "19\u200bmm": "19\\u200bmm holds a control character (U+200B). Type the length anew.",
    "\ud800": "\\ud800 holds a control character (U+D800). Type the length anew.",
}

REFUSED_ANGLES = {
    "45": "45 has no unit. Write 45 deg.",
    "3 mm": f"3 mm is a length, not an angle. {ANGLE_LIKE}",
    "22,5°": f"22,5°: is that 22.5°? {POINT}",
    "190 deg": "190 deg is more than 180 deg. Write 180 deg or less.",
    "0 deg": f"0 deg: this angle must be more than 0. {ANGLE_LIKE}",
    "45 grad": "45 grad: 'grad' is not a unit of angle. Known units are deg and °.",
    "45° 30'": "45° 30' does not read as one angle. "
    "Write minutes as a decimal, such as 45.5 deg for 45 deg 30 min.",
}


@pytest.mark.parametrize(("text", "mm"), LENGTHS.items(), ids=ascii)
def test_shop_length_becomes_mm(text: str, mm: float) -> None:
    assert parse_length(text) == mm


@pytest.mark.parametrize(("text", "degrees"), ANGLES.items(), ids=ascii)
def test_shop_angle_becomes_degrees(text: str, degrees: float) -> None:
    assert parse_angle(text) == degrees


@pytest.mark.parametrize(("text", "sentence"), REFUSED_LENGTHS.items(), ids=ascii)
def test_what_is_no_length_is_refused_in_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(MeasureError) as refusal:
        parse_length(text, "--height")
    (fault,) = refusal.value.faults
    assert (str(fault), fault.where) == (sentence, "--height")
    assert fault.value in sentence


@pytest.mark.parametrize(("text", "sentence"), REFUSED_ANGLES.items(), ids=ascii)
def test_what_is_no_angle_is_refused_in_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(MeasureError) as refusal:
        parse_angle(text)
    assert [str(fault) for fault in refusal.value.faults] == [sentence]


@pytest.mark.parametrize(
    ("thing", "sentence"),
    [
        (19, "19 has no unit. Write 19 mm or 19 in."),
        (19.5, "19.5 has no unit. Write 19.5 mm or 19.5 in."),
        (None, f"The length is missing. {LENGTH_LIKE}"),
        (True, f"True does not read as one length. {LENGTH_LIKE}"),
        (["19 mm"], f"This length is not a text. {LENGTH_LIKE}"),
        (10**5000, f"{'9' * 80}... is longer than 80 characters. {LENGTH_LIKE}"),
    ],
    ids=["whole", "decimal", "nothing", "yes", "list", "5001 digits"],
)
def test_a_bare_value_from_a_file_is_refused(thing: object, sentence: str) -> None:
    with pytest.raises(MeasureError) as refusal:
        parse_length(thing)
    assert str(refusal.value) == sentence


def test_zero_is_read_only_where_it_makes_sense() -> None:
    assert parse_length("0 mm", zero=True) == 0.0
    assert str(parse_length("-0 mm", zero=True)) == "0.0"
    assert parse_angle("0 deg", zero=True) == 0.0
    with pytest.raises(MeasureError, match="Write 0 or more and no minus sign"):
        parse_length("-1 mm", zero=True)


def test_the_largest_sensible_length_is_the_callers() -> None:
    assert parse_length("60 mm", most=60.0) == 60.0
    with pytest.raises(MeasureError, match=r"60\.01 mm is more than 60 mm"):
        parse_length("60.01 mm", most=60.0)


def test_every_64th_up_to_24_in_is_the_exact_length_rounded_once() -> None:
    for n in range(1, 24 * 64 + 1):
        whole, part = divmod(Fraction(n, 64), 1)
        text = " ".join(str(x) for x in (whole, part) if x) + " in"
        exact = Fraction(n, 64) * Fraction(254, 10)
        assert parse_length(text) == float(exact)
        assert parse_length(f"{n}/64 in") == float(exact)
        # the same length written in mm, all its decimals: 64 divides 10^6
        decimals = f"{exact.numerator * (10**7 // exact.denominator):08d}"
        assert parse_length(f"{decimals[:-7]}.{decimals[-7:]} mm") == float(exact)


@settings(deadline=None)
@given(st.floats(min_value=0.01, max_value=4999.0))
def test_a_formatted_length_reads_back_to_half_the_last_digit(mm: float) -> None:
    assert parse_length(format_length(mm), zero=True) == pytest.approx(mm, abs=0.005 + 1e-9)
    assert parse_length(format_length(mm, "in"), zero=True) == pytest.approx(mm, abs=0.005 + 1e-9)


@given(st.integers(1, 24 * 64))
def test_a_64th_is_written_as_a_fraction_alone_and_reads_back_exactly(n: int) -> None:
    mm = float(Fraction(n, 64) * Fraction(254, 10))
    text = format_length(mm, "in")
    assert text.endswith(" in")
    assert parse_length(text) == mm


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=100) | st.text("0123456789 ./-,+'\"°inmftcdeg¾½²", max_size=40))
def test_any_text_gives_a_sensible_length_or_one_fault(text: str) -> None:
    try:
        mm = parse_length(text)
    except MeasureError as error:
        (fault,) = error.faults
        assert fault.message.endswith((".", "?"))
        assert fault.remedy.endswith((".", ")"))
        assert fault.message.isprintable()
    else:
        assert 0.001 <= mm <= 5000


@pytest.mark.parametrize(
    "text", ["9" * 10**6, "1/" * 10**6, " " * 10**6, "1 - " * 20, "''" * 40], ids=range(5)
)
def test_long_text_is_refused_at_once(text: str) -> None:
    began = time.process_time()
    with pytest.raises(MeasureError) as refusal:
        parse_length(text)
    assert time.process_time() - began < 0.5  # an order of magnitude, not a benchmark
    assert len(str(refusal.value)) < 300


@pytest.mark.parametrize(
    ("mm", "in_mm", "in_inches"),
    [
        (0.0, "0 mm", "0 in"),
        (12.2, "12.2 mm", "31/64 in - 0.1 mm"),  # 31/64 in = 12.303125 mm
        (12.0, "12 mm", "15/32 in + 0.09 mm"),  # 15/32 in = 11.90625 mm
        (18.25625, "18.26 mm", "23/32 in"),
        (25.4, "25.4 mm", "1 in"),
        (44.45, "44.45 mm", "1 3/4 in"),
        (44.43, "44.43 mm", "1 3/4 in - 0.02 mm"),
        (44.446, "44.45 mm", "1 3/4 in"),
        (0.15, "0.15 mm", "0.15 mm"),  # nearest 64th is none
        (-0.001, "0 mm", "0 in"),
        (-3.195, "-3.19 mm", "-1/8 in - 0.02 mm"),  # 1/8 in = 3.175 mm
        (-3.155, "-3.15 mm", "-1/8 in + 0.02 mm"),
    ],
)
def test_a_length_is_written_as_a_shop_writes_it(mm: float, in_mm: str, in_inches: str) -> None:
    assert (format_length(mm), format_length(mm, "in")) == (in_mm, in_inches)


def test_an_angle_is_written_with_two_decimals_at_most() -> None:
    assert [format_angle(a) for a in (45.0, 22.5, 0.5729, -0.001)] == [
        "45 deg",
        "22.5 deg",
        "0.57 deg",
        "0 deg",
    ]


@pytest.mark.parametrize(
    ("text", "loaded"), [("19.1 mm", "False"), ("19 mm,", "False"), ("3/4 in", "True")]
)
def test_pint_is_imported_only_to_convert(text: str, loaded: str) -> None:
    code = (
        "import sys; from fixtures.units import parse_length\n"
        f"try: parse_length({text!r})\nexcept ValueError: pass\n"
        "print('pint' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == loaded


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(units)
    assert (failed, tried > 5) == (0, True)
