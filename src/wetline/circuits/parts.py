"""The parts of a cycle: each with its seconds, their band, and what they come from.

Where the way round is known (a lane with its ends) the parts are flown: fill, turns, drop pass and legs from
geometry and the class's speeds, and the joining that the class's own figure for a circuit has beyond its
plainest one. Where it is not, that figure stands for all but the legs, half of it at each end: an assumption
that moves the minute of a drop, not the length of the cycle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.circuits.legs import LOADED, Leg, quantity_of, steep_descent_s
from wetline.circuits.spread import band, leg_members_s
from wetline.units import FOOT, KNOT, MINUTE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.circuits.pattern import Pattern
    from wetline.circuits.racetrack import RaceTrack
    from wetline.circuits.spread import Draws, Overhead
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = ["Part", "Piece", "Where", "flown_pieces", "leg_pieces", "plain_pieces"]

Where = Literal["ground", "source", "out", "target", "back"]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a cycle in the order flown, and why it takes that long. No `high`: it may not be flyable."""

    name: str
    seconds: float
    low: float | None
    high: float | None
    because: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A part with the members behind its band [s], and the place where it is flown."""

    name: str
    where: Where
    seconds: float
    members: NDArray[np.float64]
    because: str

    def part(self) -> Part:
        """The part as it is told."""
        ends = band(self.seconds, self.members)
        return Part(self.name, self.seconds, ends.low, ends.high, self.because)


def plain_pieces(
    cls: AircraftClass, overhead: Overhead, draws: Draws, legs: Iterable[Piece], *, go_rounds: float
) -> list[Piece]:
    """The pieces where the class's own figure stands for all but the legs."""
    air_s = overhead.air.si()
    half_s = (air_s - overhead.fill_s) / 2.0
    what = f"half of the class's {overhead.air.value:g} min for all but the legs"
    what += ", the fill taken off" if overhead.fill_s > 0.0 else ""
    again_s = air_s - overhead.fill_s
    fill_members = np.full_like(draws.air, overhead.fill_s)
    half_members = (air_s * draws.air - overhead.fill_s) / 2.0
    pieces = []
    if overhead.ground is not None:
        ground_s = overhead.ground.si()
        words = (
            f"landing to take-off with a new load: {overhead.ground.value:g} min ({overhead.ground.source})"
        )
        pieces.append(Piece("on the ground", "ground", ground_s, ground_s * draws.ground, words))
    if overhead.fill_s > 0.0:
        words = f"{overhead.fill_s:g} s for the class"
        pieces.append(Piece("fill", "source", overhead.fill_s, fill_members, words))
    end = "take-off and landing" if cls.fills == "base" else "joining and turning at the water"
    pieces.append(Piece(end, "source", half_s, half_members, what))
    out, back = _sides(legs)
    pieces += out
    pieces.append(Piece("joining, turning and dropping at the fire", "target", half_s, half_members, what))
    pieces += _go_round(go_rounds, again_s, 2.0 * half_members, "the same again but for the fill")
    return [*pieces, *back]


