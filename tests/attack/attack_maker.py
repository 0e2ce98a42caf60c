"""Uniform ground under a steady wind: the cases that theory solves. Invented data."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.attack import LineOption, PlannedLoad, RollSetting
from wetline.behaviour import FireFields
from wetline.grid import Grid, Projection

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely.geometry.base import BaseGeometry

START = datetime(2026, 8, 14, 14, 0, tzinfo=UTC)
FOR_GOOD_S = 1.0e8


def uniform_fields(
    *, rate_m_per_min: float, length_to_width: float, toward_deg: float = 0.0, cell_m: float = 10.0,
    cells: int = 220, hours: float = 8.0, intensity: float = 300.0,
) -> FireFields:  # fmt: skip
    """One slot of the same fire everywhere."""
    grid = Grid(Projection("EPSG:32625"), 500_000.0, 5_230_000.0, cell_m, cells, cells)
    shape = (1, cells, cells)
    return FireFields(
        grid=grid,
        start=START,
        edges_s=np.array([0.0, hours * 3600.0]),
        head_rate_mps=np.full(shape, rate_m_per_min / 60.0, np.float32),
        head_toward_deg=np.full(shape, toward_deg, np.float32),
        eccentricity=np.full(shape, np.sqrt(1 - 1 / length_to_width**2), np.float32),
        head_intensity_kw_per_m=np.full(shape, intensity, np.float32),
        burnable=np.ones((cells, cells), bool),
    )


def ellipse(fields: FireFields, age_min: float, *, back_share: float = 0.5) -> shapely.Polygon:
    """The fire of a point lit `age_min` ago, ignition at the rear focus, on the grid's middle line."""
    rate = float(fields.head_rate_mps[0, 0, 0]) * 60.0
    e = float(fields.eccentricity[0, 0, 0])
    toward = np.radians(float(fields.head_toward_deg[0, 0, 0]))
    west, south, east, north = fields.grid.bounds
    x0, y0 = (west + east) / 2, south + back_share * (north - south)
    angle = np.linspace(0.0, 2 * np.pi, 721)[:-1]
    r = rate * age_min * (1 - e) / (1 - e * np.cos(angle))
    return shapely.Polygon(
        np.column_stack([x0 + r * np.sin(toward + angle), y0 + r * np.cos(toward + angle)])[::-1]
    )


def loads(every_min: float, until_min: float, *, agent: str = "retardant") -> list[PlannedLoad]:
    """A load every so many minutes by one aircraft."""
    times = np.arange(every_min, until_min, every_min)
    return [
        PlannedLoad(i + 1, float(t) * 60.0, "Tern 1", "twin_engine_scooper", "S1", agent, 6000.0, False)
        for i, t in enumerate(times)
    ]


def always(line_m: float, hold_s: float = FOR_GOOD_S) -> Callable[..., LineOption]:
    """The same line for every load."""
    return lambda _load, _fuel, _intensity: LineOption(level=2.0, line_m=line_m, coats=1, hold_s=hold_s)


def setting(
    fields: FireFields,
    planned: Sequence[PlannedLoad],
    line_for: Callable[..., LineOption | None],
    *,
    anchor: tuple[float, float],
    cut_off_min: float,
    forbidden: BaseGeometry | None = None,
    intensity_max: float = 1.0e6,
    sample_min: float = 2.0,
) -> RollSetting:
    """A rollout from the start to a cut-off."""
    return RollSetting(
        loads=planned,
        now_s=0.0,
        cut_off_s=cut_off_min * 60.0,
        sample_s=sample_min * 60.0,
        anchor=anchor,
        fuel=np.full(fields.grid.shape, 2, np.int16),
        line_for=line_for,
        intensity_max=intensity_max,
        forbidden=forbidden,
    )
