"""Crown fire over the ground: the pass that lifts a surface fire into the trees, and what it must say."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour.beds import reaction_over
from wetline.behaviour.crown import (
    CANOPY_WIND,
    CROWN_HEAT_KJ_PER_KG,
    OVER_MODEL_10,
    UNDERPREDICTS,
    CrownKind,
    CrownRate,
    CrownSpread,
    base_within_reach_m,
    critical_intensity_van_wagner_1977,
    crown_fire,
    crown_rate_cruz_2005,
    crown_rate_rothermel_1991,
)
from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.rothermel import reaction
from wetline.behaviour.shape import LENGTH_TO_WIDTH_MAX
from wetline.behaviour.wind import TEN_METRE_OVER_TWENTY_FOOT
from wetline.errors import OutsideRangeError, SolverError
from wetline.units import MILE_PER_HOUR
from wetline.weather import from_one_hour_pct

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from wetline.behaviour.cells import Cells
    from wetline.behaviour.rothermel import Reaction, SurfaceSpread
    from wetline.behaviour.stands import Stands
    from wetline.weather import DeadMoisture, LiveMoisture

__all__ = [
    "CROWN_UNKNOWN",
    "Blowing",
    "CrownAt",
    "Crowning",
    "HeadFire",
    "Trees",
    "crown_at",
    "crown_notes",
    "raise_into_crowns",
    "trees_of",
]

CROWN_UNKNOWN = 255
"""`FireFields.crown` where trees stand whose base, density or height is not known."""


_SOURCES: Mapping[CrownRate, str] = MappingProxyType(
    {
        "rothermel_1991": "Van Wagner (1977, 1993) and Rothermel (1991), from memory.",
        "cruz_2005": "Van Wagner (1977, 1993) and Cruz and others (2005), from memory; their rate knows no slope.",
    }
)
SWITCHED_OFF = "Crown fire is switched off: rates in timber are those of a surface fire."
_NO_LAYER = "Crown fire unknown: no canopy layer, so rates in timber are those of a surface fire."
_LACKING = "whose base, density or height is not given: rates there are those of a surface fire."
_ELLIPSE = (
    "An active crown fire's ellipse is its wind's, but no narrower than keeps its edge ahead of the surface"
    " fire in every direction; its flanks are given the crowns' heat, too much where they burn as surface fire."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crowning:
    """How crown fire is told.

    Raises
    ------
    OutsideRangeError
        If foliar moisture lies outside 50 to 200 %.
    """

    rate: CrownRate = "rothermel_1991"
    foliar_moisture_pct: float = 100.0

    def __post_init__(self) -> None:
        if not 50.0 <= self.foliar_moisture_pct <= 200.0:
            raise OutsideRangeError(
                field="foliar_moisture_pct", value=self.foliar_moisture_pct, low=50.0, high=200.0, unit="%"
            )


@dataclass(frozen=True, slots=True)
class Blowing:
    """The 20-ft wind [m/s] of each slot, the unit step it blows to, and how terrain bends it (or empty)."""

    wind_mps: NDArray[np.float64]
    east: NDArray[np.float64]
    north: NDArray[np.float64]
    response: NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class HeadFire:
    """The arrays of `FireFields` [slot, r, c] while they are being filled."""

    rate_mps: NDArray[np.float32]
    toward_deg: NDArray[np.float32]
    eccentricity: NDArray[np.float32]
    intensity_kw_per_m: NDArray[np.float32]


def _critical_kw_per_m(base_m: NDArray[np.float32], foliar_pct: float) -> NDArray[np.float32]:
    """`critical_intensity_van_wagner_1977` of every cell; it goes with the base to the power 1.5."""
    highest = float(np.nanmax(base_m, initial=0.0))
    critical_intensity_van_wagner_1977(highest, foliar_pct)  # raises beyond its range
    return np.asarray(critical_intensity_van_wagner_1977(1.0, foliar_pct) * base_m**1.5, np.float32)


@dataclass(frozen=True, slots=True)
class Trees:
    """What crown fire reads of a window that neither weather nor a member of an ensemble changes."""

    crowning: Crowning
    stands: Stands
    cells: Cells
    critical_kw_per_m: NDArray[np.float32]
    heat_kj_per_m2: NDArray[np.float32]
    model_10: Reaction

    def bases(
        self, dead_pct: NDArray[np.float64], live: LiveMoisture, spread_factor: float
    ) -> NDArray[np.float64]:
        """What the wind drives, by [slot, site] (see `crown_over_surface`)."""
        if self.crowning.rate == "cruz_2005":
            pct, where = np.unique(dead_pct[:, 0], return_inverse=True)
            # a wind of 1 m/s at 20 ft over a density of 1 kg/m³
            rate = np.array([crown_rate_cruz_2005(TEN_METRE_OVER_TWENTY_FOOT, 1.0, float(v)) for v in pct])
            return rate[where].reshape(dead_pct[:, 0].shape) * spread_factor
        by_class = np.ascontiguousarray(dead_pct.swapaxes(0, 1))
        no_wind_mps = reaction_over(fuel_models()[10], by_class, live, None)[0]
        return OVER_MODEL_10 * no_wind_mps * spread_factor

    def lift(
        self,
        blowing: Blowing,
        base: NDArray[np.float64],
        head: HeadFire,
        crown: NDArray[np.uint8],
        counts: NDArray[np.int64],
    ) -> None:
        """Lift the surface fire in `head` into the crowns, in place; as `crown_over_surface` takes them.

        Raises
        ------
        SolverError
            If a value came out as no number.
        """
        from wetline.behaviour._crown_kernels import crown_over_surface  # noqa: PLC0415  numba loads late

        broken = crown_over_surface(
            self.stands.trees, self.critical_kw_per_m, self.stands.bulk_kg_per_m3, self.heat_kj_per_m2,
            self.cells.model, self.cells.site, self.cells.slope_tan, self.cells.aspect_deg,
            blowing.wind_mps, blowing.east, blowing.north, blowing.response,
            self.crowning.rate == "cruz_2005", base,
            self.model_10.wind_k, self.model_10.wind_b, self.model_10.slope_coefficient,
            CANOPY_WIND, MILE_PER_HOUR, LENGTH_TO_WIDTH_MAX,
            head.rate_mps, head.toward_deg, head.eccentricity, head.intensity_kw_per_m, crown, counts,
        )  # fmt: skip
        if broken:
            message = f"crown fire is no number in {broken} cells"
            raise SolverError(message)


def trees_of(crowning: Crowning, stands: Stands, cells: Cells, live: LiveMoisture) -> Trees:
    """Prepare the trees of a window.

    Raises
    ------
    OutsideRangeError
        If a canopy value is impossible.
    """
    return Trees(
        crowning,
        stands,
        cells,
        _critical_kw_per_m(stands.base_m, crowning.foliar_moisture_pct),
        np.float32(CROWN_HEAT_KJ_PER_KG) * stands.bulk_kg_per_m3 * stands.crown_m,
        reaction(fuel_models()[10], from_one_hour_pct(0.0), live),  # its wind and slope terms alone are read
    )


def raise_into_crowns(
    crowning: Crowning | None,
    stands: Stands | None,
    cells: Cells,
    blowing: Blowing,
    dead_pct: NDArray[np.float64],
    live: LiveMoisture,
    spread_factor: float,
    head: HeadFire,
) -> tuple[NDArray[np.uint8] | None, tuple[str, ...]]:
    """Lift the surface fire in `head` into the crowns, in place; kind of fire by cell, and what to say.

    `crowning` None: not asked for. `dead_pct` [%, float64[slot, 3, 36]]: as `DeadFuel` gives it.
    `spread_factor` on the crown fire's rate.

    Raises
    ------
    OutsideRangeError, SolverError
        As `trees_of`, `Trees.lift`.
    """
    if crowning is None:
        return None, (SWITCHED_OFF,)
    counts = np.zeros((len(dead_pct), 4), np.int64)
    if stands is None:
        return None, crown_notes(crowning, None, head.intensity_kw_per_m, counts)
    crown = np.zeros(head.rate_mps.shape, np.uint8)
    crown[:, cells.unknown & stands.trees] = CROWN_UNKNOWN
    trees = trees_of(crowning, stands, cells, live)
    trees.lift(blowing, trees.bases(dead_pct, live, spread_factor), head, crown, counts)
    return crown, crown_notes(crowning, stands, head.intensity_kw_per_m, counts)


def crown_notes(
    crowning: Crowning,
    stands: Stands | None,
    intensity_kw_per_m: NDArray[np.float32],
    counts: NDArray[np.int64],
) -> tuple[str, ...]:
    """What crown fire rests on and how much of it there is.

    `counts` [slot, 4]: cells as `crown_over_surface` counts them.
    """
    if stands is None:
        hottest = float(intensity_kw_per_m.max(initial=0.0))
        return (f"{_NO_LAYER} {_reach(crowning, hottest)}",)
    notes = []
    complete = np.isfinite(stands.base_m + stands.bulk_kg_per_m3 + stands.crown_m)
    if np.any(stands.trees & complete):
        notes += [_basis(crowning), _ELLIPSE]
    active, passive = max((int(slot[1]), int(slot[0])) for slot in counts)
    if active or passive:
        notes.append(f"In the worst hour crown fire is active in {active} cells, passive in {passive}.")
    cut = int(counts[:, 3].max())
    if cut:
        notes.append(f"Crown fire: length to width cut at {LENGTH_TO_WIDTH_MAX:g} in up to {cut} cells.")
    lacking = stands.trees & ~complete
    if np.any(lacking):
        hottest = float(intensity_kw_per_m.max(axis=0)[lacking].max())
        cells = int(lacking.sum())
        notes.append(f"Crown fire unknown in {cells} cells with trees {_LACKING} {_reach(crowning, hottest)}")
    return (*stands.notes, *notes)


def _basis(crowning: Crowning) -> str:
    """Whose models, with what foliar moisture, and their known fault."""
    foliar = f"Foliar moisture {crowning.foliar_moisture_pct:g} %."
    return f"Crown fire by {_SOURCES[crowning.rate]} {foliar} {UNDERPREDICTS[crowning.rate]}"


def _reach(crowning: Crowning, hottest_kw_per_m: float) -> str:
    """Up to which base a surface fire torches trees."""
    base_m = base_within_reach_m(hottest_kw_per_m, crowning.foliar_moisture_pct)
    return (
        f"The hottest surface fire there ({hottest_kw_per_m:.0f} kW/m) would set trees alight whose crowns begin"
        f" below {base_m:.1f} m (foliar moisture {crowning.foliar_moisture_pct:g} %; Van Wagner 1977, known to tell"
        " of crown fire too late: higher crowns may catch)."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownAt:
    """A head fire under the trees of one place. `kind` None: trees stand there, but too little is known.

    `spread`: the active crown fire's, where its direction is taken; else the surface fire's direction holds.
    """

    kind: CrownKind | None
    rate_mps: float
    intensity_kw_per_m: float
    spread: CrownSpread | None = None
    notes: tuple[str, ...] = ()


def crown_at(
    crowning: Crowning | None,
    stands: Stands | None,
    cells: Cells,
    surface: SurfaceSpread,
    dead: DeadMoisture,
    live: LiveMoisture,
    *,
    wind_20ft_mps: float,
    wind_toward_deg: float,
) -> CrownAt:
    """The fire of `raise_into_crowns` in the one cell of `cells`, by the one-cell functions.

    `wind_toward_deg`: clockwise from upslope, as in `surface`.
    """
    unknown = CrownAt(kind=None, rate_mps=surface.rate_mps, intensity_kw_per_m=surface.byram_kw_per_m)
    if crowning is None:
        return replace(unknown, notes=(SWITCHED_OFF,))
    reach = _reach(crowning, surface.byram_kw_per_m)
    if stands is None:
        return replace(unknown, notes=(f"{_NO_LAYER} {reach}",))
    base, bulk, crown = (
        float(values[0, 0]) for values in (stands.base_m, stands.bulk_kg_per_m3, stands.crown_m)
    )
    if not stands.trees[0, 0] or surface.byram_kw_per_m <= 0.0:
        return replace(unknown, kind="surface")
    if surface.byram_kw_per_m < _critical_at(base, crowning.foliar_moisture_pct):
        return replace(unknown, kind="surface")
    if math.isnan(base + bulk + crown):
        return replace(
            unknown, notes=(*stands.notes, f"Crown fire unknown: trees stand here {_LACKING} {reach}")
        )
    spread = _spread_at(
        crowning.rate, cells, bulk, dead, live, wind_20ft_mps=wind_20ft_mps, wind_toward_deg=wind_toward_deg
    )
    fire = crown_fire(
        surface_mps=surface.rate_mps,
        surface_kw_per_m=surface.byram_kw_per_m,
        crown_mps=spread.rate_mps,
        base_m=base,
        height_m=base + crown,
        bulk_kg_per_m3=bulk,
        foliar_moisture_pct=crowning.foliar_moisture_pct,
    )
    return CrownAt(
        kind=fire.kind,
        rate_mps=fire.rate_mps,
        intensity_kw_per_m=fire.intensity_kw_per_m,
        spread=spread if fire.takes_crown_ellipse else None,
        notes=(*stands.notes, _basis(crowning)),
    )


def _critical_at(base_m: float, foliar_pct: float) -> float:
    """The critical intensity [kW/m] of a base that may be unknown: NaN."""
    return math.nan if math.isnan(base_m) else critical_intensity_van_wagner_1977(base_m, foliar_pct)


def _spread_at(
    rate: CrownRate,
    cells: Cells,
    bulk_kg_per_m3: float,
    dead: DeadMoisture,
    live: LiveMoisture,
    *,
    wind_20ft_mps: float,
    wind_toward_deg: float,
) -> CrownSpread:
    """An active crown fire in the one cell of `cells`."""
    if rate == "rothermel_1991":
        return crown_rate_rothermel_1991(
            dead,
            live,
            wind_20ft_mps=wind_20ft_mps,
            slope_tan=float(cells.slope_tan[0, 0]),
            wind_toward_deg=wind_toward_deg,
        )
    wind_10m_mps = wind_20ft_mps * TEN_METRE_OVER_TWENTY_FOOT
    return CrownSpread(
        rate_mps=crown_rate_cruz_2005(wind_10m_mps, bulk_kg_per_m3, dead.one_h * 100.0),
        toward_deg=wind_toward_deg % 360.0,
        effective_midflame_mps=CANOPY_WIND * wind_20ft_mps,
        wind_share=1.0,
        slope_share=0.0,
    )
