"""Name every problem of an incident folder at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import Answer, envelope
from wetline.store import check_folder

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["check_incident"]


def check_incident(folder: Path) -> Answer:
    """Problems, layers present with their counts, layers absent. Exit code 2 only if a problem blocks."""
    found = check_folder(folder)
    answer = envelope(incident=folder.name, time=None)
    answer["problems"] = [p.given() for p in found.problems]
    answer["present"] = dict(found.present)
    answer["absent"] = list(found.absent)
    answer["exit_code"] = 2 if any(p.level == "error" for p in found.problems) else 0
    return answer
