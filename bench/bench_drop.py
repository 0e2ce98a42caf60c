"""The droplet model and the planning form: seconds a drop of one core, against scipy drop by drop.

Size: 6,000 L in 2 s at 57 m/s from 30 to 250 m, 100,000 parcels; the planning form answers the same
drops. The rival takes one lone drop of the same model at a time through scipy's `solve_ivp` (LSODA):
drag, drying and fall alone, no column, curtain, wake or wind. Times are CPU times of this thread.
Run: `python bench/bench_drop.py`.
"""

from __future__ import annotations

import math
import time
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from scipy.integrate import solve_ivp

from wetline.drops import Release, droplets, line_m, liquid
from wetline.drops.drag import drop_drag
from wetline.drops.moist_air import moist_air
from wetline.drops.resolve import resolve
from wetline.drops.spectrum import sizes_m

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

PARCELS, SAMPLE, FAST = 100_000, 40, 20
SALVO = Release(
    class_id="twin_engine_scooper",
    load_l=6000.0,
    speed_mps=57.0,
    duration_s=2.0,
    heading_deg=0.0,
    wind_mps=4.0,
    wind_from_deg=250.0,
)


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Least CPU seconds of this thread."""
    best = math.inf
    for _ in range(times):
        begin = time.thread_time()
        work()
        best = min(best, time.thread_time() - begin)
    return best


def lone_drop(diameter_m: float, height_m: float) -> float:
    """Throw [m] of one drop let go at 57 m/s, by a general integrator."""
    water, air = liquid("water"), moist_air(25.0, 50.0)
    drag = drop_drag(water, air)

    def rate(_: float, now: NDArray[np.float64]) -> list[float]:
        d, slip = max(now[4], 1e-6), math.hypot(now[2], now[3])
        pull = 0.75 * float(drag.coefficient(d, slip)) * air.density_kg_per_m3 * slip
        pull /= water.density_kg_per_m3 * d
        reynolds = air.density_kg_per_m3 * slip * d / air.viscosity_pa_s
        sherwood = 2.0 + 0.6 * math.sqrt(reynolds) * air.schmidt ** (1.0 / 3.0)
        dries = 2.0 * air.diffusivity_m2_per_s * sherwood * air.deficit_kg_per_m3
        dries /= water.density_kg_per_m3 * d
        return [now[2], now[3], -pull * now[2], -9.81 - pull * now[3], -dries]

    def ground(_: float, now: NDArray[np.float64]) -> float:
        return float(now[1])

    ground.terminal = True  # type: ignore[attr-defined]
    begin = [0.0, height_m, 57.0, -1e-6, diameter_m]
    return float(solve_ivp(rate, (0.0, 60.0), begin, method="LSODA", events=ground, rtol=1e-4).y[0, -1])


def lone_drops(sizes: list[float], height_m: float) -> list[float]:
    return [lone_drop(d, height_m) for d in sizes]


def main() -> None:
    share = (np.arange(SAMPLE) + 0.5) / SAMPLE
    sizes = [float(d) for d in sizes_m(share, 2.5, 1.8, 10.0)]
    print(f"{PARCELS} parcels, 6,000 L in 2 s at 57 m/s, wind 4 m/s; CPU time of one thread")
    for height_m in (30.0, 60.0, 100.0, 250.0):
        release = replace(SALVO, height_m=height_m)
        resolved = resolve(release)
        droplets(resolved, parcels=PARCELS)
        ours = seconds(partial(droplets, resolved, parcels=PARCELS))
        few = seconds(partial(droplets, resolved, parcels=20_000))
        form = seconds(partial(line_m, release, 2.0), FAST)
        rival = seconds(partial(lone_drops, sizes, height_m), 1) / SAMPLE
        print(
            f"from {height_m:3.0f} m: droplets {ours:.3f} s ({1e6 * ours / PARCELS:.2f} µs a parcel), "
            f"20,000 parcels {few:.3f} s; planning form {1e6 * form:.0f} µs; "
            f"solve_ivp {1e3 * rival:.1f} ms a drop, {rival * PARCELS / ours:.0f} times as slow"
        )


if __name__ == "__main__":
    main()
