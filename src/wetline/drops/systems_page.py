"""The page `docs/tank-systems.md`, made from the shipped systems and their numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.aircraft import aircraft_classes
from wetline.drops.release import Release
from wetline.drops.resolve import resolve
from wetline.drops.systems import drop_classes, parameters

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wetline.drops.release import Input, System

__all__ = ["systems_page"]

_HEAD = """# Tank and door systems

How the load leaves decides how it lies. A class has one or more of these; the first is taken where nothing is said.

| system | what leaves, and how | the crew chooses |
| --- | --- | --- |
| `salvo` | all doors at once, or some of them, each with its own compartment | `doors` |
| `trail` | the same doors one after the other | `doors`, `interval_s` |
| `gate` | a hopper runs out through a gate; flow falls with the head | `opening`, 0.1 to 1 |
| `constant` | a panel holds the flow a metre of track at a coverage setting | `setting` |
| `bucket` | as a gate, through a valve that takes its time to lift | – |
| `belly_tank` | as a gate, from the tank of a helicopter with a snorkel | `opening`, 0.1 to 1 |

- *Head.* A gate lets out Q = C_d A √(2 g h). In a tank of upright walls the flow then falls in a straight line, and an
  opened tank is empty after 2 V/Q (Torricelli). Half a load leaves at √½ of the flow. Real tanks are not quite upright.
- *Part of a load.* `load_l` is on board, `let_go_l` leaves, the rest stays and is told (`stays_on_board_l`). Doors let go whole
  compartments; a gate, a bucket and a constant flow close when enough has left.
- *A time of your own*, `drop_time_s` in the class's file, stands above the numbers below, but for a constant flow. It is
  the time between half-flow points of a full tank through all doors, or of one compartment of a trail, or that in
  which a full bucket or hopper runs out. The shipped twin-engine scooper has one (`docs/aircraft.md`).
- *How long a flow lasts* is the time in which its middle 80 % leaves, over 0.8: for an even flow, that between half-flow
  points. Its range comes from each number moved alone to the ends of its range.
- *Refused*: more than the tank holds or than is on board, doors, settings or systems that are not there, a choice that the
  system does not take, flows under 5 or over 20,000 L/s. *Said*: heights and speeds beyond those of the class, heights
  above every drop test read (315 ft; buckets 153 ft), a load that only the larger tanks of a class hold, an agent that
  makes a full tank heavier than one of water.
- *Not known.* Most numbers are from memory. A constant flow above level 4 is an extrapolation; that the last litres leave
  slower, and that air must come in above, is left out.

## What comes of it

At the class's own load and drop speed, in calm air.

"""


def systems_page() -> str:
    """Each class's systems: the flow that comes of them, and every number with range and source."""
    parts = [_HEAD, _table(("class", "system", "litres", "greatest flow", "lasts"), _flows())]
    classes = aircraft_classes()
    for class_id, systems in drop_classes().items():
        parts.append(f"\n## {classes[class_id].name}\n\n")
        parts.append(_table(("system", "number", "value", "range", "source"), _numbers(class_id, systems)))
    return "".join(parts)


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    titles = tuple(head)
    lines = (titles, ("---",) * len(titles), *rows)
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def _flows() -> Iterable[tuple[str, ...]]:
    classes = aircraft_classes()
    for class_id, systems in drop_classes().items():
        for system in systems:
            settled = resolve(Release(class_id=class_id, system=system))
            yield (
                classes[class_id].name,
                f"`{system}`",
                f"{settled.load_l:,.0f} L",
                f"{settled.flow_l_per_s:,.0f} L/s",
                f"{settled.duration_s:.1f} s ({settled.duration_low_s:.1f} to {settled.duration_high_s:.1f})",
            )


def _numbers(class_id: str, systems: Iterable[System]) -> Iterable[tuple[str, ...]]:
    for system in systems:
        for name, used in parameters(class_id, system).items():
            yield (
                f"`{system}`",
                f"`{name}`",
                f"{used.value:g} {used.unit}".rstrip(),
                _range(used),
                used.source,
            )


def _range(used: Input) -> str:
    return "–" if used.low is None or used.high is None else f"{used.low:g} to {used.high:g}"
