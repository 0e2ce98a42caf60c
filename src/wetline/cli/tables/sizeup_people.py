"""People in the size-up: whom it could hurt in words, and whom and what the fire reaches when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import STANDINGS, standing
from wetline.cli.tables.words import NO_BAND, clock, futures_words, kind_words, number, said
from wetline.cli.text import columns, paragraph

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["hurt_lines", "reach_lines", "reach_screen"]

_PAST = 4
_NOBODY = frozenset({"road", "line", "place"})
"""Kinds of what the fire reaches that are no people."""
_WHOLE = frozenset({"people", "thrown fire"})
"""What findings refer to that are about no place of its own."""
_MAY_BE = "; it may be sooner."
_NO_BOUND = "The soonest future is no bound: fire may come sooner than any of these."
_LINE = " Nobody can guarantee the line, and it is all that stands between."
_HEADER = ("reaches", "kind", "soonest", "middle", "9 of 10 by", "futures")


def hurt_lines(answer: Mapping[str, Any], most: int) -> list[str]:
    """Whom it could hurt: the gravest `most` findings on people in words, all others by name, people before roads."""
    kinds = {reach["name"]: reach["kind"] for reach in answer["reaches"]}
    about = sorted(
        (f for f in answer["findings"] if f["code"] == "entrapment"),
        key=lambda f: (STANDINGS.index(standing(f)), kinds.get(f["refers_to"]) in _NOBODY),
    )
    whole = [f for f in about if f["refers_to"] in _WHOLE]
    placed = [f for f in about if f["refers_to"] not in _WHOLE and standing(f) != "noted"]
    off = [f["refers_to"] for f in about if f["refers_to"] not in _WHOLE and standing(f) == "noted"]
    blocks = [f for f in whole if standing(f) == "blocks"]
    told = [_words(f) for f in (*blocks, *placed[:most])]
    if not blocks and not off and all(kinds.get(f["refers_to"]) == "line" for f in placed):
        told.insert(0, _nobody(answer))
    others = [f"{f['refers_to']} ({standing(f)})" for f in placed[most:]]
    told += [f"and {', '.join(others)}."] if others else []
    told += [_LINE.strip()] if any(f["message"].endswith(_LINE) for f in placed) else []
    told += [_NO_BOUND] if any(_MAY_BE in f["message"] for f in placed) else []
    told += [_words(f) for f in whole if f not in blocks]
    told += (
        [f"noted: {', '.join(off)}: at least in part off the modelled ground, so unknown when."]
        if off
        else []
    )
    return [line for i, text in enumerate(told) for line in said("People" if i == 0 else "", text)]


def _words(finding: Mapping[str, Any]) -> str:
    message = finding["message"].replace(", if nothing more is stopped", "").removesuffix(_LINE)
    if message.endswith(_MAY_BE):
        message = f"{message.removesuffix(_MAY_BE)}."
    return f"{standing(finding)}: {message}"


def _nobody(answer: Mapping[str, Any]) -> str:
    return (
        f"nobody given in the folder is reached within {number(answer['warned_under_min'], 1.0, 'min')} in "
        f"{futures_words(answer)}; thrown fire and people not in the folder are not counted."
    )


def reach_screen(answer: Mapping[str, Any], most: int) -> list[str]:
    """Whom it reaches next: people before roads, so that no road takes their row; the past in one line."""
    reaches, now = answer["reaches"], answer["time"]
    if not reaches:
        return said("Reaches", "unknown: nobody and nothing is given in the folder.")
    coming, past, off, never = _sorted(reaches, now)
    first = sorted(coming, key=lambda r: r["kind"] in _NOBODY)[:most]
    lines = [f"  {line}" for line in _rows([r for r in coming if r in first], answer)] if first else []
    told = _past(past, _PAST)
    told += [f"{len(coming) - most} more below"] if len(coming) > most else []
    told += [f"{len(off)} unknown, off the modelled ground"] if off else []
    told += [f"{len(never)} not reached by {clock(answer['looked_until'], now)}"] if never else []
    tail = "; ".join(told)
    if not lines:
        return said("Reaches", f"{tail}.")
    return [*lines, *(paragraph(tail, indent=2) if tail else [])]


def reach_lines(answer: Mapping[str, Any]) -> list[str]:
    """Those reached, soonest first; those unknown by name; the others as one count."""
    reaches, now = answer["reaches"], answer["time"]
    coming, past, off, never = _sorted(reaches, now)
    lines = _rows([*past, *coming], answer) if past or coming else []
    if off:
        names = ", ".join(f"{r['name']} ({kind_words(r['kind'])})" for r in off)
        lines += paragraph(f"{names}.", first="unknown, off the modelled ground: ", indent=2)
    if never:
        many = "s" if len(never) > 1 else ""
        lines.append(f"  not reached by {clock(answer['looked_until'], now)}: {len(never)} other{many}")
    return lines or ["  nobody and nothing is given in the folder: unknown"]


_Reaches = list["Mapping[str, Any]"]


def _sorted(
    reaches: Sequence[Mapping[str, Any]], now: str | None
) -> tuple[_Reaches, _Reaches, _Reaches, _Reaches]:
    """Those to come, soonest first; those that it may have reached; those unknown; those not reached."""
    met = [r for r in reaches if r["on_map"] and r["earliest"]]
    past = [r for r in met if now is not None and r["earliest"] <= now]
    return (
        [r for r in met if r not in past],
        past,
        [r for r in reaches if not r["on_map"]],
        [r for r in reaches if r["on_map"] and not r["earliest"]],
    )


def _past(past: Sequence[Mapping[str, Any]], most: int) -> list[str]:
    if not past:
        return []
    people_first = sorted(past, key=lambda r: r["kind"] in _NOBODY)
    names = ", ".join(f"{r['name']} ({_chance(r, 'reached_in_by_now')})" for r in people_first[:most])
    rest = f" and {len(past) - most} more below" if len(past) > most else ""
    return [f"by now it may have reached {names}{rest}"]


def _rows(reaches: Sequence[Mapping[str, Any]], answer: Mapping[str, Any]) -> list[str]:
    now, never = answer["time"], f"not by {clock(answer['looked_until'], answer['time'])}"
    rows = [
        (
            r["name"],
            kind_words(r["kind"]),
            clock(r["earliest"], now),
            clock(r["time"], now) if r["time"] else never,
            NO_BAND if answer["band"] is None else clock(r["time_high"], now) if r["time_high"] else never,
            _chance(r, "reached_in"),
        )
        for r in reaches
    ]
    return columns(_HEADER, rows)


def _chance(reach: Mapping[str, Any], key: str) -> str:
    """`11 of 16`: varied futures that reach a place."""
    if reach["futures"] is None or reach[key] is None:
        return "one future"
    return f"{reach[key]} of {reach['futures']}"
