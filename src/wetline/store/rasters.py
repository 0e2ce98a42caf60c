"""Rasters brought onto the working grid, holes as NaN."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import rasterio
from rasterio import warp
from rasterio.enums import Resampling
from rasterio.windows import Window

from wetline.store.raster_file import FAILURES, RasterFile, complain_unreadable, opened, place_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.grid import Grid
    from wetline.store.problems import Complaints

__all__ = ["Method", "read_onto"]

_MOST_SOURCE_CELLS = 1_000_000_000
"""Cells of a file read for one grid; a billion takes minutes on a laptop."""
_STRIP_CELLS = 4_000_000

Method = Literal["bilinear", "nearest", "tallest"]


def read_onto(
    source: RasterFile, grid: Grid, method: Method, complaints: Complaints
) -> NDArray[np.float32] | None:
    """The raster on the working grid as float32[row, col], NaN where it says nothing.

    Cells that coincide with the grid's are copied. Else `bilinear` (averaged first where the file is
    at least twice as fine), `nearest`, or `tallest` (the highest value in a cell where the file is
    finer, else nearest). None after a complaint if it cannot be read; all NaN if it lies elsewhere.
    """
    try:
        with opened(source.path) as ds:
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
    except FAILURES as error:
        complain_unreadable(error, complaints)
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
    corners = [place_of(back, x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]
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
    values *= np.float32(ds.scales[0] or 1.0)
    values += np.float32(ds.offsets[0] or 0.0)
    t = source.transform
    west, north = place_of(t, window.col_off, window.row_off)
    return values, rasterio.Affine(t.a * thin, t.b * thin, west, t.d * thin, t.e * thin, north)


def _known(masked: Any) -> NDArray[np.float32]:  # noqa: ANN401  rasterio is untyped
    values: NDArray[np.float32] = masked.data.astype(np.float32, copy=False)
    values[np.ma.getmaskarray(masked) | ~np.isfinite(values)] = np.nan
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
