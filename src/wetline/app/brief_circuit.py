"""The circuit of a crew as its sheet draws it: a sketch of the way round, and what lies under it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.app.brief_run import wires_near
from wetline.app.brief_source import base_named, dip_of, lane_of
from wetline.app.brief_way import way_round
from wetline.briefing import CircuitView
from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.brief_basis import Basis, Crew
    from wetline.app.brief_way import Way
    from wetline.briefing import Wire

    Area = Polygon | MultiPolygon
    Point = tuple[float, float]
    Line = NDArray[np.float64]

__all__ = ["circuit_view", "crew_way"]

_LEAD_M = 600.0
"""Straight before and behind the lane in the sketch."""
_SHOWN_WATER_SHARE = 1.0e-2


def _fill_track(basis: Basis, crew: Crew) -> tuple[Line, Point] | None:
    """The straight piece flown at the source, and the point that stands for it."""
    circuit = crew.primary
    if circuit is None:
        return None
    if circuit.source_kind == "lane":
        lane = lane_of(basis, circuit.source)
        if lane is None:
            return None
        ahead = _LEAD_M * np.array(along(lane.heading_deg))
        return np.array([lane.start - ahead, lane.start, lane.end, lane.end + ahead]), lane.middle
    if circuit.source_kind == "dip":
        dip = dip_of(basis, circuit.source)
        return None if dip is None else (np.array([dip.position]), dip.position)
    base = base_named(basis, circuit.source)
    here = None if base is None else (base.point.x, base.point.y)
    return None if here is None else (np.array([here]), here)


def crew_way(basis: Basis, crew: Crew) -> Way | None:
    """The way round of a crew that has a source and a run."""
    fill = _fill_track(basis, crew)
    return None if fill is None or not crew.runs else way_round(fill[0], crew.runs[0])


def circuit_view(basis: Basis, crew: Crew) -> CircuitView | None:
    """The circuit of a crew; None for one that has none."""
    circuit = crew.primary
    if circuit is None:
        return None
    fill = _fill_track(basis, crew)
    way = crew_way(basis, crew)
    run = crew.runs[0] if crew.runs else None
    stops = () if fill is None else ((circuit.source, fill[1]),)
    if run is not None:
        stops = (*stops, (run.id, run.release_position))
    water: tuple[Area, ...] = ()
    wires: tuple[Wire, ...] = ()
    if way is not None:
        sketch = shapely.LineString(way.path_xy)
        frame = sketch.envelope.buffer(_LEAD_M)
        water = tuple(
            w.polygon
            for w in basis.ground.water
            if w.polygon.area >= _SHOWN_WATER_SHARE * frame.area and shapely.intersects(w.polygon, frame)
        )
        wires = wires_near(basis, sketch, None)
    return CircuitView(
        cycle_min=circuit.cycle_min,
        loads_per_hour=circuit.loads_per_hour,
        hand=None if way is None else way.hand,
        path_xy=None if way is None else way.path_xy,
        stops=stops,
        turns=() if way is None else way.turns,
        water=water,
        fire=basis.burnt_when(basis.now),
        wires=wires,
    )
