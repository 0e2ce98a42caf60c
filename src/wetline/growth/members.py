"""Members of an ensemble: how far wind, moisture and spread may be off, drawn so that they come again.

Member 0 is the middle future: nothing varied. Member k of a seed is the same whatever their count, and
the same whatever is asked of it, so that size-up and plan look at the same futures.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from wetline.behaviour import Variation
from wetline.errors import OutsideRangeError

__all__ = ["DEFAULT_ERRORS", "Errors", "member"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """How far what drives the fire may be off: one standard deviation of each.

    `wind_speed` and `spread` of the logarithm of a factor, `wind_turn_deg` of the wind's direction,
    `moisture_pct` of dead moisture [% points]. Each holds over all of a member's ground and hours: an
    error that comes and goes within the day is not drawn. Independent and normal. The defaults are
    common practice, no source; none is calibrated, so a share of futures is no measured chance.

    Raises
    ------
    OutsideRangeError
        If one is negative, or beyond 0.4 (factors: none then comes near the greatest that a `Variation`
        takes), 90° or 20 % points.
    """

    wind_speed: float = 0.20
    wind_turn_deg: float = 12.0
    moisture_pct: float = 1.0
    spread: float = 0.20

    def __post_init__(self) -> None:
        most = {"wind_speed": 0.4, "wind_turn_deg": 90.0, "moisture_pct": 20.0, "spread": 0.4}
        units = {"wind_turn_deg": "deg", "moisture_pct": "%"}
        for entry in fields(self):
            name, value = entry.name, getattr(self, entry.name)
            if not 0.0 <= value <= most[name]:
                raise OutsideRangeError(
                    field=name, value=value, low=0.0, high=most[name], unit=units.get(name, "")
                )


DEFAULT_ERRORS = Errors()


def member(number: int, seed: int, errors: Errors = DEFAULT_ERRORS) -> Variation:
    """Member `number` of a seed; 0 is the middle future.

    A change of one error leaves the other draws as they are (common random numbers).

    Raises
    ------
    OutsideRangeError
        If a number is negative.
    """
    for field, value in (("number", number), ("seed", seed)):
        if value < 0:
            raise OutsideRangeError(field=field, value=value, low=0, high=np.inf, unit="")
    if number == 0:
        return Variation()
    draw = np.random.default_rng([seed, number]).normal(size=4)
    return Variation(
        wind_factor=float(np.exp(errors.wind_speed * draw[0])),
        wind_turn_deg=float(errors.wind_turn_deg * draw[1]),
        moisture_add_pct=float(errors.moisture_pct * draw[2]),
        spread_factor=float(np.exp(errors.spread * draw[3])),
    )
