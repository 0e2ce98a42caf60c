"""Ragged lakes with islands: every lane proved by shapely, lengths and bands by two other methods."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from shapely import affinity

from water.shores import ragged_lake
from wetline.water import lanes_in

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.water import Strip

LENGTH_M = 1000.0
CLEAR_M = 50.0


def swept(area: BaseGeometry, dx: float, dy: float) -> BaseGeometry:
    """Centres of a segment (±dx, ±dy) that lies in the area: the area less the sweep of its shore."""
    step = np.array([dx, dy])
    walls = []
    for ring in shapely.get_rings(shapely.get_parts(area)):
        p = shapely.get_coordinates(ring)
        walls += [
            shapely.convex_hull(shapely.multipoints([a - step, a + step, b - step, b + step]))
            for a, b in itertools.pairwise(p)
        ]
    return shapely.difference(area, shapely.union_all(walls))


def rectangle(strip: Strip, inside_m: float) -> shapely.Polygon:
    """The lane's own rectangle, drawn in by a tolerance."""
    a, b = np.array(strip.start), np.array(strip.end)
    u = (b - a) / np.linalg.norm(b - a)
    v = np.array([u[1], -u[0]]) * (strip.clear_m - inside_m)
    a, b = a + u * inside_m, b - u * inside_m
    return shapely.Polygon([a + v, b + v, b - v, a - v])


@pytest.mark.derived
@pytest.mark.parametrize("seed", range(12))
def test_every_lane_lies_in_the_water(seed: int) -> None:
    """shapely.covers on the untouched outline, rectangle drawn in by 1 mm."""
    lake = ragged_lake(seed)
    strips = lanes_in(lake, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=5.0)
    assert len(strips) > 20
    shapely.prepare(lake)
    outside = [s for s in strips if not lake.covers(rectangle(s, 1e-3))]
    assert outside == []
    for s in strips:
        assert np.hypot(s.end[0] - s.start[0], s.end[1] - s.start[1]) == pytest.approx(s.length_m, abs=1e-6)
        assert s.length_m >= LENGTH_M - 1e-6


@pytest.mark.derived
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("heading_deg", [0.0, 25.0, 70.0, 115.0])
def test_lengths_and_bands_agree_with_erosion_by_the_lane_itself(seed: int, heading_deg: float) -> None:
    """Minkowski erosion by shapely: its longest chord is the longest lane, each of its pieces a band."""
    lake = ragged_lake(seed, corners=60)
    turned = affinity.rotate(lake, heading_deg, origin=(0.0, 0.0))  # the heading now points north
    across = swept(turned, CLEAR_M - 1e-6, 0.0)
    levels = np.unique(shapely.get_coordinates(across)[:, 0])
    levels = np.concatenate([levels - 1e-6, levels + 1e-6])
    chords = shapely.intersection(shapely.linestrings([[(x, -9e3), (x, 9e3)] for x in levels]), across)
    longest_m = float(shapely.length(shapely.get_parts(chords)).max())
    strips = [
        s
        for s in lanes_in(lake, length_m=LENGTH_M, clear_m=CLEAR_M, step_deg=5.0)
        if s.heading_deg == heading_deg
    ]
    assert max(s.length_m for s in strips) == pytest.approx(longest_m, abs=1e-3)

    pieces = [p for p in shapely.get_parts(swept(across, 0.0, LENGTH_M / 2)) if p.area > 1e-3]
    centres = [_centres(s, heading_deg) for s in strips]
    assert pieces
    for piece in pieces:
        assert min(piece.distance(line) for line in centres) < 1e-3, "a band without a lane"
    for line in centres:
        assert min(piece.distance(line) for piece in pieces) < 1e-3, "a lane outside every band"


def _centres(strip: Strip, heading_deg: float) -> BaseGeometry:
    """Where the middle of a lane of just LENGTH_M may lie within a longer one, turned to the north."""
    line = affinity.rotate(shapely.LineString([strip.start, strip.end]), heading_deg, origin=(0.0, 0.0))
    (x, y0), (_, y1) = shapely.get_coordinates(line)
    half = min(LENGTH_M / 2, (y1 - y0) / 2)
    return shapely.LineString([(x, y0 + half), (x, y1 - half)])


def scan(lake: shapely.Polygon, heading_deg: float, step_m: float) -> float:
    """Longest lane on offsets `step_m` apart: shore cut to the strip, its shadow on the axis, gaps."""
    p = shapely.get_coordinates(affinity.rotate(lake.exterior, heading_deg, origin=(0.0, 0.0)))
    rings = [p] + [
        shapely.get_coordinates(affinity.rotate(r, heading_deg, origin=(0.0, 0.0))) for r in lake.interiors
    ]
    a = np.vstack([r[:-1] for r in rings])
    b = np.vstack([r[1:] for r in rings])
    turned = affinity.rotate(lake, heading_deg, origin=(0.0, 0.0))
    best = 0.0
    for x in np.arange(a[:, 0].min() + CLEAR_M, a[:, 0].max() - CLEAR_M, step_m):
        for low, high in _gaps(a, b, x):
            if high - low > best and shapely.contains_xy(turned, x, (low + high) / 2):
                best = high - low
    return best


def _gaps(a: NDArray[np.float64], b: NDArray[np.float64], x: float) -> list[tuple[float, float]]:
    dx = np.where(a[:, 0] == b[:, 0], 1e-12, b[:, 0] - a[:, 0])
    t0, t1 = (x - CLEAR_M - a[:, 0]) / dx, (x + CLEAR_M - a[:, 0]) / dx
    first, last = np.maximum(np.minimum(t0, t1), 0.0), np.minimum(np.maximum(t0, t1), 1.0)
    met = first < last
    y0 = (a[:, 1] + first * (b[:, 1] - a[:, 1]))[met]
    y1 = (a[:, 1] + last * (b[:, 1] - a[:, 1]))[met]
    low, high = np.minimum(y0, y1), np.maximum(y0, y1)
    order = np.argsort(low)
    reach = np.maximum.accumulate(high[order])
    return list(zip(reach[:-1], low[order][1:], strict=True))


@pytest.mark.derived
@pytest.mark.parametrize("seed", [3, 8])
def test_no_scan_of_lines_5_m_apart_finds_a_longer_lane(seed: int) -> None:
    """Every 10th degree; the scan can only miss length, by what the shore changes within 2.5 m."""
    lake = ragged_lake(seed)
    strips = lanes_in(lake, length_m=300.0, clear_m=CLEAR_M, step_deg=10.0)
    shortfalls = []
    for heading in np.arange(0.0, 180.0, 10.0):
        best = max(s.length_m for s in strips if s.heading_deg == heading)
        shortfalls.append(best - scan(lake, heading, 5.0))
    assert min(shortfalls) >= -1e-6
    assert np.median(shortfalls) < 20.0
