"""The droplet model as a pattern: measured on its raster, its bands from runs with fewer parcels."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.bands import falling, joined, percent, reaching_percent, unknown_without_wind
from wetline.drops.canopy import canopy_known, held_share
from wetline.drops.droplet_settings import DropletSettings, droplet_settings
from wetline.drops.droplets import droplets
from wetline.drops.measure import centre_line, measured, middle_m, size_of
from wetline.drops.planning import setting, settings_of
from wetline.drops.planning_pattern import half_width_m
from wetline.drops.release import Input
from wetline.drops.result import EDGE_L_PER_M2, AtLevel, Fall, PatternRaster, level_names
from wetline.drops.varied import FLOWN_FROM, flown_otherwise
from wetline.model import Band
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from wetline.drops.droplets import Droplets
    from wetline.drops.release import Resolved

__all__ = ["droplet_fall"]

_PARCELS = 100_000
_FEW = 10_000
_SPREADS = 3.0
_VARIED = (
    "column_shape",
    "spreading",
    "entrainment",
    "curtain_turbulence",
    "wake_turbulence",
    "eddy_intensity",
    "still_air_eddies_mps",
)
"""Settings that widen or lengthen the pattern, each moved to the ends of its row."""

METHOD = (
    "Drop by drop: column, curtain and wake, drops that break, drift and dry, 100,000 parcels. Its widths "
    "rest on few and weak anchors: expect ±50 % against a measured drop. Lines lie on the line through the "
    "middle of what lands. The target is the middle of the pattern; release_offset_m is where the doors "
    f"open, along the run and to its right, seen from there. Bands: {FLOWN_FROM}; so are load, flow time and "
    f"the model's {', '.join(_VARIED).replace('_mps', '').replace('_', ' ')}, each by a run of 10,000 parcels."
)


@dataclass(frozen=True, slots=True)
class _Found:
    """One run as numbers: [level, size] and the five of the whole load."""

    raster: PatternRaster
    centre_m: tuple[float, float]
    sizes: NDArray[np.float64]
    whole: NDArray[np.float64]
    made: Droplets


def droplet_fall(resolved: Resolved, level: float | None = None, *, seed: int = 1) -> Fall:
    """One load drop by drop. `level`: beside those of `LEVELS`."""
    names = level_names(level)
    levels = np.array([float(name) * COVERAGE_LEVEL for name in names])
    main = _run(resolved, levels, seed, _PARCELS, droplet_settings())
    few = [_run(flown, levels, seed, _FEW, settings) for flown, settings in _cases(resolved)]
    held = held_share(resolved)
    whole = [_moved(main.whole[k], np.array([f.whole[k] for f in few])) for k in range(4)]
    evaporated = whole[2]
    made = main.made
    reaching = float(main.raster.coverage_l_per_m2.sum()) * main.raster.cell_m2 / resolved.load_l
    edge = measured(main.raster, EDGE_L_PER_M2, main.centre_m[1])
    drift = max(abs(end or 0.0) for end in (made.drift_right_m, main.centre_m[1]))
    return Fall(
        raster=main.raster,
        size=size_of(
            main.raster,
            length_m=edge.line_m,
            width_m=edge.width_m,
            peak_l_per_m2=float(centre_line(main.raster, main.centre_m[1]).max()),
        ),
        levels=_levels(names, main, few),
        drift_along_m=unknown_without_wind(resolved, whole[0]),
        drift_right_m=unknown_without_wind(resolved, whole[1]),
        release_along_m=whole[3],
        release_right_m=unknown_without_wind(resolved, _turned(whole[1])),
        evaporated_pct=percent(evaporated, 1.0),
        canopy_pct=percent(held, made.landed_l / resolved.load_l),
        reaching_ground_pct=reaching_percent(reaching, evaporated, held),
        off_grid_pct=100.0 * max(made.off_grid_l, 0.0) / resolved.load_l,  # rounding below nothing
        canopy_known=canopy_known(resolved),
        half_width_m=max(half_width_m(resolved), _SPREADS * made.spread_across_m + drift),
        inputs=_settings_used(seed),
        method=METHOD,
    )


def _run(
    resolved: Resolved, levels: NDArray[np.float64], seed: int, parcels: int, settings: DropletSettings
) -> _Found:
    made = droplets(resolved, parcels=parcels, seed=seed, settings=settings)
    under = 1.0 - held_share(resolved).middle
    open_air = made.raster
    raster = PatternRaster(open_air.along_m, open_air.right_m, open_air.coverage_l_per_m2 * under)
    centre = middle_m(raster)
    sizes = []
    for level in levels:
        at = measured(raster, float(level), centre[1])
        sizes.append(
            (at.line_m, at.line_summed_m, at.width_m, at.width_summed_m, at.area_m2, at.area_summed_m2)
        )
    whole = (made.drift_along_m, made.drift_right_m, made.evaporated_l / resolved.load_l, -centre[0])
    return _Found(raster, centre, np.array(sizes), np.array(whole), made)


def _cases(resolved: Resolved) -> Iterator[tuple[Resolved, DropletSettings]]:
    """The middle, then each varied input at its low and its high end."""
    shipped = droplet_settings()
    yield resolved, shipped
    for flown in flown_otherwise(resolved):
        yield flown, shipped
    median = resolved.liquid.median_mm
    for size in (median.low or median.middle, median.high or median.middle):
        yield replace(resolved, liquid=replace(resolved.liquid, median_mm=Band(size))), shipped
    for time_s in (resolved.duration_low_s, resolved.duration_high_s):
        yield replace(resolved, flow=resolved.flow.stretched(time_s / resolved.duration_s)), shipped
    for share in (setting("load_share").low, setting("load_share").high):
        flow = type(resolved.flow)(resolved.flow.t_s, tuple(q * share for q in resolved.flow.l_per_s))
        yield replace(resolved, flow=flow, load_l=resolved.load_l * share), shipped
    for one in settings_of("drop/droplets").values():
        if one.name in _VARIED:
            for end in (one.low, one.high):
                yield resolved, replace(shipped, **{one.name: end})


def _moved(middle: float, few: NDArray[np.float64]) -> Band:
    """The band of the small runs, about the middle of the large one."""
    band = joined(few)
    low, high = (0.0 if end is None else end - band.middle for end in (band.low, band.high))
    return Band(float(middle), float(middle) + low, float(middle) + high)


def _turned(band: Band) -> Band:
    """The same to the other side."""
    low, high = (None if end is None else -end for end in (band.low, band.high))
    return Band(0.0 - band.middle, high, low)


def _levels(names: tuple[str, ...], main: _Found, few: list[_Found]) -> dict[str, AtLevel]:
    all_sizes = np.array([found.sizes for found in few])
    bands = [
        falling([_moved(main.sizes[i, k], all_sizes[:, i, k]) for i in range(len(names))]) for k in range(6)
    ]
    return {
        name: AtLevel(
            line_m=bands[0][i],
            line_summed_m=bands[1][i],
            width_m=bands[2][i],
            width_summed_m=bands[3][i],
            area_m2=bands[4][i],
            area_summed_m2=bands[5][i],
        )
        for i, name in enumerate(names)
    }


def _settings_used(seed: int) -> dict[str, Input]:
    """Every setting of the model, with its range and source."""
    used = (*settings_of("drop/droplets").values(), setting("canopy_k"))
    out = {s.name: Input.of(s) for s in used}
    out["seed"] = Input(float(seed), "", "default", "the same seed gives the same answer")
    return out
