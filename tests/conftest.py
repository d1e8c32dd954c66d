"""What a test wants told is told at the end of a run, also of one in several processes."""

from __future__ import annotations

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Prints every property named `told`."""
    reports = [*terminalreporter.stats.get("passed", []), *terminalreporter.stats.get("failed", [])]
    for report in reports:
        for name, value in report.user_properties:
            if name == "told" and report.when == "call":
                terminalreporter.write_line(str(value))
