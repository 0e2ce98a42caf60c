"""What a load does to people and trees below: the height under which it strikes, and the way off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.errors import OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import FOOT, US_GALLON_L

if TYPE_CHECKING:
    from wetline.model import Limits

__all__ = ["LARGE_CLASSES", "safe_height_m", "stand_off_m"]

LARGE_CLASSES = frozenset({"large_tanker", "very_large_tanker"})


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
    return (101.0 + 0.0112 * gallons + 0.0202 * gallons_per_s + 50.0) * FOOT


def stand_off_m(class_id: str, pattern_half_width_m: float, limits: Limits | None = None) -> float:
    """How far [m] from the line of the run people must be: the limit, or the pattern where it is wider.

    Large and very large tankers have their own limit. `pattern_half_width_m` holds the drift, for a
    wind that is other than expected lays the load where it was not meant to be. Ahead of the line and
    downhill more is needed; trees and rocks that a load brings down are not in it.
    """
    limits = limits or shipped_limits()
    name = "people_stop_large_m" if class_id in LARGE_CLASSES else "people_stop_m"
    return max(limits.value(name), pattern_half_width_m)
