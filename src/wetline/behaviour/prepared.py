"""Ground and weather prepared once for many members of an ensemble: only what varies is computed anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.beds import beds_over
from wetline.behaviour.cells import cells_of, window
from wetline.behaviour.classes import ByClass, GroundPart, ground_part
from wetline.behaviour.crowning import Blowing, HeadFire, trees_of
from wetline.behaviour.dead_fuel import dead_fuel
from wetline.behaviour.fields import slot_at
from wetline.behaviour.over_ground import AS_GIVEN, CROWNING, blowing_of, slots_of
from wetline.behaviour.ranges import check_slope
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX
from wetline.behaviour.stands import stands_of
from wetline.behaviour.system import SurfaceModels
from wetline.errors import SolverError
from wetline.grid import along
from wetline.weather import live_moisture

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from numpy.typing import NDArray

    from wetline.behaviour.cells import Cells
    from wetline.behaviour.crowning import Crowning, Trees
    from wetline.behaviour.dead_fuel import DeadFuel
    from wetline.behaviour.fields import FireFields
    from wetline.behaviour.fuel import FuelModel
    from wetline.behaviour.over_ground import Variation
    from wetline.behaviour.rothermel import WindLimit
    from wetline.behaviour.stands import Stands
    from wetline.behaviour.system import FireSystem
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import DeadChoice, Hour, LiveMoisture, TerrainWind, Weather

_SHAPE_MAX = np.float32(LENGTH_TO_WIDTH_MAX - 1.0)

__all__ = ["Pace", "Prepared", "prepare", "prepare_surface"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Surface fire over one window and time; called with a `Variation` it gives that member's `Pace`.

    `blowing`: the wind of no variation; `dead_fuel`: dead moisture of an hour. The rest as in `Pace`,
    `FireFields` and `Cells`.
    """

    grid: Grid
    edges_s: NDArray[np.float64]
    hours: tuple[Hour, ...]
    models: tuple[FuelModel, ...]
    part: GroundPart
    blowing: Blowing
    dead_fuel: DeadFuel
    live: LiveMoisture
    wind_limit: WindLimit | None
    unknown: NDArray[np.bool_] | None
    trees: Trees | None

    def __call__(self, variation: Variation) -> Pace:
        """The member that varies so."""
        return Pace(self, variation)

    def blown(self, variation: Variation) -> Blowing:
        """One member's wind."""
        toward = np.array([h.wind_from_deg for h in self.hours]) + variation.wind_turn_deg + 180.0
        return Blowing(self.blowing.wind_mps * variation.wind_factor, *along(toward), self.blowing.response)

    def dead_pct(self, variation: Variation) -> NDArray[np.float64]:
        """One member's dead moisture [%, float64[slots, 3, 36]]."""
        return np.array([self.dead_fuel(hour, variation.moisture_add_pct)[0] for hour in self.hours])

    def beds(self, dead_pct: NDArray[np.float64], spread_factor: float) -> ByClass:
        """The beds alight without wind or slope at a member's dead moisture."""
        no_wind_mps, heat, most = beds_over(self.models, dead_pct, self.live, self.wind_limit)
        return ByClass.of(self.part, no_wind_mps * spread_factor, heat, most)


def prepare_surface(
    ground: Ground,
    weather: Weather,
    *,
    start: datetime,
    until: datetime,
    grid: Grid | None = None,
    wind: TerrainWind | None = None,
    wind_limit: WindLimit | None = None,
    dead: DeadChoice = "day_tables",
    crowning: Crowning | None = CROWNING,
) -> Prepared:
    """The members of `fire_fields` with these arguments; raises as that does.

    What is assumed is said by `fire_fields`.
    """
    part_of, rows, cols = window(ground.grid, grid)
    edges_s, hours = slots_of(weather, start, until)
    cells = cells_of(ground, weather, rows, cols)
    check_slope(cells)
    live = live_moisture(weather)
    blowing = blowing_of(hours, AS_GIVEN, wind, rows, cols)
    return Prepared(
        grid=part_of,
        edges_s=edges_s,
        hours=tuple(hours),
        models=cells.models,
        part=ground_part(cells, live, blowing.response),
        blowing=blowing,
        dead_fuel=dead_fuel(dead, cells, weather),
        live=live,
        wind_limit=wind_limit,
        unknown=cells.unknown if cells.unknown_cells else None,
        trees=_trees(crowning, stands_of(ground, rows, cols), cells, live),
    )


def _trees(
    crowning: Crowning | None, stands: Stands | None, cells: Cells, live: LiveMoisture
) -> Trees | None:
    """The trees of a window; None where none can be told to burn as a crown fire."""
    if crowning is None or stands is None:
        return None
    complete = np.isfinite(stands.base_m + stands.bulk_kg_per_m3 + stands.crown_m)
    return trees_of(crowning, stands, cells, live) if np.any(stands.trees & complete) else None


