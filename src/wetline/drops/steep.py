"""How deep under the tank a load falls steeply: drops of the median, let go layer by layer."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.curtain import curtain, layers_of, steps_s

if TYPE_CHECKING:
    from wetline.drops.column import Column
    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.liquid import Liquid

__all__ = ["STEEP", "STEEP_SHARE", "steep_depth_m"]

STEEP = 0.2
"""Forward over down under which a drop falls steeply."""
STEEP_SHARE = 0.9
"""Of the load that must fall so."""
_GRAVITY = 9.81
_DRAG = 0.6  # of a drop of some millimetres, flattened; from memory
_LAYERS = 40
_LONGEST_S = 20.0
_LEAST_MPS = 1.0  # a hovering aircraft lays its curtain no thicker than this speed would
_EDGE = 0.25  # thickness of the curtain's lower edge over its half width


def steep_depth_m(
    column: Column,
    flow_l_per_s: float,
    speed_mps: float,
    liquid: Liquid,
    air_kg_per_m3: float,
    settings: DropletSettings,
) -> float:
    """Depth [m] below which 90 % of the load falls steeper than forward/down 0.2; inf if it never does.

    Drops leave the column with its speed and keep to the mean air of their curtain until they fall
    out of it. Without wake and eddies, in calm air.
    """
    if column.unbroken[-1] > 1.0 - STEEP_SHARE:
        return math.inf
    litres_per_m = flow_l_per_s / max(speed_mps, _LEAST_MPS)
    layers = layers_of(column, _LAYERS, litres_per_m, liquid.density_kg_per_m3, settings.shelter)
    steps = steps_s(_LONGEST_S)
    air = curtain(
        layers, steps, air_kg_per_m3=air_kg_per_m3, deficit_kg_per_m3=0.0, loss_per_s=0.0, settings=settings
    )
    forward, down, depth = layers.forward_mps, layers.down_mps, layers.depth_m
    per_m = 0.75 * _DRAG * air_kg_per_m3 / (liquid.density_kg_per_m3 * 1e-3 * liquid.median_mm.middle)
    found = np.where(forward < STEEP * down, depth, np.inf)
    for j, step in enumerate(steps):
        beyond = np.maximum(depth - air.front_m[:, j], 0.0) / (_EDGE * air.half_width_m[:, j])
        inside = np.exp(-(beyond**2))
        ahead, sinking = inside * air.forward_mps[:, j], inside * air.down_mps[:, j]
        rate = per_m * np.hypot(forward - ahead, down - sinking) + 1e-9
        keep = np.exp(-rate * step)
        settled = sinking + _GRAVITY / rate
        depth = depth + settled * step + (down - settled) * (1.0 - keep) / rate
        forward = ahead + (forward - ahead) * keep
        down = settled + (down - settled) * keep
        found = np.where(np.isinf(found) & (forward < STEEP * down), depth, found)
    return float(np.quantile(found, STEEP_SHARE, method="higher"))
