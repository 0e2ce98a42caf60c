"""Dip sites of an incident for one class: places known for dipping, and the best place of each water."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from wetline.aircraft import Aircraft, load_rule
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import worst
from wetline.water import checks, dip_checks
from wetline.water.circumstances import Circumstances
from wetline.water.dip_spots import Spot, known_spots, nearest_clear, other_spots
from wetline.water.dip_way import best_way, climb_of, look_round
from wetline.water.found import DipSite
from wetline.water.reach import check_outline, refer, tier, waters_within
from wetline.water.wires import check_wires_at

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from wetline.aircraft import AircraftClass
    from wetline.ground import DipPlace, Ground, Water
    from wetline.model import Finding, Limits
    from wetline.water.found import DipWay
    from wetline.water.reach import Area
    from wetline.weather import Hour

__all__ = ["dip_sites", "room_needed_m"]

DIP_LEAST_M2 = 1000.0
"""Smaller water is no dip site, unless somebody names it as one: common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Case:
    """What is the same for every site of one search."""

    cls: AircraftClass
    circumstances: Circumstances
    room_m: float


def room_needed_m(cls: AircraftClass, limits: Limits) -> float:
    """Room [m] all round the hover: one and a half rotor diameters (from memory), never below the limit.

    Raises
    ------
    OutsideRangeError
        If the limit is not positive.
    """
    least_m = limits.value("dip_room_m")
    if not least_m > 0.0:
        raise OutsideRangeError(field="dip_room_m", value=least_m, low=0.0, high=1.0e5, unit="m")
    rotor = cls.get("rotor_diameter_m")
    return least_m if rotor is None else max(least_m, 1.5 * rotor.si())


def dip_sites(
    ground: Ground,
    aircraft_class: AircraftClass,
    hour: Hour | None,
    limits: Limits,
    *,
    near: tuple[float, float],
    within_m: float,
    looked: Mapping[str, datetime] | None = None,
    at: datetime | None = None,
    name_prefix: str = "D",
) -> list[DipSite]:
    """Dip sites within `within_m` of `near` (x, y) [m] for a class, best first.

    Every place known for dipping is one. Each water of 1,000 m² or more gives one more: the place
    nearest to `near` with room all round, or another round the same shore where that one is bad. `looked`,
    `at` as in `lanes_for`; a later look that a layer tells of counts too.

    Raises
    ------
    InputError
        If the class does not dip.
    OutsideRangeError
        If the room asked for is not positive.
    """
    if aircraft_class.fills != "dip":
        problem = Problem(
            message=f"No dip site can be looked for: {aircraft_class.name} does not dip.",
            mend="Ask for a class that dips.",
            field="fills",
            value=aircraft_class.fills,
        )
        raise InputError.of([problem])
    room_m = room_needed_m(aircraft_class, limits)
    circumstances = Circumstances(ground=ground, limits=limits, hour=hour, looked=looked or {}, at=at)
    case = _Case(aircraft_class, circumstances, room_m)
    sites = [_judged(spot, case) for spot in known_spots(ground, near, within_m)]
    for water, area, note in waters_within(ground, near, within_m):
        site = _in_water(water, area, note, near, within_m, case) if area.area >= DIP_LEAST_M2 else None
        if site is not None:
            sites.append(site)
    sites.sort(key=lambda s: (*tier(s.findings), math.dist(s.position, near), s.water, s.place or ""))
    return [
        replace(site, id=f"{name_prefix}{i}", findings=refer(site.findings, f"{name_prefix}{i}"))
        for i, site in enumerate(sites, 1)
    ]


def _in_water(
    water: Water, area: Area, note: str | None, near: tuple[float, float], within_m: float, case: _Case
) -> DipSite | None:
    """The site of one water: the nearest with room; where that one is bad, the best of several."""
    first = nearest_clear(area, near, case.room_m)
    if first is None or math.dist(first, near) > within_m:
        return None

    def judged(position: tuple[float, float]) -> DipSite:
        clear_m = float(shapely.distance(area.boundary, shapely.Point(position)))
        return _judged(Spot(position=position, water=water, area=area, clear_m=clear_m, note=note), case)

    tried = [judged(first)]
    if not _elsewhere_better(tried[0]):
        return tried[0]
    for position in other_spots(area, first, case.room_m):
        if math.dist(position, near) <= within_m:
            tried.append(judged(position))
            if not _elsewhere_better(tried[-1]):
                break
    return min(tried, key=lambda s: (*tier(s.findings), math.dist(s.position, near)))


def _elsewhere_better(site: DipSite) -> bool:
    """Whether something stands against the place that may not stand against another in the same water."""
    against = [f for f in site.findings if f.level in {"stop", "caution"} or f.effect == "blocks"]
    of_place = [f for f in against if f.code in {"terrain_exit", "wire"}]
    return bool(of_place) and all(f in of_place for f in against if f.level == "stop")


