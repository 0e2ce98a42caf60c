"""What is said of a dip site beside the checks of any water: its ways, wind, room, current, tank and load."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypedDict, Unpack

import numpy as np

from wetline.model import Finding
from wetline.units import FOOT, KNOT
from wetline.water.checks import gusts_in_calm, wind_on
from wetline.water.dip_way import BEARINGS_DEG, CALM_MPS

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass, LoadRule
    from wetline.ground import DipPlace, Water
    from wetline.model import Code, Effect, Level, Limits
    from wetline.water.dip_way import Round, Wire
    from wetline.water.found import DipWay
    from wetline.weather import Hour

__all__ = [
    "check_current",
    "check_dip_way",
    "check_dip_wind",
    "check_load",
    "check_room",
    "check_sea",
    "check_tank",
    "check_tank_look",
]

_FLAT_M = 0.05  # less climb straight up is none: within the last bits of a terrain raster
_NO_SOURCE = "common practice, no source"
_INSTRUCTION = "second-hand public copy of a national helicopter instruction"


class _More(TypedDict, total=False):
    effect: Effect
    position: tuple[float, float]
    distance_m: float
    limit: str
    value: str


def _said(code: Code, level: Level, message: str, source: str, **more: Unpack[_More]) -> Finding:
    """A finding of a site that has no id yet."""
    return Finding(code=code, level=level, message=message, source=source, refers_to="", **more)


def check_sea(water: Water, position: tuple[float, float]) -> tuple[Finding, ...]:
    """Salt water is no water for buckets, but to save lives."""
    if water.kind != "sea" and not water.salt:
        return ()
    message = "Salt water: buckets are filled at sea only to save lives."
    return (_said("waterway", "caution", message, _INSTRUCTION, position=position),)


def check_current(water: Water, position: tuple[float, float]) -> tuple[Finding, ...]:
    """A bucket in a current is pulled along under the helicopter."""
    if water.kind != "river" or water.current_mps == 0.0:
        return ()
    if water.current_mps is None:
        message = "River: its current is not known; mind the pull on the bucket."
        return (_said("waves", "unknown", message, _INSTRUCTION, effect="noted", position=position),)
    value = f"{water.current_mps:g} m/s"
    message = f"River with a current of {value}: mind the pull on the bucket."
    return (_said("waves", "caution", message, _INSTRUCTION, position=position, value=value),)


def check_room(clear_m: float | None, room_m: float, position: tuple[float, float]) -> tuple[Finding, ...]:
    """Room all round the hover, to shore and trees."""
    if clear_m is not None and clear_m >= room_m - 1e-6:
        return ()
    limit = f"{room_m:g} m"
    if clear_m is None:
        message = f"Room to trees is not known; {limit} are wanted all round. Look before the first fill."
        return (
            _said(
                "terrain_exit", "unknown", message, _NO_SOURCE, effect="look", position=position, limit=limit
            ),
        )
    message = f"{clear_m:.0f} m to the nearest shore or trees, {limit} are wanted all round."
    return (
        _said(
            "terrain_exit", "caution", message, _NO_SOURCE,
            position=position, distance_m=clear_m, limit=limit, value=f"{clear_m:.0f} m",
        ),
    )  # fmt: skip


def check_dip_way(
    way: DipWay | None, found: Round | None, limits: Limits, *, air_known: bool = True
) -> tuple[Finding, ...]:
    """The ways in and out against what the class climbs and what the limits allow.

    `air_known`: whether the climb is that of the hour's air, or of a standard day.
    """
    if way is None or found is None:
        message = "Ways in and out not judged: the height of the water is not known."
        return (_said("terrain_exit", "unknown", message, "the terrain raster", effect="blocks"),)
    out = [
        _one_way("Way out", way.departure_deg, way, found, limits),
        *(_standard_day(way) if not air_known else ()),
        _one_way("Way in", way.approach_deg, way, found, limits),
    ]
    if way.confined and way.departure_deg is not None and way.approach_deg is not None:
        message = f"Confined: {_count(way)} of {len(BEARINGS_DEG)} bearings open, no two of them 90° apart."
        out.append(_said("terrain_exit", "caution", message, _NO_SOURCE))
    if not found.trees_known:
        message = "Tree heights are not known: ways in and out count bare ground."
        out.append(_said("data_missing", "unknown", message, "the incident folder", effect="noted"))
    out += _wires_on_way(way, found, limits)
    return tuple(out)


def _standard_day(way: DipWay) -> tuple[Finding, ...]:
    """A climb of a standard day is not that of the hour: hot air may leave much less."""
    if way.climb_available is None or way.departure_deg is None:
        return ()
    message = "The climb on the way out is that of a standard day: the air of this hour is not known."
    return (_said("density_altitude", "unknown", message, "the class's table", effect="look"),)


def _count(way: DipWay) -> str:
    return "none" if not way.open_deg else f"{len(way.open_deg)}"


def _one_way(name: str, heading_deg: float | None, way: DipWay, found: Round, limits: Limits) -> Finding:
    outward = name == "Way out"
    if heading_deg is None:
        return _closed(name, way, found, limits, outward=outward)
    return _out(way, limits) if outward else _in(way, limits)


def _out(way: DipWay, limits: Limits) -> Finding:
    """The way out against the class's climb: its low end is a caution, its middle asks for a climb straight up."""
    climb, value = way.climb_available, _share(way.climb_needed)
    if climb is None:
        message = f"Way out asks for {value}; what the class climbs is not known."
        return _said("terrain_exit", "unknown", message, "the class's table", effect="look", value=value)
    text = f"Way out asks for {value}, {_share(climb.middle)} available"
    level: Level = "caution"
    if (way.rise_m or 0.0) > _FLAT_M:
        message = f"{text}: climb straight up {math.ceil(way.rise_m or 0.0)} m, {limits['dip_vertical_m'].text()} at most."
    elif (way.rise_low_m or 0.0) > _FLAT_M:
        message = f"{text}, but {_share(climb.low)} at the low end of the class."
    else:
        level, message = "clear", f"{text}."
    return _said(
        "terrain_exit",
        level,
        message,
        "the class's climb in this air",
        limit=_share(climb.middle),
        value=value,
    )


