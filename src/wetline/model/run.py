"""A drop run: where one load goes, along which heading, from what height, and who is near."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from wetline.model.answer import Band
    from wetline.model.finding import Finding

__all__ = ["DropRun", "PeopleCheck", "StandClear"]


@dataclass(frozen=True, slots=True)
class PeopleCheck:
    """Who is near one run. `confirmed_by` is the only thing that ever says clear."""

    nearest_m: float | None
    nearest_to: str | None
    confirmed_by: str | None = None
    until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandClear:
    """How far [m] people must be from a line: to each side, beyond its end, behind its beginning."""

    sides_m: float
    ahead_m: float
    behind_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DropRun:
    """One load on one piece of edge.

    Points (x, y) [m]; headings are grid bearings [deg]; lines are float64[n, 2] [m] as flown.
    `line` is the line wanted on the ground, `closes_m` the edge along it that the load closes; `wetted` is
    the middle line of everything wetted, longer than the line by its thin ends. `approach`, `exit_path` are the ground tracks flown.
    `line_from`: whether the incident's own drop tests tell `line_m`; `line_notes`: why or why not.
    `fills`: how the class itself fills; None: as the shipped class that it drops like.
    `needs_look`: its source waits for a look. `coat` of `coats`: loads stacked on one line until its coverage is reached; the last one holds.
    `hold_chance`: that the line stops the fire that reaches it, uncalibrated; `hold_notes`: what is said about it.
    `pattern_half_width_m` covers the whole wetted pattern each side of `line`, drift included.
    `intensity_kw_per_m`, `flame_length_m`: of the hottest piece of the edge that the load closes.
    `height_above_canopy_m`: tank above the top of canopy or obstacle. `height_amsl_m`: None where the
    ground under the line is not known.
    `line_m`: of the whole stack, as the plan counts on it, in a full crosswind; `line_here_m`: at this heading.
    `drift_right_m` > 0 to the right, `drift_along_m` > 0 long, against calm air; None where no wind is known.
    `release_early_m` > 0 before the line begins; `release_right_m` > 0 to its right: upwind of it.
    `canopy_m`: the tallest trees under the line, None where not known. `vertical_from_m`: height above them from
    which the load falls vertically, as the rule asks it, with the ends of the tool's own reckoning; `intact_share`:
    of the load, still one body at their top. `join_m`: how far inside the visible end of the last load the next
    begins, None where the next one falls on the same line.
    `panel`: what the crew sets for this line; `ground`: what people on the ground must know of the agent.
    """

    id: str
    order: int
    time: datetime
    aircraft: str
    class_id: str
    source: str
    edge_part: Literal["head", "left_flank", "right_flank", "heel", "finger", "spot", "island"]
    mode: Literal["direct", "parallel", "indirect"]
    position: tuple[float, float]
    release_position: tuple[float, float]
    run_heading_deg: float
    line: NDArray[np.float64]
    wetted: NDArray[np.float64]
    closes_m: float
    approach: NDArray[np.float64]
    exit_path: NDArray[np.float64]
    height_above_canopy_m: float
    height_amsl_m: float | None
    speed_mps: float
    agent: str
    load_l: float
    coverage_level: float
    line_m: Band
    hold_min: Band
    coat: int
    coats: int
    pattern_half_width_m: float
    intensity_kw_per_m: float
    flame_length_m: float
    drift_right_m: Band | None = None
    drift_along_m: Band | None = None
    release_early_m: Band | None = None
    release_right_m: Band | None = None
    line_here_m: Band | None = None
    join_m: Band | None = None
    canopy_m: float | None = None
    vertical_from_m: Band | None = None
    intact_share: Band | None = None
    stand_clear: StandClear | None = None
    panel: str | None = None
    ground: tuple[str, ...] = ()
    people: PeopleCheck | None = None
    hold_chance: Band | None = None
    hold_notes: tuple[str, ...] = ()
    fills: str | None = None
    needs_look: bool = False
    line_from: Literal["table", "physics"] = "physics"
    line_notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def track(self) -> NDArray[np.float64]:
        """The whole ground track flown, approach to exit, the way over the line included."""
        return np.vstack((self.approach, self.exit_path))
