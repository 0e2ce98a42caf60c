"""The drop run as flown, left to right: plan above profile on one distance axis, release at 0."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.briefing import drawing as d
from wetline.briefing.draw_source import BOX, PROFILE, Strip, axis_items, profile_items, strip_of
from wetline.briefing.labels import Box, Label, label_items, place

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item
    from wetline.briefing.format import Style
    from wetline.briefing.map_nouns import HeldLine
    from wetline.briefing.pack import Person, RunView, Wire

__all__ = ["draw_run", "held_items", "people_items", "wind_items", "wire_items"]

_BEHIND_M, _BEYOND_M = -1100.0, 650.0  # of the release: what a crew needs to see of a run
_PLAN_BOTTOM = 76.0
_WIND_AT = (11.0, 13.0)
_BURNT = {
    "left": "burnt ground, on your left",
    "right": "burnt ground, on your right",
    "both": "burnt ground on both sides",
    "ahead": "burnt ground ahead",
    "none": "burnt ground",
}


def held_items(held: HeldLine, view: d.View) -> list[Item]:
    """A piece of line drawn as its state: secured ticks, wet solid, drying dashes, dots, planned."""
    lines = view.lines(held.line)
    if not lines:
        return []
    if held.state == "secured":
        ticks = [t for p in lines for t in _cross_ticks(p)]
        return [d.path(lines, width=2.2), d.path(ticks, width=0.9)]
    if held.state == "burned_through":
        crosses = [c for p in lines for c in _crosses(p)]
        return [d.path(lines, width=1.0, dash=(1.0, 2.0)), d.path(crosses, width=1.0)]
    width, dash = {
        "wet": (3.6, ()),
        "drying": (3.6, (5.2, 3.0)),
        "retardant": (2.6, (2.2, 3.0)),
        "planned": (1.6, (1.6, 1.6)),
    }[held.state]
    return [d.path(lines, width=width, dash=dash)]


def _cross_ticks(line: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    return [np.array([2 * a - b, b]) for a, b in d.teeth(line, 7.0, 3.2)]


def _crosses(line: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    return [
        np.array([[x - 2.5, y + s * 2.5], [x + 2.5, y - s * 2.5]])
        for x, y in d.resampled(line, 16.0)
        for s in (1.0, -1.0)
    ]


def wire_items(wire: Wire, view: d.View) -> list[Item]:
    """A wire with slant ticks; a mast as a square."""
    points = np.atleast_2d(np.asarray(wire.line, float))
    if len(points) == 1:
        if not view.holds(*points[0]):
            return []
        x, y = view.one(*points[0])
        square = [[x - 3, y - 3], [x + 3, y - 3], [x + 3, y + 3], [x - 3, y + 3]]
        return [d.path([square], fill="black"), d.line(x, y - 3, x, y - 10, 1.2)]
    lines = view.lines(points)
    slants = [tick for p in lines for tick in _slants(p)]
    return [d.path(lines, width=1.1), d.path(slants, width=1.1)] if lines else []


def _slants(line: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Ticks across a line at 60° to it, whichever way it runs."""
    out = []
    for foot, tip in d.teeth(line, 13.0, 4.3):
        right = tip - foot
        ahead = np.array([right[1], -right[0]])
        lean = 0.5 * ahead + 0.87 * right
        out.append(np.array([foot - lean, foot + lean]))
    return out


