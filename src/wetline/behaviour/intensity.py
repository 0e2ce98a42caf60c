"""Flame length and what an intensity means for attack."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline import tables
from wetline.errors import OutsideRangeError
from wetline.units import BTU_PER_FT_S

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["attack_class", "attack_thresholds_kw_per_m", "flame_length_m"]


def flame_length_m(intensity_kw_per_m: ArrayLike) -> NDArray[np.float64]:
    """Flame length [m] of a fireline intensity [kW/m, ≥ 0].

    Coefficients differ between fuels (Alexander and Cruz 2012, doi 10.1071/WF11001).

    References
    ----------
    Byram 1959, in Forest Fire: Control and Use, in the form 0.0775 I^0.46.
    """
    return np.asarray(0.0775 * np.asarray(intensity_kw_per_m, float) ** 0.46, float)


@lru_cache(maxsize=1)
def attack_thresholds_kw_per_m() -> tuple[tuple[float, str], ...]:
    """Each class of `fuel/attack_classes` with the intensity [kW/m] from which it holds."""
    return tuple(
        (row["from_btu_per_ft_s"] * BTU_PER_FT_S / 1000.0, row["attack"])
        for row in tables.load("fuel/attack_classes").rows()
    )


def attack_class(intensity_kw_per_m: float) -> str:
    """What a fireline intensity [kW/m] leaves to attack with.

    `hand_tools` below 346, `machines_and_aircraft` to 1730, `head_doubtful` to 3459, else
    `head_ineffective`. Told by intensity alone; the flame lengths printed beside the classes are rounded.

    Raises
    ------
    OutsideRangeError
        If the intensity is negative or not a number: an unknown intensity has no class.

    References
    ----------
    Andrews and Rothermel 1982, INT-131; Fireline Handbook, appendix B.
    """
    if not 0.0 <= intensity_kw_per_m < float("inf"):
        raise OutsideRangeError(
            field="intensity_kw_per_m", value=intensity_kw_per_m, low=0.0, high=2e5, unit="kW/m"
        )
    return [name for limit, name in attack_thresholds_kw_per_m() if intensity_kw_per_m >= limit][-1]
