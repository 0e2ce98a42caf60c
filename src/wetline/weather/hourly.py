"""Hourly weather at one place: what the fire, the drops and the circuits all read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Hour", "Weather"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hour:
    """Weather at one moment. Wind at 10 m above open ground, `wind_from_deg` a grid bearing."""

    time: datetime
    temperature_c: float
    humidity_pct: float
    wind_mps: float
    wind_from_deg: float
    gust_mps: float | None
    rain_mm: float
    cloud_pct: float | None
    visibility_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """Columns of float64[n], NaN where not given, at `time_s` [s since 1970 UTC], increasing hours.

    The value of an hour holds from its time until the next one (a step, as forecast tables are
    read). `elevation_m`: height of the station or model ground. Temperature [°C], humidity [%],
    10 m wind [m/s] and the grid bearing it comes from [deg], gust [m/s], rain [mm in that hour],
    cloud [%], visibility [m]. `live_herb_pct`, `live_woody_pct`: live fuel moisture for the day.
    """

    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    humidity_pct: NDArray[np.float64]
    wind_mps: NDArray[np.float64]
    wind_from_deg: NDArray[np.float64]
    gust_mps: NDArray[np.float64]
    rain_mm: NDArray[np.float64]
    cloud_pct: NDArray[np.float64]
    visibility_m: NDArray[np.float64]
    live_herb_pct: float | None = None
    live_woody_pct: float | None = None
    elevation_m: float | None = None

    @property
    def first(self) -> datetime:
        """The first hour (UTC)."""
        return datetime.fromtimestamp(float(self.time_s[0]), UTC)

    @property
    def last(self) -> datetime:
        """The end of the last hour (UTC)."""
        return datetime.fromtimestamp(float(self.time_s[-1]) + 3600.0, UTC)

    def covers(self, time: datetime) -> bool:
        """Whether an hour of this table holds at `time`."""
        return self.first <= time < self.last

    def at(self, time: datetime) -> Hour:
        """The hour that holds at `time`.

        Raises
        ------
        LookupError
            If the table does not cover that time: nothing is extrapolated in silence.
        """
        if not self.covers(time):
            message = f"weather covers {self.first:%Y-%m-%dT%H:%MZ} to {self.last:%Y-%m-%dT%H:%MZ}, not {time:%Y-%m-%dT%H:%MZ}"
            raise LookupError(message)
        i = int(np.searchsorted(self.time_s, time.timestamp(), side="right")) - 1

        def known(column: NDArray[np.float64]) -> float | None:
            return None if np.isnan(column[i]) else float(column[i])

        return Hour(
            time=datetime.fromtimestamp(float(self.time_s[i]), UTC),
            temperature_c=float(self.temperature_c[i]),
            humidity_pct=float(self.humidity_pct[i]),
            wind_mps=float(self.wind_mps[i]),
            wind_from_deg=float(self.wind_from_deg[i]),
            gust_mps=known(self.gust_mps),
            rain_mm=float(np.nan_to_num(self.rain_mm[i])),
            cloud_pct=known(self.cloud_pct),
            visibility_m=known(self.visibility_m),
        )

    def turned(self, degrees: float) -> Weather:
        """The same weather with every wind direction turned clockwise (true to grid and back)."""
        return replace(self, wind_from_deg=(self.wind_from_deg + degrees) % 360.0)
