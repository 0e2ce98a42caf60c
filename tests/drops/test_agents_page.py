"""The page on agents tells the numbers that the tables hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from wetline import tables
from wetline.drops import AGENTS, agent_facts, liquid
from wetline.model import shipped_limits

pytestmark = pytest.mark.behaviour

PAGE = (Path(__file__).parents[2] / "docs" / "agents.md").read_text(encoding="utf-8")


def row(name: str) -> list[str]:
    """The cells of a line of the table of agents."""
    line = next(line for line in PAGE.splitlines() if line.startswith(f"| {name}"))
    return [cell.strip() for cell in line.strip("|").split("|")][1:]


def test_mix_density_and_class_stand_as_in_the_tables() -> None:
    facts = [agent_facts(agent) for agent in AGENTS]
    for cell, fact in zip(row("concentrate")[1:], facts[1:], strict=True):
        mix = fact.mix_pct
        assert [float(part) for part in cell.split(",")[0].strip(")").replace(" (", "–").split("–")] == [
            mix.middle,
            mix.low,
            mix.high,
        ]
    assert [float(cell) for cell in row("density")] == [liquid(a).density_kg_per_m3 for a in AGENTS]
    assert row("viscosity class") == [fact.viscosity_class for fact in facts]


def test_lasting_and_waterway_rule_stand_as_in_the_tables() -> None:
    facts = [agent_facts(agent) for agent in AGENTS]
    assert [cell.replace(" ", "_") for cell in row("works")] == [fact.lasts for fact in facts]
    assert ["buffer" if cell == "buffer" else "plain" for cell in row("near water")] == [
        fact.near_water for fact in facts
    ]
    assert f"300 ft, {shipped_limits().value('waterway_buffer_m'):g} m" in PAGE


def test_the_steps_of_intensity_stand_on_the_page() -> None:
    for above in tables.load("drop/need_steps")["above_kw_per_m"][1:]:
        assert f"{above:.0f} kW/m" in PAGE
