"""Headings as the water asks for: halved where a lane may hide, left out where it is proved that none does.

A lane X long with half-width w, turned by at most a from a heading, holds a rectangle along that
heading with half-width w' = w - X/2 · sin a and length X - 2 w' · sin a. Where a search for that
rectangle finds nothing, no heading within a has such a lane; where it finds one, the range is halved.
Halving ends at a range so small that only water hardly wider than asked for can still hide a lane:
a lane with that much more room to each side is met at the heading itself.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from wetline.water.shore import bands, strips

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.water.shore import Shore, Strip

__all__ = ["SHORTEST_M", "lanes_of_any_heading", "longest_at", "longest_of_any_heading"]

SHORTEST_M = 1.0
_TOLERANCE = 0.005
_FINEST_RAD = math.radians(0.01)
_MORE_ROOM = 0.1  # of the half-width: what a lane must have to spare to be sure to be met
_WIDEST_RAD = math.radians(2.5)
_COARSE_DEG = 5.0


def longest_at(shore: Shore, headings: NDArray[np.float64], *, clear_m: float) -> Strip | None:
    """The longest lane over the headings [deg], or None if none is 1 m long."""
    length_m = 0.9 * 2.0 * float(np.hypot(shore.x, shore.y).max())
    while True:
        length_m = max(length_m, SHORTEST_M)
        rows = bands(shore, headings, length_m, clear_m, rising=True)
        if len(rows):
            best = np.lexsort((rows[:, 0], -rows[:, 1]))[:1]
            return strips(rows[best], headings, clear_m, shore.origin)[0]
        if length_m == SHORTEST_M:
            return None
        length_m *= 0.8


def longest_of_any_heading(shore: Shore, *, clear_m: float) -> Strip | None:
    """The longest lane over all headings, within 0.5 %, or None if none is 1 m long.

    Proved but for lanes with less than X/2 · sin 0.01° (0.17 m for X = 2 km) to spare on each side.
    """
    best = longest_at(shore, np.arange(0.0, 180.0, _COARSE_DEG), clear_m=clear_m)
    wanted_m = (1.0 + _TOLERANCE) * best.length_m if best else SHORTEST_M
    middles, half_range = _first_ranges(wanted_m, clear_m)
    while len(middles):
        rows = bands(shore, middles, wanted_m, clear_m, rising=True)
        if len(rows):
            best = strips(rows[np.argmax(rows[:, 1])][None], middles, clear_m, shore.origin)[0]
            wanted_m = (1.0 + _TOLERANCE) * best.length_m
        if half_range <= _FINEST_RAD:
            break
        middles = np.sort(_halved(shore, middles, half_range, wanted_m, clear_m))
        half_range /= 2.0
    return best


def lanes_of_any_heading(shore: Shore, *, length_m: float, clear_m: float) -> list[Strip]:
    """The locally longest lanes over all headings, at least `length_m` long.

    A lane is left out where a longer one that crosses it at less than about 3° passes its middle.
    Any lane at any heading that has 10 % more half-width than asked for, and is as much longer as that
    turn takes, is met by one that is found before any is left out.
    """
    middles, half_range = _first_ranges(length_m, clear_m)
    finest = math.asin(min(_MORE_ROOM * 2.0 * clear_m / length_m, math.sin(_WIDEST_RAD)))
    found: list[Strip] = []
    while len(middles):
        rows = bands(shore, middles, length_m, clear_m)
        found += strips(rows, middles, clear_m, shore.origin)
        if half_range <= finest:
            break
        met = np.isin(np.arange(len(middles)), rows[:, 0])
        halved = [_halves(middles[met], half_range)]
        halved.append(_halved(shore, middles[~met], half_range, length_m, clear_m))
        middles, half_range = np.sort(np.concatenate(halved)), half_range / 2.0
    longest = longest_of_any_heading(shore, clear_m=clear_m)
    if longest is not None and longest.length_m >= length_m:
        found.append(longest)
    return _locally_longest(found)


def _first_ranges(length_m: float, clear_m: float) -> tuple[NDArray[np.float64], float]:
    """Middles [deg] and half-width [rad] of ranges that leave half of the room to each side."""
    half_range = min(math.asin(min(clear_m / length_m, 1.0)), _WIDEST_RAD)
    count = math.ceil(math.pi / (2.0 * half_range))
    return (np.arange(count, dtype=np.float64) + 0.5) * np.float64(180.0 / count), math.pi / (2.0 * count)


def _halves(middles: NDArray[np.float64], half_range: float) -> NDArray[np.float64]:
    quarter_deg = math.degrees(half_range) / 2.0
    return np.concatenate([middles - quarter_deg, middles + quarter_deg])


def _halved(
    shore: Shore, middles: NDArray[np.float64], half_range: float, length_m: float, clear_m: float
) -> NDArray[np.float64]:
    """The middles of the halves of those ranges in which a lane may hide."""
    sine = math.sin(half_range)
    room_m = clear_m - 0.5 * length_m * sine
    held_m = length_m - 2.0 * room_m * sine
    if room_m > 0.0 and held_m >= 0.1 * SHORTEST_M and len(middles):
        rows = bands(shore, middles, held_m, room_m)
        middles = middles[np.unique(rows[:, 0].astype(np.intp))]
    return _halves(middles, half_range)


def _locally_longest(found: list[Strip]) -> list[Strip]:
    """Without those whose middle a longer one of much the same heading passes."""
    found = sorted(found, key=lambda s: (-s.length_m, s.heading_deg, s.start))
    heading = np.array([s.heading_deg for s in found])
    middle = np.array([s.middle for s in found]).reshape(-1, 2)
    left = np.arange(len(found))
    kept = []
    while len(left):
        lane = found[left[0]]
        kept.append(lane)
        turn = np.abs((heading[left] - lane.heading_deg + 90.0) % 180.0 - 90.0)
        angle = math.radians(lane.heading_deg)
        away = middle[left] - lane.middle
        along = np.abs(away @ [math.sin(angle), math.cos(angle)])
        across = np.abs(away @ [math.cos(angle), -math.sin(angle)])
        same = (turn <= math.degrees(_WIDEST_RAD)) & (along <= lane.length_m / 2) & (across < lane.clear_m)
        same[0] = True
        left = left[~same]
    return kept
