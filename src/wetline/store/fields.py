"""One row or table of fields: each read by name, checked, and what nobody knows reported."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, TypeVar, cast

from wetline.store.problems import suggestion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from wetline.store.problems import Complaints

__all__ = ["Fields", "Span", "Untyped", "number_hint", "parse_moment"]

W = TypeVar("W", bound=str)

_EARLIEST, _LATEST = 1970, 2100
_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?")
_FLAGS = {"true": True, "1": True, "false": False, "0": False}
_LIST = re.compile(r"\(\d+:(.*)\)")
"""How a list stands in a table that knows no lists: `(2:water,gel)`."""
_TIME_MEND = "Write it as 2026-08-14T12:30:00-01:00, or with Z for UTC."


@dataclass(frozen=True, slots=True)
class Span:
    """What a number may be, ends included. Beyond it a slip is likelier than the truth."""

    low: float
    high: float
    unit: str = ""
    hint: str = ""

    def text(self) -> str:
        """`0 to 360 °`."""
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


class Untyped(str):
    """A value of a file that knows no types, or not ours: the field that asks for it says what it is."""

    __slots__ = ()

    def number(self) -> float | str:
        """`4.5` as a number; the text itself if it is none."""
        return float(self) if _NUMBER.fullmatch(self.strip()) else str(self)

    def flag(self) -> bool | str:
        """`true`, `false`, `1` or `0`; the text itself if it is none of them."""
        return _FLAGS.get(self.strip().lower(), str(self))

    def words(self) -> list[str]:
        """`foam; gel`, `foam, gel`, `["foam", "gel"]` or `(2:foam,gel)`; empty for no word."""
        text = self.strip()
        match = _LIST.fullmatch(text)
        if match:
            text = match[1]
        elif text.startswith("[") and text.endswith("]"):
            text = text[1:-1]
        return [word for part in re.split("[;,]", text) if (word := part.strip().strip("\"'").strip())]


def number_hint(text: str) -> str:
    """What to do about a text where a number belongs."""
    if re.fullmatch(r"\s*[-+]?\d+,\d+\s*", text):
        return "Write decimals with a point: 3.8, not 3,8."
    if re.fullmatch(r"\s*[-+]?\d+(\.\d+)?\s*", text):
        return "Take away the quotation marks."
    if re.fullmatch(r"\s*[-+]?\d+([.,]\d+)?\s*\S{1,8}\s*", text):
        return "Write the number alone: its unit is in the name of the field."
    return "Write a number there, or leave it out if it is not known."


def parse_moment(value: object) -> tuple[datetime | None, str]:
    """A time with its zone, in UTC; or None and the reason why not."""
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value.strip())
        except ValueError:
            return None, "is not a time"
    if not isinstance(value, datetime):
        return None, "is not a time"
    if value.tzinfo is None:
        return None, "has no time zone"
    if not _EARLIEST < value.year < _LATEST:
        return None, f"lies outside the years {_EARLIEST} to {_LATEST}"
    return value.astimezone(UTC), ""


class Fields:
    """The fields of one row, TOML table or feature. Readers return None after a complaint."""

    def __init__(
        self,
        values: Mapping[str, object],
        complaints: Complaints,
        *,
        row: int | None = None,
        within: str = "",
        zone: ZoneInfo | None = None,
    ) -> None:
        self._values = values
        self._complaints = complaints
        self._row = row
        self._within = within
        self._zone = zone
        self._asked: set[str] = set()

    def raw(self, name: str) -> object:
        """The value as it stands; None where it is absent or null."""
        self._asked.add(name)
        value = self._values.get(name)
        return None if isinstance(value, Untyped) and not value.strip() else value

    @property
    def asked(self) -> frozenset[str]:
        """The names that readers have asked for."""
        return frozenset(self._asked)

    def error(self, name: str, message: str, mend: str, *, limit: str | None = None) -> None:
        """Complain about one field."""
        self._complaints.error(
            message,
            mend,
            row=self._row,
            field=self._within + name,
            value=self._values.get(name),
            limit=limit,
        )

    def warning(self, name: str, message: str, mend: str, *, limit: str | None = None) -> None:
        """Remark on one field."""
        self._complaints.warning(
            message,
            mend,
            row=self._row,
            field=self._within + name,
            value=self._values.get(name),
            limit=limit,
        )

    def text(self, name: str, *, required: bool = False) -> str | None:
        """Words, not empty."""
        value = self.raw(name)
        if value is None or (isinstance(value, str) and not value.strip()):
            if required:
                self._missing(name, f'Add {name} = "...".')
            return None
        if not isinstance(value, str):
            self.error(name, f"{name} must be words.", "Put it in quotation marks.")
            return None
        return value.strip()

    def choice(self, name: str, words: Sequence[W], *, required: bool = False) -> W | None:
        """One of the known words."""
        text = self.text(name, required=required)
        if text is None:
            return None
        if text not in words:
            self.error(
                name,
                f'"{text}" is no {name} that is known here.{suggestion(text, words)}',
                f"Give one of: {', '.join(words)}.",
                limit=", ".join(words),
            )
            return None
        return cast("W", text)

    def number(self, name: str, span: Span, *, required: bool = False) -> float | None:
        """A finite number within its span."""
        value = self.raw(name)
        if value is None:
            if required:
                self._missing(name, f"Add {name} [{span.unit or 'number'}].")
            return None
        if isinstance(value, Untyped):
            value = value.number()
        if isinstance(value, str):
            self.error(name, f"{name} is text where a number belongs.", number_hint(value))
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.error(name, f"{name} must be a number.", number_hint(""))
            return None
        if not span.low <= value <= span.high or not math.isfinite(value):
            shown = f"{value:g}" if isinstance(value, float) or abs(value) < 1e15 else "an enormous number"
            self.error(
                name,
                f"{name} is {shown}, outside {span.text()}.",
                span.hint or f"Give {name} within {span.text()}.",
                limit=span.text(),
            )
            return None
        return float(value)

    def count(self, name: str, most: int) -> int | None:
        """A whole number from 0."""
        value = self.number(name, Span(0, most))
        if value is None:
            return None
        if value != int(value):
            self.error(name, f"{name} must be a whole number.", "Round it.")
            return None
        return int(value)

    def flag(self, name: str, *, default: bool = False) -> bool:
        """`true` or `false`; absent means the default."""
        value = self.raw(name)
        if value is None:
            return default
        if isinstance(value, Untyped):
            value = value.flag()
        if not isinstance(value, bool):
            self.error(
                name, f"{name} must be true or false.", "Write true or false, without quotation marks."
            )
            return default
        return value

    def day(self, name: str) -> date | None:
        """A calendar day."""
        value = self.raw(name)
        if value is None:
            return None
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                pass
        elif isinstance(value, date) and not isinstance(value, datetime):
            return value
        self.error(name, f"{name} is not a day.", "Write it as 2026-06-02.")
        return None

    def moment(self, name: str, *, required: bool = False) -> datetime | None:
        """A time with its zone, as aware UTC."""
        value = self.raw(name)
        if value is None:
            if required:
                self._missing(name, _TIME_MEND)
            return None
        time, why = parse_moment(value)
        if time is None:
            self.error(name, f"{name} {why}.", _TIME_MEND)
        elif self._zone is not None:
            self._warn_of_other_clock(name, value, time)
        return time

    def words(self, name: str, known: Sequence[str]) -> tuple[str, ...]:
        """A list of known words; absent means none."""
        value = self.raw(name)
        if value is None:
            return ()
        if isinstance(value, Untyped):
            value = value.words()
        if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
            self.error(name, f"{name} must be a list of words.", f'Write ["{known[0]}"].')
            return ()
        for word in value:
            if word not in known:
                self.error(
                    name,
                    f'"{word}" is not known in {name}.{suggestion(word, known)}',
                    f"Give any of: {', '.join(known)}.",
                    limit=", ".join(known),
                )
        return tuple(value)

    def rest(self) -> None:
        """Warn of every field that no reader asked for: a slip in a name must not pass unseen."""
        for name in sorted(set(self._values) - self._asked):
            self.warning(
                name,
                f'"{name}" is not read.{suggestion(name, self._asked)}',
                "Mend the name, or leave it if it is meant for others.",
            )

    def _missing(self, name: str, mend: str) -> None:
        self.error(name, f"{name} is missing.", mend)

    def _warn_of_other_clock(self, name: str, value: object, time: datetime) -> None:
        given = datetime.fromisoformat(value.strip()) if isinstance(value, str) else value
        if not isinstance(given, datetime) or self._zone is None:
            return
        offset, local = given.utcoffset(), time.astimezone(self._zone)
        if offset and offset != local.utcoffset():
            self.warning(
                name,
                f"{name} is written with {given:%z}; the incident's clock stands at {local:%z} then.",
                "See which is meant. Mind that Etc/GMT+1 is one hour *behind* UTC.",
            )
