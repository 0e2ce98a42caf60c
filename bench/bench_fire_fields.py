"""Fire behaviour over the ground: time a cell and slot, against the same thing in plain numpy.

Sizes: 300 × 300 cells, 12 slots and 1000 × 1000 cells, 24 slots; 11 fuel models on rolling ground under
scattered trees, with the preparation of the ground in the time. The numpy evaluation of the smaller size is
checked against the kernel's answer; it starts from the same preparation. `Pace` is one member of an ensemble, from
the ground prepared to the metric of every slot. One thread. Run: `python bench/bench_fire_fields.py`.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from wetline.behaviour import LENGTH_TO_WIDTH_MAX, Variation, fire_fields, prepare_surface
from wetline.behaviour.cells import cells_of
from wetline.behaviour.dead_fuel import dead_fuel
from wetline.behaviour.over_ground import AS_GIVEN, _beds, slots_of
from wetline.behaviour.rothermel import reaction
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.units import MILE_PER_HOUR
from wetline.weather import Weather, from_one_hour_pct, live_moisture

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

SMALL, LARGE, REPEATS = (300, 12), (1000, 24), 5
START = datetime(2026, 7, 14, 9, tzinfo=UTC)
T = TypeVar("T")


def scene(n: int, slots: int) -> tuple[Ground, Weather]:
    """Rolling ground of many fuels under scattered trees, and a day of rising wind."""
    rng = np.random.default_rng(1)
    row, col = np.mgrid[0:n, 0:n]
    ground = Ground(
        grid=Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, n, n),
        elevation_m=(800.0 + 300.0 * np.sin(row / 30.0) + 200.0 * np.cos(col / 23.0)).astype(np.float32),
        fuel=rng.choice(np.array([1, 2, 4, 8, 10, 102, 122, 145, 165, 183, 98], np.int16), (n, n)),
        canopy_cover=rng.uniform(0.0, 0.8, (n, n)).astype(np.float32),
        canopy_height_m=np.full((n, n), 15.0, np.float32),
    )
    hour = np.arange(slots, dtype=np.float64)
    unknown = np.full(slots, np.nan)
    weather = Weather(
        time_s=START.timestamp() + 3600.0 * hour,
        temperature_c=20.0 + 0.5 * hour,
        humidity_pct=45.0 - hour,
        wind_mps=4.0 + 0.3 * hour,
        wind_from_deg=200.0 + 10.0 * hour,
        gust_mps=unknown,
        rain_mm=unknown,
        cloud_pct=unknown,
        visibility_m=unknown,
        elevation_m=700.0,
    )
    return ground, weather


def plain_numpy(
    ground: Ground, weather: Weather, variation: Variation = AS_GIVEN
) -> tuple[NDArray[np.float64], ...]:
    """The kernel's four outputs by whole-array expressions."""
    slots, everywhere = len(weather.time_s), slice(0, ground.grid.rows)
    _, hours = slots_of(weather, START, START + timedelta(hours=slots))
    cells = cells_of(ground, weather, everywhere, everywhere)
    dead = dead_fuel("day_tables", cells, weather)
    beds = _beds(cells, hours, live_moisture(weather), variation, None, dead)
    burns, model = cells.model >= 0, np.maximum(cells.model, 0)
    dry = [reaction(one, from_one_hour_pct(0.0), live_moisture(weather)) for one in cells.models]
    k, b = np.array([bed.wind_k for bed in dry])[model], np.array([bed.wind_b for bed in dry])[model]
    slope = np.array([bed.slope_coefficient for bed in dry])[model] * cells.slope_tan.astype(float) ** 2
    up = np.radians(cells.aspect_deg + 180.0)
    slot = np.arange(slots)[:, None, None]
    wind = (
        k
        * (
            variation.wind_factor
            * np.array([h.wind_mps for h in hours])[:, None, None]
            / 1.15
            * cells.adjustment
        )
        ** b
    )
    toward = np.radians(np.array([h.wind_from_deg for h in hours]) + variation.wind_turn_deg + 180.0)[
        :, None, None
    ]
    east = slope * np.sin(up) + wind * np.sin(toward)
    north = slope * np.cos(up) + wind * np.cos(toward)
    factor = np.hypot(east, north)
    u = (factor / k) ** (1.0 / b) / MILE_PER_HOUR
    ratio = np.clip(
        0.936 * np.exp(0.1147 * u) + 0.461 * np.exp(-0.0692 * u) - 0.397, 1.0, LENGTH_TO_WIDTH_MAX
    )
    rate = np.where(burns, beds.no_wind_mps[slot, model, cells.site] * (1.0 + factor), 0.0)
    intensity = rate * beds.heat_kj_per_m2[slot, model, cells.site]
    return rate, np.degrees(np.arctan2(east, north)) % 360.0, np.sqrt(1.0 - ratio**-2), intensity


def _best(work: Callable[[], T], repeats: int = REPEATS) -> tuple[float, T]:
    """Best processor time of this thread, and the result."""
    best = np.inf
    for _ in range(repeats):
        begin = time.thread_time()
        result = work()
        best = min(best, time.thread_time() - begin)
    return float(best), result


def _timed(size: tuple[int, int], *, rival: bool) -> None:
    n, slots = size
    ground, weather = scene(n, slots)
    end = START + timedelta(hours=slots)
    begin = time.perf_counter()
    found = fire_fields(ground, weather, start=START, until=end)
    first_s = time.perf_counter() - begin
    ours_s, found = _best(lambda: fire_fields(ground, weather, start=START, until=end))
    prepare_s, paces = _best(lambda: prepare_surface(ground, weather, start=START, until=end))
    out = np.empty((n, n, 3), np.float32)

    def member() -> None:
        pace = paces(Variation(wind_factor=1.1))
        for k in range(slots):
            pace.fill(k, 1e-6, out)

    pace_s, _ = _best(member)
    per_ns = 1e9 / (n * n * slots)
    print(
        f"{n} × {n} cells, {slots} slots; seconds of one thread, best of {REPEATS}; first call {first_s:.2f} s wall"
    )
    print(f"  fire_fields     {ours_s:7.3f} s  {ours_s * per_ns:6.1f} ns a cell and slot")
    print(f"  ground prepared {prepare_s:7.3f} s")
    print(f"  Pace, a member  {pace_s:7.3f} s  {pace_s * per_ns:6.1f} ns a cell and slot")
    if not rival:
        return
    numpy_s, plain = _best(lambda: plain_numpy(ground, weather))
    worst = np.max(np.abs(found.head_rate_mps - plain[0])) / plain[0].max()
    if worst > 1e-5:
        message = f"the two disagree by {worst:.1e} of the greatest rate"
        raise SystemExit(message)
    print(f"  plain numpy     {numpy_s:7.3f} s  {numpy_s * per_ns:6.1f} ns a cell and slot")
    print(
        f"  ratio           {numpy_s / ours_s:7.2f} ×   (largest difference {worst:.1e} of the greatest rate)"
    )


def main() -> None:
    _timed(SMALL, rival=True)
    _timed(LARGE, rival=False)


if __name__ == "__main__":
    main()