def flown_pieces(
    cls: AircraftClass,
    overhead: Overhead,
    draws: Draws,
    pattern: Pattern,
    way: RaceTrack,
    legs: Iterable[Piece],
    *,
    run_mps: float,
    go_rounds: float,
) -> list[Piece]:
    """The pieces of a way round that is known. `run_mps`: over the ground on the drop run."""
    share = draws.air
    joining_s = max(0.0, overhead.air.si() - pattern.overhead_s(quantity_of(cls, *LOADED).si()))
    beyond_m = (
        max(way.fill_m - pattern.water_m - 2.0 * pattern.final_m, 0.0),
        max(way.strike_m - pattern.approach_m - pattern.exit_m, 0.0),
    )
    turns_m = (way.out.first_m + way.back.last_m, way.out.last_m + way.back.first_m)
    near_s = pattern.final_m / pattern.final_mps + pattern.final_m / pattern.climb_out_mps
    near_s += (turns_m[0] + beyond_m[0]) / pattern.speed_mps
    turn_s = (turns_m[1] + beyond_m[1]) / pattern.speed_mps
    pass_s = pattern.pass_s * pattern.speed_mps / run_mps
    speed_kt = pattern.speed_mps / KNOT
    turned = [
        f"{turn:.0f} m of turns" + (f" and {more:.0f} m round the straight" if more >= 1.0 else "")
        for turn, more in zip(turns_m, beyond_m, strict=True)
    ]
    turned = [f"{words}, radius {pattern.radius_m:.0f} m at {speed_kt:.0f} kt" for words in turned]

    def piece(name: str, where: Where, seconds: float, because: str) -> Piece:
        return Piece(name, where, seconds, seconds * share, because)

    fill = piece(
        "fill", "source", pattern.water_s, f"{pattern.water_m:.0f} m of water, 15 m to 15 m above it"
    )
    turns = piece("final, climb-out and turns at the water", "source", near_s, turned[0])
    pieces = [fill, turns]
    words = "half of what the class's figure for a circuit has beyond fill, turns and drop pass"
    if joining_s > 0.0:
        pieces.append(piece("joining at the water", "source", joining_s / 2.0, words))
    out, back = _sides(legs)
    pieces += out
    pieces.append(piece("turns at the fire", "target", turn_s, turned[1]))
    if joining_s > 0.0:
        pieces.append(piece("joining at the fire", "target", joining_s / 2.0, words))
    length_m = pattern.approach_m + pattern.exit_m
    words = f"{length_m:.0f} m of approach, drop and exit at {run_mps / KNOT:.0f} kt over the ground"
    pieces.append(piece("drop pass", "target", pass_s, words))
    again_s = pattern.again_s
    pieces += _go_round(go_rounds, again_s, again_s * share, "round and over the run once more")
    return [*pieces, *back]


def leg_pieces(leg: Leg, draws: Draws, hour: Hour | None, limits: Limits) -> Iterator[Piece]:
    """Flight, climb and descent of one leg."""
    flight_s, speed = leg_members_s(leg, draws, hour)
    yield Piece(
        f"leg {leg.name}",
        leg.name,
        leg.distance_m / leg.ground_speed_mps,
        flight_s,
        f"{leg.distance_m / 1000.0:.1f} km at {leg.ground_speed_mps / KNOT:.0f} kt over the ground",
    )
    if leg.climb_s > 0.0:
        up_fpm = leg.climb_m / leg.climb_s * MINUTE / FOOT
        yield Piece(
            f"climb {leg.name}",
            leg.name,
            leg.climb_s,
            leg.climb_s * (draws.climb_time if leg.name == "out" else draws.climb_empty_time),
            f"{leg.climb_m:.0f} m up to the highest ground at {up_fpm:.0f} ft/min",
        )
    if leg.descent_s > 0.0:
        down_fpm = limits.value("descent_rate_fpm")
        with np.errstate(divide="ignore"):
            late_s = steep_descent_s(leg.drop_m, leg.within_m, speed, down_fpm * FOOT / MINUTE)
        yield Piece(
            f"descent {leg.name}",
            leg.name,
            leg.descent_s,
            late_s,
            f"{leg.drop_m:.0f} m down within {leg.within_m / 1000.0:.1f} km, no faster than {down_fpm:g} ft/min",
        )


def _sides(legs: Iterable[Piece]) -> tuple[list[Piece], list[Piece]]:
    every = list(legs)
    return [p for p in every if p.where == "out"], [p for p in every if p.where == "back"]


def _go_round(go_rounds: float, again_s: float, members: NDArray[np.float64], words: str) -> list[Piece]:
    if go_rounds <= 0.0:
        return []
    share = f"{go_rounds:.2f} more passes for each drop; {words}: {again_s:.0f} s"
    return [Piece("passes without a drop", "target", go_rounds * again_s, go_rounds * members, share)]
