"""The circuit of a crew as its sheet draws it: a sketch of the way round, and what lies under it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.app.brief_run import wires_near
from wetline.app.brief_source import source_of
from wetline.briefing import CircuitView
from wetline.circuits import circuit, way_of
from wetline.errors import OutsideRangeError
from wetline.units import FOOT

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.brief_basis import Basis, Crew
    from wetline.briefing import Wire
    from wetline.circuits import Circuit, RaceTrack, Source

    Area = Polygon | MultiPolygon
    Point = tuple[float, float]

__all__ = ["circuit_view", "crew_circuit", "crew_way"]

_BESIDE_M = 600.0
"""How much ground is drawn round the way round."""
_SHOWN_WATER_SHARE = 1.0e-2
_STEP_M = 50.0
_SAME_PLACE_M = 1.0e-3


def _source(basis: Basis, crew: Crew) -> tuple[Source, Point] | None:
    """The source that the crew works, and the point that stands for it."""
    found = None if crew.primary is None else source_of(basis, crew.primary)
    return None if found is None else (found, found.position)


def _flown(crew: Crew) -> NDArray[np.float64] | None:
    """The first run of a crew as flown (x, y) [m], no point twice; None for one that has none."""
    if not crew.runs:
        return None
    track = crew.runs[0].track
    apart = np.hypot(*np.diff(track, axis=0).T) > _SAME_PLACE_M
    return np.asarray(track[np.concatenate(([True], apart))], float)


def crew_way(basis: Basis, crew: Crew) -> RaceTrack | None:
    """The way round of a crew that has a source and a run; None where none is found."""
    found, flown = _source(basis, crew), _flown(crew)
    return None if found is None or flown is None else way_of(crew.cls, found[0], flown, basis.limits)


def crew_circuit(basis: Basis, crew: Crew) -> Circuit | None:
    """The circuit over the crew's own first run, as it is drawn; that of the day where it cannot be laid out."""
    found, flown = _source(basis, crew), _flown(crew)
    if crew.primary is None or found is None or flown is None:
        return crew.primary
    situation = basis.done.situation
    target = crew.runs[0].release_position
    try:
        return circuit(
            crew.aircraft[0],
            crew.cls,
            found[0],
            target,
            situation.hour,
            basis.ground,
            basis.limits,
            run=flown,
        )
    except OutsideRangeError:
        return crew.primary


def _height_amsl_m(basis: Basis, way: RaceTrack | None) -> float | None:
    """The least height of the legs: over the highest ground under the way round by the limit; None if not known."""
    if way is None:
        return None
    path, grid = way.path_xy, basis.ground.grid
    at = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))))
    s = np.arange(0.0, at[-1], _STEP_M)
    z = grid.sample(basis.ground.elevation_m, np.interp(s, at, path[:, 0]), np.interp(s, at, path[:, 1]))
    return None if np.isnan(z).any() else float(z.max()) + basis.limits.value("en_route_clear_ft") * FOOT


def circuit_view(basis: Basis, crew: Crew) -> CircuitView | None:
    """The circuit of a crew; None for one that has none."""
    flown = crew_circuit(basis, crew)
    if flown is None:
        return None
    found = _source(basis, crew)
    way = crew_way(basis, crew)
    run = crew.runs[0] if crew.runs else None
    stops = () if found is None else ((flown.source, found[1]),)
    if run is not None:
        stops = (*stops, (run.id, run.release_position))
    water: tuple[Area, ...] = ()
    wires: tuple[Wire, ...] = ()
    if way is not None:
        sketch = shapely.LineString(way.path_xy)
        frame = sketch.envelope.buffer(_BESIDE_M)
        water = tuple(
            w.polygon
            for w in basis.ground.water
            if w.polygon.area >= _SHOWN_WATER_SHARE * frame.area and shapely.intersects(w.polygon, frame)
        )
        wires = wires_near(basis, sketch, None)
    return CircuitView(
        cycle_min=flown.cycle_min,
        loads_per_hour=flown.loads_per_hour,
        hand=None if way is None else way.hand,
        height_amsl_m=_height_amsl_m(basis, way),
        path_xy=None if way is None else way.path_xy,
        stops=stops,
        turns=() if way is None else way.turning_points,
        water=water,
        fire=basis.burnt_when(basis.now),
        wires=wires,
    )
