"""Tank and door systems: which a class has, what their numbers are, and the flow each makes.

    salvo       all doors at once, or some of them; each empties its own compartment
    trail       the same doors one after the other
    gate        a hopper runs out through a gate opened in part or in full; flow falls with the head
    constant    a panel holds the flow at a coverage setting
    bucket      as a gate, with a valve that takes its time to lift
    belly_tank  as a gate, under a helicopter with a snorkel

A compartment or tank of upright walls runs out in a time that goes with the root of its load (Torricelli), so
that a partial load leaves in less time at less flow.
"""

from __future__ import annotations

import math
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from wetline import tables
from wetline.drops.flow import MIDDLE, drained, even, joined
from wetline.drops.release import Input
from wetline.units import KNOT, US_GALLON_L

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.aircraft import AircraftClass
    from wetline.drops.flow import Flow
    from wetline.drops.release import System

__all__ = [
    "CHOICES",
    "drop_classes",
    "flow_and_band",
    "flow_l_per_m",
    "flow_of",
    "flow_settings",
    "parameters",
    "systems_of",
]

CHOICES: Mapping[System, tuple[str, ...]] = MappingProxyType(
    {
        "salvo": ("doors",),
        "trail": ("doors", "interval_s"),
        "gate": ("opening",),
        "constant": ("setting",),
        "bucket": (),
        "belly_tank": ("opening",),
    }
)
"""What a crew chooses of each system."""
_GRAVITY_MPS2 = 9.80665
_WAY: Mapping[str, System] = MappingProxyType({"bucket": "bucket", "snorkel": "belly_tank"})


@lru_cache(maxsize=1)
def drop_classes() -> Mapping[str, tuple[System, ...]]:
    """Every class that drops, with its systems, the default first."""
    rows = tables.load("drop/release").rows()
    return MappingProxyType({row["class_id"]: tuple(row["systems"].split()) for row in rows})


def systems_of(class_id: str, cls: AircraftClass | None = None) -> tuple[System, ...]:
    """The systems of a shipped class, or of one that drops like it; the default first.

    Raises
    ------
    KeyError
        For a class that does not drop.
    """
    systems = drop_classes()[class_id]
    if cls is None:
        return systems
    own = tuple(s for s in systems if s in cls.systems)
    first: str | None = _WAY.get(cls.way or "") or next(iter(cls.systems), None)
    return tuple(sorted(own or systems, key=lambda s: s != first))


@lru_cache(maxsize=64)
def parameters(class_id: str, system: System) -> Mapping[str, Input]:
    """The numbers of a class's system by name: those of every class, and the class's own."""
    return MappingProxyType(
        {
            row["name"]: Input(row["value"], row["unit"], "default", row["source"], row["low"], row["high"])
            for row in tables.load("drop/systems").rows()
            if row["class_id"] in {"any", class_id} and system in row["systems"].split()
        }
    )


def flow_settings(class_id: str) -> tuple[float, ...]:
    """The coverage settings on a class's panel; empty where it has none."""
    top = parameters(class_id, "constant").get("setting_max")
    if top is None:
        return ()
    return tuple(float(level) for level in tables.load("drop/levels")["level"] if level <= top.number)


def flow_l_per_m(level: float) -> float:
    """Litres a metre of track that a constant-flow tank lets go at a coverage setting.

    A power of the level through the two published settings: 77 gal/s at 0.5 and 450 gal/s at 4, at
    84 kt (MTDC 0057-2852). Above level 4 it is an extrapolation.
    """
    table = tables.load("drop/flow")
    litres = table["flow_gal_per_s"] * US_GALLON_L / (table["speed_kt"] * KNOT)
    power = math.log(litres[1] / litres[0]) / math.log(table["level"][1] / table["level"][0])
    return float(litres[1] * (level / table["level"][1]) ** power)


