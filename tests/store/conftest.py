"""Fixtures of the store's tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from store.folder_maker import make_folder

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound incident folder."""
    return make_folder(tmp_path / "incident")
