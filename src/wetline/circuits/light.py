"""By when the light asks for what: take-off, fill, drop and landing, each with its reason.

Two rules stand side by side and the stricter one counts: minutes from official sunrise and sunset, and
minutes from the sun's coming over the terrain and going behind it at the place itself.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from wetline.circuits import checks
from wetline.model import Finding
from wetline.weather import TerrainLight

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from wetline.model import Limits
    from wetline.weather import Daylight

__all__ = [
    "By",
    "Shade",
    "daylight_findings",
    "first_over",
    "last_drop",
    "last_fill",
    "last_landing",
    "shade_findings",
    "soonest",
]

Shade = Callable[[tuple[float, float]], TerrainLight]
"""First and last direct sun at a place (x, y) [m]."""
_KNOWN_ENOUGH_M = 30_000.0
"""A ridge of 1,000 m so far away hides the sun below 2°, some 10 min of evening; common practice, no source."""


class By(NamedTuple):
    """A time, and what sets it."""

    time: datetime
    because: str


def soonest(times: Iterable[By | None]) -> By | None:
    """The first of those that are known."""
    return min((by for by in times if by is not None), key=lambda by: by.time, default=None)


def _after(time: datetime | None, limits: Limits, name: str, of: str) -> By | None:
    if time is None:
        return None
    minutes = limits.value(name)
    said = of if minutes == 0.0 else f"{abs(minutes):g} min {'after' if minutes > 0.0 else 'before'} {of}"
    return By(time + timedelta(minutes=minutes), said)


def last_drop(
    daylight: Daylight | None, limits: Limits, until: datetime | None, at_target: TerrainLight | None
) -> By | None:
    """The last drop by the light; None where neither a sunset nor `until` is known."""
    official, _ = checks.cut_offs(daylight, limits, until=until)
    if official is None:
        return None
    sunset = None if daylight is None else daylight.sunset
    shaded = None if at_target is None else at_target.last
    return soonest(
        [
            None if until is None else By(until, "the incident's cut-off"),
            _after(sunset, limits, "cut_off_after_sunset_min", "sunset"),
            _after(shaded, limits, "cut_off_after_shade_min", "the sun leaves the fire"),
        ]
    )


def last_fill(limits: Limits, at_source: TerrainLight | None) -> By | None:
    """The last departure from a source by the light on it; None where no terrain shades it before sunset."""
    shaded = None if at_source is None else at_source.last
    return _after(shaded, limits, "cut_off_after_shade_min", "the sun leaves the source")


def last_landing(
    daylight: Daylight | None, limits: Limits, until: datetime | None, at_base: TerrainLight | None
) -> By | None:
    """The last landing by the light; None where neither a sunset nor `until` is known."""
    sunset = None if daylight is None else daylight.sunset
    if sunset is None:
        return None if until is None else By(until, "the incident's cut-off; no sunset is known")
    shaded = None if at_base is None else at_base.last
    return soonest(
        [
            _after(sunset, limits, "land_after_sunset_min", "sunset"),
            _after(shaded, limits, "land_after_shade_min", "the sun leaves the base"),
        ]
    )


def first_over(limits: Limits, light: TerrainLight | None) -> datetime | None:
    """The first take-off or drop at a place by the sun over its terrain."""
    if light is None or light.first is None:
        return None
    return light.first - timedelta(minutes=limits.value("fly_before_sun_min"))


def daylight_findings(
    daylight: Daylight | None,
    limits: Limits,
    *,
    now: datetime,
    until: datetime | None = None,
    at_target: TerrainLight | None = None,
) -> tuple[Finding, ...]:
    """Daylight: no known sunset blocks; after the cut-off stops."""
    limit = limits["cut_off_after_sunset_min"]
    by_light = last_drop(daylight, limits, until, at_target)
    sunset = None if daylight is None else daylight.sunset
    if sunset is None or by_light is None:
        why = "daylight was not worked out" if daylight is None else "there is none on this day"
        then = "set cut_off in incident.toml" if until is None else f"cut-off set to {until:%H:%M}Z"
        return (
            Finding.against(
                limit,
                code="daylight",
                level="unknown",
                effect="blocks",
                message=f"No sunset known: {why}; {then}.",
                refers_to="day",
            ),
        )
    because = "" if by_light.because == "sunset" else f" ({by_light.because})"
    return (
        Finding.against(
            limit,
            code="daylight",
            level="stop" if now >= by_light.time else "clear",
            message=f"Last drop by {by_light.time:%H:%M}Z{because}; sunset {sunset:%H:%M}Z.",
            refers_to="day",
            value=f"{now:%H:%M}Z",
        ),
    )


def shade_findings(limits: Limits, at_target: TerrainLight | None) -> tuple[Finding, ...]:
    """What of the terrain's shade on the fire is not known."""
    if at_target is None:
        return ()
    known_m = min(at_target.first_known_m, at_target.last_known_m)
    if at_target.last is None and known_m == 0.0:
        message = "Sun over the terrain is not known at the fire: shade of terrain is not counted."
    elif at_target.last is None:
        message = "No direct sun reaches the fire on this day: shade of terrain is not counted."
    elif known_m < _KNOWN_ENOUGH_M:
        message = f"Ground over {known_m / 1000.0:.0f} km from the fire toward the low sun is not known: its shade is not counted."
    else:
        return ()
    return (
        Finding.against(
            limits["cut_off_after_shade_min"],
            code="daylight",
            level="unknown",
            effect="noted",
            message=message,
            refers_to="day",
        ),
    )
