"""Dip sites and bases, as an answer."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from wetline.app.answer import Answer, Outside, iso, number, spread
from wetline.circuits import air_at_m, at_base, check_base
from wetline.model import worst
from wetline.units import FOOT, KNOT, MINUTE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.aircraft import AircraftClass
    from wetline.app.situation import Situation
    from wetline.circuits import AtBase
    from wetline.ground import Base
    from wetline.model import Band, Finding, Limits
    from wetline.water import DipSite, DipWay

__all__ = ["bases_of", "dip_of", "loads_at", "look_lasts"]

_ORDER = {"clear": 0, "caution": 1, "unknown": 2, "stop": 3}


def dip_of(dip: DipSite, situation: Situation, outside: Outside) -> Answer:
    """A dip site, with the ways in and out and the load in this air."""
    limits = situation.incident.limits
    load, litres = dip.load, loads_at(dip, limits) or (None, None)
    return {
        "id": dip.id,
        "class": dip.class_id,
        "fill": dip.fill,
        "water": dip.water,
        "place": dip.place,
        "kind": dip.kind,
        "position": outside.position(dip.position),
        "distance_m": number(math.dist(dip.position, situation.middle), 0),
        "level": dip.level,
        "clear_m": number(dip.clear_m, 0),
        "depth_m": number(dip.depth_m, 1),
        "depth_date": None if dip.depth_date is None else dip.depth_date.isoformat(),
        "depth_needed_m": number(dip.depth_needed_m, 1),
        "deep_enough_for": _deep_enough(dip, situation.incident.classes[dip.class_id]),
        "surface_m": number(dip.surface_m, 1),
        "density_altitude_ft": number(_in(FOOT, dip.density_altitude_m), 0),
        "headwind_kt": number(_in(KNOT, dip.headwind_mps), 1),
        "crosswind_kt": number(_in(KNOT, dip.crosswind_mps), 1),
        **_way(dip.way, outside),
        "load_l_full_fuel": number(litres[0], 0),
        "load_l_at_reserve": number(litres[1], 0),
        "load_limited_by": _limited_by(dip),
        "load_not_counted": [] if load is None else list(load.not_counted),
        "volume_l": number(dip.volume_l, 0),
        "refill_l_per_min": number(dip.refill_l_per_min, 1),
        "looked_at": iso(dip.looked_at),
        "look_expires": iso(None if dip.looked_at is None else dip.looked_at + look_lasts(limits)),
        "findings": outside.findings(dip.findings),
    }


def look_lasts(limits: Limits) -> timedelta:
    """How long a look holds."""
    return timedelta(minutes=limits.value("look_valid_min"))


def loads_at(dip: DipSite, limits: Limits) -> tuple[float, float] | None:
    """Litres that a site lets take with full fuel and at the reserve; None where the class tells none."""
    if dip.load is None:
        return None
    most_l = math.inf if dip.load_cap_l is None else dip.load_cap_l
    reserve_s = limits.value("reserve_helicopter_min") * MINUTE
    return min(dip.load.full_fuel_l, most_l), min(dip.load.litres(reserve_s), most_l)


def _deep_enough(dip: DipSite, cls: AircraftClass) -> list[str] | None:
    """With what the class may dip in the known depth; null where that is not known, or it has no choice."""
    if dip.depth_m is None or not cls.ways:
        return None
    needs = {way: cls.filling_by(way).get("depth_needed_m") for way in cls.ways}
    return [way for way, need in needs.items() if need is not None and dip.depth_m >= need.value]


def _in(unit: float, value: float | None) -> float | None:
    return None if value is None else value / unit


def _limited_by(dip: DipSite) -> str | None:
    if dip.load is None:
        return None
    capped = dip.load_cap_l is not None and dip.load_cap_l < dip.load.most_l
    return "what the tank or pond holds" if capped else dip.load.limited_by


def _way(way: DipWay | None, outside: Outside) -> Answer:
    """The ways in and out; every key null where the height of the water is not known."""

    def true(heading_deg: float | None) -> float | int | None:
        return None if heading_deg is None else outside.bearing(heading_deg)

    climb = None if way is None else way.climb_available
    return {
        "approach_heading_deg": true(way.approach_deg) if way else None,
        "departure_heading_deg": true(way.departure_deg) if way else None,
        "approach_gradient_needed": number(way.approach_needed, 3) if way else None,
        "approach_gradient_available": number(way.approach_available, 3) if way else None,
        "climb_gradient_needed": number(way.climb_needed, 3) if way else None,
        "climb_gradient_available": number(climb.middle, 3) if climb else None,
        "climb_gradient_available_low": number(climb.low, 3) if climb else None,
        "climb_gradient_available_high": number(climb.high, 3) if climb else None,
        "vertical_climb_m": _up(way.rise_m) if way else None,
        "vertical_climb_m_high": _up(way.rise_low_m) if way else None,
        "vertical_descent_m": _up(way.descent_m) if way else None,
        "bearings_open": len(way.open_deg) if way else None,
        "confined": way.confined if way else None,
    }


def _base(base: Base, situation: Situation, class_ids: list[str], outside: Outside) -> Answer:
    """A base with what stands on it for everybody, and what each class finds there."""
    findings, classes = check_base(base), situation.incident.classes
    air_m = air_at_m(base.elevation_m, situation.hour)
    return {
        "name": base.name,
        "kind": base.kind,
        "position": outside.position((base.point.x, base.point.y)),
        "distance_m": number(math.dist((base.point.x, base.point.y), situation.middle), 0),
        "elevation_m": number(base.elevation_m, 0),
        "density_altitude_ft": number(_in(FOOT, air_m), 0),
        "runway_m": number(base.runway_m, 0),
        "agents": list(base.agents),
        "pits": base.pits,
        "reload_min": number(base.reload_min, 1),
        "stock_l": number(base.stock_l, 0),
        "mix_l_per_h": number(base.mix_l_per_h, 0),
        "fuel": base.fuel,
        "load_while_fuelling": base.load_while_fuelling,
        "level": worst(findings),
        "findings": outside.findings(findings),
        "classes": [
            _class_at(at_base(base, classes[c], air_m), findings, outside)
            for c in class_ids
            if _uses(base, classes[c], situation)
        ],
    }


def _uses(base: Base, cls: AircraftClass, situation: Situation) -> bool:
    """Whether a class loads there, or an aircraft of it stands there."""
    if base.kind == "tanker_base" and cls.fills == "base":
        return True
    return any(a.base == base.name and a.class_id == cls.id for a in situation.incident.fleet)


def _class_at(found: AtBase, general: Sequence[Finding], outside: Outside) -> Answer:
    return {
        "class": found.class_id,
        "level": worst((*general, *found.findings)),
        **_spread("runway_needed_m", found.runway_needed_m),
        **_spread("reload_min", found.reload_min),
        "loads_in_stock": number(found.loads_in_stock, 1),
        "findings": outside.findings(found.findings),
    }


def _up(metres: float | None) -> int | None:
    """Whole metres, never less than asked for; null where no climb straight up is enough."""
    return None if metres is None or not math.isfinite(metres) else math.ceil(metres - 0.05)


def _spread(key: str, band: Band | None) -> Answer:
    return dict.fromkeys((key, f"{key}_low", f"{key}_high")) if band is None else spread(key, band, 0)


def bases_of(situation: Situation, class_ids: list[str], outside: Outside) -> list[Answer]:
    """Bases for this fleet: usable first, then those to ask, those that a stop stands on last; the nearer first."""
    rows = [_base(b, situation, class_ids, outside) for b in situation.incident.ground.bases]

    def rank(row: Answer) -> tuple[bool, int, float]:
        levels = [c["level"] for c in row["classes"]] or [row["level"]]
        return not row["classes"], min(_ORDER[level] for level in levels), row["distance_m"]

    return sorted(rows, key=rank)
