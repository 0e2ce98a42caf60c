"""How the store's tests ask what is wrong with a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from wetline.errors import InputError
from wetline.store import check_folder, read_incident

if TYPE_CHECKING:
    from pathlib import Path

    from wetline.errors import Problem


def errors(folder: Path) -> list[Problem]:
    """Every problem that blocks; reading the incident raises exactly these."""
    found = [p for p in check_folder(folder).problems if p.level == "error"]
    if found:
        with pytest.raises(InputError) as caught:
            read_incident(folder)
        assert caught.value.kind == "input"
        assert caught.value.exit_code == 2
        assert [p for p in caught.value.problems if p.level == "error"] == found
    else:
        read_incident(folder)
    return found


def the_error(folder: Path) -> Problem:
    """The one problem that blocks."""
    found = errors(folder)
    assert len(found) == 1, [p.sentence() for p in found]
    assert found[0].mend
    return found[0]


def warnings_of(folder: Path, file: str, *, but: str = "extent") -> list[Problem]:
    """Remarks on one file, those on the small ground of the tests left out."""
    assert errors(folder) == []
    found = check_folder(folder).problems
    return [p for p in found if p.level == "warning" and p.file == file and p.field != but]


def edit(path: Path, old: str, new: str) -> None:
    """Replace a text that stands in a file exactly once."""
    text = path.read_text()
    assert text.count(old) == 1, (path.name, old, text.count(old))
    path.write_text(text.replace(old, new))
