"""The day of a fleet: every load with its minute and litres, from now to the cut-off.

Discrete events in order of time, then of the fleet: the same folder gives the same day. Aircraft
share the target, lanes and dip sites (a least spacing), the pits of a base and what it has in stock.
Each works its best source, or the alternate where the queue costs more or nothing is left. Daylight,
terrain, crew hours and fuel each set a time by which an aircraft must have landed; the flight home
counts back from it to the last drop that may still fall. Crews that relieve fly on; two of a pair do
not leave for fuel together where one can go early.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.circuits import checks, light
from wetline.circuits.day import Day, Load
from wetline.circuits.entries import entry_of
from wetline.circuits.jobs import Setting, hours_of, stocks_of
from wetline.circuits.rows import row_of
from wetline.circuits.separation import separation_findings
from wetline.circuits.timeline import fly

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits.cycle import Circuit
    from wetline.circuits.entries import Entry
    from wetline.circuits.flights import Flown
    from wetline.circuits.light import Shade
    from wetline.circuits.sources import Source
    from wetline.ground import Ground
    from wetline.model import Finding, Limits
    from wetline.weather import Daylight, Weather

__all__ = ["plan_day"]


def _loads(setting: Setting, entry: Entry, flown: Flown) -> list[Load]:
    return [
        Load(
            aircraft=entry.aircraft.call_sign,
            class_id=entry.cls.id,
            time=setting.time(drop.time_s),
            source=entry.circuits[drop.way].source,
            source_kind=entry.circuits[drop.way].source_kind,
            litres=drop.litres,
            agent=entry.aircraft.agent,
            look=entry.circuits[drop.way].look,
            fill=entry.cls.way,
        )
        for drop in flown.drops
    ]


def _findings(setting: Setting, circuits: Sequence[Circuit]) -> tuple[Finding, ...]:
    """What stands on the day as a whole: its light, and circuits that meet."""
    limits, at_target = setting.limits, setting.sun_at(setting.target)
    return (
        *light.daylight_findings(
            setting.daylight, limits, now=setting.now, until=setting.until, at_target=at_target
        ),
        *light.shade_findings(limits, at_target),
        *separation_findings(circuits, limits),
    )


def plan_day(
    fleet: Sequence[Aircraft],
    classes: Mapping[str, AircraftClass],
    sources: Sequence[Source],
    target: tuple[float, float],
    *,
    now: datetime,
    ground: Ground,
    weather: Weather | None,
    daylight: Daylight | None,
    limits: Limits,
    until: datetime | None = None,
    places: Mapping[str, tuple[float, float]] | None = None,
    shade: Shade | None = None,
) -> Day:
    """Every load on one target from `now` to the cut-off, and what ends each aircraft's day.

    Parameters
    ----------
    target
        (x, y) [m].
    until
        A cut-off that the incident sets: it may only come before that of daylight. Where no sunset
        is known, it alone lets anything be planned at all.
    places
        Where aircraft in the air are now (x, y) [m], by call sign.
    shade
        First and last direct sun at a place over its terrain; None: ground is taken as level.

    Raises
    ------
    InputError
        If a class lacks a number that its cycle needs.
    """
    _, land_by = checks.cut_offs(daylight, limits, until=until)
    hours, findings = hours_of(weather, now, now if land_by is None else land_by)
    setting = Setting(now, hours, target, ground, limits, daylight, until, shade)
    by_light = light.last_drop(daylight, limits, until, setting.sun_at(target))
    known = by_light is not None and land_by is not None
    entries = [
        entry_of(
            setting,
            aircraft,
            classes[aircraft.class_id].filling_by(aircraft.fill),
            sources,
            (places or {}).get(aircraft.call_sign),
            light_known=known,
        )
        for aircraft in fleet
    ]
    flown: dict[int, Flown] = {}
    if by_light is not None and land_by is not None:
        numbers = [i for i, entry in enumerate(entries) if entry.job is not None]
        jobs = [job for entry in entries if (job := entry.job) is not None]
        done = fly(
            jobs,
            stocks_of(sources, jobs),
            cut_off_s=setting.seconds(by_light.time),
            land_s=setting.seconds(land_by),
            spacing_s=limits.value("spacing_min") * 60.0,
        )
        flown = dict(zip(numbers, done, strict=True))
    circuits = tuple(e.best.primary for e in entries if e.best.primary is not None)
    loads = [load for i, what in flown.items() for load in _loads(setting, entries[i], what)]
    return Day(
        now=now,
        circuits=circuits,
        loads=tuple(sorted(loads, key=lambda load: load.time)),
        rows=tuple(row_of(setting, e, flown.get(i), by_light) for i, e in enumerate(entries)),
        cut_off=None if by_light is None else by_light.time,
        land_by=land_by,
        findings=(*_findings(setting, circuits), *findings),
    )
