"""Random pieces: each is a kit whose proof holds, or is refused in words that name the cause."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from fixtures.assembly import Dowelled
from fixtures.errors import Fault, InputError
from fixtures.in_step import REMOVED
from fixtures.kit import Kit, kit
from tests.piece.making import NAME, Tables, draw, read, toml

BLOCKS, EACH = 50, 10


def says_what_is_wrong(fault: Fault) -> bool:
    """Whole sentences: where, what, and what to do instead."""
    return bool(fault.where) and fault.message.endswith(".") and fault.remedy.endswith((".", "?"))


def outcome(told: Tables) -> Kit | InputError:
    """The kit of a piece, or what it is refused with."""
    try:
        return kit(read(told), NAME)
    except InputError as refusal:
        return refusal


def unproved(made: Kit) -> list[str]:
    """What the steps of a kit leave out: boards with no way in that is proved, joints never closed,
    fixtures that no step uses or takes off."""
    names = {check.name for check in made.checks}
    ways = {name.rpartition(": ")[2] for name in names if name.startswith("goes in: ")}
    proved = {board for told in ways for board in told.split(", ")}
    found = [b.name for b in made.panels.boards if b.enters == "fit out" and b.name not in proved]
    found += [
        joint.name
        for joint in made.joints
        if isinstance(joint, Dowelled) and f"pins go in: {joint.name}" not in names
    ]
    used = {name for step in made.steps for name, _ in step.fixtures}
    off = {off.fixture for step in made.steps for off in step.off}
    for item in made.items:
        stands = any(use.role in REMOVED and use.phases != ("drill",) for use in item.fixture.uses)
        if item.fixture.name not in used or (stands and item.fixture.name not in off):
            found.append(item.fixture.name)
    titles = [step.title for step in made.steps]
    if "Cut what was held back" in titles and made.piece.case:
        before = titles.index("Measure the dry case") < titles.index("Cut what was held back")
        found += [] if before else ["measured too late"]
    return found


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
        assert unproved(made) == [], toml(told)
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
        seen |= {key for key in ("divider", "top", "base", "plinth") if key in told}
        seen |= {d.get("fixing", "dowel") + " divider" for d in told.get("divider", [])}
        counts.add(4 + ("back" in case) + len(told.get("shelf", [])))
        seen |= {case["corner"], case.get("fixing", "none"), case.get("back", {}).get("fit", "")}
        seen |= {shelf["fixing"] for shelf in told.get("shelf", [])}
    assert min(counts) == 3
    assert max(counts) == 30
    assert len(counts) > 20
    assert seen >= {"polygon", "mitre", "sides-run", "top-runs", "spline", "dowel", "screw", "glue"}
    assert seen >= {"divider", "top", "base", "plinth", "dowel divider", "through-dowel divider"}
    assert seen >= {"inset", "groove", "overlay", "through-dowel", "bracket", "pin"}


def test_a_draw_is_a_function_of_its_seed() -> None:
    assert all(draw(seed) == draw(seed) for seed in range(20))
