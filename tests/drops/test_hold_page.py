"""The page on hold names every parameter as shipped."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetline import tables

PAGE = (Path(__file__).parents[2] / "docs" / "hold.md").read_text(encoding="utf-8")


@pytest.mark.behaviour
@pytest.mark.parametrize("row", tables.load("drop/hold").rows(), ids=lambda row: str(row["name"]))
def test_every_parameter_stands_on_the_page_with_its_range_and_source(row: dict[str, object]) -> None:
    line = next(line for line in PAGE.splitlines() if line.startswith(f"| `{row['name']}` |"))
    cells = [cell.strip() for cell in line.strip("|").split("|")]
    assert float(cells[1]) == row["value"]
    assert cells[2] == ("" if row["low"] is None else f"{row['low']:g} to {row['high']:g}")
    assert cells[4] == row["source"]


@pytest.mark.behaviour
def test_every_parameter_has_a_source_and_a_range_round_its_value() -> None:
    for row in tables.load("drop/hold").rows():
        assert row["source"]
        assert row["low"] is None or row["low"] <= row["value"] <= row["high"], row["name"]
