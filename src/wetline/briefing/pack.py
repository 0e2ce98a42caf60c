"""What goes on paper: the pack of one incident map and one sheet a crew, as plain data.

Conventions, for every noun here:

- Bearings are **true** degrees, and say so in their name; the sheet prints magnetic first.
- Times are aware UTC; the sheet prints them in the pack's local zone.
- Points and lines named `*_xy` lie in the pack's grid [m]. Lines drawn *as flown* lie in the run's or
  lane's own frame: x along the heading [m] from its zero point, y to the **left** [m] (`Frame`).
- Profiles are float64[n, 2]: distance along the same x [m], height above sea level [m].
- `None` is "not known" and is printed as that word; it is never blank and never 0.

What lies on the map has a module of its own, `map_nouns`, by the same conventions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date, datetime, tzinfo

    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.briefing.map_nouns import HeldLine, MapPage
    from wetline.grid import Projection
    from wetline.model import Band, Finding, Level, StandClear

    Line = NDArray[np.float64]
    Point = tuple[float, float]
    Area = Polygon | MultiPolygon

__all__ = [
    "RADIO",
    "BaseView",
    "BriefPack",
    "CircuitView",
    "CrewSheet",
    "DipView",
    "LaneView",
    "Look",
    "Mark",
    "Person",
    "PointRow",
    "RunView",
    "Times",
    "Units",
    "Wind",
    "Wire",
]

Units = Literal["aviation", "metric", "us"]
RADIO: tuple[tuple[str, str | None], ...] = (
    ("Air to air", None),
    ("Air to ground", None),
    ("Base", None),
    ("Emergency", None),
)
"""The radio line's blanks, written in by hand where the folder gives no frequency."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wind:
    """Wind read or forecast at `time`: from a true bearing."""

    from_true_deg: float
    speed_mps: float
    time: datetime
    gust_mps: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The tide table. `leave_for_fuel`: one entry a call sign: its departures for fuel.

    None = not known; an empty tuple of departures = no stop for fuel before the last drop.
    """

    first_drop: datetime | None
    leave_for_fuel: tuple[tuple[datetime, ...] | None, ...]
    last_fill: datetime | None
    last_drop: datetime | None
    land_by: datetime | None
    crew_hours: datetime | None
    cut_off: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A logged look at water: who, when, what was seen, and until when it holds."""

    by: str
    time: datetime
    words: str
    until: datetime


@dataclass(frozen=True, slots=True)
class Mark:
    """A labelled tick `at_m` along the axis: touch, step, full, off by."""

    label: str
    at_m: float


