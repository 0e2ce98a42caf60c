"""What goes beyond spread on the surface, as an answer: crown fire beside the edge, how far fire is thrown."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.app.answer import Answer, number
from wetline.app.sizeup_edge import by_code_m
from wetline.behaviour import spotting_from
from wetline.grid import along

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from wetline.attack import Scene
    from wetline.behaviour import FireFields
    from wetline.growth.edge import EdgePiece

__all__ = ["crown_of", "spotting_of"]

_CROWN: Mapping[int, str] = {0: "surface", 1: "passive", 2: "active"}
"""The codes of `FireFields.crown`; every other is unknown."""


def crown_of(pieces: Sequence[EdgePiece], fields: FireFields, at_s: float) -> Answer | None:
    """Length of edge [m] beside ground where a head fire burns so; None where the fields do not tell."""
    if fields.crown is None:
        return None
    found = by_code_m(pieces, fields.crown[fields.slot(at_s)], fields.grid, _CROWN)
    return {kind: number(metres, 0) for kind, metres in found.items()}


def spotting_of(pieces: Sequence[EdgePiece], scene: Scene, fields: FireFields) -> Answer:
    """How far ahead of the outer edge fire may be thrown, with the span of what is doubted; null where unknown."""
    outer = [piece for piece in pieces if piece.part != "island"]
    east, north = along(np.concatenate([piece.normal_deg for piece in outer]))
    xy = np.concatenate([piece.xy for piece in outer]) + 0.5 * fields.grid.cell_m * np.column_stack(
        [east, north]
    )
    on = fields.grid.holds(xy[:, 0], xy[:, 1])
    now = scene.start + timedelta(seconds=scene.now_s)
    found = spotting_from(scene.ground, scene.weather, fields, now, xy[on], wind=scene.wind)
    if found is None:
        return dict.fromkeys(("spotting_m", "spotting_m_low", "spotting_m_high", "spotting"))
    return {
        "spotting_m": number(found.distance_m, 0),
        "spotting_m_low": number(found.low_m, 0),
        "spotting_m_high": number(found.high_m, 0),
        "spotting": {
            "from": found.from_what,
            "band_from": "every reading of the published models that is doubted",
            "notes": list(found.notes),
        },
    }
