"""What a day comes to: loads and litres by hour of day, gaps between drops, what rests on water not looked at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from wetline.circuits.costs import costs_together

if TYPE_CHECKING:
    from wetline.circuits.costs import Cost
    from wetline.circuits.day import Day

__all__ = ["HourOfDay", "Totals", "totals_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HourOfDay:
    """What falls from `start` (UTC, a whole hour) to the next hour."""

    start: datetime
    loads: int
    litres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """The fleet's day in sum. `look_*`: of it, from sources that still wait for a look.

    `litres_per_hour`: from the first drop to the last, None with fewer than two. `gap_median_min` and
    `gap_longest_min` between two drops of anybody, the longest from `gap_from` on. `first_drop_min`: from now.
    """

    loads: int
    litres: float
    look_loads: int
    look_litres: float
    hours: tuple[HourOfDay, ...]
    litres_per_hour: float | None
    first_drop_min: float | None
    gap_median_min: float | None
    gap_longest_min: float | None
    gap_from: datetime | None
    costs: tuple[Cost, ...]


def _hours(day: Day) -> tuple[HourOfDay, ...]:
    """Every hour from the first drop to the last, those without a load too."""
    if not day.loads:
        return ()
    by_hour: dict[int, list[float]] = {}
    for load in day.loads:
        by_hour.setdefault(int(load.time.timestamp() // 3600), []).append(load.litres)
    return tuple(
        HourOfDay(
            start=datetime.fromtimestamp(3600 * hour, UTC),
            loads=len(by_hour.get(hour, [])),
            litres=sum(by_hour.get(hour, [])),
        )
        for hour in range(min(by_hour), max(by_hour) + 1)
    )


def totals_of(day: Day) -> Totals:
    """The sums of a day; those of the rows and those of the loads are the same litres."""
    gaps = [((b.time - a.time).total_seconds() / 60.0, a.time) for a, b in pairwise(day.loads)]
    longest = max(gaps, key=lambda gap: gap[0], default=None)
    litres = sum(load.litres for load in day.loads)
    look = [load for load in day.loads if load.look]
    span_h = (day.loads[-1].time - day.loads[0].time).total_seconds() / 3600.0 if gaps else 0.0
    working = [row for row in day.rows if row.limited_by != "out_of_service"]
    return Totals(
        loads=len(day.loads),
        litres=litres,
        look_loads=len(look),
        look_litres=sum(load.litres for load in look),
        hours=_hours(day),
        litres_per_hour=litres / span_h if span_h > 0.0 else None,
        first_drop_min=(day.loads[0].time - day.now).total_seconds() / 60.0 if day.loads else None,
        gap_median_min=median(gap for gap, _ in gaps) if gaps else None,
        gap_longest_min=None if longest is None else longest[0],
        gap_from=None if longest is None else longest[1],
        costs=costs_together((row.aircraft, row.cost) for row in working),
    )
