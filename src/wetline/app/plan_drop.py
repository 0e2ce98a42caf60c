"""A drop run of the plan, as JSON-ready values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wetline.app.answer import Answer, Outside, iso, number, spread

if TYPE_CHECKING:
    from wetline.attack import HeldBack
    from wetline.model import Band, DropRun

__all__ = ["drop_of", "held_back_of"]

_GRAVE = frozenset({"stop", "unknown"})


def drop_of(run: DropRun, outside: Outside) -> Answer:
    """One run that may be flown."""
    people = run.people
    return {
        "id": run.id,
        "order": run.order,
        "time": iso(run.time),
        "aircraft": run.aircraft,
        "class": run.class_id,
        "source": run.source,
        "edge_part": run.edge_part,
        "position": outside.position(run.position),
        "release_position": outside.position(run.release_position),
        "run_heading_deg": outside.bearing(run.run_heading_deg),
        "approach": outside.line(run.approach),
        "line": outside.line(run.line),
        "exit": outside.line(run.exit_path),
        "height_above_canopy_m": number(run.height_above_canopy_m, 1),
        "height_amsl_m": number(run.height_amsl_m, 0),
        "speed_mps": number(run.speed_mps, 1),
        "agent": run.agent,
        "load_l": number(run.load_l, 0),
        "coverage_level": run.coverage_level,
        "coat": run.coat,
        "coats": run.coats,
        **spread("line_m", run.line_m, 0),
        "line_from": run.line_from,
        "line_notes": list(run.line_notes),
        "closes_m": number(run.closes_m, 0),
        "needs_look": run.needs_look,
        **spread("hold_min", run.hold_min, 0),
        "hold_until_rain": math.isinf(run.hold_min.middle),
        **({} if run.hold_chance is None else spread("hold_chance", run.hold_chance, 2)),
        "hold_because": list(run.hold_notes),
        **_maybe("drift_right_m", run.drift_right_m),
        **_maybe("drift_along_m", run.drift_along_m),
        **_maybe("release_early_m", run.release_early_m),
        **_maybe("release_right_m", run.release_right_m),
        **_maybe("line_here_m", run.line_here_m),
        **_maybe("vertical_from_m", run.vertical_from_m),
        "stand_clear_m": _stand_clear(run),
        **_maybe("intact_share", run.intact_share, 2),
        **_maybe("join_m", run.join_m),
        "canopy_m": number(run.canopy_m, 0),
        "panel": run.panel,
        "ground": list(run.ground),
        "flame_length_m": number(run.flame_length_m, 2),
        "intensity_kw_per_m": number(run.intensity_kw_per_m, 0),
        "people": {
            "confirmed_by": people.confirmed_by if people else None,
            "until": iso(people.until) if people else None,
            "nearest_m": number(people.nearest_m, 0) if people else None,
            "nearest_to": people.nearest_to if people else None,
        },
        "findings": outside.findings(run.findings),
    }


def _maybe(key: str, band: Band | None, digits: int = 0) -> Answer:
    """A band that may not be known at all: three nulls then."""
    return (
        spread(key, band, digits)
        if band is not None
        else {key: None, f"{key}_low": None, f"{key}_high": None}
    )


def _stand_clear(run: DropRun) -> Answer | None:
    clear = run.stand_clear
    if clear is None:
        return None
    return {
        "sides": number(clear.sides_m, 0),
        "ahead": number(clear.ahead_m, 0),
        "behind": number(clear.behind_m, 0),
    }


def held_back_of(held: HeldBack, outside: Outside) -> Answer:
    """One run that a stop stands against, and what alone releases it."""
    run = held.run
    return {
        "drop": run.id,
        "time": iso(run.time),
        "aircraft": run.aircraft,
        "position": outside.position(run.position),
        "edge_part": run.edge_part,
        "line_m": number(run.line_m.middle, 0),
        "findings": outside.findings(f for f in run.findings if f.level in _GRAVE),
        "release": held.release,
        "instead": held.instead,
    }