def prepare(
    system: FireSystem,
    ground: Ground,
    weather: Weather,
    *,
    start: datetime,
    until: datetime,
    grid: Grid | None = None,
    wind: TerrainWind | None = None,
) -> Callable[[Variation], FireFields | Pace]:
    """A system's behaviour for many members, for growth alone; raises as `FireSystem.fields` does.

    A system that is not prepared here gives each member's fields: slower, the same behaviour.
    """
    if isinstance(system, SurfaceModels):
        return prepare_surface(
            ground,
            weather,
            start=start,
            until=until,
            grid=grid,
            wind=wind,
            wind_limit=system.wind_limit,
            dead=system.dead_moisture,
            crowning=system.crowning,
        )
    return _ByFields(system, ground, weather, start, until, grid, wind)


@dataclass(frozen=True, slots=True)
class _ByFields:
    """Each member's fields, made anew."""

    system: FireSystem
    ground: Ground
    weather: Weather
    start: datetime
    until: datetime
    grid: Grid | None
    wind: TerrainWind | None

    def __call__(self, variation: Variation) -> FireFields:
        return self.system.fields(
            self.ground,
            self.weather,
            start=self.start,
            until=self.until,
            grid=self.grid,
            variation=variation,
            wind=self.wind,
        )


class Pace:
    """One member of an ensemble as growth reads it: the metric of each slot, made when asked for.

    It stands for `FireFields` where only growth is wanted, at a small part of their cost: the same
    behaviour, without bearings and intensities (but where trees may burn). `edges_s`, `grid`, `unknown`: as in `FireFields`.
    """

    def __init__(self, prepared: Prepared, variation: Variation) -> None:
        self.grid = prepared.grid
        self.edges_s = prepared.edges_s
        self.unknown = prepared.unknown
        self._part = prepared.part
        self._blowing = prepared.blown(variation)
        self._factor = prepared.part.blown(self._blowing.wind_mps)
        dead_pct = prepared.dead_pct(variation)
        self._beds = prepared.beds(dead_pct, variation.spread_factor)
        self._trees = prepared.trees
        if self._trees is not None:
            self._crown_base = self._trees.bases(dead_pct, prepared.live, variation.spread_factor)
        slots = np.arange(len(prepared.hours), dtype=np.int16)[:, None]
        self._last = np.where(self._beds.no_wind_mps > 0.0, slots, np.int16(-1)).max(axis=0)

    def slot(self, t_s: float) -> int:
        """As `FireFields.slot`."""
        return slot_at(self.edges_s, t_s)

    def last_slot(self) -> NDArray[np.int16]:
        """int16[r, c]: the last slot in which each cell can burn; −1 never."""
        last: NDArray[np.int16] = self._last[self._part.rasters[0]]
        return last

    def fill(self, k: int, standing_mps: float, pace: NDArray[np.float32]) -> None:
        """Write (a, w along columns, w along rows) [s per cell] of slot `k` into float32[r, c, 3].

        A step (x, y) in columns and rows takes a · its length − w · (x, y). a is infinite in cells that
        never burn; a rate below `standing_mps` counts as that, in all directions.

        Raises
        ------
        SolverError
            If a rate came out as no number.
        """
        if self._trees is None:
            self._fill_surface(k, standing_mps, pace)
        else:
            self._fill_crowns(k, standing_mps, pace, self._trees)

    def _fill_surface(self, k: int, standing_mps: float, pace: NDArray[np.float32]) -> None:
        from wetline.behaviour._kernels import head_pace  # noqa: PLC0415  numba loads late

        broken = head_pace(
            self._part.rasters, self._part.tables,
            np.float32(self._blowing.east[k]), np.float32(self._blowing.north[k]), self._factor[k],
            self._beds.no_wind_mps[k], self._beds.factor_max[k], (self._last < 0).astype(np.uint8),
            _SHAPE_MAX, np.float32(self.grid.cell_m), np.float32(standing_mps), pace,
        )  # fmt: skip
        _refuse(broken)

    def _fill_crowns(self, k: int, standing_mps: float, pace: NDArray[np.float32], trees: Trees) -> None:
        """By the fields of the one slot: crown fire has an ellipse of its own."""
        from wetline.behaviour._kernels import fields_pace, head_fire  # noqa: PLC0415  numba loads late

        only, whole = slice(k, k + 1), self._blowing
        blowing = Blowing(whole.wind_mps[only], whole.east[only], whole.north[only], whole.response)
        head = HeadFire(*np.empty((4, 1, *self.grid.shape), np.float32))
        broken = head_fire(
            self._part.rasters, self._part.tables,
            blowing.east.astype(np.float32), blowing.north.astype(np.float32), self._factor[only],
            self._beds.no_wind_mps[only], self._beds.factor_max[only], self._beds.heat_kj_per_m2[only],
            _SHAPE_MAX,
            head.rate_mps, head.toward_deg, head.eccentricity, head.intensity_kw_per_m, np.zeros(1, np.int64),
        )  # fmt: skip
        _refuse(broken)
        crown = np.zeros(head.rate_mps.shape, np.uint8)
        trees.lift(blowing, self._crown_base[only], head, crown, np.zeros((1, 4), np.int64))
        broken = fields_pace(
            head.rate_mps[0], head.toward_deg[0], head.eccentricity[0], self.last_slot() >= 0,
            np.float32(self.grid.cell_m), np.float32(standing_mps), pace,
        )  # fmt: skip
        _refuse(broken)


def _refuse(broken: int) -> None:
    if broken:
        message = f"fire behaviour is no number in {broken} cells"
        raise SolverError(message)
