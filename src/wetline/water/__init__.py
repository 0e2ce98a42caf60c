"""Where to fill: scoop lanes, each proved clear, and dip sites."""

from wetline.water.atlas import Ask, AtlasLane, Chunk, Searched, Trouble, search_chunk
from wetline.water.atlas_near import (
    RECORD,
    NearLane,
    Ranked,
    Reach,
    Wind,
    boxes_near,
    cell_of,
    cells_near,
    in_reach,
    judged,
    rank,
)
from wetline.water.dips import dip_sites, room_needed_m
from wetline.water.found import DipSite, DipWay, FileLane, FoundLanes, Lane
from wetline.water.joined import joined, name_along, united
from wetline.water.lanes import Mended, Strip, lanes_in, longest_lane, mended
from wetline.water.local import lanes_of_file, lanes_of_water
from wetline.water.sites import lanes_for, why_no_lane
from wetline.water.traffic import one_place, with_traffic

__all__ = [
    "RECORD",
    "Ask",
    "AtlasLane",
    "Chunk",
    "DipSite",
    "DipWay",
    "FileLane",
    "FoundLanes",
    "Lane",
    "Mended",
    "NearLane",
    "Ranked",
    "Reach",
    "Searched",
    "Strip",
    "Trouble",
    "Wind",
    "boxes_near",
    "cell_of",
    "cells_near",
    "dip_sites",
    "in_reach",
    "joined",
    "judged",
    "lanes_for",
    "lanes_in",
    "lanes_of_file",
    "lanes_of_water",
    "longest_lane",
    "mended",
    "name_along",
    "one_place",
    "rank",
    "room_needed_m",
    "search_chunk",
    "united",
    "why_no_lane",
    "with_traffic",
]
