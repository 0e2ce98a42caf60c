"""The nouns of a rollout: loads, lines, places, samples of the race, settings, outcomes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from wetline.attack.edge_view import EdgeView, Stretch

__all__ = [
    "RETARDANT_S",
    "LineLookup",
    "LineOption",
    "Outcome",
    "Placed",
    "PlannedLoad",
    "Refusal",
    "RollSetting",
    "Sample",
]

RETARDANT_S = 1.0e8
"""Hold [s] of what stays until rain: longer than any plan, shorter than a barrier's infinity."""


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """One load of the day: when [s after the fields' start], by whom, what."""

    number: int
    t_s: float
    aircraft: str
    class_id: str
    source: str
    agent: str
    litres: float
    look: bool
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class LineOption:
    """What one class lays at one coverage: metres a full line, loads stacked on it, seconds held."""

    level: float
    line_m: float
    coats: int
    hold_s: float


class LineLookup(Protocol):
    """Line for a load on a fuel at an intensity; None if no stack of loads reaches the level."""

    def __call__(self, load: PlannedLoad, fuel: int, intensity_kw_per_m: float) -> LineOption | None:
        """The option."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where one load goes: the edge it meets, the stretch it wets, and for how long."""

    load: PlannedLoad
    edge: EdgeView
    stretch: Stretch
    option: LineOption
    coat: int
    t_s: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """A judge's word against a load: keep away from `avoid` from now on, or, None, not in this hour."""

    avoid: BaseGeometry | None


@dataclass(frozen=True, slots=True)
class Sample:
    """The race at one moment [m]. `unknown_m`: open edge against ground of unknown fuel or height."""

    t_s: float
    edge_m: float
    held_m: float
    barrier_m: float
    retardant_m: float
    unknown_m: float = 0.0

    @property
    def open_m(self) -> float:
        """Edge that nothing holds."""
        return max(0.0, self.edge_m - self.held_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class RollSetting:
    """What all futures share. `forbidden`: where no line may be laid (people, wires, waterways).

    `refused`: numbers of the loads that a stop of their hour forbids.
    """

    loads: Sequence[PlannedLoad]
    now_s: float
    cut_off_s: float
    sample_s: float
    anchor: tuple[float, float]
    fuel: NDArray[np.int16]
    line_for: LineLookup
    intensity_max: float
    forbidden: BaseGeometry | None = None
    refused: frozenset[int] = frozenset()


@dataclass(slots=True)
class Outcome:
    """How one future ended."""

    future: int
    samples: list[Sample] = field(default_factory=list)
    area_m2: float = 0.0
    closed_s: float | None = None
    loads_laid: int = 0
    loads_idle: int = 0
    loads_to_close: int | None = None
    open_again: tuple[float, float] | None = None
    contained: bool | None = None
    reached_edge: bool = False
    avoided: BaseGeometry | None = None
    refused: set[int] = field(default_factory=set)
