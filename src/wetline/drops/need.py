"""The coverage that a fuel and a fire ask for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from wetline import tables
from wetline.drops.liquid import liquid
from wetline.drops.planning import setting
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import Band
from wetline.units import COVERAGE_LEVEL

__all__ = ["Need", "above_canopy_l_per_m2", "need", "needed_level"]

_LEAF_AREA_MAX = 12.0
_AT_SURFACE = (
    "The guides do not say whether a level counts above or below the crowns: it is asked for at the "
    "surface here."
)
_LEAVES_UNKNOWN = (
    "Trees stand over the fuel and their leaf area is not known: what must arrive on the crowns is not "
    "known either."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Coverage asked for, US gal/100 ft², at the surface. `base_level`: of the fuel alone.

    `level_low`, `level_high`: the lowest and highest that the guides can be read to ask for; with an
    unknown intensity from a cool edge to a hot one. `raised`: for intensity. `fuel_model`: the row of
    the 13 that was read, itself or the nearest of the 40, None where no guide knows the fuel. `status`:
    how that row is known, published, memory or unknown. `above_canopy_l_per_m2`: what must arrive on
    the crowns so that the level reaches the surface; None where trees stand and their leaf area is not
    known, or where nothing is said of trees.
    """

    level: float
    level_low: float
    level_high: float
    base_level: float
    raised: bool
    fuel_model: int | None
    description: str
    status: str
    above_canopy_l_per_m2: Band | None = None
    notes: tuple[str, ...] = ()

    @property
    def coverage_l_per_m2(self) -> Band:
        """The need [L/m²] at the surface."""
        return Band(*(at * COVERAGE_LEVEL for at in (self.level, self.level_low, self.level_high)))


@lru_cache(maxsize=1)
def _by_13() -> dict[int, dict[str, Any]]:
    return {int(row["fuel_model"]): row for row in tables.load("drop/need_13").rows()}


@lru_cache(maxsize=1)
def _nearest() -> dict[int, tuple[str, int]]:
    rows = tables.load("drop/need_40").rows()
    return {int(row["fuel_model"]): (row["code"], int(row["nearest_of_13"])) for row in rows}


@lru_cache(maxsize=1)
def _bare() -> frozenset[int]:
    """Fuel numbers that stand for ground that does not burn."""
    rows = tables.load("fuel/scott_burgan_2005").rows()
    return frozenset(int(row["number"]) for row in rows if row["type"] == "nonburnable")


@lru_cache(maxsize=1)
def _levels() -> tuple[float, ...]:
    return tuple(float(level) for level in tables.load("drop/levels")["level"])


@lru_cache(maxsize=1)
def _steps() -> tuple[tuple[float, int, str], ...]:
    rows = tables.load("drop/need_steps").rows()
    return tuple((row["above_kw_per_m"], int(row["levels_more"]), row["words"]) for row in rows)


def _up(level: float, steps: int) -> float:
    """So many contours of the guides higher, at most the highest that they have."""
    above = [level, *(at for at in _levels() if at > level)]
    return above[min(steps, len(above) - 1)]


def _step(intensity_kw_per_m: float | None) -> tuple[int, int, tuple[str, ...]]:
    """Levels more, the least that they could be, and what is said of it."""
    most = max(more for _, more, _ in _steps())
    if intensity_kw_per_m is None or math.isnan(intensity_kw_per_m):
        return most, 0, ("The intensity is not known: one level more, as for a hot edge.",)
    passed = [(more, words) for above, more, words in _steps() if intensity_kw_per_m > above]
    if not passed:
        return 0, 0, ()
    more, words = passed[-1]
    return more, more, (f"{words} (common practice, no source).",) if words else ()


def _unknown_fuel(intensity_kw_per_m: float | None) -> Need:
    heaviest = _levels()[-1]
    above_kw_per_m = _steps()[-1][0]
    hot = intensity_kw_per_m is not None and intensity_kw_per_m > above_kw_per_m
    said = (f"Above {above_kw_per_m:g} kW/m no coverage is known to hold a head.",) if hot else ()
    return Need(
        level=heaviest,
        level_low=min(row["level_low"] for row in _by_13().values()),
        level_high=heaviest,
        base_level=heaviest,
        raised=False,
        fuel_model=None,
        description="a fuel that no drop guide names",
        status="unknown",
        notes=(f"No drop guide names a level for this fuel: the heaviest, {heaviest:g}, is taken.", *said),
    )


