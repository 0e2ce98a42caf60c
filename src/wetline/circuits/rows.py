"""One aircraft's row of the day: what it did, what ends its day, by when it must have done what."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.circuits import checks, light
from wetline.circuits.costs import cost_of
from wetline.circuits.day import AircraftDay, CutOff, Stop
from wetline.circuits.light import By
from wetline.errors import SolverError

if TYPE_CHECKING:
    from wetline.aircraft import Aircraft, Relief
    from wetline.circuits.entries import Entry
    from wetline.circuits.flights import Flown, Way
    from wetline.circuits.jobs import Setting

__all__ = ["row_of"]


def _by_duty(setting: Setting, aircraft: Aircraft, crew: int) -> By:
    """Landed by for the duty of a crew, 0 on board now; one whose begin is not given is planned from its first moment."""
    who: Aircraft | Relief = aircraft
    begins = setting.now
    if crew > 0:
        who = aircraft.relief[crew - 1]
        begins = who.available_from
    _, duty_h = checks.crew_rules_h(who, setting.limits)
    shutdown_min = setting.limits.value("shutdown_min")
    duty = "duty" if who.duty_start is not None else f"duty, taken to begin {begins:%H:%M}Z,"
    ends = (who.duty_start or begins) + timedelta(hours=duty_h, minutes=-shutdown_min)
    return By(ends, f"{duty} ends {shutdown_min:g} min later")


def _landing(setting: Setting, entry: Entry, crew: int) -> By | None:
    """Landed by: the light at the base, or the duty less the shutdown of the crew that flies last."""
    base = None if entry.base is None else setting.sun_at((entry.base.point.x, entry.base.point.y))
    by_light = light.last_landing(setting.daylight, setting.limits, setting.until, base)
    return None if by_light is None else light.soonest([by_light, _by_duty(setting, entry.aircraft, crew)])


def _home_s(way: Way, landing_s: float) -> float:
    """The flight home that ends then, in the wind that the plan counts with at the drop before it."""
    home_s = way.times.home_s(landing_s)
    for _ in range(2):
        home_s = max(home_s, way.times.home_s(landing_s - home_s))
    return home_s


def _cut_offs(setting: Setting, entry: Entry, by_light: By | None, landing: By | None) -> tuple[CutOff, ...]:
    """Last launch, fill, drop and landing, counted back from each other through the flights between.

    Fuel is not in them: it can be renewed.
    """
    if landing is None or by_light is None:
        return ()
    if entry.job is None:
        return (CutOff(what="landing", time=landing.time, because=landing.because),)
    way = entry.job.ways[0]
    home_s = _home_s(way, setting.seconds(landing.time))
    drop = min(
        by_light,
        By(landing.time - timedelta(seconds=home_s), f"flight home before landing ({landing.because})"),
        key=lambda by: by.time,
    )
    parts = way.times.at(setting.seconds(drop.time))
    base_fed = entry.job.base_fed
    to_drop_s = parts.filled_to_drop_s if base_fed else parts.out_s + parts.target_s
    fill = By(drop.time - timedelta(seconds=to_drop_s), "flight to the last drop")
    source = next(c for c in entry.circuits)
    by_shade = way.last_fill_s
    if by_shade < setting.seconds(fill.time):
        fill = By(setting.time(by_shade), f"the light at {source.source}")
    # from a pit it takes off filled; on water it takes off, flies there and fills
    launch = fill.time - timedelta(seconds=0.0 if base_fed else parts.ferry_s + parts.source_s)
    return (
        CutOff(what="launch", time=launch, because="one fill and one drop after it"),
        CutOff(what="fill", time=fill.time, because=fill.because),
        CutOff(what="drop", time=drop.time, because=drop.because),
        CutOff(what="landing", time=landing.time, because=landing.because),
    )


def _stops(setting: Setting, flown: Flown) -> tuple[Stop, ...]:
    return tuple(
        Stop(
            leave=setting.time(stay.leave_s),
            landed=setting.time(stay.landed_s),
            takeoff=setting.time(stay.takeoff_s),
            what=stay.what,
        )
        for stay in flown.stays
    )


def row_of(setting: Setting, entry: Entry, flown: Flown | None, by_light: By | None) -> AircraftDay:
    """The row of one aircraft; `by_light`: the last drop by the light, where known."""
    aircraft = entry.aircraft
    limited_by = entry.idle if flown is None else flown.limited_by
    if limited_by is None:
        message = f"the day of {aircraft.call_sign} ended without a reason"
        raise SolverError(message)
    drops = [] if flown is None else flown.drops
    flights = [] if flown is None else flown.flights_s
    landing = _landing(setting, entry, flights[-1][3] if flights else 0)
    cut_offs = _cut_offs(setting, entry, by_light, landing)
    flight_h = 0.0 if flown is None else flown.flight_s / 3600.0
    litres = sum(drop.litres for drop in drops)
    stops = () if flown is None else _stops(setting, flown)
    _, duty_h = checks.crew_rules_h(aircraft, setting.limits)
    return AircraftDay(
        aircraft=aircraft.call_sign,
        class_id=entry.cls.id,
        limited_by=limited_by,
        loads=len(drops),
        litres=litres,
        flight_h=flight_h,
        first_drop=setting.time(drops[0].time_s) if drops else None,
        last_scoop=setting.time(drops[-1].filled_s) if drops else None,
        last_drop=setting.time(drops[-1].time_s) if drops else None,
        last_drop_by=next((c.time for c in cut_offs if c.what == "drop"), None),
        land_by=None if landing is None else landing.time,
        landed=setting.time(flights[-1][1]) if flights else None,
        leave_for_fuel=tuple(s.leave for s in stops if "fuel" in s.what and (s.leave < s.landed)),
        crew_hours_end=None if aircraft.duty_start is None else aircraft.duty_start + timedelta(hours=duty_h),
        cut_offs=cut_offs,
        stops=stops,
        cost=None
        if aircraft.out_of_service
        else cost_of(aircraft, flight_h=None if limited_by == "supervision" else flight_h, litres=litres),
        primary=entry.best.primary,
        alternate=entry.best.alternate,
        refused=entry.best.refused,
        findings=entry.findings,
    )
