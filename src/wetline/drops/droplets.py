"""The droplet model: a load as parcels of drops from the column to the ground.

Column, curtain of drops with the air it drags, wake of the aircraft, drops that flatten, break again
and dry, and the open air's wind and eddies. Coverage is that of the mean of many drops: single ones
wander about it. Of an agent, only what is water can dry; its solids are not counted apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.drag import (
    FLAT_DRAG,
    ROOT_REYNOLDS_STEP,
    SIZE_STEP_M,
    WEBER_STEP,
    drop_drag,
)
from wetline.drops.droplet_settings import droplet_settings
from wetline.drops.fall import wind_share
from wetline.drops.moist_air import moist_air
from wetline.drops.parcels import GROUPS, flow_groups, normal_quantiles, parcels_of
from wetline.drops.planning import setting
from wetline.drops.relations import crabbed
from wetline.drops.result import PatternRaster
from wetline.drops.vapour import REFERENCE_DEFICIT, drying_by_size, dryness, loss_m2_per_s, reach_m
from wetline.drops.wake import wake_of
from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.drag import DropDrag
    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.moist_air import MoistAir
    from wetline.drops.parcels import Groups, Parcels
    from wetline.drops.release import Resolved
    from wetline.drops.wake import Wake

__all__ = ["Droplets", "droplets"]

_CELL_M = 2.0
_COPIES = 8
_BEYOND = 0.001  # share of the parcels on each side that the raster need not reach
_MARGIN_M = 12.0
_MOST_CELLS = 4_000_000
_PROFILE_STEP_M = 0.5
_VORTEX_CORE = 0.05  # radius over spacing, from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Droplets:
    """What the droplet model finds of one load, on open ground, before the canopy.

    `raster`: along and right of the track, from where the doors open; cells of 2 m, or of 4 and more
    where the load is strewn very wide. `landed_l`, `evaporated_l` and
    `off_grid_l` sum to the load; the last landed beyond the raster. `throw_m`: how far ahead of where
    it left the load lands, along the track, wind aside; `drift_*`: how far its middle lies from there.
    `spread_along_m`: beyond the flow's own length. `kurtosis_across`: 3 for a Gaussian.
    `intact_share`: of the load, column still at height 0. `forward_over_down`: median there, of the
    motion through the air. `vertical_depth_m`: under the tank, where 90 % of the load falls steeper
    than forward/down 0.2; inf if it does not above the ground.
    """

    raster: PatternRaster = field(repr=False, compare=False)
    landed_l: float
    evaporated_l: float
    off_grid_l: float
    throw_m: float
    drift_along_m: float
    drift_right_m: float
    spread_across_m: float
    kurtosis_across: float
    spread_along_m: float
    intact_share: float
    forward_over_down: float
    vertical_depth_m: float


def droplets(
    resolved: Resolved,
    *,
    parcels: int = 100_000,
    seed: int = 1,
    settings: DropletSettings | None = None,
) -> Droplets:
    """Follow a load to the ground. The same seed gives the same answer, bit for bit.

    `parcels` is rounded down to a multiple of five.

    Raises
    ------
    OutsideRangeError
        For fewer than 1,000 or more than 5,000,000 parcels, a negative seed, or air outside the range
        of `moist_air`.
    """
    settings = settings or droplet_settings()
    if not 1_000 <= parcels <= 5_000_000:
        raise OutsideRangeError(field="parcels", value=parcels, low=1_000, high=5_000_000, unit="")
    if not 0 <= seed < 2**31:
        raise OutsideRangeError(field="seed", value=seed, low=0, high=2**31 - 1, unit="")
    air = moist_air(resolved.temperature_c, resolved.humidity_pct, settings.pressure_pa)
    drag = drop_drag(resolved.liquid, air)
    wake = wake_of(resolved, air.density_kg_per_m3, settings)
    groups = flow_groups(resolved.flow)
    sizes, drying = drying_by_size(resolved, drag, air, settings)
    load = parcels_of(
        resolved,
        groups,
        parcels // GROUPS * GROUPS,
        seed,
        air=air,
        wake=wake,
        drying_per_s=float(drying.mean()),
        settings=settings,
    )
    out, state = _near(resolved, load, seed, drag, air, wake, settings)
    _far(resolved, load, groups, drag, air, sizes, drying, out, state)
    return _gathered(resolved, load, groups, settings, out, state)


def _near(
    resolved: Resolved,
    load: Parcels,
    seed: int,
    drag: DropDrag,
    air: MoistAir,
    wake: Wake,
    settings: DropletSettings,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Every parcel followed until it falls as a lone drop in open air, or is down."""
    from wetline.drops._kernels import parcels as k  # noqa: PLC0415  numba loads late

    heights = _PROFILE_STEP_M * np.arange(math.ceil(resolved.height_m / _PROFILE_STEP_M) + 2)
    profile = wind_share(np.asarray(heights, float))
    out = np.empty((load.size_m.size, 8))
    state = np.empty(load.size_m.size, np.int64)
    k.near_field(
        seed,
        resolved.height_m,
        load.steps_s,
        load.air,
        load.layer,
        load.start,
        load.size_m,
        profile,
        _PROFILE_STEP_M,
        normal_quantiles(k.NORMALS),
        drag.sphere,
        ROOT_REYNOLDS_STEP,
        drag.flattening,
        WEBER_STEP,
        drag.terminal_mps,
        SIZE_STEP_M,
        air.density_kg_per_m3,
        air.viscosity_pa_s,
        resolved.liquid.density_kg_per_m3,
        resolved.liquid.surface_tension_n_per_m,
        resolved.liquid.viscosity_pa_s,
        air.schmidt ** (1.0 / 3.0),
        loss_m2_per_s(resolved, air),
        FLAT_DRAG,
        0.5 * wake.spacing_m,
        (_VORTEX_CORE * wake.spacing_m) ** 2,
        wake.above_m,
        settings.wake_reach_m,
        out,
        state,
    )
    return out, state


