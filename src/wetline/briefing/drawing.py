"""Drawings as lists of paths and words in points [pt], origin top left, y down: what the page draws.

An item is a plain mapping that goes to the page template as JSON.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from wetline.briefing.metrics import TEXT_PT

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    Item = dict[str, object]

__all__ = [
    "ARROW",
    "Drawing",
    "View",
    "area",
    "arrow",
    "axis_step",
    "glyph",
    "line",
    "path",
    "person",
    "pieces",
    "resampled",
    "teeth",
    "text",
]

Fill = Literal["black", "white", "land", "water", "burnt", "avoid", "caution", "unknown", "night"]
Anchor = Literal["start", "middle", "end"]
ARROW = np.array([[-4.6, -4.2], [5.2, 0.0], [-4.6, 4.2], [-2.0, 0.0]])
"""A filled arrow head [pt] that points along +x; notched, so that no corner but the tip reads as one."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing of a size in points."""

    width: float
    height: float
    items: tuple[Item, ...]

    def as_json(self) -> dict[str, object]:
        """Plain data for the page template."""
        return {"w": self.width, "h": self.height, "items": list(self.items)}


@dataclass(frozen=True, slots=True)
class View:
    """A window of the world [m] shown in a box of the drawing [pt]; y of the world is up."""

    west: float
    south: float
    east: float
    north: float
    left: float
    top: float
    right: float
    bottom: float

    @property
    def scale(self) -> tuple[float, float]:
        """Points per metre, along x and y."""
        return (self.right - self.left) / (self.east - self.west), (self.bottom - self.top) / (
            self.north - self.south
        )

    def pt(self, xy: ArrayLike) -> NDArray[np.float64]:
        """World points float64[n, 2] in the drawing."""
        points = np.atleast_2d(np.asarray(xy, float))
        sx, sy = self.scale
        return np.column_stack(
            (self.left + (points[:, 0] - self.west) * sx, self.bottom - (points[:, 1] - self.south) * sy)
        )

    def one(self, x: float, y: float) -> tuple[float, float]:
        """One world point in the drawing."""
        p = self.pt([[x, y]])[0]
        return float(p[0]), float(p[1])

    def holds(self, x: float, y: float) -> bool:
        """Whether a world point lies in the window."""
        return self.west <= x <= self.east and self.south <= y <= self.north

    def lines(self, xy: ArrayLike | None) -> list[NDArray[np.float64]]:
        """A world line cut to the window and at its unknown (NaN) points, in the drawing."""
        return [] if xy is None else [self.pt(p) for p in pieces(xy, self.window)]

    @property
    def window(self) -> Polygon:
        """The window as a polygon [m]."""
        return shapely.box(self.west, self.south, self.east, self.north)

    def rings(self, shape: Polygon | MultiPolygon | None) -> list[NDArray[np.float64]]:
        """The rings of an area cut to the window, in the drawing, holes included."""
        if shape is None or shape.is_empty:
            return []
        cut = shapely.intersection(shapely.make_valid(shape), self.window)
        rings = []
        for part in _polygons(cut):
            rings.append(self.pt(shapely.get_coordinates(part.exterior)))
            rings.extend(self.pt(shapely.get_coordinates(hole)) for hole in part.interiors)
        return rings

    def shores(self, shape: Polygon | MultiPolygon | None) -> list[NDArray[np.float64]]:
        """The outline of an area where it lies in the window: no line along the cut."""
        if shape is None or shape.is_empty:
            return []
        cut = shapely.intersection(shapely.make_valid(shape).boundary, self.window)
        return [self.pt(shapely.get_coordinates(part)) for part in _linestrings(cut)]


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    """The areas of a shape cut to a window; where nothing of it lies in the window, none."""
    found: list[Polygon] = []
    for part in shapely.get_parts(shape):
        each = part.geoms if part.geom_type == "MultiPolygon" else (part,)
        found.extend(p for p in each if p.geom_type == "Polygon" and not p.is_empty)
    return found


def _linestrings(shape: BaseGeometry) -> list[BaseGeometry]:
    merged = shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    found: list[BaseGeometry] = []
    for part in shapely.get_parts(merged):
        if part.is_empty:
            continue
        if part.geom_type in {"LineString", "LinearRing"}:
            found.append(part)
        elif part.geom_type == "MultiLineString":
            found.extend(part.geoms)
    return found


def pieces(xy: ArrayLike, window: Polygon) -> list[NDArray[np.float64]]:
    """A line cut at unknown points and to a window, in world metres, direction kept."""
    points = np.atleast_2d(np.asarray(xy, float))
    known = np.isfinite(points).all(axis=1)
    breaks = np.flatnonzero(np.diff(np.concatenate(([0], known.astype(np.int8), [0]))))
    parts: list[NDArray[np.float64]] = []
    for first, last in zip(breaks[::2], breaks[1::2], strict=True):
        if last - first < 2:
            continue
        cut = window.intersection(shapely.LineString(points[first:last]))
        parts.extend(shapely.get_coordinates(part) for part in _linestrings(cut))
    return parts


