"""Dead fuel moisture as the fire model reads it: by size class and site, hour by hour."""

from __future__ import annotations

from datetime import timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

import numpy as np

from wetline.behaviour.cells import SHADED_FROM
from wetline.weather import (
    DeadMoisture,
    classes_from_one_hour_pct,
    corrections_pct,
    equilibrium_moisture,
    reference_moisture_pct,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from wetline.behaviour.cells import Cells
    from wetline.weather import DeadChoice, Hour, Weather

__all__ = ["DRIEST_PCT", "SITES", "DeadFuel", "dead_classes", "dead_fuel"]

SITES = 36

DRIEST_PCT = 1.0
"""Least 1-h moisture of the reference table; a varied moisture is not taken below it."""


class DeadFuel(Protocol):
    """Moisture of dead fuel in an hour: 1-h, 10-h, 100-h by site [%, float64[3, 36]], and what was assumed.

    `add_pct`: an error of moisture, added to every class [% points].
    """

    def __call__(self, hour: Hour, add_pct: float, /) -> tuple[NDArray[np.float64], tuple[str, ...]]:
        """The classes by site."""


def dead_fuel(choice: DeadChoice, cells: Cells, weather: Weather) -> DeadFuel:
    """The moisture that a choice gives on the sites of some cells; raises as its source does."""
    return _CHOICES[choice](cells, weather)


def dead_classes(pct: NDArray[np.float64]) -> DeadMoisture:
    """Moisture [%, float64[3]] as fractions."""
    return DeadMoisture(
        one_h=float(pct[0]) / 100.0, ten_h=float(pct[1]) / 100.0, hundred_h=float(pct[2]) / 100.0
    )


def _day_tables(cells: Cells, _: Weather) -> DeadFuel:
    """The reference tables: 1-h moisture of the hour, the thicker classes by rule of thumb."""

    def at(hour: Hour, add_pct: float, /) -> tuple[NDArray[np.float64], tuple[str, ...]]:
        local = hour.time + timedelta(hours=cells.lon / 15.0)
        sun_hour = local.hour + local.minute / 60.0
        correction, notes = corrections_pct(local.month, sun_hour, southern=cells.southern)
        if hour.cloud_pct is not None and hour.cloud_pct >= 100.0 * SHADED_FROM:
            by_site = correction.reshape(12, 3)
            correction = np.concatenate([np.repeat(by_site[8:], 2, axis=0), by_site[8:]]).reshape(SITES)
        if hour.rain_mm > 0.0:
            rain = "Rain in some hours: the moisture tables do not know rain, real fuel is damper."
            notes = (*notes, rain)
        reference = reference_moisture_pct(hour.temperature_c, hour.humidity_pct)
        return classes_from_one_hour_pct(np.maximum(reference + correction + add_pct, DRIEST_PCT)), notes

    return at


def _equilibrium(cells: Cells, weather: Weather) -> DeadFuel:
    """The lagged equilibrium through the whole weather table."""
    moisture = equilibrium_moisture(weather, cells.lon, cells.lat)

    def at(hour: Hour, add_pct: float, /) -> tuple[NDArray[np.float64], tuple[str, ...]]:
        return np.maximum(moisture.at(hour) + add_pct, DRIEST_PCT), moisture.notes

    return at


_CHOICES: Mapping[DeadChoice, Callable[[Cells, Weather], DeadFuel]] = MappingProxyType(
    {"day_tables": _day_tables, "equilibrium": _equilibrium}
)
