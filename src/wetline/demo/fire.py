"""The fire: a ragged oval running before the wind, seen twice, and a spot ahead of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.demo.contour import regions_below
from wetline.demo.noise import fractal
from wetline.demo.site import offset

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry import Polygon

    from wetline.demo.land import Land
    from wetline.demo.site import Site

__all__ = ["BurntGround", "light_fire"]

STEP_M = 10.0
REACH_M = 2_600.0
AREA_HA = 119.0
EARLIER_HA = 71.0
SPOT_HA = 0.4
LENGTH_TO_WIDTH = 2.3


@dataclass(frozen=True, slots=True)
class BurntGround:
    """Perimeters [m] of the fire now and at its earlier drawing, and of the spot.

    `heel`, `head`: the ends of the perimeter along the line on which the fire runs.
    """

    now: Polygon
    earlier: Polygon
    spot: Polygon
    heel: tuple[float, float]
    head: tuple[float, float]


def _field(rng: np.random.Generator, land: Land, site: Site) -> tuple[NDArray[np.float64], float, float]:
    """A field whose level lines are perimeters, and the place (west, north) of its first value."""
    west, north = site.fire[0] - REACH_M, site.fire[1] + REACH_M
    count = int(2 * REACH_M / STEP_M) + 1
    row, col = np.mgrid[0:count, 0:count]
    east_m, north_m = col * STEP_M - REACH_M, REACH_M - row * STEP_M
    angle = np.radians(site.toward_deg)
    along = east_m * np.sin(angle) + north_m * np.cos(angle) + 550.0  # from an origin behind the middle
    across = east_m * np.cos(angle) - north_m * np.sin(angle)
    # An ellipse with the origin at its rear focus: r (1 − e cos) is constant on it.
    ecc = np.sqrt(1 - LENGTH_TO_WIDTH**-2)
    size = np.hypot(along, across) - ecc * along
    broad = fractal(rng, size.shape, cell_m=STEP_M, longest_m=1_400, shortest_m=240, slope=3.0)
    fine = fractal(rng, size.shape, cell_m=STEP_M, longest_m=400, shortest_m=60, slope=2.6)
    height = land.grid.sample(land.waters.elevation_m, site.fire[0] + east_m, site.fire[1] + north_m)
    uphill = (height - land.height_m(*site.fire)) / 60.0
    size = size * np.exp(0.11 * broad + 0.016 * fine - 0.10 * np.clip(uphill, -1, 1))
    burnable = land.grid.nearest(land.burnable, site.fire[0] + east_m, site.fire[1] + north_m)
    return np.where(burnable, size, size.max()), west, north


def _perimeter(field: NDArray[np.float64], west: float, north: float, area_ha: float) -> Polygon:
    """The level line that holds an area [ha], without islands under 0.3 ha."""
    low, high = 0.0, float(field.max())
    ring = shapely.Polygon()
    for _ in range(40):
        level = (low + high) / 2
        regions = regions_below(field, level, west_m=west, north_m=north, step_m=STEP_M)
        if regions:
            islands = [hole for hole in regions[0].interiors if shapely.Polygon(hole).area > 3_000.0]
            ring = shapely.Polygon(regions[0].exterior, islands)
        if abs(ring.area / 1e4 - area_ha) < 0.05:
            break
        low, high = (low, level) if ring.area / 1e4 > area_ha else (level, high)
    return cast("Polygon", ring.simplify(2.0))


def light_fire(rng: np.random.Generator, land: Land, site: Site) -> BurntGround:
    """A fire of about 119 ha, its perimeter an hour before, and a spot 150 to 300 m ahead."""
    field, west, north = _field(rng, land, site)
    now = _perimeter(field, west, north, AREA_HA)
    earlier = _perimeter(field, west, north, EARLIER_HA)
    points = shapely.get_coordinates(now.exterior)
    angle = np.radians(site.toward_deg)
    ahead = points @ np.array([np.sin(angle), np.cos(angle)])
    head = tuple(float(v) for v in points[int(ahead.argmax())])
    heel = tuple(float(v) for v in points[int(ahead.argmin())])
    middle = offset((head[0], head[1]), site.toward_deg + rng.uniform(-8, 8), rng.uniform(215, 245))
    turn = np.linspace(0, 2 * np.pi, 28, endpoint=False)
    ragged = np.sqrt(SPOT_HA * 1e4 / np.pi) * (
        1 + 0.12 * np.sin(2 * turn + 1) + 0.05 * rng.standard_normal(28)
    )
    spot = shapely.Polygon(
        np.column_stack([middle[0] + ragged * np.cos(turn), middle[1] + ragged * np.sin(turn)])
    )
    return BurntGround(now=now, earlier=earlier, spot=spot, heel=(heel[0], heel[1]), head=(head[0], head[1]))