def _far(
    resolved: Resolved,
    load: Parcels,
    groups: Groups,
    drag: DropDrag,
    air: MoistAir,
    sizes: NDArray[np.float64],
    drying: NDArray[np.float64],
    out: NDArray[np.float64],
    state: NDArray[np.int64],
) -> None:
    """The long fall of what is still in the air, in place."""
    from wetline.drops._kernels import parcels as k  # noqa: PLC0415  numba loads late

    rough = setting("roughness_m").value
    per_log = 1.0 / math.log1p(10.0 / rough)
    heights = _PROFILE_STEP_M * np.arange(math.ceil(resolved.height_m / _PROFILE_STEP_M) + 2)
    integral = ((heights + rough) * np.log1p(heights / rough) - heights) * per_log
    flying = state == k.FLYING
    spread = float(out[flying, 1].std()) if flying.any() else 1.0
    dry = dryness(resolved, groups, drag, air, sizes, drying, max(spread, 1.0))
    k.long_fall(
        np.interp(load.size_m, sizes, dry) * (air.deficit_kg_per_m3 / REFERENCE_DEFICIT),
        reach_m(resolved, drag, air),
        drag.terminal_mps,
        SIZE_STEP_M,
        integral,
        _PROFILE_STEP_M,
        rough,
        per_log,
        out,
        load.size_m,
        state,
    )


def _wander_m(
    resolved: Resolved, load: Parcels, settings: DropletSettings, out: NDArray[np.float64]
) -> NDArray[np.float64]:
    """float64[2, parcel]: how far [m] the open air's eddies carry each parcel, along and across.

    Standard deviation by Taylor 1921, σ² = 2 v² T (t − T (1 − e^(−t/T))); heavy drops fall through an
    eddy in less than its own time (Csanady 1963; both from memory).
    """
    seconds = np.maximum(out[:, 3], 1e-3)
    wind = math.hypot(resolved.wind_along_mps, resolved.wind_right_mps) * out[:, 4] / seconds
    eddy = settings.eddy_intensity * wind + settings.still_air_eddies_mps
    length = settings.eddy_length_share * 0.5 * resolved.height_m
    time = length / (resolved.height_m / seconds + eddy)
    variance = 2.0 * eddy**2 * time * (seconds + time * np.expm1(-seconds / time))
    return np.asarray(load.wander * np.sqrt(np.maximum(variance, 0.0)), float)


