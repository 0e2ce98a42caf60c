"""The nouns of the event loop: what an aircraft may do, what it has left, and what it did.

Times are float seconds after the start of the plan.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.aircraft import LoadRule

__all__ = [
    "Crew",
    "Drop",
    "Flown",
    "Job",
    "LimitedBy",
    "Parts",
    "Ready",
    "Stay",
    "StayFor",
    "Times",
    "Way",
    "Where",
]

LimitedBy = Literal[
    "cut_off",
    "land_by",
    "crew_hours",
    "fuel",
    "flying_limit",
    "wind",
    "no_agent",
    "no_load",
    "no_source",
    "no_base",
    "no_daylight",
    "out_of_service",
    "supervision",
]

Where = Literal["start", "home", "air", "water", "pit"]
"""Where an aircraft decides on its next load: at its first place, on the ground at its own base, over the
target, over the water (where a queue may have grown meanwhile), on the ground at the base where it loads."""

StayFor = Literal["fuel", "rest", "relief"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What one cycle and the flights round it last [s] in one hour's wind, and what may be taken.

    `ground_s`, `source_s`, `out_s`, `target_s`, `back_s`: the cycle. `ferry_s`: base to source.
    `home_s`: target to base, landed; `off_s`: source to base, landed.
    """

    ground_s: float
    source_s: float
    out_s: float
    target_s: float
    back_s: float
    ferry_s: float
    home_s: float
    off_s: float
    load: LoadRule

    @property
    def filled_to_drop_s(self) -> float:
        """From the arrival at the source (or the take-off from its pit) to the drop."""
        return self.source_s + self.out_s + self.target_s

    @property
    def cycle_s(self) -> float:
        """One whole cycle without waiting."""
        return self.ground_s + self.filled_to_drop_s + self.back_s


@dataclass(frozen=True, slots=True)
class Times:
    """Parts by hour: `parts[k]` from `start_s[k]` on; all must have landed by `closed_s` (wind)."""

    start_s: Sequence[float]
    parts: Sequence[Parts]
    closed_s: float = math.inf

    def at(self, time_s: float) -> Parts:
        """The parts of the hour that holds at a time."""
        return self.parts[max(bisect_right(self.start_s, time_s) - 1, 0)]

    def home_s(self, time_s: float) -> float:
        """The flight home from the target, the longer one of this hour and the next."""
        return max(self.at(time_s).home_s, self.at(time_s + 3600.0).home_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One source that an aircraft may work. `first_s`: the flight there from where it is at the start.

    `pits`: places to load at once. `at_home`: the source is the aircraft's own base. `load_while_fuelling`:
    it may load and take fuel at once. `fuel`: there is fuel at this base. `last_fill_s`: the latest
    moment to leave the source by light. `load_cap_l`: the most that one load can be there.
    """

    source: str
    pits: int
    first_s: float
    times: Times
    at_home: bool = False
    load_while_fuelling: bool = False
    fuel: bool = True
    last_fill_s: float = math.inf
    load_cap_l: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """Hours of one crew: takes over from `from_s`, may fly `flight_left_s`, landed by `duty_land_s`."""

    from_s: float = -math.inf
    flight_left_s: float
    duty_land_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One aircraft's part in the day.

    `ways`: the best first. `crews`: the one on board first, then who relieves it. `ready_s`: when it begins to
    work; one that is `airborne` holds until then. `landed_s`: when one that was in the air at the start of the plan
    has landed to wait at its base. `fuel_s` on board at the start of the plan and `full_s` after refuelling as flight time; `full_s`
    None: not known or none at its base, so it never goes back for more. `base_fed`: it loads on the ground.
    `land_s`: landed by, for the light at its own base. `flying_s`: longest flight without a rest of `rest_s`. `swap_s`: on the ground to change crews. `group`:
    those who should not all leave the line at once; None: it does not matter. `hops_s[a][b]`: from the base
    of one way to that of another, landed. `fuel_at_home`: there is fuel at its own base.
    """

    ways: tuple[Way, ...]
    base_fed: bool
    ready_s: float
    airborne: bool
    fuel_s: float
    full_s: float | None
    reserve_s: float
    refuel_s: float
    crews: tuple[Crew, ...]
    landed_s: float | None = None
    land_s: float = math.inf
    swap_s: float = 0.0
    flying_s: float = math.inf
    rest_s: float = 0.0
    group: str | None = None
    hops_s: tuple[tuple[float, ...], ...] = ()
    fuel_at_home: bool = True


class Ready(NamedTuple):
    """What an aircraft had at `since_s`: its last take-off, or the moment from which it stands.

    `flown_s`: by the crew on board since the start of the plan; `streak_s`: flown since its last rest.
    """

    since_s: float
    fuel_s: float
    crew: int = 0
    flown_s: float = 0.0
    streak_s: float = 0.0

    def landed(self, time_s: float) -> Ready:
        """The same after a flight from `since_s` on."""
        spent_s = time_s - self.since_s
        return self._replace(
            since_s=time_s,
            fuel_s=self.fuel_s - spent_s,
            flown_s=self.flown_s + spent_s,
            streak_s=self.streak_s + spent_s,
        )


@dataclass(frozen=True, slots=True)
class Drop:
    """One load: when it falls, when its aircraft left the source, which way of the job, whole litres."""

    time_s: float
    filled_s: float
    way: int
    litres: float


@dataclass(frozen=True, slots=True)
class Stay:
    """A stop on the ground for fuel, rest or a new crew: leaves the work, lands, takes off, works again."""

    leave_s: float
    landed_s: float
    takeoff_s: float
    back_s: float
    what: tuple[StayFor, ...]


@dataclass(slots=True)
class Flown:
    """What one aircraft did. `flights_s`: each (take-off, landing, fuel [s] at take-off, crew)."""

    drops: list[Drop] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    flights_s: list[tuple[float, float, float, int]] = field(default_factory=list)
    limited_by: LimitedBy | None = None

    @property
    def flight_s(self) -> float:
        """Flown in all."""
        return math.fsum(end - start for start, end, _, _ in self.flights_s)
