"""From a placed load to a checked run: where to release, which way, what stands against it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops

from wetline.attack.fallen import Falls, canopy_under_m, release_over, short_line, what_falls
from wetline.attack.nouns import Refusal
from wetline.behaviour import flame_length_m
from wetline.circuits import build_run
from wetline.drops import hold
from wetline.errors import SolverError
from wetline.grid import along
from wetline.model import DropRun
from wetline.safety import check_run, is_stopped
from wetline.units import COVERAGE_LEVEL, FOOT

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Literal

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.attack.lines import LineTable
    from wetline.attack.nouns import Placed
    from wetline.attack.scene import Scene
    from wetline.circuits import RunGeometry
    from wetline.drops import DropResult, Hold, PatternRaster, Release, Stack
    from wetline.model import Finding
    from wetline.safety import SafetyContext
    from wetline.weather import Hour

    Way = Literal["best", "as_given", "reversed"]

__all__ = ["HeldBack", "Recorder"]

_OF_THE_HOUR = frozenset({"wind", "gust", "visibility", "daylight", "gap"})
_AVOID_M = 60.0
"""How far [m] out from a held-back line the same reason is taken to stand as the edge moves; common
practice, no source."""
_EXIT_M = 1_000.0
"""The exit within which people and wires count: low, and the load may still be aboard after a failed
gate; the climb-out itself is judged over its whole way. Common practice, no source."""
_WORDS = {
    "people": "only when the people have moved and their new place is reported",
    "wire": "only another run that keeps the distance",
    "waterway": "only another agent, or a run that keeps the distance",
    "agent": "only another agent, or another place",
    "terrain_exit": "only another run that the ground allows, in and out at full load",
    "height_min": "only from a greater height",
    "intensity": "only when the flame is shorter, or by an indirect line",
    "wind": "only when the wind has dropped",
    "gust": "only when the gusts have dropped",
    "visibility": "only when somebody reports enough visibility",
    "daylight": "not today",
    "gap": "only into the wind, or when the wind has dropped",
}


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A run that a stop stands against, what alone could release it, and where its load falls instead."""

    run: DropRun
    release: str
    instead: str | None = None


