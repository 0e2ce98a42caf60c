"""What a release itself breaks: class minimum, the height under which it strikes, wind, unknowns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.drops.strike import strike_findings
from wetline.model import Finding
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from wetline.drops.release import Resolved
    from wetline.drops.strike import Strike
    from wetline.model import Limits

__all__ = ["release_findings"]


def _metres(height_m: float) -> str:
    return f"{height_m:.1f} m ({height_m / FOOT:.0f} ft)"


def _minimum(resolved: Resolved) -> Finding | None:
    least = resolved.cls.get("drop_height_min_ft")
    if least is None:
        return Finding(
            code="height_min",
            level="unknown",
            effect="noted",
            message="No minimum height is known for this class: ask the crew for theirs.",
            source="no published minimum read for buckets and helicopters",
            refers_to=resolved.class_id,
            value=_metres(resolved.height_m),
        )
    if resolved.height_m >= least.value * FOOT:
        return None
    return Finding(
        code="height_min",
        level="stop",
        message="The tank is below the least height of its class above canopy or obstacle.",
        source=least.source,
        refers_to=resolved.class_id,
        limit=_metres(least.value * FOOT),
        value=_metres(resolved.height_m),
    )


def _wind(resolved: Resolved, limits: Limits) -> Finding | None:
    if not resolved.wind_known:
        return Finding(
            code="wind",
            level="unknown",
            effect="noted",
            message="No wind is given: the pattern is that of calm air, drift and thinning are not known.",
            source="common practice, no source",
            refers_to=resolved.class_id,
        )
    wind_kt = (resolved.wind_along_mps**2 + resolved.wind_right_mps**2) ** 0.5 / KNOT
    words = (
        ("wind_stop_kt", "stop", "The wind over the fire stops drops."),
        ("wind_poor_kt", "caution", "In this wind drops scatter and control of them is lost."),
        ("wind_caution_kt", "caution", "In this wind drops drift and thin out."),
    )
    for name, level, message in words:
        if wind_kt >= limits.value(name):
            return Finding(
                code="wind",
                level="stop" if level == "stop" else "caution",
                message=message,
                source=limits[name].source,
                refers_to=resolved.class_id,
                limit=limits[name].text(),
                value=f"{wind_kt:.0f} kt",
            )
    return None


def _canopy(resolved: Resolved) -> Finding | None:
    if not resolved.canopy_m or resolved.leaf_area is not None:
        return None
    return Finding(
        code="data_missing",
        level="unknown",
        effect="noted",
        message=(
            "Trees stand below but their leaf area is not known: what they hold back is not counted, and "
            "less than shown reaches the ground."
        ),
        source="no source: interception is known for LAI 1.2 to 2.2 only",
        refers_to=resolved.class_id,
        value=f"{resolved.canopy_m:g} m",
    )


def release_findings(resolved: Resolved, struck: Strike, limits: Limits) -> tuple[Finding, ...]:
    """Every finding on the release itself; people, wires and terrain are checked elsewhere."""
    found = [_minimum(resolved), *strike_findings(struck), _wind(resolved, limits), _canopy(resolved)]
    return tuple(f for f in found if f is not None)
