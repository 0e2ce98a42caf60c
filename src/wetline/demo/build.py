"""The demo incident, written to a folder: all invented, the same from the same seed."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from wetline.demo import features as make
from wetline.demo.fire import light_fire
from wetline.demo.fleet import fleet_toml
from wetline.demo.fuels import FIELD, GRASS, URBAN, clear_for
from wetline.demo.lakes import inside
from wetline.demo.land import make_land
from wetline.demo.names import Namer
from wetline.demo.noise import fractal
from wetline.demo.site import choose_places, choose_site
from wetline.demo.spread import arrival_h
from wetline.demo.weather import COLUMNS, hourly_rows
from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.demo.land import Land
    from wetline.demo.site import Places, Site

__all__ = ["DemoResult", "build_demo"]

ZONE = "Etc/GMT+1"
DAY = date(2026, 8, 14)
NOW = timedelta(hours=13, minutes=30)
TOWARD_DEG = 65.0
ATTEMPTS = 12
WILD_M = 2_000.0
"""No field lies nearer to the fire's middle: fuels burn all round it."""


@dataclass(frozen=True, slots=True)
class DemoResult:
    """The incident's name and its files as (kind, path), in the order in which they are listed."""

    incident: str
    files: tuple[tuple[str, Path], ...]


def build_demo(folder: Path, *, seed: int = 1, force: bool = False) -> DemoResult:
    """Write the invented incident; the same seed gives the same bytes.

    With `force` an incident folder marked `exercise = true` is replaced as a whole; nothing else
    ever is. The files are made beside the folder and put in place at the end.

    Raises
    ------
    InputError
        If the folder holds something that may not be replaced, or its parent cannot be written.
    """
    folder = folder.absolute()
    _may_replace(folder, force=force)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        problem = Problem(
            message=f"The folder cannot be made here: {error.strerror}.",
            mend="Name a folder where you may write.",
            file=str(folder),
        )
        raise InputError.of([problem]) from error
    try:
        incident, names = _write(made / "new", seed)
        if folder.exists():
            folder.rename(made / "old")
        (made / "new").rename(folder)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    return DemoResult(incident, tuple((Path(name).stem, folder / name) for name in names))


def _may_replace(folder: Path, *, force: bool) -> None:
    """Refuse a folder that holds anything, but for an exercise that the user wants replaced."""
    if not folder.exists():
        return
    if not folder.is_dir():
        problem = Problem(
            message="This is a file, not a folder.", mend="Name a new folder.", file=str(folder)
        )
        raise InputError.of([problem])
    if not any(folder.iterdir()):
        return
    if not force:
        problem = Problem(
            message="The folder is not empty; nothing was written.",
            mend="Name a new folder, or add --force to replace this exercise.",
            file=str(folder),
        )
        raise InputError.of([problem])
    if not _is_exercise(folder):
        problem = Problem(
            message="The folder holds no incident marked exercise = true; it is never replaced.",
            mend="Name a new folder.",
            file=str(folder),
        )
        raise InputError.of([problem])


