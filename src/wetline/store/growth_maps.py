"""How a fire may grow, as rasters that any geographic program reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.grid import Grid

__all__ = ["geotiff"]


def geotiff(grid: Grid, bands: Mapping[str, NDArray[np.floating]], tags: Mapping[str, str]) -> bytes:
    """A GeoTIFF of float32 bands [r, c] on a grid, described by their names; NaN where unknown.

    `tags`: what the file must say of itself, wherever it is taken.
    """
    import rasterio  # noqa: PLC0415  heavy
    from rasterio.io import MemoryFile  # noqa: PLC0415

    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff",
            height=grid.rows,
            width=grid.cols,
            count=len(bands),
            dtype="float32",
            crs=grid.projection.code,
            transform=rasterio.Affine(grid.cell_m, 0.0, grid.west_m, 0.0, -grid.cell_m, grid.north_m),
            nodata=float("nan"),
            compress="deflate",
            predictor=3,
            tiled=True,
        ) as file:
            for number, (name, values) in enumerate(bands.items(), start=1):
                file.write(np.asarray(values, np.float32), number)
                file.set_band_description(number, name)
            file.update_tags(**tags)
        return bytes(memory.read())
