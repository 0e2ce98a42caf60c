"""Where in a grid of model points the weather of the fire is taken: between the four points round it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyproj

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.store.problems import Complaints

__all__ = ["Spot", "far_remark", "spot_in"]

_GEOD = pyproj.Geod(ellps="WGS84")
_FAR_KM = 30.0
"""Weather of a point farther away is another weather. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Rows and columns of the points round a place, and the weight [0 to 1] of each, row by row."""

    rows: tuple[int, ...]
    cols: tuple[int, ...]
    weights: NDArray[np.float64]

    def mean(self, corners: NDArray[np.float64]) -> NDArray[np.float64]:
        """The value at the place of values [..., n] at the points; NaN if any that counts is."""
        return np.where(self.weights > 0.0, corners, 0.0) @ self.weights


def spot_in(
    lons: NDArray[np.float64], lats: NDArray[np.float64], place: tuple[float, float], complaints: Complaints
) -> Spot | None:
    """The points round a place [deg] in a grid of longitudes (eastward) and latitudes; None after a complaint.

    Bilinear. A grid round the whole Earth is closed; otherwise the place must lie within its points.
    """
    east = (lons - lons[0]) % 360.0
    down = lats[::-1] if lats[0] > lats[-1] else lats
    if (np.diff(east) <= 0.0).any() or (np.diff(down) <= 0.0).any() or min(len(lons), len(lats)) < 2:
        complaints.error(
            "The longitudes and latitudes of the grid are not in order.",
            "Sort it: west to east.",
            field="longitude",
        )
        return None
    step = float(east[-1] / (len(east) - 1))
    closed = abs(step * len(east) - 360.0) < 0.01 * step
    at = (place[0] - lons[0]) % 360.0
    if not (down[0] <= place[1] <= down[-1] and (at <= east[-1] or closed)):
        complaints.error(
            "The fire lies outside the weather's grid.", "Take the weather of its region.", field="longitude",
            value=f"[{place[0]:.4f}, {place[1]:.4f}]",
            limit=f"[{lons[0]:g}, {down[0]:g}] to [{lons[-1]:g}, {down[-1]:g}]",
        )  # fmt: skip
        return None
    col = min(int(np.searchsorted(east, at, side="right")) - 1, len(east) - (1 if closed else 2))
    width = 360.0 - float(east[col]) if col == len(east) - 1 else float(east[col + 1] - east[col])
    across = (at - float(east[col])) / width
    row = min(int(np.searchsorted(down, place[1], side="right")) - 1, len(down) - 2)
    up = float((place[1] - down[row]) / (down[row + 1] - down[row]))
    rows = (row, row + 1) if lats[0] < lats[-1] else (len(lats) - 1 - row, len(lats) - 2 - row)
    cols = (col, (col + 1) % len(east))
    _remark(lons, lats, rows, cols, place, complaints)
    weights = np.array([(1 - up) * (1 - across), (1 - up) * across, up * (1 - across), up * across])
    return Spot(rows, cols, weights)


def _remark(
    lons: NDArray[np.float64],
    lats: NDArray[np.float64],
    rows: tuple[int, int],
    cols: tuple[int, int],
    place: tuple[float, float],
    complaints: Complaints,
) -> None:
    """Say between which points the weather is taken."""
    corner, across = (lons[cols[0]], lats[rows[0]]), (lons[cols[1]], lats[rows[1]])
    apart_km = float(_GEOD.inv(*corner, *across)[2]) / 1000.0
    complaints.warning(
        f"The weather is taken at the fire's middle, between four model points {apart_km:.0f} km apart (corner to corner).",
        "Compare it with what is felt at the fire: a model does not see valleys smaller than its grid.",
        field="place", value=f"[{place[0]:.4f}, {place[1]:.4f}]",
    )  # fmt: skip


def far_remark(lon: float, lat: float, place: tuple[float, float] | None, complaints: Complaints) -> None:
    """Say where a station or single point lies, seen from the fire."""
    if place is None:
        return
    away_km = float(_GEOD.inv(lon, lat, *place)[2]) / 1000.0
    complaints.warning(
        f"The weather is that of one point {away_km:.0f} km from the fire's middle.",
        "Compare it with what is felt at the fire."
        if away_km <= _FAR_KM
        else "Take the weather of a nearer point, or of a grid.",
        field="place", value=f"[{lon:.4f}, {lat:.4f}]", limit=f"{_FAR_KM:g} km",
    )  # fmt: skip
