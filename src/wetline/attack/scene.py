"""The scene of an attack: the window round the fire, its fields, and free growth in every future."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.attack.crew_lines import hold_along, laid_lines
from wetline.attack.edge_view import borders_unknown
from wetline.behaviour import SURFACE_MODELS, Variation, prepare
from wetline.errors import InputError
from wetline.growth import Front, ensemble_of, grow
from wetline.growth.members import DEFAULT_ERRORS
from wetline.safety import Place, cells_near, places_of, reaches

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.behaviour import Because, FireFields, FireSystem
    from wetline.grid import Grid
    from wetline.ground import Ground
    from wetline.growth import Cluster, Ensemble, Errors, Grown, Paced, Ring
    from wetline.model import CrewLine, Fire
    from wetline.safety import Reach
    from wetline.weather import TerrainWind, Weather

_Seen = tuple[float, tuple["NDArray[np.float64]", ...]]

__all__ = ["FreeGrowth", "Outlook", "Scene", "free_growth", "outlook", "scene_round"]

_FIRST_PAD_M = 4_000.0
_LAST_PAD_M = 20_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """The fire on its window. Seconds count from `start`, when the part not seen for longest was drawn.

    `burnt`: what was drawn then; `later`: what was drawn after, each with its seconds.

    `now_s`: the moment asked about; `until_s`: how far the weather lets the model look. `system`: the
    published system that tells the behaviour; `wind`: how the terrain bends the wind, None for not at all; `errors`: how far
    what drives it may be off; `burn_out_s`: as `Front`; `beside_m2`: drawn as burnt on ground that the model does not burn.
    `lines`: what crews have built; those counted on stop the fire.
    """

    ground: Ground
    weather: Weather
    window: Grid
    burnt: Polygon | MultiPolygon
    start: datetime
    now_s: float
    until_s: float
    system: FireSystem = SURFACE_MODELS
    wind: TerrainWind | None = None
    errors: Errors = DEFAULT_ERRORS
    burn_out_s: float = math.inf
    beside_m2: float = 0.0
    later: tuple[tuple[float, Polygon | MultiPolygon], ...] = ()
    lines: tuple[CrewLine, ...] = ()

    def fields(self, variation: Variation) -> FireFields:
        """Behaviour over the window in one future."""
        return self.system.fields(
            self.ground,
            self.weather,
            start=self.start,
            until=self.start + timedelta(seconds=self.until_s),
            grid=self.window,
            variation=variation,
            wind=self.wind,
        )

    def explain(self, time: datetime, x: float, y: float) -> Because:
        """Why the head runs as it does at a place [m]; raises as `behaviour.explain` does."""
        return self.system.explain(self.ground, self.weather, time, x, y, wind=self.wind)

    def paces(self) -> Callable[[Variation], FireFields | Paced]:
        """Behaviour over the window for growth alone, prepared once for many futures; see `behaviour.prepare`."""
        return prepare(
            self.system,
            self.ground,
            self.weather,
            start=self.start,
            until=self.start + timedelta(seconds=self.until_s),
            grid=self.window,
            wind=self.wind,
        )

    def front(self, fields: FireFields | Paced) -> Front:
        """The fire as drawn, each part at its own time, grown to the moment asked about against the crews' line."""
        front = self._lit(fields)
        now = self.start + timedelta(seconds=self.now_s)
        lines = laid_lines(self.lines, self.burnt, start=self.start, now=now)
        for at_s in sorted({line.at_s for line in lines} | {at_s for at_s, _ in self.later}):
            front.advance(max(at_s, front.now_s))
            laid = [line for line in lines if line.at_s == at_s]
            for line in laid:
                front.hold_line(line.xy, line.until_s)
            drawn = [polygon for seen_s, polygon in self.later if seen_s == at_s]
            for polygon in drawn:
                front.ignite(polygon)
            if laid and (drawn or at_s == 0.0):
                hold_along(front, laid, self.window.cell_m)
        front.advance(self.now_s)
        return front

    def _lit(self, fields: FireFields | Paced) -> Front:
        """The fire as first drawn; with what is drawn next where that lies on no ground known to burn."""
        try:
            return Front(fields, self.burnt, 0.0, burn_out_s=self.burn_out_s)
        except InputError:
            if not self.later:
                raise
            next_s = self.later[0][0]
            return Front(fields, self.drawn(next_s), next_s, burn_out_s=self.burn_out_s)

    def drawn(self, by_s: float) -> Polygon | MultiPolygon:
        """All that was drawn as burnt by a time [s], as drawn."""
        polygons = [self.burnt, *(polygon for at_s, polygon in self.later if at_s <= by_s)]
        return cast("Polygon | MultiPolygon", shapely.union_all(polygons))

    def area_m2(self, traced_m2: ArrayLike) -> NDArray[np.float64]:
        """Burnt area [m²] of what a front traces: what is drawn as burnt stays so, whatever burns there now."""
        return np.maximum(np.asarray(traced_m2, float) + self.beside_m2, self.drawn(self.now_s).area)

    def places(self) -> tuple[Place, ...]:
        """Whom and what the fire may reach."""
        return (*places_of(self.ground), *(Place(line.name, "line", line.line) for line in self.lines))

    def place_cells(self) -> tuple[NDArray[np.intp], ...]:
        """The window's cells at each place."""
        return tuple(cells_near(place, self.window) for place in self.places())

    def reached(self, times_s: NDArray[np.float64], *, left_map: bool) -> tuple[Reach, ...]:
        """When the fire reaches each place, by the arrival times float64[futures, places] [s]; see `safety.reaches`."""
        return reaches(
            self.places(), self.start, times_s, grid=self.window, drawn=self._parts(), left_map=left_map
        )

    def _parts(self) -> list[tuple[datetime, Polygon | MultiPolygon]]:
        """The fire's parts by the moment asked about, with the time at which each was drawn."""
        parts = [(0.0, self.burnt), *self.later]
        return [(self.start + timedelta(seconds=s), part) for s, part in parts if s <= self.now_s]

    def at(self, seconds: float) -> datetime | None:
        """The time so many seconds after `start`; None for never."""
        return self.start + timedelta(seconds=seconds) if np.isfinite(seconds) else None


