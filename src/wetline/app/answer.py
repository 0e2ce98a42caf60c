"""The common shape of every answer: JSON-ready values, positions outside, times with Z, what is not yet.

Everything that leaves the house passes here: grid metres become `[longitude, latitude]`, grid
bearings become true ones, aware times become ISO 8601 UTC.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from wetline.cautions import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import tzinfo

    from wetline.grid import Grid
    from wetline.model import Band, Finding, NotYet

__all__ = ["Answer", "Outside", "envelope", "iso", "number", "spread"]

Answer = dict[str, Any]


def iso(time: datetime | None) -> str | None:
    """`2026-08-14T14:47:00Z`; None stays None."""
    return None if time is None else time.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def number(value: float | None, digits: int = 1) -> float | int | None:
    """A finite number rounded for people; anything else is `null`, never a made-up value."""
    if value is None or not math.isfinite(value):
        return None
    rounded = round(value) if digits <= 0 else round(float(value), digits)
    return rounded + 0  # no minus zero


def spread(key: str, band: Band, digits: int) -> Answer:
    """A middle value and the ends of its band: `key`, `key_low`, `key_high`."""
    return {
        key: number(band.middle, digits),
        f"{key}_low": number(band.low, digits),
        f"{key}_high": number(band.high, digits),
    }


@dataclass(frozen=True, slots=True)
class Outside:
    """The wall between grid metres and the outside world."""

    grid: Grid

    def position(self, xy: Sequence[float] | None) -> list[float] | None:
        """`[longitude, latitude]`, six decimals (0.1 m)."""
        if xy is None:
            return None
        lon, lat = self.grid.projection.to_lonlat(xy[0], xy[1])
        return [round(float(lon), 6), round(float(lat), 6)]

    def line(self, points: Iterable[Sequence[float]]) -> list[list[float] | None]:
        """A line of positions."""
        return [self.position(point) for point in points]

    def bearing(self, grid_deg: float | None) -> float | int | None:
        """True bearing [deg, 0 ≤ b < 360] of a grid bearing."""
        if grid_deg is None or not math.isfinite(grid_deg):
            return None
        return round((grid_deg + self.grid.convergence_deg) % 360.0, 1) % 360.0

    def finding(self, finding: Finding) -> Answer:
        """A finding as documented."""
        out: Answer = {
            "code": finding.code,
            "level": finding.level,
            "message": finding.message,
            "source": finding.source,
            "refers_to": finding.refers_to,
        }
        if finding.effect is not None:
            out["effect"] = finding.effect
        if finding.position is not None:
            out["position"] = self.position(finding.position)
        if finding.distance_m is not None:
            out["distance_m"] = number(finding.distance_m, 0)
        if finding.limit is not None:
            out["limit"] = finding.limit
        if finding.value is not None:
            out["value"] = finding.value
        return out

    def findings(self, findings: Iterable[Finding]) -> list[Answer]:
        """Findings, gravest first."""
        rank = {"stop": 0, "unknown": 1, "caution": 2, "clear": 3}
        return [self.finding(f) for f in sorted(findings, key=lambda f: rank[f.level])]


def envelope(
    *,
    incident: str | None,
    time: datetime | None,
    zone: tzinfo | None = None,
    seed: int | None = None,
    members: int | None = None,
    cell_m: float | None = None,
    band: str | None = None,
    not_yet: Iterable[NotYet] = (),
) -> Answer:
    """The keys that every answer carries.

    `zone`: the clock of the place; its offset at `time` lets a reader turn UTC into local time.
    """
    offset = None if time is None or zone is None else time.astimezone(zone).utcoffset()
    return {
        "incident": incident,
        "time": iso(time),
        "utc_offset_min": None if offset is None else round(offset.total_seconds() / 60.0),
        "seed": seed,
        "members": members,
        "cell_m": number(cell_m, 2),
        "band": band,
        "not_yet": [{"key": n.key, "why": n.why} for n in not_yet],
        "cautions": list(CAUTIONS),
    }
