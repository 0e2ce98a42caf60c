"""What only circuits know: crew hours, fuel, daylight, and the climb out of a drop run.

Each function looks at one thing and returns its findings; unknown is never clear.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.model import Finding

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass, Relief
    from wetline.model import Limits
    from wetline.weather import Daylight

__all__ = [
    "crew_rules_h",
    "cut_offs",
    "duty_findings",
    "first_light",
    "flight_left_h",
    "fuel_findings",
    "reserve_s",
    "terrain_exit_finding",
]


def crew_rules_h(crew: Aircraft | Relief, limits: Limits) -> tuple[float, float]:
    """Flight hours and duty hours a crew may do today: the crew's own rule where it is stricter."""
    flight_h, duty_h = limits.value("flight_day_h"), limits.value("duty_day_h")
    if crew.flight_limit_h is not None:
        flight_h = min(flight_h, crew.flight_limit_h)
    if crew.duty_limit_h is not None:
        duty_h = min(duty_h, crew.duty_limit_h)
    return flight_h, duty_h


def reserve_s(cls: AircraftClass, limits: Limits) -> float:
    """Fuel kept at landing, as flight time [s]."""
    name = "reserve_helicopter_min" if cls.fills == "dip" else "reserve_fixed_wing_min"
    return limits.value(name) * 60.0


def flight_left_h(crew: Aircraft | Relief, limits: Limits) -> float:
    """Flight hours a crew has left by the day, 7 and 28 days; what nobody counted counts as none, and is said.

    Negative where a crew is over.
    """
    flight_h, _ = crew_rules_h(crew, limits)
    left = [flight_h - (crew.flown_h or 0.0)]
    if crew.flown_7d_h is not None:
        left.append(limits.value("flight_7d_h") - crew.flown_7d_h)
    if crew.flown_28d_h is not None:
        left.append(limits.value("flight_28d_h") - crew.flown_28d_h)
    return min(left)


def duty_findings(
    crew: Aircraft | Relief, limits: Limits, *, now: datetime, call_sign: str | None = None
) -> tuple[Finding, ...]:
    """Crew hours: not given blocks; used up stops. `call_sign`: whom a crew relieves."""
    relieves = call_sign is not None
    sign = getattr(crew, "call_sign", None) if call_sign is None else call_sign
    who = f"{sign}, relief crew" if relieves else f"{sign}"
    flight_h, duty_h = crew_rules_h(crew, limits)
    begins = "when it takes over" if relieves else "now"

    def judged(
        limit: str, message: str, *, known: bool = True, over: bool = False, value: str | None = None
    ) -> Finding:
        return Finding.against(
            limits[limit],
            code="duty",
            level=("stop" if over else "clear") if known else "unknown",
            effect=None if known else "blocks",
            message=f"{who}: {message}",
            refers_to=f"{sign}",
            value=value,
        )

    out = []
    if crew.duty_start is None:
        out.append(
            judged("duty_day_h", f"start of duty not given; planned as if duty began {begins}.", known=False)
        )
    elif crew.duty_start > now:
        out.append(judged("duty_day_h", f"duty of {duty_h:g} h begins at {crew.duty_start:%H:%M}Z."))
    else:
        done_h = (now - crew.duty_start).total_seconds() / 3600.0
        said = f"{done_h:.1f} h of {duty_h:g} h duty done."
        out.append(judged("duty_day_h", said, over=done_h >= duty_h, value=f"{done_h:.1f} h"))
    if crew.flown_h is None:
        out.append(judged("flight_day_h", "hours flown today not given; planned as if none.", known=False))
    else:
        said = f"{crew.flown_h:.1f} h of {flight_h:g} h flown today."
        out.append(judged("flight_day_h", said, over=crew.flown_h >= flight_h, value=f"{crew.flown_h:.1f} h"))
    return (*out, *_rolling_findings(crew, limits, who=who, call_sign=f"{sign}"))


def _rolling_findings(
    crew: Aircraft | Relief, limits: Limits, *, who: str, call_sign: str
) -> tuple[Finding, ...]:
    """Hours of the last 7 and 28 days, and rest: over the limit stops; what nobody gave is noted, once."""
    out, missing = [], []
    for name, words, hours, low in (
        ("flight_7d_h", "flown in 7 days", crew.flown_7d_h, False),
        ("flight_28d_h", "flown in 28 days", crew.flown_28d_h, False),
        ("rest_h", "rest before duty", crew.rested_h, True),
    ):
        limit = limits[name]
        if hours is None:
            missing.append(words)
            continue
        over = hours < limit.value if low else hours >= limit.value
        out.append(
            Finding.against(
                limit,
                code="duty",
                level="stop" if over else "clear",
                message=f"{who}: {hours:.1f} h {words}; {'at least' if low else 'at most'} {limit.value:g} h.",
                refers_to=call_sign,
                value=f"{hours:.1f} h",
            )
        )
    if missing:
        out.append(
            Finding.against(
                limits["flight_28d_h"],
                code="duty",
                level="unknown",
                effect="noted",
                message=f"{who}: hours not given and not counted: {', '.join(missing)}.",
                refers_to=call_sign,
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
