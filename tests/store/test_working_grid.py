"""The grid on which an incident is worked: its cells, its box, and values brought onto it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyproj
import pytest
import rasterio

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import (
    CELL_M,
    COLS,
    FIRE_TIME,
    FIRE_XY,
    LAKE_BOX,
    NORTH_M,
    ROWS,
    WEST_M,
    circle_ring,
    feature,
    lonlat,
    terrain,
    write_features,
    write_raster,
)
from wetline.grid import Projection
from wetline.store import read_incident
from wetline.store.frame import MOST_CELLS, working_grid
from wetline.store.problems import Complaints
from wetline.store.raster_file import RasterFile

if TYPE_CHECKING:
    from pathlib import Path

UTM = Projection("EPSG:32625")


def plane(cell_m: float, width_m: float = COLS * CELL_M, height_m: float = ROWS * CELL_M) -> Any:
    """The folder's plane without its lake, in cells of another size."""
    rows, cols = int(height_m / cell_m), int(width_m / cell_m)
    r, c = np.mgrid[0:rows, 0:cols]
    x, y = WEST_M + (c + 0.5) * cell_m, NORTH_M - (r + 0.5) * cell_m
    return np.asarray(400.0 + 0.03 * (x - WEST_M) + 0.01 * (y - NORTH_M + ROWS * CELL_M), np.float32)


def at(cell_m: float) -> Any:
    return rasterio.Affine(cell_m, 0, WEST_M, 0, -cell_m, NORTH_M)


@pytest.mark.derived
def test_cells_of_the_terrain_are_kept_to_the_bit(folder: Path) -> None:
    """No resampling where none is needed: the plane as written comes back unchanged."""
    ground = read_incident(folder).ground
    assert (ground.grid.west_m, ground.grid.north_m, ground.grid.cell_m) == (WEST_M, NORTH_M, CELL_M)
    np.testing.assert_array_equal(ground.elevation_m, terrain())


@pytest.mark.derived
@pytest.mark.parametrize(("cell_m", "works_on"), [(90.0, 30.0), (5.0, 10.0), (20.0, 20.0), (35.0, 35.0)])
def test_other_cells_are_resampled_and_the_plane_stays_a_plane(
    folder: Path, cell_m: float, works_on: float
) -> None:
    """Bilinear interpolation of a plane is exact; checked two cells off the edge against its equation."""
    write_raster(folder / "terrain.tif", plane(cell_m), transform=at(cell_m))
    ground = read_incident(folder).ground
    assert ground.grid.cell_m == works_on
    rows, cols = np.mgrid[20:100, 20:120] if works_on > 15 else np.mgrid[60:300, 60:360]
    x, y = ground.grid.xy(rows, cols)
    expected = 400.0 + 0.03 * (x - WEST_M) + 0.01 * (y - NORTH_M + ROWS * CELL_M)
    np.testing.assert_allclose(ground.elevation_m[rows, cols], expected, atol=0.01)


@pytest.mark.behaviour
@pytest.mark.parametrize(("cell_m", "said"), [(90.0, True), (5.0, True), (20.0, False)])
def test_resampling_is_said(folder: Path, cell_m: float, said: bool) -> None:
    write_raster(folder / "terrain.tif", plane(cell_m), transform=at(cell_m))
    assert ("cell size" in {p.field for p in warnings_of(folder, "terrain.tif")}) is said


@pytest.mark.behaviour
def test_terrain_too_coarse_to_judge_slopes_is_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", plane(500.0), transform=at(500.0))
    problem = the_error(folder)
    assert (problem.field, problem.limit) == ("cell size", "250 m")


@pytest.mark.derived
def test_terrain_in_degrees_is_brought_to_metres(folder: Path) -> None:
    """A cone of 100 m every 1000 m about the fire, written in degrees, read in metres."""
    step = 1.0 / 3600.0
    west, north, cols, rows = -31.85, 47.235, 400, 240
    lon, lat = np.meshgrid(west + (np.arange(cols) + 0.5) * step, north - (np.arange(rows) + 0.5) * step)
    x, y = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32625", always_xy=True).transform(lon, lat)
    z = 500.0 + 0.1 * np.hypot(x - FIRE_XY[0], y - FIRE_XY[1])
    write_raster(
        folder / "terrain.tif",
        z.astype(np.float32),
        crs="EPSG:4326",
        transform=rasterio.Affine(step, 0, west, 0, -step, north),
    )
    ground = read_incident(folder).ground
    assert 20.0 <= ground.grid.cell_m <= 35.0
    for dx, dy in ((1000, 0), (0, -1500), (-800, 600)):
        expected = 500.0 + 0.1 * float(np.hypot(dx, dy))
        assert ground.elevation_at(FIRE_XY[0] + dx, FIRE_XY[1] + dy) == pytest.approx(expected, abs=0.5)


