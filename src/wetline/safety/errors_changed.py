"""Whether an incident takes the fire for more certain than is shipped."""

from __future__ import annotations

from dataclasses import fields

from wetline.growth import Errors
from wetline.model import Finding

__all__ = ["check_errors"]


def check_errors(errors: Errors) -> tuple[Finding, ...]:
    """A caution where wind, moisture or spread may be less far off than is shipped: bands are narrower then."""
    shipped = Errors()
    narrower = [
        f"{entry.name} {getattr(errors, entry.name):g} (shipped {getattr(shipped, entry.name):g})"
        for entry in fields(errors)
        if getattr(errors, entry.name) < getattr(shipped, entry.name)
    ]
    if not narrower:
        return ()
    return (
        Finding(
            code="limit_changed",
            level="caution",
            message=f"Bands and futures are narrower than shipped: {', '.join(narrower)} in [fire.errors].",
            source="incident.toml",
            refers_to="bands",
        ),
    )
