"""What a day is made of: loads, a row for each aircraft, its cut-offs and its stops on the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.circuits.costs import Cost
    from wetline.circuits.cycle import Circuit
    from wetline.circuits.flights import LimitedBy, StayFor
    from wetline.circuits.sources import SourceKind
    from wetline.model import Finding

__all__ = ["AircraftDay", "CutOff", "Day", "Load", "Stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One load on the target at `time` (UTC). `look`: its source still waits for a look.

    `litres`: whole litres, by the fuel on board when it was taken. `fill`: bucket or snorkel, of what dips.
    """

    aircraft: str
    class_id: str
    time: datetime
    source: str
    source_kind: SourceKind
    litres: float
    agent: str
    look: bool
    fill: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOff:
    """The latest time of one thing, and what sets it. `launch`: take-off from the base for one more drop."""

    what: Literal["launch", "fill", "drop", "landing"]
    time: datetime
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A stay on the ground in the day's work: leaves the fire, lands, takes off again."""

    leave: datetime
    landed: datetime
    takeoff: datetime
    what: tuple[StayFor, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftDay:
    """One aircraft's day. Times UTC, None where there is none or it is not known.

    `flight_h`: flown from now on. `last_scoop`: leaves the source with its last load.
    `last_drop_by`: the latest drop that light and hours would still allow, counted back from
    `land_by` through landing and the flight home. `leave_for_fuel`: leaves the work for its base.
    `crew_hours_end`: end of duty of the crew on board. `cost`: None where no rates are given.
    """

    aircraft: str
    class_id: str
    limited_by: LimitedBy
    loads: int = 0
    litres: float = 0.0
    flight_h: float = 0.0
    first_drop: datetime | None = None
    last_scoop: datetime | None = None
    last_drop: datetime | None = None
    last_drop_by: datetime | None = None
    land_by: datetime | None = None
    landed: datetime | None = None
    leave_for_fuel: tuple[datetime, ...] = ()
    crew_hours_end: datetime | None = None
    cut_offs: tuple[CutOff, ...] = ()
    stops: tuple[Stop, ...] = ()
    cost: Cost | None = None
    primary: Circuit | None = None
    alternate: Circuit | None = None
    refused: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """Circuits (one an aircraft, on its best source), loads by time, a row for every aircraft.

    `findings`: of the day as a whole, circuits that meet among them. `cut_off`: last drop by the light; `land_by`: all landed by daylight; None where not known.
    """

    now: datetime
    circuits: tuple[Circuit, ...]
    loads: tuple[Load, ...]
    rows: tuple[AircraftDay, ...]
    cut_off: datetime | None
    land_by: datetime | None
    findings: tuple[Finding, ...]
