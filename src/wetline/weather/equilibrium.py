"""Dead fuel moisture hour by hour: each size class runs after the equilibrium of the air at the fuel.

The sun warms the fuel above the air and dries the air at it (Byram and Jemison 1943); wood settles at the
equilibrium of that air (Simard 1968), fine wood within the hour, thick wood within days. Day and night are
one: where no sun shines, fuel has the temperature of the air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.units import FOOT, HOUR, MILE_PER_HOUR
from wetline.weather.sun import sun_position

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.weather.hourly import Hour, Weather

__all__ = [
    "SATURATED_PCT",
    "WETTING_RAIN_MM",
    "EquilibriumMoisture",
    "clear_sun_w_per_m2",
    "equilibrium_moisture",
    "equilibrium_moisture_simard_1968",
    "fuel_level_air_byram_jemison_1943",
    "lagged_pct",
]

TIMELAGS_H = (1.0, 10.0, 100.0)
SATURATED_PCT = 30.0
"""Moisture to which rain draws dead fuel: wood fibres hold about this much (from memory)."""
WETTING_RAIN_MM = 0.25
"""Rain in an hour from which fuel counts as wet, 0.01 in (common practice, no source)."""

_SUN_W_PER_M2 = 1361.0  # outside the air (Kopp and Lean 2011, from memory)
_CLEAR_AIR = 0.75  # share of direct sun through one clear, dry atmosphere (common practice, no source)
_CAL_PER_CM2_MIN = 4.184e4 / 60.0  # W/m²
_SHADE_LETS_THROUGH = 0.25  # sun under half a cover or more (common practice, no source)
# Wind at the fuel over 10 m wind: 0.4 in the open and 0.1 under trees of the 20-ft wind (Rothermel 1983,
# from memory; the 0.1 read at nwcg.gov), which is the 10 m wind over 1.15.
_FUEL_WIND_OPEN, _FUEL_WIND_SHADED = 0.35, 0.09
_GENTLE_TAN, _STEEP_TAN = 0.15, 0.50  # middle of the classes 0-30 % and 31 % up (common practice, no source)
_HEIGHT_STEP_M = 1500.0 * FOOT  # middle of the correction tables' 1000 to 2000 ft
_LAPSE_K_PER_M = 0.0065  # ISO 2533:1975


def equilibrium_moisture_simard_1968(
    temperature_c: ArrayLike, humidity_pct: ArrayLike
) -> NDArray[np.float64]:
    """Equilibrium moisture [%] of wood in air of a temperature [°C] and humidity [%, 0 to 100].

    Scalars or arrays of one shape. The three pieces do not join exactly at 10 and 50 %.

    Raises
    ------
    OutsideRangeError
        If the humidity lies outside 0 to 100 %.

    References
    ----------
    Simard 1968, Forest Fire Research Institute FF-X-14, as printed at wikifire.wsl.ch.
    """
    h = np.asarray(humidity_pct, float)
    t = np.asarray(temperature_c, float) * 1.8 + 32.0  # °F
    if not np.all((h >= 0.0) & (h <= 100.0)):
        worst = float(h[~((h >= 0.0) & (h <= 100.0))].flat[0])
        raise OutsideRangeError(field="humidity_pct", value=worst, low=0.0, high=100.0, unit="%")
    dry = 0.03229 + 0.281073 * h - 0.000578 * h * t
    middle = 2.22749 + 0.160107 * h - 0.014784 * t  # the public copy prints 0.01478
    damp = 21.0606 + 0.005565 * h**2 - 0.00035 * h * t - 0.483199 * h
    return np.asarray(np.where(h < 10.0, dry, np.where(h < 50.0, middle, damp)), float)


def fuel_level_air_byram_jemison_1943(
    temperature_c: ArrayLike, humidity_pct: ArrayLike, sun_w_per_m2: ArrayLike, wind_mps: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Temperature [°C] of fuel in the sun, and humidity [%] of the air that touches it.

    `sun_w_per_m2`: sun on the fuel [W/m², ≥ 0]. `wind_mps`: wind at the fuel [m/s, ≥ 0]. In the dark both
    are the air's own: cooling of fuel under a clear night sky is not in it (real fuel is then damper).

    References
    ----------
    Byram and Jemison 1943, J. Agric. Res. 67:149-176 (from memory): T_fuel − T_air = I/(0.015 U + 0.026)
    [°F, cal/cm²/min, mi/h]; H_fuel = H exp(−0.033 (T_fuel − T_air)).
    """
    sun = np.asarray(sun_w_per_m2, float) / _CAL_PER_CM2_MIN
    warmer_f = sun / (0.015 * np.asarray(wind_mps, float) / MILE_PER_HOUR + 0.026)
    return np.asarray(temperature_c, float) + warmer_f / 1.8, _drier(humidity_pct, warmer_f)


