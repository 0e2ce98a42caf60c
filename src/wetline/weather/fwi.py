"""The codes and indices of the Canadian Fire Weather Index System, day by day.

Noon weather (local standard time), wind at 10 m, rain of the 24 hours before noon. The codes of a day
stand for its afternoon. Equations as Van Wagner and Pickett 1985 programmed them (147.2 in the scale of
the FFMC, the program's form of the DMC); with them the published 49-day series is met to its last digit.

References
----------
Van Wagner 1987, Canadian Forestry Service Forestry Technical Report 35.
Van Wagner and Pickett 1985, Canadian Forestry Service Forestry Technical Report 33.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.errors import OutsideRangeError
from wetline.units import KM_PER_HOUR

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "START_UP",
    "Codes",
    "NoonWeather",
    "advance_day",
    "bui",
    "dc",
    "dmc",
    "dsr",
    "ffmc",
    "ffmc_from_moisture",
    "fwi",
    "isi",
    "isi_fbp",
    "litter_hourly_pct",
    "litter_moisture_pct",
    "wind_function_fbp",
    "within",
]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def within(field: str, value: float, low: float, high: float, unit: str = "") -> None:
    """Refuse a value outside its scale, or no number at all."""
    if not low <= value <= high:
        raise OutsideRangeError(field=field, value=value, low=low, high=high, unit=unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Codes:
    """The three moisture codes of a day: litter 0 to 101, duff from 0, deep organic soil from 0.

    Raises
    ------
    OutsideRangeError
        If a code lies outside its scale (duff above 500 or drought above 2000 is taken for a slip).
    """

    ffmc: float
    dmc: float
    dc: float

    def __post_init__(self) -> None:
        within("ffmc", self.ffmc, 0.0, 101.0)
        within("dmc", self.dmc, 0.0, 500.0)
        within("dc", self.dc, 0.0, 2000.0)


START_UP = Codes(ffmc=85.0, dmc=6.0, dc=15.0)
"""Where the codes begin after snow melt and a wet winter (Van Wagner 1987)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoonWeather:
    """Weather at noon, local standard time; `rain_mm` of the 24 hours before.

    Raises
    ------
    OutsideRangeError
        If a value is impossible.
    """

    temperature_c: float
    humidity_pct: float
    wind_mps: float
    rain_mm: float

    def __post_init__(self) -> None:
        within("temperature_c", self.temperature_c, -60.0, 60.0, "°C")
        within("humidity_pct", self.humidity_pct, 0.0, 100.0, "%")
        within("wind_mps", self.wind_mps, 0.0, 100.0, "m/s")
        within("rain_mm", self.rain_mm, 0.0, 2000.0, "mm")


def litter_moisture_pct(ffmc_code: float) -> float:
    """Moisture [% of dry mass] of the litter at a FFMC.

    Raises
    ------
    OutsideRangeError
        If the code lies outside 0 to 101.
    """
    within("ffmc", ffmc_code, 0.0, 101.0)
    return 147.2 * (101.0 - ffmc_code) / (59.5 + ffmc_code)  # Van Wagner 1987, eq. 1


def ffmc_from_moisture(moisture_pct: float) -> float:
    """The FFMC of a litter moisture [%]; the scale ends at 101, a hair short of bone dry.

    Raises
    ------
    OutsideRangeError
        If the moisture lies outside 0 to 250 %, the ends of the scale.
    """
    within("moisture_pct", moisture_pct, 0.0, 250.0, "%")
    return min(101.0, 59.5 * (250.0 - moisture_pct) / (147.2 + moisture_pct))  # Van Wagner 1987, eq. 10


def _wetted(m: float, rain_mm: float) -> float:
    """Litter moisture [%] after rain that reaches the litter [mm, > 0]; Van Wagner 1987, eq. 3."""
    wet = m + 42.5 * rain_mm * math.exp(-100.0 / (251.0 - m)) * (1.0 - math.exp(-6.93 / rain_mm))
    if m > 150.0:
        wet += 0.0015 * (m - 150.0) ** 2 * math.sqrt(rain_mm)
    return min(wet, 250.0)