def _row(fuel_number: int) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The guides' row for a fuel number, and what is said of the way to it."""
    notes: tuple[str, ...] = ()
    number = int(fuel_number)
    if number in _nearest():
        code, number = _nearest()[number]
        notes += (f"{code} is read as fuel model {number}, the nearest of the 13 (common practice).",)
    row = _by_13().get(number)
    if row is None:
        why = "it does not burn" if number in _bare() else "it is none of the fuel models"
        message = f"no coverage level is known for fuel model {fuel_number}: {why}."
        mend = "Give a burnable model, 1 to 13 or one of the 40."
        raise InputError.of([Problem(message=message, mend=mend, field="fuel", value=str(fuel_number))])
    if row["status"] != "published":
        notes += (f"The level for fuel model {number} is from memory.",)
    return row, notes


def above_canopy_l_per_m2(surface_l_per_m2: float, leaf_area: float) -> Band:
    """Coverage [L/m²] that must arrive on the crowns: surface / exp(−k LAI).

    Interception was measured for a leaf area index of 1.2 to 2.2 only; above that it is extrapolated.

    Raises
    ------
    OutsideRangeError
        For a leaf area index outside 0 to 12.

    References
    ----------
    k from published spray-rig interception (Shi et al.; Xiong et al. 2025, abstracts), derived.
    """
    if not 0.0 <= leaf_area <= _LEAF_AREA_MAX:
        raise OutsideRangeError(field="leaf_area", value=leaf_area, low=0, high=_LEAF_AREA_MAX, unit="LAI")
    k = setting("canopy_k")
    return Band(*(surface_l_per_m2 * math.exp(at * leaf_area) for at in (k.value, k.low, k.high)))


def _canopy(
    surface_l_per_m2: float, canopy_m: float | None, leaf_area: float | None
) -> tuple[Band | None, tuple[str, ...]]:
    if leaf_area is not None:
        above = above_canopy_l_per_m2(surface_l_per_m2, leaf_area)
        return above, (_AT_SURFACE,) if leaf_area > 0.0 else ()
    if canopy_m:
        return None, (_LEAVES_UNKNOWN,)
    return None, ()


def need(
    fuel_number: int | None,
    intensity_kw_per_m: float | None,
    *,
    agent: str = "water",
    canopy_m: float | None = None,
    leaf_area: float | None = None,
) -> Need:
    """The coverage level for a fuel model (1 to 13, or one of the 40) and a fireline intensity [kW/m].

    The drop guides' level for the fuel, moved by the steps of `drop/need_steps`. An intensity that is
    not known counts as the hottest. A fuel that no drop guide knows (None) is given the heaviest level
    there is. Every agent is asked for the same level: no source read tells them apart. `canopy_m`,
    `leaf_area`: of the trees over the fuel, if known.

    Raises
    ------
    InputError
        For a fuel number that is unknown or does not burn, or an unknown agent.
    OutsideRangeError
        For a leaf area index outside 0 to 12, or an intensity below 0.

    References
    ----------
    US Forest Service, MTDC 0057-2802, Table 1.
    """
    liquid(agent)
    asked = _asked(fuel_number, intensity_kw_per_m)
    above, said = _canopy(asked.level * COVERAGE_LEVEL, canopy_m, leaf_area)
    if agent != "water":
        said += (f"The level is the same for {agent} as for water: no source read tells them apart.",)
    return replace(asked, above_canopy_l_per_m2=above, notes=asked.notes + said)


def _of_row(row: dict[str, Any], notes: tuple[str, ...], intensity_kw_per_m: float | None) -> Need:
    more, least, said = _step(intensity_kw_per_m)
    if _up(row["level_high"], more) == row["level_high"] and more:
        said += (f"The guides' contours end at {_levels()[-1]:g}: the need may be higher than its band.",)
    return Need(
        level=_up(row["level"], more),
        level_low=_up(row["level_low"], least),
        level_high=_up(row["level_high"], more),
        base_level=row["level"],
        raised=more > 0,
        fuel_model=int(row["fuel_model"]),
        description=row["description"],
        status=row["status"],
        notes=notes + said,
    )


def _asked(fuel_number: int | None, intensity_kw_per_m: float | None) -> Need:
    if intensity_kw_per_m is not None and intensity_kw_per_m < 0.0:
        raise OutsideRangeError(
            field="intensity", value=intensity_kw_per_m, low=0, high=math.inf, unit="kW/m"
        )
    if fuel_number is None:
        return _unknown_fuel(intensity_kw_per_m)
    return _of_row(*_row(fuel_number), intensity_kw_per_m)


def needed_level(fuel_number: int | None, intensity_kw_per_m: float | None) -> float:
    """The level of `need` alone, US gal/100 ft²."""
    return _asked(fuel_number, intensity_kw_per_m).level
