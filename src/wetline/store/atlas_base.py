"""What the maker and the reader of an atlas share: how it was made, what is refused, and in which words."""

from __future__ import annotations

import json
import sqlite3
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from wetline.errors import InputError, Problem
from wetline.store.atlas_schema import APPLICATION_ID
from wetline.water import Ask

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = [
    "AtlasAbout",
    "about_of",
    "check_kind",
    "damaged",
    "features_done",
    "is_database",
    "lanes_held",
    "no_atlas",
    "state_of",
    "tables_of",
    "told",
    "unfinished",
]

_MAGIC = b"SQLite format 3\0"
_DAMAGED = "The atlas is damaged"
_ANEW = "Make it anew from its water file, or take a whole copy."
_TOLD = {
    "SQLITE_FULL": (
        "The disk is full.",
        "Make room and give the same command again: it goes on where it stopped.",
    ),
    "SQLITE_CANTOPEN": ("The file cannot be opened.", "See that its folder exists and that you may use it."),
    "SQLITE_READONLY": ("The file may not be written.", "See the rights of the file and of its folder."),
    "SQLITE_READONLY_ROLLBACK": (
        "The atlas was left in the middle of writing.",
        "Give the command that makes it again: it goes on where it stopped.",
    ),
    "SQLITE_BUSY": ("Another run is writing this atlas.", "Wait for it to end."),
    "SQLITE_CONSTRAINT": ("Another run has written to this atlas.", "Let one run alone make it."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AtlasAbout:
    """How an atlas is made: of which file, for which asks, with which step between headings [deg], by which release.

    An unfinished one is gone on with only where all of this is the same.
    """

    source: str
    layer: str
    features: int
    source_bytes: int
    source_sha256: str
    asks: tuple[Ask, ...]
    step_deg: float
    chunk: int
    version: str

    def written(self) -> dict[str, str]:
        """Every field as JSON text, by name."""
        return {name: json.dumps(value) for name, value in asdict(self).items()}

    @classmethod
    def read(cls, rows: dict[str, str]) -> AtlasAbout:
        """From what `written` gave.

        Raises
        ------
        KeyError, TypeError, ValueError
            If a field is missing or is none.
        """
        values: dict[str, Any] = {name: json.loads(rows[name]) for name in cls.__dataclass_fields__}
        values["asks"] = tuple(Ask(**ask) for ask in values["asks"])
        if not values["asks"]:
            message = "nothing was asked for"
            raise ValueError(message)
        return cls(**values)


def unfinished(out: Path) -> Path:
    """Where an atlas stands while it is made."""
    return out.with_name(f"{out.name}.part")


def is_database(path: Path) -> bool:
    """Whether a file is of the kind that an atlas is: GeoPackages are, GeoJSON is not."""
    try:
        with path.open("rb") as stream:
            return stream.read(len(_MAGIC)) == _MAGIC
    except OSError:
        return False


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Whatever the disk or the file refuses, in words."""
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "SQLITE_CONSTRAINT")
        known = _TOLD.get(name) or _TOLD.get("_".join(name.split("_")[:2]))
        if known is None:
            raise damaged(path, str(error)) from error
        raise InputError.of([Problem(message=known[0], mend=known[1], file=str(path))]) from error


def check_kind(base: sqlite3.Connection, path: Path) -> None:
    """Refuse another kind of database, and one that was cut short."""
    (application,) = base.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID or not {"lanes", "atlas_about", "atlas_shelves"} <= tables_of(base):
        raise no_atlas(path)
    (pages,), (size,) = (base.execute(f"PRAGMA {name}").fetchone() for name in ("page_count", "page_size"))
    if path.stat().st_size < pages * size:
        raise damaged(path, f"{path.stat().st_size} of {pages * size} bytes are there")


def tables_of(base: sqlite3.Connection) -> set[str]:
    """The names of its tables."""
    return {name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def about_of(base: sqlite3.Connection, path: Path) -> AtlasAbout:
    """How the atlas says that it was made."""
    try:
        return AtlasAbout.read(dict(base.execute("SELECT key, value FROM atlas_about")))
    except (KeyError, TypeError, ValueError) as error:
        raise damaged(path, f"it does not say how it was made: {error}") from error


def state_of(base: sqlite3.Connection) -> str:
    """`whole`, `unfinished`, or nothing where it does not say."""
    row = base.execute("SELECT value FROM atlas_about WHERE key = 'state'").fetchone()
    return "" if row is None else str(row[0])


def features_done(base: sqlite3.Connection) -> int:
    """How many features of the source have been searched, from the first one on."""
    row = base.execute("SELECT first + count FROM atlas_chunks ORDER BY first DESC LIMIT 1").fetchone()
    return 0 if row is None else int(row[0])


def lanes_held(base: sqlite3.Connection) -> int:
    """How many lanes stand in it."""
    row = base.execute("SELECT MAX(fid) FROM lanes").fetchone()
    return int(row[0] or 0)


def no_atlas(path: Path) -> InputError:
    """The refusal of a file of another kind."""
    problem = Problem(
        message="This is no atlas.",
        mend="Make one with `wetline atlas WATER --out FILE` and give its name.",
        file=str(path),
    )
    return InputError.of([problem])


def damaged(path: Path, how: str) -> InputError:
    """The refusal of an atlas that contradicts itself."""
    return InputError.of([Problem(message=f"{_DAMAGED}: {how}.", mend=_ANEW, file=str(path))])
