"""How much of a head's rate wind and slope make."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wetline.behaviour.rothermel import SurfaceSpread

__all__ = ["wind_and_slope_share"]


def wind_and_slope_share(spread: SurfaceSpread, wind_toward_deg: float) -> tuple[float, float]:
    """Parts of the head rate that wind and slope push along the head's own direction.

    The rest is the rate without either; a part is negative where it holds the fire back. `wind_toward_deg`:
    where the wind blows to, clockwise from upslope.
    """
    base = spread.no_wind_rate_mps / spread.rate_mps if spread.rate_mps > 0.0 else 0.0
    across = math.cos(math.radians(wind_toward_deg - spread.toward_deg))
    upward = math.cos(math.radians(spread.toward_deg))
    return base * spread.wind_factor * across, base * spread.slope_factor * upward