def resampled(xy: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    """Points every `step` along a line, first point half a step in; at least one."""
    length = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))))
    if length[-1] == 0.0:
        return xy[:1]
    at = np.arange(step / 2, length[-1], step)
    if at.size == 0:
        at = np.array([length[-1] / 2])
    return np.column_stack((np.interp(at, length, xy[:, 0]), np.interp(at, length, xy[:, 1])))


def path(
    lines: Iterable[ArrayLike],
    *,
    width: float = 0.0,
    fill: Fill | None = None,
    closed: bool = False,
    dash: Sequence[float] = (),
    white: bool = False,
) -> Item:
    """Lines [pt] drawn as one item: stroked `width` [pt] wide (0 = not), filled even-odd."""
    return {
        "k": "path",
        "d": [np.round(np.asarray(p, float), 2).tolist() for p in lines],
        "w": width,
        "fill": fill,
        "closed": closed or fill is not None,
        "dash": list(dash),
        "ink": "white" if white else "black",
    }


def line(x0: float, y0: float, x1: float, y1: float, width: float = 0.9, dash: Sequence[float] = ()) -> Item:
    """One straight stroke [pt]."""
    return path([[[x0, y0], [x1, y1]]], width=width, dash=dash)


def area(view: View, shape: Polygon | MultiPolygon | None, fill: Fill, width: float = 0.9) -> list[Item]:
    """An area of the world, filled, its outline stroked where it is one."""
    rings = view.rings(shape)
    if not rings:
        return []
    outline = [path(view.shores(shape), width=width)] if width else []
    return [path(rings, fill=fill), *outline]


def arrow(
    x: float, y: float, toward: NDArray[np.float64] | tuple[float, float], *, hollow: bool = False
) -> Item:
    """An arrow head at a point [pt], toward a direction (dx, dy) of the page, y down."""
    angle = float(np.arctan2(toward[1], toward[0]))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    head = ARROW @ turn.T + np.array((x, y))
    return path([head], width=0.9 if hollow else 0.0, fill="white" if hollow else "black")


def teeth(xy: NDArray[np.float64], step: float = 4.5, size: float = 3.5) -> list[NDArray[np.float64]]:
    """Ticks [pt] to the right of a line on the page (y down), where its left is burnt in the world.

    The world is y up and the page y down, so that right of the line in the world is right on the page.
    """
    along_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))))
    keep = np.concatenate(([True], np.diff(along_m) > 0))
    xy, along_m = xy[keep], along_m[keep]
    if len(xy) < 2:
        return []
    at = np.arange(step / 2, along_m[-1], step)
    points = np.column_stack((np.interp(at, along_m, xy[:, 0]), np.interp(at, along_m, xy[:, 1])))
    piece = np.clip(np.searchsorted(along_m, at, side="right") - 1, 0, len(xy) - 2)
    step_xy = np.diff(xy, axis=0)[piece]
    unit = step_xy / np.hypot(*step_xy.T)[:, None]
    right = np.column_stack((-unit[:, 1], unit[:, 0]))
    return [np.array([p, p + size * r]) for p, r in zip(points, right, strict=True)]


def person(x: float, y: float) -> list[Item]:
    """Head and shoulders, 9 pt high, centred on a point [pt]."""
    turn = np.linspace(0, 2 * np.pi, 17)
    head = np.column_stack((2.6 * np.cos(turn), 2.6 * np.sin(turn))) + np.array((x, y - 2.6))
    half = np.linspace(np.pi, 2 * np.pi, 13)
    body = np.column_stack((4.2 * np.cos(half), 5.2 * np.sin(half))) + np.array((x, y + 6.0))
    return [
        path([head, body], width=2.0, closed=True, white=True),
        path([head], fill="black"),
        path([body], fill="black"),
    ]


def glyph(name: str, x: float, y: float, size: float = 12.0) -> Item:
    """A finding's sign, its top left corner at a point [pt]."""
    return {"k": "glyph", "n": name, "x": round(x, 2), "y": round(y, 2), "s": size}


def text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: Anchor = "start",
    bold: bool = False,
    italic: bool = False,
    size: float = TEXT_PT,
    halo: bool = True,
    white: bool = False,
) -> Item:
    """Words with their baseline at y [pt], on a white ground unless told not to."""
    return {
        "k": "text",
        "x": round(x, 2),
        "y": round(y, 2),
        "t": words,
        "a": anchor,
        "b": bold,
        "i": italic,
        "s": size,
        "halo": halo,
        "white": white,
    }


def axis_step(span: float, room: float) -> float:
    """A tick step of 1, 2 or 5 × 10ⁿ that gives at most `room` ticks over `span`."""
    raw = span / max(room, 1.0)
    power = 10.0 ** np.floor(np.log10(raw))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9)))
