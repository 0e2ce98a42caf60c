"""How the store's tests ask what is wrong with a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.errors import InputError
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.errors import Problem


def errors(folder: Path) -> list[Problem]:
    """Every problem that blocks, as the reader raises them."""
    try:
        read_incident(folder)
    except InputError as error:
        return [p for p in error.problems if p.level == "error"]
    return []


def the_error(folder: Path) -> Problem:
    """The one problem that blocks."""
    found = errors(folder)
    assert len(found) == 1, [p.sentence() for p in found]
    assert found[0].mend
    return found[0]


def warnings_of(folder: Path, file: str, *, but: str = "extent") -> list[Problem]:
    """Remarks on one file of a folder that can be read, those on the small ground of the tests left out."""
    return [p for p in read_incident(folder).warnings if p.file == file and p.field != but]


def edit(path: Path, old: str, new: str) -> None:
    """Replace a text that stands in a file exactly once."""
    text = path.read_text()
    assert text.count(old) == 1, (path.name, old, text.count(old))
    path.write_text(text.replace(old, new))