def _dried(m: float, weather: NoonWeather, rate: float, base: float) -> float:
    """Litter moisture [%] drawn toward its equilibrium with the air; Van Wagner 1987, eq. 4 to 9.

    `rate`, `base`: 0.581 and 10 for the day's step, 0.0579 and exp(2.303) for the hour's.
    """
    h, t, w = weather.humidity_pct, weather.temperature_c, weather.wind_mps / KM_PER_HOUR
    both = 0.18 * (21.1 - t) * (1.0 - math.exp(-0.115 * h))
    drying = 0.942 * h**0.679 + 11.0 * math.exp((h - 100.0) / 10.0) + both
    wetting = 0.618 * h**0.753 + 10.0 * math.exp((h - 100.0) / 10.0) + both
    if m > drying:
        toward, dry = drying, h / 100.0
    elif m < wetting:
        toward, dry = wetting, (100.0 - h) / 100.0
    else:
        return m
    k = 0.424 * (1.0 - dry**1.7) + 0.0694 * math.sqrt(w) * (1.0 - dry**8)
    return float(toward + (m - toward) * base ** (-k * rate * math.exp(0.0365 * t)))


def ffmc(before: float, weather: NoonWeather) -> float:
    """The day's Fine Fuel Moisture Code after the one of the day before.

    Raises
    ------
    OutsideRangeError
        If the code before lies outside 0 to 101.

    References
    ----------
    Van Wagner 1987, eq. 1 to 10.
    """
    m = litter_moisture_pct(before)
    if weather.rain_mm > 0.5:
        m = _wetted(m, weather.rain_mm - 0.5)
    # in extreme air the equations wander off their own scale
    return ffmc_from_moisture(min(max(_dried(m, weather, 0.581, 10.0), 0.0), 250.0))


def litter_hourly_pct(before_pct: float, weather: NoonWeather) -> float:
    """Litter moisture [%, 0 to 250] an hour later: `weather` of this hour, its rain that of the hour passed.

    Rain is taken whole: an hour knows no 0.5 mm that the canopy keeps. Hours are walked in moisture and
    not in FFMC, because 147.2 does not invert the scale exactly and hundreds of steps would add that up.

    Raises
    ------
    OutsideRangeError
        If the moisture before lies outside 0 to 250 %.

    References
    ----------
    Van Wagner 1977, A method of computing fine fuel moisture content throughout the diurnal cycle,
    Petawawa Forest Experiment Station PS-X-69; from memory.
    """
    within("before_pct", before_pct, 0.0, 250.0, "%")
    m = _wetted(before_pct, weather.rain_mm) if weather.rain_mm > 0.0 else before_pct
    return min(max(_dried(m, weather, 0.0579, math.exp(2.303)), 0.0), 250.0)


def _by_month(table: str, month: int, lat_deg: float) -> float:
    if month not in range(1, 13):
        raise OutsideRangeError(field="month", value=month, low=1, high=12, unit="")
    within("lat_deg", lat_deg, -90.0, 90.0, "°")
    rows = _rows(table)
    return next(values[month - 1] for from_lat, values in reversed(rows) if lat_deg >= from_lat)


@lru_cache(maxsize=2)
def _rows(table: str) -> tuple[tuple[float, tuple[float, ...]], ...]:
    found = tables.load(f"fwi/{table}").rows()
    return tuple((row["from_lat_deg"], tuple(row[m] for m in _MONTHS)) for row in found)


def dmc(before: float, weather: NoonWeather, *, month: int, lat_deg: float) -> float:
    """The day's Duff Moisture Code after the one of the day before.

    Raises
    ------
    OutsideRangeError
        If the code before is negative or above 500, or there is no such month or latitude.

    References
    ----------
    Van Wagner 1987, eq. 11 to 17, with eq. 12 and 15 in the form of Van Wagner and Pickett 1985.
    """
    within("dmc", before, 0.0, 500.0)
    day_length_h = _by_month("dmc_day_length", month, lat_deg)
    p = before
    if weather.rain_mm > 1.5:
        rain = 0.92 * weather.rain_mm - 1.27
        m = 20.0 + 280.0 / math.exp(0.023 * p)
        if p <= 33.0:
            b = 100.0 / (0.5 + 0.3 * p)
        elif p <= 65.0:
            b = 14.0 - 1.3 * math.log(p)
        else:
            b = 6.2 * math.log(p) - 17.2
        m += 1000.0 * rain / (48.77 + b * rain)
        p = max(0.0, 43.43 * (5.6348 - math.log(m - 20.0)))
    warm = max(weather.temperature_c, -1.1) + 1.1
    return p + 100.0 * 1.894 * warm * (100.0 - weather.humidity_pct) * day_length_h * 1e-6


