"""Cells sorted into classes, and the tables that the kernels read: what `fire_fields` and `Pace` share."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.dead_fuel import SITES
from wetline.behaviour.rothermel import reaction
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX, length_to_width
from wetline.errors import SolverError
from wetline.weather import from_one_hour_pct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour.cells import Cells
    from wetline.weather import LiveMoisture

__all__ = ["ByClass", "GroundPart", "ground_part"]

_NEAR_CALM = 5e-9
"""Length over width less 1 at the least node of the shape tables: an eccentricity of 1e-4."""


@dataclass(frozen=True, slots=True)
class GroundPart:
    """What neither weather nor moisture changes, for `_kernels`.

    A *class* is a fuel model at a site of the moisture tables; `model`, `site` of each class; the last
    class is what never burns. `rasters`, `tables`: as `head_fire` takes them.
    """

    model: NDArray[np.intp]
    site: NDArray[np.intp]
    wind_k: NDArray[np.float64]
    wind_b: NDArray[np.float64]
    rasters: tuple[NDArray[np.generic], ...]
    tables: tuple[NDArray[np.generic], ...]

    def blown(self, wind_mps: NDArray[np.float64]) -> NDArray[np.float32]:
        """float32[slots, classes]: factor of a 20-ft wind [m/s, a slot each] that nothing shelters or bends."""
        factor = np.zeros((len(wind_mps), len(self.model) + 1), np.float32)
        factor[:, :-1] = self.wind_k[self.model] * wind_mps[:, None] ** self.wind_b[self.model]
        return factor


@lru_cache(maxsize=512)
def _shape_table(wind_k: float, wind_b: float) -> NDArray[np.float32]:
    """Length over width less 1 at the nodes of the wind and slope factor.

    Raises
    ------
    SolverError
        If the nodes do not reach from calm to the greatest length to width.
    """
    # no more than a wind far beyond the cut: keeps exponentials finite
    ratio = length_to_width(np.minimum((_nodes() / wind_k) ** (1.0 / wind_b), 20.0)) - 1.0
    if ratio[0] > _NEAR_CALM or ratio[-1] < LENGTH_TO_WIDTH_MAX - 1.0:
        message = f"a wind factor of {wind_k:g} U^{wind_b:g} does not fit the table of shapes"
        raise SolverError(message)
    return ratio.astype(np.float32)


@lru_cache(maxsize=512)
def _power_table(wind_b: float) -> NDArray[np.float32]:
    """(speed²) to the power (b − 1) / 2, at the nodes of speed²: bends a wind's strength in a factor U^b."""
    return (_nodes() ** ((wind_b - 1.0) / 2.0)).astype(np.float32)


def _nodes() -> NDArray[np.float64]:
    """The values of float32 at which tables have their nodes."""
    from wetline.behaviour._kernels import FIRST_NODE, NODE_BITS, NODES  # noqa: PLC0415  numba loads late

    bits = (FIRST_NODE + np.arange(NODES, dtype=np.int64)) << (23 - NODE_BITS)
    return bits.astype(np.int32).view(np.float32).astype(float)


def ground_part(cells: Cells, live: LiveMoisture, response: NDArray[np.float32]) -> GroundPart:
    """Prepare the cells of a window; `response` float32[r, c, 2, 2] bends the wind, empty for not at all."""
    beds = [reaction(model, from_one_hour_pct(0.0), live) for model in cells.models]
    wind_k, wind_b = np.array([b.wind_k for b in beds]), np.array([b.wind_b for b in beds])
    slope_k = np.array([b.slope_coefficient for b in beds])
    burns = cells.model >= 0
    pair = np.where(burns, cells.model.astype(np.int32) * SITES + cells.site, len(beds) * SITES)
    known = np.zeros(len(beds) * SITES + 1, bool)
    known[pair.ravel()] = known[-1] = True
    used = np.flatnonzero(known)
    cls = (np.cumsum(known) - 1)[pair].astype(np.uint16)
    model, site = used[:-1] // SITES, used[:-1] % SITES

    per_cell_b = np.append(wind_b, 1.0)[cells.model]  # −1: nothing burns
    push = np.append(slope_k, 0.0)[cells.model] * cells.slope_tan.astype(float) ** 2
    down = np.radians(cells.aspect_deg)
    shelter = np.where(burns, cells.adjustment.astype(float) ** per_cell_b, 0.0)
    bend = np.ascontiguousarray(np.moveaxis(response, (2, 3), (0, 1)))
    shapes = [_shape_table(float(k), float(b)) for k, b in zip(wind_k, wind_b, strict=True)]
    powers = [_power_table(float(b)) for b in wind_b] if response.size else []
    none = np.zeros(1, np.float32)
    return GroundPart(
        model=model,
        site=site,
        wind_k=wind_k,
        wind_b=wind_b,
        rasters=(
            cls,
            shelter.astype(np.float32),
            np.asarray(-push * np.sin(down), np.float32),
            np.asarray(-push * np.cos(down), np.float32),
            bend,
        ),
        tables=(
            np.append(model, 0).astype(np.int32),
            np.concatenate([*shapes, none]) if shapes else np.zeros(2 * len(_nodes()), np.float32),
            np.concatenate([*powers, none]) if powers else none,
        ),
    )


@dataclass(frozen=True, slots=True)
class ByClass:
    """Beds by slot and class, the last class burning never: float32[slots, classes], as `head_fire` takes them.

    `factor_max` float32[slots, 0] where nothing is limited.
    """

    no_wind_mps: NDArray[np.float32]
    heat_kj_per_m2: NDArray[np.float32]
    factor_max: NDArray[np.float32]

    @classmethod
    def of(
        cls,
        part: GroundPart,
        no_wind_mps: NDArray[np.float64],
        heat_kj_per_m2: NDArray[np.float64],
        factor_max: NDArray[np.float64],
    ) -> ByClass:
        """From float64[slots, models, sites]."""

        def column(values: NDArray[np.float64]) -> NDArray[np.float32]:
            return np.pad(values[:, part.model, part.site], ((0, 0), (0, 1))).astype(np.float32)

        unlimited = bool(np.all(np.isinf(factor_max[:, part.model, part.site])))
        most = np.empty((len(factor_max), 0), np.float32) if unlimited else column(factor_max)
        return cls(column(no_wind_mps), column(heat_kj_per_m2), most)
