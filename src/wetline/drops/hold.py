"""How likely, and for how long, wetted line holds. Not calibrated: no outcome data stands behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wetline.behaviour import attack_class, flame_length_m
from wetline.drops.canopy import most_held_share
from wetline.drops.drying import Air, evaporation_mm_per_h, flame_flux_kw_per_m2, taken_by_flame_l_per_m2
from wetline.drops.hold_parameters import band_of, drawn, middle
from wetline.drops.liquid import AGENTS
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.model import Band, shipped_limits
from wetline.units import HOUR, MINUTE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from wetline.model import Limits

__all__ = ["Hold", "hold", "wet_minutes"]

_PRIOR = "The chance is an uncalibrated prior."
_CONTROL = {
    "head_doubtful": "Control at the head probably fails at this intensity (Andrews & Rothermel 1982).",
    "head_ineffective": "Control at the head is ineffective at this intensity (Andrews & Rothermel 1982).",
}
_UNITS = (("_l_per_m2", "L/m²"), ("_kw_per_m", "kW/m"), ("_m", "m"))
_FACTORS = {"foam": "foam_factor", "gel": "gel_factor"}


@dataclass(frozen=True, slots=True)
class Hold:
    """Chance [0 to 1] that a piece of line stops the fire that reaches it, and minutes it stays wet enough.

    `because`: the chances that make up `chance`: `wet` (enough water for the intensity), `width`, `gaps`,
    `spotting`. `minutes` is infinite for retardant where no rain is in the weather given. `calibrated`
    stays False until outcomes are logged.
    """

    chance: Band
    minutes: Band
    notes: tuple[str, ...] = ()
    because: Mapping[str, Band] = field(default_factory=dict)
    calibrated: bool = False


def _falls(value: float, ln_half: NDArray[np.float64], power: NDArray[np.float64]) -> NDArray[np.float64]:
    """1/(1 + (value/half)^power): from 1 at 0 through ½ at `half`, given as its logarithm."""
    if value == 0.0:
        return np.ones_like(ln_half)
    return np.asarray(0.5 * (1.0 - np.tanh(0.5 * power * (math.log(value) - ln_half))), float)


def _at_surface(coverage_l_per_m2: float, *, leaves_known: bool) -> NDArray[np.float64]:
    """What arrives under leaves of which nobody knows how much they hold: the middle counts none."""
    held = 0.0 if leaves_known else most_held_share() * drawn("leaves_unknown_share")
    return np.asarray(coverage_l_per_m2 * (1.0 - held) * np.ones_like(drawn("half_factor")), float)


def _wet(
    surface_l_per_m2: NDArray[np.float64], intensity_kw_per_m: float, limits: Limits
) -> NDArray[np.float64]:
    """Logistic in ln c and ln I: ½ at the limit `hold_half_kw_per_m` under 1 L/m². Dry line holds nothing."""
    half = limits.value("hold_half_kw_per_m") * drawn("half_factor")
    if not surface_l_per_m2.all() or limits.value("hold_half_kw_per_m") == 0.0:
        return np.zeros_like(half)
    power = drawn("intensity_power")
    ln_half = np.log(half) + drawn("coverage_power") / power * np.log(surface_l_per_m2)
    return _falls(intensity_kw_per_m, ln_half, power)


def _wide(width_m: float, flame_m: float) -> NDArray[np.float64]:
    """Chance that flames do not reach over the line."""
    contact = drawn("contact_ratio")
    if width_m == 0.0:
        return np.full_like(contact, float(flame_m == 0.0))
    return _falls(flame_m, math.log(width_m) - np.log(contact), drawn("contact_power"))


def _closed(gap_share: float | None, gap_m: float | None) -> NDArray[np.float64]:
    """Chance that fire does not pass through gaps."""
    share = drawn("gap_unknown_share") if gap_share is None else np.float64(gap_share)
    closed = np.asarray((1.0 - share) ** drawn("gap_power"), float)
    return (
        closed
        if gap_m is None
        else closed * _falls(gap_m, np.log(drawn("gap_bridged_m")), drawn("contact_power"))
    )


def _not_over(width_m: float, spotting_m: float | None) -> NDArray[np.float64]:
    """Chance that no ember starts a fire beyond the line."""
    if spotting_m is None:
        return np.asarray(1.0 - drawn("spot_over_share") * drawn("spot_unknown_share"), float)
    far = 0.0 if spotting_m == 0.0 else (spotting_m / math.hypot(spotting_m, width_m)) ** 2
    return np.asarray(1.0 - drawn("spot_over_share") * far, float)


def _by_limits(
    agent: str, limits: Limits, dried: Band | None, notes: tuple[str, ...]
) -> tuple[Band, tuple[str, ...]]:
    """The minutes dried, None without weather, under the incident's own limits.

    Its own `hold_<agent>_min` goes before them; an end of its own alone ends their band.
    """
    names = (f"hold_{agent}_min", f"hold_{agent}_low_min", f"hold_{agent}_high_min")
    value, low, high = (limits.value(name) for name in names)
    own = {name: limits[name].source for name in names if limits[name] != shipped_limits()[name]}
    whose = ", ".join(dict.fromkeys(own.values()))
    if names[0] in own:
        by_drying = "" if dried is None else f"; by drying: {dried.middle:.0f} min"
        return Band(value, low, high), (f"The minutes are this incident's own ({whose}){by_drying}.",)
    said = (f"An end of their band is this incident's own ({whose}).",) if own else ()
    if dried is None:
        return Band(value, low, high), (
            "The minutes are settings from memory: no weather is known.",
            *said,
        )
    most = high if names[2] in own else dried.high
    middle = dried.middle if most is None else min(dried.middle, most)
    least = low if names[1] in own else dried.low
    return Band(middle, None if least is None else min(least, middle), most), (*notes, *said)


def _spent(
    rates: Sequence[NDArray[np.float64]], lasts_min: Sequence[float], amount: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Minutes until an amount is spent at rates [an hour] that follow one another; the last one goes on."""
    left, minutes = amount.copy(), np.zeros_like(amount)
    for rate, lasts in zip(rates, (*lasts_min[:-1], math.inf), strict=True):
        with np.errstate(divide="ignore", invalid="ignore"):
            needs = np.where(left > 0.0, left / rate * (HOUR / MINUTE), 0.0)
        ends = needs <= lasts
        minutes += np.where(ends, needs, lasts)
        if ends.all():
            break
        left = np.where(ends, 0.0, left - rate * lasts / (HOUR / MINUTE))
    return minutes


