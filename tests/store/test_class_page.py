"""The page of aircraft classes is made from the classes, and its examples are read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from store.asking import errors
from wetline.aircraft import aircraft_classes, known_quantities
from wetline.store import aircraft_page, read_incident

pytestmark = pytest.mark.behaviour

PAGE = (Path(__file__).parents[2] / "docs" / "aircraft.md").read_text(encoding="utf-8")


def test_the_page_of_classes_is_that_of_the_shipped_ones() -> None:
    """Written by tools/aircraft_page.py; run it after a change of a class."""
    assert aircraft_page() == PAGE


def test_the_page_names_every_number_with_its_range_and_source() -> None:
    for cls in aircraft_classes().values():
        part = PAGE.split(f"\n## {cls.name}\n")[1].split("\n## ")[0]
        for quantities in (cls.quantities, *cls.other_ways.values()):
            for name, q in quantities.items():
                ends = "–" if q.low is None else f"{q.low:g} to {q.high:g}"
                assert f"| `{name}` | {q.value:g} {q.unit} | {ends} | {q.source} |" in part
    assert all(
        f"| `{k.name}` | {k.unit} | {k.looser} | {k.what} |" in PAGE for k in known_quantities().values()
    )


def test_the_examples_of_the_page_are_read_without_a_remark(folder: Path) -> None:
    examples = re.findall(r"```toml\n# classes/(\w+)\.toml\n(.*?)```", PAGE, flags=re.DOTALL)
    assert len(examples) == 2
    (folder / "classes").mkdir()
    for name, text in examples:
        (folder / "classes" / f"{name}.toml").write_text(text)
    assert errors(folder) == []
    incident = read_incident(folder)
    assert {name for name, _ in examples} <= set(incident.classes)
    assert [p for p in incident.warnings if p.layer == "classes"] == []
    assert incident.limit_findings == ()
