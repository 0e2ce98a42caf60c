"""How the fire weather codes begin a season: the start rule, and a drought that outlasts a dry winter."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.weather.fwi import within

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["overwintered_dc", "season_start"]


def overwintered_dc(
    autumn_dc: float,
    winter_rain_mm: float,
    *,
    carried: float = 0.75,
    wetting: float = 0.75,
    least: float = 15.0,
) -> float:
    """The spring's Drought Code after a winter that did not soak the ground.

    `autumn_dc`: of the last day before the winter. `winter_rain_mm`: rain and melted snow. `carried`:
    share of the autumn's moisture deficit that lasts (0.5 to 1); `wetting`: share of the winter's water
    that the ground takes (0.5 to 0.9). `least`: the start-up value, below which the code does not begin.

    Raises
    ------
    OutsideRangeError
        If a value lies outside its scale.

    References
    ----------
    Lawson and Armitage 2008, Weather guide for the Canadian Forest Fire Danger Rating System; Van Wagner
    1987; from memory.
    """
    within("autumn_dc", autumn_dc, 0.0, 2000.0)
    within("winter_rain_mm", winter_rain_mm, 0.0, 10_000.0, "mm")
    within("carried", carried, 0.5, 1.0)
    within("wetting", wetting, 0.5, 0.9)
    autumn = 800.0 * math.exp(-autumn_dc / 400.0)
    spring = carried * autumn + 3.94 * wetting * winter_rain_mm
    return max(least, 400.0 * math.log(800.0 / spring))


def season_start(noon_temperature_c: Sequence[float]) -> int | None:
    """Place of the first day on which the codes begin, None if it has not come.

    The day after three days on end of 12 °C or more at noon: the rule where little snow lies. Where snow
    lies, the third day free of it counts instead; that must be seen on the ground.

    References
    ----------
    Van Wagner and Pickett 1985; Lawson and Armitage 2008; from memory.
    """
    run = 0
    for place, temperature_c in enumerate(noon_temperature_c):
        if run >= 3:
            return place
        run = run + 1 if temperature_c >= 12.0 else 0
    return None
