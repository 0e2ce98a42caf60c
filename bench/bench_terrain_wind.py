"""The wind over terrain: seconds and unknowns, against scipy's direct sparse solver.

Size: hilly ground of 12 × 12 km in cells of 30 m for the whole of `wind_over_terrain`; the elliptic problem alone on
meshes small enough for a direct solver, which is given the same matrix and right-hand side, and whose answer
ours is checked against. On a busy machine the threads of the dot products wait for each other: compare with
`OPENBLAS_NUM_THREADS=1`. Run: `python bench/bench_terrain_wind.py`.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import spsolve

from wetline.grid import Grid, Projection
from wetline.weather import wind_over_terrain
from wetline.weather._least_change import LeastChange
from wetline.weather._terrain_mesh import Mesh, levels_m, mesh_over

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

REPEATS = 3
T = TypeVar("T")


def _hills(cells: int, cell_m: float) -> NDArray[np.float64]:
    y, x = np.mgrid[0:cells, 0:cells] * cell_m
    broad = 250.0 * np.sin(x / 900.0) * np.cos(y / 1300.0)
    return np.asarray(700.0 + broad + 60.0 * np.sin(x / 310.0 + y / 400.0), float)


def _timed(work: Callable[[], T]) -> tuple[float, float, T]:
    """Least wall and CPU seconds of some runs, and the result."""
    walls_s, cpus_s = [], []
    for _ in range(REPEATS):
        wall_s, cpu_s = time.perf_counter(), time.process_time()
        result = work()
        walls_s.append(time.perf_counter() - wall_s)
        cpus_s.append(time.process_time() - cpu_s)
    return min(walls_s), min(cpus_s), result


def _against_direct(columns: int) -> None:
    height_m = _hills(columns, 120.0)
    mesh = Mesh(cell_m=120.0, height_m=height_m, thickness_m=levels_m(float(np.ptp(height_m))))
    solver = LeastChange(mesh)
    wind = np.zeros(solver._ease.size)  # noqa: SLF001  the same right-hand side for both
    wind[: mesh.thickness_m.size * columns * (columns + 1)] = 1.0
    outflow = solver._outflow @ wind  # noqa: SLF001
    matrix = (solver._outflow @ diags_array(solver._ease) @ solver._outflow.T).tocsc()  # noqa: SLF001
    wall_s, cpu_s, ours = _timed(lambda: solver._multiplier(outflow))  # noqa: SLF001
    begin_wall_s, begin_cpu_s = time.perf_counter(), time.process_time()
    direct = spsolve(matrix, outflow)
    direct_wall_s, direct_cpu_s = time.perf_counter() - begin_wall_s, time.process_time() - begin_cpu_s
    off = np.abs(ours - direct).max() / np.abs(direct).max()
    print(
        f"{outflow.size:7d} unknowns  ours {wall_s:6.3f} s wall {cpu_s:6.3f} s CPU   spsolve {direct_wall_s:6.2f} s wall"
        f" {direct_cpu_s:6.2f} s CPU   ratio {direct_cpu_s / cpu_s:5.0f} ×   (largest difference {off:.0e})"
    )


def main() -> None:
    grid = Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, 400, 400)
    z = _hills(400, 30.0)
    mesh = mesh_over(z, grid.cell_m)
    unknowns = mesh.height_m.size * (mesh.thickness_m.size + 1)
    begin_s = time.perf_counter()
    wind_over_terrain(grid, z)
    first_s = time.perf_counter() - begin_s
    wall_s, cpu_s, _ = _timed(lambda: wind_over_terrain(grid, z))
    print(
        f"wind_over_terrain, 12 × 12 km, 400 × 400 cells, {mesh.cell_m:.0f} m mesh, {unknowns} unknowns, two winds:"
        f" {wall_s:.2f} s wall, {cpu_s:.2f} s CPU; first call {first_s:.2f} s wall with scipy's import"
    )
    for columns in (16, 32, 48):
        _against_direct(columns)


if __name__ == "__main__":
    main()
