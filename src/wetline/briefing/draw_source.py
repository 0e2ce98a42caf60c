"""Where the load comes from, as flown left to right: plan above profile on one distance axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.briefing import drawing as d
from wetline.briefing.labels import Box, Label, label_items, place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item
    from wetline.briefing.format import Style
    from wetline.briefing.pack import BaseView, DipView, LaneView

    Line = NDArray[np.float64]

__all__ = [
    "BOX",
    "PROFILE",
    "Strip",
    "axis_items",
    "draw_base",
    "draw_dip",
    "draw_lane",
    "profile_items",
    "strip_of",
]

BOX = (264.0, 152.0)
"""Width and height [pt] of the drawings of source and run: half a page wide."""
_PLAN = (10.0, 68.0)
PROFILE = (80.0, 138.0)
_AXIS_PT = 149.5


@dataclass(frozen=True, slots=True)
class Strip:
    """One distance axis [m] for plan and profile."""

    from_m: float
    to_m: float

    @property
    def pt_per_m(self) -> float:
        """Points on paper for a metre on the ground."""
        return BOX[0] / (self.to_m - self.from_m)

    def plan(self) -> d.View:
        """The view of the plan, true to scale, its axis in the middle."""
        half = (_PLAN[1] - _PLAN[0]) / 2 / self.pt_per_m
        return d.View(self.from_m, -half, self.to_m, half, 0.0, _PLAN[0], BOX[0], _PLAN[1])

    def side(self, low_m: float, high_m: float) -> d.View:
        """The view of the profile between two heights [m], stretched upward."""
        return d.View(self.from_m, low_m, self.to_m, high_m, 0.0, PROFILE[0], BOX[0], PROFILE[1])


def strip_of(lines: Sequence[Line | None], least: tuple[float, float]) -> Strip:
    """The axis that holds all lines' x and at least a given span, a little room at each end."""
    xs = [np.asarray(points, float)[:, 0] for points in lines if points is not None and len(points)]
    every = np.concatenate([*xs, np.array(least, float)])
    every = every[np.isfinite(every)]
    low, high = float(every.min()), float(every.max())
    room = 0.02 * (high - low)
    return Strip(low - room, high + room)


def axis_items(strip: Strip) -> list[Item]:
    """Ticks and metres under the profile."""
    step = d.axis_step(strip.to_m - strip.from_m, 5)
    items = [d.line(0, PROFILE[1], BOX[0], PROFILE[1], 0.9), d.text(0, _AXIS_PT, "m", halo=False)]
    for at in np.arange(np.ceil(strip.from_m / step) * step, strip.to_m, step):
        x = (at - strip.from_m) * strip.pt_per_m
        label = f"{abs(at):,.0f}" if at >= 0 else f"−{abs(at):,.0f}"
        if 24 < x < BOX[0] - 14:
            items.append(d.line(x, PROFILE[1], x, PROFILE[1] + 3, 0.9))
            items.append(d.text(x, _AXIS_PT, label, anchor="middle", halo=False))
    return items


def profile_items(
    strip: Strip, ground: Line | None, flight: Line | None, extra: Sequence[tuple[float, float]] = ()
) -> tuple[list[Item], d.View]:
    """Ground and flight path from the side. Unknown ground is left open and says so.

    `extra`: further (x, height) points [m] that the view must hold.
    """
    heights = [np.asarray(points, float)[:, 1] for points in (ground, flight) if points is not None]
    known = (
        np.concatenate([*heights, np.array([h for _, h in extra], float)])
        if heights or extra
        else np.zeros(1)
    )
    known = known[np.isfinite(known)] if np.isfinite(known).any() else np.zeros(1)
    low, high = float(known.min()), float(known.max())
    span = max(high - low, 40.0)
    view = strip.side(low - 0.18 * span, low + 1.06 * span)
    items: list[Item] = []
    for top in view.lines(ground):
        floor = [[top[-1, 0], PROFILE[1]], [top[0, 0], PROFILE[1]]]
        items += [d.path([np.vstack((top, floor))], fill="land"), d.path([top], width=0.9)]
    if ground is None:
        items.append(d.text(BOX[0] / 2, PROFILE[1] - 5, "ground not known", anchor="middle", bold=True))
    else:
        items += _gaps(view, np.asarray(ground, float))
    items += [d.path(view.lines(flight), width=1.4)] if flight is not None else []
    return items, view


