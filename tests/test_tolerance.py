"""Errors to expect: against closed forms, a simulated ring, and what halving a cause does."""

from __future__ import annotations

import json
import math
import random
from pathlib import Path

import pytest

from fixtures.kit import Kit, kit
from fixtures.piece.piece import parse
from fixtures.piece.tables import ErrorsTable, GoalTable
from fixtures.telling import tolerance as telling
from fixtures.tolerance import (
    Expected,
    Held,
    Share,
    diagonals,
    improvement,
    last_mitre,
    lean,
    share,
    swing,
)

GOAL = GoalTable()
HELD = Held("corner", 0.4, 0.1, 60.0, 240.0, 620.0, 240.0, True)


def tilted(degrees: float) -> ErrorsTable:
    return ErrorsTable(length="0 mm", tilt=f"{degrees} deg")


@pytest.mark.parametrize(("degrees", "one_joint"), [(0.10, 0.089), (0.25, 0.222), (0.50, 0.444)])
def test_last_mitre_carries_the_errors_of_all_cuts(degrees: float, one_joint: float) -> None:
    """One joint of two cuts opens 2e over a face of 25.456 mm at 18 mm; the last of four carries
    8e, four times as much (closed form: t / cos 45°, and small angles)."""
    found = last_mitre(4, 18.0, tilted(degrees), GOAL)
    assert found.worst == pytest.approx(4 * one_joint, rel=0.005)
    exact = 18.0 / math.cos(math.pi / 4) * math.tan(math.radians(8 * degrees))
    assert found.worst == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(("sides", "most"), [(3, 2.0), (4, 2 * math.sqrt(2)), (6, 4.0)])
def test_boards_of_unlike_length_leave_the_ring_open(sides: int, most: float) -> None:
    """The longest sum of ± unit vectors along the sides: 2 (triangle), 2√2 (square), 4 (hexagon):
    by hand, from 1 + ½ + ½, √(2² + 2²), and 1 + ½ + ½ twice."""
    errors = ErrorsTable(length="1 mm", tilt="0 deg")
    assert last_mitre(sides, 18.0, errors, GOAL).worst == pytest.approx(most)


def test_longest_sum_agrees_with_trying_every_sign() -> None:
    for sides in range(3, 11):
        ways = [2 * math.pi * k / sides for k in range(sides)]
        best = max(
            math.hypot(
                sum((1 if signs >> k & 1 else -1) * math.cos(ways[k]) for k in range(sides)),
                sum((1 if signs >> k & 1 else -1) * math.sin(ways[k]) for k in range(sides)),
            )
            for signs in range(2**sides)
        )
        errors = ErrorsTable(length="1 mm", tilt="0 deg")
        assert last_mitre(sides, 18.0, errors, GOAL).worst == pytest.approx(best)


def test_likely_gap_holds_in_95_of_100_simulated_rings() -> None:
    """Errors drawn evenly between their limits; the gap is across the last joint, in one direction.
    Twice the standard deviation of a sum of many even errors covers about 95 in 100 (JCGM 100)."""
    chance = random.Random(20261125)
    face, e = 18.0 / math.cos(math.pi / 4), math.radians(0.2)
    found = last_mitre(4, 18.0, tilted(0.2), GOAL)
    inside = sum(
        abs(face * sum(chance.uniform(-e, e) for _ in range(8))) <= found.likely
        for _ in range(4000)
    )
    assert 0.945 <= inside / 4000 <= 0.97


def test_diagonals_of_a_racked_case() -> None:
    """A W × H case racked by φ has diagonals √(W² + H² ± 2 W H sin φ): law of cosines."""
    wide, tall, play, arm = 400.0, 300.0, 0.5, 60.0
    phi = 2 * play / arm
    exact = math.sqrt(wide**2 + tall**2 + 2 * wide * tall * math.sin(phi))
    exact -= math.sqrt(wide**2 + tall**2 - 2 * wide * tall * math.sin(phi))
    held = Held("corner", play, 0.0, arm, 240.0, 400.0, 240.0, False)
    found = diagonals(held, (wide, tall), 0.0, GOAL)
    assert found.worst == pytest.approx(exact, rel=1e-3)


def test_straps_take_the_play_out_of_a_mitred_corner() -> None:
    strapped = diagonals(HELD, (620.0, 480.0), 0.05, GOAL)
    assert [one.cause for one in strapped.shares] == ["print"]
    assert strapped.worst < swing(HELD).worst


def test_swing_counts_both_boards_and_the_thinnest_place() -> None:
    """Each board turns by (0.4 + 0.1) / 60 at worst, two of them over 620 mm."""
    assert swing(HELD).worst == pytest.approx(2 * 0.5 / 60 * 620)


def test_lean_is_the_play_where_both_ends_are_held() -> None:
    assert lean(HELD, GOAL).worst == pytest.approx(0.5)
    one_end = Held("corner", 0.4, 0.1, 60.0, 30.0, 620.0, 240.0, True)
    assert lean(one_end, GOAL).worst == pytest.approx(0.5 * 240 / 30)


def test_likely_never_exceeds_worst() -> None:
    assert share("fit", 1.0).likely == 1.0  # 2/√3 would be more than there can be
    assert share("fit", 1.0, 4).likely == pytest.approx(2 / math.sqrt(3) * 2)


def test_halving_the_named_cause_helps_most() -> None:
    one = Expected("shelf tilt", "", None, 0.5, (Share("line", 0.4, 0.3), Share("drill", 0.6, 0.5)))
    better = improvement([one])
    assert better is not None
    assert better.cause == "drill"
    assert better.halved == pytest.approx(math.hypot(0.3, 0.25))
    assert better.halved < math.hypot(0.15, 0.5)  # halving the other one


def test_nothing_to_improve_where_goals_are_met_at_worst() -> None:
    one = Expected("lean", "", None, 1.0, (Share("fit", 0.9, 0.9),))
    assert improvement([one]) is None
    assert improvement([Expected("lean", "", None, 0.8, one.shares)]) is not None


@pytest.fixture(scope="module")
def mitred() -> Kit:
    return kit(parse(Path("examples/mitred-case.toml").read_text(), "x"), "x")


def test_a_kit_tells_what_to_expect_before_anything_is_cut(mitred: Kit) -> None:
    names = [one.name for one in mitred.tolerance.expected]
    assert names == ["swing", "lean", "diagonals", "last mitre", "shelf tilt", "shelf tilt"]
    told = "\n".join(telling.lines(mitred.tolerance, "mm"))
    assert mitred.tolerance.improve is not None
    assert f"{mitred.tolerance.improve.halved:.2f} mm" in told
    written = json.loads(json.dumps(telling.document(mitred.tolerance)))
    assert written["expected"][0]["worst_mm"] == pytest.approx(
        mitred.tolerance.expected[0].worst, abs=1e-4
    )


def test_one_sheet_without_spread_swings_by_the_fit_alone(mitred: Kit) -> None:
    text = Path("examples/mitred-case.toml").read_text()
    start = text.index("readings = ")
    end = text.index("\n", start)
    even = parse(text[:start] + 'readings = ["19.0 mm", "19.0 mm"]' + text[end:], "x")
    found = kit(even, "x").tolerance.expected[0]
    assert [one.worst for one in found.shares if one.cause == "sheet"] == [0.0]
    assert found.worst < mitred.tolerance.expected[0].worst
