"""Several aircraft on one source and one target: how many loads an hour fit, who waits, how drops stay even.

Nothing here draws chances: aircraft that keep their cycle. `repair_shop_rate` bounds from below what uneven
cycles make of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from wetline.errors import OutsideRangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Sharing", "repair_shop_rate", "share"]

Bound = Literal["aircraft", "source", "target", "pits"]


@dataclass(frozen=True, slots=True)
class Sharing:
    """Aircraft that work one source and one target.

    `loads_per_s` of all together and what bounds it; `wait_s`: how long each waits in a cycle on the mean;
    `offset_s`: the time between two drops that keeps them even; `slack_s`: how late one may be before the
    next one must wait for it (0 where a queue stands anyway).
    """

    aircraft: int
    loads_per_s: float
    bound: Bound
    wait_s: float
    offset_s: float
    slack_s: float


def share(
    cycles_s: Sequence[float],
    *,
    source_spacing_s: float,
    target_spacing_s: float,
    pits: int | None = None,
    ground_s: float = 0.0,
) -> Sharing:
    """What aircraft with these cycles [s, > 0, waiting left out] make of one source and one target.

    loads/s = min(Σ 1/cycle, 1/source spacing, 1/target spacing, pits/ground time)

    `pits`, `ground_s`: of a base, where an aircraft holds its pit; None pits are no bound. A spacing of 0
    is no bound.

    Raises
    ------
    OutsideRangeError
        If there is no aircraft, or a cycle, spacing or number of pits makes no sense.
    """
    if not cycles_s or min(cycles_s) <= 0.0:
        raise OutsideRangeError(
            field="cycle", value=min(cycles_s, default=0.0), low=0.0, high=math.inf, unit="s"
        )
    for field, value in (("source_spacing_s", source_spacing_s), ("target_spacing_s", target_spacing_s)):
        if not 0.0 <= value < math.inf:
            raise OutsideRangeError(field=field, value=value, low=0.0, high=math.inf, unit="s")
    if pits is not None and pits < 1:
        raise OutsideRangeError(field="pits", value=pits, low=1.0, high=math.inf, unit="")
    most: dict[Bound, float] = {"aircraft": sum(1.0 / cycle for cycle in cycles_s)}
    most["source"] = 1.0 / source_spacing_s if source_spacing_s > 0.0 else math.inf
    most["target"] = 1.0 / target_spacing_s if target_spacing_s > 0.0 else math.inf
    most["pits"] = pits / ground_s if pits is not None and ground_s > 0.0 else math.inf
    bound = min(most, key=most.__getitem__)
    rate = most[bound]
    mean_cycle_s = len(cycles_s) / most["aircraft"]
    tightest_s = max(1.0 / most[name] for name in most if name != "aircraft")
    return Sharing(
        aircraft=len(cycles_s),
        loads_per_s=rate,
        bound=bound,
        wait_s=len(cycles_s) / rate - mean_cycle_s,
        offset_s=1.0 / rate,
        slack_s=max(0.0, 1.0 / rate - tightest_s),
    )


def repair_shop_rate(aircraft: int, away_s: float, service_s: float) -> float:
    """Loads per second of N aircraft at one server where both times are exponential: the M/M/1//N queue.

    `away_s`: mean of the cycle without the service, `service_s`: mean of the service [s, > 0].
    Regular aircraft do better than this; it bounds what bunching may cost.

    References
    ----------
    The finite-source queue ("machine repair"), e.g. Kleinrock 1975, Queueing Systems 1, section 3.8;
    from memory.
    """
    if aircraft < 1 or away_s <= 0.0 or service_s <= 0.0:
        raise OutsideRangeError(
            field="aircraft, away_s, service_s",
            value=min(aircraft, away_s, service_s),
            low=0.0,
            high=math.inf,
            unit="",
        )
    load = service_s / away_s
    weights = [1.0]
    for queued in range(1, aircraft + 1):
        weights.append(weights[-1] * (aircraft - queued + 1) * load)
    return (1.0 - weights[0] / sum(weights)) / service_s