def _gaps(view: d.View, ground: Line) -> list[Item]:
    """Unknown stretches of ground: dots and, where there is room, the word."""
    unknown = ~np.isfinite(ground[:, 1])
    edges = np.flatnonzero(np.diff(np.concatenate(([0], unknown.astype(np.int8), [0]))))
    items: list[Item] = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        x0 = view.one(ground[max(first - 1, 0), 0], view.south)[0]
        x1 = view.one(ground[min(last, len(ground) - 1), 0], view.south)[0]
        top, bottom = PROFILE[1] - 16, PROFILE[1]
        items.append(d.path([[[x0, top], [x1, top], [x1, bottom], [x0, bottom]]], fill="unknown"))
        if x1 - x0 > 80:
            items.append(d.text((x0 + x1) / 2, bottom - 5, "ground not known", anchor="middle"))
    return items


def draw_lane(lane: LaneView, style: Style) -> d.Drawing:
    """The scoop lane: shore, lane box as its state asks, ticks; under it ground, path and slope asked."""
    length = lane.length_m
    strip = strip_of((lane.profile, lane.flight), (-0.3 * length, 1.3 * length))
    plan = strip.plan()
    half = max(lane.clear_m * strip.pt_per_m, 4.0)
    x0, axis = plan.one(0.0, 0.0)
    x1 = plan.one(length, 0.0)[0]
    solid = lane.level in {"clear", "caution"}
    box = [[x0, axis - half], [x1, axis - half], [x1, axis + half], [x0, axis + half]]
    items = d.area(plan, lane.shore, "water")
    items.append(d.path([box], fill="white"))
    if lane.level in {"caution", "unknown"}:
        items.append(d.path([box], fill=lane.level))
    items.append(d.path([box], width=1.2, closed=True, dash=() if solid else (3.0, 2.2)))
    items.append(d.line(0, axis, BOX[0], axis, 0.75, (7.0, 4.0)))
    if lane.level == "stop":
        items += [
            d.line(x0, axis - half, x1, axis + half, 1.2),
            d.line(x0, axis + half, x1, axis - half, 1.2),
        ]
    else:
        head = [[x1, axis - 7.5], [x1 + 12.5, axis], [x1, axis + 7.5]]
        items.append(d.path([head], width=1.0, fill="black" if solid else "white", closed=True))
    words = []
    for mark in lane.marks:
        x = plan.one(mark.at_m, 0.0)[0]
        items.append(d.line(x, axis - 10.5, x, axis + 10.5, 0.9))
        words.append(Label(lines=(mark.label,), at=(x, axis - 10), rank=1, gap=2.0, sides=("NE", "NW", "N")))
    free = f"{style.length(lane.clear_m, 'down')} free each side"
    words.append(Label(lines=(free,), at=((x0 + x1) / 2, axis + half + 3), rank=2, gap=4.0, sides=("S",)))
    if lane.shore is None:
        words.append(Label(lines=("shore not known",), at=(x0, axis - 12), rank=3, sides=("N", "NE", "S")))
    placed = place(words, Box(0, 0, BOX[0], PROFILE[0] - 2), [Box(x0, axis - half, x1 + 12.5, axis + half)])
    items += label_items(placed)
    surface = [] if lane.surface_m is None else [(0.0, lane.surface_m)]
    side, view = profile_items(strip, lane.profile, lane.flight, surface)
    return d.Drawing(*BOX, (*items, *side, *_lane_side(lane, view, style), *axis_items(strip)))


