"""The event loop of a day: who fills, drops, stops on the ground and goes home, and when.

One aircraft at a time decides, in order of time, then of the fleet. It takes the way with the most litres
for the time that its cycle and its queue cost; where none may be flown it stops for what a stop renews, and
where that does not help its day ends. Those of one group do not leave the line together if the fuel of one
lets the other go early.
"""

from __future__ import annotations

import heapq
import math
from typing import TYPE_CHECKING

from wetline.circuits.flights import Drop, Flown, Ready, Stay
from wetline.circuits.foresee import (
    RENEWED,
    Plan,
    Shared,
    foresee,
    leave_by_s,
    limiter,
    stay,
    to_source_s,
    work_ends_s,
)
from wetline.circuits.stock import drawn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from wetline.circuits.flights import Job, LimitedBy, StayFor, Where
    from wetline.circuits.stock import Stock

__all__ = ["fly"]

_NO_OTHER_WAY = RENEWED | {"crew_hours", "land_by"}
"""What forbids a load wherever it is taken: then no other source is tried."""


class _Aircraft:
    """Work state of one aircraft: what it has, the way it works, since when it is on the line."""

    def __init__(self, order: int, job: Job) -> None:
        self.order = order
        self.job = job
        self.flown = Flown()
        self.begins: Where = "start"
        self.ready = Ready(0.0 if job.airborne else job.ready_s, job.fuel_s)
        self.way = 0
        self.on_line_s = job.ready_s + job.ways[0].first_s
        if job.landed_s is not None:
            self.begins = "home"
            self.land(job.landed_s, Ready(0.0, job.fuel_s))
            self.on_line_s = job.ready_s + job.ways[0].times.at(job.ready_s).ferry_s

    def land(self, time_s: float, since: Ready | None = None) -> None:
        """Note the flight since the last take-off."""
        ready = self.ready if since is None else since
        self.flown.flights_s.append((ready.since_s, time_s, ready.fuel_s, ready.crew))
        self.ready = ready.landed(time_s)