def _until_rain(airs: Sequence[Air], limits: Limits) -> tuple[Band, tuple[str, ...]]:
    """Retardant works until rain washes it off; rain after the weather given is not known."""
    amount = limits.value("hold_wash_off_mm") * drawn("wash_off_factor")
    falls = [np.full_like(amount, air.rain_mm or 0.0) for air in airs]
    minutes = band_of(
        _spent([*falls, np.zeros_like(amount)], [a.lasts_min for a in airs] + [math.inf], amount)
    )
    notes = []
    if any(air.rain_mm for air in airs):
        notes.append(f"Retardant is taken as washed off by {amount[0]:g} mm of rain (common practice).")
    if any(air.rain_mm is None for air in airs):
        notes.append("Retardant works until rain; whether rain comes is not known: none is counted.")
    elif not notes:
        notes.append("Retardant works until rain; none is in the weather looked at.")
    return minutes, tuple(notes)


def _drying(
    surface_l_per_m2: NDArray[np.float64],
    intensity_kw_per_m: float,
    need_l_per_m2: float,
    agent: str,
    limits: Limits,
    airs: Sequence[Air],
) -> tuple[Band, tuple[str, ...]]:
    """Minutes until what is left on the fuel is too little for the line, or for the flames that will stand at it."""
    share, most = drawn("on_fuel_share"), drawn("fuel_holds_l_per_m2")
    left = limits.value("hold_left_pct") / 100.0 * drawn("left_factor")
    boiled = taken_by_flame_l_per_m2(flame_flux_kw_per_m2(intensity_kw_per_m), drawn("flame_stands_s"))
    wanted = np.maximum(left * np.minimum(share * need_l_per_m2, most), boiled)
    spare = np.maximum(np.minimum(share * surface_l_per_m2, most) - wanted, 0.0)
    factor = drawn(_FACTORS[agent]) if agent in _FACTORS else np.float64(1.0)
    rates = [evaporation_mm_per_h(air) / factor for air in airs]
    longest = limits.value("hold_longest_min")
    at_most = longest * drawn("longest_factor")
    band = band_of(np.minimum(_spent(rates, [air.lasts_min for air in airs], spare), at_most))
    notes = [f"Minutes: drying in the open, {rates[0][0]:.2f} mm/h at first (uncalibrated)."]
    if spare[0] == 0.0:
        notes.append("Too little water stays on the fuel for the flames that come: counted as dry at once.")
    if longest in {band.middle, band.high}:
        notes.append(f"No more than {longest:g} min are counted on, however slowly it dries.")
    if airs[0].cloud_pct is None:
        notes.append("Cloud is not known: middle and low are under a clear sky.")
    if airs[0].sun_deg is None:
        notes.append("The height of the sun is not known: taken as overhead.")
    return band, tuple(notes)


