"""The plan of the first tactic: roll it out, check every run, count how the day ends."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wetline.attack.edge_view import view
from wetline.attack.futures import futures
from wetline.attack.lines import LineTable, coverage_fuel
from wetline.attack.nouns import Outcome, PlannedLoad, RollSetting
from wetline.attack.race import State, band_of, chance_band, race_of, state_of
from wetline.attack.rollout import roll
from wetline.attack.runs import Recorder
from wetline.attack.scene import FreeGrowth, Scene, free_growth
from wetline.behaviour import Variation, flame_length_m
from wetline.growth.pool import map_futures

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from wetline.aircraft import AircraftClass
    from wetline.attack.futures import Future
    from wetline.attack.race import RacePoint
    from wetline.attack.runs import HeldBack
    from wetline.circuits import Day
    from wetline.drops import DropTests
    from wetline.model import Band, DropRun, Finding
    from wetline.safety import Reach, SafetyContext

__all__ = ["AttackPlan", "make_plan"]

SAMPLE_S = 900.0
CONTAINED_S = 12 * 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AttackPlan:
    """What the first tactic does. Seconds count from `scene.start`; points and bearings on the grid.

    `held`, `of`: futures that end the day with no open edge, of how many varied ones. `contained`:
    those in which nothing more burns for 12 h after, None where the weather does not reach so far.
    `refused`: loads that a stop of their hour forbids. `unknown_m`: the most edge [m] that any future has
    against ground of unknown fuel or height, `unknown_free_m` the same if nothing more is stopped.
    `parts_lost`: parts of the perimeter on ground not known to burn. `free`: the middle future if nothing
    more is stopped. `edge_s`: when the soonest future comes to the window's edge [s], inf where none does.
    """

    scene: Scene
    anchor: tuple[float, float]
    state: State
    race: tuple[RacePoint, ...]
    held: int
    of: int
    chance: tuple[float, float] | tuple[None, None]
    contained: int | None
    area_m2: Band
    loads_planned: int
    loads_look: int
    loads_to_close: int | None
    open_again: tuple[float, float] | None
    closed_s: float | None
    drops: tuple[DropRun, ...]
    held_back: tuple[HeldBack, ...]
    idle: int
    reached: tuple[Reach, ...]
    hours_s: tuple[float, ...]
    free: FreeGrowth
    reached_edge: bool
    refused: int
    unknown_m: float
    unknown_free_m: float
    parts_lost: int
    edge_s: float


def _anchor(scene: Scene) -> tuple[float, float]:
    """The heel: the place on the largest outline that lies furthest against the head's direction."""
    fields = scene.fields(Variation())
    front = scene.front(fields)
    edge = view(max(front.trace(), key=lambda ring: ring.area_m2), fields, scene.now_s)
    at = fields.at(fields.slot(scene.now_s), *(np.clip(edge.mid[:, i], *_inside(scene, i)) for i in (0, 1)))
    toward = np.radians(at.head_toward_deg)
    weight = edge.length_m * at.head_rate_mps
    push = np.array([float((weight * np.sin(toward)).sum()), float((weight * np.cos(toward)).sum())])
    if not np.hypot(*push) > 0.0:
        return float(edge.ring.xy[0, 0]), float(edge.ring.xy[0, 1])
    rear = int(np.argmin(edge.ring.xy @ push))
    return float(edge.ring.xy[rear, 0]), float(edge.ring.xy[rear, 1])


def _inside(scene: Scene, axis: int) -> tuple[float, float]:
    bounds, margin = scene.window.bounds, scene.window.cell_m * 1e-3
    return bounds[axis] + margin, bounds[axis + 2] - margin


def _loads(day: Day, scene: Scene) -> tuple[PlannedLoad, ...]:
    return tuple(
        PlannedLoad(
            number=i + 1,
            t_s=(load.time - scene.start).total_seconds(),
            aircraft=load.aircraft,
            class_id=load.class_id,
            source=load.source,
            agent=load.agent,
            litres=load.litres,
            look=load.look,
            fill=load.fill,
        )
        for i, load in enumerate(day.loads)
    )


def _flame_limit_intensity(flame_m: float) -> float:
    """Intensity [kW/m] at a flame length: Byram's relation, a power of the intensity, read backwards."""
    one, ten = float(flame_length_m(1.0)), float(flame_length_m(10.0))
    return float((flame_m / one) ** (1.0 / np.log10(ten / one)))


def _setting(
    scene: Scene,
    day: Day,
    table: LineTable,
    context: SafetyContext,
    anchor: tuple[float, float],
) -> RollSetting:
    if day.cut_off is None:
        message = "a plan needs a cut-off"
        raise LookupError(message)
    _, rows, cols = scene.ground.grid.window(*scene.window.bounds)
    return RollSetting(
        loads=_loads(day, scene),
        now_s=scene.now_s,
        cut_off_s=(day.cut_off - scene.start).total_seconds(),
        sample_s=SAMPLE_S,
        anchor=anchor,
        fuel=coverage_fuel(scene.ground.fuel[rows, cols], scene.system),
        line_for=table,
        intensity_max=_flame_limit_intensity(context.limits.value("flame_stop_m")),
    )


