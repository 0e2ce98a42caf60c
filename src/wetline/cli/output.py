"""What a command gives: one JSON document, or a short table for people; errors alike."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wetline.errors import WetlineError

__all__ = ["give", "give_error"]


def give(command: str, answer: dict[str, Any], *, as_json: bool) -> int:
    """Print an answer and return the exit code that it carries."""
    code = int(answer.pop("exit_code", 0))
    if as_json:
        sys.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False) + "\n")
    else:
        from wetline.cli.tables import RENDER

        sys.stdout.write(RENDER[command](answer))
    return code


def give_error(error: WetlineError, *, as_json: bool) -> int:
    """Print an error in its one shape and return its exit code."""
    if as_json:
        problems = [p.given() for p in error.problems]
        document = {"error": {"kind": error.kind, "message": error.message, "problems": problems}}
        sys.stdout.write(json.dumps(document, ensure_ascii=False) + "\n")
    elif error.problems:
        for problem in error.problems:
            sys.stderr.write(f"{problem.level}: {problem.sentence()}\n")
    else:
        sys.stderr.write(f"error: {error.message}\n")
    return error.exit_code
