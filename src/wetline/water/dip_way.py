"""The ways into a dip site and out of it: what ground, trees and wires ask of a helicopter all round.

Every tenth degree is read outward from the site, over a strip as wide as the room that the hover keeps.
The bucket hangs below: its bottom leaves the water itself, so tops are counted from the water's surface.
Where the class's slope does not clear them, the helicopter must first climb straight up: `rise_m` is how
far. On the way in the same ground is flown toward the site, down at the slope that the limit allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.aircraft import climb_gradient
from wetline.grid import along, angle_between
from wetline.water.course import tops_over
from wetline.water.found import DipWay
from wetline.water.wires import hazards_within

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.ground import Ground, Hazard
    from wetline.model import Band, Limits
    from wetline.water.reach import Area
    from wetline.weather import Hour

__all__ = ["BEARINGS_DEG", "CALM_MPS", "WAY_M", "Round", "Wire", "best_way", "climb_of", "look_round"]

BEARINGS_DEG: NDArray[np.float64] = np.arange(0.0, 360.0, 10.0)
WAY_M = 1500.0
"""How far out the ground is read: common practice, no source."""
_CLIMB_KT = 60.0
"""Speed of the climb-out: near the best climb of helicopters, from memory."""
CALM_MPS = 2.5
"""In less wind one from behind may be taken for an easier way: common practice, no source."""
_COARSE_M = 25.0
_FINE_M = 10.0
_CLOSE_M = 400.0  # nearer than this the ground is read twice as often
_SHORE_M = 250.0
"""Raster heights nearer than this are not taken for ground where the outline says water: shores are blurred."""
_APART_DEG = 90.0
_MOST_COST_M = 100.0  # more climb straight up is as bad


@dataclass(frozen=True, slots=True)
class Wire:
    """The known obstacle nearest to one way, and how near in space [m]; `position` (x, y) [m]."""

    hazard: Hazard
    distance_m: float
    position: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What each of `BEARINGS_DEG`, flown outward or inward, asks for. Arrays [36].

    `asked`: slope [m/m] from the water over all that is known. `out_rise_m`, `out_rise_low_m`: straight up
    before the class's middle and low slope clear it, infinite if it does not climb; `in_rise_m` as on the way in. `unknown_m`: where the
    terrain ends, infinite where it is known. `out_wire`, `in_wire`: the nearest obstacle within reach.
    """

    asked: NDArray[np.float64]
    out_rise_m: NDArray[np.float64]
    out_rise_low_m: NDArray[np.float64]
    in_rise_m: NDArray[np.float64]
    unknown_m: NDArray[np.float64]
    out_wire: tuple[Wire | None, ...]
    in_wire: tuple[Wire | None, ...]
    trees_known: bool


@dataclass(frozen=True, slots=True)
class _Tops:
    """Tops [bearing, distance] above the water, 0 over it, NaN where not known."""

    away_m: NDArray[np.float64]
    top_m: NDArray[np.float64]
    trees_known: bool


def climb_of(cls: AircraftClass, density_altitude_m: float) -> Band | None:
    """The slope [m/m] of the class's climb-out at full load; None where its climb is not known."""
    return climb_gradient(cls, density_altitude_m, speed_kt=_CLIMB_KT)


def look_round(
    position: tuple[float, float],
    surface_m: float,
    area: Area | None,
    ground: Ground,
    limits: Limits,
    *,
    room_m: float,
    climb: Band | None,
) -> Round:
    """All ways round a site. `area`: the water that it lies in; `climb`: slope of the class [m/m].

    A class whose climb is not known is read as one that goes straight up alone.
    """
    down = limits.value("dip_approach_gradient_available")
    middle = 0.0 if climb is None else climb.middle
    low = middle if climb is None or climb.low is None else climb.low
    tops = _tops(position, surface_m, area, ground, room_m)
    tall = np.maximum(np.nan_to_num(tops.top_m), 0.0)
    near = _Obstacles(position, surface_m, ground, limits.value("wire_caution_m"))
    asked = np.maximum(np.max(tall / tops.away_m, axis=1), near.asked(room_m))

    def rise(slope: float) -> NDArray[np.float64]:
        if slope < 0.0 or (slope == 0.0 and climb is not None):
            return np.full(
                len(BEARINGS_DEG), np.inf
            )  # what does not climb clears nothing, however high it begins
        over_ground = np.max(np.maximum(tall - slope * tops.away_m, 0.0), axis=1)
        return np.asarray(np.maximum(over_ground, near.rise_m(slope, room_m)), float)

    holes = np.where(np.isfinite(tops.top_m), np.inf, tops.away_m)
    return Round(
        asked=asked,
        out_rise_m=rise(middle),
        out_rise_low_m=rise(low),
        in_rise_m=rise(down),
        unknown_m=np.min(holes, axis=1),
        out_wire=near.nearest(low),
        in_wire=near.nearest(down),
        trees_known=tops.trees_known,
    )


