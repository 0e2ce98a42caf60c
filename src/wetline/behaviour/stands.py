"""The trees of the ground as a crown fire reads them: where they stand, and what is known of their crowns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.ground import Ground

__all__ = ["Stands", "crowns_without_trees", "stands_of"]


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


def crowns_without_trees(
    cover: NDArray[np.float32],
    height: NDArray[np.float32],
    base: NDArray[np.float32],
    bulk: NDArray[np.float32],
) -> NDArray[np.bool_]:
    """Cells with crowns (base or density above 0) of which cover and height say that no trees stand there.

    Layers [r, c] of one shape, NaN where unknown. A cell beside trees is none of them: interpolation carries
    the crowns of a wood's edge that far.
    """
    return ((base > 0.0) | (bulk > 0.0)) & ~_with_neighbours(_may_stand(cover, height))


def _may_stand(one: NDArray[np.float32], other: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Where one of two layers is above 0, or both are unknown."""
    return (one > 0.0) | (other > 0.0) | (np.isnan(one) & np.isnan(other))


def _with_neighbours(cells: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The cells and the eight round each."""
    wide = np.pad(cells, 1)
    tall = wide[:-2] | wide[1:-1] | wide[2:]
    return np.asarray(tall[:, :-2] | tall[:, 1:-1] | tall[:, 2:])


def stands_of(ground: Ground, rows: slice, cols: slice) -> Stands | None:
    """The trees of a window; None where no canopy layer is given.

    Trees stand where cover or height is above 0 (without either layer: base or bulk), and may stand where
    all of them are unknown. What contradicts itself is unknown, and said: a base at or above the trees' height,
    a height or bulk of 0 under cover, crowns where cover and height know no trees.
    """
    given = (ground.canopy_cover, ground.canopy_height_m, ground.canopy_base_m, ground.canopy_bulk_kg_per_m3)
    if all(values is None for values in given):
        return None
    around = slice(max(rows.start - 1, 0), rows.stop + 1), slice(max(cols.start - 1, 0), cols.stop + 1)
    inner = tuple(
        slice(part.start - wide.start, part.stop - wide.start)
        for part, wide in zip((rows, cols), around, strict=True)
    )
    none = np.full(ground.fuel[around].shape, np.nan, np.float32)
    layers = [none if values is None else values[around] for values in given]
    stray = crowns_without_trees(*layers)[inner]
    cover, height, base, bulk = (values[inner] for values in layers)
    tells = ground.canopy_cover is not None or ground.canopy_height_m is not None
    trees = stray | (_may_stand(cover, height) if tells else _may_stand(base, bulk))
    above = trees & (base >= height) & (height > 0.0)
    counts = {
        "Canopy base at or above the trees' height in {} cells: crown fire unknown there.": above,
        "{} cells have tree height but no cover: trees to a crown fire, open to the wind.": (cover == 0.0)
        & (height > 0.0),
        "{} cells have crowns but neither cover nor height: crown fire unknown there.": stray,
    }
    base = np.where(above | stray, np.float32(np.nan), base)
    return Stands(
        trees=trees,
        base_m=base,
        bulk_kg_per_m3=np.where(bulk > 0.0, bulk, np.float32(np.nan)),
        crown_m=np.where(height > 0.0, height, np.float32(np.nan)) - base,
        notes=tuple(note.format(int(cells.sum())) for note, cells in counts.items() if np.any(cells)),
    )
