"""What goes on the incident map, as plain data by the conventions of `pack`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import datetime

    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry import LineString, MultiPolygon, Polygon

    from wetline.briefing.pack import Wind
    from wetline.ground import Ground
    from wetline.model import Level

    Line = NDArray[np.float64]
    Point = tuple[float, float]
    Area = Polygon | MultiPolygon

__all__ = ["Answer", "FrontLine", "HeldLine", "MapDip", "MapLane", "MapPage", "MapPeople", "MapRun"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the three questions, answered in words. `level` draws the glyph before the answer."""

    question: str
    answer: str
    details: tuple[str, ...] = ()
    level: Level | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontLine:
    """Where the fire's edge is expected at `time`: closed or open lines, grid metres."""

    time: datetime
    lines_xy: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class HeldLine:
    """A piece of stopped or planned line. `label`: `wet until 14:04`, or None."""

    state: Literal["secured", "wet", "drying", "burned_through", "retardant", "planned"]
    line: Line
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MapLane:
    """A lane on the map, drawn to scale: `start_xy` to `end_xy` as flown."""

    id: str
    level: Level
    start_xy: Point
    end_xy: Point
    clear_m: float
    heading_true_deg: float
    length_m: float
    note: str | None = None


@dataclass(frozen=True, slots=True)
class MapDip:
    """A dip site on the map."""

    id: str
    level: Level
    xy: Point
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MapRun:
    """A run on the map. `confirmed`: a named person's word stands now; nothing else says clear."""

    id: str
    order: int
    aircraft: str
    level: Level
    heading_true_deg: float
    approach_xy: Line
    line_xy: Line
    exit_xy: Line
    confirmed: bool = False
    held_back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPeople:
    """People, houses or a place on the map.

    `earliest`: the fire's earliest arrival, if nothing more is stopped; None = not within the
    hours looked at, or not known: `note` says which. `ring_m`: the limit, where it is broken.
    """

    name: str
    kind: Literal["crew", "houses", "camp", "road_users", "place"]
    xy: Point
    level: Level
    count: int | None = None
    seen: datetime | None = None
    earliest: datetime | None = None
    ring_m: float | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPage:
    """The incident map. Water, roads, wires, avoid areas and bases come from `ground`.

    `ground=None`: the page says so and draws what is given on white.
    `burnt_xy` is drawn dotted: as drawn at `burnt_time`, or grown from that to `grown_to`; `open_edge_xy` with teeth toward the unburnt: burnt on the line's
    left. `looked_ahead_h`: hours over which the fronts were grown. `extent`: west, south, east, north
    [m], else it is chosen to hold fire, fronts, runs, people and the sources in use.
    """

    answers: tuple[Answer, ...]
    burnt_xy: Area
    burnt_time: datetime
    ground: Ground | None
    grown_to: datetime | None = None
    wind: Wind | None = None
    open_edge_xy: tuple[Line, ...] = ()
    held_edge_xy: tuple[HeldLine, ...] = ()
    fronts: tuple[FrontLine, ...] = ()
    fronts_assume: str = "nothing more stopped"
    lanes: tuple[MapLane, ...] = ()
    dips: tuple[MapDip, ...] = ()
    runs: tuple[MapRun, ...] = ()
    people: tuple[MapPeople, ...] = ()
    crews_line_xy: tuple[LineString, ...] = ()
    circuit_xy: Line | None = None
    circuit_label: str | None = None
    extent: tuple[float, float, float, float] | None = None
