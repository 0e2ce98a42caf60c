"""A crew's first run as its sheet draws it: in the run's own frame, release at 0, edge as at its minute."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, cast

import numpy as np
import shapely
from shapely.geometry.polygon import orient
from shapely.ops import substring

from wetline.briefing import Frame, Person, RunView, Wire
from wetline.circuits import build_run, turn_radius_m
from wetline.drops import agent_facts
from wetline.grid import bearing_deg
from wetline.model import Band, worst
from wetline.safety import distance_to_run_m
from wetline.units import COVERAGE_LEVEL, FOOT

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.aircraft import AircraftClass
    from wetline.app.brief_basis import Basis, Crew
    from wetline.circuits import RunGeometry
    from wetline.ground import Hazard
    from wetline.model import DropRun

    Area = Polygon | MultiPolygon
    Side = Literal["left", "right", "both", "ahead", "none"]

__all__ = ["edge_lines", "hazard_words", "no_run_words", "run_view", "wires_near"]

_PEOPLE_M = 400.0
_WIRES_M = 600.0
_WINDOW_M = 3_000.0
_BESIDE_M = 150.0
"""How far beside the line the burnt ground is looked for."""
_BEYOND_M = 300.0
"""Drawn beyond the end of the exit turn."""
_LIMITED = {
    "crew_hours": "crew hours leave no load",
    "cut_off": "no load before the cut-off",
    "land_by": "no load and landing before dark",
    "fuel": "fuel leaves no load",
    "wind": "wind keeps it on the ground or off its legs",
    "no_source": "no source that it may use",
    "no_base": "its base is not among the bases: no way home to count",
    "no_daylight": "daylight is not known",
}


def no_run_words(basis: Basis, crew: Crew) -> str | None:
    """Why there is no run on a sheet, and what would release one; None where there is one."""
    if crew.runs:
        return None
    if crew.oversees:
        return "none: oversees, drops nothing"
    row = crew.rows[0]
    if not sum(r.loads for r in crew.rows):
        return f"none: {_LIMITED.get(row.limited_by, row.limited_by.replace('_', ' '))}"
    if basis.done.attack is None:
        return f"none planned: {basis.done.why or 'no plan could be made'}"
    if crew.held:
        first = crew.held[0]
        stop = next(f for f in first.run.findings if f.level == "stop")
        many = f"all {len(crew.held)} tried" if len(crew.held) > 1 else first.run.id
        return f"held back, {many}: {basis.local(stop.message).rstrip('.')}. Free {first.release}"
    return "none: no edge left for its loads"


def run_view(basis: Basis, crew: Crew, run: DropRun) -> RunView:
    """The run with its edge, people and wires near, and the ground below."""
    frame = Frame(run.release_position, run.run_heading_deg)
    geometry = _geometry(basis, crew.cls, run)
    line_xy = frame.local(run.line)
    line_x = line_xy[:, 0]
    x, y = run.release_position
    wind = _wind(basis, run)
    ground_m, canopy_m = _known(basis.ground.elevation_at(x, y)), basis.ground.canopy_at(x, y)
    least = crew.cls.get("drop_height_min_ft")
    burnt = basis.burnt_when(run.time)
    window = shapely.Point(run.release_position).buffer(_WINDOW_M)
    near = cast("Area", shapely.intersection(burnt, window))
    way_out = _way_out(geometry)
    reach_m = float(max(frame.local(way_out)[:, 0].max(), line_x.max() + _BEYOND_M))
    behind_m = float(frame.local(run.approach)[:, 0].min())
    return RunView(
        id=run.id,
        level=worst(run.findings),
        heading_true_deg=basis.true(run.run_heading_deg),
        exit_true_deg=basis.true(float(bearing_deg(*(geometry.exit_path[-1] - geometry.exit_path[-2])))),
        speed_mps=Band(run.speed_mps),
        height_above_canopy_m=run.height_above_canopy_m,
        height_min_m=None if least is None else least.value * FOOT,
        release_amsl_m=run.height_amsl_m,
        ground_m=ground_m,
        canopy_m=_known(canopy_m),
        line_m=run.line_m,
        line_basis=_line_basis(run),
        coverage_l_per_m2=run.coverage_level * COVERAGE_LEVEL,
        drift_right_m=run.drift_right_m,
        drift_along_m=run.drift_along_m,
        release_early_m=run.release_early_m,
        release_right_m=run.release_right_m,
        headwind_mps=wind[0],
        crosswind_mps=wind[1],
        line_here_m=run.line_here_m,
        vertical_from_m=None if run.vertical_from_m is None else run.vertical_from_m.middle,
        intact_share=run.intact_share,
        stand_clear=run.stand_clear,
        hold_min=run.hold_min,
        until_rain=agent_facts(run.agent).lasts == "until_rain",
        coat=run.coat,
        coats=run.coats,
        join_m=run.join_m,
        panel=run.panel,
        line_left_m=float(line_xy[:, 1].mean()),
        line_from_m=float(line_x.min()),
        line_to_m=float(line_x.max()),
        burnt_side=_burnt_side(frame, burnt, float(line_x.min()), float(line_x.max())),
        burnt=None if near.is_empty else frame.shape(near),
        open_edge=tuple(frame.local(line) for line in edge_lines(burnt)),
        approach=frame.local(run.approach),
        exit_path=frame.local(way_out),
        people=_people(basis, run, frame),
        wires=wires_near(basis, shapely.LineString(np.vstack((run.approach, run.exit_path))), frame),
        profile=frame.profile(basis.ground, behind_m, reach_m),
        flight=_flight(basis, crew.cls, run, (behind_m, float(line_x.max()), reach_m)),
        flight_note=f"at most {basis.style.slope(basis.limits.value('descent_gradient_available'), 'down')}",
    )


def _line_basis(run: DropRun) -> str | None:
    """What tells the line, where the incident has drop tests of its own."""
    if run.line_from == "table":
        return "own drop tests"
    return "physics, no own drop test fits" if run.line_notes else None


def _known(value: float | None) -> float | None:
    return None if value is None or not np.isfinite(value) else value


def _wind(basis: Basis, run: DropRun) -> tuple[float, float] | tuple[None, None]:
    """Head and cross wind [m/s] (from the right positive) of the run's hour, None where it is not known."""
    weather = basis.done.situation.incident.weather
    if weather is None or not weather.covers(run.time):
        return None, None
    hour = weather.at(run.time)
    angle = np.radians(hour.wind_from_deg - run.run_heading_deg)
    return float(hour.wind_mps * np.cos(angle)), float(hour.wind_mps * np.sin(angle))


