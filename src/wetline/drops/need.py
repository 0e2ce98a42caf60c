"""The coverage that a fuel and a fire ask for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from wetline import tables
from wetline.drops.planning import setting
from wetline.errors import InputError, Problem

__all__ = ["Need", "need", "needed_level"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Coverage asked for, US gal/100 ft². `base_level`: of the fuel alone. `raised`: for intensity.

    `fuel_model`: the row of the 13 that was read, itself or the nearest of the 40, None where no guide
    knows the fuel. `status`: how that row is known, published, memory or unknown.
    """

    level: float
    base_level: float
    raised: bool
    fuel_model: int | None
    description: str
    status: str
    notes: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def _by_13() -> dict[int, dict[str, Any]]:
    return {int(row["fuel_model"]): row for row in tables.load("drop/need_13").rows()}


@lru_cache(maxsize=1)
def _nearest() -> dict[int, tuple[str, int]]:
    rows = tables.load("drop/need_40").rows()
    return {int(row["fuel_model"]): (row["code"], int(row["nearest_of_13"])) for row in rows}


@lru_cache(maxsize=1)
def _levels() -> tuple[float, ...]:
    return tuple(float(level) for level in tables.load("drop/levels")["level"])


def _one_up(level: float) -> float:
    return next((step for step in _levels() if step > level), level)


def _unknown_fuel() -> Need:
    heaviest = _levels()[-1]
    return Need(
        level=heaviest,
        base_level=heaviest,
        raised=False,
        fuel_model=None,
        description="a fuel that no drop guide names",
        status="unknown",
        notes=(f"No drop guide names a level for this fuel: the heaviest, {heaviest:g}, is taken.",),
    )


def need(fuel_number: int | None, intensity_kw_per_m: float | None) -> Need:
    """The coverage level for a fuel model (1 to 13, or one of the 40) and a fireline intensity [kW/m].

    The drop guides' level for the fuel, and one level more above 1,730 kW/m (common practice). An
    intensity that is not known counts as above it. A fuel that no drop guide knows (None) is given the
    heaviest level there is.

    Raises
    ------
    InputError
        For a fuel number that is unknown or does not burn.

    References
    ----------
    US Forest Service, MTDC 0057-2802, Table 1.
    """
    if fuel_number is None:
        return _unknown_fuel()
    notes: tuple[str, ...] = ()
    number = int(fuel_number)
    if number in _nearest():
        code, number = _nearest()[number]
        notes += (f"{code} is read as fuel model {number}, the nearest of the 13 (common practice).",)
    row = _by_13().get(number)
    if row is None:
        message = f"no coverage level is known for fuel model {fuel_number}."
        mend = "Give a burnable model, 1 to 13 or one of the 40."
        raise InputError.of([Problem(message=message, mend=mend, field="fuel", value=str(fuel_number))])
    step = setting("need_step_kw_per_m").value
    unknown = intensity_kw_per_m is None or math.isnan(intensity_kw_per_m)
    raised = unknown or (intensity_kw_per_m or 0.0) > step
    if unknown:
        notes += ("The intensity is not known: one level more, as for a hot edge.",)
    elif raised:
        notes += (f"One level more above {step:,.0f} kW/m (common practice, no source).",)
    if row["status"] != "published":
        notes += (f"The level for fuel model {number} is from memory.",)
    base = float(row["level"])
    return Need(
        level=_one_up(base) if raised else base,
        base_level=base,
        raised=raised,
        fuel_model=number,
        description=row["description"],
        status=row["status"],
        notes=notes,
    )


def needed_level(fuel_number: int | None, intensity_kw_per_m: float | None) -> float:
    """The level of `need` alone, US gal/100 ft²."""
    return need(fuel_number, intensity_kw_per_m).level
