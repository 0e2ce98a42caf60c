"""A way round from a source over a run and back, as a sketch: straights joined by turns of one radius.

Shortest curves of bounded curvature between two headings (Dubins 1957, Am. J. Math. 79(3):497-516):
of each leg's four ways with a straight between two turns, the pair is taken whose whole ring does not
cross itself; one that keeps out and back apart, then left-hand, where there is one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import shapely

from wetline.circuits import turn_radius_m
from wetline.grid import along, bearing_deg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.model import DropRun

    Point = tuple[float, float]
    Line = NDArray[np.float64]

__all__ = ["Turns", "Way", "leg", "way_round"]

Turns = Literal["LSL", "RSR", "LSR", "RSL"]
_TURNS: tuple[Turns, ...] = ("LSL", "RSR", "LSR", "RSL")
_LEAST_RADIUS_M = 150.0
_STEP_DEG = 12.0
_STRAIGHT_ON_M = (0.0, 2_000.0)
_U_TURNS = (0.0, -1.0, 1.0)
"""Straight on before and behind, and a turn back to the left or right: flown where no ring is found without."""
_AIMS_DEG = (0.0, 40.0, -40.0)
"""How far from straight at the run a helicopter or tanker may leave its source."""
_APART_M, _APART_SHARE = 400.0, 0.06
"""Less than this between the middles of out and back, in metres or of the leg, reads as one line."""


@dataclass(frozen=True, slots=True)
class Way:
    """The way round: its closed path, float64[n, 2] [m], the hand it turns, and its turning points."""

    path_xy: Line
    hand: Literal["left", "right"]
    turns: tuple[Point, ...]


class _Ring(NamedTuple):
    """A ring that does not cross itself; `close`: out and back lie almost on one line."""

    path_xy: Line
    hand: Literal["left", "right"]
    close: bool
    length_m: float

    @property
    def cost(self) -> tuple[bool, bool, float]:
        """Less is better: legs apart, left-hand, short."""
        return self.close, self.hand == "right", self.length_m


class _Ends(NamedTuple):
    """What is flown beyond a straight: metres before and behind it, and a turn back (−1 left, 1 right)."""

    before_m: float
    behind_m: float
    u_turn: float


def _arc(start: Line, heading_deg: float, turn_deg: float, radius_m: float) -> Line:
    """Points of a level turn after `start`; `turn_deg` > 0 to the right."""
    if abs(turn_deg) < 1e-6:
        return np.empty((0, 2))
    side = 1.0 if turn_deg > 0 else -1.0
    east, north = along(heading_deg)
    centre = start + side * radius_m * np.array([north, -east])
    headings = heading_deg + np.linspace(0.0, turn_deg, max(2, int(abs(turn_deg) / _STEP_DEG) + 2))[1:]
    out_east, out_north = along(headings)
    return np.asarray(centre + side * radius_m * np.column_stack((-out_north, out_east)), float)


def leg(
    start: Point, start_deg: float, end: Point, end_deg: float, *, radius_m: float, turns: Turns
) -> Line | None:
    """From a point on a heading to a point on a heading, ends included; None where the turns overlap."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    sides = [1.0 if turn == "R" else -1.0 for turn in (turns[0], turns[2])]
    centres = []
    for point, heading, side in ((a, start_deg, sides[0]), (b, end_deg, sides[1])):
        east, north = along(heading)
        centres.append(point + side * radius_m * np.array([north, -east]))
    step = centres[1] - centres[0]
    apart = float(np.hypot(*step))
    course = float(bearing_deg(*step))
    if sides[0] != sides[1]:
        if apart < 2.0 * radius_m:
            return None
        # The inner tangent leans off the line between the centres, away from the first turn's side.
        course += sides[0] * float(np.degrees(np.arcsin(2.0 * radius_m / apart)))
    first = sides[0] * (sides[0] * (course - start_deg) % 360.0)
    last = sides[1] * (sides[1] * (end_deg - course) % 360.0)
    first, last = (0.0 if abs(turn) > 360.0 - 1e-6 else turn for turn in (first, last))
    out = _arc(a, start_deg, first, radius_m)
    off = out[-1] if len(out) else a
    straight = np.sqrt(max(apart**2 - (4.0 * radius_m**2 if sides[0] != sides[1] else 0.0), 0.0))
    on = off + straight * np.array(along(course))
    return np.vstack((a, out, on, _arc(on, course, last, radius_m), b))


def _heading(line: Line, index: int) -> float:
    """Heading of a line's first (0) or last (-1) piece."""
    piece = line[1] - line[0] if index == 0 else line[-1] - line[-2]
    return float(bearing_deg(*piece))


