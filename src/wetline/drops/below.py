"""What reaches those below: how much is still an unbroken column, and from where it falls vertically."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.column import column
from wetline.drops.danger import safe_height_m
from wetline.drops.varied import joined, varied
from wetline.model import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.release import Resolved

__all__ = ["Below", "below"]


@dataclass(frozen=True, slots=True)
class Below:
    """At the top of canopy or obstacle, from this tool's own column.

    `vertical_fall_m`: height of the tank above which 90 % of the load falls steeper than forward/down 0.2;
    an infinite end: no height does. `published_m`: the published safe height, None for the tanks that it
    was not made for. `intact_share`: of the load [0 to 1], still an unbroken column.
    """

    height_m: float
    vertical_fall_m: Band
    published_m: float | None
    intact_share: Band

    @property
    def falls_vertically(self) -> bool | None:
        """Whether it does from this height; None where the band or the two heights do not agree."""
        low, high = self.vertical_fall_m.low or 0.0, self.vertical_fall_m.high or math.inf
        if self.height_m < low:
            return False
        return True if self.height_m >= max(high, self.published_m or 0.0) else None

    @property
    def core_intact(self) -> bool | None:
        """Whether part of the load arrives unbroken; None where the band does not tell."""
        if (self.intact_share.low or 0.0) > 0.0:
            return True
        return None if (self.intact_share.high or 0.0) > 0.0 else False


def below(resolved: Resolved) -> Below:
    """Vertical fall and what is left of the column, with airspeed and flow varied.

    The column of the peak flow goes deepest: the rest of the load breaks up higher.
    """
    speed, peak = varied("speed_share"), resolved.flow.peak_l_per_s
    cases = [(1.0, 1.0), (speed.low, 1.0), (speed.high, 1.0)]
    cases += [
        (1.0, resolved.duration_s / time) for time in (resolved.duration_low_s, resolved.duration_high_s)
    ]
    found = [column(peak * flow, resolved.speed_mps * share, resolved.liquid) for share, flow in cases]
    depths = np.array([c.vertical_depth_m for c in found])
    intact = np.array([float(c.intact_share(resolved.height_m)) for c in found])
    share = joined(intact)
    made_for = resolved.mode == "salvo" and not resolved.class_id.startswith("single_engine")
    return Below(
        height_m=resolved.height_m,
        vertical_fall_m=joined(depths) if np.isfinite(depths).all() else _unbounded(depths),
        published_m=safe_height_m(resolved.load_l, resolved.flow_l_per_s) if made_for else None,
        intact_share=Band(share.middle, max(share.low or 0.0, 0.0), min(share.high or 0.0, 1.0)),
    )


def _unbounded(depths: NDArray[np.float64]) -> Band:
    """Some case never falls vertically: its end of the band has no bound."""
    return Band(float(depths[0]), float(depths.min()), math.inf)
