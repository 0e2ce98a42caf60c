"""An ensemble, from ground and weather to the map of shares, against the unhurried path and a library.

Size: 100 members and the middle future of 300 × 300 cells of 30 m, 12 h of hourly weather, patchy fuel
with 3 % that does not burn, on rolling ground. The unhurried path makes each member's whole fields and solves
on them; errors count over cells that both burn after the start. The library, SimpleITK's fast marching, is
given those fields for nothing and goes hour by hour from the rim of what has burnt, at the head rate in every
direction: a rounder fire than asked for. Both are timed on one thread, on the first `FEW` members, and scaled.
Run: `python bench/bench_ensemble.py`.
"""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import shapely
import SimpleITK
from scipy import ndimage
from shapely.geometry import Point

from wetline.behaviour import FireFields, fire_fields, prepare_surface
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.growth import Ensemble, Front, ensemble, member
from wetline.weather import Weather

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

N, CELL_M, HOURS, MEMBERS, SEED, FEW, REPEATS = 300, 30.0, 12, 100, 1, 8, 3
START = datetime(2026, 7, 14, 9, tzinfo=UTC)
END = START + timedelta(hours=HOURS)
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, CELL_M, N, N)
HOURS_S = [3600.0 * (k + 1) for k in range(HOURS)]
BURNT = Point(GRID.west_m + 0.3 * N * CELL_M, GRID.north_m - 0.75 * N * CELL_M).buffer(600.0)
T = TypeVar("T")


def _scene() -> tuple[Ground, Weather]:
    noise = ndimage.gaussian_filter(np.random.default_rng(1).normal(size=(2, N, N)), (0, 6.0, 6.0))
    rank = noise.argsort(axis=None).argsort().reshape(noise.shape) % (N * N) / (N * N)
    codes = np.array([98, 2, 4, 8, 10, 102, 122, 145, 165, 183], np.int16)
    share = np.quantile(noise[0], np.concatenate([[0.03], np.linspace(0.03, 1.0, 10)[1:-1]]))
    row, col = np.mgrid[0:N, 0:N]
    ground = Ground(
        grid=GRID,
        elevation_m=(800.0 + 150.0 * np.sin(row / 30.0) + 100.0 * np.cos(col / 23.0)).astype(np.float32),
        fuel=codes[np.searchsorted(share, noise[0])],
        canopy_cover=(0.8 * rank[1]).astype(np.float32),
        canopy_height_m=np.full((N, N), 15.0, np.float32),
    )
    hour = np.arange(HOURS, dtype=np.float64)
    unknown = np.full(HOURS, np.nan)
    weather = Weather(
        time_s=START.timestamp() + 3600.0 * hour,
        temperature_c=20.0 + hour,
        humidity_pct=45.0 - 2.0 * hour,
        wind_mps=9.0 + 0.3 * hour,
        wind_from_deg=225.0 - 5.0 * hour,
        gust_mps=unknown,
        rain_mm=unknown,
        cloud_pct=unknown,
        visibility_m=unknown,
        elevation_m=700.0,
    )
    return ground, weather


def _best(work: Callable[[], T], repeats: int = REPEATS) -> tuple[float, T]:
    best = np.inf
    for _ in range(repeats):
        begin = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - begin)
    return float(best), result


def _cpu_s(work: Callable[[], object]) -> float:
    """Processor seconds, those of child processes among them."""
    before = os.times()
    work()
    after = os.times()
    return sum(after[:4]) - sum(before[:4])


def _fields(ground: Ground, weather: Weather, number: int) -> FireFields:
    return fire_fields(ground, weather, start=START, until=END, variation=member(number, SEED))


def _arrival(front: Front) -> NDArray[np.float64]:
    for t_s in HOURS_S:
        front.advance(t_s)
        front.trace()
    return front.arrival_s


def _march(rate: NDArray[np.float32]) -> NDArray[np.bool_]:
    library: Any = SimpleITK
    x, y = GRID.xy(*np.mgrid[:N, :N])
    burnt = np.asarray(shapely.contains_xy(BURNT, x, y))
    for k in range(HOURS):
        march = library.FastMarchingImageFilter()
        rows, cols = np.nonzero(burnt & ~ndimage.binary_erosion(burnt))
        march.SetTrialPoints(list(zip(cols.tolist(), rows.tolist(), strict=True)))
        march.SetStoppingValue(3600.0)
        speed = np.where(burnt, 0.0, rate[k].astype(float) / CELL_M)
        found = march.Execute(library.GetImageFromArray(speed))
        burnt |= np.asarray(library.GetArrayFromImage(found)) <= 3600.0
    return burnt


def main() -> None:
    ground, weather = _scene()

    def ours(workers: int | None = None) -> Ensemble[None]:
        paces = prepare_surface(ground, weather, start=START, until=END)
        return ensemble(paces, BURNT, at_s=0.0, hours_s=HOURS_S, members=MEMBERS, seed=SEED, workers=workers)

    begin = time.perf_counter()
    ours()
    first_s = time.perf_counter() - begin
    ours_s, found = _best(ours)
    one_s, _ = _best(lambda: ours(1), 1)
    cpu_s = _cpu_s(ours)

    numbers = range(1, FEW + 1)
    slow_s, exact = _best(
        lambda: [_arrival(Front(_fields(ground, weather, k), BURNT, 0.0)) for k in numbers], 2
    )
    paces = prepare_surface(ground, weather, start=START, until=END)
    quick = [_arrival(Front(paces(member(k, SEED)), BURNT, 0.0)) for k in numbers]
    errors, other = [], 0
    for a, b in zip(quick, exact, strict=True):
        both = np.isfinite(a) & np.isfinite(b) & (b > 0.0)
        errors.append(np.abs(a[both] / b[both] - 1.0))
        other += int(np.sum(np.isfinite(a) != np.isfinite(b)))
    error = np.concatenate(errors)
    rates = [_fields(ground, weather, k).head_rate_mps for k in numbers]
    library_s, round_fires = _best(lambda: [_march(rate) for rate in rates], 1)

    scale = (MEMBERS + 1) / FEW
    burnt = found.burnt_in[-1].sum() / found.of
    print(f"{MEMBERS} members and the middle, {N} × {N} cells, {HOURS} h; {burnt:.0f} cells burnt a member")
    print(f"first call, kernels from cache or compiled {first_s:7.2f} s")
    print(
        f"ensemble, {os.cpu_count()} cores, best of {REPEATS}          {ours_s:7.2f} s wall, {cpu_s:.2f} core-s"
    )
    print(
        f"ensemble, 1 core                         {one_s:7.2f} s wall, {1e3 * one_s / found.of:.1f} ms a member"
    )
    print(
        f"unhurried path, 1 core, scaled           {slow_s * scale:7.2f} s   {slow_s * scale / one_s:6.2f} ×"
    )
    print(
        f"SimpleITK, growth alone, 1 core, scaled  {library_s * scale:7.2f} s   {library_s * scale / one_s:6.2f} ×"
        f"   ({np.mean(round_fires) * N * N:.0f} cells burnt a member)"
    )
    print(
        f"arrival against the unhurried path: mean {100 * error.mean():.4f} %, max {100 * error.max():.3f} %; "
        f"{other} of {error.size} cells burn in one only"
    )


if __name__ == "__main__":
    main()