@dataclass(slots=True)
class Recorder:
    """Builds and checks the run of every load of the middle future, and keeps what may be used."""

    scene: Scene
    classes: Mapping[str, AircraftClass]
    context: SafetyContext
    table: LineTable
    sources: Mapping[str, tuple[Finding, ...]]
    drops: list[DropRun] = field(default_factory=list)
    held_back: list[HeldBack] = field(default_factory=list)
    falls: Falls = field(init=False)
    _held: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.falls = Falls(self.context.limits)

    def __call__(self, placed: Placed) -> Refusal | None:
        """None lets the load fall; else a refusal. A load is held back once, where it would go first."""
        run, turned = self.run(placed, "best")
        if is_stopped(run):
            other, _ = self.run(placed, "as_given" if turned else "reversed")
            run = run if is_stopped(other) else other
        number = placed.load.number
        if not is_stopped(run):
            self.drops.append(run)
            if number in self._held:
                at = self._held[number]
                self.held_back[at] = replace(self.held_back[at], instead=run.id)
            return None
        codes = {f.code for f in run.findings if f.level == "stop"}
        if number not in self._held:
            self._held[number] = len(self.held_back)
            self.held_back.append(HeldBack(run, "; ".join(sorted(_WORDS.get(c, c) for c in codes))))
        if codes & _OF_THE_HOUR:
            return Refusal(None)
        edge = shapely.LineString(placed.stretch.line(placed.edge.ring.xy))
        return Refusal(edge.buffer(_AVOID_M, cap_style="flat"))

    def run(self, placed: Placed, way: Way) -> tuple[DropRun, bool]:
        """The run of one load with all its findings, and whether it goes against the walk."""
        stack = self.table.stack(placed.load, placed.option.level)
        if stack is None:
            message = "a load was placed for which no line is known"
            raise SolverError(message)
        edge = placed.stretch.line(placed.edge.ring.xy)
        line = _chord(edge)
        chord_m = _length_m(line)
        time = self.scene.start + timedelta(seconds=placed.t_s)
        weather = self.context.weather
        hour = weather.at(time) if weather is not None and weather.covers(time) else None
        canopy_m = canopy_under_m(self.scene.ground, line)
        release = release_over(_at_hour(stack.release, hour), canopy_m)
        cls = self.classes[placed.load.class_id].filling_by(placed.load.fill)
        height_m = _height_m(cls)
        geometry = build_run(
            line,
            cls,
            self.scene.ground,
            hour,
            height_m=height_m,
            limits=self.context.limits,
            direction=way,
            release_offset=lambda heading: self._offset(release, heading, chord_m),
            speed_mps=release.speed_mps,
            refers_to=f"R{len(self.drops) + len(self.held_back) + 1}",
        )
        run = self._checked(placed, stack, release, geometry, edge_bend_m=_bend_m(edge, line))
        return run, geometry.reversed_line

    def _checked(
        self, placed: Placed, stack: Stack, release: Release, geometry: RunGeometry, *, edge_bend_m: float
    ) -> DropRun:
        order = len(self.drops) + len(self.held_back) + 1
        option, cls = placed.option, self.classes[placed.load.class_id]
        middle = placed.stretch.middle
        intensity = float(placed.edge.intensity_kw_per_m[_hottest(placed)])
        fallen = self.falls.pattern(release, geometry.run_heading_deg)
        here = self.falls.line(release, geometry.run_heading_deg, stack)
        closes_m = min(placed.stretch.length_m, stack.line_m.middle)
        leaves_known = release.canopy_m is not None and fallen.fall.canopy_known
        wet = self._wet(placed, stack, fallen, intensity, leaves_known=leaves_known)
        position = geometry.line.mean(axis=0)
        drop_findings = tuple(replace(f, refers_to=f"R{order}") for f in fallen.findings if f.code != "wind")
        short = () if release.wind_mps is None else short_line(f"R{order}", planned_m=closes_m, here=here)
        run = DropRun(
            id=f"R{order}",
            order=order,
            time=self.scene.start + timedelta(seconds=round(placed.t_s)),
            aircraft=placed.load.aircraft,
            class_id=cls.drops_as,
            source=placed.load.source,
            edge_part=placed.edge.part(middle),
            mode="direct",
            position=(float(position[0]), float(position[1])),
            release_position=geometry.release_xy,
            run_heading_deg=geometry.run_heading_deg,
            line=geometry.line,
            wetted=_wetted(geometry, fallen.pattern.length_m),
            closes_m=closes_m,
            fills=cls.fills,
            needs_look=placed.load.look,
            approach=geometry.approach,
            exit_path=_first(geometry.exit_path, _EXIT_M),
            height_above_canopy_m=geometry.height_above_canopy_m,
            height_amsl_m=geometry.height_amsl_m,
            speed_mps=geometry.speed_mps,
            agent=placed.load.agent,
            load_l=placed.load.litres,
            coverage_level=option.level,
            line_m=stack.line_m,
            line_from=stack.line_from,
            line_notes=stack.notes,
            hold_min=wet.minutes,
            hold_chance=wet.chance,
            hold_notes=wet.notes,
            coat=placed.coat,
            coats=option.coats,
            pattern_half_width_m=fallen.half_width_m + edge_bend_m,
            intensity_kw_per_m=intensity,
            flame_length_m=float(flame_length_m(intensity)),
            findings=(*geometry.findings, *drop_findings, *short, *self._of_source(placed.load.source)),
        )
        last = placed.coat == option.coats
        join_m = self.falls.join(release, geometry.run_heading_deg, stack) if last else None
        told = what_falls(run, fallen, release, here=here, join_m=join_m)
        return check_run(
            replace(told, canopy_m=canopy_under_m(self.scene.ground, geometry.line)), self.context
        )

    def _wet(
        self,
        placed: Placed,
        stack: Stack,
        fallen: DropResult,
        intensity_kw_per_m: float,
        *,
        leaves_known: bool,
    ) -> Hold:
        """How likely and how long the line of a load holds."""
        needed, limits = placed.option.level * COVERAGE_LEVEL, self.context.limits
        return hold(
            needed,
            intensity_kw_per_m,
            _wide_m(fallen.raster, needed, stack.loads, limits.value("hold_left_pct") / 100.0),
            placed.load.agent,
            limits,
            air=self.table.airs(placed.load),
            gap_share=None,
            leaves_known=leaves_known,
        )

    def _of_source(self, source: str) -> tuple[Finding, ...]:
        """What is not known of the water or base that the load comes from: it holds the load back too."""
        return tuple(f for f in self.sources.get(source, ()) if f.level == "unknown")

    def _offset(self, release: Release, heading_deg: float, line_m: float) -> tuple[float, float]:
        """Right and along from the start of the line to the release: the pattern's middle on the line's."""
        along, right = self.falls.doors_open_m(release, heading_deg)
        return right, along + 0.5 * line_m


