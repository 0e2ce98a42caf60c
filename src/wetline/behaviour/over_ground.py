"""Fire behaviour over the ground of an incident: every cell, every weather hour."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.cells import SHADED_FROM, Cells, cells_of, window
from wetline.behaviour.fields import FireFields
from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.rothermel import reaction, surface_spread_rothermel_1972
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX
from wetline.behaviour.wind import TEN_METRE_OVER_TWENTY_FOOT
from wetline.errors import InputError, OutsideRangeError, Problem, SolverError
from wetline.grid import along
from wetline.units import MILE_PER_HOUR
from wetline.weather import corrections_pct, from_one_hour_pct, live_moisture, reference_moisture_pct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour.rothermel import Reaction, WindLimit
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import Hour, LiveMoisture, TerrainWind, Weather

__all__ = ["Because", "Variation", "explain", "fire_fields"]

_SITES = 36

DRIEST_PCT = 1.0
"""Least 1-h moisture of the reference table; a `Variation` is not taken below it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """One member of an ensemble: how far wind, moisture and spread are off.

    `wind_factor` times the wind, `wind_turn_deg` added to the direction it comes from,
    `moisture_add_pct` added to dead moisture [% points; the sum is held at 1 % or more],
    `spread_factor` times rate and intensity.

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Because:
    """Why the fire does what it does at one place and time.

    `wind_share`, `slope_share`: parts of the head rate that wind and slope push along its own
    direction; the rest is the rate without either, and a share is negative where it holds the fire back.
    None where nothing burns.
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


def _one_hour_pct(hour: Hour, cells: Cells, variation: Variation) -> tuple[NDArray[np.float64], list[str]]:
    """1-h dead moisture [%, float64[36]] by site in an hour, and what was assumed."""
    local = hour.time + timedelta(hours=cells.lon / 15.0)
    correction, said = corrections_pct(local.month, local.hour + local.minute / 60.0, southern=cells.southern)
    notes = list(said)
    if hour.cloud_pct is not None and hour.cloud_pct >= 100.0 * SHADED_FROM:
        by_site = correction.reshape(12, 3)
        correction = np.concatenate([np.repeat(by_site[8:], 2, axis=0), by_site[8:]]).reshape(_SITES)
    if hour.rain_mm > 0.0:
        notes.append("Rain in some hours: the moisture tables do not know rain, real fuel is damper.")
    reference = reference_moisture_pct(hour.temperature_c, hour.humidity_pct)
    return np.maximum(reference + correction + variation.moisture_add_pct, DRIEST_PCT), notes


@dataclass(frozen=True, slots=True)
class _Beds:
    """The beds alight without wind or slope by [slot, model, site], and each model's wind and slope terms."""

    no_wind_mps: NDArray[np.float64]
    heat_kj_per_m2: NDArray[np.float64]
    factor_max: NDArray[np.float64]
    wind_k: NDArray[np.float64]
    wind_b: NDArray[np.float64]
    slope_k: NDArray[np.float64]
    notes: list[str]


