"""From a release as asked for to one with every number settled, its origin noted, and what is wrong refused."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.aircraft import aircraft_classes
from wetline.drops.fall import wind_at_height_mps
from wetline.drops.liquid import liquid
from wetline.drops.planning import setting
from wetline.drops.release import Input, Resolved
from wetline.drops.systems import (
    CHOICES,
    drop_classes,
    flow_and_band,
    systems_of,
)
from wetline.drops.tank import of_class, refused, tank_inputs
from wetline.errors import InputError, NotFlownError, OutsideRangeError, Problem
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.drops.flow import Flow
    from wetline.drops.release import Release, System

__all__ = ["LEAST_GROUND_SPEED_MPS", "resolve"]

_RANGES = {
    "load_l": (50.0, 100_000.0, "L"),
    "let_go_l": (50.0, 100_000.0, "L"),
    "height_m": (3.0, 400.0, "m"),
    "speed_mps": (5.0, 100.0, "m/s"),
    "wind_mps": (0.0, 40.0, "m/s"),
    "heading_deg": (-360.0, 360.0, "deg"),
    "wind_from_deg": (-360.0, 360.0, "deg"),
    "canopy_m": (0.0, 120.0, "m"),
    "leaf_area": (0.0, 12.0, ""),
    "duration_s": (0.3, 60.0, "s"),
    "interval_s": (0.05, 10.0, "s"),
    "opening": (0.1, 1.0, "share"),
    "temperature_c": (-20.0, 55.0, "°C"),
    "humidity_pct": (1.0, 100.0, "%"),
}
LEAST_GROUND_SPEED_MPS = 3.0
"""Slower over the ground no run is flown; common practice, no source."""
_FLOW_L_PER_S = (5.0, 20_000.0)
"""From memory: the film behind the safe-height formula ends near 7,600 L/s (2,000 gal/s)."""


def _check_numbers(release: Release) -> None:
    for name, (low, high, unit) in _RANGES.items():
        value = getattr(release, name)
        if value is not None and not low <= value <= high:
            raise OutsideRangeError(field=name, value=value, low=low, high=high, unit=unit)
    if release.wind_mps and (release.wind_from_deg is None or release.heading_deg is None):
        message = "a wind says nothing without the direction it comes from and the heading of the run."
        raise refused(
            field="wind_mps", message=message, mend="Give wind_from_deg and heading_deg with wind_mps."
        )
    if release.wind_mps is None and release.wind_from_deg is not None:
        message = "a direction of wind says nothing without its speed."
        raise refused(
            field="wind_from_deg", message=message, mend="Give wind_mps with wind_from_deg; 0 for calm."
        )
    if release.canopy_m == 0.0 and release.leaf_area:
        message = f"trees of 0 m have no leaf area of {release.leaf_area:g}."
        raise refused(
            field="leaf_area", message=message, mend="Give the height of the trees, or leave leaf_area out."
        )


def _class_and_system(release: Release) -> tuple[AircraftClass, System]:
    """The class as it flies, with its bucket or its tank, and the system that it drops by."""
    classes = aircraft_classes()
    if release.class_id not in classes or release.class_id not in drop_classes():
        mend = f"Give one of {', '.join(drop_classes())}."
        raise refused(
            field="class",
            message=f"{release.class_id!r} is no class that drops.",
            mend=mend,
            value=release.class_id,
        )
    cls = release.cls or classes[release.class_id]
    systems = systems_of(release.class_id, cls)
    if release.system is None:
        return cls, systems[0]
    if release.system not in systems:
        message = f"a {cls.name.lower()} has no {release.system}."
        raise refused(
            field="system", message=message, mend=f"Give one of {', '.join(systems)}.", value=release.system
        )
    way = {"bucket": "bucket", "belly_tank": "snorkel"}.get(release.system)
    return (cls.filling_by(way) if way is not None and cls.ways else cls), release.system


def _check_choices(release: Release, cls: AircraftClass, system: System) -> None:
    """Refuse what the system does not take: it would count for nothing."""
    asked = [n for n in ("doors", "interval_s", "opening", "setting") if getattr(release, n) is not None]
    for name in asked:
        if name not in CHOICES[system]:
            others = [s for s in systems_of(release.class_id, cls) if name in CHOICES[s]]
            mend = f"Leave it out, or give system {' or '.join(others)}." if others else "Leave it out."
            raise refused(
                field=name,
                message=f"the system {system} takes no {name}.",
                mend=mend,
                value=getattr(release, name),
            )
    if release.duration_s is not None and set(asked) - {"doors"}:
        both = f"duration_s and {' and '.join(a for a in asked if a != 'doors')}"
        raise refused(
            field="duration_s", message=f"{both} both say how fast it flows.", mend="Give one of them."
        )


def _wind(release: Release, speed_mps: float, height_m: float) -> tuple[float, float, float]:
    """10 m wind along and right of the heading, and the speed over the ground at the tank [m/s]."""
    wind = release.wind_mps or 0.0
    angle = math.radians((release.wind_from_deg or 0.0) + 180.0 - (release.heading_deg or 0.0))
    along, right = wind * math.cos(angle), wind * math.sin(angle)
    at_tank = wind_at_height_mps(1.0, height_m)
    cross = right * at_tank
    if abs(cross) >= speed_mps:
        message = f"a crosswind of {abs(cross):.1f} m/s at the tank is more than an airspeed of {speed_mps:.1f} m/s holds."
        raise _not_flown(message, value=abs(cross), limit=f"under {speed_mps:.1f} m/s across the run")
    over_ground = math.sqrt(speed_mps**2 - cross**2) + along * at_tank
    if over_ground < LEAST_GROUND_SPEED_MPS:
        message = f"against this wind the run makes {over_ground:.1f} m/s over the ground."
        limit = f"at least {LEAST_GROUND_SPEED_MPS:g} m/s over the ground"
        raise _not_flown(message, value=over_ground, limit=limit)
    return along, right, over_ground


def _not_flown(message: str, *, value: float, limit: str) -> InputError:
    mend = "Fly faster, or on another heading."
    return NotFlownError.of(
        [Problem(message=message, mend=mend, field="speed_mps", value=f"{value:.1f} m/s", limit=limit)]
    )


def _default(given: float | None, name: str) -> Input:
    if given is not None:
        return Input(given, setting(name).unit, "given", "given")
    return Input(setting(name).value, setting(name).unit, "default", setting(name).source)


def _told(value: float | None, unit: str, otherwise: str) -> Input:
    if value is None:
        return Input(None, unit, "default", otherwise)
    return Input(value, unit, "given", "given")


def _chosen(release: Release, cls: AircraftClass, system: System) -> dict[str, Input]:
    """What is dropped, by what, and how."""
    asked = release.system is not None
    by_way = f"the first that the {cls.name.lower()} has" if cls.way is None else f"with its {cls.way}"
    return {
        "class": Input(release.class_id, "", "given", "given"),
        "agent": Input(release.agent, "", "given", "given or the default, water"),
        "system": Input(system, "", "given" if asked else "class", "given" if asked else by_way),
    }


def _surroundings(release: Release) -> dict[str, Input]:
    """What may be left unsaid of heading, wind and trees."""
    return {
        "heading_deg": _told(release.heading_deg, "deg", "along the run"),
        "wind_mps": _told(release.wind_mps, "m/s", "calm is assumed: the wind is not given"),
        "wind_from_deg": _told(release.wind_from_deg, "deg", "no wind given"),
        "canopy_m": _told(release.canopy_m, "m", "no canopy given: none is counted"),
        "leaf_area": _told(release.leaf_area, "LAI", "not given: the canopy holds nothing back here"),
    }


def _flow(
    release: Release, system: System, tank: Mapping[str, Input], numbers: Mapping[str, float]
) -> tuple[Flow, Input]:
    """The flow, and how long it lasts with the range that is varied over."""
    flow, low_s, high_s = flow_and_band(system, tank, numbers)
    low, high = _FLOW_L_PER_S
    if not low <= flow.peak_l_per_s <= high:
        raise OutsideRangeError(field="flow", value=flow.peak_l_per_s, low=low, high=high, unit="L/s")
    if release.duration_s is not None:
        return flow, Input(release.duration_s, "s", "given", "given", low_s, high_s)
    source = f"how long the flow of the {system} lasts, its middle 80 % over 0.8"
    return flow, Input(flow.lasting_s, "s", "computed", source, low_s, high_s)


def resolve(release: Release) -> Resolved:
    """A release with every number settled and its origin noted.

    Raises
    ------
    InputError
        For an unknown class, agent or system, a choice that the system or panel does not have, more doors
        than there are, more load than the tank holds or than is on board, or a wind without direction.
    OutsideRangeError
        For a number outside the range in which the drop makes sense, or a flow that no tank has.
    NotFlownError
        If the wind carries the aircraft sideways or backwards.
    """
    cls, system = _class_and_system(release)
    substance = liquid(release.agent)
    _check_numbers(release)
    _check_choices(release, cls, system)
    load = of_class(release.load_l, cls, "tank_volume_l", 1.0, "L")
    height = of_class(release.height_m, cls, "drop_height_ft", FOOT, "m")
    speed = of_class(release.speed_mps, cls, "drop_speed_kt", KNOT, "m/s")
    along, right, over_ground = _wind(release, speed.number, height.number)
    tank = tank_inputs(release, cls, system, load.number)
    numbers = {name: used.number for name, used in tank.items()}
    numbers["on_board_l"] = load.number
    if system == "constant":
        numbers["ground_speed_mps"] = over_ground
    flow, duration = _flow(release, system, tank, numbers)
    temperature = _default(release.temperature_c, "temperature_c")
    humidity = _default(release.humidity_pct, "humidity_pct")
    inputs = {
        **_chosen(release, cls, system),
        "load_l": load,
        **tank,
        "height_m": height,
        "speed_mps": speed,
        "ground_speed_mps": Input(over_ground, "m/s", "computed", "speed, and the wind at tank height"),
        "duration_s": duration,
        "temperature_c": temperature,
        "humidity_pct": humidity,
        **_surroundings(release),
    }
    return Resolved(
        class_id=release.class_id,
        cls=cls,
        system=system,
        agent=release.agent,
        liquid=substance,
        load_l=tank["let_go_l"].number,
        on_board_l=load.number,
        height_m=height.number,
        speed_mps=speed.number,
        ground_speed_mps=over_ground,
        wind_known=release.wind_mps is not None,
        wind_along_mps=along,
        wind_right_mps=right,
        temperature_c=temperature.number,
        humidity_pct=humidity.number,
        canopy_m=release.canopy_m,
        leaf_area=release.leaf_area,
        duration_s=duration.number,
        duration_low_s=duration.number if duration.low is None else duration.low,
        duration_high_s=duration.number if duration.high is None else duration.high,
        flow=flow,
        inputs=inputs,
    )
