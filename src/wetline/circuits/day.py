"""The day of a fleet: every load with its minute, from now to the cut-off.

Discrete events in order of time, then of the fleet: the same folder gives the same day. Aircraft
share the target, lanes and dip sites (a least spacing) and the pits of a base. Each works its best
source. Daylight, crew hours and fuel each set a time by which an aircraft must have landed; the
flight home counts back from it to the last drop that may still fall.

Not in it: crews relieving each other, moving to another source while a queue stands, early dusk
in the shadow of terrain.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.circuits import checks
from wetline.circuits.cycle import BestSources, Circuit, best_sources
from wetline.circuits.jobs import Setting, hours_of, job_of
from wetline.circuits.sources import fit
from wetline.circuits.timeline import fly
from wetline.errors import SolverError
from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits.sources import Source, SourceKind
    from wetline.circuits.timeline import Flown, Job, LimitedBy
    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Daylight, Weather

__all__ = ["AircraftDay", "Day", "Load", "plan_day"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One load on the target at `time` (UTC). `look`: its source still waits for a look."""

    aircraft: str
    class_id: str
    time: datetime
    source: str
    source_kind: SourceKind
    litres: float
    agent: str
    look: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftDay:
    """One aircraft's day. Times UTC, None where there is none or it is not known.

    `flight_h`: flown from now on. `last_scoop`: leaves the source with its last load.
    `last_drop_by`: the latest drop that daylight and duty would still allow, counted back from
    `land_by` through landing and the flight home. `leave_for_fuel`: leaves the work for its base.
    """

    aircraft: str
    class_id: str
    limited_by: LimitedBy
    loads: int = 0
    litres: float = 0.0
    flight_h: float = 0.0
    first_drop: datetime | None = None
    last_scoop: datetime | None = None
    last_drop: datetime | None = None
    last_drop_by: datetime | None = None
    land_by: datetime | None = None
    landed: datetime | None = None
    leave_for_fuel: tuple[datetime, ...] = ()
    crew_hours_end: datetime | None = None
    primary: Circuit | None = None
    alternate: Circuit | None = None
    refused: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """Circuits (one an aircraft, on its best source), loads by time, a row for every aircraft.

    `cut_off`: last drop by daylight; `land_by`: all landed by daylight; None where not known.
    """

    now: datetime
    circuits: tuple[Circuit, ...]
    loads: tuple[Load, ...]
    rows: tuple[AircraftDay, ...]
    cut_off: datetime | None
    land_by: datetime | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Entry:
    """One aircraft on its way into the plan: its job, or why it has none."""

    aircraft: Aircraft
    cls: AircraftClass
    best: BestSources
    findings: tuple[Finding, ...]
    job: Job | None = None
    idle: LimitedBy | None = None


def _standing_findings(
    aircraft: Aircraft, cls: AircraftClass, limits: Limits, *, now: datetime, placed: bool
) -> tuple[Finding, ...]:
    """What stands on an aircraft whatever it is planned to do."""
    out = [*checks.duty_findings(aircraft, limits, now=now), *checks.fuel_findings(aircraft, cls, limits)]
    if aircraft.airborne and not placed:
        out.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message=f"{aircraft.call_sign} is in the air, its place is not given: counted from its base.",
                source="common practice, no source",
                refers_to=aircraft.call_sign,
            )
        )
    return tuple(out)


def _entry(
    setting: Setting,
    aircraft: Aircraft,
    cls: AircraftClass,
    sources: Sequence[Source],
    place: tuple[float, float] | None,
    *,
    light_known: bool,
) -> _Entry:
    findings = _standing_findings(aircraft, cls, setting.limits, now=setting.now, placed=place is not None)
    nothing = BestSources(primary=None, alternate=None)
    if aircraft.out_of_service is not None:
        return _Entry(aircraft, cls, nothing, findings, idle="out_of_service")
    if cls.fills == "none":
        return _Entry(aircraft, cls, nothing, findings, idle="supervision")
    best = best_sources(
        aircraft,
        cls,
        sources,
        setting.target,
        hour=setting.hours[0][1],
        ground=setting.ground,
        limits=setting.limits,
    )
    if best.primary is None:
        return _Entry(aircraft, cls, best, findings, idle="no_source")
    findings += best.primary.findings
    base = next((b for b in setting.ground.bases if b.name == aircraft.base), None)
    if base is None:
        missing = Finding(
            code="data_missing",
            level="unknown",
            effect="blocks",
            message=f"{aircraft.call_sign}: base {aircraft.base} is not among the bases; no way home to count.",
            source="common practice, no source",
            refers_to=aircraft.call_sign,
        )
        return _Entry(aircraft, cls, best, (*findings, missing), idle="no_base")
    if not light_known:
        return _Entry(aircraft, cls, best, findings, idle="no_daylight")
    source = next(
        s
        for s in sources
        if (s.id, s.kind) == (best.primary.source, best.primary.source_kind)
        and fit(s, aircraft, cls)[0] is None
    )
    job = job_of(setting, aircraft, cls, source, (base.point.x, base.point.y), place)
    return _Entry(aircraft, cls, best, findings, job=job, idle="wind" if job is None else None)


