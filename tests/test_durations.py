"""Times as a shop writes them."""

from __future__ import annotations

import pytest

from fixtures.durations import parse_duration
from fixtures.errors import MeasureError


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("45 min", 45),
        ("1 h 30 min", 90),
        ("1h30min", 90),
        ("1.5 h", 90),
        ("2 hours", 120),
        ("90 Minutes", 90),
        ("168 h", 168 * 60),
        ("1 min", 1),
    ],
)
def test_a_time_is_read_with_its_unit(text: str, minutes: int) -> None:
    assert parse_duration(text) == 60 * minutes


@pytest.mark.parametrize("text", ["45", "45.5", 45, 1.5])
def test_a_bare_number_is_no_time(text: object) -> None:
    with pytest.raises(MeasureError) as refusal:
        parse_duration(text, "piece.clamp_time")
    (fault,) = refusal.value.faults
    assert fault.where == "piece.clamp_time"
    assert "has no unit" in fault.message
    assert "45 min" in fault.remedy


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "soon",
        "45 mm",
        "45 s",
        "1,5 h",
        "-45 min",
        "1 h 90 min",
        "30 min 1 h",
        "1 h 1 h",
        "1.5 h 30 min",
        "1 h 5",
        "0 min",
        "0.5 min",
        "169 h",
        "9" * 60 + " h",
        True,
        None,
        [45],
    ],
)
def test_what_is_no_clamp_time_is_refused_with_a_way_to_write_it(text: object) -> None:
    with pytest.raises(MeasureError) as refusal:
        parse_duration(text)
    (fault,) = refusal.value.faults
    assert fault.message.endswith((".", ";"))
    assert fault.remedy
