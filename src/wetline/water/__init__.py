"""Where to fill: scoop lanes, each proved clear, and dip sites."""

from wetline.water.found import DipSite, FoundLanes, Lane
from wetline.water.lanes import Mended, Strip, lanes_in, longest_lane, mended
from wetline.water.local import lanes_of_file

__all__ = [
    "DipSite",
    "FoundLanes",
    "Lane",
    "Mended",
    "Strip",
    "lanes_in",
    "lanes_of_file",
    "longest_lane",
    "mended",
]
