"""When the fire reaches people, and whether that is soon enough to be a stop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.model import Limits

__all__ = ["Place", "Reach", "arrival_times_s", "cells_near", "check_entrapment", "places_of", "reaches"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """When the fire reaches a place, if nothing more is stopped.

    `time`: the middle future; `low` to `high`: the 80 % band, which holds it; `earliest`: of all futures,
    however few: what people are warned by. None: not reached within the time modelled. `on_map`: False
    if the place lies off the modelled window (unknown). `count` of `of` varied futures reach it in that
    time, uncalibrated; None without varied futures, or off the map.
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


@dataclass(frozen=True, slots=True)
class Place:
    """Somebody or something that the fire may reach. `shape` in grid metres."""

    name: str
    kind: str
    shape: BaseGeometry


def places_of(ground: Ground) -> tuple[Place, ...]:
    """People, houses, camps, places to protect and roads, in the order of the folder."""
    people = [Place(p.name, p.kind, p.shape) for p in ground.people]
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
    places: Sequence[Place], start: datetime, times_s: NDArray[np.float64], *, left_map: bool
) -> tuple[Reach, ...]:
    """When the fire reaches each place, soonest first.

    Parameters
    ----------
    times_s
        float64[members, places], seconds after `start`; row 0 is the middle future; NaN off the map.
    left_map
        Whether the fire came to the map's edge in any future. If it did not, it reaches nothing beyond
        it either; if it did, what lies beyond is unknown.
    """
    times_s = times_s if left_map else np.where(np.isnan(times_s), np.inf, times_s)
    return tuple(sorted((_reach(p, start, times_s[:, i]) for i, p in enumerate(places)), key=_soonest))


def _reach(place: Place, start: datetime, times_s: NDArray[np.float64]) -> Reach:
    point = place.shape.representative_point()
    if np.isnan(times_s).any():
        return Reach(name=place.name, kind=place.kind, position=(point.x, point.y), on_map=False)

    def at(seconds: float) -> datetime | None:
        return start + timedelta(seconds=round(seconds)) if np.isfinite(seconds) else None

    several = len(times_s) > 1
    middle = float(times_s[0])
    low = float(np.quantile(times_s, 0.1, method="lower"))
    high = float(np.quantile(times_s, 0.9, method="higher"))
    return Reach(
        name=place.name,
        kind=place.kind,
        position=(point.x, point.y),
        on_map=True,
        time=at(middle),
        low=at(min(low, middle)) if several else None,
        high=at(max(high, middle)) if several else None,
        earliest=at(float(times_s.min())),
        count=int(np.isfinite(times_s[1:]).sum()) if several else None,
        of=len(times_s) - 1 if several else None,
    )


def _soonest(reach: Reach) -> tuple[float, str]:
    return (reach.earliest.timestamp() if reach.earliest else np.inf), reach.name


def _level_of(minutes: float, limits: Limits) -> str:
    if minutes < limits.value("entrapment_stop_min"):
        return "stop"
    return "caution" if minutes < limits.value("entrapment_caution_min") else "clear"


def check_entrapment(
    found: Sequence[Reach],
    *,
    now: datetime,
    limits: Limits,
    people_layer: bool,
    looked_until: datetime | None = None,
    unknown_edge_m: float = 0.0,
) -> tuple[Finding, ...]:
    """The fire reaching people: under 30 min `stop`, under 60 `caution` (settings).

    The earliest of all futures counts, however few they are. A place off the modelled window, and a
    missing people layer, are `unknown`; so is what lies beyond `looked_until`, if that is too soon, and
    beyond edge that comes to lie against ground of unknown fuel or height.
    """
    if not people_layer:
        missing = Finding(
            code="entrapment",
            level="unknown",
            effect="blocks",
            message="No people layer: whom the fire reaches is unknown.",
            source="the folder holds no people layer",
            refers_to="people",
        )
        return (missing,)
    out = [f for f in (_one(reach, now, limits) for reach in found) if f is not None]
    caution = limits["entrapment_caution_min"]
    if looked_until is not None and (looked_until - now).total_seconds() < caution.value * 60.0:
        out.append(
            Finding.against(
                caution,
                code="entrapment",
                level="unknown",
                effect="blocks",
                message=f"The fire could be grown only until {looked_until:%H:%M}Z: whom it reaches after is unknown.",
                refers_to="people",
            )
        )
    if unknown_edge_m > 0.0:
        out.append(
            Finding(
                code="entrapment",
                level="unknown",
                effect="blocks",
                message=(
                    f"{round(unknown_edge_m, -1):,.0f} m of the fire's edge come to lie against ground of unknown "
                    "fuel or height: whom the fire reaches beyond it is unknown."
                ),
                source="the incident folder",
                refers_to="people",
            )
        )
    return tuple(out)


def _one(reach: Reach, now: datetime, limits: Limits) -> Finding | None:
    if reach.kind in {"place", "line"}:
        return None
    if not reach.on_map:
        return Finding(
            code="entrapment",
            level="unknown",
            effect="noted",
            message=f"{reach.name} lies outside the modelled ground: when the fire comes is unknown.",
            source="extent of the model",
            refers_to=reach.name,
            position=reach.position,
        )
    earliest = reach.earliest
    if earliest is None:
        return None
    minutes = (earliest - now).total_seconds() / 60.0
    limit = limits[
        "entrapment_stop_min" if minutes < limits.value("entrapment_stop_min") else "entrapment_caution_min"
    ]
    if minutes <= 0:
        return Finding.against(
            limit,
            code="entrapment",
            level="caution" if reach.kind == "road" else "stop",
            message=(
                f"The fire is at {reach.name} now."
                if reach.kind == "road"
                else f"{reach.name} is reported inside or at the fire's edge now."
            ),
            refers_to=reach.name,
            position=reach.position,
            value="0 min",
        )
    level = _level_of(minutes, limits)
    if level == "clear":
        return None
    return Finding.against(
        limit,
        code="entrapment",
        level="stop" if level == "stop" else "caution",
        message=(
            f"Fire reaches {reach.name} in {minutes:.0f} min at the earliest, "
            f"{earliest:%H:%M}Z, if nothing more is stopped."
        ),
        refers_to=reach.name,
        position=reach.position,
        value=f"{minutes:.0f} min",
    )
