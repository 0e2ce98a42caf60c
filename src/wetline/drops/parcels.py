"""From a load to parcels: groups of like flow, where each parcel leaves the column, and its air."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.column import column
from wetline.drops.curtain import curtain, layers_of, steps_s
from wetline.drops.spectrum import even_points, median_at_column_mm, sizes_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.column import Column
    from wetline.drops.curtain import Curtain, Layers
    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.flow import Flow
    from wetline.drops.moist_air import MoistAir
    from wetline.drops.release import Resolved
    from wetline.drops.wake import Wake

__all__ = ["Groups", "Parcels", "flow_groups", "normal_quantiles", "parcels_of"]

GROUPS = 5
_TIMES = 400
LAYERS = 40
NEAR_FIELD_S = 10.0
_EDDY_OF_WIDTH = 0.5  # length of the curtain's eddies over its half width
_EDDY_OF_REACH = 0.6  # length of the body's eddies over how far its wake reaches
_EVEN_DIMENSIONS = 6


@dataclass(frozen=True, slots=True)
class Groups:
    """Equal shares of a load in order of flow. `times_s`: float64[group, time], equal shares of each group."""

    l_per_s: NDArray[np.float64]
    times_s: NDArray[np.float64]


def flow_groups(flow: Flow) -> Groups:
    """A load cut into `GROUPS` equal shares by the flow at which they leave."""
    corners = np.asarray(flow.t_s, float)
    t = np.unique(np.concatenate([np.linspace(corners[0], corners[-1], 4001), corners]))
    q = np.interp(t, corners, flow.l_per_s)
    gone = np.concatenate([[0.0], np.cumsum(0.5 * np.diff(t) * (q[1:] + q[:-1]))])
    count = GROUPS * _TIMES
    times = np.interp((np.arange(count) + 0.5) / count * gone[-1], gone, t)
    flows = np.interp(times, corners, flow.l_per_s)
    order = np.argsort(flows, kind="stable").reshape(GROUPS, _TIMES)
    return Groups(flows[order].mean(axis=1), np.sort(times[order], axis=1))


@lru_cache(maxsize=2)
def normal_quantiles(count: int) -> NDArray[np.float64]:
    """The normal deviates in the middles of `count` equal shares, made to have a variance of 1."""
    inverse = NormalDist().inv_cdf
    values = np.array([inverse((i + 0.5) / count) for i in range(count)])
    values /= values.std()
    values.setflags(write=False)
    return values


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcels:
    """Every parcel as it leaves the column, and the air along its way; layouts as the compiled loops ask.

    `shift`: float64[parcel], when in its group it left; `wander`: float64[2, parcel], normal deviates.
    """

    group: NDArray[np.int64] = field(repr=False)
    layer: NDArray[np.int64] = field(repr=False)
    start: NDArray[np.float64] = field(repr=False)
    size_m: NDArray[np.float64] = field(repr=False)
    shift: NDArray[np.float64] = field(repr=False)
    wander: NDArray[np.float64] = field(repr=False)
    air: NDArray[np.float64] = field(repr=False)
    steps_s: NDArray[np.float64] = field(repr=False)


def parcels_of(
    resolved: Resolved,
    groups: Groups,
    count: int,
    seed: int,
    *,
    air: MoistAir,
    wake: Wake,
    drying_per_s: float,
    settings: DropletSettings,
) -> Parcels:
    """`count` parcels of equal volume, a multiple of the number of groups.

    `drying_per_s`: share of the spectrum's volume that dries in a second of fall in unchanged air.
    """
    each = count // GROUPS
    steps = steps_s(NEAR_FIELD_S)
    even = even_points(count, _EVEN_DIMENSIONS, seed)
    normal = normal_quantiles(4096)
    deviates = [normal[(even[i] * normal.size).astype(np.int64)] for i in (1, 2, 4, 5)]
    spread = settings.spreading * math.sqrt(air.density_kg_per_m3 / resolved.liquid.density_kg_per_m3)
    start = np.empty((count, 9))
    layer = np.empty(count, np.int64)
    tables = []
    for g, flow in enumerate(groups.l_per_s.tolist()):
        own = slice(g * each, (g + 1) * each)
        body = column(
            flow,
            resolved.speed_mps,
            resolved.liquid,
            air_kg_per_m3=air.density_kg_per_m3,
            settings=settings,
        )
        layers, around = _curtain_of(body, flow, steps, resolved, air, drying_per_s, settings)
        tables.append(_air(layers, around, wake, steps, resolved, settings))
        start[own] = _starts(body, resolved, each, spread, deviates[0][own], deviates[1][own])
        layer[own] = g * LAYERS + np.minimum(np.arange(each) * LAYERS // each, LAYERS - 1)
    return Parcels(
        group=np.repeat(np.arange(GROUPS), each),
        layer=layer,
        start=start,
        size_m=sizes_m(
            even[0],
            median_at_column_mm(resolved.liquid, settings.size_at_column),
            resolved.liquid.exponent,
            settings.largest_mm,
        ),
        shift=even[3],
        wander=np.array(deviates[2:]),
        air=np.concatenate(tables),
        steps_s=steps,
    )


def _curtain_of(
    body: Column,
    l_per_s: float,
    steps: NDArray[np.float64],
    resolved: Resolved,
    air: MoistAir,
    drying_per_s: float,
    settings: DropletSettings,
) -> tuple[Layers, Curtain]:
    """The layers that a column sheds, and the air that they drag along."""
    litres_per_m = l_per_s / resolved.speed_mps
    layers = layers_of(body, LAYERS, litres_per_m, resolved.liquid.density_kg_per_m3, settings.shelter)
    around = curtain(
        layers,
        steps,
        air_kg_per_m3=air.density_kg_per_m3,
        deficit_kg_per_m3=air.deficit_kg_per_m3,
        loss_per_s=drying_per_s,
        settings=settings,
    )
    return layers, around


def _starts(
    body: Column,
    resolved: Resolved,
    count: int,
    spread: float,
    across: NDArray[np.float64],
    sideways: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Rows x, y, depth, speed forward, sideways and down, seconds, 1 or 0, and the curtain's y.

    1 if still column at the ground. The last is where the middle of the parcel's part of the curtain is.
    """
    lost = 1.0 - body.unbroken
    share = (np.arange(count) + 0.5) / count * lost[-1]
    at = np.interp(share, lost, np.arange(lost.size, dtype=float))
    ground = float(np.interp(resolved.height_m, body.depth_m, np.arange(lost.size, dtype=float)))
    intact = (at > ground) & (resolved.height_m < body.depth_m[-1])
    at = np.where(intact, ground, at)
    track = (body.forward_m, body.depth_m, body.forward_mps, body.down_mps, body.time_s)
    x, depth, forward, down, time = (np.interp(at, np.arange(lost.size), values) for values in track)
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(body.forward_m), np.diff(body.depth_m)))])
    middle = spread * sideways * np.interp(at, np.arange(lost.size), walked)
    speed = spread * sideways * np.hypot(forward, down)
    y = 0.25 * body.diameter_m * across + middle
    return np.column_stack([x, y, depth, forward, speed, down, time, intact.astype(float), middle])


