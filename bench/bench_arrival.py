"""Arrival times: nanoseconds per burnt cell against general libraries in the same run, with errors.

Size: 300 × 300 cells of 30 m. The exact answer is the ellipse grown from a point; a method starts from
the exact times within 8 cells of head travel, and errors count relative to the time since ignition,
beyond 20 cells. Best of 5. Run: `python bench/bench_arrival.py`.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import SimpleITK
from scipy import ndimage, sparse
from scipy.sparse import csgraph
from shapely.geometry import Polygon, box

from wetline.behaviour import FireFields
from wetline.grid import Grid, Projection
from wetline.growth import Front

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

N, CELL_M, REPEATS = 300, 30.0, 5
RATE_MPS, AGE_S, TOWARD_DEG = 0.3, 800.0, 17.0
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_240_000.0, CELL_M, N, N)
T = TypeVar("T")


def _best(work: Callable[[], T], repeats: int = REPEATS) -> tuple[float, T]:
    best = np.inf
    for _ in range(repeats):
        begin = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - begin)
    return float(best), result


def _eccentricity(ratio: float) -> float:
    return float(np.sqrt(1.0 - ratio**-2))


def _fields(rate: NDArray[np.float64] | float, ratio: float, edges_s: NDArray[np.float64]) -> FireFields:
    slots = len(edges_s) - 1
    shape = (slots, N, N)

    def full(value: ArrayLike) -> NDArray[np.float32]:
        return np.ascontiguousarray(np.broadcast_to(np.asarray(value, np.float32), shape))

    return FireFields(
        grid=GRID,
        start=datetime(2031, 7, 14, 12, tzinfo=UTC),
        edges_s=edges_s,
        head_rate_mps=full(rate),
        head_toward_deg=full(TOWARD_DEG + 15.0 * np.arange(slots)[:, None, None]),
        eccentricity=full(_eccentricity(ratio)),
        head_intensity_kw_per_m=full(1000.0),
        burnable=np.ones((N, N), bool),
    )


def _ignition(ratio: float) -> tuple[float, float]:
    back_m = 0.42 * N * CELL_M * (ratio > 1)
    head = np.radians(TOWARD_DEG)
    west, south, east, north = GRID.bounds
    return (west + east) / 2 - back_m * np.sin(head) + 4.0, (south + north) / 2 - back_m * np.cos(head) - 9.0


def _exact(ratio: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Time since ignition and distance [cells] from it, for every cell."""
    x, y = _ignition(ratio)
    cx, cy = GRID.xy(*np.mgrid[:N, :N])
    e, head = _eccentricity(ratio), np.radians(TOWARD_DEG)
    along = (cx - x) * np.sin(head) + (cy - y) * np.cos(head)
    r = np.hypot(cx - x, cy - y)
    return (r - e * along) / (RATE_MPS * (1.0 - e)), r / CELL_M


def _start(ratio: float) -> Polygon:
    x, y = _ignition(ratio)
    e = _eccentricity(ratio)
    phi = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    r = RATE_MPS * AGE_S * (1.0 - e) / (1.0 - e * np.cos(phi))
    bearing = np.radians(TOWARD_DEG) + phi
    return Polygon(np.column_stack((x + r * np.sin(bearing), y + r * np.cos(bearing))))


