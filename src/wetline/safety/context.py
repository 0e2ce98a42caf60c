"""What a check may look at: the ground, the hour, the limits, and who has confirmed what."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Weather

__all__ = ["Confirmation", "SafetyContext"]


@dataclass(frozen=True, slots=True)
class Confirmation:
    """One person's word that one run is clear of people: who, at what time, until when."""

    by: str
    time: datetime
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyContext:
    """The facts that checks read; nothing here is computed by them.

    `cut_off`: the last drop allowed, None if the sun's times are not known for this place and day.
    `confirmed`: by drop id. `now`: aware UTC.
    """

    ground: Ground
    weather: Weather | None
    limits: Limits
    now: datetime
    cut_off: datetime | None
    confirmed: Mapping[str, Confirmation] = field(default_factory=dict)