def _judged(spot: Spot, case: _Case) -> DipSite:
    cls, circumstances = case.cls, case.circumstances
    if spot.place is not None:
        spot, circumstances = _looked_at(spot, spot.place, circumstances)
    water = spot.water
    limits, hour = circumstances.limits, circumstances.hour
    surface_m = _surface_m(spot, circumstances.ground)
    air_m = circumstances.density_altitude(surface_m)[0]
    climb = climb_of(cls, air_m if air_m is not None else surface_m or 0.0)
    found, way = None, None
    if surface_m is not None:
        found = look_round(
            spot.position, surface_m, spot.area, circumstances.ground, limits, room_m=case.room_m, climb=climb
        )
        way = best_way(found, hour, limits, climb=climb)
    load, full = (load_rule(cls, _plain(cls), air) for air in (air_m, None))
    findings = (
        *_of_water(spot, cls, circumstances),
        *dip_checks.check_room(spot.clear_m, case.room_m, spot.position),
        *dip_checks.check_dip_way(way, found, limits, air_known=air_m is not None),
        *dip_checks.check_dip_wind(way, hour, cls),
        *checks.check_air(surface_m, circumstances),
        *dip_checks.check_load(load, full, air_m, cls),
        *(dip_checks.check_tank(spot.place, load, cls) if spot.place is not None else ()),
        *check_wires_at(spot.position, water, circumstances),
        *checks.check_areas(shapely.Point(spot.position), circumstances),
        *check_outline(spot.note),
        *spot.findings,
    )
    place, depth = spot.place, cls.get("depth_needed_m")
    head_mps, cross_mps = _wind(way, hour)
    return DipSite(
        id="",
        water=water.name,
        position=spot.position,
        level=worst(findings),
        findings=findings,
        clear_m=spot.clear_m,
        class_id=cls.id,
        fill=cls.way,
        place=None if place is None else place.name,
        kind="water" if place is None else place.kind,
        depth_m=water.depth_m,
        depth_date=water.depth_date,
        depth_needed_m=None if depth is None else depth.value,
        surface_m=surface_m,
        density_altitude_m=air_m,
        way=way,
        headwind_mps=head_mps,
        crosswind_mps=cross_mps,
        load=load,
        load_cap_l=None if place is None else place.volume_l,
        volume_l=None if place is None else place.volume_l,
        refill_l_per_min=None if place is None else place.refill_l_per_min,
        looked_at=circumstances.last_look(water),
    )


def _of_water(spot: Spot, cls: AircraftClass, circumstances: Circumstances) -> tuple[Finding, ...]:
    """What any fill asks of the water itself."""
    water, depth, place = spot.water, cls.get("depth_needed_m"), spot.place
    looked = circumstances.look_at(water)
    return (
        *checks.check_closed(water, spot.position),
        *dip_checks.check_sea(water, spot.position),
        *dip_checks.check_current(water, spot.position),
        checks.check_depth(
            water,
            None if depth is None else depth.value,
            "the class's table" if depth is None else depth.source,
            circumstances,
            spot.position,
        ),
        dip_checks.check_tank_look(place, f"{looked:%H:%MZ}" if looked else None, circumstances.limits)
        if place is not None and place.kind == "tank"
        else checks.check_waves(water, circumstances, spot.position),
    )


def _looked_at(spot: Spot, place: DipPlace, circumstances: Circumstances) -> tuple[Spot, Circumstances]:
    """A known place with the look at it or at the water that it lies in, whichever says most.

    A log names what was looked at. A look at some other water that is called as the place does not count for it.
    """
    waters = {water.name for water in circumstances.ground.water}
    looks = [place.looked_at, spot.water.looked_at]
    if spot.area is not None:
        looks.append(circumstances.logged(spot.water.name))
    if place.name not in waters:
        looks.append(circumstances.looked.get(place.name))
    seen = circumstances.newest(look for look in looks if look is not None)
    return replace(spot, water=replace(spot.water, looked_at=seen)), replace(circumstances, looked={})


def _surface_m(spot: Spot, ground: Ground) -> float | None:
    if spot.water.surface_m is not None:
        return spot.water.surface_m
    terrain_m = ground.elevation_at(*spot.position)
    return terrain_m if math.isfinite(terrain_m) else None


def _plain(cls: AircraftClass) -> Aircraft:
    """An aircraft that is all its class, for loads that no call sign sets."""
    return Aircraft(call_sign=cls.name, class_id=cls.id, base="")


def _wind(way: DipWay | None, hour: Hour | None) -> tuple[float | None, float | None]:
    if way is None or way.departure_deg is None or hour is None:
        return None, None
    return checks.wind_on(way.departure_deg, hour)
