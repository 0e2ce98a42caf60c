"""Parameters of the planning form, each with its range and source, from `drop/planning`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from wetline import tables

__all__ = ["Setting", "setting"]


@dataclass(frozen=True, slots=True)
class Setting:
    """One parameter. `low`, `high` equal `value` where no range is known."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: str


@lru_cache(maxsize=1)
def _settings() -> dict[str, Setting]:
    out = {}
    for row in tables.load("drop/planning").rows():
        value = float("nan") if row["value"] is None else row["value"]
        low = value if row["low"] is None else row["low"]
        high = value if row["high"] is None else row["high"]
        out[row["name"]] = Setting(row["name"], value, low, high, row["unit"], row["source"])
    return out


def setting(name: str) -> Setting:
    """A parameter of the planning form by name."""
    return _settings()[name]
