"""Fire behaviour over the ground of an incident: every cell, every weather hour."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.beds import beds_over
from wetline.behaviour.cells import Cells, cells_of, window
from wetline.behaviour.classes import ByClass, ground_part
from wetline.behaviour.crowning import (
    Blowing,
    Crowning,
    HeadFire,
    crown_at,
    raise_into_crowns,
)
from wetline.behaviour.dead_fuel import dead_classes, dead_fuel
from wetline.behaviour.fields import FireFields
from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.ranges import check_slope, range_notes
from wetline.behaviour.rothermel import surface_spread_rothermel_1972
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX
from wetline.behaviour.shares import wind_and_slope_share
from wetline.behaviour.stands import stands_of
from wetline.behaviour.wind import TEN_METRE_OVER_TWENTY_FOOT
from wetline.errors import InputError, OutsideRangeError, Problem, SolverError
from wetline.grid import along
from wetline.weather import live_moisture

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour.crown import CrownKind
    from wetline.behaviour.dead_fuel import DeadFuel
    from wetline.behaviour.rothermel import WindLimit
    from wetline.behaviour.stands import Stands
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import DeadChoice, Hour, LiveMoisture, TerrainWind, Weather

__all__ = ["Because", "Variation", "explain", "fire_fields"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """One member of an ensemble: how far wind, moisture and spread are off.

    `wind_factor` times the wind, `wind_turn_deg` added to the direction it comes from,
    `moisture_add_pct` added to dead moisture [% points; the sum is held at `DRIEST_PCT` or more],
    `spread_factor` times the rate of surface and crown fire; how much of the crowns burns, and the intensity,
    follow from it.

    Raises
    ------
    OutsideRangeError
        If a factor is negative or above 10.
    """

    wind_factor: float = 1.0
    wind_turn_deg: float = 0.0
    moisture_add_pct: float = 0.0
    spread_factor: float = 1.0

    def __post_init__(self) -> None:
        for field, value in (("wind_factor", self.wind_factor), ("spread_factor", self.spread_factor)):
            if not 0.0 <= value <= 10.0:
                raise OutsideRangeError(field=field, value=value, low=0.0, high=10.0, unit="")


AS_GIVEN = Variation()
CROWNING = Crowning()


@dataclass(frozen=True, slots=True, kw_only=True)
class Because:
    """Why the fire does what it does at one place and time.

    `wind_share`, `slope_share`: parts of the head rate that wind and slope push along its own
    direction; the rest is the rate without either, and a share is negative where it holds the fire back.
    None where nothing burns. `crown`: surface fire, passive or active crown fire; None where that is
    unknown or not asked for. Shares are those of the fire whose direction it takes.
    """

    fuel_code: str
    fuel_name: str
    dead_fine_pct: float | None = None
    midflame_mps: float | None = None
    wind_share: float | None = None
    slope_share: float | None = None
    rate_mps: float = 0.0
    toward_deg: float | None = None
    intensity_kw_per_m: float = 0.0
    crown: CrownKind | None = None
    notes: tuple[str, ...] = ()


def slots_of(weather: Weather, start: datetime, until: datetime) -> tuple[NDArray[np.float64], list[Hour]]:
    """Edges [s after start] at the weather's own times, and the hour that holds in each slot."""
    if not (weather.first <= start < until <= weather.last):
        problem = Problem(
            message=f"Asked for {start:%Y-%m-%dT%H:%MZ} to {until:%Y-%m-%dT%H:%MZ}.",
            mend="Give weather for the whole time, or ask for less.",
            field="weather",
            limit=f"{weather.first:%Y-%m-%dT%H:%MZ} to {weather.last:%Y-%m-%dT%H:%MZ}",
        )
        raise InputError.of([problem])
    begin, end = start.timestamp(), until.timestamp()
    inner = weather.time_s[(weather.time_s > begin) & (weather.time_s < end)]
    edges_s = np.concatenate([[0.0], inner - begin, [end - begin]])
    hours = [weather.at(start)] + [weather.at(datetime.fromtimestamp(float(t), UTC)) for t in inner]
    for hour in hours:
        missing = [
            name
            for name in ("temperature_c", "humidity_pct", "wind_mps", "wind_from_deg")
            if math.isnan(getattr(hour, name))
        ]
        if missing:
            message = f"The weather of {hour.time:%Y-%m-%dT%H:%MZ} has no {', '.join(missing)}."
            raise InputError.of([Problem(message=message, mend="Give it.", field=missing[0])])
        if not 0.0 <= hour.wind_mps <= 100.0:
            raise OutsideRangeError(field="wind_mps", value=hour.wind_mps, low=0.0, high=100.0, unit="m/s")
    return edges_s, hours


