"""Waters that touch or overlap are one water: a lake mapped in tiles, a river mapped in reaches."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    Area = Polygon | MultiPolygon

__all__ = ["joined", "name_along", "united"]

LONLAT_GAP = 1e-9
"""Waters in degrees that lie no further apart than this, 0.1 mm on the ground, touch."""
_PREPARE = 64  # points from which on it pays to index an outline before it is compared


def joined(waters: Sequence[Area], *, gap: float = 0.0, around: float | None = None) -> list[tuple[int, ...]]:
    """Which waters make one: groups of indices, each rising, in the order of their first.

    Waters belong together that are at most `gap` apart, in the unit of their coordinates, or that a
    row of such waters links. Valid polygons in one frame. `around`: after how much x begins anew
    (360 for longitudes), so that what ends at one edge of the world meets what begins at the other.
    """
    if not waters:
        return []
    shapes = np.asarray(waters, dtype=object)
    first, second = _neighbours(shapes, gap)
    if around is not None:
        more = _across_the_edge(shapes, gap, around)
        first, second = np.concatenate([first, more[0]]), np.concatenate([second, more[1]])
    parent = np.arange(len(shapes))
    for i, j in zip(first.tolist(), second.tolist(), strict=True):
        one, two = _root(parent, i), _root(parent, j)
        parent[max(one, two)] = min(one, two)
    groups: dict[int, list[int]] = {}
    for i in range(len(shapes)):
        groups.setdefault(_root(parent, i), []).append(i)
    return [tuple(group) for group in groups.values()]


def united(waters: Sequence[Area], *, gap: float = 0.0) -> Area:
    """One outline of waters that belong together; a cut between them is no shore.

    With a `gap` the points are laid on a mesh of it, so that a cut drawn twice, not quite alike, closes.
    """
    if len(waters) == 1:
        return waters[0]
    return cast("Area", shapely.union_all(list(waters), grid_size=gap or None))


def name_along(line: BaseGeometry, names: Sequence[str | int], tree: shapely.STRtree) -> str | int:
    """The name of the water that a lane lies in, or the names of all that it crosses: `A + B`.

    `tree` holds the waters, in the order of their names.
    """
    if len(names) == 1:
        return names[0]
    near = np.sort(tree.query(line))
    inside = shapely.length(shapely.intersection(tree.geometries[near], line)) > 0.0
    met = list(dict.fromkeys(names[i] for i in near[inside])) or list(dict.fromkeys(names))
    return met[0] if len(met) == 1 else " + ".join(str(name) for name in met)


def _neighbours(shapes: NDArray[np.object_], gap: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of waters that touch; the one with more points is indexed before it is compared."""
    west, south, east, north = shapely.bounds(shapes).T
    boxes = shapely.box(west - gap, south - gap, east + gap, north + gap)
    first, second = shapely.STRtree(boxes).query(boxes)
    apart = first < second
    first, second = first[apart], second[apart]
    points = shapely.get_num_coordinates(shapes)
    turned = points[first] < points[second]
    first, second = np.where(turned, second, first), np.where(turned, first, second)
    large = shapes[np.unique(first[points[first] >= _PREPARE])]
    shapely.prepare(large)
    touch = shapely.dwithin(shapes[first], shapes[second], gap)
    shapely.destroy_prepared(large)
    return first[touch], second[touch]


def _across_the_edge(
    shapes: NDArray[np.object_], gap: float, around: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs that touch where x begins anew."""
    bounds = shapely.bounds(shapes)
    low = np.flatnonzero(bounds[:, 0] <= -around / 2 + gap)
    high = np.flatnonzero(bounds[:, 2] >= around / 2 - gap)
    if not len(low) or not len(high):
        return low[:0], low[:0]
    moved = shapely.transform(shapes[low], lambda p: np.add(p, [around, 0.0]))
    i, j = shapely.STRtree(shapes[high]).query(moved, predicate="dwithin", distance=gap)
    return low[i], high[j]


def _root(parent: NDArray[np.intp], i: int) -> int:
    while parent[i] != i:
        parent[i] = parent[parent[i]]
        i = int(parent[i])
    return i
