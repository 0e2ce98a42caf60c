"""The run of the next hour in words: its way, what it crosses, what drives it, how many futures agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.words import (
    band,
    bearing,
    clock,
    kind_words,
    length,
    number,
    rate,
    said,
    step_for_rate,
)
from wetline.cli.text import NO_BREAK
from wetline.grid import ddm

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["run_lines"]

_AHEAD, _FUELS, _WAYS = 3, 4, 2
_DRIVERS = ("wind", "slope", "fuel", "dryness")
_FASTEST = "fastest edge not burning into a pocket"


def run_lines(answer: Mapping[str, Any], *, tight: bool) -> list[str]:
    """Where it runs in the next hour, why, and where it may run that nobody can tell.

    `tight`: without what driving is measured against, and without the unknown edge, which blocks among the people.
    """
    return [*_run(answer, tight=tight), *([] if tight else _may_run_on(answer["unknown_edge_m"]))]


def _run(answer: Mapping[str, Any], *, tight: bool) -> list[str]:
    fastest, pieces, now = answer["fastest"], answer["edge"], answer["time"]
    leaves = _leaves(answer)
    if fastest is None:
        if answer["attack"]["unknown"]["length_m"] == 0:
            return said("Runs", f"{leaves}no edge burns by the model.")
        return said("Runs", f"{leaves}unknown: nothing is known to burn at the edge.")
    edge = (
        f"{band(fastest, 'rate_m_per_min', step_for_rate, 'm/min')} toward {bearing(fastest['toward_deg'])}, "
        f"{band(fastest, 'intensity_kw_per_m', 10.0, 'kW/m')}, at {_place(fastest['position'])}{_in_pockets(fastest, pieces)}."
    )
    run = fastest["run"]
    if run is None:
        return [
            *said(
                "Runs",
                f"{leaves}under {length(answer['cell_m'])} in the next hour{_held(answer['held_by'])}.{_ways(fastest['directions'])}",
            ),
            *said("Edge now", f"{_FASTEST} {edge}"),
            *said("Why", _why(fastest["because"]["drivers"], tight=tight)),
        ]
    fuels = ", ".join(
        f"{_code(f['fuel'])} {number(_pct(f['share']), 1.0, '%')}" for f in run["fuels"][:_FUELS]
    ) + _and(len(run["fuels"]) - _FUELS)
    ahead = run["ahead"]
    named = ", ".join(
        f"{a['name']} ({kind_words(a['kind'])}) {clock(a['earliest'], now)}" for a in ahead[:_AHEAD]
    )
    places = (
        f" Ahead, at the soonest: {named}{_and(len(ahead) - _AHEAD)}."
        if ahead
        else " Ahead: no place given that it reaches."
    )
    return [
        *said(
            "Runs",
            f"{leaves}by {clock(run['until'], now)} {band(run, 'length_m', 10.0, 'm')} toward {bearing(run['toward_deg'])}, "
            f"{band(run, 'mean_rate_m_per_min', step_for_rate, 'm/min')} mean over {_over(run['minutes'])}, from {_place(run['start'])} "
            f"to {_place(run['end'])}{_goes_on(run['ends_at'])}{_held(answer['held_by'])}.{_ways(run['directions'])}",
        ),
        *said("Over", f"fuel {fuels}; {_slope(run)}.{places}"),
        *said("Why", _why(run["drivers"], tight=tight)),
        *said("Edge now", f"{_FASTEST} {edge}"),
    ]


def _over(minutes: float | None) -> str:
    return "the hour" if minutes == 60 else number(minutes, 1.0, "min")


def _leaves(answer: Mapping[str, Any]) -> str:
    """That it may leave the modelled ground while people are warned."""
    leaves = answer["leaves_map"]
    if leaves is None or leaves["time"] >= answer["warned_until"]:
        return ""
    counted = f" in {leaves['in']} of {leaves['of']} futures" if leaves["of"] else ""
    return f"leaves the map at {clock(leaves['time'], answer['time'])}{counted}; beyond it unknown; "


def _held(names: Sequence[str]) -> str:
    """Which line the crews have beside the edge."""
    return f"; held by crews' line {', '.join(names)}, as long as it holds" if names else ""


def _ways(directions: Mapping[str, Any] | None) -> str:
    """How many futures run that way, and where the others run."""
    if directions is None:
        return ""
    of, same, others = directions["of"], directions["with_middle"], directions["others"]
    told = []
    if same is not None:
        way = f" {_from_to(same)}" if same["in"] else " that way"
        told.append(f"{same['in']} of {of} futures run{way}")
    told += [
        f"{group['in']}{'' if same else f' of {of} futures'} toward {_from_to(group)} from {_place(group['start'])}"
        for group in others[:_WAYS]
    ]
    told += [f"{sum(group['in'] for group in others[_WAYS:])} run other ways"] if len(others) > _WAYS else []
    told += [f"{directions['still']} of {of} futures hardly move"] if directions["still"] else []
    return f" {'; '.join(told)}."


def _from_to(group: Mapping[str, Any]) -> str:
    low, high = bearing(group["toward_low_deg"]), bearing(group["toward_high_deg"])
    return low if low == high else f"{low.removesuffix('° T')}–{high}"


def _may_run_on(unknown_edge_m: float | None) -> list[str]:
    """A run into unknown ground cannot be told: it stands as not burning."""
    if not unknown_edge_m:
        return []
    return said(
        "", f"It may run farther, and elsewhere: {length(unknown_edge_m)} of edge meets unknown ground."
    )


def _in_pockets(fastest: Mapping[str, Any], pieces: Sequence[Mapping[str, Any]]) -> str:
    """How much faster some edge is that only burns out a pocket of the fire."""
    rates = [p["rate_m_per_min"] for p in pieces if p["part"] != "island" and p["rate_m_per_min"] is not None]
    open_air = fastest["rate_m_per_min"]
    if open_air is None or not rates or max(rates) <= open_air + 0.1:
        return ""
    where = fastest["anywhere"]["position"]
    return f"; up to {rate(max(rates))} across pockets of the fire, at {_place(where)}"


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
        return "ends as high as it starts"
    way = "up" if run["rise_m"] > 0 else "down"
    return f"{number(abs(run['rise_m']), 1.0, 'm')} {way} ({number(abs(run['slope_pct']), 1.0, '%')})"


def _why(shares: Mapping[str, Any] | None, *, tight: bool) -> str:
    """`wind 51 %, dryness 24 %, …`, the greatest first, and what is left."""
    if shares is None:
        return "unknown."
    known = sorted(_DRIVERS, key=lambda name: -(shares[name] if shares[name] is not None else -9.0))
    told = {name: f"{name} {number(_pct(shares[name]), 1.0, '%')}" for name in known}
    back = [name for name in known if shares[name] is not None and round(100.0 * shares[name]) < 0]
    drives = ", ".join(text for name, text in told.items() if name not in back) or "none of these"
    holds = f"; held back by {', '.join(told[name] for name in back)}" if back else ""
    against = (
        "" if tight else f" (calm, level, fuel {_code(shares['typical_fuel'])}, the day's middle dryness)"
    )
    rest = number(_pct(shares["rest"]), 1.0, "%")
    return f"driven by {drives} of its rate{holds}; {rest} left without them{against}."