@dataclass(frozen=True, slots=True)
class FreeGrowth:
    """One future in which nothing more is stopped.

    `area_m2` at each of the hours asked for; `times_s`: earliest arrival at each place [s after
    `Scene.start`]; `unknown_m`: the most edge against ground of unknown fuel or height, at any of the hours;
    `edge_s`: when it comes to the window's edge [s], inf where it does not; `lines_xy`: the outlines at each hour
    (middle future only); `arrival_s` likewise.
    """

    area_m2: NDArray[np.float64]
    times_s: NDArray[np.float64]
    reached_edge: bool
    parts_lost: int = 0
    unknown_m: float = 0.0
    edge_s: float = np.inf
    lines_xy: tuple[tuple[NDArray[np.float64], ...], ...] = ()
    arrival_s: NDArray[np.float64] | None = None


def free_growth(
    scene: Scene,
    variation: Variation,
    hours_s: Sequence[float],
    *,
    place_cells: Sequence[NDArray[np.intp]],
    keep: bool,
    fields: FireFields | None = None,
) -> FreeGrowth:
    """Grow one future through the hours [s after `scene.start`]; `keep` keeps outlines and arrivals.

    `fields`: those of the variation, where they have been computed already.
    """
    fields = scene.fields(variation) if fields is None else fields
    look = _Look(fields.grid, fields.unknown)
    return _free(scene, grow(scene.front(fields), 0 if keep else 1, hours_s, place_cells, look))


@dataclass(frozen=True, slots=True)
class _Look:
    """What free growth notes at each hour: edge [m] against unknown ground, and the middle future's outlines."""

    grid: Grid
    unknown: NDArray[np.bool_] | None

    def __call__(self, number: int, _front: Front, rings: Sequence[Ring]) -> _Seen:
        unknown_m = sum(
            float(ring.lengths_m[borders_unknown(ring, self.grid, self.unknown)].sum()) for ring in rings
        )
        return unknown_m, tuple(ring.xy for ring in rings) if number == 0 else ()


def _free(scene: Scene, grown: Grown[_Seen]) -> FreeGrowth:
    return FreeGrowth(
        area_m2=scene.area_m2(grown.area_m2),
        times_s=grown.place_s,
        reached_edge=grown.reached_edge,
        parts_lost=grown.parts_lost,
        unknown_m=max(unknown_m for unknown_m, _ in grown.noted),
        edge_s=grown.edge_s,
        lines_xy=tuple(lines for _, lines in grown.noted) if grown.number == 0 else (),
        arrival_s=grown.arrival_s,
    )


