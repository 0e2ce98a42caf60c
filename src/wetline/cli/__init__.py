"""The command line: parse, ask `app`, render."""

from wetline.cli.main import main

__all__ = ["main"]
