"""Georeferenced rasters, the working coordinate system, bearings and position formats.

Conventions, written once: `(x, y)` metres in a projected CRS inside; `(lon, lat)` WGS 84 outside;
`z[row, col]` with row 0 in the north; bearings clockwise from *grid* north inside, from true north
outside (`Projection.convergence_deg` joins the two).
"""

from wetline.grid.bearing import along, angle_between, bearing_deg
from wetline.grid.positions import ddm, decimal_degrees, mgrs, utm
from wetline.grid.projection import Projection, utm_projection
from wetline.grid.raster import Grid

__all__ = [
    "Grid",
    "Projection",
    "along",
    "angle_between",
    "bearing_deg",
    "ddm",
    "decimal_degrees",
    "mgrs",
    "utm",
    "utm_projection",
]
