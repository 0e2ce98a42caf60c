"""The lines that a plan counts on are those of the aircraft as it flies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from attack.attack_maker import START
from wetline.aircraft import aircraft_classes
from wetline.attack import PlannedLoad
from wetline.attack.lines import LineTable
from wetline.drops import resolve
from wetline.model import shipped_limits
from wetline.weather import Weather

pytestmark = pytest.mark.behaviour


def test_a_helicopter_with_a_snorkel_drops_from_its_tank_in_the_plan() -> None:
    table = LineTable(limits=shipped_limits(), weather=None, start=START, classes=aircraft_classes())
    load = PlannedLoad(1, 0.0, "Plover 1", "medium_helicopter", "D1", "water", 1100.0, False, fill="snorkel")
    with_bucket = replace(load, fill="bucket")
    tank, bucket = resolve(table.release(load)), resolve(table.release(with_bucket))
    assert (tank.system, bucket.system) == ("belly_tank", "bucket")
    one, other = table.stack(load, 1.0), table.stack(with_bucket, 1.0)
    assert one is not None
    assert one != other


def windy(wind_mps: float) -> LineTable:
    unknown = np.full(2, np.nan)
    weather = Weather(
        time_s=START.timestamp() + np.array([-3600.0, 3600.0]),
        temperature_c=np.full(2, 30.0),
        humidity_pct=np.full(2, 25.0),
        wind_mps=np.full(2, wind_mps),
        wind_from_deg=np.full(2, 240.0),
        gust_mps=unknown,
        rain_mm=np.zeros(2),
        cloud_pct=unknown,
        visibility_m=unknown,
    )
    return LineTable(limits=shipped_limits(), weather=weather, start=START, classes=aircraft_classes())


def test_a_wind_that_a_slow_bucket_cannot_hold_stops_no_plan() -> None:
    """14.4 m/s are 28 kt: under the limit of 30 kt, and more at the tank than 30 kt of airspeed hold."""
    load = PlannedLoad(1, 0.0, "Plover 1", "medium_helicopter", "D1", "water", 1100.0, False, fill="bucket")
    stack = windy(14.4).stack(load, 1.0)
    assert stack is not None
    assert resolve(stack.release).speed_mps > 14.4
    assert windy(39.0).stack(load, 1.0) is None


@pytest.mark.parametrize("wind_mps", [12.0, 18.0, 22.0, 25.0, 28.0, 32.0])
@pytest.mark.parametrize("class_id", ["medium_helicopter", "light_helicopter"])
def test_a_line_counted_on_can_be_flown_on_every_heading(class_id: str, wind_mps: float) -> None:
    load = PlannedLoad(1, 0.0, "Plover 1", class_id, "D1", "water", 500.0, False, fill="bucket")
    stack = windy(wind_mps).stack(load, 0.5)
    if stack is None:
        assert wind_mps > 20.0
        return
    for heading_deg in range(0, 360, 30):
        resolve(replace(stack.release, heading_deg=float(heading_deg)))
