"""What lies at or beyond the edge of the surface model's range, counted and said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour.cells import Cells

__all__ = ["STEEPEST_FITTED", "check_slope", "range_notes"]

STEEPEST_FITTED = 1.0
"""Slope (tangent) beyond which the slope factor is an extrapolation: the beds it was fitted on were tilted up
to about three quarters of it (Rothermel 1972, from memory)."""
_STEEPEST = 10.0
"""No terrain raster holds a true slope steeper than this (84°); `surface_spread_rothermel_1972` ends there."""


def check_slope(cells: Cells) -> None:
    """Refuse ground that is no ground.

    Raises
    ------
    OutsideRangeError
        If a burnable cell is steeper than 1000 %.
    """
    steepest = float(cells.slope_tan[cells.model >= 0].max(initial=0.0))
    if steepest > _STEEPEST:
        raise OutsideRangeError(field="slope_tan", value=steepest, low=0.0, high=_STEEPEST, unit="")


def range_notes(
    cells: Cells,
    no_wind_mps: NDArray[np.float64],
    factor_max: NDArray[np.float64],
    rate_mps: NDArray[np.float32],
) -> list[str]:
    """Cells on very steep ground, cells too damp to burn, and cells held back by a wind limit.

    `no_wind_mps`, `factor_max` by [slot, model, site]; `rate_mps` float32[slot, r, c] of the surface fire.
    """
    notes = []
    burns = cells.model >= 0
    steep = int(np.count_nonzero(burns & (cells.slope_tan > STEEPEST_FITTED)))
    if steep:
        notes.append(f"{steep} cells are steeper than 100 %: the slope's push is extrapolated there.")
    damp = _most_too_damp(cells, no_wind_mps)
    if damp:
        notes.append(
            f"In up to {damp} cells at some hour the fuel is damper than its moisture of extinction: no spread is"
            " modelled there, but a fire may smoulder, creep or flare up."
        )
    if np.any(np.isfinite(factor_max) & (no_wind_mps > 0.0)):
        held = max(
            int(np.count_nonzero(burns & (rate >= 0.99999 * _greatest(cells, still, most))))
            for rate, still, most in zip(rate_mps, no_wind_mps, factor_max, strict=True)
        )
        if held:
            notes.append(f"The wind limit holds the fire back in up to {held} cells; it may run faster.")
    return notes


def _most_too_damp(cells: Cells, no_wind_mps: NDArray[np.float64]) -> int:
    """The most cells of any slot whose bed carries no fire; counted by model and site, not cell by cell."""
    _, models, sites = no_wind_mps.shape
    if not models:
        return 0
    burns = cells.model >= 0
    kind = cells.model[burns].astype(np.intp) * sites + cells.site[burns]
    count = np.bincount(kind, minlength=models * sites).reshape(models, sites)
    return int(((no_wind_mps <= 0.0) * count).sum(axis=(1, 2)).max())


def _greatest(
    cells: Cells, no_wind_mps: NDArray[np.float64], factor_max: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The rate of each cell at the greatest factor; infinite where nothing burns."""
    greatest = np.full(no_wind_mps.shape, np.inf)
    np.multiply(no_wind_mps, 1.0 + factor_max, out=greatest, where=no_wind_mps > 0.0)
    burns = cells.model >= 0
    out = np.full(cells.model.shape, np.inf)
    out[burns] = greatest[cells.model[burns], cells.site[burns]]
    return out
