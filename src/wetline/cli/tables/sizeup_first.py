"""The first screen of `sizeup`: where it runs and why, how sure, what can attack it, whom it reaches, what is unknown.

At most `MOST_LINES` lines: what does not fit is counted, never dropped in silence, and stands below.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import standing
from wetline.cli.tables.words import (
    area,
    band,
    bearing,
    clock,
    kind_words,
    length,
    name_words,
    number,
    rate,
    step_for_length,
)
from wetline.cli.text import NO_BREAK, columns, paragraph
from wetline.grid import ddm

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["MOST_LINES", "chance", "first_screen"]

MOST_LINES = 40
"""With the head of the page."""
_HEAD_LINES = 4
_LABEL = 11
_ROWS = ((6, 5), (5, 4), (4, 3), (3, 2))
"""Rows of pieces and of places: the first that fit."""
_HURT, _AHEAD, _UNKNOWN = 3, 3, 3
_DRIVERS = ("wind", "slope", "fuel", "dryness")
_GROUPS = (
    ("hand_tools", "hand tools"),
    ("machines_and_aircraft", "machines and aircraft"),
    ("neither", "neither"),
    ("not_burning", "does not burn"),
    ("unknown", "unknown"),
)


def first_screen(answer: Mapping[str, Any]) -> list[str]:
    """The lines between the head of the page and the rule."""
    lines: list[str] = []
    for pieces, places in _ROWS:
        lines = _screen(answer, pieces, places)
        if len(lines) <= MOST_LINES - _HEAD_LINES:
            break
    return lines


def _screen(answer: Mapping[str, Any], pieces: int, places: int) -> list[str]:
    now = answer["time"]
    return [
        *paragraph(
            f"Burnt {area(answer['area_ha'])}, edge {length(answer['perimeter_m'])}, drawn "
            f"{clock(answer['perimeter_drawn'], now)}. {_good_until(answer)}"
        ),
        *_hurt(answer["findings"]),
        *_run(answer["fastest"], answer["edge"], now),
        *_may_run_on(answer["unknown_edge_m"]),
        *_grows(answer["fronts"], now),
        *_attack(answer["attack"]),
        *_beyond(answer),
        *_pieces(answer["edge"], pieces),
        *_compass(answer["by_direction"]),
        *_reaches(answer["reaches"], now, places),
        *_unknown(answer),
    ]


def _said(label: str, text: str) -> list[str]:
    """A label in its own column, its words beside it."""
    return paragraph(text, first=label.ljust(_LABEL))


def chance(reach: Mapping[str, Any]) -> str:
    """`11 of 16`: futures that reach a place."""
    if reach.get("futures") is None or reach.get("reached_in") is None:
        return "no futures"
    return f"{reach['reached_in']} of {reach['futures']}"


def _good_until(answer: Mapping[str, Any]) -> str:
    good, asked, now = answer["good_until"], answer["asked_until"], answer["time"]
    if good == asked:
        return f"Good until {clock(good, now)}, if nothing more is stopped."
    return (
        f"GOOD ONLY UNTIL {clock(good, now)}, if nothing more is stopped: the weather ends there; {clock(asked, now)} "
        "was asked for, and what comes after the weather is unknown."
    )


def _hurt(findings: Sequence[Mapping[str, Any]]) -> list[str]:
    """Whom it could hurt: the gravest findings on people in words, all others by name."""
    about = [f for f in findings if f["code"] == "entrapment"]
    if not about:
        return _said("People", "none found whom the fire reaches under the caution limit.")
    out: list[str] = []
    for i, finding in enumerate(about[:_HURT]):
        message = finding["message"].replace(", if nothing more is stopped", "")
        out += _said("People" if i == 0 else "", f"{standing(finding)}: {message}")
    others = [f"{f['refers_to']} ({standing(f)})" for f in about[_HURT:]]
    return [*out, *(_said("", f"and {', '.join(others)}.") if others else [])]


def _run(
    fastest: Mapping[str, Any] | None, pieces: Sequence[Mapping[str, Any]], now: str | None
) -> list[str]:
    """Where it runs in the next hour, and why."""
    if fastest is None:
        return _said("Runs", "unknown: nothing is known to burn at the edge.")
    edge = (
        f"{band(fastest, 'rate_m_per_min', 0.1, 'm/min')} toward {bearing(fastest['toward_deg'])}, "
        f"{band(fastest, 'intensity_kw_per_m', 10.0, 'kW/m')}, at {_place(fastest['position'])}{_in_pockets(fastest, pieces)}."
    )
    run = fastest["run"]
    if run is None:
        return [
            *_said("Runs", "less than a cell in the next hour."),
            *_said("Edge now", f"fastest in the open {edge}"),
            *_said("Why", _why(fastest["because"]["drivers"])),
        ]
    fuels = ", ".join(f"{_code(f['fuel'])} {number(_pct(f['share']), 1.0, '%')}" for f in run["fuels"])
    ahead = run["ahead"]
    named = ", ".join(
        f"{a['name']} ({kind_words(a['kind'])}) {clock(a['earliest'], now)}" for a in ahead[:_AHEAD]
    )
    places = (
        f" Ahead, at the earliest: {named}{_and(len(ahead) - _AHEAD)}."
        if ahead
        else " Ahead: no place given that it reaches."
    )
    return [
        *_said(
            "Runs",
            f"by {clock(run['until'], now)} {band(run, 'length_m', 10.0, 'm')} toward {bearing(run['toward_deg'])}, "
            f"{band(run, 'mean_rate_m_per_min', 0.1, 'm/min')} on the way, from {_place(run['start'])} "
            f"to {_place(run['end'])}{_goes_on(run['ends_at'])}.",
        ),
        *_said("Over", f"fuel {fuels}; {_slope(run)}.{places}"),
        *_said("Why", _why(run["drivers"])),
        *_said("Edge now", f"fastest in the open {edge}"),
    ]


def _may_run_on(unknown_edge_m: float | None) -> list[str]:
    """A run into unknown ground cannot be told: it stands as not burning."""
    if not unknown_edge_m:
        return []
    return _said(
        "", f"It may run farther, and elsewhere: {length(unknown_edge_m)} of edge meets unknown ground."
    )


def _in_pockets(fastest: Mapping[str, Any], pieces: Sequence[Mapping[str, Any]]) -> str:
    """How much faster some edge is that only burns out a pocket of the fire."""
    rates = [p["rate_m_per_min"] for p in pieces if p["part"] != "island" and p["rate_m_per_min"] is not None]
    open_air = fastest["rate_m_per_min"]
    if open_air is None or not rates or max(rates) <= open_air + 0.1:
        return ""
    return f"; up to {rate(max(rates))} across pockets of the fire"


def _pct(share: float | None) -> float | None:
    return None if share is None else 100.0 * share


def _and(count: int) -> str:
    return f" and {count} more" if count > 0 else ""


def _place(position: Sequence[float] | None) -> str:
    return ddm(*position).replace(" ", NO_BREAK) if position else "an unknown place"


def _code(fuel: str | None) -> str:
    """The code alone, which stands before a fuel's name."""
    return "unknown" if fuel is None else fuel.split(" ")[0]


