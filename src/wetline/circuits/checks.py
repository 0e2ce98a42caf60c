"""What only circuits know: crew hours, fuel, daylight, and the climb out of a drop run.

Each function looks at one thing and returns its findings; unknown is never clear.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.model import Finding

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.model import Limits
    from wetline.weather import Daylight

__all__ = [
    "crew_rules_h",
    "cut_offs",
    "daylight_findings",
    "duty_findings",
    "first_light",
    "fuel_findings",
    "reserve_s",
    "terrain_exit_finding",
]


def crew_rules_h(aircraft: Aircraft, limits: Limits) -> tuple[float, float]:
    """Flight hours and duty hours a crew may do today: the crew's own rule where it is stricter."""
    flight_h, duty_h = limits.value("flight_day_h"), limits.value("duty_day_h")
    if aircraft.flight_limit_h is not None:
        flight_h = min(flight_h, aircraft.flight_limit_h)
    if aircraft.duty_limit_h is not None:
        duty_h = min(duty_h, aircraft.duty_limit_h)
    return flight_h, duty_h


def reserve_s(cls: AircraftClass, limits: Limits) -> float:
    """Fuel kept at landing, as flight time [s]."""
    name = "reserve_helicopter_min" if cls.fills == "dip" else "reserve_fixed_wing_min"
    return limits.value(name) * 60.0


def duty_findings(aircraft: Aircraft, limits: Limits, *, now: datetime) -> tuple[Finding, ...]:
    """Crew hours: not given blocks; used up stops."""
    flight_h, duty_h = crew_rules_h(aircraft, limits)
    out = []
    if aircraft.duty_start is None:
        out.append(
            Finding.against(
                limits["duty_day_h"],
                code="duty",
                level="unknown",
                effect="blocks",
                message=f"{aircraft.call_sign}: start of duty not given; planned as if duty began now.",
                refers_to=aircraft.call_sign,
            )
        )
    else:
        duty_now_h = (now - aircraft.duty_start).total_seconds() / 3600.0
        over = duty_now_h >= duty_h
        out.append(
            Finding.against(
                limits["duty_day_h"],
                code="duty",
                level="stop" if over else "clear",
                message=f"{aircraft.call_sign}: {duty_now_h:.1f} h of {duty_h:g} h duty done.",
                refers_to=aircraft.call_sign,
                value=f"{duty_now_h:.1f} h",
            )
        )
    if aircraft.flown_h is None:
        out.append(
            Finding.against(
                limits["flight_day_h"],
                code="duty",
                level="unknown",
                effect="blocks",
                message=f"{aircraft.call_sign}: hours flown today not given; planned as if none.",
                refers_to=aircraft.call_sign,
            )
        )
    else:
        over = aircraft.flown_h >= flight_h
        out.append(
            Finding.against(
                limits["flight_day_h"],
                code="duty",
                level="stop" if over else "clear",
                message=f"{aircraft.call_sign}: {aircraft.flown_h:.1f} h of {flight_h:g} h flown today.",
                refers_to=aircraft.call_sign,
                value=f"{aircraft.flown_h:.1f} h",
            )
        )
    return tuple(out)


def fuel_findings(aircraft: Aircraft, cls: AircraftClass, limits: Limits) -> tuple[Finding, ...]:
    """Fuel on board: not given blocks; at or under the reserve stops an aircraft in flight."""
    endurance = cls.get("endurance_h")
    if aircraft.fuel_h is None:
        planned = (
            "no endurance of the class is known either"
            if endurance is None
            else f"planned from the class's endurance of {endurance.value:g} h"
        )
        return (
            Finding(
                code="fuel",
                level="unknown",
                effect="blocks",
                message=f"{aircraft.call_sign}: fuel on board not given; {planned}.",
                source="common practice, no source" if endurance is None else endurance.source,
                refers_to=aircraft.call_sign,
            ),
        )
    limit = limits["reserve_helicopter_min" if cls.fills == "dip" else "reserve_fixed_wing_min"]
    short = aircraft.airborne and aircraft.fuel_h * 60.0 <= limit.value
    return (
        Finding.against(
            limit,
            code="fuel",
            level="stop" if short else "clear",
            message=f"{aircraft.call_sign}: fuel for {aircraft.fuel_h:.1f} h on board.",
            refers_to=aircraft.call_sign,
            value=f"{aircraft.fuel_h * 60.0:.0f} min",
        ),
    )


