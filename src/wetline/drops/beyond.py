"""Where a release lies beyond the loads to which the planning form was fitted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.drops.relations import FEATURES, features, fitted_range
from wetline.model import Finding

if TYPE_CHECKING:
    from wetline.drops.release import Resolved

__all__ = ["beyond_findings"]

_A_LITTLE = 1.05
"""So far beyond an end the relations say what they say at it."""
_TOLD = {
    "flow": ("flow on each metre flown", "L/m", "both"),
    "height": ("height", "m", "both"),
    "speed": ("airspeed", "m/s", "both"),
    "thirst": ("dryness of the air", "kPa", "high"),
    "wind": ("wind", "m/s", "high"),
}
"""Features whose range matters; less wind and moister air than in any case fitted take away, and no more."""


def beyond_findings(resolved: Resolved) -> tuple[Finding, ...]:
    """One for each feature that the planning form has to be carried beyond its fit for."""
    numbers = dict(zip(FEATURES, features([resolved])[0].tolist(), strict=True))
    out = []
    for feature, (name, unit, ends) in _TOLD.items():
        low, high = fitted_range()[feature]
        value = numbers[feature]
        if value > high * _A_LITTLE or (ends == "both" and value * _A_LITTLE < low):
            limit = f"{low:.3g} to {high:.3g} {unit}" if ends == "both" else f"at most {high:.3g} {unit}"
            out.append(
                Finding(
                    code="data_missing",
                    level="unknown",
                    effect="noted",
                    message=(
                        f"The planning form was never fitted to this {name}: its numbers are carried beyond "
                        "what they were made from. The method droplets computes the load itself."
                    ),
                    source="docs/drop-model.md: range of the loads that the form was fitted to",
                    refers_to=resolved.class_id,
                    limit=limit,
                    value=f"{value:.3g} {unit}",
                )
            )
    return tuple(out)
