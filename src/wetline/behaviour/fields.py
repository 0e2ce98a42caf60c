"""Fire behaviour on the working grid: head rate, direction, shape and intensity, slot by slot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import ArrayLike, NDArray

    from wetline.grid import Grid

__all__ = ["FireAt", "FireFields"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FireAt:
    """Behaviour at points: arrays of one shape. Units as in `FireFields`."""

    head_rate_mps: NDArray[np.float32]
    head_toward_deg: NDArray[np.float32]
    eccentricity: NDArray[np.float32]
    head_intensity_kw_per_m: NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class FireFields:
    """Head fire behaviour in every cell; slot k holds from `edges_s[k]` to `edges_s[k + 1]`.

    `edges_s` float64[n + 1], seconds after `start` (aware UTC), increasing. `head_rate_mps`,
    `head_toward_deg` (grid bearing in which the head runs), `eccentricity` (of the ellipse with the
    ignition at its rear focus, 0 ≤ e < 1), `head_intensity_kw_per_m` (Byram's): float32[n, r, c].
    `burnable` bool[r, c]; the rate is 0 where False. Rates run over the ground's own surface and are
    not shortened to the map: on a slope of 30° they are up to 15 % too fast on the map, never too slow.

    `unknown` bool[r, c], None for none, and `unknown_cells`: cells without fuel, of an unknown fuel number or without elevation. They stand as
    unburnable here and must be shown as unknown. `capped_cells`: the most cells of any slot in which
    the length-to-width ratio was cut at `LENGTH_TO_WIDTH_MAX`. `crown` uint8[n, r, c]: 0 surface fire, 1 passive
    crown fire (trees torch), 2 active (crowns burn as one wall), 255 unknown (trees that may catch, but base,
    density or height is not given: rate and intensity are then the surface fire's); None where crown fire
    is not told at all. `notes`: every assumption and every
    step outside a table, in words for people.
    """

    grid: Grid
    start: datetime
    edges_s: NDArray[np.float64]
    head_rate_mps: NDArray[np.float32]
    head_toward_deg: NDArray[np.float32]
    eccentricity: NDArray[np.float32]
    head_intensity_kw_per_m: NDArray[np.float32]
    burnable: NDArray[np.bool_]
    unknown: NDArray[np.bool_] | None = None
    unknown_cells: int = 0
    capped_cells: int = 0
    crown: NDArray[np.uint8] | None = None
    notes: tuple[str, ...] = ()

    def slot(self, t_s: float) -> int:
        """The slot that holds `t_s` seconds after `start`; the last end belongs to the last slot.

        Raises
        ------
        LookupError
            If the fields do not cover that time.
        """
        return slot_at(self.edges_s, t_s)

    def at(self, k: int, x: ArrayLike, y: ArrayLike) -> FireAt:
        """Slot `k` in the cells that hold the points (x, y) [m].

        Raises
        ------
        LookupError
            If a point lies off the grid.
        """
        if not np.all(self.grid.holds(x, y)):
            message = "a point lies off the grid of the fire fields"
            raise LookupError(message)
        cell = (k, *self.grid.index(x, y))
        return FireAt(
            head_rate_mps=self.head_rate_mps[cell],
            head_toward_deg=self.head_toward_deg[cell],
            eccentricity=self.eccentricity[cell],
            head_intensity_kw_per_m=self.head_intensity_kw_per_m[cell],
        )


def slot_at(edges_s: NDArray[np.float64], t_s: float) -> int:
    """See `FireFields.slot`."""
    if not edges_s[0] <= t_s <= edges_s[-1]:
        message = f"fields cover {edges_s[0]:g} to {edges_s[-1]:g} s, not {t_s:g} s"
        raise LookupError(message)
    return min(int(np.searchsorted(edges_s, t_s, side="right")) - 1, len(edges_s) - 2)