def _place(scene: Scene) -> tuple[float, float]:
    """Longitude and latitude [deg] of the window's middle."""
    west, south, east, north = scene.window.bounds
    lon, lat = scene.window.projection.to_lonlat((west + east) / 2.0, (south + north) / 2.0)
    return float(lon), float(lat)


@dataclass(frozen=True, slots=True)
class _Played:
    outcome: Outcome
    free: FreeGrowth


def make_plan(
    scene: Scene,
    day: Day,
    classes: Mapping[str, AircraftClass],
    context: SafetyContext,
    *,
    sources: Mapping[str, tuple[Finding, ...]],
    members: int,
    seed: int,
    hours_s: Sequence[float],
    workers: int | None = None,
    drop_tests: DropTests | None = None,
) -> AttackPlan:
    """Roll the doctrine tactic out over the middle future and `members` varied ones.

    Parameters
    ----------
    sources
        What stands on each source, by its id.
    hours_s
        Hours at which free growth is reported [s after `scene.start`], increasing.
    drop_tests
        The incident's own measured lines.

    Raises
    ------
    LookupError
        If the day has no cut-off.
    """
    table = LineTable(context.limits, context.weather, scene.start, classes, _place(scene), drop_tests)
    anchor, cells = _anchor(scene), scene.place_cells()
    all_futures = futures(members, seed, scene.errors)

    recorder = Recorder(scene, classes, context, table, sources)
    setting = _setting(scene, day, table, context, anchor)
    middle = _play(scene, setting, all_futures[0], hours_s, cells, keep=True, recorder=recorder)
    shared = replace(setting, forbidden=middle.outcome.avoided, refused=frozenset(middle.outcome.refused))

    def play(future: Future) -> _Played:
        return _play(scene, shared, future, hours_s, cells, keep=False)

    varied = map_futures(play, all_futures[1:], workers=workers)
    return _gather(scene, setting, anchor, recorder, middle, varied, hours_s)


def _play(
    scene: Scene,
    setting: RollSetting,
    future: Future,
    hours_s: Sequence[float],
    place_cells: Sequence[NDArray[np.intp]],
    *,
    keep: bool,
    recorder: Recorder | None = None,
) -> _Played:
    fields = scene.fields(future.variation)
    free = free_growth(scene, future.variation, hours_s, place_cells=place_cells, keep=keep, fields=fields)
    front = scene.front(fields)
    outcome = roll(setting, future, front, fields, recorder)
    held = outcome.samples[-1].open_m < 1.0
    end_s = setting.cut_off_s + CONTAINED_S
    if held and end_s <= scene.until_s:
        burnt = int(front.burnt.sum())
        front.advance(end_s)
        outcome.contained = int(front.burnt.sum()) == burnt and not front.reached_edge
    elif not held:
        outcome.contained = False
    return _Played(outcome, free)


def _gather(
    scene: Scene,
    setting: RollSetting,
    anchor: tuple[float, float],
    recorder: Recorder,
    middle: _Played,
    varied: Sequence[_Played],
    hours_s: Sequence[float],
) -> AttackPlan:
    played = [middle, *varied]
    outcomes = [p.outcome for p in played]
    race = race_of(outcomes)
    held = sum(1 for p in varied if p.outcome.samples[-1].open_m < 1.0)
    contained = [p.outcome.contained for p in varied]
    times = np.array([p.free.times_s for p in played])
    areas = scene.area_m2([o.area_m2 for o in outcomes])
    return AttackPlan(
        scene=scene,
        anchor=anchor,
        state=state_of(outcomes),
        race=race,
        held=held,
        of=len(varied),
        chance=chance_band(held, len(varied)),
        contained=None if None in contained else sum(1 for c in contained if c),
        area_m2=band_of(float(areas[0]), areas.tolist()),
        loads_planned=len(setting.loads),
        loads_look=sum(load.look for load in setting.loads),
        loads_to_close=outcomes[0].loads_to_close,
        open_again=outcomes[0].open_again,
        closed_s=outcomes[0].closed_s,
        drops=tuple(recorder.drops),
        held_back=tuple(recorder.held_back),
        idle=outcomes[0].loads_idle,
        reached=scene.reached(times, left_map=any(p.free.reached_edge for p in played)),
        edge_s=min(p.free.edge_s for p in played),
        hours_s=tuple(hours_s),
        free=middle.free,
        reached_edge=any(o.reached_edge for o in outcomes) or any(p.free.reached_edge for p in played),
        refused=len(outcomes[0].refused),
        unknown_m=max(s.unknown_m for o in outcomes for s in o.samples),
        unknown_free_m=max(p.free.unknown_m for p in played),
        parts_lost=middle.free.parts_lost,
    )
