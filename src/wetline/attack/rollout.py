"""One future played out: the fire grows, loads arrive, line is laid, holds for a while and dries.

Doctrine tactic of this first form: anchor at the heel, both flanks to the head, direct, loads in
order of arrival, each laid on the first free edge from the anchor as it lies at the drop's time.
What dries behind is met first. Loads where a stop stands are not laid.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
import shapely

from wetline.attack.edge_view import (
    SHORTEST_M,
    EdgeView,
    Stretch,
    borders_unknown,
    first_free,
    measured_m,
    stretch_from,
    view,
)
from wetline.growth.contour import ISLAND_M2

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.attack.futures import Future
    from wetline.behaviour import FireFields
    from wetline.growth import Front, Ring

__all__ = [
    "LineOption",
    "Outcome",
    "Placed",
    "PlannedLoad",
    "Refusal",
    "RollSetting",
    "Sample",
    "burnt_area_m2",
    "roll",
]

RETARDANT_S = 1.0e8
"""Hold [s] of what stays until rain: longer than any plan, shorter than a barrier's infinity."""
REFRESH_S = 300.0
"""Line that dries within this time counts as free again; common practice, no source."""
WORTH_SHARE = 1.0 / 3.0
"""Part of a load's line that a gap must take to be worth it while there are longer ones; common
practice, no source."""
OPENS_WITHIN_S = 1_800.0
"""Line counted as opening again: all that dries within this time of the first of it."""


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """One load of the day: when [s after the fields' start], by whom, what."""

    number: int
    t_s: float
    aircraft: str
    class_id: str
    source: str
    agent: str
    litres: float
    look: bool


@dataclass(frozen=True, slots=True)
class LineOption:
    """What one class lays at one coverage: metres a full line, loads stacked on it, seconds held."""

    level: float
    line_m: float
    coats: int
    hold_s: float


class LineLookup(Protocol):
    """Line for a load on a fuel at an intensity; None if no stack of loads reaches the level."""

    def __call__(self, load: PlannedLoad, fuel: int, intensity_kw_per_m: float) -> LineOption | None:
        """The option."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where one load goes: the edge it meets, the stretch it wets, and for how long."""

    load: PlannedLoad
    edge: EdgeView
    stretch: Stretch
    option: LineOption
    coat: int
    t_s: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """A judge's word against a load: keep away from `avoid` from now on, or, None, not in this hour."""

    avoid: BaseGeometry | None


