"""Contours of a field as polygons, at sub-cell resolution (marching squares)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

__all__ = ["regions_below"]

# Walking with the low ground on the left: for each of the 16 cases the edges (0 top, 1 right,
# 2 bottom, 3 left) where the contour enters and leaves. Bits: 1 top left, 2 top right,
# 4 bottom right, 8 bottom left corner is low. Cases 5 and 10 are saddles with the corners joined.
_SEGMENTS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    5: ((1, 0), (3, 2)),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((2, 0),),
    10: ((2, 1), (0, 3)),
    11: ((2, 1),),
    12: ((1, 3),),
    13: ((1, 0),),
    14: ((0, 3),),
}
_APART = {5: ((3, 0), (1, 2)), 10: ((0, 1), (2, 3))}


def _steps(z: NDArray[np.float64], level: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The lattice edges that the contour crosses: from which to which, as edge numbers."""
    rows, cols = z.shape
    low = z < level
    case = (
        low[:-1, :-1].astype(np.int64)
        + 2 * low[:-1, 1:].astype(np.int64)
        + 4 * low[1:, 1:].astype(np.int64)
        + 8 * low[1:, :-1].astype(np.int64)
    )
    middle_low = (z[:-1, :-1] + z[:-1, 1:] + z[1:, 1:] + z[1:, :-1]) / 4 < level
    tables = [(number, case == number, pairs) for number, pairs in _SEGMENTS.items() if number not in _APART]
    for number, apart in _APART.items():
        tables.append((number, (case == number) & middle_low, _SEGMENTS[number]))
        tables.append((number, (case == number) & ~middle_low, apart))
    across = rows * cols  # edges along rows are numbered first, then those along columns
    start, end = [], []
    for _, where, pairs in tables:
        r, c = np.nonzero(where)
        edge = (r * cols + c, across + r * cols + c + 1, (r + 1) * cols + c, across + r * cols + c)
        for first, second in pairs:
            start.append(edge[first])
            end.append(edge[second])
    return np.concatenate(start), np.concatenate(end)


def _rings(z: NDArray[np.float64], level: float) -> list[NDArray[np.float64]]:
    """Closed contours as (row, col) float64[n, 2], low ground on the left."""
    rows, cols = z.shape
    start, end = _steps(z, level)
    following = dict(zip(start.tolist(), end.tolist(), strict=True))
    rings = []
    while following:
        first, at = following.popitem()
        edges = [first]
        while at != first:
            edges.append(at)
            at = following.pop(at)
        number = np.array(edges)
        down = number >= rows * cols
        r, c = np.divmod(np.where(down, number - rows * cols, number), cols)
        one, other = z[r, c], z[r + down, c + ~down]
        part = np.clip((level - one) / (other - one), 1e-6, 1 - 1e-6)
        rings.append(np.column_stack([r + part * down, c + part * ~down]))
    return rings


def regions_below(
    z: NDArray[np.floating], level: float, *, west_m: float, north_m: float, step_m: float
) -> list[Polygon]:
    """Polygons [m] where a lattice of values lies below a level, with their holes, largest first.

    `west_m`, `north_m`: the place of `z[0, 0]`. What touches the frame is closed along it.
    """
    top = float(max(np.max(z), level)) + 1.0
    rings = _rings(np.pad(np.asarray(z, float), 1, constant_values=top), level)
    shapes = [
        shapely.Polygon(
            np.column_stack([west_m + (ring[:, 1] - 1) * step_m, north_m - (ring[:, 0] - 1) * step_m])
        )
        for ring in rings
        if len(ring) >= 3
    ]
    outer = sorted((s for s in shapes if s.exterior.is_ccw), key=lambda s: -s.area)
    holes: list[list[NDArray[np.float64]]] = [[] for _ in outer]
    for hole in (s for s in shapes if not s.exterior.is_ccw):
        inside = [i for i, shape in enumerate(outer) if shape.area > hole.area and shape.covers(hole)]
        if inside:
            holes[inside[-1]].append(shapely.get_coordinates(hole.exterior))
    polygons = [shapely.Polygon(shape.exterior, rings) for shape, rings in zip(outer, holes, strict=True)]
    return sorted((p for p in polygons if p.is_valid), key=lambda p: -p.area)
