"""Every lane of a water file of the whole world: a load test; nothing is claimed of the lanes.

Give a GeoJSON file of polygons, multipolygons or collections of them, however large: it is read in
pieces. Each outline is searched alone; outlines that touch are not joined here, and oceans (wider than
10° of longitude or latitude) are left out and counted. Printed: wall time, CPU time of the workers,
peak memory of the largest process, and counts.
Run: `python bench/bench_world_water.py PATH [WORKERS] [LENGTH_M] [CLEAR_M]`.
"""

from __future__ import annotations

import resource
import sys
import time
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.water import lanes_of_water

if TYPE_CHECKING:
    from collections.abc import Iterator

BATCH_LETTERS, AHEAD = 600_000, 2
OCEAN_DEG = 10.0


def polygons(path: Path, block: int = 1 << 20) -> Iterator[str]:
    """One polygon after another as GeoJSON text: each ends where a point, a ring and it itself do."""
    rest = ""
    with path.open(encoding="utf-8") as file:
        while more := file.read(block):
            *whole, rest = (rest + "".join(more.split())).split("]]]")
            for text in whole:
                start = text.find("[[[")
                if start >= 0:
                    yield '{"type":"Polygon","coordinates":[[[' + text[start:].lstrip("[") + "]]]}"


def batches(path: Path) -> Iterator[list[str]]:
    batch: list[str] = []
    letters = 0
    for text in polygons(path):
        batch.append(text)
        letters += len(text)
        if letters >= BATCH_LETTERS:
            yield batch
            batch, letters = [], 0
    if batch:
        yield batch


def search(first: int, texts: list[str], length_m: float, clear_m: float) -> np.ndarray:
    """Waters, points, waters with a lane, lanes, repaired or named, CPU [s], oceans, peak memory [MiB]."""
    begin = time.process_time()
    shapes = shapely.from_geojson(texts)
    counts = np.zeros(8)
    counts[0], counts[1] = len(shapes), shapely.get_num_coordinates(shapes).sum()
    west, south, east, north = shapely.bounds(shapes).T
    ocean = np.maximum(east - west, north - south) > OCEAN_DEG
    counts[6] = ocean.sum()
    for row, shape in enumerate(shapes, first):
        if ocean[row - first]:
            continue
        lanes, problems = lanes_of_water(row, row, shape, length_m=length_m, clear_m=clear_m, step_deg=5.0)
        counts[2] += bool(lanes)
        counts[3] += len(lanes)
        counts[4] += bool(problems)
    counts[5] = time.process_time() - begin
    counts[7] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return counts


def main() -> None:
    path = Path(sys.argv[1])
    workers, length_m, clear_m = (
        float(v) for v in (*sys.argv[2:], *("2", "1500", "50")[len(sys.argv) - 2 :])
    )
    begin = time.perf_counter()
    total, peak_mib, row = np.zeros(8), 0.0, 0
    waiting: set[Future[np.ndarray]] = set()
    with ProcessPoolExecutor(int(workers)) as pool:
        for batch in batches(path):
            waiting.add(pool.submit(search, row, batch, length_m, clear_m))
            row += len(batch)
            while len(waiting) >= workers * AHEAD:
                done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                for future in done:
                    total += future.result()
                    peak_mib = max(peak_mib, future.result()[7])
        for future in waiting:
            total += future.result()
            peak_mib = max(peak_mib, future.result()[7])
    own_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{total[0]:.0f} waters, {total[1]:.0f} points; {length_m:g} m, {clear_m:g} m each side, 5° steps")
    print(
        f"{total[3]:.0f} lanes in {total[2]:.0f} waters, {total[4]:.0f} repaired or named, {total[6]:.0f} oceans left out"
    )
    print(f"{time.perf_counter() - begin:.1f} s on {workers:.0f} workers, {total[5]:.1f} s of CPU in them")
    print(f"peak memory: {peak_mib:.0f} MiB the largest worker, {own_mib:.0f} MiB the reader")


if __name__ == "__main__":
    main()
