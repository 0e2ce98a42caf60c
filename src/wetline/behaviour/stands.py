"""The trees of the ground as a crown fire reads them: where they stand, and what is known of their crowns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground

__all__ = ["Stands", "stands_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """Trees of a window [r, c]. `trees`: where they stand or may stand; the rest float32, NaN where unknown.

    `base_m`: of the crowns; `bulk_kg_per_m3` of their fuel; `crown_m`: depth of the crowns.
    """

    trees: NDArray[np.bool_]
    base_m: NDArray[np.float32]
    bulk_kg_per_m3: NDArray[np.float32]
    crown_m: NDArray[np.float32]
    notes: tuple[str, ...]


def stands_of(ground: Ground, rows: slice, cols: slice) -> Stands | None:
    """The trees of a window; None where no canopy layer is given.

    Trees stand where cover or height is above 0 (without either layer: base or bulk), and may stand where
    all of them are unknown. A base above the trees' height is no base, a height or bulk of 0 under cover is
    unknown; both are said.
    """
    shape = ground.fuel[rows, cols].shape

    def layer(values: NDArray[np.float32] | None) -> NDArray[np.float32]:
        return np.full(shape, np.nan, np.float32) if values is None else values[rows, cols]

    given = (ground.canopy_cover, ground.canopy_height_m, ground.canopy_base_m, ground.canopy_bulk_kg_per_m3)
    if all(values is None for values in given):
        return None
    cover, height, base, bulk = (layer(values) for values in given)
    told = (
        (cover, height)
        if ground.canopy_cover is not None or ground.canopy_height_m is not None
        else (base, bulk)
    )
    trees = (told[0] > 0.0) | (told[1] > 0.0) | (np.isnan(told[0]) & np.isnan(told[1]))
    above = trees & (base > height) & (height > 0.0)
    notes = []
    if np.any(above):
        notes.append(
            f"Canopy base above the trees' height in {int(above.sum())} cells: crown fire unknown there."
        )
    uncovered = int(np.count_nonzero((cover == 0.0) & (height > 0.0)))
    if uncovered:
        notes.append(
            f"{uncovered} cells have tree height but no cover: trees to a crown fire, open to the wind."
        )
    height = np.where(height > 0.0, height, np.float32(np.nan))
    base = np.where(above, np.float32(np.nan), base)
    return Stands(
        trees=trees,
        base_m=base,
        bulk_kg_per_m3=np.where(bulk > 0.0, bulk, np.float32(np.nan)),
        crown_m=height - base,
        notes=tuple(notes),
    )