def _dijkstra(ratio: float, exact: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sixteen neighbours, graph built and solved; starts from the exact times within the perimeter."""
    e, head = _eccentricity(ratio), np.radians(TOWARD_DEG)
    cells = np.arange(N * N).reshape(N, N)
    sources, targets, costs = [], [], []
    near = [(i, j) for i in range(-2, 3) for j in range(-2, 3) if np.gcd(i, j) == 1]
    for i, j in near:
        a = cells[max(0, -i) : N - max(0, i), max(0, -j) : N - max(0, j)]
        b = cells[max(0, i) : N - max(0, -i), max(0, j) : N - max(0, -j)]
        along = j * np.sin(head) - i * np.cos(head)
        step = CELL_M * (np.hypot(i, j) - e * along) / (RATE_MPS * (1.0 - e))
        sources.append(a.ravel())
        targets.append(b.ravel())
        costs.append(np.full(a.size, step))
    burnt = np.flatnonzero(exact.ravel() <= AGE_S)
    sources.append(np.full(burnt.size, N * N))
    targets.append(burnt)
    costs.append(exact.ravel()[burnt] + 1e-9)
    graph = sparse.csr_array(
        (np.concatenate(costs), (np.concatenate(sources), np.concatenate(targets))), (N * N + 1, N * N + 1)
    )
    found: NDArray[np.float64] = csgraph.dijkstra(graph, indices=np.array([N * N]))[0, :-1].reshape(N, N)
    return found


def _march(exact: NDArray[np.float64]) -> NDArray[np.float64]:
    """SimpleITK's fast marching, first order, from the exact times within the perimeter."""
    library: Any = SimpleITK
    march = library.FastMarchingImageFilter()
    rows, cols = np.nonzero(exact <= AGE_S)
    march.SetTrialPoints([(int(c), int(r)) for r, c in zip(rows, cols, strict=True)])
    march.SetInitialTrialValues([float(v) for v in exact[rows, cols]])
    march.SetStoppingValue(1e9)
    speed = library.GetImageFromArray(np.full((N, N), RATE_MPS / CELL_M))
    return np.asarray(library.GetArrayFromImage(march.Execute(speed)))


def _against(ratio: float, other: str, rival: Callable[[], NDArray[np.float64]]) -> None:
    exact, cells_away = _exact(ratio)
    edge = np.ones((N, N), bool)
    edge[1:-1, 1:-1] = False
    until_s = float(exact[edge].min()) - AGE_S
    fields = _fields(RATE_MPS, ratio, np.array([0.0, 1e6]))
    burnt = _start(ratio)

    def grow(front: Front) -> NDArray[np.float64]:
        front.advance(until_s)
        return front.arrival_s + AGE_S

    def error(times: NDArray[np.float64]) -> str:
        far = (cells_away > 20) & (exact < 0.999 * (until_s + AGE_S)) & (exact > AGE_S)
        relative = np.abs(times[far] / exact[far] - 1.0)
        return f"error mean {100 * relative.mean():7.4f} %, max {100 * relative.max():7.3f} %"

    grow(Front(fields, burnt, 0.0))
    start_s, front = _best(lambda: Front(fields, burnt, 0.0))
    copy_s, _ = _best(front.copy)
    ours_s, ours_times = _best(lambda: grow(front.copy()))
    rival_s, rival_times = _best(rival, 2)
    ours_ns = 1e9 * (ours_s - copy_s) / np.isfinite(ours_times).sum()
    rival_ns = 1e9 * rival_s / np.isfinite(rival_times).sum()
    print(f"length to width {ratio:g}, heading {TOWARD_DEG:g}°, {np.isfinite(ours_times).sum()} cells burnt")
    print(f"  Front: start once         {1e3 * start_s:7.1f} ms")
    print(f"  Front: growth             {ours_ns:7.0f} ns a cell  {error(ours_times)}")
    print(f"  {other:25s} {rival_ns:7.0f} ns a cell  {error(rival_times)}")
    print(f"  ratio                     {rival_ns / ours_ns:7.2f} ×")


def _hourly() -> None:
    noise = ndimage.gaussian_filter(np.random.default_rng(1).normal(size=(N, N)), 8.0)
    rate = 0.5 * np.exp(0.4 * noise / noise.std())
    fields = _fields(rate, 2.5, 3600.0 * np.arange(7.0))
    burnt = box(504_000.0, 5_235_000.0, 505_000.0, 5_236_000.0)

    def ours() -> Front:
        front = Front(fields, burnt, 0.0)
        front.advance(6 * 3600.0)
        return front

    whole_s, front = _best(ours)
    print(
        f"patchy fuel, wind turning each hour, 6 h, start included: {1e3 * whole_s:.1f} ms, {front.burnt.sum()} cells burnt"
    )


def _events() -> None:
    front = Front(_fields(RATE_MPS, 2.5, np.array([0.0, 1e6])), _start(2.5), 0.0)
    front.advance(5400.0)
    copy_s, _ = _best(front.copy)
    trace_s, (ring,) = _best(front.trace)
    last = len(ring.xy) // 8
    steps, holds = [], []
    for _ in range(20):
        twin = front.copy()
        begin = time.perf_counter()
        twin.hold(ring, 0, last, 9000.0)
        middle = time.perf_counter()
        twin.advance(5520.0)
        holds.append(middle - begin)
        steps.append(time.perf_counter() - middle)
    print(f"a ring of {len(ring.xy)} parts; best of 20")
    print(f"  trace {1e3 * trace_s:.3f} ms, copy {1e3 * copy_s:.3f} ms")
    print(f"  hold {last + 1} parts {1e3 * min(holds):.3f} ms, 2 min of growth {1e3 * min(steps):.3f} ms")


def main() -> None:
    exact4, exact1 = _exact(4.0)[0], _exact(1.0)[0]
    print(f"{N} × {N} cells of {CELL_M:g} m, best of {REPEATS}")
    _against(4.0, "scipy Dijkstra, 16 ways", lambda: _dijkstra(4.0, exact4))
    _against(1.0, "SimpleITK fast marching", lambda: _march(exact1))
    _hourly()
    _events()


if __name__ == "__main__":
    main()
