"""What one load does on the ground, as an answer to what a crew asks."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, cast

from wetline.app.answer import Answer, envelope, number, spread
from wetline.app.drop_agent import agent_keys, carried_findings
from wetline.app.drop_ask import DropAsk, heights_asked, target_asked
from wetline.app.drop_keys import below_keys, finding_keys, input_keys, methods_keys, pattern_keys, rung_keys
from wetline.app.drop_release import release_place
from wetline.app.outputs import ready_file, writing
from wetline.drops import (
    IF_CAUGHT,
    Air,
    Release,
    flame_findings,
    height_ladder,
    hold,
    need,
    overlap_m,
    pattern,
    resolve,
    speed_ladder,
    stack_for,
)
from wetline.drops import picture as draw_pattern
from wetline.model import shipped_limits
from wetline.units import COVERAGE_LEVEL

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wetline.drops import Agent, DropResult, DropTests, Method, Need, Resolved, Stack
    from wetline.errors import Problem
    from wetline.model import Finding, Limits

__all__ = ["DropAsk", "drop_answer"]

_CHOSEN = "chosen: the surest line at the level needed"


@dataclass(frozen=True, slots=True)
class _Wanted:
    """The level needed and why, the loads that reach it, and the release chosen for them."""

    release: Release
    level: float | None
    need: Need | None
    stack: Stack | None


def drop_answer(
    class_id: str, *, agent: str | None, given: Mapping[str, float | str | None], asked: DropAsk | None = None
) -> Answer:
    """The ground pattern of one load; headings and winds true, as given. Without an agent, water.

    Raises
    ------
    InputError, OutsideRangeError
        As `wetline.drops.pattern`, or for what cannot be asked.
    """
    asked = asked or DropAsk()
    asked.check()
    if asked.picture is not None:
        ready_file(asked.picture, "picture", ending=".png")
    tests, remarks = _tests(asked)
    release = Release(
        class_id=class_id,
        agent=cast("Agent", agent or "water"),
        drop_tests=tests,
        **cast("dict[str, Any]", dict(given)),
    )
    limits = shipped_limits()
    wanted = _wanted(release, asked)
    resolved = resolve(wanted.release)
    result, both = _results(wanted, asked, limits)
    findings = [*result.findings, *carried_findings(resolved), *_flame(resolved, asked, limits)]
    answer = envelope(
        incident=None,
        time=None,
        seed=None if asked.method == "planning" else asked.seed,
        band="80 %, from the ranges in inputs",
    )
    answer |= _line_keys(wanted, result, asked)
    answer |= pattern_keys(result)
    answer |= methods_keys(result.by, both)
    if tests is not None:
        answer["drop_tests"] = {"file": tests.file, "problems": [remark.given() for remark in remarks]}
    if asked.target is not None:
        answer |= release_place(result, target_asked(asked.target), heading_deg=release.heading_deg)
    answer |= below_keys(result.strike)
    answer["agent"] = agent_keys(resolved)
    answer["if_caught"] = list(IF_CAUGHT)
    answer |= _ladders(wanted, asked, limits)
    answer |= input_keys(result.inputs)
    _tell_origins(answer, release, wanted.release, agent)
    answer["findings"] = finding_keys(findings)
    answer["method"] = result.method
    if asked.picture is not None:
        with writing(asked.picture, "picture"):
            draw_pattern(replace(result, findings=tuple(findings)), asked.picture, both[1] if both else None)
        answer["picture"] = str(asked.picture)
    answer["exit_code"] = 3 if any(f.level == "stop" for f in findings) else 0
    return answer


def _results(
    wanted: _Wanted, asked: DropAsk, limits: Limits
) -> tuple[DropResult, tuple[DropResult, DropResult] | None]:
    """By the method asked for; where both are, the planning form's, with form and drops side by side.

    Own tests are no method: side by side both stand without them.
    """

    def by(method: Method, release: Release) -> DropResult:
        return pattern(release, limits, method=method, level=wanted.level, seed=asked.seed)

    if asked.method != "both":
        return by(asked.method, wanted.release), None
    form, alone = by("planning", wanted.release), replace(wanted.release, drop_tests=None)
    return form, (form if alone == wanted.release else by("planning", alone), by("droplets", alone))


def _tests(asked: DropAsk) -> tuple[DropTests | None, tuple[Problem, ...]]:
    """The user's own drop tests and what stands against their table."""
    if asked.drop_tests is None:
        return None, ()
    from wetline.store import read_drop_tests  # noqa: PLC0415  the readers of a folder, only for a table

    return read_drop_tests(asked.drop_tests)


def _wanted(release: Release, asked: DropAsk) -> _Wanted:
    """What is needed; the flow setting and a bucket's speed are chosen for it unless given."""
    wants = None
    if asked.fuel is not None:
        wants = need(
            asked.fuel,
            asked.intensity_kw_per_m,
            agent=release.agent,
            canopy_m=release.canopy_m,
            leaf_area=release.leaf_area,
        )
    level = asked.level if wants is None else wants.level
    if level is None:
        return _Wanted(release, None, None, None)
    stack = stack_for(release, level)
    return _Wanted(release if stack is None else stack.release, level, wants, stack)


