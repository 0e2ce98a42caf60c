"""How far height, speed and wind at the drop may be from what is told, and the bands that follow."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from wetline.drops.fall import wind_at_height_mps
from wetline.drops.planning import settings_of
from wetline.drops.resolve import LEAST_GROUND_SPEED_MPS

if TYPE_CHECKING:
    from wetline.drops.planning import Setting
    from wetline.drops.release import Resolved

__all__ = ["FLOWN_FROM", "flown_otherwise", "varied"]

FLOWN_FROM = (
    "height, airspeed, wind and its direction, drop size and forward throw moved alone to the ends of their "
    "ranges, the changes joined as the root of the sum of their squares"
)


def varied(name: str) -> Setting:
    """A range by name, from `drop/varied`."""
    return settings_of("drop/varied")[name]


def flown_otherwise(resolved: Resolved) -> list[Resolved]:
    """The release at the low and the high end of height, airspeed, wind and its direction.

    Without wind the last two are left out. The speed over the ground follows; the flow stays.
    """
    height, speed = varied("height_share"), varied("speed_share")
    heights = [replace(resolved, height_m=resolved.height_m * share) for share in (height.low, height.high)]
    out = [_flown(other, resolved.speed_mps, 1.0, 0.0) for other in heights]
    out += [_flown(resolved, resolved.speed_mps * share, 1.0, 0.0) for share in (speed.low, speed.high)]
    if resolved.wind_along_mps or resolved.wind_right_mps:
        wind, turn = varied("wind_share"), varied("wind_turn_deg")
        out += [_flown(resolved, resolved.speed_mps, share, 0.0) for share in (wind.low, wind.high)]
        out += [_flown(resolved, resolved.speed_mps, 1.0, angle) for angle in (turn.low, turn.high)]
    return out


def _flown(resolved: Resolved, speed_mps: float, wind_share: float, turn_deg: float) -> Resolved:
    """Another airspeed and wind; the ground speed moves by the change of airspeed and along-wind.

    A crew flies faster where the wind would carry the run sideways or backwards.
    """
    turn = math.radians(turn_deg)
    along, right = resolved.wind_along_mps * wind_share, resolved.wind_right_mps * wind_share
    turned = along * math.cos(turn) - right * math.sin(turn), along * math.sin(turn) + right * math.cos(turn)
    at_tank = wind_at_height_mps(1.0, resolved.height_m)
    onward_mps = LEAST_GROUND_SPEED_MPS + max(-turned[0] * at_tank, 0.0)
    airspeed_mps = max(speed_mps, math.hypot(turned[1] * at_tank, onward_mps))
    tail_mps = (turned[0] - resolved.wind_along_mps) * at_tank
    ground_mps = resolved.ground_speed_mps + airspeed_mps - resolved.speed_mps + tail_mps
    return replace(
        resolved,
        speed_mps=airspeed_mps,
        ground_speed_mps=max(ground_mps, LEAST_GROUND_SPEED_MPS),
        wind_along_mps=turned[0],
        wind_right_mps=turned[1],
    )