def _goes_on(ends_at: str | None) -> str:
    """What is unknown where the run ends."""
    words = {
        "map_edge": "; beyond the map unknown",
        "unknown_ground": "; beside ground of unknown fuel, where it may go on",
    }
    return words.get(ends_at or "", "")


def _slope(run: Mapping[str, Any]) -> str:
    if run["rise_m"] is None or run["slope_pct"] is None:
        return "slope unknown"
    if abs(run["slope_pct"]) < 1:
        return "level on the whole"
    way = "up" if run["rise_m"] > 0 else "down"
    return f"{number(abs(run['rise_m']), 1.0, 'm')} {way} ({number(abs(run['slope_pct']), 1.0, '%')})"


def _why(shares: Mapping[str, Any] | None) -> str:
    """`wind 51 %, dryness 24 %, …`, the greatest first, and what is left."""
    if shares is None:
        return "unknown."
    known = sorted(_DRIVERS, key=lambda name: -(shares[name] if shares[name] is not None else -9.0))
    told = ", ".join(f"{name} {number(_pct(shares[name]), 1.0, '%')}" for name in known)
    return (
        f"{told} of its rate; {number(_pct(shares['rest']), 1.0, '%')} it has anyway (calm, level, "
        f"fuel {_code(shares['typical_fuel'])}, the day's middle dryness)."
    )


