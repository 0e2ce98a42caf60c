"""The published surface fuel models, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from wetline import tables
from wetline.units import BTU, FOOT, POUND, TON_PER_ACRE

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["FuelModel", "fuel_models"]

# 1 Btu/lb with the International Table Btu is 2.326 kJ/kg exactly; fuel heats are printed to 1000 Btu/lb,
# so the thermochemical Btu of `units` (0.07 % lower) keeps intensities consistent with the published classes.
_BTU_PER_LB = BTU / POUND


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelModel:
    """One surface fuel model. Non-burnable models hold no load and None elsewhere.

    `load_*` oven-dry [kg/m²]; `sav_*` surface-to-volume ratio [1/m], None where not printed (the class
    is absent); `depth_m` of the fuel bed; `mx_dead` dead moisture of extinction [fraction]; `heat_j_per_kg`
    low heat of combustion. `dynamic`: herbs turn into dead fuel as they cure.
    """

    number: int
    code: str
    name: str
    burnable: bool
    dynamic: bool = False
    load_1h_kg_per_m2: float = 0.0
    load_10h_kg_per_m2: float = 0.0
    load_100h_kg_per_m2: float = 0.0
    load_herb_kg_per_m2: float = 0.0
    load_woody_kg_per_m2: float = 0.0
    sav_1h_per_m: float | None = None
    sav_10h_per_m: float | None = None
    sav_100h_per_m: float | None = None
    sav_herb_per_m: float | None = None
    sav_woody_per_m: float | None = None
    depth_m: float | None = None
    mx_dead: float | None = None
    heat_j_per_kg: float | None = None


def _model(row: Mapping[str, Any]) -> FuelModel:
    number = int(row["number"])
    code, name = str(row.get("code", number)), row["name"]
    if row["type"] == "nonburnable":
        return FuelModel(number=number, code=code, name=name, burnable=False)

    def per_m(column: str) -> float | None:
        return None if row[column] is None else row[column] / FOOT

    return FuelModel(
        number=number,
        code=code,
        name=name,
        burnable=True,
        dynamic=row["type"] == "dynamic",
        load_1h_kg_per_m2=row["load_1h_tpa"] * TON_PER_ACRE,
        load_10h_kg_per_m2=row["load_10h_tpa"] * TON_PER_ACRE,
        load_100h_kg_per_m2=row["load_100h_tpa"] * TON_PER_ACRE,
        load_herb_kg_per_m2=row["load_herb_tpa"] * TON_PER_ACRE,
        load_woody_kg_per_m2=row["load_woody_tpa"] * TON_PER_ACRE,
        sav_1h_per_m=per_m("sav_1h"),
        sav_10h_per_m=per_m("sav_10h"),
        sav_100h_per_m=per_m("sav_100h"),
        sav_herb_per_m=per_m("sav_herb"),
        sav_woody_per_m=per_m("sav_woody"),
        depth_m=row["depth_ft"] * FOOT,
        mx_dead=row["mx_dead_pct"] / 100.0,
        heat_j_per_kg=row["heat_btu_lb"] * _BTU_PER_LB,
    )


@lru_cache(maxsize=1)
def fuel_models() -> Mapping[int, FuelModel]:
    """Every published model by number: 1-13 (Anderson 1982), 91-204 (Scott and Burgan 2005)."""
    models = (
        _model(row)
        for name in ("fuel/anderson_1982", "fuel/scott_burgan_2005")
        for row in tables.load(name).rows()
    )
    return MappingProxyType({model.number: model for model in models})
