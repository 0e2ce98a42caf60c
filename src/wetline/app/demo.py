"""Write the invented incident."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import Answer, envelope
from wetline.demo import build_demo

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["make_demo"]


def make_demo(folder: Path, *, seed: int, force: bool) -> Answer:
    """The invented incident in a new folder.

    Raises
    ------
    InputError
        If something stands there and `force` is not given.
    """
    made = build_demo(folder, seed=seed, force=force)
    answer = envelope(incident=made.incident, time=None, seed=seed)
    answer["files"] = [{"kind": kind, "path": str(path)} for kind, path in made.files]
    return answer
