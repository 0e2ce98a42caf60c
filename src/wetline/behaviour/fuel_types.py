"""The fuel types of the Canadian Forest Fire Behavior Prediction System, and one stand of such a type."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from wetline import tables
from wetline.errors import InputError, OutsideRangeError, Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["FBP_ASKS", "FbpFuel", "Strand", "cured_factor", "fbp_fuel", "fbp_types"]

FBP_ASKS: Mapping[str, str] = MappingProxyType(
    {
        "M-1": "conifer_pct",
        "M-2": "conifer_pct",
        "M-3": "dead_fir_pct",
        "M-4": "dead_fir_pct",
        "O-1a": "cured_pct",
        "O-1b": "cured_pct",
    }
)
"""What a type must be told beside its name, in per cent."""

_IN_LEAF = 0.2
"""Leafless aspen in leaf spreads a fifth as fast (M-2, M-4): ST-X-3 eq. 28, from memory."""
_GRASS_LOAD_KG_PER_M2 = 0.35
"""Standard grass fuel load: GLC-X-10 2009 (1992: 0.3), from memory."""


@dataclass(frozen=True, slots=True)
class Strand:
    """One curve a (1 − exp(−b ISI))^c [m/min] in a mix, as printed.

    `share` of the stand; `factor` on the curve's rate (curing of grass, aspen in leaf).
    """

    share: float
    factor: float
    a: float
    b: float
    c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FbpFuel:
    """One stand: its curves, buildup effect, crowns and surface fuel. `fbp_fuel` makes them.

    `q`, `bui0`: of the buildup effect, `bui0` None where there is none (grass). `crown_base_m`,
    `crown_load_kg_per_m2`: None where no crowns burn; the load is the share of conifers' alone.
    `conifer_share`: of the surface fuel of M-1 and M-2. `grass_load_kg_per_m2`: grass alone.
    `notes`: what nobody gave and was taken.
    """

    code: str
    name: str
    strands: tuple[Strand, ...]
    q: float
    bui0: float | None
    crown_base_m: float | None = None
    crown_load_kg_per_m2: float | None = None
    conifer_share: float | None = None
    grass_load_kg_per_m2: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def grass(self) -> bool:
        """Whether it is one of the two grass types."""
        return self.grass_load_kg_per_m2 is not None


@lru_cache(maxsize=1)
def fbp_types() -> Mapping[str, str]:
    """The code of every type with its name in words."""
    return MappingProxyType({code: str(row["name"]) for code, row in _rows().items()})


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, Mapping[str, Any]]:
    return {str(row["code"]): row for row in tables.load("fbp/fuel_types").rows()}


def _strand(code: str, share: float = 1.0, factor: float = 1.0) -> Strand:
    row = _rows()[code]
    return Strand(share, factor, row["a"], row["b"], row["c"])


def cured_factor(cured_pct: float) -> float:
    """Factor on the rate of grass that is cured to a share [%, 0 to 100].

    Raises
    ------
    OutsideRangeError
        If the share lies outside 0 to 100 %.

    References
    ----------
    Wotton, Alexander and Taylor 2009, GLC-X-10, eq. 35b; from memory.
    """
    if not 0.0 <= cured_pct <= 100.0:
        raise OutsideRangeError(field="cured_pct", value=cured_pct, low=0.0, high=100.0, unit="%")
    if cured_pct < 58.8:
        return 0.005 * math.expm1(0.061 * cured_pct)
    return 0.176 + 0.02 * (cured_pct - 58.8)


def _part(code: str, field: str, value: float | None) -> float:
    """A share [0 to 1] that a type must be told.

    Raises
    ------
    InputError
        If it is not given or no share.
    """
    if value is None:
        problem = Problem(message=f"{code} needs {field}.", mend=f"Give {field} [%].", field=field)
        raise InputError.of([problem])
    if not 0.0 <= value <= 100.0:
        raise OutsideRangeError(field=field, value=value, low=0.0, high=100.0, unit="%")
    return value / 100.0


def fbp_fuel(
    code: str,
    *,
    conifer_pct: float | None = None,
    dead_fir_pct: float | None = None,
    cured_pct: float | None = None,
    grass_load_kg_per_m2: float | None = None,
) -> FbpFuel:
    """A stand of a published type.

    M-1 and M-2 need `conifer_pct`, M-3 and M-4 `dead_fir_pct`, O-1a and O-1b `cured_pct`; grass takes the
    standard load where none is given, and says so. M-3 and M-4 are mixed as in 2009.

    Raises
    ------
    InputError
        If there is no such type, it lacks its share, or it has no use for one that is given.
    OutsideRangeError
        If a share lies outside 0 to 100 %, or a grass load outside 0.01 to 5 kg/m².

    References
    ----------
    Forestry Canada 1992, ST-X-3; Wotton, Alexander and Taylor 2009, GLC-X-10; from memory.
    """
    row = _rows().get(code)
    if row is None:
        known = ", ".join(_rows())
        problem = Problem(
            message=f'"{code}" is no fuel type of this system.', mend=f"Give one of: {known}.",
            field="type", value=code, limit=known,
        )  # fmt: skip
        raise InputError.of([problem])
    given = {"conifer_pct": conifer_pct, "dead_fir_pct": dead_fir_pct, "cured_pct": cured_pct}
    asked = FBP_ASKS.get(code)
    grass = code.startswith("O-1")
    idle = [name for name, value in given.items() if value is not None and name != asked]
    if grass_load_kg_per_m2 is not None and not grass:
        idle.append("grass_load_kg_per_m2")
    if idle:
        problem = Problem(
            message=f"{code} has no use for {idle[0]}.", mend="Take it away, or see the type.", field=idle[0]
        )
        raise InputError.of([problem])
    share = None if asked is None else _part(code, asked, given[asked])
    load, notes = _grass_load(code, grass_load_kg_per_m2) if grass else (None, ())
    crowns = row["crown_load_kg_per_m2"]
    return FbpFuel(
        code=code,
        name=str(row["name"]) + _shared(asked, given),
        strands=_strands(code, share),
        q=row["q"],
        bui0=row["bui0"],
        crown_base_m=row["crown_base_m"],
        # a mixed stand's crowns are its conifers' or dead firs' share (ST-X-3 eq. 66; from memory)
        crown_load_kg_per_m2=crowns if share is None or crowns is None else crowns * share,
        conifer_share=share if code in {"M-1", "M-2"} else None,
        grass_load_kg_per_m2=load,
        notes=notes,
    )


def _shared(asked: str | None, given: Mapping[str, float | None]) -> str:
    """The share in words: `, 60 % conifer`."""
    return "" if asked is None else f", {given[asked]:g} % {asked.removesuffix('_pct').replace('_', ' ')}"


def _grass_load(code: str, given: float | None) -> tuple[float, tuple[str, ...]]:
    if given is None:
        note = f"{code}: grass load not given, the standard {_GRASS_LOAD_KG_PER_M2:g} kg/m² is taken."
        return _GRASS_LOAD_KG_PER_M2, (note,)
    if not 0.01 <= given <= 5.0:
        raise OutsideRangeError(field="grass_load_kg_per_m2", value=given, low=0.01, high=5.0, unit="kg/m²")
    return given, ()


def _strands(code: str, share: float | None) -> tuple[Strand, ...]:
    if share is None:
        return (_strand(code),)
    if code.startswith("O-1"):
        return (_strand(code, factor=cured_factor(100.0 * share)),)
    main = "C-2" if code in {"M-1", "M-2"} else code
    leaves = _IN_LEAF if code in {"M-2", "M-4"} else 1.0
    return _strand(main, share), _strand("D-1", 1.0 - share, leaves)
