"""Line for a load: the coverage that fuel and fire ask for, and what each class lays of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, cast

import numpy as np
from scipy.ndimage import distance_transform_edt

from wetline.attack.nouns import RETARDANT_S, LineOption
from wetline.drops import Release, Stack, airs_from, doors_open_m, needed_level, stack_for, wet_minutes
from wetline.errors import NotFlownError
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.attack.nouns import PlannedLoad
    from wetline.behaviour import FireSystem
    from wetline.drops import Agent, Air, DropTests
    from wetline.model import Limits
    from wetline.weather import Hour, Weather

__all__ = ["NO_GUIDE", "LineTable", "coverage_fuel"]


_STEP = 1.05
"""Intensities are rounded up in steps of 5 % where drying is looked up: never a longer hold."""
_SLOT = timedelta(minutes=5)
"""Drying and rain count from the five minutes begun: what the next hour brings comes at most so much later."""
NO_GUIDE = 0
"""Where no drop guide knows the fuel: `needed_level` of None."""


def coverage_fuel(fuel: NDArray[np.int16], system: FireSystem) -> NDArray[np.int16]:
    """The published fuel model whose coverage level holds in each cell, `NO_GUIDE` where nobody says one.

    Of the cell's own fuel, or that of the nearest cell that burns: the edge runs between the two.
    """
    guide = system.drop_guide
    model = np.full(fuel.shape, NO_GUIDE, np.int16)
    for number, known in guide.items():
        model[fuel == number] = NO_GUIDE if known is None else known
    burns = np.isin(fuel, list(guide))
    if not burns.any():
        return model
    rows, cols = distance_transform_edt(~burns, return_distances=False, return_indices=True)
    return np.asarray(model[rows, cols], np.int16)


@dataclass(slots=True)
class LineTable:
    """Looks lines up once for each class, fill, agent, litres, level and hour, and drying by the weather.

    Wind counts as a full crosswind of the load's hour: the shortest line of what flies much faster than the
    wind; what a load makes on its own heading is looked at with its run. `start`: from when a load's seconds
    count. `place`: longitude and latitude [deg], for the sun; where it is not given, the times that line
    holds are the limits'. `drop_tests`: the incident's own, above physics.
    """

    limits: Limits
    weather: Weather | None
    start: datetime
    classes: Mapping[str, AircraftClass]
    place: tuple[float, float] | None = None
    drop_tests: DropTests | None = None
    _airs: dict[datetime, tuple[Air, ...]] = field(default_factory=dict)
    _minutes: dict[tuple[str, float, int | None, datetime | None], float] = field(default_factory=dict)
    _stacks: dict[tuple[str, str | None, str, float, float, datetime | None], Stack | None] = field(
        default_factory=dict
    )

    def hour(self, load: PlannedLoad) -> Hour | None:
        """The weather in which a load falls."""
        time = self.start + timedelta(seconds=load.t_s)
        return self.weather.at(time) if self.weather is not None and self.weather.covers(time) else None

    def airs(self, load: PlannedLoad) -> tuple[Air, ...]:
        """What the line of a load lies in, from its five minutes on; empty where not known."""
        slot = self._slot(load)
        if slot is None or self.weather is None or self.place is None:
            return ()
        if slot not in self._airs:
            self._airs[slot] = airs_from(self.weather, slot, *self.place)
        return self._airs[slot]

    def _slot(self, load: PlannedLoad) -> datetime | None:
        """The beginning of the five minutes of its hour in which a load falls."""
        hour = self.hour(load)
        if hour is None:
            return None
        return hour.time + (self.start + timedelta(seconds=load.t_s) - hour.time) // _SLOT * _SLOT

    def hold_s(self, load: PlannedLoad, level: float, intensity_kw_per_m: float) -> float:
        """How long [s] line at a level holds; `RETARDANT_S` where nothing ends it."""
        step = math.ceil(math.log(intensity_kw_per_m, _STEP)) if intensity_kw_per_m > 0.0 else None
        key = (load.agent, level, step, self._slot(load))
        if key not in self._minutes:
            upper = 0.0 if step is None else _STEP**step
            band, _ = wet_minutes(level * COVERAGE_LEVEL, upper, load.agent, self.limits, air=self.airs(load))
            self._minutes[key] = band.middle
        minutes = self._minutes[key]
        return RETARDANT_S if math.isinf(minutes) else minutes * 60.0

    def stack(self, load: PlannedLoad, level: float) -> Stack | None:
        """The fewest loads of this kind that reach a level, with their line; None too if the wind lets none be flown.

        Along an edge a run goes where the edge lies: a load that cannot be let go into the wind is not counted on.
        """
        hour = self.hour(load)
        key = (load.class_id, load.fill, load.agent, load.litres, level, hour.time if hour else None)
        if key not in self._stacks:
            most = int(self.limits.value("stack_loads_max"))
            try:
                stack = stack_for(self.release(load), level, max_loads=most)
                if stack is not None and hour is not None:
                    doors_open_m(replace(stack.release, heading_deg=hour.wind_from_deg))
                self._stacks[key] = stack
            except NotFlownError:
                self._stacks[key] = None
        return self._stacks[key]

    def release(self, load: PlannedLoad) -> Release:
        """The load as it will be let go."""
        hour, cls = self.hour(load), self.classes[load.class_id].filling_by(load.fill)
        return Release(
            class_id=cls.drops_as,
            cls=cls,
            load_l=load.litres,
            agent=cast("Agent", load.agent),
            wind_mps=None if hour is None else hour.wind_mps,
            wind_from_deg=None if hour is None else hour.wind_from_deg,
            heading_deg=None if hour is None else (hour.wind_from_deg + 90.0) % 360.0,
            temperature_c=None if hour is None else hour.temperature_c,
            humidity_pct=None if hour is None else hour.humidity_pct,
            drop_tests=self.drop_tests,
        )

    def __call__(self, load: PlannedLoad, fuel: int, intensity_kw_per_m: float) -> LineOption | None:
        """The line for a load on a fuel (of `coverage_fuel`) at an intensity; None if no stack of loads reaches the level."""
        level = needed_level(None if fuel == NO_GUIDE else fuel, intensity_kw_per_m)
        stack = self.stack(load, level)
        if stack is None:
            return None
        hold_s = self.hold_s(load, level, intensity_kw_per_m)
        return LineOption(level=level, line_m=stack.line_m.middle, coats=stack.loads, hold_s=hold_s)
