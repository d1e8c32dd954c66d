"""`panelry checks`: a page a check, the same as the documents'."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fixtures.advisor.checks import CHECKS
from fixtures.telling.checks import PARTS, page, pages
from tests.cli.running import run

PAGE = Path(__file__).parents[2] / "docs" / "checks.md"


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_every_check_says_all_there_is_to_say(check: object) -> None:
    told = page(check)  # type: ignore[arg-type]
    assert told.name == check.__name__.replace("_", "-")  # type: ignore[attr-defined]
    assert tuple(key for key, _ in told.parts) == PARTS
    assert all(text for _, text in told.parts)
    blind = dict(told.parts)["Blind spot"]
    assert not blind.startswith("see "), "a reader of the page cannot see a module"


def test_the_page_in_the_documents_is_the_checks_own() -> None:
    assert PAGE.read_text(encoding="utf-8") == run("checks", "--page").out


def test_one_check_on_a_terminal() -> None:
    told = run("checks", "bridge").out
    assert told.startswith("bridge\n")
    for part in PARTS:
        assert f"  {part}: " in told


def test_every_check_is_listed() -> None:
    told = run("checks").out
    assert all(each.name in told for each in pages())


def test_pages_for_programs() -> None:
    document = json.loads(run("checks", "thin-wall", "--json").out)
    assert document["schema"] == "panelry/checks/1"
    assert [row["check"] for row in document["checks"]] == ["thin-wall"]
    assert document["checks"][0]["blind_spot"]


def test_a_check_nobody_knows_is_refused_with_the_nearest() -> None:
    done = run("checks", "brige")
    assert (done.code, done.out) == (2, "")
    assert done.err == "Check brige is not known here. Did you mean bridge?\n"