def _drier(humidity_pct: ArrayLike, warmer_f: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(np.asarray(humidity_pct, float) * np.exp(-0.033 * np.asarray(warmer_f, float)))


def clear_sun_w_per_m2(
    elevation_deg: float, azimuth_deg: float, slope_tan: ArrayLike, aspect_deg: ArrayLike
) -> NDArray[np.float64]:
    """Sun and sky light [W/m²] on slopes under a clear sky; 0 while the sun is down.

    `elevation_deg`, `azimuth_deg` of the sun; slopes as tangent and the bearing in which they fall. The
    ground's own shadow on other ground is not in it.

    References
    ----------
    Kasten and Young 1989 (air mass); Liu and Jordan 1960 (light of the sky). From memory.
    """
    slope = np.arctan(np.asarray(slope_tan, float))
    if elevation_deg <= 0.0:
        return np.zeros(slope.shape)
    height = math.radians(elevation_deg)
    air_mass = 1.0 / (math.sin(height) + 0.50572 * (elevation_deg + 6.07995) ** -1.6364)
    through = _CLEAR_AIR**air_mass
    sky = max(0.271 - 0.294 * through, 0.0) * math.sin(height)
    turn = np.radians(azimuth_deg - np.asarray(aspect_deg, float))
    onto = math.sin(height) * np.cos(slope) + math.cos(height) * np.sin(slope) * np.cos(turn)
    return np.asarray(_SUN_W_PER_M2 * (through * np.maximum(onto, 0.0) + sky), float)


def lagged_pct(
    moisture_pct: NDArray[np.float64],
    equilibrium_pct: NDArray[np.float64],
    hours: float,
    timelag_h: ArrayLike,
) -> NDArray[np.float64]:
    """Moisture [%] after `hours` towards an equilibrium [%]: 63 % of the way in one timelag."""
    left = np.exp(-hours / np.asarray(timelag_h, float))
    return np.asarray(equilibrium_pct + (moisture_pct - equilibrium_pct) * left, float)


@dataclass(frozen=True, slots=True, kw_only=True)
class EquilibriumMoisture:
    """Dead moisture through a weather table.

    `pct` [%, float64[hour, 3, 36]]: 1-h, 10-h and 100-h fuel in the middle of each hour, by `site_index`.
    `time_s`: the table's hours.
    """

    time_s: NDArray[np.float64]
    pct: NDArray[np.float64]
    notes: tuple[str, ...]

    def at(self, hour: Hour) -> NDArray[np.float64]:
        """The classes by site [%, float64[3, 36]] in an hour of the table.

        Raises
        ------
        LookupError
            If it is no hour of the table.
        """
        found = np.flatnonzero(self.time_s == hour.time.timestamp())
        if not found.size:
            message = f"{hour.time:%Y-%m-%dT%H:%MZ} is no hour of the weather"
            raise LookupError(message)
        return np.asarray(self.pct[found[0]], float)


def equilibrium_moisture(weather: Weather, lon: float, lat: float) -> EquilibriumMoisture:
    """1-h, 10-h and 100-h moisture through a weather table, on every site of `site_index`.

    Sun by time and place, aspect and slope (15 % and 50 % stand for the two classes of slope), less by cloud
    (all but a quarter under a full cover) and by trees (a quarter comes through). Higher sites are cooler by
    6.5 °C a kilometre while the sun is up and as warm as the weather's at night (an inversion would make
    them warmer); lower sites are warmer day and night. 1-h fuel starts at the first hour's equilibrium, 10-h
    and 100-h fuel at the mean of the first day's. An hour with 0.25 mm of rain or more draws all classes
    towards 30 %, each with its own lag, under trees too; less rain wets nothing.

    Raises
    ------
    InputError
        If temperature, humidity or wind is unknown in an hour.
    OutsideRangeError
        If humidity lies outside 0 to 100 % or temperature outside −40 to 60 °C.
    """
    _check(weather)
    hours = weather.time_s.size
    equilibrium = np.stack([_site_equilibrium(weather, k, lon, lat) for k in range(hours)])
    span_h = np.append(np.diff(weather.time_s), HOUR) / HOUR
    first_day = min(24, hours)
    state = np.empty((3, equilibrium.shape[1]))
    state[0], state[1:] = equilibrium[0], equilibrium[:first_day].mean(axis=0)
    lag = np.array(TIMELAGS_H)[:, None]
    pct = np.empty((hours, *state.shape))
    for k in range(hours):
        pct[k] = lagged_pct(state, equilibrium[k], span_h[k] / 2.0, lag)
        state = lagged_pct(state, equilibrium[k], span_h[k], lag)
    return EquilibriumMoisture(time_s=weather.time_s, pct=pct, notes=_notes(weather, first_day))


def _check(weather: Weather) -> None:
    for field in ("temperature_c", "humidity_pct", "wind_mps"):
        lacking = np.flatnonzero(np.isnan(getattr(weather, field)))
        if lacking.size:
            when = datetime.fromtimestamp(float(weather.time_s[lacking[0]]), UTC)
            message = f"The weather of {when:%Y-%m-%dT%H:%MZ} has no {field}."
            raise InputError.of([Problem(message=message, mend="Give it.", field=field)])
    for field, low, high, unit in (("temperature_c", -40.0, 60.0, "°C"), ("humidity_pct", 0.0, 100.0, "%")):
        values = getattr(weather, field)
        outside = values[(values < low) | (values > high)]
        if outside.size:
            raise OutsideRangeError(field=field, value=float(outside[0]), low=low, high=high, unit=unit)


def _sites(
    lat: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_], NDArray[np.float64]]:
    """Aspect [deg], slope tangent, shade, and height class −1, 0, 1 of the 36 sites of `site_index`."""
    quarter = np.concatenate([np.repeat(np.arange(4), 2), np.arange(4)]) * 90.0
    aspect = (180.0 - quarter) % 360.0 if lat < 0.0 else quarter
    slope = np.concatenate([np.tile([_GENTLE_TAN, _STEEP_TAN], 4), np.full(4, _GENTLE_TAN)])
    shaded = np.arange(12) >= 8
    height = np.tile([-1.0, 0.0, 1.0], 12)
    return np.repeat(aspect, 3), np.repeat(slope, 3), np.repeat(shaded, 3), height


