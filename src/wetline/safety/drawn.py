"""What is said of a fire as drawn: how old the drawing is, and how much of it lies where the model burns nothing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.model import Finding
from wetline.safety.entrapment import clock
from wetline.units import HECTARE

if TYPE_CHECKING:
    from datetime import datetime

    from wetline.model import Limits

__all__ = ["check_beside", "check_drawn"]

_LEAST_SHARE = 0.01
"""Of the drawn area: less is the raster's own coarseness; common practice, no source."""


def check_drawn(drawn_at: datetime, now: datetime, limits: Limits) -> tuple[Finding, ...]:
    """A perimeter drawn too long ago: where the edge is now is modelled, and unknown."""
    limit = limits["perimeter_old_min"]
    minutes = (now - drawn_at).total_seconds() / 60.0
    if minutes <= limit.value:
        return ()
    old = f"{math.ceil(minutes)} min"
    return (
        Finding.against(
            limit,
            code="data_missing",
            level="unknown",
            effect="noted",
            message=(
                f"The fire was last drawn {clock(drawn_at, now)}, {old} ago, over {limit.text()}: its edge now is "
                "modelled, not seen."
            ),
            refers_to="fire",
            value=old,
        ),
    )


def check_beside(beside_m2: float, drawn_m2: float) -> tuple[Finding, ...]:
    """Drawn as burnt where the model burns nothing: that part has no edge in the model."""
    if beside_m2 <= _LEAST_SHARE * drawn_m2:
        return ()
    hectares = beside_m2 / HECTARE
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=(
                f"{hectares:,.{0 if hectares >= 10.0 else 1}f} ha of the drawn fire lie on ground that the model does "
                "not burn (water, rock, unknown fuel or fuel too damp): counted as burnt, its edge may be missing."
            ),
            source="the incident folder",
            refers_to="fuels",
        ),
    )
