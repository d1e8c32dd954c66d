"""Random pieces: each is a kit whose proof holds, or is refused in words that name the cause."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fixtures.errors import Fault, InputError
from fixtures.kit import Kit, kit
from tests.piece.making import NAME, Tables, draw, read, toml

BLOCKS, EACH = 30, 10


def says_what_is_wrong(fault: Fault) -> bool:
    """Whole sentences: where, what, and what to do instead."""
    return bool(fault.where) and fault.message.endswith(".") and fault.remedy.endswith((".", "?"))


def outcome(told: Tables) -> Kit | InputError:
    """The kit of a piece, or what it is refused with."""
    try:
        return kit(read(told), NAME)
    except InputError as refusal:
        return refusal


@pytest.mark.slow
@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_random_piece_gives_a_kit_that_holds_or_is_refused_in_words(
    block: int, record_property: Callable[[str, object], None]
) -> None:
    panels = []
    for seed in range(block * EACH, (block + 1) * EACH):
        told = draw(seed)
        made = outcome(told)
        if isinstance(made, InputError):
            assert made.faults
            assert [f for f in made.faults if not says_what_is_wrong(f)] == [], toml(told)
            continue
        panels.append(len(made.panels.boards))
        failed = [f"{check.name}: {check.message}" for check in made.checks if not check.holds]
        assert failed == [], toml(told)
        assert made.steps
        for finding in made.findings:
            assert finding.message.endswith(".")
            assert finding.remedy.endswith(".")
    sizes = f", of {min(panels)} to {max(panels)} panels" if panels else ""
    record_property(
        "told",
        f"random pieces {block}: {len(panels)} held{sizes}, {EACH - len(panels)} refused",
    )


def test_draws_are_of_3_to_30_panels_and_of_every_kind() -> None:
    seen: set[str] = set()
    counts: set[int] = set()
    for seed in range(BLOCKS * EACH):
        told = draw(seed)
        if "polygon" in told:
            counts.add(told["polygon"]["sides"])
            seen.add("polygon")
            continue
        case = told["case"]
        counts.add(4 + ("back" in case) + len(told.get("shelf", [])))
        seen |= {case["corner"], case.get("fixing", "none"), case.get("back", {}).get("fit", "")}
        seen |= {shelf["fixing"] for shelf in told.get("shelf", [])}
    assert min(counts) == 3
    assert max(counts) == 30
    assert len(counts) > 20
    assert seen >= {"polygon", "mitre", "sides-run", "top-runs", "spline", "dowel", "screw", "glue"}
    assert seen >= {"inset", "groove", "overlay", "through-dowel", "bracket", "pin"}


def test_a_draw_is_a_function_of_its_seed() -> None:
    assert all(draw(seed) == draw(seed) for seed in range(20))
