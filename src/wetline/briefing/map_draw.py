"""What the plan lays on the map: the fire, its line and fronts, lanes, runs, people."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.briefing import drawing as d
from wetline.briefing.draw_run import held_items
from wetline.briefing.labels import Label
from wetline.briefing.map_layers import inside, off_map

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.briefing.format import Style
    from wetline.briefing.map_layers import Layers
    from wetline.briefing.map_nouns import MapDip, MapLane, MapPage, MapPeople, MapRun
    from wetline.model import Level

__all__ = ["SIGN", "fire_layer", "people_layer", "run_name", "runs_layer", "water_layer"]

SIGN: dict[Level, str | None] = {"stop": "stop", "unknown": "block", "caution": "caution", "clear": None}
_FRONT_DASH: tuple[tuple[float, ...], ...] = ((), (9.0, 4.0), (4.0, 3.0), (1.5, 2.5))


def fire_layer(layers: Layers, page: MapPage, view: d.View, style: Style) -> None:
    """Fronts by hour, burnt ground, open edge with teeth, stopped and planned line."""
    burnt = shapely.make_valid(page.burnt_xy)
    for i, front in enumerate(sorted(page.fronts, key=lambda f: f.time)):
        lines = [p for each in front.lines_xy for p in view.lines(each)]
        layers.stroke(lines, (1.9, 1.6, 1.3, 1.3)[min(i, 3)], _FRONT_DASH[min(i, 3)])
        spots = _far_from(view, front.lines_xy, burnt)
        if spots:
            # The hour stands on its own line or nowhere: beside it, it could be read for another.
            words = (style.clock(front.time),)
            layers.labels.append(
                Label(
                    lines=words,
                    at=spots[0],
                    also=tuple(spots[1:]),
                    rank=5,
                    bold=True,
                    centred=True,
                    sides=(),
                )
            )
    layers.items += d.area(view, page.burnt_xy, "burnt", width=0.9)
    layers.ink.append(_interior(view, burnt))
    for edge in page.open_edge_xy:
        lines = view.lines(edge)
        layers.stroke(lines, 2.0)
        layers.items.append(d.path([t for p in lines for t in d.teeth(p, 5.5, 4.2)], width=1.4))
    for held in page.held_edge_xy:
        layers.items += held_items(held, view)
        lines = view.lines(held.line)
        layers.ink += [d.resampled(p, 3.0) for p in lines]
        if held.label and lines:
            x, y = d.resampled(lines[0], 4.0)[len(d.resampled(lines[0], 4.0)) // 2]
            layers.labels.append(Label(lines=(held.label,), at=(float(x), float(y)), rank=4, gap=6.0))
    for line in page.crews_line_xy:
        points = view.lines(shapely.get_coordinates(line))
        layers.stroke(points, 1.6)
        layers.items.append(d.path([t for p in points for t in d.teeth(p, 7.0, 3.2)], width=0.9))
    spot = inside(view, burnt)
    if spot is not None:
        lines_: tuple[str, ...] = (f"Burnt {style.area(burnt.area)}", f"drawn {style.clock(page.burnt_time)}")
        if page.grown_to is not None:
            lines_ = (*lines_, f"grown to {style.clock(page.grown_to)}")
        layers.labels.append(Label(lines=lines_, at=spot, rank=2, bold_first=True, centred=True, gap=12.0))


def water_layer(layers: Layers, page: MapPage, view: d.View, style: Style) -> None:
    """Scoop lanes to scale, dip sites, the circuit."""
    if page.circuit_xy is not None:
        lines = view.lines(page.circuit_xy)
        layers.stroke(lines, 1.1)
        for line in lines:
            marks = d.resampled(line, 150.0)
            ahead = d.resampled(line, 2.0)
            for mark in marks:
                i = (
                    max(1, min(int(np.argmin(np.hypot(*(ahead - mark).T))), len(ahead) - 1))
                    if len(ahead) > 1
                    else 0
                )
                if i:
                    step = ahead[i] - ahead[i - 1]
                    layers.items.append(
                        d.arrow(float(mark[0]), float(mark[1]), (float(step[0]), float(step[1])))
                    )
        if lines and page.circuit_label:
            longest = max(lines, key=len)
            low = longest[np.argmax(longest[:, 1])]
            layers.labels.append(
                Label(lines=(page.circuit_label,), at=(float(low[0]), float(low[1])), rank=7)
            )
    for lane in page.lanes:
        _lane(layers, lane, view, style)
    for dip in page.dips:
        _dip(layers, dip, view)


def _lane(layers: Layers, lane: MapLane, view: d.View, style: Style) -> None:
    middle = ((lane.start_xy[0] + lane.end_xy[0]) / 2, (lane.start_xy[1] + lane.end_xy[1]) / 2)
    words = f"{lane.id} {style.bearing(lane.heading_true_deg)}, {style.length(lane.length_m, 'down')}"
    if not view.holds(*middle):
        off_map(layers, view, middle, (f"Lane {lane.id}",), must=True)
        return
    start, end = np.array(view.one(*lane.start_xy)), np.array(view.one(*lane.end_xy))
    step = end - start
    unit = step / max(float(np.hypot(*step)), 1e-9)
    side = np.array([-unit[1], unit[0]]) * max(lane.clear_m * view.scale[0], 3.2)
    box = np.array([start - side, end - side, end + side, start + side])
    solid = lane.level in {"clear", "caution"}
    layers.items.append(d.path([box], fill="white"))
    if lane.level in {"caution", "unknown"}:
        layers.items.append(d.path([box], fill=lane.level))
    layers.items.append(d.path([box], width=1.2, closed=True, dash=() if solid else (3.0, 2.2)))
    if lane.level == "stop":
        layers.items.append(d.path([box[[0, 2]], box[[1, 3]]], width=1.2))
    else:
        layers.items.append(d.path([np.array([start, end])], width=0.75, dash=(5.0, 3.0)))
        layers.items.append(
            d.arrow(float(end[0]), float(end[1]), (float(unit[0]), float(unit[1])), hollow=not solid)
        )
    layers.ink += [d.resampled(np.array([start, end]), 3.0), d.resampled(np.vstack((box, box[:1])), 3.0)]
    lines = (words, lane.note) if lane.note else (words,)
    at = (start + end) / 2
    sign = {"stop": "stop", "unknown": "unknown", "caution": "caution", "clear": "none"}[lane.level]
    gap = float(np.abs(side[1])) + 6.0
    layers.labels.append(
        Label(
            lines=lines,
            at=(float(at[0]), float(at[1])),
            also=tuple((float(p[0]), float(p[1])) for p in (start, end)),
            rank=3,
            italic=True,
            sign=sign,
            gap=gap,
            must=lane.level == "stop",
        )
    )


def _dip(layers: Layers, dip: MapDip, view: d.View) -> None:
    if not view.holds(*dip.xy):
        off_map(layers, view, dip.xy, (f"Dip site {dip.id}",), must=True)
        return
    x, y = view.one(*dip.xy)
    turn = np.linspace(0, 2 * np.pi, 33)
    ring = np.column_stack((x + 8 * np.cos(turn), y + 8 * np.sin(turn)))
    dash = () if dip.level in {"clear", "caution"} else (2.4, 1.8)
    layers.items += [
        d.path([ring], fill="white"),
        d.path([ring], width=1.3, dash=dash, closed=True),
        d.path([[[x - 4, y - 4], [x + 4, y - 4], [x, y + 2]]], fill="black"),
        d.line(x - 5, y + 3.5, x + 5, y + 3.5, 1.2),
    ]
    if dip.level == "stop":
        layers.items += [d.line(x - 8, y - 8, x + 8, y + 8, 1.2), d.line(x - 8, y + 8, x + 8, y - 8, 1.2)]
    layers.spare(x, y, 8.5)
    lines = (dip.id, dip.note) if dip.note else (dip.id,)
    sign = {"stop": "stop", "unknown": "unknown", "caution": "caution", "clear": "none"}[dip.level]
    layers.labels.append(
        Label(
            lines=lines,
            at=(x, y),
            rank=3,
            italic=True,
            bold_first=True,
            sign=sign,
            gap=10.0,
            must=dip.level == "stop",
        )
    )


def runs_layer(layers: Layers, page: MapPage, view: d.View, style: Style) -> None:
    """Drop runs: approach, release bar, block, dashed exit, numbered disc."""
    for run in sorted(page.runs, key=lambda r: -r.order):
        _run(layers, run, view, style)


def run_name(run: MapRun) -> str:
    """`R4, Tern 2`: the first words of a run's label."""
    return f"{run.id}, {run.aircraft}"


