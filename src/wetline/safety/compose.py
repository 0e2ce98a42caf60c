"""Every check of one run, in one place: the same for a hand-made plan and for the search's."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from wetline.safety.conditions import check_conditions, check_daylight, check_intensity
from wetline.safety.obstacles import check_wires
from wetline.safety.people import check_people
from wetline.safety.waterway import check_agent, check_avoid, check_waterway

if TYPE_CHECKING:
    from wetline.model import DropRun
    from wetline.safety.context import SafetyContext

__all__ = ["check_run", "is_stopped"]


def check_run(run: DropRun, context: SafetyContext) -> DropRun:
    """The run with the findings of every check added to those it already carries."""
    people, about_people = check_people(run, context)
    findings = (
        *run.findings,
        *about_people,
        *check_wires(run, context),
        *check_avoid(run, context),
        *check_waterway(run, context),
        *check_agent(run, context),
        *check_conditions(run, context),
        *check_intensity(run, context),
        *check_daylight(run, context),
    )
    return replace(run, people=people, findings=findings)


def is_stopped(run: DropRun) -> bool:
    """Whether a `stop` stands against the run: it is held back, whatever it would bring."""
    return any(f.level == "stop" for f in run.findings)
