"""Arrival times: CPU time a burnt cell against general ways in the same run, with errors, and memory.

One thread throughout; process time, so that other work on the machine counts less. Run:
`PYTHONPATH=tests python -m bench.bench_arrival [cells]`: a square of 1,000 cells, or as given, and one
four times as wide.

- Uniform fields against SimpleITK's fast marching, scikit-fmm where it is installed (both isotropic), and
  Dijkstra's algorithm with 32 neighbours. The exact answer is the ellipse grown from a point; every method
  starts from the exact times within 8 cells of head travel, and errors count beyond 20 cells.
- Fields that differ: smooth random rate, direction and length to width up to 6, with and without a tenth
  of the ground barriers of 4 × 4 cells; against Dijkstra's algorithm with 32, 80 and 144 neighbours. Errors
  on a square of 120 cells against shortest paths over nodes three times as close (the tests' reference).
- Events: contour, copy, hold, a short step.
"""

from __future__ import annotations

import importlib
import importlib.util
import resource
import sys
import time
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import SimpleITK
from bench.rival_dijkstra import dijkstra, edges
from scipy import ndimage
from shapely.geometry import Point, Polygon

from growth.reference import Ground, reference_s
from wetline.behaviour import FireFields
from wetline.grid import Grid, Projection
from wetline.growth import Front
from wetline.growth._kernels.layout import EVALUATIONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

CELL_M, RATE_MPS, AGE_S, TOWARD_DEG = 30.0, 0.3, 800.0, 17.0
FOREVER_S = 5e8
WIDTHS_S = (10.0, 100.0)
"""Of the rival's buckets: the best of these counts."""
T = TypeVar("T")


def best(work: Callable[[], T], repeats: int = 3) -> tuple[float, T]:
    """Least CPU time [s] of some runs, and the last result."""
    least = np.inf
    for _ in range(repeats):
        begin = time.process_time()
        result = work()
        least = min(least, time.process_time() - begin)
    return float(least), result


def make_fields(
    n: int,
    rate: ArrayLike,
    toward: ArrayLike,
    ratio: ArrayLike,
    burns: NDArray[np.bool_] | None = None,
    edges_s: ArrayLike = (0.0, 1e9),
) -> FireFields:
    edges_s = np.asarray(edges_s, float)
    shape = (len(edges_s) - 1, n, n)
    burns = np.ones((n, n), bool) if burns is None else burns

    def full(value: ArrayLike) -> NDArray[np.float32]:
        return np.ascontiguousarray(np.broadcast_to(np.asarray(value, np.float32), shape))

    return FireFields(
        grid=Grid(Projection("EPSG:32625"), 500_000.0, 5_240_000.0, CELL_M, n, n),
        start=datetime(2031, 7, 14, 12, tzinfo=UTC),
        edges_s=edges_s,
        head_rate_mps=np.where(burns, full(rate), np.float32(0.0)),
        head_toward_deg=full(toward),
        eccentricity=full(np.sqrt(1.0 - np.asarray(ratio, float) ** -2)),
        head_intensity_kw_per_m=full(1000.0),
        burnable=burns,
    )


