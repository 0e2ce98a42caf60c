"""The fire weather codes through a weather table: from the day they were told for to each hour asked for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, Problem
from wetline.weather.fwi import (
    Codes,
    NoonWeather,
    advance_day,
    ffmc_from_moisture,
    litter_hourly_pct,
    litter_moisture_pct,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from wetline.weather.hourly import Weather

__all__ = ["CodesAt", "DatedCodes", "codes_through"]

_HOUR = timedelta(hours=1)
_DAY = timedelta(days=1)
_AFTERNOON = timedelta(hours=16 - 12)
"""From noon to the local standard hour for which a day's FFMC stands (Van Wagner 1977, PS-X-69; from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedCodes:
    """Codes with the local day for whose noon they were told.

    `hourly`: the FFMC goes on hour by hour from that day's afternoon, or from rain between noon and then;
    else each day's holds until the next noon. `start_up`: the codes are the published start-up values, nobody measured them.
    """

    codes: Codes
    day: date
    hourly: bool = False
    start_up: bool = False


@dataclass(frozen=True, slots=True)
class CodesAt:
    """Codes at each of the times asked for, and what was assumed to get there."""

    codes: tuple[Codes, ...]
    notes: tuple[str, ...]


def _noon(day: date, lon_deg: float) -> datetime:
    """Noon of local standard time, the whole hour of the place's own 15° of longitude."""
    return datetime.combine(day, time(12), UTC) - timedelta(hours=round(lon_deg / 15.0))


def _refuse(message: str, mend: str, field: str) -> InputError:
    return InputError.of([Problem(message=message, mend=mend, field=field, file="weather.csv")])


def _rain_mm(weather: Weather, begin: datetime, end: datetime) -> float:
    """Rain of the hours in [begin, end).

    Raises
    ------
    InputError
        If the table does not hold all of them with their rain.
    """
    if begin < weather.first or end > weather.last:
        message = (
            f"The fire weather codes need the rain from {begin:%Y-%m-%dT%H:%MZ} to {end:%Y-%m-%dT%H:%MZ}; "
            f"the weather covers {weather.first:%Y-%m-%dT%H:%MZ} to {weather.last:%Y-%m-%dT%H:%MZ}."
        )
        raise _refuse(message, "Give the codes of a later day, or weather from then on.", "time")
    inside = (weather.time_s >= begin.timestamp()) & (weather.time_s < end.timestamp())
    rain = weather.rain_mm[inside]
    if np.isnan(rain).any():
        message = f"The rain between {begin:%Y-%m-%dT%H:%MZ} and {end:%Y-%m-%dT%H:%MZ} is not given."
        raise _refuse(message, "Give rain_mm in every hour, 0 where none fell.", "rain_mm")
    return float(rain.sum())


def _noon_weather(weather: Weather, at: datetime, rain_mm: float) -> NoonWeather:
    if not weather.covers(at):
        message = f"There is no weather for {at:%Y-%m-%dT%H:%MZ}."
        raise _refuse(message, "Add the hour.", "time")
    hour = weather.at(at)
    return NoonWeather(
        temperature_c=hour.temperature_c,
        humidity_pct=hour.humidity_pct,
        wind_mps=hour.wind_mps,
        rain_mm=rain_mm,
    )


def codes_through(
    told: DatedCodes, weather: Weather, times: Sequence[datetime], *, lat_deg: float, lon_deg: float
) -> CodesAt:
    """The codes at each time (aware UTC, increasing).

    The codes of a day hold from its first hour, or from the noon at which they were advanced, until
    the next noon.

    Raises
    ------
    InputError
        If a time lies before the codes' day, or the table does not hold the weather and rain between.
    OutsideRangeError
        If weather is impossible.
    """
    noon = _noon(told.day, lon_deg)
    first = min(times)
    if first + _HOUR <= noon - timedelta(hours=12):  # an hour that reaches into the day belongs to it
        message = f"The codes are of {told.day:%Y-%m-%d}, later than {first:%Y-%m-%dT%H:%MZ}."
        mend = "Give the codes of the fire's day or of a day before."
        raise InputError.of(
            [Problem(message=message, mend=mend, field="fire.codes_day", file="incident.toml")]
        )
    out: list[Codes] = []
    codes, day = told.codes, told.day
    hourly = _Hourly(
        codes.ffmc, _rain_known_from(weather, noon), noon + _AFTERNOON, litter_moisture_pct(codes.ffmc)
    )
    for moment in times:
        while moment >= noon + _DAY:
            rain_mm = _rain_mm(weather, noon, noon + _DAY)
            noon, day = noon + _DAY, day + _DAY
            at_noon = _noon_weather(weather, noon, rain_mm)
            codes = advance_day(codes, at_noon, month=day.month, lat_deg=lat_deg)
        out.append(replace(codes, ffmc=hourly.at(weather, moment)) if told.hourly else codes)
    told_noon = _noon(told.day, lon_deg)
    notes = _hourly_notes(told, weather, times, told_noon) if told.hourly else _daily_notes(weather, times)
    return CodesAt(tuple(out), (*_origin_notes(told, advanced=day > told.day), *notes))


