"""The event loop of a day: who fills, drops, refuels and goes home, and when.

Times are float seconds after the start of the plan. Daylight, crew hours, fuel and wind are all one
kind of thing here: a time by which an aircraft must have landed; fuel alone can be renewed.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["Flown", "Job", "LimitedBy", "Parts", "Slots", "Times", "fly"]

LimitedBy = Literal[
    "cut_off",
    "land_by",
    "crew_hours",
    "fuel",
    "wind",
    "no_source",
    "no_base",
    "no_daylight",
    "out_of_service",
    "supervision",
]


Where = Literal["start", "air", "water", "pit"]
"""Where an aircraft decides on its next load: at its first place, over the target, over the water
(where a queue may have grown meanwhile), on the ground at the base where it loads."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What one cycle and the flights round it last [s] in one hour's wind.

    `ground_s`, `source_s`, `out_s`, `target_s`, `back_s`: the cycle. `ferry_s`: base to source.
    `home_s`: target to base, landed; `off_s`: source to base, landed.
    """

    ground_s: float
    source_s: float
    out_s: float
    target_s: float
    back_s: float
    ferry_s: float
    home_s: float
    off_s: float

    @property
    def filled_to_drop_s(self) -> float:
        """From the arrival at the source (or the take-off from its pit) to the drop."""
        return self.source_s + self.out_s + self.target_s


@dataclass(frozen=True, slots=True)
class Times:
    """Parts by hour: `parts[k]` from `start_s[k]` on; all must have landed by `closed_s` (wind)."""

    start_s: Sequence[float]
    parts: Sequence[Parts]
    closed_s: float = math.inf

    def at(self, time_s: float) -> Parts:
        """The parts of the hour that holds at a time."""
        return self.parts[max(bisect_right(self.start_s, time_s) - 1, 0)]

    def home_s(self, time_s: float) -> float:
        """The flight home from the target, the longer one of this hour and the next."""
        return max(self.at(time_s).home_s, self.at(time_s + 3600.0).home_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One aircraft's part in the day.

    `ready_s`: when it may take off, or is in the air; `first_s`: the flight from there to the
    source. `fuel_s` on board and `full_s` after refuelling as flight time; `full_s` None: not known,
    so it never goes back for more. `flight_left_s`: flight time left to the crew; `duty_land_s`:
    landed by. `base_fed`: it loads on the ground; `at_source`: its own base is where it loads.
    """

    source: str
    pits: int
    base_fed: bool
    at_source: bool
    ready_s: float
    airborne: bool
    first_s: float
    fuel_s: float
    full_s: float | None
    reserve_s: float
    refuel_s: float
    flight_left_s: float
    duty_land_s: float
    times: Times


@dataclass(slots=True)
class Flown:
    """What one aircraft did: times [s] of its drops, of leaving the source, of leaving for fuel."""

    drops_s: list[float] = field(default_factory=list)
    fills_s: list[float] = field(default_factory=list)
    leave_for_fuel_s: list[float] = field(default_factory=list)
    flight_s: float = 0.0
    landed_s: float | None = None
    limited_by: LimitedBy | None = None


@dataclass(slots=True)
class Slots:
    """Places that serve one aircraft at a time, each free again from a known time on."""

    free_s: list[float]

    def next(self, ready_s: float) -> float:
        """The first moment at or after `ready_s` at which a place is free."""
        return max(ready_s, min(self.free_s))

    def book(self, ready_s: float, hold_s: float) -> float:
        """Take that moment and hold the place for `hold_s`."""
        start = self.next(ready_s)
        self.free_s[self.free_s.index(min(self.free_s))] = start + hold_s
        return start


class _Plan(NamedTuple):
    """A drop as foreseen, with the take-off before it, and fuel and hours flown at that take-off."""

    drop_s: float
    takeoff_s: float
    fuel_s: float
    flight_s: float


class _Aircraft:
    """Work state of one aircraft during the loop."""

    def __init__(self, order: int, job: Job) -> None:
        self.order = order
        self.job = job
        self.flown = Flown()
        self.fuel_s = job.fuel_s
        self.takeoff_s = job.ready_s

    def land(self, time_s: float) -> None:
        """Take the flight since take-off off the fuel, and add it to the crew's hours."""
        self.fuel_s -= time_s - self.takeoff_s
        self.flown.flight_s += time_s - self.takeoff_s
        self.flown.landed_s = time_s