def _beds(
    cells: Cells, hours: list[Hour], live: LiveMoisture, variation: Variation, wind_limit: WindLimit | None
) -> _Beds:
    shape = (len(hours), len(cells.models), _SITES)
    no_wind, heat, most = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    notes: list[str] = []
    sites = np.unique(cells.site)
    known: dict[tuple[int, float], Reaction] = {}  # few moistures recur over many hours and sites
    for k, hour in enumerate(hours):
        one_h_pct, said = _one_hour_pct(hour, cells, variation)
        notes += said
        for m, model in enumerate(cells.models):
            for site in sites:
                key = (m, float(one_h_pct[site]))
                if key not in known:
                    known[key] = reaction(model, from_one_hour_pct(key[1]), live)
                bed = known[key]
                no_wind[k, m, site] = bed.no_wind_mps * variation.spread_factor
                heat[k, m, site] = bed.heat_kj_per_m2
                most[k, m, site] = bed.factor_max(wind_limit)
    # wind and slope terms hang on the bed's make-up alone, not on its dead moisture
    one_each = list({m: bed for (m, _), bed in known.items()}.values())
    return _Beds(
        no_wind,
        heat,
        most,
        np.array([bed.wind_k for bed in one_each]),
        np.array([bed.wind_b for bed in one_each]),
        np.array([bed.slope_coefficient for bed in one_each]),
        notes,
    )


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
) -> FireFields:
    """Head fire behaviour in every cell of the ground, or of a window `grid` of it, slot by slot.

    Slots change at the weather's own times. The 10 m wind is the same over all the ground
    unless `wind` bends it; it turns into midflame wind by fuel bed and canopy. Wind and slope add as vectors: the slope pushes up the
    fall line, the wind the way it blows. Dead moisture follows hour, shade, aspect, slope and height
    (`weather.moisture`), live moisture is the day's. Crowning and spotting are not in it.

    Raises
    ------
    InputError
        If the weather does not cover the time or lacks a value, or `grid` is no window of the ground.
    OutsideRangeError
        If weather lies outside the moisture tables, or a canopy value is impossible.
    SolverError
        If a rate or direction came out as no number.
    """
    part, rows, cols = window(ground.grid, grid)
    edges_s, hours = slots_of(weather, start, until)
    cells = cells_of(ground, weather, rows, cols)
    live = live_moisture(weather)
    beds = _beds(cells, hours, live, variation, wind_limit)

    from wetline.behaviour._kernels import head_fire  # noqa: PLC0415  numba loads late

    wind_mps = np.array([h.wind_mps for h in hours]) * variation.wind_factor / TEN_METRE_OVER_TWENTY_FOOT
    toward = np.array([h.wind_from_deg for h in hours]) + variation.wind_turn_deg + 180.0
    east, north = along(toward)
    response = np.empty((0, 0, 2, 2), np.float32) if wind is None else wind.at(rows, cols)
    rate, head, ecc, intensity = np.empty((4, len(hours), *part.shape), np.float32)
    capped = np.zeros(len(hours), np.int64)
    broken = head_fire(
        cells.model, cells.site, cells.slope_tan, cells.aspect_deg, cells.adjustment,
        beds.wind_k, beds.wind_b, beds.slope_k,
        wind_mps, east, north, response,
        beds.no_wind_mps, beds.heat_kj_per_m2, beds.factor_max,
        MILE_PER_HOUR, LENGTH_TO_WIDTH_MAX,
        rate, head, ecc, intensity, capped,
    )  # fmt: skip
    if broken:
        message = f"fire behaviour is no number in {broken} cells"
        raise SolverError(message)
    notes = [*cells.notes, *live.notes, *beds.notes, *(() if wind is None else wind.notes)]
    if np.any(capped):
        notes.append(f"Length to width cut at {LENGTH_TO_WIDTH_MAX:g} in up to {int(capped.max())} cells.")
    return FireFields(
        grid=part,
        start=start,
        edges_s=edges_s,
        head_rate_mps=rate,
        head_toward_deg=head,
        eccentricity=ecc,
        head_intensity_kw_per_m=intensity,
        burnable=cells.model >= 0,
        unknown=cells.unknown if cells.unknown_cells else None,
        unknown_cells=cells.unknown_cells,
        capped_cells=int(capped.max()),
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
    cells = cells_of(ground, weather, slice(row, row + 1), slice(col, col + 1))
    if cells.unknown_cells:
        message = "fuel or height is unknown at the point"
        raise LookupError(message)
    if not cells.models:
        model = fuel_models()[int(ground.fuel[row, col])]
        return Because(fuel_code=model.code, fuel_name=model.name, notes=cells.notes)
    _, hours = slots_of(weather, time, time + timedelta(seconds=1))
    hour, model, live = hours[0], cells.models[0], live_moisture(weather)
    one_h_pct, said = _one_hour_pct(hour, cells, AS_GIVEN)
    dead = from_one_hour_pct(float(one_h_pct[cells.site[0, 0]]))
    blown_mps, blows_toward = hour.wind_mps, hour.wind_from_deg + 180.0
    if wind is not None:
        blown_mps, blows_toward = wind.blown(row, col, blown_mps, blows_toward)
    midflame_mps = blown_mps / TEN_METRE_OVER_TWENTY_FOOT * float(cells.adjustment[0, 0])
    upslope = (float(cells.aspect_deg[0, 0]) + 180.0) % 360.0
    spread = surface_spread_rothermel_1972(
        model,
        dead,
        live,
        midflame_mps=midflame_mps,
        slope_tan=float(cells.slope_tan[0, 0]),
        wind_toward_deg=blows_toward - upslope,
        wind_limit=wind_limit,
    )
    toward = (upslope + spread.toward_deg) % 360.0
    base = spread.no_wind_rate_mps / spread.rate_mps if spread.rate_mps > 0.0 else 0.0
    to_head = math.cos(math.radians(spread.toward_deg))
    across = math.cos(math.radians(blows_toward - toward))
    return Because(
        fuel_code=model.code,
        fuel_name=model.name,
        dead_fine_pct=float(one_h_pct[cells.site[0, 0]]),
        midflame_mps=midflame_mps,
        wind_share=base * spread.wind_factor * across,
        slope_share=base * spread.slope_factor * to_head,
        rate_mps=spread.rate_mps,
        toward_deg=toward,
        intensity_kw_per_m=spread.byram_kw_per_m,
        notes=tuple(dict.fromkeys([*cells.notes, *live.notes, *said])),
    )
