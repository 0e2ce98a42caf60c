"""What the leaves hold back: k per leaf area, known for young trees under a spray rig alone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.drops.planning import setting
from wetline.drops.varied import varied
from wetline.model import Band, Finding

if TYPE_CHECKING:
    from wetline.drops.release import Resolved

__all__ = ["canopy_findings", "canopy_known", "held_share", "most_held_share"]

_KNOWN_TO = 2.2
"""Leaf area index up to which interception was measured (abstracts of spray-rig tests)."""


def _held(k: float, leaf_area: float) -> float:
    return 1.0 - math.exp(-k * leaf_area)


def canopy_known(resolved: Resolved) -> bool:
    """Whether what the canopy holds can be reckoned: leaf area given, or no trees told of."""
    return resolved.leaf_area is not None or not resolved.canopy_m


def held_share(resolved: Resolved) -> Band:
    """Share [0 to 1] of what comes down that the canopy holds: 1 − exp(−k LAI), k with its range.

    Leaf area unknown under trees: the middle counts nothing, the high end takes `leaf_area_unknown`.
    """
    k = setting("canopy_k")
    if canopy_known(resolved):
        leaf_area = resolved.leaf_area or 0.0
        return Band(_held(k.value, leaf_area), _held(k.low, leaf_area), _held(k.high, leaf_area))
    return Band(0.0, 0.0, most_held_share())


def most_held_share() -> float:
    """The most [0 to 1] that trees of which nobody knows the leaves are taken to hold back."""
    return _held(setting("canopy_k").high, varied("leaf_area_unknown").high)


def canopy_findings(resolved: Resolved) -> tuple[Finding, ...]:
    """Where the interception law is used beyond the leaves that it was measured on."""
    if resolved.leaf_area is None or resolved.leaf_area <= _KNOWN_TO:
        return ()
    finding = Finding(
        code="data_missing",
        level="unknown",
        effect="noted",
        message=(
            "What so many leaves hold back is extrapolated: it was measured on young trees of leaf area 1.2 "
            "to 2.2 alone."
        ),
        source=setting("canopy_k").source,
        refers_to=resolved.class_id,
        limit=f"LAI {_KNOWN_TO:g}",
        value=f"LAI {resolved.leaf_area:g}",
    )
    return (finding,)
