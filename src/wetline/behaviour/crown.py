"""Crown fire: when a surface fire climbs into trees, how fast it then runs, and how hot.

Initiation and active spread after Van Wagner 1977; rate after Rothermel 1991 or Cruz, Alexander and
Wakimoto 2005. Models linked so start crown fires too late and run them too slowly (Cruz and Alexander
2010, IJWF 19:377-398, abstract): `UNDERPREDICTS` says so wherever they are used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from wetline.behaviour.fuel import fuel_models
from wetline.behaviour.rothermel import surface_spread_rothermel_1972
from wetline.behaviour.shares import wind_and_slope_share
from wetline.errors import OutsideRangeError
from wetline.units import KM_PER_HOUR, MINUTE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.weather import DeadMoisture, LiveMoisture

__all__ = [
    "CANOPY_WIND",
    "CROWN_HEAT_KJ_PER_KG",
    "OVER_MODEL_10",
    "UNDERPREDICTS",
    "CrownFire",
    "CrownKind",
    "CrownRate",
    "CrownSpread",
    "active_rate_van_wagner_1977",
    "base_within_reach_m",
    "critical_intensity_van_wagner_1977",
    "crown_eccentricity",
    "crown_fire",
    "crown_fraction_van_wagner_1993",
    "crown_rate_cruz_2005",
    "crown_rate_rothermel_1991",
]

CrownRate = Literal["rothermel_1991", "cruz_2005"]
"""Whose crown fire rate is taken; `cruz_2005` is for level ground and wind."""

CrownKind = Literal["surface", "passive", "active"]

OVER_MODEL_10 = 3.34
"""Mean crown fire rate over the rate of fuel model 10 (Rothermel 1991, INT-438, from memory)."""
CANOPY_WIND = 0.4
"""Midflame over 20-ft wind at which model 10 stands for a crown fire (Rothermel 1991; the pairing of model
10 with 0.4 was read in a textbook excerpt)."""
CROWN_HEAT_KJ_PER_KG = 18_000.0
"""Heat of burning needles (Van Wagner 1977 and others, common practice)."""

UNDERPREDICTS: Mapping[CrownRate, str] = MappingProxyType(
    {
        "rothermel_1991": "Crown fire is told by linked models that are known to start it too late and run it too"
        " slowly (Cruz and Alexander 2010); runs of 1.7 times the rate given have been seen (Rothermel 1991, from"
        " memory).",
        "cruz_2005": "Crown fire is told by linked models of a kind that is known to start it too late (Cruz and"
        " Alexander 2010); how far a run may outdo this rate is not known here.",
    }
)
"""What is known to be wrong with crown fire so told, by the rate that is taken."""


def _within(field: str, value: float, low: float, high: float, unit: str) -> float:
    if not low <= value <= high:
        raise OutsideRangeError(field=field, value=value, low=low, high=high, unit=unit)
    return value


def critical_intensity_van_wagner_1977(base_m: float, foliar_moisture_pct: float) -> float:
    """Surface intensity [kW/m] from which crowns catch.

    `base_m`: height of the lowest live crown fuel [m, 0-60]. `foliar_moisture_pct` [%, 50-200].

    Raises
    ------
    OutsideRangeError
        Outside these ranges.

    References
    ----------
    Van Wagner 1977, Can. J. For. Res. 7:23-34 (from memory).
    """
    base = _within("base_m", base_m, 0.0, 60.0, "m")
    foliar = _within("foliar_moisture_pct", foliar_moisture_pct, 50.0, 200.0, "%")
    return float((0.010 * base * (460.0 + 25.9 * foliar)) ** 1.5)


def base_within_reach_m(intensity_kw_per_m: float, foliar_moisture_pct: float) -> float:
    """Crown base [m] below which a surface fire of an intensity [kW/m, ≥ 0] sets crowns alight.

    `critical_intensity_van_wagner_1977` turned round; same range of foliar moisture.

    Raises
    ------
    OutsideRangeError
        If the intensity is negative or no number, or foliar moisture is out of range.
    """
    intensity = _within("intensity_kw_per_m", intensity_kw_per_m, 0.0, 1e7, "kW/m")
    foliar = _within("foliar_moisture_pct", foliar_moisture_pct, 50.0, 200.0, "%")
    return float(intensity ** (2.0 / 3.0) / (0.010 * (460.0 + 25.9 * foliar)))


def active_rate_van_wagner_1977(bulk_kg_per_m3: float) -> float:
    """Least rate [m/s] at which a fire runs through the crowns as one wall.

    `bulk_kg_per_m3`: canopy bulk density [kg/m³, above 0 to 1].

    Raises
    ------
    OutsideRangeError
        Outside this range: crowns without fuel have no active rate.

    References
    ----------
    Van Wagner 1977, mass flow of 0.05 kg/m²/s, thus 3.0/bulk [m/min]; eq. 4.2 of a textbook excerpt.
    """
    return 3.0 / _within("bulk_kg_per_m3", bulk_kg_per_m3, 1e-4, 1.0, "kg/m³") / MINUTE


def crown_fraction_van_wagner_1993(surface_mps: float, initiation_mps: float, active_mps: float) -> float:
    """Share of the crowns that burns in a passive crown fire, 0-1.

    `surface_mps`: rate of the surface fire; `initiation_mps`: its rate when crowns just catch;
    `active_mps`: least rate of an active crown fire. 0 at initiation; 0.9 after nine tenths of the way to
    active; 1 where crowns catch only beyond the active rate.

    References
    ----------
    Van Wagner 1993, Can. J. For. Res. 23:442-449 (from memory).
    """
    if surface_mps < initiation_mps:
        return 0.0
    room_mps = active_mps - initiation_mps
    if room_mps <= 0.0:
        return 1.0
    return 1.0 - math.exp(math.log(0.1) / (0.9 * room_mps) * (surface_mps - initiation_mps))


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownSpread:
    """How fast an active crown fire would run.

    `toward_deg`: head direction clockwise from upslope. `effective_midflame_mps`: wind at model 10's
    midflame height that alone would give this rate. `wind_share`, `slope_share`: parts of the rate that
    wind and slope push along the head.
    """

    rate_mps: float
    toward_deg: float
    effective_midflame_mps: float
    wind_share: float
    slope_share: float


def crown_rate_rothermel_1991(
    dead: DeadMoisture,
    live: LiveMoisture,
    *,
    wind_20ft_mps: float,
    slope_tan: float = 0.0,
    wind_toward_deg: float = 0.0,
) -> CrownSpread:
    """Rate of an active crown fire: 3.34 times fuel model 10 in 0.4 of the 20-ft wind, without wind limit.

    `wind_20ft_mps`: 20 ft above the trees [m/s]. `slope_tan`: as model 10 takes it. `wind_toward_deg`:
    where the wind blows to, clockwise from upslope.

    Raises
    ------
    OutsideRangeError
        As `surface_spread_rothermel_1972`.

    References
    ----------
    Rothermel 1991, INT-438 (from memory): seven wind-driven crown fires of the northern Rocky Mountains.
    """
    spread = surface_spread_rothermel_1972(
        fuel_models()[10],
        dead,
        live,
        midflame_mps=CANOPY_WIND * wind_20ft_mps,
        slope_tan=slope_tan,
        wind_toward_deg=wind_toward_deg,
    )
    wind_share, slope_share = wind_and_slope_share(spread, wind_toward_deg)
    return CrownSpread(
        rate_mps=OVER_MODEL_10 * spread.rate_mps,
        toward_deg=spread.toward_deg,
        effective_midflame_mps=spread.effective_midflame_mps,
        wind_share=wind_share,
        slope_share=slope_share,
    )


def crown_rate_cruz_2005(wind_10m_mps: float, bulk_kg_per_m3: float, fine_dead_pct: float) -> float:
    """Rate [m/s] of an active crown fire on level ground.

    `wind_10m_mps` [m/s, 0-100], `bulk_kg_per_m3` [kg/m³, above 0 to 1], `fine_dead_pct`: moisture of fine
    dead fuel [%, 0-40]. No slope is in it, and no rate in calm air.

    Raises
    ------
    OutsideRangeError
        Outside these ranges.

    References
    ----------
    Cruz, Alexander and Wakimoto 2005, Can. J. For. Res. 35:1626-1639 (from memory).
    """
    wind_kmh = _within("wind_10m_mps", wind_10m_mps, 0.0, 100.0, "m/s") / KM_PER_HOUR
    bulk = _within("bulk_kg_per_m3", bulk_kg_per_m3, 1e-4, 1.0, "kg/m³")
    moisture = _within("fine_dead_pct", fine_dead_pct, 0.0, 40.0, "%")
    return float(11.02 * wind_kmh**0.9 * bulk**0.19 * math.exp(-0.17 * moisture)) / MINUTE


def crown_eccentricity(
    rate_mps: float,
    wind_eccentricity: float,
    surface_mps: float,
    surface_eccentricity: float,
    turn_deg: float,
) -> float:
    """Eccentricity of an active crown fire's ellipse: that of its wind, unless surface fire would outrun it.

    Flanks and heel of a crown fire are surface fire. So the ellipse is as narrow as the wind makes it
    (`wind_eccentricity`), or the narrowest one whose edge is in no direction slower than the surface fire's:
    head rate `surface_mps` [≤ `rate_mps`], `surface_eccentricity`, its head `turn_deg` away.
    """
    # With the ignition at the focus 1/r = A − B cos θ, A = 1/R/(1 − e), B = e A: one holds the other where
    # |B' − B| as vectors ≤ A' − A. Solved for the greatest B at A − B = 1/rate.
    gap = 1.0 / surface_mps - 1.0 / rate_mps
    b = surface_eccentricity / (1.0 - surface_eccentricity) / surface_mps
    beside = gap + b * (1.0 - math.cos(math.radians(turn_deg)))
    if beside <= 0.0:
        return min(wind_eccentricity, surface_eccentricity)
    most = gap * (gap + 2.0 * b) / (2.0 * beside)
    return min(wind_eccentricity, most / (1.0 / rate_mps + most))


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownFire:
    """A head fire under trees. `fraction_burned`: share of the crowns that burns."""

    kind: CrownKind
    fraction_burned: float
    rate_mps: float
    intensity_kw_per_m: float
    takes_crown_ellipse: bool


def crown_fire(
    *,
    surface_mps: float,
    surface_kw_per_m: float,
    crown_mps: float,
    base_m: float,
    height_m: float,
    bulk_kg_per_m3: float,
    foliar_moisture_pct: float,
) -> CrownFire:
    """The head fire that a surface fire becomes under trees.

    Surface fire below the critical intensity. Else active where the faster of `crown_mps` (rate of an active
    crown fire here) and `surface_mps` reaches the active rate: all crowns burn, at the faster rate. Else
    passive: share and rate lie between, never below the surface fire's. Crowns add bulk × (height − base) of
    fuel; Byram's intensity counts it with the surface fire's heat. An active fire that outruns the surface
    fire takes the crown fire's direction and ellipse; every other keeps the surface fire's.

    Raises
    ------
    OutsideRangeError
        If a canopy value is out of range, or the base lies above the trees' height [m, up to 120].

    References
    ----------
    Van Wagner 1977; Scott and Reinhardt 2001, RMRS-RP-29 (active: the whole crown, at the crown fire's rate);
    Van Wagner 1993 (passive, rate by the share burned). All from memory.
    """
    _within("height_m", height_m, base_m, 120.0, "m")
    critical = critical_intensity_van_wagner_1977(base_m, foliar_moisture_pct)
    if surface_kw_per_m <= 0.0 or surface_kw_per_m < critical:
        return CrownFire(
            kind="surface",
            fraction_burned=0.0,
            rate_mps=surface_mps,
            intensity_kw_per_m=surface_kw_per_m,
            takes_crown_ellipse=False,
        )
    active_mps = active_rate_van_wagner_1977(bulk_kg_per_m3)
    faster_mps = max(surface_mps, crown_mps)
    active = faster_mps >= active_mps
    fraction = 1.0
    if not active:
        initiation_mps = surface_mps * critical / surface_kw_per_m
        fraction = crown_fraction_van_wagner_1993(surface_mps, initiation_mps, active_mps)
    rate_mps = surface_mps + fraction * (faster_mps - surface_mps)
    surface_kj_per_m2 = surface_kw_per_m / surface_mps
    crown_kj_per_m2 = CROWN_HEAT_KJ_PER_KG * bulk_kg_per_m3 * (height_m - base_m)
    return CrownFire(
        kind="active" if active else "passive",
        fraction_burned=fraction,
        rate_mps=rate_mps,
        intensity_kw_per_m=(surface_kj_per_m2 + fraction * crown_kj_per_m2) * rate_mps,
        takes_crown_ellipse=active and crown_mps > surface_mps,
    )
