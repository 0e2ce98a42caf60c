"""The words of a sheet's source: scoop lane, dip site or base."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from wetline.briefing.draw_source import draw_base, draw_dip, draw_lane
from wetline.briefing.format import NOT_KNOWN, Style, rounded, step_for
from wetline.briefing.pack import BaseView, DipView, LaneView

if TYPE_CHECKING:
    from wetline.briefing.pack import CrewSheet, Look

    Row = list[str]
    Content = dict[str, object]

__all__ = ["source_content"]


def source_content(sheet: CrewSheet, style: Style) -> Content:
    """Title, drawing and rows of what the crew fills from."""
    source = sheet.source
    if source is None:
        why = sheet.no_source or ("none: carries no load" if sheet.fills == "none" else NOT_KNOWN)
        return {"title": "Water", "aside": "", "drawing": None, "rows": [["Source", why]]}
    aside = "as flown, left to right"
    if isinstance(source, LaneView):
        return {
            "title": f"Scoop lane {source.id}",
            "aside": f"{source.water}; {aside}",
            "drawing": draw_lane(source, style).as_json(),
            "rows": _lane_rows(source, style),
        }
    if isinstance(source, DipView):
        return {
            "title": f"Dip site {source.id}",
            "aside": f"{source.water}; {aside}",
            "drawing": draw_dip(source, style).as_json(),
            "rows": _dip_rows(source, style),
        }
    if isinstance(source, BaseView):
        return {
            "title": f"Base {source.name}",
            "aside": aside,
            "drawing": draw_base(source, style).as_json(),
            "rows": _base_rows(source, style),
        }
    assert_never(source)


def _relative_wind(head_mps: float | None, cross_mps: float | None, style: Style) -> str:
    """`wind 11 kt ahead, 5 kt from the left`."""
    if head_mps is None:
        return "wind not known"
    words = []
    if round(abs(head_mps), 1) > 0:
        words.append(f"{style.knots(abs(head_mps))} {'ahead' if head_mps > 0 else 'behind'}")
    if cross_mps is not None and style.knots(abs(cross_mps)) != style.knots(0.0):
        words.append(f"{style.knots(abs(cross_mps))} from the {'right' if cross_mps > 0 else 'left'}")
    return f"wind {', '.join(words)}" if words else "no wind"


def _look(look: Look | None, style: Style) -> str:
    if look is None:
        return "nobody has looked; look first"
    return f"{look.by}, {style.clock(look.time)}: {look.words}; again by {style.clock(look.until)}"


def _depth(source: LaneView | DipView, style: Style) -> str:
    if source.depth_m is None:
        return "depth not known, look"
    dated = "date not known" if source.depth_date is None else f"surveyed {style.day(source.depth_date)}"
    return f"{style.depth(source.depth_m)}, {dated}"


def _climb(asked: float | None, flown: float | None, style: Style) -> str:
    need = "slope to the shore not known" if asked is None else f"needs {style.slope(asked, 'up')}"
    have = "full-load climb not known" if flown is None else f"full load climbs {style.slope(flown, 'down')}"
    return f"{need}; {have}"


def _lane_rows(lane: LaneView, style: Style) -> list[Row]:
    length = style.length(lane.length_m, "down")
    shown_m = rounded(lane.length_m, step_for(lane.length_m), "down")
    feet = "" if style.units == "us" else f" = {style.feet(shown_m, 'down')}"
    needed = (
        "needed length not known" if lane.needed_m is None else f"needs {style.length(lane.needed_m, 'up')}"
    )
    wind = _relative_wind(lane.headwind_mps, lane.crosswind_mps, style)
    way_out = "" if lane.way_out is None else f"; way out: {lane.way_out}"
    return [
        ["Heading", f"{style.bearing(lane.heading_true_deg)}, {wind}"],
        ["Usable length", f"{length}{feet}; {needed}"],
        ["Width, depth", f"{style.length(lane.clear_m, 'down')} each side; {_depth(lane, style)}"],
        ["Last look", _look(lane.look, style)],
        ["Wires", lane.wires or "not known, look"],
        ["If lost", lane.if_lost or NOT_KNOWN],
        ["Climb-out", _climb(lane.gradient_asked, lane.gradient_flown, style) + way_out],
    ]


def _dip_rows(dip: DipView, style: Style) -> list[Row]:
    """The room all round stands in the drawing."""
    needed = (
        "needed depth not known" if dip.depth_needed_m is None else f"needs {style.depth(dip.depth_needed_m)}"
    )
    return [
        ["Way out", _way_out(dip, style)],
        ["Way in", _way_in(dip, style)],
        ["Depth", f"{_depth(dip, style)}; {needed}"],
        ["Load", _load_here(dip, style)],
        ["Last look", _look(dip.look, style)],
        ["Wires", dip.wires or "not known, look"],
        ["If lost", dip.if_lost or NOT_KNOWN],
    ]


def _way_out(dip: DipView, style: Style) -> str:
    wind = _relative_wind(dip.headwind_mps, None, style)
    parts = [f"{style.bearing(dip.heading_true_deg)}, {wind}"]
    parts.append(_climb(dip.gradient_asked, dip.gradient_flown, style))
    if dip.rise_m:
        parts.append(f"first straight up {style.height(dip.rise_m, 'up')}")
    if dip.way_note is not None:
        parts.append(dip.way_note)
    return "; ".join(parts)


def _way_in(dip: DipView, style: Style) -> str:
    if dip.approach_true_deg is None:
        return NOT_KNOWN
    asks = "slope not known" if dip.descent_asked is None else f"needs {style.slope(dip.descent_asked, 'up')}"
    most = "" if dip.descent_flown is None else f", at most {style.slope(dip.descent_flown, 'down')}"
    sink = f"; last straight down {style.height(dip.sink_m, 'up')}" if dip.sink_m else ""
    return f"{style.bearing(dip.approach_true_deg)}; {asks}{most}{sink}"


def _load_here(dip: DipView, style: Style) -> str:
    tank = "" if dip.tank is None else f"; {dip.tank}"
    if dip.load_l is None:
        return f"load not known{tank}"
    full, late = (style.volume(litres) for litres in dip.load_l)
    return f"{full} full fuel{'' if full == late else f', {late} at reserve'}{tank}"


def _base_rows(base: BaseView, style: Style) -> list[Row]:
    pits = "pits not known" if base.pits is None else f"{base.pits} pit{'' if base.pits == 1 else 's'}"
    agents = "agents not known" if base.agents is None else ", ".join(base.agents) or "no agent"
    ground = f"{style.length(base.runway_m, 'down')}; {style.height(base.elevation_m)} AMSL"
    if base.runway_needed_m is not None:
        needed = base.runway_needed_m
        most = "" if needed.high is None else f", up to {style.length(needed.high, 'up')}"
        ground += f"; needs {style.length(needed.middle, 'up')}{most}"
    return [
        ["Heading", f"{style.bearing(base.toward_true_deg)} to the fire"],
        ["Runway, ground", ground],
        ["Reload", f"{style.minutes(base.reload_min)}; {pits}; {agents}"],
        ["Stock", _stock(base, style)],
        ["Last word", base.last_word or "none today; call first"],
        ["Wires", base.wires or "not known, look"],
        ["If lost", base.if_lost or NOT_KNOWN],
    ]


def _stock(base: BaseView, style: Style) -> str:
    words = {None: "fuel not known", True: "fuel here", False: "no fuel here"}[base.fuel]
    if base.stock_l is None:
        return f"stock not known; {words}"
    mixed = f", {style.volume(base.mix_l_per_h)}/h mixed" if base.mix_l_per_h else ", mixing not known"
    if base.mix_l_per_h == 0.0:
        mixed = ", none mixed"
    return f"{style.volume(base.stock_l)}{mixed}; {words}"
