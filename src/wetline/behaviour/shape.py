"""The shape of a fire from a point: an ellipse with the ignition at its rear focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import OutsideRangeError
from wetline.units import MILE_PER_HOUR

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "LENGTH_TO_WIDTH_MAX",
    "eccentricity",
    "intensity_toward",
    "length_to_width",
    "normal_rate",
    "rate_from_ignition",
]

LENGTH_TO_WIDTH_MAX = 8.0
"""Cut of length to width (common practice, no source): the fit grows without bound beyond its data.

Reached at about 8.2 m/s effective midflame wind. A narrower fire would have slower flanks, so the cut
errs towards a larger fire; `FireFields.capped_cells` counts where it binds.
"""


def length_to_width(effective_midflame_mps: ArrayLike) -> NDArray[np.float64]:
    """Length over width of a free-burning fire, uncut; 1 in calm air.

    `effective_midflame_mps`: wind at midflame height [m/s, ≥ 0] that would drive the fire as hard on
    level ground as wind and slope together. The form is Anderson's less 0.397, so that calm gives a circle.

    References
    ----------
    Anderson 1983, INT-305, l/w = 0.936 exp(0.1147 U) + 0.461 exp(−0.0692 U), U [mi/h]; coefficients and
    the subtracted 0.397 from memory.
    """
    u = np.asarray(effective_midflame_mps, float) / MILE_PER_HOUR
    ratio = 0.936 * np.exp(0.1147 * u) + 0.461 * np.exp(-0.0692 * u) - 0.397
    return np.asarray(np.maximum(ratio, 1.0), float)  # rounding alone can go below 1, in calm air


def eccentricity(lb: ArrayLike) -> NDArray[np.float64]:
    """Eccentricity of the ellipse of a length-to-width ratio.

    Raises
    ------
    OutsideRangeError
        If a ratio is below 1.
    """
    if not np.all(np.asarray(lb) >= 1.0):
        raise OutsideRangeError(field="lb", value=float(np.min(lb)), low=1.0, high=np.inf, unit="")
    return np.asarray(np.sqrt(1.0 - 1.0 / np.asarray(lb, float) ** 2))


def rate_from_ignition(head_rate: ArrayLike, ecc: ArrayLike, angle_deg: ArrayLike) -> NDArray[np.float64]:
    """Rate of the edge along a ray from the ignition, at an angle [deg] from the head direction."""
    e = np.asarray(ecc, float)
    head = np.asarray(head_rate, float)
    return np.asarray(head * (1.0 - e) / (1.0 - e * np.cos(np.radians(angle_deg))), float)


def normal_rate(head_rate: ArrayLike, ecc: ArrayLike, angle_deg: ArrayLike) -> NDArray[np.float64]:
    """Rate of the edge along its own outward normal, at the normal's angle [deg] from the head direction.

    In the unit of `head_rate`. Limits: 0° the head rate, 180° the backing rate.

    References
    ----------
    Catchpole, de Mestre and Gill 1982, Aust. For. Res. 12:47-54.
    """
    e = np.asarray(ecc, float)
    cos = np.cos(np.radians(angle_deg))
    half_length = np.asarray(head_rate, float) / (1.0 + e)  # (head + back) / 2
    # f² cos² ψ + h² sin² ψ with h = f √(1 − e²)
    return np.asarray(half_length * (e * cos + np.sqrt(1.0 - e**2 * (1.0 - cos**2))), float)


def intensity_toward(
    head_intensity_kw_per_m: ArrayLike, ecc: ArrayLike, angle_deg: ArrayLike
) -> NDArray[np.float64]:
    """Fireline intensity [kW/m] of the edge whose outward normal lies at an angle from the head direction.

    Byram's intensity goes with the rate normal to the edge; heat per area is the same all round.

    References
    ----------
    Catchpole, de Mestre and Gill 1982, Aust. For. Res. 12:47-54.
    """
    return normal_rate(head_intensity_kw_per_m, ecc, angle_deg)