def _in(way: DipWay, limits: Limits) -> Finding:
    """The way in against the slope that the limit allows; what is left is a descent straight down."""
    limit, value, down_m = _share(way.approach_available), _share(way.approach_needed), way.descent_m or 0.0
    source = limits["dip_approach_gradient_available"].source
    text = f"Way in asks for {value}, {limit} allowed"
    if down_m <= _FLAT_M:
        return _said("terrain_exit", "clear", f"{text}.", source, limit=limit, value=value)
    message = (
        f"{text}: descend straight down {math.ceil(down_m)} m, {limits['dip_vertical_m'].text()} at most."
    )
    return _said("terrain_exit", "caution", message, source, limit=limit, value=value)


def _share(slope: float | None) -> str:
    return "an unknown share" if slope is None else f"{100.0 * slope:.1f} %"


def _closed(name: str, way: DipWay, found: Round, limits: Limits, *, outward: bool) -> Finding:
    """Why no bearing is open: the terrain is not known, or everything known is too steep or under wires."""
    if outward and way.climb_available is None:
        message = f"{name}: what the class climbs is not known."
        return _said("terrain_exit", "unknown", message, "the class's table", effect="blocks")
    rise_m = found.out_rise_m if outward else found.in_rise_m
    holes = np.isfinite(found.unknown_m)
    vertical = limits["dip_vertical_m"]
    if bool((holes & (rise_m <= vertical.value)).any()):
        message = f"{name}: no bearing is known to be open; the terrain is not known on {int(holes.sum())} of {len(holes)}."
        return _said("terrain_exit", "unknown", message, "the terrain raster", effect="blocks")
    least_m = float(rise_m.min())
    if not math.isfinite(least_m):
        message = f"{name}: at full load the class does not climb in this air."
        return _said("terrain_exit", "stop", message, "the class's climb in this air")
    if least_m > vertical.value:
        message = f"{name}: no bearing is open; the least asks for {least_m:.0f} m straight up or down, limit {vertical.text()}."
    else:
        message = f"{name}: every bearing that the ground leaves open passes within {limits['wire_stop_m'].text()} of an obstacle."
    return _said(
        "terrain_exit", "stop", message, vertical.source, limit=vertical.text(), value=f"{least_m:.0f} m"
    )


