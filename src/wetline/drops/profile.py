"""The load along the track: any flow of straight pieces, smeared; and how long a level holds on it.

A flow of straight pieces is a sum of ramps that begin where it bends. A ramp smeared by a Gaussian has
a closed form, so that the smeared load has one too, with as many humps as the doors make.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from wetline.drops.flow import Flow

__all__ = ["Track", "lengths_m", "longest_and_total_m", "peak_per_m", "smeared_per_m", "tracks_of"]

_REACH = 5.0  # standard deviations beyond a bend: 3e-7 of the load lies farther off
_STEP = 0.25  # standard deviations between the points looked at near a bend
_NEAR = np.arange(-_REACH, _REACH + 0.5 * _STEP, _STEP)
_POINTS_BY = 64
_ROWS = 1024  # looked at in one go: keeps the work arrays in the cache
_NEWTON = 3


@dataclass(frozen=True, slots=True)
class Track:
    """Loads as they leave the tank along the track, one a row, each as the bends of its share a metre.

    `knot_m`: float64[row, knot], from the mean place of its litres, forward. `bend_per_m2`: float64[row,
    knot], by how much the share of the load on each metre [1/m] steepens there. `step_per_m`:
    float64[row], the share a metre with which it begins at once, 0 where it begins in a ramp.
    """

    knot_m: NDArray[np.float64]
    bend_per_m2: NDArray[np.float64]
    step_per_m: NDArray[np.float64]

    @property
    def opening_m(self) -> NDArray[np.float64]:
        """Where the doors open [m]: float64[row], before the mean place of the litres, so negative."""
        return np.asarray(self.knot_m[:, 0], float)

    @property
    def reach_m(self) -> NDArray[np.float64]:
        """The farthest knot on either side [m]: float64[row]."""
        return np.asarray(np.abs(self.knot_m).max(axis=1), float)


def tracks_of(
    flows: Sequence[Flow], speed_mps: NDArray[np.float64], stretch: NDArray[np.float64] | None = None
) -> Track:
    """Flows laid along the track at their ground speeds, a row each; `stretch`: times their own time."""
    most = max(len(flow.t_s) for flow in flows)
    time = np.array([flow.t_s + (flow.t_s[-1],) * (most - len(flow.t_s)) for flow in flows], float)
    rate = np.array([flow.l_per_s + (flow.l_per_s[-1],) * (most - len(flow.t_s)) for flow in flows], float)
    step, rise = np.diff(time, axis=1), np.diff(rate, axis=1)
    litres = (0.5 * step * (rate[:, 1:] + rate[:, :-1])).sum(axis=1)[:, None]
    # exact for straight pieces: the integral of t q over each
    moment = rate[:, :-1] * (2 * time[:, :-1] + time[:, 1:]) + rate[:, 1:] * (time[:, :-1] + 2 * time[:, 1:])
    middle = (step * moment).sum(axis=1)[:, None] / (6.0 * litres)
    pace = speed_mps[:, None] * (1.0 if stretch is None else stretch[:, None])
    slope = np.divide(rise, step, out=np.zeros_like(rise), where=step > 0.0)
    bend = np.diff(slope, axis=1, prepend=0.0, append=0.0) / (litres * pace**2)
    return Track((time - middle) * pace, bend, rate[:, 0] / (litres * pace)[:, 0])


def _value_and_slope(
    x_m: NDArray[np.float64], track: Track, spread_m: NDArray[np.float64], row: NDArray[np.intp] | slice
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Smeared share a metre [1/m] and its slope [1/m²] at float64[row, point].

    A ramp smeared is σ (z Φ(z) + φ(z)) with z = (x − knot)/σ, and Φ(z) its slope; a step is Φ(z).
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy, and only a drop needs it

    value, slope = np.zeros_like(x_m), np.zeros_like(x_m)
    sigma = spread_m[row, None]
    for k in range(track.knot_m.shape[1]):
        z = (x_m - track.knot_m[row, k, None]) / sigma
        up, bell = ndtr(z), np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        bend = track.bend_per_m2[row, k, None]
        value += bend * sigma * (z * up + bell)
        slope += bend * up
        if k == 0 and track.step_per_m.any():
            value += track.step_per_m[row, None] * up
            slope += track.step_per_m[row, None] * bell / sigma
    return np.maximum(value, 0.0), slope  # rounding below 0


def smeared_per_m(x_m: ArrayLike, track: Track, spread_m: ArrayLike) -> NDArray[np.float64]:
    """Share of the load on each metre of track [1/m]: float64[row, point].

    `x_m` from the mean place of the litres: float64[point] for every row, or float64[row, point].
    `spread_m`: standard deviation of the Gaussian that smears each row, one number or float64[row].
    """
    rows = track.knot_m.shape[0]
    x = np.atleast_2d(np.asarray(x_m, float))
    x = np.broadcast_to(x, (rows, x.shape[1]))
    spread = np.broadcast_to(np.asarray(spread_m, float), (rows,))
    return _value_and_slope(x, track, spread, slice(None))[0]


def _counts(track: Track, spread_m: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """How many knots of each row bend anything, and how many points a look at it takes: int[row] each.

    By row alone, so that a load's line does not hang on the loads asked for with it.
    """
    knots = track.knot_m.shape[1] - (track.bend_per_m2[:, ::-1] != 0.0).argmax(axis=1)
    steps = (np.ptp(track.knot_m, axis=1) + 2.0 * _REACH * spread_m) / (_STEP * spread_m)
    evenly = _POINTS_BY * np.ceil((steps + 1.0) / _POINTS_BY).astype(int)
    return knots, np.minimum(evenly, knots * _NEAR.size)


def _points(track: Track, spread_m: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """Places a quarter of the spread apart, at least wherever a bend is near, in order: float64[row, point]."""
    if count == track.knot_m.shape[1] * _NEAR.size:
        near = track.knot_m[:, :, None] + spread_m[:, None, None] * _NEAR
        return np.asarray(np.sort(near.reshape(spread_m.size, -1), axis=1), float)
    first = track.knot_m[:, 0] - _REACH * spread_m
    last = track.knot_m[:, -1] + _REACH * spread_m
    return np.asarray(first[:, None] + (last - first)[:, None] * np.linspace(0.0, 1.0, count), float)


def _looked_at(
    x: NDArray[np.float64], track: Track, spread_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places in order and the share there, with the very top of each row among them: float64[row, point] each."""
    value, slope = _value_and_slope(x, track, spread_m, slice(None))
    best = value.argmax(axis=1)[:, None]
    top, rise = np.take_along_axis(x, best, 1), np.take_along_axis(slope, best, 1)
    # the top lies within a step uphill: where the slope, taken as straight between, is nothing
    step = _STEP * spread_m[:, None] * np.sign(rise)
    fall = rise - _value_and_slope(top + step, track, spread_m, slice(None))[1]
    part = np.clip(np.divide(rise, fall, out=np.zeros_like(rise), where=fall != 0.0), 0.0, 1.0)
    top = top + part * step
    x = np.concatenate((x, top), axis=1)
    value = np.concatenate((value, _value_and_slope(top, track, spread_m, slice(None))[0]), axis=1)
    order = np.argsort(x, axis=1, kind="stable")
    return np.take_along_axis(x, order, 1), np.take_along_axis(value, order, 1)


