"""The working coordinate system: metres, and the way to and from longitude and latitude."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["Projection", "utm_projection"]


@lru_cache(maxsize=64)
def _transformer(source: str, target: str) -> pyproj.Transformer:
    return pyproj.Transformer.from_crs(source, target, always_xy=True)


@dataclass(frozen=True, slots=True)
class Projection:
    """A projected CRS in metres, named by its authority code (`EPSG:32625`).

    Raises
    ------
    pyproj.exceptions.CRSError
        If the code is unknown.
    """

    code: str

    def to_lonlat(self, x: ArrayLike, y: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Longitude and latitude [deg, WGS 84] of points [m]."""
        lon, lat = _transformer(self.code, "EPSG:4326").transform(x, y)
        return np.asarray(lon, float), np.asarray(lat, float)

    def from_lonlat(self, lon: ArrayLike, lat: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Points [m] of longitude and latitude [deg, WGS 84]."""
        x, y = _transformer("EPSG:4326", self.code).transform(lon, lat)
        return np.asarray(x, float), np.asarray(y, float)

    def convergence_deg(self, x: float, y: float) -> float:
        """Meridian convergence [deg] at a point: add it to a grid bearing to get the true bearing."""
        lon, lat = self.to_lonlat(x, y)
        factors = pyproj.Proj(self.code).get_factors(float(lon), float(lat))
        return float(factors.meridian_convergence)

    def geometry_from(self, geometry: BaseGeometry, source_crs: str) -> BaseGeometry:
        """A geometry brought from any CRS into this one, z dropped."""
        transformer = _transformer(source_crs, self.code)

        def move(points: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.column_stack(transformer.transform(points[:, 0], points[:, 1]))

        return shapely.transform(shapely.force_2d(geometry), move)

    def geometry_to_lonlat(self, geometry: BaseGeometry) -> BaseGeometry:
        """A geometry brought from this CRS to WGS 84."""
        return shapely.transform(geometry, lambda p: np.column_stack(self.to_lonlat(p[:, 0], p[:, 1])))


def utm_projection(lon: float, lat: float) -> Projection:
    """The WGS 84 UTM zone of a place, between 80° S and 84° N, without the special northern zones.

    Raises
    ------
    ValueError
        If the latitude lies outside UTM.
    """
    if not -80.0 <= lat <= 84.0:
        message = f"latitude {lat:.3f}° lies outside UTM (80° S to 84° N)"
        raise ValueError(message)
    zone = int((lon + 180.0) // 6.0) % 60 + 1
    return Projection(f"EPSG:{32600 + zone if lat >= 0 else 32700 + zone}")
