"""Generic classes (what a kind of aircraft can do) and aircraft (one machine and its crew today)."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from wetline import units
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

__all__ = ["Aircraft", "AircraftClass", "Fill", "Quantity", "Rates", "Relief"]

Fill = Literal["scoop", "dip", "base", "none"]

_TO_SI = {
    "L": 1.0,
    "L/h": 1.0 / units.HOUR,
    "kg": 1.0,
    "kg/h": 1.0 / units.HOUR,
    "m": 1.0,
    "s": 1.0,
    "ft": units.FOOT,
    "kt": units.KNOT,
    "ft/min": units.FOOT / units.MINUTE,
    "min": units.MINUTE,
    "h": units.HOUR,
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One planning value: `value` in `unit`, the range seen within the class, and its source."""

    value: float
    unit: str
    source: str
    low: float | None = None
    high: float | None = None

    def si(self, number: float | None = None) -> float:
        """The value (or a number in the same unit) in m, s, m/s, kg, kg/s; litres stay litres (L, L/s)."""
        return (self.value if number is None else number) * _TO_SI[self.unit]


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftClass:
    """A generic class. Quantities by name; what is unknown is absent, never a guess.

    `fills`: how it loads: `scoop` (lane), `dip` (hover over water), `base` (pumped on the ground),
    `none` (supervision). SI accessors: `si("cruise_kt")` etc. return SI.
    `way`: with what it dips (`bucket`, `snorkel`), None where there is no choice; `other_ways`: what differs
    if it dips another way (see `filling_by`).
    `like`: for a class of an incident's own, the shipped class whose drop pattern and stand-off it has.
    `systems`: for one of an incident's own, its tank and door systems, the default first; empty: those of its like.
    """

    id: str
    name: str
    fills: Fill
    quantities: Mapping[str, Quantity]
    way: str | None = None
    other_ways: Mapping[str, Mapping[str, Quantity]] = field(default_factory=dict)
    like: str | None = None
    systems: tuple[str, ...] = ()

    @property
    def drops_as(self) -> str:
        """The shipped class by which its drops are computed and people kept away."""
        return self.like or self.id

    @property
    def ways(self) -> tuple[str, ...]:
        """With what it can dip, the way its quantities stand for first; empty where there is no choice."""
        return (*(() if self.way is None else (self.way,)), *self.other_ways)

    def filling_by(self, way: str | None) -> AircraftClass:
        """The class as it is with a bucket or a snorkel; None leaves it as it is.

        Raises
        ------
        InputError
            If it does not fill that way.
        """
        if way is None or way == self.way:
            return self
        if way not in self.other_ways:
            known = ", ".join(self.ways)
            problem = Problem(
                message=f"A {self.name.lower()} does not fill by {way!r}.",
                mend=f"Give one of: {known}." if known else "Leave it out: there is no choice.",
                field="fill",
                value=way,
                limit=known or None,
            )
            raise InputError.of([problem])
        return replace(
            self,
            quantities=MappingProxyType({**self.quantities, **self.other_ways[way]}),
            way=way,
            other_ways=MappingProxyType({}),
        )

    def get(self, name: str) -> Quantity | None:
        """A planning value, or None if it is not known for this class."""
        return self.quantities.get(name)

    def value(self, name: str) -> float:
        """The number alone, in the unit of its name.

        Raises
        ------
        KeyError
            If the class does not know it.
        """
        return self.quantities[name].value

    def si(self, name: str) -> float:
        """The number in SI: `si("cruise_kt")` is m/s; litres stay litres.

        Raises
        ------
        KeyError
            If the class does not know it.
        """
        return self.quantities[name].si()


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """A crew that takes over at the aircraft's base from a time on. Hours as those of `Aircraft`."""

    available_from: datetime
    duty_start: datetime | None = None
    flown_h: float | None = None
    flight_limit_h: float | None = None
    duty_limit_h: float | None = None
    flown_7d_h: float | None = None
    flown_28d_h: float | None = None
    rested_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What an aircraft costs, in `currency` (three letters). A rate that nobody gave is None, never 0."""

    currency: str
    source: str
    per_flight_hour: float | None = None
    per_day: float | None = None
    per_litre_agent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Aircraft:
    """One aircraft and its crew today. Times aware UTC; None where the folder does not say.

    `load_l`: what it carries a load; None means the class's value. `fill`: with what it dips (`bucket`, `snorkel`);
    None means the class's first way. `flown_h`: flown by this crew today;
    `flown_7d_h`, `flown_28d_h`: in the last 7 and 28 days, today's included. `rested_h`: rest before this
    duty. `flight_limit_h`, `duty_limit_h`: from the crew's rules. `relief`: crews that take over, in order.
    """

    call_sign: str
    class_id: str
    base: str
    agent: str = "water"
    load_l: float | None = None
    fill: str | None = None
    available_from: datetime | None = None
    airborne: bool = False
    fuel_h: float | None = None
    duty_start: datetime | None = None
    flown_h: float | None = None
    flight_limit_h: float | None = None
    duty_limit_h: float | None = None
    flown_7d_h: float | None = None
    flown_28d_h: float | None = None
    rested_h: float | None = None
    out_of_service: str | None = None
    pair: str | None = None
    relief: tuple[Relief, ...] = ()
    rates: Rates | None = None
