"""Wires, masts and other obstacles beside a lane, its approach and its climb-out, or a dip site."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.grid import along
from wetline.model import Finding
from wetline.water.course import APPROACH_M, CLIMB_M

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.ground import Ground, Hazard, Water
    from wetline.model import Limits
    from wetline.water.circumstances import Circumstances
    from wetline.water.course import Course

__all__ = ["Obstacle", "check_crossings", "check_wires", "check_wires_at", "hazards_within", "obstacles_near"]

_HAZARD_STEP_M = 10.0
_CROSSES_M = 0.1  # the noise of coordinates; what stands this near to the axis on the water crosses it


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A known obstacle beside a course. `distance_m`: between it and the path flown, in space.

    `along_m`: where. `top_m`: above the water, None where its height or the ground is not known.
    `approach_asked`, `climb_asked`: slopes that it asks for; 0 beside the lane's width.
    """

    hazard: Hazard
    distance_m: float
    along_m: float
    top_m: float | None
    approach_asked: float
    climb_asked: float
    position: tuple[float, float]

    def part(self, course: Course) -> str:
        """Where on the course it stands, in words."""
        if self.along_m < course.touch_m:
            return "approach"
        return "lane" if self.along_m <= course.lift_m else "climb-out"


def hazards_within(ground: Ground, shape: BaseGeometry, reach_m: float) -> list[Hazard]:
    """The known obstacles within a distance [m] of a shape, all asked at once."""
    shapes = np.array([hazard.shape for hazard in ground.hazards], dtype=object)
    if not len(shapes):
        return []
    return [ground.hazards.features[i] for i in np.flatnonzero(shapely.dwithin(shapes, shape, reach_m))]


def obstacles_near(course: Course, ground: Ground, limits: Limits) -> tuple[Obstacle, ...]:
    """Known obstacles within the caution distance of the path flown, nearest first.

    The path: on the water from touch to lift-off; in the air at the slopes that the class flies
    within the limits. Nothing is passed under, whatever its height.
    An obstacle of unknown height counts as reaching the path.
    """
    reach_m = limits.value("wire_caution_m")
    path = course.path()
    close = hazards_within(ground, path, reach_m)
    beside = shapely.buffer(path, reach_m) if close else path
    out = []
    for hazard in close:
        near = shapely.intersection(hazard.shape, beside)
        if shapely.is_empty(near):
            continue
        crossing = shapely.intersection(hazard.shape, path)
        points = np.vstack(
            [shapely.get_coordinates(shapely.segmentize(g, _HAZARD_STEP_M)) for g in (near, crossing)]
        )
        found = _nearest(course, hazard, points, ground)
        if found.distance_m <= reach_m:
            out.append(found)
    return tuple(sorted(out, key=lambda o: (o.distance_m, o.hazard.name)))


def _nearest(course: Course, hazard: Hazard, points: NDArray[np.float64], ground: Ground) -> Obstacle:
    east, north = along(course.heading_deg)
    dx, dy = points[:, 0] - course.start[0], points[:, 1] - course.start[1]
    s, across = dx * east + dy * north, dx * north - dy * east
    before = np.maximum(course.touch_m - s, 0.0)
    behind = np.maximum(s - course.lift_m, 0.0)
    over = np.maximum(before * course.flight.approach_slope, behind * course.flight.climb_slope)
    if hazard.height_m is None or course.surface_m is None:
        top = np.full(len(points), np.nan)
    else:
        ground_m = ground.grid.sample(ground.elevation_m, points[:, 0], points[:, 1])
        top = ground_m + hazard.height_m - course.surface_m
    under = np.where(np.isfinite(top), np.maximum(over - top, 0.0), 0.0)
    outside = np.maximum(np.maximum(before - APPROACH_M, behind - CLIMB_M), 0.0)
    distance = np.sqrt(across**2 + under**2 + outside**2)
    counts = (np.abs(across) <= course.clear_m) & (outside == 0.0) & np.isfinite(top)
    height = np.where(counts, np.maximum(np.nan_to_num(top), 0.0), 0.0)
    i = int(np.argmin(distance))
    return Obstacle(
        hazard=hazard,
        distance_m=float(distance[i]),
        along_m=float(s[i]),
        top_m=float(top[i]) if np.isfinite(top[i]) else None,
        approach_asked=_steepest(height, before),
        climb_asked=_steepest(height, behind),
        position=(float(points[i, 0]), float(points[i, 1])),
    )


def _steepest(height_m: NDArray[np.float64], away_m: NDArray[np.float64]) -> float:
    off = away_m > 0.0
    return float(np.max(height_m[off] / np.maximum(away_m[off], _HAZARD_STEP_M / 2), initial=0.0))


