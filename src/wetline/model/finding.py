"""A finding: what one check says of one thing. Unknown is never clear."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wetline.model.limits import Limit

__all__ = ["Code", "Effect", "Finding", "Level", "worst"]

Level = Literal["clear", "caution", "stop", "unknown"]
Effect = Literal["blocks", "look", "noted"]
Code = Literal[
    "people", "entrapment", "wire", "terrain_exit", "height_min", "height_safe", "waterway", "agent",
    "wind", "gust", "visibility", "density_altitude", "fuel", "duty", "daylight", "intensity",
    "anchor", "gap", "outflank", "follow_up", "separation", "supervision", "refusal", "drone",
    "drying", "depth", "waves", "data_missing", "limit_changed",
]  # fmt: skip

_RANK = {"clear": 0, "caution": 1, "unknown": 2, "stop": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check's word on one thing.

    `effect` goes with `unknown`: `blocks` the release, `look` (planned, released by a logged look)
    or `noted`. `clear` means "none found" by this check; it is never said of people.
    `position`: (x, y) [m], grid. `limit`, `value`: with their unit in words, as shown.
    `refers_to`: the id of the drop, lane, aircraft, place or layer that it speaks of.
    `source`: where the limit comes from, or "common practice, no source".
    """

    code: Code
    level: Level
    message: str
    source: str
    refers_to: str
    effect: Effect | None = None
    position: tuple[float, float] | None = None
    distance_m: float | None = None
    limit: str | None = None
    value: str | None = None

    @classmethod
    def against(
        cls,
        limit: Limit,
        *,
        code: Code,
        level: Level,
        message: str,
        refers_to: str,
        effect: Effect | None = None,
        position: tuple[float, float] | None = None,
        distance_m: float | None = None,
        value: str | None = None,
    ) -> Finding:
        """A finding judged by a limit: it carries the limit's text and source."""
        return cls(
            code=code,
            level=level,
            effect=effect,
            message=message,
            source=limit.source,
            refers_to=refers_to,
            position=position,
            distance_m=distance_m,
            limit=limit.text(),
            value=value,
        )

    @property
    def holds_back(self) -> bool:
        """Whether the thing may not be released while this stands."""
        return self.level == "stop" or (self.level == "unknown" and self.effect in {"blocks", "look"})


def worst(findings: Iterable[Finding]) -> Level:
    """The gravest level among findings: stop, then unknown, caution, clear."""
    return max((f.level for f in findings), key=_RANK.__getitem__, default="clear")
