"""The least change that frees a wind of divergence over a ground it cannot enter.

Of all winds that fill and leave every mesh cell alike and blow along the ground, the one that lies nearest
to the first guess: the integral of (Δu² + Δv²) + (Δw / α)² is least. Its multiplier solves an elliptic
problem, here by finite volumes: u, v on the upright faces, w on the faces between levels, all Cartesian.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp
from scipy import fft
from scipy.sparse.linalg import LinearOperator, cg

from wetline.errors import SolverError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.weather._terrain_mesh import Mesh

__all__ = ["Adjusted", "LeastChange"]

MOST_LEFT = 1e-3
"""Greatest net outflow allowed of any cell, as a share of the first guess's."""
_RESIDUAL = 1e-6
_MOST_STEPS = 300


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Wind [m/s, Cartesian] on the faces of the cells `[k, y, x]`, and the divergence left.

    `u[k, y, x]` on the west face of cell x and one more, `v` on south faces, `w` on lower faces, `w[0]` on
    the ground. `left`: greatest net outflow of a cell, or flow through the ground, over that of the first guess.
    """

    u: NDArray[np.float64]
    v: NDArray[np.float64]
    w: NDArray[np.float64]
    left: float

    def level(self, k: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """East and north wind [m/s] `[y, x]` amid the cells of a level."""
        u, v = self.u[k], self.v[k]
        return 0.5 * (u[:, 1:] + u[:, :-1]), 0.5 * (v[1:] + v[:-1])


class LeastChange:
    """The adjustment over one mesh. The unknown is the multiplier of each cell and of each ground face.

    Sides and top are open (multiplier 0 on them), the ground is closed. `alpha`: stiffness of the horizontal
    wind over that of the vertical; below 1 the wind goes round hills rather than over them.
    """

    def __init__(self, mesh: Mesh, *, alpha: float = 1.0) -> None:
        ny, nx = mesh.height_m.shape
        nz = mesh.thickness_m.size
        self._shape = (nz + 1, ny, nx)
        self._faces = ((nz, ny, nx + 1), (nz, ny + 1, nx), (nz + 1, ny, nx))
        face_m = _half_cells_m(mesh.thickness_m)
        self._ease = 1.0 / np.concatenate(
            [
                (mesh.thickness_m[:, None] * np.tile(_ends_halved(nx), ny)).ravel(),
                (mesh.thickness_m[:, None] * np.repeat(_ends_halved(ny), nx)).ravel(),
                np.repeat(face_m / alpha**2, ny * nx),
            ]
        )
        self._outflow = _outflow(mesh)
        self._pivot, self._beside = _flat_factors(mesh, face_m / alpha**2)

    def adjust(self, guess_mps: NDArray[np.float64], *, north: bool) -> Adjusted:
        """The wind nearest to a first guess `guess_mps[k]`, alike over all columns, toward east or `north`.

        Raises
        ------
        SolverError
            If more than `MOST_LEFT` of the divergence is left.
        """
        ends = np.cumsum([math.prod(shape) for shape in self._faces])
        wind = np.zeros(self._ease.size)
        blown = slice(ends[0], ends[1]) if north else slice(0, ends[0])
        wind[blown] = np.broadcast_to(guess_mps[:, None, None], self._faces[int(north)]).ravel()
        outflow = self._outflow @ wind
        worst = float(np.abs(outflow).max())
        left = 0.0
        if worst > 0.0:
            wind -= self._ease * (self._outflow.T @ self._multiplier(outflow))
            left = float(np.abs(self._outflow @ wind).max()) / worst
        if not left <= MOST_LEFT:
            message = f"the wind over terrain leaves {left:.1e} of its divergence, more than {MOST_LEFT:.0e}"
            raise SolverError(message)
        parts = np.split(wind, ends[:-1])
        u, v, w = (part.reshape(shape) for part, shape in zip(parts, self._faces, strict=True))
        return Adjusted(u, v, w, left)

    def _multiplier(self, outflow: NDArray[np.float64]) -> NDArray[np.float64]:
        size = (outflow.size, outflow.size)
        operator = LinearOperator(size, dtype=float, matvec=self._elliptic)
        flat = LinearOperator(size, dtype=float, matvec=self._flat_inverse)
        multiplier, _ = cg(operator, outflow, rtol=_RESIDUAL, maxiter=_MOST_STEPS, M=flat)
        return np.asarray(multiplier, float)  # whether it is good enough, the outflow left tells

    def _elliptic(self, multiplier: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(self._outflow @ (self._ease * (self._outflow.T @ multiplier)), float)

    def _flat_inverse(self, outflow: NDArray[np.float64]) -> NDArray[np.float64]:
        """The exact inverse over level ground: sine waves along the level, elimination along the vertical."""
        x = fft.dstn(outflow.reshape(self._shape), type=2, axes=(1, 2))
        beside, pivot = self._beside, self._pivot
        for k in range(1, len(x)):
            x[k] -= beside[k - 1] / pivot[k - 1] * x[k - 1]
        x[-1] /= pivot[-1]
        for k in range(len(x) - 2, -1, -1):
            x[k] = (x[k] - beside[k] * x[k + 1]) / pivot[k]
        return np.asarray(fft.idstn(x, type=2, axes=(1, 2)), float).ravel()


def _ends_halved(cells: int) -> NDArray[np.float64]:
    """Volume that each of the faces along a line of cells stands for, in cells."""
    share = np.ones(cells + 1)
    share[[0, -1]] = 0.5
    return share


def _half_cells_m(thickness_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Height that each face between levels, the ground's and the top's too, stands for."""
    return np.asarray(0.5 * (np.append(thickness_m, 0.0) + np.append(0.0, thickness_m)), float)


