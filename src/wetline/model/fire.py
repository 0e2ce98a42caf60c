"""A fire as people draw it: perimeters with the time at which each was seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

import shapely

if TYPE_CHECKING:
    from datetime import datetime

    from shapely.geometry import MultiPolygon, Polygon

__all__ = ["Fire", "Perimeter"]


@dataclass(frozen=True, slots=True)
class Perimeter:
    """One closed edge: burnt inside, seen at `time` (aware, UTC). `polygon` in grid metres."""

    name: str
    kind: Literal["fire", "spot"]
    time: datetime
    polygon: Polygon | MultiPolygon


@dataclass(frozen=True, slots=True)
class Fire:
    """All perimeters of an incident, oldest first. At least one."""

    perimeters: tuple[Perimeter, ...]

    @property
    def newest(self) -> datetime:
        """The time of the newest perimeter."""
        return max(p.time for p in self.perimeters)

    def burnt_at(self, time: datetime) -> Polygon | MultiPolygon:
        """The union [m] of everything drawn at or before `time`."""
        parts = [p.polygon for p in self.perimeters if p.time <= time]
        return cast("Polygon | MultiPolygon", shapely.union_all(parts))

    @property
    def area_m2(self) -> float:
        """Burnt area [m²] of all perimeters together."""
        return float(self.burnt_at(self.newest).area)
