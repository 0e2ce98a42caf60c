"""What a map gathers before it is laid out, and where words of a thing may stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.briefing import drawing as d
from wetline.briefing.labels import Box, Label

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.briefing.drawing import Item

__all__ = ["Layers", "cut_lines", "inside", "off_map", "on_line"]

_SPOT_PT = 7.0


@dataclass(slots=True)
class Layers:
    """What a drawing gathers: items in drawing order, labels to place, boxes and ink to spare.

    `arrows`: toward things off the map, each with the label that it stands or falls with.
    """

    items: list[Item] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    ink: list[NDArray[np.float64]] = field(default_factory=list)
    arrows: list[tuple[Label, Item]] = field(default_factory=list)

    def stroke(self, lines: list[NDArray[np.float64]], width: float, dash: tuple[float, ...] = ()) -> None:
        """Lines with a white halo, and as ink that words had better not cover."""
        if not lines:
            return
        self.items += [d.path(lines, width=width + 2.2, white=True), d.path(lines, width=width, dash=dash)]
        self.ink += [d.resampled(p, 3.0) for p in lines]

    def spare(self, x: float, y: float, half: float = _SPOT_PT) -> None:
        """Keep words off a symbol."""
        self.taken.append(Box(x - half, y - half, x + half, y + half))


def off_map(
    layers: Layers,
    view: d.View,
    xy: tuple[float, float],
    words: tuple[str, ...],
    *,
    must: bool = False,
    sign: str | None = None,
) -> None:
    """An arrow at the frame toward a thing outside the window, with its distance from the middle."""
    middle = np.array([(view.west + view.east) / 2, (view.south + view.north) / 2])
    step = np.array(xy, float) - middle
    half = np.array([view.east - view.west, view.north - view.south]) / 2
    share = float(np.max(np.abs(step) / half))
    edge = middle + step / share
    x, y = view.one(float(edge[0]), float(edge[1]))
    x, y = min(max(x, view.left + 8), view.right - 8), min(max(y, view.top + 8), view.bottom - 8)
    toward = (float(step[0]), float(-step[1]))
    layers.spare(x, y)
    km = f"{float(np.hypot(*step)) / 1000:,.0f} km"
    label = Label(lines=(f"{words[0]}, {km}", *words[1:]), at=(x, y), rank=4, must=must, sign=sign, gap=8.0)
    layers.labels.append(label)
    layers.arrows.append((label, d.arrow(x, y, toward)))


def inside(view: d.View, shape: shapely.Geometry) -> tuple[float, float] | None:
    """A point well inside what the window shows of an area."""
    cut = shapely.intersection(shapely.make_valid(shape), view.window)
    if cut.is_empty or cut.area == 0:
        return None
    biggest = max(shapely.get_parts(cut), key=shapely.area)
    x, y = shapely.get_coordinates(shapely.maximum_inscribed_circle(biggest))[0]
    return view.one(float(x), float(y))


def cut_lines(view: d.View, shape: shapely.Geometry) -> list[NDArray[np.float64]]:
    """Every line of a shape cut to the window [pt]."""
    return [p for part in shapely.get_parts(shape) for p in view.lines(shapely.get_coordinates(part))]


def on_line(view: d.View, line: NDArray[np.float64]) -> tuple[float, float] | None:
    """The middle of the longest visible piece of a line, or a visible point."""
    if len(line) == 1:
        return view.one(*line[0]) if view.holds(*line[0]) else None
    pieces = view.lines(line)
    if not pieces:
        return None
    longest = max(pieces, key=lambda p: float(np.hypot(*np.diff(p, axis=0).T).sum()))
    points = d.resampled(longest, 4.0)
    x, y = points[len(points) // 2]
    return float(x), float(y)