def _geometry(basis: Basis, cls: AircraftClass, run: DropRun) -> RunGeometry:
    """The run built again, as planned, for the whole of its way out: the plan keeps its first part."""
    offset = Frame((float(run.line[0, 0]), float(run.line[0, 1])), run.run_heading_deg).local(
        run.release_position
    )[0]
    return build_run(
        run.line,
        cls,
        basis.ground,
        None,
        height_m=run.height_above_canopy_m,
        limits=basis.limits,
        direction="as_given",
        release_offset=lambda _: (-float(offset[1]), float(offset[0])),
        speed_mps=run.speed_mps,
        refers_to=run.id,
    )


def _way_out(geometry: RunGeometry) -> NDArray[np.float64]:
    """The way out through its turn and a little straight on."""
    path = geometry.exit_path
    if geometry.turn == "straight":
        return np.asarray(substring(shapely.LineString(path), 0.0, 2 * _BEYOND_M).coords, float)
    turned = shapely.LineString(path[:-1]).length
    tail = min(_BEYOND_M, turn_radius_m(geometry.speed_mps))
    return np.asarray(substring(shapely.LineString(path), 0.0, turned + tail).coords, float)


def edge_lines(burnt: Area) -> tuple[NDArray[np.float64], ...]:
    """The edge of an area, burnt ground on the left of every line."""
    lines: list[NDArray[np.float64]] = []
    for part in shapely.get_parts(burnt):
        if part.geom_type == "Polygon":
            facing = orient(part)
            lines += [np.asarray(ring.coords, float) for ring in (facing.exterior, *facing.interiors)]
    return tuple(lines)


def _burnt_side(frame: Frame, burnt: Area, from_m: float, to_m: float) -> Side:
    """Which side of the line is black: by area within a strip each side of it."""
    shares = []
    for side in (1.0, -1.0):
        corners = [(from_m, 0.0), (to_m, 0.0), (to_m, side * _BESIDE_M), (from_m, side * _BESIDE_M)]
        strip = shapely.Polygon(frame.grid(corners))
        shares.append(shapely.intersection(strip, burnt).area / strip.area)
    left, right = shares
    if max(shares) < 0.05:
        return "none"
    if min(shares) > 0.6:
        return "both"
    return "left" if left > right else "right"


def _people(basis: Basis, run: DropRun, frame: Frame) -> tuple[Person, ...]:
    """Everyone reported near, nearest first, with the least distance that the checks know."""
    found = []
    track = shapely.LineString(np.vstack((run.approach, run.exit_path)))
    for place in basis.ground.people:
        distance = distance_to_run_m(place, run)
        if place.kind == "place" or distance > _PEOPLE_M:
            continue
        point = shapely.get_coordinates(shapely.shortest_line(place.shape, track))[0]
        x, y = frame.local(point)[0]
        side = "on the line" if abs(y) < 5.0 else "left" if y > 0 else "right"
        words = f"{place.name}, {basis.style.length(distance, 'down')} {side}"
        found.append((distance, Person(words, (float(x), float(y)))))
    return tuple(person for _, person in sorted(found, key=lambda pair: (pair[0], pair[1].label)))


def hazard_words(basis: Basis, hazard: Hazard) -> str:
    """`wire 34 m`."""
    height = "height not known" if hazard.height_m is None else basis.style.tall(hazard.height_m)
    return f"{hazard.kind} {height}"


def wires_near(basis: Basis, track: shapely.LineString, frame: Frame | None) -> tuple[Wire, ...]:
    """Wires and masts within reach of a track, in a frame or in grid metres."""
    out: list[Wire] = []
    window = track.envelope.buffer(_WIRES_M)
    for hazard in basis.ground.hazards:
        if not shapely.dwithin(hazard.shape, track, _WIRES_M):
            continue
        near = shapely.intersection(hazard.shape, window)
        for part in shapely.get_parts(near):
            if shapely.is_empty(part):
                continue
            ring = part.exterior if part.geom_type == "Polygon" else part
            points = shapely.get_coordinates(ring)
            out.append(Wire(hazard_words(basis, hazard), points if frame is None else frame.local(points)))
    return tuple(out)


def _flight(
    basis: Basis, cls: AircraftClass, run: DropRun, along: tuple[float, float, float]
) -> NDArray[np.float64] | None:
    """Down at the slope that a run may ask for, level over the line, up at the class's climb at full load."""
    climb = cls.get("climb_fpm")
    if run.height_amsl_m is None or climb is None:
        return None
    first_m, line_to_m, last_m = along
    top_m, down = run.height_amsl_m, basis.limits.value("descent_gradient_available")
    level_to_m = max(line_to_m, 0.0)
    up = climb.si() / run.speed_mps
    return np.array([
        (first_m, top_m - down * first_m), (0.0, top_m), (level_to_m, top_m),
        (last_m, top_m + up * (last_m - level_to_m)),
    ])  # fmt: skip
