"""The ground as the fire model reads it: what does not change with the hour, cell by cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.wind import CROWN_RATIO_ASSUMED, wind_adjustment
from wetline.errors import InputError, Problem
from wetline.ground import slope_aspect
from wetline.units import FOOT
from wetline.weather import site_index

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour.fuel import FuelModel
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.weather import Weather

__all__ = ["SHADED_FROM", "Cells", "cells_of", "middle_lonlat", "relief_of", "window"]

SHADED_FROM = 0.5
"""Share of shade from which the correction table's shaded rows hold (Rothermel 1983, from memory)."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Rasters [r, c] of one window, and the burnable models found in it.

    `model`: index into `models`, −1 where nothing burns. `slope_tan`, `aspect_deg`: as in `Ground`.
    `adjustment`: midflame wind over 20-ft wind. `site`: row of the moisture corrections. `unknown`: no known
    fuel or height. `lon`, `lat`: middle of the ground [deg]. `southern`: south of the equator.
    """

    model: NDArray[np.int16]
    models: tuple[FuelModel, ...]
    slope_tan: NDArray[np.float32]
    aspect_deg: NDArray[np.float32]
    adjustment: NDArray[np.float32]
    site: NDArray[np.int8]
    unknown: NDArray[np.bool_]
    unknown_cells: int
    lon: float
    lat: float
    southern: bool
    notes: tuple[str, ...]


def window(whole: Grid, part: Grid | None) -> tuple[Grid, slice, slice]:
    """A sub-grid of the ground's grid and its slices, found by alignment.

    Raises
    ------
    InputError
        If `part` is no window of `whole`.
    """
    if part is None or part == whole:
        return whole, slice(0, whole.rows), slice(0, whole.cols)
    row = (whole.north_m - part.north_m) / whole.cell_m
    col = (part.west_m - whole.west_m) / whole.cell_m
    r0, c0 = round(row), round(col)
    fits = (
        part.projection == whole.projection
        and part.cell_m == whole.cell_m
        and max(abs(row - r0), abs(col - c0)) < 1e-6
        and 0 <= r0 <= r0 + part.rows <= whole.rows
        and 0 <= c0 <= c0 + part.cols <= whole.cols
        and part.rows * part.cols > 0
    )
    if not fits:
        problem = Problem(
            message="The grid is no window of the ground's grid.",
            mend="Cut it with `ground.grid.window` where the two overlap.",
            field="grid",
        )
        raise InputError.of([problem])
    return part, slice(r0, r0 + part.rows), slice(c0, c0 + part.cols)


def relief_of(
    elevation_m: NDArray[np.float32], cell_m: float, rows: slice, cols: slice
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Slope and aspect of a window, the same as of the whole raster."""
    r0, c0 = max(rows.start - 1, 0), max(cols.start - 1, 0)
    slope, aspect = slope_aspect(elevation_m[r0 : rows.stop + 1, c0 : cols.stop + 1], cell_m)
    inner = (slice(rows.start - r0, rows.stop - r0), slice(cols.start - c0, cols.stop - c0))
    return slope[inner], aspect[inner]


def _canopy(
    ground: Ground, rows: slice, cols: slice, depth_m: NDArray[np.float64]
) -> tuple[NDArray[np.float32], NDArray[np.bool_], list[str]]:
    """Wind adjustment and shade by trees in a window."""
    if ground.canopy_cover is None:
        note = "No canopy layer: wind and sun reach the fuel as in the open."
        return wind_adjustment(depth_m).astype(np.float32), np.zeros(depth_m.shape, bool), [note]
    cover = ground.canopy_cover[rows, cols]
    shaded = cover >= SHADED_FROM
    notes = []
    holes = int(np.count_nonzero(np.isnan(cover)))
    if holes:
        notes.append(f"Canopy cover unknown in {holes} cells: taken as open.")
    if ground.canopy_height_m is None:
        notes.append("No canopy height: wind reaches the fuel as in the open.")
        return wind_adjustment(depth_m).astype(np.float32), shaded, notes
    height = ground.canopy_height_m[rows, cols]
    crown_ratio: float | NDArray[np.floating] = CROWN_RATIO_ASSUMED
    if ground.canopy_base_m is None:
        notes.append(f"No canopy base: crowns taken as {CROWN_RATIO_ASSUMED:g} of the trees' height.")
    else:
        base = ground.canopy_base_m[rows, cols]
        known = (height > 0.0) & (base >= 0.0) & (base <= height)
        crown_ratio = np.where(
            known, (height - base) / np.where(known, height, 1.0), np.float32(CROWN_RATIO_ASSUMED)
        )
    return wind_adjustment(depth_m, cover, height, crown_ratio).astype(np.float32), shaded, notes


def cells_of(ground: Ground, weather: Weather, rows: slice, cols: slice) -> Cells:
    """The cells of a window of the ground; what is assumed stands in `notes`."""
    fuel, elevation = ground.fuel[rows, cols], ground.elevation_m[rows, cols]
    published = fuel_models()
    numbers = [int(n) for n in np.unique(fuel)]
    models = tuple(published[n] for n in numbers if n in published and published[n].burnable)
    model = np.full(fuel.shape, -1, np.int16)
    for index, entry in enumerate(models):
        model[fuel == entry.number] = index
    unknown = np.isnan(elevation) | ~np.isin(fuel, [n for n in numbers if n in published])
    model[unknown] = -1

    slope, aspect = relief_of(ground.elevation_m, ground.grid.cell_m, rows, cols)
    beside = np.isnan(slope) & ~unknown
    slope, aspect = np.where(np.isnan(slope), np.float32(0), slope), np.nan_to_num(aspect)
    notes = []
    if np.any(beside):
        notes.append(f"{int(beside.sum())} cells beside a hole in the terrain are taken as level.")
    if np.any(unknown):
        notes.append(f"{int(unknown.sum())} cells without known fuel or height: unknown, not safe.")

    depth = np.array([m.depth_m or 1.0 for m in models] or [1.0])[np.maximum(model, 0)]
    adjustment, shaded, more = _canopy(ground, rows, cols, depth)
    if weather.elevation_m is None:
        above = np.zeros(fuel.shape)
        notes.append("Height of the weather not given: moisture is not corrected for height.")
    else:
        above = np.nan_to_num(elevation - weather.elevation_m)
        far = int(np.count_nonzero((np.abs(above) > 2000.0 * FOOT) & (model >= 0)))
        if far:
            notes.append(f"{far} cells lie over 610 m above or below the weather: beyond the table.")
    lon, lat = middle_lonlat(ground.grid)
    southern = lat < 0.0
    return Cells(
        model=model,
        models=models,
        slope_tan=slope,
        aspect_deg=aspect,
        adjustment=adjustment,
        site=site_index(aspect, slope, shaded, above, southern=southern),
        unknown=unknown,
        unknown_cells=int(unknown.sum()),
        lon=lon,
        lat=lat,
        southern=southern,
        notes=(*notes, *more),
    )


def middle_lonlat(grid: Grid) -> tuple[float, float]:
    """Longitude and latitude [deg] of the middle of a grid."""
    west, south, east, north = grid.bounds
    lon, lat = grid.projection.to_lonlat((west + east) / 2, (south + north) / 2)
    return float(lon), float(lat)