def _tops(
    position: tuple[float, float], surface_m: float, area: Area | None, ground: Ground, room_m: float
) -> _Tops:
    step_m = min(max(ground.grid.cell_m / 2.0, _FINE_M), _COARSE_M)
    close_m = np.arange(step_m, _CLOSE_M, step_m)
    away_m = np.concatenate([close_m, np.arange(_CLOSE_M, WAY_M + step_m, min(2.0 * step_m, _COARSE_M))])
    tracks = 1 + int(np.ceil(2.0 * room_m / min(max(ground.grid.cell_m, _FINE_M), _COARSE_M)))
    across = np.linspace(-room_m, room_m, tracks)[:, None, None]
    east, north = along(BEARINGS_DEG[:, None])
    x = position[0] + east * away_m + north * across
    y = position[1] + north * away_m - east * across
    top, trees_known = tops_over(ground, area, x, y, surface_m, shore=away_m <= _SHORE_M)
    return _Tops(away_m, np.max(top, axis=0), trees_known)  # np.max keeps NaN: unknown beside is unknown


class _Obstacles:
    """Known obstacles round a site, point by point, as seen along every bearing."""

    def __init__(
        self, position: tuple[float, float], surface_m: float, ground: Ground, caution_m: float
    ) -> None:
        self._caution_m = caution_m
        here = shapely.Point(position)
        close = hazards_within(ground, here, WAY_M + caution_m)
        beside = here.buffer(WAY_M + caution_m) if close else here
        self._hazards: list[Hazard] = []
        points: list[NDArray[np.float64]] = []
        owner: list[int] = []
        tops: list[NDArray[np.float64]] = []
        for hazard in close:
            near = shapely.intersection(hazard.shape, beside)
            if shapely.is_empty(near):
                continue
            at = shapely.get_coordinates(shapely.segmentize(near, _FINE_M))
            ground_m = ground.grid.sample(ground.elevation_m, at[:, 0], at[:, 1])
            height_m = np.nan if hazard.height_m is None else hazard.height_m
            owner += [len(self._hazards)] * len(at)
            self._hazards.append(hazard)
            points.append(at)
            tops.append(ground_m + height_m - surface_m)
        self._owner = np.array(owner, int)
        self._points = np.vstack(points) if points else np.zeros((0, 2))
        self._top_m = np.concatenate(tops) if tops else np.zeros(0)
        east, north = along(BEARINGS_DEG[:, None])
        dx, dy = self._points[:, 0] - position[0], self._points[:, 1] - position[1]
        self._along_m = east * dx + north * dy
        self._across_m = north * dx - east * dy

    def _tall(self, room_m: float) -> NDArray[np.float64]:
        """Known tops [bearing, point] that stand in the way flown, 0 elsewhere."""
        stands = (np.abs(self._across_m) <= room_m) & (self._along_m > 0.0) & (self._along_m <= WAY_M)
        return np.where(stands & np.isfinite(self._top_m), np.maximum(np.nan_to_num(self._top_m), 0.0), 0.0)

    def asked(self, room_m: float) -> NDArray[np.float64]:
        away = np.maximum(self._along_m, _FINE_M / 2)
        return np.asarray(np.max(self._tall(room_m) / away, axis=1, initial=0.0))

    def rise_m(self, slope: float, room_m: float) -> NDArray[np.float64]:
        tall = self._tall(room_m)
        return np.asarray(
            np.max(np.where(tall > 0.0, tall - slope * self._along_m, 0.0), axis=1, initial=0.0)
        )

    def nearest(self, slope: float) -> tuple[Wire | None, ...]:
        """The obstacle nearest to each way flown at a slope; one of unknown height reaches the path."""
        if not self._hazards:
            return (None,) * len(BEARINGS_DEG)
        over = np.maximum(self._along_m, 0.0) * slope
        under = np.where(np.isfinite(self._top_m), np.maximum(over - self._top_m, 0.0), 0.0)
        outside = np.maximum(np.maximum(-self._along_m, self._along_m - WAY_M), 0.0)
        distance = np.sqrt(self._across_m**2 + under**2 + outside**2)
        out: list[Wire | None] = []
        for row in distance:
            i = int(np.argmin(row))
            found = Wire(self._hazards[self._owner[i]], float(row[i]), tuple(self._points[i].tolist()))
            out.append(found if found.distance_m <= self._caution_m else None)
        return tuple(out)


