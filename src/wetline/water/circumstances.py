"""What the checks of water may look at, and whether a logged look at it holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = ["Circumstances"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the checks may look at. `looked`: when somebody last looked at a water, by its name.

    `at`: the moment that is planned for; None means the hour's own time.
    """

    ground: Ground
    limits: Limits
    hour: Hour | None = None
    looked: Mapping[str, datetime] = field(default_factory=dict)
    at: datetime | None = None

    def look(self, water: str) -> datetime | None:
        """The time of a look that holds now, or None."""
        now = self.at or (self.hour.time if self.hour else None)
        seen = self.looked.get(water)
        if now is None or seen is None or seen > now:
            return None
        age_min = (now - seen).total_seconds() / 60.0
        return seen if age_min <= self.limits.value("look_valid_min") else None
