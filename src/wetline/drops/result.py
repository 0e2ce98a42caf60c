"""The nouns of a ground pattern: its raster, what reaches each level, and the whole result."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from wetline.drops.clear import StandClear
    from wetline.drops.own_table import LineFrom
    from wetline.drops.release import Input
    from wetline.drops.strike import Strike
    from wetline.model import Band, Finding

__all__ = [
    "EDGE_L_PER_M2",
    "LEVELS",
    "METHODS",
    "AtLevel",
    "DropResult",
    "Fall",
    "Method",
    "PatternRaster",
    "PatternSize",
    "level_name",
    "level_names",
]

Method = Literal["planning", "droplets"]
METHODS: tuple[Method, ...] = ("planning", "droplets")
LEVELS = ("0.5", "1", "2", "3", "4", "6")
"""Coverage levels of every answer, US gal/100 ft²."""
EDGE_L_PER_M2 = 0.2
"""The contour that is called the edge of the pattern."""


def level_name(level: float) -> str:
    """`0.5`, `4`: a level as the answers key it."""
    return f"{level:g}"


def level_names(more: float | None = None) -> tuple[str, ...]:
    """`LEVELS` and one more, lowest first."""
    if more is None or level_name(more) in LEVELS:
        return LEVELS
    return tuple(sorted((*LEVELS, level_name(more)), key=float))


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternSize:
    """The contour of 0.2 L/m²: length and width [m], mean inside it and peak [L/m²]. No contour, no mean."""

    length_m: float
    width_m: float
    mean_l_per_m2: float | None
    peak_l_per_m2: float


@dataclass(frozen=True, slots=True)
class PatternRaster:
    """Coverage [L/m²], float64[along, right], at cell middles [m] from where the doors open."""

    along_m: NDArray[np.float64]
    right_m: NDArray[np.float64]
    coverage_l_per_m2: NDArray[np.float64]

    @property
    def cell_m2(self) -> float:
        """Area of a cell [m²]."""
        return float((self.along_m[1] - self.along_m[0]) * (self.right_m[1] - self.right_m[0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class AtLevel:
    """What reaches one coverage level: [m] along the centre line, [m] across at the widest place, [m²].

    The plain ones are of the largest unbroken piece; `_summed` adds what lies beyond gaps. `line_from`,
    `line_summed_from`: whether a user's own drop tests tell them; `line_notes`: why or why not.
    """

    line_m: Band
    line_summed_m: Band
    width_m: Band
    width_summed_m: Band
    area_m2: Band
    area_summed_m2: Band
    line_from: LineFrom = "physics"
    line_summed_from: LineFrom = "physics"
    line_notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """One method's word on a load, from the doors to the surface under the canopy.

    `levels`: by their names, `LEVELS` at least. Drift [m] along and right of the heading; its ends are None where
    no wind is known. `release_*_m`: where the doors open, from the middle of the pattern. The four
    shares [%] sum to 100. `canopy_known`: False where trees stand below and nobody knows their leaves;
    then the middle counts nothing as held, and the band says how much it may be. `half_width_m`: from the
    line to the edge of everything wetted, drift included.
    """

    raster: PatternRaster = field(repr=False, compare=False)
    size: PatternSize
    levels: Mapping[str, AtLevel]
    drift_along_m: Band
    drift_right_m: Band
    release_along_m: Band
    release_right_m: Band
    evaporated_pct: Band
    canopy_pct: Band
    reaching_ground_pct: Band
    off_grid_pct: float
    canopy_known: bool
    half_width_m: float
    inputs: Mapping[str, Input]
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DropResult:
    """What one load does. Properties carry the names of the JSON answer.

    `strike`: how the load arrives, and from which height it falls steeply.
    `half_width_m`: from the line to the edge of everything wetted, drift included.
    """

    by: Method
    fall: Fall
    strike: Strike
    stand_off_m: float
    clear: StandClear
    half_width_m: float
    inputs: Mapping[str, Input]
    findings: tuple[Finding, ...]

    def at(self, level: float) -> AtLevel:
        """What reaches a level of `LEVELS`, or the one that was asked for beside them."""
        return self.fall.levels[level_name(level)]

    @property
    def pattern(self) -> PatternSize:
        """The contour of 0.2 L/m²."""
        return self.fall.size

    @property
    def safe_height_m(self) -> float:
        """Height of the tank below which the load may strike while it still moves forward."""
        return self.strike.rules_m

    @property
    def raster(self) -> PatternRaster:
        """Coverage at the surface."""
        return self.fall.raster

    @property
    def method(self) -> str:
        """How it was reckoned, and how sure that is, in words."""
        return self.fall.method

    @property
    def line_m_by_level(self) -> Mapping[str, float]:
        """Longest unbroken line on the centre line [m]."""
        return {name: at.line_m.middle for name, at in self.fall.levels.items()}

    @property
    def line_m_summed_by_level(self) -> Mapping[str, float]:
        """All pieces on the centre line [m]."""
        return {name: at.line_summed_m.middle for name, at in self.fall.levels.items()}

    @property
    def line_m_low_by_level(self) -> Mapping[str, float]:
        """Low end of the unbroken line [m]."""
        return {name: at.line_m.low or 0.0 for name, at in self.fall.levels.items()}

    @property
    def line_m_high_by_level(self) -> Mapping[str, float]:
        """High end of the unbroken line [m]."""
        return {name: at.line_m.high or 0.0 for name, at in self.fall.levels.items()}

    @property
    def line_from(self) -> Mapping[str, LineFrom]:
        """Whether drop tests or physics tell the unbroken line."""
        return {name: at.line_from for name, at in self.fall.levels.items()}

    @property
    def line_notes(self) -> tuple[str, ...]:
        """What must be said of lines where drop tests are given, each once."""
        return tuple(dict.fromkeys(note for at in self.fall.levels.values() for note in at.line_notes))

    @property
    def drift_along_m(self) -> float:
        """Drift of the load along the heading [m]."""
        return self.fall.drift_along_m.middle

    @property
    def drift_right_m(self) -> float:
        """Drift of the load to the right of the heading [m]."""
        return self.fall.drift_right_m.middle

    @property
    def release_offset_m(self) -> Mapping[str, float]:
        """Where the doors open [m], along and right of the heading, from the target."""
        return {"along": self.fall.release_along_m.middle, "right": self.fall.release_right_m.middle}

    @property
    def evaporated_pct(self) -> float:
        """Share of the load that evaporates [%]."""
        return self.fall.evaporated_pct.middle

    @property
    def canopy_pct(self) -> float:
        """Share of the load that the canopy holds [%]."""
        return self.fall.canopy_pct.middle

    @property
    def reaching_ground_pct(self) -> float:
        """Share of the load counted at the surface [%]."""
        return self.fall.reaching_ground_pct.middle

    @property
    def off_grid_pct(self) -> float:
        """Share of the load beyond the raster [%]."""
        return self.fall.off_grid_pct
