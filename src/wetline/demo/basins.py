"""Basins dug by old ice: where the lakes will stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.demo.noise import fractal, smoothstep
from wetline.demo.terrain import CELL_M, GRAIN_DEG

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Basin", "choose_basins", "dug"]

LOWLAND_BASINS = 62
LARGE_BASINS = 12
HILL_BASINS = 7
THIN = 4
"""The search for places reads every fourth cell."""


@dataclass(frozen=True, slots=True)
class Basin:
    """An oval hollow: middle [row, col], half length and half width [m], bearing [deg], depth [m].

    `walled`: on a valley floor in the hills, so that steep ground stands round it.
    """

    row: float
    col: float
    half_length_m: float
    half_width_m: float
    bearing_deg: float
    depth_m: float
    walled: bool


def _room(row: float, col: float, half_m: float, others: list[Basin]) -> bool:
    return all(
        np.hypot(row - b.row, col - b.col) * CELL_M > 0.75 * (half_m + b.half_length_m) + 250 for b in others
    )


def _valley_bearing(z: NDArray[np.float64], row: int, col: int) -> float:
    """Bearing [deg] along which the low ground round a cell lies."""
    reach = 40
    r0, c0 = max(row - reach, 0), max(col - reach, 0)
    here = z[r0 : row + reach + 1, c0 : col + reach + 1]
    low = np.argwhere(here < np.percentile(here, 30)) + np.array([r0 - row, c0 - col])
    spread = np.cov(np.stack([low[:, 1], -low[:, 0]]))
    east, north = np.linalg.eigh(spread)[1][:, 1]
    return float(np.degrees(np.arctan2(east, north)) % 180.0)


def _valley_tarns(
    rng: np.random.Generator, z: NDArray[np.float64], hilly: NDArray[np.float64]
) -> list[Basin]:
    """Long hollows on the floors of the deepest valleys in the hills."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    thin = z[::THIN, ::THIN]
    hollow = ndimage.gaussian_filter(thin, 8 / THIN) - ndimage.gaussian_filter(thin, 45 / THIN)
    hollow[hilly[::THIN, ::THIN] < 0.45] = np.inf
    frame, room = 70 // THIN, 110 // THIN
    hollow[:frame], hollow[-frame:], hollow[:, :frame], hollow[:, -frame:] = np.inf, np.inf, np.inf, np.inf
    chosen: list[Basin] = []
    for _ in range(HILL_BASINS):
        row, col = (int(v) for v in np.unravel_index(int(hollow.argmin()), hollow.shape))
        if not np.isfinite(hollow[row, col]):
            break
        half = float(rng.uniform(1_050, 1_400))
        chosen.append(
            Basin(
                row=float(row * THIN),
                col=float(col * THIN),
                half_length_m=half,
                half_width_m=float(half * rng.uniform(0.2, 0.28)),
                bearing_deg=_valley_bearing(z, row * THIN, col * THIN),
                depth_m=float(rng.uniform(16, 24)),
                walled=True,
            )
        )
        hollow[max(row - room, 0) : row + room, max(col - room, 0) : col + room] = np.inf
    return chosen


def choose_basins(
    rng: np.random.Generator, z: NDArray[np.float64], hilly: NDArray[np.float64]
) -> tuple[Basin, ...]:
    """Tarns walled in by hills, then oval hollows on the plain, large ones first."""
    from scipy import ndimage  # noqa: PLC0415 - heavy

    thin = z[::THIN, ::THIN]
    mean, square = (ndimage.gaussian_filter(field, 22 / THIN) for field in (thin, thin * thin))
    relief = np.sqrt(np.maximum(square - mean**2, 0.0))
    hollow = ndimage.gaussian_filter(thin, 12 / THIN) - ndimage.gaussian_filter(thin, 60 / THIN)
    fits = (hilly[::THIN, ::THIN] < 0.35) & (relief < 11.0)
    chosen = _valley_tarns(rng, z, hilly)
    for number in range(LOWLAND_BASINS):
        for _ in range(60):
            row, col = rng.integers(45, z.shape[0] - 45), rng.integers(45, z.shape[1] - 45)
            half = rng.uniform(1_300, 2_300) if number < LARGE_BASINS else rng.lognormal(6.15, 0.45)
            here = row // THIN, col // THIN
            if fits[here] and hollow[here] < rng.normal(-2.0, 3.0) and _room(row, col, half, chosen):
                break
        else:
            continue
        chosen.append(
            Basin(
                row=float(row),
                col=float(col),
                half_length_m=float(half),
                half_width_m=float(half * rng.uniform(0.22, 0.5)),
                bearing_deg=float(GRAIN_DEG + rng.normal(0, 14)),
                depth_m=float(rng.uniform(9, 16)),
                walled=False,
            )
        )
    return tuple(chosen)


def dug(rng: np.random.Generator, z: NDArray[np.float64], basins: tuple[Basin, ...]) -> NDArray[np.float64]:
    """The heights [m] with every basin dug, its rim bent by noise and its floor left uneven."""
    z = z.copy()
    bend = fractal(rng, z.shape, cell_m=CELL_M, longest_m=3_000, shortest_m=260, slope=3.2)
    knobs = fractal(rng, z.shape, cell_m=CELL_M, longest_m=1_100, shortest_m=130, slope=2.8)
    for basin in basins:
        reach = int(2.2 * basin.half_length_m / CELL_M) + 2
        r0, r1 = max(int(basin.row) - reach, 0), min(int(basin.row) + reach, z.shape[0])
        c0, c1 = max(int(basin.col) - reach, 0), min(int(basin.col) + reach, z.shape[1])
        row, col = np.mgrid[r0:r1, c0:c1]
        east, north = (col - basin.col) * CELL_M, (basin.row - row) * CELL_M
        angle = np.radians(basin.bearing_deg)
        along = east * np.sin(angle) + north * np.cos(angle)
        across = east * np.cos(angle) - north * np.sin(angle)
        out = np.hypot(along / basin.half_length_m, across / basin.half_width_m)
        out = out + (0.1 if basin.walled else 0.26) * bend[r0:r1, c0:c1]
        here = z[r0:r1, c0:c1]
        inside = out < 1.0
        if not inside.any():
            continue
        base = float(np.percentile(here[inside], 12 if basin.walled else 30))
        flat = 1.0 - smoothstep(out, 0.8, 1.75 if basin.walled else 1.7)
        floor = (
            base
            - basin.depth_m * (1.0 - smoothstep(out, 0.15, 1.25))
            + 3.6 * knobs[r0:r1, c0:c1]
            + 0.2 * (here - base)
        )
        z[r0:r1, c0:c1] = np.where(flat > 0, here + flat * (np.minimum(floor, here + 4.0) - here), here)
    return z
