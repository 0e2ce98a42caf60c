"""What the checks of water may look at, and whether a logged look at it holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.weather.air import density_altitude_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from wetline.ground import Ground, Water
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = ["Circumstances"]

_AMBIGUOUS = 2


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

    @property
    def now(self) -> datetime | None:
        """The moment planned for, None where neither it nor an hour of weather is known."""
        return self.at or (self.hour.time if self.hour else None)

    def look_at(self, water: Water) -> datetime | None:
        """The newest look at one water, logged or told in its layer, that holds now, or None."""
        return self._holding(self.last_look(water))

    def last_look(self, water: Water) -> datetime | None:
        """The look at one water that says most: the newest that holds now, else the newest one known."""
        return self.newest(self.looks(water))

    def newest(self, looks: Iterable[datetime]) -> datetime | None:
        """The newest of several looks that holds now, else the newest of them."""
        known = tuple(looks)
        holding = [seen for seen in known if self._holding(seen) is not None]
        return max(holding or known, default=None)

    def looks(self, water: Water) -> tuple[datetime, ...]:
        """Every look at one water that is known, whether it holds or not.

        A logged look names its water; where two waters bear that name it is not known which was
        looked at, and it counts for neither.
        """
        return tuple(seen for seen in (self.logged(water.name), water.looked_at) if seen is not None)

    def logged(self, name: str) -> datetime | None:
        """The logged look at the one water of that name, None where none or several are called so."""
        seen = self.looked.get(name)
        if seen is None:
            return None
        namesakes = sum(water.name == name for water in self.ground.water)
        return seen if namesakes < _AMBIGUOUS else None

    def expires(self, seen: datetime) -> datetime:
        """When a look ends to hold."""
        return seen + timedelta(minutes=self.limits.value("look_valid_min"))

    def density_altitude(self, surface_m: float | None) -> tuple[float | None, str]:
        """Density altitude [m] at a height above the sea now; None, and why, where it is not known."""
        return density_altitude_at(surface_m, self.hour)

    def _holding(self, seen: datetime | None) -> datetime | None:
        now = self.now
        if now is None or seen is None or seen > now:
            return None
        return seen if now <= self.expires(seen) else None
