"""The incident map's page: three answers above, the map with its column, cautions below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.briefing import drawing as d
from wetline.briefing.labels import Box, Label, label_items, place
from wetline.briefing.map_draw import SIGN, fire_layer, people_layer, run_name, runs_layer, water_layer
from wetline.briefing.map_frame import SIDE_PT, map_view, side_items, tick_items
from wetline.briefing.map_ground import ground_layer
from wetline.briefing.map_layers import Layers
from wetline.briefing.metrics import wrapped
from wetline.briefing.raster import ground_picture, png_grey
from wetline.briefing.sheet import style_of, wind_words

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.briefing.drawing import Item
    from wetline.briefing.format import Style
    from wetline.briefing.map_nouns import MapPage, MapRun
    from wetline.briefing.pack import BriefPack

__all__ = ["map_content"]

_PAGE_PT = (277 / 25.4 * 72, 190 / 25.4 * 72)
_LINE_PT = 12.75
_GAP_PT = 4.0
_PX_PER_PT = 150 / 72
_NEAR_SOURCE_M, _NEAR_PEOPLE_M = 1000.0, 1500.0  # of the fire: farther things stand at the map's edge
_COLUMNS = (0.18, 0.21, 0.29, 0.32)  # place, and the three answers


def map_content(pack: BriefPack) -> tuple[dict[str, object], bytes | None]:
    """The page's data and the picture of the ground."""
    page, style = pack.map, style_of(pack)
    about = _about(pack, style)
    head = _head_height(pack, about)
    foot = _foot(pack)
    foot_pt = sum(len(wrapped(words, 0.98 * _PAGE_PT[0])) for words in foot) * (_LINE_PT + 1.0)
    height = _PAGE_PT[1] - head - _GAP_PT - foot_pt - 6.0
    view, scale = map_view(page.extent or _extent(page), _PAGE_PT[0] - SIDE_PT, height)
    picture, contours = _picture(page, view)
    items, named = _map_items(pack, style, view, contours)
    items += side_items(view, scale, style, pack.projection, _side_words(pack, style, named))
    if picture is not None:
        items.insert(0, {"k": "picture", "file": "ground.png", "w": view.right, "h": view.bottom})
    content = {
        "incident": pack.incident,
        "exercise": pack.exercise,
        "about": about,
        "answers": [
            {
                "question": a.question,
                "answer": a.answer,
                "details": list(a.details),
                "glyph": SIGN[a.level] if a.level else None,
            }
            for a in page.answers
        ],
        "columns": [f * _PAGE_PT[0] - 9.0 for f in _COLUMNS[: 1 + len(page.answers)]],
        "head_pt": head,
        "gap_pt": _GAP_PT,
        "drawing": d.Drawing(_PAGE_PT[0], height, tuple(items)).as_json(),
        "foot": foot,
    }
    return content, picture


def _about(pack: BriefPack, style: Style) -> list[str]:
    lines = [pack.place] if pack.place else []
    lines.append(style.moment(pack.made))
    sheets = ", ".join(str(s.number) for s in pack.sheets)
    lines.append(f"Sheet{'s' if len(pack.sheets) > 1 else ''} {sheets}" if sheets else "No sheets")
    if pack.version:
        lines.append(pack.version)
    return lines


def _head_height(pack: BriefPack, about: list[str]) -> float:
    """Room that the tallest column of the head takes [pt]."""
    widths = [f * _PAGE_PT[0] - 9.5 for f in _COLUMNS]
    tall = [len(wrapped(pack.incident, widths[0] - (55 if pack.exercise else 0), 15.0, bold=True)) * 18.5]
    tall[0] += sum(len(wrapped(words, widths[0])) for words in about) * _LINE_PT
    for answer, width in zip(pack.map.answers, widths[1:], strict=False):
        big = len(wrapped(answer.answer, width - 18, 15.0, bold=True)) * 18.5
        rows = len(wrapped(answer.question, width)) + sum(
            len(wrapped(words, width)) for words in answer.details
        )
        tall.append(big + rows * _LINE_PT)
    return max(tall) + 6.0


def _foot(pack: BriefPack) -> list[str]:
    return [*pack.cautions]


def _extent(page: MapPage) -> tuple[float, float, float, float]:
    """What the map holds: the fire, its fronts, runs, and the people and sources near it, with room."""
    burnt = page.burnt_xy
    boxes: list[BaseGeometry] = [shapely.box(*burnt.bounds)]
    for front in page.fronts:
        boxes += [shapely.MultiPoint(p).envelope for p in front.lines_xy if len(p)]
    for run in page.runs:
        boxes += [
            shapely.MultiPoint(p).envelope for p in (run.approach_xy, run.line_xy, run.exit_xy) if len(p)
        ]
    near: list[BaseGeometry] = [
        shapely.Point(p.xy) for p in page.people if burnt.distance(shapely.Point(p.xy)) < _NEAR_PEOPLE_M
    ]
    lanes = [shapely.LineString([s.start_xy, s.end_xy]) for s in page.lanes]
    near += [g for g in lanes if burnt.distance(g) < _NEAR_SOURCE_M]
    near += [shapely.Point(s.xy) for s in page.dips if burnt.distance(shapely.Point(s.xy)) < _NEAR_SOURCE_M]
    if page.circuit_xy is not None and len(page.circuit_xy):
        way = shapely.MultiPoint(page.circuit_xy)
        near += [way.envelope] if burnt.hausdorff_distance(way) < _NEAR_SOURCE_M else []
    west, south, east, north = shapely.union_all([*boxes, *near]).bounds
    room = max(0.07 * max(east - west, north - south), 150.0)
    return west - room, south - room, east + room, north + room


