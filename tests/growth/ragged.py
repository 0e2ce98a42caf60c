"""Ragged perimeters with a known truth: fractal noise over ellipses, with planted fingers and islands."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from wetline.behaviour import FireFields
from wetline.grid import Grid, Projection

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

ROWS = COLS = 300
CELL_M = 20.0
GRID = Grid(Projection("EPSG:32625"), 0.0, ROWS * CELL_M, CELL_M, ROWS, COLS)
MIDDLE = (COLS * CELL_M / 2, ROWS * CELL_M / 2)
RATE_MPS, INTENSITY = 0.2, 2500.0


def even_fields(
    toward_deg: float | NDArray[np.float64],
    length_to_width: float,
    rate: float | NDArray[np.float64] = RATE_MPS,
    unknown: NDArray[np.bool_] | None = None,
) -> FireFields:
    """One hour of fields of one value, or of arrays [r, c]."""

    def full(value: float | NDArray[np.float64]) -> NDArray[np.float32]:
        return np.broadcast_to(np.asarray(value, np.float32), (1, ROWS, COLS)).copy()

    return FireFields(
        grid=GRID,
        start=datetime(2031, 8, 4, 12, tzinfo=UTC),
        edges_s=np.array([0.0, 3600.0]),
        head_rate_mps=full(rate),
        head_toward_deg=full(toward_deg),
        eccentricity=full(math.sqrt(1.0 - 1.0 / length_to_width**2)),
        head_intensity_kw_per_m=full(np.asarray(rate) / RATE_MPS * INTENSITY),
        burnable=full(rate)[0] > 0,
        unknown=unknown,
        unknown_cells=0 if unknown is None else int(unknown.sum()),
    )


def ellipse(length_to_width: float, toward_deg: float, half_length_m: float = 900.0, n: int = 720) -> Polygon:
    """The free-burning ellipse of a length-to-width ratio, its long axis along a bearing."""
    t = np.linspace(0.0, 2.0 * math.pi, n, endpoint=False)
    ahead, right = half_length_m * np.cos(t), half_length_m / length_to_width * np.sin(t)
    a = math.radians(toward_deg)
    x = MIDDLE[0] + ahead * math.sin(a) + right * math.cos(a)
    y = MIDDLE[1] + ahead * math.cos(a) - right * math.sin(a)
    return Polygon(np.column_stack([x, y]))


def ragged(polygon: Polygon, amplitude_m: float, seed: int, step_m: float = 8.0) -> Polygon:
    """A perimeter with noise of every wave length from 40 m up, falling as a fractal's does."""
    ring = shapely.segmentize(polygon.exterior, step_m)
    xy = np.asarray(ring.coords)[:-1]
    n = len(xy)
    rng = np.random.default_rng(seed)
    wave = np.zeros(n)
    angle = np.arange(n) / n * 2.0 * math.pi
    for k in range(3, max(4, int(polygon.exterior.length / 40.0))):
        wave += rng.normal() / k * np.cos(k * angle + rng.uniform(0, 2 * math.pi))
    middle = xy.mean(axis=0)
    out = xy - middle
    radius = np.hypot(*out.T)
    moved = middle + out * (1.0 + amplitude_m * wave / wave.std() / radius)[:, None]
    return largest(Polygon(moved).buffer(0.0))


def largest(shape: BaseGeometry) -> Polygon:
    """The largest part, without its holes."""
    parts = shapely.get_parts(shape)
    return Polygon(parts[int(np.argmax(shapely.area(parts)))].exterior)


@dataclass(frozen=True, slots=True)
class Planted:
    """A made-up fire and what was planted in it: the tips of its fingers, the middles of its islands."""

    burnt: Polygon
    toward_deg: float
    tips: tuple[tuple[float, float], ...]
    islands: tuple[tuple[float, float], ...]


