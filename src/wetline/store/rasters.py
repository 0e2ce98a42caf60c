"""GeoTIFF rasters: their headers checked, then brought onto the working grid with holes as NaN."""

from __future__ import annotations

import math
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pyproj
import rasterio
from rasterio import warp
from rasterio.enums import Resampling
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.windows import Window

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from wetline.grid import Grid, Projection
    from wetline.store.problems import Complaints

__all__ = ["RasterFile", "inspect_raster", "read_onto"]

_MOST_SOURCE_CELLS = 1_000_000_000
"""Cells of a file read for one grid; a billion takes minutes on a laptop."""
_STRIP_CELLS = 4_000_000
_FAILURES = (RasterioError, OSError, ValueError, MemoryError, pyproj.exceptions.ProjError)

Method = Literal["bilinear", "nearest", "tallest"]


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
        xs, ys = zip(*self._corners(), strict=True)
        box = (min(xs), min(ys), max(xs), max(ys))
        west, south, east, north = warp.transform_bounds(self.crs, projection.code, *box, densify_pts=21)
        return west, south, east, north

    def middle_lonlat(self) -> tuple[float, float]:
        """Longitude and latitude [deg] of the middle."""
        x, y = _at(self.transform, self.cols / 2, self.rows / 2)
        (lon,), (lat,) = warp.transform(self.crs, "EPSG:4326", [x], [y])
        return lon, lat

    def cell_in(self, projection: Projection) -> float:
        """Side [m] of a square as large as the middle cell."""
        middle = (self.cols / 2, self.rows / 2)
        points = [_at(self.transform, middle[0] + dc, middle[1] + dr) for dc, dr in ((0, 0), (1, 0), (0, 1))]
        x, y = warp.transform(self.crs, projection.code, [p[0] for p in points], [p[1] for p in points])
        cross = (x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])
        return float(np.sqrt(abs(cross)))

    def aligned_with(self, projection: Projection) -> bool:
        """Whether it is north-up with square cells in the working CRS itself."""
        t = self.transform
        square = t.b == 0 and t.d == 0 and t.a > 0 and abs(t.a + t.e) <= 1e-6 * t.a
        return bool(square and _same_plane(self.crs, projection))

    def _corners(self) -> list[tuple[float, float]]:
        return [_at(self.transform, c, r) for c in (0, self.cols) for r in (0, self.rows)]


def _at(t: Any, col: float, row: float) -> tuple[float, float]:  # noqa: ANN401  rasterio is untyped
    """Where an affine transform takes a column and a row."""
    return t.a * col + t.b * row + t.c, t.d * col + t.e * row + t.f


def _same_plane(crs: Any, projection: Projection) -> bool:  # noqa: ANN401  rasterio is untyped
    flat = _flat(pyproj.CRS.from_wkt(crs.to_wkt()))
    return bool(flat.equals(pyproj.CRS.from_user_input(projection.code), ignore_axis_order=True))


def _flat(crs: pyproj.CRS) -> pyproj.CRS:
    return crs.sub_crs_list[0] if crs.is_compound else crs


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with rasterio.open(path, driver="GTiff") as ds:
            yield ds


def inspect_raster(path: Path, complaints: Complaints) -> RasterFile | None:
    """The header of a raster, complaining of all that forbids its use; None if it cannot be used."""
    if not path.is_file() or path.stat().st_size == 0:
        complaints.error("The file is empty or no file.", "Take a whole copy from where it came.")
        return None
    try:
        with _opened(path) as ds:
            return _inspect(ds, path, complaints)
    except _FAILURES as error:
        _unreadable(error, complaints)
        return None


def _unreadable(error: BaseException, complaints: Complaints) -> None:
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
    placed = not ds.transform.is_identity and ds.transform.determinant != 0
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
    return RasterFile(path, ds.crs, ds.transform, ds.width, ds.height)


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
    corners = [_at(ds.transform, c, r) for c in (0, ds.width) for r in (0, ds.height)]
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


def read_onto(
    source: RasterFile, grid: Grid, method: Method, complaints: Complaints
) -> NDArray[np.float32] | None:
    """The raster on the working grid as float32[row, col], NaN where it says nothing.

    Cells that coincide with the grid's are copied. Else `bilinear` (averaged first where the file is
    at least twice as fine), `nearest`, or `tallest` (the highest value in a cell where the file is
    finer, else nearest). None after a complaint if it cannot be read; all NaN if it lies elsewhere.
    """
    try:
        with _opened(source.path) as ds:
            thin = max(1, int(grid.cell_m / source.cell_in(grid.projection) * (1 + 1e-6)))
            window = _window(source, grid, thin)
            if window.width * window.height > _MOST_SOURCE_CELLS:
                complaints.error(
                    "The raster is too fine to read whole.",
                    f"Resample it to {grid.cell_m:g} m.",
                    value=f"{window.width * window.height:.2g} cells",
                    limit=f"{_MOST_SOURCE_CELLS:.2g} cells",
                )
                return None
            if window.width < 1 or window.height < 1:
                return np.full(grid.shape, np.nan, np.float32)
            values, transform = _read(ds, source, window, thin, method)
    except _FAILURES as error:
        _unreadable(error, complaints)
        return None
    if source.aligned_with(grid.projection):
        copied = _copied(values, transform, grid)
        if copied is not None:
            return copied
    return _warped(values, transform, source, grid, method)


