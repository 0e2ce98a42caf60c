"""One valley and one answer of each command for all tests of this folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from cli.asking_commands import Said, ask
from cli.valley_maker import make_valley

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


@pytest.fixture(scope="session")
def valley(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An incident folder that every command can work on; nobody writes into it."""
    return make_valley(tmp_path_factory.mktemp("valley") / "incident", crew_ahead_m=-450.0)


@pytest.fixture(scope="session")
def words(valley: Path, tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, tuple[object, ...]]:
    """How each command is asked, by name."""
    out = tmp_path_factory.mktemp("out")
    return {
        "demo": ("demo", out / "demo"),
        "check": ("check", valley),
        "sizeup": ("sizeup", valley, "--hours", "2", "--members", "4"),
        "water": ("water", valley),
        "drop": ("drop", "--class", "twin_engine_scooper", "--wind-mps", "5", "--wind-from-deg", "250",
                 "--heading-deg", "340"),
        "circuits": ("circuits", valley),
        "plan": ("plan", valley, "--members", "4", "--out", out / "plan"),
        "brief": ("brief", valley, "--members", "0", "--out", out / "brief"),
    }  # fmt: skip


@pytest.fixture(scope="session")
def said(words: Mapping[str, tuple[object, ...]]) -> Mapping[str, Said]:
    """What each command says with `--json`."""
    return {name: ask(*asked, "--json") for name, asked in words.items()}
