"""The cautions that stand on every plan, sheet and screen."""

from __future__ import annotations

__all__ = ["CAUTIONS"]

CAUTIONS = (
    "Planning aid; crew, aerial supervisor and incident command decide; local rules prevail.",
    "Unknown is not clear: people are clear of a drop only by a named person's confirmation.",
    "Wires, boats and depths that nobody has looked at today are unknown, whatever the data says.",
)
