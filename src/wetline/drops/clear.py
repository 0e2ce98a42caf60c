"""Who must stand clear of a load, and how far: to the sides, ahead of it and behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.drops.danger import stand_off_m

if TYPE_CHECKING:
    from wetline.drops.release import Resolved
    from wetline.drops.result import Fall
    from wetline.model import Limits

__all__ = ["StandClear", "stand_clear"]


@dataclass(frozen=True, slots=True)
class StandClear:
    """Distances [m]: `sides` from the line of the run, the others from the middle of the pattern along it.

    `ahead`: where the aircraft flies to. Drift is in them where a wind is told, else it comes on top.
    """

    sides_m: float
    ahead_m: float
    behind_m: float


def stand_clear(resolved: Resolved, fall: Fall, half_width_m: float, limits: Limits) -> StandClear:
    """The stand-off of the class beyond all that may be wetted, at the far end of every band.

    A load may land as far from its target as the release is uncertain: throw, drift, height and speed.
    """
    apart, drift, release = (
        stand_off_m(resolved.class_id, 0.0, limits),
        fall.drift_right_m,
        fall.release_along_m,
    )
    most = max(abs(drift.middle if end is None else end) for end in (drift.low, drift.high))
    half = 0.5 * max(fall.size.length_m, fall.levels["0.5"].line_m.high or 0.0)
    farther = release.middle - (release.middle if release.low is None else release.low)
    shorter = (release.middle if release.high is None else release.high) - release.middle
    return StandClear(
        sides_m=max(apart, half_width_m + most - abs(drift.middle)),
        ahead_m=half + farther + apart,
        behind_m=half + shorter + apart,
    )
