"""The edge as the attack sees it: per segment how hard it burns, which part it is, what holds it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from wetline.behaviour import normal_rate
from wetline.grid import bearing_deg
from wetline.growth.contour import edge_length_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour import FireFields
    from wetline.grid import Grid
    from wetline.growth import Ring

__all__ = [
    "EdgeView",
    "Part",
    "Stretch",
    "borders_unknown",
    "first_free",
    "measured_m",
    "stretch_from",
    "view",
]

Part = Literal["head", "left_flank", "right_flank", "heel", "finger", "spot", "island"]

HEAD_WITHIN_DEG = 45.0
HEEL_BEYOND_DEG = 135.0
"""Angle between the outward normal and the head's direction; common practice, no source."""
SHORTEST_M = 30.0
"""Shortest stretch that a load is laid on: one cell; common practice, no source."""


@dataclass(frozen=True, slots=True)
class EdgeView:
    """One closed contour of the fire at one moment. All arrays have one entry a segment.

    `length_m`; `mid` float64[n, 2] [m]; `intensity_kw_per_m` and `rate_mps` normal to the edge;
    `turn_deg`: outward normal against the head's own direction, −180 to 180, negative on the left
    flank (looking from heel to head); `held_until_s`: −inf free, +inf bordering nothing that burns.
    """

    ring: Ring
    length_m: NDArray[np.float64]
    mid: NDArray[np.float64]
    outward: NDArray[np.float64]
    intensity_kw_per_m: NDArray[np.float64]
    rate_mps: NDArray[np.float64]
    turn_deg: NDArray[np.float64]
    held_until_s: NDArray[np.float64]

    @property
    def barrier(self) -> NDArray[np.bool_]:
        """Segments that border only what does not burn."""
        return np.isposinf(self.held_until_s)

    def part(self, segment: int) -> Part:
        """The part of the edge that a segment belongs to."""
        turn = self.turn_deg[segment]
        if abs(turn) <= HEAD_WITHIN_DEG:
            return "head"
        if abs(turn) >= HEEL_BEYOND_DEG:
            return "heel"
        return "left_flank" if turn < 0 else "right_flank"


@dataclass(frozen=True, slots=True)
class Stretch:
    """Consecutive segments `first`..`last` in ring order (wrapping), walked in `direction` (±1)."""

    first: int
    last: int
    direction: int
    length_m: float
    middle: int

    def line(self, ring_xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """The edge from the walk's near end to its far end, float64[k, 2] [m]."""
        n = len(ring_xy)
        count = (self.last - self.first) % n + 2
        points = ring_xy[(self.first + np.arange(count)) % n]
        return points if self.direction > 0 else points[::-1]


def measured_m(ring: Ring) -> float:
    """Length [m] on the simplified contour, never on the lattice."""
    return edge_length_m(shapely.Polygon(ring.xy))


def borders_unknown(ring: Ring, grid: Grid, unknown: NDArray[np.bool_] | None) -> NDArray[np.bool_]:
    """Which segments have ground of unknown fuel or height within a cell outside them."""
    out = np.zeros(len(ring.xy), bool)
    if unknown is None:
        return out
    mid = (ring.xy + np.roll(ring.xy, -1, axis=0)) / 2
    outward = _outward(ring.xy)
    for reach in (0.5, 1.0):
        ahead = mid + outward * (grid.cell_m * reach)
        out |= np.asarray(grid.nearest(unknown, ahead[:, 0], ahead[:, 1]), bool)
    return out


def _outward(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Outward unit normals of the segments, over two more on each side: the lattice's own steps apart."""
    reach = min(2, len(xy) // 6)
    tangent = np.roll(xy, -(reach + 1), axis=0) - np.roll(xy, reach, axis=0)
    length = np.hypot(tangent[:, 0], tangent[:, 1])
    normal = np.column_stack((tangent[:, 1], -tangent[:, 0]))
    return np.divide(normal, length[:, None], out=np.zeros_like(normal), where=length[:, None] > 0.0)


def view(ring: Ring, fields: FireFields, t_s: float) -> EdgeView:
    """Read rates and intensities along a contour at `t_s` [s after `fields.start`]."""
    xy = ring.xy
    step = np.roll(xy, -1, axis=0) - xy
    length = np.hypot(step[:, 0], step[:, 1])
    mid = xy + step / 2
    outward = _outward(xy)
    ahead = mid + outward * fields.grid.cell_m * 0.5
    inside = fields.grid.holds(ahead[:, 0], ahead[:, 1])
    ahead = np.where(inside[:, None], ahead, mid)
    west, south, east, north = fields.grid.bounds
    edge = fields.grid.cell_m * 1e-3
    there = fields.at(
        fields.slot(t_s),
        np.clip(ahead[:, 0], west + edge, east - edge),
        np.clip(ahead[:, 1], south + edge, north - edge),
    )
    normal = bearing_deg(outward[:, 0], outward[:, 1])
    turn = (normal - there.head_toward_deg + 180.0) % 360.0 - 180.0
    head_rate = np.asarray(there.head_rate_mps, float)
    rate = np.asarray(normal_rate(head_rate, np.asarray(there.eccentricity, float), np.abs(turn)), float)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(head_rate > 0, rate / head_rate, 0.0)
    return EdgeView(
        ring=ring,
        length_m=length,
        mid=mid,
        outward=outward,
        intensity_kw_per_m=np.asarray(there.head_intensity_kw_per_m * share, float),
        rate_mps=rate,
        turn_deg=turn,
        held_until_s=ring.held_until_s,
    )


def _order(n: int, start: int, direction: int) -> NDArray[np.intp]:
    offsets = np.arange(n)
    return (start + offsets) % n if direction > 0 else (start - 1 - offsets) % n


def first_free(
    usable: NDArray[np.bool_], *, start: int, direction: int
) -> tuple[int, float] | tuple[None, None]:
    """The first usable segment from vertex `start` in a direction, and how many segments away it is."""
    order = _order(len(usable), start, direction)
    hits = np.flatnonzero(usable[order])
    if hits.size == 0:
        return None, None
    return int(order[hits[0]]), float(hits[0])


def stretch_from(
    edge: EdgeView,
    usable: NDArray[np.bool_],
    *,
    segment: int,
    direction: int,
    want_m: float,
    held: NDArray[np.bool_] | None = None,
) -> Stretch:
    """Usable segments in a row from `segment` on, until `want_m` metres are covered.

    A gap shorter than `SHORTEST_M` goes on over line that is `held`: a load's own width closes what is
    left open. It never goes on over edge that may not be worked.
    """
    n = len(usable)
    order = (segment + direction * np.arange(n)) % n
    covered = np.cumsum(edge.length_m[order])

    def run_of(mask: NDArray[np.bool_]) -> int:
        ends = np.flatnonzero(~mask[order])
        return int(ends[0]) if ends.size else n

    longest = run_of(usable)
    reachable = longest if held is None else run_of(usable | held)
    least = min(int(np.searchsorted(covered, SHORTEST_M)) + 1, reachable)
    wanted = int(np.searchsorted(covered, want_m - 0.5 * edge.length_m[order[0]])) + 1
    count = max(min(wanted, longest), least)
    chosen = order[:count]
    first, last = (chosen[0], chosen[-1]) if direction > 0 else (chosen[-1], chosen[0])
    return Stretch(
        first=int(first),
        last=int(last),
        direction=direction,
        length_m=float(covered[count - 1]),
        middle=int(chosen[count // 2]),
    )
