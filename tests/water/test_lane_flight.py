"""How a class flies a lane: thin air, tailwind, the parts of the run, the climb over the ground."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from water.shores import make_scooper, quantity
from wetline.aircraft import AircraftClass, Quantity, aircraft_classes
from wetline.errors import OutsideRangeError
from wetline.model import Limits, shipped_limits
from wetline.units import FOOT, KNOT
from wetline.water.flight import how_flown

LIMITS = shipped_limits()
TWIN = aircraft_classes()["twin_engine_scooper"]
SIGMA_5000_FT = 0.8617
"""Density ratio of the standard atmosphere at 5,000 ft: ICAO Doc 7488 tables, from memory."""


def climbing(fpm: float, ceiling_ft: float = 12000.0) -> AircraftClass:
    """A scooper of known climb that lifts off at 80 kt."""
    known = {
        "climb_fpm": Quantity(fpm, "ft/min", "test", low=0.8 * fpm, high=1.2 * fpm),
        "ceiling_ft": quantity(ceiling_ft, "ft"),
        "liftoff_speed_kt": quantity(80.0, "kt"),
        "touchdown_speed_kt": quantity(70.0, "kt"),
    }
    cls = make_scooper()
    return replace(cls, quantities={**cls.quantities, **known})


@pytest.mark.memory
def test_without_a_fill_run_all_of_the_run_grows_as_the_most_that_any_part_does() -> None:
    """1/σ² on 975 m between 150 m down and 375 m up, at 5,000 ft."""
    flight = how_flown(make_scooper(), 5000.0 * FOOT, LIMITS)
    assert flight.needed.middle == pytest.approx(525.0 + 975.0 / SIGMA_5000_FT**2, rel=2e-4)
    assert flight.fill_m is None
    assert [part.name for part in flight.phases(0.0)] == ["descent", "run", "climb"]


@pytest.mark.memory
def test_the_fill_run_grows_with_true_speed() -> None:
    """At the same indicated speed and for as long: 1/√σ."""
    flight = how_flown(TWIN, 5000.0 * FOOT, LIMITS)
    assert flight.fill_m == pytest.approx(410.0 / SIGMA_5000_FT**0.5, rel=2e-4)


@pytest.mark.derived
def test_at_sea_level_the_need_is_the_class_s_own() -> None:
    for cls_id, needed_m in (("twin_engine_scooper", 1500.0), ("single_engine_scooper", 1200.0)):
        flight = how_flown(aircraft_classes()[cls_id], 0.0, LIMITS)
        assert flight.needed.middle == pytest.approx(needed_m, abs=0.5)


@pytest.mark.property
@pytest.mark.parametrize("altitude_ft", [0.0, 3000.0, 8000.0])
@pytest.mark.parametrize("tail_kt", [0.0, 4.0])
def test_the_parts_follow_each_other_and_fill_the_need(altitude_ft: float, tail_kt: float) -> None:
    flight = how_flown(TWIN, altitude_ft * FOOT, LIMITS).downwind(tail_kt * KNOT)
    parts = flight.phases(200.0)
    assert [part.name for part in parts] == ["descent", "settle", "fill", "lift_off", "climb"]
    assert parts[0].from_m == 200.0
    assert all(a.to_m == b.from_m < b.to_m for a, b in itertools.pairwise(parts))
    assert parts[-1].to_m - 200.0 == pytest.approx(flight.needed.middle, abs=1e-6)


@pytest.mark.derived
def test_a_tailwind_lengthens_the_run_by_the_ground_speed() -> None:
    """7 kt on 70 kt: the fill takes 1.1 of its ground, settling and lifting off 1.21 of theirs."""
    still = how_flown(TWIN, 0.0, LIMITS)
    flight = still.downwind(7.0 * KNOT)
    assert still.fill_m is not None
    assert flight.fill_m == pytest.approx(1.1 * still.fill_m)
    assert flight.settle_m == pytest.approx(1.21 * still.settle_m)
    longer_m = 0.1 * still.fill_m + 0.21 * (still.settle_m + still.lift_m)
    assert flight.needed.middle - still.needed.middle == pytest.approx(longer_m)
    assert still.downwind(0.0) == still, "a headwind is not credited"


@pytest.mark.derived
def test_climb_is_flatter_over_the_ground_with_a_tailwind() -> None:
    """810.13 ft/min at 80 kt is 10 % in still air, 9.41 % with 5 kt from behind (80/85)."""
    flight = how_flown(climbing(810.13), 0.0, LIMITS)
    assert flight.climb is not None
    assert flight.climb.middle == pytest.approx(0.1, abs=2e-5)
    over = flight.downwind(5.0 * KNOT)
    band = over.over_ground(over.climb)
    assert band is not None
    assert band.middle == pytest.approx(0.1 * 80.0 / 85.0, abs=2e-5)


@pytest.mark.derived
def test_a_class_that_climbs_less_than_the_limit_flies_its_own_slope() -> None:
    """202.5 ft/min at 80 kt is 2.5 %: 15 m take 600 m, 225 m more than the 375 m of 4 %."""
    flight = how_flown(climbing(202.53), 0.0, LIMITS)
    assert flight.climb_slope == pytest.approx(0.025, abs=1e-5)
    assert flight.climb_m == pytest.approx(600.0, abs=0.3)
    assert flight.needed.middle == pytest.approx(1725.0, abs=0.3)


@pytest.mark.property
def test_air_that_nobody_knows_is_said_and_gives_no_climb() -> None:
    flight = how_flown(TWIN, None, LIMITS, why_unknown="there is no weather for this hour")
    assert (flight.density_altitude_m, flight.climb, flight.climb_empty) == (None, None, None)
    assert flight.needed.middle == pytest.approx(1500.0, abs=0.5)
    assert "not known" in flight.length_words()


@pytest.mark.property
def test_the_need_grows_and_the_climb_falls_with_density_altitude() -> None:
    flights = [how_flown(TWIN, ft * FOOT, LIMITS) for ft in (0.0, 2000.0, 4000.0, 6000.0, 8000.0)]
    lengths = [flight.needed.middle for flight in flights]
    climbs = [flight.climb.middle for flight in flights if flight.climb is not None]
    assert lengths == sorted(lengths)
    assert climbs == sorted(climbs, reverse=True)
    assert len(climbs) == len(flights)


@pytest.mark.behaviour
def test_a_slope_of_nothing_is_refused() -> None:
    flat = replace(LIMITS["climb_gradient_available"], value=0.0)
    with pytest.raises(OutsideRangeError, match="climb_gradient_available"):
        how_flown(TWIN, 0.0, Limits({**LIMITS.by_name, flat.name: flat}))
