"""All that is known of the ground of one incident, on one working grid."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from wetline.ground.features import Layer
from wetline.ground.relief import slope_aspect

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from wetline.grid import Grid
    from wetline.ground.features import Avoid, Base, DipPlace, Hazard, PeoplePlace, Road, Water

__all__ = ["Ground"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Rasters `[row, col]` on `grid`, and feature layers in the grid's metres.

    `elevation_m` float32, NaN where unknown. `fuel` int16 number in the incident's fire system, −1 unknown.
    `canopy_cover` fraction 0–1, `canopy_height_m`, `canopy_base_m`, `canopy_bulk_kg_per_m3`:
    float32 or None where the incident gives none.
    """

    grid: Grid
    elevation_m: NDArray[np.float32]
    fuel: NDArray[np.int16]
    canopy_cover: NDArray[np.float32] | None = None
    canopy_height_m: NDArray[np.float32] | None = None
    canopy_base_m: NDArray[np.float32] | None = None
    canopy_bulk_kg_per_m3: NDArray[np.float32] | None = None
    water: Layer[Water] = field(default_factory=Layer)
    bases: Layer[Base] = field(default_factory=Layer)
    dips: Layer[DipPlace] = field(default_factory=Layer)
    hazards: Layer[Hazard] = field(default_factory=Layer)
    people: Layer[PeoplePlace] = field(default_factory=Layer)
    avoid: Layer[Avoid] = field(default_factory=Layer)
    roads: Layer[Road] = field(default_factory=Layer)

    def slope_aspect(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Slope [tangent] and aspect [deg, grid bearing of the fall line] on the grid."""
        return slope_aspect(self.elevation_m, self.grid.cell_m)

    def elevation_at(self, x: float, y: float) -> float:
        """Ground [m] at a point; NaN off the grid."""
        return float(self.grid.sample(self.elevation_m, x, y))

    def canopy_at(self, x: float, y: float) -> float | None:
        """Height [m] of the trees at a point, or None where no canopy layer is given."""
        if self.canopy_height_m is None:
            return None
        return float(self.grid.nearest(self.canopy_height_m, x, y))
