"""Where answers may be written, asked before the work is done."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["ready_file", "ready_folder"]


def ready_folder(folder: Path, option: str) -> None:
    """Make a folder for files; `option` names it in the complaint.

    Raises
    ------
    InputError
        If it cannot be made or written into.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        _complain(folder, option, f"the folder cannot be made: {error.strerror}.")
    if not os.access(folder, os.W_OK):
        _complain(folder, option, "nothing may be written into this folder.")


def ready_file(path: Path, option: str) -> None:
    """Make sure that a file can be written; `option` names it in the complaint.

    Raises
    ------
    InputError
        If it is a folder, or its folder cannot be made or written into.
    """
    if path.is_dir():
        _complain(path, option, "this is a folder, not a file.")
    ready_folder(path.absolute().parent, option)


def _complain(path: Path, option: str, message: str) -> None:
    problem = Problem(message=message, mend="Name another place.", file=str(path), field=option)
    raise InputError.of([problem])