def random_fields(n: int, *, barriers: bool) -> FireFields:
    """Fields that change over some twenty cells; the middle is free of barriers."""

    def noise(seed: int) -> NDArray[np.float64]:
        field = ndimage.gaussian_filter(np.random.default_rng(seed).normal(size=(n, n)), 20.0, mode="wrap")
        return np.asarray(field / field.std())

    burns = np.ones((n, n), bool)
    if barriers:
        burns = ~np.kron(np.random.default_rng(4).random((n // 4, n // 4)) < 0.1, np.ones((4, 4), bool))
        burns[n // 2 - 12 : n // 2 + 12, n // 2 - 12 : n // 2 + 12] = True
    ratio = 1.0 + 5.0 / (1.0 + np.exp(-1.2 * noise(3)))
    return make_fields(n, RATE_MPS * np.exp(0.5 * noise(1)), 40.0 * noise(2), ratio, burns)


def costs(fields: FireFields) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """(a, w to the east, w to the south) [s per cell], as the rival reads them."""
    rate = np.where(fields.burnable, fields.head_rate_mps[0], 1.0).astype(float)
    e, toward = fields.eccentricity[0].astype(float), np.radians(fields.head_toward_deg[0])
    a = CELL_M / (rate * (1.0 - e))
    w = np.where(fields.burnable, a * e, 0.0)
    east, south = (np.ascontiguousarray(w * part, np.float32) for part in (np.sin(toward), -np.cos(toward)))
    return np.ascontiguousarray(np.where(fields.burnable, a, np.inf), np.float32), east, south


def rival(
    fields: FireFields, reach: int, burnt: NDArray[np.bool_], times: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64]]:
    """CPU time [ns a cell] and times of the fastest of its bucket widths."""
    a, east, south = costs(fields)
    ways = edges(reach)
    dijkstra(a, east, south, times, np.zeros_like(burnt), ways, 10.0)  # compiles
    found = []
    for width in WIDTHS_S:
        spent, result = best(partial(dijkstra, a, east, south, times, burnt, ways, width), 2)
        found.append((1e9 * spent / np.isfinite(result).sum(), result))
    return min(found, key=lambda f: f[0])


def ours(fields: FireFields, burnt: Polygon) -> tuple[float, float, NDArray[np.float64]]:
    """CPU time [ns a cell], evaluations a cell and times of `Front`; the start is not counted."""
    front = Front(fields, burnt, 0.0)

    def grow() -> Front:
        grown = front.copy()
        grown.advance(FOREVER_S)
        return grown

    copy_s, _ = best(front.copy)
    spent, grown = best(grow)
    cells = grown.burnt.sum()
    state = grown._state  # noqa: SLF001  the count of evaluations is no part of the face
    return 1e9 * (spent - copy_s) / cells, state.counts[EVALUATIONS] / cells, grown.arrival_s


def ignition(grid: Grid) -> tuple[float, float]:
    x, y = grid.xy(grid.rows // 2, grid.cols // 2)
    return float(x) + 4.0, float(y) - 9.0


def exact_times(grid: Grid, ratio: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Time since ignition and distance from it [cells], for every cell of a uniform field."""
    x, y = ignition(grid)
    cx, cy = grid.xy(*np.mgrid[: grid.rows, : grid.cols])
    e, head = np.sqrt(1.0 - ratio**-2), np.radians(TOWARD_DEG)
    r = np.hypot(cx - x, cy - y)
    along = (cx - x) * np.sin(head) + (cy - y) * np.cos(head)
    return (r - e * along) / (RATE_MPS * (1.0 - e)), r / CELL_M


def young_ellipse(grid: Grid, ratio: float) -> Polygon:
    x, y = ignition(grid)
    e = np.sqrt(1.0 - ratio**-2)
    phi = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    r = RATE_MPS * AGE_S * (1.0 - e) / (1.0 - e * np.cos(phi))
    bearing = np.radians(TOWARD_DEG) + phi
    return Polygon(np.column_stack((x + r * np.sin(bearing), y + r * np.cos(bearing))))


def march(exact: NDArray[np.float64]) -> NDArray[np.float64]:
    """SimpleITK's fast marching, of first order."""
    library: Any = SimpleITK
    rows, cols = np.nonzero(exact <= AGE_S)
    filter_ = library.FastMarchingImageFilter()
    filter_.SetTrialPoints([(int(c), int(r)) for r, c in zip(rows, cols, strict=True)])
    filter_.SetInitialTrialValues([float(v) for v in exact[rows, cols]])
    filter_.SetStoppingValue(1e9)
    speed = library.GetImageFromArray(np.full(exact.shape, RATE_MPS / CELL_M))
    return np.asarray(library.GetArrayFromImage(filter_.Execute(speed)))


def march_second_order(exact: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """scikit-fmm, of second order, from the contour at `AGE_S`; None where it is not installed."""
    if importlib.util.find_spec("skfmm") is None:
        return None
    library: Any = importlib.import_module("skfmm")
    found = library.travel_time(
        exact - AGE_S, np.full(exact.shape, RATE_MPS), dx=CELL_M / RATE_MPS * RATE_MPS
    )
    return np.asarray(np.where(exact > AGE_S, found + AGE_S, exact))


def uniform(n: int, ratio: float) -> None:
    fields = make_fields(n, RATE_MPS, TOWARD_DEG, ratio)
    exact, away = exact_times(fields.grid, ratio)

    def error(times: NDArray[np.float64]) -> str:
        part = np.abs(times[away > 20] / exact[away > 20] - 1.0)
        return f"error mean {100 * part.mean():8.4f} %, max {100 * part.max():7.3f} %"

    spent, evaluations, times = ours(fields, young_ellipse(fields.grid, ratio))
    times = np.where(exact > AGE_S, times + AGE_S, exact)
    print(f"uniform, length to width {ratio:g}, {n} × {n} cells")
    print(
        f"  Front                     {spent:6.0f} ns a cell  {error(times)}  ({evaluations:.2f} evaluations)"
    )
    others: list[tuple[str, float, NDArray[np.float64]]] = []
    if ratio == 1.0:
        taken, found = best(lambda: march(exact), 2)
        others.append(("SimpleITK fast marching", 1e9 * taken / found.size, found))
        taken, second = best(lambda: march_second_order(exact), 2)
        if second is None:
            print("  scikit-fmm                 not installed")
        else:
            others.append(("scikit-fmm, order 2", 1e9 * taken / second.size, second))
    taken, found = rival(fields, 3, exact <= AGE_S, exact)
    others.append(("Dijkstra, 32 neighbours", taken, found))
    for name, taken, found in others:
        print(f"  {name:25s} {taken:6.0f} ns a cell  {error(found)}  ratio {taken / spent:.2f}")


def differing(n: int, *, barriers: bool) -> None:
    fields, small = random_fields(n, barriers=barriers), random_fields(120, barriers=barriers)
    start = Point(*ignition(small.grid)).buffer(8 * CELL_M, quad_segs=64)
    _, _, our_times = ours(small, start)
    until_s = float(np.quantile(our_times[np.isfinite(our_times)], 0.7))
    finer = by_paths(small, start, until_s)

    def error(times: NDArray[np.float64]) -> str:
        known = np.isfinite(times) & np.isfinite(finer) & (finer > 0.05 * until_s)
        part = np.abs(times[known] / finer[known] - 1.0)
        return f"mean error {100 * part.mean():6.2f} %"

    spent, evaluations, times = ours(fields, Point(*ignition(fields.grid)).buffer(8 * CELL_M, quad_segs=64))
    print(f"random fields{', a tenth barriers' if barriers else ''}, {n} × {n} cells")
    print(
        f"  Front                     {spent:6.0f} ns a cell  {error(our_times)}  ({evaluations:.2f} evaluations)"
    )
    for reach, neighbours in ((3, 32), (5, 80), (7, 144)):
        taken, _ = rival(fields, reach, times == 0.0, np.zeros((n, n)))
        _, found = rival(small, reach, our_times == 0.0, np.zeros((120, 120)))
        print(
            f"  Dijkstra, {neighbours:3d} neighbours  {taken:6.0f} ns a cell  {error(found)}  ratio {taken / spent:.2f}"
        )


def by_paths(fields: FireFields, burnt: Polygon, until_s: float) -> NDArray[np.float64]:
    """The tests' reference, its nodes three times as close, fields interpolated between cells."""
    n = fields.grid.rows

    def fine(values: NDArray[Any]) -> NDArray[np.float64]:
        at = (np.mgrid[: 3 * n, : 3 * n] - 1.0) / 3.0
        return ndimage.map_coordinates(values.astype(float), at, order=1, mode="nearest")[None]

    burns = np.kron(fields.burnable, np.ones((3, 3), bool))
    rate = np.exp(fine(np.log(np.where(fields.burnable, fields.head_rate_mps[0], RATE_MPS))))
    ground = Ground(
        cell_m=CELL_M / 3.0,
        west_m=fields.grid.west_m + CELL_M / 6.0,
        north_m=fields.grid.north_m - CELL_M / 6.0,
        rate_mps=rate,
        toward_deg=fine(fields.head_toward_deg[0]),
        eccentricity=fine(fields.eccentricity[0]),
        burns=burns,
        edges_s=fields.edges_s,
        lines=np.empty((0, 5)),
    )
    return reference_s(ground, burnt, until_s, 9)[1::3, 1::3]


def memory(n: int) -> None:
    """Bytes a cell of what one solve holds, and what the process grew by at its peak."""
    fields = make_fields(n, RATE_MPS, TOWARD_DEG, 4.0)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.process_time()
    front = Front(fields, young_ellipse(fields.grid, 4.0), 0.0)
    front.advance(FOREVER_S)
    spent = time.process_time() - begin
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    state, metric = front._state, front._metric  # noqa: SLF001  measured from outside on purpose
    arrays = {id(v): v.nbytes for v in [*state.cells, *state.lines, state.queue, state.cross_link]}
    held = sum(arrays.values()) + metric.slot(0).nbytes + metric.last_slot.nbytes + metric.status.nbytes
    print(f"{n} × {n} cells, start included: {1e9 * spent / n**2:.0f} ns a cell")
    print(f"  arrays {held / n**2:.1f} bytes a cell, peak of the process {1024 * (peak - before) / n**2:.1f}")


def hourly() -> None:
    n = 300
    noise = ndimage.gaussian_filter(np.random.default_rng(1).normal(size=(n, n)), 8.0)
    toward = TOWARD_DEG + 15.0 * np.arange(6)[:, None, None]
    fields = make_fields(
        n, 0.5 * np.exp(0.4 * noise / noise.std()), toward, 2.5, edges_s=3600.0 * np.arange(7)
    )
    burnt = Point(504_500.0, 5_235_500.0).buffer(560.0)

    def grow() -> Front:
        front = Front(fields, burnt, 0.0)
        front.advance(6 * 3600.0)
        return front

    spent, front = best(grow, 5)
    print(
        f"wind that turns each hour, 6 h, start included: {1e3 * spent:.1f} ms, {front.burnt.sum()} cells burnt"
    )


def events() -> None:
    fields = make_fields(300, RATE_MPS, TOWARD_DEG, 2.5)
    front = Front(fields, young_ellipse(fields.grid, 2.5), 0.0)
    front.advance(5400.0)
    copy_s, _ = best(front.copy, 5)
    trace_s, (ring,) = best(front.trace, 5)
    last = len(ring.xy) // 8
    steps, holds = [], []
    for _ in range(20):
        twin = front.copy()
        begin = time.process_time()
        twin.hold(ring, 0, last, 9000.0)
        middle = time.process_time()
        twin.advance(5520.0)
        holds.append(middle - begin)
        steps.append(time.process_time() - middle)
    print(f"a ring of {len(ring.xy)} parts; best of 20")
    print(f"  trace {1e3 * trace_s:.3f} ms, copy {1e3 * copy_s:.3f} ms")
    print(f"  hold {last + 1} parts {1e3 * min(holds):.3f} ms, 2 min of growth {1e3 * min(steps):.3f} ms")


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    memory(100)  # compiles
    memory(4 * n)  # first, so that the peak is its own
    memory(n)
    for ratio in (1.0, 4.0):
        uniform(n, ratio)
    for barriers in (False, True):
        differing(n, barriers=barriers)
    hourly()
    events()


if __name__ == "__main__":
    main()