def _finger(
    root: NDArray[np.float64], bearing_deg: float, rng: np.random.Generator
) -> tuple[Polygon, tuple[float, float]]:
    """A tongue 50 to 90 m wide and 250 to 400 m long that leaves along a bearing and may bend by 50°."""
    length, bend = rng.uniform(250.0, 400.0), rng.uniform(-50.0, 50.0)
    s = np.linspace(-150.0, length, 40)
    turn = np.radians(bearing_deg + bend * np.clip(s, 0.0, None) / length)
    step = (s[1] - s[0]) * np.column_stack([np.sin(turn), np.cos(turn)])
    line = np.cumsum(step, axis=0)
    line += root - line[int(np.argmin(np.abs(s)))]
    widths = 0.5 * rng.uniform(50.0, 90.0) * (1.0 + 0.15 * rng.normal(size=len(s)).clip(-1.5, 1.5))
    shape = shapely.union_all([Point(p).buffer(w) for p, w in zip(line, widths, strict=True)])
    tip = line[-1] + widths[-1] * np.array([math.sin(turn[-1]), math.cos(turn[-1])])
    return largest(shape), (float(tip[0]), float(tip[1]))


def planted_fire(seed: int, *, fingers: int, lattice_m: float = 0.0, amplitude_m: float = 14.0) -> Planted:
    """A fire of about 127 ha, L/W 2, toward any direction, with fingers on its flanks and two islands.

    `lattice_m`: the perimeter follows the cells of a raster of that size, as one from a satellite does.
    """
    rng = np.random.default_rng([seed, fingers])
    toward = float(rng.uniform(0.0, 360.0))
    body = ragged(ellipse(2.0, toward), amplitude_m, seed)
    angles = np.array([72.0, 108.0, 252.0, 288.0])[rng.permutation(4)[:fingers]]
    shapes, tips = [body], []
    for angle in angles + rng.uniform(-5.0, 5.0, fingers):
        t = math.radians(angle)
        ahead, right = 880.0 * math.cos(t), 440.0 * math.sin(t)
        a = math.radians(toward)
        east = ahead * math.sin(a) + right * math.cos(a)
        north = ahead * math.cos(a) - right * math.sin(a)
        root = np.array([MIDDLE[0] + east, MIDDLE[1] + north])
        out = toward + (90.0 if angle < 180.0 else 270.0)
        shape, tip = _finger(root, out + float(rng.uniform(-20.0, 20.0)), rng)
        shapes.append(shape)
        tips.append(tip)
    whole = largest(shapely.union_all(shapes))
    a = math.radians(toward)
    holes = [(MIDDLE[0] + d * math.sin(a), MIDDLE[1] + d * math.cos(a)) for d in (-350.0, 350.0)]
    cut = shapely.difference(whole, shapely.union_all([Point(h).buffer(70.0) for h in holes]))
    if lattice_m:
        cut = on_lattice(cut, lattice_m)
    solid = list(shapely.get_parts(cut))
    return Planted(max(solid, key=lambda p: p.area), toward, tuple(tips), tuple(holes))


def on_lattice(shape: BaseGeometry, cell_m: float) -> BaseGeometry:
    """The cells whose middles lie in a shape, joined."""
    west, south, east, north = shape.bounds
    x = np.arange(math.floor(west / cell_m), math.ceil(east / cell_m)) * cell_m + cell_m / 2
    y = np.arange(math.floor(south / cell_m), math.ceil(north / cell_m)) * cell_m + cell_m / 2
    shapely.prepare(shape)
    rows = []
    for middle in y:
        inside = np.concatenate([[False], shapely.contains_xy(shape, x, np.full(len(x), middle)), [False]])
        edges = np.flatnonzero(np.diff(inside.astype(int)))
        rows += [
            shapely.box(x[a] - cell_m / 2, middle - cell_m / 2, x[b - 1] + cell_m / 2, middle + cell_m / 2)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        ]
    return shapely.union_all(rows)
