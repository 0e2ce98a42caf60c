"""How long a line one load, or several on one place, make at the coverage asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wetline.drops.fall import wind_at_height_mps
from wetline.drops.form import bands_m, bands_of, joined_band, middle_shapes, shapes_of, varied_shapes
from wetline.drops.own_table import lines_used
from wetline.drops.pattern import half_width_m
from wetline.drops.planning import setting
from wetline.drops.resolve import LEAST_GROUND_SPEED_MPS, resolve
from wetline.drops.systems import flow_settings
from wetline.errors import NotFlownError, OutsideRangeError
from wetline.model import Band, shipped_limits
from wetline.units import COVERAGE_LEVEL, KNOT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from wetline.drops.own_table import LineFrom
    from wetline.drops.release import Release, Resolved

__all__ = ["Stack", "line_m", "lines_of", "overlap", "overlap_m", "stack_for"]

# slower, part of the load arrives unbroken (derived)
_BUCKET_SPEEDS_KT = (30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
_OVERLAP_REACH = 5.0
_OVERLAP_POINTS = 1201
_GAP_POINTS = 81
_APART_POINTS = 36
"""Twice over: the overlap is found to a part in 1,225 of the visible line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Loads let go on one line until its coverage is reached; patterns add.

    `release`: with the flow setting or speed chosen. `line_m`: of the whole stack, with its band.
    `half_width_m`: from the line to the edge of everything wetted, drift included. `line_from`: whether
    a user's own drop tests tell the line; `notes`: what must be said of it then.
    """

    release: Release
    loads: int
    coverage_level: float
    line_m: Band
    half_width_m: float
    line_from: LineFrom = "physics"
    notes: tuple[str, ...] = ()


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
    resolved, level = resolve(release), coverage_level / loads
    bands = bands_m(shapes_of(resolved), np.array([level * COVERAGE_LEVEL]))
    return lines_used(release.drop_tests, resolved, [level], bands)[0].band


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


def _flown(release: Release) -> list[tuple[Release, Resolved]]:
    """The candidates that the wind lets fly: on every heading, and told by own drop tests, where there are such.

    Raises
    ------
    NotFlownError
        If it lets none.
    """
    calm = resolve(replace(release, wind_mps=None, wind_from_deg=None))
    found, refused = [], None
    for candidate in _candidates(release, calm):
        try:
            found.append((candidate, resolve(candidate)))
        except NotFlownError as error:
            refused = refused or error
    if refused is not None and not found:
        raise refused
    found = [(c, r) for c, r in found if _turns(r)] or found
    tests = release.drop_tests
    # what physics promises of a setting that nobody tested does not go before what was measured at another
    return [(c, r) for c, r in found if tests is not None and tests.tells(r)] or found


def _turns(resolved: Resolved) -> bool:
    """Whether a load could be let go at its airspeed on any heading."""
    wind_mps = float(np.hypot(resolved.wind_along_mps, resolved.wind_right_mps))
    against_mps = wind_at_height_mps(wind_mps, resolved.height_m)
    return resolved.speed_mps - against_mps >= LEAST_GROUND_SPEED_MPS


def lines_of(resolved: Sequence[Resolved], coverage_levels: Sequence[float]) -> NDArray[np.float64]:
    """Middle of the unbroken line [m] of many loads at many levels, at once: float64[load, level]."""
    for level in coverage_levels:
        _check(level, 1)
    return middle_shapes(resolved).lines_m(np.asarray(coverage_levels) * COVERAGE_LEVEL)[0]


@lru_cache(maxsize=2048)
def stack_for(release: Release, coverage_level: float, *, max_loads: int | None = None) -> Stack | None:
    """The fewest loads that reach a level on a line worth flying, and the surest such line.

    A level counts as reached when its line is at least `useful_core_share` of the track over which the
    load is let go. Flow setting and bucket speed are chosen unless given: the line with the longest low
    end, of those that the wind lets fly, and of those that own drop tests tell where they tell any. None: no number of loads up to `max_loads` (the limit `stack_loads_max` unless given) reaches it.

    Raises
    ------
    InputError, OutsideRangeError
        As `line_m`.
    """
    most = int(shipped_limits().value("stack_loads_max")) if max_loads is None else max_loads
    _check(coverage_level, most)
    levels = coverage_level / np.arange(1, most + 1)
    candidates = _flown(release)
    shapes = varied_shapes([resolved for _, resolved in candidates])
    share = setting("useful_core_share").value
    found = []
    for (candidate, resolved), bands in zip(
        candidates, bands_of(shapes, levels * COVERAGE_LEVEL), strict=True
    ):
        least_m = share * resolved.ground_speed_mps * resolved.duration_s
        lines = lines_used(release.drop_tests, resolved, levels.tolist(), bands)
        loads = next((n for n, line in enumerate(lines, start=1) if line.band.middle >= least_m), None)
        if loads is not None:
            found.append((loads, candidate, resolved, lines[loads - 1]))
    if not found:
        return None
    # the low end decides: a setting that only just reaches the level makes no line if spread is wider
    loads, chosen, resolved, line = min(
        found, key=lambda f: (f[0], -(f[3].band.low or 0.0), -f[3].band.middle)
    )
    return Stack(
        release=chosen,
        loads=loads,
        coverage_level=coverage_level,
        line_m=line.band,
        half_width_m=half_width_m(resolved),
        line_from=line.source,
        notes=line.notes,
    )


def overlap(release: Release, coverage_level: float, *, visible_level: float = 0.5) -> Band | None:
    """How far [m] a like load must begin inside the visible end of the last one so that a level joins.

    Two loads laid end to end add where they meet: the least overlap is that at which their sum just
    reaches the level all the way from the core of the one to the core of the other. Counted from the
    wet ends that crews see, which reach out to `visible_level`; 0 where the loads join without. The
    band is of the form's variants. None: one load alone does not reach the level (`stack_for`).

    Raises
    ------
    InputError, OutsideRangeError
        As `line_m`.
    """
    _check(coverage_level, 1)
    _check(visible_level, 1)
    shapes = shapes_of(resolve(release))
    reach = shapes.track.reach_m + _OVERLAP_REACH * shapes.spread_along_m
    x = np.linspace(-1.0, 1.0, _OVERLAP_POINTS) * reach[:, None]
    coverage = shapes.centre_l_per_m2(x)
    levels = (coverage_level * COVERAGE_LEVEL, visible_level * COVERAGE_LEVEL)
    each = [_least_overlap_m(place, c, *levels) for place, c in zip(x, coverage, strict=True)]
    if each[0] is None:
        return None
    # a variant that does not reach the level has no core to join: its load must lie on the last one
    whole = shapes.lines_m(np.array([levels[1]]))[1][:, 0]
    variants = np.array([w if e is None else e for e, w in zip(each, whole, strict=True)])
    middle, low, high = (float(end[0]) for end in joined_band(variants[None, :]))
    return Band(middle, max(low, 0.0), high)


def _least_overlap_m(
    x_m: NDArray[np.float64], coverage: NDArray[np.float64], level: float, visible: float
) -> float | None:
    """The least overlap [m] of one profile with itself; None where it does not reach `level`."""
    core, seen = _longest_run(x_m, coverage, level), np.flatnonzero(coverage >= visible)
    if core is None or not seen.size:
        return None
    begin, end = core
    seen_m = float(x_m[seen[-1]] - x_m[seen[0]])
    near, far = end - begin, max(seen_m, end - begin)
    for _ in range(2):  # coarsely from near to far, then again between the last that joins and the next
        apart = np.linspace(near, far, _APART_POINTS)
        gap = end + np.linspace(0.0, 1.0, _GAP_POINTS) * (apart - (end - begin))[:, None]
        total = np.interp(gap, x_m, coverage) + np.interp(gap - apart[:, None], x_m, coverage)
        joins = np.minimum.accumulate(total.min(axis=1) >= level * (1.0 - 1e-6))
        if not joins[0]:
            return seen_m
        last = int(joins.sum()) - 1
        near, far = float(apart[last]), float(apart[min(last + 1, _APART_POINTS - 1)])
    return max(seen_m - near, 0.0)


def _longest_run(
    x_m: NDArray[np.float64], coverage: NDArray[np.float64], level: float
) -> tuple[float, float] | None:
    """First and last place [m] of the longest run of points at or above a level."""
    above = np.concatenate(([False], coverage >= level, [False])).astype(int)
    begins, ends = np.flatnonzero(np.diff(above) == 1), np.flatnonzero(np.diff(above) == -1) - 1
    if not begins.size:
        return None
    longest = int((x_m[ends] - x_m[begins]).argmax())
    return float(x_m[begins[longest]]), float(x_m[ends[longest]])


def overlap_m(release: Release, coverage_level: float, *, visible_level: float = 0.5) -> float:
    """The overlap [m] to fly: the high end of `overlap`, so that the level joins where the load is thin.

    All of the visible line where one load does not reach the level.

    Raises
    ------
    InputError, OutsideRangeError
        As `line_m`.
    """
    band = overlap(release, coverage_level, visible_level=visible_level)
    if band is not None and band.high is not None:
        return band.high
    return line_m(release, visible_level).middle
