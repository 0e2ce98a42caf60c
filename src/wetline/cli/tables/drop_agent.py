"""The agent of a load in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wetline.cli.tables.words import band
from wetline.cli.text import paragraph

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["agent_lines"]

_LASTS = {"while_wet": "works while it is wet", "until_rain": "works until rain washes it off"}
_NEAR_WATER = {
    "plain": "no rule of its own near water",
    "buffer": "keeps the buffer to every waterway (limit waterway_buffer_m)",
}
_USES = {
    "direct": "on the flames",
    "cooling": "cooling behind them",
    "exposure": "houses and things to keep",
    "line_ahead": "a line ahead of the fire",
}


def agent_lines(agent: Mapping[str, Any]) -> list[str]:
    """Mix, lasting, near water, use, and what the crews are told."""
    mixed = "no concentrate"
    if agent["concentrate_l_high"]:
        mixed = (
            f"{band(agent, 'concentrate_l', 1.0, 'L')} of concentrate in the load, at "
            f"{band(agent, 'mix_pct', 0.1, '%')}: the label rules"
        )
    uses = ", ".join(_USES[use] for use in agent["good_for"])
    return [
        *paragraph(f"{mixed}; {_LASTS[agent['lasts']]}; {_NEAR_WATER[agent['near_water']]}.", indent=2),
        *paragraph(f"{uses}.", first="for: ", indent=2),
        *paragraph(" ".join(agent["crew"]), first="crews: ", indent=2),
    ]
