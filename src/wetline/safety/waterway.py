"""What may fall where: waterway buffers, protected areas, and the agent."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import shapely

from wetline.aircraft import aircraft_classes
from wetline.drops import AGENTS, agent_facts, carries
from wetline.model import Finding

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from wetline.ground import Avoid
    from wetline.model import DropRun
    from wetline.safety.context import SafetyContext

__all__ = ["check_agent", "check_avoid", "check_waterway", "pattern_area"]

_DRIFT_MOST_M = 300.0
"""No load drifts farther in any wind that is flown in; common practice, no source."""
_FILLING = {"scoop": "scooping", "dip": "dipping", "base": "loading at a base"}


def pattern_area(run: DropRun) -> BaseGeometry:
    """The whole wetted pattern [m], thin ends, drift and throw included."""
    lines = shapely.MultiLineString([run.line, run.wetted])
    return lines.buffer(run.pattern_half_width_m)


def _against(avoid: Avoid, run: DropRun) -> Finding:
    point = shapely.Point(run.position)
    return Finding(
        code="waterway" if avoid.kind == "waterway_buffer" else "agent",
        level="stop",
        message=f"The pattern of {run.agent} falls into {avoid.name}: {avoid.rule}.",
        source="the incident's avoid layer",
        refers_to=run.id,
        position=(point.x, point.y),
        distance_m=0.0,
        value=run.agent,
        limit=avoid.rule,
    )


def check_avoid(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Areas that this agent may not fall into, or this run not fly through, from the incident's own layer.

    An agent that nobody knows may fall into none. Without a known wind, areas near by may be drifted into.
    """
    area, track = pattern_area(run), shapely.LineString(run.track)
    out = []
    for avoid in context.ground.avoid:
        if avoid.kind == "airspace":
            if shapely.intersects(avoid.polygon, track):
                out.append(_through(avoid, run))
        elif not avoid.agents or run.agent in avoid.agents or run.agent not in AGENTS:
            if shapely.intersects(avoid.polygon, area):
                out.append(_against(avoid, run))
            elif run.drift_right_m is None and shapely.dwithin(avoid.polygon, area, _DRIFT_MOST_M):
                out.append(_may_drift(avoid, run))
    return tuple(out)


def _may_drift(avoid: Avoid, run: DropRun) -> Finding:
    return Finding(
        code="waterway" if avoid.kind == "waterway_buffer" else "agent",
        level="unknown",
        effect="look",
        message=f"No wind is known: whether {run.agent} drifts into {avoid.name} is unknown ({avoid.rule}).",
        source="the incident's avoid layer",
        refers_to=run.id,
        value=run.agent,
        limit=avoid.rule,
    )


def _through(avoid: Avoid, run: DropRun) -> Finding:
    return Finding(
        code="separation",
        level="stop",
        message=f"The run goes through {avoid.name}: {avoid.rule}.",
        source="the incident's avoid layer",
        refers_to=run.id,
        limit=avoid.rule,
    )


def _unknown(run: DropRun, context: SafetyContext, message: str) -> tuple[Finding, ...]:
    unknown = Finding.against(
        context.limits["waterway_buffer_m"],
        code="waterway",
        level="unknown",
        effect="look",
        message=message,
        refers_to=run.id,
        value=run.agent,
    )
    return (unknown,)


def check_waterway(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Whether an agent keeps its own distance from water; plain water has no such rule here.

    Measured from the pattern's edge to the shore. Without a water layer, or where none is near in a
    layer that declares no cover, the distance is unknown; so it is where water is near enough to drift to
    in a wind that is not known, and so is the rule of an agent that nobody knows.
    """
    limit = context.limits["waterway_buffer_m"]
    if run.agent not in AGENTS:
        return _unknown(run, context, f"No rule near water is known for the agent {run.agent!r}.")
    if agent_facts(run.agent).near_water == "plain":
        return ()
    layer = context.ground.water
    if not layer.present:
        message = f"No water layer: the distance of {run.agent} from waterways is unknown."
        return _unknown(run, context, message)
    area = pattern_area(run)
    waters = layer.features
    tree = shapely.STRtree([w.polygon for w in waters])
    drift_m = _DRIFT_MOST_M if run.drift_right_m is None else 0.0
    close = sorted(tree.query(area, predicate="dwithin", distance=limit.value + drift_m))
    near = [(float(shapely.distance(waters[i].polygon, area)), waters[i]) for i in close]
    out = [
        Finding.against(
            limit,
            code="waterway",
            level="stop",
            message=f"{run.agent.capitalize()} {distance:.0f} m from {water.name}, limit {limit.text()}.",
            refers_to=run.id,
            distance_m=distance,
            value=f"{distance:.0f} m",
        )
        for distance, water in near
        if distance < limit.value
    ]
    if out:
        return tuple(out)
    if drift_m and near:
        distance, water = min(near, key=lambda each: each[0])
        message = (
            f"No wind is known, so neither how far {run.agent} drifts: {water.name} is {distance:.0f} m away."
        )
        return _unknown(run, context, message)
    if layer.surveyed is None:
        return _unknown(
            run, context, f"No mapped waterway within {limit.text()}, but the water layer declares no cover."
        )
    none = Finding.against(
        limit,
        code="waterway",
        level="clear",
        message=f"No mapped waterway within {limit.text()} of the pattern.",
        refers_to=run.id,
    )
    return (none,)


def check_agent(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Whether the load can be what it is said to be: the base has the agent, or the class mixes it aboard.

    A base that tells its agents is believed. Otherwise the way the class fills decides, and what nobody
    knows is unknown.
    """
    base = next((b for b in context.ground.bases if b.name == run.source), None)
    if base is not None and base.agents and run.agent not in base.agents:
        message = f"{base.name} has no {run.agent}: it gives {', '.join(base.agents)}."
        return (_of_agent(run, "stop", message, "the incident's bases layer"),)
    cls = aircraft_classes().get(run.class_id)
    fills = "base" if base is not None else run.fills or (None if cls is None else cls.fills)
    held = None if fills is None else carries(fills, run.agent)
    if held is None:
        message = f"Whether this class can carry {run.agent!r} is not known: ask the crew."
        return (_of_agent(run, "unknown", message, "common practice, no source"),)
    if held.answer == "yes":
        return ()
    if held.answer == "no":
        message = (
            f"A class that fills by {_FILLING[str(fills)]} carries no {run.agent}: it is mixed {held.mixed}."
        )
        return (_of_agent(run, "stop", message, held.source),)
    message = f"Whether this aircraft carries {run.agent} is not known ({held.mixed}): ask the crew."
    return (_of_agent(run, "unknown", message, held.source),)


def _of_agent(run: DropRun, level: Literal["stop", "unknown"], message: str, source: str) -> Finding:
    return Finding(
        code="agent",
        level=level,
        effect="look" if level == "unknown" else None,
        message=message,
        source=source,
        refers_to=run.id,
        value=run.agent,
    )
