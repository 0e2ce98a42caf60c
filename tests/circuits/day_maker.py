"""Flat and shaped ground, classes with numbers put in, and limits with some changed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import Point

from wetline.aircraft import AircraftClass, Quantity, aircraft_classes
from wetline.grid import Grid, Projection
from wetline.ground import Base, Ground, Layer
from wetline.model import Limits, shipped_limits

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray


def make_ground(
    height: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]] | None = None,
    *,
    cell_m: float = 50.0,
    cells: int = 400,
    bases: tuple[Base, ...] = (),
    canopy_m: float | None = 0.0,
) -> Ground:
    """Square ground round (0, 0); `height(x, y)` [m], flat at 0 by default."""
    half = cell_m * cells / 2
    grid = Grid(Projection("EPSG:32625"), -half, half, cell_m, cells, cells)
    row, col = np.mgrid[0:cells, 0:cells]
    x, y = grid.xy(row, col)
    z = np.zeros(grid.shape) if height is None else height(x, y)
    return Ground(
        grid=grid,
        elevation_m=z.astype(np.float32),
        fuel=np.ones(grid.shape, np.int16),
        canopy_height_m=None if canopy_m is None else np.full(grid.shape, canopy_m, np.float32),
        bases=Layer(bases, present=True),
    )


def make_class(class_id: str, **values: float) -> AircraftClass:
    """A shipped class with some values replaced (and then without a range)."""
    cls = aircraft_classes()[class_id]
    quantities = dict(cls.quantities)
    for name, value in values.items():
        unit = quantities[name].unit
        quantities[name] = Quantity(value=value, unit=unit, source="from memory")
    return replace(cls, quantities=quantities)


def make_limits(**values: float) -> Limits:
    """The shipped limits with some values replaced."""
    shipped = shipped_limits().by_name
    return Limits({**shipped, **{name: replace(shipped[name], value=v) for name, v in values.items()}})


def make_base(name: str, x: float, y: float, kind: str = "airfield", **more: object) -> Base:
    """A base at (x, y) [m]."""
    return Base(name=name, kind=kind, point=Point(x, y), **more)  # type: ignore[arg-type]
