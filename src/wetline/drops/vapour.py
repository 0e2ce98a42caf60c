"""How fast falling drops dry, and how much of the air's thirst their own vapour leaves to the others."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.drag import SIZE_COUNT, SIZE_STEP_M
from wetline.drops.fall import wind_at_height_mps
from wetline.drops.spectrum import sizes_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.drag import DropDrag
    from wetline.drops.droplet_settings import DropletSettings
    from wetline.drops.moist_air import MoistAir
    from wetline.drops.parcels import Groups
    from wetline.drops.release import Resolved

__all__ = ["REFERENCE_DEFICIT", "drying_by_size", "dryness", "loss_m2_per_s", "reach_m"]

_CLASSES = 24
_FASTEST_DRYING_PER_S = 0.5  # drops that are gone in two seconds
REFERENCE_DEFICIT = 1e-3
"""Vapour deficit [kg/m³] for which `reach_m` is told."""


def drying_by_size(
    resolved: Resolved, drag: DropDrag, air: MoistAir, settings: DropletSettings
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Diameters [m] of equal shares of volume, and the share of each that dries in a second of fall."""
    share = (np.arange(_CLASSES) + 0.5) / _CLASSES
    spectrum = resolved.liquid.median_mm.middle, resolved.liquid.exponent, settings.largest_mm
    sizes = sizes_m(share, *spectrum)
    loss = loss_m2_per_s(resolved, air) * _sherwood(sizes, drag, air)
    return sizes, np.minimum(1.5 * loss / sizes**2, _FASTEST_DRYING_PER_S)


def loss_m2_per_s(resolved: Resolved, air: MoistAir) -> float:
    """d(d²)/dt over the Sherwood number: 4 D Δρ_v/ρ_l."""
    return 4.0 * air.diffusivity_m2_per_s * air.deficit_kg_per_m3 / resolved.liquid.density_kg_per_m3


def _sherwood(sizes_m: NDArray[np.float64], drag: DropDrag, air: MoistAir) -> NDArray[np.float64]:
    """Sh = 2 + 0.6 Re^½ Sc^⅓ at terminal speed; Ranz and Marshall 1952 (from memory)."""
    reynolds = air.density_kg_per_m3 * drag.terminal(sizes_m) * sizes_m / air.viscosity_pa_s
    return np.asarray(2.0 + 0.6 * np.sqrt(reynolds) * air.schmidt ** (1.0 / 3.0), float)


def dryness(
    resolved: Resolved,
    groups: Groups,
    drag: DropDrag,
    air: MoistAir,
    sizes: NDArray[np.float64],
    drying: NDArray[np.float64],
    spread_m: float,
) -> NDArray[np.float64]:
    """Share of the vapour deficit that is left for drops of each size in the long fall.

    Larger drops go first and leave their vapour in the air through which smaller ones fall. In a wind
    they fall apart from each other, on the mean by half of how far their drifts differ. The vapour stays
    in the air, so that a metre is one flown through the air.
    """
    if air.deficit_kg_per_m3 <= 0.0:
        return np.zeros_like(sizes)
    speed = drag.terminal(sizes)
    mean_wind = wind_at_height_mps(1.0, 0.5 * resolved.height_m) * abs(resolved.wind_right_mps)
    drift = mean_wind * resolved.height_m / speed
    kg_per_m = 1e-3 * resolved.liquid.density_kg_per_m3 * float(groups.l_per_s.mean()) / resolved.speed_mps
    shed = np.zeros_like(sizes)  # kg of vapour in a metre of fall for each kg a metre flown
    dry = np.ones_like(sizes)
    for i in range(sizes.size - 1, -1, -1):
        apart = 0.5 * (drift[i] - drift[i:])
        width = 2.0 * math.sqrt(math.pi) * np.sqrt(spread_m**2 + apart**2)
        own = drying[i] / speed[i] / sizes.size
        before = float(np.sum(shed[i:] / width)) * kg_per_m / air.deficit_kg_per_m3
        half = 0.5 * own / width[0] * kg_per_m / air.deficit_kg_per_m3
        dry[i] = max(1.0 - before, 0.0) / (1.0 + half)
        shed[i] = own * dry[i]
    return dry


def reach_m(resolved: Resolved, drag: DropDrag, air: MoistAir) -> NDArray[np.float64]:
    """Fall [m] in which drops of each tabulated size dry up under the reference deficit: ∫ v dd/|dd/dt|."""
    fine = 5
    d = np.asarray(SIZE_STEP_M / fine * np.arange(1, (SIZE_COUNT - 1) * fine + 1), float)
    loss = 4.0 * air.diffusivity_m2_per_s * REFERENCE_DEFICIT / resolved.liquid.density_kg_per_m3
    slope = np.concatenate([[0.0], drag.terminal(d) * 2.0 * d / (loss * _sherwood(d, drag, air))])
    whole = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * (SIZE_STEP_M / fine))])
    return np.ascontiguousarray(whole[::fine])
