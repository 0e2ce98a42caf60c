"""The next hour in every future: how far each runs, which way, and how large the fire is when it begins."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import shapely

from wetline.app.answer import Answer, number
from wetline.growth import farthest_ahead, map_futures, trace_back
from wetline.growth.edge import edge_length_m
from wetline.units import HOUR

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.answer import Outside
    from wetline.attack import Future, Scene
    from wetline.growth import Ring, RunPath

__all__ = ["TOGETHER_DEG", "Runs", "area_of", "directions_of", "grown", "runs_of"]

TOGETHER_DEG = 45.0
"""Within this of a run's bearing another runs the same way, and a place lies ahead; common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Hour:
    """One future: its farthest run, None where nothing moves a cell, and area [m²] and edge [m] before it."""

    run: RunPath | None
    area_m2: float
    edge_m: float


@dataclass(frozen=True, slots=True)
class Runs:
    """Every future's next hour, the middle one first.

    `by_s`: the end of that hour, or of the weather [s after `Scene.start`].
    """

    hours: tuple[_Hour, ...]
    by_s: float

    @property
    def by_future(self) -> tuple[RunPath | None, ...]:
        """The farthest run of each future."""
        return tuple(hour.run for hour in self.hours)

    @property
    def middle(self) -> RunPath | None:
        """That of the middle future."""
        return self.hours[0].run


def area_of(rings: Sequence[Ring]) -> Polygon | MultiPolygon:
    """The burnt area [m] within contours, islands left out."""
    shapes = [shapely.Polygon(ring.xy) for ring in rings]
    outer = [p for p in shapes if p.exterior.is_ccw]
    holes = [p for p in shapes if not p.exterior.is_ccw]
    within = shapely.difference(shapely.union_all(outer), shapely.union_all(holes))
    return cast("Polygon | MultiPolygon", shapely.make_valid(within))


def grown(scene: Scene, rings: Sequence[Ring], t_s: float) -> Polygon | MultiPolygon:
    """What is burnt at `t_s` [s after `Scene.start`] within contours: what was drawn as burnt by then stays so."""
    whole = shapely.union(scene.drawn(t_s), area_of(rings))
    return cast("Polygon | MultiPolygon", shapely.make_valid(whole))


def runs_of(scene: Scene, futures: Sequence[Future], *, workers: int | None = None) -> Runs:
    """Grow each future for an hour from now, or until the weather ends, and trace its farthest run back."""
    by_s = min(scene.now_s + HOUR, scene.until_s)
    short = replace(scene, until_s=by_s)

    def play(future: Future) -> _Hour:
        fields = short.fields(future.variation)
        front = short.front(fields)
        burnt = short.burnt if short.now_s <= 0.0 else grown(short, front.trace(), short.now_s)
        size = burnt.area, edge_length_m(burnt)
        front.advance(by_s)
        found = farthest_ahead([ring.xy for ring in front.trace()], burnt)
        if found is None or found[1] < scene.window.cell_m:
            return _Hour(None, *size)
        run = trace_back(front.arrival_s, fields, burnt, found[0], since_s=scene.now_s, by_s=by_s)
        return _Hour(run, *size)

    return Runs(tuple(map_futures(play, futures, workers=workers)), by_s)


def directions_of(runs: Runs, outside: Outside) -> Answer | None:
    """The varied futures' runs by bearing: those that go with the middle one's, then the others, longest first.

    None without varied futures. `still`: futures in which no edge moves a cell.
    """
    varied = runs.by_future[1:]
    if not varied:
        return None
    left = sorted((run for run in varied if run is not None), key=lambda run: -run.length_m)
    groups: list[Answer] = []
    with_middle: Answer | None = None
    if runs.middle is not None:
        left, with_middle = _together(runs.middle.toward_deg, left, outside)
    while left:
        left, group = _together(left[0].toward_deg, left, outside)
        groups.append(group)
    return {
        "of": len(varied),
        "within_deg": TOGETHER_DEG,
        "with_middle": with_middle,
        "others": groups,
        "still": sum(run is None for run in varied),
    }


def _together(toward_deg: float, runs: Sequence[RunPath], outside: Outside) -> tuple[list[RunPath], Answer]:
    """The runs that go another way, and what is said of those that go within `TOGETHER_DEG` of a bearing."""
    turns = [(run.toward_deg - toward_deg + 180.0) % 360.0 - 180.0 for run in runs]
    same = [(turn, run) for turn, run in zip(turns, runs, strict=True) if abs(turn) <= TOGETHER_DEG]
    rest = [run for turn, run in zip(turns, runs, strict=True) if abs(turn) > TOGETHER_DEG]
    ends = [turn for turn, _ in same] or [0.0]
    longest = max((run for _, run in same), key=lambda run: run.length_m, default=None)
    return rest, {
        "in": len(same),
        "toward_low_deg": outside.bearing(toward_deg + min(ends)) if same else None,
        "toward_high_deg": outside.bearing(toward_deg + max(ends)) if same else None,
        "longest_m": number(longest.length_m, 0) if longest else None,
        "start": outside.position(longest.line[0]) if longest else None,
    }
