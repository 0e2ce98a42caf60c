"""The table of `water`: what can be used first, then what needs a look, then why the nearest others fail."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import STANDINGS, gravest, standing
from wetline.cli.tables.folder import file_lines, problem_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.words import UNKNOWN, bearing, length, name_words, number
from wetline.cli.text import columns, paragraph, section

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["water_table"]

_LANES_SHOWN = 12
_DIPS_SHOWN = 6
_REJECTED_SHOWN = 3


def water_table(answer: dict[str, Any]) -> str:
    """Where to fill, of an incident or of a water file."""
    lanes, dips, bases = answer["lanes"], answer["dip_sites"], answer["bases"]
    lines: list[str] = []
    if answer["incident"] is None:
        lines += section("Lanes, longest first (both directions)", _file_lanes(lanes)) if lanes else []
    else:
        for class_id in dict.fromkeys(lane["class"] for lane in lanes):
            lines += _lanes_of(class_id, [lane for lane in lanes if lane["class"] == class_id])
        for kind in dict.fromkeys((dip["class"], dip["fill"]) for dip in dips):
            lines += _dips_of(*kind, [dip for dip in dips if (dip["class"], dip["fill"]) == kind])
        for none in answer["none_found"]:
            lines += section(f"No water for a {name_words(none['class'])}", _why_none(none))
        lines += section("Bases", _bases(bases))
    if "reason" in answer and not answer.get("none_found"):
        lines += section("Nothing found", _why_none(answer))
    if answer.get("problems"):
        lines += section("Problems of the file", problem_lines(answer["problems"]))
    if "files" in answer:
        lines += section("Written", file_lines(answer["files"]))
    title = "lanes of a water file" if answer["incident"] is None else "where to fill"
    return page(answer, title, lines)


def _why_none(thing: Mapping[str, Any]) -> list[str]:
    """Why nothing was found, and by how much the best of it is short."""
    lines = paragraph(thing["reason"], indent=2)
    if thing["nearest_miss_m"] is not None:
        miss = number(thing["nearest_miss_m"], 1.0, "m", "up")
        lines += paragraph(f"The best of it falls short by {miss}.", indent=2)
    return lines


def _rejected(thing: Mapping[str, Any]) -> bool:
    return gravest(thing["findings"]) == "stop"


def _needs(thing: Mapping[str, Any]) -> bool:
    return STANDINGS.index(gravest(thing["findings"])) <= STANDINGS.index("needs a look")


def _spoken(thing: Mapping[str, Any]) -> list[str]:
    """All that is said against a place, gravest first, each with its word; neighbours apart from it."""
    said = [
        f
        for f in thing["findings"]
        if standing(f) not in {"noted", "none found"} and f["code"] != "separation"
    ]
    said.sort(key=lambda f: STANDINGS.index(standing(f)))
    return list(dict.fromkeys(f"{standing(f)}: {f['message']}" for f in said))


def _neighbours(things: Sequence[Mapping[str, Any]]) -> list[str]:
    """Which of several places lie near another one, in one line for all: it counts only where both are worked."""
    near = [
        f"{thing['id']} {f['message'].partition(':')[0]}"
        for thing in things
        for f in thing["findings"]
        if f["code"] == "separation"
    ]
    if not near:
        return []
    return paragraph(
        f"{'; '.join(near)}.", first="kept apart, or one way round, if both are worked: ", indent=2
    )


def _shared(things: Sequence[Mapping[str, Any]]) -> list[str]:
    """What is said against every one of several places: told once below their table."""
    first = _spoken(things[0])
    return [text for text in first if len(things) > 1 and all(text in _spoken(thing) for thing in things)]


def _against(thing: Mapping[str, Any], shared: Sequence[str] = ()) -> str:
    """The gravest word, and all that is said against this place alone."""
    own = [text for text in _spoken(thing) if text not in shared]
    word = gravest(thing["findings"])
    if own and own[0].startswith(f"{word}: "):
        return " ".join(own)
    return f"{word}; {' '.join(own)}" if own else word


def _shared_lines(shared: Sequence[str]) -> list[str]:
    return [line for text in shared for line in paragraph(text, first="each of these ", indent=2)]


def _why_rejected(thing: Mapping[str, Any]) -> str:
    return " ".join(text.removeprefix("stop: ") for text in _spoken(thing) if text.startswith("stop: "))


def _lanes_of(class_id: str, lanes: Sequence[Mapping[str, Any]]) -> list[str]:
    usable = [lane for lane in lanes if not _needs(lane)]
    look = [lane for lane in lanes if _needs(lane) and not _rejected(lane)]
    rejected = [lane for lane in lanes if _rejected(lane)]
    shown = [*usable, *look][:_LANES_SHOWN]
    lines = paragraph(
        f"{len(usable)} usable, {len(look)} need a look first, {len(rejected)} rejected.", indent=2
    )
    if shown:
        lines += _lane_columns(shown)
    more = len(usable) + len(look) - len(shown)
    if more or len(rejected) > _REJECTED_SHOWN:
        lines.append(f"  … and {more} more, {len(rejected)} rejected (use --json)")
    for lane in rejected[:_REJECTED_SHOWN]:
        name = f"{lane['id']} {lane['water']} {bearing(lane['heading_deg'])}: "
        lines += paragraph(f"{name}{_why_rejected(lane)}", first="rejected ", indent=2)
    return section(f"Lanes for a {name_words(class_id)}, heading as flown", lines)


def _lane_columns(lanes: Sequence[Mapping[str, Any]]) -> list[str]:
    shared = _shared(lanes)
    rows = [
        (
            lane["id"],
            lane["water"],
            bearing(lane["heading_deg"]),
            length(lane["length_m"], "down"),
            _fill(lane),
            number(lane["headwind_kt"], 1.0, "kt"),
            number(lane["crosswind_kt"], 1.0, "kt"),
            _climb_or_turn(lane),
            number(lane["depth_m"], 0.1, "m", "down"),
            _against(lane, shared),
        )
        for lane in lanes
    ]
    header = ("id", "water", "heading", "length", "fill, m", "head", "cross", "climb", "depth", "standing")
    table = columns(header, rows, right="length, fill, m, head, cross, climb, depth")
    return [*table, *_shared_lines(shared), *_neighbours(lanes)]


def _fill(lane: Mapping[str, Any]) -> str:
    """Where the fill begins and ends, counted from the lane's start."""
    fill = next((part for part in lane["phases"] if part["phase"] == "fill"), None)
    if fill is None:
        return UNKNOWN
    return f"{number(fill['from_m'], 10.0)}–{number(fill['to_m'], 10.0, '', 'up')}"


