"""Gathering every problem of one file before anything is refused."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING, Literal

from wetline.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Complaints", "counted", "suggestion"]


@dataclass(slots=True)
class Complaints:
    """What is wrong with one file. Readers go on after each, so that all are named at once."""

    file: str
    layer: str | None = None
    found: list[Problem] = field(default_factory=list)

    def error(
        self,
        message: str,
        mend: str,
        *,
        row: int | None = None,
        field: str | None = None,
        value: object = None,
        limit: str | None = None,
    ) -> None:
        """Note what blocks the work."""
        self._note("error", message, mend, row=row, field=field, value=value, limit=limit)

    def warning(
        self,
        message: str,
        mend: str,
        *,
        row: int | None = None,
        field: str | None = None,
        value: object = None,
        limit: str | None = None,
    ) -> None:
        """Note what should be seen but does not block."""
        self._note("warning", message, mend, row=row, field=field, value=value, limit=limit)

    def take(self, problems: Iterable[Problem], *, row: int | None = None) -> None:
        """Take over problems that do not know their file yet."""
        self.found.extend(replace(p, file=self.file, layer=self.layer, row=row) for p in problems)

    @property
    def blocked(self) -> bool:
        """Whether an error stands."""
        return any(p.level == "error" for p in self.found)

    def _note(
        self,
        level: Literal["error", "warning"],
        message: str,
        mend: str,
        *,
        row: int | None,
        field: str | None,
        value: object,
        limit: str | None,
    ) -> None:
        self.found.append(
            Problem(
                message=message,
                mend=mend,
                level=level,
                file=self.file,
                layer=self.layer,
                row=row,
                field=field,
                value=None if value is None else _shown(value),
                limit=limit,
            )
        )


def _shown(value: object) -> str:
    """A value as text, short enough for one line."""
    text = value if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 80 else f"{text[:77]}..."


def suggestion(word: str, known: Iterable[str]) -> str:
    """` Did you mean "wire"?` where one of the known words is near, else nothing."""
    near = get_close_matches(word.lower().strip().replace(" ", "_").replace("-", "_"), list(known), n=1)
    return f' Did you mean "{near[0]}"?' if near else ""


def counted(number: int, thing: str) -> str:
    """`1 cell`, `2 cells`."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
