"""The curtain of drops and the air that they drag along: layer by layer behind the column.

What the column loses at one depth shares its momentum with a sheet of air that widens as it takes
more in. Drops inside fall and fly with that air, and evaporate into it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.column import Column
    from wetline.drops.droplet_settings import DropletSettings

__all__ = ["Curtain", "Layers", "curtain", "layers_of", "steps_s"]

_GRAVITY = 9.81
_FALL_MPS = 8.0  # of the drops that hold most of the volume, Gunn and Kinzer 1949 at 3 mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """Equal shares of the load by the depth at which they leave the column: float64[layer].

    `kg_per_m2`: liquid on each square metre of the sheet that hangs under the track.
    """

    time_s: NDArray[np.float64]
    depth_m: NDArray[np.float64]
    forward_mps: NDArray[np.float64]
    down_mps: NDArray[np.float64]
    half_width_m: NDArray[np.float64]
    kg_per_m2: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curtain:
    """Air of each layer over the time since its drops left the column: float64[layer, step].

    `moistened`: share of its vapour deficit that evaporation has filled. `front_m`: depth of the lowest layer.
    """

    forward_mps: NDArray[np.float64] = field(repr=False)
    down_mps: NDArray[np.float64] = field(repr=False)
    half_width_m: NDArray[np.float64] = field(repr=False)
    moistened: NDArray[np.float64] = field(repr=False)
    front_m: NDArray[np.float64] = field(repr=False)


def steps_s(longest_s: float) -> NDArray[np.float64]:
    """Time steps [s] that grow with age, from 0.01 to 0.7 s, and end at `longest_s`."""
    steps, age = [], 0.0
    while age < longest_s - 1e-9:
        step = min(max(0.01, 0.25 * age), 0.7, longest_s - age)
        steps.append(step)
        age += step
    return np.array(steps)


def layers_of(column: Column, count: int, litres_per_m: float, density: float, shelter: float) -> Layers:
    """The column cut into `count` equal shares. `shelter`: half width of its own air over its diameter."""
    lost = 1.0 - column.unbroken
    share = np.arange(count + 1.0) / count * lost[-1]
    edges = np.interp(share, lost, column.depth_m)
    middle = 0.5 * (share[1:] + share[:-1])
    time, depth, forward, down = (
        np.interp(middle, lost, track)
        for track in (column.time_s, column.depth_m, column.forward_mps, column.down_mps)
    )
    thickness = np.maximum(np.diff(edges), 1e-3)
    return Layers(
        time_s=time,
        depth_m=depth,
        forward_mps=forward,
        down_mps=down,
        half_width_m=np.full(count, shelter * column.diameter_m),
        kg_per_m2=1e-3 * density * litres_per_m * lost[-1] / count / thickness,
    )


def curtain(
    layers: Layers,
    steps: NDArray[np.float64],
    *,
    air_kg_per_m3: float,
    deficit_kg_per_m3: float,
    loss_per_s: float,
    settings: DropletSettings,
) -> Curtain:
    """Momentum, width and vapour of each layer's air. `loss_per_s`: share of its liquid that dries in a second.

    (M + 2 b ρ) d(u)/dt = −2 ρ (db/dt) u, with gravity on the liquid M that is still in it, and
    db/dt = E |u|: air is drawn in in proportion to speed (Morton, Taylor and Turner 1956, from memory).
    """
    count = layers.time_s.size
    forward, down, width, wet = (np.zeros((count, steps.size)) for _ in range(4))
    sinking = np.zeros((count, steps.size))
    b = layers.half_width_m.copy()
    loaded = layers.kg_per_m2 / (layers.kg_per_m2 + 2.0 * b * air_kg_per_m3)
    u, w = layers.forward_mps * loaded, layers.down_mps * loaded
    s = np.zeros(count)
    depth = layers.depth_m.copy()
    stay = 1.0 / (float(np.ptp(layers.depth_m)) / _FALL_MPS + 0.5)
    age = 0.0
    for j, step in enumerate(steps):
        dt = 0.5 * step
        for half in (0, 1):
            if half:  # parcels see the air of the middle of a step
                forward[:, j], down[:, j], width[:, j], wet[:, j], sinking[:, j] = u, w, b, s, depth
            liquid = layers.kg_per_m2 * math.exp(-stay * age)
            mass = liquid + 2.0 * b * air_kg_per_m3
            growth = settings.entrainment * np.hypot(u, w)
            slower = 1.0 / (1.0 + dt * 2.0 * air_kg_per_m3 * growth / mass)
            u *= slower
            w = (w + dt * _GRAVITY * liquid / mass) * slower
            filling = liquid * loss_per_s / (2.0 * b * deficit_kg_per_m3) if deficit_kg_per_m3 > 0.0 else 0.0
            s = (s + dt * filling) / (1.0 + dt * (filling + growth / b))
            b += dt * growth
            depth += dt * w
            age += dt
    return Curtain(
        forward_mps=forward,
        down_mps=down,
        half_width_m=width,
        moistened=wet,
        front_m=np.maximum.accumulate(np.max(sinking, axis=0))[None, :].repeat(count, axis=0),
    )