def _grows(fronts: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    """Burnt area at three times, with its band."""
    if not fronts:
        return _said("Grows", "unknown.")
    shown = list({id(f): f for f in (fronts[0], fronts[(len(fronts) - 1) // 2], fronts[-1])}.values())
    told = "; ".join(f"{clock(f['time'], now)} {_area_band(f)}".replace(" ", NO_BREAK) for f in shown)
    return _said("Grows", f"{told}.")


def _area_band(front: Mapping[str, Any]) -> str:
    low, high = front["area_ha_low"], front["area_ha_high"]
    ends = "no band" if low is None or high is None else f"{area(low)} to {area(high)}"
    return f"{area(front['area_ha'])} ({ends})"


def _attack(attack: Mapping[str, Any]) -> list[str]:
    """The whole edge by what can attack it; what is not there is left out, what is unknown never."""
    told = []
    for group, words in _GROUPS:
        part = attack[group]
        most = part["length_m_high"] if part["length_m_high"] is not None else part["length_m"]
        if most == 0 and group in {"not_burning", "unknown"}:
            continue
        text = band(part, "length_m", step_for_length(most or 0.0), "m")
        told.append(f"{words} {text}".replace(" ", NO_BREAK))
    return _said("Attack", f"{'; '.join(told)} of edge.")


def _beyond(answer: Mapping[str, Any]) -> list[str]:
    """Crown fire and thrown fire, where there is something to say of them."""
    crown, thrown = answer.get("crown_edge_m"), answer["spotting_m"]
    told = []
    if crown is not None:
        told.append(f"crowns: {', '.join(f'{kind} {length(crown[kind])}' for kind in _CROWN)} of edge")
    if thrown is not None:
        told.append(
            f"fire thrown up to {band(answer, 'spotting_m', step_for_length(thrown), 'm')}, low confidence"
        )
    return _said("Beyond", f"{'; '.join(told)}.") if told else []


def _pieces(pieces: Sequence[Mapping[str, Any]], most: int) -> list[str]:
    """The pieces with what can attack how much of each."""
    if not pieces:
        return _said("", "no edge")
    rows = [
        (
            piece["id"],
            name_words(piece["part"]) if piece["directed"] else "half, no head",
            length(piece["length_m"]),
            band(piece, "rate_m_per_min", 0.1),
            band(piece, "flame_length_m", 0.1),
            *(_metres(piece["attack_m"], names) for names in _COLUMNS),
        )
        for piece in _gravest(pieces, most)
    ]
    header = ("id", "part", "length", "spread m/min", "flame m", "hand", "mach.+air", "neither", "unknown")
    lines = columns(header, rows, right=", ".join(header[2:]))
    rest = len(pieces) - most
    return [f"  {line}" for line in lines] + ([f"  {rest} more pieces below"] if rest > 0 else [])


def _gravest(pieces: Sequence[Mapping[str, Any]], most: int) -> list[Mapping[str, Any]]:
    """The pieces to show, in their order: those with unknown edge, the head, then the hottest."""

    def rank(piece: Mapping[str, Any]) -> tuple[bool, bool, float]:
        heat = piece["intensity_kw_per_m"]
        known = not piece["attack_m"]["unknown"] and heat is not None
        return known, piece["part"] != "head", -(heat or 0.0)

    shown = {piece["id"] for piece in sorted(pieces, key=rank)[:most]}
    return [piece for piece in pieces if piece["id"] in shown]


_CROWN = ("passive", "active", "unknown")

_COLUMNS = (
    ("hand_tools",), ("machines_and_aircraft",), ("head_doubtful", "head_ineffective"), ("unknown",),
)  # fmt: skip


def _metres(attack_m: Mapping[str, Any], names: Iterable[str]) -> str:
    lengths = [attack_m[name] for name in names]
    known = [value for value in lengths if value is not None]
    if len(known) < len(lengths):
        return "unknown"
    total = sum(known)
    return length(total) if total else "–"


def _compass(sectors: Sequence[Mapping[str, Any]]) -> list[str]:
    """Fastest spread by the direction that edge faces."""
    told = [
        f"{s['toward']} {rate(s['rate_m_per_min']).removesuffix('m/min').rstrip() if s['length_m'] else 'none'}".replace(
            " ", NO_BREAK
        )
        for s in sectors
    ]
    return _said("Facing", f"{', '.join(told)} m/min at the fastest.")


def _reaches(reaches: Sequence[Mapping[str, Any]], now: str | None, most: int) -> list[str]:
    """Whom it reaches first, with its band and the count of futures."""
    met = [r for r in reaches if r["on_map"] and (r["time"] or r["time_low"] or r["earliest"])]
    off = [r for r in reaches if not r["on_map"]]
    if not reaches:
        return _said("Reaches", "unknown: nobody and nothing is given in the folder.")
    told = [f"{len(off)} unknown, off the modelled ground"] if off else []
    others = len(reaches) - len(met) - len(off)
    told += [f"{others} not within the time"] if others else []
    if not met:
        return _said("Reaches", f"{'; '.join(told)}.")
    rows = [
        (
            r["name"],
            kind_words(r["kind"]),
            clock(r["earliest"], now),
            clock(r["time"], now) if r["time"] else "not in the time",
            clock(r["time_high"], now)
            if r["time_high"]
            else "no band"
            if r["time_low"] is None
            else "not in the time",
            chance(r),
        )
        for r in met[:most]
    ]
    lines = columns(("reaches", "kind", "earliest", "middle", "latest", "futures"), rows)
    told = [f"{len(met) - most} more below" if len(met) > most else "", *told]
    tail = "; ".join(text for text in told if text)
    return [f"  {line}" for line in lines] + ([f"  {tail}"] if tail else [])


def _unknown(answer: Mapping[str, Any]) -> list[str]:
    """What this answer does not know: findings first, then what is not computed yet."""
    found = [f["message"].rstrip(".") for f in answer["findings"] if f["level"] == "unknown"]
    missing = [item["why"] for item in answer["not_yet"]]
    crown = answer.get("crown_edge_m")
    if crown is not None and crown["unknown"]:
        missing.insert(0, f"crown fire along {length(crown['unknown'])} of edge: told as surface fire there")
    said = [*found[:_UNKNOWN], *missing]
    rest = len(found) - _UNKNOWN
    text = "; ".join(said) if said else "nothing that the model knows of"
    return _said("Unknown", f"{text}.{f' {rest} more below.' if rest > 0 else ''}")
