"""The wind over terrain by the least change that makes it conserve mass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.weather._terrain_mesh import BORDER, mesh_over
from wetline.weather.terrain_wind import TerrainWind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.grid import Grid
    from wetline.weather._terrain_mesh import Mesh

__all__ = ["OPEN_GROUND_M", "wind_over_terrain"]

OPEN_GROUND_M = 0.03
"""Roughness length of open ground, over which wind at 10 m is told (WMO practice, from memory)."""

MEASURED_MOST = 2.0
"""Wind on a crest over that on the plain: 1 + 2 h/L on ridges, which steeper hills than h/L = 0.5 do not exceed
(Taylor and Lee 1984, Climatol. Bull. 18(2):3-32, from memory)."""

_TAKEN = (
    "Wind over terrain: the table's wind is taken as that over open level ground, undisturbed by the hills;"
    " a station in a valley, on a crest or in a lee does not measure that."
)
_CANNOT = (
    "Wind over terrain: neutral air that keeps to the ground. No eddies behind ridges (there it is likely too"
    " strong and too straight), no wind up or down slopes and valleys from heating, no pull of the fire."
)


@dataclass(frozen=True, slots=True)
class _Field:
    """Wind over the mesh: `response[y, x, 2, 2]`, `rise[y, x, 2]`, and the divergence left."""

    response: NDArray[np.float64]
    rise: NDArray[np.float64]
    left: float


def wind_over_terrain(
    grid: Grid,
    elevation_m: NDArray[np.floating],
    *,
    alpha: float = 1.0,
    roughness_m: float = OPEN_GROUND_M,
) -> TerrainWind:
    """The wind at 10 m over heights `[row, col]` on `grid`, for a unit wind from any side.

    A wind of one direction with a neutral logarithmic profile over the ground is changed as little as can be
    until no air is lost or made anywhere and none blows into the ground. Beyond the grid its edge heights go on
    level: give ground to spare on every side. Where no height is known the table's wind stands. The wind is
    told along the ground: on a slope, longer than its horizontal part. `alpha`: stiffness of the horizontal wind over
    that of the vertical; 1 is neutral air (potential flow), less is stable air, which goes round hills.

    Raises
    ------
    OutsideRangeError
        If `alpha` lies outside 0.1 to 10 or `roughness_m` outside 0.0001 to 2 m.
    InputError
        If no height is known.
    SolverError
        If divergence is left.

    References
    ----------
    Sasaki 1970, Mon. Weather Rev. 98:875-883; Sherman 1978, J. Appl. Meteorol. 17:312-319 (from memory).
    """
    _check(elevation_m, alpha, roughness_m)
    mesh = mesh_over(elevation_m, grid.cell_m)
    found = _solved(mesh, _profile(mesh.thickness_m, roughness_m), alpha)
    response = _on_cells(found.response - np.eye(2), mesh, grid.shape) + np.eye(2, dtype=np.float32)
    rise = _on_cells(found.rise, mesh, grid.shape)
    unknown = np.isnan(elevation_m)
    response[unknown] = np.eye(2, dtype=np.float32)
    rise[unknown] = 0.0
    notes = _notes(mesh, response[~unknown], int(unknown.sum()), found.left)
    return TerrainWind(grid=grid, response=response, rise=rise, notes=notes)


def _notes(mesh: Mesh, response: NDArray[np.float32], unknown: int, left: float) -> tuple[str, ...]:
    least, most = _speeds(response)
    told = (
        f"Wind over terrain: {least.min():.1f} to {most.max():.1f} times the table's over this ground. Hills narrower"
        f" than {4.0 * mesh.cell_m:.0f} m are blurred or lost ({mesh.cell_m:.0f} m mesh)."
    )
    notes = [told]
    if (faster := int(np.count_nonzero(most > MEASURED_MOST))) > 0:
        notes.append(
            f"Wind over terrain: in {faster} cells more than {MEASURED_MOST:g} times the table's, faster than is"
            " measured over hills (from memory): too fast there."
        )
    notes += [_TAKEN, _CANNOT]
    notes.append(f"Wind over terrain: of the air that the first guess lost or made, {left:.0e} is left.")
    if unknown:
        notes.append(
            f"Wind over terrain: {unknown} cells of unknown height were bridged and keep the table's wind;"
            " beside them it is a guess."
        )
    return tuple(notes)


def _check(elevation_m: NDArray[np.floating], alpha: float, roughness_m: float) -> None:
    if not 0.1 <= alpha <= 10.0:
        raise OutsideRangeError(field="alpha", value=alpha, low=0.1, high=10.0, unit="")
    if not 1e-4 <= roughness_m <= 2.0:
        raise OutsideRangeError(field="roughness_m", value=roughness_m, low=1e-4, high=2.0, unit="m")
    if not np.isfinite(elevation_m).any():
        problem = Problem(
            message="No height of the ground is known: nothing tells how it bends the wind.",
            mend='Give the terrain round the fire, or set wind = "table".',
            file="terrain.tif",
        )
        raise InputError.of([problem])


def _profile(thickness_m: NDArray[np.float64], roughness_m: float) -> NDArray[np.float64]:
    """Mean of each level of the neutral profile ln(z / z0), as a share of the wind at 10 m."""
    edges_m = np.append(roughness_m, np.cumsum(thickness_m))
    height = edges_m / roughness_m
    whole = roughness_m * (height * np.log(height) - height + 1.0)
    profile: NDArray[np.float64] = np.diff(whole) / thickness_m / math.log(10.0 / roughness_m)
    return profile


def _solved(mesh: Mesh, profile: NDArray[np.float64], alpha: float) -> _Field:
    """The wind amid the lowest level, along the ground, for a unit wind from each axis."""
    from wetline.weather._least_change import LeastChange  # noqa: PLC0415  scipy loads late

    solver = LeastChange(mesh, alpha=alpha)
    response = np.zeros((*mesh.height_m.shape, 2, 2))
    left = []
    for axis in range(2):
        adjusted = solver.adjust(profile, north=axis == 1)
        response[..., 0, axis], response[..., 1, axis] = adjusted.level(0)
        # the mean of the lowest level lies below the wind at its middle: the change is taken, the guess is 1
        response[..., axis, axis] += 1.0 - profile[0]
        left.append(adjusted.left)
    north_rise, east_rise = np.gradient(mesh.height_m, mesh.cell_m)
    rise = np.stack([east_rise, north_rise], axis=-1)
    return _Field(_into_the_slope(rise) @ response, rise, max(left))


def _into_the_slope(rise: NDArray[np.float64]) -> NDArray[np.float64]:
    """Horizontal wind to wind along the ground: its part up the fall line is longer by 1 / cos(slope)."""
    squared = np.sum(rise**2, axis=-1)[..., None, None]
    up = rise[..., :, None] * rise[..., None, :] / np.where(squared > 0.0, squared, 1.0)
    lengthened: NDArray[np.float64] = np.eye(2) + up * (np.sqrt(1.0 + squared) - 1.0)
    return lengthened


def _on_cells(z: NDArray[np.float64], mesh: Mesh, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Values of the mesh `[y, x, ...]` at the cells `[row, col, ...]`, row 0 north; linear between columns."""
    z = z[::-1]
    row, col = ((np.arange(cells) + 0.5) / mesh.per_cell - 0.5 + BORDER for cells in shape)
    upper = row.astype(np.intp)
    share = (row - upper).reshape(-1, *([1] * (z.ndim - 1)))
    z = z[upper] * (1.0 - share) + z[upper + 1] * share
    left = col.astype(np.intp)
    share = (col - left).reshape(-1, *([1] * (z.ndim - 2)))
    return (z[:, left] * (1.0 - share) + z[:, left + 1] * share).astype(np.float32)


def _speeds(response: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest speed of each cell for a unit wind from any side: the singular values."""
    a, b, c, d = np.moveaxis(response.reshape(-1, 4).astype(float), -1, 0)
    mean_square, product = (a * a + b * b + c * c + d * d) / 2.0, np.abs(a * d - b * c)
    most = np.sqrt(mean_square + np.sqrt(np.maximum(mean_square**2 - product**2, 0.0)))
    return product / np.maximum(most, np.finfo(float).tiny), most
