"""Two days of hourly weather: a hot dry afternoon in which the wind shifts and rises."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["COLUMNS", "hourly_rows"]

COLUMNS = (
    "time", "temperature_c", "humidity_pct", "wind_kt", "wind_from_deg", "gust_kt", "rain_mm",
    "cloud_pct", "visibility_km", "live_herb_pct", "live_woody_pct",
)  # fmt: skip
HOURS = 48
LIVE_HERB_PCT, LIVE_WOODY_PCT = 75, 95

# Local hour of the first day, 10 m wind [kt], and how far the wind has veered [deg].
_HOUR = (0, 5, 8, 11, 13, 15, 16, 17, 18, 20, 22, 26, 30, 34, 38, 42, 48)
_WIND_KT = (5, 4, 6, 9, 11, 12, 12, 14, 16, 12, 8, 5, 5, 8, 11, 9, 5)
_VEER_DEG = (-14, -10, -6, -2, 0, 1, 2, 30, 50, 54, 50, 40, 36, 40, 48, 52, 46)


def hourly_rows(
    rng: np.random.Generator, midnight: datetime, zone: tzinfo, *, wind_from_deg: float
) -> list[tuple[str, ...]]:
    """48 rows of text from local midnight; `wind_from_deg`: the true direction about noon."""
    hour = np.arange(HOURS, dtype=float)
    warm = np.cos(2 * np.pi * (hour - 15.5) / 24)
    day_two = hour >= 24
    temperature = 21.0 + 7.6 * warm - 1.8 * day_two + rng.uniform(-0.3, 0.3, HOURS)
    humidity = 49.0 - 22.0 * warm + 6.0 * day_two + rng.uniform(-1, 1, HOURS)
    wind = np.round(2 * (np.interp(hour, _HOUR, _WIND_KT) + rng.uniform(-0.3, 0.3, HOURS))) / 2
    gust = np.minimum(np.round(wind * 1.38 + rng.uniform(0, 0.6, HOURS)), 22)
    veer = np.interp(hour, _HOUR, _VEER_DEG) + rng.uniform(-2, 2, HOURS)
    cloud = np.round(np.clip(22 + 12 * np.sin(hour / 5) + rng.uniform(-6, 6, HOURS), 0, 100) / 5) * 5
    visibility = np.round(np.clip(32 - 14 * np.maximum(warm, 0) - rng.uniform(0, 4, HOURS), 8, 40))
    rows: list[tuple[str, ...]] = []
    for i in range(HOURS):
        time = (midnight + timedelta(hours=i)).astimezone(zone)
        values = (
            f"{temperature[i]:.1f}",
            f"{humidity[i]:.0f}",
            f"{wind[i]:g}",
            f"{round((wind_from_deg + veer[i]) % 360) % 360}",
            f"{gust[i]:g}",
            "0",
            f"{cloud[i]:g}",
            f"{visibility[i]:g}",
            f"{LIVE_HERB_PCT}",
            f"{LIVE_WOODY_PCT}",
        )
        rows.append((time.isoformat(timespec="seconds"), *values))
    return rows
