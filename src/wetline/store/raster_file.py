"""What the header of a GeoTIFF says, checked: one band of numbers with a place on Earth."""

from __future__ import annotations

import math
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pyproj
import rasterio
from rasterio._err import CPLE_BaseError
from rasterio.errors import NotGeoreferencedWarning, RasterioError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.grid import Projection
    from wetline.store.problems import Complaints

__all__ = ["FAILURES", "RasterFile", "complain_unreadable", "inspect_raster", "opened", "place_of"]

FAILURES = (RasterioError, CPLE_BaseError, OSError, ValueError, MemoryError, pyproj.exceptions.ProjError)
"""What reading a damaged file raises; the library lets some errors of its own core pass unwrapped."""
_CACHE_MB = 64
"""The library would keep blocks in a twentieth of the machine's memory."""
_SMALLEST_STEP = 1e-9
"""Side of a cell beside its coordinates: half a centimetre at 5000 km, a centimetre in degrees."""
_LARGEST_DEG = 20.0
"""A sheet wider than this is no incident's terrain: one working system cannot hold it."""


@dataclass(frozen=True, slots=True)
class RasterFile:
    """What the header of a one-band raster says. `transform`: affine from (col, row) to its CRS."""

    path: Path
    crs: Any
    transform: Any
    cols: int
    rows: int

    def bounds_in(self, projection: Projection) -> tuple[float, float, float, float]:
        """West, south, east, north [m] of the file in a working CRS, its edges densified."""
        xs, ys = zip(*self.corners(), strict=True)
        box = (min(xs), min(ys), max(xs), max(ys))
        mover = _mover(self.crs.to_wkt(), projection.code)
        west, south, east, north = mover.transform_bounds(*box, densify_pts=21)
        return west, south, east, north

    def lonlat_of(self, points: list[tuple[float, float]]) -> NDArray[np.float64]:
        """Longitudes and latitudes [deg], float64[n, 2], of points in the file's CRS; inf where none."""
        x, y = np.array(points, float).T
        return np.column_stack(_mover(self.crs.to_wkt(), "EPSG:4326").transform(x, y))

    def middle_lonlat(self) -> tuple[float, float]:
        """Longitude and latitude [deg] of the middle."""
        lon, lat = self.lonlat_of([place_of(self.transform, self.cols / 2, self.rows / 2)])[0]
        return float(lon), float(lat)

    def covers_lonlat(self, lon: float, lat: float) -> bool:
        """Whether a place lies on the file."""
        x, y = _mover("EPSG:4326", self.crs.to_wkt()).transform(lon, lat)
        if not (math.isfinite(x) and math.isfinite(y)):
            return False
        col, row = place_of(~self.transform, x, y)
        return 0 <= col <= self.cols and 0 <= row <= self.rows

    def cell_in(self, projection: Projection) -> float:
        """Side [m] of a square as large as the middle cell."""
        col, row = self.cols / 2, self.rows / 2
        points = [place_of(self.transform, col + dc, row + dr) for dc, dr in ((0, 0), (1, 0), (0, 1))]
        x, y = _mover(self.crs.to_wkt(), projection.code).transform(*np.array(points).T)
        cross = (x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])
        return float(np.sqrt(abs(cross)))

    def aligned_with(self, projection: Projection) -> bool:
        """Whether it is north-up with square cells in the working CRS itself."""
        t = self.transform
        square = t.b == 0 and t.d == 0 and t.a > 0 and abs(t.a + t.e) <= 1e-6 * t.a
        return bool(square and _same_plane(self.crs, projection))

    def corners(self) -> list[tuple[float, float]]:
        """The four outer corners in the file's CRS."""
        return [place_of(self.transform, c, r) for c in (0, self.cols) for r in (0, self.rows)]


@lru_cache(maxsize=32)
def _mover(source: str, target: str) -> pyproj.Transformer:
    return pyproj.Transformer.from_crs(source, target, always_xy=True)


def place_of(t: Any, col: float, row: float) -> tuple[float, float]:  # noqa: ANN401  rasterio is untyped
    """Where an affine transform takes a column and a row."""
    return t.a * col + t.b * row + t.c, t.d * col + t.e * row + t.f


def _same_plane(crs: Any, projection: Projection) -> bool:  # noqa: ANN401  rasterio is untyped
    flat = _flat(pyproj.CRS.from_wkt(crs.to_wkt()))
    return bool(flat.equals(pyproj.CRS.from_user_input(projection.code), ignore_axis_order=True))


def _flat(crs: pyproj.CRS) -> pyproj.CRS:
    return crs.sub_crs_list[0] if crs.is_compound else crs


