"""The incident folder read and checked: one reader for both, every problem named at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wetline.errors import InputError, Problem
from wetline.store.incident import Incident
from wetline.store.reading import Reading

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CheckResult", "check_folder", "read_incident"]


@dataclass(frozen=True, slots=True)
class CheckResult:
    """All that is wrong with a folder, how much of each layer it holds, and what it does not hold.

    `present`: cells with a value on the working grid, hours, aircraft, perimeters or features by
    layer; 0 where the file is there but nothing of it could be read.
    """

    problems: tuple[Problem, ...]
    present: Mapping[str, int]
    absent: tuple[str, ...]

    @property
    def blocked(self) -> bool:
        """Whether any problem blocks the work."""
        return any(problem.level == "error" for problem in self.problems)


def check_folder(folder: Path | str) -> CheckResult:
    """Every problem of a folder at once. Never raises for what a folder may hold."""
    reading = Reading(Path(folder))
    return CheckResult(reading.problems, reading.present, reading.absent)


def read_incident(folder: Path | str) -> Incident:
    """The incident in a folder.

    Raises
    ------
    InputError
        With every problem, errors first, if any of them blocks.
    """
    reading = Reading(Path(folder))
    errors = [p for p in reading.problems if p.level == "error"]
    warnings = tuple(p for p in reading.problems if p.level == "warning")
    if errors or reading.ground is None or reading.fire is None:
        raise InputError.of([*errors, *warnings])
    settings = reading.settings
    return Incident(
        name=settings.name,
        place=settings.place,
        time_zone=settings.time_zone,
        magnetic_variation_deg=settings.magnetic_variation_deg,
        variation_date=settings.variation_date,
        exercise=settings.exercise,
        cut_off=settings.cut_off,
        units=settings.units,
        ground=reading.ground,
        weather=reading.weather,
        fire=reading.fire,
        system=settings.system,
        terrain_wind=settings.terrain_wind,
        errors=settings.errors,
        classes=reading.classes.by_id,
        fleet=reading.fleet,
        drop_tests=reading.drop_tests,
        limits=settings.limits,
        limit_findings=(*settings.limit_findings, *reading.classes.findings),
        frequencies=settings.frequencies,
        folder=Path(folder),
        warnings=warnings,
        present=reading.present,
        absent=reading.absent,
    )
