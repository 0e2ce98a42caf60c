"""Where answers may be written, asked before the work is done."""

from __future__ import annotations

import os
from contextlib import contextmanager
from typing import TYPE_CHECKING, NoReturn

from wetline.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["ready_file", "ready_folder", "writing"]


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


def ready_file(path: Path, option: str, *, ending: str | None = None) -> None:
    """Make sure that a file can be written; `option` names it in the complaint.

    Raises
    ------
    InputError
        If it is a folder, has not the `ending` asked for, or its folder cannot be made or written into.
    """
    if path.is_dir():
        _complain(path, option, "this is a folder, not a file.")
    if ending is not None and path.suffix.lower() != ending:
        _complain(path, option, f"the name does not end in {ending}.")
    ready_folder(path.absolute().parent, option)


@contextmanager
def writing(path: Path, option: str) -> Iterator[None]:
    """Say what keeps a file from being written, as a place that is at fault and not this program.

    Raises
    ------
    InputError
        In place of the system's own complaint: no such place, no room, no leave.
    """
    try:
        yield
    except OSError as error:
        _complain(path, option, f"the file cannot be written: {error.strerror}.")


def _complain(path: Path, option: str, message: str) -> NoReturn:
    problem = Problem(message=message, mend="Name another place.", file=str(path), field=option)
    raise InputError.of([problem])
