"""An atlas of lanes: how fast it is made, and how long a question takes, against scans in the same run.

Made of 1,200 lakes with dense, broken shores in a GeoPackage, on one process and on all cores. Asked of
1.2 million lanes on 60,000 waters, a quarter of them in one lake country, the rest anywhere: 200 places,
half of them in the lake country, each for a class and a wind. The rival holds all lanes in
memory, takes the distance on the sphere to every one, and ranks what is in reach alike.
Run: `python bench/bench_atlas.py`.
"""

from __future__ import annotations

import resource
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pyogrio
import pyproj
import shapely
from bench.bench_lanes import ragged_lake

from wetline.aircraft import aircraft_classes
from wetline.app.atlas import AtlasOptions, make_atlas
from wetline.store import AtlasAbout, AtlasFile, AtlasWriter
from wetline.water import RECORD, Ask, AtlasLane, Reach, Searched, Wind, judged, rank

if TYPE_CHECKING:
    from numpy.typing import NDArray

LAKES, WATERS, LANES_EACH, PLACES = 1200, 60_000, 20, 200
WITHIN_M, LENGTH_M, CLEAR_M = 60_000.0, 1500.0, 50.0
NOW = datetime(2026, 1, 1, tzinfo=UTC)
CLASS = aircraft_classes()["twin_engine_scooper"]
WIND = Wind(6.0, 290.0)


