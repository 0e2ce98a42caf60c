"""Examples in the documents with the output that they really have."""

from __future__ import annotations

import contextlib
import io
import re
import shlex

from wetline.cli.main import main

__all__ = ["with_output"]

_EXAMPLE = re.compile(
    r"^```\n\$ wetline (?P<words>[^\n|]+?)(?: \| sed '/\^(?P<end>[^/]+)/,\$d')?\n.*?^```$", re.M | re.S
)


def with_output(page: str) -> str:
    """A page whose code blocks that begin with `$ wetline …` hold what that prints now.

    `| sed '/^WORDS/,$d'` after the command cuts the output at the first line that begins with WORDS.
    """
    return _EXAMPLE.sub(_run, page)


def _run(example: re.Match[str]) -> str:
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown), contextlib.suppress(SystemExit):
        main(shlex.split(example["words"]))
    text = shown.getvalue()
    if example["end"]:
        text = re.split(rf"^{re.escape(example['end'])}", text, maxsplit=1, flags=re.M)[0]
    command = example[0].split("\n", 2)[1]
    return f"```\n{command}\n{text.rstrip()}\n```"