def _differences(cells: int) -> sp.csr_array:
    """Faces to cells: the face after less the face before."""
    ones = np.ones(cells)
    return sp.diags_array(np.stack([-ones, ones]), offsets=[0, 1], shape=(cells, cells + 1)).tocsr()


def _means(cells: int) -> sp.csr_array:
    """Faces to cells: the mean of the two."""
    return 0.5 * abs(_differences(cells))


def _balance(levels: int) -> sp.csr_array:
    """Flow through the faces between levels to outflow: of the ground face itself, then of each cell."""
    ground = sp.csr_array(([1.0], ([0], [0])), shape=(1, levels + 1))
    return sp.vstack([ground, _differences(levels)]).tocsr()


def _at_level_faces(thickness_m: NDArray[np.float64]) -> sp.csr_array:
    """Values amid the levels to the faces between them, by volume; ground and top take the level beside them.

    By volume, not by distance: every level then bears the rising air on its two faces for its own share, and
    the wind along a plane comes out exact on stretched levels.
    """
    below, above = thickness_m[:-1], thickness_m[1:]
    on_lower = np.append(below / (below + above), 1.0)
    on_upper = np.append(1.0, above / (below + above))
    levels = thickness_m.size
    return sp.diags_array(np.stack([on_upper, on_lower]), offsets=[0, -1], shape=(levels + 1, levels)).tocsr()


def _outflow(mesh: Mesh) -> sp.csr_array:
    """Winds on all faces (u, v, w) to net outflow per area of ground [m/s], of ground faces and cells.

    A face between levels slopes with the ground: w − u ∂h/∂x − v ∂h/∂y blows through it.
    """
    ny, nx = mesh.height_m.shape
    levels = mesh.thickness_m.size
    east_rise, north_rise = np.zeros((ny, nx + 1)), np.zeros((ny + 1, nx))
    east_rise[:, 1:-1] = np.diff(mesh.height_m, axis=1) / mesh.cell_m
    north_rise[1:-1] = np.diff(mesh.height_m, axis=0) / mesh.cell_m
    sideways = sp.vstack([sp.csr_array((1, levels)), sp.diags_array(mesh.thickness_m / mesh.cell_m)])
    balance = _balance(levels)
    upward = balance @ _at_level_faces(mesh.thickness_m)
    across, along = sp.eye_array(nx), sp.eye_array(ny)

    def of_wind(step: sp.csr_array, mean: sp.csr_array, rise: NDArray[np.float64]) -> sp.csr_array:
        through_sides = sp.kron(sideways, step)
        through_levels = sp.kron(upward, mean @ sp.diags_array(rise.ravel()))
        return sp.csr_array(through_sides - through_levels)

    east = of_wind(
        sp.csr_array(sp.kron(along, _differences(nx))), sp.csr_array(sp.kron(along, _means(nx))), east_rise
    )
    north = of_wind(
        sp.csr_array(sp.kron(_differences(ny), across)), sp.csr_array(sp.kron(_means(ny), across)), north_rise
    )
    whole = sp.csr_array(sp.hstack([east, north, sp.kron(balance, sp.eye_array(ny * nx))]))
    whole.eliminate_zeros()
    return whole


def _flat_factors(
    mesh: Mesh, face_weight_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pivots `[k, y, x]` by wave number, and the entries beside the diagonal, of the elliptic problem on the flat."""
    ny, nx = mesh.height_m.shape
    balance = _balance(mesh.thickness_m.size)
    upright = (balance @ sp.diags_array(1.0 / face_weight_m) @ balance.T).toarray()
    waves = [4.0 * np.sin(0.5 * np.pi * np.arange(1, n + 1) / n) ** 2 for n in (ny, nx)]
    curvature = (waves[0][:, None] + waves[1]) / mesh.cell_m**2
    beside = np.diagonal(upright, 1).copy()
    pivot = np.empty((mesh.thickness_m.size + 1, ny, nx))
    pivot[0] = upright[0, 0]
    for k, thickness_m in enumerate(mesh.thickness_m, start=1):
        pivot[k] = upright[k, k] + thickness_m * curvature - beside[k - 1] ** 2 / pivot[k - 1]
    return pivot, beside