def lake_file(path: Path) -> None:
    """Ragged lakes 10 km apart in 40 columns, in longitude and latitude."""
    lakes = []
    for i in range(LAKES):
        metres = ragged_lake(i % 200)
        lat = 60.0 + 0.1 * (i // 40)
        scale = [1.0 / (111_320.0 * np.cos(np.radians(lat))), 1.0 / 111_320.0]
        shift = np.array([20.0 + 0.2 * (i % 40), lat])
        degrees = shapely.get_coordinates(metres) * scale + shift
        lakes.append(shapely.set_coordinates(metres, degrees))
    names = np.array([f"Lake {i}" for i in range(LAKES)], dtype=object)
    pyogrio.raw.write(
        path,
        shapely.to_wkb(np.array(lakes)),
        [names],
        ["name"],
        geometry_type="Polygon",
        crs="EPSG:4326",
        driver="GPKG",
    )


def build(folder: Path) -> None:
    source = folder / "lakes.gpkg"
    lake_file(source)
    took = {}
    for jobs in (1, None):
        begin = time.perf_counter()
        out = folder / f"lanes_{jobs}.gpkg"
        options = AtlasOptions(class_id=CLASS.id, jobs=jobs)
        answer = make_atlas(source, out, options, now=NOW, tell=lambda _done, _of: None)
        took[jobs] = time.perf_counter() - begin
        print(
            f"made, jobs {jobs or 'all'!s:>3}    {took[jobs]:8.2f} s wall, {LAKES / took[jobs]:6.0f} waters/s, "
            f"{answer['atlas']['lanes']} lanes, {out.stat().st_size / answer['atlas']['lanes']:.0f} bytes each"
        )
    print(f"all cores against one: {took[1] / took[None]:.2f} times as fast")


def places(generator: np.random.Generator, count: int, *, dense: int) -> NDArray[np.float64]:
    """Those in lake country (20 to 31° E, 60 to 65° N: 327,000 km²), then those anywhere on the sphere."""
    lakes = generator.uniform([20.0, 60.0], [31.0, 65.0], (dense, 2))
    anywhere = generator.uniform([-180.0, -1.0], [180.0, 1.0], (count - dense, 2))
    anywhere[:, 1] = np.degrees(np.arcsin(anywhere[:, 1]))
    return np.vstack([lakes, anywhere])


def big_atlas(out: Path) -> NDArray[np.void]:
    """Invented lanes, 200 waters a chunk; returns their records as the rival holds them."""
    generator = np.random.default_rng(1)
    waters = places(generator, WATERS, dense=WATERS // 4)
    about = AtlasAbout(source="invented", layer="", features=WATERS, source_bytes=0, source_sha256="",
                       asks=(Ask(LENGTH_M, CLEAR_M),), step_deg=5.0, chunk=200, version="")  # fmt: skip
    geod = pyproj.Geod(ellps="WGS84")
    held = []
    begin = time.perf_counter()
    with AtlasWriter(out, about) as writer:
        for first in range(0, WATERS, 200):
            rows = np.repeat(np.arange(first, first + 200), LANES_EACH)
            heading = np.tile(np.arange(LANES_EACH) * 5.0, 200)
            length = 1500.0 + generator.uniform(0.0, 3000.0, len(rows))
            lon, lat = waters[rows].T
            west = np.column_stack(geod.fwd(lon, lat, heading + 180.0, length / 2.0)[:2]).tolist()
            east = np.column_stack(geod.fwd(lon, lat, heading, length / 2.0)[:2]).tolist()
            lanes = tuple(
                AtlasLane(row=r, ask=0, water=f"Water {r}", heading_deg=h, length_m=m, clear_m=CLEAR_M,
                          width_m=120.0, start=(*a,), end=(*b,), middle=(x, y))
                for r, h, m, a, b, x, y in zip(rows.tolist(), heading.tolist(), length.tolist(), west, east,
                                               lon.tolist(), lat.tolist(), strict=True)
            )  # fmt: skip
            writer.add(Searched(first, 200, lanes, (), 0))
            records = np.empty(len(rows), RECORD)
            records["id"] = first * LANES_EACH + 1 + np.arange(len(rows))
            for name, values in (("row", rows), ("ask", 0), ("heading_deg", heading), ("length_m", length),
                                 ("width_m", 120.0), ("lon", lon), ("lat", lat)):  # fmt: skip
                records[name] = values
            held.append(records)
        writer.finish(NOW)
    count = WATERS * LANES_EACH
    print(
        f"written          {count:,} lanes in {time.perf_counter() - begin:.0f} s, {out.stat().st_size / 2**20:.0f} MiB"
    )
    return np.concatenate(held)


def scan(records: NDArray[np.void], lon: float, lat: float) -> Reach:
    phi, there = np.radians(lat), np.radians(records["lat"])
    half = np.sin((there - phi) / 2) ** 2
    half += np.cos(phi) * np.cos(there) * np.sin(np.radians(records["lon"] - lon) / 2) ** 2
    inside = 2.0 * np.arcsin(np.sqrt(half)) * 6_371_000.0 <= WITHIN_M
    return Reach(records[inside], half[inside])


def ask(folder: Path) -> None:
    out = folder / "big.gpkg"
    held = big_atlas(out)
    asked = places(np.random.default_rng(2), PLACES, dense=PLACES // 2).tolist()
    ours, cpu, theirs, found = [], [], [], []
    with AtlasFile(out) as atlas:
        for lon, lat in asked:
            begin, busy = time.perf_counter(), time.process_time()
            reach = atlas.near(lon, lat, WITHIN_M)
            best = rank(reach, 0, CLASS, WIND, here=(lon, lat), most=20)
            judged(atlas.lanes(reach.records[best.chosen]), (lon, lat), CLASS, WIND)
            cpu.append(1e3 * (time.process_time() - busy))
            ours.append(1e3 * (time.perf_counter() - begin))
            found.append(len(reach))
        for lon, lat in asked[::10]:
            begin = time.perf_counter()
            rank(scan(held, lon, lat), 0, CLASS, WIND, here=(lon, lat), most=20)
            theirs.append(1e3 * (time.perf_counter() - begin))
    begin = time.perf_counter()
    with AtlasFile(out) as atlas:
        atlas.near(asked[0][0], asked[0][1], WITHIN_M)
    opened = 1e3 * (time.perf_counter() - begin)
    for name, part in (
        ("lake country", slice(PLACES // 2)),
        ("anywhere", slice(PLACES // 2, PLACES)),
        ("all", slice(PLACES)),
    ):
        print(
            f"asked, {name:12} median {np.median(ours[part]):6.2f} ms wall, {np.median(cpu[part]):6.2f} ms CPU, "
            f"p95 {np.percentile(ours[part], 95):6.2f} ms wall; median {np.median(found[part]):.0f} lanes in reach"
        )
    print(
        f"opened and asked once {opened:.2f} ms; scan of all in memory median {np.median(theirs):.1f} ms, "
        f"{np.median(theirs) / np.median(ours):.0f} times as long"
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        build(Path(name))
        ask(Path(name))
    print(f"most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