def _wire_at(wire: Wire, view: d.View) -> tuple[float, float] | None:
    points = np.atleast_2d(np.asarray(wire.line, float))
    if len(points) == 1:
        return view.one(*points[0]) if view.holds(*points[0]) else None
    lines = view.lines(points)
    if not lines:
        return None
    middle = max(lines, key=len)
    x, y = d.resampled(middle, 6.0)[len(d.resampled(middle, 6.0)) // 2]
    return float(x), float(y)


def people_items(people: Iterable[Person], view: d.View) -> tuple[list[Item], list[Label], list[Box]]:
    """People where they are; off the drawing, at its edge with an arrow outward. Labels must stand."""
    items: list[Item] = []
    labels, taken = [], []
    for each in people:
        x, y = view.one(*each.at)
        room = 8.0 if view.holds(*each.at) else 20.0  # the arrow outward stays in the drawing too
        inset_x = min(max(x, view.left + room), view.right - room)
        inset_y = min(max(y, view.top + room), view.bottom - room - 1.0)
        if (inset_x, inset_y) != (x, y) and not view.holds(*each.at):
            items.append(_outward((inset_x, inset_y), (x, y)))
        items += d.person(inset_x, inset_y)
        taken.append(Box(inset_x - 5, inset_y - 6, inset_x + 5, inset_y + 7))
        # Words stand on the side away from the release, where the line and the exit need room.
        sides = ("W", "NW", "SW", "E", "NE", "SE") if each.at[0] < 0 else ("E", "NE", "SE", "W", "NW", "SW")
        labels.append(
            Label(lines=(each.label,), at=(inset_x, inset_y), rank=0, must=True, gap=7.0, sides=sides)
        )
    return items, labels, taken


def _outward(at: tuple[float, float], away: tuple[float, float]) -> Item:
    step = np.array(away) - np.array(at)
    unit = step / np.hypot(*step)
    tip = np.array(at) + 8.0 * unit
    return d.arrow(float(tip[0]), float(tip[1]), (float(unit[0]), float(unit[1])))


def _view(strip: Strip) -> d.View:
    half = (_PLAN_BOTTOM - 2.0) / 2 / strip.pt_per_m
    return d.View(strip.from_m, -half, strip.to_m, half, 0.0, 2.0, BOX[0], _PLAN_BOTTOM)


def draw_run(run: RunView, style: Style) -> tuple[d.Drawing, tuple[str, ...]]:
    """The drawing, and the labels of people for whom it had no room."""
    flown = [p for p in (run.approach, run.profile, run.flight) if p is not None]
    least = (_BEHIND_M, _BEYOND_M) if not flown else (-300.0, 300.0)
    strip = strip_of(flown, least)
    plan = _view(strip)
    axis = plan.one(0.0, 0.0)[1]
    items = d.area(plan, run.burnt, "burnt", width=0.0)
    for edge in run.open_edge:
        for points in plan.lines(edge):
            items += [d.path([points], width=1.5), d.path(d.teeth(points), width=1.5)]
    for held in run.held_edge:
        items += held_items(held, plan)
    for wire in run.wires:
        items += wire_items(wire, plan)
    approach = plan.lines(run.approach) or [plan.pt([[plan.west, 0.0], [0.0, 0.0]])]
    items.append(d.path(approach, width=1.2))
    items.append(
        d.arrow(0.3 * plan.one(0.0, 0.0)[0], axis, (1.0, 0.0)) if run.approach is None else _midway(approach)
    )
    (from_x, line_y), (to_x, _) = (plan.one(x, run.line_left_m) for x in (run.line_from_m, run.line_to_m))
    items.append(d.line(from_x, line_y, to_x, line_y, 6.0))
    exits = plan.lines(run.exit_path)
    if exits:
        tail = exits[-1]
        items.append(d.path(exits, width=1.4, dash=(4.5, 3.0)))
        items.append(d.arrow(*_drawn_back(tail[-1], tail[-1] - tail[-2]), tail[-1] - tail[-2]))
    zero = plan.one(0.0, 0.0)[0]
    items.append(d.line(zero, axis - 12, zero, axis + 12, 2.4))
    people, labels, taken = people_items(run.people, plan)
    blown, said, room = wind_items(run, style)
    items += [*people, *blown]
    labels.append(said)
    taken += room
    labels += _words(run, plan, style, exits)
    ink = np.vstack([d.resampled(p, 3.0) for p in (*approach, *exits)])
    bounds = Box(0, 0, BOX[0], _PLAN_BOTTOM + 4)
    taken += [Box(from_x, line_y - 3, to_x, line_y + 3), Box(zero - 2, axis - 12, zero + 2, axis + 12)]
    placed = place(labels, bounds, taken, ink)
    items += label_items(placed)
    lost = tuple(each.lines[0] for each in labels if each.must and all(p.label is not each for p in placed))
    side = _side(run, strip, style)
    return d.Drawing(*BOX, (*items, *side, *axis_items(strip))), lost


def wind_items(run: RunView, style: Style) -> tuple[list[Item], Label, list[Box]]:
    """An arrow the way the wind blows over the run, in the corner behind; its words must stand."""
    x, y = _WIND_AT
    if run.headwind_mps is None or run.crosswind_mps is None:
        label = Label(lines=("wind not known",), at=(0.0, y), bold=True, rank=0, must=True, sides=("E", "SE"))
        return [], label, []
    speed = float(np.hypot(run.headwind_mps, run.crosswind_mps))
    calm = style.knots(speed) == style.knots(0.0)
    words = "no wind" if calm else f"wind {style.knots(speed)}"
    label = Label(lines=(words,), at=(x, y), rank=0, must=True, gap=12.0, sides=("E", "SE", "S"))
    if calm:
        return [], label, []
    # Left of the run is up the page: a wind from the right blows up.
    east, south = -run.headwind_mps / speed, -run.crosswind_mps / speed
    shaft = d.line(x - 9.0 * east, y - 9.0 * south, x + 5.0 * east, y + 5.0 * south, 1.2)
    head = d.arrow(x + 5.0 * east, y + 5.0 * south, (east, south))
    return [shaft, head], label, [Box(x - 10, y - 10, x + 10, y + 10)]


def _midway(lines: list[NDArray[np.float64]]) -> Item:
    line = lines[0]
    at = d.resampled(line, 4.0)
    i = max(1, len(at) // 4)
    step = at[min(i, len(at) - 1)] - at[i - 1] if len(at) > 1 else np.array([1.0, 0.0])
    return d.arrow(float(at[i - 1, 0]), float(at[i - 1, 1]), (float(step[0]), float(step[1])))


def _drawn_back(tip: NDArray[np.float64], step: NDArray[np.float64]) -> tuple[float, float]:
    """The place of an arrow head whose point touches `tip`."""
    unit = step / max(float(np.hypot(*step)), 1e-9)
    x, y = tip - 5.2 * unit
    return float(x), float(y)


def _words(run: RunView, plan: d.View, style: Style, exits: list[NDArray[np.float64]]) -> list[Label]:
    zero, axis = plan.one(0.0, 0.0)
    words = [
        Label(lines=("release",), at=(zero, axis - 12), bold=True, rank=1, gap=3.0, sides=("NW", "NE", "SW", "SE")),
        Label(
            lines=(f"line {style.length(run.line_m.middle)}",),
            at=(zero + 4, axis - 12), rank=2, gap=3.0, sides=("NE", "SE", "N", "S"),
        ),
    ]  # fmt: skip
    if exits:
        tip = exits[-1][-1]
        words.append(
            Label(lines=(f"exit {_side_of(run)}",), at=(float(tip[0]), float(tip[1])), rank=3, gap=9.0)
        )
    elif run.exit_path is None:
        words.append(
            Label(lines=("exit not known",), at=(BOX[0], axis), rank=3, bold=True, sides=("NW", "SW"))
        )
    if run.burnt is not None:
        inside = plan.window.buffer(-0.02 * (plan.east - plan.west)).intersection(
            shapely.make_valid(run.burnt)
        )
        if not inside.is_empty:
            part = max(shapely.get_parts(inside), key=shapely.area)
            spot = plan.one(*shapely.get_coordinates(shapely.maximum_inscribed_circle(part))[0])
            # The short word stands where the long one finds no room.
            names = (_BURNT[run.burnt_side], "burnt")
            words += [Label(lines=(name,), at=spot, rank=5, centred=True, sides=()) for name in names]
    for wire in run.wires:
        at = _wire_at(wire, plan)
        if at is not None:
            words.append(Label(lines=(wire.label,), at=at, rank=0, must=True, gap=6.0))
    return words


def _side_of(run: RunView) -> str:
    if run.exit_true_deg is None:
        return "not known"
    turn = (run.exit_true_deg - run.heading_true_deg + 180.0) % 360.0 - 180.0
    return "straight ahead" if abs(turn) < 5 else "right" if turn > 0 else "left"


def _side(run: RunView, strip: Strip, style: Style) -> list[Item]:
    """Ground and path from the side, and the height over the release."""
    trees = run.canopy_m or 0.0
    top_m = run.release_amsl_m
    if top_m is None and run.ground_m is not None:
        top_m = run.ground_m + trees + run.height_above_canopy_m
    known = [] if top_m is None else [(0.0, top_m)]
    items, view = profile_items(strip, run.profile, run.flight, known)
    words = []
    if known and run.ground_m is not None:
        x, top = view.one(0.0, known[0][1])
        bottom = view.one(0.0, run.ground_m)[1]
        items.append(d.line(x, top, x, bottom, 0.9))
        height = style.feet(run.height_above_canopy_m, "up")
        tall = "trees not known" if run.canopy_m is None else f"trees {style.feet(run.canopy_m, 'up')}"
        words.append(
            Label(
                lines=(f"{height} + {tall}",),
                at=(x, (top + bottom) / 2),
                bold=True,
                rank=0,
                gap=5.0,
                sides=("E", "SE", "NE", "W"),
            )
        )
    if run.flight is not None and len(run.flight) > 1:
        end = view.pt(run.flight)[-1]
        words.append(
            Label(lines=("full-load climb",), at=(BOX[0], float(end[1])), rank=1, gap=5.0, sides=("NW", "SW"))
        )
        if run.flight_note is not None:
            first, second = view.pt(run.flight)[:2]
            at = (float(first[0] + second[0]) / 2, float(first[1] + second[1]) / 2)
            words.append(Label(lines=(run.flight_note,), at=at, rank=5, gap=5.0, sides=("NE", "SW", "E")))
    else:
        words.append(
            Label(lines=("climb not known",), at=(BOX[0], PROFILE[0] + 8), rank=1, gap=5.0, sides=("W",))
        )
    lines = (*view.lines(run.flight), *view.lines(run.profile))
    ink = np.vstack([d.resampled(p, 3.0) for p in lines] or [np.empty((0, 2))])
    return items + label_items(place(words, Box(0, _PLAN_BOTTOM + 2, BOX[0], PROFILE[1] - 1), (), ink))
