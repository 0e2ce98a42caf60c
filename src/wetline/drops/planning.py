"""Settings, each with its range and source: those of the planning form, and of any table like it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from wetline import tables

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Setting", "setting", "settings_of"]


@dataclass(frozen=True, slots=True)
class Setting:
    """One parameter. `low`, `high` equal `value` where no range is known."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: str


@lru_cache(maxsize=8)
def settings_of(table: str) -> Mapping[str, Setting]:
    """Every setting of a table by name, in its order. A value that is computed elsewhere is NaN."""
    out = {}
    for row in tables.load(table).rows():
        value = float("nan") if row["value"] is None else row["value"]
        low = value if row["low"] is None else row["low"]
        high = value if row["high"] is None else row["high"]
        out[row["name"]] = Setting(row["name"], value, low, high, row["unit"] or "", row["source"])
    return MappingProxyType(out)


def setting(name: str) -> Setting:
    """A parameter of the planning form by name."""
    return settings_of("drop/planning")[name]
