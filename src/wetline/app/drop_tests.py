"""A user's own drop tests: a template to fill, and what a filled table covers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from wetline.aircraft import aircraft_classes
from wetline.app.answer import Answer, envelope, number
from wetline.app.outputs import ready_file, writing
from wetline.drops import LEVELS, DropTest, DropTests, Release, line_m, resolve
from wetline.drops.own_match import HEIGHT_REACH_M, HOW, SPEED_REACH_MPS, WIND_REACH_MPS
from wetline.errors import InputError, Problem
from wetline.store import drop_tests_template, read_drop_tests, write_text_atomic

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from wetline.aircraft import AircraftClass
    from wetline.drops import System

__all__ = ["drop_tests_answer"]

_APART = 0.5
"""Beyond this share of the planning form's line a measured one is remarked: the form's own error."""
_LEAST_M = 10.0
"""Lines shorter than this are not compared."""

_TREES_M = {"ground": None, "canopy": 10.0}

_USE = (
    f"A measured line stands in place of the planning form's where liquid, system, its settings and load (±5 %) are "
    f"those of a release, its wind is within {WIND_REACH_MPS:g} m/s of the tests', and its height and speed lie "
    f"between tests, or up to {HEIGHT_REACH_M:g} m and {SPEED_REACH_MPS:g} m/s beside them. Elsewhere physics "
    "stands, held to no more than was measured at a lower level or with a larger load. Every answer says which it was."
)


def drop_tests_answer(file: Path, *, template: bool, class_id: str | None) -> Answer:
    """With `template`, a file to fill for one class; else what a filled table covers.

    Raises
    ------
    InputError
        For a template without a class that drops or in place of what stands there; for a class without
        `template`; for a table with problems that block, with all of them.
    """
    if template:
        return _to_fill(file, class_id)
    if class_id is not None:
        message = "a table is checked for all its classes at once."
        mend = "Leave out --class, or give --template with it."
        raise InputError.of([Problem(message=message, mend=mend, field="class", value=class_id)])
    return _checked(file)


def _to_fill(file: Path, class_id: str | None) -> Answer:
    classes = {c: cls for c, cls in aircraft_classes().items() if cls.fills != "none"}
    if class_id not in classes:
        message = "a template needs a class that drops."
        mend = f"Give --class: {', '.join(classes)}."
        raise InputError.of([Problem(message=message, mend=mend, field="class", value=class_id)])
    if file.exists():
        message = "something stands there: it may hold measured drops."
        raise InputError.of([Problem(message=message, mend="Name a new file.", file=str(file), field="file")])
    ready_file(file, "file")
    with writing(file, "file"):
        write_text_atomic(file, drop_tests_template(classes[class_id]))
    answer = envelope(incident=None, time=None)
    answer["files"] = [{"kind": "drop_tests_template", "path": str(file)}]
    return answer


def _checked(file: Path) -> Answer:
    tests, warnings = read_drop_tests(file)
    answer = envelope(incident=None, time=None)
    answer["file"] = str(file)
    answer["rows"] = len(tests.rows)
    answer["problems"] = [problem.given() for problem in warnings]
    answer["sets"] = [_set(tests, rows) for rows in _sets(tests.rows)]
    answer["use"] = _USE
    return answer


def _sets(rows: Sequence[DropTest]) -> list[list[DropTest]]:
    """Rows that may be interpolated between: alike but for load, height, speed, wind and level."""
    out: dict[DropTest, list[DropTest]] = {}
    for row in rows:
        key = replace(row.alike, load_l=0.0, height_m=0.0, speed_mps=0.0, wind_mps=None)
        out.setdefault(key, []).append(row)
    return list(out.values())


def _set(tests: DropTests, rows: Sequence[DropTest]) -> Answer:
    """One set: what it spans, what it leaves to physics for a usual drop of the class, what is far off."""
    first, cls = rows[0], aircraft_classes()[rows[0].class_id]
    out: Answer = {"class": first.class_id, "liquid": first.liquid}
    out |= {name: value for name in HOW if (value := getattr(first, name)) is not None}
    out |= {"height_above": first.height_above, "speed_kind": first.speed_kind, "line_kind": first.line_kind}
    for key, name, digits in (
        ("loads_l", "load_l", 0), ("heights_m", "height_m", 1), ("speeds_mps", "speed_mps", 1), ("levels", "level", 2),
    ):  # fmt: skip
        out[key] = sorted(
            {value for row in rows if (value := number(getattr(row, name), digits)) is not None}
        )
    winds = [row.wind_mps for row in rows]
    out["winds_mps"] = sorted({number(wind, 1) for wind in winds if wind is not None})
    out["wind_not_measured"] = sum(wind is None for wind in winds)
    out["drops"] = sum({row.alike: row.drops for row in rows}.values())
    out["usual"] = _usual(tests, first, cls)
    out["far_from_physics"] = [apart for row in rows if (apart := _apart(row, cls)) is not None]
    return out


def _usual(tests: DropTests, row: DropTest, cls: AircraftClass) -> Mapping[str, str]:
    """For each level of every answer: `table`, or why a drop as the class usually flies it is physics."""
    try:
        resolved = resolve(replace(_release(row, cls), canopy_m=_TREES_M[row.height_above]))
    except InputError as error:
        return dict.fromkeys(LEVELS, error.message)
    return {level: tests.why_not(resolved, float(level), kind=row.line_kind) or "table" for level in LEVELS}


def _release(row: DropTest, cls: AircraftClass) -> Release:
    """A load let go as in a test, in calm, from the height and at the speed of the class."""
    return Release(
        class_id=cls.drops_as,
        cls=cls,
        agent=row.liquid,
        load_l=row.load_l if row.doors is None else None,  # what was on board is not told
        system=cast("System | None", row.system),
        setting=row.setting,
        doors=row.doors,
        interval_s=row.interval_s,
        opening=row.opening,
    )


def _apart(row: DropTest, cls: AircraftClass) -> Answer | None:
    """A measured line that is far from the planning form's, in a crosswind as strong as the tests'.

    None where they agree, and for what the form cannot be asked of.
    """
    if row.line_kind != "unbroken" or row.doors is not None:
        return None
    release = replace(_release(row, cls), height_m=row.height_m, speed_mps=row.speed_mps)
    if row.wind_mps is not None:
        release = replace(release, wind_mps=row.wind_mps, wind_from_deg=90.0, heading_deg=0.0)
    try:
        physics_m = line_m(release, row.level).middle
    except InputError as error:
        return {"row": row.row, "level": row.level, "line_m": number(row.line_m), "why": error.message}
    if max(row.line_m, physics_m) < _LEAST_M or abs(row.line_m - physics_m) <= _APART * physics_m:
        return None
    return {
        "row": row.row,
        "level": number(row.level, 2),
        "line_m": number(row.line_m),
        "physics_m": number(physics_m),
    }
