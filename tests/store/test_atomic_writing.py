"""A file is written whole or not at all."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from wetline.store import write_bytes_atomic, write_text_atomic

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour


def test_the_file_holds_what_was_given(tmp_path: Path) -> None:
    write_text_atomic(tmp_path / "a.txt", "höhe\n")
    write_bytes_atomic(tmp_path / "b.bin", b"\0\1")
    assert (tmp_path / "a.txt").read_bytes() == "höhe\n".encode()
    assert (tmp_path / "b.bin").read_bytes() == b"\0\1"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.bin"]


def test_an_older_file_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    path.chmod(0o600)
    write_text_atomic(path, "new")
    assert path.read_text() == "new"
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_failure_leaves_the_older_file_and_no_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")

    def full(_: int) -> None:
        message = "no space left"
        raise OSError(message)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="no space left"):
        write_text_atomic(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_text_atomic(tmp_path / "none" / "a.txt", "x")
