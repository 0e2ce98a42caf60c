"""The table of `sizeup`: the edge, the fastest run, the fronts, who is reached when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.findings import finding_lines, note_lines
from wetline.cli.tables.folder import file_lines
from wetline.cli.tables.page import page
from wetline.cli.tables.sizeup_first import first_screen, thrown_words
from wetline.cli.tables.sizeup_people import reach_lines
from wetline.cli.tables.words import (
    area,
    attack_words,
    band,
    bearing,
    clock,
    length,
    name_words,
    number,
    rate,
    step_for_rate,
)
from wetline.cli.text import WIDTH, columns, paragraph, section
from wetline.grid import ddm

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["sizeup_table"]


def sizeup_table(answer: dict[str, Any]) -> str:
    """Reading the fire: one screen to act on, then below a rule the details."""
    now = answer["time"]
    lines = first_screen(answer)
    lines += ["─" * WIDTH, "Details"]
    lines += section("Edge now (the fastest and the hottest on each piece)", _edge(answer["edge"]))
    lines += section("Edge now by the direction it faces", _compass(answer["by_direction"]))
    lines += section("Fastest run", _fastest(answer["fastest"]))
    lines += section("Fronts, if nothing more is stopped", _fronts(answer["fronts"], now))
    lines += section("Reached, if nothing more is stopped", reach_lines(answer))
    if answer["reached_edge_of_map"]:
        lines += paragraph("The fire comes to the edge of the map: areas and times beyond it are unknown.")
    lines += section("Spotting", [f"  {thrown_words(answer)}, low confidence"])
    lines += _crown(answer.get("crown_edge_m"))
    if answer["unknown_cells"]:
        lines += paragraph(
            f"{number(answer['unknown_cells'])} cells of unknown fuel or height are taken as not burning."
        )
    lines += finding_lines(answer["findings"])
    lines += note_lines(answer["notes"])
    if "files" in answer:
        lines += section("Written", file_lines(answer["files"]))
    return page(answer, "size-up of the fire", lines)


def _crown(edge_m: Mapping[str, Any] | None) -> list[str]:
    """How much of the edge burns in the crowns, where the answer tells."""
    if edge_m is None:
        return []
    told = ", ".join(f"{name_words(kind)} {length(metres)}" for kind, metres in edge_m.items())
    return section("Crown fire at the edge", [f"  {told}"])


def _edge(pieces: Sequence[Mapping[str, Any]]) -> list[str]:
    rows = [
        (
            piece["id"],
            name_words(piece["part"]),
            length(piece["length_m"]),
            rate(piece["rate_m_per_min"]),
            number(piece["flame_length_m"], 0.1, "m"),
            band(piece, "intensity_kw_per_m", 10.0, "kW/m"),
            _attack(piece),
        )
        for piece in pieces
    ]
    header = ("id", "part", "length", "spread", "flame", "intensity", "heat at the hottest")
    return columns(header, rows, right="length, spread, flame, intensity") if rows else ["  no edge"]


def _attack(of: Mapping[str, Any]) -> str:
    """The hottest class, how much worse it may be, and how much of the edge is unknown."""
    words = attack_words(of["attack"])
    if of["attack_high"] not in {None, of["attack"]}:
        words += f" (hot end of the band: {attack_words(of['attack_high'])})"
    unknown_m = of["attack_m"].get("unknown")
    if unknown_m and of["attack"] != "unknown":
        words += f"; {length(unknown_m)} unknown"
    return words


def _compass(sectors: Sequence[Mapping[str, Any]]) -> list[str]:
    rows = [
        (s["toward"], length(0), "no edge", "", "", "")
        if s["length_m"] == 0
        else (
            s["toward"],
            length(s["length_m"]),
            band(s, "rate_m_per_min", step_for_rate, "m/min"),
            band(s, "flame_length_m", 0.1, "m"),
            band(s, "intensity_kw_per_m", 10.0, "kW/m"),
            _attack(s),
        )
        for s in sectors
    ]
    header = ("faces", "length", "spread", "flame", "intensity", "heat at the hottest")
    return columns(header, rows, right="length, spread, flame, intensity")


def _fastest(fastest: Mapping[str, Any] | None) -> list[str]:
    if fastest is None:
        return ["  none: no edge is known to burn"]
    why = fastest["because"]
    shares = [
        f"{label} {number(100.0 * why[key], 1.0, '%')}" if why[key] is not None else f"{label} unknown"
        for label, key in (("wind", "wind_share"), ("slope", "slope_share"))
    ]
    fine = number(why["moisture"], 0.1, "%")
    place = ddm(*fastest["position"]) if fastest["position"] else "unknown"
    return [
        *paragraph(
            f"The edge is fastest now, {band(fastest, 'rate_m_per_min', step_for_rate, 'm/min')} toward "
            f"{bearing(fastest['toward_deg'])}, {band(fastest, 'intensity_kw_per_m', 10.0, 'kW/m')}, at {place}.",
            indent=2,
        ),
        *paragraph(
            f"There {', '.join(shares)} of what drives it along its own direction; fuel "
            f"{why['fuel'] or 'unknown'}; dead fine fuel moisture {fine}.",
            indent=2,
        ),
    ]


def _fronts(fronts: Sequence[Mapping[str, Any]], now: str | None) -> list[str]:
    """Burnt area by hour; what burns in most, half and few of the futures where there are several."""
    told = [tuple(f["area_ha_in_pct"].values()) for f in fronts if f["area_ha_in_pct"]]
    if len(told) < len(fronts):
        told = [() for _ in fronts]
    rows = [
        (
            clock(front["time"], now),
            area(front["area_ha"]),
            "no band"
            if front["area_ha_low"] is None or front["area_ha_high"] is None
            else f"({area(front['area_ha_low'])} to {area(front['area_ha_high'])})",
            *(area(value) for value in likely),
        )
        for front, likely in zip(fronts, told, strict=True)
    ]
    if not rows:
        return ["  unknown"]
    header = ("time", "burnt", "band", "in 90 % of futures", "in half", "in 10 %")[: len(rows[0])]
    return columns(header, rows, right="burnt, in 90 % of futures, in half, in 10 %")
