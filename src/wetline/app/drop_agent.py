"""The agent of a load: what it needs of concentrate, where it may fall, who carries it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wetline.app.answer import Answer, spread
from wetline.drops import agent_facts, between_waters, carries, concentrate_l
from wetline.model import Finding

if TYPE_CHECKING:
    from wetline.drops import Resolved

__all__ = ["agent_keys", "carried_findings"]


def agent_keys(resolved: Resolved) -> Answer:
    """What is known of the agent, with the concentrate in all that is on board: it is mixed before part is let go."""
    facts = agent_facts(resolved.agent)
    return {
        "agent": facts.agent,
        **spread("mix_pct", facts.mix_pct, 2),
        **spread("concentrate_l", concentrate_l(resolved.agent, resolved.on_board_l), 1),
        "viscosity_class": facts.viscosity_class,
        "lasts": facts.lasts,
        "near_water": facts.near_water,
        "good_for": list(facts.good_for),
        "crew": list(facts.crew),
        "between_waters": list(between_waters(resolved.cls.fills)),
        "known": [
            {"item": item, "words": one.words, "status": one.status, "source": one.source}
            for item, one in facts.known
        ],
    }


def carried_findings(resolved: Resolved) -> tuple[Finding, ...]:
    """A class that does not carry the agent the way it fills; where it loads nobody has told here."""
    held = carries(resolved.cls.fills, resolved.agent)
    if held is not None and held.answer == "yes":
        return ()
    if held is None or held.answer == "ask":
        message = f"Whether this class carries {resolved.agent} is not known: ask the crew."
        source = "common practice, no source" if held is None else held.source
        return (_finding(resolved, message, source),)
    message = f"This class fills from open water: it carries {resolved.agent} only if a base loads it."
    return (_finding(resolved, message, held.source),)


def _finding(resolved: Resolved, message: str, source: str) -> Finding:
    return Finding(
        code="agent",
        level="unknown",
        effect="noted",
        message=message,
        source=source,
        refers_to=resolved.class_id,
        value=resolved.agent,
    )