def _rain_known_from(weather: Weather, noon: datetime) -> datetime:
    """Noon, or the first whole hour after it that the table holds; the afternoon where it holds none."""
    late_h = math.ceil((weather.first - noon) / _HOUR)
    return min(noon + max(late_h, 0) * _HOUR, noon + _AFTERNOON)


@dataclass(slots=True)
class _Hourly:
    """The litter walked hour by hour, `time` the end of what is walked.

    The day's FFMC stands for its afternoon and knows no rain after noon: the walk begins in the afternoon,
    or with the first hour of rain before it.
    """

    code: float
    time: datetime
    afternoon: datetime
    moisture_pct: float
    walking: bool = False

    def at(self, weather: Weather, moment: datetime) -> float:
        """The FFMC at a time, no earlier than the one asked for last; the day's own before the walk."""
        while moment >= self.time + _HOUR:
            rain_mm = _rain_mm(weather, self.time, self.time + _HOUR)
            self.walking = self.walking or rain_mm > 0.0 or self.time >= self.afternoon
            self.time += _HOUR
            if self.walking:
                now = _noon_weather(weather, self.time, rain_mm)
                self.moisture_pct = litter_hourly_pct(self.moisture_pct, now)
                self.code = ffmc_from_moisture(self.moisture_pct)
        return self.code


def _origin_notes(told: DatedCodes, *, advanced: bool) -> tuple[str, ...]:
    notes = []
    if told.start_up:
        notes.append(
            "The fire weather codes are start-up values, measured by nobody: in a drought the fire is worse."
        )
    if advanced:
        notes.append(f"The codes of {told.day:%Y-%m-%d} are carried on with the weather table.")
    return tuple(notes)


_STILL = "by night and in the morning fuel is damper, on a dry windy night it may be drier."


def _daily_notes(weather: Weather, times: Sequence[datetime]) -> tuple[str, ...]:
    notes = [f"FFMC is that of the day's afternoon until the next noon: {_STILL}"]
    rain_mm = _rain_within(weather, min(times) - _HOUR, max(times) + _HOUR)
    if np.nansum(rain_mm) > 0.0:
        notes.append("Rain in some hours: the day's FFMC does not know it before the next noon.")
    if np.isnan(rain_mm).any():
        notes.append(
            "Rain not given in some hours: if it fell, the day's FFMC does not know it before the next noon."
        )
    return tuple(notes)


def _hourly_notes(
    told: DatedCodes, weather: Weather, times: Sequence[datetime], noon: datetime
) -> tuple[str, ...]:
    """`noon` of the codes' day."""
    notes, first, last = [], min(times), max(times)
    afternoon, day = noon + _AFTERNOON, f"{told.day:%Y-%m-%d}"
    if last > afternoon:
        notes.append(
            f"FFMC hour by hour, with the rain of each hour, from {afternoon:%Y-%m-%dT%H:%MZ}, for which the code of"
            f" {day} stands, or from rain between noon and then (Van Wagner 1977, from memory)."
        )
    if first < afternoon:
        notes.append(
            f"Before {afternoon:%Y-%m-%dT%H:%MZ} the FFMC of {day} stands in every hour until rain falls after noon:"
            f" {_STILL}"
        )
    before = _rain_within(weather, first - _HOUR, noon)
    if np.nansum(before) > 0.0 or np.isnan(before).any():
        notes.append(f"Rain before noon of {day} counts only as far as the FFMC given knows it.")
    if last > noon and weather.first > noon:
        notes.append(
            f"The weather begins after noon of {day}: rain between noon and"
            f" {_rain_known_from(weather, noon):%Y-%m-%dT%H:%MZ} is not counted, fuel may be damper."
        )
    return tuple(notes)


def _rain_within(weather: Weather, begin: datetime, end: datetime) -> NDArray[np.float64]:
    """Rain of the table's hours that begin in [begin, end) [mm], NaN where not given."""
    return weather.rain_mm[(weather.time_s >= begin.timestamp()) & (weather.time_s < end.timestamp())]