def _run(layers: Layers, run: MapRun, view: d.View, style: Style) -> None:
    approach, wet, away = view.lines(run.approach_xy), view.lines(run.line_xy), view.lines(run.exit_xy)
    held = run.held_back or run.level == "stop"
    layers.stroke(approach, 1.3, (3.0, 2.5) if held else ())
    layers.stroke(away, 1.3, (5.0, 3.0))
    layers.items.append(d.path(wet, width=2.0 if held else 6.0))
    layers.ink += [d.resampled(p, 2.0) for p in wet]
    if away:
        step = away[-1][-1] - away[-1][-2]
        layers.items.append(
            d.arrow(float(away[-1][-1, 0]), float(away[-1][-1, 1]), (float(step[0]), float(step[1])))
        )
    if not wet:
        return
    begin = wet[0][0]
    step = wet[0][-1] - begin
    unit = step / max(float(np.hypot(*step)), 1e-9)
    bar = np.array([begin - 8 * np.array([-unit[1], unit[0]]), begin + 8 * np.array([-unit[1], unit[0]])])
    layers.items += [d.path([bar], width=4.2, white=True), d.path([bar], width=2.2)]
    layers.spare(float(begin[0]), float(begin[1]))
    x, y = (float(v) for v in (approach[0][0] if approach else begin) + np.array([0.0, 0.0]))
    x, y = min(max(x, view.left + 10), view.right - 10), min(max(y, view.top + 10), view.bottom - 10)
    if not held:
        _disc(layers, x, y, str(run.order), filled=run.order == 1)
    sign: str | None = SIGN[run.level]
    words = [run_name(run), style.bearing(run.heading_true_deg)]
    if held:
        words.append("stop: do not take" if run.level == "stop" else "held back")
    else:
        words.append("people clear, confirmed" if run.confirmed else "people not confirmed")
        sign = sign or ("confirmed" if run.confirmed else "block")
    at = (float(begin[0]), float(begin[1]))
    layers.labels.append(
        Label(
            lines=tuple(words),
            at=at,
            also=((x, y),),
            rank=1 + run.order,
            must=held or run.order == 1,
            bold_first=True,
            sign=sign,
            gap=12.0,
        )
    )


