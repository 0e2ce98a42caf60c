"""The Canadian fire weather codes and fire behaviour prediction fuel types, as one `FireSystem`."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.cells import middle_lonlat, relief_of, window
from wetline.behaviour.dead_fuel import DRIEST_PCT
from wetline.behaviour.fbp import (
    STEEPEST_TAN,
    foliar_moisture_by_date_pct,
    head_fire_fbp,
    length_to_breadth,
    slope_wind_mps,
)
from wetline.behaviour.fields import FireFields
from wetline.behaviour.over_ground import AS_GIVEN, Because, slots_of
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX
from wetline.errors import SolverError
from wetline.grid import along
from wetline.units import KM_PER_HOUR, MINUTE
from wetline.weather import DatedCodes, codes_through, fwi

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from wetline.behaviour.fbp import FbpFire
    from wetline.behaviour.fuel_types import FbpFuel
    from wetline.behaviour.over_ground import Variation
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import Codes, Hour, TerrainWind, Weather

__all__ = ["CanadianSystem"]

_SLOPE_STEP_TAN = 0.005
_SLOPES = np.arange(0.0, STEEPEST_TAN + _SLOPE_STEP_TAN / 2, _SLOPE_STEP_TAN)
_WIND_STEP_MPS = 0.2 * KM_PER_HOUR
_WINDS: NDArray[np.float64] = np.arange(751.0) * _WIND_STEP_MPS
"""To 150 km/h, where the wind function stands within 5e-5 of its last value: more wind adds nothing."""

_STILL_M_PER_MIN = 0.05
"""A head that is slower is shown as 0.0 m/min."""
_NO_SPREAD = "but a fire may smoulder, creep or flare up."
_SOURCES = (
    "Fire Behavior Prediction System (ST-X-3 1992, GLC-X-10 2009): its coefficients are from memory.",
    "Crowns and the wind under them are those of the fuel type: canopy layers are not used.",
    "A fire front runs at its full rate at once. Its back is that of an ellipse lit at its focus, not the system's own.",
)


@dataclass(frozen=True, slots=True)
class _Dryness:
    """What the hour's codes make of the fuel, but for wind and slope. `foliar_moisture_pct`: None where nothing asks."""

    ffmc: float
    still_isi: float
    bui: float
    foliar_moisture_pct: float | None

    def head(self, fuel: FbpFuel, wind_mps: NDArray[np.float64], spread_factor: float = 1.0) -> FbpFire:
        """The head in a wind that has the slope in it."""
        return head_fire_fbp(
            fuel,
            self.still_isi * fwi.wind_function_fbp(wind_mps),
            ffmc=self.ffmc,
            bui=self.bui,
            foliar_moisture_pct=self.foliar_moisture_pct,
            spread_factor=spread_factor,
        )