def cut_offs(
    daylight: Daylight | None, limits: Limits, *, until: datetime | None = None
) -> tuple[datetime | None, datetime | None]:
    """Last drop and all-landed times by daylight; `until` is a cut-off set by the incident.

    Both None where neither a sunset nor `until` is known. With `until` alone everybody lands by it,
    for how light it is afterwards is not known.
    """
    sunset = None if daylight is None else daylight.sunset
    if sunset is None:
        return until, until
    cut_off = sunset + timedelta(minutes=limits.value("cut_off_after_sunset_min"))
    land_by = sunset + timedelta(minutes=limits.value("land_after_sunset_min"))
    return (cut_off if until is None else min(cut_off, until)), land_by


def first_light(daylight: Daylight | None, limits: Limits) -> datetime | None:
    """First take-off of the day, or None where no sunrise is known."""
    if daylight is None or daylight.sunrise is None:
        return None
    return daylight.sunrise - timedelta(minutes=limits.value("fly_before_sunrise_min"))


def daylight_findings(
    daylight: Daylight | None, limits: Limits, *, now: datetime, until: datetime | None = None
) -> tuple[Finding, ...]:
    """Daylight: no known sunset blocks; after the cut-off stops."""
    limit = limits["cut_off_after_sunset_min"]
    cut_off, _ = cut_offs(daylight, limits, until=until)
    sunset = None if daylight is None else daylight.sunset
    if sunset is None or cut_off is None:
        why = "daylight was not worked out" if daylight is None else "there is none on this day"
        then = "set a cut-off for this incident" if until is None else f"cut-off set to {until:%H:%M}Z"
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
    return (
        Finding.against(
            limit,
            code="daylight",
            level="stop" if now >= cut_off else "clear",
            message=f"Last drop by {cut_off:%H:%M}Z; sunset {sunset:%H:%M}Z.",
            refers_to="day",
            value=f"{now:%H:%M}Z",
        ),
    )


def run_exit_finding(
    needed: float | None,
    cls: AircraftClass,
    limits: Limits,
    *,
    speed_mps: float,
    refers_to: str,
    position: tuple[float, float] | None = None,
) -> Finding:
    """The climb that a run's way out asks for against the class's own climb at full load and drop speed.

    Over the middle of the class is a stop, over its low end a caution. A class whose climb is not known
    is held to the limit of a lane's climb-out.
    """
    what, climb = "Climb-out at full load", cls.get("climb_fpm")
    if needed is None or climb is None:
        return terrain_exit_finding(needed, limits, what=what, refers_to=refers_to, position=position)
    most = climb.si() / speed_mps
    least = most if climb.low is None else climb.si(climb.low) / speed_mps
    return Finding(
        code="terrain_exit",
        level="stop" if needed > most else "caution" if needed > least else "clear",
        message=f"{what}: {needed * 100:.1f} % needed, the class climbs {most * 100:.1f} % (low end {least * 100:.1f} %).",
        source=climb.source,
        refers_to=refers_to,
        position=position,
        limit=f"{most:.3f} m/m",
        value=f"{needed:.3f} m/m",
    )


def terrain_exit_finding(
    needed: float | None,
    limits: Limits,
    *,
    what: str,
    refers_to: str,
    limit_name: str = "climb_gradient_available",
    position: tuple[float, float] | None = None,
) -> Finding:
    """The gradient that the ground asks for against the one that a limit allows.

    `needed` None: the ground is not known all along, which blocks. `what`: the words for the part
    of the run (`Climb-out at full load`).
    """
    limit = limits[limit_name]
    if needed is None:
        return Finding.against(
            limit,
            code="terrain_exit",
            level="unknown",
            effect="blocks",
            message=f"{what}: heights of the ground are not known all along.",
            refers_to=refers_to,
            position=position,
        )
    over = needed > limit.value
    return Finding.against(
        limit,
        code="terrain_exit",
        level="stop" if over else "clear",
        message=f"{what}: {needed * 100:.1f} % needed, {limit.value * 100:g} % allowed.",
        refers_to=refers_to,
        position=position,
        value=f"{needed:.3f} m/m",
    )
