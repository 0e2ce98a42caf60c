"""What a day costs, where the user gave rates; a rate that nobody gave is never counted as nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wetline.aircraft import Aircraft

__all__ = ["Cost", "cost_of", "costs_together"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """An amount in one currency; `missing`: what is not in it, in words. With any, it is a least amount."""

    amount: float
    currency: str
    missing: tuple[str, ...] = ()


def cost_of(aircraft: Aircraft, *, flight_h: float | None, litres: float) -> Cost | None:
    """The cost of one aircraft from now on; None where no rate is given.

    Its day counts whether it flies or not; litres count for agents other than water. `flight_h` None: it
    flies hours that nobody planned, which are missing in the amount.
    """
    rates = aircraft.rates
    if rates is None:
        return None
    parts = [("a day", rates.per_day, 1.0)]
    if flight_h is not None and flight_h > 0.0:
        parts.append(("a flight hour", rates.per_flight_hour, flight_h))
    if litres > 0.0 and aircraft.agent != "water":
        parts.append((f"a litre of {aircraft.agent}", rates.per_litre_agent, litres))
    known = [rate * count for _, rate, count in parts if rate is not None]
    if not known:
        return None
    missing = [name for name, rate, _ in parts if rate is None]
    missing += ["flight hours, which are not planned"] if flight_h is None else []
    return Cost(
        amount=sum(known),
        currency=rates.currency,
        missing=tuple(f"{aircraft.call_sign}: {name}" for name in missing),
    )


def costs_together(costs: Iterable[tuple[str, Cost | None]]) -> tuple[Cost, ...]:
    """Sums by currency, never one of several currencies; who has no rates is missing in each."""
    rows = list(costs)
    without = tuple(f"{name}: all" for name, cost in rows if cost is None)
    out = []
    for currency in sorted({cost.currency for _, cost in rows if cost is not None}):
        some = [cost for _, cost in rows if cost is not None and cost.currency == currency]
        missing = tuple(word for cost in some for word in cost.missing)
        out.append(
            Cost(amount=sum(cost.amount for cost in some), currency=currency, missing=(*missing, *without))
        )
    return tuple(out)
