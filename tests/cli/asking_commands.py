"""Running commands in tests: inside this process, or as a person does in one of their own."""

from __future__ import annotations

import contextlib
import io
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from typing import Any

from wetline.cli import main


@dataclass(frozen=True, slots=True)
class Said:
    """What a command gave back."""

    code: int
    out: str
    err: str

    @property
    def answer(self) -> dict[str, Any]:
        """The one JSON document on stdout; NaN and infinity are no JSON."""
        found: dict[str, Any] = json.loads(self.out, parse_constant=_refuse)
        return found


def _refuse(constant: str) -> None:
    message = f"{constant} is no JSON"
    raise ValueError(message)


def ask(*words: object) -> Said:
    """`wetline words…` inside this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main([str(word) for word in words])
        except SystemExit as left:
            code = left.code
    assert isinstance(code, int)
    return Said(code, out.getvalue(), err.getvalue())


def ask_apart(*words: object, **environment: str) -> Said:
    """`wetline words…` in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "wetline", *(str(word) for word in words)],
        capture_output=True,
        check=False,
        env={**os.environ, **environment},
        timeout=300,
    )
    return Said(done.returncode, done.stdout.decode(), done.stderr.decode())
