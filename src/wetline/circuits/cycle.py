"""The fill-fly-drop cycle of one aircraft between one source and one target.

cycle = overhead + leg out / ground speed + leg back / ground speed + climb / rate of climb
        + passes flown without a drop

The overhead (filling, take-off, joining, the drop, turning, landing on) comes from the class. Its
part beside the fill is laid half to the source and half to the target: an assumption that moves the
minute of a drop, not the length of the cycle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from wetline.circuits.sources import Source, SourceKind, fit
from wetline.circuits.spread import (
    EMPTY,
    LOADED,
    Leg,
    band,
    band_from,
    cycle_members_s,
    extra_passes,
    ground_speeds,
    load_members_l,
    overhead_of,
    quantity_of,
)
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.grid import bearing_deg
from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.ground import Ground
    from wetline.model import Band, Limits
    from wetline.weather import Hour

__all__ = [
    "BestSources",
    "Circuit",
    "Leg",
    "best_sources",
    "circuit",
    "flight_time_s",
    "ground_speed_mps",
    "load_litres",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One aircraft's cycle on one source: `distance_m` from source to target, times in the band.

    Bands are the 10th to 90th of 100 members over the class's own ranges, named in `band_from`, and
    always hold the middle. `litres_per_load` is the middle load. The cycle is made of `ground_s`
    (on the ground at a base), `source_s`, `legs` and `target_s`; all but the first is flight.
    """

    aircraft: str
    class_id: str
    source: str
    source_kind: SourceKind
    distance_m: float
    cycle_min: Band
    loads_per_hour: Band
    litres_per_hour: Band
    litres_per_load: float
    legs: tuple[Leg, Leg]
    ground_s: float
    source_s: float
    target_s: float
    look: bool
    blocked: bool
    band_from: tuple[str, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BestSources:
    """The source with the most litres an hour and the next best, on other water where there is one.

    `refused`: why the others are out, as (source id, words).
    """

    primary: Circuit | None
    alternate: Circuit | None
    refused: tuple[tuple[str, str], ...] = ()


def ground_speed_mps(airspeed_mps: float, course_deg: float, wind_mps: float, wind_from_deg: float) -> float:
    """Speed over the ground [m/s] along a course, by the wind triangle. Bearings grid [deg].

    Raises
    ------
    OutsideRangeError
        If the course cannot be held in that wind.
    """
    speed = float(ground_speeds(np.array([airspeed_mps]), course_deg, np.array([wind_mps]), wind_from_deg)[0])
    if speed <= 0.0:
        raise OutsideRangeError(field="wind", value=wind_mps, low=0.0, high=airspeed_mps, unit="m/s")
    return speed


def load_litres(aircraft: Aircraft, cls: AircraftClass) -> float:
    """Litres a load: the aircraft's own, else the class's tank or bucket.

    Raises
    ------
    InputError
        If neither is known.
    """
    return aircraft.load_l if aircraft.load_l is not None else quantity_of(cls, "tank_volume_l").value


def flight_time_s(
    cls: AircraftClass,
    start: tuple[float, float],
    end: tuple[float, float],
    hour: Hour | None,
    ground: Ground,
    *,
    loaded: bool = False,
) -> float:
    """Time [s] of a flight between two points [m] with the hour's wind (none: still air) and climb.

    Raises
    ------
    OutsideRangeError
        If the course cannot be held in that wind.
    """
    climb_m, _ = _climb(ground, start, end, (None, None))
    return _leg("out", cls, start, end, hour, climb_m, loaded=loaded).time_s


def _climb(
    ground: Ground,
    start: tuple[float, float],
    end: tuple[float, float],
    heights_m: tuple[float | None, float | None],
) -> tuple[float, bool]:
    """Climb [m] from the start over the highest ground on the way, and whether all of it is known."""
    distance = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    steps = max(2, min(400, int(distance / ground.grid.cell_m) + 2))
    share = np.linspace(0.0, 1.0, steps)
    z = ground.grid.sample(
        ground.elevation_m, start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
    )
    if heights_m[0] is not None:
        z[0] = heights_m[0]
    if heights_m[1] is not None:
        z[-1] = heights_m[1]
    known = ~np.isnan(z)
    if not known[0] or not known.any():
        return 0.0, False
    return max(0.0, float(z[known].max() - z[0])), bool(known.all())


def _climb_s(cls: AircraftClass, climb_m: float) -> float:
    rate = cls.get("climb_fpm")
    return 0.0 if rate is None else climb_m / rate.si()


def _leg(
    name: Literal["out", "back"],
    cls: AircraftClass,
    start: tuple[float, float],
    end: tuple[float, float],
    hour: Hour | None,
    climb_m: float,
    *,
    loaded: bool,
) -> Leg:
    airspeed = quantity_of(cls, *(LOADED if loaded else EMPTY)).si()
    dx, dy = end[0] - start[0], end[1] - start[1]
    course = float(bearing_deg(dx, dy))
    wind, from_deg = (0.0, 0.0) if hour is None else (hour.wind_mps, hour.wind_from_deg)
    speed = ground_speed_mps(airspeed, course, wind, from_deg)
    distance = float(np.hypot(dx, dy))
    return Leg(
        name=name,
        course_deg=course,
        distance_m=distance,
        ground_speed_mps=speed,
        climb_m=climb_m,
        time_s=distance / speed + _climb_s(cls, climb_m),
    )


def _unknowns(
    source: Source, aircraft: Aircraft, cls: AircraftClass, hour: Hour | None, *, ground_known: bool
) -> list[Finding]:
    """What the cycle had to leave out."""
    refers_to = f"{aircraft.call_sign} {source.id}"
    out = []
    if hour is None:
        out.append(
            Finding(
                code="wind",
                level="unknown",
                effect="noted",
                message=f"No weather for {refers_to}: the cycle is that of still air.",
                source="common practice, no source",
                refers_to=refers_to,
            )
        )
    if not ground_known or cls.get("climb_fpm") is None:
        lacking = "heights on the way" if not ground_known else "the class's rate of climb"
        out.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message=f"{lacking.capitalize()} not known for {refers_to}: climb is not wholly counted.",
                source="common practice, no source",
                refers_to=refers_to,
            )
        )
    return out


