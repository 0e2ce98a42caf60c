"""A run, a ground and a context that tests bend to their case. Invented data."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import shapely

from wetline.grid import Grid, Projection
from wetline.ground import Ground, Hazard, Layer, PeoplePlace, Water
from wetline.model import Band, DropRun, shipped_limits
from wetline.safety import SafetyContext
from wetline.weather import Weather

NOW = datetime(2026, 8, 14, 14, 0, tzinfo=UTC)
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_230_000.0, 30.0, 200, 200)
X0, Y0 = 503_000.0, 5_227_000.0


def a_run(**changes: Any) -> DropRun:
    """A run due east: approach from 1,500 m west, 100 m of line, exit straight on 1,000 m."""
    run = DropRun(
        id="R1",
        order=1,
        time=NOW + timedelta(minutes=10),
        aircraft="Tern 1",
        class_id="twin_engine_scooper",
        source="S1",
        edge_part="right_flank",
        mode="direct",
        position=(X0 + 50, Y0),
        release_position=(X0, Y0),
        run_heading_deg=90.0,
        line=np.array([[X0, Y0], [X0 + 100, Y0]]),
        wetted=np.array([[X0 - 20, Y0], [X0 + 120, Y0]]),
        closes_m=100.0,
        approach=np.array([[X0 - 1500, Y0], [X0, Y0]]),
        exit_path=np.array([[X0 + 100, Y0], [X0 + 1100, Y0]]),
        height_above_canopy_m=40.0,
        height_amsl_m=500.0,
        speed_mps=54.0,
        agent="water",
        load_l=6000.0,
        coverage_level=2.0,
        line_m=Band(100.0),
        hold_min=Band(20.0),
        coat=1,
        coats=1,
        pattern_half_width_m=15.0,
        drift_right_m=Band(0.0),
        drift_along_m=Band(0.0),
        intensity_kw_per_m=500.0,
        flame_length_m=1.35,
    )
    return replace(run, **changes)


def people(
    name: str, x: float, y: float, *, minutes_ago: float | None = 5.0, kind: str = "crew"
) -> PeoplePlace:
    """Somebody reported at a point, offset [m] from the line's start."""
    seen = None if minutes_ago is None else NOW - timedelta(minutes=minutes_ago)
    return PeoplePlace(name=name, kind=kind, shape=shapely.Point(X0 + x, Y0 + y), seen=seen)  # type: ignore[arg-type]


def weather(**columns: float) -> Weather:
    """Two steady hours round the run; any column may be bent."""
    base = {
        "temperature_c": 20.0,
        "humidity_pct": 40.0,
        "wind_mps": 4.0,
        "wind_from_deg": 270.0,
        "gust_mps": 6.0,
        "rain_mm": 0.0,
        "cloud_pct": 10.0,
        "visibility_m": 20_000.0,
    }
    arrays: dict[str, Any] = {k: np.full(3, v) for k, v in (base | columns).items()}
    start = NOW.timestamp()
    return Weather(time_s=np.array([start, start + 3600, start + 7200]), **arrays)


def a_ground(**layers: Any) -> Ground:
    """Flat ground with everything surveyed and nobody there, unless said."""
    base: dict[str, Any] = {
        "people": Layer((), present=True, surveyed=date(2026, 8, 14)),
        "hazards": Layer((), present=True, surveyed=date(2026, 6, 2)),
        "water": Layer((), present=True, surveyed=date(2026, 6, 2)),
    }
    return Ground(
        grid=GRID,
        elevation_m=np.full(GRID.shape, 300.0, np.float32),
        fuel=np.full(GRID.shape, 2, np.int16),
        **(base | layers),
    )


def a_context(ground: Ground | None = None, **changes: Any) -> SafetyContext:
    """The context at NOW with a cut-off in six hours."""
    context = SafetyContext(
        ground=ground or a_ground(),
        weather=weather(),
        limits=shipped_limits(),
        now=NOW,
        cut_off=NOW + timedelta(hours=6),
    )
    return replace(context, **changes)


def layer(*features: PeoplePlace | Hazard | Water) -> Layer[Any]:
    """A surveyed layer of features."""
    return Layer(tuple(features), present=True, surveyed=date(2026, 8, 14))
