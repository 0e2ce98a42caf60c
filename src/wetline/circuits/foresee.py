"""What comes next, before anybody flies it: the next drop, a stay on the ground, and what forbids either.

Daylight, crew hours, fuel, rest and wind are all one kind of thing here: a time by which an aircraft must
have landed. Fuel and rest are renewed by a stay on the ground, crew hours by a crew that relieves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from wetline.circuits.flights import Stay
from wetline.circuits.places import Slots
from wetline.circuits.stock import Stock, ready_s

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from wetline.circuits.flights import Job, LimitedBy, Parts, Ready, StayFor, Way, Where

__all__ = [
    "RENEWED",
    "Plan",
    "Shared",
    "foresee",
    "leave_by_s",
    "limiter",
    "stay",
    "to_source_s",
    "work_ends_s",
]

RENEWED: frozenset[LimitedBy] = frozenset({"fuel", "flying_limit"})


class Plan(NamedTuple):
    """A drop as foreseen by one way. `ready`: as at the take-off before it. `wait_s`: in its queue.

    `filled_s`: leaves the source. `begin_s`: begins to load. `refuel`: fuel and rest beside the load.
    """

    way: int
    drop_s: float
    filled_s: float
    begin_s: float
    wait_s: float
    litres: float
    ready: Ready
    refuel: bool = False


@dataclass(frozen=True, slots=True)
class Shared:
    """What the fleet shares: sources with their places and what they have in stock, the target, the light."""

    sources: Mapping[str, Slots]
    stocks: dict[str, Stock]
    target: Slots
    cut_off_s: float
    land_s: float
    spacing_s: float

    @classmethod
    def of(
        cls,
        jobs: Sequence[Job],
        stocks: Mapping[str, Stock],
        *,
        cut_off_s: float,
        land_s: float,
        spacing_s: float,
    ) -> Shared:
        """All free."""
        ways = {way.source: (way, job.base_fed) for job in jobs for way in job.ways}
        return cls(
            sources={
                name: Slots([-math.inf] * (way.pits if fed else 1)) for name, (way, fed) in ways.items()
            },
            stocks=dict(stocks),
            target=Slots([-math.inf]),
            cut_off_s=cut_off_s,
            land_s=land_s,
            spacing_s=spacing_s,
        )


def limiter(job: Job, shared: Shared, plan: Plan) -> LimitedBy | None:
    """What forbids a foreseen drop, or None. What a stay renews is named only where nothing else forbids it."""
    if not math.isfinite(plan.drop_s):
        return "no_agent"
    if plan.litres < 1.0:
        return "no_load"
    way, ready, crew = job.ways[plan.way], plan.ready, job.crews[plan.ready.crew]
    home_s = plan.drop_s + way.times.home_s(plan.drop_s)
    hours_s = min(crew.duty_land_s, ready.since_s + crew.flight_left_s - ready.flown_s)
    margins: tuple[tuple[float, LimitedBy], ...] = (
        (min(shared.cut_off_s - plan.drop_s, way.last_fill_s - plan.filled_s), "cut_off"),
        (min(shared.land_s, job.land_s) - home_s, "land_by"),
        (hours_s - home_s, "crew_hours"),
        (way.times.closed_s - home_s, "wind"),
    )
    margin_s, tightest = min(margins)
    if margin_s < 0.0:
        return tightest
    if ready.since_s + ready.fuel_s - job.reserve_s < home_s:
        return "fuel"
    return "flying_limit" if ready.since_s + job.flying_s - ready.streak_s < home_s else None


def leave_by_s(job: Job, ready: Ready, way: Way, now_s: float) -> float:
    """The latest moment to leave the target for a stay on the ground: fuel, rest, hours if a crew relieves."""
    crew = job.crews[ready.crew]
    ends_s = [ready.since_s + job.flying_s - ready.streak_s]
    if job.full_s is not None:
        ends_s.append(ready.since_s + ready.fuel_s - job.reserve_s)
    if ready.crew + 1 < len(job.crews):
        ends_s += [crew.duty_land_s, ready.since_s + crew.flight_left_s - ready.flown_s]
    return min(ends_s) - way.times.home_s(now_s)


def work_ends_s(job: Job, shared: Shared, ready: Ready, way: Way, now_s: float) -> float:
    """The latest moment over the target that no stay on the ground puts off."""
    ends_s = [shared.land_s, job.land_s, way.times.closed_s]
    if ready.crew + 1 == len(job.crews):
        crew = job.crews[ready.crew]
        ends_s += [crew.duty_land_s, ready.since_s + crew.flight_left_s - ready.flown_s]
    if job.full_s is None:
        ends_s.append(ready.since_s + ready.fuel_s - job.reserve_s)
    return min(shared.cut_off_s, min(ends_s) - way.times.home_s(now_s))


def stay(
    job: Job, ready: Ready, way: int, where: Where, now_s: float, *, crew: int | None = None
) -> tuple[Stay, Ready] | None:
    """A stop at the own base from where the aircraft is, and what it has after it; None if it renews nothing.

    `crew`: who flies on, waited for where it has not reported yet; None: the next one if it has reported.
    """
    parts = job.ways[way].times.at(now_s)
    flies = where in {"air", "water"} or (where == "start" and job.airborne)
    landed_s = now_s
    if flies:
        landed_s += parts.off_s if where == "water" else parts.home_s
    elif where == "pit" and not job.ways[way].at_home:
        ready, landed_s, flies = ready._replace(since_s=now_s), now_s + parts.off_s, True
    after = ready.landed(landed_s) if flies else ready
    what: list[StayFor] = []
    stop_s = 0.0
    if job.full_s is not None and job.fuel_at_home:
        what.append("fuel")
        stop_s, after = job.refuel_s, after._replace(fuel_s=job.full_s)
    if math.isfinite(job.flying_s):
        what.append("rest")
        stop_s = max(stop_s, job.rest_s)
    if crew is None:
        following = job.crews[after.crew + 1 : after.crew + 2]
        crew = after.crew + 1 if any(one.from_s <= landed_s for one in following) else after.crew
    if crew != after.crew:
        what.append("relief")
        wait_s = max(job.crews[crew].from_s - landed_s, 0.0)
        stop_s = max(stop_s, wait_s + job.swap_s)
        after = after._replace(crew=crew, flown_s=0.0, streak_s=0.0)
    if not what:
        return None
    takeoff_s = landed_s + stop_s
    after = after._replace(since_s=takeoff_s, streak_s=0.0)
    return Stay(now_s, landed_s, takeoff_s, takeoff_s + parts.ferry_s, tuple(what)), after


def foresee(
    job: Job, shared: Shared, ready: Ready, at: int, way: int, where: Where, now_s: float, *, refuel: bool
) -> Plan:
    """The next drop by one way from where the aircraft is; `at`: the way worked until now.

    `refuel` (only where it loads on the ground): fuel and rest beside the load.
    """
    see = _foresee_base if job.base_fed else _foresee_water
    return see(job, shared, ready, at, way, where, now_s, refuel)


def to_source_s(job: Job, at: int, way: int, where: Where, now_s: float) -> float:
    """The flight from where the aircraft is to the source of a way; 0 where it is there."""
    chosen = job.ways[way]
    there = job.base_fed and chosen.at_home
    if where == "water" or (where == "pit" and way == at):
        return 0.0
    if where == "pit":
        return job.hops_s[at][way]
    if where == "start":
        return 0.0 if there and not job.airborne else chosen.first_s
    if where == "home":
        return 0.0 if there else chosen.times.at(now_s).ferry_s
    return chosen.times.at(now_s).back_s


def _foresee_water(
    job: Job, shared: Shared, ready: Ready, at: int, way: int, where: Where, now_s: float, _refuel: bool
) -> Plan:
    chosen = job.ways[way]
    parts = chosen.times.at(now_s)
    if where == "home" or (where == "start" and not job.airborne):
        ready = ready._replace(since_s=now_s)
    arrive_s = now_s + to_source_s(job, at, way, where, now_s)
    queue_s = shared.sources[chosen.source].next(arrive_s)
    litres = _litres(chosen, parts, ready, queue_s + parts.source_s)
    begin_s = _stocked_s(shared, chosen.source, litres, queue_s)
    filled_s = begin_s + parts.source_s
    drop_s = filled_s + parts.out_s + parts.target_s
    return Plan(way, drop_s, filled_s, begin_s, begin_s - arrive_s, litres, ready)


def _foresee_base(
    job: Job, shared: Shared, ready: Ready, at: int, way: int, where: Where, now_s: float, refuel: bool
) -> Plan:
    chosen = job.ways[way]
    parts = chosen.times.at(now_s)
    in_air = where == "air" or (where == "start" and job.airborne)
    leg_s = to_source_s(job, at, way, where, now_s)
    landed_s = now_s + leg_s
    if in_air or leg_s > 0.0:
        ready = (ready if in_air else ready._replace(since_s=now_s)).landed(landed_s)
    on_ground_s = parts.ground_s
    if refuel and ready.fuel_s >= job.reserve_s and chosen.fuel:  # else it would not reach the base
        stop_s = max(job.refuel_s if job.full_s is not None else 0.0, job.rest_s)
        on_ground_s = max(on_ground_s, stop_s) if chosen.load_while_fuelling else on_ground_s + stop_s
        ready = ready._replace(fuel_s=ready.fuel_s if job.full_s is None else job.full_s, streak_s=0.0)
    elif on_ground_s >= job.rest_s:
        ready = ready._replace(streak_s=0.0)
    litres = _litres(chosen, parts, ready._replace(since_s=now_s), now_s)
    queue_s = shared.sources[chosen.source].next(landed_s)
    begin_s = _stocked_s(shared, chosen.source, litres, queue_s)
    takeoff_s = begin_s + on_ground_s
    drop_s = takeoff_s + parts.filled_to_drop_s
    return Plan(
        way, drop_s, takeoff_s, begin_s, begin_s - landed_s, litres, ready._replace(since_s=takeoff_s), refuel
    )


def _litres(way: Way, parts: Parts, ready: Ready, time_s: float) -> float:
    """The load with the fuel left then: whole litres, rounded down."""
    fuel_s = max(ready.fuel_s - (time_s - ready.since_s), 0.0)
    return float(math.floor(min(parts.load.litres(fuel_s), way.load_cap_l) + 1e-6))


def _stocked_s(shared: Shared, source: str, litres: float, at_s: float) -> float:
    stock = shared.stocks.get(source)
    return at_s if stock is None else ready_s(stock, litres, at_s)