def _gathered(
    resolved: Resolved,
    load: Parcels,
    groups: Groups,
    settings: DropletSettings,
    out: NDArray[np.float64],
    state: NDArray[np.int64],
) -> Droplets:
    """Parcels on the ground, told in the frame of the track."""
    from wetline.drops._kernels import parcels as k  # noqa: PLC0415  numba loads late

    share = out[:, 7]
    ahead, crab = (float(part[0]) for part in crabbed([resolved]))
    wander = np.where(state == k.AS_COLUMN, 0.0, _wander_m(resolved, load, settings, out))
    x, y = out[:, 0], out[:, 1]
    along = ahead * x + crab * y + resolved.wind_along_mps * out[:, 4] + wander[0]
    right = -crab * x + ahead * y + resolved.wind_right_mps * out[:, 4] + wander[1]
    landed = float(share.sum())
    if landed <= 0.0:
        throw = middle_along = middle_right = 0.0
    else:
        through = (ahead * x, along, right)
        throw, middle_along, middle_right = (float(np.sum(share * v)) / landed for v in through)
    raster, laid = _raster(resolved, load, groups, along, right, share)
    down = state != k.GONE
    spread_across, kurtosis = _moments(right - middle_right, share)
    steep = float(np.quantile(out[:, 6], 0.9))
    per_parcel = resolved.load_l / share.size
    return Droplets(
        raster=raster,
        landed_l=laid,
        evaporated_l=resolved.load_l - landed * per_parcel,
        off_grid_l=landed * per_parcel - laid,
        throw_m=throw,
        drift_along_m=middle_along - throw,
        drift_right_m=middle_right,
        spread_across_m=spread_across,
        kurtosis_across=kurtosis,
        spread_along_m=_moments(along - middle_along, share)[0],
        intact_share=float(np.mean(state == k.AS_COLUMN)),
        forward_over_down=float(np.median(out[down, 5])) if down.any() else 0.0,
        vertical_depth_m=steep if steep < resolved.height_m else math.inf,
    )


def _moments(away_m: NDArray[np.float64], share: NDArray[np.float64]) -> tuple[float, float]:
    """Standard deviation [m] and kurtosis of parcels about their middle."""
    square = away_m**2
    total = max(float(share.sum()), 1e-300)
    variance = float(np.sum(share * square)) / total
    return math.sqrt(variance), float(np.sum(share * square**2)) / total / max(variance**2, 1e-300)


def _axes(
    along: tuple[float, float], right: tuple[float, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Cell middles [m] along and right, whole cells from 0, and the cell, doubled until the cells are few."""
    cell = _CELL_M
    while True:
        rows, cols = (
            np.arange(math.floor(low / cell), math.ceil(high / cell) + 1) for low, high in (along, right)
        )
        if rows.size * cols.size <= _MOST_CELLS:
            return np.asarray((rows + 0.5) * cell, float), np.asarray((cols + 0.5) * cell, float), cell
        cell *= 2.0


def _raster(
    resolved: Resolved,
    load: Parcels,
    groups: Groups,
    along: NDArray[np.float64],
    right: NDArray[np.float64],
    share: NDArray[np.float64],
) -> tuple[PatternRaster, float]:
    """Coverage on cells, and the litres laid on them."""
    from wetline.drops._kernels import parcels as k  # noqa: PLC0415  numba loads late

    wet = share > 0.0
    if not wet.any():
        along = right = np.zeros(1)
        wet = np.ones(1, bool)
    track = resolved.ground_speed_mps * groups.times_s
    inside = (_BEYOND, 1.0 - _BEYOND)
    back, front = np.quantile(along[wet], inside)
    left, far_right = np.quantile(right[wet], inside)
    rows, cols, cell = _axes(
        (float(back + track.min()) - _MARGIN_M, float(front + track.max()) + _MARGIN_M),
        (float(left) - _MARGIN_M, float(far_right) + _MARGIN_M),
    )
    coverage = np.zeros((rows.size, cols.size))
    laid = k.deposit(
        along,
        right,
        share * (resolved.load_l / share.size),
        load.group,
        load.shift,
        groups.times_s,
        resolved.ground_speed_mps,
        _COPIES,
        rows[0],
        cols[0],
        cell,
        coverage,
    )
    return PatternRaster(rows, cols, coverage), float(laid)
