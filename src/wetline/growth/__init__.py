"""Where the fire is when: arrival times, fronts, the edge and its parts."""

from wetline.growth.arrival import advance, arrival
from wetline.growth.edge import (
    EdgePiece,
    FastestPoint,
    edge_length_m,
    edge_pieces,
    fastest_point,
    head_direction,
)
from wetline.growth.front import Front
from wetline.growth.ring import Ring

__all__ = [
    "EdgePiece",
    "FastestPoint",
    "Front",
    "Ring",
    "advance",
    "arrival",
    "edge_length_m",
    "edge_pieces",
    "fastest_point",
    "head_direction",
]
