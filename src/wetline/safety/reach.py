"""When the fire reaches people, houses and roads, by the arrival times of every future."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.ops import nearest_points

from wetline.model import LEAST_FUTURES

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from wetline.grid import Grid
    from wetline.ground import Ground

__all__ = ["NO_PEOPLE", "Place", "Reach", "arrival_times_s", "cells_near", "places_of", "reaches"]

NO_PEOPLE = frozenset({"place", "line"})
"""Kinds of places at which nobody is told to be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """When the fire reaches a place, if nothing more is stopped.

    `position`: of the place, where it is nearest to the fire as drawn. `time`: the middle future; `low` to
    `high`: the 80 % band, which holds it; `earliest`: of all futures, however few: what people are warned by, and
    no bound. None: not reached within the time modelled. `on_map`: False where nobody knows: the place lies off
    the modelled window, or part of it does, the fire leaves the window and does not come to the rest.
    `count` of `of` varied futures reach it in that time, uncalibrated; None without varied futures, or off the
    map; `arrivals`: when those do, soonest first. `drawn_at`: when the part of the fire was drawn in which
    it lies, or within a cell of which; None for none. `seen`: when somebody last reported it there.
    """

    name: str
    kind: str
    position: tuple[float, float]
    on_map: bool
    time: datetime | None = None
    low: datetime | None = None
    high: datetime | None = None
    earliest: datetime | None = None
    count: int | None = None
    of: int | None = None
    arrivals: tuple[datetime, ...] = ()
    drawn_at: datetime | None = None
    seen: datetime | None = None

    def count_by(self, time: datetime) -> int:
        """Varied futures that have reached it by a time."""
        return bisect_right(self.arrivals, time)


@dataclass(frozen=True, slots=True)
class Place:
    """Somebody or something that the fire may reach. `shape` in grid metres; `seen`: when it was last reported there."""

    name: str
    kind: str
    shape: BaseGeometry
    seen: datetime | None = None


def places_of(ground: Ground) -> tuple[Place, ...]:
    """People, houses, camps, places to protect and roads, in the order of the folder."""
    people = [Place(p.name, p.kind, p.shape, p.seen) for p in ground.people]
    return (*people, *(Place(r.name, "road", r.line) for r in ground.roads))


def cells_near(place: Place, grid: Grid) -> NDArray[np.intp]:
    """Flat indices of the cells whose middles lie within one cell of a place; empty off the grid.

    One cell: half a cell either way, and the error of the shape itself.
    """
    west, south, east, north = shapely.bounds(place.shape)
    reach = grid.cell_m
    _, rows, cols = grid.window(west - reach, south - reach, east + reach, north + reach)
    if rows.stop <= rows.start or cols.stop <= cols.start:
        return np.empty(0, np.intp)
    row, col = np.mgrid[rows, cols]
    x, y = grid.xy(row.ravel(), col.ravel())
    shapely.prepare(place.shape)
    near = shapely.dwithin(place.shape, shapely.points(x, y), reach)
    return np.asarray((row.ravel() * grid.cols + col.ravel())[near], np.intp)


def arrival_times_s(cells: Sequence[NDArray[np.intp]], arrival_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Earliest arrival [s] at each place of `cells_near` in one future; NaN for a place off the grid."""
    flat = arrival_s.ravel()
    return np.array([flat[near].min() if near.size else np.nan for near in cells])


def reaches(
    places: Sequence[Place],
    start: datetime,
    times_s: NDArray[np.float64],
    *,
    grid: Grid,
    drawn: Sequence[tuple[datetime, Polygon | MultiPolygon]],
    left_map: bool,
) -> tuple[Reach, ...]:
    """When the fire reaches each place, soonest first.

    Parameters
    ----------
    times_s
        float64[members, places], seconds after `start`; row 0 is the middle future; NaN off the map.
    grid, drawn
        The modelled window, and the fire's parts [m] with the time at which each was drawn.
    left_map
        Whether the fire came to the map's edge in any future. If it did not, it reaches nothing beyond
        it either; if it did, what lies beyond is unknown.
    """
    whole = shapely.box(*grid.bounds)
    shapely.prepare(whole)
    fire = shapely.union_all([part for _, part in drawn])
    out = []
    for i, place in enumerate(places):
        times = times_s[:, i] if left_map else np.where(np.isnan(times_s[:, i]), np.inf, times_s[:, i])
        partly = left_map and not shapely.covers(whole, place.shape)
        known = not np.isnan(times).any() and not (partly and np.isinf(times).all())
        near, _ = nearest_points(place.shape, fire)
        reach = Reach(
            name=place.name,
            kind=place.kind,
            position=(near.x, near.y),
            on_map=known,
            drawn_at=max(
                (at for at, part in drawn if shapely.dwithin(place.shape, part, grid.cell_m)), default=None
            ),
            seen=place.seen,
        )
        out.append(_timed(reach, start, times) if known else reach)
    return tuple(sorted(out, key=_soonest))


def _timed(reach: Reach, start: datetime, times_s: NDArray[np.float64]) -> Reach:
    """A reach of which every future tells, with its times and counts."""

    def at(seconds: float) -> datetime | None:
        return start + timedelta(seconds=round(seconds)) if np.isfinite(seconds) else None

    middle, varied = float(times_s[0]), np.sort(times_s[1:])
    low = float(np.quantile(times_s, 0.1, method="lower"))
    high = float(np.quantile(times_s, 0.9, method="higher"))
    banded, counted = len(times_s) >= LEAST_FUTURES, len(varied) > 0
    arrivals = tuple(time for t in varied if (time := at(float(t))) is not None)
    return replace(
        reach,
        time=at(middle),
        low=at(min(low, middle)) if banded else None,
        high=at(max(high, middle)) if banded else None,
        earliest=at(float(times_s.min())),
        count=len(arrivals) if counted else None,
        of=len(varied) if counted else None,
        arrivals=arrivals,
    )


def _soonest(reach: Reach) -> tuple[float, str]:
    return (reach.earliest.timestamp() if reach.earliest else np.inf), reach.name
