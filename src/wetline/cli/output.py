"""What a command gives: one JSON document, or a short table for people; errors alike."""

from __future__ import annotations

import io
import json
import os
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wetline.errors import WetlineError

__all__ = ["give", "give_error", "speak_utf8"]


def give(command: str, answer: dict[str, Any], *, as_json: bool) -> int:
    """Print an answer and return the exit code that it carries."""
    code = int(answer.pop("exit_code", 0))
    if as_json:
        _print(json.dumps(answer, ensure_ascii=False, allow_nan=False) + "\n")
    else:
        from wetline.cli.tables import RENDER

        _print(RENDER[command](answer))
    return code


def give_error(error: WetlineError, *, as_json: bool) -> int:
    """Print an error in its one shape and return its exit code."""
    if as_json:
        problems = [p.given() for p in error.problems]
        document = {"error": {"kind": error.kind, "message": error.message, "problems": problems}}
        _print(json.dumps(document, ensure_ascii=False) + "\n")
        return error.exit_code
    from wetline.cli.text import plain

    lines = [f"{p.level}: {p.sentence()}" for p in error.problems] or [f"error: {error.message}"]
    sys.stderr.write("".join(f"{plain(line)}\n" for line in lines))
    return error.exit_code


def speak_utf8() -> None:
    """Write UTF-8 whatever the terminal's locale says: a lost minus sign is a wrong number."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.encoding.lower() != "utf-8":
            stream.reconfigure(encoding="utf-8")


def _print(text: str) -> None:
    """Write to stdout; a reader who has gone away (`| head`) is no fault."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
