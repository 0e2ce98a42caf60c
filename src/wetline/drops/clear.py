"""Who must stand clear of a load, and how far: to the sides, ahead of it and behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.danger import stand_off_m
from wetline.units import FOOT

if TYPE_CHECKING:
    from wetline.drops.release import Resolved
    from wetline.drops.result import Fall
    from wetline.model import Limits

__all__ = ["StandClear", "stand_clear"]

_TALLEST_TOPPLED_FT = 90.0  # interagency safety alert 2019 (public copy)
_TAIL = 0.00135
"""The share of a load beyond three spreads of a Gaussian at one end, as for the sides of a pattern (derived)."""
_WAKE = (
    "The wake of wings and rotors sinks and drifts downwind, gusts of 25 mph (11 m/s) and more: where it "
    "reaches the ground the fire can flare up. How far it carries is not known (NWCG glossary, public copy)."
)
_DOWNHILL = (
    "More room downhill, for stones and logs roll, and for larger helicopters (NWCG 6 Minutes for Safety)."
)
_NO_WIND = "No wind is told: the drift is not known and comes on top."
_WHOLE_WAY = "The distance to the sides holds along approach and exit too."


@dataclass(frozen=True, slots=True)
class StandClear:
    """Distances [m]: `sides` from the line of the run, the others from the middle of the pattern along it.

    `ahead`: where the aircraft flies to. Drift is in them where a wind is told, else it comes on top.
    `notes`: what is not in them.
    """

    sides_m: float
    ahead_m: float
    behind_m: float
    notes: tuple[str, ...]


def stand_clear(resolved: Resolved, fall: Fall, limits: Limits) -> StandClear:
    """The stand-off of the class beyond all that may be wetted, at the far end of every band.

    A load may land as far from its target as the release is uncertain: throw, drift, height and speed.
    Trees at the edge of what is wetted may be brought down and fall outward.
    """
    apart, drift, release = (
        stand_off_m(resolved.class_id, 0.0, limits, canopy_m=resolved.canopy_m),
        fall.drift_right_m,
        fall.release_along_m,
    )
    most = max(abs(drift.middle if end is None else end) for end in (drift.low, drift.high))
    behind, ahead = _ends_m(fall)
    half = 0.5 * (fall.levels["0.5"].line_m.high or 0.0)
    farther = release.middle - (release.middle if release.low is None else release.low)
    shorter = (release.middle if release.high is None else release.high) - release.middle
    return StandClear(
        sides_m=stand_off_m(
            resolved.class_id,
            fall.half_width_m + most - abs(drift.middle),
            limits,
            canopy_m=resolved.canopy_m,
        ),
        ahead_m=max(ahead, half) + farther + apart,
        behind_m=max(behind, half) + shorter + apart,
        notes=(
            _trees(resolved.canopy_m),
            *(() if resolved.wind_known else (_NO_WIND,)),
            _WHOLE_WAY,
            _DOWNHILL,
            _WAKE,
        ),
    )


def _ends_m(fall: Fall) -> tuple[float, float]:
    """How far behind and ahead of the middle of the pattern [m] a load lies, gaps and thin ends included."""
    raster = fall.raster
    gone = np.cumsum(raster.coverage_l_per_m2.sum(axis=1))
    at = raster.along_m + fall.release_along_m.middle
    if gone[-1] <= 0.0:  # all of it dries on the way
        return -float(at[0]), float(at[-1])
    first, last = np.searchsorted(gone, [_TAIL * gone[-1], (1.0 - _TAIL) * gone[-1]])
    return -float(at[first]), float(at[last])


def _trees(canopy_m: float | None) -> str:
    tall = f"loads have brought down trees of {_TALLEST_TOPPLED_FT:g} ft ({_TALLEST_TOPPLED_FT * FOOT:.0f} m)"
    if canopy_m is None:
        return (
            f"Trees are not counted, their height is not known: {tall} (interagency alert 2019, public copy)."
        )
    if canopy_m == 0.0:
        return (
            f"No trees are told to stand here: where some do, {tall} (interagency alert 2019, public copy)."
        )
    return f"A tree of {canopy_m:g} m is counted: {tall} (interagency alert 2019, public copy)."
