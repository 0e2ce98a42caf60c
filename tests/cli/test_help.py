"""Help is at hand at once: it names every command, shows the cautions, and loads nothing heavy."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from cli.asking_commands import ask
from wetline import __version__
from wetline.cautions import CAUTIONS

pytestmark = pytest.mark.behaviour

COMMANDS = ("demo", "check", "sizeup", "water", "drop", "circuits", "plan", "brief")
HEAVY = ("numpy", "numba", "llvmlite", "scipy", "shapely", "pyproj", "rasterio", "mgrs", "typst")
LOADED = """
import json, sys
from wetline.cli import main
try:
    main({words!r})
except SystemExit as left:
    print(json.dumps([left.code, sorted({{name.partition(".")[0] for name in sys.modules}})]), file=sys.stderr)
"""


def loaded_by(*words: str) -> tuple[int, set[str]]:
    """Exit code, and the top-level modules that a command leaves loaded, in a process of its own."""
    script = LOADED.format(words=list(words))
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True, text=True)
    code, names = json.loads(done.stderr.splitlines()[-1])
    return code, set(names)


def test_help_names_every_command_and_shows_the_cautions() -> None:
    said = ask("--help")
    assert said.code == 0
    flat = " ".join(said.out.split())
    assert [command for command in COMMANDS if f"│ {command} " not in said.out] == []
    assert [caution for caution in CAUTIONS if caution not in flat] == []


@pytest.mark.parametrize("words", [("--help",), ("plan", "--help"), ("--version",)])
def test_help_loads_nothing_heavy(words: tuple[str, ...]) -> None:
    code, names = loaded_by(*words)
    assert code == 0
    assert names & set(HEAVY) == set()


def test_a_wrong_command_loads_nothing_heavy() -> None:
    code, names = loaded_by("quench")
    assert code == 2
    assert names & set(HEAVY) == set()


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command_names_json_and_tells_every_option(command: str) -> None:
    said = ask(command, "--help")
    assert said.code == 0
    assert "--json" in said.out
    assert "[required]" in said.out or command == "water"


def test_version_is_that_of_the_package() -> None:
    assert ask("--version").out.strip() == __version__


def test_no_word_at_all_gives_the_help() -> None:
    assert ask().out == ask("--help").out
