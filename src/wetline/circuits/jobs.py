"""From the folder's aircraft to jobs of the event loop: parts of the cycle by hour, hours, fuel."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.circuits import checks
from wetline.circuits.cycle import circuit, flight_time_s
from wetline.circuits.flights import Crew, Job, Parts, Times, Way
from wetline.circuits.light import first_over, last_fill, last_landing
from wetline.circuits.loads import load_rule_of
from wetline.circuits.sources import air_at_m
from wetline.errors import OutsideRangeError
from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass, LoadRule
    from wetline.circuits.choice import BestSources
    from wetline.circuits.legs import Seen
    from wetline.circuits.light import Shade
    from wetline.circuits.sources import Source
    from wetline.circuits.stock import Stock
    from wetline.ground import Base, Ground
    from wetline.model import Limits
    from wetline.weather import Daylight, Hour, TerrainLight, Weather

__all__ = ["Setting", "hours_of", "job_of", "stocks_of"]


@dataclass(frozen=True, slots=True)
class Setting:
    """What is the same for the whole fleet. `hours`: (seconds from now, weather or None).

    `times`: circuits by class and what it fills with, load, source and base, `best`: sources by the same, `seen`: the
    ground under legs; each worked out once for all who share it.
    """

    now: datetime
    hours: tuple[tuple[float, Hour | None], ...]
    target: tuple[float, float]
    ground: Ground
    limits: Limits
    daylight: Daylight | None
    until: datetime | None = None
    shade: Shade | None = None
    times: dict[tuple[object, ...], Times] = field(default_factory=dict)
    best: dict[tuple[object, ...], BestSources] = field(default_factory=dict)
    seen: Seen = field(default_factory=dict)

    def seconds(self, time: datetime) -> float:
        """Seconds from now."""
        return (time - self.now).total_seconds()

    def time(self, seconds: float) -> datetime:
        """The time some seconds from now."""
        return self.now + timedelta(seconds=seconds)

    def sun_at(self, place: tuple[float, float]) -> TerrainLight | None:
        """Direct sun at a place, where terrain is looked at."""
        return None if self.shade is None else self.shade(place)


def hours_of(
    weather: Weather | None, now: datetime, until: datetime
) -> tuple[tuple[tuple[float, Hour | None], ...], tuple[Finding, ...]]:
    """The hours of the plan: none before the table's first, its last held on after its end; both are said."""
    if weather is None or until <= weather.first or now >= weather.last:
        return ((0.0, None),), ()
    hours: list[tuple[float, Hour | None]] = [(0.0, weather.at(now) if weather.covers(now) else None)]
    hours += [
        (at_s - now.timestamp(), weather.at(now + timedelta(seconds=at_s - now.timestamp())))
        for at_s in weather.time_s.tolist()
        if now.timestamp() < at_s < until.timestamp()
    ]
    said = []
    if now < weather.first:
        said.append(f"Weather begins at {weather.first:%H:%M}Z; circuits before that are those of still air.")
    if until > weather.last:
        said.append(f"Weather ends at {weather.last:%H:%M}Z; circuits after that use its last hour.")
    return tuple(hours), tuple(
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=words,
            source="common practice, no source",
            refers_to="weather",
        )
        for words in said
    )


def stocks_of(sources: Iterable[Source], jobs: Iterable[Job]) -> dict[str, Stock]:
    """What sources have, for those of which somebody said how much.

    Where nothing tells what their tanks hold, no more is mixed ahead than there was, or than one load.
    """
    loads_l: dict[str, float] = {}
    for job in jobs:
        for way in job.ways:
            most_l = max(parts.load.most_l for parts in way.times.parts)
            loads_l[way.source] = max(loads_l.get(way.source, 0.0), most_l)
    out: dict[str, Stock] = {}
    for source in sources:
        if source.stock is not None and (name := source.spot) in loads_l:
            known_l = max(source.stock.litres, loads_l[name])
            out[name] = replace(source.stock, most_l=min(source.stock.most_l, known_l))
    return out


def _load(
    setting: Setting, aircraft: Aircraft, cls: AircraftClass, source: Source, hour: Hour | None
) -> LoadRule:
    """What it may take at a source in an hour; cut for the air where height and weather are known."""
    height_m = source.elevation_m
    if height_m is None:
        height_m = setting.ground.elevation_at(*source.position)
    air_m = air_at_m(height_m if math.isfinite(height_m) else None, hour)
    return load_rule_of(aircraft, cls, air_m)


