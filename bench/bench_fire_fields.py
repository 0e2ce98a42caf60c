"""Fire behaviour over the ground: cells · slots a second, against the same thing in plain numpy.

Size: 300 × 300 cells, 12 slots, 11 fuel models on rolling ground under scattered trees. The numpy
evaluation starts from the same prepared cells and beds and is checked against the kernel's answer, so
the ratio compares the work per cell and slot alone. Run: `python bench/bench_fire_fields.py`.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from wetline.behaviour import LENGTH_TO_WIDTH_MAX, FireFields, Variation, fire_fields
from wetline.behaviour.cells import cells_of
from wetline.behaviour.dead_fuel import dead_fuel
from wetline.behaviour.over_ground import _beds, slots_of
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.units import MILE_PER_HOUR
from wetline.weather import Weather, live_moisture

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

N, SLOTS, REPEATS = 300, 12, 5
START = datetime(2026, 7, 14, 9, tzinfo=UTC)
T = TypeVar("T")


def _scene() -> tuple[Ground, Weather]:
    rng = np.random.default_rng(1)
    row, col = np.mgrid[0:N, 0:N]
    ground = Ground(
        grid=Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, N, N),
        elevation_m=(800.0 + 300.0 * np.sin(row / 30.0) + 200.0 * np.cos(col / 23.0)).astype(np.float32),
        fuel=rng.choice(np.array([1, 2, 4, 8, 10, 102, 122, 145, 165, 183, 98], np.int16), (N, N)),
        canopy_cover=rng.uniform(0.0, 0.8, (N, N)).astype(np.float32),
        canopy_height_m=np.full((N, N), 15.0, np.float32),
    )
    hour = np.arange(SLOTS, dtype=np.float64)
    unknown = np.full(SLOTS, np.nan)
    weather = Weather(
        time_s=START.timestamp() + 3600.0 * hour,
        temperature_c=20.0 + hour,
        humidity_pct=45.0 - 2.0 * hour,
        wind_mps=4.0 + 0.4 * hour,
        wind_from_deg=200.0 + 10.0 * hour,
        gust_mps=unknown,
        rain_mm=unknown,
        cloud_pct=unknown,
        visibility_m=unknown,
        elevation_m=700.0,
    )
    return ground, weather


def _numpy(ground: Ground, weather: Weather) -> tuple[NDArray[np.float64], ...]:
    """The kernel's four outputs by whole-array expressions."""
    _, hours = slots_of(weather, START, START + timedelta(hours=SLOTS))
    everywhere = slice(0, N)
    cells = cells_of(ground, weather, everywhere, everywhere)
    beds = _beds(
        cells, hours, live_moisture(weather), Variation(), None, dead_fuel("day_tables", cells, weather)
    )
    burns, model = cells.model >= 0, np.maximum(cells.model, 0)
    k, b = beds.wind_k[model], beds.wind_b[model]
    slope = beds.slope_k[model] * cells.slope_tan.astype(float) ** 2
    up = np.radians(cells.aspect_deg + 180.0)
    slot = np.arange(SLOTS)[:, None, None]
    wind = k * (np.array([h.wind_mps for h in hours])[:, None, None] / 1.15 * cells.adjustment) ** b
    toward = np.radians(np.array([h.wind_from_deg for h in hours]) + 180.0)[:, None, None]
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


def _best(work: Callable[[], T]) -> tuple[float, T]:
    best = np.inf
    for _ in range(REPEATS):
        begin = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - begin)
    return float(best), result


def main() -> None:
    ground, weather = _scene()

    def ours() -> FireFields:
        return fire_fields(ground, weather, start=START, until=START + timedelta(hours=SLOTS))

    begin = time.perf_counter()
    ours()
    first_s = time.perf_counter() - begin
    ours_s, found = _best(ours)
    numpy_s, plain = _best(lambda: _numpy(ground, weather))
    worst = np.max(np.abs(found.head_rate_mps - plain[0])) / plain[0].max()
    if worst > 1e-5:
        message = f"the two disagree by {worst:.1e} of the greatest rate"
        raise SystemExit(message)
    work = N * N * SLOTS
    print(f"{N} × {N} cells, {SLOTS} slots, best of {REPEATS}; first call {first_s:.2f} s")
    print(f"fire_fields  {ours_s * 1e3:7.1f} ms  {work / ours_s / 1e6:6.2f} million cells·slots a second")
    print(f"plain numpy  {numpy_s * 1e3:7.1f} ms  {work / numpy_s / 1e6:6.2f} million cells·slots a second")
    print(f"ratio        {numpy_s / ours_s:7.2f} ×   (largest difference {worst:.1e} of the greatest rate)")


if __name__ == "__main__":
    main()
