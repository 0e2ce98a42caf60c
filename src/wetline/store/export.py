"""What is carried to a map or a receiver: marks with their names, numbers, standing and cautions."""

from __future__ import annotations

import re
from collections.abc import Mapping  # noqa: TC003  a field of a dataclass is looked at when it is made
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Fact", "Layer", "Mark", "Sheet"]

Fact = float | int | str | bool | None
Layer = Literal["lanes", "dip_sites", "bases", "releases", "approaches", "lines", "exits"]
_STANDING = {
    "stop": "REJECTED",
    "unknown": "UNKNOWN, look first",
    "caution": "CAUTION",
    "clear": "nothing found against it",
}
"""How a level reads where a name is all that is shown. `clear` is never said of what was only computed."""
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One place: a point, or a line as flown, of (lon, lat) [deg, WGS 84].

    `level`: the gravest finding's, None where nothing was judged. `facts`: numbers by the name that
    gives their unit; None is unknown. `said`: findings in words, gravest first. `standing`: how the level
    reads, where it is not that of a place to fill.
    """

    layer: Layer
    id: str
    name: str
    level: str | None
    places: tuple[tuple[float, float], ...]
    facts: Mapping[str, Fact]
    said: tuple[str, ...] = ()
    standing: str | None = None

    @property
    def stands(self) -> str:
        """Its standing in words; empty where nothing was judged."""
        return self.standing or ("" if self.level is None else _STANDING[self.level])

    @property
    def title(self) -> str:
        """The name with its standing, so that a screen which shows names alone shows no bare lane."""
        return plain(f"{self.name} - {self.stands}" if self.stands else self.name)

    @property
    def unknown(self) -> tuple[str, ...]:
        """The names of what is not known."""
        return tuple(name for name, fact in self.facts.items() if fact is None)

    def words(self) -> str:
        """Standing, findings and facts, a line each."""
        return plain("\n".join(self._lines()))

    def _lines(self) -> Iterator[str]:
        if self.stands:
            yield self.stands
        yield from self.said
        for name, fact in self.facts.items():
            yield f"{name}: {fact_words(fact)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All marks of one answer, with what must be said wherever the file is taken. `time`: ISO 8601 UTC."""

    title: str
    time: str
    cautions: tuple[str, ...]
    marks: tuple[Mark, ...]
    exercise: bool = False

    def title_of(self, mark: Mark | None = None) -> str:
        """The title of the sheet, or of a mark: an exercise is called one wherever a name is shown."""
        title = self.title if mark is None else mark.title
        return plain(f"EXERCISE - {title}" if self.exercise else title)

    def words(self) -> str:
        """For when it holds, and the cautions."""
        when = f"Worked out for {self.time}: what wind, looks and fuel are in another hour is not in it."
        first = ("EXERCISE: nothing of this is real.",) if self.exercise else ()
        return plain("\n".join((*first, when, *self.cautions)))


def fact_words(fact: Fact) -> str:
    """A value as text; None is `unknown`, never empty."""
    if fact is None:
        return "unknown"
    if isinstance(fact, bool):
        return "true" if fact else "false"
    return plain(str(fact))


def plain(text: str) -> str:
    """Text without the characters that XML cannot hold."""
    return _NOT_XML.sub("", text)
