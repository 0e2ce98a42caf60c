"""The circuit as a sketch, north up: water, fire, run, wires, and the one way round."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.briefing import drawing as d
from wetline.briefing.draw_run import wire_items
from wetline.briefing.labels import Box, Label, label_items, place

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item
    from wetline.briefing.format import Style
    from wetline.briefing.pack import CircuitView

__all__ = ["CIRCUIT_BOX", "draw_circuit"]

CIRCUIT_BOX = (264.0, 110.0)
_MARGIN_PT = 14.0
_CHEVRON_PT = 66.0
_BESIDE = (0.5, 0.75, 0.25)
"""Where the words on the whole circuit may stand between bottom and top, if there is no room at either."""


def _view(circuit: CircuitView) -> d.View | None:
    """A window true to scale that holds the path, its stops and the fire."""
    points = [np.asarray(circuit.path_xy, float)] if circuit.path_xy is not None else []
    points += [np.array([at]) for _, at in circuit.stops]
    if not points:
        return None
    points += [np.reshape(circuit.fire.bounds, (2, 2))] if circuit.fire is not None else []
    every = np.vstack(points)
    low, high = every.min(axis=0), every.max(axis=0)
    middle, size = (low + high) / 2, np.maximum(high - low, 300.0)
    room_x, room_y = CIRCUIT_BOX[0] - 2 * _MARGIN_PT, CIRCUIT_BOX[1] - 2 * _MARGIN_PT
    pt_per_m = min(room_x / size[0], room_y / size[1])
    half_x, half_y = CIRCUIT_BOX[0] / 2 / pt_per_m, CIRCUIT_BOX[1] / 2 / pt_per_m
    return d.View(
        middle[0] - half_x, middle[1] - half_y, middle[0] + half_x, middle[1] + half_y, 0, 0, *CIRCUIT_BOX
    )


def draw_circuit(circuit: CircuitView, style: Style) -> d.Drawing:
    """The sketch; without a path, what is known and the word."""
    view = _view(circuit)
    if view is None:
        words = [Label(lines=("circuit not known",), at=(132.0, 20.0), bold=True, centred=True)]
        return d.Drawing(
            CIRCUIT_BOX[0], 40.0, tuple(label_items(place(words, Box(0, 0, CIRCUIT_BOX[0], 40.0))))
        )
    items: list[Item] = []
    for water in circuit.water:
        items += d.area(view, water, "water", width=0.6)
    items += d.area(view, circuit.fire, "burnt", width=1.5)
    for wire in circuit.wires:
        items += wire_items(wire, view)
    flown = view.lines(circuit.path_xy)
    items.append(d.path(flown, width=1.2))
    for line in flown:
        items += _chevrons(line)
    items += _north()
    wires = [p for wire in circuit.wires if len(wire.line) > 1 for p in view.lines(wire.line)]
    ink = np.vstack([d.resampled(p, 3.0) for p in (*flown, *wires)] or [np.empty((0, 2))])
    bounds = Box(0, 0, *CIRCUIT_BOX)
    items += label_items(place(_words(circuit, view, style), bounds, [Box(248, 0, 264, 28)], ink))
    if circuit.path_xy is None:
        items.append(d.text(132.0, CIRCUIT_BOX[1] - 4, "way round not known", anchor="middle", bold=True))
    return d.Drawing(*CIRCUIT_BOX, tuple(items))


def _chevrons(line: NDArray[np.float64]) -> list[Item]:
    at = d.resampled(line, _CHEVRON_PT)
    ahead = d.resampled(line, 2.0)
    items = []
    for point in at:
        i = int(np.argmin(np.hypot(*(ahead - point).T)))
        i = min(max(i, 1), len(ahead) - 1) if len(ahead) > 1 else 0
        step = ahead[i] - ahead[i - 1] if i else np.array([1.0, 0.0])
        items.append(d.arrow(float(point[0]), float(point[1]), (float(step[0]), float(step[1]))))
    return items


def _north() -> list[Item]:
    """A small arrow to grid north: close enough to true for a sketch."""
    return [
        d.line(256, 26, 256, 13, 1.0),
        d.arrow(256.0, 15.0, (0.0, -1.0)),
        d.text(256, 9, "N", anchor="middle", bold=True),
    ]


def _words(circuit: CircuitView, view: d.View, style: Style) -> list[Label]:
    words = [
        Label(lines=(name,), at=view.one(*at), bold=True, rank=1, gap=5.0)
        for name, at in circuit.stops
        if view.holds(*at)
    ]
    words += [
        Label(lines=(str(i),), at=view.one(*at), bold=True, rank=2, gap=5.0)
        for i, at in enumerate(circuit.turns, 1)
        if view.holds(*at)
    ]
    if circuit.fire is not None:
        spot = view.window.intersection(shapely.make_valid(circuit.fire))
        if not spot.is_empty:
            at = view.one(*shapely.get_coordinates(spot.representative_point())[0])
            words.append(Label(lines=("fire",), at=at, rank=3, centred=True))
    for wire in circuit.wires:
        cut = [d.resampled(p, 4.0) for p in view.lines(wire.line)] if len(wire.line) > 1 else []
        if cut:
            x, y = cut[0][len(cut[0]) // 2]
            words.append(Label(lines=(wire.label,), at=(float(x), float(y)), rank=0, must=True, gap=6.0))
        elif len(wire.line) == 1 and view.holds(*wire.line[0]):
            words.append(Label(lines=(wire.label,), at=view.one(*wire.line[0]), rank=0, must=True, gap=6.0))
    if circuit.path_xy is not None:
        hand = f"sketch: {circuit.hand} hand, one way" if circuit.hand else "turn hand not known"
        height = (
            "height not known"
            if circuit.height_amsl_m is None
            else f"{style.height(circuit.height_amsl_m, 'up')} AMSL"
        )
        about = Label(lines=(hand, height), at=(0.0, 0.0), rank=4)
        width, tall = about.size()
        xs = (width / 2, CIRCUIT_BOX[0] - width / 2, CIRCUIT_BOX[0] / 2)
        low, high = tall / 2, CIRCUIT_BOX[1] - tall / 2
        ys = (high, low, *(low + share * (high - low) for share in _BESIDE))
        spots = [(x, y) for y in ys for x in xs]
        words.append(replace(about, at=spots[0], also=tuple(spots[1:]), centred=True, sides=()))
    return words
