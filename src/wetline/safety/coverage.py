"""Whether anybody knows the coverage that the ground's fuels ask of a drop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wetline.model import Finding

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wetline.behaviour import FireSystem

__all__ = ["check_coverage"]


def check_coverage(system: FireSystem, fuel: NDArray[np.int16]) -> tuple[Finding, ...]:
    """Fuels on the ground for which no drop guide names a coverage level: planned at the heaviest, `unknown`."""
    there = {int(number) for number in np.unique(fuel)}
    nameless = [n for n, model in system.drop_guide.items() if model is None and n in there]
    if not nameless:
        return ()
    names = ", ".join(dict.fromkeys(system.fuels[n] for n in nameless))
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=f"No drop guide names a coverage for {names}: drops there are planned at the heaviest level.",
            source="the drop guides and incident.toml, [fire.fuels]",
            refers_to="fuels",
        ),
    )
