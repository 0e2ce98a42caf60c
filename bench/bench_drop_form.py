"""Lines of 1,000 loads at 6 coverage levels by the planning form, in one call.

Ratio against the general-purpose way to the same lines in the same run: each flow sampled every half metre,
scipy's FFT convolution with a sampled Gaussian, and the places where straight lines between the points cross
each level. Process CPU time, the least of several runs; resolving the releases is not counted in either. Run:
`python bench/bench_drop_form.py`.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import fftconvolve

from wetline.drops import Release, lines_of, stack_for
from wetline.drops.form import middle_shapes
from wetline.drops.profile import longest_and_total_m
from wetline.drops.resolve import resolve
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wetline.drops.release import Resolved

LOADS, LEVELS, STEP_M, REACH = 1000, (0.5, 1.0, 2.0, 3.0, 4.0, 6.0), 0.5, 5.0


def least_cpu_s(call: Callable[[], object], times: int = 5) -> float:
    """The least process time [s] of several calls."""
    out = []
    for _ in range(times):
        begun = time.process_time()
        call()
        out.append(time.process_time() - begun)
    return min(out)


def loads() -> list[Release]:
    """Loads of several classes, each from its own height at its own speed in its own wind."""
    rng = np.random.default_rng(1)
    classes = ("twin_engine_scooper", "single_engine_tanker", "medium_helicopter", "large_tanker")
    return [
        Release(
            class_id=classes[i % len(classes)],
            height_m=float(rng.uniform(20.0, 120.0)),
            speed_mps=float(rng.uniform(25.0, 65.0)),
            heading_deg=0.0,
            wind_mps=float(rng.uniform(0.0, 8.0)),
            wind_from_deg=float(rng.uniform(0.0, 360.0)),
            temperature_c=float(rng.uniform(15.0, 40.0)),
            humidity_pct=float(rng.uniform(15.0, 80.0)),
        )
        for i in range(LOADS)
    ]


def convolved(resolved: list[Resolved]) -> NDArray[np.float64]:
    """The same lines by sampled flows and a general-purpose convolution."""
    shapes = middle_shapes(resolved)
    lines = np.zeros((len(resolved), len(LEVELS)))
    for i, load in enumerate(resolved):
        spread = shapes.spread_along_m[i]
        place = load.ground_speed_mps * (np.array(load.flow.t_s) - load.flow.middle_s)
        x = np.arange(place[0] - REACH * spread, place[-1] + REACH * spread, STEP_M)
        share = np.interp(x, place, load.flow.l_per_s, left=0.0, right=0.0) / (
            load.flow.litres * load.ground_speed_mps
        )
        half = np.arange(STEP_M, REACH * spread, STEP_M)
        off = np.concatenate((-half[::-1], [0.0], half)) / spread
        bell = np.exp(-0.5 * off * off) / (np.sqrt(2.0 * np.pi) * spread)
        scale = shapes.litres[i] / (np.sqrt(2.0 * np.pi) * shapes.spread_across_m[i])
        centre = scale * STEP_M * fftconvolve(share, bell, mode="same")
        for j, level in enumerate(LEVELS):
            lines[i, j] = longest_and_total_m(x, centre, level * COVERAGE_LEVEL)[0]
    return lines


def main() -> None:
    releases = loads()
    resolved = [resolve(release) for release in releases]
    lines_of(resolved[:10], LEVELS)
    form = least_cpu_s(lambda: lines_of(resolved, LEVELS))
    other = least_cpu_s(lambda: convolved(resolved), times=2)
    apart = np.abs(lines_of(resolved, LEVELS) - convolved(resolved)).max()
    print(f"{LOADS:,} loads at {len(LEVELS)} levels; process CPU time, best of several")
    print(f"  planning form, one call    {1e6 * form / LOADS:8.1f} µs a load")
    print(f"  scipy convolution          {1e6 * other / LOADS:8.1f} µs a load, {other / form:.0f} times that")
    print(f"  farthest apart             {apart:8.2f} m of line")

    def stacks() -> None:
        stack_for.cache_clear()
        for release in releases[:100]:
            stack_for(release, 3.0)

    print(f"  stack_for, with its band   {1e6 * least_cpu_s(stacks, times=2) / 100:8.0f} µs a call")


if __name__ == "__main__":
    main()