def _wires_on_way(way: DipWay, found: Round, limits: Limits) -> list[Finding]:
    """Obstacles near the ways chosen; those nearer than the stop closed their bearing already."""
    limit = limits["wire_caution_m"]
    out: dict[str, Finding] = {}
    for words, heading_deg, wires, turn_deg in (
        ("way out", way.departure_deg, found.out_wire, 0.0),
        ("way in", way.approach_deg, found.in_wire, 180.0),
    ):
        if heading_deg is None:
            continue
        wire: Wire | None = wires[round((heading_deg + turn_deg) % 360.0 / 10.0) % len(wires)]
        if wire is None or wire.hazard.name in out:
            continue
        height = "height not known" if wire.hazard.height_m is None else f"{wire.hazard.height_m:.0f} m high"
        out[wire.hazard.name] = Finding(
            code="wire",
            level="caution",
            message=f"{wire.hazard.kind.capitalize()} {wire.hazard.name}, {height}, "
            f"{wire.distance_m:.0f} m from the {words}, limit {limit.text()}.",
            source=limit.source,
            refers_to="",
            position=wire.position,
            distance_m=wire.distance_m,
            limit=limit.text(),
            value=f"{wire.distance_m:.0f} m",
        )
    return list(out.values())


def check_dip_wind(way: DipWay | None, hour: Hour | None, cls: AircraftClass) -> tuple[Finding, ...]:
    """Wind from behind on the way in or out, where no way into the wind is open."""
    if hour is None:
        message = "Wind at the site unknown: no weather for this hour. Read it on the water."
        return (_said("wind", "unknown", message, "the incident folder", effect="look"),)
    headings = [h for h in ((way.departure_deg, way.approach_deg) if way else ()) if h is not None]
    if not headings:
        return ()
    if hour.wind_mps == 0.0 and hour.gust_mps:
        return (gusts_in_calm(hour, cls),)
    gust_mps = max(hour.gust_mps or 0.0, hour.wind_mps)
    share = max(-min(wind_on(h, hour)[0] for h in headings), 0.0) / hour.wind_mps if hour.wind_mps else 0.0
    tail_kt, gust_kt = share * hour.wind_mps / KNOT, share * gust_mps / KNOT
    if gust_kt < 0.5:
        return (_said("wind", "clear", "Ways in and out have no wind from behind.", _NO_SOURCE),)
    limit = cls.get("tailwind_limit_kt")
    value = f"{tail_kt:.0f} kt"
    message = f"Tailwind {value}, {gust_kt:.0f} kt in gusts, on the best way in or out"
    if limit is None and gust_mps < CALM_MPS:
        return (_said("wind", "caution", f"{message}.", _NO_SOURCE, value=value),)
    if limit is None:
        words = f"{message}; no limit is known for a {cls.name.lower()}."
        return (_said("wind", "unknown", words, "the class's table", effect="look", value=value),)
    text = f"{limit.value:g} {limit.unit}"
    level: Level = "stop" if tail_kt > limit.value else "caution"
    return (_said("wind", level, f"{message}; limit {text}.", limit.source, limit=text, value=value),)


