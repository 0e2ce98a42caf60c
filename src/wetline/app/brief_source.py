"""A crew's source as its sheet draws it: the lane, dip site or base in its own frame, as flown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.app.places import loads_at, look_lasts
from wetline.briefing import BaseView, DipView, Frame, LaneView, Look, Mark
from wetline.circuits import air_at_m, at_base, check_base
from wetline.grid import bearing_deg
from wetline.model import Band, worst

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from numpy.typing import NDArray

    from wetline.app.brief_basis import Basis, Crew
    from wetline.circuits import Circuit, Source
    from wetline.ground import Base
    from wetline.model import Finding
    from wetline.water import DipSite, Lane

    SourceView = LaneView | DipView | BaseView

__all__ = ["base_named", "dip_of", "lane_of", "lost_words", "no_source_words", "source_of", "source_view"]

_BESIDE_M = 1_000.0
"""How much ground is drawn before and behind a lane."""
_DIP_REACH_M = 400.0


def lane_of(basis: Basis, source: str) -> Lane | None:
    """The lane of that id."""
    return next((lane for _, lane in basis.done.waters.lanes if lane.id == source), None)


def dip_of(basis: Basis, source: str) -> DipSite | None:
    """The dip site of that id."""
    return next((dip for dip in basis.done.waters.dips if dip.id == source), None)


def base_named(basis: Basis, name: str) -> Base | None:
    """The base of that name."""
    return next((base for base in basis.ground.bases if base.name == name), None)


def source_of(basis: Basis, circuit: Circuit) -> Source | None:
    """The source that a circuit works."""
    wanted = (circuit.source, circuit.source_kind)
    return next((s for s in basis.done.waters.sources if (s.id, s.kind) == wanted), None)


def source_view(basis: Basis, crew: Crew) -> SourceView | None:
    """The view of the source that the crew works; None where it has none."""
    circuit = crew.primary
    if circuit is None:
        return None
    if circuit.source_kind == "base":
        base = base_named(basis, circuit.source)
        return None if base is None else _base_view(basis, crew, circuit, base)
    if circuit.source_kind == "dip":
        dip = dip_of(basis, circuit.source)
        return None if dip is None else _dip_view(basis, crew, dip)
    lane = lane_of(basis, circuit.source)
    return None if lane is None else _lane_view(basis, crew, lane)


def no_source_words(crew: Crew) -> str | None:
    """Why a crew that loads has no source, with the first reason that is about its own kind of source."""
    if crew.oversees or crew.primary is not None:
        return None
    stopped = [
        (source, why)
        for source, why in crew.rows[0].refused
        if "does not load at" not in why and "not checked for" not in why
    ]
    if not stopped:
        return "none in reach fits this class"
    source, why = stopped[0]
    others = f"; {len(stopped) - 1} more refused" if len(stopped) > 1 else ""
    return f"none fits: {source} {why.rstrip('.')}{others}"


def lost_words(basis: Basis, crew: Crew) -> str:
    """What to do when the source is lost: the next best one, or whom to call."""
    call = f"call {basis.supervision}" if basis.supervision else "ask the base"
    alternate = crew.rows[0].alternate
    if alternate is None:
        return f"no other {_KIND[crew.cls.fills]} fits; {call}"
    found = source_of(basis, alternate)
    name = f", {found.name}" if found is not None and found.name != alternate.source else ""
    look = "; look first" if alternate.look else ""
    return f"{alternate.source}{name}{look}; {call}"


_KIND = {"scoop": "lane", "dip": "dip site", "base": "base", "none": "source"}


def _wires(basis: Basis, findings: Iterable[Finding]) -> str | None:
    """What the checks say of wires at a source; None where nobody knows."""
    about = [f for f in findings if f.code == "wire"]
    grave = [basis.local(f.message).rstrip(".") for f in about if f.level in {"stop", "caution"}]
    if grave:
        return "; ".join(grave)
    surveyed = basis.ground.hazards.surveyed
    if surveyed is None or any(f.level == "unknown" for f in about) or not about:
        return None
    return f"none known ({basis.style.day(surveyed)}), look"


def _touch_and_lift_m(lane: Lane) -> tuple[float, float] | None:
    """Where the lane's checks had it touch and lift off: behind and before 15 m of height at each end."""
    if not lane.phases:
        return None
    return lane.phases[0].to_m, lane.phases[-1].from_m


