"""How long the line of a load holds, as the plan looks it up by the hour."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from wetline.aircraft import aircraft_classes
from wetline.attack import PlannedLoad
from wetline.attack.lines import LineTable
from wetline.attack.nouns import RETARDANT_S
from wetline.attack.runs import _wide_m
from wetline.drops import PatternRaster, wet_minutes
from wetline.model import shipped_limits
from wetline.units import COVERAGE_LEVEL
from wetline.weather import Weather

NOON = datetime(2026, 8, 14, 14, tzinfo=UTC)
HERE = (-31.8, 47.2)


def weather() -> Weather:
    """A hot hour and a damp, calm one after it."""
    unknown = np.full(2, np.nan)
    return Weather(
        time_s=np.array([NOON.timestamp(), NOON.timestamp() + 3600.0]),
        temperature_c=np.array([33.0, 14.0]),
        humidity_pct=np.array([20.0, 95.0]),
        wind_mps=np.array([7.0, 1.0]),
        wind_from_deg=np.full(2, 240.0),
        gust_mps=unknown,
        rain_mm=np.zeros(2),
        cloud_pct=np.array([0.0, 100.0]),
        visibility_m=unknown,
    )


def table(place: tuple[float, float] | None = HERE) -> LineTable:
    return LineTable(shipped_limits(), weather(), NOON, aircraft_classes(), place)


def load(minutes: float, agent: str = "water") -> PlannedLoad:
    return PlannedLoad(1, 60.0 * minutes, "Tern 1", "twin_engine_scooper", "S1", agent, 6000.0, False)


@pytest.mark.behaviour
def test_line_of_a_hot_hour_dries_before_that_of_a_damp_one() -> None:
    lines = table()
    hot, damp = (lines.hold_s(load(minutes), 3.0, 300.0) for minutes in (10.0, 70.0))
    assert 600.0 < hot < 2400.0  # 10 to 40 min, from memory
    assert damp > 2.0 * hot


@pytest.mark.behaviour
def test_late_in_its_hour_a_line_dries_in_the_next_one() -> None:
    """A hot hour, then a damp one: looked up by the five minutes that have begun."""
    lines = table()
    first, same, later, damp = (lines.hold_s(load(m), 3.0, 300.0) for m in (0.0, 4.9, 50.0, 60.0))
    assert first == same < later < damp


@pytest.mark.property
@pytest.mark.parametrize("intensity", [0.0, 0.3, 1.0, 77.0, 1999.0, 2001.0, 9_000.0])
@pytest.mark.parametrize("level", [1.0, 4.0])
def test_a_looked_up_hold_is_never_longer_than_the_fires_own(level: float, intensity: float) -> None:
    lines = table()
    band, _ = wet_minutes(level * COVERAGE_LEVEL, intensity, "water", air=lines.airs(load(0.0)))
    assert lines.hold_s(load(0.0), level, intensity) <= 60.0 * band.middle


@pytest.mark.behaviour
def test_without_a_place_or_weather_the_limits_say_how_long() -> None:
    limit_s = 60.0 * shipped_limits().value("hold_water_min")
    assert table(place=None).hold_s(load(0.0), 2.0, 300.0) == limit_s
    assert table().hold_s(load(600.0), 2.0, 300.0) == limit_s


@pytest.mark.behaviour
def test_retardant_outlasts_every_plan_unless_rain_comes() -> None:
    assert table().hold_s(load(0.0, "retardant"), 2.0, 300.0) == RETARDANT_S
    assert table().hold_s(load(0.0, "gel"), 2.0, 300.0) < RETARDANT_S


@pytest.mark.practice
def test_rain_of_the_next_hour_washes_off_a_late_load_as_soon_as_it_falls() -> None:
    """5 mm of the 20 mm that fall from 15:00 on: 15:15, 20 min after 14:55 and 75 after 14:00."""
    lines = table()
    assert lines.weather is not None
    lines.weather = replace(lines.weather, rain_mm=np.array([0.0, 20.0]))
    assert lines.hold_s(load(55.0, "retardant"), 2.0, 300.0) == pytest.approx(1200.0)
    assert lines.hold_s(load(0.0, "retardant"), 2.0, 300.0) == pytest.approx(4500.0)


@pytest.mark.derived
@pytest.mark.parametrize(("loads", "width_m"), [(1, 0.0), (2, 23.5), (4, 33.3)])
def test_line_is_as_wide_as_what_still_gets_half(loads: int, width_m: float) -> None:
    """A Gaussian 10 m wide and 1 L/m² at its peak, 2 L/m² asked for: 2σ√(2 ln(n/1)) for n loads, none for one.

    Only where its middle gets all of it: the thin end of the pattern, a quarter as wet, does not count.
    """
    along, right = np.arange(40.0), np.arange(-80.0, 80.5, 0.5)
    section = np.exp(-0.5 * (right / 10.0) ** 2)
    raster = PatternRaster(along, right, np.where(along[:, None] < 30.0, section, 0.25 * section))
    assert _wide_m(raster, 2.0, loads, 0.5) == pytest.approx(width_m, abs=1.0)