class _Loop:
    """The heap, the shared places and the limits of the light."""

    def __init__(self, jobs: Sequence[Job], *, cut_off_s: float, land_s: float, spacing_s: float) -> None:
        self.cut_off_s, self.land_s, self.spacing_s = cut_off_s, land_s, spacing_s
        self.fleet = [_Aircraft(order, job) for order, job in enumerate(jobs)]
        self.target = Slots([-math.inf])
        self.sources = {job.source: Slots([-math.inf] * (job.pits if job.base_fed else 1)) for job in jobs}
        self.heap: list[tuple[float, int, int]] = []
        self.steps: list[Callable[[float], None]] = []

    def push(self, time_s: float, aircraft: _Aircraft, step: Callable[[_Aircraft, float], None]) -> None:
        self.steps.append(lambda now_s: step(aircraft, now_s))
        heapq.heappush(self.heap, (time_s, aircraft.order, len(self.steps) - 1))

    def run(self) -> None:
        for aircraft in self.fleet:
            self.push(aircraft.job.ready_s, aircraft, lambda a, now_s: self.decide(a, "start", now_s))
        while self.heap:
            time_s, _, number = heapq.heappop(self.heap)
            self.steps[number](time_s)

    def limiter(self, job: Job, plan: _Plan) -> LimitedBy | None:
        """What forbids a foreseen drop, or None. Fuel is named only where nothing else forbids it."""
        home_s = plan.drop_s + job.times.home_s(plan.drop_s)
        crew_s = min(job.duty_land_s, plan.takeoff_s + job.flight_left_s - plan.flight_s)
        margins: Mapping[LimitedBy, float] = {
            "cut_off": self.cut_off_s - plan.drop_s,
            "land_by": self.land_s - home_s,
            "crew_hours": crew_s - home_s,
            "wind": job.times.closed_s - home_s,
        }
        tightest = min(margins, key=margins.__getitem__)
        if margins[tightest] < 0.0:
            return tightest
        return "fuel" if plan.takeoff_s + plan.fuel_s - job.reserve_s < home_s else None

    def foresee_water(self, aircraft: _Aircraft, where: Where, now_s: float, *, refuel: bool) -> _Plan:
        """The next drop of an aircraft that fills on water, straight on or by way of its base."""
        job, parts, flight_s = aircraft.job, aircraft.job.times.at(now_s), aircraft.flown.flight_s
        in_air = where != "start" or job.airborne
        water = self.sources[job.source]
        if not refuel:
            start_s = water.next(now_s + self.leg_to_water_s(job, where, parts))
            takeoff_s = aircraft.takeoff_s if in_air else now_s
            return _Plan(start_s + parts.filled_to_drop_s, takeoff_s, aircraft.fuel_s, flight_s)
        landed_s = now_s
        if in_air:
            landed_s += parts.off_s if where == "water" else parts.home_s
            flight_s += landed_s - aircraft.takeoff_s
        takeoff_s = landed_s + job.refuel_s
        start_s = water.next(takeoff_s + parts.ferry_s)
        return _Plan(start_s + parts.filled_to_drop_s, takeoff_s, job.full_s or 0.0, flight_s)

    @staticmethod
    def leg_to_water_s(job: Job, where: Where, parts: Parts) -> float:
        """The flight to the lane or dip site; 0 over it."""
        if where == "water":
            return 0.0
        return parts.back_s if where == "air" else job.first_s

    def foresee_base(self, aircraft: _Aircraft, where: Where, now_s: float, *, refuel: bool) -> _Plan:
        """The next drop of an aircraft that loads on the ground, with fuel beside the load or not."""
        job, parts = aircraft.job, aircraft.job.times.at(now_s)
        fuel_s, flight_s = aircraft.fuel_s, aircraft.flown.flight_s
        landed_s = now_s + self.leg_to_pit_s(job, where, parts)
        if where == "air" or landed_s > now_s:
            spent_s = landed_s - (aircraft.takeoff_s if where == "air" else now_s)
            fuel_s, flight_s = fuel_s - spent_s, flight_s + spent_s
        takeoff_s = self.sources[job.source].next(landed_s) + parts.ground_s
        if refuel and fuel_s >= job.reserve_s:  # else it would not reach the base
            takeoff_s, fuel_s = takeoff_s + job.refuel_s, job.full_s or 0.0
        return _Plan(takeoff_s + parts.filled_to_drop_s, takeoff_s, fuel_s, flight_s)

    @staticmethod
    def leg_to_pit_s(job: Job, where: Where, parts: Parts) -> float:
        """The flight to the base where it loads; 0 where it stands there."""
        if where == "air":
            return parts.back_s
        return job.first_s if where == "start" and not (job.at_source and not job.airborne) else 0.0

    def decide(self, aircraft: _Aircraft, where: Where, now_s: float) -> None:
        """One more load straight on, one after taking fuel, or the end of the day and its reason."""
        job = aircraft.job
        foresee = self.foresee_base if job.base_fed else self.foresee_water
        plan = foresee(aircraft, where, now_s, refuel=False)
        limited = self.limiter(job, plan)
        if limited is None:
            self.go(aircraft, where, now_s, plan, refuel=False)
            return
        if limited == "fuel" and job.full_s is not None:
            plan = foresee(aircraft, where, now_s, refuel=True)
            if self.limiter(job, plan) is None:
                self.go(aircraft, where, now_s, plan, refuel=True)
                return
        self.end(aircraft, where, now_s, limited)

    def go(self, aircraft: _Aircraft, where: Where, now_s: float, plan: _Plan, *, refuel: bool) -> None:
        """Set out for the next load as foreseen."""
        if aircraft.job.base_fed:
            self.go_base(aircraft, where, now_s, plan, refuel=refuel)
            return
        job, parts = aircraft.job, aircraft.job.times.at(now_s)
        if refuel:
            if where != "start" or job.airborne:
                aircraft.flown.leave_for_fuel_s.append(now_s)
                aircraft.land(plan.takeoff_s - job.refuel_s)
            aircraft.fuel_s = plan.fuel_s
            arrive_s = plan.takeoff_s + parts.ferry_s
        else:
            arrive_s = now_s + self.leg_to_water_s(job, where, parts)
        aircraft.takeoff_s = plan.takeoff_s
        if where == "water" and not refuel:
            self.fill(aircraft, now_s)
        else:
            self.push(arrive_s, aircraft, lambda a, t: self.decide(a, "water", t))

    def go_base(self, aircraft: _Aircraft, where: Where, now_s: float, plan: _Plan, *, refuel: bool) -> None:
        """Fly to the base and decide there again, or take a pit, load and take off."""
        job, parts = aircraft.job, aircraft.job.times.at(now_s)
        leg_s = self.leg_to_pit_s(job, where, parts)
        if leg_s > 0.0:
            if where == "start":
                aircraft.takeoff_s = now_s
            aircraft.land(now_s + leg_s)
            self.push(now_s + leg_s, aircraft, lambda a, t: self.decide(a, "pit", t))
            return
        self.sources[job.source].book(now_s, plan.takeoff_s - self.sources[job.source].next(now_s))
        if refuel:
            aircraft.flown.leave_for_fuel_s.extend(aircraft.flown.drops_s[-1:])
            aircraft.fuel_s = plan.fuel_s
        aircraft.takeoff_s = plan.takeoff_s
        aircraft.flown.fills_s.append(plan.takeoff_s)
        self.push(plan.takeoff_s + parts.source_s + parts.out_s, aircraft, self.at_target)

    def fill(self, aircraft: _Aircraft, now_s: float) -> None:
        """Fill in turn and leave for the target."""
        parts = aircraft.job.times.at(now_s)
        leave_s = self.sources[aircraft.job.source].book(now_s, self.spacing_s) + parts.source_s
        aircraft.flown.fills_s.append(leave_s)
        self.push(leave_s + parts.out_s, aircraft, self.at_target)

    def at_target(self, aircraft: _Aircraft, now_s: float) -> None:
        """Drop in turn, unless waiting has made it too late for what must follow."""
        ready_s = now_s + aircraft.job.times.at(now_s).target_s
        drop_s = self.target.next(ready_s)
        plan = _Plan(drop_s, aircraft.takeoff_s, aircraft.fuel_s, aircraft.flown.flight_s)
        limited = self.limiter(aircraft.job, plan)
        if limited is None:
            self.target.book(ready_s, self.spacing_s)
            aircraft.flown.drops_s.append(drop_s)
            self.decide(aircraft, "air", drop_s)
            return
        aircraft.flown.fills_s.pop()
        if limited == "fuel":
            self.decide(aircraft, "air", now_s)
        else:
            self.end(aircraft, "air", now_s, limited)

    @staticmethod
    def end(aircraft: _Aircraft, where: Where, now_s: float, limited_by: LimitedBy) -> None:
        """No more loads: home from where it flies; on the ground it stays where it stands."""
        job = aircraft.job
        aircraft.flown.limited_by = limited_by
        if where == "air" or (where == "start" and job.airborne):
            aircraft.land(now_s + job.times.at(now_s).home_s)
        elif where == "water":
            aircraft.land(now_s + job.times.at(now_s).off_s)


def fly(jobs: Sequence[Job], *, cut_off_s: float, land_s: float, spacing_s: float) -> list[Flown]:
    """The day of every job, in their order.

    Parameters
    ----------
    jobs
        The aircraft, each with its source; equal sources share it.
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
    loop = _Loop(jobs, cut_off_s=cut_off_s, land_s=land_s, spacing_s=spacing_s)
    loop.run()
    return [aircraft.flown for aircraft in loop.fleet]
