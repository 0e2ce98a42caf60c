"""What a load does to people and trees below: the height to keep, how far to be away, what to do if caught."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.errors import OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import FOOT, US_GALLON_L

if TYPE_CHECKING:
    from wetline.model import Limits

__all__ = [
    "IF_CAUGHT",
    "IF_CAUGHT_SOURCE",
    "LARGE_CLASSES",
    "SAFETY_M",
    "SAFE_HEIGHT_SOURCE",
    "safe_height_m",
    "stand_off_m",
]

LARGE_CLASSES = frozenset({"medium_tanker", "large_tanker", "very_large_tanker"})
"""Classes that people keep the greater distance from."""
SAFETY_M = 50.0 * FOOT
"""The allowance in the published height (MTDC 0057-2317)."""
SAFE_HEIGHT_SOURCE = "US Forest Service 2000, MTDC 0057-2317 (public copy)"

IF_CAUGHT = (
    "Lie down on your face with the hard hat on and the head toward the aircraft.",
    "Hold on to something firm that will not fall; keep tools away from the body.",
    "Run only if you are certain to get out in time; keep clear of dead and damaged trees.",
    "Afterwards the ground is slippery and stones and logs roll: look up and uphill; wash retardant off.",
)
"""What somebody does who cannot get out of the way of a load."""
IF_CAUGHT_SOURCE = "NWCG 6 Minutes for Safety (public copy)"


def safe_height_m(load_l: float, flow_l_per_s: float) -> float:
    """Height [m] below which a load still moves forward and strikes, with the 50 ft of safety in it.

    S [ft] = 101 + 0.0112 L + 0.0202 P + 50, load L [US gal], peak flow P [US gal/s]. From film of full
    and partial loads; not meant for constant-flow tanks, single-engine aircraft or buckets.

    Raises
    ------
    OutsideRangeError
        If load or flow is not positive.

    References
    ----------
    US Forest Service 2000, MTDC 0057-2317 (public copy).
    """
    for field, value, unit in (("load_l", load_l, "L"), ("flow_l_per_s", flow_l_per_s, "L/s")):
        if not value > 0.0:
            raise OutsideRangeError(field=field, value=value, low=0, high=float("inf"), unit=unit)
    gallons, gallons_per_s = load_l / US_GALLON_L, flow_l_per_s / US_GALLON_L
    return (101.0 + 0.0112 * gallons + 0.0202 * gallons_per_s) * FOOT + SAFETY_M


def stand_off_m(
    class_id: str,
    pattern_half_width_m: float,
    limits: Limits | None = None,
    *,
    canopy_m: float | None = None,
) -> float:
    """How far [m] from the line of the run people must be: the limit, or the pattern where it is wider.

    Medium, large and very large tankers have their own limit. `pattern_half_width_m` holds the drift, for
    a wind that is other than expected lays the load where it was not meant to be. Trees of `canopy_m` at
    its edge may be brought down and fall outward; where their height is not known none is counted.

    Raises
    ------
    OutsideRangeError
        For a half width or a canopy below 0.
    """
    for field, value in (("pattern_half_width_m", pattern_half_width_m), ("canopy_m", canopy_m or 0.0)):
        if not value >= 0.0:
            raise OutsideRangeError(field=field, value=value, low=0, high=float("inf"), unit="m")
    limits = limits or shipped_limits()
    name = "people_stop_large_m" if class_id in LARGE_CLASSES else "people_stop_m"
    return max(limits.value(name), pattern_half_width_m + (canopy_m or 0.0))
