"""Where a load goes: an unfinished stack, else the first free edge from the anchor."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.attack.edge_view import SHORTEST_M, first_free, stretch_from, view
from wetline.attack.nouns import RETARDANT_S, Placed
from wetline.growth.contour import ISLAND_M2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.attack.edge_view import EdgeView, Stretch
    from wetline.attack.nouns import LineOption, PlannedLoad, RollSetting
    from wetline.behaviour import FireFields
    from wetline.growth import Front, Ring

__all__ = ["Walk", "laid", "place", "rings_of"]

REFRESH_S = 300.0
"""Line that dries within this time counts as free again; common practice, no source."""
WORTH_SHARE = 1.0 / 3.0
"""Part of a load's line that a gap must take to be worth it while there are longer ones; common
practice, no source."""


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
class Walk:
    """What a rollout remembers between loads."""

    stacks: dict[str, _Stack] = field(default_factory=dict)
    turn: int = 1
    avoided: BaseGeometry | None = None

    def avoid(self, area: BaseGeometry) -> None:
        """Keep out of one more place from now on."""
        self.avoided = area if self.avoided is None else shapely.union(self.avoided, area)
        shapely.prepare(self.avoided)


def rings_of(front: Front) -> list[Ring]:
    """The fire's outlines, largest first, and islands over 1 ha."""
    found = [(ring.area_m2, ring) for ring in front.trace()]
    kept = [(area, ring) for area, ring in found if area > 0 or area <= -ISLAND_M2]
    return [ring for _, ring in sorted(kept, key=lambda pair: -pair[0])]


def _usable(edge: EdgeView, load: PlannedLoad, setting: RollSetting, walk: Walk) -> NDArray[np.bool_]:
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


def place(
    load: PlannedLoad, front: Front, fields: FireFields, setting: RollSetting, walk: Walk, line_factor: float
) -> Placed | None:
    """The stretch for a load: its unfinished stack, else the first free edge from the anchor.

    Flanks in turn, spots and islands after the fire itself. A gap much shorter than the load's line is
    left to others while there is a longer one.
    """
    edges = [view(ring, fields, load.t_s) for ring in rings_of(front)]
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
    walk: Walk,
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


def laid(placed: Placed, walk: Walk) -> None:
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

    Worth: at least half a cell, and at least `share` of the load's line. The level is that of the neediest
    piece of the stretch; pieces whose level no stack of loads reaches end it.
    """
    left = usable.copy()
    held = edge.held_until_s > load.t_s
    while left.any():
        segment, _ = first_free(left, start=start, direction=direction)
        if segment is None:
            return None
        option = _asked_by(load, edge, np.array([segment]), fields, setting)[0]
        free = left
        while True:
            want_m = 0.0 if option is None else option.line_m * line_factor
            stretch = stretch_from(edge, free, segment=segment, direction=direction, want_m=want_m, held=held)
            along = _segments(stretch, len(left))
            open_along = along[free[along]]
            if option is None or len(open_along) == 1:
                break
            neediest, beyond = _asked_by(load, edge, open_along, fields, setting)
            if beyond.any():
                free = free.copy()
                free[open_along[beyond]] = False
                continue
            settled = neediest is None or neediest.level <= option.level
            option = neediest
            if settled:
                break
        if option is not None and stretch.length_m >= max(SHORTEST_M / 2, share * want_m):
            return stretch, option
        left[along] = False
    return None


def _segments(stretch: Stretch, n: int) -> NDArray[np.intp]:
    """The segments of a stretch on a ring of n."""
    return (stretch.first + np.arange((stretch.last - stretch.first) % n + 1)) % n


def _asked_by(
    load: PlannedLoad,
    edge: EdgeView,
    along: NDArray[np.intp],
    fields: FireFields,
    setting: RollSetting,
) -> tuple[LineOption | None, NDArray[np.bool_]]:
    """The line that the neediest of some segments asks for, None if a load reaches none; and those beyond its reach.

    Of the fuel just ahead of each segment, at the most heat on that fuel.
    """
    ahead = edge.mid[along] + edge.outward[along] * fields.grid.cell_m
    fuels = np.asarray(fields.grid.nearest(setting.fuel, ahead[:, 0], ahead[:, 1]))
    heat = edge.intensity_kw_per_m[along]
    beyond, reached = np.zeros(len(along), bool), []
    for fuel in np.unique(fuels):
        option = setting.line_for(load, int(fuel), float(heat[fuels == fuel].max()))
        if option is not None:
            reached.append(option)
            continue
        for k in np.flatnonzero(fuels == fuel):
            beyond[k] = setting.line_for(load, int(fuel), float(heat[k])) is None
    return max(reached, key=lambda one: (one.level, -one.hold_s), default=None), beyond