def _flight_s(
    setting: Setting,
    cls: AircraftClass,
    start: tuple[float, float],
    end: tuple[float, float],
    hour: Hour | None,
) -> float:
    """A flight with nothing on board, its climb and a steep descent counted as on the legs."""
    return flight_time_s(cls, start, end, hour, setting.ground, limits=setting.limits, seen=setting.seen)


def _times(
    setting: Setting, aircraft: Aircraft, cls: AircraftClass, source: Source, base: tuple[float, float]
) -> Times:
    """Parts for every hour, up to the first hour in which a leg cannot be flown."""
    key = (cls.id, cls.way, aircraft.load_l, aircraft.agent, source.kind, source.id, base)
    if key in setting.times:
        return setting.times[key]
    starts: list[float] = []
    parts: list[Parts] = []
    closed_s = math.inf
    landing_s = setting.limits.value("landing_min") * 60.0
    for start_s, hour in setting.hours:
        try:
            cycle = circuit(
                aircraft, cls, source, setting.target, hour, setting.ground, setting.limits, seen=setting.seen
            )
            ferry_s = _flight_s(setting, cls, base, source.position, hour)
            home_s = _flight_s(setting, cls, setting.target, base, hour) + landing_s
            off_s = _flight_s(setting, cls, source.position, base, hour) + landing_s
        except OutsideRangeError:
            closed_s = start_s
            break
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
                load=_load(setting, aircraft, cls, source, hour),
            )
        )
    setting.times[key] = Times(starts, parts, closed_s)
    return setting.times[key]


def _way(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    source: Source,
    base: Base,
    origin: tuple[float, float],
    ready_s: float,
) -> Way | None:
    """One source to work, or None if wind forbids it when the aircraft is ready."""
    times = _times(setting, aircraft, cls, source, (base.point.x, base.point.y))
    if times.closed_s <= ready_s:
        return None
    hour = next(h for start_s, h in reversed(setting.hours) if start_s <= ready_s)
    try:
        first_s = _flight_s(setting, cls, origin, source.position, hour)
    except OutsideRangeError:
        return None
    by_light = last_fill(setting.limits, setting.sun_at(source.position))
    return Way(
        source=source.spot,
        pits=1 if source.pits is None else source.pits,
        first_s=first_s,
        times=times,
        at_home=source.kind == "base" and source.name == aircraft.base,
        load_while_fuelling=source.load_while_fuelling is True,
        fuel=source.fuel is not False,
        load_cap_l=math.inf if source.load_cap_l is None else source.load_cap_l,
        last_fill_s=math.inf if by_light is None else setting.seconds(by_light.time),
    )


def _hops_s(setting: Setting, cls: AircraftClass, sources: Sequence[Source]) -> tuple[tuple[float, ...], ...]:
    """Flights between sources that load on the ground, in the first hour's wind; infinite if not flyable."""
    landing_s = setting.limits.value("landing_min") * 60.0

    def hop_s(here: Source, there: Source) -> float:
        try:
            return _flight_s(setting, cls, here.position, there.position, setting.hours[0][1]) + landing_s
        except OutsideRangeError:
            return math.inf

    return tuple(tuple(0.0 if a is b else hop_s(a, b) for b in sources) for a in sources)


def _ready(setting: Setting, aircraft: Aircraft, base: tuple[float, float]) -> datetime:
    """When an aircraft may begin: start-up, its own time, its crew's duty, the light at its base."""
    ready = setting.now
    if not aircraft.airborne:
        ready += timedelta(minutes=setting.limits.value("start_up_min"))
    by_sun = None if aircraft.airborne else first_over(setting.limits, setting.sun_at(base))
    official = checks.first_light(setting.daylight, setting.limits)
    starts = (ready, aircraft.available_from, aircraft.duty_start, official, by_sun)
    return max(start for start in starts if start is not None)


def _waited_for_light_s(setting: Setting, ways: Sequence[Way], ready_s: float, *, from_base: bool) -> float:
    """The later start that lets no first drop fall sooner than the sun over the fire's terrain allows."""
    first = first_over(setting.limits, setting.sun_at(setting.target))
    if first is None:
        return ready_s
    to_drop_s = []
    for way in ways:
        parts = way.times.at(ready_s)
        there_s = parts.ferry_s if from_base else way.first_s
        to_drop_s.append(there_s + parts.ground_s + parts.filled_to_drop_s)
    return max(ready_s, setting.seconds(first) - min(to_drop_s))


