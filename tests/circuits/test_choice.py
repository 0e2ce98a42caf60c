"""Which water is worked and which one stands by."""

from __future__ import annotations

import math

import pytest

from circuits.day_maker import make_ground, make_limits
from wetline.aircraft import Aircraft, aircraft_classes
from wetline.circuits import Source, best_sources, circuit

CLASS = "twin_engine_scooper"
TERN = Aircraft(call_sign="Tern 1", class_id=CLASS, base="Halm")


def make_lane(name: str, water: str, x: float, y: float, heading_deg: float = 90.0) -> Source:
    """A lane round (x, y) [m] with 1,600 m of water needed."""
    east, north = 800.0 * math.sin(math.radians(heading_deg)), 800.0 * math.cos(math.radians(heading_deg))
    return Source(
        id=name,
        kind="lane",
        name=water,
        position=(x, y),
        length_m=3000.0,
        clear_m=100.0,
        elevation_m=0.0,
        strip=((x - east, y - north), (x + east, y + north)),
    )


@pytest.mark.behaviour
def test_the_alternate_lies_on_other_water_however_far_it_is() -> None:
    """Two lanes of the near lake beat the far one; if that lake is lost, both are."""
    lanes = [
        make_lane("S1", "Near", 9000.0, 0.0),
        make_lane("S2", "Near", 9000.0, 300.0),
        make_lane("S3", "Far", 30_000.0, 0.0),
    ]
    ground = make_ground(cell_m=500.0)
    best = best_sources(
        TERN, aircraft_classes()[CLASS], lanes, (0.0, 0.0), hour=None, ground=ground, limits=make_limits()
    )
    assert best.primary is not None
    assert best.alternate is not None
    assert best.primary.water == "Near"
    assert best.alternate.source == "S3"


@pytest.mark.property
def test_leaving_lanes_out_early_changes_neither_choice() -> None:
    """Beside every circuit worked out: the best one, and the best on other water."""
    cls, ground, limits = aircraft_classes()[CLASS], make_ground(cell_m=500.0), make_limits()
    lanes = [
        make_lane(f"S{k}", f"Lake {k % 3}", (4000.0 + 1500.0 * k) * math.cos(k), (4000.0 + 1500.0 * k) * math.sin(k), 70.0 * k)
        for k in range(14)
    ]  # fmt: skip
    best = best_sources(TERN, cls, lanes, (0.0, 0.0), hour=None, ground=ground, limits=limits)
    every = [circuit(TERN, cls, lane, (0.0, 0.0), None, ground, limits) for lane in lanes]
    every.sort(key=lambda c: -c.litres_per_hour.middle)
    assert best.primary is not None
    assert best.alternate is not None
    assert best.primary.source == every[0].source
    assert best.alternate.source == next(c.source for c in every if c.water != every[0].water)
