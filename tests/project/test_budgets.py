"""Files and functions stay small enough to read."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

pytestmark = pytest.mark.behaviour

ROOT = Path(__file__).parents[2]
SOURCES = sorted(p for folder in ("src", "tests", "bench", "tools") for p in (ROOT / folder).rglob("*.py"))
HARD_LINES = 700
FUNCTION_LINES = 60
KERNEL_LINES = 150


def test_no_file_is_longer_than_the_hard_budget() -> None:
    lengths = {str(p.relative_to(ROOT)): len(p.read_text(encoding="utf-8").splitlines()) for p in SOURCES}
    assert lengths
    assert {name: n for name, n in lengths.items() if n > HARD_LINES} == {}


def test_no_function_is_longer_than_its_budget() -> None:
    too_long = {}
    for path in SOURCES:
        budget = KERNEL_LINES if "_kernels" in str(path) else FUNCTION_LINES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                docstring = ast.get_docstring(node, clean=False) or ""
                lines = (node.end_lineno or 0) - node.lineno + 1 - len(docstring.splitlines())
                if lines > budget:
                    too_long[f"{path.relative_to(ROOT)}:{node.name}"] = lines
    assert too_long == {}