def _window(source: RasterFile, grid: Grid, thin: int) -> Window:
    """The cells of the file that can touch the grid, in whole blocks of `thin` by `thin` cells.

    Blocks are counted from the grid's corner, so that they coincide with its cells where they can.
    """
    box = warp.transform_bounds(grid.projection.code, source.crs, *grid.bounds, densify_pts=21)
    back = ~source.transform
    corners = [_at(back, x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]
    cols, rows = zip(*corners, strict=True)
    c0, width = _blocks(min(cols), max(cols), source.cols, thin)
    r0, height = _blocks(min(rows), max(rows), source.rows, thin)
    return Window(c0, r0, width, height)


def _blocks(low: float, high: float, most: int, thin: int) -> tuple[int, int]:
    """First cell and number of cells of whole blocks that cover low to high and two blocks more."""
    first = math.floor(low + 1e-3) - 2 * thin
    first = first if first >= 0 else first % thin
    last = min(math.ceil(high - 1e-3) + 2 * thin, most)
    return first, max((last - first) // thin, 0) * thin


def _read(
    ds: Any,  # noqa: ANN401  rasterio is untyped
    source: RasterFile,
    window: Window,
    thin: int,
    method: Method,
) -> tuple[NDArray[np.float32], Any]:
    """The window with holes as NaN, each block of `thin` by `thin` cells made one."""
    if method == "tallest" and thin > 1:
        values = _tallest(ds, window, thin)
    else:
        shape = (int(window.height) // thin, int(window.width) // thin)
        how = Resampling.average if method == "bilinear" else Resampling.nearest
        values = _known(ds.read(1, window=window, out_shape=shape, resampling=how, masked=True))
    values = values * np.float32(ds.scales[0] or 1.0) + np.float32(ds.offsets[0] or 0.0)
    t = source.transform
    west, north = _at(t, window.col_off, window.row_off)
    return values, rasterio.Affine(t.a * thin, t.b * thin, west, t.d * thin, t.e * thin, north)


def _known(masked: Any) -> NDArray[np.float32]:  # noqa: ANN401  rasterio is untyped
    values = np.asarray(masked.astype(np.float32).filled(np.nan), np.float32)
    values[~np.isfinite(values)] = np.nan
    return values


def _tallest(ds: Any, window: Window, thin: int) -> NDArray[np.float32]:  # noqa: ANN401  rasterio is untyped
    """The highest known value of each block, read in strips so that memory stays small."""
    rows, cols = int(window.height) // thin, int(window.width) // thin
    out = np.full((rows, cols), np.nan, np.float32)
    strip = max(1, _STRIP_CELLS // (cols * thin * thin))
    for r in range(0, rows, strip):
        n = min(strip, rows - r)
        part = Window(window.col_off, window.row_off + r * thin, window.width, n * thin)
        cells = _known(ds.read(1, window=part, masked=True)).reshape(n, thin, cols, thin)
        out[r : r + n] = np.fmax.reduce(np.fmax.reduce(cells, axis=3), axis=1)
    return out


def _copied(values: NDArray[np.float32], transform: Any, grid: Grid) -> NDArray[np.float32] | None:  # noqa: ANN401
    """The same cells moved into the grid's frame, or None if they do not coincide."""
    col = (transform.c - grid.west_m) / grid.cell_m
    row = (grid.north_m - transform.f) / grid.cell_m
    same = abs(transform.a - grid.cell_m) <= 1e-6 * grid.cell_m
    if not same or max(abs(col - round(col)), abs(row - round(row))) > 1e-3:
        return None
    out = np.full(grid.shape, np.nan, np.float32)
    r, c = round(row), round(col)
    to_rows = slice(max(r, 0), min(r + values.shape[0], grid.rows))
    to_cols = slice(max(c, 0), min(c + values.shape[1], grid.cols))
    out[to_rows, to_cols] = values[
        to_rows.start - r : max(to_rows.stop - r, 0), to_cols.start - c : max(to_cols.stop - c, 0)
    ]
    return out


def _warped(
    values: NDArray[np.float32],
    transform: Any,  # noqa: ANN401  rasterio is untyped
    source: RasterFile,
    grid: Grid,
    method: Method,
) -> NDArray[np.float32]:
    out = np.full(grid.shape, np.nan, np.float32)
    finer = source.cell_in(grid.projection) < 0.95 * grid.cell_m
    coarse = Resampling.max if method == "tallest" and finer else Resampling.nearest
    warp.reproject(
        values,
        out,
        src_transform=transform,
        src_crs=source.crs,
        src_nodata=np.nan,
        dst_transform=rasterio.Affine(grid.cell_m, 0, grid.west_m, 0, -grid.cell_m, grid.north_m),
        dst_crs=grid.projection.code,
        dst_nodata=np.nan,
        resampling=Resampling.bilinear if method == "bilinear" else coarse,
    )
    return out
