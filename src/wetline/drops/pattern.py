"""The ground pattern of one load: one call, two methods."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.drops.beyond import beyond_findings
from wetline.drops.canopy import canopy_findings
from wetline.drops.checks import release_findings
from wetline.drops.clear import stand_clear
from wetline.drops.danger import stand_off_m
from wetline.drops.form import shape_of
from wetline.drops.own_pattern import own_fall
from wetline.drops.planning_pattern import half_width_m, planning_fall
from wetline.drops.release import Input
from wetline.drops.resolve import resolve
from wetline.drops.result import METHODS, DropResult
from wetline.drops.strike import strike
from wetline.drops.varied import varied
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import shipped_limits

if TYPE_CHECKING:
    from wetline.drops.release import Release, Resolved
    from wetline.drops.result import Fall, Method
    from wetline.model import Limits

__all__ = ["half_width_m", "pattern"]

_LEVEL_MAX = 20.0
_VARIED = ("height_share", "speed_share", "wind_share", "wind_turn_deg")


def pattern(
    release: Release,
    limits: Limits | None = None,
    *,
    method: Method = "planning",
    level: float | None = None,
    seed: int = 1,
) -> DropResult:
    """The ground pattern of one load. `level`: measured too, beside those of `LEVELS`.

    `seed`: of the droplet model; the same seed gives the same answer.

    Raises
    ------
    InputError
        For an unknown class, agent or method, or a wind without direction.
    OutsideRangeError
        For a number outside the range in which the model makes sense, or a level outside 0 to 20.
    """
    if level is not None and not 0.0 < level <= _LEVEL_MAX:
        raise OutsideRangeError(field="level", value=level, low=0, high=_LEVEL_MAX, unit="", above_low=True)
    limits = limits or shipped_limits()
    resolved = resolve(release)
    fall = own_fall(_fall(resolved, method, level, seed), resolved, release.drop_tests)
    struck = strike(
        resolved,
        peak_l_per_m2=fall.size.peak_l_per_m2,
        spread_along_m=float(shape_of(resolved).spread_along_m[0]),
    )
    return DropResult(
        by=method,
        fall=fall,
        strike=struck,
        stand_off_m=stand_off_m(resolved.class_id, fall.half_width_m, limits, canopy_m=resolved.canopy_m),
        clear=stand_clear(resolved, fall, limits),
        half_width_m=fall.half_width_m,
        inputs={
            **resolved.inputs,
            **fall.inputs,
            **{name: Input.of(varied(name)) for name in _VARIED},
        },
        findings=(
            *release_findings(resolved, struck, limits),
            *canopy_findings(resolved),
            *(beyond_findings(resolved) if method == "planning" else ()),
        ),
    )


def _fall(resolved: Resolved, method: Method, level: float | None, seed: int) -> Fall:
    if method not in METHODS:
        mend = f"Give one of {', '.join(METHODS)}."
        problem = Problem(message=f"unknown method {method!r}.", mend=mend, field="method", value=method)
        raise InputError.of([problem])
    if method == "planning":
        return planning_fall(resolved, level)
    from wetline.drops.droplet_pattern import droplet_fall  # noqa: PLC0415  loads numba

    return droplet_fall(resolved, level, seed=seed)