def peak_per_m(track: Track, spread_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """The greatest smeared share of the load on a metre of track [1/m]: float64[row]."""
    x = _points(track, spread_m, track.knot_m.shape[1] * _NEAR.size)
    return np.asarray(_looked_at(x, track, spread_m)[1].max(axis=1), float)


def lengths_m(
    share_per_m: NDArray[np.float64], track: Track, spread_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Longest unbroken and summed length [m] on which the smeared share reaches each of `share_per_m` [1/m].

    All are float64[row, level] but `spread_m`, float64[row]. Humps are looked for at points a quarter of
    the spread apart near each bend, for the smeared load is straight elsewhere; where it crosses a level
    is then found by Newton's method on the closed form.
    """
    longest, total = np.zeros_like(share_per_m), np.zeros_like(share_per_m)
    kinds, which = np.unique(np.stack(_counts(track, spread_m)), axis=1, return_inverse=True)
    for kind, (knots, points) in enumerate(kinds.T):
        alike = np.flatnonzero(which.ravel() == kind)
        for begin in range(0, alike.size, _ROWS):
            rows = alike[begin : begin + _ROWS]
            part = Track(track.knot_m[rows, :knots], track.bend_per_m2[rows, :knots], track.step_per_m[rows])
            x = _points(part, spread_m[rows], int(points))
            longest[rows], total[rows] = _lengths(share_per_m[rows], x, part, spread_m[rows])
    return longest, total


def _lengths(
    wanted: NDArray[np.float64], x: NDArray[np.float64], track: Track, spread_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    x, value = _looked_at(x, track, spread_m)
    above = value[:, None, :] >= wanted[:, :, None]
    above[..., [0, -1]] = False
    row, level, left = np.nonzero(above[..., 1:] != above[..., :-1])
    at = _crossings(wanted[row, level], (x[row, left], x[row, left + 1]), track, spread_m, row)
    pieces = at[1::2] - at[::2]  # up and down take turns, as both ends lie below
    longest, total = np.zeros_like(wanted), np.zeros_like(wanted)
    where = (row[::2], level[::2])
    np.maximum.at(longest, where, pieces)
    np.add.at(total, where, pieces)
    return longest, total


def _crossings(
    wanted: NDArray[np.float64],
    between: tuple[NDArray[np.float64], NDArray[np.float64]],
    track: Track,
    spread_m: NDArray[np.float64],
    row: NDArray[np.intp],
) -> NDArray[np.float64]:
    """Where rows reach what is wanted of them, each between two places on either side of it."""
    low, high = between
    at = 0.5 * (low + high)
    for _ in range(_NEWTON):
        value, slope = (a[:, 0] for a in _value_and_slope(at[:, None], track, spread_m, row))
        with np.errstate(divide="ignore", invalid="ignore"):
            moved = at + (wanted - value) / slope
        at = np.where(np.isfinite(moved), np.clip(moved, low, high), at)
    return at


def longest_and_total_m(
    x_m: NDArray[np.float64], coverage: NDArray[np.float64], level: float
) -> tuple[float, float]:
    """Longest unbroken and summed length [m] on which `coverage` reaches `level`, linear between points."""
    above = coverage >= level
    both = above[:-1] & above[1:]
    step = np.diff(x_m)
    rise = np.abs(np.diff(coverage))
    top = np.maximum(coverage[:-1], coverage[1:])
    part = np.where(both, 1.0, 0.0)
    mixed = above[:-1] != above[1:]
    part[mixed] = (top[mixed] - level) / rise[mixed]
    pieces = part * step
    if not pieces.size:
        return 0.0, 0.0
    # a run ends where the profile comes down through the level, or at the end of the line
    ends = np.flatnonzero(above[:-1] & ~above[1:]) + 1
    runs = [float(p.sum()) for p in np.split(pieces, ends)]
    return max(runs), float(pieces.sum())