def _row(
    setting: Setting, entry: _Entry, flown: Flown | None, day_end: tuple[datetime, datetime] | None
) -> AircraftDay:
    """The row of one aircraft; `day_end`: cut-off and all-landed by daylight, where known."""
    aircraft, limits = entry.aircraft, setting.limits
    _, duty_h = checks.crew_rules_h(aircraft, limits)
    crew_end = None if aircraft.duty_start is None else aircraft.duty_start + timedelta(hours=duty_h)
    land_by = None if day_end is None else day_end[1]
    if land_by is not None and crew_end is not None:
        land_by = min(land_by, crew_end - timedelta(minutes=limits.value("shutdown_min")))
    last_drop_by = None
    if day_end is not None and land_by is not None and entry.job is not None:
        home_s = entry.job.times.home_s(setting.seconds(land_by))
        last_drop_by = min(day_end[0], land_by - timedelta(seconds=home_s))
    primary = entry.best.primary

    def when(times_s: list[float], index: int) -> datetime | None:
        return setting.time(times_s[index]) if times_s else None

    drops_s = [] if flown is None else flown.drops_s
    limited_by = entry.idle if flown is None else flown.limited_by
    if limited_by is None:
        message = f"the day of {aircraft.call_sign} ended without a reason"
        raise SolverError(message)
    return AircraftDay(
        aircraft=aircraft.call_sign,
        class_id=entry.cls.id,
        limited_by=limited_by,
        loads=len(drops_s),
        litres=0.0 if primary is None else len(drops_s) * primary.litres_per_load,
        flight_h=0.0 if flown is None else flown.flight_s / 3600.0,
        first_drop=when(drops_s, 0),
        last_scoop=None if flown is None else when(flown.fills_s, -1),
        last_drop=when(drops_s, -1),
        last_drop_by=last_drop_by,
        land_by=land_by,
        landed=None if flown is None or flown.landed_s is None else setting.time(flown.landed_s),
        leave_for_fuel=() if flown is None else tuple(setting.time(t) for t in flown.leave_for_fuel_s),
        crew_hours_end=crew_end,
        primary=primary,
        alternate=entry.best.alternate,
        refused=entry.best.refused,
        findings=entry.findings,
    )


def _loads(setting: Setting, entry: _Entry, flown: Flown) -> list[Load]:
    circuit = entry.best.primary
    if circuit is None:
        return []
    return [
        Load(
            aircraft=entry.aircraft.call_sign,
            class_id=entry.cls.id,
            time=setting.time(drop_s),
            source=circuit.source,
            source_kind=circuit.source_kind,
            litres=circuit.litres_per_load,
            agent=entry.aircraft.agent,
            look=circuit.look,
        )
        for drop_s in flown.drops_s
    ]


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

    Raises
    ------
    InputError
        If a class lacks a number that its cycle needs.
    """
    cut_off, land_by = checks.cut_offs(daylight, limits, until=until)
    end = now if land_by is None else land_by
    hours, findings = hours_of(weather, now, end)
    setting = Setting(now, hours, target, ground, limits, checks.first_light(daylight, limits))
    entries = [
        _entry(
            setting,
            aircraft,
            classes[aircraft.class_id],
            sources,
            (places or {}).get(aircraft.call_sign),
            light_known=cut_off is not None,
        )
        for aircraft in fleet
    ]
    day_end = None if cut_off is None or land_by is None else (cut_off, land_by)
    flown: dict[int, Flown] = {}
    if day_end is not None:
        numbers = [i for i, entry in enumerate(entries) if entry.job is not None]
        done = fly(
            [job for entry in entries if (job := entry.job) is not None],
            cut_off_s=setting.seconds(day_end[0]),
            land_s=setting.seconds(day_end[1]),
            spacing_s=limits.value("spacing_min") * 60.0,
        )
        flown = dict(zip(numbers, done, strict=True))
    loads = [load for i, what in flown.items() for load in _loads(setting, entries[i], what)]
    return Day(
        now=now,
        circuits=tuple(e.best.primary for e in entries if e.best.primary is not None),
        loads=tuple(sorted(loads, key=lambda load: load.time)),
        rows=tuple(_row(setting, e, flown.get(i), day_end) for i, e in enumerate(entries)),
        cut_off=cut_off,
        land_by=land_by,
        findings=(*checks.daylight_findings(daylight, limits, now=now, until=until), *findings),
    )