@dataclass(frozen=True, slots=True)
class _Beds:
    """The beds alight without wind or slope, float64[slot, model, site]; what was assumed.

    `dead_pct` [%, float64[slot, 3, site]]: the dead moisture in them.
    """

    dead_pct: NDArray[np.float64]
    no_wind_mps: NDArray[np.float64]
    heat_kj_per_m2: NDArray[np.float64]
    factor_max: NDArray[np.float64]
    notes: list[str]


def _beds(
    cells: Cells,
    hours: list[Hour],
    live: LiveMoisture,
    variation: Variation,
    wind_limit: WindLimit | None,
    dead_fuel_at: DeadFuel,
) -> _Beds:
    told = [dead_fuel_at(hour, variation.moisture_add_pct) for hour in hours]
    dead_pct = np.array([pct for pct, _ in told])
    no_wind_mps, heat, most = beds_over(cells.models, dead_pct, live, wind_limit)
    notes = [note for _, said in told for note in said]
    return _Beds(dead_pct, no_wind_mps * variation.spread_factor, heat, most, notes)


def blowing_of(
    hours: list[Hour], variation: Variation, wind: TerrainWind | None, rows: slice, cols: slice
) -> Blowing:
    """The 20-ft wind of each slot, varied, and how terrain bends it in a window."""
    toward = np.array([h.wind_from_deg for h in hours]) + variation.wind_turn_deg + 180.0
    wind_mps = np.array([h.wind_mps for h in hours]) * variation.wind_factor / TEN_METRE_OVER_TWENTY_FOOT
    response = np.empty((0, 0, 2, 2), np.float32) if wind is None else wind.at(rows, cols)
    return Blowing(wind_mps, *along(toward), response)


def _surface_fire(cells: Cells, beds: _Beds, live: LiveMoisture, blowing: Blowing, head: HeadFire) -> int:
    """Fill `head` with the surface fire; the most cells of any slot whose length to width was cut."""
    from wetline.behaviour._kernels import head_fire  # noqa: PLC0415  numba loads late

    part = ground_part(cells, live, blowing.response)
    by_class = ByClass.of(part, beds.no_wind_mps, beds.heat_kj_per_m2, beds.factor_max)
    capped = np.zeros(blowing.wind_mps.size, np.int64)
    broken = head_fire(
        part.rasters, part.tables,
        blowing.east.astype(np.float32), blowing.north.astype(np.float32), part.blown(blowing.wind_mps),
        by_class.no_wind_mps, by_class.factor_max, by_class.heat_kj_per_m2,
        np.float32(LENGTH_TO_WIDTH_MAX - 1.0),
        head.rate_mps, head.toward_deg, head.eccentricity, head.intensity_kw_per_m, capped,
    )  # fmt: skip
    if broken:
        message = f"fire behaviour is no number in {broken} cells"
        raise SolverError(message)
    return int(capped.max())


def fire_fields(
    ground: Ground,
    weather: Weather,
    *,
    start: datetime,
    until: datetime,
    grid: Grid | None = None,
    variation: Variation = AS_GIVEN,
    wind: TerrainWind | None = None,
    wind_limit: WindLimit | None = None,
    dead: DeadChoice = "day_tables",
    crowning: Crowning | None = CROWNING,
) -> FireFields:
    """Head fire behaviour in every cell of the ground, or of a window `grid` of it, slot by slot.

    Slots change at the weather's own times. The 10 m wind is the same over all the ground
    unless `wind` bends it; it turns into midflame wind by fuel bed and canopy. Wind and slope add as vectors: the slope pushes up the
    fall line, the wind the way it blows. Dead moisture is that of `dead`, live moisture the day's. Trees whose base and
    density are known catch fire as `crowning` tells, None for surface fire alone. Spotting is not in it.

    Raises
    ------
    InputError
        If the weather does not cover the time or lacks a value, or `grid` is no window of the ground.
    OutsideRangeError
        If weather lies outside the moisture model, a slope outside 0 to 1000 %, or a canopy value is impossible.
    SolverError
        If a rate or direction came out as no number.
    """
    part, rows, cols = window(ground.grid, grid)
    edges_s, hours = slots_of(weather, start, until)
    cells = cells_of(ground, weather, rows, cols)
    check_slope(cells)
    live = live_moisture(weather)
    beds = _beds(cells, hours, live, variation, wind_limit, dead_fuel(dead, cells, weather))
    blowing = blowing_of(hours, variation, wind, rows, cols)
    head = HeadFire(*np.empty((4, len(hours), *part.shape), np.float32))
    capped = _surface_fire(cells, beds, live, blowing, head)
    notes = [*cells.notes, *live.notes, *beds.notes, *(() if wind is None else wind.notes)]
    if capped:
        notes.append(f"Length to width cut at {LENGTH_TO_WIDTH_MAX:g} in up to {capped} cells.")
    notes += range_notes(cells, beds.no_wind_mps, beds.factor_max, head.rate_mps)
    stands, factor = stands_of(ground, rows, cols), variation.spread_factor
    crown, said = raise_into_crowns(crowning, stands, cells, blowing, beds.dead_pct, live, factor, head)
    notes += said
    return FireFields(
        grid=part,
        start=start,
        edges_s=edges_s,
        head_rate_mps=head.rate_mps,
        head_toward_deg=head.toward_deg,
        eccentricity=head.eccentricity,
        head_intensity_kw_per_m=head.intensity_kw_per_m,
        burnable=cells.model >= 0,
        unknown=cells.unknown if cells.unknown_cells else None,
        unknown_cells=cells.unknown_cells,
        capped_cells=capped,
        crown=crown,
        notes=tuple(dict.fromkeys(notes)),
    )


