"""Where the sun stands, and dawn, sunrise, sunset and dusk of a local day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, tzinfo

    from numpy.typing import NDArray

__all__ = ["Daylight", "daylight", "daylight_around", "sun_position"]

HORIZON_DEG = -0.8333
"""Height of the sun's centre at sunrise and sunset: 34' refraction and 16' half-diameter."""
CIVIL_DEG = -6.0
"""Height of the sun's centre at civil dawn and dusk: the end of night in the ICAO annexes."""

_NEARLY_SET_DEG = 0.05
"""The sun sinks so much in 12 s or more: far over the rounding of a sunset to the second."""
_J2000_S = 946728000.0
_STEP_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Daylight:
    """Events of one local day as aware UTC times; None where the event does not occur that day."""

    civil_dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None


def _ecliptic(days: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension less Greenwich hour angle of the equinox, and declination [both rad]."""
    t = days / 36525.0
    # Meeus 1998, Astronomical Algorithms, 2nd ed., ch. 25, low accuracy (0.01°)
    mean_longitude = 280.46646 + 36000.76983 * t + 0.0003032 * t**2
    anomaly = np.radians(357.52911 + 35999.05029 * t - 0.0001537 * t**2)
    centre = (
        (1.914602 - 0.004817 * t - 0.000014 * t**2) * np.sin(anomaly)
        + (0.019993 - 0.000101 * t) * np.sin(2 * anomaly)
        + 0.000289 * np.sin(3 * anomaly)
    )
    node = np.radians(125.04 - 1934.136 * t)
    nutation = -0.00478 * np.sin(node)
    longitude = np.radians(mean_longitude + centre - 0.00569 + nutation)
    obliquity = np.radians(23.4392911 - 0.0130042 * t + 0.00256 * np.cos(node))  # eq. 22.2, ch. 25
    ascension = np.arctan2(np.cos(obliquity) * np.sin(longitude), np.cos(longitude))
    declination = np.arcsin(np.sin(obliquity) * np.sin(longitude))
    # eq. 12.4, with the nutation in right ascension
    sidereal = 280.46061837 + 360.98564736629 * days + 0.000387933 * t**2 + nutation * np.cos(obliquity)
    return ascension - np.radians(sidereal % 360.0), declination


def _position(
    unix_s: NDArray[np.float64], lon: float, lat: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    offset, declination = _ecliptic((unix_s - _J2000_S) / 86400.0)
    hour_angle = np.radians(lon) - offset
    phi = np.radians(lat)
    sine = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    elevation = np.arcsin(np.clip(sine, -1.0, 1.0))
    elevation = elevation - np.radians(8.794 / 3600.0) * np.cos(elevation)  # parallax, Meeus ch. 40
    # Meeus eq. 13.5, turned from south to north
    azimuth = np.pi + np.arctan2(
        np.sin(hour_angle), np.cos(hour_angle) * np.sin(phi) - np.tan(declination) * np.cos(phi)
    )
    return np.degrees(elevation), np.degrees(azimuth) % 360.0


def sun_position(
    when: datetime | Sequence[datetime], lon: float, lat: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Elevation [deg, of the centre, without refraction] and azimuth [deg from true north].

    `when`: one aware time or many; the arrays have its shape. Good to about 0.01° from 1950 to 2050.

    Raises
    ------
    ValueError
        If a time carries no zone.

    References
    ----------
    Meeus 1998, Astronomical Algorithms, 2nd ed., ch. 12, 13, 25, 40.
    """
    times = [when] if isinstance(when, datetime) else list(when)
    if any(moment.tzinfo is None for moment in times):
        message = "a time without a zone has no sun"
        raise ValueError(message)
    unix_s = np.array([moment.timestamp() for moment in times])
    if isinstance(when, datetime):
        unix_s = unix_s.reshape(())
    return _position(unix_s, lon, lat)


def _crossing(
    start_s: float, end_s: float, lon: float, lat: float, level_deg: float, sign: int
) -> float | None:
    """Time [unix s] of the first rise (`sign` 1) or the last fall (−1) through a level, or None."""
    for step_s in (_STEP_S, 1.0):
        at = np.append(np.arange(start_s, end_s, step_s), end_s)
        above = sign * (_position(at, lon, lat)[0] - level_deg)
        hits = np.flatnonzero((above[:-1] < 0) & (above[1:] >= 0))
        if not hits.size:
            return None
        i = hits[0] if sign > 0 else hits[-1]
        start_s, end_s = float(at[i]), float(at[i + 1])
        share = -above[i] / (above[i + 1] - above[i])
    return start_s + float(share) * (end_s - start_s)


def daylight(lon: float, lat: float, local_date: date, tz: tzinfo) -> Daylight:
    """Dawn, sunrise, sunset and dusk that fall within the civil day `local_date` of the zone `tz`.

    The horizon is level: terrain hides the sun earlier. Where a day holds none (far north and south)
    the event is None; a dip of the sun shorter than two minutes counts as none. Times are rounded to
    the second; refraction alone makes real sunsets differ by more than that.

    References
    ----------
    Civil twilight, the sun's centre 6° below the horizon: ICAO annexes; 14 CFR 1.1.
    """
    start_s = datetime.combine(local_date, time(), tz).timestamp()
    end_s = datetime.combine(local_date + timedelta(days=1), time(), tz).timestamp()

    def event(level_deg: float, sign: int) -> datetime | None:
        # a fall is a rise of the mirrored height
        found = _crossing(start_s, end_s, lon, lat, level_deg, sign)
        return None if found is None else datetime.fromtimestamp(round(found), UTC)

    return Daylight(
        civil_dawn=event(CIVIL_DEG, 1),
        sunrise=event(HORIZON_DEG, 1),
        sunset=event(HORIZON_DEG, -1),
        civil_dusk=event(CIVIL_DEG, -1),
    )


def daylight_around(lon: float, lat: float, when: datetime, tz: tzinfo) -> Daylight:
    """The daylight of the civil day of `when`, or where its sun sets after midnight, the spell that counts then.

    That is the one that holds at `when`, with the sunrise before and the sunset after it, else the next one. Where
    no sunset falls within a day of `when` or of the sunrise after it, there is none.
    """
    day = when.astimezone(tz).date()
    today = daylight(lon, lat, day, tz)
    sunrise, sunset = today.sunrise, today.sunset
    if sunrise is not None and sunset is not None and sunrise < sunset:
        dark = float(sun_position(when, lon, lat)[0]) < HORIZON_DEG + _NEARLY_SET_DEG
        if dark or sunrise <= when <= sunset:
            return today
    days = [daylight(lon, lat, day + timedelta(days=ahead), tz) for ahead in (-1, 0, 1)]
    rises = sorted(one.sunrise for one in days if one.sunrise is not None)
    falls = sorted(one.sunset for one in days if one.sunset is not None)
    last_rise = max((rise for rise in rises if rise <= when), default=None)
    last_fall = max((fall for fall in falls if fall <= when), default=None)
    if last_rise is None and last_fall is None:
        up = float(sun_position(when, lon, lat)[0]) >= HORIZON_DEG
    else:
        up = last_fall is None or (last_rise is not None and last_rise > last_fall)
    sunrise = last_rise if up else min((rise for rise in rises if rise > when), default=None)
    begins = when if up or sunrise is None else sunrise
    sunset = min((fall for fall in falls if begins < fall <= begins + timedelta(days=1)), default=None)
    return replace(today, sunrise=sunrise, sunset=sunset)
