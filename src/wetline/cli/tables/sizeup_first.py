"""The first screen of `sizeup`: where it runs and why, how sure, what can attack it, whom it reaches, what is unknown.

At most `MOST_LINES` lines: what does not fit is counted, never dropped in silence, and stands below.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from wetline.cli.tables.sizeup_people import hurt_lines, reach_screen
from wetline.cli.tables.sizeup_way import run_lines
from wetline.cli.tables.words import (
    area,
    band,
    clock,
    length,
    name_words,
    number,
    rate,
    said,
    step_for_area,
    step_for_length,
    step_for_rate,
)
from wetline.cli.text import NO_BREAK, columns, paragraph

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["MOST_LINES", "first_screen", "thrown_words"]

MOST_LINES = 40
"""With the head of the page."""
_HEAD_LINES = 4
_ROWS = ((6, 5), (6, 4), (5, 4), (5, 3), (4, 3), (3, 3), (3, 2))
_TIGHT = ((4, 3), (3, 3), (3, 2), (2, 2), (1, 1))
"""Rows of pieces and of places: the first that fit; those of `_TIGHT` without what the details and findings repeat."""
_HURT, _UNKNOWN = 3, 3
_GROUPS = (
    ("hand_tools", "within the published limit for hand tools"),
    ("machines_and_aircraft", "for machines and aircraft"),
    ("neither", "above both"),
    ("not_burning", "does not burn"),
    ("unknown", "unknown"),
)


def first_screen(answer: Mapping[str, Any]) -> list[str]:
    """The lines between the head of the page and the rule."""
    lines: list[str] = []
    for tight, (pieces, places) in [*((False, rows) for rows in _ROWS), *((True, rows) for rows in _TIGHT)]:
        lines = _screen(answer, pieces, places, tight=tight)
        if len(lines) <= MOST_LINES - _HEAD_LINES:
            break
    return lines


def _screen(answer: Mapping[str, Any], pieces: int, places: int, *, tight: bool) -> list[str]:
    now = answer["time"]
    return [
        *paragraph(f"{_size(answer)} {_modelled_to(answer)}{_dark(answer['light'], now)}"),
        *hurt_lines(answer, _HURT - tight),
        *run_lines(answer, tight=tight),
        *_grows(answer["fronts"], now),
        *_attack(answer["attack"]),
        *_beyond(answer),
        *_pieces(answer["edge"], pieces),
        *([] if tight else _compass(answer["by_direction"])),
        *reach_screen(answer, places),
        *_unknown(answer),
    ]


def _size(answer: Mapping[str, Any]) -> str:
    """How large it is: as drawn, or as modelled since, with its band and what was drawn when."""
    drawn_at, drawn, now = clock(answer["perimeter_drawn"], answer["time"]), answer["drawn"], answer["time"]
    if drawn["newest"] != answer["perimeter_drawn"]:
        drawn_at = f"{drawn_at} to {clock(drawn['newest'], now)}, part by part"
    if not answer["modelled"]:
        return f"Burnt {area(answer['area_ha'])}, edge {length(answer['perimeter_m'])}, drawn {drawn_at}."
    return (
        f"Modelled at {clock(now)}: {band(answer, 'area_ha', step_for_area, 'ha')}, edge "
        f"{band(answer, 'perimeter_m', step_for_length, 'm')}; last drawn {drawn_at}, {area(drawn['area_ha'])}, "
        f"{'up to ' if drawn['newest'] != answer['perimeter_drawn'] else ''}{_age(drawn['age_min'])} old."
    )


def _age(minutes: float | None) -> str:
    """`75 min`, `6 h`: rounded up, so that nothing is told younger than it is."""
    if minutes is None:
        return "unknown"
    return (
        number(minutes, 1.0, "min", "up")
        if minutes < 120.0
        else f"{math.ceil(minutes / 6.0 - 1e-6) / 10.0:g}{NO_BREAK}h"
    )


def _modelled_to(answer: Mapping[str, Any]) -> str:
    good, asked, now = answer["good_until"], answer["asked_until"], answer["time"]
    people = f"people looked for to {clock(answer['looked_until'], now)}"
    if good == asked:
        return f"Modelled to {clock(good, now)} with nothing more stopped; {people}."
    return (
        f"MODELLED ONLY TO {clock(good, now)} with nothing more stopped, {people}: the weather ends there; "
        f"{clock(asked, now)} was asked for, and what comes after the weather is unknown."
    )


def _dark(light: Mapping[str, Any], now: str | None) -> str:
    """Whether anybody may fly now."""
    if not light["sun_down"]:
        return ""
    return f" Dark now: no flying; first light {clock(light['first_light'], now)}."


def _grows(fronts: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    """Burnt area at three times, with its band."""
    if not fronts:
        return said("Grows", "unknown.")
    shown = list({id(f): f for f in (fronts[0], fronts[(len(fronts) - 1) // 2], fronts[-1])}.values())
    told = "; ".join(
        f"{clock(f['time'], now)} {band(f, 'area_ha', step_for_area, 'ha')}".replace(" ", NO_BREAK)
        for f in shown
    )
    return said("Grows", f"{told}.")


def _attack(attack: Mapping[str, Any]) -> list[str]:
    """The whole edge by what can attack it; what is not there is left out, what is unknown never."""
    told = []
    for group, words in _GROUPS:
        part = attack[group]
        most = part["length_m_high"] if part["length_m_high"] is not None else part["length_m"]
        if most == 0 and group in {"not_burning", "unknown"}:
            continue
        text = band(part, "length_m", step_for_length, "m")
        told.append(f"{words} {text}".replace(" ", NO_BREAK))
    return said("Attack", f"by heat alone: {'; '.join(told)} of edge.")


def _beyond(answer: Mapping[str, Any]) -> list[str]:
    """Crown fire and thrown fire, where there is something to say of them."""
    crown, thrown = answer.get("crown_edge_m"), answer["spotting_m"]
    told = []
    if crown is not None:
        kinds = [kind for kind in _CROWN if crown[kind] != 0 or kind != "unknown"]
        told.append(f"crowns: {', '.join(f'{kind} {length(crown[kind])}' for kind in kinds)} of edge")
    if thrown is not None:
        told.append(f"{thrown_words(answer)}, low confidence")
    return said("Beyond", f"{'; '.join(told)}.") if told else []


def thrown_words(answer: Mapping[str, Any]) -> str:
    """How far ahead of the edge it throws fire, with the span of what is doubted."""
    if answer["spotting_m"] is None:
        return "how far fire is thrown is unknown"
    if not answer["spotting_m"] and not answer["spotting_m_high"]:
        return "fire thrown: none by the model"
    return f"fire thrown up to {band(answer, 'spotting_m', step_for_length, 'm')}"


def _pieces(pieces: Sequence[Mapping[str, Any]], most: int) -> list[str]:
    """The pieces with what can attack how much of each."""
    if not pieces:
        return said("", "no edge")
    idle = any(piece["attack_m"].get("not_burning") != 0 for piece in pieces)
    shown = {title: names for title, names in _COLUMNS.items() if idle or title != "no fire"}
    rows = [
        (
            piece["id"],
            "half, no head"
            if not piece["directed"] and "flank" in piece["part"]
            else name_words(piece["part"]),
            length(piece["length_m"]),
            band(piece, "rate_m_per_min", step_for_rate),
            band(piece, "flame_length_m", 0.1),
            *(_metres(piece["attack_m"], names) for names in shown.values()),
        )
        for piece in _gravest(pieces, most)
    ]
    header = ("id", "part", "length", "spread m/min", "flame m", *shown)
    lines = columns(header, rows, right=", ".join(header[2:]))
    rest = len(pieces) - most
    return [f"  {line}" for line in lines] + (
        [f"  {rest} more piece{'s' if rest > 1 else ''} below"] if rest > 0 else []
    )


def _gravest(pieces: Sequence[Mapping[str, Any]], most: int) -> list[Mapping[str, Any]]:
    """The pieces to show, in their order: those with unknown edge, the head, the fastest, then the hottest."""
    fastest = max((piece["rate_m_per_min"] or 0.0 for piece in pieces), default=0.0)

    def rank(piece: Mapping[str, Any]) -> tuple[bool, bool, bool, float]:
        heat = piece["intensity_kw_per_m"]
        known = not piece["attack_m"]["unknown"] and heat is not None
        return known, piece["part"] != "head", piece["rate_m_per_min"] != fastest, -(heat or 0.0)

    shown = {piece["id"] for piece in sorted(pieces, key=rank)[:most]}
    return [piece for piece in pieces if piece["id"] in shown]


_CROWN = ("passive", "active", "unknown")

_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "hand": ("hand_tools",),
    "mach.+air": ("machines_and_aircraft",),
    "above": ("head_doubtful", "head_ineffective"),
    "no fire": ("not_burning",),
    "unknown": ("unknown",),
}


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
    return said("Facing", f"{', '.join(told)} m/min at the fastest.")


def _unknown(answer: Mapping[str, Any]) -> list[str]:
    """What this answer does not know beside people: findings first, then what is not computed yet."""
    found = [
        f["message"].rstrip(".")
        for f in answer["findings"]
        if f["level"] == "unknown" and f["code"] != "entrapment"
    ]
    missing = [item["why"] for item in answer["not_yet"]]
    crown = answer.get("crown_edge_m")
    if crown is not None and crown["unknown"]:
        missing.insert(0, f"crown fire along {length(crown['unknown'])} of edge: told as surface fire there")
    told = [*found[:_UNKNOWN], *missing]
    rest = len(found) - _UNKNOWN
    text = "; ".join(told) if told else "nothing that the model knows of"
    return said("Unknown", f"{text}.{f' {rest} more below.' if rest > 0 else ''}")