def _air(
    layers: Layers,
    around: Curtain,
    wake: Wake,
    steps: NDArray[np.float64],
    resolved: Resolved,
    settings: DropletSettings,
) -> NDArray[np.float64]:
    """float64[layer, step, column]: the air that a parcel of each layer meets, step by step."""
    from wetline.drops._kernels import parcels as k  # noqa: PLC0415  numba loads late

    table = np.empty((layers.time_s.size, steps.size, k.COLUMNS))
    since = layers.time_s[:, None] + (np.cumsum(steps) - 0.5 * steps)[None, :]
    fading = np.exp(-since / settings.wake_decay_s)
    eddy = settings.curtain_turbulence * np.hypot(around.forward_mps, around.down_mps)
    wake_eddy = settings.wake_turbulence * resolved.speed_mps * fading
    # the slower clock of the stronger eddies
    energy = eddy**2 + wake_eddy**2
    length = (
        eddy**2 * _EDDY_OF_WIDTH * around.half_width_m + wake_eddy**2 * _EDDY_OF_REACH * settings.wake_reach_m
    ) / energy
    keep = np.exp(-steps[None, :] * np.sqrt(energy) / length)
    height = resolved.height_m
    lowest = min(0.5 * wake.spacing_m, height + wake.above_m)
    table[:, :, k.U] = around.forward_mps
    table[:, :, k.W] = around.down_mps
    table[:, :, k.PER_B2] = around.half_width_m**-2.0
    table[:, :, k.FRONT] = around.front_m
    table[:, :, k.EDDY] = eddy
    table[:, :, k.KEEP] = keep
    table[:, :, k.RENEW] = np.sqrt(1.0 - keep**2)
    table[:, :, k.DRY] = 1.0 - around.moistened
    table[:, :, k.SWIRL] = wake.circulation_m2_per_s / (2.0 * math.pi) * fading
    # a pair near the ground stops sinking and draws apart: it is held half its spacing high
    table[:, :, k.PAIR] = np.minimum(wake.descent_mps * since - wake.above_m, height - lowest)
    table[:, :, k.WAKE_EDDY] = wake_eddy
    return table
