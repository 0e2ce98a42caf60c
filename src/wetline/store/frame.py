"""Which working CRS and which working grid an incident is computed on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pyproj

from wetline.grid import Grid, Projection, utm_projection

if TYPE_CHECKING:
    from wetline.store.problems import Complaints
    from wetline.store.raster_file import RasterFile

__all__ = ["check_projection", "projection_for", "working_grid"]

FINEST_CELL_M = 10.0
"""Spread models speak of fuel beds, not of bushes; finer cells cost time and add nothing."""
OWN_CELL_MOST_M = 35.0
"""One arc second is 31 m: terrain up to that keeps its own cells."""
COARSE_CELL_M = 30.0
USELESS_CELL_M = 250.0
"""On coarser heights neither slopes nor ways out can be judged. Common practice, no source."""
MOST_CELLS = 9_000_000
"""3000 × 3000: about 50 MB for heights and fuels, 0.2 GB with every canopy layer, and below 1 GB
while slopes are worked out in double precision; the budget of the whole program is 1.5 GB."""
LEAST_MARGIN_M = 10_000.0
_STRETCH = 0.01
"""UTM stretches by 0.1 % at most within its zone; 1 % would be 10 m in a kilometre of lane."""


def projection_for(lon: float, lat: float, complaints: Complaints) -> Projection | None:
    """The UTM zone of a place, or None after a complaint where UTM ends."""
    try:
        return utm_projection(lon, lat)
    except ValueError as error:
        complaints.error(f"No working system: {error}.", 'Give crs = "EPSG:..." in incident.toml.')
        return None


def check_projection(projection: Projection, lon: float, lat: float, complaints: Complaints) -> None:
    """Complain of a working CRS that stretches distances at the place of the incident."""
    try:
        factors = pyproj.Proj(projection.code).get_factors(lon, lat, errcheck=True)
        scales = (factors.meridional_scale, factors.parallel_scale)
    except pyproj.exceptions.ProjError:
        scales = (math.inf, math.inf)
    worst = max(abs(scale - 1.0) for scale in scales)
    if not worst <= _STRETCH:
        said = f"by {worst:.1%}" if math.isfinite(worst) else "beyond measure"
        complaints.error(
            f"{projection.code} stretches distances {said} at the terrain.",
            "Give the system of the place, or leave crs out: the UTM zone is then used.",
            field="crs",
            value=projection.code,
            limit=f"{_STRETCH:.0%}",
        )


def working_grid(
    terrain: RasterFile,
    projection: Projection,
    fire_box: tuple[float, float, float, float],
    reach_m: float,
    complaints: Complaints,
) -> Grid | None:
    """The grid round the fire: `reach_m` on every side, cut to the terrain.

    Cells are the terrain's own where those are square, north-up, in the working CRS and 10 to 35 m.
    Other terrain is resampled: to whole metres if it lies within 10 to 35 m, to 10 m if finer, to
    30 m if coarser. A box of more than nine million cells first takes larger cells (up to 30 m, whole
    blocks of the terrain's own where they can be), then a smaller box (down to 10 km round the fire),
    then larger cells again. Each is said.
    """
    own = terrain.cell_in(projection)
    if not math.isfinite(own) or own > USELESS_CELL_M:
        complaints.error(
            f"The cells are {own:.0f} m wide: slopes and ways out cannot be judged.",
            "Take a terrain of 30 m or finer.",
            field="cell size",
            value=f"{own:.0f} m",
            limit=f"{USELESS_CELL_M:g} m",
        )
        return None
    terrain_box = terrain.bounds_in(projection)
    aligned = terrain.aligned_with(projection)
    cell = _cell(own, aligned, complaints)
    box, cell = _fit(fire_box, terrain_box, reach_m, cell, own if aligned else None, complaints)
    if box[2] - box[0] < 4 * cell or box[3] - box[1] < 4 * cell:
        return None  # the fire lies off the terrain: said where the fire is checked
    if aligned and _whole_blocks(cell, own):
        return _snapped(box, cell, projection, (terrain_box[0], terrain_box[3]))
    inset = (box[0] + cell, box[1] + cell, box[2] - cell, box[3] - cell)  # to interpolate, not to guess
    return _snapped(inset, cell, projection, (0.0, 0.0))


def _whole_blocks(cell: float, own: float) -> bool:
    return abs(cell / own - round(cell / own)) < 1e-6


def _cell(own: float, aligned: bool, complaints: Complaints) -> float:
    if FINEST_CELL_M <= own <= OWN_CELL_MOST_M:
        return own if aligned else float(round(own))
    cell = FINEST_CELL_M if own < FINEST_CELL_M else COARSE_CELL_M
    lost = "The finer detail is averaged" if own < cell else "Nothing finer than the file is known"
    complaints.warning(
        f"The cells of {own:.3g} m are resampled to {cell:g} m. {lost}.",
        "Nothing to do; terrain of 10 to 35 m is used as it is.",
        field="cell size",
        value=f"{own:.3g} m",
        limit=f"{FINEST_CELL_M:g} to {OWN_CELL_MOST_M:g} m",
    )
    return cell


def _fit(
    fire_box: tuple[float, float, float, float],
    terrain_box: tuple[float, float, float, float],
    reach_m: float,
    cell: float,
    own: float | None,
    complaints: Complaints,
) -> tuple[tuple[float, float, float, float], float]:
    """A box and a cell size that hold no more than `MOST_CELLS` together."""

    def cut(margin: float) -> tuple[float, float, float, float]:
        return (
            max(fire_box[0] - margin, terrain_box[0]),
            max(fire_box[1] - margin, terrain_box[1]),
            min(fire_box[2] + margin, terrain_box[2]),
            min(fire_box[3] + margin, terrain_box[3]),
        )

    def needed(margin: float) -> float:
        west, south, east, north = cut(margin)
        area = max(east - west, 0.0) * max(north - south, 0.0)
        return float(math.ceil(math.sqrt(area / MOST_CELLS)))

    margin, first, least = reach_m, cell, min(LEAST_MARGIN_M, reach_m)
    cell = max(cell, min(needed(margin), COARSE_CELL_M))
    if own is not None and own * math.ceil(cell / own - 1e-6) <= OWN_CELL_MOST_M:
        cell = own * math.ceil(cell / own - 1e-6)
    while needed(margin) > cell and margin > least:
        margin = max(margin * 0.95, least)
    cell = max(cell, needed(margin))
    if cell > first or margin < reach_m:
        complaints.warning(
            f"The ground is large: it is worked on at {cell:g} m, {margin / 1000:.0f} km round the fire.",
            "Lower the limit water_search_km to keep finer cells.",
            field="extent",
            value=f"{reach_m / 1000:g} km at {first:g} m",
            limit=f"{MOST_CELLS:,} cells",
        )
    return cut(margin), cell


def _snapped(
    box: tuple[float, float, float, float],
    cell: float,
    projection: Projection,
    origin: tuple[float, float],
) -> Grid:
    """The grid of the whole cells within a box, its corners whole steps from an origin."""

    def steps(value: float, start: float) -> float:
        return (value - start) / cell

    slack = 1e-6
    west = origin[0] + math.ceil(steps(box[0], origin[0]) - slack) * cell
    east = origin[0] + math.floor(steps(box[2], origin[0]) + slack) * cell
    south = origin[1] + math.ceil(steps(box[1], origin[1]) - slack) * cell
    north = origin[1] + math.floor(steps(box[3], origin[1]) + slack) * cell
    return Grid(projection, west, north, cell, round((north - south) / cell), round((east - west) / cell))
