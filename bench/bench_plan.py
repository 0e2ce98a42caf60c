"""The plan of the invented incident, end to end: first run ever, then warm; and its peak memory.

Size: the demo of seed 1, 16 varied futures. The first run compiles every kernel into an empty cache; both
run as commands, so start, reading and checks count. The memory is the largest resident set of the warm one.
Then, in this process, free growth of the middle future over the plan's window against a general-purpose
library: scipy's Dijkstra over links to the 8 neighbours, with the rates of the first hour. That one knows no
change of wind, no sub-cell start and only 8 directions (which is why its area differs); its links would have
to be made anew for every hour. No time counts the making of our fields. Run: `python bench/bench_plan.py`.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from wetline.app.situation import look
from wetline.app.sizeup import scene_of
from wetline.attack import Scene, free_growth
from wetline.behaviour import FireFields, Variation
from wetline.units import HECTARE, HOUR

if TYPE_CHECKING:
    from collections.abc import Callable

SEED, MEMBERS, HOURS, REPEATS = 1, 16, 6, 3
STEPS = [(row, col) for row in (-1, 0, 1) for col in (-1, 0, 1) if row or col]


def command(*words: str, cache: str) -> tuple[float, float]:
    """Seconds and peak resident memory [MiB] of one command in a process of its own."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": cache}
    begin = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-m", "wetline", *words], stdout=subprocess.DEVNULL, env=environment
    )
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)  # waited for here, not by Popen
    if child.returncode not in {0, 3}:
        message = f"wetline {' '.join(words)} left with {child.returncode}"
        raise SystemExit(message)
    return time.perf_counter() - begin, usage.ru_maxrss / 1024.0


def links(fields: FireFields) -> csr_array:
    """Seconds from each cell of the first slot to its 8 neighbours, at the rate in their direction."""
    rate, toward, ecc = (
        np.asarray(layer[0], float)
        for layer in (fields.head_rate_mps, fields.head_toward_deg, fields.eccentricity)
    )
    rows, cols = rate.shape
    number = np.arange(rows * cols).reshape(rows, cols)
    tails, heads, times = [], [], []
    for down, right in STEPS:
        here = (slice(max(0, -down), rows - max(0, down)), slice(max(0, -right), cols - max(0, right)))
        there = (slice(max(0, down), rows + min(0, down)), slice(max(0, right), cols + min(0, right)))
        bearing = np.degrees(np.arctan2(right, -down))
        slow = 0.0
        for cells in (here, there):
            turn = np.cos(np.radians(bearing - toward[cells]))
            with np.errstate(divide="ignore"):
                slow = slow + 0.5 * (1.0 - ecc[cells] * turn) / (rate[cells] * (1.0 - ecc[cells]))
        seconds = fields.grid.cell_m * np.hypot(down, right) * slow
        burns = np.isfinite(seconds)
        tails.append(number[here][burns])
        heads.append(number[there][burns])
        times.append(seconds[burns])
    joined = (np.concatenate(times), (np.concatenate(tails), np.concatenate(heads)))
    return coo_array(joined, shape=(rows * cols, rows * cols)).tocsr()


def by_dijkstra(scene: Scene, graph: csr_array) -> float:
    """Burnt area [m²] after `HOURS` by shortest paths from the cells inside the perimeter."""
    row, col = np.mgrid[0 : scene.window.rows, 0 : scene.window.cols]
    x, y = scene.window.xy(row.ravel(), col.ravel())
    shapely.prepare(scene.burnt)
    inside = np.flatnonzero(shapely.contains_xy(scene.burnt, x, y))
    arrival = dijkstra(graph, indices=inside, min_only=True, limit=HOURS * HOUR)
    return float(np.isfinite(arrival).sum()) * scene.window.cell_m**2


def by_front(scene: Scene, fields: FireFields) -> float:
    """The same by our own growth, through every hour's weather."""
    hours_s = [HOUR * hour for hour in range(1, HOURS + 1)]
    grown = free_growth(scene, Variation(), hours_s, place_cells=(), keep=False, fields=fields)
    return float(grown.area_m2[-1])


def growth(folder: Path) -> None:
    """Both ways of growing over one window, best of several runs after one to warm up."""
    situation = look(folder, None)
    end = situation.now + timedelta(hours=HOURS)
    scene = scene_of(situation, look_until=end, keep_until=end)
    fields = scene.fields(Variation())
    window = f"{scene.window.rows} × {scene.window.cols} cells of {scene.window.cell_m:g} m, {HOURS} h"
    print(f"free growth over {window}, best of {REPEATS}")
    graph = links(fields)
    ways: dict[str, Callable[[], float]] = {
        "growth.Front": lambda: by_front(scene, fields),
        "scipy dijkstra": lambda: by_dijkstra(scene, graph),
        "the same, links made": lambda: by_dijkstra(scene, links(fields)),
    }
    taken = []
    for name, way in ways.items():
        way()
        best = np.inf
        for _ in range(REPEATS):
            begin = time.perf_counter()
            area_m2 = way()
            best = min(best, time.perf_counter() - begin)
        taken.append(best)
        ratio = taken[0] / best
        print(
            f"{name:<24} {best * 1e3:8.1f} ms   burnt {area_m2 / HECTARE:7.1f} ha   ours over it {ratio:5.2f} ×"
        )


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder, cache = Path(name) / "incident", str(Path(name) / "cache")
        command("demo", str(folder), "--seed", str(SEED), cache=cache)
        words = ("plan", str(folder), "--members", str(MEMBERS), "--json")
        print(f"demo of seed {SEED}, {MEMBERS} varied futures, {os.cpu_count()} cores")
        cold_s, _ = command(*words, cache=cache)
        warm_s, peak_mib = min(command(*words, cache=cache) for _ in range(REPEATS))
        print(f"plan, first run ever     {cold_s:8.1f} s   (kernels compiled)")
        print(f"plan, warm               {warm_s:8.1f} s   best of {REPEATS}, peak {peak_mib:.0f} MiB")
        growth(folder)


if __name__ == "__main__":
    main()
