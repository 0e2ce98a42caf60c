"""One pass over an incident folder, in the order in which each file needs the one before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from wetline.aircraft import aircraft_classes
from wetline.ground import Avoid, Base, DipPlace, Ground, Hazard, Layer, PeoplePlace, Road, Water
from wetline.store import vectors
from wetline.store.canadian_system import check_codes
from wetline.store.classes import OwnClasses, read_classes
from wetline.store.cross_checks import (
    check_canopy,
    check_fire_on_terrain,
    check_fire_weather,
)
from wetline.store.drop_tests import drop_tests_in
from wetline.store.fleet import read_fleet
from wetline.store.frame import check_projection, projection_for, working_grid
from wetline.store.ground_rasters import read_canopy, read_fuels, read_terrain
from wetline.store.perimeters import read_fire
from wetline.store.places import FILES, NEEDED, RASTERS, find_files
from wetline.store.problems import Complaints
from wetline.store.raster_file import inspect_raster
from wetline.store.settings import COVERED, Settings, read_settings
from wetline.store.shapes import first_lonlat
from wetline.store.surfaces import raised_bases, surface_m
from wetline.store.vector_file import read_features
from wetline.store.vectors import Surroundings, check_dips_on_water, read_layer
from wetline.store.weather_file import read_weather

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.aircraft import Aircraft
    from wetline.drops import DropTests
    from wetline.errors import Problem
    from wetline.grid import Grid, Projection
    from wetline.model import Fire
    from wetline.store.geojson import Collection
    from wetline.store.raster_file import RasterFile
    from wetline.store.shapes import Box
    from wetline.store.vectors import LayerKind
    from wetline.weather import Weather

__all__ = ["Reading"]

T = TypeVar("T", Water, Base, DipPlace, Hazard, PeoplePlace, Avoid, Road)


class Reading:
    """What a folder holds and all that is wrong with it. Parts that could not be read stay None."""

    def __init__(self, folder: Path) -> None:
        self.settings = Settings()
        self.fire: Fire | None = None
        self.ground: Ground | None = None
        self.weather: Weather | None = None
        self.classes = OwnClasses(aircraft_classes())
        self.fleet: tuple[Aircraft, ...] = ()
        self.drop_tests: DropTests | None = None
        self.present: dict[str, int] = {}
        self._folder = folder
        self._files: dict[str, Path] = {}
        self._notes: dict[str, Complaints] = {}
        self._whole = Complaints(str(folder))
        if self._is_folder():
            self._read()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every problem, those of the folder first, then file by file, the aircraft classes last."""
        layers = (p for notes in (self._whole, *self._notes.values()) for p in notes.found)
        return (*layers, *self.classes.problems)

    @property
    def absent(self) -> tuple[str, ...]:
        """Layers whose file is not there."""
        return tuple(name for name in FILES if name not in self.present)

    def _is_folder(self) -> bool:
        if not self._folder.is_dir():
            is_file = self._folder.exists()
            self._whole.error(
                "This is a file, not an incident folder." if is_file else "There is no such folder.",
                "Name the folder that holds incident.toml." if is_file else "See the spelling of the path.",
            )
            return False
        self._files, self._notes = find_files(self._folder, self._whole)
        self.present = {name: 0 for name in FILES if name in self._files or self._notes[name].blocked}
        if not self.present:
            self._whole.error(
                "The folder holds no file of an incident.",
                f"Put in {', '.join(FILES[name] for name in NEEDED)}; docs/incident-folder.md tells more.",
            )
            return False
        for name in NEEDED:
            if name not in self.present:
                self._notes[name].error(
                    f"{FILES[name]} is missing.", "Add it: nothing can be computed without."
                )
        return True

    def _read(self) -> None:
        if "incident" in self._files:
            self.settings = read_settings(self._files["incident"], self._notes["incident"])
            self.present["incident"] = int(self.settings.read)
        self.classes = read_classes(self._folder)
        if self.classes.count is not None:
            self.present["classes"] = self.classes.count
        rasters = {n: inspect_raster(self._files[n], self._notes[n]) for n in RASTERS if n in self._files}
        collections = {
            name: read_features(self._files[name], name, self._notes[name])
            for name in ("fire", *COVERED)
            if name in self._files
        }
        terrain = rasters.get("terrain")
        projection = self._projection(terrain, collections)
        if projection is None:  # nothing says where on Earth this is; the files themselves were refused
            self._read_tables(None, ())
            return
        box = None if terrain is None else terrain.bounds_in(projection)
        around = Surroundings(projection, self.settings.zone, self.settings.cover, box)
        fire = collections.get("fire")
        if fire is not None:
            self.fire = read_fire(fire, around, self._notes["fire"])
            self.present["fire"] = len(self.fire.perimeters) if self.fire else 0
        layers = self._layers(collections, around)
        self._read_tables(
            projection, tuple(base.name for base in layers.bases) if layers.bases.present else None
        )
        if terrain is None or box is None:
            return
        seen = check_fire_on_terrain(self.fire, box, projection, self._notes["fire"], self._notes["terrain"])
        grid = self._grid(terrain, box, projection, seen)
        if grid is not None:
            self._fill(grid, rasters, layers, seen)

    def _projection(
        self, terrain: RasterFile | None, collections: Mapping[str, Collection | None]
    ) -> Projection | None:
        """The working CRS: that of incident.toml, else the UTM zone of the fire, else of the terrain.

        Without a terrain the zone of any feature serves, so that the other files can be checked.
        """
        places = [p for p in (first_lonlat(c) for c in collections.values() if c is not None) if p]
        fire = collections.get("fire")
        lit = None if fire is None else first_lonlat(fire)
        place: tuple[float, float] | None
        if terrain is not None:
            place = lit if lit and terrain.covers_lonlat(*lit) else terrain.middle_lonlat()
        else:
            place = places[0] if places else None
        if self.settings.projection is not None:
            if place is not None:
                check_projection(self.settings.projection, *place, self._notes["incident"])
            return self.settings.projection
        return projection_for(*place, self._notes["terrain"]) if place is not None else None

    def _layers(self, collections: Mapping[str, Collection | None], around: Surroundings) -> _Layers:
        def layer(kind: LayerKind[T]) -> Layer[T]:
            collection = collections.get(kind.name)
            if collection is None:
                if kind.name in around.cover and kind.name not in self.present:
                    self._notes["incident"].warning(
                        f"{kind.name} is vouched for, but {FILES[kind.name]} is not there: it stays unknown.",
                        "Add the file; an empty one will do if there is nothing.",
                        field=f"cover.{kind.name}",
                    )
                return Layer()
            collection = _whole_names(kind, collection, self._notes[kind.name])
            read = read_layer(kind, collection, around, self._notes[kind.name])
            self.present[kind.name] = len(read)
            return read

        return _Layers(
            layer(vectors.WATER),
            layer(vectors.BASES),
            layer(vectors.DIPS),
            layer(vectors.HAZARDS),
            layer(vectors.PEOPLE),
            layer(vectors.AVOID),
            layer(vectors.ROADS),
        )

    def _read_tables(self, projection: Projection | None, bases: tuple[str, ...] | None) -> None:
        """Weather, with true directions still, fleet and drop tests."""
        if "weather" in self._files:
            notes = self._notes["weather"]
            place = None if projection is None else self._middle_lonlat(projection)
            self.weather = read_weather(self._files["weather"], notes, zone=self.settings.zone, place=place)
            if self.weather is not None:
                self.present["weather"] = len(self.weather.time_s)
                check_fire_weather(self.fire, self.weather, notes)
        if "fleet" in self._files:
            self.fleet = read_fleet(
                self._files["fleet"],
                self._notes["fleet"],
                classes=self.classes.by_id,
                bases=bases,
                limits=self.settings.limits,
                zone=self.settings.zone,
                now=None if self.fire is None else self.fire.newest,
            )
            self.present["fleet"] = len(self.fleet)
        if "drop_tests" in self._files:
            self.drop_tests = drop_tests_in(
                self._files["drop_tests"], self._notes["drop_tests"], classes=self.classes.by_id
            )
            self.present["drop_tests"] = 0 if self.drop_tests is None else len(self.drop_tests.rows)

    def _middle_lonlat(self, projection: Projection) -> tuple[float, float] | None:
        """Longitude and latitude [deg] of the middle of the burnt ground."""
        if self.fire is None:
            return None
        middle = shapely.union_all([p.polygon for p in self.fire.perimeters]).centroid
        lon, lat = projection.to_lonlat(middle.x, middle.y)
        return float(lon), float(lat)

    def _grid(self, terrain: RasterFile, box: Box, projection: Projection, fire: Box | None) -> Grid | None:
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        reach_m = self.settings.limits.value("water_search_km") * 1000.0
        return working_grid(terrain, projection, fire or (*middle, *middle), reach_m, self._notes["terrain"])

    def _fill(
        self, grid: Grid, rasters: Mapping[str, RasterFile | None], layers: _Layers, fire: Box | None
    ) -> None:
        """Rasters onto the grid; then what the grid tells of water, bases and wind directions."""
        z: NDArray[np.float32] | None = None
        fuel: NDArray[np.int16] | None = None
        canopy: dict[str, NDArray[np.float32] | None] = {}
        for name, source in rasters.items():
            if source is None:
                continue
            notes = self._notes[name]
            if name == "terrain":
                metres = self.settings.terrain_in_metres
                z = read_terrain(source, grid, fire, notes, in_metres=metres)
                self.present[name] = 0 if z is None else int(np.isfinite(z).sum())
            elif name == "fuels":
                fuel = read_fuels(source, grid, fire, notes, self.settings.system)
                self.present[name] = 0 if fuel is None else int((fuel >= 0).sum())
            else:
                canopy[name] = values = read_canopy(name, source, grid, notes)
                self.present[name] = 0 if values is None else int(np.isfinite(values).sum())
        check_canopy(canopy, grid, self._notes)
        if self.weather is not None:
            self.weather = self.weather.turned(-grid.convergence_deg)
            told, hours = self._notes["incident"], self._notes["weather"]
            check_codes(self.settings.system, self.weather, self.fire, grid, told, hours)
        check_dips_on_water(layers.dips, layers.water, self._notes["dips"])
        if z is None or fuel is None:
            return
        self.ground = Ground(
            grid=grid,
            elevation_m=z,
            fuel=fuel,
            canopy_cover=canopy.get("canopy_cover"),
            canopy_height_m=canopy.get("canopy_height"),
            canopy_base_m=canopy.get("canopy_base"),
            canopy_bulk_kg_per_m3=canopy.get("canopy_bulk"),
            water=self._water(layers.water, grid, z, fire),
            bases=raised_bases(layers.bases, grid, z, self._notes["terrain"]),
            dips=layers.dips,
            hazards=layers.hazards,
            people=layers.people,
            avoid=layers.avoid,
            roads=layers.roads,
        )

    def _water(
        self, layer: Layer[Water], grid: Grid, z: NDArray[np.float32], fire: Box | None
    ) -> Layer[Water]:
        """Water within reach of the fire, with the height of its surface."""
        reach_m = self.settings.limits.value("water_search_km") * 1000.0
        near = layer.features
        if fire is not None:
            middle = shapely.box(*fire)
            near = tuple(w for w in near if shapely.dwithin(w.polygon, middle, reach_m))
        if len(near) < len(layer):
            self._notes["water"].warning(
                f"{len(layer) - len(near)} of {len(layer)} waters lie farther from the fire than is searched.",
                "Raise the limit water_search_km to use them.",
                limit=self.settings.limits["water_search_km"].text(),
            )
        features = tuple(
            replace(
                w,
                surface_m=surface_m(w.polygon, grid, z),
                swell_from_deg=None
                if w.swell_from_deg is None
                else (w.swell_from_deg - grid.convergence_deg) % 360.0,
            )
            for w in near
        )
        return replace(layer, features=features)


def _whole_names(kind: LayerKind[T], collection: Collection, notes: Complaints) -> Collection:
    """The features with the names of their fields completed where the format cut them."""
    if not collection.short_names:
        return collection
    from wetline.store.ogr_file import names_asked, with_whole_names  # noqa: PLC0415  only where names are cut

    known = names_asked(lambda fields: kind.make(fields, shapely.Point(), ""))
    return with_whole_names(collection, known, notes)


@dataclass(frozen=True, slots=True)
class _Layers:
    water: Layer[Water]
    bases: Layer[Base]
    dips: Layer[DipPlace]
    hazards: Layer[Hazard]
    people: Layer[PeoplePlace]
    avoid: Layer[Avoid]
    roads: Layer[Road]
