"""What is known of each agent beside its physics: mix, how long it works, where it may fall, who carries it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, cast

from wetline import tables
from wetline.drops.liquid import AGENTS, Agent, liquid
from wetline.errors import OutsideRangeError
from wetline.model import Band

__all__ = [
    "AgentFacts",
    "Carries",
    "Known",
    "Use",
    "agent_facts",
    "between_waters",
    "carries",
    "concentrate_l",
    "viscosity_class",
]

Use = Literal["direct", "cooling", "exposure", "line_ahead"]
"""On the flames; hot ground behind them; houses and things to be kept; a line ahead of the fire."""


@dataclass(frozen=True, slots=True)
class Known:
    """One thing said of an agent, and how it is known: published, memory, practice or derived."""

    words: str
    status: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentFacts:
    """One agent. `mix_pct`: concentrate in the mixed load [% by volume], usual and range.

    `lasts`: it works while wet, or until rain. `near_water`: `plain` has no rule of its own, `buffer`
    keeps the distance of the limit `waterway_buffer_m` from any waterway. `good_for`: what it is used
    for. `crew`: what people on the ground are told. `known`: the status and source of each item.
    """

    agent: Agent
    mix_pct: Band
    lasts: Literal["while_wet", "until_rain"]
    near_water: Literal["plain", "buffer"]
    good_for: tuple[Use, ...]
    crew: tuple[str, ...]
    viscosity_class: str | None
    known: tuple[tuple[str, Known], ...]


@dataclass(frozen=True, slots=True)
class Carries:
    """Whether a class that fills in some way can carry an agent. `answer` `ask`: nothing read settles it."""

    answer: Literal["yes", "ask", "no"]
    mixed: str
    status: str
    source: str


def _rows(agent: str, item: str) -> list[dict[str, Any]]:
    return [row for row in tables.load("drop/agents").rows() if (row["agent"], row["item"]) == (agent, item)]


def _words(agent: str, item: str) -> tuple[str, ...]:
    return tuple(row["text"] for row in _rows(agent, item))


def _known(row: dict[str, Any]) -> Known:
    words = row["text"] or f"{row['value']:g} ({row['low']:g} to {row['high']:g}) {row['unit']}"
    return Known(words, row["status"], row["source"])


def viscosity_class(viscosity_mpa_s: float) -> str | None:
    """The class of a mixed load by its viscosity [mPa s = cP]; None above the highest.

    Raises
    ------
    OutsideRangeError
        If it is not positive.
    """
    if not viscosity_mpa_s > 0.0:
        raise OutsideRangeError(
            field="viscosity", value=viscosity_mpa_s, low=0, high=float("inf"), unit="mPa s", above_low=True
        )
    rows = tables.load("drop/viscosity_classes").rows()
    return next((row["name"] for row in rows if viscosity_mpa_s <= row["up_to_mpa_s"]), None)


@lru_cache(maxsize=len(AGENTS))
def agent_facts(agent: str) -> AgentFacts:
    """What is known of an agent.

    Raises
    ------
    InputError
        For an unknown agent.
    """
    mixed = liquid(agent)
    (mix,), (lasts,), (near_water,) = (_rows(agent, item) for item in ("mix_pct", "lasts", "near_water"))
    return AgentFacts(
        agent=mixed.agent,
        mix_pct=Band(mix["value"], mix["low"], mix["high"]),
        lasts=lasts["text"],
        near_water=near_water["text"],
        good_for=cast("tuple[Use, ...]", _words(agent, "use")),
        crew=_words(agent, "crew"),
        viscosity_class=viscosity_class(mixed.viscosity_pa_s * 1000.0),
        known=tuple(
            (row["item"], _known(row)) for row in tables.load("drop/agents").rows() if row["agent"] == agent
        ),
    )


def concentrate_l(agent: str, load_l: float, mix_pct: float | None = None) -> Band:
    """Concentrate [L] in a mixed load: the mix ratio times the load.

    Without `mix_pct` [% by volume] it is the usual mix, with the range of mixes as its band.

    Raises
    ------
    InputError
        For an unknown agent.
    OutsideRangeError
        For a load that is not positive, or a mix outside the agent's range.
    """
    usual = agent_facts(agent).mix_pct
    low, high = usual.low or 0.0, usual.high or 0.0
    if not load_l > 0.0:
        raise OutsideRangeError(
            field="load_l", value=load_l, low=0, high=float("inf"), unit="L", above_low=True
        )
    if mix_pct is None:
        return Band(load_l * usual.middle / 100.0, load_l * low / 100.0, load_l * high / 100.0)
    if not low <= mix_pct <= high:
        raise OutsideRangeError(field="mix_pct", value=mix_pct, low=low, high=high, unit="%")
    return Band(load_l * mix_pct / 100.0)


def carries(fills: str, agent: str) -> Carries | None:
    """Whether a class can carry an agent, by the way it fills; None for a way or agent that is not known."""
    for row in tables.load("drop/fill_agents").rows():
        if (row["fills"], row["agent"]) == (fills, agent):
            return Carries(row["carries"], row["mixed"], row["status"], row["source"])
    return None


def between_waters(fills: str) -> tuple[str, ...]:
    """What keeps invasive species out of the next water; nothing for a class that fills at a base."""
    return _words("water", "between_waters") if fills in {"scoop", "dip"} else ()
