"""Aircraft of different classes near one target: split by place or by height, never by seconds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from wetline.model import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wetline.model import DropRun

__all__ = ["ASK_APART", "check_separation"]

ASK_APART = "Agree place or 500 ft between classes first."
NEAR_M = 1_000.0
"""Runs nearer than this share one target; common practice, no source."""


def check_separation(runs: Sequence[DropRun]) -> tuple[Finding, ...]:
    """Runs of other classes near each run: nothing plans a split by place or 500 ft yet, which blocks."""
    tracks = {run.id: shapely.LineString([*run.approach, *run.exit_path]) for run in runs}
    out = []
    for run in runs:
        others = [
            other
            for other in runs
            if other.class_id != run.class_id and shapely.dwithin(tracks[run.id], tracks[other.id], NEAR_M)
        ]
        if others:
            out.append(_finding(run, others))
    return tuple(out)


def _finding(run: DropRun, others: Sequence[DropRun]) -> Finding:
    names = list(dict.fromkeys(other.aircraft for other in others))
    verb = "flies" if len(names) == 1 else "fly"
    return Finding(
        code="separation",
        level="unknown",
        effect="blocks",
        message=f"{', '.join(names)} {verb} near it, split by time alone. {ASK_APART}",
        source="common practice, no source",
        refers_to=run.id,
    )
