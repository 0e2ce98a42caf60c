"""Lanes of ragged lakes: lakes a second of one core, against scan lines drawn with shapely.

Size: 50 lakes with dense, broken shores and up to 11 islands, 36 headings, lanes of 1,000 m with 50 m
to each side. The scan draws a line every 50 m and asks for the rectangle's width by erosion, as one
would do with a general-purpose library; it misses length and bands, the ratio says what it costs.
Run: `python bench/bench_lanes.py`.
"""

from __future__ import annotations

import time

import numpy as np
import shapely
from shapely import affinity

from wetline.water import lanes_in, lanes_of_file, longest_lane

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
        lines = shapely.linestrings([[(x, south), (x, north)] for x in np.arange(west, east, CLEAR_M)])
        chords = shapely.get_parts(shapely.intersection(lines, turned))
        best = max(best, float(shapely.length(chords).max(initial=0.0)))
    return best


def main() -> None:
    lakes = [ragged_lake(seed) for seed in range(LAKES)]
    vertices = [len(shapely.get_coordinates(lake)) for lake in lakes]
    lanes_in(lakes[0], length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=STEP_DEG)  # compile or load
    begin = time.process_time()
    found = [lanes_in(lake, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=STEP_DEG) for lake in lakes]
    ours_s = time.process_time() - begin
    begin = time.process_time()
    drawn = [scan(lake) for lake in lakes]
    scan_s = time.process_time() - begin
    longest = [max((s.length_m for s in strips), default=0.0) for strips in found]
    misses = [ours - theirs for ours, theirs in zip(longest, drawn, strict=True) if theirs >= LENGTH_M]
    fine = [longest_lane(lake, clear_m=CLEAR_M, step_deg=1.0) for lake in lakes]
    loss = [
        100.0 * (1.0 - length / best.length_m)
        for length, best in zip(longest, fine, strict=True)
        if best is not None and best.length_m >= LENGTH_M
    ]
    print(f"{LAKES} lakes, median {np.median(vertices):.0f} vertices, {sum(map(len, found))} lanes in bands")
    print(
        f"lanes_in         {1e3 * ours_s / LAKES:8.2f} ms a lake, {LAKES / ours_s:6.0f} lakes a core second"
    )
    print(f"shapely scan     {1e3 * scan_s / LAKES:8.2f} ms a lake, {scan_s / ours_s:6.1f} times as long")
    print(f"longer than the scan by p50 {np.median(misses):.0f} m, p95 {np.percentile(misses, 95):.0f} m")
    print(
        f"5° against 1° headings: longest lane shorter by p50 {np.median(loss):.1f} %, p95 {np.percentile(loss, 95):.1f} %"
    )
    degrees = [(i, affinity.scale(lake, 1e-5, 1e-5, origin=(0, 0))) for i, lake in enumerate(lakes)]
    begin = time.process_time()
    lanes_of_file(degrees, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=STEP_DEG)
    print(f"lanes_of_file    {1e3 * (time.process_time() - begin) / LAKES:8.2f} ms a lake")


if __name__ == "__main__":
    main()
