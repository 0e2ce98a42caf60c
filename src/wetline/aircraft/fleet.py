"""Generic classes (what a kind of aircraft can do) and aircraft (one machine and its crew today)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from wetline import units

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

__all__ = ["Aircraft", "AircraftClass", "Quantity"]

_TO_SI = {
    "L": 1.0,
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
        """The value (or a number in the same unit) in m, s, m/s; litres stay litres."""
        return (self.value if number is None else number) * _TO_SI[self.unit]


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftClass:
    """A generic class. Quantities by name; what is unknown is absent, never a guess.

    `fills`: how it loads: `scoop` (lane), `dip` (hover over water), `base` (pumped on the ground),
    `none` (supervision). SI accessors: `si("cruise_kt")` etc. return SI.
    """

    id: str
    name: str
    fills: Literal["scoop", "dip", "base", "none"]
    quantities: Mapping[str, Quantity]

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
class Aircraft:
    """One aircraft and its crew today. Times aware UTC; None where the folder does not say.

    `load_l`: what it carries a load; None means the class's value. `leave_by`: fuel or other.
    `flown_h`: flown by this crew today. `flight_limit_h`, `duty_limit_h`: from the crew's rules.
    """

    call_sign: str
    class_id: str
    base: str
    agent: str = "water"
    load_l: float | None = None
    available_from: datetime | None = None
    airborne: bool = False
    fuel_h: float | None = None
    duty_start: datetime | None = None
    flown_h: float | None = None
    flight_limit_h: float | None = None
    duty_limit_h: float | None = None
    out_of_service: str | None = None
    pair: str | None = None
