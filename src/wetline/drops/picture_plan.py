"""The pattern from above: contours by coverage, the run, where the doors open, drift and wind."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.ink import INK, INK_2, arrow, line, path, round_step, text
from wetline.drops.result import EDGE_L_PER_M2
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.result import DropResult

__all__ = ["contours", "plan"]

Box = tuple[float, float, float, float]
_MARGIN_M = 12.0
_AROUND_PX = 26.0
_SIGN_PX = 42.0
_LEAST_M = 0.5
_LEAST_PX = 45.0


@dataclass(frozen=True, slots=True)
class _Scale:
    """Metres along and right of the run to points of the page; right of the run is down."""

    left: float
    top: float
    along_m: float
    right_m: float
    per_m: float

    def at(self, along_m: float, right_m: float) -> tuple[float, float]:
        return self.left + (along_m - self.along_m) * self.per_m, self.top + (
            right_m - self.right_m
        ) * self.per_m


def contours(result: DropResult, level_l_per_m2: float) -> list[NDArray[np.float64]]:
    """Closed lines at a coverage: float64[point, (along, right)] each, longest first."""
    import contourpy  # noqa: PLC0415  needed for a picture alone

    raster = result.raster
    along, right = (
        np.pad(a, 1, mode="reflect", reflect_type="odd") for a in (raster.along_m, raster.right_m)
    )
    padded = np.pad(raster.coverage_l_per_m2, 1)  # nothing beyond, so that every line closes
    made = contourpy.contour_generator(right, along, padded).lines(level_l_per_m2)
    return sorted((np.asarray(ring)[:, ::-1] for ring in made), key=len, reverse=True)


def plan(result: DropResult, box: Box, ink: str) -> list[str]:
    """Everything of the plan inside `box`."""
    left, top, wide, high = box
    edge = contours(result, EDGE_L_PER_M2)
    target = -result.release_offset_m["along"], -result.release_offset_m["right"]
    seen = np.vstack([*edge, [[0.0, 0.0]], [target]])
    low, most = seen.min(axis=0) - _MARGIN_M, seen.max(axis=0) + _MARGIN_M
    per_m = min((wide - 2 * _AROUND_PX) / (most[0] - low[0]), (high - 2 * _AROUND_PX) / (most[1] - low[1]))
    scale = _Scale(
        left + 0.5 * (wide - per_m * (most[0] - low[0])),
        top + 0.5 * (high - per_m * (most[1] - low[1])),
        float(low[0]),
        float(low[1]),
        per_m,
    )
    told = "contours are coverage levels" if edge else "too thin for any coverage level"
    if edge and "table" in result.line_from.values():
        told += " by physics, not by your drop tests"
    return [
        text(left, top - 12, f"From above, flown left to right; {told}", strong=True),
        *_contours(result, edge, scale, ink),
        *_run(scale, target, (left, left + wide)),
        *_drift(result, scale, target),
        *_compass(result, left + wide - _SIGN_PX, top + 4),
        *_ruler(scale, left + wide, top + high + 8),
    ]


def _contours(result: DropResult, edge: list[NDArray[np.float64]], scale: _Scale, ink: str) -> list[str]:
    """Rings that darken inward, each numbered at its far end; 0.5 lies on the edge of 0.2 L/m²."""
    out: list[str] = []
    names: list[str] = []
    for name in result.fall.levels:
        rings = edge if name == "0.5" else contours(result, float(name) * COVERAGE_LEVEL)
        for ring in rings:
            points = [scale.at(along, right) for along, right in ring]
            out.append(path(points, close=True, fill=ink, fill_opacity=0.15, stroke=ink, stroke_width=1.25))
        if rings:
            along, right = rings[0][rings[0][:, 0].argmax()]
            x, y = scale.at(float(along), float(right))
            # the lowest stands outside, for the two lowest lie close
            place, anchor = (x + 5, "start") if name == "0.5" else (x - 3, "end")
            names.append(text(place, y + 5, name, anchor=anchor, strong=True, colour=ink, halo=True))
    return out + names


def _run(scale: _Scale, target: tuple[float, float], ends: tuple[float, float]) -> list[str]:
    """The track of the aircraft, the doors as a bar across it, the target as a cross."""
    x, y = scale.at(0.0, 0.0)
    tx, ty = scale.at(*target)
    return [
        line(ends[0], y, x, y, colour=INK, wide=2),
        line(x, y, ends[1] - 14, y, colour=INK, wide=1.5, dash="8 6"),
        arrow(ends[1] - 16, y, 16, 0),
        line(x, y - 14, x, y + 14, colour=INK, wide=4),
        *(
            line(tx - dx, ty - dy, tx + dx, ty + dy, colour=colour, wide=wide)
            for colour, wide in (("#FFFFFF", 5.0), (INK, 2.5))
            for dx, dy in ((9.0, 0.0), (0.0, 9.0))
        ),
        text(tx, ty - 15 if ty < y - 1.0 else ty + 26, "target", anchor="middle", strong=True, halo=True),
    ]


def _drift(result: DropResult, scale: _Scale, target: tuple[float, float]) -> list[str]:
    """How far short of the target and upwind; and the drift from the track, where there is room for it."""
    x, y = scale.at(0.0, 0.0)
    tx, ty = scale.at(*target)
    out: list[str] = []
    if abs(ty - y) > _LEAST_PX:
        out.append(arrow(tx, y, 0, ty - y - math.copysign(9.0, ty - y), colour=INK_2, wide=2))
        side = "right" if target[1] > 0 else "left"
        words = f"drift {abs(target[1]):.0f} m {side}"
        out.append(text(tx + 8, 0.5 * (y + ty) + 5, words, colour=INK, halo=True))
    low, high = result.fall.release_along_m.low, result.fall.release_along_m.high
    band = "" if low is None or high is None else f" ({min(-low, -high):.0f}–{max(-low, -high):.0f})"
    where = f"{abs(target[0]):.0f} m{band} {'short of' if target[0] >= 0.0 else 'past'} the target"
    if abs(target[1]) >= _LEAST_M:
        where += f", {abs(target[1]):.0f} m to its {'left' if target[1] > 0.0 else 'right'}"
    first = y - 40 if ty > y - 1.0 else y + 32  # on the side where the pattern does not lie
    return [
        *out,
        text(x - 2, first, "doors open", strong=True, halo=True),
        text(x - 2, first + 18, where, halo=True),
    ]


def _compass(result: DropResult, x: float, y: float) -> list[str]:
    """Wind and north as arrows in the frame of the run; nothing without a heading."""
    heading, wind = result.inputs["heading_deg"].value, result.inputs["wind_mps"].value
    out: list[str] = []
    if isinstance(heading, float | int):
        out += _pointer(x, y, -float(heading), "N")
        origin = result.inputs["wind_from_deg"].value
        if wind and isinstance(origin, float | int):
            out += _pointer(x - 90, y, float(origin) + 180.0 - float(heading), f"wind {float(wind):.0f} m/s")
    if wind is None:
        out.append(text(x + 30, y + 40, "wind not given", anchor="end", strong=True))
    return out


def _pointer(x: float, y: float, toward_deg: float, words: str) -> list[str]:
    """An arrow toward an angle right of the run, with its name above it."""
    dx, dy = 20.0 * math.cos(math.radians(toward_deg)), 20.0 * math.sin(math.radians(toward_deg))
    return [text(x, y, words, anchor="middle"), arrow(x - dx, y + 28 - dy, 2 * dx, 2 * dy, colour=INK)]


def _ruler(scale: _Scale, right: float, y: float) -> list[str]:
    step = round_step(900.0 / scale.per_m)
    left = right - step * scale.per_m
    return [
        line(left, y, right, y, colour=INK, wide=2),
        line(left, y - 5, left, y + 5, colour=INK, wide=2),
        line(right, y - 5, right, y + 5, colour=INK, wide=2),
        text(left - 8, y + 5, f"{step:g} m", anchor="end"),
    ]
