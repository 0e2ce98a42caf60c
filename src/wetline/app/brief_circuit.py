"""The circuit as a sketch: one way round from the source over the run and back, never across itself."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from wetline.app.brief_run import wires_near
from wetline.app.brief_source import base_named, dip_of, lane_of
from wetline.briefing import CircuitView
from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.brief_basis import Basis, Crew
    from wetline.briefing import Wire
    from wetline.model import DropRun

    Area = Polygon | MultiPolygon
    Point = tuple[float, float]
    Line = NDArray[np.float64]

__all__ = ["Way", "circuit_view", "crew_way", "way_round"]

_LEAD_M = 600.0
"""Straight before and behind the lane in the sketch."""
_CORNER_M = 350.0
_SWINGS = (0.0, 1.0, -1.0, 2.0, -2.0, 4.0, -4.0)
_SWING_M, _SWING_SHARE = 900.0, 0.1
"""How far a leg may swing out, to the left first, so that the way round does not cross itself."""
_THIN = 0.008
"""Area over length squared (a circle has 0.08) under which out and back read as one line."""
_SHOWN_WATER_SHARE = 1.0e-2


@dataclass(frozen=True, slots=True)
class Way:
    """The way round: its closed path, float64[n, 2] [m], the hand it turns, and its turning points."""

    path_xy: Line
    hand: Literal["left", "right"]
    turns: tuple[Point, ...]


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


def _rounded(points: Line) -> Line:
    """A closed line with every corner rounded off."""
    out: list[Line] = []
    n = len(points)
    for i in range(n):
        corner, before, behind = points[i], points[i - 1] - points[i], points[(i + 1) % n] - points[i]
        back, ahead = (
            corner + side * min(_CORNER_M / max(float(np.hypot(*side)), 1e-9), 0.45)
            for side in (before, behind)
        )
        t = np.linspace(0.0, 1.0, 9)[:, None]
        out.append((1 - t) ** 2 * back + 2 * t * (1 - t) * corner + t**2 * ahead)
    closed = np.vstack(out)
    return np.vstack((closed, closed[:1]))


def _swung(start: Line, end: Line, swing: float) -> Line:
    """The point half way of a leg, swung out to its left; none for a straight leg."""
    leg = end - start
    length = float(np.hypot(*leg))
    if swing == 0.0 or length == 0.0:
        return np.empty((0, 2))
    left_m = swing * max(_SWING_M, _SWING_SHARE * length)
    return np.array([(start + end) / 2 + left_m * np.array([-leg[1], leg[0]]) / length])


def way_round(fill: Line, run: DropRun) -> Way | None:
    """Source, run and back with one hand; left where it can be. None where every way crosses itself."""
    strike = np.vstack((run.approach[:1], run.line[-1:], run.exit_path[-1:]))
    best: tuple[tuple[int, int, float], Way] | None = None
    for out, back in product(_SWINGS, repeat=2):
        points = np.vstack(
            (fill, _swung(fill[-1], strike[0], out), strike, _swung(strike[-1], fill[0], back))
        )
        path = _rounded(points)
        ring = shapely.LinearRing(path)
        if not ring.is_simple:
            continue
        hand: Literal["left", "right"] = "left" if ring.is_ccw else "right"
        turns = [fill[-1]] if len(fill) > 1 else []
        turns += [strike[0], strike[-1]]
        thin = shapely.Polygon(ring).area < _THIN * ring.length**2
        cost = (int(hand == "right"), int(thin), float(ring.length))
        if best is None or cost < best[0]:
            best = (cost, Way(path, hand, tuple((float(x), float(y)) for x, y in turns)))
    return None if best is None else best[1]


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