def best_way(found: Round, hour: Hour | None, limits: Limits, *, climb: Band | None) -> DipWay:
    """The way in and the way out that suit best: open, into the wind, with the least climb straight up.

    A bearing is open if its ground is known, no obstacle stands nearer than `wire_stop_m`, and the climb
    straight up that it asks for is within `dip_vertical_m`. Where none is open the headings are None.
    """
    ways_out = _open(found, found.out_rise_m, found.out_wire, limits)
    ways_in = _open(found, found.in_rise_m, found.in_wire, limits)
    away = _best(ways_out, BEARINGS_DEG, found.out_rise_low_m, hour)
    back = _best(ways_in, (BEARINGS_DEG + 180.0) % 360.0, found.in_rise_m, hour)
    both = BEARINGS_DEG[ways_out & ways_in]
    return DipWay(
        departure_deg=None if away is None else float(BEARINGS_DEG[away]),
        approach_deg=None if back is None else float((BEARINGS_DEG[back] + 180.0) % 360.0),
        climb_needed=None if away is None else float(found.asked[away]),
        climb_available=climb,
        approach_needed=None if back is None else float(found.asked[back]),
        approach_available=limits.value("dip_approach_gradient_available"),
        rise_m=None if away is None else float(found.out_rise_m[away]),
        rise_low_m=None if away is None else float(found.out_rise_low_m[away]),
        descent_m=None if back is None else float(found.in_rise_m[back]),
        open_deg=tuple(both.tolist()),
        confined=not _far_apart(both),
    )


def _open(
    found: Round, rise_m: NDArray[np.float64], wires: tuple[Wire | None, ...], limits: Limits
) -> NDArray[np.bool_]:
    stop_m = limits.value("wire_stop_m")
    free = np.array([wire is None or wire.distance_m > stop_m for wire in wires])
    return np.asarray(np.isinf(found.unknown_m) & free & (rise_m <= limits.value("dip_vertical_m")))


def _best(
    open_ways: NDArray[np.bool_],
    heading_deg: NDArray[np.float64],
    rise_m: NDArray[np.float64],
    hour: Hour | None,
) -> int | None:
    """The open way of least cost: no tailwind where it can be helped; 45° off the wind weighs as 10 m up."""
    if not open_ways.any():
        return None
    cost = np.minimum(rise_m, _MOST_COST_M) / 10.0
    if hour is not None and hour.wind_mps > 0.0:
        off_deg = angle_between(heading_deg, hour.wind_from_deg)
        cost = cost + off_deg / 45.0
        if hour.wind_mps >= CALM_MPS:
            cost = cost + np.where(off_deg > 90.0, 100.0, 0.0)
    return int(np.argmin(np.where(open_ways, cost, np.inf)))


def _far_apart(bearings: NDArray[np.float64]) -> bool:
    """Whether two of the open bearings lie a quarter of the circle or more apart."""
    return bool((angle_between(bearings[:, None], bearings[None, :]) >= _APART_DEG).any())
