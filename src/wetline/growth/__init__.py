"""Where the fire is when: arrival times, fronts, the edge and its parts."""

from wetline.growth.arrival import advance, arrival
from wetline.growth.front import Front
from wetline.growth.ring import Ring

__all__ = ["Front", "Ring", "advance", "arrival"]
