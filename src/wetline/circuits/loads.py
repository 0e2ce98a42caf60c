"""Litres a load over a fuel cycle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.aircraft import load_rule
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import Aircraft, AircraftClass, LoadRule

__all__ = ["capped", "load_rule_of", "mean_load_l"]

_FUELS = 65
"""Points of a fuel cycle over which a load is averaged."""


def load_rule_of(aircraft: Aircraft, cls: AircraftClass, density_altitude_m: float | None) -> LoadRule:
    """What an aircraft may take by fuel on board, in the air of a density altitude [m].

    Raises
    ------
    InputError
        If neither it nor its class says how much.
    """
    rule = load_rule(cls, aircraft, density_altitude_m)
    if rule is None:
        problem = Problem(
            message=f"{aircraft.call_sign} has no load and {cls.name} has no tank_volume_l.",
            mend=f"Give load_l for {aircraft.call_sign} or tank_volume_l for the class {cls.id}.",
            field="load_l",
        )
        raise InputError.of([problem])
    return rule


def capped(litres: float | NDArray[np.float64], cap_l: float | None) -> NDArray[np.float64]:
    """Litres [L] where the place itself gives no more than `cap_l` a load; None is no cap."""
    return np.minimum(litres, np.inf if cap_l is None else cap_l)


def mean_load_l(rule: LoadRule, reserve_s: float, cap_l: float | None) -> tuple[float, float]:
    """Mean litres a load from full fuel to the reserve [s], and litres at the reserve."""
    fuels = np.linspace(min(reserve_s, rule.full_fuel_s), rule.full_fuel_s, _FUELS)
    litres = capped(np.array([rule.litres(float(fuel)) for fuel in fuels]), cap_l)
    return float(np.trapezoid(litres)) / (_FUELS - 1), float(litres[0])