def _climb(lane: Mapping[str, Any]) -> str:
    """Climb-out asked for straight ahead, of what counts, in per cent."""
    needed, allowed = lane["climb_gradient_needed"], lane["climb_gradient_available"]
    if needed is None or allowed is None:
        return UNKNOWN
    return f"{number(100.0 * needed, 0.1)} of {number(100.0 * allowed, 0.1)} %"


def _climb_or_turn(lane: Mapping[str, Any]) -> str:
    """The climb-out of a lane, and the turn where that is the way out."""
    turn = {"turn_left": ", turn left", "turn_right": ", turn right"}.get(lane["escape"]["kind"], "")
    return _climb(lane) + turn


def _dips_of(class_id: str, fill: str | None, dips: Sequence[Mapping[str, Any]]) -> list[str]:
    good = [dip for dip in dips if not _rejected(dip)]
    rejected = [dip for dip in dips if _rejected(dip)]
    shown = good[:_DIPS_SHOWN]
    rows = [
        (
            dip["id"],
            _place(dip),
            length(dip["distance_m"], "up"),
            bearing(dip["departure_heading_deg"]),
            _climb(dip),
            number(dip["headwind_kt"], 1.0, "kt"),
            number(dip["depth_m"], 0.1, "m", "down"),
            length(dip["clear_m"], "down"),
            number(dip["load_l_full_fuel"], 1.0, "L", "down"),
            gravest(dip["findings"]),
        )
        for dip in shown
    ]
    header = ("id", "water", "away", "out", "climb", "head", "depth", "room", "load", "standing")
    lines = columns(header, rows, right="away, climb, head, depth, room, load") if rows else []
    said: dict[str, list[str]] = {}
    for dip in shown:
        for text in _spoken(dip):
            said.setdefault(text, []).append(dip["id"])
    for text, ids in said.items():
        lines += paragraph(text, first=f"{', '.join(ids)} ", indent=2)
    lines += _neighbours(shown)
    if len(good) > len(shown) or rejected:
        lines.append(f"  … and {len(good) - len(shown)} more, {len(rejected)} rejected (use --json)")
    for dip in rejected[:_REJECTED_SHOWN]:
        lines += paragraph(f"{dip['id']} {_place(dip)}: {_why_rejected(dip)}", first="rejected ", indent=2)
    kind = name_words(class_id) + ("" if fill is None else f" with a {fill}")
    head = f"Dip sites for a {kind} (out: heading of the way out; room: free all round)"
    return section(head, lines)


