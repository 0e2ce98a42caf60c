"""Which measured conditions a release lies between, and how much each counts."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.spatial import Delaunay

__all__ = ["shares"]

Points = tuple[tuple[float, float], ...]


def shares(points: Points, at: tuple[float, float], *, reach: float) -> NDArray[np.float64] | None:
    """The share of each point in a value at a place between them: float64[point], sum 1; None outside.

    Bilinear where the points fill a grid, else linear in the triangle of three. A place up to `reach`
    outside, or beside points that lie on one line, takes the nearest place between two of them. Nothing
    is carried farther. Points must differ; both axes in units in which equal distances count alike.
    """
    place = np.asarray(at, float)
    xy = np.asarray(points, float)
    found = _in_grid(xy, place)
    if found is None:
        found = _in_triangle(points, place)
    return _nearest(xy, place, reach) if found is None else found


def _in_grid(xy: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Bilinear shares; None where the points fill no grid or the place lies outside."""
    axes = [np.unique(xy[:, k]) for k in (0, 1)]
    if min(axis.size for axis in axes) < 2 or axes[0].size * axes[1].size != len(xy):
        return None
    if any(not axis[0] <= value <= axis[-1] for axis, value in zip(axes, place, strict=True)):
        return None
    along = [_hats(axis, value) for axis, value in zip(axes, place, strict=True)]
    rows = [np.searchsorted(axis, xy[:, k]) for k, axis in enumerate(axes)]
    return np.asarray(along[0][rows[0]] * along[1][rows[1]], float)


def _hats(axis: NDArray[np.float64], value: float) -> NDArray[np.float64]:
    """Shares of the two neighbours on one axis."""
    high = int(np.clip(np.searchsorted(axis, value), 1, axis.size - 1))
    share = (value - axis[high - 1]) / (axis[high] - axis[high - 1])
    out = np.zeros(axis.size)
    out[high - 1], out[high] = 1.0 - share, share
    return out


@lru_cache(maxsize=256)
def _triangles(points: Points) -> Delaunay | None:
    """The triangulation; None where the points lie on one line."""
    from scipy.spatial import Delaunay, QhullError  # noqa: PLC0415  only where tests are scattered

    if len(points) < 3:
        return None
    try:
        return Delaunay(np.asarray(points, float))
    except QhullError:
        return None


def _in_triangle(points: Points, place: NDArray[np.float64]) -> NDArray[np.float64] | None:
    mesh = _triangles(points)
    where = -1 if mesh is None else int(mesh.find_simplex(place))
    if mesh is None or where < 0:
        return None
    move = mesh.transform[where]
    if not np.isfinite(move).all():  # a sliver: its corners lie on one line
        return None
    two = move[:2] @ (place - move[2])
    out = np.zeros(len(points))
    out[mesh.simplices[where]] = np.clip([two[0], two[1], 1.0 - two.sum()], 0.0, 1.0)
    return np.asarray(out / out.sum(), float)


def _nearest(xy: NDArray[np.float64], place: NDArray[np.float64], reach: float) -> NDArray[np.float64] | None:
    """Shares at the nearest place between any two points, of the closest two; None beyond `reach`."""
    first, last = np.triu_indices(len(xy))
    span = xy[last] - xy[first]
    length2 = (span**2).sum(axis=1)
    along = ((place - xy[first]) * span).sum(axis=1) / np.where(length2 > 0.0, length2, 1.0)
    along = np.clip(along, 0.0, 1.0)
    off = np.hypot(*(xy[first] + along[:, None] * span - place).T)
    if off.min() > reach:
        return None
    best = int(np.lexsort((length2, off.round(9)))[0])
    out = np.zeros(len(xy))
    out[first[best]] += 1.0 - along[best]
    out[last[best]] += along[best]
    return out
