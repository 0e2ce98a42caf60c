"""Moisture of the fuel: dead fuel from the hour's weather, live fuel from the day's measurement.

Dead: the field procedure of Rothermel 1983 (reference value by temperature and humidity, correction
by hour, shade, aspect, slope and height). Its values are from memory (see the tables' provenance);
every step outside a table is said in `notes`. `weather.equilibrium` is the other choice: hour by hour, day
and night.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline import tables
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.units import FOOT, celsius_to_fahrenheit

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wetline.weather.hourly import Hour, Weather

__all__ = [
    "DeadChoice",
    "DeadMoisture",
    "LiveMoisture",
    "Site",
    "classes_from_one_hour_pct",
    "corrections_pct",
    "dead_moisture",
    "from_one_hour_pct",
    "live_moisture",
    "reference_moisture_pct",
    "site_index",
]

DeadChoice = Literal["day_tables", "equilibrium"]
"""How dead fuel moisture is told: `dead_moisture` or `weather.equilibrium`."""

_ASPECTS = ("N", "E", "S", "W")
_HEIGHTS = ("below", "level", "above")
_HOURS = (8, 10, 12, 14, 16, 18)
_TABLE_MONTHS = (5, 6, 7)

# Rule of thumb, from memory (NWCG PMS 437): the 10-h and 100-h classes hold 1 and 2 % points more.
_TEN_H_MORE_PCT = 1.0
_HUNDRED_H_MORE_PCT = 2.0

DEFAULT_HERB_PCT = 90.0
DEFAULT_WOODY_PCT = 120.0
"""Live fuel one third cured: Scott and Burgan 2005, table 5, scenario L3 (from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadMoisture:
    """Moisture of the dead classes [fraction of dry mass], and what was assumed to get there."""

    one_h: float
    ten_h: float
    hundred_h: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveMoisture:
    """Moisture of live herbs and live woody fuel [fraction of dry mass], and what was assumed."""

    herb: float
    woody: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A place for the correction table.

    `local_hour`: local sun time, 0 ≤ h < 24. `aspect_deg`: bearing in which the ground falls.
    `slope_tan`: slope as a tangent. `above_station_m`: height above the weather's own ground.
    `southern`: south of the equator; seasons and the sunny side swap.
    """

    local_hour: float
    aspect_deg: float = 0.0
    slope_tan: float = 0.0
    above_station_m: float = 0.0
    southern: bool = False


def reference_moisture_pct(temperature_c: float, humidity_pct: float) -> float:
    """Reference moisture [%] of 1-h dead fuel by day: table `moisture/fine_dead_day`.

    Temperature and humidity are rounded to the whole degree Fahrenheit and per cent of the table.

    Raises
    ------
    OutsideRangeError
        Below 10 °F (−12.2 °C), the table's edge, above 140 °F (60 °C, no air), or humidity outside 0 to 100 %.
    """
    table = tables.load("moisture/fine_dead_day")
    fahrenheit = math.floor(celsius_to_fahrenheit(temperature_c) + 0.5)
    if not 10 <= fahrenheit <= 140:
        raise OutsideRangeError(field="temperature_c", value=temperature_c, low=-12.2, high=60.0, unit="°C")
    if not 0.0 <= humidity_pct <= 100.0:
        raise OutsideRangeError(field="humidity_pct", value=humidity_pct, low=0.0, high=100.0, unit="%")
    row = int(np.searchsorted(table["from_f"], fahrenheit, side="right")) - 1
    column = math.floor(humidity_pct + 0.5) // 5 * 5
    return float(table[str(column)][row])


@lru_cache(maxsize=1)
def _correction_table() -> NDArray[np.float64]:
    """Corrections [% points] as (site 12, height 3, hour 6); sites: exposed N 0-30, N 31+, E …, shaded N…W."""
    out = np.full((12, 3, 6), np.nan)
    for row in tables.load("moisture/correction_may_july").rows():
        aspect = _ASPECTS.index(row["aspect"])
        steep = row["slope_pct"] == "31+"
        site = 8 + aspect if row["shade"] == "shaded" else 2 * aspect + steep
        out[site, _HEIGHTS.index(row["relative_height"])] = [row[f"{hour:02d}00"] for hour in _HOURS]
    out.setflags(write=False)
    return out


def site_index(
    aspect_deg: ArrayLike,
    slope_tan: ArrayLike,
    shaded: ArrayLike,
    above_station_m: ArrayLike,
    *,
    southern: bool = False,
) -> NDArray[np.int8]:
    """Row of `corrections_pct` for each place: 3 × site (0-11) + height (0 below, 1 level, 2 above).

    "Below" and "above" begin 1000 ft (305 m) from the station; the table ends at 2000 ft.
    """
    aspect = np.asarray(aspect_deg, float)
    if southern:
        aspect = 180.0 - aspect
    quarter = np.floor((aspect % 360.0 + 45.0) / 90.0).astype(np.int8) % 4
    steep = np.floor(np.asarray(slope_tan, float) * 100.0 + 0.5) >= 31.0
    site = np.where(shaded, 8 + quarter, 2 * quarter + steep)
    above = np.asarray(above_station_m, float)
    height = 1 + (above >= 1000.0 * FOOT).astype(np.int8) - (above <= -1000.0 * FOOT).astype(np.int8)
    return np.asarray(3 * site + height, np.int8)


def corrections_pct(
    month: int, local_hour: float, *, southern: bool = False
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Corrections [% points, float64[36], by `site_index`] for an hour, and what had to be assumed.

    Only the May to July table is shipped, and only the day (08:00 to 19:59 local sun time). Other
    months and hours take the nearest column of it, which is drier than the truth (a fire drawn too
    fast rather than too slow), and say so.

    Raises
    ------
    OutsideRangeError
        If the month is not 1 to 12 or the hour not 0 to 24.
    """
    if not 1 <= month <= 12:
        raise OutsideRangeError(field="month", value=month, low=1, high=12, unit="")
    if not 0.0 <= local_hour < 24.0:
        raise OutsideRangeError(field="local_hour", value=local_hour, low=0, high=24, unit="h")
    notes = []
    season = (month + 5) % 12 + 1 if southern else month
    if season not in _TABLE_MONTHS:
        notes.append(
            "Dead fuel moisture: corrected by the midsummer table (May to July, November to January in the"
            " south), the only one shipped; outside those months real fuel is as damp or damper (from memory)."
        )
    if not 8.0 <= local_hour < 20.0:
        notes.append(
            "Dead fuel moisture at night: the day's table with its earliest or latest hour; real fuel is"
            " as damp or damper (from memory)."
        )
    column = int(min(max(local_hour - 8.0, 0.0) // 2, len(_HOURS) - 1))
    return _correction_table()[:, :, column].reshape(36), tuple(notes)


def classes_from_one_hour_pct(one_h_pct: NDArray[np.float64]) -> NDArray[np.float64]:
    """1-h, 10-h and 100-h moisture [%, float64[3, ...]] by the rule of thumb of `from_one_hour_pct`."""
    return np.stack([one_h_pct, one_h_pct + _TEN_H_MORE_PCT, one_h_pct + _HUNDRED_H_MORE_PCT])


def from_one_hour_pct(one_h_pct: float, notes: tuple[str, ...] = ()) -> DeadMoisture:
    """The dead classes from 1-h moisture [%] by the rule of thumb: 10 h one, 100 h two points more."""
    return DeadMoisture(
        one_h=one_h_pct / 100.0,
        ten_h=(one_h_pct + _TEN_H_MORE_PCT) / 100.0,
        hundred_h=(one_h_pct + _HUNDRED_H_MORE_PCT) / 100.0,
        notes=notes,
    )


def dead_moisture(hour: Hour, month: int, shaded: bool, *, site: Site | None = None) -> DeadMoisture:
    """Dead fuel moisture of an hour: the day's reference value, corrected when a `site` is given.

    `month`: local month, 1 to 12. `shaded`: half or more of the sun is kept off by trees or cloud.
    Rain of the hour is in neither table.

    Raises
    ------
    InputError
        If temperature or humidity is unknown.
    OutsideRangeError
        Outside the tables (see `reference_moisture_pct`, `corrections_pct`).

    References
    ----------
    Rothermel 1983, INT-143; NWCG PMS 437. Values from memory.
    """
    for field in ("temperature_c", "humidity_pct"):
        if math.isnan(getattr(hour, field)):
            message = f"The weather of {hour.time:%Y-%m-%dT%H:%MZ} has no {field}."
            raise InputError.of([Problem(message=message, mend="Give it.", field=field)])
    reference = reference_moisture_pct(hour.temperature_c, hour.humidity_pct)
    if site is None:
        note = "Dead fuel moisture: reference value without correction for hour, shade and slope (driest)."
        return from_one_hour_pct(reference, (note,))
    correction, notes = corrections_pct(month, site.local_hour, southern=site.southern)
    index = site_index(site.aspect_deg, site.slope_tan, shaded, site.above_station_m, southern=site.southern)
    return from_one_hour_pct(reference + float(correction[int(index)]), notes)


def live_moisture(weather: Weather) -> LiveMoisture:
    """Live fuel moisture of the day; what the weather does not give is assumed, and said.

    Raises
    ------
    OutsideRangeError
        If a value lies outside 30 to 300 %.
    """
    notes = []
    values = {}
    for name, given, default in (
        ("herb", weather.live_herb_pct, DEFAULT_HERB_PCT),
        ("woody", weather.live_woody_pct, DEFAULT_WOODY_PCT),
    ):
        if given is None:
            notes.append(
                f"Live {name} moisture not given: {default:g} % assumed"
                " (Scott and Burgan 2005, scenario L3, from memory)."
            )
        elif not 30.0 <= given <= 300.0:
            raise OutsideRangeError(field=f"live_{name}_pct", value=given, low=30.0, high=300.0, unit="%")
        values[name] = (default if given is None else given) / 100.0
    return LiveMoisture(herb=values["herb"], woody=values["woody"], notes=tuple(notes))
