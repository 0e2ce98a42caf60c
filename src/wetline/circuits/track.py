"""A way round as points with their heights and the phase flown to each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from wetline.circuits.joint import Joint
    from wetline.circuits.racetrack import RaceTrack

    Line = NDArray[np.float64]
    Point = tuple[float, float]

__all__ = ["SCREEN_M", "Levels", "Phase", "TrackPoint", "track_points"]

Phase = Literal["final", "fill", "climb_out", "turn", "out", "approach", "exit", "back"]

SCREEN_M = 15.0
"""Height over the water at both ends of the length a scooper needs, as the classes' tables state it."""


@dataclass(frozen=True, slots=True)
class TrackPoint:
    """A point of a circuit's track (x, y) [m], and the phase that is flown to it.

    `height_amsl_m`: None where the ground on the way is not known.
    """

    x: float
    y: float
    height_amsl_m: float | None
    phase: Phase


class Levels(NamedTuple):
    """Heights [m above sea level] of a way round, None where not known.

    `screen_m`: at both ends of the water; `climb_out_m`, `final_m`: at the far ends of the straights behind and
    before it; `out_m`, `back_m`: on the legs; `run_m`: on the drop run.
    """

    screen_m: float | None
    climb_out_m: float | None
    out_m: float | None
    run_m: float | None
    back_m: float | None
    final_m: float | None


def track_points(
    way: RaceTrack, *, strip: tuple[Point, Point] | None, release: Point, levels: Levels
) -> tuple[TrackPoint, ...]:
    """The closed track from the water round to it again, the first point also the last.

    `strip`: where the water needed begins and ends (x, y) [m], None for a source without a heading.
    `release`: on the drop run (x, y) [m].
    """
    found = list(_at_source(way.fill, strip, levels))
    found += _joined(way.out, "out", before_m=levels.climb_out_m, leg_m=levels.out_m, after_m=levels.out_m)
    found += _at_target(way.strike, release, levels)
    found += _joined(way.back, "back", before_m=levels.back_m, leg_m=levels.back_m, after_m=levels.final_m)
    first = way.fill[0]
    return *found, TrackPoint(float(first[0]), float(first[1]), levels.final_m, "turn")


def _points(xy: Iterable[Line], height_m: float | None, phase: Phase) -> Iterator[TrackPoint]:
    for x, y in xy:
        yield TrackPoint(float(x), float(y), height_m, phase)


def _nearest(line: Line, point: Point) -> int:
    return int(np.argmin(np.hypot(*(line - np.array(point)).T)))


def _at_source(fill: Line, strip: tuple[Point, Point] | None, levels: Levels) -> Iterator[TrackPoint]:
    if strip is None:
        yield from _points(fill, levels.screen_m, "fill")
        return
    begin = _nearest(fill, strip[0])
    end = begin + 1
    yield from _points(fill[:begin], levels.final_m, "turn")
    yield from _points(fill[begin:end], levels.screen_m, "final")
    yield from _points(fill[end : end + 1], levels.screen_m, "fill")
    yield from _points(fill[end + 1 : end + 2], levels.climb_out_m, "climb_out")
    yield from _points(fill[end + 2 :], levels.climb_out_m, "turn")


def _at_target(strike: Line, release: Point, levels: Levels) -> Iterator[TrackPoint]:
    at = _nearest(strike, release)
    yield from _points(strike[:at], levels.out_m, "turn")
    yield from _points(strike[at : at + 1], levels.run_m, "approach")
    yield from _points(strike[at + 1 : at + 2], levels.run_m, "exit")
    yield from _points(strike[at + 2 :], levels.back_m, "turn")


def _joined(
    joint: Joint,
    phase: Literal["out", "back"],
    *,
    before_m: float | None,
    leg_m: float | None,
    after_m: float | None,
) -> Iterator[TrackPoint]:
    """The joint between two straights, whose own ends are left to them."""
    yield from _points(joint.first_xy(), before_m, "turn")
    yield from _points([np.array(joint.on)], leg_m, phase)
    yield from _points(joint.last_xy()[:-1], after_m, "turn")
