"""A day of twelve aircraft: the event loop alone, and the whole plan with its circuits.

Size: flat ground of 20 km, 14 h of light, hourly weather, six scoopers in three pairs on three lanes, three
helicopters on two dip sites, three large tankers at one base with stock; every aircraft has a relief crew.
Beside them, in the same run, a bare heap that pops and pushes as many events as the day has (drops, fills, stops):
what no event loop in Python comes under. Processor time of this process and wall time, the best of several.
Run: `python bench/bench_day.py`.
"""

from __future__ import annotations

import heapq
import time
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from unittest.mock import patch

import numpy as np
from shapely.geometry import Point

from wetline.aircraft import Aircraft, Relief, aircraft_classes
from wetline.circuits import Day, Source, plan_day, sources_from
from wetline.circuits.timeline import fly
from wetline.grid import Grid, Projection
from wetline.ground import Base, Ground, Layer
from wetline.model import shipped_limits
from wetline.weather import Daylight, Weather

if TYPE_CHECKING:
    from collections.abc import Callable

DAWN = datetime(2026, 6, 20, 5, 0, tzinfo=UTC)
DUSK = DAWN + timedelta(hours=14)
REPEATS = 15


def make_ground() -> Ground:
    """Flat, with an airfield and a tanker base."""
    grid = Grid(Projection("EPSG:32625"), -10_000.0, 10_000.0, 50.0, 400, 400)
    bases = (
        Base(name="Halm", kind="airfield", point=Point(-9_000.0, 0.0)),
        Base(
            name="Skarn",
            kind="tanker_base",
            point=Point(9_000.0, 0.0),
            runway_m=2500.0,
            agents=("retardant",),
            pits=2,
            stock_l=250_000.0,
            mix_l_per_h=20_000.0,
        ),
    )
    return Ground(
        grid=grid,
        elevation_m=np.zeros(grid.shape, np.float32),
        fuel=np.ones(grid.shape, np.int16),
        bases=Layer(bases, present=True),
    )


def make_weather() -> Weather:
    """Sixteen hours of a rising and falling wind."""
    n = 16
    wind_mps = 4.0 + 3.0 * np.sin(np.linspace(0.0, np.pi, n))
    return Weather(
        time_s=np.array([DAWN.timestamp() + 3600.0 * (k - 1) for k in range(n)]),
        temperature_c=np.full(n, 28.0),
        humidity_pct=np.full(n, 35.0),
        wind_mps=wind_mps,
        wind_from_deg=np.full(n, 280.0),
        gust_mps=np.full(n, np.nan),
        rain_mm=np.zeros(n),
        cloud_pct=np.full(n, np.nan),
        visibility_m=np.full(n, np.nan),
    )


def make_fleet() -> list[Aircraft]:
    """Six scoopers in pairs, three helicopters, three tankers, each with a crew to relieve."""
    crew = Relief(available_from=DAWN + timedelta(hours=7), duty_start=DAWN + timedelta(hours=6), flown_h=0.0)
    kinds = ["twin_engine_scooper"] * 6 + ["heavy_helicopter"] * 3 + ["large_tanker"] * 3
    return [
        Aircraft(
            call_sign=f"Tern {k}",
            class_id=kind,
            base="Skarn" if kind == "large_tanker" else "Halm",
            agent="retardant" if kind == "large_tanker" else "water",
            fuel_h=aircraft_classes()[kind].value("endurance_h"),
            duty_start=DAWN,
            flown_h=0.0,
            pair=f"pair {k // 2}" if k < 6 else None,
            relief=(crew,),
        )
        for k, kind in enumerate(kinds)
    ]


def best(run: Callable[[], object]) -> tuple[float, float]:
    """Processor and wall seconds, the best of several."""
    found = []
    for _ in range(REPEATS):
        cpu, wall = time.process_time(), time.perf_counter()
        run()
        found.append((time.process_time() - cpu, time.perf_counter() - wall))
    return min(c for c, _ in found), min(w for _, w in found)


def bare_heap(events: int) -> None:
    """Pop and push so many times with twelve on the heap."""
    heap = [(float(k), k, k) for k in range(12)]
    for _ in range(events):
        at_s, order, number = heapq.heappop(heap)
        heapq.heappush(heap, (at_s + 13.0, order, number + 12))


def main() -> None:
    """Print the times."""
    ground, weather = make_ground(), make_weather()
    light = Daylight(civil_dawn=DAWN, sunrise=DAWN, sunset=DUSK, civil_dusk=DUSK)
    water = [(-5000.0, 1000.0), (-4000.0, -6000.0), (3000.0, 8000.0)]
    sources = (
        *(Source(id=f"S{k}", kind="lane", name=f"Lake {k}", position=p, length_m=3000.0, clear_m=100.0)
          for k, p in enumerate(water)),
        *(Source(id=f"D{k}", kind="dip", name=f"Pond {k}", position=(2000.0 + 500.0 * k, -1500.0)) for k in (0, 1)),
        *sources_from(bases=ground.bases),
    )  # fmt: skip

    def plan() -> Day:
        return plan_day(
            make_fleet(), aircraft_classes(), sources, (0.0, 0.0), now=DAWN, ground=ground, weather=weather,
            daylight=light, limits=shipped_limits(),
        )  # fmt: skip

    calls: list[tuple[tuple[object, ...], dict[str, object]]] = []

    def noted(*args: object, **more: object) -> object:
        calls.append((args, more))
        return fly(*args, **more)  # type: ignore[arg-type]

    with patch("wetline.circuits.planning.fly", noted):
        day = plan()
    loads, stops = len(day.loads), sum(len(row.stops) for row in day.rows)
    events = 3 * loads + 2 * stops
    print(f"{len(day.rows)} aircraft, {loads} loads, {stops} stops on the ground")
    for name, run in (
        ("event loop", lambda: fly(*calls[0][0], **calls[0][1])),  # type: ignore[arg-type]
        ("whole plan", plan),
        (f"bare heap of {events} events", lambda: bare_heap(events)),
    ):
        cpu_s, wall_s = best(run)
        print(f"{name:28} {cpu_s * 1e3:8.1f} ms processor, {wall_s * 1e3:8.1f} ms wall")


if __name__ == "__main__":
    main()