def check_load(
    load: LoadRule | None, full: LoadRule | None, density_altitude_m: float | None, cls: AircraftClass
) -> tuple[Finding, ...]:
    """What thin air takes from the load, and what could not be counted. `full`: the rule with no air told."""
    if load is None or full is None:
        message = f"The load of a {cls.name.lower()} is not known."
        return (_said("data_missing", "unknown", message, "the class's table", effect="noted"),)
    out = []
    if load.not_counted:
        message = f"Load not wholly counted: {'; '.join(load.not_counted)}."
        code: Code = "density_altitude" if density_altitude_m is None else "data_missing"
        out.append(_said(code, "unknown", message, "the class's table", effect="noted"))
    if density_altitude_m is None or load.most_l >= full.most_l - 0.5:
        return tuple(out)
    limit, value = f"{full.most_l:.0f} L", f"{load.most_l:.0f} L"
    altitude = f"Density altitude {density_altitude_m / FOOT:.0f} ft"
    if load.most_l <= 0.0:
        message = f"{altitude}: a {cls.name.lower()} lifts no load here."
        return (*out, _said("density_altitude", "stop", message, load.limited_by, limit=limit, value=value))
    message = f"{altitude} cuts the load from {limit} to {value}."
    return (*out, _said("density_altitude", "caution", message, load.limited_by, limit=limit, value=value))


def check_tank(place: DipPlace, load: LoadRule | None, cls: AircraftClass) -> tuple[Finding, ...]:
    """A tank or small pond against the load: whether the bucket goes in, and how many loads an hour it gives."""
    if place.kind == "water" and place.volume_l is None:
        return ()
    if place.volume_l is None:
        message = f"{place.name}: its volume is not known, it may run dry."
        return (_said("depth", "unknown", message, "the layer of dip places", effect="look"),)
    bucket = cls.get("tank_volume_l")
    smallest_l = None if bucket is None else bucket.value if bucket.low is None else bucket.low
    held = f"{place.volume_l:.0f} L"
    if smallest_l is not None and place.volume_l < smallest_l:
        message = f"{place.name} holds {held}: no bucket of the class goes in, the smallest takes {smallest_l:.0f} L."
        source = _NO_SOURCE if bucket is None else bucket.source
        return (_said("depth", "stop", message, source, limit=f"{smallest_l:.0f} L", value=held),)
    if load is None:
        return ()
    if place.volume_l < load.most_l:
        message = f"{place.name} holds {held}: part loads, a full one is {load.most_l:.0f} L."
        level: Level = "caution"
    else:
        message = f"{place.name} holds {held}, {place.volume_l / load.most_l:.1f} loads."
        level = "clear"
    out = [
        _said(
            "depth",
            level,
            message,
            "the layer of dip places",
            limit=f"{load.most_l:.0f} L",
            value=held,
        )
    ]
    out.append(_refill(place, min(load.most_l, place.volume_l)))
    return tuple(out)


def _refill(place: DipPlace, load_l: float) -> Finding:
    source = "the layer of dip places"
    if place.refill_l_per_min is None:
        message = f"{place.name}: how fast it is filled again is not known; counted as not at all."
        return _said("depth", "unknown", message, source, effect="noted")
    per_hour = place.refill_l_per_min * 60.0 / load_l
    message = f"{place.name} is filled again at {place.refill_l_per_min:g} L/min: {per_hour:.1f} loads an hour last."
    return _said("depth", "caution", message, source, value=f"{per_hour:.1f} loads/h")


def check_tank_look(place: DipPlace, looked: str | None, limits: Limits) -> Finding:
    """Whether somebody has seen the tank full and free today."""
    limit = limits["look_valid_min"]
    message = (
        f"{place.name}: looked at {looked}, holds {limit.text()}."
        if looked
        else f"{place.name}: nobody has looked today whether it is full and free."
    )
    return Finding(
        code="waves",
        level="clear" if looked else "unknown",
        effect=None if looked else "look",
        message=message,
        source=limit.source,
        refers_to="",
        limit=limit.text(),
    )