@pytest.mark.derived
def test_fuels_on_other_cells_keep_their_numbers_and_places(folder: Path) -> None:
    """Nearest cell: never a number between two models."""
    values = np.full((ROWS * 3, COLS * 3), 2, np.int16)
    values[:, values.shape[1] // 2 :] = 165
    write_raster(folder / "fuels.tif", values, transform=at(10.0))
    ground = read_incident(folder).ground
    assert set(np.unique(ground.fuel)) == {2, 165}
    assert (ground.fuel[:, : COLS // 2 - 1] == 2).all()
    assert (ground.fuel[:, COLS // 2 + 1 :] == 165).all()


@pytest.mark.derived
def test_the_tallest_tree_of_a_cell_is_kept(folder: Path) -> None:
    """A single 42 m tree of 10 m in a 30 m cell sets the height to fly above."""
    values = np.full((ROWS * 3, COLS * 3), 5.0, np.float32)
    values[100, 200] = 42.0
    write_raster(folder / "canopy_height.tif", values, transform=at(10.0))
    canopy = read_incident(folder).ground.canopy_height_m
    assert canopy is not None
    assert canopy[100 // 3, 200 // 3] == 42.0


@pytest.mark.derived
def test_water_and_bases_take_their_height_from_the_terrain(folder: Path) -> None:
    """The lake lies at 510 m; the base at 400 + 0.03 × 600 + 0.01 × 580 m."""
    ground = read_incident(folder).ground
    (lake,), (base,) = ground.water.features, ground.bases.features
    assert lake.surface_m == pytest.approx(510.0)
    assert base.elevation_m == pytest.approx(400 + 0.03 * 600 + 0.01 * 580, abs=0.01)


@pytest.mark.derived
def test_shapes_come_back_where_they_were_drawn(folder: Path) -> None:
    incident = read_incident(folder)
    assert incident.fire.area_m2 == pytest.approx(200_000.0, rel=1e-4)
    middle = incident.fire.perimeters[0].polygon.centroid
    assert (middle.x, middle.y) == pytest.approx(FIRE_XY, abs=0.01)
    assert incident.ground.water.features[0].polygon.bounds == pytest.approx(LAKE_BOX, abs=0.01)


@pytest.mark.derived
def test_wind_is_turned_from_true_to_grid(folder: Path) -> None:
    """Convergence of a transverse Mercator grid is nearly (lon - lon0) sin(lat): Snyder 1987, eq. 8-16
    to first order. East of the central meridian grid north lies east of true north, so that a true bearing is
    larger than its grid bearing."""
    incident = read_incident(folder)
    assert incident.weather is not None
    lon, lat = lonlat(WEST_M + COLS * CELL_M / 2, NORTH_M - ROWS * CELL_M / 2)
    convergence = (lon - (-33.0)) * np.sin(np.radians(lat))
    assert 0.8 < convergence < 1.0
    np.testing.assert_allclose(incident.weather.wind_from_deg, 270.0 - convergence, atol=0.002)


@pytest.mark.behaviour
def test_terrain_that_ends_near_the_fire_is_remarked(folder: Path) -> None:
    from wetline.store import check_folder  # noqa: PLC0415  only here

    found = [p for p in check_folder(folder).problems if p.field == "extent"]
    assert len(found) == 4
    assert {p.level for p in found} == {"warning"}


def _file(cell_m: float, km: float) -> RasterFile:
    side = int(km * 1000 / cell_m)
    crs = rasterio.crs.CRS.from_epsg(32625)
    west, north = 500_000.0, 5_300_000.0
    return RasterFile(
        __import__("pathlib").Path("terrain.tif"),
        crs,
        rasterio.Affine(cell_m, 0, west, 0, -cell_m, north),
        side,
        side,
    )


@pytest.mark.property
@pytest.mark.parametrize("cell_m", [2.0, 10.0, 12.5, 25.0, 30.0, 90.0])
@pytest.mark.parametrize("reach_km", [5.0, 25.0, 40.0, 100.0])
@pytest.mark.parametrize("fire_km", [1.0, 60.0])
def test_the_grid_never_outgrows_its_memory_and_always_holds_the_fire(
    cell_m: float, reach_km: float, fire_km: float
) -> None:
    notes = Complaints("terrain.tif", "terrain")
    x, y, half = 560_000.0, 5_240_000.0, fire_km * 500
    fire = (x - half, y - half, x + half, y + half)
    grid = working_grid(_file(cell_m, 120.0), UTM, fire, reach_km * 1000, notes)
    assert grid is not None
    assert grid.rows * grid.cols <= MOST_CELLS * 1.01
    west, south, east, north = grid.bounds
    assert west <= max(fire[0], 500_000.0)
    assert south <= max(fire[1], 5_180_000.0)
    assert east >= fire[2]
    assert north >= fire[3]
    assert grid.cell_m >= 10.0
    asked = (2 * reach_km + fire_km) * 1000 / max(cell_m, 10.0)
    if min(asked, 120_000 / max(cell_m, 10.0)) ** 2 > MOST_CELLS * 1.05:
        assert any(p.field == "extent" for p in notes.found)


@pytest.mark.behaviour
def test_the_box_is_cut_to_the_reach_for_water(folder: Path) -> None:
    big = plane(CELL_M, 30_000.0, 30_000.0)
    write_raster(folder / "terrain.tif", big)
    write_raster(folder / "fuels.tif", np.full(big.shape, 2, np.int16))
    edit(folder / "incident.toml", "limits.people_stop_m]\nvalue = 80", "limits.water_search_km]\nvalue = 6")
    write_features(
        folder / "fire.geojson",
        feature("Polygon", [circle_ring(WEST_M + 15_000, NORTH_M - 15_000, 2e5)], time=FIRE_TIME.isoformat()),
    )
    assert errors(folder) == []
    incident = read_incident(folder)
    west, south, east, north = incident.ground.grid.bounds
    assert east - west == pytest.approx(12_500, abs=100)
    assert north - south == pytest.approx(12_500, abs=100)
    assert len(incident.ground.water) == 0
    assert any("waters lie farther" in p.message for p in incident.warnings)
