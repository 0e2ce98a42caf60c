"""The README names every command and every document it points to exists."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wetline.cautions import CAUTIONS
from wetline.cli.main import app

pytestmark = pytest.mark.behaviour

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_readme_names_every_command() -> None:
    commands = [name for name in app if not name.startswith("-")]
    assert len(commands) >= 8
    assert [name for name in commands if f"`wetline {name} " not in README] == []


def test_the_readme_carries_every_caution() -> None:
    assert [caution for caution in CAUTIONS if caution not in README] == []


def test_every_document_that_the_readme_points_to_is_there() -> None:
    named = set(re.findall(r"`((?:docs/)?[A-Za-z-]+\.md)`", README)) | set(
        re.findall(r"\((docs/[^)]+)\)", README)
    )
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_every_room_stands_in_the_map_of_the_house() -> None:
    house = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    rooms = [p.name for p in (ROOT / "src" / "wetline").iterdir() if (p / "__init__.py").exists()]
    assert [room for room in rooms if f"`{room}`" not in house] == []
