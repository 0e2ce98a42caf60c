"""How long a line one load, or several on one place, make at the coverage asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.form import bands_m, shape_of, shapes_of
from wetline.drops.pattern import half_width_m
from wetline.drops.planning import setting
from wetline.drops.profile import half_lines_m
from wetline.drops.release import flow_settings, resolve
from wetline.errors import OutsideRangeError
from wetline.model import shipped_limits
from wetline.units import COVERAGE_LEVEL, KNOT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from wetline.drops.form import Shape
    from wetline.drops.release import Release, Resolved
    from wetline.model import Band

__all__ = ["Stack", "line_m", "loads_to_reach", "overlap_m", "stack_for"]

_BUCKET_SPEEDS_KT = (30.0, 40.0, 50.0, 60.0)  # slower, part of the load arrives unbroken (derived)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Loads let go on one line until its coverage is reached; patterns add.

    `release`: with the flow setting or speed chosen. `line_m`: of the whole stack, with its band.
    `half_width_m`: from the line to the edge of everything wetted, drift included.
    """

    release: Release
    loads: int
    coverage_level: float
    line_m: Band
    half_width_m: float


def _check(coverage_level: float, loads: int) -> None:
    if not 0.0 < coverage_level <= 20.0:
        raise OutsideRangeError(field="coverage_level", value=coverage_level, low=0, high=20, unit="")
    if loads < 1:
        raise OutsideRangeError(field="loads", value=loads, low=1, high=np.inf, unit="")


def line_m(release: Release, coverage_level: float, *, loads: int = 1) -> Band:
    """Unbroken line [m] on the centre line at a coverage level [US gal/100 ft²], with its band.

    `loads` let go on the same place add up: n loads reach a level where one reaches its nth part.

    Raises
    ------
    InputError, OutsideRangeError
        As `resolve`, or for a level outside 0 to 20.
    """
    _check(coverage_level, loads)
    level = np.array([coverage_level * COVERAGE_LEVEL / loads])
    return bands_m(shapes_of(resolve(release)), level)[0]


def _candidates(release: Release, resolved: Resolved) -> Iterator[Release]:
    """The release as given, and what its crew may choose: flow setting, or the speed of a bucket."""
    if resolved.mode == "constant" and release.setting is None and release.duration_s is None:
        yield from (replace(release, setting=level) for level in flow_settings(release.class_id))
        return
    yield release
    if resolved.mode == "bucket" and release.speed_mps is None:
        speed = resolved.cls.get("drop_speed_kt")
        low, high = (0.0, np.inf) if speed is None else (speed.low or 0.0, speed.high or np.inf)
        yield from (replace(release, speed_mps=kt * KNOT) for kt in _BUCKET_SPEEDS_KT if low <= kt <= high)


def _middle_lines_m(shape: Shape, levels: NDArray[np.float64]) -> NDArray[np.float64]:
    lines = half_lines_m(
        levels,
        litres=shape.litres,
        length_m=shape.length_m,
        ramp_m=shape.ramp_m,
        spread_along_m=shape.spread_along_m,
        spread_across_m=shape.spread_across_m,
    )
    return np.asarray(lines[0], float)


def _fewest(release: Release, coverage_level: float, levels: NDArray[np.float64]) -> Stack | None:
    """The fewest loads for one way of letting go; `levels` [L/m²] asked of one load, by loads stacked."""
    resolved = resolve(release)
    shapes = shapes_of(resolved)
    bands = bands_m(shapes, levels)
    least_m = setting("useful_core_share").value * shapes.length_m[0]
    for n, band in enumerate(bands, start=1):
        if band.middle > 0.0 and band.middle >= least_m:
            return Stack(
                release=release,
                loads=n,
                coverage_level=coverage_level,
                line_m=band,
                half_width_m=half_width_m(resolved),
            )
    return None


@lru_cache(maxsize=2048)
def stack_for(release: Release, coverage_level: float, *, max_loads: int | None = None) -> Stack | None:
    """The fewest loads that reach a level on a line worth flying, and the surest such line.

    A level counts as reached when its line is at least `useful_core_share` of the track over which the
    load is let go. Flow setting and bucket speed are chosen unless given: the line with the longest low
    end. None: no number of loads up to `max_loads` (the limit `stack_loads_max` unless given) reaches it.

    Raises
    ------
    InputError, OutsideRangeError
        As `line_m`.
    """
    most = int(shipped_limits().value("stack_loads_max")) if max_loads is None else max_loads
    _check(coverage_level, most)
    levels = coverage_level * COVERAGE_LEVEL / np.arange(1, most + 1)
    found = [
        stack
        for candidate in _candidates(release, resolve(release))
        if (stack := _fewest(candidate, coverage_level, levels)) is not None
    ]
    # the low end decides: a setting that only just reaches the level makes no line if spread is wider
    return min(found, key=lambda s: (s.loads, -(s.line_m.low or 0.0), -s.line_m.middle), default=None)


def loads_to_reach(release: Release, coverage_level: float, max_loads: int) -> int | None:
    """How many loads must fall on one line to reach a level; None if `max_loads` do not."""
    stack = stack_for(release, coverage_level, max_loads=max_loads)
    return None if stack is None else stack.loads


def overlap_m(release: Release, coverage_level: float, *, visible_level: float = 0.5) -> float:
    """How far [m] a load must begin inside the visible end of the last one so that the level joins.

    Half the difference between the line at the visible level and the line at the level needed: crews
    see the wet tails, which lie below it. All of the visible half where the level is never reached.

    Raises
    ------
    InputError, OutsideRangeError
        As `line_m`.
    """
    _check(coverage_level, 1)
    _check(visible_level, 1)
    levels = np.array([visible_level, coverage_level]) * COVERAGE_LEVEL
    seen, needed = _middle_lines_m(shape_of(resolve(release)), levels)
    return float(max(seen - needed, 0.0) / 2.0)