def check_wires(
    course: Course, obstacles: tuple[Obstacle, ...], water: Water, circumstances: Circumstances
) -> tuple[Finding, ...]:
    """Wires, masts and other obstacles near the lane, its approach and its climb-out."""
    out = []
    for o in obstacles:
        place = f"the {o.part(course)}{'' if o.top_m is None else ' path'}"
        found = _wire(o.hazard, o.distance_m, place, o.position, circumstances.limits)
        if o.part(course) == "lane" and o.distance_m < _CROSSES_M:
            words = f"{o.hazard.kind.capitalize()} {o.hazard.name} crosses the lane: nothing is passed under, whatever its height."
            found = replace(found, message=words)
        out.append(found)
    return (*out, *_rest_of_layer(bool(out), water, circumstances))


def check_crossings(course: Course, ground: Ground) -> tuple[Finding, ...]:
    """Roads drawn over the lane: a bridge or a causeway; across the run itself a stop.

    Where the layer of roads draws none, that says nothing: the look goes along the whole lane.
    """
    lines = np.array([road.line for road in ground.roads], dtype=object)
    if not len(lines):
        return ()
    run = shapely.LineString([course.point(course.run_from_m), course.point(course.run_to_m)])
    lane = shapely.LineString([course.point(0.0), course.point(course.length_m)])
    corridor = shapely.buffer(lane, course.clear_m, cap_style="flat")
    out = []
    for i in np.flatnonzero(shapely.intersects(lines, corridor)):
        road = ground.roads.features[i]
        across = bool(shapely.intersects(road.line, run))
        place = shapely.get_coordinates(shapely.intersection(road.line, run if across else corridor))[0]
        out.append(
            Finding(
                code="wire",
                level="stop" if across else "caution",
                message=f"Road {road.name} is drawn {'across the run' if across else 'into the lane'}: a bridge or a causeway"
                f"{', nothing is passed under' if across else ''}.",
                source="the layer of roads",
                refers_to="",
                position=(float(place[0]), float(place[1])),
            )
        )
    return tuple(out)


def check_wires_at(
    position: tuple[float, float], water: Water, circumstances: Circumstances
) -> tuple[Finding, ...]:
    """Wires, masts and other obstacles round a dip site."""
    caution = circumstances.limits["wire_caution_m"]
    point = shapely.Point(position)
    out = []
    for hazard in hazards_within(circumstances.ground, point, caution.value):
        distance_m = float(shapely.distance(hazard.shape, point))
        near = shapely.get_coordinates(shapely.shortest_line(hazard.shape, point))[0]
        place = (float(near[0]), float(near[1]))
        out.append(_wire(hazard, distance_m, "the site", place, circumstances.limits))
    return (*out, *_rest_of_layer(bool(out), water, circumstances))


def _wire(
    hazard: Hazard, distance_m: float, place: str, position: tuple[float, float], limits: Limits
) -> Finding:
    stop = distance_m <= limits.value("wire_stop_m")
    limit = limits["wire_stop_m" if stop else "wire_caution_m"]
    height = "height not known" if hazard.height_m is None else f"{hazard.height_m:.0f} m high"
    return Finding(
        code="wire",
        level="stop" if stop else "caution",
        message=f"{hazard.kind.capitalize()} {hazard.name}, {height}, {distance_m:.0f} m from {place}, limit {limit.text()}.",
        source=limit.source,
        refers_to="",
        position=position,
        distance_m=distance_m,
        limit=limit.text(),
        value=f"{distance_m:.0f} m",
    )


def _rest_of_layer(any_near: bool, water: Water, circumstances: Circumstances) -> tuple[Finding, ...]:
    """What the layer itself is worth: a layer that nobody vouches for is unknown, not empty."""
    layer = circumstances.ground.hazards
    limit = circumstances.limits["wire_caution_m"].text()
    if layer.present and layer.surveyed is not None:
        if any_near:
            return ()
        return (
            Finding(
                code="wire",
                level="clear",
                message=f"None known in the layer of {layer.surveyed}; look.",
                source="the hazards layer",
                refers_to="",
                limit=limit,
            ),
        )
    why = "the hazards layer declares no cover" if layer.present else "there is no hazards layer"
    looked = circumstances.look_at(water)
    seen = f"looked at {looked:%H:%MZ}" if looked else "look along approach, lane and climb-out"
    return (
        Finding(
            code="wire",
            level="caution" if looked else "unknown",
            effect=None if looked else "look",
            message=f"Wires and masts: {why}; {seen}.",
            source="the incident folder",
            refers_to="",
            limit=limit,
        ),
    )
