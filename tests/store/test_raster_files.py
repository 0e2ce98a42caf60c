"""terrain.tif, fuels.tif and canopy: what is refused, what is remarked, and where it says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import rasterio

from store.asking import edit, errors, the_error, warnings_of
from store.folder_maker import CELL_M, COLS, FIRE_XY, NORTH_M, ROWS, WEST_M, fuels, terrain, write_raster
from wetline.store import check_folder, read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

FIRE_ROW, FIRE_COL = int((NORTH_M - FIRE_XY[1]) / CELL_M), int((FIRE_XY[0] - WEST_M) / CELL_M)


def test_a_raster_without_a_coordinate_system_is_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", terrain(), crs=None)
    problem = the_error(folder)
    assert (problem.file, problem.field) == ("terrain.tif", "crs")


def test_degrees_that_are_metres_are_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", terrain(), crs="EPSG:4326")
    problem = the_error(folder)
    assert (problem.file, problem.field) == ("terrain.tif", "crs")
    assert "no degrees" in problem.message


def test_metres_that_are_degrees_are_refused(folder: Path) -> None:
    degrees = rasterio.Affine(0.0003, 0, -31.8, 0, -0.0003, 47.2)
    write_raster(folder / "terrain.tif", terrain(), transform=degrees)
    assert any("look like degrees" in p.message for p in errors(folder))


def test_a_raster_without_a_place_is_refused(folder: Path) -> None:
    with pytest.warns(rasterio.errors.NotGeoreferencedWarning):
        write_raster(folder / "fuels.tif", fuels(), transform=rasterio.Affine.identity())
    problem = the_error(folder)
    assert (problem.file, problem.field) == ("fuels.tif", "transform")


@pytest.mark.parametrize("name", ["terrain.tif", "fuels.tif"])
def test_a_raster_that_does_not_reach_the_fire_is_refused(folder: Path, name: str) -> None:
    values = terrain() if name == "terrain.tif" else fuels()
    away = rasterio.Affine(CELL_M, 0, WEST_M + 100_000, 0, -CELL_M, NORTH_M)
    write_raster(folder / name, values, transform=away)
    found = errors(folder)
    assert found
    where = {p.file for p in found}
    assert where & {name, "fire.geojson"}


def test_a_picture_is_no_terrain(folder: Path) -> None:
    with rasterio.open(
        folder / "terrain.tif",
        "w",
        driver="GTiff",
        width=20,
        height=20,
        count=3,
        dtype="uint8",
        crs="EPSG:32625",
        transform=rasterio.Affine(CELL_M, 0, WEST_M, 0, -CELL_M, NORTH_M),
    ) as ds:
        ds.write(np.ones((3, 20, 20), np.uint8))
    problem = the_error(folder)
    assert (problem.field, problem.value, problem.limit) == ("bands", "3", "1")


def test_heights_above_any_mountain_are_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", terrain() * 20)
    problem = the_error(folder)
    assert problem.field == "height"
    assert "metres" in problem.mend


def _hills(relief: float) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    """Ridges 1.2 km apart whose flanks slope by `relief` (tangent)."""
    x = np.arange(COLS) * CELL_M
    profile = np.abs((x % 1200.0) - 600.0) * relief
    return np.asarray(np.tile(400.0 + profile, (ROWS, 1)), np.float32)


def test_hills_in_feet_are_refused(folder: Path) -> None:
    """Flanks of 30 % are ordinary; the same in feet, read as metres, slope by 98 %."""
    write_raster(folder / "terrain.tif", _hills(0.30))
    assert errors(folder) == []
    write_raster(folder / "terrain.tif", _hills(0.30 / 0.3048))
    problem = the_error(folder)
    assert problem.field == "slope"
    assert problem.limit == "60%"
    assert "0.3048" in problem.mend


def test_rolling_hills_in_feet_are_remarked(folder: Path) -> None:
    """The mean does not betray them; the flanks of 33 %, 108 % in feet, do."""
    z = _hills(0.05)
    z[:, :20] = _hills(0.33)[:, :20]
    write_raster(folder / "terrain.tif", z)
    assert warnings_of(folder, "terrain.tif") == []
    write_raster(folder / "terrain.tif", z / np.float32(0.3048))
    (problem,) = warnings_of(folder, "terrain.tif")
    assert problem.field == "slope"
    assert "feet" in problem.message


@pytest.mark.parametrize(
    ("elevation_m", "level"),
    [(424, None), (460, None), (500, "warning"), (424 * 0.3048, "error")],
)
def test_the_height_of_a_base_vouches_for_the_terrain(
    folder: Path, elevation_m: float, level: str | None
) -> None:
    """The terrain lies at 424 m under the base; a base known to stand at 129 m shows that those are feet."""
    edit(folder / "bases.geojson", '"runway_m": 1800', f'"runway_m": 1800, "elevation_m": {elevation_m}')
    found = [p for p in check_folder(folder).problems if p.field == "height"]
    assert [(p.file, p.level) for p in found] == ([] if level is None else [("terrain.tif", level)])
    if level != "error":
        assert read_incident(folder).ground.bases.features[0].elevation_m == elevation_m


def test_steep_ground_is_used_when_somebody_vouches_for_metres(folder: Path) -> None:
    write_raster(folder / "terrain.tif", _hills(0.9))
    edit(folder / "incident.toml", 'units = "aviation"', 'units = "aviation"\nterrain_unit = "m"')
    assert [p.field for p in warnings_of(folder, "terrain.tif")] == ["slope"]


def test_heights_said_to_be_in_feet_are_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", terrain(), crs="EPSG:32625+6360")
    problem = the_error(folder)
    assert problem.field == "vertical unit"


def test_flat_heights_are_remarked(folder: Path) -> None:
    write_raster(folder / "terrain.tif", np.zeros((ROWS, COLS), np.float32))
    assert [p.field for p in warnings_of(folder, "terrain.tif")] == ["height"]


def test_a_raster_of_nothing_is_refused(folder: Path) -> None:
    write_raster(folder / "terrain.tif", np.full((ROWS, COLS), -1.0, np.float32), nodata=-1.0)
    assert the_error(folder).file == "terrain.tif"


def test_holes_become_unknown_and_are_counted_with_their_place(folder: Path) -> None:
    z = terrain()
    z[FIRE_ROW - 40, FIRE_COL : FIRE_COL + 5] = -32768.0
    write_raster(folder / "terrain.tif", z, nodata=-32768.0)
    (problem,) = warnings_of(folder, "terrain.tif")
    assert problem.value == "5 cells"
    assert "5 of them within 5 km" in problem.message
    assert "[-31.77" in problem.message
    assert "47.2" in problem.message
    elevation = read_incident(folder).ground.elevation_m
    assert int(np.isnan(elevation).sum()) == 5


def test_an_undeclared_filler_is_a_hole_not_a_height(folder: Path) -> None:
    z = terrain()
    z[3, 3] = -9999.0
    write_raster(folder / "terrain.tif", z)
    assert {p.field for p in warnings_of(folder, "terrain.tif")} == {"height", "no data"}
    assert np.isnan(read_incident(folder).ground.elevation_m[3, 3])


def test_not_a_number_is_a_hole(folder: Path) -> None:
    z = terrain()
    z[3, 3] = np.nan
    write_raster(folder / "terrain.tif", z)
    assert [p.value for p in warnings_of(folder, "terrain.tif")] == ["1 cell"]


def test_ground_mostly_unknown_round_the_fire_is_refused(folder: Path) -> None:
    values = fuels()
    values[FIRE_ROW - 60 : FIRE_ROW + 60, FIRE_COL - 60 : FIRE_COL + 60] = 0
    write_raster(folder / "fuels.tif", values, nodata=0)
    problem = the_error(folder)
    assert (problem.file, problem.field) == ("fuels.tif", "no data")


def test_fuel_numbers_that_are_not_published_are_listed_with_their_counts(folder: Path) -> None:
    values = fuels()
    values[0, :3], values[1, :2], values[2, 0] = 14, 77, -9999
    write_raster(folder / "fuels.tif", values)
    problem = the_error(folder)
    assert problem.field == "fuel model"
    assert "14 (3 cells), 77 (2 cells), -9999 (1 cell)" in problem.message
    assert problem.value == "14, 77, -9999"


def test_fuel_numbers_with_a_fraction_are_refused(folder: Path) -> None:
    values = fuels().astype(np.float32)
    values[0, 0] = 4.5
    write_raster(folder / "fuels.tif", values)
    assert the_error(folder).value == "4.5"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("canopy_cover", 140),
        ("canopy_cover", -9999),
        ("canopy_cover", 0.8),
        ("canopy_height", 250),
        ("canopy_base", 150),
        ("canopy_bulk", 15),
    ],
)
def test_canopy_in_another_unit_is_refused(folder: Path, name: str, value: float) -> None:
    write_raster(folder / f"{name}.tif", np.full((ROWS, COLS), value, np.float32))
    problem = the_error(folder)
    assert (problem.file, problem.field) == (f"{name}.tif", name)


def test_canopy_is_read_in_its_units(folder: Path) -> None:
    for name, value in (("cover", 40), ("height", 18), ("base", 3), ("bulk", 0.12)):
        write_raster(folder / f"canopy_{name}.tif", np.full((ROWS, COLS), value, np.float32))
    ground = read_incident(folder).ground
    assert ground.canopy_cover is not None
    assert ground.canopy_cover[5, 5] == pytest.approx(0.40)
    assert ground.canopy_at(*FIRE_XY) == 18.0
    assert ground.canopy_base_m is not None
    assert ground.canopy_base_m[5, 5] == 3.0
    assert ground.canopy_bulk_kg_per_m3 is not None
    assert ground.canopy_bulk_kg_per_m3[5, 5] == pytest.approx(0.12)


@pytest.mark.parametrize("name", ["terrain", "fuels", "canopy_height"])
@pytest.mark.parametrize("content", [b"", b"II*\0", b"\x89PNG\r\n\x1a\n" + bytes(64), b"plain words"])
def test_what_is_no_geotiff_is_named(folder: Path, name: str, content: bytes) -> None:
    (folder / f"{name}.tif").write_bytes(content)
    assert the_error(folder).file == f"{name}.tif"


def test_a_cut_raster_is_named(folder: Path) -> None:
    path = folder / "terrain.tif"
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    problem = the_error(folder)
    assert problem.file == "terrain.tif"
    assert "cut" in problem.mend


def test_a_folder_in_place_of_a_raster_is_named(folder: Path) -> None:
    (folder / "fuels.tif").unlink()
    (folder / "fuels.tif").mkdir()
    assert the_error(folder).file == "fuels.tif"


@pytest.mark.parametrize("side", [1e-9, -1e-9])
def test_cells_without_a_size_are_refused(folder: Path, side: float) -> None:
    """A damaged header may hold any number; a cell of a billionth of a metre has no place to itself."""
    write_raster(
        folder / "fuels.tif", fuels(), transform=rasterio.Affine(side, 0, WEST_M, 0, -CELL_M, NORTH_M)
    )
    problem = the_error(folder)
    assert (problem.file, problem.field) == ("fuels.tif", "transform")
