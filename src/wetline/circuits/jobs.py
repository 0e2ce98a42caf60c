"""From the folder's aircraft to jobs of the event loop: parts of the cycle by hour, hours, fuel."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.circuits import checks
from wetline.circuits.cycle import circuit, flight_time_s
from wetline.circuits.timeline import Job, Parts, Times
from wetline.errors import OutsideRangeError
from wetline.model import Finding

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits.sources import Source
    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Hour, Weather

__all__ = ["Setting", "hours_of", "job_of"]


@dataclass(frozen=True, slots=True)
class Setting:
    """What is the same for the whole fleet. `hours`: (seconds from now, weather or None)."""

    now: datetime
    hours: tuple[tuple[float, Hour | None], ...]
    target: tuple[float, float]
    ground: Ground
    limits: Limits
    first_light: datetime | None

    def seconds(self, time: datetime) -> float:
        """Seconds from now."""
        return (time - self.now).total_seconds()

    def time(self, seconds: float) -> datetime:
        """The time some seconds from now."""
        return self.now + timedelta(seconds=seconds)


def hours_of(
    weather: Weather | None, now: datetime, until: datetime
) -> tuple[tuple[tuple[float, Hour | None], ...], tuple[Finding, ...]]:
    """The hours of the plan: the last hour of the table is held on after its end, and said so."""
    if weather is None or now < weather.first or now >= weather.last:
        return ((0.0, None),), ()
    hours: list[tuple[float, Hour | None]] = [(0.0, weather.at(now))]
    hours += [
        (at_s - now.timestamp(), weather.at(now + timedelta(seconds=at_s - now.timestamp())))
        for at_s in weather.time_s.tolist()
        if now.timestamp() < at_s < until.timestamp()
    ]
    if until <= weather.last:
        return tuple(hours), ()
    held = Finding(
        code="data_missing",
        level="unknown",
        effect="noted",
        message=f"Weather ends at {weather.last:%H:%M}Z; circuits after that use its last hour.",
        source="common practice, no source",
        refers_to="weather",
    )
    return tuple(hours), (held,)


def _times(
    setting: Setting, aircraft: Aircraft, cls: AircraftClass, source: Source, base: tuple[float, float]
) -> Times:
    """Parts for every hour, up to the first hour in which a leg cannot be flown."""
    starts: list[float] = []
    parts: list[Parts] = []
    landing_s = setting.limits.value("landing_min") * 60.0
    for start_s, hour in setting.hours:
        try:
            cycle = circuit(aircraft, cls, source, setting.target, hour, setting.ground, setting.limits)
            ferry_s = flight_time_s(cls, base, source.position, hour, setting.ground)
            home_s = flight_time_s(cls, setting.target, base, hour, setting.ground) + landing_s
            off_s = flight_time_s(cls, source.position, base, hour, setting.ground) + landing_s
        except OutsideRangeError:
            return Times(starts, parts, start_s)
        out, back = cycle.legs
        starts.append(start_s)
        parts.append(
            Parts(
                ground_s=cycle.ground_s,
                source_s=cycle.source_s,
                out_s=out.time_s,
                target_s=cycle.target_s,
                back_s=back.time_s,
                ferry_s=ferry_s,
                home_s=max(home_s, back.time_s) if source.kind == "base" else home_s,
                off_s=off_s,
            )
        )
    return Times(starts, parts)


def job_of(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    source: Source,
    base: tuple[float, float],
    place: tuple[float, float] | None,
) -> Job | None:
    """The aircraft's part in the day, or None if wind keeps it on the ground now."""
    limits = setting.limits
    ready = setting.now
    if not aircraft.airborne:
        ready += timedelta(minutes=limits.value("start_up_min"))
    ready = max(t for t in (ready, aircraft.available_from, setting.first_light) if t is not None)
    flight_h, duty_h = checks.crew_rules_h(aircraft, limits)
    duty_land = (aircraft.duty_start or setting.now) + timedelta(
        hours=duty_h, minutes=-limits.value("shutdown_min")
    )
    endurance = cls.get("endurance_h")
    full_s = None if endurance is None else endurance.si()
    fuel_s = (full_s or 0.0) if aircraft.fuel_h is None else aircraft.fuel_h * 3600.0
    refuel = cls.get("refuel_min")
    ready_s = setting.seconds(ready)
    hour = next(h for start_s, h in reversed(setting.hours) if start_s <= ready_s)
    origin = place if place is not None and aircraft.airborne else base
    times = _times(setting, aircraft, cls, source, base)
    if times.closed_s <= ready_s:
        return None
    try:
        first_s = flight_time_s(cls, origin, source.position, hour, setting.ground)
    except OutsideRangeError:
        return None
    return Job(
        source=f"{source.kind} {source.id}",
        pits=1 if source.pits is None else source.pits,
        base_fed=source.kind == "base",
        at_source=source.kind == "base" and source.name == aircraft.base,
        ready_s=ready_s,
        airborne=aircraft.airborne,
        first_s=first_s,
        fuel_s=fuel_s,
        full_s=None if refuel is None else full_s,
        reserve_s=checks.reserve_s(cls, limits),
        refuel_s=0.0 if refuel is None else refuel.si(),
        flight_left_s=(flight_h - (aircraft.flown_h or 0.0)) * 3600.0,
        duty_land_s=setting.seconds(duty_land),
        times=times,
    )
