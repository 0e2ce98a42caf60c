"""What a terminal or a pipe can do to a command, and what it must not."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from cli.asking_commands import ask, ask_apart
from wetline.cautions import CAUTIONS

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour


@pytest.mark.parametrize(
    "words", [("drop", "--class", "large_tanker"), ("drop", "--class", "large_tanker", "--json")]
)
def test_a_terminal_without_utf_8_loses_no_sign(words: tuple[str, ...]) -> None:
    """A minus sign that became a question mark would be a wrong number."""
    narrow = ask_apart(*words, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert (narrow.code, narrow.out, narrow.err) == (0, ask(*words).out, "")
    assert "±" in narrow.out


@pytest.mark.parametrize("json", [(), ("--json",)])
def test_a_reader_who_left_is_no_fault(valley: Path, json: tuple[str, ...]) -> None:
    command = [sys.executable, "-m", "wetline", "check", str(valley), *json]
    child = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert child.stdout is not None
    child.stdout.close()
    _, err = child.communicate(timeout=120)
    assert (child.returncode, err) == (0, b"")


def test_cautions_stand_in_what_is_piped_too(valley: Path) -> None:
    said = ask_apart("check", valley, COLUMNS="40", TERM="dumb")
    assert all(caution in said.out for caution in CAUTIONS)
    assert "\x1b" not in said.out


def test_python_dash_m_and_the_installed_command_say_the_same() -> None:
    script = os.path.join(os.path.dirname(sys.executable), "wetline")  # noqa: PTH118, PTH120  a plain path
    done = subprocess.run([script, "--version"], capture_output=True, check=True, text=True)
    assert done.stdout == ask("--version").out