def _hottest(placed: Placed) -> int:
    n = len(placed.edge.length_m)
    count = (placed.stretch.last - placed.stretch.first) % n + 1
    along = (placed.stretch.first + np.arange(count)) % n
    return int(along[np.argmax(placed.edge.intensity_kw_per_m[along])])


def _height_m(cls: AircraftClass) -> float:
    for name in ("drop_height_ft", "drop_height_min_ft"):
        quantity = cls.get(name)
        if quantity is not None:
            return quantity.value * FOOT
    message = f"{cls.id} has no drop height"
    raise SolverError(message)


def _at_hour(release: Release, hour: Hour | None) -> Release:
    if hour is None:
        return replace(release, wind_mps=None, wind_from_deg=None)
    return replace(
        release,
        wind_mps=hour.wind_mps,
        wind_from_deg=hour.wind_from_deg,
        temperature_c=hour.temperature_c,
        humidity_pct=hour.humidity_pct,
    )


def _wide_m(raster: PatternRaster, needed_l_per_m2: float, loads: int, share: float) -> float:
    """Mean width [m] of what gets at least a share of the coverage, where the middle gets all of it."""
    coverage = loads * raster.coverage_l_per_m2
    reached = coverage.max(axis=1) >= needed_l_per_m2
    if not reached.any():
        return 0.0
    cell_m = float(raster.right_m[1] - raster.right_m[0])
    return float((coverage[reached] >= share * needed_l_per_m2).sum(axis=1).mean()) * cell_m


def _wetted(geometry: RunGeometry, length_m: float) -> NDArray[np.float64]:
    """The middle line of everything wetted, as long as the pattern, over the middle of the line."""
    ahead = 0.5 * length_m * np.array(along(geometry.run_heading_deg))
    middle = geometry.line[[0, -1]].mean(axis=0)
    return np.vstack((middle - ahead, middle + ahead))


def _first(path: NDArray[np.float64], metres: float) -> NDArray[np.float64]:
    """The first metres of a path."""
    part = shapely.ops.substring(shapely.LineString(path), 0.0, metres)
    return np.asarray(part.coords, float)


def _chord(edge: NDArray[np.float64]) -> NDArray[np.float64]:
    """The straight line of a load over a stretch of edge: its ends, or its longest span where it curls."""
    ends = edge[[0, -1]]
    apart = np.hypot(*(edge[:, None, :] - edge[None, :, :]).transpose(2, 0, 1))
    first, last = np.unravel_index(int(np.argmax(apart)), apart.shape)
    if np.hypot(*(ends[1] - ends[0])) >= 0.5 * apart[first, last]:
        return ends
    return edge[[min(first, last), max(first, last)]]


def _length_m(line: NDArray[np.float64]) -> float:
    """From the beginning of a line to its end [m]."""
    return float(np.hypot(*(line[-1] - line[0])))


def _bend_m(edge: NDArray[np.float64], line: NDArray[np.float64]) -> float:
    """How far [m] the edge leaves the line."""
    return float(shapely.distance(shapely.points(edge), shapely.LineString(line)).max())