def circuit(
    aircraft: Aircraft,
    cls: AircraftClass,
    source: Source,
    target: tuple[float, float],
    hour: Hour | None,
    ground: Ground,
    limits: Limits,
) -> Circuit:
    """The cycle between a source and a target (x, y) [m]; `hour` None means still air, and says so.

    Raises
    ------
    InputError
        If the aircraft does not load at that source, or its class lacks what a cycle needs.
    OutsideRangeError
        If a leg cannot be flown in that wind.
    """
    why, findings = fit(source, aircraft, cls)
    if why is not None:
        problem = Problem(
            message=f"{aircraft.call_sign} at {source.id}: {why}.", mend="Choose another source."
        )
        raise InputError.of([problem])
    here = source.position
    up_out, known_out = _climb(ground, here, target, (source.elevation_m, None))
    up_back, known_back = _climb(ground, target, here, (None, source.elevation_m))
    legs = (
        _leg("out", cls, here, target, hour, up_out, loaded=True),
        _leg("back", cls, target, here, hour, up_back, loaded=False),
    )
    overhead, go_rounds = overhead_of(cls), extra_passes(limits)
    air_s = overhead.air.si()
    ground_s = 0.0 if overhead.ground is None else overhead.ground.si()
    half_s = (air_s - overhead.fill_s) / 2.0
    target_s = half_s + go_rounds * (air_s - overhead.fill_s)
    source_s = overhead.fill_s + half_s
    cycle_s = ground_s + source_s + target_s + sum(leg.time_s for leg in legs)
    cycles = cycle_members_s(cls, overhead, legs, hour, go_rounds)
    litres = load_litres(aircraft, cls)
    loads = load_members_l(cls) if aircraft.load_l is None else litres
    return Circuit(
        aircraft=aircraft.call_sign,
        class_id=cls.id,
        source=source.id,
        source_kind=source.kind,
        distance_m=legs[0].distance_m,
        cycle_min=band(cycle_s / 60.0, cycles / 60.0),
        loads_per_hour=band(3600.0 / cycle_s, 3600.0 / cycles),
        litres_per_hour=band(litres * 3600.0 / cycle_s, loads * 3600.0 / cycles),
        litres_per_load=litres,
        legs=legs,
        ground_s=ground_s,
        source_s=source_s,
        target_s=target_s,
        look=any(f.level == "unknown" and f.holds_back for f in findings),
        blocked=any(f.level == "unknown" and f.effect == "blocks" for f in findings),
        band_from=band_from(aircraft, cls, hour, up_out + up_back),
        findings=(
            *findings,
            *_unknowns(source, aircraft, cls, hour, ground_known=known_out and known_back),
        ),
    )


def best_sources(
    aircraft: Aircraft,
    cls: AircraftClass,
    sources: Iterable[Source],
    target: tuple[float, float],
    *,
    hour: Hour | None,
    ground: Ground,
    limits: Limits,
) -> BestSources:
    """The sources of one aircraft by litres an hour of the whole circuit.

    A source that a stop stands on is out; one that only waits for a look is in and marked; one that
    is blocked comes after all others. Equal ones go by id.
    """
    ranked: list[tuple[Circuit, str]] = []
    refused: list[tuple[str, str]] = []
    for source in sources:
        why, _ = fit(source, aircraft, cls)
        if why is not None:
            refused.append((source.id, why))
            continue
        try:
            found = circuit(aircraft, cls, source, target, hour, ground, limits)
        except OutsideRangeError as error:
            refused.append((source.id, f"not flyable in this wind: {error.message}"))
            continue
        ranked.append((found, source.name))
    ranked.sort(key=lambda pair: (pair[0].blocked, -pair[0].litres_per_hour.middle, pair[0].source))
    if not ranked:
        return BestSources(primary=None, alternate=None, refused=tuple(refused))
    primary, water = ranked[0]
    others = [pair for pair in ranked[1:] if pair[1] != water] + ranked[1:]
    return BestSources(primary=primary, alternate=others[0][0] if others else None, refused=tuple(refused))
