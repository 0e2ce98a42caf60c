"""Asking for one drop in tests."""

from __future__ import annotations

from typing import Any

from wetline.app.drop import DropAsk, drop_answer

__all__ = ["HEADING", "answer_of", "blown", "spaced"]

HEADING = 100.0


def answer_of(
    asked: DropAsk | None = None,
    class_id: str = "twin_engine_scooper",
    agent: str | None = None,
    **given: float | str,
) -> dict[str, Any]:
    """The answer for one load."""
    return drop_answer(class_id, agent=agent, given=given, asked=asked)


def blown(off_nose_deg: float, wind_mps: float = 5.0, asked: DropAsk | None = None) -> dict[str, Any]:
    """The wind comes from so far right of the nose."""
    from_deg = (HEADING + off_nose_deg) % 360.0
    return answer_of(asked, heading_deg=HEADING, wind_mps=wind_mps, wind_from_deg=from_deg)


def spaced(text: str) -> str:
    """Words with one space between them."""
    return " ".join(text.split())
