"""Lanes of ragged lakes: lakes a second of one core, against scan lines drawn with shapely.

Size: 50 lakes with dense, broken shores and up to 11 islands, 36 headings, lanes of 1,000 m with 50 m
to each side. The scan draws a line every 50 m and asks for the rectangle's width by erosion, as one
would do with a general-purpose library: all lines of a heading in one intersection. It misses length
and bands. Accuracy is told against 0.1° headings. Times are CPU times of this process.
Run: `python bench/bench_lanes.py`.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from shapely import affinity

from wetline.water import lanes_in, lanes_of_file, longest_lane

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.water import Strip

Result = TypeVar("Result")

LAKES, LENGTH_M, CLEAR_M, STEP_DEG = 50, 1000.0, 50.0, 5.0


def ragged_lake(seed: int) -> shapely.Polygon:
    """A star-shaped shore with octaves of noise, about 4 km across, less a few islands."""
    g = np.random.default_rng(seed)
    corners = int(g.integers(150, 420))
    angle = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    radius = np.full(corners, 1500.0)
    for octave in (2, 3, 5, 8, 13, 21, 34):
        radius *= 1.0 + 0.35 / octave**0.7 * np.sin(octave * angle + g.uniform(0.0, 2.0 * np.pi))
    shore = np.column_stack([1.4 * radius * np.cos(angle), radius * np.sin(angle)])
    lake = shapely.Polygon(shore).buffer(0.0)
    for _ in range(int(g.integers(0, 12))):
        turn = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)
        size = g.uniform(20.0, 180.0) * g.uniform(0.7, 1.3, 12)
        x, y = g.uniform(-1200.0, 1200.0, 2)
        island = shapely.Polygon(np.column_stack([x + size * np.cos(turn), y + size * np.sin(turn)]))
        lake = max(shapely.get_parts(lake - island.buffer(0.0)), key=shapely.area)
    return lake


def scan(lake: shapely.Polygon) -> float:
    """Longest chord of the eroded lake over the headings, on lines every 50 m; returns it in metres."""
    best = 0.0
    inner = shapely.buffer(lake, -CLEAR_M, quad_segs=4)
    if shapely.is_empty(inner):
        return best
    for heading in np.arange(0.0, 180.0, STEP_DEG):
        turned = affinity.rotate(inner, heading, origin=(0.0, 0.0))
        west, south, east, north = shapely.bounds(turned)
        lines = shapely.multilinestrings([[(x, south), (x, north)] for x in np.arange(west, east, CLEAR_M)])
        chords = shapely.get_parts(shapely.intersection(lines, turned))
        best = max(best, float(shapely.length(chords).max(initial=0.0)))
    return best


def timed(
    search: Callable[[shapely.Polygon], Result], lakes: list[shapely.Polygon]
) -> tuple[list[Result], float]:
    """What a search gives for each lake, and milliseconds of CPU a lake, compiling left out."""
    search(lakes[0])
    begin = time.process_time()
    found = [search(lake) for lake in lakes]
    return found, 1e3 * (time.process_time() - begin) / len(lakes)


def lost(longest: list[float], best: list[float]) -> str:
    loss = [100.0 * (1.0 - a / b) for a, b in zip(longest, best, strict=True) if b >= LENGTH_M]
    return f"longest lane short of the best by p50 {np.median(loss):.2f} %, p95 {np.percentile(loss, 95):.2f} %, most {max(loss):.2f} %"


def longest_m(strip: Strip | None) -> float:
    return strip.length_m if strip else 0.0


def main() -> None:
    lakes = [ragged_lake(seed) for seed in range(LAKES)]
    vertices = [len(shapely.get_coordinates(lake)) for lake in lakes]
    print(
        f"{LAKES} lakes, median {np.median(vertices):.0f} vertices; {LENGTH_M:g} m, {CLEAR_M:g} m each side"
    )
    drawn, scan_ms = timed(scan, lakes)
    found, ours_ms = timed(
        lambda lake: lanes_in(lake, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=STEP_DEG), lakes
    )
    at_1, at_1_ms = timed(lambda lake: longest_lane(lake, clear_m=CLEAR_M, step_deg=1.0), lakes)
    free, free_ms = timed(lambda lake: longest_lane(lake, clear_m=CLEAR_M, step_deg=None), lakes)
    every, every_ms = timed(
        lambda lake: lanes_in(lake, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=None), lakes[:10]
    )
    best = [longest_m(longest_lane(lake, clear_m=CLEAR_M, step_deg=0.1)) for lake in lakes]
    at_5 = [max((s.length_m for s in strips), default=0.0) for strips in found]
    print(f"shapely scan, 5°         {scan_ms:7.2f} ms a lake    {lost(drawn, best)}")
    print(f"lanes_in, 5°             {ours_ms:7.2f} ms a lake    {lost(at_5, best)}")
    print(
        f"  {scan_ms / ours_ms:.0f} times as fast as the scan, {1e3 / ours_ms:.0f} lakes a core second, {sum(map(len, found))} lanes in bands"
    )
    print(f"longest_lane, 1°         {at_1_ms:7.2f} ms a lake    {lost([longest_m(s) for s in at_1], best)}")
    print(f"longest_lane, any        {free_ms:7.2f} ms a lake    {lost([longest_m(s) for s in free], best)}")
    print(
        f"lanes_in, any (10 lakes) {every_ms:7.2f} ms a lake    {sum(map(len, every)) / len(every):.0f} lanes a lake"
    )
    degrees = [(i, affinity.scale(lake, 1e-5, 1e-5, origin=(0, 0))) for i, lake in enumerate(lakes)]
    apart = [(i, affinity.translate(lake, 0.1 * i, 0.0)) for i, lake in degrees]
    begin = time.process_time()
    lanes_of_file(apart, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=STEP_DEG)
    print(f"lanes_of_file, 5°        {1e3 * (time.process_time() - begin) / LAKES:7.2f} ms a lake")


if __name__ == "__main__":
    main()
