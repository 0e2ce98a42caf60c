"""The runs of the sheets as files for a receiver, a globe and a map, each with its standing in its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import iso
from wetline.app.marks import facts_of, place_of, said_of
from wetline.app.plan_drop import drop_of
from wetline.cautions import CAUTIONS
from wetline.model import worst
from wetline.store import Mark, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from wetline.app.answer import Answer
    from wetline.app.brief_basis import Basis, Crew
    from wetline.store import Layer

__all__ = ["runs_sheet"]

_STANDING = {
    "stop": "STOP, do not take",
    "unknown": "NOT RELEASED",
    "caution": "CAUTION",
    "clear": "nothing found against it",
}
_NOT_FACTS = frozenset({
    "id", "position", "release_position", "approach", "line", "exit", "findings", "people", "stand_clear_m",
})  # fmt: skip
"""What a mark shows otherwise."""


def runs_sheet(basis: Basis, crews: Iterable[Crew]) -> Sheet:
    """The first run of every aircraft: the ones that the sheets tell, never the rest of the plan."""
    runs = [run for crew in crews for run in crew.first_runs]
    incident = basis.done.situation.incident
    marks: list[Mark] = []
    for run in runs:
        drop = drop_of(run, basis.outside)
        marks += _marks(drop, worst(run.findings), basis.style.clock(run.time))
    layers = dict.fromkeys(mark.layer for mark in marks)
    return Sheet(
        title=f"{incident.name}: drop runs" if runs else f"{incident.name}: no drop run planned",
        time=iso(basis.now) or "",
        cautions=CAUTIONS,
        marks=tuple(mark for layer in layers for mark in marks if mark.layer == layer),
        exercise=incident.exercise,
    )


def _marks(drop: Answer, level: str, clock: str) -> Iterator[Mark]:
    """Release point, approach, line wanted and way out of one run."""
    facts, said = facts_of(drop, leave=_NOT_FACTS) | _nested(drop), said_of(drop["findings"])
    parts: tuple[tuple[Layer, str, Sequence[list[float]]], ...] = (
        ("releases", "release", [drop["release_position"]]),
        ("approaches", "approach", drop["approach"]),
        ("lines", "line", drop["line"]),
        ("exits", "exit", drop["exit"]),
    )
    for layer, what, positions in parts:
        yield Mark(
            layer=layer,
            id=f"{drop['id']} {what}",
            name=f"{drop['id']} {what}, {drop['aircraft']} {clock}, {drop['run_heading_deg']:03.0f}° T",
            level=level,
            standing=_STANDING[level],
            places=tuple(place_of(position) for position in positions),
            facts=facts,
            said=said,
        )


def _nested(drop: Answer) -> dict[str, float | str | None]:
    """What stands under a name of its own in the plan: who must be how far, and who is near."""
    clear, people = drop["stand_clear_m"] or dict.fromkeys(("sides", "ahead", "behind")), drop["people"]
    return {f"stand_clear_{where}_m": metres for where, metres in clear.items()} | {
        f"people_{name}": value for name, value in people.items()
    }