def dc(before: float, weather: NoonWeather, *, month: int, lat_deg: float) -> float:
    """The day's Drought Code after the one of the day before.

    Raises
    ------
    OutsideRangeError
        If the code before is negative or above 2000, or there is no such month or latitude.

    References
    ----------
    Van Wagner 1987, eq. 18 to 23.
    """
    within("dc", before, 0.0, 2000.0)
    factor = _by_month("dc_day_length", month, lat_deg)
    d = before
    if weather.rain_mm > 2.8:
        rain = 0.83 * weather.rain_mm - 1.27
        d = max(0.0, 400.0 * math.log(800.0 / (800.0 * math.exp(-d / 400.0) + 3.937 * rain)))
    warm = max(weather.temperature_c, -2.8) + 2.8
    return d + 0.5 * max(0.0, 0.36 * warm + factor)


def advance_day(before: Codes, weather: NoonWeather, *, month: int, lat_deg: float) -> Codes:
    """The codes of a day from those of the day before and its noon weather.

    Raises
    ------
    OutsideRangeError
        If there is no such month or latitude.
    """
    return Codes(
        ffmc=ffmc(before.ffmc, weather),
        dmc=dmc(before.dmc, weather, month=month, lat_deg=lat_deg),
        dc=dc(before.dc, weather, month=month, lat_deg=lat_deg),
    )


def _isi(ffmc_code: float, wind_factor: float) -> float:
    m = litter_moisture_pct(ffmc_code)
    fine = 91.9 * math.exp(-0.1386 * m) * (1.0 + m**5.31 / 4.93e7)  # Van Wagner 1987, eq. 25
    return float(0.208 * wind_factor * fine)  # eq. 26


def isi(ffmc_code: float, wind_mps: float) -> float:
    """The Initial Spread Index of a FFMC and a 10 m wind [m/s, 0 to 100].

    Raises
    ------
    OutsideRangeError
        If a value lies outside its scale.

    References
    ----------
    Van Wagner 1987, eq. 24 to 26.
    """
    within("wind_mps", wind_mps, 0.0, 100.0, "m/s")
    return _isi(ffmc_code, math.exp(0.05039 * wind_mps / KM_PER_HOUR))


def wind_function_fbp(wind_mps: ArrayLike) -> NDArray[np.float64]:
    """The factor by which a 10 m wind [m/s, ≥ 0] raises the spread index of calm air; levels off at 12.

    References
    ----------
    Forestry Canada 1992, ST-X-3, eq. 53 and 53a; from memory.
    """
    w = np.asarray(wind_mps, float) / KM_PER_HOUR
    high = 12.0 * (1.0 - np.exp(-0.0818 * (w - 28.0)))
    return np.where(w <= 40.0, np.exp(0.05039 * np.minimum(w, 40.0)), high)


def isi_fbp(ffmc_code: float, wind_mps: float) -> float:
    """The spread index as the Fire Behavior Prediction System takes it: it levels off above 40 km/h.

    Raises
    ------
    OutsideRangeError
        If a value lies outside its scale.
    """
    within("wind_mps", wind_mps, 0.0, 100.0, "m/s")
    return _isi(ffmc_code, float(wind_function_fbp(wind_mps)))


def bui(dmc_code: float, dc_code: float) -> float:
    """The Buildup Index of the two deeper codes.

    Raises
    ------
    OutsideRangeError
        If a code is negative.

    References
    ----------
    Van Wagner 1987, eq. 27.
    """
    within("dmc", dmc_code, 0.0, 500.0)
    within("dc", dc_code, 0.0, 2000.0)
    p, d = dmc_code, dc_code
    if p == 0.0:
        return 0.0
    if p <= 0.4 * d:
        return 0.8 * p * d / (p + 0.4 * d)
    return float(max(0.0, p - (1.0 - 0.8 * d / (p + 0.4 * d)) * (0.92 + (0.0114 * p) ** 1.7)))


def fwi(isi_index: float, bui_index: float) -> float:
    """The Fire Weather Index.

    Raises
    ------
    OutsideRangeError
        If an index is negative or no number.

    References
    ----------
    Van Wagner 1987, eq. 28 to 30.
    """
    within("isi", isi_index, 0.0, 1e9)
    within("bui", bui_index, 0.0, 1e4)
    if bui_index <= 80.0:
        duff = 0.626 * bui_index**0.809 + 2.0
    else:
        duff = 1000.0 / (25.0 + 108.64 * math.exp(-0.023 * bui_index))
    b = 0.1 * isi_index * duff
    return math.exp(2.72 * (0.434 * math.log(b)) ** 0.647) if b > 1.0 else b


def dsr(fwi_index: float) -> float:
    """The Daily Severity Rating of a Fire Weather Index.

    Raises
    ------
    OutsideRangeError
        If the index is negative or no number.

    References
    ----------
    Van Wagner 1987, eq. 31.
    """
    within("fwi", fwi_index, 0.0, 1e6)
    return float(0.0272 * fwi_index**1.77)
