"""The fastest run as an answer: where it starts, where it goes in the next hour, and what drives it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.ops import nearest_points

from wetline.app.answer import Answer, iso, number
from wetline.app.sizeup_runs import TOGETHER_DEG, directions_of
from wetline.attack.race import band_of
from wetline.behaviour import DRIVERS, drivers, mean_drivers
from wetline.grid import along, bearing_deg
from wetline.growth import fastest_point
from wetline.growth.edge_samples import behaviour_along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.answer import Outside
    from wetline.app.sizeup_runs import Runs
    from wetline.attack import Scene
    from wetline.behaviour import Drivers, FireFields
    from wetline.growth import FastestPoint, RunPath
    from wetline.safety import Reach

__all__ = ["fastest_of"]

_SAMPLES = 5
"""Places along the run at which its drivers are asked for."""


def fastest_of(
    scene: Scene,
    fields: FireFields,
    burnt: Polygon | MultiPolygon,
    now: Sequence[FireFields],
    runs: Runs,
    reached: Sequence[Reach],
    outside: Outside,
) -> Answer | None:
    """Where the edge is fastest now and why, and the run of the next hour; None where nothing moves."""
    point = fastest_point(burnt, fields, scene.now_s)
    if point is None:
        return None
    anywhere = fastest_point(burnt, fields, scene.now_s, pockets=True) or point
    xy, normal = np.array([point.position]), np.array([point.normal_deg])
    there = [behaviour_along(xy, normal, one, 0.0) for one in now]
    rate = band_of(point.rate_mps, [float(b.rate_mps[0]) for b in there])
    heat = band_of(point.intensity_kw_per_m, [float(b.intensity_kw_per_m[0]) for b in there])
    return {
        "position": outside.position(point.position),
        "toward_deg": outside.bearing(point.toward_deg),
        "rate_m_per_min": number(rate.middle * 60.0, 2),
        "rate_m_per_min_low": None if rate.low is None else number(rate.low * 60.0, 2),
        "rate_m_per_min_high": None if rate.high is None else number(rate.high * 60.0, 2),
        "intensity_kw_per_m": number(heat.middle, 0),
        "intensity_kw_per_m_low": number(heat.low, 0),
        "intensity_kw_per_m_high": number(heat.high, 0),
        "anywhere": {
            "position": outside.position(anywhere.position),
            "rate_m_per_min": number(anywhere.rate_mps * 60.0, 2),
        },
        "because": _because(scene, point),
        "run": _run(scene, runs, reached, outside),
        "directions": directions_of(runs, outside) if runs.middle is None else None,
    }


def _because(scene: Scene, point: FastestPoint) -> Answer:
    """Why the head runs as it does just outside the fastest point."""
    east, north = along(point.normal_deg)
    half = scene.window.cell_m / 2
    x, y = point.position[0] + half * float(east), point.position[1] + half * float(north)
    time = scene.start + timedelta(seconds=scene.now_s)
    try:
        why = scene.explain(time, x, y)
    except LookupError:
        why = None
    return {
        "wind_share": number(why.wind_share, 3) if why else None,
        "slope_share": number(why.slope_share, 3) if why else None,
        "fuel": f"{why.fuel_code} {why.fuel_name}" if why else None,
        "moisture": number(why.dead_fine_pct, 1) if why else None,
        "crown": why.crown if why else None,
        "notes": list(why.notes) if why else [],
        "drivers": _drivers(scene, [_driven(scene, x, y, scene.now_s)]),
    }


def _fuel_about(scene: Scene) -> NDArray[np.int16]:
    """Fuel numbers of the window."""
    whole, part = scene.ground.grid, scene.window
    row = round((whole.north_m - part.north_m) / whole.cell_m)
    col = round((part.west_m - whole.west_m) / whole.cell_m)
    return scene.ground.fuel[row : row + part.rows, col : col + part.cols]


def _driven(scene: Scene, x: float, y: float, at_s: float) -> Drivers | None:
    """The drivers at a place and second; None where nothing burns or the ground is unknown."""
    time = scene.start + timedelta(seconds=at_s)
    try:
        return drivers(
            scene.system, scene.ground, scene.weather, time, x, y, fuels=_fuel_about(scene), wind=scene.wind
        )
    except LookupError:
        return None


def _drivers(scene: Scene, found: Sequence[Drivers | None]) -> Answer | None:
    """Shares of the head rate by driver, that add up to 1 with `rest`; None where none could be told."""
    known = [one for one in found if one is not None]
    if not known:
        return None
    mean = mean_drivers(known)
    return {
        **{name: number(getattr(mean, name), 3) for name in DRIVERS},
        "rest": number(mean.rest, 3),
        "typical_fuel": scene.system.fuels.get(mean.typical_fuel),
        "typical_hour": iso(mean.typical_hour),
        "from": "shares of the head rate against calm air, level ground, the window's middle fuel and the day's middle dryness",
    }


def _run(scene: Scene, runs: Runs, reached: Sequence[Reach], outside: Outside) -> Answer | None:
    """The middle future's farthest run of the next hour, with the band of all futures."""
    run = runs.middle
    if run is None:
        return None
    length = band_of(run.length_m, [0.0 if r is None else r.length_m for r in runs.by_future])
    rate = band_of(run.mean_rate_mps, [0.0 if r is None else r.mean_rate_mps for r in runs.by_future])
    points = run.points(scene.window.cell_m / 2)
    samples = run.points(run.length_m / _SAMPLES)
    at_s = scene.now_s + run.seconds * (np.arange(len(samples)) + 0.5) / len(samples)
    found = [_driven(scene, float(x), float(y), float(t)) for (x, y), t in zip(samples, at_s, strict=True)]
    ground = scene.ground
    rise_m = ground.elevation_at(*run.line[-1]) - ground.elevation_at(*run.line[0])
    return {
        "start": outside.position(run.line[0]),
        "end": outside.position(run.line[-1]),
        "line": outside.line(run.line),
        "toward_deg": outside.bearing(run.toward_deg),
        "until": iso(scene.start + timedelta(seconds=runs.by_s)),
        "minutes": number(run.seconds / 60.0, 0),
        "length_m": number(length.middle, 0),
        "length_m_low": number(length.low, 0),
        "length_m_high": number(length.high, 0),
        "mean_rate_m_per_min": number(rate.middle * 60.0, 2),
        "mean_rate_m_per_min_low": None if rate.low is None else number(rate.low * 60.0, 2),
        "mean_rate_m_per_min_high": None if rate.high is None else number(rate.high * 60.0, 2),
        "fuels": _fuels(scene, points),
        "rise_m": number(rise_m, 0),
        "slope_pct": number(100.0 * rise_m / run.length_m, 0),
        "drivers": _drivers(scene, found),
        "ends_at": _ends_at(scene, run),
        "ahead": _ahead(scene, run, reached),
        "directions": directions_of(runs, outside),
    }


