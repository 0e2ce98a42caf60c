"""The one-way way round: out from the water, over the run, back on another line, and on again.

Two straights (the lane and the drop run) are joined by turns of one radius. A closed line that does not
cross itself turns by one whole turn in all (Hopf 1935, Compositio Math. 2:50-62): of the pairs of joints
only those are looked at. Left-hand keeps the target in the captain's view and is taken unless the right
hand is clearly shorter. Where the lane or the run lies across the way, a leg back beside it is flown, as on an aerodrome circuit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import shapely

from wetline.circuits.joint import WORDS, Joint, arc, heading_of, joint
from wetline.grid import along

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    Point = tuple[float, float]
    Line = NDArray[np.float64]

__all__ = ["Hand", "RaceTrack", "crossings", "race_track"]

Hand = Literal["left", "right"]

_LEFT_WORTH_M = 1_000.0
"""How much longer a left-hand way round may be than a right-hand one; common practice, no source."""
_AIMS_DEG = (0.0, 40.0, -40.0)
"""How far from straight at the run a source without a heading may be left; common practice, no source."""
_MOST_LOOKED_AT = 120
_SAME_PLACE_M = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class RaceTrack:
    """One way round, turning by one hand in all and never over itself.

    `fill`, `strike`: the straights at the source and the target, float64[n, 2] [m], with what is flown
    beyond their ends. `out`, `back`: the joints between them.
    `apart_m`: the least distance of the middle of one leg from the other leg.
    """

    fill: Line
    out: Joint
    strike: Line
    back: Joint
    hand: Hand
    apart_m: float

    @property
    def fill_m(self) -> float:
        """Length of what is flown at the source."""
        return _length_m(self.fill)

    @property
    def strike_m(self) -> float:
        """Length of what is flown at the target."""
        return _length_m(self.strike)

    @property
    def length_m(self) -> float:
        """Length of the closed way."""
        return self.fill_m + self.out.length_m + self.strike_m + self.back.length_m

    @property
    def path_xy(self) -> Line:
        """The closed way as points; the first is also the last."""
        return _closed(self.fill, self.out, self.strike, self.back)

    @property
    def turning_points(self) -> tuple[Point, ...]:
        """Where a crew leaves the source's heading, comes onto the run and leaves it."""
        leaving = (_xy(self.fill[-1]),) if len(self.fill) > 1 else ()
        return *leaving, _xy(self.strike[0]), _xy(self.strike[-1])


class _Ends(NamedTuple):
    """What is flown beyond a straight at one end: metres straight on, and then a leg back beside it.

    `side`: where that leg lies, 1 right, −1 left, 0 none.
    """

    longer_m: float
    side: float


class _Plan(NamedTuple):
    """One pair of joints between two straights with what is flown beyond their ends."""

    length_m: float
    fill: Line
    out: Joint
    strike: Line
    back: Joint


_ENDS = (_Ends(0.0, 0.0), _Ends(1_500.0, 0.0), _Ends(0.0, -1.0), _Ends(0.0, 1.0))


def race_track(fill: Line, strike: Line, *, radius_m: float, apart_m: float = 0.0) -> RaceTrack | None:
    """The shortest way round that does not cross itself and keeps its legs apart; None where none is found.

    Parameters
    ----------
    fill
        What is flown at the source, float64[n, 2] [m]; one point where it is left on any heading.
    strike
        Approach, run and exit as flown, float64[n, 2] [m], n ≥ 2.
    radius_m
        Of every turn, > 0.
    apart_m
        Least distance wanted between the legs; where no way keeps it, the one that comes nearest is
        given, and its `apart_m` says so.
    """
    if len(fill) > 1 and shapely.LineString(fill).crosses(shapely.LineString(strike)):
        return None
    straight = _first_of(_plans([fill], [strike], radius_m), apart_m)
    if straight is not None and straight.apart_m >= apart_m:
        return straight
    fills = [fill] if len(fill) < 2 else list(_with_ends(fill, radius_m))
    return _first_of(_plans(fills, list(_with_ends(strike, radius_m)), radius_m), apart_m)


def _first_of(plans: Iterable[_Plan], apart_m: float) -> RaceTrack | None:
    """The shortest that can be flown with its legs apart, left unless clearly longer; else the least close."""
    right: RaceTrack | None = None
    near: RaceTrack | None = None
    for plan in sorted(plans, key=lambda plan: plan.length_m)[:_MOST_LOOKED_AT]:
        if right is not None and plan.length_m > right.length_m + _LEFT_WORTH_M:
            break
        found = _simple(plan)
        if found is None:
            continue
        if found.apart_m >= apart_m:
            if found.hand == "left":
                return found
            right = right or found
        elif near is None or found.apart_m > near.apart_m:
            near = found
    return right or near


def crossings(one: Line, other: Line) -> tuple[Point, ...]:
    """Points (x, y) [m] where two tracks cross or touch; where they run together, the middle of that piece."""
    shared = shapely.intersection(shapely.LineString(one), shapely.LineString(other))
    if shared.is_empty:
        return ()
    parts = shapely.get_parts(shared)
    return tuple(_xy(shapely.get_coordinates(shapely.centroid(part))[0]) for part in parts)


