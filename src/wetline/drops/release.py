"""The nouns of a release: what was asked for, one value used, and the release with all settled."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.drops.flow import Flow
    from wetline.drops.liquid import Agent, Liquid
    from wetline.drops.own_table import DropTests
    from wetline.drops.planning import Setting

__all__ = ["Input", "Release", "Resolved", "System"]

System = Literal["salvo", "trail", "gate", "constant", "bucket", "belly_tank"]
Mode = Literal["salvo", "constant", "bucket"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A load let go on a straight run. None takes the class's value or a stated default.

    `height_m`: the tank above the top of canopy or obstacle. `speed_mps`: true airspeed.
    `wind_mps`: at 10 m above open ground, from `wind_from_deg`; heading and wind from the same north.
    `canopy_m`: height of the trees below; `leaf_area`: their leaf area index, if known.
    `drop_tests`: measured lines, which stand in place of the form's where they apply.
    `class_id`: a shipped class, by which it falls. `cls`: whose numbers are taken, if not the shipped ones.

    `system`: one that the class has (see `wetline.drops.systems`). `load_l`: on board; `let_go_l`: of it,
    what this drop takes; the rest stays on board. `doors`: how many open, of a salvo or a trail;
    `interval_s`: between the doors of a trail. `opening`: of a gate or a belly tank, share from 0 to 1.
    `setting`: coverage level on the panel of a constant flow. `duration_s`: how long the flow
    lasts, of any system: between half-flow points, or the middle 80 % of the litres over 0.8.
    """

    class_id: str
    cls: AircraftClass | None = field(default=None, hash=False)
    load_l: float | None = None
    height_m: float | None = None
    speed_mps: float | None = None
    heading_deg: float | None = None
    wind_mps: float | None = None
    wind_from_deg: float | None = None
    temperature_c: float | None = None
    humidity_pct: float | None = None
    agent: Agent = "water"
    canopy_m: float | None = None
    leaf_area: float | None = None
    duration_s: float | None = None
    setting: float | None = None
    system: System | None = None
    let_go_l: float | None = None
    doors: int | None = None
    interval_s: float | None = None
    opening: float | None = None
    drop_tests: DropTests | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Input:
    """One value used. `origin`: given, the class's, a default, or computed from the others."""

    value: float | str | None
    unit: str
    origin: Literal["given", "class", "default", "computed"]
    source: str
    low: float | None = None
    high: float | None = None

    @classmethod
    def of(cls, setting: Setting) -> Input:
        """A setting as it stands in its table."""
        return cls(setting.value, setting.unit, "default", setting.source, setting.low, setting.high)

    @property
    def number(self) -> float:
        """The value as a number.

        Raises
        ------
        TypeError
            If it is none.
        """
        if not isinstance(self.value, float | int):
            message = f"{self.value!r} is no number"
            raise TypeError(message)
        return float(self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolved:
    """A release with every number settled. Wind components [m/s] at 10 m: along and right of the heading.

    `load_l`: what this drop lets go, the integral of `flow`; `on_board_l`: before it.
    `duration_s`: how long the flow lasts (`Flow.lasting_s`), with the range it is varied over.
    """

    class_id: str
    cls: AircraftClass
    system: System
    agent: Agent
    liquid: Liquid
    load_l: float
    on_board_l: float
    height_m: float
    speed_mps: float
    ground_speed_mps: float
    wind_known: bool
    wind_along_mps: float
    wind_right_mps: float
    temperature_c: float
    humidity_pct: float
    canopy_m: float | None
    leaf_area: float | None
    duration_s: float
    duration_low_s: float
    duration_high_s: float
    flow: Flow
    inputs: Mapping[str, Input]

    @property
    def mode(self) -> Mode:
        """The kind of release that the ground pattern knows: doors, constant flow, or under a rotor."""
        if self.system == "constant":
            return "constant"
        return "bucket" if self.system in {"bucket", "belly_tank"} else "salvo"

    @property
    def stays_l(self) -> float:
        """What stays on board [L]."""
        return self.on_board_l - self.load_l

    @property
    def flow_l_per_s(self) -> float:
        """The greatest flow [L/s]."""
        return self.flow.peak_l_per_s
