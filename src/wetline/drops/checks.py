"""What a release itself breaks: class minimum and ranges, height under which it strikes, weight, wind, unknowns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.drops.liquid import liquid
from wetline.drops.strike import strike_findings
from wetline.model import Finding
from wetline.units import FOOT, KNOT

if TYPE_CHECKING:
    from wetline.drops.release import Resolved
    from wetline.drops.strike import Strike
    from wetline.model import Limits

__all__ = ["release_findings"]

_TESTED_WING = (315.0, "highest drop test read: 315 ft, tank to ground (Suter 2003, public copy)")
_TESTED_ROTOR = (153.0, "highest bucket test read: 153 ft, tank to ground (MTDC 0057-2864, public copy)")
_L_PER_M3 = 1000.0
_ROUNDING = 1e-6
_ALIKE = 0.005
"""Gel and foam weigh as water does within this."""


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


def _height_known(resolved: Resolved) -> list[Finding]:
    """Whether anybody has dropped from so high: the class, and the tests that were read."""
    out = []
    usual = resolved.cls.get("drop_height_ft")
    if usual is not None and usual.high is not None and resolved.height_m > usual.high * FOOT + _ROUNDING:
        out.append(
            Finding(
                code="data_missing",
                level="caution",
                message="Higher than this class is known to drop: the load thins out, drifts and evaporates more.",
                source=usual.source,
                refers_to=resolved.class_id,
                limit=_metres(usual.high * FOOT),
                value=_metres(resolved.height_m),
            )
        )
    highest_ft, source = _TESTED_ROTOR if resolved.mode == "bucket" else _TESTED_WING
    if resolved.height_m > highest_ft * FOOT:
        out.append(
            Finding(
                code="data_missing",
                level="unknown",
                effect="noted",
                message="No drop test was read from so high: all that is shown is computed alone.",
                source=source,
                refers_to=resolved.class_id,
                limit=_metres(highest_ft * FOOT),
                value=_metres(resolved.height_m),
            )
        )
    return out


def _speed(resolved: Resolved) -> Finding | None:
    usual = resolved.cls.get("drop_speed_kt")
    if usual is None:
        return None
    speed_kt = resolved.speed_mps / KNOT
    low_kt = usual.value if usual.low is None else usual.low
    high_kt = usual.value if usual.high is None else usual.high
    if low_kt - _ROUNDING <= speed_kt <= high_kt + _ROUNDING:
        return None
    return Finding(
        code="data_missing",
        level="caution",
        message=(
            "Slower than this class is known to drop."
            if speed_kt < low_kt
            else "Faster than this class is known to drop."
        ),
        source=usual.source,
        refers_to=resolved.class_id,
        limit=f"{low_kt:g} to {high_kt:g} kt",
        value=f"{speed_kt:.0f} kt",
    )


def _tank(resolved: Resolved) -> Finding | None:
    tank = resolved.cls.get("tank_volume_l")
    if tank is None or resolved.on_board_l <= tank.value + _ROUNDING:
        return None
    return Finding(
        code="data_missing",
        level="caution",
        message="Only the larger tanks of this class hold so much: see that this aircraft does.",
        source=tank.source,
        refers_to=resolved.class_id,
        limit=f"{tank.value:g} L",
        value=f"{resolved.on_board_l:g} L",
    )


def _own_time(resolved: Resolved) -> Finding | None:
    """A panel holds the flow whatever time the class's file gives."""
    own = resolved.cls.get("drop_time_s")
    if own is None or resolved.system != "constant" or resolved.inputs["duration_s"].origin == "given":
        return None
    return Finding(
        code="data_missing",
        level="caution",
        message="The class's own drop time does not count here: the flow is that of the panel's setting.",
        source=own.source,
        refers_to=resolved.class_id,
        limit=f"{own.value:g} s",
        value=f"{resolved.duration_s:.1f} s",
    )


def _weight(resolved: Resolved) -> Finding | None:
    """A full tank of water is what is known to be lifted; land tankers are made for retardant."""
    tank = resolved.cls.get("tank_volume_l")
    if tank is None or resolved.cls.fills == "base":
        return None
    litres = tank.value if tank.high is None else tank.high
    lifted_kg = litres * liquid("water").density_kg_per_m3 / _L_PER_M3
    load_kg = resolved.on_board_l * resolved.liquid.density_kg_per_m3 / _L_PER_M3
    if load_kg <= lifted_kg * (1.0 + _ALIKE):
        return None
    return Finding(
        code="agent",
        level="caution",
        message=f"This load of {resolved.agent} is heavier than the class's fullest load of water.",
        source=f"derived: density of each, and the tank ({tank.source})",
        refers_to=resolved.class_id,
        limit=f"{lifted_kg:.0f} kg",
        value=f"{load_kg:.0f} kg",
    )


def release_findings(resolved: Resolved, struck: Strike, limits: Limits) -> tuple[Finding, ...]:
    """Every finding on the release itself; people, wires and terrain are checked elsewhere."""
    found = [
        _minimum(resolved),
        *_height_known(resolved),
        *strike_findings(struck),
        _speed(resolved),
        _tank(resolved),
        _own_time(resolved),
        _weight(resolved),
        _wind(resolved, limits),
        _canopy(resolved),
    ]
    return tuple(f for f in found if f is not None)
