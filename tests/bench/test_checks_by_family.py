"""What the advisor takes for each of our own families: `python -m pytest tests/bench -m bench -s`.

Process time, not the clock's, so that others on the machine matter less; the least of three runs.
The budget is 120 ms for a typical guide; a fit coupon, with sixty labels, is none.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

import pytest

from fixtures.advisor.advise import advise
from fixtures.advisor.checks import CHECKS
from fixtures.advisor.survey import survey
from fixtures.produce import Produced, pressed, produce
from tests.parts.made import DEFAULTS, FORMS, PRINTER, part

pytestmark = pytest.mark.bench
RUNS = 3


def least(call: Callable[[], object]) -> float:
    """Milliseconds of the process for the quickest of RUNS calls."""
    call()
    gc.collect()
    taken = []
    for _ in range(RUNS):
        begun = time.process_time()
        call()
        taken.append(time.process_time() - begun)
    return 1000 * min(taken)


def row(name: str, made: Produced) -> tuple[float, str]:
    mesh, facts = made.mesh, made.facts
    loads = pressed(made.part, made.pose, made.scale)
    seen = survey(mesh, PRINTER, facts, loads)
    whole = least(lambda: advise(mesh, PRINTER, facts, loads))
    measured = least(lambda: survey(mesh, PRINTER, facts, loads))
    each = {check.__name__: least(lambda c=check: list(c(seen))) for check in CHECKS}  # type: ignore[misc]
    dearest = sorted(each, key=lambda check: -each[check])[:3]
    listed = ", ".join(f"{check.replace('_', '-')} {each[check]:.1f}" for check in dearest)
    runs = len(seen.sliced.layers.runs) if seen.sliced else 0
    return whole, (
        f"{name:34s}{len(mesh.faces):7d}{made.advice.layers:7d}{runs:7d}{whole:9.1f}"
        f"{measured:9.1f}{sum(each.values()):8.1f}   {listed}"
    )


def test_the_checks_of_every_family() -> None:
    print(
        f"\n{'family':34s}{'faces':>7s}{'layers':>7s}{'differ':>7s}{'advise':>9s}{'survey':>9s}"
        f"{'checks':>8s}   dearest checks; process ms, budget 120 for a typical guide"
    )
    for name in (*DEFAULTS, *FORMS):
        whole, line = row(name, produce(part(name), PRINTER, biased=False))
        print(line)
        assert 0 < whole < 5000
