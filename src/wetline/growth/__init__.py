"""Where the fire is when: arrival times, fronts, the edge and its parts, the way it came."""

from wetline.growth.arrival import Advance, advance, arrival
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
from wetline.growth.ensemble import Ensemble, Grown, ensemble, ensemble_of, grow
from wetline.growth.front import Front
from wetline.growth.members import Errors, member
from wetline.growth.metric import Paced
from wetline.growth.places import Reached
from wetline.growth.pool import Cluster, map_futures, map_stream
from wetline.growth.ring import Ring
from wetline.growth.run_path import RunPath, farthest_ahead, trace_back

__all__ = [
    "Advance",
    "Cluster",
    "EdgePiece",
    "EdgeSector",
    "Ensemble",
    "Errors",
    "FastestPoint",
    "Front",
    "Grown",
    "Paced",
    "Reached",
    "Ring",
    "RunPath",
    "advance",
    "arrival",
    "edge_by_direction",
    "edge_length_m",
    "edge_pieces",
    "ensemble",
    "ensemble_of",
    "farthest_ahead",
    "fastest_point",
    "grow",
    "head_direction",
    "map_futures",
    "map_stream",
    "member",
    "trace_back",
]
