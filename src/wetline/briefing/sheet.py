"""The words of one crew's sheet, box by box, in the order of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from wetline.briefing.draw_circuit import draw_circuit
from wetline.briefing.draw_run import draw_run
from wetline.briefing.draw_source import draw_base, draw_dip, draw_lane
from wetline.briefing.format import NOT_KNOWN, Style, number, rounded, step_for
from wetline.briefing.pack import BaseView, DipView, LaneView

if TYPE_CHECKING:
    from wetline.briefing.pack import BriefPack, CrewSheet, Look, RunView, Times, Wind
    from wetline.model import Band, Finding

    Row = list[str]
    Content = dict[str, object]

__all__ = ["findings_in_order", "sheet_content", "style_of", "wind_words"]

_LAST_FILL = {"scoop": "Last scoop", "dip": "Last dip", "base": "Last reload", "none": "Last load"}
_SAYS_LIMIT = ("limit", "allowed", "the class climbs")
_NO_BAND = " (band not known)"
_RELEASED = {"stop": "stop, do not take; ", "unknown": "not released; ", "caution": "", "clear": ""}


def style_of(pack: BriefPack) -> Style:
    """How this pack writes numbers."""
    return Style(
        units=pack.units,
        zone=pack.zone,
        made=pack.made,
        projection=pack.projection,
        variation_deg=pack.variation_deg,
    )


def sheet_content(sheet: CrewSheet, pack: BriefPack) -> Content:
    """Everything that the page template prints for one crew, as plain data."""
    style = style_of(pack)
    circuit = sheet.circuit
    cycle = "none" if sheet.fills == "none" else NOT_KNOWN
    if circuit is not None:
        cycle = f"{style.minutes(circuit.cycle_min)}, {style.loads_per_hour(circuit.loads_per_hour)}"
    return {
        "number": sheet.number,
        "call_signs": list(sheet.call_signs) or ["call sign not known"],
        "task": _task(sheet, style),
        "incident": pack.incident,
        "made": f"sheet {sheet.number}, {style.moment(pack.made)}",
        "replaces": None if sheet.replaces is None else f"Replaces sheet {sheet.replaces}",
        "weather": wind_words(pack.wind, pack, style),
        "exercise": pack.exercise,
        "times": _times(sheet, style),
        "source": _source(sheet, style),
        "run": _run(sheet, style),
        "circuit": {
            "title": "Circuit",
            "aside": cycle,
            "drawing": None if circuit is None else draw_circuit(circuit, style).as_json(),
        },
        "separation": [list(row) for row in sheet.separation] or [["Others", NOT_KNOWN]],
        "findings": _findings((*sheet.findings, *pack.findings), sheet.other_checks),
        "checked": style.clock(pack.made),
        "points": _points(sheet, style),
        "radio": [[name, value or ""] for name, value in sheet.radio],
        "changed": _changed(sheet),
        "confirm": _confirm(sheet),
        "caution": pack.cautions[0],
    }


def _task(sheet: CrewSheet, style: Style) -> str:
    load = "no load" if sheet.fills == "none" else f"{style.volume(sheet.load_l)} {sheet.agent}"
    if sheet.load_l is None and sheet.fills != "none":
        load = f"load not known, {sheet.agent}"
    return f"{sheet.class_name}, {load}. {sheet.task}"


def wind_words(wind: Wind | None, pack: BriefPack, style: Style) -> str:
    """`Wind 274° M (260° T), 12 kt, gust 18 at 13:40; variation 14° W`."""
    variation = style.variation(pack.variation_date)
    if wind is None:
        return f"Wind not known; {variation}"
    gust = "gust not known" if wind.gust_mps is None else f"gust {style.knots(wind.gust_mps)}"
    bearing = style.bearing(wind.from_true_deg)
    # The variation is said once, so that the wind need not repeat that it is missing.
    bearing = bearing.removesuffix(", variation not given")
    return f"Wind {bearing}, {style.knots(wind.speed_mps)}, {gust} at {style.clock(wind.time)}; {variation}"


def _times(sheet: CrewSheet, style: Style) -> list[dict[str, object]]:
    times: Times = sheet.times
    fuel = [_departures(each, style) for each in times.leave_for_fuel] or [NOT_KNOWN]
    heads = " / ".join(str(i + 1) for i in range(len(fuel)))
    none = sheet.fills == "none"  # what carries no load has no drops to be known or not
    cells: list[tuple[str, list[str]]] = [
        ("First drop", ["none" if none else style.clock(times.first_drop)]),
        (f"Leave for fuel, {heads}" if len(fuel) > 1 else "Leave for fuel", fuel),
        (_LAST_FILL[sheet.fills], ["none" if none else style.clock(times.last_fill)]),
        ("Last drop", ["none" if none else style.clock(times.last_drop)]),
        ("Land by", [style.clock(times.land_by)]),
        ("Crew hours", [style.clock(times.crew_hours)]),
        ("Cut-off", [style.clock(times.cut_off)]),
    ]
    return [{"label": label, "values": values} for label, values in cells]


def _departures(times: tuple[object, ...] | None, style: Style) -> str:
    if times is None:
        return NOT_KNOWN
    return ", ".join(style.clock(t) for t in times) if times else "no stop"  # type: ignore[arg-type]


def _source(sheet: CrewSheet, style: Style) -> Content:
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


def _run(sheet: CrewSheet, style: Style) -> Content:
    run = sheet.run
    if run is None:
        why = sheet.no_run or NOT_KNOWN
        return {"title": "Drop run", "aside": "", "drawing": None, "rows": [["Run", why]]}
    drawing, lost = draw_run(run, style)
    rows = _run_rows(run, style)
    if lost:
        rows.append(["Also near", "; ".join(lost)])
    return {
        "title": f"Drop run {run.id}",
        "aside": _RELEASED[run.level] + "as flown, left to right",
        "drawing": drawing.as_json(),
        "rows": rows,
    }


def _run_rows(run: RunView, style: Style) -> list[Row]:
    least = (
        "least height not known"
        if run.height_min_m is None
        else f"never below {style.height(run.height_min_m, 'up')}"
    )
    release = (
        f"{style.height(run.release_amsl_m, 'up')} AMSL"
        if run.release_amsl_m is not None
        else "AMSL not known"
    )
    ground = "ground not known" if run.ground_m is None else f"ground {style.height(run.ground_m)}"
    trees = "trees not known" if run.canopy_m is None else f"trees {style.height(run.canopy_m, 'up')}"
    return [
        ["Heading", f"{style.bearing(run.heading_true_deg)}, {_speed(run.speed_mps, style)}"],
        ["Exit", _exit(run, style)],
        ["Height", f"{style.height(run.height_above_canopy_m, 'up')} above canopy, {least}"],
        ["At release", f"{release}; {ground}, {trees}"],
        ["Line", _line(run, style)],
        ["Drift", _drift(run)],
        ["Release", _release(run)],
    ]


def _line(run: RunView, style: Style) -> str:
    basis = "" if run.line_basis is None else f" ({run.line_basis})"
    return f"{style.length_band(run.line_m)} at {style.coverage(run.coverage_l_per_m2)}{basis}"


def _speed(speed: Band | None, style: Style) -> str:
    return "speed not known" if speed is None else style.knots_band(speed)


def _exit(run: RunView, style: Style) -> str:
    if run.exit_true_deg is None:
        return NOT_KNOWN
    turn = (run.exit_true_deg - run.heading_true_deg + 180.0) % 360.0 - 180.0
    way = "straight ahead" if abs(turn) < 5 else f"{'right' if turn > 0 else 'left'} to"
    return f"{way} {style.bearing(run.exit_true_deg)}"


def _drift(run: RunView) -> str:
    if run.drift_right_m is None or run.drift_along_m is None:
        return NOT_KNOWN
    side = _signed(run.drift_right_m, "right", "left")
    along = _signed(run.drift_along_m, "long", "short")
    if side.endswith(_NO_BAND) and along.endswith(_NO_BAND):
        return f"{side.removesuffix(_NO_BAND)}, {along.removesuffix(_NO_BAND)} of calm (no band)"
    return f"{side}, {along} of calm"


def _signed(band: Band, plus: str, minus: str) -> str:
    """`4 m (0–11) left`; a band across zero says both ways: `2 m left (5 left to 3 right)`."""
    middle = f"{number(abs(band.middle))} m"
    word = plus if band.middle > 0 else minus
    if band.low is None or band.high is None:
        return f"{middle} {word}{_NO_BAND}"
    low, high = sorted((band.low, band.high))
    if low < -0.5 and high > 0.5:
        return f"{middle} {word} ({number(-low)} {minus} to {number(high)} {plus})"
    near, far = sorted((abs(low), abs(high)))
    return f"{middle} ({number(near)}–{number(far)}) {word}"


def _release(run: RunView) -> str:
    later = run.release_later_m
    if later is None:
        return "not corrected for drift"
    if abs(later) < 0.5:
        return "as in calm; in the point below"
    words = f"{number(abs(later))} m {'later' if later > 0 else 'earlier'}"
    right = run.release_right_m
    if right is None or abs(right) < 0.5:
        return f"{words} than calm; in the point below"
    return f"{words}, {number(abs(right))} m {'right' if right > 0 else 'left'} of calm; in the point"


def findings_in_order(findings: tuple[Finding, ...]) -> list[tuple[str, str, str]]:
    """(sign, word, text): the look task first, then stop, blocks, looks, caution, noted.

    Looks at the same thing as the first one are one task; what a folder lacks is no crew's first task.
    `unknown` without an effect blocks: what is not known is never let through.
    """
    looks = [f for f in findings if f.level == "unknown" and f.effect == "look"]
    tasks = [f for f in looks if f.code != "data_missing"]
    first = [f for f in tasks if f.refers_to == tasks[0].refers_to] if tasks else []
    blocks = [f for f in findings if f.level == "unknown" and f.effect not in {"look", "noted"}]
    rows = []
    if first:
        rows.append(("unknown", "Needs a look, first task.", " ".join(_sentences(first))))
    rows += [("stop", "Stop.", s) for s in _sentences([f for f in findings if f.level == "stop"])]
    rows += [("block", "Blocks.", s) for s in _sentences(blocks)]
    rows += [("unknown", "Needs a look.", s) for s in _sentences([f for f in looks if f not in first])]
    rows += [("caution", "Caution.", s) for s in _sentences([f for f in findings if f.level == "caution"])]
    noted = [f for f in findings if f.level == "unknown" and f.effect == "noted"]
    rows += [("noted", "Noted.", s) for s in _sentences(noted)]
    return rows


def _sentences(findings: list[Finding]) -> list[str]:
    """Messages as sentences, with the limit where the message does not say it; each said once."""
    said: dict[str, None] = {}
    for finding in findings:
        words = finding.message.strip()
        words = words[:1].upper() + words[1:]
        words = words if words.endswith((".", "!", "?")) else f"{words}."
        if finding.limit and not any(said_so in words.lower() for said_so in _SAYS_LIMIT):
            words = f"{words} Limit {finding.limit}."
        said.setdefault(words)
    return list(said)


def _findings(findings: tuple[Finding, ...], other_checks: int) -> list[Row]:
    rows = [list(row) for row in findings_in_order(findings)]
    passed = other_checks + sum(1 for f in findings if f.level == "clear")
    other = "other " if rows else ""
    if passed:
        rows.append(["none", "None found.", f"{passed} {other}check{'' if passed == 1 else 's'}."])
    elif not rows:
        rows.append(["block", "Blocks.", "Nothing was checked."])
    return rows


def _points(sheet: CrewSheet, style: Style) -> list[Row]:
    rows = []
    for point in sheet.points:
        degrees, grid = style.position(point.xy)
        rows.append([point.name, degrees, grid, style.height(point.ground_m)])
    return rows or [["Not known", NOT_KNOWN, NOT_KNOWN, NOT_KNOWN]]


def _changed(sheet: CrewSheet) -> Row:
    if sheet.replaces is None and not sheet.changed:
        return ["First sheet for this crew.", ""]
    since = "Changed." if sheet.replaces is None else f"Changed since sheet {sheet.replaces}."
    return [since, " ".join(sheet.changed) or "Nothing but the time."]


def _confirm(sheet: CrewSheet) -> list[str]:
    runs = sheet.confirm or ((sheet.run.id,) if sheet.run else ())
    return [f"{run} clear of people." for run in runs]
