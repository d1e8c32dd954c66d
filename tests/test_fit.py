"""Clearance is chosen by job or by name, and what it lets the panel do is told in mm."""

from __future__ import annotations

import doctest
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures import fit as fit_module
from fixtures.errors import InputError
from fixtures.fit import DEFAULT_CLEARANCE, FITS, Job, choose_clearance, fit_report, told
from fixtures.stock import Stock, nominal_only

CASE = Stock("case", "MDF", 19.0, (19.0, 19.2, 19.1, 19.1))
NAMED = "press (0.00 mm), snug (0.15 mm), slip (0.30 mm) or loose (0.50 mm)"


def test_fits_are_the_four_of_shop_practice() -> None:
    """Common practice, no source."""
    assert dict(FITS) == {"press": 0.0, "snug": 0.15, "slip": 0.30, "loose": 0.50}


@pytest.mark.parametrize(
    ("job", "without", "with_coupon"),  # common practice, no source
    [
        ("removable end socket", 0.40, 0.30),
        ("connector that stays", 0.20, 0.20),
        ("leg", 0.30, 0.30),
        ("one-sided fence", 0.0, 0.0),
        ("keeper wall", 1.0, 1.0),
    ],
)
def test_default_goes_by_the_job(job: Job, without: float, with_coupon: float) -> None:
    assert choose_clearance(job) == without
    assert choose_clearance(job, coupon=True) == with_coupon


@pytest.mark.parametrize("job", ["removable end socket", "connector that stays", "leg"])
def test_a_named_fit_or_a_number_wins_over_the_default(job: Job) -> None:
    assert choose_clearance(job, fit="snug") == 0.15
    assert choose_clearance(job, clearance=0.27, coupon=True) == 0.27


def test_a_connector_that_stays_may_be_pressed_on() -> None:
    assert choose_clearance("connector that stays", fit="press") == 0.0
    assert choose_clearance("connector that stays", clearance=0.0) == 0.0


@pytest.mark.parametrize(
    ("job", "fit", "clearance", "where", "sentence"),
    [
        (
            "removable end socket",
            "press",
            None,
            "fit",
            "The removable end socket must come off again, and with a press fit it will not. "
            "Choose snug (0.15 mm), slip (0.30 mm) or loose (0.50 mm).",
        ),
        (
            "leg",
            None,
            0.0,
            "clearance",
            "The leg must come off again, and with 0 clearance, a press fit, it will not. "
            "Choose snug (0.15 mm), slip (0.30 mm) or loose (0.50 mm).",
        ),
        (
            "connector that stays",
            "slip",
            0.3,
            "fit",
            "Both a fit (slip) and a clearance (0.3 mm) are given. Give one of them.",
        ),
        (
            "leg",
            "lose",
            None,
            "fit",
            f"There is no fit called lose. Did you mean loose? Choose {NAMED}.",
        ),
        ("leg", "xyz", None, "fit", f"There is no fit called xyz. Choose {NAMED}."),
        (
            "leg",
            None,
            -0.1,
            "clearance",
            "A clearance of -0.1 mm is outside 0 to 2 mm. "
            f"Give the total over both sides of the slot, or choose {NAMED}.",
        ),
        (
            "leg",
            None,
            math.nan,
            "clearance",
            "A clearance of nan mm is outside 0 to 2 mm. "
            f"Give the total over both sides of the slot, or choose {NAMED}.",
        ),
        (
            "one-sided fence",
            "slip",
            None,
            "fit",
            "A one-sided fence touches one face of the panel, so it has no clearance to choose. "
            "Leave out the fit.",
        ),
        (
            "one-sided fence",
            None,
            0.2,
            "clearance",
            "A one-sided fence touches one face of the panel, so it has no clearance to choose. "
            "Leave out the clearance.",
        ),
    ],
)
def test_a_clearance_that_cannot_be_is_refused_in_a_sentence(
    job: Job, fit: str | None, clearance: float | None, where: str, sentence: str
) -> None:
    with pytest.raises(InputError) as refusal:
        choose_clearance(job, fit=fit, clearance=clearance)
    (fault,) = refusal.value.faults
    assert (fault.where, str(fault)) == (where, sentence)


def test_every_part_that_comes_off_refuses_a_press_fit() -> None:
    for job, default in DEFAULT_CLEARANCE.items():
        if default.comes_off:
            with pytest.raises(InputError):
                choose_clearance(job, fit="press")


def test_report_gives_the_slot_and_the_clearance_at_each_reading() -> None:
    """Largest 19.2 + 0.4; 0.2 more at the smallest, 0.1 more at the mean."""
    report = fit_report(CASE, 0.4, arm=60, grip=30, panel_length=300)
    assert report.slot == pytest.approx(19.6)
    assert report.clearance == 0.4
    assert report.clearance_smallest_reading == pytest.approx(0.6)
    assert report.clearance_likely == pytest.approx(0.5)
    assert report.n_readings == 4


def test_report_gives_the_worst_turn_and_what_it_means_at_the_far_end() -> None:
    """tan = 0.6 / 60 = 1 %, 0.5729 deg, 3 mm in 300; 0.6 / 30 = 2 %, 1.1458 deg, 6 mm in 300."""
    report = fit_report(CASE, 0.4, arm=60, grip=30, panel_length=300)
    assert report.swing_deg == pytest.approx(0.5729, abs=1e-4)
    assert report.lean_deg == pytest.approx(1.1458, abs=1e-4)
    assert report.swing_mm == pytest.approx(3.0)
    assert report.lean_mm == pytest.approx(6.0)