@dataclass(frozen=True, slots=True)
class Person:
    """People in a run's own frame: `at` is (x along, y left) [m]. `label`: `Alder, 155 m left`."""

    label: str
    at: Point


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire or mast: a line (one point = a mast) in the frame of its drawing, with its words."""

    label: str
    line: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneView:
    """A scoop lane as flown: x = 0 where the usable length starts.

    `level`, as the checks say: clear (looked at), caution, unknown (needs a look), stop.
    `needed_m`: length that the class asks for. `clear_m`: free water each side of the axis.
    `headwind_mps` < 0 is a tailwind; `crosswind_mps` > 0 comes from the right.
    `shore`: the water in the lane's frame. `marks`: ticks between 0 and `length_m`.
    `profile`: ground along the axis. `flight`: the path flown, approach to climb-out. `flight_note`:
    words for its first part, where the height at its start is not one to fly from.
    `gradient_asked`: slope [m/m] that clears the far shore, drawn dashed from `lift_off_m`, else from
    the end of the lane; `gradient_flown`: slope at full load. `way_out`: how to leave where straight
    ahead does not do.
    """

    id: str
    water: str
    level: Level
    heading_true_deg: float
    length_m: float
    clear_m: float
    needed_m: float | None = None
    headwind_mps: float | None = None
    crosswind_mps: float | None = None
    depth_m: float | None = None
    depth_date: date | None = None
    surface_m: float | None = None
    look: Look | None = None
    wires: str | None = None
    if_lost: str | None = None
    gradient_asked: float | None = None
    gradient_flown: float | None = None
    way_out: str | None = None
    lift_off_m: float | None = None
    shore: Area | None = None
    marks: tuple[Mark, ...] = ()
    profile: Line | None = None
    flight: Line | None = None
    flight_note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DipView:
    """A dip site as flown: x = 0 at the hover, behind it along the way in, before it along the way out.

    `heading_true_deg`: of the way out; `approach_true_deg`: of the way in, flown. `way_note`: why ways are not
    known, or what is special with them. `headwind_mps` (< 0 from behind): on the way out.
    `gradient_*`: [m/m] asked for and flown on the way out; `descent_*` on the way in. `rise_m`, `sink_m`: straight
    up and down. `clear_m`: radius free of trees and shore. `load_l`: with full fuel, and at the reserve.
    `tank`: in words, what a tank holds and gets.
    """

    id: str
    water: str
    level: Level
    heading_true_deg: float | None
    approach_true_deg: float | None = None
    way_note: str | None = None
    headwind_mps: float | None = None
    clear_m: float | None = None
    depth_m: float | None = None
    depth_needed_m: float | None = None
    depth_date: date | None = None
    surface_m: float | None = None
    look: Look | None = None
    wires: str | None = None
    if_lost: str | None = None
    gradient_asked: float | None = None
    gradient_flown: float | None = None
    descent_asked: float | None = None
    descent_flown: float | None = None
    rise_m: float | None = None
    sink_m: float | None = None
    load_l: tuple[float, float] | None = None
    tank: str | None = None
    shore: Area | None = None
    profile: Line | None = None
    flight: Line | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseView:
    """A base where the load is pumped. x = 0 at the base, along the way to the fire.

    `toward_true_deg`, `distance_m`: from base to fire. `flight_min`: one way. `runway_needed_m`: in this air.
    `stock_l`, `mix_l_per_h`: agent on hand and mixed; `fuel`: whether it has fuel. None where nobody told.
    """

    name: str
    level: Level
    toward_true_deg: float | None
    distance_m: float | None
    flight_min: Band | None = None
    reload_min: Band | None = None
    runway_m: float | None = None
    runway_needed_m: Band | None = None
    stock_l: float | None = None
    mix_l_per_h: float | None = None
    fuel: bool | None = None
    elevation_m: float | None = None
    pits: int | None = None
    agents: tuple[str, ...] | None = None
    last_word: str | None = None
    wires: str | None = None
    if_lost: str | None = None
    profile: Line | None = None
    flight: Line | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """A drop run as flown: x = 0 at the release, y left.

    `exit_true_deg`: heading after the exit turn. `height_*`: tank above the top of canopy [m].
    `headwind_mps` (< 0 from behind), `crosswind_mps` > 0 from the right: None where no wind is known.
    `drift_right_m` > 0 to the right, `drift_along_m` > 0 long, < 0 short, both against calm air.
    `release_early_m` > 0: before the line begins; `release_right_m` > 0: to the right of the line; both are
    already in the release point.
    `line_basis`: in words, what tells the line, where the folder has drop tests.
    `line_from_m`, `line_to_m`: the wetted line along x, `line_left_m` its y. `burnt_side`: which side is black.
    `line_here_m`: the line at this heading where it is not the one planned. `vertical_from_m`: height above
    the canopy from which the load falls vertically; `intact_share` of it arrives as one body. `join_m`: how
    far inside the visible end of the last load to begin. `panel`: what to set. `until_rain`: `hold_min` ends
    with rain, not with drying.
    `open_edge` lines have the burnt ground on their left; `held_edge` as `HeldLine`, in this frame.
    `profile`: ground along the run. `flight`: the path's height along x; `flight_note`: words for its
    first part.
    """

    id: str
    level: Level
    heading_true_deg: float
    exit_true_deg: float | None
    speed_mps: Band | None
    height_above_canopy_m: float
    height_min_m: float | None
    release_amsl_m: float | None
    ground_m: float | None
    canopy_m: float | None
    line_m: Band
    coverage_l_per_m2: float | None
    line_basis: str | None = None
    drift_right_m: Band | None = None
    drift_along_m: Band | None = None
    release_early_m: Band | None = None
    release_right_m: Band | None = None
    headwind_mps: float | None = None
    crosswind_mps: float | None = None
    line_here_m: Band | None = None
    vertical_from_m: float | None = None
    intact_share: Band | None = None
    stand_clear: StandClear | None = None
    hold_min: Band | None = None
    until_rain: bool = False
    coat: int = 1
    coats: int = 1
    join_m: Band | None = None
    panel: str | None = None
    line_from_m: float = 0.0
    line_to_m: float = 0.0
    line_left_m: float = 0.0
    burnt_side: Literal["left", "right", "both", "ahead", "none"] = "none"
    burnt: Area | None = None
    open_edge: tuple[Line, ...] = ()
    held_edge: tuple[HeldLine, ...] = ()
    approach: Line | None = None
    exit_path: Line | None = None
    people: tuple[Person, ...] = ()
    wires: tuple[Wire, ...] = ()
    profile: Line | None = None
    flight: Line | None = None
    flight_note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitView:
    """The circuit on the ground, grid metres, one way. `path_xy` is closed or closes itself.

    `stops`: (label, point) of source and run. `turns`: points numbered 1, 2, 3 as flown.
    """

    cycle_min: Band | None
    loads_per_hour: Band | None
    hand: Literal["left", "right"] | None = None
    height_amsl_m: float | None = None
    path_xy: Line | None = None
    stops: tuple[tuple[str, Point], ...] = ()
    turns: tuple[Point, ...] = ()
    water: tuple[Area, ...] = ()
    fire: Area | None = None
    wires: tuple[Wire, ...] = ()


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point of the points table, grid metres; `ground_m` None = not known."""

    name: str
    xy: Point
    ground_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSheet:
    """All of one crew's sheet.

    `findings`: every finding that speaks to this crew, in any order: the sheet orders and counts
    them; those of level clear are only counted, with `other_checks`, as "none found".
    `no_source`, `no_run`: why there is none, where `source` or `run` is None.
    `separation`: (who or what, words). `confirm`: runs that need a named word that people are clear;
    empty takes the run of the sheet. `replaces`: number of the sheet that this one replaces.
    `changed`: what changed since that sheet, in sentences.
    """

    number: int
    call_signs: tuple[str, ...]
    class_name: str
    agent: str
    load_l: float | None
    task: str
    times: Times
    source: LaneView | DipView | BaseView | None
    run: RunView | None
    circuit: CircuitView | None
    fills: Literal["scoop", "dip", "base", "none"] = "scoop"
    no_source: str | None = None
    no_run: str | None = None
    separation: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    other_checks: int = 0
    points: tuple[PointRow, ...] = ()
    radio: tuple[tuple[str, str | None], ...] = RADIO
    replaces: int | None = None
    changed: tuple[str, ...] = ()
    confirm: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefPack:
    """One incident's papers at one moment.

    `made`: the moment that the plan speaks for; also the date inside the PDF, so that the same
    pack gives the same bytes. `version`: the plan's own mark, printed beside it, as `plan 12`.
    `variation_deg`: east positive; None prints true bearings with `variation not given`.
    `cautions`: at least one; the first stands at the foot of every page, all at the foot of the map.
    `findings`: those that stand on every sheet, as limits looser than shipped.
    """

    incident: str
    made: datetime
    zone: tzinfo
    projection: Projection
    map: MapPage
    sheets: tuple[CrewSheet, ...]
    cautions: tuple[str, ...]
    place: str | None = None
    exercise: bool = False
    version: str | None = None
    variation_deg: float | None = None
    variation_date: date | None = None
    wind: Wind | None = None
    units: Units = "aviation"
    findings: tuple[Finding, ...] = ()
