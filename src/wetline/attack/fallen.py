"""What a load does on its own run: pattern, drift, line and join at the run's own heading."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops import agent_facts, doors_open_m, line_m, overlap, pattern
from wetline.model import Band, Finding, StandClear

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.drops import DropResult, Release, Stack
    from wetline.ground import Ground
    from wetline.model import DropRun, Limits

__all__ = ["Falls", "canopy_under_m", "release_over", "short_line", "what_falls"]

_STEP_DEG = 5.0
"""Patterns are looked up to this heading: under 2 m of drift."""
_COARSE_DEG = 15.0
_COARSE_LOAD = 1.05
_TREES_STEP_M = 5.0
_VISIBLE_LEVEL = 0.5
"""Coverage at which crews see a wet end; common practice, no source."""
_PLAIN = "water"
_SHORT_M = 5.0
"""A line shorter by less than this is as planned."""


@dataclass(slots=True)
class Falls:
    """Looks patterns and lines up once for each release, heading and level."""

    limits: Limits
    _patterns: dict[Release, DropResult] = field(default_factory=dict)
    _lines: dict[tuple[Release, float, int], Band] = field(default_factory=dict)
    _joins: dict[tuple[Release, float, int], Band | None] = field(default_factory=dict)

    def pattern(self, release: Release, heading_deg: float) -> DropResult:
        """The pattern of a load on a heading."""
        turned = _turned(release, heading_deg)
        if turned not in self._patterns:
            self._patterns[turned] = pattern(turned, self.limits)
        return self._patterns[turned]

    def doors_open_m(self, release: Release, heading_deg: float) -> tuple[float, float]:
        """Where the doors open [m], along and right of the heading, from the middle of the pattern."""
        return doors_open_m(_turned(release, heading_deg))

    def line(self, release: Release, heading_deg: float, stack: Stack) -> Band:
        """The whole stack's line [m] on a heading."""
        turned = _turned(release, heading_deg)
        key = (turned, stack.coverage_level, stack.loads)
        if key not in self._lines:
            self._lines[key] = line_m(turned, stack.coverage_level, loads=stack.loads)
        return self._lines[key]

    def join(self, release: Release, heading_deg: float, stack: Stack) -> Band | None:
        """How far inside the visible end of a stack the next one begins [m], of a load like it.

        Stacked patterns add: what n loads reach together, one reaches at an nth of the level.
        """
        like = _like(release, heading_deg)
        key = (like, stack.coverage_level, stack.loads)
        if key not in self._joins:
            n = stack.loads
            self._joins[key] = overlap(like, stack.coverage_level / n, visible_level=_VISIBLE_LEVEL / n)
        return self._joins[key]


def _like(release: Release, heading_deg: float) -> Release:
    """A release to coarse steps of heading and litres: a few metres of overlap, many times fewer look-ups.

    Never more litres than it has: a full tank stays one.
    """
    turned = _turned(release, _COARSE_DEG * round(heading_deg / _COARSE_DEG))
    if turned.load_l is None:
        return turned
    steps = math.floor(math.log(turned.load_l, _COARSE_LOAD))
    return replace(turned, load_l=min(_COARSE_LOAD**steps, turned.load_l), canopy_m=None)


def _turned(release: Release, heading_deg: float) -> Release:
    heading = None if release.wind_mps is None else _STEP_DEG * round(heading_deg / _STEP_DEG) % 360.0
    return replace(release, heading_deg=heading)


def canopy_under_m(ground: Ground, line: NDArray[np.float64]) -> float | None:
    """The tallest trees [m] under a line, None where their height is not known along all of it."""
    chord = line[-1] - line[0]
    steps = max(2, math.ceil(float(np.hypot(*chord)) / ground.grid.cell_m) + 1)
    points = line[0] + np.linspace(0.0, 1.0, steps)[:, None] * chord
    heights = [ground.canopy_at(float(x), float(y)) for x, y in points]
    known = [height for height in heights if height is not None and np.isfinite(height)]
    return max(known) if len(known) == len(heights) else None


def release_over(release: Release, canopy_m: float | None) -> Release:
    """The release over trees, to the next 5 m of their height, their leaves unknown."""
    if canopy_m is None:
        return release
    return replace(release, canopy_m=_TREES_STEP_M * math.ceil(canopy_m / _TREES_STEP_M))


def what_falls(
    run: DropRun, fallen: DropResult, release: Release, *, here: Band, join_m: Band | None
) -> DropRun:
    """The run with what its load does: drift, where the doors open, line and join at its heading, who stands clear.

    The pattern's middle lies over the middle of the line. Without a known wind the drift, and the line at
    this heading, are not known.
    """
    fall, half_m = fallen.fall, 0.5 * float(np.hypot(*(run.line[-1] - run.line[0])))
    windy = release.wind_mps is not None
    return replace(
        run,
        drift_right_m=fall.drift_right_m if windy else None,
        drift_along_m=fall.drift_along_m if windy else None,
        release_early_m=_shifted(_turned_over(fall.release_along_m), -half_m),
        release_right_m=fall.release_right_m if windy else None,
        line_here_m=here if windy else None,
        join_m=join_m,
        vertical_from_m=_vertical_from(fallen),
        intact_share=fallen.strike.intact_share,
        stand_clear=_clear_of(fallen, half_m),
        panel=None if release.setting is None else f"coverage level {release.setting:g}",
        ground=() if run.agent == _PLAIN else agent_facts(run.agent).crew,
    )


def _turned_over(band: Band) -> Band:
    """The band of the negative."""
    low, high = (None if end is None else 0.0 - end for end in (band.high, band.low))
    return Band(0.0 - band.middle, low, high)


def _shifted(band: Band, by_m: float) -> Band:
    low, high = (None if end is None else end + by_m for end in (band.low, band.high))
    return Band(band.middle + by_m, low, high)


def _clear_of(fallen: DropResult, half_m: float) -> StandClear:
    """How far people must be from the ends of a line, half of it `half_m`, that lies over the pattern's middle."""
    clear = fallen.clear
    return StandClear(
        sides_m=clear.sides_m,
        ahead_m=max(clear.ahead_m - half_m, 0.0),
        behind_m=max(clear.behind_m - half_m, 0.0),
    )


def _vertical_from(fallen: DropResult) -> Band:
    """Height [m] that the rule asks, so that a load falls vertically, with the ends of the tool's own."""
    struck = fallen.strike
    ends = [end for end in (struck.own_m.low, struck.own_m.high, struck.rules_m) if end is not None]
    return Band(struck.rules_m, min(ends), max(ends))


def short_line(run_id: str, *, planned_m: float, here: Band) -> tuple[Finding, ...]:
    """A line that is shorter on the run's own heading than the edge it is counted on to close; none is a stop."""
    if here.middle > planned_m - _SHORT_M:
        return ()
    nothing = here.middle <= 0.0
    finding = Finding(
        code="gap",
        level="stop" if nothing else "caution",
        message=(
            "On this heading, in this wind, the load reaches the coverage needed nowhere."
            if nothing
            else f"On this heading the load makes {here.middle:.0f} m of line; the plan counts on "
            f"{planned_m:.0f} m of edge: look for the gap at its ends."
        ),
        source="the line on this heading against the one counted on, in a full crosswind",
        refers_to=run_id,
        limit=f"{planned_m:.0f} m",
        value=f"{here.middle:.0f} m",
    )
    return (finding,)