def flow_of(system: System, numbers: Mapping[str, float]) -> Flow:
    """The flow of a system whose every number is told, by the names of `parameters` and `CHOICES`.

    Besides those: `on_board_l`, `let_go_l`, `tank_l` and, for a constant flow, `ground_speed_mps`. A measured
    `duration_s` stretches the flow to it.
    """
    told_s = numbers["duration_s"] * numbers["duration_held"] if "duration_s" in numbers else None
    if system in {"salvo", "constant"}:
        half_s = (
            (_emptied_s(numbers) if system == "salvo" else _panel_s(numbers)) if told_s is None else told_s
        )
        return even(numbers["let_go_l"], half_s, numbers["ramp_s"])
    flow = _trail(numbers) if system == "trail" else _run_out(numbers)
    return flow if told_s is None else flow.stretched(told_s / flow.lasting_s)


def _emptied_s(numbers: Mapping[str, float]) -> float:
    """Time [s] in which the load on board runs out: Torricelli's, with the root of how full the tank is."""
    return numbers["empty_s"] * math.sqrt(numbers["on_board_l"] / numbers["tank_l"])


def _panel_s(numbers: Mapping[str, float]) -> float:
    rate = flow_l_per_m(numbers["setting"]) * numbers["ground_speed_mps"] * numbers["flow_held"]
    return numbers["let_go_l"] / rate


def _trail(numbers: Mapping[str, float]) -> Flow:
    doors = round(numbers["doors"])
    door = even(numbers["let_go_l"] / doors, _emptied_s(numbers), numbers["ramp_s"])
    return joined([door.later(k * numbers["interval_s"]) for k in range(doors)])


def _run_out(numbers: Mapping[str, float]) -> Flow:
    return drained(
        numbers["on_board_l"],
        numbers["let_go_l"],
        full_l_per_s=_opened_l_per_s(numbers),
        open_s=numbers["open_s"],
        close_s=numbers["open_s"],
    )


def _opened_l_per_s(numbers: Mapping[str, float]) -> float:
    """Flow [L/s] through the opening at the present head, the valve open as far as it is let."""
    share = numbers.get("opening", 1.0) * numbers.get("opening_held", 1.0)
    if "empty_s" in numbers:
        return share * 2.0 * numbers["on_board_l"] / _emptied_s(numbers)
    if "middle_gal_per_s" in numbers:
        # V/V₀ = (1 − t/T)²: the middle of the load takes this share of the whole time
        low, high = MIDDLE
        taken = math.sqrt(1.0 - low) - math.sqrt(1.0 - high)
        mean = numbers["middle_gal_per_s"] * US_GALLON_L
        fill = numbers["on_board_l"] / (numbers["tested_gal"] * US_GALLON_L)
        return share * 2.0 * mean * taken / (high - low) * math.sqrt(fill)
    head_m = numbers["head_m"] * numbers["on_board_l"] / numbers["tank_l"]
    speed_mps = math.sqrt(2.0 * _GRAVITY_MPS2 * head_m)
    return share * numbers["discharge"] * numbers["gate_m2"] * speed_mps * 1000.0


def flow_and_band(
    system: System, inputs: Mapping[str, Input], numbers: Mapping[str, float]
) -> tuple[Flow, float, float]:
    """The flow, and the range [s] over which the time that it lasts is varied.

    Each input alone to the ends of its range, the changes joined as the root of the sum of their squares,
    in the logarithm of the time.
    """
    ends = tuple(
        (name, end)
        for name, used in inputs.items()
        for end in (used.low, used.high)
        if end is not None and name in numbers and end != numbers[name]
    )
    return _flow_and_band(system, tuple(numbers.items()), ends)


@lru_cache(maxsize=4096)
def _flow_and_band(
    system: System, told: tuple[tuple[str, float], ...], ends: tuple[tuple[str, float], ...]
) -> tuple[Flow, float, float]:
    numbers = dict(told)
    flow = flow_of(system, numbers)
    down = up = 0.0
    for name, end in ends:
        change = math.log(flow_of(system, {**numbers, name: end}).lasting_s / flow.lasting_s)
        down, up = down + min(change, 0.0) ** 2, up + max(change, 0.0) ** 2
    return flow, flow.lasting_s * math.exp(-math.sqrt(down)), flow.lasting_s * math.exp(math.sqrt(up))