def way_round(fill: Line, run: DropRun) -> Way | None:
    """Source, run and back with one hand; left where it can be. None where every way crosses itself.

    `fill`: the straight flown at the source, float64[n, 2] [m]; one point where it is left on any heading.
    """
    strike = np.vstack((run.approach, run.exit_path))
    radius_m = max(turn_radius_m(run.speed_mps), _LEAST_RADIUS_M)
    turning = [fill[-1]] if len(fill) > 1 else []
    points = tuple(_xy(p) for p in (*turning, strike[0], strike[-1]))
    first: _Ring | None = None
    for fill_ends, strike_ends in _by_effort(single=len(fill) < 2):
        found = _shortest(
            _longer(fill, fill_ends, radius_m), _longer(strike, strike_ends, radius_m), radius_m
        )
        if found is not None and not found.close:
            return Way(found.path_xy, found.hand, points)
        first = first or found
    return None if first is None else Way(first.path_xy, first.hand, points)


def _by_effort(*, single: bool) -> list[tuple[_Ends, _Ends]]:
    """What may be flown beyond source and run, least first."""
    ends = [
        _Ends(before, behind, u) for before, behind in product(_STRAIGHT_ON_M, repeat=2) for u in _U_TURNS
    ]
    both = product([_Ends(0.0, 0.0, 0.0)] if single else ends, ends)
    return sorted(both, key=lambda pair: sum(e.before_m + e.behind_m + 1_500.0 * abs(e.u_turn) for e in pair))


def _longer(line: Line, ends: _Ends, radius_m: float) -> Line:
    """A line flown straight on for longer at its ends, and back beside itself after a turn of 180°."""
    if len(line) < 2:
        return line
    ahead = np.array(along(_heading(line, -1)))
    first = line[0] - ends.before_m * np.array(along(_heading(line, 0)))
    last = line[-1] + ends.behind_m * ahead
    out = np.vstack((first, line, last))
    if ends.u_turn == 0.0:
        return out
    turned = _arc(last, _heading(line, -1), 180.0 * ends.u_turn, radius_m)
    beside_m = float(np.hypot(*(last - first))) + 2.0 * radius_m
    return np.vstack((out, turned, turned[-1] - beside_m * ahead))


def _shortest(fill: Line, strike: Line, radius_m: float) -> _Ring | None:
    """The best ring with these two straights."""
    best: _Ring | None = None
    onto_deg, off_deg = _heading(strike, 0), _heading(strike, -1)
    for away_deg, home_deg in product(*_fill_headings(fill, strike)):
        outs = [
            leg(_xy(fill[-1]), away_deg, _xy(strike[0]), onto_deg, radius_m=radius_m, turns=t) for t in _TURNS
        ]
        backs = [
            leg(_xy(strike[-1]), off_deg, _xy(fill[0]), home_deg, radius_m=radius_m, turns=t) for t in _TURNS
        ]
        for out, back in product(outs, backs):
            found = None if out is None or back is None else _closed(fill, out, strike, back)
            if found is not None and (best is None or found.cost < best.cost):
                best = found
    return best


def _xy(point: Line) -> Point:
    return float(point[0]), float(point[1])


def _fill_headings(fill: Line, strike: Line) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Headings on which the source may be left, and come to again."""
    if len(fill) > 1:
        return (_heading(fill, -1),), (_heading(fill, 0),)
    there, back = bearing_deg(*(strike[0] - fill[0])), bearing_deg(*(fill[0] - strike[-1]))
    return tuple(float(there) + a for a in _AIMS_DEG), tuple(float(back) + a for a in _AIMS_DEG)


def _closed(fill: Line, out: Line, strike: Line, back: Line) -> _Ring | None:
    """The four parts as one ring; None where it crosses itself."""
    path = np.vstack((fill, out[1:], strike[1:], back[1:-1], fill[:1]))
    keep = np.concatenate((np.hypot(*np.diff(path, axis=0).T) > 1e-3, [True]))
    ring = shapely.LinearRing(path[keep])
    if not ring.is_simple:
        return None
    away, home = shapely.LineString(out), shapely.LineString(back)
    middles = (away.interpolate(0.5, normalized=True), home.interpolate(0.5, normalized=True))
    apart = min(middles[0].distance(home), middles[1].distance(away))
    close = apart < max(_APART_M, _APART_SHARE * min(away.length, home.length))
    return _Ring(
        np.asarray(ring.coords, float), "left" if ring.is_ccw else "right", close, float(ring.length)
    )