@dataclass(frozen=True, slots=True)
class _Stands:
    """Rasters [r, c] of a window: `entry` index into `fuels` (−1: nothing burns), slope, aspect, unknown."""

    entry: NDArray[np.int16]
    fuels: tuple[FbpFuel, ...]
    slope_tan: NDArray[np.float32]
    aspect_deg: NDArray[np.float32]
    unknown: NDArray[np.bool_]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CanadianSystem:
    """Fire behaviour by fuel type, moisture codes, wind and slope.

    `stands`: what each number of `fuels.tif` means, None where nothing burns. `told`: the codes and their
    day. `foliar_moisture_pct`: foliar moisture [%], None to take it from the day and the place (in Canada alone).
    `coverage_models`: by number, the published surface fuel model whose drop-guide coverage the incident
    takes for it.
    """

    stands: Mapping[int, FbpFuel | None]
    told: DatedCodes
    foliar_moisture_pct: float | None = None
    coverage_models: Mapping[int, int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """`canadian`."""
        return "canadian"

    @property
    def fuels(self) -> Mapping[int, str]:
        """The numbers that the incident declares."""
        return {n: "nothing burns" if f is None else f"{f.code} {f.name}" for n, f in self.stands.items()}

    @property
    def drop_guide(self) -> Mapping[int, int | None]:
        """What the incident says; the drop guides know none of these fuel types."""
        return {n: self.coverage_models.get(n) for n, fuel in self.stands.items() if fuel is not None}

    def fields(
        self,
        ground: Ground,
        weather: Weather,
        *,
        start: datetime,
        until: datetime,
        grid: Grid | None = None,
        variation: Variation = AS_GIVEN,
        wind: TerrainWind | None = None,
    ) -> FireFields:
        """Head fire in every cell of the ground or a window of it, slot by slot.

        The slope counts as a wind up the fall line, and the two add as vectors. `variation.moisture_add_pct` is
        added to the litter's moisture behind the FFMC. Slopes over 70 % count as 70 %.

        Raises
        ------
        InputError
            If the weather does not cover the time or lacks a value, or the codes cannot be carried to it.
        OutsideRangeError
            If weather is impossible, or the foliar moisture of a place outside Canada is not given.
        SolverError
            If a rate or direction came out as no number.
        """
        part, rows, cols = window(ground.grid, grid)
        edges_s, hours = slots_of(weather, start, until)
        stands = self._stands(ground, rows, cols)
        dry, said = self._dryness(stands.fuels, ground, weather, hours, variation)
        tables = _tables(stands.fuels, dry, variation.spread_factor)
        ratio = np.array([length_to_breadth(fuel, _WINDS) for fuel in stands.fuels]).reshape(-1, _WINDS.size)

        from wetline.behaviour._fbp_kernels import head_fire_by_table  # noqa: PLC0415  numba loads late

        wind_mps = np.array([h.wind_mps for h in hours]) * variation.wind_factor
        east, north = along(np.array([h.wind_from_deg for h in hours]) + variation.wind_turn_deg + 180.0)
        response = np.empty((0, 0, 2, 2), np.float32) if wind is None else wind.at(rows, cols)
        rate, head, ecc, intensity = np.empty((4, len(hours), *part.shape), np.float32)
        capped = np.zeros(len(hours), np.int64)
        broken = head_fire_by_table(
            stands.entry, stands.slope_tan, stands.aspect_deg, wind_mps * east, wind_mps * north, response,
            _SLOPE_STEP_TAN, tables[0], _WIND_STEP_MPS, tables[1], tables[2], ratio, LENGTH_TO_WIDTH_MAX,
            rate, head, ecc, intensity, capped,
        )  # fmt: skip
        if broken:
            message = f"fire behaviour is no number in {broken} cells"
            raise SolverError(message)
        notes = [*stands.notes, *said, *(() if wind is None else wind.notes)]
        if np.any(capped):
            notes.append(
                f"Length to width cut at {LENGTH_TO_WIDTH_MAX:g} in up to {int(capped.max())} cells."
            )
        notes += _still_notes(stands.entry >= 0, rate)
        unknown_cells = int(stands.unknown.sum())
        return FireFields(
            grid=part,
            start=start,
            edges_s=edges_s,
            head_rate_mps=rate,
            head_toward_deg=head,
            eccentricity=ecc,
            head_intensity_kw_per_m=intensity,
            burnable=stands.entry >= 0,
            unknown=stands.unknown if unknown_cells else None,
            unknown_cells=unknown_cells,
            capped_cells=int(capped.max()),
            notes=tuple(dict.fromkeys(notes)),
        )

    def explain(
        self,
        ground: Ground,
        weather: Weather,
        time: datetime,
        x: float,
        y: float,
        *,
        wind: TerrainWind | None = None,
    ) -> Because:
        """Why the head runs as it does in the cell that holds (x, y) [m] at a time; the formulas of `fields`.

        What wind and slope add to the rate of calm, level ground is shared out as their winds push along the
        head's direction.

        Raises
        ------
        LookupError
            If the point lies off the ground, or its fuel or height is unknown.
        InputError, OutsideRangeError
            As `fields`.
        """
        if not ground.grid.holds(x, y):
            message = "the point lies off the ground's grid"
            raise LookupError(message)
        row, col = (int(i) for i in ground.grid.index(x, y))
        stands = self._stands(ground, slice(row, row + 1), slice(col, col + 1))
        if stands.unknown.any():
            message = "fuel or height is unknown at the point"
            raise LookupError(message)
        if not stands.fuels:
            return Because(fuel_code="none", fuel_name="nothing burns", notes=stands.notes)
        _, hours = slots_of(weather, time, time + timedelta(seconds=1))
        dry, said = self._dryness(stands.fuels, ground, weather, hours, AS_GIVEN)
        fuel, hour = stands.fuels[0], hours[0]
        blown_mps, blows_toward = hour.wind_mps, hour.wind_from_deg + 180.0
        if wind is not None:
            blown_mps, blows_toward = wind.blown(row, col, blown_mps, blows_toward)
        push_mps = float(slope_wind_mps(fuel, dry[0].still_isi, stands.slope_tan[0, 0]))
        upslope = float(stands.aspect_deg[0, 0]) + 180.0
        steps = [along(blows_toward), along(upslope)]
        east, north = (blown_mps * float(steps[0][i]) + push_mps * float(steps[1][i]) for i in (0, 1))
        driving_mps = math.hypot(east, north)
        toward = math.degrees(math.atan2(east, north)) % 360.0
        fire = dry[0].head(fuel, np.array([0.0, driving_mps]))
        still_mps, rate_mps = (float(r) for r in fire.rate_mps)
        if fuel.crown_base_m is not None:
            said.append(f"Crown fraction burned at the head: {float(fire.crown_fraction[1]):.0%}.")
        if rate_mps < _STILL_M_PER_MIN / MINUTE:
            said.append(f"The codes tell hardly any spread in {fuel.code} here, {_NO_SPREAD}")
        added = (1.0 - still_mps / rate_mps) / driving_mps if rate_mps > 0.0 and driving_mps > 0.0 else 0.0
        return Because(
            fuel_code=fuel.code,
            fuel_name=fuel.name,
            dead_fine_pct=fwi.litter_moisture_pct(dry[0].ffmc),
            wind_share=added * blown_mps * math.cos(math.radians(blows_toward - toward)),
            slope_share=added * push_mps * math.cos(math.radians(upslope - toward)),
            rate_mps=rate_mps,
            toward_deg=toward,
            intensity_kw_per_m=float(fire.intensity_kw_per_m[1]),
            notes=tuple(dict.fromkeys([*stands.notes, *said])),
        )

    def _stands(self, ground: Ground, rows: slice, cols: slice) -> _Stands:
        number, elevation = ground.fuel[rows, cols], ground.elevation_m[rows, cols]
        there = {int(n): self.stands[int(n)] for n in np.unique(number) if int(n) in self.stands}
        entry = np.full(number.shape, -1, np.int16)
        fuels: list[FbpFuel] = []
        for n, fuel in there.items():
            if fuel is not None:
                entry[number == n] = len(fuels)
                fuels.append(fuel)
        unknown = np.isnan(elevation) | ~np.isin(number, list(there))
        entry[unknown] = -1
        slope, aspect = relief_of(ground.elevation_m, ground.grid.cell_m, rows, cols)
        beside = np.isnan(slope) & ~unknown
        slope, aspect = np.where(np.isnan(slope), np.float32(0), slope), np.nan_to_num(aspect)
        notes = [note for fuel in fuels for note in fuel.notes]
        if np.any(beside):
            notes.append(f"{int(beside.sum())} cells beside a hole in the terrain are taken as level.")
        if np.any(unknown):
            notes.append(f"{int(unknown.sum())} cells without known fuel or height: unknown, not safe.")
        steep = int(np.count_nonzero((slope > STEEPEST_TAN) & (entry >= 0)))
        if steep:
            notes.append(
                f"{steep} cells are steeper than 70 %: the slope counts as 70 % there, as published."
            )
        return _Stands(entry, tuple(fuels), slope, aspect, unknown, (*_SOURCES, *notes))

    def _dryness(
        self,
        fuels: Sequence[FbpFuel],
        ground: Ground,
        weather: Weather,
        hours: Sequence[Hour],
        variation: Variation,
    ) -> tuple[list[_Dryness], list[str]]:
        """Dryness in each hour, and what was assumed."""
        lon, lat = middle_lonlat(ground.grid)
        found = codes_through(self.told, weather, [h.time for h in hours], lat_deg=lat, lon_deg=lon)
        notes = list(found.notes)
        foliar: list[float | None] = [None] * len(hours)
        if any(fuel.crown_base_m is not None for fuel in fuels):
            if self.foliar_moisture_pct is not None:
                foliar = [self.foliar_moisture_pct] * len(hours)
            else:
                mean_m = float(np.nanmean(ground.elevation_m))
                days = [(h.time + timedelta(hours=lon / 15.0)).date() for h in hours]
                foliar = [foliar_moisture_by_date_pct(day, lat, lon, mean_m) for day in days]
                notes.append(
                    f"Foliar moisture {foliar[0]:.0f} % by date, place and mean height, not measured."
                )
        return [
            _dry(codes, pct, variation.moisture_add_pct)
            for codes, pct in zip(found.codes, foliar, strict=True)
        ], notes


def _still_notes(burns: NDArray[np.bool_], rate_mps: NDArray[np.float32]) -> list[str]:
    """How many cells of fuel no head spreads in, in the hour that has most of them."""
    still = max(int(np.count_nonzero(burns & (rate < _STILL_M_PER_MIN / MINUTE))) for rate in rate_mps)
    if not still:
        return []
    said = f"In up to {still} cells at some hour the codes or green grass tell hardly any spread"
    return [f"{said} (below {_STILL_M_PER_MIN:g} m/min), {_NO_SPREAD}"]


def _dry(codes: Codes, foliar_moisture_pct: float | None, moisture_add_pct: float) -> _Dryness:
    ffmc = codes.ffmc
    if moisture_add_pct:
        moisture = fwi.litter_moisture_pct(ffmc)
        least = min(moisture, DRIEST_PCT)  # a variation dries no fuel below what surface models allow
        ffmc = fwi.ffmc_from_moisture(min(max(moisture + moisture_add_pct, least), 250.0))
    return _Dryness(ffmc, fwi.isi_fbp(ffmc, 0.0), fwi.bui(codes.dmc, codes.dc), foliar_moisture_pct)


def _tables(
    fuels: Sequence[FbpFuel], dry: Sequence[_Dryness], spread_factor: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Wind that a slope stands for [m/s] by [slot, fuel, slope]; rate [m/s], intensity by [slot, fuel, wind]."""
    slope_wind = np.zeros((len(dry), len(fuels), _SLOPES.size))
    rate, intensity = np.zeros((2, len(dry), len(fuels), _WINDS.size))
    first: dict[_Dryness, int] = {}  # a day's codes hold over many slots
    for k, now in enumerate(dry):
        same = first.setdefault(now, k)
        if same < k:
            slope_wind[k], rate[k], intensity[k] = slope_wind[same], rate[same], intensity[same]
            continue
        for m, fuel in enumerate(fuels):
            slope_wind[k, m] = slope_wind_mps(fuel, now.still_isi, _SLOPES)
            fire = now.head(fuel, _WINDS, spread_factor)
            rate[k, m], intensity[k, m] = fire.rate_mps, fire.intensity_kw_per_m
    return slope_wind, rate, intensity