def _line_keys(wanted: _Wanted, result: DropResult, asked: DropAsk) -> Answer:
    """The level needed, one load's line there, the loads that make it, how they join, how long it holds."""
    if wanted.level is None:
        return {"level": None}
    at, stack = result.at(wanted.level), wanted.stack
    out: Answer = {
        "level": wanted.level,
        "coverage_l_per_m2": number(wanted.level * COVERAGE_LEVEL, 3),
        "need": None if wanted.need is None else _need_keys(wanted.need),
        **spread("line_m", at.line_m, 1),
        **spread("width_m", at.width_m, 1),
        **spread("area_m2", at.area_m2, 0),
        "loads": None,
        "stack_line_m": None,
        "overlap_m": None,
    }
    if stack is not None:
        out |= {"loads": stack.loads, **spread("stack_line_m", stack.line_m, 1)}
        out |= {"stack_line_from": stack.line_from, "stack_line_notes": list(stack.notes)}
        # n loads on one place reach the level where one reaches its nth part
        out["overlap_m"] = number(overlap_m(wanted.release, wanted.level / stack.loads))
        out |= _hold_keys(wanted, result, asked, stack)
    return out


def _need_keys(wants: Need) -> Answer:
    return {
        "level": wants.level,
        "level_low": wants.level_low,
        "level_high": wants.level_high,
        "base_level": wants.base_level,
        "raised": wants.raised,
        "fuel_model": wants.fuel_model,
        "description": wants.description,
        "status": wants.status,
        **(
            {"above_canopy_l_per_m2": None}
            if wants.above_canopy_l_per_m2 is None
            else spread("above_canopy_l_per_m2", wants.above_canopy_l_per_m2, 2)
        ),
        "notes": list(wants.notes),
    }


def _hold_keys(wanted: _Wanted, result: DropResult, asked: DropAsk, stack: Stack) -> Answer:
    """How likely and how long the line holds against the intensity given; nothing without one."""
    if asked.intensity_kw_per_m is None or wanted.level is None:
        return {}
    width_m = result.at(wanted.level).width_m.middle
    if stack.loads > 1:
        width_m = pattern(wanted.release, level=wanted.level / stack.loads).at(
            wanted.level / stack.loads
        ).width_m.middle  # fmt: skip
    holds = hold(
        wanted.level * COVERAGE_LEVEL,
        asked.intensity_kw_per_m,
        width_m,
        wanted.release.agent,
        shipped_limits(),
        air=_air(wanted.release),
        gap_share=None,
        leaves_known=result.fall.canopy_known,
    )
    return {
        "hold": {
            **spread("chance", holds.chance, 2),
            **spread("minutes", holds.minutes, 0),
            "because": {name: spread("chance", band, 2) for name, band in holds.because.items()},
            "until_rain": holds.minutes.middle == float("inf"),
            "notes": list(holds.notes),
        }
    }


def _air(release: Release) -> Air | None:
    """The air that dries the line, where all of it is given; sun and cloud are not known here."""
    temperature, humidity, wind = release.temperature_c, release.humidity_pct, release.wind_mps
    if temperature is None or humidity is None or wind is None:
        return None
    return Air(temperature_c=temperature, humidity_pct=humidity, wind_mps=wind, sun_deg=None, cloud_pct=None)


def _flame(resolved: Resolved, asked: DropAsk, limits: Limits) -> tuple[Finding, ...]:
    if asked.intensity_kw_per_m is None:
        return ()
    return flame_findings(asked.intensity_kw_per_m, resolved.agent, limits, refers_to=resolved.class_id)


def _ladders(wanted: _Wanted, asked: DropAsk, limits: Limits) -> Answer:
    """The same loads from other heights and at other airspeeds: each of n carries its nth of the level.

    By the planning form whatever the method asked for: a ladder of drops would take many seconds.
    """
    level = wanted.level
    if level is not None and wanted.stack is not None:
        level /= wanted.stack.loads
    heights = () if asked.heights is None else heights_asked(asked.heights)
    by_height = height_ladder(wanted.release, limits, level=level, heights_m=heights)
    by_speed = speed_ladder(wanted.release, limits, level=level)
    return {
        "heights": [rung_keys(rung, level) for rung in by_height.rungs],
        "speeds": [rung_keys(rung, level) for rung in by_speed.rungs],
        "not_flown": {
            "heights_m": [number(height) for height in by_height.not_flown],
            "speeds_mps": [number(speed) for speed in by_speed.not_flown],
        },
    }


def _tell_origins(answer: Answer, given: Release, flown: Release, agent: str | None) -> None:
    """Mark what was not given: the default agent, and what was chosen for the level needed."""
    about = answer["inputs_from"]
    if agent is None:
        about["agent"] |= {"origin": "default", "source": "water where none is given"}
    for name in (f.name for f in fields(Release)):
        if name in about and getattr(given, name) != getattr(flown, name):
            about[name] |= {"origin": "computed", "source": _CHOSEN}