@dataclass(frozen=True, slots=True)
class Sample:
    """The race at one moment [m]. `unknown_m`: open edge against ground of unknown fuel or height."""

    t_s: float
    edge_m: float
    held_m: float
    barrier_m: float
    retardant_m: float
    unknown_m: float = 0.0

    @property
    def open_m(self) -> float:
        """Edge that nothing holds."""
        return max(0.0, self.edge_m - self.held_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class RollSetting:
    """What all futures share. `forbidden`: where no line may be laid (people, wires, waterways).

    `refused`: numbers of the loads that a stop of their hour forbids.
    """

    loads: Sequence[PlannedLoad]
    now_s: float
    cut_off_s: float
    sample_s: float
    anchor: tuple[float, float]
    fuel: NDArray[np.int16]
    line_for: LineLookup
    intensity_max: float
    forbidden: BaseGeometry | None = None
    refused: frozenset[int] = frozenset()


@dataclass(slots=True)
class Outcome:
    """How one future ended."""

    future: int
    samples: list[Sample] = field(default_factory=list)
    area_m2: float = 0.0
    closed_s: float | None = None
    loads_laid: int = 0
    loads_idle: int = 0
    loads_to_close: int | None = None
    open_again: tuple[float, float] | None = None
    contained: bool | None = None
    reached_edge: bool = False
    avoided: BaseGeometry | None = None
    refused: set[int] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class _Stack:
    """Loads laid so far on one line that needs several."""

    done: int
    since_s: float
    middle: tuple[float, float]
    level: float
    direction: int
    reach_m: float


@dataclass(slots=True)
class _Walk:
    """What a rollout remembers between loads."""

    stacks: dict[str, _Stack] = field(default_factory=dict)
    turn: int = 1
    avoided: BaseGeometry | None = None

    def avoid(self, area: BaseGeometry) -> None:
        """Keep out of one more place from now on."""
        self.avoided = area if self.avoided is None else shapely.union(self.avoided, area)
        shapely.prepare(self.avoided)


def burnt_area_m2(front: Front) -> float:
    """Burnt area [m²] within all outlines, every island left out."""
    return sum(ring.area_m2 for ring in front.trace())


def _rings(front: Front) -> list[Ring]:
    """The fire's outlines, largest first, and islands over 1 ha."""
    found = [(ring.area_m2, ring) for ring in front.trace()]
    kept = [(area, ring) for area, ring in found if area > 0 or area <= -ISLAND_M2]
    return [ring for _, ring in sorted(kept, key=lambda pair: -pair[0])]


def sample(front: Front, fields: FireFields, t_s: float) -> Sample:
    """Measure the race now: lengths on the simplified contour, shares by the lattice's own contour.

    Edge against ground of unknown fuel or height is open: nobody knows that it does not burn.
    """
    edge_m = held_m = barrier_m = retardant_m = unknown_m = 0.0
    for ring in _rings(front):
        length = ring.lengths_m
        raw = float(length.sum())
        if raw == 0.0:
            continue
        scale, until = measured_m(ring) / raw, ring.held_until_s
        unknown = borders_unknown(ring, fields) & np.isposinf(until)
        barrier = np.isposinf(until) & ~unknown
        edge_m += raw * scale
        held_m += float(length[(until > t_s) & ~unknown].sum()) * scale
        barrier_m += float(length[barrier].sum()) * scale
        retardant_m += float(length[~np.isposinf(until) & (until > t_s + RETARDANT_S / 2)].sum()) * scale
        unknown_m += float(length[unknown].sum()) * scale
    return Sample(t_s, edge_m, held_m, barrier_m, retardant_m, unknown_m)


def _usable(edge: EdgeView, load: PlannedLoad, setting: RollSetting, walk: _Walk) -> NDArray[np.bool_]:
    """Where a load does good: what is free or dries soon; for retardant also what is only wet."""
    lasts_s = RETARDANT_S / 2 if load.agent == "retardant" else REFRESH_S
    usable = (edge.held_until_s < load.t_s + lasts_s) & (edge.intensity_kw_per_m <= setting.intensity_max)
    for area in (setting.forbidden, walk.avoided):
        if area is not None and usable.any():
            usable &= ~shapely.contains_xy(area, edge.mid[:, 0], edge.mid[:, 1])
    return usable


def _anchor_vertex(edge: EdgeView, anchor: tuple[float, float], *, main: bool) -> int:
    """Where the walk starts: the vertex nearest the anchor; on spots and islands its own heel."""
    if main:
        return int(np.argmin(np.hypot(edge.ring.xy[:, 0] - anchor[0], edge.ring.xy[:, 1] - anchor[1])))
    return int(np.argmax(np.abs(edge.turn_deg)))


def _place(
    load: PlannedLoad, front: Front, fields: FireFields, setting: RollSetting, walk: _Walk, line_factor: float
) -> Placed | None:
    """The stretch for a load: its unfinished stack, else the first free edge from the anchor.

    Flanks in turn, spots and islands after the fire itself. A gap much shorter than the load's line is
    left to others while there is a longer one.
    """
    edges = [view(ring, fields, load.t_s) for ring in _rings(front)]
    again = _next_coat(load, edges, fields, setting, walk, line_factor)
    if again is not None:
        return again
    for share in (WORTH_SHARE, 0.0):
        for number, edge in enumerate(edges):
            usable = _usable(edge, load, setting, walk)
            start = _anchor_vertex(edge, setting.anchor, main=number == 0)
            for direction in (walk.turn, -walk.turn):
                found = _first_stretch(
                    load, edge, usable, start, direction, fields, setting, line_factor, share
                )
                if found is None:
                    continue
                stretch, option = found
                walk.turn = -direction
                return Placed(load, edge, stretch, option, 1, load.t_s)
    return None


def _next_coat(
    load: PlannedLoad,
    edges: Sequence[EdgeView],
    fields: FireFields,
    setting: RollSetting,
    walk: _Walk,
    line_factor: float,
) -> Placed | None:
    """The next load of a stack, on the same place at the same level, before the last one has dried."""
    stack = walk.stacks.pop(load.aircraft, None)
    if stack is None:
        return None
    for edge in edges:
        usable = _usable(edge, load, setting, walk)
        away = np.hypot(edge.mid[:, 0] - stack.middle[0], edge.mid[:, 1] - stack.middle[1])
        usable &= away <= stack.reach_m
        if not usable.any():
            continue
        start = int(np.flatnonzero(usable)[np.argmin(away[usable])])
        found = _first_stretch(load, edge, usable, start, stack.direction, fields, setting, line_factor, 0.0)
        if found is None:
            continue
        stretch, option = found
        in_time = load.t_s - stack.since_s <= option.hold_s
        if in_time and option.level == stack.level and stack.done < option.coats:
            walk.stacks[load.aircraft] = stack
            return Placed(load, edge, stretch, option, stack.done + 1, load.t_s)
    return None


def _laid(placed: Placed, walk: _Walk) -> None:
    """Remember a stack that still wants loads."""
    before = walk.stacks.pop(placed.load.aircraft, None)
    if placed.coat >= placed.option.coats:
        return
    middle = placed.edge.mid[placed.stretch.middle]
    walk.stacks[placed.load.aircraft] = _Stack(
        done=placed.coat,
        since_s=placed.t_s if before is None else before.since_s,
        middle=(float(middle[0]), float(middle[1])),
        level=placed.option.level,
        direction=placed.stretch.direction,
        reach_m=max(placed.option.line_m / 2, SHORTEST_M),
    )


def _first_stretch(
    load: PlannedLoad,
    edge: EdgeView,
    usable: NDArray[np.bool_],
    start: int,
    direction: int,
    fields: FireFields,
    setting: RollSetting,
    line_factor: float,
    share: float,
) -> tuple[Stretch, LineOption] | None:
    """The first stretch from `start` that is worth a load and whose level can be reached.

    Worth: at least half a cell, and at least `share` of the load's line.
    """
    left = usable.copy()
    held = edge.held_until_s > load.t_s
    while left.any():
        segment, _ = first_free(left, start=start, direction=direction)
        if segment is None:
            return None
        ahead = edge.mid[segment] + edge.outward[segment] * fields.grid.cell_m
        fuel = int(fields.grid.nearest(setting.fuel, ahead[0], ahead[1]))
        option = setting.line_for(load, fuel, float(edge.intensity_kw_per_m[segment]))
        want_m = 0.0 if option is None else option.line_m * line_factor
        stretch = stretch_from(edge, left, segment=segment, direction=direction, want_m=want_m, held=held)
        if option is not None and stretch.length_m >= max(SHORTEST_M / 2, share * want_m):
            return stretch, option
        count = (stretch.last - stretch.first) % len(left) + 1
        left[(stretch.first + np.arange(count)) % len(left)] = False
    return None


def roll(
    setting: RollSetting,
    future: Future,
    front: Front,
    fields: FireFields,
    judge: Callable[[Placed], Refusal | None] | None = None,
) -> Outcome:
    """Play one future to the cut-off.

    Parameters
    ----------
    front
        The fire at or before `setting.now_s`; it is advanced in place.
    judge
        Called for each load placed; returns None to let it fall, or a refusal where a stop stands
        against it.
    """
    out, walk = Outcome(future=future.number), _Walk()
    arrives = future.arrives(len(setting.loads))
    samples = [*np.arange(setting.now_s, setting.cut_off_s - 1.0, setting.sample_s), setting.cut_off_s]
    events: list[tuple[float, int, PlannedLoad | None]] = [(float(t), 1, None) for t in samples]
    for load, there in zip(setting.loads, arrives, strict=True):
        t_s = setting.now_s + (load.t_s - setting.now_s) * future.circuit_factor
        if there and t_s <= setting.cut_off_s and load.number not in setting.refused:
            events.append((t_s, 0, replace(load, t_s=t_s)))
    events.sort(key=lambda e: (e[0], e[1], e[2].number if e[2] else 0))
    for t_s, _, event in events:
        front.advance(t_s)
        if event is None:
            _note(out, sample(front, fields, t_s))
        else:
            _drop(event, out, walk, setting, future, front, fields, judge)
    out.avoided, out.reached_edge = walk.avoided, front.reached_edge
    return _close(out, setting, front)


def _drop(
    load: PlannedLoad,
    out: Outcome,
    walk: _Walk,
    setting: RollSetting,
    future: Future,
    front: Front,
    fields: FireFields,
    judge: Callable[[Placed], Refusal | None] | None,
) -> None:
    for _ in range(4):  # a load held back here may do good further along
        placed = _place(load, front, fields, setting, walk, future.line_factor)
        if placed is None:
            break
        refusal = judge(placed) if judge else None
        if refusal is None:
            out.loads_laid += 1
            _laid(placed, walk)
            if placed.coat == placed.option.coats:
                hold_s = placed.option.hold_s
                if hold_s < RETARDANT_S:
                    hold_s *= future.hold_factor
                front.hold(placed.edge.ring, placed.stretch.first, placed.stretch.last, load.t_s + hold_s)
            return
        if refusal.avoid is None:
            out.refused.add(load.number)
            break
        walk.avoid(refusal.avoid)
    out.loads_idle += 1


def _note(out: Outcome, now: Sample) -> None:
    out.samples.append(now)
    if now.open_m < 1.0 and out.closed_s is None:
        out.closed_s, out.loads_to_close = now.t_s, out.loads_laid
    elif now.open_m >= 1.0:
        out.closed_s = out.loads_to_close = None


def _close(out: Outcome, setting: RollSetting, front: Front) -> Outcome:
    out.area_m2 = burnt_area_m2(front)
    drying: list[tuple[float, float]] = []
    for ring in _rings(front):
        scale = measured_m(ring) / max(float(ring.lengths_m.sum()), 1e-9)
        until = ring.held_until_s
        wet = (until > setting.cut_off_s) & (until < RETARDANT_S / 2)
        drying += zip(until[wet].tolist(), (ring.lengths_m[wet] * scale).tolist(), strict=True)
    if drying:
        first = min(until for until, _ in drying)
        soon = sum(length for until, length in drying if until <= first + OPENS_WITHIN_S)
        out.open_again = (first, soon)
    return out
