"""Length, width and area at a coverage level, measured on a raster."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.profile import longest_and_total_m
from wetline.drops.result import EDGE_L_PER_M2, PatternSize

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops.result import PatternRaster

__all__ = ["Measured", "centre_line", "measured", "middle_m", "size_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What reaches a level: largest unbroken piece and all pieces together; [m] and [m²]."""

    line_m: float
    line_summed_m: float
    width_m: float
    width_summed_m: float
    area_m2: float
    area_summed_m2: float


def middle_m(raster: PatternRaster) -> tuple[float, float]:
    """Along and right of where the doors open [m]: the centre of mass of what reaches the surface."""
    c = raster.coverage_l_per_m2
    total = float(c.sum())
    return float(c.sum(axis=1) @ raster.along_m) / total, float(c.sum(axis=0) @ raster.right_m) / total


def centre_line(raster: PatternRaster, right_m: float) -> NDArray[np.float64]:
    """Coverage [L/m²] along the line at `right_m`, between the two rows of cells beside it."""
    at = np.interp(right_m, raster.right_m, np.arange(raster.right_m.size))
    left = min(int(at), raster.right_m.size - 2)
    c, part = raster.coverage_l_per_m2, at - left
    return np.asarray((1.0 - part) * c[:, left] + part * c[:, left + 1], float)


def measured(raster: PatternRaster, level_l_per_m2: float, right_m: float) -> Measured:
    """Line along `right_m`, greatest width across the run, and area of what reaches a level.

    Edges lie between cell middles by straight lines; cells belong together where their sides touch.
    """
    from scipy import ndimage  # noqa: PLC0415  slow to import, and needed for a raster alone

    c = raster.coverage_l_per_m2
    line, line_summed = longest_and_total_m(raster.along_m, centre_line(raster, right_m), level_l_per_m2)
    over = c >= level_l_per_m2
    wide = [
        longest_and_total_m(raster.right_m, c[row], level_l_per_m2) for row in np.flatnonzero(over.any(1))
    ]
    labels, pieces = ndimage.label(over)
    largest = 0
    if pieces > 1:
        largest = int(np.bincount(labels.ravel())[1:].argmax()) + 1
    alone = np.where((labels == 0) | (labels == largest), c, 0.0) if largest else c
    return Measured(
        line_m=line,
        line_summed_m=line_summed,
        width_m=max((longest for longest, _ in wide), default=0.0),
        width_summed_m=max((total for _, total in wide), default=0.0),
        area_m2=_area_m2(raster, alone, level_l_per_m2),
        area_summed_m2=_area_m2(raster, c, level_l_per_m2),
    )


def _area_m2(raster: PatternRaster, coverage: NDArray[np.float64], level: float) -> float:
    """Wet width across each row of cells, times the length of a cell."""
    over = coverage >= level
    both, mixed = over[:, :-1] & over[:, 1:], over[:, :-1] != over[:, 1:]
    top = np.maximum(coverage[:, :-1], coverage[:, 1:])[mixed]
    rise = np.abs(np.diff(coverage, axis=1))[mixed]
    return (float(both.sum()) + float(((top - level) / rise).sum())) * raster.cell_m2


def size_of(raster: PatternRaster, *, length_m: float, width_m: float, peak_l_per_m2: float) -> PatternSize:
    """The pattern's size, its mean counted on the cells inside the edge."""
    wet = raster.coverage_l_per_m2[raster.coverage_l_per_m2 >= EDGE_L_PER_M2]
    return PatternSize(
        length_m=length_m,
        width_m=width_m,
        mean_l_per_m2=float(wet.mean()) if wet.size else None,
        peak_l_per_m2=peak_l_per_m2,
    )