def _is_exercise(folder: Path) -> bool:
    import tomllib  # noqa: PLC0415 - wanted here alone

    try:
        values = tomllib.loads((folder / "incident.toml").read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return False
    return values.get("exercise") is True


def _land_and_site(seed: int) -> tuple[np.random.Generator, Land, Site]:
    """The first land of a seed that has a place for the fire."""
    for attempt in range(ATTEMPTS):
        rng = np.random.default_rng([seed, attempt] if attempt else seed)
        land = make_land(rng)
        site = choose_site(land, toward_deg=TOWARD_DEG)
        if site is not None:
            return rng, land, site
    problem = Problem(
        message=f"Seed {seed} gave no land that suits a fire in {ATTEMPTS} attempts.",
        mend="Take another seed.",
        field="seed",
        value=str(seed),
    )
    raise InputError.of([problem])


def _settled(rng: np.random.Generator, land: Land, site: Site, places: Places) -> Land:
    """The land with houses, fields and farm meadows in its fuels; no ring of fields shuts a place in."""
    x, y = land.grid.xy(*np.mgrid[0 : land.grid.rows, 0 : land.grid.cols])

    def within(point: tuple[float, float], reach_m: float) -> NDArray[np.bool_]:
        return np.asarray(np.hypot(x - point[0], y - point[1]) < reach_m, bool)

    patch = fractal(rng, land.grid.shape, cell_m=land.grid.cell_m, longest_m=900, shortest_m=150, slope=3.0)
    fields = within(places.village, 1_100.0) & (land.slope < 0.1) & (patch > 0.5)
    fields |= (
        within(places.airfield, 620.0) | within(places.tanker_base, 900.0) | within(places.helibase, 160.0)
    )
    fields &= ~within(site.fire, WILD_M)
    meadows = np.zeros(land.grid.shape, bool)
    for hamlet in places.hamlets:
        meadows |= within(hamlet, 110.0)
    cover = clear_for(clear_for(land.cover, fields, FIELD), meadows, GRASS)
    village = inside(land.grid, [places.houses]) > 0
    return replace(land, cover=clear_for(cover, village, URBAN))


def _write(folder: Path, seed: int) -> tuple[str, list[str]]:
    """Make the incident and write every file of it; its name and the file names."""
    folder.mkdir()
    rng, land, site = _land_and_site(seed)
    zone = ZoneInfo(ZONE)
    midnight = datetime.combine(DAY, datetime.min.time(), zone)
    now = midnight + NOW
    wind_from = TOWARD_DEG + 180.0 + land.grid.convergence_deg
    hours = hourly_rows(rng, midnight, zone, wind_from_deg=wind_from)
    burnt = light_fire(rng, land, site)
    places = choose_places(rng, land, site, arrival_h(land, hours, burnt.now, now))
    land = _settled(rng, land, site, places)
    namer = Namer(rng)
    name, region = f"{namer.word()} Ridge", f"{namer.word()}, {namer.word()} Uplands"
    water = make.water_features(rng, land, site, namer)
    bases = make.base_features(places, namer)
    layers = {
        "water": make.geojson(land, water),
        "bases": make.geojson(land, bases),
        "hazards": make.geojson(land, make.hazard_features(rng, land, site, places, namer)),
        "people": make.geojson(land, make.people_features(rng, site, places, burnt, now, namer)),
        "avoid": make.geojson(land, make.avoid_features(land, water, site, namer)),
        "roads": make.geojson(
            land, make.road_features(rng, land, places, burnt, namer, toward_deg=TOWARD_DEG)
        ),
        "fire": make.geojson(land, make.fire_features(burnt, name, now)),
        "dips": make.geojson(land, make.dip_features(land, site, places, now, namer)),
    }
    base_names = {str(p["kind"]): str(p["name"]) for _, p in bases}
    texts = {
        "incident.toml": _incident_toml(name, region),
        **{f"{layer}.geojson": text for layer, text in layers.items()},
        "weather.csv": "".join(",".join(row) + "\n" for row in (COLUMNS, *hours)),
        "fleet.toml": fleet_toml(midnight, base_names),
    }
    for file, text in texts.items():
        (folder / file).write_text(text, encoding="utf-8", newline="\n")
    rasters = _write_rasters(folder, land)
    return name, ["incident.toml", *rasters, *list(texts)[1:]]


def _incident_toml(name: str, region: str) -> str:
    return f"""# An invented incident in an invented region: for exercise only.
name = "{name}"
place = "{region}"
exercise = true
time_zone = "{ZONE}"
magnetic_variation_deg = -13.6
variation_date = 2026-01-01
crs = "EPSG:32625"
units = "aviation"

[cover]
hazards = 2026-06-02
water = 2026-06-02
people = 2026-08-14
"""


def _write_rasters(folder: Path, land: Land) -> list[str]:
    """Terrain, fuels and canopy as deflated GeoTIFF."""
    import rasterio  # noqa: PLC0415 - heavy

    grid = land.grid
    canopy_m = land.cover.canopy_m
    bands: dict[str, tuple[NDArray[np.generic], float, int]] = {
        "terrain.tif": (np.round(land.waters.elevation_m, 1).astype(np.float32), -9999.0, 3),
        "fuels.tif": (land.cover.fuel.astype(np.int16), -1.0, 2),
        "canopy_cover.tif": (land.cover.canopy_pct.astype(np.int16), -1.0, 2),
        "canopy_height.tif": (canopy_m.astype(np.float32), -9999.0, 3),
        "canopy_base.tif": (land.cover.base_m, -9999.0, 3),
        "canopy_bulk.tif": (land.cover.bulk_kg_per_m3, -9999.0, 3),
    }
    for name, (band, nodata, predictor) in bands.items():
        with rasterio.open(
            folder / name,
            "w",
            driver="GTiff",
            height=grid.rows,
            width=grid.cols,
            count=1,
            dtype=band.dtype,
            crs=grid.projection.code,
            transform=rasterio.Affine(grid.cell_m, 0.0, grid.west_m, 0.0, -grid.cell_m, grid.north_m),
            nodata=nodata,
            compress="deflate",
            zlevel=6,
            predictor=predictor,
            tiled=True,
            blockxsize=256,
            blockysize=256,
        ) as file:
            file.write(band, 1)
    return list(bands)