def _lane_side(lane: LaneView, view: d.View, style: Style) -> list[Item]:
    """Water level, the slope asked for, and the words of the profile."""
    items: list[Item] = []
    words = []
    if lane.surface_m is not None:
        (x0, y), (x1, _) = view.one(0.0, lane.surface_m), view.one(lane.length_m, lane.surface_m)
        items.append(d.line(x0, y, x1, y, 2.2))
        level = f"water {style.height(lane.surface_m)}"
        words.append(Label(lines=(level,), at=((x0 + x1) / 2, y), rank=1, gap=3.0, sides=("N",)))
        if lane.gradient_asked is not None:
            lift_m = lane.length_m if lane.lift_off_m is None else lane.lift_off_m
            reach = view.east - lift_m
            asked = [
                (lift_m, lane.surface_m),
                (view.east, lane.surface_m + lane.gradient_asked * reach),
            ]
            items.append(d.path(view.lines(asked), width=0.9, dash=(2.4, 2.4)))
    if lane.flight is not None and len(lane.flight) > 1:
        first, last = view.pt(lane.flight)[[0, -1]]
        if lane.flight_note is None:
            begin = f"start {style.height(float(lane.flight[0, 1]))}"
            words.append(
                Label(lines=(begin,), at=(0.0, float(first[1])), rank=0, gap=5.0, sides=("NE", "SE"))
            )
        else:
            touch = view.pt(lane.flight)[1]
            at = (float(first[0] + touch[0]) / 2, float(first[1] + touch[1]) / 2)
            words.append(Label(lines=(lane.flight_note,), at=at, rank=5, gap=5.0, sides=("NE", "E", "SW")))
        words.append(
            Label(lines=("climb-out",), at=(BOX[0], float(last[1])), rank=0, gap=5.0, sides=("NW", "SW"))
        )
    ink = np.vstack([d.resampled(p, 3.0) for p in view.lines(lane.flight)] or [np.empty((0, 2))])
    return items + label_items(place(words, Box(0, PROFILE[0] - 12, BOX[0], PROFILE[1]), (), ink))


def draw_dip(dip: DipView, style: Style) -> d.Drawing:
    """The dip site: ring to scale, triangle down onto a level line, way in and way out."""
    strip = strip_of((dip.profile, dip.flight), (-400.0, 400.0))
    plan = strip.plan()
    x, axis = plan.one(0.0, 0.0)
    items = d.area(plan, dip.shore, "water")
    radius = max((dip.clear_m or 0.0) * strip.pt_per_m, 9.0)
    turn = np.linspace(0, 2 * np.pi, 49)
    ring = np.column_stack((x + radius * np.cos(turn), axis + radius * np.sin(turn)))
    solid = dip.level in {"clear", "caution"}
    items += _dip_ways(dip, (x, axis))
    items.append(d.path([ring], fill="white"))
    items.append(d.path([ring], width=1.2, closed=True, dash=() if solid else (3.0, 2.2)))
    items.append(d.path([[[x - 4.5, axis - 5], [x + 4.5, axis - 5], [x, axis + 2.5]]], fill="black"))
    items.append(d.line(x - 6, axis + 4, x + 6, axis + 4, 1.2))
    if dip.level == "stop":
        items += [
            d.line(x - 9, axis - 9, x + 9, axis + 9, 1.4),
            d.line(x - 9, axis + 9, x + 9, axis - 9, 1.4),
        ]
    clear = (
        "clear radius not known"
        if dip.clear_m is None
        else f"{style.length(dip.clear_m, 'down')} free round it"
    )
    sides = ("E", "NE", "SE", "N", "S")
    words = [Label(lines=(dip.id,), at=(x, axis), bold=True, rank=0, gap=radius + 3, sides=("N", "NE"))]
    words.append(Label(lines=(clear,), at=(x, axis), rank=1, gap=radius + 3, sides=("S", *sides)))
    if dip.shore is None:
        words.append(Label(lines=("shore not known",), at=(x, axis), rank=2, gap=radius + 3, sides=sides))
    bounds = Box(0, 0, BOX[0], PROFILE[0] - 2)
    items += label_items(place(words, bounds, [Box(x - radius, axis - radius, x + radius, axis + radius)]))
    surface = [] if dip.surface_m is None else [(0.0, dip.surface_m)]
    side, view = profile_items(strip, dip.profile, dip.flight, surface)
    if dip.surface_m is not None:
        px, py = view.one(0.0, dip.surface_m)
        side.append(d.line(px - 10, py, px + 10, py, 2.2))
        level = Label(
            lines=(f"water {style.height(dip.surface_m)}",), at=(px, py), gap=4.0, sides=("N", "NE", "NW")
        )
        ink = np.vstack([d.resampled(p, 3.0) for p in view.lines(dip.flight)] or [np.empty((0, 2))])
        side += label_items(place([level], Box(0, PROFILE[0] - 10, BOX[0], PROFILE[1]), (), ink))
    return d.Drawing(*BOX, (*items, *side, *axis_items(strip)))