def _fuels(scene: Scene, points: NDArray[np.float64]) -> list[Answer]:
    """The fuels that the run crosses, by their share of its length, the greatest first."""
    numbers = scene.ground.fuel[scene.ground.grid.index(points[:, 0], points[:, 1])]
    found, counts = np.unique(numbers, return_counts=True)
    shares = sorted(zip(found.tolist(), (counts / counts.sum()).tolist(), strict=True), key=lambda s: -s[1])
    return [
        {"fuel": scene.system.fuels.get(int(code), "unknown"), "share": number(share, 3)}
        for code, share in shares
    ]


def _ends_at(scene: Scene, run: RunPath) -> str | None:
    """What is unknown where the run ends: `map_edge` or `unknown_ground`; None where it may be followed on."""
    end, grid = run.line[-1], scene.window
    reach = 1.5 * grid.cell_m
    west, south, east, north = grid.bounds
    if min(end[0] - west, east - end[0], end[1] - south, north - end[1]) <= reach:
        return "map_edge"
    x, y = (
        axis.ravel()
        for axis in np.meshgrid(end[0] + reach * np.array([-1, 0, 1]), end[1] + reach * np.array([-1, 0, 1]))
    )
    whole = scene.ground.grid
    at = whole.index(x, y)
    known = np.isin(scene.ground.fuel[at], list(scene.system.fuels)) & np.isfinite(
        scene.ground.elevation_m[at]
    )
    return None if known.all() else "unknown_ground"


def _ahead(scene: Scene, run: RunPath, reached: Sequence[Reach]) -> list[Answer]:
    """Places within 45° of the run's bearing that the fire reaches in the time modelled, soonest first."""
    start = shapely.Point(run.line[0])
    tip = shapely.Point(run.line[-1])
    shapes = {(place.name, place.kind): place.shape for place in scene.places()}
    out = []
    for reach in reached:
        shape = shapes.get((reach.name, reach.kind))
        if shape is None or reach.earliest is None:
            continue
        near, _ = nearest_points(shape, tip)
        toward = float(bearing_deg(near.x - start.x, near.y - start.y))
        if abs((toward - run.toward_deg + 180.0) % 360.0 - 180.0) <= TOGETHER_DEG:
            out.append(
                {
                    "name": reach.name,
                    "kind": reach.kind,
                    "earliest": iso(reach.earliest),
                    "time": iso(reach.time),
                }
            )
    return out
