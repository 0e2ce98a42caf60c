"""The frame of a run or lane as flown: along the heading from a zero point, and to the left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from wetline.grid import along

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.ground import Ground

    Shape = TypeVar("Shape", bound=BaseGeometry)

__all__ = ["Frame"]


@dataclass(frozen=True, slots=True)
class Frame:
    """Own frame of a thing flown: `origin` (x, y) [m] in the grid, `heading_deg` a **grid** bearing."""

    origin: tuple[float, float]
    heading_deg: float

    def _axes(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        east, north = along(self.heading_deg)
        forward = np.array([float(east), float(north)])
        return forward, np.array([-forward[1], forward[0]])

    def local(self, xy: ArrayLike) -> NDArray[np.float64]:
        """Grid points float64[n, 2] as (along, left) [m]."""
        forward, left = self._axes()
        step = np.atleast_2d(np.asarray(xy, float)) - np.asarray(self.origin)
        return np.column_stack((step @ forward, step @ left))

    def grid(self, local: ArrayLike) -> NDArray[np.float64]:
        """(along, left) points float64[n, 2] as grid points [m]."""
        forward, left = self._axes()
        points = np.atleast_2d(np.asarray(local, float))
        return np.asarray(self.origin) + np.outer(points[:, 0], forward) + np.outer(points[:, 1], left)

    def shape(self, geometry: Shape) -> Shape:
        """A shapely geometry in grid metres brought into this frame."""
        return shapely.transform(geometry, self.local)

    def profile(
        self, ground: Ground, from_m: float, to_m: float, step_m: float = 25.0
    ) -> NDArray[np.float64] | None:
        """Ground along the axis: float64[n, 2] of distance and height [m].

        None if no part of it is known; unknown stretches carry NaN and are drawn as gaps.
        """
        count = max(2, round((to_m - from_m) / step_m) + 1)
        distance = np.linspace(from_m, to_m, count)
        points = self.grid(np.column_stack((distance, np.zeros(count))))
        height = ground.grid.sample(ground.elevation_m, points[:, 0], points[:, 1])
        return None if np.isnan(height).all() else np.column_stack((distance, height))
