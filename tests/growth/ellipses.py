"""Ground and fires with known answers, made from the equations of the ellipse alone.

A fire from a point in a uniform field is an ellipse with the ignition at its rear focus. With head
rate R, eccentricity e and φ the angle from the heading it reaches a point at distance r after
t = r (1 − e cos φ) / (R (1 − e)).
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import Polygon

from wetline.behaviour import FireFields
from wetline.grid import Grid, Projection

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

START = datetime(2031, 7, 14, 12, tzinfo=UTC)
CELL_M = 25.0


def square_grid(cells: int, cell_m: float = CELL_M) -> Grid:
    return Grid(Projection("EPSG:32625"), 500_000.0, 5_240_000.0, cell_m, cells, cells)


def eccentricity(length_to_width: float) -> float:
    return float(np.sqrt(1.0 - 1.0 / length_to_width**2))


def fields_of(
    grid: Grid,
    rate_mps: ArrayLike,
    toward_deg: ArrayLike,
    length_to_width: ArrayLike,
    *,
    edges_s: Sequence[float] = (0.0, 86_400.0),
    burnable: NDArray[np.bool_] | None = None,
) -> FireFields:
    """Fields of one value a slot, or of arrays that broadcast to (slots, rows, columns)."""
    slots = len(edges_s) - 1

    def full(value: ArrayLike) -> NDArray[np.float32]:
        array = np.asarray(value, np.float32)
        if array.ndim == 1:
            array = array[:, None, None]
        return np.ascontiguousarray(np.broadcast_to(array, (slots, *grid.shape)))

    burns = np.ones(grid.shape, bool) if burnable is None else burnable
    ratio = np.asarray(length_to_width, float)
    return FireFields(
        grid=grid,
        start=START,
        edges_s=np.asarray(edges_s, float),
        head_rate_mps=np.where(burns, full(rate_mps), np.float32(0)),
        head_toward_deg=full(toward_deg),
        eccentricity=full(np.sqrt(1.0 - 1.0 / ratio**2)),
        head_intensity_kw_per_m=full(1000.0),
        burnable=burns,
    )


def ellipse(
    x: float, y: float, age_s: float, rate_mps: float, toward_deg: float, length_to_width: float
) -> Polygon:
    """A fire `age_s` old that began at (x, y), drawn with 720 corners."""
    e = eccentricity(length_to_width)
    phi = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    r = rate_mps * age_s * (1.0 - e) / (1.0 - e * np.cos(phi))
    bearing = np.radians(toward_deg) + phi
    return Polygon(np.column_stack((x + r * np.sin(bearing), y + r * np.cos(bearing))))


def time_from_point(
    grid: Grid, x: float, y: float, rate_mps: float, toward_deg: float, length_to_width: float
) -> NDArray[np.float64]:
    """Exact time [s] from an ignition at (x, y) to every cell's centre."""
    e = eccentricity(length_to_width)
    cx, cy = grid.xy(*np.mgrid[: grid.rows, : grid.cols])
    head = np.radians(toward_deg)
    along = (cx - x) * np.sin(head) + (cy - y) * np.cos(head)
    time: NDArray[np.float64] = (np.hypot(cx - x, cy - y) - e * along) / (rate_mps * (1.0 - e))
    return time


def cost(
    dx: NDArray[np.float64],
    dy: NDArray[np.float64],
    rate_mps: float,
    toward_deg: float,
    length_to_width: float,
) -> NDArray[np.float64]:
    """Exact time [s] straight along steps (dx east, dy north) [m]."""
    e = eccentricity(length_to_width)
    head = np.radians(toward_deg)
    along = dx * np.sin(head) + dy * np.cos(head)
    time: NDArray[np.float64] = (np.hypot(dx, dy) - e * along) / (rate_mps * (1.0 - e))
    return time


def normal_rates_mps(
    bearing_deg: NDArray[np.float64], rate_mps: float, toward_deg: float, length_to_width: float
) -> NDArray[np.float64]:
    """Rates at right angles to edges that face `bearing_deg`: the support function of the ellipse
    that grows from its rear focus, per second.

    An ellipse with semi-axes a, b and its rear focus at distance c behind its centre reaches
    c cos θ + sqrt(a² cos² θ + b² sin² θ) in the direction θ from its heading.
    """
    e = eccentricity(length_to_width)
    a = rate_mps / (1.0 + e)
    theta = np.radians(bearing_deg - toward_deg)
    b = a * np.sqrt(1.0 - e * e)
    rates: NDArray[np.float64] = e * a * np.cos(theta) + np.hypot(a * np.cos(theta), b * np.sin(theta))
    return rates
