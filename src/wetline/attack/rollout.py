"""One future played out: the fire grows, loads arrive, line is laid, holds for a while and dries.

Doctrine tactic of this first form: anchor at the heel, both flanks to the head, direct, loads in
order of arrival, each laid on the first free edge from the anchor as it lies at the drop's time.
What dries behind is met first. Loads where a stop stands are not laid.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from wetline.attack.edge_view import borders_unknown, measured_m
from wetline.attack.nouns import RETARDANT_S, Outcome, Sample
from wetline.attack.placing import Walk, laid, place, rings_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.attack.futures import Future
    from wetline.attack.nouns import Placed, PlannedLoad, Refusal, RollSetting
    from wetline.behaviour import FireFields
    from wetline.growth import Front

__all__ = ["burnt_area_m2", "roll", "sample"]

OPENS_WITHIN_S = 1_800.0
"""Line counted as opening again: all that dries within this time of the first of it."""


def burnt_area_m2(front: Front) -> float:
    """Burnt area [m²] within all outlines, every island left out."""
    return sum(ring.area_m2 for ring in front.trace())


def sample(front: Front, fields: FireFields, t_s: float) -> Sample:
    """Measure the race now: lengths on the simplified contour, shares by the lattice's own contour.

    Edge against ground of unknown fuel or height is open: nobody knows that it does not burn.
    """
    edge_m = held_m = barrier_m = retardant_m = unknown_m = 0.0
    for ring in rings_of(front):
        length = ring.lengths_m
        raw = float(length.sum())
        if raw == 0.0:
            continue
        scale, until = measured_m(ring) / raw, ring.held_until_s
        unknown = borders_unknown(ring, fields.grid, fields.unknown) & np.isposinf(until)
        barrier = np.isposinf(until) & ~unknown
        edge_m += raw * scale
        held_m += float(length[(until > t_s) & ~unknown].sum()) * scale
        barrier_m += float(length[barrier].sum()) * scale
        retardant_m += float(length[~np.isposinf(until) & (until > t_s + RETARDANT_S / 2)].sum()) * scale
        unknown_m += float(length[unknown].sum()) * scale
    return Sample(t_s, edge_m, held_m, barrier_m, retardant_m, unknown_m)


def roll(
    setting: RollSetting,
    future: Future,
    front: Front,
    fields: FireFields,
    judge: Callable[[Placed], Refusal | None] | None = None,
) -> Outcome:
    """Play one future to the cut-off.

    Parameters
    ----------
    front
        The fire at or before `setting.now_s`; it is advanced in place.
    judge
        Called for each load placed; returns None to let it fall, or a refusal where a stop stands
        against it.
    """
    out, walk = Outcome(future=future.number), Walk()
    arrives = future.arrives(len(setting.loads))
    samples = [*np.arange(setting.now_s, setting.cut_off_s - 1.0, setting.sample_s), setting.cut_off_s]
    events: list[tuple[float, int, PlannedLoad | None]] = [(float(t), 1, None) for t in samples]
    for load, there in zip(setting.loads, arrives, strict=True):
        t_s = setting.now_s + (load.t_s - setting.now_s) * future.circuit_factor
        if there and t_s <= setting.cut_off_s and load.number not in setting.refused:
            events.append((t_s, 0, replace(load, t_s=t_s)))
    events.sort(key=lambda e: (e[0], e[1], e[2].number if e[2] else 0))
    for t_s, _, event in events:
        front.advance(t_s)
        if event is None:
            _note(out, sample(front, fields, t_s))
        else:
            _drop(event, out, walk, setting, future, front, fields, judge)
    out.avoided, out.reached_edge = walk.avoided, front.reached_edge
    return _close(out, setting, front)


def _drop(
    load: PlannedLoad,
    out: Outcome,
    walk: Walk,
    setting: RollSetting,
    future: Future,
    front: Front,
    fields: FireFields,
    judge: Callable[[Placed], Refusal | None] | None,
) -> None:
    for _ in range(4):  # a load held back here may do good further along
        placed = place(load, front, fields, setting, walk, future.line_factor)
        if placed is None:
            break
        refusal = judge(placed) if judge else None
        if refusal is None:
            out.loads_laid += 1
            laid(placed, walk)
            if placed.coat == placed.option.coats:
                hold_s = placed.option.hold_s
                if hold_s < RETARDANT_S:
                    hold_s *= future.hold_factor
                front.hold(placed.edge.ring, placed.stretch.first, placed.stretch.last, load.t_s + hold_s)
            return
        if refusal.avoid is None:
            out.refused.add(load.number)
            break
        walk.avoid(refusal.avoid)
    out.loads_idle += 1


def _note(out: Outcome, now: Sample) -> None:
    out.samples.append(now)
    if now.open_m < 1.0 and out.closed_s is None:
        out.closed_s, out.loads_to_close = now.t_s, out.loads_laid
    elif now.open_m >= 1.0:
        out.closed_s = out.loads_to_close = None


def _close(out: Outcome, setting: RollSetting, front: Front) -> Outcome:
    out.area_m2 = burnt_area_m2(front)
    drying: list[tuple[float, float]] = []
    for ring in rings_of(front):
        scale = measured_m(ring) / max(float(ring.lengths_m.sum()), 1e-9)
        until = ring.held_until_s
        wet = (until > setting.cut_off_s) & (until < RETARDANT_S / 2)
        drying += zip(until[wet].tolist(), (ring.lengths_m[wet] * scale).tolist(), strict=True)
    if drying:
        first = min(until for until, _ in drying)
        soon = sum(length for until, length in drying if until <= first + OPENS_WITHIN_S)
        out.open_again = (first, soon)
    return out