def _marks(lane: Lane, touch_and_lift: tuple[float, float] | None) -> tuple[Mark, ...]:
    """Touch, the fill where the class's fill run is known, and off by."""
    if touch_and_lift is None:
        return ()
    touch_m, lift_m = touch_and_lift
    fill = next((part for part in lane.phases if part.name == "fill"), None)
    filling = () if fill is None else (Mark("fill", fill.from_m), Mark("full", fill.to_m))
    return (Mark("touch", touch_m), *filling, Mark("off by", lift_m))


def _lane_flight(basis: Basis, lane: Lane, touch_and_lift: tuple[float, float]) -> NDArray[np.float64] | None:
    """The path at the slopes that the lane was judged by: down at most, up what counts at full load."""
    down = basis.limits.value("approach_gradient_available")
    up = lane.climb_gradient_available
    if lane.surface_m is None or up is None:
        return None
    touch_m, lift_m = touch_and_lift
    first_m, last_m = -_BESIDE_M, lane.length_m + _BESIDE_M
    return np.array([
        (first_m, lane.surface_m + down * (touch_m - first_m)), (touch_m, lane.surface_m),
        (lift_m, lane.surface_m), (last_m, lane.surface_m + up * (last_m - lift_m)),
    ])  # fmt: skip


def _look_of(seen: datetime | None, until: datetime | None, now: datetime) -> Look | None:
    """The look at a water, where it holds now."""
    if seen is None or until is None or not seen <= now <= until:
        return None
    return Look(by="water layer", time=seen, words="boats, debris, waves", until=until)


def _way_out(lane: Lane) -> str | None:
    """What the checks found where the climb straight ahead does not do."""
    escape = lane.escape
    if escape is None or escape.kind == "straight":
        return None
    words = {
        "turn_left": f"turn left {escape.turn_deg or 0.0:.0f}°, loaded",
        "turn_right": f"turn right {escape.turn_deg or 0.0:.0f}°, loaded",
        "dump": "dump the load",
        "none": "none",
    }
    return words.get(escape.kind, "not known")


def _lane_view(basis: Basis, crew: Crew, lane: Lane) -> LaneView:
    frame = Frame(lane.start, lane.heading_deg)
    touch_and_lift = _touch_and_lift_m(lane)
    shore = basis.water_at(lane.middle)
    return LaneView(
        id=lane.id,
        water=lane.water,
        level=lane.level,
        heading_true_deg=basis.true(lane.heading_deg),
        length_m=lane.length_m,
        clear_m=lane.clear_m,
        needed_m=lane.needed_m,
        headwind_mps=lane.headwind_mps,
        crosswind_mps=lane.crosswind_mps,
        depth_m=lane.depth_m,
        depth_date=lane.depth_date,
        surface_m=lane.surface_m,
        look=_look_of(lane.looked_at, lane.look_expires, basis.done.situation.now),
        wires=_wires(basis, lane.findings),
        if_lost=lost_words(basis, crew),
        way_out=_way_out(lane),
        gradient_asked=lane.climb_gradient_needed,
        gradient_flown=lane.climb_gradient_available,
        lift_off_m=None if touch_and_lift is None else touch_and_lift[1],
        shore=None if shore is None else frame.shape(shore),
        marks=_marks(lane, touch_and_lift),
        profile=frame.profile(basis.ground, -_BESIDE_M, lane.length_m + _BESIDE_M),
        flight=None if touch_and_lift is None else _lane_flight(basis, lane, touch_and_lift),
        flight_note=f"at most {basis.style.slope(basis.limits.value('approach_gradient_available'), 'down')}",
    )


def _dip_view(basis: Basis, crew: Crew, dip: DipSite) -> DipView:
    """Drawn along the way out; the way in joins it from its own side."""
    way, situation = dip.way, basis.done.situation
    out_deg = None if way is None else way.departure_deg
    in_deg = None if way is None else way.approach_deg
    shore = basis.water_at(dip.position)
    until = None if dip.looked_at is None else dip.looked_at + look_lasts(situation.incident.limits)
    return DipView(
        id=dip.id,
        water=dip.water if dip.place is None else dip.place,
        level=dip.level,
        heading_true_deg=None if out_deg is None else basis.true(out_deg),
        approach_true_deg=None if in_deg is None else basis.true(in_deg),
        way_note=_way_note(dip),
        headwind_mps=dip.headwind_mps,
        clear_m=dip.clear_m,
        depth_m=dip.depth_m,
        depth_needed_m=dip.depth_needed_m,
        depth_date=dip.depth_date,
        surface_m=dip.surface_m,
        look=_look_of(dip.looked_at, until, situation.now),
        wires=_wires(basis, dip.findings),
        if_lost=lost_words(basis, crew),
        gradient_asked=None if way is None else way.climb_needed,
        gradient_flown=None if way is None or way.climb_available is None else way.climb_available.middle,
        descent_asked=None if way is None else way.approach_needed,
        descent_flown=None if way is None else way.approach_available,
        rise_m=None if way is None else way.rise_low_m,
        sink_m=None if way is None else way.descent_m,
        load_l=loads_at(dip, situation.incident.limits),
        tank=_tank(basis, dip),
        shore=None if shore is None or out_deg is None else Frame(dip.position, out_deg).shape(shore),
        profile=_dip_profile(basis, dip, out_deg, in_deg),
        flight=_dip_flight(dip),
    )


