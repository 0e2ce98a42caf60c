"""The planning form as a pattern: closed form, live everywhere."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.bands import falling, joined, percent, reaching_percent, unknown_without_wind
from wetline.drops.canopy import canopy_known, held_share
from wetline.drops.form import (
    BAND_FROM,
    bands_and_sums_m,
    edge_m,
    middles,
    parameters,
    shape_of,
    shapes_of,
    slack,
)
from wetline.drops.measure import size_of
from wetline.drops.planning import setting
from wetline.drops.release import Input
from wetline.drops.resolve import resolve
from wetline.drops.result import EDGE_L_PER_M2, AtLevel, Fall, PatternRaster, level_names
from wetline.drops.varied import FLOWN_FROM, flown_otherwise
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.form import Shape
    from wetline.drops.release import Release, Resolved

__all__ = ["doors_open_m", "half_width_m", "planning_fall"]

_REACH = 4.5
_CELL_M = 2.0
_POINTS = 400

METHOD = (
    "Planning form, not calibrated on drop tests: expect ±50 % against a measured drop. The flow out of the "
    "tank is laid along the track and smeared, with a Gaussian across it (Legendre et al. 2014, abstract). "
    "Spread, smear, throw, drift and evaporation are relations fitted to the droplet model. Lines lie on the "
    "centre line. The target is the middle of the pattern; release_offset_m is where the doors open, along "
    "the run and to its right, seen from there. "
    f"Bands of lines, widths and areas: {BAND_FROM}. Bands of drift, release and evaporation: {FLOWN_FROM}."
)


_FITTED = "relation fitted to the droplet model, docs/drop-model.md"


def planning_fall(resolved: Resolved, level: float | None = None) -> Fall:
    """One load by the planning form. `level`: beside those of `LEVELS`."""
    shapes = shapes_of(resolved)
    shape = shape_of(resolved)
    flights = _flights(resolved)
    release_along = joined(flights[:, 3])
    raster, off_l = _raster(shape, -release_along.middle, float(flights[0, 1]))
    levels, edge_m = _levels(shapes, level_names(level))
    held = held_share(resolved)
    evaporated = joined(flights[:, 2])
    reaching = float(raster.coverage_l_per_m2.sum()) * raster.cell_m2 / resolved.load_l
    peak = float(shape.peak_l_per_m2[0])
    return Fall(
        raster=raster,
        size=size_of(raster, length_m=edge_m, width_m=_edge_width_m(shape), peak_l_per_m2=peak),
        levels=levels,
        drift_along_m=unknown_without_wind(resolved, joined(flights[:, 0])),
        drift_right_m=unknown_without_wind(resolved, joined(flights[:, 1])),
        release_along_m=release_along,
        release_right_m=unknown_without_wind(resolved, joined(-flights[:, 1])),
        evaporated_pct=percent(evaporated, 1.0),
        canopy_pct=percent(held, 1.0 - evaporated.middle),
        reaching_ground_pct=reaching_percent(reaching, evaporated, held),
        off_grid_pct=100.0 * off_l / resolved.load_l,
        canopy_known=canopy_known(resolved),
        half_width_m=half_width_m(resolved),
        inputs=_form_inputs(resolved),
        method=METHOD,
    )


def half_width_m(resolved: Resolved) -> float:
    """From the line to the edge of everything wetted [m], drift included: see `edge_m`."""
    return float(edge_m([resolved])[0])


def doors_open_m(release: Release) -> tuple[float, float]:
    """Where the doors open [m], along and right of the heading, from the middle of the pattern.

    The middle of `pattern(release).release_offset_m` alone, many times sooner.

    Raises
    ------
    InputError, OutsideRangeError
        As `resolve`.
    """
    resolved = resolve(release)
    found = middles([resolved])
    let_go = resolved.ground_speed_mps * resolved.flow.middle_s
    return -float(found.drift_along_m[0] + found.throw_m[0] + let_go), -float(found.drift_right_m[0])


def _flights(resolved: Resolved) -> NDArray[np.float64]:
    """Drift along and right, evaporated share, where the doors open along the run: float64[variant, 4].

    The middle, then each varied input at its low and its high end.
    """
    size = resolved.liquid.median_mm
    ends = [size.middle if end is None else end for end in (size.low, size.high)]
    cases = [resolved, *flown_otherwise(resolved), resolved, resolved, resolved, resolved]
    drops = np.array([size.middle] * (len(cases) - 4) + ends + [size.middle] * 2)
    found = middles(cases, drops)
    throw = found.throw_m.copy()
    throw[-2:] *= slack("throw_slack", "throw_m")
    let_go = np.array([case.ground_speed_mps for case in cases]) * resolved.flow.middle_s
    opened = -(found.drift_along_m + throw + let_go)
    return np.column_stack((found.drift_along_m, found.drift_right_m, found.lost_share, opened))


def _levels(shapes: Shape, names: tuple[str, ...]) -> tuple[dict[str, AtLevel], float]:
    """Line, width and area at every level with their bands, and the middle line at the edge [m].

    No end of a band grows with the level.
    """
    asked = np.array([float(level) * COVERAGE_LEVEL for level in names])
    (*lines, edge), summed = bands_and_sums_m(shapes, np.append(asked, EDGE_L_PER_M2))
    sizes = np.concatenate([summed[:, :-1, None], _widths_and_areas(shapes, asked)], axis=2)
    bands = [falling([joined(sizes[:, i, k]) for i in range(len(names))]) for k in range(4)]
    return {
        name: AtLevel(
            line_m=lines[i],
            line_summed_m=bands[0][i],
            width_m=bands[1][i],
            width_summed_m=bands[1][i],  # one Gaussian has no gap across
            area_m2=bands[2][i],
            area_summed_m2=bands[3][i],
        )
        for i, name in enumerate(names)
    }, edge.middle


def _widths_and_areas(shapes: Shape, levels_l_per_m2: NDArray[np.float64]) -> NDArray[np.float64]:
    """Greatest width [m], area of the largest piece and of all [m²]: float64[variant, level, 3].

    Where the centre line carries c, a level lies σ √(2 ln(c/level)) to each side.
    """
    reach = shapes.track.reach_m + _REACH * shapes.spread_along_m
    x = np.linspace(-1.0, 1.0, _POINTS) * reach[:, None]
    over = np.log(np.maximum(shapes.centre_l_per_m2(x)[:, None, :] / levels_l_per_m2[:, None], 1.0))
    across = 2.0 * shapes.spread_across_m[:, None, None] * np.sqrt(2.0 * over)
    step = (x[:, 1] - x[:, 0])[:, None]
    total = across.sum(axis=2) * step
    largest = total.copy()
    wet = (across > 0.0).astype(int)
    for row, level in np.argwhere((np.diff(wet, axis=2) == 1).sum(axis=2) > 1):
        edges = np.flatnonzero(np.diff(wet[row, level])) + 1
        pieces = np.split(across[row, level], edges)
        largest[row, level] = max(float(piece.sum()) for piece in pieces) * step[row, 0]
    peak = shapes.peak_l_per_m2[:, None] / levels_l_per_m2
    width = 2.0 * shapes.spread_across_m[:, None] * np.sqrt(2.0 * np.log(np.maximum(peak, 1.0)))
    return np.stack([width, largest, total], axis=2)


def _raster(shape: Shape, middle_along_m: float, middle_right_m: float) -> tuple[PatternRaster, float]:
    """The pattern on cells, and the litres that the form lays beyond them."""
    along, across = float(shape.spread_along_m[0]), float(shape.spread_across_m[0])
    cell, reach = min(_CELL_M, along / 2.0, across / 2.0), float(shape.track.reach_m[0])
    rows, cols = math.ceil((reach + _REACH * along) / cell), math.ceil(_REACH * across / cell)
    x = np.asarray((np.arange(-rows, rows) + 0.5) * cell, float)
    y = np.asarray(np.arange(-cols, cols + 1) * cell, float)  # one column on the centre line, where it peaks
    coverage = np.outer(shape.centre_l_per_m2(x)[0], np.exp(-0.5 * (y / across) ** 2))
    # beyond the ends lies at most what would if the whole load fell at the farthest bend of its flow
    tail = math.erfc((rows * cell - reach) / (math.sqrt(2.0) * along))
    inside = (1.0 - tail) * math.erf((cols + 0.5) * cell / (math.sqrt(2.0) * across))
    raster = PatternRaster(x + middle_along_m, y + middle_right_m, coverage)
    return raster, float(shape.litres[0]) * (1.0 - inside)


def _edge_width_m(shape: Shape) -> float:
    peak = float(shape.peak_l_per_m2[0])
    if peak <= EDGE_L_PER_M2:
        return 0.0
    return 2.0 * float(shape.spread_across_m[0]) * math.sqrt(2.0 * math.log(peak / EDGE_L_PER_M2))


def _form_inputs(resolved: Resolved) -> dict[str, Input]:
    """Every parameter of the form that was used, with its range and source."""
    found, size = parameters(resolved), resolved.liquid.median_mm
    fitted = {
        "spread_across_m": (found.spread_across_m, "m"),
        "smear_along_m": (found.smear_along_m, "m"),
        "forward_throw_m": (found.throw_m, "m"),
        "drift_spread": (found.drift_spread, "m of spread per m of drift"),
        "ground_fraction": (found.ground_share, "share"),
    }
    out = {
        name: Input(band.middle, unit, "computed", _FITTED, band.low, band.high)
        for name, (band, unit) in fitted.items()
    }
    used = (setting(name) for name in ("roughness_m", "canopy_k", "load_share"))
    out |= {s.name: Input.of(s) for s in used}
    out["drop_size_mm"] = Input(size.middle, "mm", "default", "median of the agent", size.low, size.high)
    return out
