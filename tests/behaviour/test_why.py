"""What drives a fire: shares that add up to 1 and vanish with their driver, in every published system."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from behaviour.system_maker import BURNS, SYSTEMS, tilted
from behaviour.system_maker import START as SYSTEM_START
from behaviour.system_maker import weather as system_weather
from wetline.behaviour import SURFACE_MODELS, Drivers, drivers, explain, mean_drivers
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.weather import Weather

START = datetime(2026, 7, 14, 6, tzinfo=UTC)
NOON = datetime(2026, 7, 14, 12, tzinfo=UTC)
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_230_000.0, 30.0, 20, 20)
X, Y = 500_305.0, 5_229_705.0


def weather(wind_mps: float = 5.0, humidity_pct: float | None = None) -> Weather:
    """Twelve hours that dry from morning to afternoon, or of one humidity."""
    n = 12
    drying = np.linspace(70.0, 20.0, n) if humidity_pct is None else np.full(n, humidity_pct)
    blank = np.full(n, np.nan)
    return Weather(
        time_s=START.timestamp() + 3600.0 * np.arange(n, dtype=np.float64),
        temperature_c=np.linspace(15.0, 30.0, n) if humidity_pct is None else np.full(n, 28.0),
        humidity_pct=drying,
        wind_mps=np.full(n, wind_mps),
        wind_from_deg=np.full(n, 270.0),
        gust_mps=blank,
        rain_mm=np.zeros(n),
        cloud_pct=np.full(n, 10.0),
        visibility_m=blank,
        live_herb_pct=60.0,
        live_woody_pct=90.0,
    )


def ground(rise: float = 0.0, fuel: int = 102, about: int = 102) -> Ground:
    """A plane that rises to the east; one fuel in the middle, another about."""
    _, col = np.mgrid[:20, :20]
    fuels = np.full(GRID.shape, about, np.int16)
    fuels[8:12, 8:12] = fuel
    return Ground(grid=GRID, elevation_m=(400.0 + rise * 30.0 * col).astype(np.float32), fuel=fuels)


def found(land: Ground, air: Weather) -> Drivers:
    out = drivers(SURFACE_MODELS, land, air, NOON, X, Y, fuels=land.fuel)
    assert out is not None
    return out


def total(d: Drivers) -> float:
    return d.wind + d.slope + d.fuel + d.dryness + d.rest


@pytest.mark.property
@pytest.mark.parametrize("rise", [0.0, 0.3])
@pytest.mark.parametrize("wind_mps", [0.0, 4.0, 9.0])
@pytest.mark.parametrize(("fuel", "about"), [(102, 102), (145, 102), (102, 145)])
def test_the_shares_add_up_to_one(rise: float, wind_mps: float, fuel: int, about: int) -> None:
    out = found(ground(rise, fuel, about), weather(wind_mps))
    assert total(out) == pytest.approx(1.0)
    assert out.rest > 0.0
    whole = explain(ground(rise, fuel, about), weather(wind_mps), NOON, X, Y)
    assert out.rate_mps == pytest.approx(whole.rate_mps)


@pytest.mark.property
@pytest.mark.parametrize("name", list(SYSTEMS))
def test_every_system_s_rate_is_shared_out_whole(name: str) -> None:
    """On a slope of 0.4 under 9 m/s of wind along it: wind and slope drive, in either system."""
    system = SYSTEMS[name]
    for fuel in BURNS[name]:
        land = tilted(fuel, 90.0, 0.4)
        x, y = land.grid.xy(land.grid.rows // 2, land.grid.cols // 2)
        air = system_weather((9.0, 9.0, 9.0), (270.0, 270.0, 270.0))
        out = drivers(system, land, air, SYSTEM_START, float(x), float(y), fuels=land.fuel)
        assert out is not None
        assert total(out) == pytest.approx(1.0)
        assert out.wind > 0.0
        assert out.slope > 0.0
        assert out.fuel == pytest.approx(0.0, abs=1e-9)
        whole = system.explain(land, air, SYSTEM_START, float(x), float(y))
        assert out.rate_mps == pytest.approx(whole.rate_mps)


@pytest.mark.property
def test_a_driver_that_is_as_usual_has_no_share() -> None:
    even = found(ground(), weather(0.0, humidity_pct=30.0))
    assert (even.wind, even.slope, even.fuel) == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    windy = found(ground(), weather(6.0))
    assert windy.slope == pytest.approx(0.0, abs=1e-9)
    assert windy.fuel == pytest.approx(0.0, abs=1e-9)
    assert windy.wind > 0.5


@pytest.mark.derived
def test_wind_alone_has_the_share_it_adds_to_the_rate() -> None:
    """With one driver only, its share is 1 less the rate without it over the rate: nothing to share."""
    land = ground()
    still = explain(land, replace(weather(6.0), wind_mps=np.zeros(12)), NOON, X, Y).rate_mps
    blown = explain(land, weather(6.0), NOON, X, Y).rate_mps
    air = replace(weather(6.0), time_s=np.array([NOON.timestamp()]))
    one_hour = {
        name: getattr(air, name)[:1] if getattr(air, name).shape == (12,) else getattr(air, name)
        for name in ("temperature_c", "humidity_pct", "wind_mps", "wind_from_deg", "gust_mps", "rain_mm",
                     "cloud_pct", "visibility_m")
    }  # fmt: skip
    at_noon = weather(6.0).at(NOON)
    one_hour["temperature_c"], one_hour["humidity_pct"] = (
        np.array([at_noon.temperature_c]),
        np.array([at_noon.humidity_pct]),
    )
    out = found(land, replace(air, **one_hour))
    assert out.wind == pytest.approx(1.0 - still / blown)
    assert out.dryness == pytest.approx(0.0, abs=1e-9)


@pytest.mark.property
def test_drier_air_than_the_day_s_middle_drives_and_damper_holds_back() -> None:
    land, air = ground(), weather(3.0)
    for hour, sign in ((START, -1.0), (START.replace(hour=17), 1.0)):
        out = drivers(SURFACE_MODELS, land, air, hour, X, Y, fuels=land.fuel)
        assert out is not None
        assert sign * out.dryness > 0.0


@pytest.mark.property
def test_a_fuel_faster_than_the_middle_one_drives_and_a_slower_one_holds_back() -> None:
    """Short dry grass and compact conifer litter, classes of the 40 models: high and very low spread."""
    fast, slow = found(ground(fuel=102, about=181), weather()), found(ground(fuel=181, about=102), weather())
    assert fast.fuel > 0.0 > slow.fuel
    assert (fast.typical_fuel, slow.typical_fuel) == (181, 102)


@pytest.mark.property
def test_a_slope_with_the_wind_drives() -> None:
    assert found(ground(rise=0.4), weather(2.0)).slope > 0.05


@pytest.mark.behaviour
def test_where_nothing_burns_nothing_drives() -> None:
    land = ground(fuel=98)
    assert drivers(SURFACE_MODELS, land, weather(), NOON, X, Y, fuels=land.fuel) is None


@pytest.mark.behaviour
def test_unknown_ground_is_no_answer() -> None:
    land = ground()
    land.elevation_m[10, 10] = np.nan
    x, y = GRID.xy(10, 10)
    with pytest.raises(LookupError):
        drivers(SURFACE_MODELS, land, weather(), NOON, float(x), float(y), fuels=land.fuel)


@pytest.mark.derived
def test_the_mean_over_places_adds_up_too() -> None:
    one, two = found(ground(0.3), weather()), found(ground(), weather(8.0))
    mean = mean_drivers([one, two])
    assert mean.wind == pytest.approx((one.wind + two.wind) / 2.0)
    assert total(mean) == pytest.approx(1.0)
    with pytest.raises(ValueError, match="no place"):
        mean_drivers([])
