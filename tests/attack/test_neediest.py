"""The level of a line is that of the neediest piece that it is counted on to close."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from attack.attack_maker import ellipse, loads, setting, uniform_fields
from wetline.attack import LineOption, PlannedLoad, futures, roll
from wetline.attack.placing import REFRESH_S
from wetline.growth import Front

if TYPE_CHECKING:
    from wetline.attack.nouns import Placed

GRASS, BRUSH, SLASH = 2, 4, 9
"""Fuels whose level is their number here; no load reaches that of slash."""


def line_for(_load: PlannedLoad, fuel: int, _intensity_kw_per_m: float) -> LineOption | None:
    if fuel == SLASH:
        return None
    return LineOption(level=float(fuel), line_m=240.0 / fuel, coats=1, hold_s=1.0e6)


@pytest.mark.property
@pytest.mark.parametrize("stripe_cells", [1, 3, 7])
def test_no_piece_of_a_line_asks_for_more_than_it_was_planned_for(stripe_cells: int) -> None:
    """Grass, brush and slash in stripes: every load is at the level of all that it closes, and of no slash."""
    fields = uniform_fields(rate_m_per_min=1.0, length_to_width=2.0)
    burnt = ellipse(fields, 240.0)
    rows, cols = fields.grid.shape
    stripes = np.array([GRASS, BRUSH, GRASS, SLASH])[np.arange(cols) // stripe_cells % 4]
    fuel = np.tile(stripes, (rows, 1)).astype(np.int16)
    anchor = (burnt.exterior.coords[0][0], burnt.exterior.coords[0][1])
    how = replace(
        setting(fields, loads(3.0, 119.0, agent="water"), line_for, anchor=anchor, cut_off_min=120.0),
        fuel=fuel,
    )
    planned: list[float] = []

    def watch(placed: Placed) -> None:
        edge, stretch = placed.edge, placed.stretch
        count = (stretch.last - stretch.first) % len(edge.length_m) + 1
        along = (stretch.first + np.arange(count)) % len(edge.length_m)
        along = along[edge.held_until_s[along] < placed.t_s + REFRESH_S]
        ahead = edge.mid[along] + edge.outward[along] * fields.grid.cell_m
        asked = fields.grid.nearest(fuel, ahead[:, 0], ahead[:, 1])
        assert placed.option.level >= asked.max()
        assert SLASH not in asked
        planned.append(placed.option.level)

    roll(how, futures(0, 0)[0], Front(fields, burnt, 0.0), fields, watch)
    assert {GRASS, BRUSH} >= set(planned) != set()
    assert len(planned) > 10
