"""Which source an aircraft works, which one it goes to when that is lost, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wetline.aircraft import load_rule
from wetline.circuits.cycle import Circuit, circuit
from wetline.circuits.legs import EMPTY, LOADED, quantity_of
from wetline.circuits.pattern import pattern_of
from wetline.circuits.sources import Source, air_at_m, fit
from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wetline.aircraft import Aircraft, AircraftClass
    from wetline.circuits.legs import Seen
    from wetline.ground import Ground
    from wetline.model import Limits
    from wetline.weather import Hour

    Point = tuple[float, float]

__all__ = ["BestSources", "best_sources", "why_primary"]

_TELLING_S = 2.0
"""A part that differs by less is no reason to choose a source; common practice, no source."""
_TELLING_L = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BestSources:
    """The source with the most litres an hour and the next best, on other water where there is one.

    `refused`: why the others are out, as (source id, words).
    """

    primary: Circuit | None
    alternate: Circuit | None
    refused: tuple[tuple[str, str], ...] = ()


def _most_litres_per_hour(
    aircraft: Aircraft,
    cls: AircraftClass,
    source: Source,
    target: Point,
    *,
    hour: Hour | None,
    limits: Limits,
) -> float:
    """No circuit on a source gives more: everything slow in it flown once, the rest at the best ground speed."""
    if source.strip is None:
        return float("inf")
    pattern = pattern_of(cls, limits, density_altitude_m=air_at_m(source.elevation_m, hour))
    load = load_rule(cls, aircraft, None)
    if pattern is None or load is None:
        return float("inf")
    best_mps = max(quantity_of(cls, *names).si() for names in (LOADED, EMPTY))
    best_mps += 0.0 if hour is None else hour.wind_mps
    middle = np.mean(source.strip, axis=0)
    distance_m = float(np.hypot(*(np.array(target) - middle)))
    slow_m, slow_s = pattern.least_slow()
    return load.most_l * 3600.0 / (slow_s + max(0.0, 2.0 * distance_m - slow_m) / best_mps)


def best_sources(
    aircraft: Aircraft,
    cls: AircraftClass,
    sources: Iterable[Source],
    target: Point,
    *,
    hour: Hour | None,
    ground: Ground,
    limits: Limits,
    seen: Seen | None = None,
) -> BestSources:
    """The sources of one aircraft by litres an hour of the whole circuit.

    A source that a stop stands on is out; one that only waits for a look is in and marked; one that
    is blocked comes after all others. Equal ones go by id. Sources that can be neither the best
    nor the best on other water are not worked out.
    """
    refused: list[tuple[str, str]] = []
    fitting: list[tuple[float, Source]] = []
    for source in sources:
        why, _ = fit(source, aircraft, cls)
        if why is not None:
            refused.append((source.id, why))
            continue
        most = _most_litres_per_hour(aircraft, cls, source, target, hour=hour, limits=limits)
        fitting.append((most, source))
    ranked: list[Circuit] = []
    for most, source in sorted(fitting, key=lambda pair: -pair[0]):
        first, second = _two_best(ranked)
        if second is not None and not second.blocked and most < second.litres_per_hour.middle:
            if first is None or first.water != second.water:
                break
            if source.name == first.water:
                continue
        try:
            ranked.append(circuit(aircraft, cls, source, target, hour, ground, limits, seen=seen))
        except OutsideRangeError as error:
            refused.append((source.id, f"not flyable: {error.message}"))
    primary, alternate = _two_best(ranked)
    return BestSources(primary=primary, alternate=alternate, refused=tuple(refused))


def _two_best(found: Iterable[Circuit]) -> tuple[Circuit | None, Circuit | None]:
    """The best circuit, and the best one on other water, else the second best."""
    ranked = sorted(found, key=lambda c: (c.blocked, -c.litres_per_hour.middle, c.source))
    if not ranked:
        return None, None
    others = [c for c in ranked[1:] if c.water != ranked[0].water] + ranked[1:]
    return ranked[0], others[0] if others else None


def why_primary(primary: Circuit, alternate: Circuit | None) -> str:
    """In words, what the better source has over the next best: where the time of the circuit is won."""
    if alternate is None:
        return f"no source beside {primary.source} fits"
    if alternate.blocked and not primary.blocked:
        return f"something unknown blocks {alternate.source}"
    won_s = {
        "on the legs": _flight_s(alternate) - _flight_s(primary),
        "climbing and descending": _slopes_s(alternate) - _slopes_s(primary),
        "filling, turning, joining and dropping": _rest_s(alternate) - _rest_s(primary),
        "on the ground": alternate.ground_s - primary.ground_s,
    }
    told = [
        f"{abs(seconds):.0f} s {'less' if seconds > 0.0 else 'more'} {where}"
        for where, seconds in sorted(won_s.items(), key=lambda item: -item[1])
        if abs(seconds) > _TELLING_S
    ]
    more_l = primary.litres_per_load - alternate.litres_per_load
    if abs(more_l) > _TELLING_L:
        told.append(f"{abs(more_l):.0f} L {'more' if more_l > 0.0 else 'less'} a load")
    nearer_km = (alternate.distance_m - primary.distance_m) / 1000.0
    away = f"{abs(nearer_km):.1f} km {'nearer' if nearer_km > 0.0 else 'farther'} than {alternate.source}"
    return f"{away}; {'; '.join(told) or 'the circuits hardly differ'}"


def _flight_s(found: Circuit) -> float:
    return sum(leg.distance_m / leg.ground_speed_mps for leg in found.legs)


def _slopes_s(found: Circuit) -> float:
    return sum(leg.climb_s + leg.descent_s for leg in found.legs)


def _rest_s(found: Circuit) -> float:
    return found.source_s + found.target_s