def _disc(layers: Layers, x: float, y: float, words: str, *, filled: bool) -> None:
    turn = np.linspace(0, 2 * np.pi, 33)
    ring = np.column_stack((x + 7.5 * np.cos(turn), y + 7.5 * np.sin(turn)))
    layers.items += [
        d.path([ring], fill="black" if filled else "white"),
        d.path([ring], width=1.3, closed=True),
    ]
    layers.items.append(d.text(x, y + 3.3, words, anchor="middle", bold=True, halo=False, white=filled))
    layers.spare(x, y, 8.0)


def people_layer(layers: Layers, page: MapPage, view: d.View, style: Style) -> None:
    """People and houses, the ring of a broken limit; each with its words, which must stand."""
    for each in page.people:
        lines = _people_words(each, style)
        if not view.holds(*each.xy):
            off_map(layers, view, each.xy, lines, must=each.level != "clear", sign=SIGN[each.level])
            continue
        x, y = view.one(*each.xy)
        if each.kind in {"crew", "road_users", "camp"}:
            layers.items += d.person(x, y)
        else:
            squares = [(0, 0), (6, -3), (-5, 4), (4, 5)] if each.kind == "houses" else [(0, 0)]
            for dx, dy in squares:
                box = [
                    [x + dx - 2, y + dy - 2],
                    [x + dx + 2, y + dy - 2],
                    [x + dx + 2, y + dy + 2],
                    [x + dx - 2, y + dy + 2],
                ]
                layers.items += [
                    d.path([box], width=1.6, white=True, closed=True),
                    d.path([box], fill="black"),
                ]
        if each.ring_m is not None:
            radius = max(each.ring_m * view.scale[0], 12.0)
            turn = np.linspace(0, 2 * np.pi, 49)
            ring = np.column_stack((x + radius * np.cos(turn), y + radius * np.sin(turn)))
            layers.items += [d.path([ring], width=3.4, white=True), d.path([ring], width=1.6)]
            layers.ink.append(ring)
        layers.spare(x, y, 8.5)
        layers.labels.append(
            Label(lines=lines, at=(x, y), rank=0, must=True, bold_first=True, sign=SIGN[each.level], gap=9.5)
        )


def _people_words(each: MapPeople, style: Style) -> tuple[str, ...]:
    noun = "" if each.kind != "houses" else " house" if each.count == 1 else " houses"
    count = ", number not known" if each.count is None else f", {each.count:,}{noun}"
    lines = [f"{each.name}{count}" if each.kind != "place" else each.name]
    if each.earliest is not None:
        lines.append(f"fire earliest {style.clock(each.earliest)}")
    if each.kind in {"crew", "road_users"}:
        lines.append(f"seen {style.clock(each.seen)}" if each.seen else "when seen: not known")
    if each.note:
        lines.append(each.note)
    elif each.earliest is None:
        lines.append("fire arrival not known")
    return tuple(lines)


def _interior(view: d.View, shape: shapely.Geometry, step: float = 6.0) -> NDArray[np.float64]:
    """Points [pt] spread over an area: words of other things had better not stand in it."""
    x, y = np.meshgrid(np.arange(view.left, view.right, step), np.arange(view.top, view.bottom, step))
    sx, sy = view.scale
    inside = shapely.contains_xy(shape, view.west + (x - view.left) / sx, view.south + (view.bottom - y) / sy)
    return np.column_stack((x[inside], y[inside]))


def _far_from(
    view: d.View, lines: tuple[NDArray[np.float64], ...], burnt: shapely.Geometry
) -> list[tuple[float, float]]:
    """Visible points [pt] of a front, those farthest from the burnt ground first."""
    points = [p for each in lines for p in d.pieces(each, view.window)]
    if not points:
        return []
    every = np.vstack([d.resampled(p, (view.east - view.west) / 100) for p in points])
    distance = shapely.distance(shapely.points(every), burnt)
    order = np.argsort(-distance, kind="stable")[:40]
    return [view.one(float(x), float(y)) for x, y in every[order]]
