"""What may fall where: waterway buffers, protected areas, and the agent."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.model import Finding

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from wetline.ground import Avoid
    from wetline.model import DropRun
    from wetline.safety.context import SafetyContext

__all__ = ["check_avoid", "check_waterway", "pattern_area"]

_PLAIN = "water"


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
    """Areas that this agent may not fall into, or this run not fly through, from the incident's own layer."""
    area, track = pattern_area(run), shapely.LineString(run.track)
    out = []
    for avoid in context.ground.avoid:
        if avoid.kind == "airspace":
            if shapely.intersects(avoid.polygon, track):
                out.append(_through(avoid, run))
        elif (not avoid.agents or run.agent in avoid.agents) and shapely.intersects(avoid.polygon, area):
            out.append(_against(avoid, run))
    return tuple(out)


def _through(avoid: Avoid, run: DropRun) -> Finding:
    return Finding(
        code="separation",
        level="stop",
        message=f"The run goes through {avoid.name}: {avoid.rule}.",
        source="the incident's avoid layer",
        refers_to=run.id,
        limit=avoid.rule,
    )


def check_waterway(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Retardant, gel and foam keep their distance from water; plain water has no such rule here.

    Measured from the pattern's edge to the shore. Without a water layer the distance is unknown.
    """
    limit = context.limits["waterway_buffer_m"]
    if run.agent == _PLAIN:
        return ()
    if not context.ground.water.present:
        unknown = Finding.against(
            limit,
            code="waterway",
            level="unknown",
            effect="look",
            message=f"No water layer: the distance of {run.agent} from waterways is unknown.",
            refers_to=run.id,
        )
        return (unknown,)
    area = pattern_area(run)
    waters = context.ground.water.features
    tree = shapely.STRtree([w.polygon for w in waters])
    close = sorted(tree.query(area, predicate="dwithin", distance=limit.value))
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
    none = Finding.against(
        limit,
        code="waterway",
        level="clear",
        message=f"No mapped waterway within {limit.text()} of the pattern.",
        refers_to=run.id,
    )
    return (none,)
