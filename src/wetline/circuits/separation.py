"""Circuits that meet: tracks that cross, and helicopters and scoopers on one water."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from wetline.circuits.racetrack import crossings
from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from wetline.circuits.cycle import Circuit
    from wetline.model import Limits

    Group = tuple[Circuit, ...]

__all__ = ["separation_findings"]

_AT_TARGET_M = 2_000.0
"""Within this of a shared target circuits meet anyway, and the spacing there holds; common practice, no source."""


def separation_findings(circuits: Iterable[Circuit], limits: Limits) -> tuple[Finding, ...]:
    """One caution for each two circuits on different ways that cross or load from one water in two manners.

    Aircraft of one class on one source fly one way and keep their spacing; they are told of as one. A circuit that
    is not laid out counts as the straight between its source and the target. Crossing is judged on the plan
    alone: heights are what the caution asks the crews to agree. Round a target that both share, where all
    circuits meet and `spacing_min` holds, nothing is said.
    """
    groups: dict[tuple[str, str, str], list[Circuit]] = {}
    for circuit in circuits:
        groups.setdefault((circuit.class_id, circuit.source, circuit.source_kind), []).append(circuit)
    out = []
    for one, other in combinations(groups.values(), 2):
        found = _meeting(tuple(one), tuple(other), limits)
        if found is not None:
            out.append(found)
    return tuple(out)


def _meeting(one: Group, other: Group, limits: Limits) -> Finding | None:
    first, second = one[0], other[0]
    names = " and ".join(", ".join(c.aircraft for c in group) for group in (one, other))
    words = []
    if first.water == second.water and first.source_kind != second.source_kind:
        words.append(f"load from {first.water} at a {first.source_kind} and a {second.source_kind}")
    same_way = (first.source, first.source_kind) == (second.source, second.source_kind)
    at = () if same_way else _away_from_target(first, second)
    if at:
        words.append(f"cross at {len(at)} place{'s' if len(at) > 1 else ''} on the plan")
    if not words:
        return None
    limit = limits["orbits_apart_ft"]
    return Finding.against(
        limit,
        code="separation",
        level="caution",
        message=f"{names} {' and '.join(words)}: agree heights {limit.text()} apart or who keeps where.",
        refers_to=", ".join(c.aircraft for c in (*one, *other)),
        position=at[0] if at else None,
    )


def _away_from_target(first: Circuit, second: Circuit) -> tuple[tuple[float, float], ...]:
    """Where two circuits cross, but for what lies round a target that they share."""
    at = crossings(_track_xy(first), _track_xy(second))
    target = first.ends[1]
    if target != second.ends[1]:
        return at
    return tuple(p for p in at if np.hypot(p[0] - target[0], p[1] - target[1]) > _AT_TARGET_M)


def _track_xy(circuit: Circuit) -> NDArray[np.float64]:
    return np.array(circuit.ends) if circuit.way is None else circuit.way.path_xy
