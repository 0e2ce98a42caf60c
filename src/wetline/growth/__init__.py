"""Where the fire is when: arrival times, fronts, the edge and its parts, the way it came."""

from wetline.growth.arrival import advance, arrival
from wetline.growth.edge import (
    EdgePiece,
    EdgeSector,
    FastestPoint,
    edge_by_direction,
    edge_length_m,
    edge_pieces,
    fastest_point,
    head_direction,
)
from wetline.growth.front import Front
from wetline.growth.ring import Ring
from wetline.growth.run_path import RunPath, farthest_ahead, trace_back

__all__ = [
    "EdgePiece",
    "EdgeSector",
    "FastestPoint",
    "Front",
    "Ring",
    "RunPath",
    "advance",
    "arrival",
    "edge_by_direction",
    "edge_length_m",
    "edge_pieces",
    "farthest_ahead",
    "fastest_point",
    "head_direction",
    "trace_back",
]
