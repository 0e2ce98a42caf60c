"""Every test says of which kind it is; the run prints how many there are of each."""

from __future__ import annotations

from collections import Counter

import pytest

KINDS = ("published", "memory", "derived", "practice", "property", "golden", "behaviour")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    wrong = []
    for item in items:
        kinds = [kind for kind in KINDS if item.get_closest_marker(kind) is not None]
        if len(kinds) != 1:
            wrong.append(item.nodeid)
        item.user_properties += [("kind", kind) for kind in kinds]
    if wrong:
        message = f"these tests do not carry exactly one kind of {', '.join(KINDS)}: {'; '.join(wrong[:20])}"
        raise pytest.UsageError(message)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    done = Counter(
        kind
        for report in terminalreporter.getreports("passed")
        if report.when == "call"
        for name, kind in report.user_properties
        if name == "kind"
    )
    line = ", ".join(f"{done[kind]} {kind}" for kind in KINDS)
    terminalreporter.write_line(f"kinds of tests passed: {line}")
