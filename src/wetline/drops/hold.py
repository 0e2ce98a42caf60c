"""How long, and how likely, wetted line holds. Not calibrated: no outcome data stands behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wetline.behaviour import attack_class, flame_length_m
from wetline.drops.liquid import AGENTS
from wetline.drops.planning import setting
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import Band, shipped_limits

if TYPE_CHECKING:
    from wetline.model import Limits

__all__ = ["Hold", "hold"]

_CONTROL = {
    "head_doubtful": "Control at the head probably fails at this intensity (Andrews & Rothermel 1982).",
    "head_ineffective": "Control at the head is ineffective at this intensity (Andrews & Rothermel 1982).",
}


@dataclass(frozen=True, slots=True)
class Hold:
    """Chance [0 to 1] that a piece of line stops the fire that reaches it, and minutes it stays wet.

    `minutes` is infinite for retardant, until rain. `calibrated` stays False until outcomes are logged.
    """

    chance: Band
    minutes: Band
    notes: tuple[str, ...] = ()
    calibrated: bool = False


def _minutes(agent: str, limits: Limits) -> Band:
    if agent == "retardant":
        return Band(math.inf, math.inf, math.inf)
    return Band(
        limits.value(f"hold_{agent}_min"),
        limits.value(f"hold_{agent}_low_min"),
        limits.value(f"hold_{agent}_high_min"),
    )


def _chance(coverage_l_per_m2: float, intensity_kw_per_m: float, half_kw_per_m: float) -> float:
    """Logistic in ln c and ln I: ½ at `half_kw_per_m` under 1 L/m². Dry line holds nothing."""
    if coverage_l_per_m2 == 0.0:
        return 0.0
    if intensity_kw_per_m == 0.0:
        return 1.0
    power = setting("chance_intensity_exponent").value
    slope = setting("chance_coverage_exponent").value
    heat = math.log(intensity_kw_per_m) - math.log(half_kw_per_m)
    z = power * heat - slope * math.log(coverage_l_per_m2)
    return 0.5 * (1.0 - math.tanh(0.5 * z))


def hold(
    coverage_l_per_m2: float,
    intensity_kw_per_m: float,
    width_m: float,
    agent: str,
    limits: Limits | None = None,
) -> Hold:
    """Chance and minutes for one piece of line that gets `coverage_l_per_m2` over `width_m`.

    The chance is a weak prior: a logistic with half of the line holding under 1 L/m² at 2 MW/m and
    3 L/m² at 5 MW/m. Spotting over the line and fire round its ends or through gaps are not in it. A
    line narrower than the flame is long is taken as breached (Wilson 1988, abstract). The minutes are
    settings by agent, from memory, and do not shorten with heat or dry air.

    Raises
    ------
    InputError
        For an unknown agent.
    OutsideRangeError
        For a negative or missing coverage, intensity or width.
    """
    if agent not in AGENTS:
        mend = f"Give one of {', '.join(AGENTS)}."
        raise InputError.of(
            [Problem(message=f"unknown agent {agent!r}.", mend=mend, field="agent", value=agent)]
        )
    given = (
        ("coverage_l_per_m2", coverage_l_per_m2, "L/m²"),
        ("intensity_kw_per_m", intensity_kw_per_m, "kW/m"),
        ("width_m", width_m, "m"),
    )
    for field, value, unit in given:
        if not 0.0 <= value < math.inf:
            raise OutsideRangeError(field=field, value=value, low=0, high=math.inf, unit=unit)
    half = setting("chance_intensity_kw_per_m")
    low, middle, high = (
        _chance(coverage_l_per_m2, intensity_kw_per_m, at) for at in (half.low, half.value, half.high)
    )
    notes = ["The chance is an uncalibrated prior; spotting and fire round the ends are not in it."]
    flame_m = float(flame_length_m(intensity_kw_per_m))
    if width_m < flame_m:
        low = middle = 0.0
        notes.append(f"The flame ({flame_m:.1f} m) is longer than the line is wide ({width_m:.1f} m).")
    attack = attack_class(intensity_kw_per_m)
    if attack in _CONTROL:
        notes.append(_CONTROL[attack])
    return Hold(Band(middle, low, high), _minutes(agent, limits or shipped_limits()), tuple(notes))