class _Loop:
    """The heap and the fleet."""

    def __init__(self, jobs: Sequence[Job], shared: Shared) -> None:
        self.shared = shared
        self.fleet = [_Aircraft(order, job) for order, job in enumerate(jobs)]
        self.mates = [
            [mate for mate in self.fleet if mate is not one and one.job.group in {mate.job.group} - {None}]
            for one in self.fleet
        ]
        self.heap: list[tuple[float, int, int]] = []
        self.steps: list[Callable[[float], None]] = []

    def push(self, time_s: float, aircraft: _Aircraft, step: Callable[[float], None]) -> None:
        self.steps.append(step)
        heapq.heappush(self.heap, (time_s, aircraft.order, len(self.steps) - 1))

    def run(self) -> None:
        for aircraft in self.fleet:
            self.decide_at(aircraft.job.ready_s, aircraft, aircraft.begins)
        while self.heap:
            time_s, _, number = heapq.heappop(self.heap)
            self.steps[number](time_s)

    def decide_at(self, time_s: float, aircraft: _Aircraft, where: Where) -> None:
        self.push(time_s, aircraft, lambda now_s: self.decide(aircraft, where, now_s))

    def choose(
        self, aircraft: _Aircraft, ready: Ready, where: Where, now_s: float
    ) -> tuple[Plan | None, LimitedBy | None]:
        """The best way that may be flown, or what forbids the first one that has something to load."""
        job, best, best_rate = aircraft.job, None, -math.inf
        why: LimitedBy | None = None
        for way in (aircraft.way,) if where == "water" else range(len(job.ways)):
            plan = foresee(job, self.shared, ready, aircraft.way, way, where, now_s, refuel=False)
            limited = limiter(job, self.shared, plan)
            if limited in RENEWED and job.base_fed:
                plan = foresee(job, self.shared, ready, aircraft.way, way, where, now_s, refuel=True)
                limited = limiter(job, self.shared, plan) and limited
            why = limited if why in {None, "no_agent", "no_load"} else why
            if limited in _NO_OTHER_WAY:
                break
            rate = plan.litres / (plan.wait_s + job.ways[way].times.at(now_s).cycle_s)
            if limited is None and rate > best_rate:
                best, best_rate = plan, rate
        return best, why if best is None else None

    def decide(self, aircraft: _Aircraft, where: Where, now_s: float) -> None:
        """One more load straight on, one after a stop on the ground, or the end of the day and its reason."""
        plan, limited = self.choose(aircraft, aircraft.ready, where, now_s)
        if plan is not None and not self.leaves_early(aircraft, where, now_s, plan):
            self.go(aircraft, where, now_s, plan)
            return
        for crew in self.who_could_fly_on(aircraft, limited):
            stop = stay(aircraft.job, aircraft.ready, aircraft.way, where, now_s, crew=crew)
            if stop is not None and self.choose(aircraft, stop[1], "home", stop[0].takeoff_s)[0] is not None:
                self.stop(aircraft, where, *stop)
                return
        if plan is not None:
            self.go(aircraft, where, now_s, plan)
        else:
            self.end(aircraft, where, now_s, limited)

    @staticmethod
    def who_could_fly_on(aircraft: _Aircraft, limited: LimitedBy | None) -> Iterable[int | None]:
        """Crews to look at for the time after a stop; None is the next one if it has reported, else the same."""
        on_board = aircraft.ready.crew
        if limited == "crew_hours":
            return range(on_board + 1, len(aircraft.job.crews))
        return (None, on_board) if limited is None or limited in RENEWED else ()

    def leaves_early(self, aircraft: _Aircraft, where: Where, now_s: float, plan: Plan) -> bool:
        """Whether it must leave now so that the line is not left alone later.

        So it is where nobody of its group could cover for it at its own last moment, somebody can now,
        and nobody could any more after one more load.
        """
        job, way = aircraft.job, aircraft.job.ways[aircraft.way]
        mates = self.mates[aircraft.order]
        if where != "air" or not mates:
            return False
        last_s = leave_by_s(job, aircraft.ready, way, now_s)
        if last_s >= work_ends_s(job, self.shared, aircraft.ready, way, now_s):
            return False
        stop = stay(job, aircraft.ready, aircraft.way, where, now_s)
        if stop is None:
            return False
        away_s = stop[0].back_s - now_s
        next_s = plan.drop_s
        covered = [
            any(self.covers(mate, start_s, end_s, now_s) for mate in mates)
            for start_s, end_s in (
                (last_s - (next_s - now_s), last_s + away_s),
                (now_s, now_s + away_s),
                (next_s, next_s + away_s),
            )
        ]
        return covered == [False, True, False]

    def covers(self, mate: _Aircraft, start_s: float, end_s: float, now_s: float) -> bool:
        """Whether one aircraft is on the line all through a time, as far as its fuel and hours say."""
        if mate.flown.limited_by is not None or mate.on_line_s > start_s:
            return False
        way = mate.job.ways[mate.way]
        # it leaves after a drop, and so up to a cycle before its last moment
        leaves_s = leave_by_s(mate.job, mate.ready, way, now_s) - way.times.at(now_s).cycle_s
        ends_s = work_ends_s(mate.job, self.shared, mate.ready, way, now_s)
        return min(leaves_s, ends_s) >= min(end_s, self.shared.cut_off_s)

    def stop(self, aircraft: _Aircraft, where: Where, stop: Stay, ready: Ready) -> None:
        """Go home for fuel, rest or a new crew, and decide there again."""
        if where in {"air", "water"} or (where == "start" and aircraft.job.airborne):
            aircraft.land(stop.landed_s)
        elif stop.landed_s > stop.leave_s:
            aircraft.land(stop.landed_s, aircraft.ready._replace(since_s=stop.leave_s))
        aircraft.flown.stays.append(stop)
        aircraft.ready, aircraft.on_line_s = ready, stop.back_s
        self.decide_at(stop.takeoff_s, aircraft, "home")

    def go(self, aircraft: _Aircraft, where: Where, now_s: float, plan: Plan) -> None:
        """Set out for the next load as foreseen."""
        job = aircraft.job
        leg_s = to_source_s(job, aircraft.way, plan.way, where, now_s)
        on_ground = where in {"home", "pit"} or (where == "start" and not job.airborne)
        if on_ground:
            aircraft.ready = aircraft.ready._replace(since_s=now_s)
        aircraft.way = plan.way
        if job.base_fed and (leg_s > 0.0 or not on_ground):
            aircraft.land(now_s + leg_s)
            self.decide_at(now_s + leg_s, aircraft, "pit")
        elif job.base_fed:
            self.load(aircraft, now_s, plan)
        elif where == "water":
            self.fill(aircraft, plan)
        else:
            self.decide_at(now_s + leg_s, aircraft, "water")

    def load(self, aircraft: _Aircraft, now_s: float, plan: Plan) -> None:
        """Take a pit, load, and take off for the target."""
        way = aircraft.job.ways[plan.way]
        parts = way.times.at(now_s)
        self.shared.sources[way.source].book(plan.begin_s, plan.filled_s - plan.begin_s)
        self.take(way.source, plan)
        if plan.refuel:
            drops = aircraft.flown.drops
            left_s = drops[-1].time_s if drops else now_s
            what: tuple[StayFor, ...] = ("fuel",) if math.isinf(aircraft.job.flying_s) else ("fuel", "rest")
            aircraft.flown.stays.append(Stay(left_s, now_s, plan.filled_s, plan.filled_s, what))
        aircraft.ready = plan.ready
        self.push(
            plan.filled_s + parts.source_s + parts.out_s,
            aircraft,
            lambda now_s: self.at_target(aircraft, now_s, plan),
        )

    def fill(self, aircraft: _Aircraft, plan: Plan) -> None:
        """Fill in turn and leave for the target."""
        way = aircraft.job.ways[plan.way]
        self.shared.sources[way.source].book(plan.begin_s, self.shared.spacing_s)
        self.take(way.source, plan)
        out_s = way.times.at(plan.begin_s).out_s
        self.push(plan.filled_s + out_s, aircraft, lambda now_s: self.at_target(aircraft, now_s, plan))

    def take(self, source: str, plan: Plan) -> None:
        stock = self.shared.stocks.get(source)
        if stock is not None:
            self.shared.stocks[source] = drawn(stock, plan.litres, plan.begin_s)

    def at_target(self, aircraft: _Aircraft, now_s: float, plan: Plan) -> None:
        """Drop in turn, unless waiting has made it too late for what must follow: then the load is lost."""
        way = aircraft.job.ways[plan.way]
        ready_s = now_s + way.times.at(now_s).target_s
        drop_s = self.shared.target.next(ready_s)
        limited = limiter(aircraft.job, self.shared, plan._replace(drop_s=drop_s, ready=aircraft.ready))
        if limited is None:
            self.shared.target.book(ready_s, self.shared.spacing_s)
            aircraft.flown.drops.append(Drop(drop_s, plan.filled_s, plan.way, plan.litres))
            self.decide(aircraft, "air", drop_s)
        elif limited in RENEWED:
            self.decide(aircraft, "air", now_s)
        else:
            self.end(aircraft, "air", now_s, limited)

    @staticmethod
    def end(aircraft: _Aircraft, where: Where, now_s: float, limited_by: LimitedBy | None) -> None:
        """No more loads: home from where it flies; on the ground it stays where it stands."""
        parts = aircraft.job.ways[aircraft.way].times.at(now_s)
        aircraft.flown.limited_by = limited_by
        if where == "air" or (where == "start" and aircraft.job.airborne):
            aircraft.land(now_s + parts.home_s)
        elif where == "water":
            aircraft.land(now_s + parts.off_s)


def fly(
    jobs: Sequence[Job],
    stocks: Mapping[str, Stock] | None = None,
    *,
    cut_off_s: float,
    land_s: float,
    spacing_s: float,
) -> list[Flown]:
    """The day of every job, in their order.

    Parameters
    ----------
    jobs
        The aircraft, each with its sources; equal sources share it.
    stocks
        What sources have, for those that may run out.
    cut_off_s, land_s
        Last drop and last landing by daylight [s]; finite.
    spacing_s
        Least time between two drops on the target, and between two arrivals at one water source [s].

    Raises
    ------
    ValueError
        If the cut-off is not finite: the day would have no end.
    """
    if not (math.isfinite(cut_off_s) and math.isfinite(land_s)):
        message = f"a day needs an end, not {cut_off_s}, {land_s}"
        raise ValueError(message)
    shared = Shared.of(jobs, stocks or {}, cut_off_s=cut_off_s, land_s=land_s, spacing_s=spacing_s)
    loop = _Loop(jobs, shared)
    loop.run()
    return [aircraft.flown for aircraft in loop.fleet]
