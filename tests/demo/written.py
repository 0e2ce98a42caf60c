"""A demo folder as its files say."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
import shapely

from wetline.demo import build_demo
from wetline.grid import Grid, Projection

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class Written:
    """A demo folder as its files say, read without the project's own reader."""

    folder: Path
    name: str
    grid: Grid

    def band(self, name: str) -> NDArray[Any]:
        with rasterio.open(self.folder / f"{name}.tif") as file:
            band: NDArray[Any] = file.read(1)
        return band

    def layer(self, name: str) -> list[tuple[BaseGeometry, dict[str, Any]]]:
        """Shapes in metres, with their properties."""
        collection = json.loads((self.folder / f"{name}.geojson").read_text(encoding="utf-8"))
        return [
            (
                self.grid.projection.geometry_from(shapely.geometry.shape(f["geometry"]), "EPSG:4326"),
                f["properties"],
            )
            for f in collection["features"]
        ]

    def inside(self, shapes: list[BaseGeometry]) -> NDArray[np.bool_]:
        """Cells whose middle lies in one of the shapes."""
        x, y = self.grid.xy(*np.mgrid[0 : self.grid.rows, 0 : self.grid.cols])
        hit = np.zeros(self.grid.shape, bool)
        for shape in shapes:
            west, south, east, north = shape.bounds
            _, rows, cols = self.grid.window(west - 30, south - 30, east + 30, north + 30)
            hit[rows, cols] |= shapely.contains_xy(shape, x[rows, cols], y[rows, cols])
        return hit


def write(folder: Path, seed: int) -> Written:
    """Build a demo and look at the frame of its terrain."""
    result = build_demo(folder, seed=seed)
    with rasterio.open(folder / "terrain.tif") as file:
        frame = file.transform
        grid = Grid(Projection(str(file.crs)), frame.c, frame.f, frame.a, file.height, file.width)
    return Written(folder, result.incident, grid)