def test_finish_widens_the_slot_and_leaves_the_clearance() -> None:
    bare = fit_report(CASE, 0.4, arm=60, grip=30, panel_length=300)
    painted = fit_report(
        Stock("case", "MDF", 19.0, CASE.readings, finish=0.1),
        0.4,
        arm=60,
        grip=30,
        panel_length=300,
    )
    assert painted.slot - bare.slot == pytest.approx(0.2)
    assert painted.lean_deg == bare.lean_deg


@given(
    st.lists(st.floats(min_value=18.0, max_value=18.9), min_size=1, max_size=8),
    st.floats(min_value=0.0, max_value=2.0),
    st.floats(min_value=15.0, max_value=100.0),
)
def test_worst_is_never_less_than_likely_nor_likely_than_asked(
    readings: list[float], clearance: float, arm: float
) -> None:
    stock = Stock("a", "oak", None, tuple(readings))
    report = fit_report(stock, clearance, arm=arm, grip=30, panel_length=300)
    slack = 1e-9
    assert report.clearance <= report.clearance_likely + slack
    assert report.clearance_likely <= report.clearance_smallest_reading + slack
    # every reading goes into the slot, and leaves what is said at the thinnest
    assert report.slot - min(readings) == pytest.approx(report.clearance_smallest_reading)
    longer = fit_report(stock, clearance, arm=arm + 1, grip=30, panel_length=300)
    assert longer.swing_deg <= report.swing_deg


@pytest.mark.parametrize(
    ("thickness", "clearance", "reach"),
    [(18.0, 0.4, 30.0), (18.0, 0.4, 15.0), (19.0, 0.6, 60.0), (38.0, 0.3, 40.0)],
)
def test_reported_turn_is_the_exact_one_less_the_stated_gap(
    thickness: float, clearance: float, reach: float
) -> None:
    """A square end on the floor: reach tan t + s cos t = s + c, solved by halving (derived)."""
    low, high = 0.0, math.radians(20)
    for _ in range(60):
        t = (low + high) / 2
        if reach * math.tan(t) + thickness * math.cos(t) < thickness + clearance:
            low = t
        else:
            high = t
    stock = Stock("a", "oak", None, (thickness, thickness))
    report = fit_report(stock, clearance, arm=reach, grip=reach, panel_length=300)
    gap = thickness * clearance / (2 * reach**2)
    assert math.degrees(low) / report.swing_deg - 1 == pytest.approx(gap, rel=0.1)
    assert report.lean_deg == report.swing_deg


def test_impossible_sizes_are_all_told_at_once() -> None:
    with pytest.raises(InputError) as refusal:
        fit_report(CASE, -0.1, arm=0, grip=math.nan, panel_length=math.inf)
    assert [str(fault) for fault in refusal.value.faults] == [
        "clearance is -0.1 mm; it must be 0 mm or more. Use a fit by name.",
        "arm is 0 mm; it must be more than 0 mm. Give the slot's length.",
        "grip is nan mm; it must be more than 0 mm. Give the slot's depth.",
        "panel_length is inf mm; it must be more than 0 mm. Measure it.",
    ]


def test_report_is_told_in_plain_words() -> None:
    report = fit_report(CASE, 0.4, arm=60, grip=30, panel_length=300)
    assert told(report) == (
        "The slot is 19.6 mm wide: 0.4 mm of clearance at the largest reading, 0.6 mm at the "
        "smallest, 0.5 mm likely.",
        "Swing: held by this one fixture alone, over 60 mm of arm, the panel can turn 0.57 deg at "
        "worst: 3 mm at the far end of 300 mm of panel.",
        "Lean: held by this one fixture alone, over 30 mm of grip, the panel can turn 1.15 deg at "
        "worst: 6 mm at the far end of 300 mm of panel.",
    )


def test_report_is_told_in_inches_when_asked() -> None:
    """3/4 in + 1/64 in of clearance in a 2 in arm; 12 in of panel moves 6/64 in: thousandths."""
    stock = Stock("a", "oak", None, (19.05,) * 4)
    report = fit_report(stock, 25.4 / 64, arm=50.8, grip=25.4, panel_length=304.8)
    assert told(report, "in") == (
        "The slot is 0.766 in wide: 0.016 in of clearance at the largest reading, 0.016 in at the "
        "smallest, 0.016 in likely.",
        "Swing: held by this one fixture alone, over 2.000 in of arm, the panel can turn 0.45 deg "
        "at worst: 0.094 in at the far end of 12.000 in of panel.",
        "Lean: held by this one fixture alone, over 1.000 in of grip, the panel can turn 0.9 deg "
        "at worst: 0.188 in at the far end of 12.000 in of panel.",
    )


def test_an_unknown_spread_is_told() -> None:
    report = fit_report(Stock("a", "MDF", 19.0, (19.0,)), 0.3, arm=60, grip=30, panel_length=300)
    assert told(report)[-1] == (
        "With one reading the worst is not known: thinner places will turn further."
    )


def test_a_slot_from_the_nominal_size_alone_is_told_as_such() -> None:
    """MDF of 18 mm: 17.8 to 18.2 mm by EN 622-1."""
    stock = nominal_only("a", "MDF", 18.0)
    lines = told(fit_report(stock, 0.4, arm=60, grip=30, panel_length=300))
    assert lines[0] == (
        "The slot is 18.6 mm wide: 0.4 mm of clearance at the thickest sheet of that name, 0.8 mm "
        "at the thinnest, 0.6 mm likely."
    )
    assert lines[-1] == "Nothing was measured: these are the limits of a table."


def test_examples_in_the_docstrings_run() -> None:
    failed, tried = doctest.testmod(fit_module)
    assert (failed, tried >= 4) == (0, True)
