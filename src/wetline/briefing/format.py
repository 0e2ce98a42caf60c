"""Numbers as crews read them: what is known, in the unit that is read, and no more.

One `Style` per pack. Rounding never flatters: what is available is rounded down, what is needed is
rounded up, all else to the nearest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from wetline import units as u
from wetline.grid import ddm, mgrs

if TYPE_CHECKING:
    from datetime import date, datetime, tzinfo

    from wetline.briefing.pack import Units
    from wetline.grid import Projection
    from wetline.model import Band

__all__ = ["NOT_KNOWN", "Style", "number", "rounded", "step_for"]

NOT_KNOWN = "not known"
Way = Literal["near", "down", "up"]
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sep", "Oct", "Nov", "Dec")
_EPSILON = 1e-6  # a length of 1,500 m reckoned as 1,499.9999999 is 1,500 m


def rounded(value: float, step: float, way: Way = "near") -> float:
    """`value` to a multiple of `step`: nearest (halves away from zero), down or up.

    Raises
    ------
    ValueError
        If the value is not finite: an unknown is `None`, never NaN.
    """
    if not math.isfinite(value):
        message = f"{value} cannot be printed; an unknown value is None"
        raise ValueError(message)
    ratio = value / step
    if way == "down":
        return math.floor(ratio + _EPSILON) * step
    if way == "up":
        return math.ceil(ratio - _EPSILON) * step
    return math.copysign(math.floor(abs(ratio) + 0.5), ratio) * step


def number(value: float, step: float = 1.0, way: Way = "near") -> str:
    """`1,930`, `−14`, `6.4`: thousands with a comma, a true minus, no idle decimals, no minus zero."""
    value = rounded(value, step, way)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{abs(value):,.{decimals}f}"
    if decimals:
        text = text.rstrip("0").rstrip(".")
    return f"−{text}" if value < 0 and text != "0" else text


def step_for(length: float) -> float:
    """How finely a length on the ground is known: 1 under 20, 5 under 200, else 10."""
    size = abs(length)
    return 1.0 if size < 20 else 5.0 if size < 200 else 10.0


def _span(low: str, high: str) -> str:
    """`95–130`; `−5 to 4` where a sign would run into the dash."""
    return f"{low} to {high}" if "−" in low + high else f"{low}–{high}"


@dataclass(frozen=True, slots=True)
class Style:
    """How one pack writes: units, clock, variation. `variation_deg` east positive, None = not given."""

    units: Units
    zone: tzinfo
    made: datetime
    projection: Projection
    variation_deg: float | None

    def bearing(self, true_deg: float | None) -> str:
        """`274° M (260° T)`; without a variation `260° true, variation not given`; north is 360°."""
        if true_deg is None:
            return NOT_KNOWN
        if self.variation_deg is None:
            return f"{_degrees(true_deg)} true, variation not given"
        return f"{_degrees(true_deg - self.variation_deg)} M ({_degrees(true_deg)} T)"

    def magnetic(self, true_deg: float) -> str:
        """`274° M`, or `260° T` where the variation is not given."""
        if self.variation_deg is None:
            return f"{_degrees(true_deg)} T"
        return f"{_degrees(true_deg - self.variation_deg)} M"

    def variation(self, date_: date | None = None) -> str:
        """`variation 14° W`, with its year where that is known."""
        if self.variation_deg is None:
            return "variation not given"
        half = "W" if self.variation_deg < 0 else "E"
        dated = f" ({date_.year})" if date_ else ""
        return f"variation {number(abs(self.variation_deg), 0.5)}° {half}{dated}"

    def local(self, time: datetime) -> datetime:
        """The same moment on the local clock.

        Raises
        ------
        ValueError
            If the time carries no zone.
        """
        if time.tzinfo is None:
            message = f"{time.isoformat()} carries no time zone"
            raise ValueError(message)
        return time.astimezone(self.zone)

    def clock(self, time: datetime | None) -> str:
        """`13:52`, the minute begun; `00:20 +1 day` on another local day than the pack's.

        Never rounded up: a time to be down by, or the fire's earliest, must not read later than it is.
        """
        if time is None:
            return NOT_KNOWN
        local = self.local(time)
        days = (local.date() - self.local(self.made).date()).days
        if days == 0:
            return f"{local:%H:%M}"
        return f"{local:%H:%M} {'+' if days > 0 else '−'}{abs(days)} day{'s' if abs(days) > 1 else ''}"

    def moment(self, time: datetime) -> str:
        """`14 Aug 2026 13:47 (UTC−1)`: the date and the offset, once a page."""
        local = self.local(time)
        return f"{self.day(local.date())} {local.year} {local:%H:%M} ({self.offset(time)})"

    def offset(self, time: datetime) -> str:
        """`UTC−1`, `UTC+5:30`."""
        shift = self.local(time).utcoffset() or timedelta(0)
        minutes = round(shift.total_seconds() / 60)
        hours, rest = divmod(abs(minutes), 60)
        sign = "−" if minutes < 0 else "+" if minutes else ""
        return f"UTC{sign}{hours if minutes else ''}{f':{rest:02d}' if rest else ''}"

    def day(self, day: date | None) -> str:
        """`3 June`, `14 Aug`; with the year where it is not the pack's."""
        if day is None:
            return NOT_KNOWN
        year = "" if day.year == self.local(self.made).year else f" {day.year}"
        return f"{day.day} {_MONTHS[day.month - 1]}{year}"

    def length(self, length_m: float | None, way: Way = "near") -> str:
        """`1,930 m`; US: `6,330 ft (1,930 m)`."""
        if length_m is None:
            return NOT_KNOWN
        shown_m = rounded(length_m, step_for(length_m), way)
        metres = f"{number(shown_m)} m"
        return f"{self.feet(shown_m, way)} ({metres})" if self.units == "us" else metres

    def length_band(self, band: Band | None) -> str:
        """`115 m (95–130)`; one step for all three, so that they compare."""
        if band is None:
            return NOT_KNOWN
        scale, unit = (u.FOOT, "ft") if self.units == "us" else (1.0, "m")
        return _banded(band, scale, step_for(band.middle / scale), f" {unit}")

    def distance(self, distance_m: float | None) -> str:
        """`34 NM (62 km)`, for legs; under 1 km as a length."""
        if distance_m is None:
            return NOT_KNOWN
        if distance_m < 1000:
            return self.length(distance_m)
        km = f"{number(distance_m / 1000, 1 if distance_m >= 10e3 else 0.1)} km"
        miles = f"{number(distance_m / u.NAUTICAL_MILE, 1 if distance_m >= 18.52e3 else 0.1)} NM"
        return f"{km} ({miles})" if self.units == "metric" else f"{miles} ({km})"

    def feet(self, height_m: float, way: Way = "near") -> str:
        """`1,350 ft`: cockpit heights, to 10 ft."""
        return f"{number(height_m / u.FOOT, 10, way)} ft"

    def height(self, height_m: float | None, way: Way = "near") -> str:
        """`150 ft`; metric: `46 m (150 ft)`: the cockpit's feet always stand on the sheet."""
        if height_m is None:
            return NOT_KNOWN
        feet = self.feet(height_m, way)
        return f"{number(height_m, 1, way)} m ({feet})" if self.units == "metric" else feet

    def tall(self, height_m: float) -> str:
        """`38 m`; US: `125 ft (38 m)`: a thing on the ground, rounded up."""
        metres = f"{number(height_m, 1, 'up')} m"
        return f"{number(height_m / u.FOOT, 5, 'up')} ft ({metres})" if self.units == "us" else metres

    def depth(self, depth_m: float | None) -> str:
        """`4 m`, `1.8 m`: rounded down."""
        if depth_m is None:
            return NOT_KNOWN
        metres = f"{number(depth_m, 0.1, 'down')} m"
        return f"{number(depth_m / u.FOOT, 1, 'down')} ft ({metres})" if self.units == "us" else metres

    def knots(self, speed_mps: float | None) -> str:
        """`12 kt`; metric: `22 km/h (12 kt)`."""
        if speed_mps is None:
            return NOT_KNOWN
        knots = f"{number(speed_mps / u.KNOT)} kt"
        return f"{number(speed_mps / u.KM_PER_HOUR)} km/h ({knots})" if self.units == "metric" else knots

    def knots_band(self, band: Band | None) -> str:
        """`100–105 kt` where ends are given, else the middle."""
        if band is None:
            return NOT_KNOWN
        if band.low is None or band.high is None:
            return self.knots(band.middle)
        low, high = number(band.low / u.KNOT), number(band.high / u.KNOT)
        return f"{low} kt" if low == high else f"{_span(low, high)} kt"

    def volume(self, volume_l: float | None) -> str:
        """`6,000 L`; US: `1,590 US gal (6,000 L)`."""
        if volume_l is None:
            return NOT_KNOWN
        litres = f"{number(volume_l, 10)} L"
        return f"{number(volume_l / u.US_GALLON_L, 10)} US gal ({litres})" if self.units == "us" else litres

    def coverage(self, coverage_l_per_m2: float | None) -> str:
        """`1.2 L/m²`; US: the level, US gal per 100 ft²."""
        if coverage_l_per_m2 is None:
            return "coverage not known"
        litres = f"{number(coverage_l_per_m2, 0.1)} L/m²"
        level = number(coverage_l_per_m2 / u.COVERAGE_LEVEL, 0.5)
        return f"level {level} ({litres})" if self.units == "us" else litres

    def minutes(self, band: Band | None) -> str:
        """`6.4 min (5.2–7.9)`; whole minutes from 10 on."""
        return NOT_KNOWN if band is None else _banded(band, 1.0, 0.1 if band.middle < 10 else 1.0, " min")

    def loads_per_hour(self, band: Band | None) -> str:
        """`9 loads/h each`, rounded down: half a load fills no line."""
        if band is None:
            return "loads/h not known"
        step = 1.0 if band.middle >= 2 else 0.1
        return f"{number(band.middle, step, 'down')} load{'' if band.middle == 1 else 's'}/h each"

    def slope(self, gradient: float | None, way: Way = "near") -> str:
        """`1 in 25`; `level` for none; `way` rounds the gradient: up is steeper."""
        if gradient is None:
            return NOT_KNOWN
        if gradient <= 1e-3:
            return "level"
        turned: dict[Way, Way] = {"near": "near", "up": "down", "down": "up"}
        run = 1.0 / gradient
        return f"1 in {number(run, 1.0 if run >= 5 else 0.1, turned[way])}"

    def area(self, area_m2: float | None) -> str:
        """`78 ha`, `190 ha`: two figures."""
        if area_m2 is None:
            return NOT_KNOWN
        hectares = area_m2 / u.HECTARE
        if hectares < 0.1:
            return "under 0.1 ha"
        return f"{number(hectares, 10.0 ** (math.floor(math.log10(hectares)) - 1))} ha"

    def position(self, xy: tuple[float, float]) -> tuple[str, str]:
        """DDM and MGRS of a grid point, WGS 84."""
        lon, lat = self.projection.to_lonlat(xy[0], xy[1])
        return ddm(float(lon), float(lat)), mgrs(float(lon), float(lat))


def _degrees(bearing: float) -> str:
    """`260°`, three figures, 001° to 360°."""
    whole = int(rounded(bearing, 1.0)) % 360
    return f"{whole or 360:03d}°"


def _banded(band: Band, scale: float, step: float, unit: str) -> str:
    middle = f"{number(band.middle / scale, step)}{unit}"
    if band.low is None or band.high is None:
        return f"{middle} (band not known)"
    return f"{middle} ({_span(number(band.low / scale, step), number(band.high / scale, step))})"
