"""Every error that Wetline raises on purpose, and what each means to a caller.

    WetlineError                exit 1, HTTP 500   our fault unless a subclass says otherwise
    ├── InputError              exit 2, HTTP 422   what was given cannot be used; carries problems
    │   ├── OutsideRangeError   exit 2, HTTP 422   a value outside a model's fitted range
    │   └── NotFlownError       exit 2, HTTP 422   a run against which the wind is too strong
    └── SolverError             exit 1, HTTP 500   a kernel broke one of its own invariants

An error carries data: a list of `Problem`, each naming file, layer, row, field, value, limit and
the mend, so that a command, a page and a test all read the same thing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["InputError", "NotFlownError", "OutsideRangeError", "Problem", "SolverError", "WetlineError"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong with what was given, where it stands, and how to mend it.

    `level`: `error` blocks the work, `warning` does not.
    `row`: zero-based feature or data row, as counted in the file.
    `value`, `limit`: as text, with their unit.
    """

    message: str
    mend: str
    level: Literal["error", "warning"] = "error"
    file: str | None = None
    layer: str | None = None
    row: int | None = None
    field: str | None = None
    value: str | None = None
    limit: str | None = None

    def given(self) -> dict[str, str | int]:
        """Every field that is known, by name: the one JSON shape of a problem."""
        return {
            name: value for name in self.__dataclass_fields__ if (value := getattr(self, name)) is not None
        }

    def sentence(self) -> str:
        """The problem in one line: where, what, and the mend."""
        where = ", ".join(
            part
            for part in (
                self.file,
                self.layer and f"layer {self.layer}",
                None if self.row is None else f"row {self.row}",
                self.field and f"field {self.field}",
            )
            if part
        )
        return f"{where}: {self.message} {self.mend}" if where else f"{self.message} {self.mend}"


class WetlineError(Exception):
    """The root of the tree. Exit code 1."""

    kind = "internal"
    exit_code = 1

    def __init__(self, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.problems = tuple(problems)


class InputError(WetlineError):
    """What was given cannot be used. Exit code 2."""

    kind = "input"
    exit_code = 2

    @classmethod
    def of(cls, problems: Sequence[Problem]) -> InputError:
        """One error out of many problems; the first one heads the message."""
        more = f" ({len(problems) - 1} more)" if len(problems) > 1 else ""
        return cls(problems[0].sentence() + more, problems)


class OutsideRangeError(InputError):
    """A value outside the range for which a model was fitted: never clamped in silence."""

    kind = "outside_range"

    def __init__(
        self, *, field: str, value: float, low: float, high: float, unit: str, above_low: bool = False
    ) -> None:
        limit = f"{'above ' if above_low else ''}{low:g} to {high:g} {unit}".rstrip()
        problem = Problem(
            message=f"{value:g} {unit} is outside {limit}.".replace("  ", " "),
            mend=f"Give {field} {'' if above_low else 'within '}{limit}.",
            field=field,
            value=f"{value:g} {unit}".rstrip(),
            limit=limit,
        )
        super().__init__(problem.sentence(), (problem,))


class NotFlownError(InputError):
    """A run that nobody can fly: the wind carries the aircraft sideways or backwards. Exit code 2."""


class SolverError(WetlineError):
    """A kernel broke one of its own invariants: a fault of ours. Exit code 1."""

    kind = "solver"