def explain(
    ground: Ground,
    weather: Weather,
    time: datetime,
    x: float,
    y: float,
    *,
    wind: TerrainWind | None = None,
    wind_limit: WindLimit | None = None,
    dead: DeadChoice = "day_tables",
    crowning: Crowning | None = CROWNING,
) -> Because:
    """Why the head runs as it does in the cell that holds (x, y) [m] at a time; same model as `fire_fields`.

    Raises
    ------
    LookupError
        If the point lies off the ground, or its fuel or height is unknown.
    InputError, OutsideRangeError
        As `fire_fields`.
    """
    if not ground.grid.holds(x, y):
        message = "the point lies off the ground's grid"
        raise LookupError(message)
    row, col = (int(i) for i in ground.grid.index(x, y))
    rows, cols = slice(row, row + 1), slice(col, col + 1)
    cells = cells_of(ground, weather, rows, cols)
    if cells.unknown_cells:
        message = "fuel or height is unknown at the point"
        raise LookupError(message)
    if not cells.models:
        model = fuel_models()[int(ground.fuel[row, col])]
        return Because(fuel_code=model.code, fuel_name=model.name, notes=cells.notes)
    check_slope(cells)
    _, hours = slots_of(weather, time, time + timedelta(seconds=1))
    pct, said = dead_fuel(dead, cells, weather)(hours[0], 0.0)
    toward = hours[0].wind_from_deg + 180.0
    blown = (hours[0].wind_mps, toward) if wind is None else wind.blown(row, col, hours[0].wind_mps, toward)
    stands, live = stands_of(ground, rows, cols), live_moisture(weather)
    because = _because(cells, stands, pct[:, cells.site[0, 0]], live, blown, wind_limit, crowning)
    notes = (*cells.notes, *live.notes, *said, *because.notes)
    return replace(because, notes=tuple(dict.fromkeys(notes)))


def _because(
    cells: Cells,
    stands: Stands | None,
    dead_pct: NDArray[np.float64],
    live: LiveMoisture,
    blown: tuple[float, float],
    wind_limit: WindLimit | None,
    crowning: Crowning | None,
) -> Because:
    """The fire in the one cell of `cells`, in a 10 m wind of a speed [m/s] and the bearing it blows to."""
    wind_mps, blows_toward = blown[0] / TEN_METRE_OVER_TWENTY_FOOT, blown[1]
    upslope = (float(cells.aspect_deg[0, 0]) + 180.0) % 360.0
    dead = dead_classes(dead_pct)
    surface = surface_spread_rothermel_1972(
        cells.models[0],
        dead,
        live,
        midflame_mps=wind_mps * float(cells.adjustment[0, 0]),
        slope_tan=float(cells.slope_tan[0, 0]),
        wind_toward_deg=blows_toward - upslope,
        wind_limit=wind_limit,
    )
    fire = crown_at(
        crowning, stands, cells, surface, dead, live,
        wind_20ft_mps=wind_mps, wind_toward_deg=blows_toward - upslope,
    )  # fmt: skip
    if fire.spread is None:
        shares, toward = wind_and_slope_share(surface, blows_toward - upslope), surface.toward_deg
    else:
        shares, toward = (fire.spread.wind_share, fire.spread.slope_share), fire.spread.toward_deg
    return Because(
        fuel_code=cells.models[0].code,
        fuel_name=cells.models[0].name,
        dead_fine_pct=float(dead_pct[0]),
        midflame_mps=wind_mps * float(cells.adjustment[0, 0]),
        wind_share=shares[0],
        slope_share=shares[1],
        rate_mps=fire.rate_mps,
        toward_deg=(upslope + toward) % 360.0,
        intensity_kw_per_m=fire.intensity_kw_per_m,
        crown=fire.kind,
        notes=fire.notes,
    )
