"""What parts of an earlier kit measure, by the coupon that is known now.

Expected sizes are printed = a · drawn + b, by hand.
"""

from __future__ import annotations

from typing import Any

import pytest

from fixtures.telling import changes as telling
from tests.test_changes import Fixture, document, fixture, since, socket, statuses, why

DATE = "2026-11-25"


def coupon(**lines: tuple[float, float]) -> dict[str, Any]:
    """What a kit says of its printer: a and b of each line."""
    return {"coupon": DATE, "lines": {k: {"a": a, "b_mm": b} for k, (a, b) in lines.items()}}


def drawn(one: Fixture, sizes: list[float], *, compensated: bool) -> Fixture:
    """The socket with the widths its slots have in the file."""
    fits = [
        {**fit, "by": "slot", "drawn_mm": size}
        for fit, size in zip(one["fits"], sizes, strict=True)
    ]
    word = "-compensated" if compensated else ""
    return {**one, "fits": fits, "files": [f"{one['name']}{word}.stl"]}


def spacer(mark: str, size: float, in_file: float | None, **more: Any) -> Fixture:
    span = {"name": "height", "along": "x", "size_mm": size, "within_mm": 0.1}
    spans = [] if in_file is None else [{**span, "drawn_mm": in_file}]
    return fixture(mark, spans=spans, **more)


@pytest.mark.parametrize(
    ("takes", "status", "left"),
    [(0.10, "still serves", "0.30"), (0.23, "still serves", "0.17"), (0.30, "reprint", "0.10")],
)
def test_a_socket_from_before_the_coupon_is_judged_by_how_it_came_out(
    takes: float, status: str, left: str
) -> None:
    """Drawn 18.40 for 18.00; snug, 0.15 mm, to loose, 0.50 mm, holds (shop practice of fit)."""
    old, new = socket("AAAA", 18.4, 18.0), socket("BBBB", 18.3, 18.0)
    now = document(
        drawn(new, [18.3 + takes] * 2, compensated=True), printer=coupon(slot=(1.0, -takes))
    )
    found = since(document(old), now)
    assert statuses(found)["AAAA"] == status
    assert f"leave {left} mm of clearance now, as they came out by the coupon of {DATE}" in why(
        found, "AAAA"
    )


def test_without_a_coupon_a_socket_is_as_designed() -> None:
    found = since(document(socket("AAAA", 18.4, 18.0)), document(socket("BBBB", 18.3, 18.0)))
    assert "its slots leave 0.40 mm of clearance now, and" in why(found, "AAAA")


@pytest.mark.parametrize(
    ("takes", "status", "said"),
    [
        (0.20, "still serves", "leave 0.20 mm of clearance"),
        (0.35, "reprint", "leave 0.05 mm of clearance"),
        (0.45, "reprint", "it is 0.05 mm too tight"),
    ],
)
def test_the_same_mark_drawn_before_the_coupon_is_judged_too(
    takes: float, status: str, said: str
) -> None:
    """Asked for 0.40 mm in both kits: the mark is the same, what was printed is not."""
    one = socket("AAAA", 18.4, 18.0)
    now = document(
        drawn(one, [18.4 + takes] * 2, compensated=True), printer=coupon(slot=(1.0, -takes))
    )
    found = since(document(drawn(one, [18.4] * 2, compensated=False)), now)
    assert statuses(found) == {"AAAA": status}
    assert said in why(found, "AAAA")
    # a kit that never said what it drew is as designed, by the names of its files
    assert statuses(since(document(one), now)) == {"AAAA": status}


def test_another_coupon_moves_what_the_first_one_drew() -> None:
    """Drawn 18.60 by the first; the second takes off 0.50 and leaves 0.10 mm."""
    one = socket("AAAA", 18.4, 18.0)
    last = document(drawn(one, [18.6] * 2, compensated=True), printer=coupon(slot=(1.0, -0.2)))
    now = document(drawn(one, [18.9] * 2, compensated=True), printer=coupon(slot=(1.0, -0.5)))
    assert "leave 0.10 mm of clearance" in why(since(last, now), "AAAA")
    same = since(last, last)
    assert why(same, "AAAA") == "nothing of it changed"


@pytest.mark.parametrize(
    ("a", "status", "said"),
    [
        (0.9980, "reprint", "about 0.38 mm less than 190 mm"),
        (0.9996, "still serves", "about 0.08 mm less than 190 mm"),
    ],
)
@pytest.mark.parametrize("before", [190.0, None])
def test_a_spacer_printed_as_designed_is_off_by_what_the_line_says(
    a: float, status: str, said: str, before: float | None
) -> None:
    last = document(spacer("AAAA", 190.0, before))
    now = document(spacer("AAAA", 190.0, 190.0 / a), printer=coupon(outside_x=(a, 0.0)))
    found = since(last, now)
    assert statuses(found) == {"AAAA": status}
    assert said in why(found, "AAAA")


def test_a_coupon_is_told_in_one_plain_line() -> None:
    keys = {
        "printer.calibration.date": DATE,
        "printer.calibration.slot.a": "1",
        "printer.calibration.slot.b": "-0.2 mm",
        # what is usual says nothing new
        "printer.nozzle": "0.4 mm",
        "printer.width": "0.44 mm",
        "printer.pattern": "two-way",
    }
    last, now = document(fixture("AAAA")), document(fixture("AAAA"))
    now["given"] = now["given"] | keys
    assert since(last, now).given == (f"printer: measured with the coupon of {DATE}",)
    (gone,) = since(now, last).given
    assert gone == f"printer: nobody measured it, the coupon of {DATE} did before"
    anew = document(fixture("AAAA"))
    anew["given"] = now["given"] | {"printer.calibration.slot.b": "-0.3 mm"}
    (told,) = since(now, anew).given
    assert told == f"printer: measured with the coupon of {DATE}, not the one before"
    later = document(fixture("AAAA"))
    later["given"] = anew["given"] | {"printer.calibration.date": "2026-12-01"}
    (told,) = since(now, later).given
    assert told == f"printer: measured with the coupon of 2026-12-01, that of {DATE} before"
    assert not any("calibration" in line for line in telling.lines(since(last, now), "", "o"))


def test_what_is_not_usual_is_told_though_it_was_not_given() -> None:
    last, now = document(fixture("AAAA")), document(fixture("AAAA"))
    now["given"] = now["given"] | {"printer.layer": "0.3 mm"}
    assert since(last, now).given == ("printer.layer: not given → 0.3 mm",)