def wet_minutes(
    coverage_l_per_m2: float,
    intensity_kw_per_m: float,
    agent: str,
    limits: Limits | None = None,
    *,
    air: Air | Sequence[Air] | None = None,
    need_l_per_m2: float | None = None,
    leaves_known: bool = True,
) -> tuple[Band, tuple[str, ...]]:
    """Minutes that line stays wet enough, and what is said about them; arguments as for `hold`.

    Raises
    ------
    InputError, OutsideRangeError
        As `hold`.
    """
    need = coverage_l_per_m2 if need_l_per_m2 is None else need_l_per_m2
    _check(
        agent, coverage_l_per_m2=coverage_l_per_m2, intensity_kw_per_m=intensity_kw_per_m, need_l_per_m2=need
    )
    limits = limits or shipped_limits()
    airs = (air,) if isinstance(air, Air) else tuple(air or ())
    if coverage_l_per_m2 == 0.0:
        return Band(0.0, 0.0, 0.0), ("Dry line holds nothing.",)
    if agent == "retardant":
        if airs:
            return _until_rain(airs, limits)
        return Band(math.inf, math.inf, math.inf), ("Retardant works until rain; no weather is known.",)
    if not airs:
        return _by_limits(agent, limits, None, ())
    surface = _at_surface(coverage_l_per_m2, leaves_known=leaves_known)
    return _by_limits(agent, limits, *_drying(surface, intensity_kw_per_m, need, agent, limits, airs))


def _check(agent: str, **amounts: float) -> None:
    if agent not in AGENTS:
        mend = f"Give one of {', '.join(AGENTS)}."
        raise InputError.of(
            [Problem(message=f"unknown agent {agent!r}.", mend=mend, field="agent", value=agent)]
        )
    for name, value in amounts.items():
        if not 0.0 <= value < math.inf:
            unit = next(unit for end, unit in _UNITS if name.endswith(end))
            raise OutsideRangeError(field=name, value=value, low=0, high=math.inf, unit=unit)


def hold(
    coverage_l_per_m2: float,
    intensity_kw_per_m: float,
    width_m: float,
    agent: str,
    limits: Limits | None = None,
    *,
    air: Air | Sequence[Air] | None = None,
    need_l_per_m2: float | None = None,
    gap_share: float | None = 0.0,
    gap_m: float | None = None,
    spotting_m: float | None = None,
    leaves_known: bool = True,
) -> Hold:
    """Chance and minutes for one piece of line that gets `coverage_l_per_m2` at the surface over `width_m`.

    Parameters
    ----------
    air
        What the line lies in: one air, or airs that follow one another. None: the minutes are the limits
        `hold_<agent>_min`. An incident's own limits go before the drying computed.
    need_l_per_m2
        The coverage asked for; the line is wet enough down to `hold_left_pct` of it. None: what it gets.
    gap_share, gap_m
        Share of the line below its level (None: not known), and its longest gap [m].
    spotting_m
        How far embers may start fires. None: not known, which widens the band downwards.
    leaves_known
        False where the coverage is that above trees of which nobody knows what they hold back.

    Raises
    ------
    InputError
        For an unknown agent.
    OutsideRangeError
        For a negative or missing number, or a share outside 0 to 1.
    """
    _check(agent, coverage_l_per_m2=coverage_l_per_m2, intensity_kw_per_m=intensity_kw_per_m, width_m=width_m)
    _check(agent, gap_m=gap_m or 0.0, spotting_m=spotting_m or 0.0)
    if gap_share is not None and not 0.0 <= gap_share <= 1.0:
        raise OutsideRangeError(field="gap_share", value=gap_share, low=0, high=1, unit="")
    limits = limits or shipped_limits()
    minutes, said = wet_minutes(
        coverage_l_per_m2,
        intensity_kw_per_m,
        agent,
        limits,
        air=air,
        need_l_per_m2=need_l_per_m2,
        leaves_known=leaves_known,
    )
    flame_m = float(flame_length_m(intensity_kw_per_m))
    factors = {
        "wet": _wet(_at_surface(coverage_l_per_m2, leaves_known=leaves_known), intensity_kw_per_m, limits),
        "width": _wide(width_m, flame_m),
        "gaps": _closed(gap_share, gap_m),
        "spotting": _not_over(width_m, spotting_m),
    }
    notes = [_PRIOR]
    if width_m < middle("contact_ratio") * flame_m:
        notes.append(f"The flame ({flame_m:.1f} m) reaches over much of the line's width ({width_m:.1f} m).")
    if gap_share is None:
        notes.append("Gaps in the line are not known.")
    if spotting_m is None:
        notes.append("Spotting over the line is not known: it lowers the low end alone.")
    if not leaves_known:
        notes.append("What trees over the line hold back is not known: it lowers the low end alone.")
    attack = attack_class(intensity_kw_per_m)
    if attack in _CONTROL:
        notes.append(_CONTROL[attack])
    return Hold(
        chance=band_of(np.prod(list(factors.values()), axis=0)),
        minutes=minutes,
        notes=(*notes, *said),
        because={name: band_of(chance) for name, chance in factors.items()},
    )
