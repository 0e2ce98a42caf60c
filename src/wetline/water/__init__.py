"""Where to fill: scoop lanes, each proved clear, and dip sites."""

from wetline.water.dips import dip_sites
from wetline.water.found import DipSite, DipWay, FileLane, FoundLanes, Lane
from wetline.water.lanes import Mended, Strip, lanes_in, longest_lane, mended
from wetline.water.local import lanes_of_file
from wetline.water.sites import lanes_for, why_no_lane
from wetline.water.traffic import with_traffic

__all__ = [
    "DipSite",
    "DipWay",
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
    "with_traffic",
]
