"""A fire as people draw it: perimeters with the time at which each was seen, and the line crews have built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

import shapely

if TYPE_CHECKING:
    from datetime import datetime

    from shapely.geometry import LineString, MultiPolygon, Polygon

__all__ = ["CrewLine", "Drawn", "Fire", "Perimeter"]

_SAME_PART = 0.5
"""A perimeter of which a newer one covers this share is the same part of the fire, drawn anew (common practice)."""


@dataclass(frozen=True, slots=True)
class Perimeter:
    """One closed edge: burnt inside, seen at `time` (aware, UTC). `polygon` in grid metres."""

    name: str
    kind: Literal["fire", "spot"]
    time: datetime
    polygon: Polygon | MultiPolygon


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewLine:
    """Line that crews have built, `line` in grid metres, standing from `time` (aware, UTC).

    `until`: how long somebody counts on it; `holds`: somebody counts on it for good. With neither, nobody
    says that it holds, and it stops nothing.
    """

    name: str
    time: datetime
    line: LineString
    until: datetime | None = None
    holds: bool = False

    def counted_on(self, at: datetime) -> bool:
        """Whether somebody says that it stands and holds at a moment."""
        if at < self.time:
            return False
        return self.holds if self.until is None else at < self.until

    def counted_in(self, start: datetime, now: datetime) -> bool:
        """Whether a fire seen at `start` and grown to `now` rests on it: it stood and was counted on in between."""
        if self.time > now:
            return False
        return self.holds if self.until is None else self.until > max(self.time, start)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What was burnt [m] of a part of the fire when it was last drawn, at `time` (aware, UTC)."""

    time: datetime
    polygon: Polygon | MultiPolygon


@dataclass(frozen=True, slots=True)
class Fire:
    """All perimeters of an incident, oldest first, at least one; and the crews' line."""

    perimeters: tuple[Perimeter, ...]
    lines: tuple[CrewLine, ...] = ()

    @property
    def newest(self) -> datetime:
        """The time of the newest perimeter."""
        return max(p.time for p in self.perimeters)

    def parts(self) -> tuple[Drawn, ...]:
        """The fire by the time at which each part was last drawn, oldest first.

        A perimeter that a newer one covers by half or more is that part drawn anew: what it held stays burnt. One
        that no newer covers was not seen again, and has burnt on since its own time.
        """
        found: list[Drawn] = []
        for seen in reversed(self.perimeters):
            anew = next((i for i, part in enumerate(found) if _covers(part, seen)), None)
            if anew is None:
                found.append(Drawn(seen.time, seen.polygon))
            else:
                found[anew] = Drawn(found[anew].time, _union([found[anew].polygon, seen.polygon]))
        times = sorted({part.time for part in found})
        return tuple(Drawn(t, _union([p.polygon for p in found if p.time == t])) for t in times)

    def burnt_at(self, time: datetime) -> Polygon | MultiPolygon:
        """The union [m] of everything drawn at or before `time`."""
        parts = [p.polygon for p in self.perimeters if p.time <= time]
        return _union(parts)

    @property
    def area_m2(self) -> float:
        """Burnt area [m²] of all perimeters together."""
        return float(self.burnt_at(self.newest).area)


def _union(polygons: list[Polygon | MultiPolygon]) -> Polygon | MultiPolygon:
    return cast("Polygon | MultiPolygon", shapely.union_all(polygons))


def _covers(part: Drawn, seen: Perimeter) -> bool:
    if part.time == seen.time:
        return False
    return float(part.polygon.intersection(seen.polygon).area) >= _SAME_PART * float(seen.polygon.area)