def _picture(page: MapPage, view: d.View) -> tuple[bytes | None, list[Label]]:
    if page.ground is None:
        return None, []
    width, height = round(view.right * _PX_PER_PT), round(view.bottom * _PX_PER_PT)
    pixels, heights, step = ground_picture(
        page.ground, (view.west, view.south, view.east, view.north), width, height
    )
    return png_grey(pixels), _contour_labels(heights, step)


def _contour_labels(heights: NDArray[np.float64], step: float) -> list[Label]:
    """A few heights on strong contours, where they fit."""
    labels = []
    strong = 5 * step
    known = heights[np.isfinite(heights)]
    if known.size == 0:
        return []
    for level in np.arange(np.ceil(known.min() / strong) * strong, known.max(), strong):
        with np.errstate(invalid="ignore"):
            above = heights >= level
        crossed = (above[:, 1:] != above[:, :-1]) & np.isfinite(heights[:, 1:]) & np.isfinite(heights[:, :-1])
        rows, cols = np.nonzero(crossed)
        for share in (0.3, 0.7):
            if rows.size:
                i = int(share * (rows.size - 1))
                at = (float(cols[i]) / _PX_PER_PT, float(rows[i]) / _PX_PER_PT)
                labels.append(Label(lines=(f"{level:,.0f} m",), at=at, rank=9, centred=True, sides=()))
    return labels


def _map_items(
    pack: BriefPack, style: Style, view: d.View, contours: list[Label]
) -> tuple[list[Item], set[str]]:
    """The map's items, and the first words of every label that found room."""
    page = pack.map
    layers = Layers(labels=contours)
    if page.ground is not None:
        ground_layer(layers, page.ground, view, style)
    fire_layer(layers, page, view, style)
    water_layer(layers, page, view, style)
    runs_layer(layers, page, view, style)
    people_layer(layers, page, view, style)
    ticks, taken = tick_items(view, pack.projection, layers.taken)
    layers.taken += taken
    right, bottom = view.right, view.bottom
    frame = np.array([[0, 0], [right, 0], [right, bottom], [0, bottom]])
    ink = np.vstack(layers.ink) if layers.ink else None
    placed = place(layers.labels, Box(2, 2, view.right - 2, view.bottom - 2), layers.taken, ink)
    # An arrow toward a thing off the map says nothing without its words.
    named = {id(p.label) for p in placed}
    arrows = [item for label, item in layers.arrows if label.must or id(label) in named]
    items = [*layers.items, *arrows, *ticks, d.path([frame], width=1.5, closed=True), *label_items(placed)]
    return items, {p.label.lines[0] for p in placed}


def _run_words(page: MapPage, named: set[str]) -> list[tuple[str, bool]]:
    """Whose a disc is that no label names, and what must not be taken."""
    flown = [
        f"{run.order}: {run_name(run)}"
        for run in page.runs
        if not _stopped(run) and run_name(run) not in named
    ]
    stopped = [run.id for run in page.runs if _stopped(run)]
    words = [("\n".join(flown), False)] if flown else []
    return [*words, (f"Do not take {', '.join(stopped)}.", True)] if stopped else words


def _stopped(run: MapRun) -> bool:
    return run.held_back or run.level == "stop"


def _side_words(pack: BriefPack, style: Style, named: set[str]) -> list[tuple[str, bool]]:
    page = pack.map
    words = [*_run_words(page, named), (wind_words(page.wind or pack.wind, pack, style), False)]
    if page.fronts:
        words.append((f"Fronts: {page.fronts_assume}.", False))
    else:
        words.append(("Fronts: not known.", True))
    if page.ground is None:
        words.append(("Ground: not known.", True))
        return words
    ground = page.ground
    present = {
        "wires": ground.hazards.present,
        "people": ground.people.present,
        "water": ground.water.present,
        "areas to avoid": ground.avoid.present,
    }
    lacking = [name for name, there in present.items() if not there]
    if lacking:
        words.append((f"Not known: {', '.join(lacking)}.", True))
    if ground.hazards.present:
        surveyed = ground.hazards.surveyed
        dated = "survey date not known" if surveyed is None else f"surveyed {style.day(surveyed)}"
        words.append((f"Wires: {dated}; others may stand.", False))
    words.append(("Dotted ground: height or fuel not known. Toothed edge: open. WGS 84.", False))
    return words
