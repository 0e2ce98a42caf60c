"""Where to fill: scoop lanes, each proved clear, and dip sites."""

from wetline.water.dips import dip_sites
from wetline.water.found import DipSite, FileLane, FoundLanes, Lane
from wetline.water.lanes import Mended, Strip, lanes_in, longest_lane, mended
from wetline.water.local import lanes_of_file
from wetline.water.sites import lanes_for, why_no_lane

__all__ = [
    "DipSite",
    "FileLane",
    "FoundLanes",
    "Lane",
    "Mended",
    "Strip",
    "dip_sites",
    "lanes_for",
    "lanes_in",
    "lanes_of_file",
    "longest_lane",
    "mended",
    "why_no_lane",
]