def _way_note(dip: DipSite) -> str | None:
    """What stands on the ways in and out beside their slopes."""
    way = dip.way
    if way is None:
        return "ways in and out not judged: height of the water not known"
    notes = []
    if dip.density_altitude_m is None:
        notes.append("climb of a standard day: the air is not known")
    if way.confined:
        notes.append("confined")
    return ", ".join(notes) or None


def _tank(basis: Basis, dip: DipSite) -> str | None:
    """What a tank or small pond holds and gets."""
    if dip.kind == "water" and dip.volume_l is None:
        return None
    if dip.volume_l is None:
        return f"{dip.kind} of unknown volume"
    held = f"{dip.kind} of {basis.style.volume(dip.volume_l)}"
    if dip.refill_l_per_min is None:
        return f"{held}, refill not known"
    return f"{held}, {basis.style.volume(dip.refill_l_per_min)}/min flow in"


def _dip_profile(
    basis: Basis, dip: DipSite, out_deg: float | None, in_deg: float | None
) -> NDArray[np.float64] | None:
    """Ground below the way in, up to the hover, and below the way out behind it."""
    parts = []
    if in_deg is not None:
        parts.append(Frame(dip.position, in_deg).profile(basis.ground, -_DIP_REACH_M, 0.0))
    if out_deg is not None:
        parts.append(Frame(dip.position, out_deg).profile(basis.ground, 0.0, _DIP_REACH_M))
    known = [part for part in parts if part is not None]
    return np.vstack(known) if known else None


def _dip_flight(dip: DipSite) -> NDArray[np.float64] | None:
    """The path by which the ways were judged: straight up and down at the hover, slopes beyond."""
    way, surface_m = dip.way, dip.surface_m
    if way is None or surface_m is None:
        return None
    path = []
    if way.approach_deg is not None and way.descent_m is not None:
        top_m = surface_m + way.descent_m
        path += [(-_DIP_REACH_M, top_m + way.approach_available * _DIP_REACH_M), (0.0, top_m)]
    climb = way.climb_available
    if way.departure_deg is not None and climb is not None and way.rise_low_m is not None:
        slope = climb.middle if climb.low is None else climb.low
        top_m = surface_m + way.rise_low_m
        path += [(0.0, surface_m), (0.0, top_m), (_DIP_REACH_M, top_m + slope * _DIP_REACH_M)]
    return np.array(path) if len(path) > 1 and np.isfinite(path).all() else None


def _base_view(basis: Basis, crew: Crew, circuit: Circuit, base: Base) -> BaseView:
    here = (base.point.x, base.point.y)
    there = crew.runs[0].release_position if crew.runs else basis.done.situation.middle
    heading_deg = float(bearing_deg(there[0] - here[0], there[1] - here[1]))
    distance_m = float(np.hypot(there[0] - here[0], there[1] - here[1]))
    at = at_base(base, crew.cls, air_at_m(base.elevation_m, basis.done.situation.hour))
    general = check_base(base)
    return BaseView(
        name=base.name,
        level=worst((*general, *at.findings)),
        toward_true_deg=basis.true(heading_deg),
        distance_m=distance_m,
        flight_min=Band(circuit.legs[0].time_s / 60.0),
        reload_min=at.reload_min,
        runway_m=base.runway_m,
        runway_needed_m=at.runway_needed_m,
        stock_l=base.stock_l,
        mix_l_per_h=base.mix_l_per_h,
        fuel=base.fuel,
        elevation_m=base.elevation_m,
        pits=base.pits,
        agents=base.agents or None,
        wires=None,
        if_lost=lost_words(basis, crew),
        profile=Frame(here, heading_deg).profile(basis.ground, 0.0, distance_m, step_m=100.0),
    )
