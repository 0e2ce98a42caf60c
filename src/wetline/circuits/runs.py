"""The geometry of a drop run: which way along the line, the approach, the way out, how high.

The tracks are those flown over the ground, shifted against the drift; the wetted line stays where it
is wanted. People and wires along them are judged elsewhere; here only the terrain is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias

import numpy as np

from wetline.circuits.checks import run_exit_finding, terrain_exit_finding
from wetline.circuits.legs import quantity_of
from wetline.circuits.pattern import LIGHT_WIND_MPS, approach_m
from wetline.circuits.way_out import Relief, Turn, turn_radius_m, way_out
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.grid import along, bearing_deg
from wetline.model import Finding, shipped_limits, worst

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from wetline.aircraft import AircraftClass
    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Hour

__all__ = ["RunGeometry", "build_run", "turn_radius_m"]

Direction = Literal["best", "as_given", "reversed"]
Offset: TypeAlias = tuple[float, float]
"""(right, along) of the run's heading [m]."""

_LEVEL_SLOPE = 0.02  # a line that rises less counts as level; common practice, no source
_SHORTEST_M = 1.0
_LEVEL_RANK = {"clear": 0, "caution": 1, "unknown": 2, "stop": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class RunGeometry:
    """One drop run. Points (x, y) [m], lines float64[n, 2] [m] in the order flown.

    `line`: the wetted line on the ground. `approach` ends at the release, `exit_path` starts over
    the end of the line. `height_amsl_m`: the tank's height, level over the highest ground and trees
    under the line; `line_relief_m`: how much lower the lowest of them lies. Gradients [m/m] are what
    the ground asks for, None where it is not known all along. `headwind_mps`, `crosswind_mps` (from
    the right positive) None without weather. `bend_m`: how far the line leaves the straight run.
    """

    run_heading_deg: float
    reversed_line: bool
    line: NDArray[np.float64]
    approach: NDArray[np.float64]
    exit_path: NDArray[np.float64]
    release_xy: tuple[float, float]
    release_offset_right_m: float
    release_offset_along_m: float
    height_above_canopy_m: float
    height_amsl_m: float | None
    line_relief_m: float | None
    downhill_m: float | None
    bend_m: float
    turn: Turn
    turn_radius_m: float
    speed_mps: float
    exit_gradient_needed: float | None
    approach_gradient_needed: float | None
    headwind_mps: float | None
    crosswind_mps: float | None
    findings: tuple[Finding, ...]


def _wind(hour: Hour | None, heading_deg: float) -> tuple[float | None, float | None]:
    if hour is None:
        return None, None
    angle = np.radians(hour.wind_from_deg - heading_deg)
    return float(hour.wind_mps * np.cos(angle)), float(hour.wind_mps * np.sin(angle))


def _bend_m(line: NDArray[np.float64], heading_deg: float) -> float:
    east, north = along(heading_deg)
    offset = (line[:, 0] - line[0, 0]) * north - (line[:, 1] - line[0, 1]) * east
    return float(np.abs(offset).max())


class _Under(NamedTuple):
    """Heights of ground and trees under the line [m]; NaN where some of it is not known."""

    top_m: float
    low_m: float
    first_m: float
    last_m: float


class _Candidate(NamedTuple):
    """One way to fly the line, with what the terrain asks for."""

    line: NDArray[np.float64]
    heading_deg: float
    offset: Offset
    approach: NDArray[np.float64]
    exit_path: NDArray[np.float64]
    turn: Turn
    under: _Under
    exit_gradient: float | None
    approach_gradient: float | None
    headwind_mps: float | None
    crosswind_mps: float | None
    findings: tuple[Finding, ...]


def _under(relief: Relief, line: NDArray[np.float64]) -> _Under:
    _, z = relief.along(line)
    if np.isnan(z).any():
        return _Under(np.nan, np.nan, np.nan, np.nan)
    return _Under(float(z.max()), float(z.min()), float(z[0]), float(z[-1]))


def _candidate(
    line: NDArray[np.float64],
    cls: AircraftClass,
    relief: Relief,
    hour: Hour | None,
    limits: Limits,
    *,
    speed_mps: float,
    offset_at: Callable[[float], Offset],
    refers_to: str,
) -> _Candidate:
    heading = float(bearing_deg(*(line[-1] - line[0])))
    ahead = np.array(along(heading))
    offset = offset_at(heading)
    shift = offset[0] * np.array([ahead[1], -ahead[0]]) + offset[1] * ahead
    release, last = line[0] + shift, line[-1] + shift
    approach = np.vstack([release - approach_m(cls) * ahead, release])
    under = _under(relief, line)
    exit_path, turn, exit_needed = way_out(relief, last, heading, speed_mps, under.top_m)
    approach_needed, _ = relief.climb(approach[::-1], under.top_m)
    headwind, crosswind = _wind(hour, heading)
    findings = (
        run_exit_finding(
            exit_needed,
            cls,
            limits,
            speed_mps=speed_mps,
            refers_to=refers_to,
            position=(float(last[0]), float(last[1])),
        ),
        terrain_exit_finding(
            approach_needed,
            limits,
            what="Descent on the approach",
            refers_to=refers_to,
            limit_name="descent_gradient_available",
            position=(float(release[0]), float(release[1])),
        ),
    )
    return _Candidate(
        line=line,
        heading_deg=heading,
        offset=offset,
        approach=approach,
        exit_path=exit_path,
        turn=turn,
        under=under,
        exit_gradient=exit_needed,
        approach_gradient=approach_needed,
        headwind_mps=headwind,
        crosswind_mps=crosswind,
        findings=findings,
    )


def _preference(candidate: _Candidate) -> tuple[float, ...]:
    """Lower is better: terrain that can be flown, into wind, not uphill, little climb, more headwind.

    Where both ways have a stop, the one with the free way out: a load that stays on board must climb.
    """
    headwind = candidate.headwind_mps or 0.0
    length = float(np.hypot(*(candidate.line[-1] - candidate.line[0])))
    rise = candidate.under.last_m - candidate.under.first_m
    return (
        _LEVEL_RANK[worst(candidate.findings)],
        _LEVEL_RANK[candidate.findings[0].level],
        int(headwind < -LIGHT_WIND_MPS),
        int(rise > _LEVEL_SLOPE * length),
        np.inf if candidate.exit_gradient is None else candidate.exit_gradient,
        -headwind,
    )


def _checked(line_xy: ArrayLike) -> NDArray[np.float64]:
    line = np.asarray(line_xy, float)
    if line.ndim != 2 or line.shape[0] < 2 or line.shape[1] != 2 or not np.isfinite(line).all():
        problem = Problem(
            message=f"A run needs a line of two or more known points, not an array {line.shape}.",
            mend="Give the line to be wetted as (n, 2) metres.",
            field="line_xy",
        )
        raise InputError.of([problem])
    if float(np.hypot(*(line[-1] - line[0]))) < _SHORTEST_M:
        problem = Problem(
            message=f"The ends of the line lie less than {_SHORTEST_M:g} m apart: it gives no heading.",
            mend="Give a longer or straighter line, or cut it in two.",
            field="line_xy",
            limit=f"{_SHORTEST_M:g} m",
        )
        raise InputError.of([problem])
    return line


def build_run(
    line_xy: ArrayLike,
    cls: AircraftClass,
    ground: Ground,
    hour: Hour | None,
    *,
    height_m: float,
    limits: Limits | None = None,
    direction: Direction = "best",
    drift: Offset | Callable[[float], Offset] = (0.0, 0.0),
    release_offset: Callable[[float], Offset] | None = None,
    speed_mps: float | None = None,
    refers_to: str = "run",
) -> RunGeometry:
    """A run along a line, flown the better way round.

    Best: first a way whose terrain can be flown, then into wind (if there is more than a light one),
    then not uphill, then the gentler climb-out. Wind of the hour at 10 m.

    Parameters
    ----------
    line_xy
        The line to be wetted, float[n, 2] [m]; the run heads from its first point to its last.
    height_m
        Tank above the top of canopy or obstacle [m], > 0.
    direction
        `best`, or the line `as_given` or `reversed` whatever the wind and the terrain say.
    drift
        Where the pattern falls from an uncorrected release, (right, along) the run [m], or a
        function of the run's heading [deg]. The release goes upwind and short by as much.
    release_offset
        Instead of the drift: (right, along) from the start of the line to the release [m].
    speed_mps
        Else the class's drop speed.

    Raises
    ------
    InputError
        If the line gives no heading, or the class has no drop speed.
    OutsideRangeError
        If the height is not above 0.
    """
    if not height_m > 0.0:
        raise OutsideRangeError(field="height_m", value=height_m, low=0.0, high=np.inf, unit="m")
    line = _checked(line_xy)
    limits = shipped_limits() if limits is None else limits
    speed = quantity_of(cls, "drop_speed_kt").si() if speed_mps is None else speed_mps

    def offset_at(heading_deg: float) -> Offset:
        if release_offset is not None:
            return release_offset(heading_deg)
        right, forward = drift(heading_deg) if callable(drift) else drift
        return -right, -forward

    relief = Relief(ground)
    ways = {"as_given": (line,), "reversed": (line[::-1],), "best": (line, line[::-1])}[direction]
    candidates = [
        _candidate(way, cls, relief, hour, limits, speed_mps=speed, offset_at=offset_at, refers_to=refers_to)
        for way in ways
    ]
    best = min(candidates, key=_preference)
    return _geometry(best, relief, height_m=height_m, speed_mps=speed, given=line, refers_to=refers_to)


def _geometry(
    best: _Candidate,
    relief: Relief,
    *,
    height_m: float,
    speed_mps: float,
    given: NDArray[np.float64],
    refers_to: str,
) -> RunGeometry:
    under = best.under
    known = not np.isnan(under.top_m)
    findings = best.findings
    if not relief.canopy_known:
        findings += (
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message="Trees not known: the height above sea level stands on bare ground; add their height.",
                source="common practice, no source",
                refers_to=refers_to,
            ),
        )
    release = best.approach[-1]
    return RunGeometry(
        run_heading_deg=best.heading_deg,
        reversed_line=not np.array_equal(best.line, given),
        line=best.line,
        approach=best.approach,
        exit_path=best.exit_path,
        release_xy=(float(release[0]), float(release[1])),
        release_offset_right_m=best.offset[0],
        release_offset_along_m=best.offset[1],
        height_above_canopy_m=height_m,
        height_amsl_m=under.top_m + height_m if known else None,
        line_relief_m=under.top_m - under.low_m if known else None,
        downhill_m=under.first_m - under.last_m if known else None,
        bend_m=_bend_m(best.line, best.heading_deg),
        turn=best.turn,
        turn_radius_m=turn_radius_m(speed_mps),
        speed_mps=speed_mps,
        exit_gradient_needed=best.exit_gradient,
        approach_gradient_needed=best.approach_gradient,
        headwind_mps=best.headwind_mps,
        crosswind_mps=best.crosswind_mps,
        findings=findings,
    )
