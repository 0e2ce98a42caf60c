"""From the wind at 10 m to the wind at midflame height."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import OutsideRangeError
from wetline.units import FOOT

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["CROWN_RATIO_ASSUMED", "TEN_METRE_OVER_TWENTY_FOOT", "wind_adjustment"]

TEN_METRE_OVER_TWENTY_FOOT = 1.15
"""Wind at 10 m over wind at 20 ft (Turner and Lawson 1978, BC-X-177, as given at firewords.net)."""

CROWN_RATIO_ASSUMED = 0.5
"""Crown length over tree height where the canopy's base is unknown (common practice, no source)."""

_SHELTERED_FROM_FILL = 0.05  # Andrews 2012, RMRS-GTR-266, from memory


def wind_adjustment(
    depth_m: ArrayLike,
    canopy_cover: ArrayLike | None = None,
    canopy_height_m: ArrayLike | None = None,
    crown_ratio: ArrayLike = CROWN_RATIO_ASSUMED,
) -> NDArray[np.float64]:
    """Midflame wind over 20-ft wind.

    `depth_m`: depth of the fuel bed [m, > 0]. `canopy_cover`: fraction 0-1. `canopy_height_m` [m].
    `crown_ratio`: crown length over tree height, 0-1. Scalars or arrays of one shape. Under a canopy
    whose crowns fill more than 5 % of its space (`crown_ratio * cover / 3`, conical crowns) the
    sheltered form holds; it diverges over low bushes, so trees must overtop the bed and the lower of the
    two forms is taken. Without cover or height (None or NaN) there is no shelter: the faster fire.

    Raises
    ------
    OutsideRangeError
        If a depth is not within 0 to 10 m, a height within 0 to 120 m, or a cover or crown ratio within 0 to 1.

    References
    ----------
    Albini and Baughman 1979, INT-221; Andrews 2012, RMRS-GTR-266 (from memory).
    """
    depth_ft = _within("depth_m", depth_m, 1e-3, 10.0, "m") / FOOT
    open_ground = 1.83 / np.log((20.0 + 0.36 * depth_ft) / (0.13 * depth_ft))
    if canopy_cover is None or canopy_height_m is None:
        return open_ground
    fill = _within("crown_ratio", crown_ratio, 0.0, 1.0, "") / 3.0
    fill = fill * _within("canopy_cover", canopy_cover, 0.0, 1.0, "")
    stand_ft = _within("canopy_height_m", canopy_height_m, 0.0, 120.0, "m") / FOOT
    under = (fill > _SHELTERED_FROM_FILL) & (stand_ft > depth_ft)  # False where NaN
    fill, stand_ft = np.where(under, fill, 1.0), np.where(under, stand_ft, 1.0)
    profile = np.log((20.0 + 0.36 * stand_ft) / (0.13 * stand_ft))
    return np.where(under, np.minimum(open_ground, 0.555 / (np.sqrt(fill * stand_ft) * profile)), open_ground)


def _within(field: str, value: ArrayLike, low: float, high: float, unit: str) -> NDArray[np.float64]:
    """The value as an array; NaN passes."""
    array = np.asarray(value, float)
    wrong = (array < low) | (array > high)
    if np.any(wrong):
        worst = float(array[wrong].flat[0])
        raise OutsideRangeError(field=field, value=worst, low=low, high=high, unit=unit)
    return array
