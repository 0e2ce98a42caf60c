"""Wires, masts and other obstacles along a run or a circuit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.model import Finding

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from wetline.ground import Hazard
    from wetline.model import DropRun
    from wetline.safety.context import SafetyContext

__all__ = ["check_wires", "check_wires_on_leg"]


def _named(hazard: Hazard) -> str:
    height = "height not known" if hazard.height_m is None else f"{hazard.height_m:.0f} m high"
    return f"{hazard.kind.capitalize()} {hazard.name}, {height}"


def _unsurveyed(refers_to: str, context: SafetyContext) -> Finding | None:
    layer = context.ground.hazards
    if layer.present and layer.surveyed is not None:
        return None
    why = "no hazards layer" if not layer.present else "the hazards layer declares no cover"
    return Finding(
        code="wire",
        level="unknown",
        effect="look",
        message=f"Wires and masts unknown: {why}. Look along approach, run and exit.",
        source="the incident folder",
        refers_to=refers_to,
    )


def _nearest(path: NDArray[np.float64], context: SafetyContext) -> list[tuple[float, Hazard]]:
    line = shapely.linestrings(path)
    found = [(float(shapely.distance(h.shape, line)), h) for h in context.ground.hazards]
    return sorted(found, key=lambda pair: (pair[0], pair[1].name))


def check_wires(run: DropRun, context: SafetyContext) -> tuple[Finding, ...]:
    """Obstacles near the approach, the line and the exit of one run; every new run is a new look."""
    stop, caution = context.limits["wire_stop_m"], context.limits["wire_caution_m"]
    nearest: dict[str, tuple[float, Hazard]] = {}
    for path in (run.track, run.line, run.wetted):
        for distance, hazard in _nearest(path, context):
            if hazard.name not in nearest or distance < nearest[hazard.name][0]:
                nearest[hazard.name] = (distance, hazard)
    out = []
    for distance, hazard in nearest.values():
        if distance > caution.value:
            continue
        limit = stop if distance <= stop.value else caution
        point = hazard.shape.representative_point()
        out.append(
            Finding.against(
                limit,
                code="wire",
                level="stop" if limit is stop else "caution",
                message=f"{_named(hazard)}, {distance:.0f} m from the run, limit {limit.text()}.",
                refers_to=run.id,
                position=(point.x, point.y),
                distance_m=distance,
                value=f"{distance:.0f} m",
            )
        )
    unknown = _unsurveyed(run.id, context)
    if unknown is not None:
        out.append(unknown)
    elif not out:
        out.append(_none_known(run.id, context))
    return tuple(out)


def _none_known(refers_to: str, context: SafetyContext) -> Finding:
    day = context.ground.hazards.surveyed
    return Finding(
        code="wire",
        level="clear",
        message=f"None known near it in the layer of {day}; look all the same.",
        source="the hazards layer",
        refers_to=refers_to,
        limit=context.limits["wire_caution_m"].text(),
    )


def check_wires_on_leg(name: str, leg: NDArray[np.float64], context: SafetyContext) -> tuple[Finding, ...]:
    """Obstacles under or beside a circuit's leg between water and fire: a caution where they are near."""
    caution = context.limits["wire_caution_m"]
    out = [
        Finding.against(
            caution,
            code="wire",
            level="caution",
            message=(
                f"{_named(hazard)}, crosses under the circuit."
                if distance == 0.0
                else f"{_named(hazard)}, {distance:.0f} m beside the circuit."
            ),
            refers_to=name,
            distance_m=distance,
            value=f"{distance:.0f} m",
        )
        for distance, hazard in _nearest(leg, context)
        if distance <= caution.value
    ]
    unknown = _unsurveyed(name, context)
    return (*out, unknown) if unknown else tuple(out)