def _dip_ways(dip: DipView, hover: tuple[float, float]) -> list[Item]:
    """The way out to the right, and the way in at the angle at which it meets it."""
    x, axis = hover
    items: list[Item] = []
    if dip.heading_true_deg is None:
        return items
    items += [d.line(x, axis, BOX[0], axis, 0.9, (7.0, 4.0)), d.arrow(BOX[0] - 30.0, axis, (1.0, 0.0))]
    if dip.approach_true_deg is not None:
        turn = np.radians(dip.approach_true_deg - dip.heading_true_deg)
        toward = (float(np.cos(turn)), float(np.sin(turn)))  # to the right of the way out is down on paper
        reach = min(x, (axis - _PLAN[0]) / max(abs(toward[1]), 1e-6))
        begin = (x - reach * toward[0], axis - reach * toward[1])
        items.append(d.line(*begin, x, axis, 0.9, (7.0, 4.0)))
        items.append(d.arrow(x - 0.75 * reach * toward[0], axis - 0.75 * reach * toward[1], toward))
    return items


def draw_base(base: BaseView, style: Style) -> d.Drawing:
    """From base to fire: a straight strip with distance and time, the ground under the path."""
    distance = base.distance_m
    strip = strip_of((base.profile, base.flight), (0.0, distance or 1000.0))
    x0, x1 = 8.0, BOX[0] - 8.0
    axis = (_PLAN[0] + _PLAN[1]) / 2
    square = [[x0 - 5, axis - 5], [x0 + 5, axis - 5], [x0 + 5, axis + 5], [x0 - 5, axis + 5]]
    items = [
        d.line(x0 + 5, axis, x1 - 8, axis, 1.4, () if distance else (3.0, 3.0)),
        d.path([square], width=1.4, fill="white"),
        d.line(x0 - 8, axis + 8, x0 + 8, axis - 8, 1.2),
        d.arrow(x1 - 6, axis, (1.0, 0.0)),
    ]
    reach = "distance not known" if distance is None else style.distance(distance)
    words = [
        Label(lines=(base.name,), at=(0.0, axis - 6), bold=True, rank=0, gap=4.0, sides=("NE",)),
        Label(lines=("fire",), at=(BOX[0], axis - 6), bold=True, rank=1, gap=4.0, sides=("NW", "SW")),
        Label(
            lines=(f"{reach}, {style.minutes(base.flight_min)} one way",),
            at=(BOX[0] / 2, axis + 4),
            rank=2,
            gap=4.0,
            sides=("S",),
        ),
    ]
    items += label_items(place(words, Box(0, 0, BOX[0], PROFILE[0] - 2)))
    if base.profile is None and base.flight is None:
        words = [
            Label(lines=("ground on the way not known",), at=(BOX[0] / 2, 108.0), bold=True, centred=True)
        ]
        return d.Drawing(*BOX, (*items, *label_items(place(words, Box(0, _PLAN[1], *BOX)))))
    side, _ = profile_items(strip, base.profile, base.flight)
    return d.Drawing(*BOX, (*items, *side, *axis_items(strip)))