def _place(dip: Mapping[str, Any]) -> str:
    """The water, and the place in it if somebody named one."""
    if dip["place"] is None or dip["place"] == dip["water"]:
        return str(dip["water"])
    return f"{dip['place']} ({dip['water']})"


def _bases(bases: Sequence[Mapping[str, Any]]) -> list[str]:
    """A row for each base, and below what stands on it: for everybody, then class by class."""
    if not bases:
        return ["  none given"]
    rows = [
        (
            base["name"],
            name_words(base["kind"]),
            length(base["runway_m"], "down"),
            ", ".join(base["agents"]) or UNKNOWN,
            number(base["pits"]),
            number(base["stock_l"], 1.0, "L", "down"),
            gravest(base["findings"]),
        )
        for base in bases
    ]
    header = ("base", "kind", "runway", "agents", "pits", "stock", "standing")
    lines = columns(header, rows, right="runway, pits, stock")
    for base in bases:
        lines += [line for text in _base_words(base) for line in paragraph(text, indent=2)]
    return lines


def _base_words(base: Mapping[str, Any]) -> list[str]:
    """What stands on a base, in whole sentences: each begins with its name."""
    told = [*_spoken(base), *(f"noted: {f['message']}" for f in base["findings"] if standing(f) == "noted")]
    words = [f"{base['name']} {text}" for text in told]
    for at in base["classes"]:
        facts = [
            f"runway needed {length(at['runway_needed_m'], 'up')}" if at["runway_needed_m"] else "",
            f"reload {number(at['reload_min'], 1.0, 'min')}" if at["reload_min"] else "",
            f"{number(at['loads_in_stock'], 0.1)} loads in stock" if at["loads_in_stock"] is not None else "",
        ]
        said = "; ".join([*(f for f in facts if f), *_spoken(at)])
        if said:
            words.append(f"{base['name']} for a {name_words(at['class'])}: {said}")
    return words


def _file_lanes(lanes: Sequence[Mapping[str, Any]]) -> list[str]:
    shared = _shared(lanes)
    rows = [
        (
            lane["water"],
            bearing(lane["heading_deg"]),
            number(lane["length_m"], 1.0, "m", "down"),
            number(lane["clear_m"], 1.0, "m"),
            _against(lane, shared),
        )
        for lane in lanes[:_LANES_SHOWN]
    ]
    lines = columns(
        ("water", "heading", "length", "half-width", "standing"), rows, right="length, half-width"
    )
    lines += _shared_lines(shared)
    if len(lanes) > _LANES_SHOWN:
        lines.append(f"  … and {len(lanes) - _LANES_SHOWN} more (use --json)")
    return lines
