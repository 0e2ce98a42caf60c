"""Checks of a whole plan: what is missing, who oversees, who follows up, whether lines are joined."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.model import Finding
from wetline.units import HECTARE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.aircraft import Aircraft
    from wetline.behaviour import FireFields
    from wetline.ground import Ground, PeoplePlace
    from wetline.model import DropRun, Limits
    from wetline.weather import Weather

__all__ = ["check_data", "check_follow_up", "check_supervision", "check_unknown_ground"]

_NEEDED_BY = {
    "water": "lanes, dip sites and waterway distances",
    "bases": "land tankers, fuel and landing",
    "hazards": "wires and masts",
    "people": "people under drops and in the fire's way",
    "avoid": "areas with a rule of their own",
    "roads": "ways out and anchors",
}


def check_data(ground: Ground, weather: Weather | None, fleet: Sequence[Aircraft]) -> tuple[Finding, ...]:
    """Layers that are absent, or present but empty without a declared cover: unknown, never clear."""
    out = []
    for name, use in _NEEDED_BY.items():
        layer = getattr(ground, name)
        if layer.tells:
            continue
        why = "is missing" if not layer.present else "is empty and declares no cover"
        out.append((name, f"The {name} layer {why}: {use} are unknown."))
    if weather is None:
        out.append(("weather", "The weather is missing: spread, drift and wind limits are unknown."))
    if not fleet:
        out.append(("fleet", "No aircraft are given: no load can be planned."))
    if ground.canopy_height_m is None:
        out.append(
            ("canopy", "No canopy heights: every height stands above the ground alone. Add the trees.")
        )
    return tuple(
        Finding(
            code="data_missing",
            level="unknown",
            effect="blocks" if name in {"weather", "people"} else "look",
            message=message,
            source="the incident folder",
            refers_to=name,
        )
        for name, message in out
    )


def check_unknown_ground(fields: FireFields, edge_m: float, *, left_map: bool) -> tuple[Finding, ...]:
    """Ground of unknown fuel or height, and ground beyond the model: unknown, never safe.

    `edge_m`: how much of the fire's edge comes to lie against unknown ground. `left_map`: whether the
    fire comes to the edge of the modelled ground in any future: areas and lengths are then too small.
    """
    out = []
    if fields.unknown_cells:
        hectares = fields.unknown_cells * fields.grid.cell_m**2 / HECTARE
        at_edge = f"; {round(edge_m, -1):,.0f} m of edge come to lie against them." if edge_m > 0.0 else "."
        out.append((f"{hectares:,.0f} ha round the fire have no known fuel or height{at_edge}", "fuels"))
    if left_map:
        out.append(
            ("The fire leaves the modelled ground: areas and edges are at least those given.", "terrain")
        )
    return tuple(
        Finding(
            code="data_missing",
            level="unknown",
            effect="blocks" if refers_to == "fuels" and edge_m > 0.0 else "noted",
            message=message,
            source="the incident folder",
            refers_to=refers_to,
        )
        for message, refers_to in out
    )


def check_supervision(fleet: Sequence[Aircraft]) -> tuple[Finding, ...]:
    """Several aircraft over one fire want somebody above who orders them."""
    working = [a for a in fleet if a.out_of_service is None and a.class_id != "supervision"]
    above = [a for a in fleet if a.out_of_service is None and a.class_id == "supervision"]
    if len(working) < 2:
        return ()
    finding = Finding(
        code="supervision",
        level="clear" if above else "caution",
        message=(
            f"{len(working)} aircraft, {above[0].call_sign} above."
            if above
            else f"{len(working)} aircraft and no supervision aircraft in the fleet."
        ),
        source="common practice, no source",
        refers_to="fleet",
        value=f"{len(above)}",
        limit="1",
    )
    return (finding,)


def check_follow_up(ground: Ground, runs: Sequence[DropRun], limits: Limits) -> tuple[Finding, ...]:
    """Wet line without crews who secure it opens again when it dries."""
    reach = limits["crew_reach_m"]
    crews = [p for p in ground.people if p.kind == "crew"]
    wet = [run for run in runs if run.agent != "retardant"]
    if not wet:
        return ()
    near = [c.name for c in crews if any(_near(c, run, reach.value) for run in wet)]
    finding = Finding.against(
        reach,
        code="follow_up",
        level="caution",
        message=(
            f"Crews within {reach.text()} of the line: {', '.join(near)}. Their work is not counted; "
            "wet line opens again when it dries unless they secure it."
            if near
            else f"No crew within {reach.text()} of the line: what is only wet opens again when it dries."
        ),
        refers_to="plan",
    )
    return (finding,)


def _near(crew: PeoplePlace, run: DropRun, reach_m: float) -> bool:
    return bool(shapely.distance(crew.shape, shapely.linestrings(run.line)) <= reach_m)