def _start(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    ways: Sequence[Way],
    ready_s: float,
    *,
    origin: tuple[float, float],
    home: tuple[float, float],
) -> tuple[float, float | None]:
    """When it begins, and when it has landed first, where it is in the air and may not work for longer than that."""
    if not aircraft.airborne:
        return _waited_for_light_s(setting, ways, ready_s, from_base=True), None
    start_s = _waited_for_light_s(setting, ways, ready_s, from_base=False)
    if start_s <= 0.0:
        return start_s, None
    try:
        landed_s = _flight_s(setting, cls, origin, home, setting.hours[0][1])
    except OutsideRangeError:
        return start_s, None
    landed_s += setting.limits.value("landing_min") * 60.0
    if start_s <= landed_s:
        return start_s, None
    return _waited_for_light_s(setting, ways, max(ready_s, landed_s), from_base=True), landed_s


def _crews(setting: Setting, aircraft: Aircraft) -> tuple[Crew, ...]:
    """The crew on board and those that relieve it, their hours as seconds from now."""
    shutdown = timedelta(minutes=setting.limits.value("shutdown_min"))

    def until_s(start: datetime, duty_h: float) -> float:
        return setting.seconds(start + timedelta(hours=duty_h) - shutdown)

    _, duty_h = checks.crew_rules_h(aircraft, setting.limits)
    out = [
        Crew(
            flight_left_s=checks.flight_left_h(aircraft, setting.limits) * 3600.0,
            duty_land_s=until_s(aircraft.duty_start or setting.now, duty_h),
        )
    ]
    for relief in aircraft.relief:
        _, duty_h = checks.crew_rules_h(relief, setting.limits)
        out.append(
            Crew(
                from_s=setting.seconds(relief.available_from),
                flight_left_s=checks.flight_left_h(relief, setting.limits) * 3600.0,
                duty_land_s=until_s(relief.duty_start or relief.available_from, duty_h),
            )
        )
    return tuple(out)


def job_of(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    sources: Sequence[Source],
    base: Base,
    place: tuple[float, float] | None,
) -> tuple[Job, tuple[Source, ...]] | None:
    """The aircraft's part in the day and the sources of its ways, or None if wind keeps it on the ground now.

    `sources`: the best first; those that cannot be flown now are left out.
    """
    limits = setting.limits
    home = (base.point.x, base.point.y)
    ready_s = setting.seconds(_ready(setting, aircraft, home))
    origin = place if place is not None and aircraft.airborne else home
    ways, used = [], []
    for source in sources:
        way = _way(setting, aircraft, cls, source, base, origin, ready_s)
        if way is not None:
            ways.append(way)
            used.append(source)
    if not ways:
        return None
    endurance, refuel = cls.get("endurance_h"), cls.get("refuel_min")
    full_s = None if endurance is None else endurance.si()
    landing = last_landing(setting.daylight, limits, setting.until, setting.sun_at(home))
    stretch_h = limits.value("flying_stretch_h")
    base_fed = cls.fills == "base"
    start_s, landed_s = _start(setting, aircraft, cls, ways, ready_s, origin=origin, home=home)
    renewable = refuel is not None and (base.fuel is not False or base_fed)
    job = Job(
        ways=tuple(ways),
        base_fed=base_fed,
        ready_s=start_s,
        airborne=aircraft.airborne and landed_s is None,
        landed_s=landed_s,
        fuel_s=(full_s or 0.0) if aircraft.fuel_h is None else aircraft.fuel_h * 3600.0,
        full_s=full_s if renewable else None,
        reserve_s=checks.reserve_s(cls, limits),
        refuel_s=0.0 if refuel is None else refuel.si(),
        crews=_crews(setting, aircraft),
        land_s=math.inf if landing is None else setting.seconds(landing.time),
        swap_s=limits.value("crew_swap_min") * 60.0,
        flying_s=math.inf if stretch_h >= 24.0 else stretch_h * 3600.0,
        rest_s=limits.value("flying_break_min") * 60.0 if stretch_h < 24.0 else 0.0,
        group=aircraft.pair if limits.value("stagger_pairs") and not base_fed else None,
        hops_s=_hops_s(setting, cls, used) if base_fed else (),
        fuel_at_home=base.fuel is not False,
    )
    return job, tuple(used)
