"""Bearings on the plane: clockwise from grid north [deg], the direction *toward* unless said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["along", "angle_between", "bearing_deg"]


def bearing_deg(dx: ArrayLike, dy: ArrayLike) -> NDArray[np.float64]:
    """Bearing [deg, 0 ≤ b < 360] of a step east `dx`, north `dy`."""
    return np.asarray(np.degrees(np.arctan2(dx, dy)) % 360.0, float)


def along(bearing: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Unit step (east, north) along a bearing [deg]."""
    angle = np.radians(bearing)
    return np.sin(angle), np.cos(angle)


def angle_between(a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Smallest angle [deg, 0 to 180] between two bearings."""
    difference = np.asarray(a, float) - np.asarray(b, float)
    return np.asarray(np.abs((difference + 180.0) % 360.0 - 180.0), float)