@contextmanager
def opened(path: Path) -> Iterator[Any]:
    """The dataset of a file, read as GeoTIFF and nothing else."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with rasterio.Env(GDAL_CACHEMAX=_CACHE_MB), rasterio.open(path, driver="GTiff") as ds:
            yield ds


def inspect_raster(path: Path, complaints: Complaints) -> RasterFile | None:
    """The header of a raster, complaining of all that forbids its use; None if it cannot be used."""
    if not path.is_file() or path.stat().st_size == 0:
        complaints.error("The file is empty or no file.", "Take a whole copy from where it came.")
        return None
    try:
        with opened(path) as ds:
            return _inspect(ds, path, complaints)
    except FAILURES as error:
        complain_unreadable(error, complaints)
        return None


def complain_unreadable(error: BaseException, complaints: Complaints) -> None:
    """Say that a file is cut, damaged or no GeoTIFF, and what the library said."""
    reason = (str(error).splitlines() or [type(error).__name__])[0]
    complaints.error(
        f"The file cannot be read as GeoTIFF: {reason.rstrip('.')}.",
        "It is cut, damaged or of another format: take a whole copy, or convert it to GeoTIFF.",
    )


def _inspect(ds: Any, path: Path, complaints: Complaints) -> RasterFile | None:  # noqa: ANN401  rasterio is untyped
    before = len(complaints.found)
    if ds.count != 1:
        complaints.error(
            f"The file has {ds.count} bands.", "Keep the one band of values; a picture is no data.",
            field="bands", value=ds.count, limit="1",
        )  # fmt: skip
    if np.dtype(ds.dtypes[0]).kind not in "iuf":
        complaints.error("The values are no plain numbers.", "Convert it.", field="type", value=ds.dtypes[0])
    if min(ds.width, ds.height) < 2:
        complaints.error(
            "The raster is smaller than two by two cells.", "Take the whole terrain.",
            field="size", value=f"{ds.width} × {ds.height}", limit="2 × 2",
        )  # fmt: skip
    placed = not ds.transform.is_identity and _has_cells(ds.transform)
    if not placed:
        complaints.error(
            "The raster has no place on the ground: its origin and cell size are not set.",
            "Write its georeference, or export it again as GeoTIFF.",
            field="transform",
        )
    if ds.crs is None or not ds.crs.to_wkt():
        complaints.error(
            "The raster has no coordinate system.",
            "Assign the one it was made in, such as EPSG:32625.",
            field="crs",
        )
    elif placed:
        _check_crs(ds, complaints)
    if len(complaints.found) > before:
        return None
    file = RasterFile(path, ds.crs, ds.transform, ds.width, ds.height)
    return file if _on_earth(file, complaints) else None


def _has_cells(t: Any) -> bool:  # noqa: ANN401  rasterio is untyped
    """Whether the cells have two sides, not in line, that the coordinates can tell apart."""
    across, down = math.hypot(t.a, t.d), math.hypot(t.b, t.e)
    reach = max(abs(t.c), abs(t.f), 1.0)
    return bool(min(across, down) > _SMALLEST_STEP * reach and abs(t.determinant) > 1e-3 * across * down)


def _on_earth(file: RasterFile, complaints: Complaints) -> bool:
    """Whether all of the file has longitudes and latitudes, over an area that one system can hold."""
    places = file.lonlat_of([*file.corners(), place_of(file.transform, file.cols / 2, file.rows / 2)])
    if not np.isfinite(places).all() or np.abs(places[:, 1]).max() > 90.0:
        complaints.error(
            "The raster lies outside the region for which its coordinate system holds.",
            "See its origin, cell size and coordinate system.",
            field="transform",
        )
        return False
    wide = (places - places[-1] + 180.0) % 360.0 - 180.0
    if np.abs(wide).max() > _LARGEST_DEG / 2:
        complaints.error(
            "The raster is too large for one working system.",
            "Cut it to the surroundings of the fire.",
            field="extent",
            value=f"{2 * np.abs(wide).max():.0f}°",
            limit=f"{_LARGEST_DEG:g}°",
        )
        return False
    return True


def _check_crs(ds: Any, complaints: Complaints) -> None:  # noqa: ANN401  rasterio is untyped
    crs = pyproj.CRS.from_wkt(ds.crs.to_wkt())
    flat = _flat(crs)
    name = ds.crs.to_string()[:60]
    if not (flat.is_geographic or flat.is_projected):
        complaints.error(
            "The coordinate system says nothing of where on Earth the raster lies.",
            "Assign the one it was made in.", field="crs", value=name,
        )  # fmt: skip
        return
    corners = [place_of(ds.transform, c, r) for c in (0, ds.width) for r in (0, ds.height)]
    reach = max(max(abs(x) / 360.0, abs(y) / 90.0) for x, y in corners)
    if flat.is_geographic and reach > 1.0 + 1e-9:
        complaints.error(
            "The raster is said to be in degrees, but its coordinates are no degrees.",
            "Assign the projected system it was made in.",
            field="crs", value=f"{name}, bounds {_bounds_text(ds)}", limit="±180°, ±90°",
        )  # fmt: skip
    if flat.is_projected and max(abs(v) for p in corners for v in p) <= 360.0:
        complaints.error(
            "The raster is said to be in metres, but its coordinates look like degrees.",
            "Assign EPSG:4326, or the system it was made in.",
            field="crs", value=f"{name}, bounds {_bounds_text(ds)}",
        )  # fmt: skip
    if crs.is_compound:
        unit = crs.sub_crs_list[1].axis_info[0].unit_name
        if unit != "metre":
            complaints.error(
                f"The heights are in {unit}.", "Convert them to metres (1 ft = 0.3048 m).",
                field="vertical unit", value=unit, limit="metre",
            )  # fmt: skip


def _bounds_text(ds: Any) -> str:  # noqa: ANN401  rasterio is untyped
    b = ds.bounds
    return f"{b.left:.6g} to {b.right:.6g}, {b.bottom:.6g} to {b.top:.6g}"
