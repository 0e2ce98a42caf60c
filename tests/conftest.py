"""Every test says of which kind it is; the run prints how many there are of each."""

from __future__ import annotations

from collections import Counter

import pytest

KINDS = ("published", "memory", "derived", "practice", "property", "golden", "behaviour")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    wrong = [
        item.nodeid for item in items if sum(item.get_closest_marker(kind) is not None for kind in KINDS) != 1
    ]
    if wrong:
        message = f"these tests do not carry exactly one kind of {', '.join(KINDS)}: {'; '.join(wrong[:20])}"
        raise pytest.UsageError(message)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    done = Counter(
        kind
        for report in terminalreporter.getreports("passed")
        if report.when == "call"
        for kind in KINDS
        if kind in report.keywords
    )
    line = ", ".join(f"{done[kind]} {kind}" for kind in KINDS)
    terminalreporter.write_line(f"kinds of tests passed: {line}")