@dataclass(frozen=True, slots=True)
class Outlook:
    """Free growth of all futures, the middle one first, and whom it reaches.

    `counted`: by cell and hour in how many of the futures it burns, and by place (in the order of
    `Scene.places`) in how many it is reached.
    """

    played: tuple[FreeGrowth, ...]
    reached: tuple[Reach, ...]
    left_map: bool
    counted: Ensemble[_Seen]

    @property
    def edge_s(self) -> float:
        """When the soonest future comes to the window's edge [s after `Scene.start`]; inf where none does."""
        return min(played.edge_s for played in self.played)


@dataclass(frozen=True, slots=True)
class _FrontOf:
    scene: Scene
    paces: Callable[[Variation], FireFields | Paced]

    def __call__(self, variation: Variation) -> Front:
        return self.scene.front(self.paces(variation))


def outlook(
    scene: Scene,
    members: int,
    seed: int,
    hours_s: Sequence[float],
    *,
    workers: int | None = None,
    client: Cluster | None = None,
) -> Outlook:
    """Grow the middle future and `members` varied ones through the hours [s after `scene.start`]."""
    paces = scene.paces()
    unknown = paces(Variation()).unknown
    found = ensemble_of(
        _FrontOf(scene, paces),
        at_s=scene.now_s,
        hours_s=hours_s,
        members=members,
        seed=seed,
        note=_Look(scene.window, unknown),
        errors=scene.errors,
        place_cells=scene.place_cells(),
        unknown=unknown,
        workers=workers,
        client=client,
    )
    left_map = found.left_map > 0
    reached = scene.reached(found.place_s, left_map=left_map)
    return Outlook(tuple(_free(scene, grown) for grown in found.grown), reached, left_map, found)


def _beside_m2(fields: FireFields, at_s: float, drawn: Polygon | MultiPolygon) -> float:
    """How much of what is drawn as burnt the model does not burn."""
    try:
        traced_m2 = sum(ring.area_m2 for ring in Front(fields, drawn, at_s).trace())
    except InputError:  # none of it
        return float(drawn.area)
    return max(float(drawn.area) - traced_m2, 0.0)


def scene_round(
    ground: Ground,
    weather: Weather,
    fire: Fire,
    *,
    now: datetime,
    look_until: datetime,
    keep_until: datetime,
    system: FireSystem = SURFACE_MODELS,
    wind_over: Callable[[Grid], TerrainWind] | None = None,
    errors: Errors = DEFAULT_ERRORS,
    burn_out_s: float = math.inf,
) -> Scene:
    """The window that holds the middle future's free growth until `look_until`, doubled until it does.

    Fields reach to `keep_until` where the weather does. A window that is still too small at 20 km
    stays so and says it: `Front.reached_edge`. `wind_over`: how the terrain bends the wind over a window.

    Raises
    ------
    LookupError
        If the weather does not cover `look_until`.
    """
    first, *later = fire.parts()
    start, burnt = first.time, first.polygon
    until = min(max(keep_until, look_until), weather.last)
    if until < look_until or not weather.covers(start):
        message = (
            f"the weather covers {weather.first:%Y-%m-%dT%H:%MZ} to {weather.last:%Y-%m-%dT%H:%MZ}; "
            f"{start:%Y-%m-%dT%H:%MZ} to {look_until:%Y-%m-%dT%H:%MZ} is asked for"
        )
        raise LookupError(message)
    west, south, east, north = shapely.bounds(fire.burnt_at(fire.newest))
    pad = _FIRST_PAD_M
    while True:
        window, _, _ = ground.grid.window(west - pad, south - pad, east + pad, north + pad)
        scene = Scene(
            ground=ground,
            weather=weather,
            window=window,
            burnt=burnt,
            start=start,
            now_s=(now - start).total_seconds(),
            until_s=(until - start).total_seconds(),
            system=system,
            wind=None if wind_over is None else wind_over(window),
            lines=fire.lines,
            errors=errors,
            burn_out_s=burn_out_s,
            later=tuple(((part.time - start).total_seconds(), part.polygon) for part in later),
        )
        fields = scene.fields(Variation())
        front = replace(scene, lines=()).front(fields)
        beside_m2 = sum(_beside_m2(fields, *part) for part in ((0.0, burnt), *scene.later))
        front.advance((look_until - start).total_seconds())
        if not front.reached_edge or pad >= _LAST_PAD_M:
            return replace(scene, beside_m2=beside_m2)
        pad *= 2.0
