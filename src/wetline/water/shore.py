"""A polygon's shore made ready, and its bands at given headings: the way into the kernels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.errors import SolverError

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    Area = Polygon | MultiPolygon

__all__ = ["Shore", "Strip", "bands", "shore_of", "strips"]

SLACK_M = 1e-6
"""A strait exactly as wide as asked for is wide enough: the noise of coordinates in metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The longest lane of one band, without direction: `heading_deg` and its opposite.

    `clear_m`: the half-width asked for, free on each side. `width_m`: free water across, over the
    whole length; the lane lies in its middle. Points (x, y) [m].
    """

    heading_deg: float
    length_m: float
    clear_m: float
    width_m: float
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def middle(self) -> tuple[float, float]:
        """The point half way (x, y) [m]."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


@dataclass(frozen=True, slots=True)
class Shore:
    """Points of all rings about `origin`, the middle of the bounding box, each with its neighbours."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    following: NDArray[np.int64]
    leading: NDArray[np.int64]
    origin: NDArray[np.float64]


def shore_of(polygon: Area) -> Shore:
    """The shore of a valid polygon that is not empty."""
    rings = shapely.get_rings(shapely.get_parts(polygon))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    origin = (points.min(axis=0) + points.max(axis=0)) / 2
    points = points - origin
    fresh = np.ones(len(points), np.bool_)  # the last point of a ring repeats its first
    fresh[:-1] = (ring[:-1] == ring[1:]) & np.any(points[:-1] != points[1:], axis=1)
    fresh[np.flatnonzero(np.diff(ring, append=-1))] = False
    points, ring = points[fresh], ring[fresh]
    following = np.arange(1, len(points) + 1)
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    following[np.append(first[1:], len(points)) - 1] = first
    leading = np.empty_like(following)
    leading[following] = np.arange(len(points))
    x, y = np.ascontiguousarray(points[:, 0]), np.ascontiguousarray(points[:, 1])
    return Shore(x, y, following, leading, origin)


def bands(
    shore: Shore, headings: NDArray[np.float64], length_m: float, clear_m: float, *, rising: bool = False
) -> NDArray[np.float64]:
    """Bands at each heading [deg]: rows (heading number, length, from u, to u, v, width) [m].

    `rising`: once a lane is found only longer ones are looked for.

    Raises
    ------
    SolverError
        If a lane cannot be proved clear, or the outline crosses itself.
    """
    from wetline.water._kernels import search  # noqa: PLC0415  kernels load when they are needed

    angle = np.radians(headings)
    out = np.empty((1024, 6))
    while True:
        count = search.bands(
            shore.x, shore.y, shore.following, shore.leading, np.sin(angle), np.cos(angle),
            clear_m - SLACK_M, length_m - SLACK_M, rising, out,
        )  # fmt: skip
        if count != search.FULL:
            break
        out = np.empty((4 * len(out), 6))
    if count < 0:
        message = (
            "the outline crosses itself: no lane can be trusted"
            if count == search.ODD
            else f"a lane came out nearer than {clear_m:g} m to the shore"
        )
        raise SolverError(message)
    return out[:count]


def strips(
    rows: NDArray[np.float64], headings: NDArray[np.float64], clear_m: float, origin: NDArray[np.float64]
) -> list[Strip]:
    """The rows of `bands` as strips of the polygon."""
    heading = headings[rows[:, 0].astype(np.intp)]
    sine, cosine = np.sin(np.radians(heading)), np.cos(np.radians(heading))
    x, y = origin[0] + rows[:, 4] * cosine, origin[1] - rows[:, 4] * sine
    start = np.column_stack([x + rows[:, 2] * sine, y + rows[:, 2] * cosine]).tolist()
    end = np.column_stack([x + rows[:, 3] * sine, y + rows[:, 3] * cosine]).tolist()
    return [
        Strip(heading_deg=h, length_m=length, clear_m=clear_m, width_m=width, start=(*a,), end=(*b,))
        for h, length, width, a, b in zip(
            heading.tolist(), rows[:, 1].tolist(), rows[:, 5].tolist(), start, end, strict=True
        )
    ]