def _plans(fills: Sequence[Line], strikes: Sequence[Line], radius_m: float) -> Iterator[_Plan]:
    """Every way round that turns by one whole turn in all."""
    measured = [(line, _length_m(line), _bend_deg(line)) for line in strikes]
    for fill in fills:
        fill_m, fill_deg = _length_m(fill), _bend_deg(fill)
        for strike, strike_m, strike_deg in measured:
            for out, back in product(*_joints(fill, strike, radius_m)):
                turned_deg = fill_deg + strike_deg + out.turned_deg + back.turned_deg
                if len(fill) < 2:  # a source without a heading is turned over on the spot
                    turned_deg += _turn_deg(back.course_deg + back.last_deg, out.start_deg)
                if round(turned_deg / 360.0) in {-1, 1}:
                    yield _Plan(fill_m + strike_m + out.length_m + back.length_m, fill, out, strike, back)


def _with_ends(line: Line, radius_m: float) -> Iterator[Line]:
    """A straight as it stands, longer, or with a leg back beside it before or behind it."""
    for before, behind in product(_ENDS, repeat=2):
        if (before.side == 0.0 and behind.side == 0.0) or _ENDS[0] in {before, behind}:
            yield _ended(_ended(line, behind, radius_m)[::-1], before, radius_m)[::-1]


def _ended(line: Line, ends: _Ends, radius_m: float) -> Line:
    """A line with what is flown beyond its end; the side is as seen along the line."""
    if ends.longer_m == 0.0 and ends.side == 0.0:
        return line
    heading = heading_of(line[-2], line[-1])
    ahead = np.array(along(heading))
    last = line[-1] + ends.longer_m * ahead
    out = np.vstack((line[:-1], last))
    if ends.side == 0.0:
        return out
    turned = arc(_xy(last), heading, 180.0 * ends.side, radius_m)
    return np.vstack((out, turned, turned[-1] - float(np.hypot(*(last - line[0]))) * ahead))


def _joints(fill: Line, strike: Line, radius_m: float) -> tuple[list[Joint], list[Joint]]:
    """All joints out and back."""
    onto, off = heading_of(strike[0], strike[1]), heading_of(strike[-2], strike[-1])
    if len(fill) > 1:
        away, home = [heading_of(fill[-2], fill[-1])], [heading_of(fill[0], fill[1])]
    else:
        there, here = heading_of(fill[0], strike[0]), heading_of(strike[-1], fill[0])
        away, home = [there + aim for aim in _AIMS_DEG], [here + aim for aim in _AIMS_DEG]
    leaves, comes = (_xy(fill[-1]), _xy(strike[0])), (_xy(strike[-1]), _xy(fill[0]))
    outs = [joint(leaves[0], h, leaves[1], onto, radius_m=radius_m, word=w) for h, w in product(away, WORDS)]
    backs = [joint(comes[0], off, comes[1], h, radius_m=radius_m, word=w) for h, w in product(home, WORDS)]
    return [found for found in outs if found], [found for found in backs if found]


def _simple(plan: _Plan) -> RaceTrack | None:
    """A plan as a way round; None where it crosses itself."""
    out, back = plan.out, plan.back
    ring = shapely.LinearRing(_closed(plan.fill, out, plan.strike, back))
    if not ring.is_simple:
        return None
    away, home = shapely.LineString([out.off, out.on]), shapely.LineString([back.off, back.on])
    middles = (away.interpolate(0.5, normalized=True), home.interpolate(0.5, normalized=True))
    return RaceTrack(
        fill=plan.fill,
        out=out,
        strike=plan.strike,
        back=back,
        hand="left" if ring.is_ccw else "right",
        apart_m=float(min(middles[0].distance(home), middles[1].distance(away))),
    )


def _closed(fill: Line, out: Joint, strike: Line, back: Joint) -> Line:
    path = np.vstack((fill, out.path()[1:], strike[1:], back.path()[1:-1], fill[:1]))
    keep = np.concatenate((np.hypot(*np.diff(path, axis=0).T) > _SAME_PLACE_M, [True]))
    return np.asarray(path[keep], float)


def _turn_deg(before_deg: float, after_deg: float) -> float:
    """The shorter turn between two headings [deg], right positive."""
    return (after_deg - before_deg + 180.0) % 360.0 - 180.0


def _bend_deg(line: Line) -> float:
    """All turns inside a line [deg], right positive."""
    if len(line) < 3:
        return 0.0
    headings = [heading_of(a, b) for a, b in pairwise(line)]
    return sum(_turn_deg(a, b) for a, b in pairwise(headings))


def _length_m(line: Line) -> float:
    return float(sum(math.hypot(*(b - a)) for a, b in pairwise(line)))


def _xy(point: Line) -> Point:
    return float(point[0]), float(point[1])
