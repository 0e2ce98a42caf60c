"""What is flown beside the legs: the fill, the final to it and the climb away, the drop pass, the turns.

Everything is taken from the class (speeds, fill, run) and from geometry. `overhead_s` adds it up for the
plainest circuit, lane and run in line with the leg out and two half turns; what a class's own figure for a
circuit has beyond that is the joining: looking, talking, slowing down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.aircraft import phases
from wetline.circuits.legs import LOADED, quantity_of
from wetline.circuits.way_out import STRAIGHT_S, turn_radius_m
from wetline.grid import along
from wetline.units import KNOT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.model import Limits
    from wetline.weather import Hour

    Line = NDArray[np.float64]
    Point = tuple[float, float]

__all__ = ["LIGHT_WIND_MPS", "Pattern", "approach_m", "assumed_run", "lane_line", "pattern_of"]

LIGHT_WIND_MPS = 3.0 * KNOT
"""Under this, wind does not choose the direction; common practice, no source."""
_APPROACH_M = {"dip": 500.0}  # helicopters; common practice, no source
_APPROACH_FIXED_WING_M = 1500.0  # common practice, no source
_FINAL_M = 600.0
"""Straight before and behind the water that a scooper needs; common practice, no source."""
_LEAST_RADIUS_M = 150.0
"""Helicopters turn no tighter than this with a bucket; common practice, no source."""
_RUN_STEP_DEG = 10.0
"""To how many degrees a run into the wind is known before anybody has flown it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Speeds [m/s, true, still air] and lengths of what is flown beside the legs.

    `speed_mps`: of turns and the drop pass. `final_m` before and behind the water needed, at `final_mps` and
    `climb_out_mps`. `water_m`, `water_s`: the water needed, from 15 m to 15 m.
    """

    speed_mps: float
    radius_m: float
    approach_m: float
    exit_m: float
    final_m: float
    final_mps: float
    climb_out_mps: float
    water_m: float
    water_s: float

    @property
    def half_turn_s(self) -> float:
        """Half a turn."""
        return math.pi * self.radius_m / self.speed_mps

    @property
    def pass_s(self) -> float:
        """Approach, drop and exit."""
        return (self.approach_m + self.exit_m) / self.speed_mps

    @property
    def again_s(self) -> float:
        """Another pass after one without a drop: round and over it again."""
        return 2.0 * (self.half_turn_s + self.pass_s)

    def least_slow(self) -> tuple[float, float]:
        """Length [m] and time [s] of what no circuit can do without and none flies at cruise.

        A run may have a light wind behind it.
        """
        turns_s = 2.0 * self.half_turn_s
        air_s = self.final_m / self.final_mps + self.final_m / self.climb_out_mps
        flown_m = self.water_m + 2.0 * self.final_m + self.approach_m + self.exit_m
        pass_s = (self.approach_m + self.exit_m) / (self.speed_mps + LIGHT_WIND_MPS)
        return flown_m + turns_s * self.speed_mps, self.water_s + air_s + pass_s + turns_s

    def overhead_s(self, cruise_mps: float) -> float:
        """All but the legs of the plainest circuit, the legs counted over the whole distance at cruise."""
        air_s = self.final_m / self.final_mps + self.final_m / self.climb_out_mps
        flown_s = self.water_s + air_s + self.pass_s + 2.0 * self.half_turn_s
        # Approach and climb-out lie on the leg out; exit and final lengthen the leg back.
        return flown_s - (self.approach_m - self.exit_m) / cruise_mps


def approach_m(cls: AircraftClass) -> float:
    """How long a drop's approach is flown straight [m]."""
    return _APPROACH_M.get(cls.fills, _APPROACH_FIXED_WING_M)


def pattern_of(cls: AircraftClass, limits: Limits, *, density_altitude_m: float | None) -> Pattern | None:
    """The pattern of a scooper; None where its class lacks the water it needs, its fill or its drop speed.

    Times are those of still air: a headwind on the lane shortens the run, not the time.
    """
    drop, fill, run = cls.get("drop_speed_kt"), cls.get("fill_time_s"), cls.get("fill_run_m")
    water = phases(
        cls,
        density_altitude_m or 0.0,
        approach_slope=limits.value("approach_gradient_available"),
        climb_slope=limits.value("climb_gradient_available"),
    )
    if drop is None or fill is None or run is None or water is None:
        return None
    on_step_mps = water.fill_m / fill.si()
    touch, lift = cls.get("touchdown_speed_kt"), cls.get("liftoff_speed_kt")
    final_mps = on_step_mps if touch is None else touch.si()
    climb_out_mps = on_step_mps if lift is None else lift.si()
    return Pattern(
        speed_mps=drop.si(),
        radius_m=turning_radius_m(cls, limits),
        approach_m=approach_m(cls),
        exit_m=STRAIGHT_S * drop.si(),
        final_m=_FINAL_M,
        final_mps=final_mps,
        climb_out_mps=climb_out_mps,
        water_m=water.needed_m.middle,
        water_s=fill.si()
        + (water.settle_m + water.lift_m) / on_step_mps
        + water.descent_m / final_mps
        + water.climb_m / climb_out_mps,
    )


def turning_radius_m(cls: AircraftClass, limits: Limits) -> float:
    """Radius [m] of a circuit's turns: at drop speed with the bank of the limits."""
    speed = quantity_of(cls, "drop_speed_kt", *LOADED).si()
    return max(turn_radius_m(speed, limits.value("turn_bank_deg")), _LEAST_RADIUS_M)


def lane_line(strip: tuple[Point, Point]) -> Line:
    """What is flown over a lane: final, the water needed, climb away, float64[4, 2] [m]."""
    start, end = np.array(strip[0]), np.array(strip[1])
    ahead = _FINAL_M * (end - start) / float(np.hypot(*(end - start)))
    return np.vstack((start - ahead, start, end, end + ahead))


def assumed_run(cls: AircraftClass, target: Point, course_deg: float, hour: Hour | None) -> Line:
    """A run over the target before one is chosen: into the wind, in a light one straight on from the leg out.

    Approach, release, exit, float64[3, 2] [m].
    """
    blows = hour is not None and hour.wind_mps > LIGHT_WIND_MPS
    heading = hour.wind_from_deg if hour is not None and blows else course_deg
    ahead = np.array(along(round(heading / _RUN_STEP_DEG) * _RUN_STEP_DEG))
    exit_m = STRAIGHT_S * quantity_of(cls, "drop_speed_kt", *LOADED).si()
    here = np.array(target)
    return np.vstack((here - approach_m(cls) * ahead, here, here + exit_m * ahead))
