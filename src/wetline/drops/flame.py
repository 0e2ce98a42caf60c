"""Against which flames a load on the edge does anything: warned, then refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.behaviour import flame_length_m
from wetline.model import Finding

if TYPE_CHECKING:
    from wetline.drops.liquid import Agent
    from wetline.model import Limits

__all__ = ["flame_findings"]


def flame_findings(
    intensity_kw_per_m: float, agent: Agent, limits: Limits, *, refers_to: str
) -> tuple[Finding, ...]:
    """What the flame at the edge says against a direct drop; nothing below the first limit.

    Retardant is not refused, for it is laid ahead; laid on this edge it does as little.
    """
    flame_m = float(flame_length_m(intensity_kw_per_m))
    stop, caution = limits["flame_stop_m"], limits["flame_caution_m"]
    if flame_m < caution.value:
        return ()
    beyond = flame_m >= stop.value
    does = "does little" if beyond else "probably does not hold"
    if agent == "retardant":
        message = f"On an edge with flames of {flame_m:.1f} m a load {does}: lay it ahead, not on the edge."
    else:
        message = (
            f"On an edge with flames of {flame_m:.1f} m {agent} {does}: retardant laid ahead is what is used "
            "instead."
        )
    finding = Finding.against(
        stop if beyond else caution,
        code="intensity",
        level="stop" if beyond and agent != "retardant" else "caution",
        message=message,
        refers_to=refers_to,
        value=f"{flame_m:.1f} m, {intensity_kw_per_m:,.0f} kW/m",
    )
    return (finding,)
