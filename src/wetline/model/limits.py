"""Operational limits: each a setting with a unit, a source and a date. None of them is law."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from wetline import tables

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Limit", "Limits", "shipped_limits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit. `looser` says in which direction a change gives up safety."""

    name: str
    value: float
    unit: str
    source: str
    looser: Literal["higher", "lower", "neither"]
    help: str
    date: str | None = None
    shipped: float | None = None

    @property
    def loosened(self) -> bool:
        """Whether the user's value gives up safety against the shipped one."""
        if self.shipped is None or self.looser == "neither":
            return False
        return self.value > self.shipped if self.looser == "higher" else self.value < self.shipped

    def text(self) -> str:
        """`60 m`."""
        return f"{self.value:g} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Limits:
    """All limits by name; `limits["people_stop_m"].value`."""

    by_name: Mapping[str, Limit]

    def __getitem__(self, name: str) -> Limit:
        return self.by_name[name]

    def value(self, name: str) -> float:
        """The number alone, in the limit's own unit."""
        return self.by_name[name].value


@lru_cache(maxsize=1)
def shipped_limits() -> Limits:
    """The limits as shipped, from `tables/data/limits/limits.csv`."""
    return Limits(
        {
            row["name"]: Limit(
                name=row["name"],
                value=row["value"],
                unit=row["unit"],
                source=row["source"],
                looser=row["looser"],
                help=row["help"],
                shipped=row["value"],
            )
            for row in tables.load("limits/limits").rows()
        }
    )