def _site_equilibrium(weather: Weather, k: int, lon: float, lat: float) -> NDArray[np.float64]:
    """What dead fuel of each site settles at [%, float64[36]] in the air of hour `k`."""
    if weather.rain_mm[k] >= WETTING_RAIN_MM:
        return np.full(36, SATURATED_PCT)
    aspect, slope, shaded, height = _sites(lat)
    middle = datetime.fromtimestamp(float(weather.time_s[k]) + HOUR / 2.0, UTC)
    elevation, azimuth = (float(angle) for angle in sun_position(middle, lon, lat))
    cloud = float(np.nan_to_num(weather.cloud_pct[k])) / 100.0
    sun = clear_sun_w_per_m2(elevation, azimuth, slope, aspect)
    sun = sun * (1.0 - 0.75 * cloud**3.4)  # Kasten and Czeplak 1980, from memory
    sun = np.where(shaded, sun * _SHADE_LETS_THROUGH, sun)
    cooler_c = _LAPSE_K_PER_M * _HEIGHT_STEP_M * (height if elevation > 0.0 else np.minimum(height, 0.0))
    air_c = weather.temperature_c[k] - cooler_c
    humidity = np.minimum(_drier(weather.humidity_pct[k], -1.8 * cooler_c), 100.0)
    wind = weather.wind_mps[k] * np.where(shaded, _FUEL_WIND_SHADED, _FUEL_WIND_OPEN)
    fuel_c, at_fuel = fuel_level_air_byram_jemison_1943(air_c, humidity, sun, wind)
    return equilibrium_moisture_simard_1968(fuel_c, at_fuel)


def _notes(weather: Weather, first_day: int) -> tuple[str, ...]:
    basis = (
        "Dead fuel moisture: hourly equilibrium of sunlit fuel with a lag by size (Simard 1968; Byram and"
        " Jemison 1943 from memory); 10-h and 100-h fuel start at the mean of the weather's first"
        f" {first_day} h. Cooling under a clear night sky is left out: real fuel is then damper."
    )
    notes = [basis]
    if np.any(np.isnan(weather.cloud_pct)):
        notes.append("Cloud not given in some hours: taken as clear sky, the driest fuel.")
    if np.any(np.isnan(weather.rain_mm)):
        notes.append("Rain not given in some hours: taken as none, the driest fuel.")
    if np.any(weather.rain_mm >= WETTING_RAIN_MM):
        notes.append(
            f"Rain: each hour with {WETTING_RAIN_MM:g} mm or more draws dead fuel towards {SATURATED_PCT:g} %,"
            " under trees too; less wets nothing (common practice, no source)."
        )
    return tuple(notes)
