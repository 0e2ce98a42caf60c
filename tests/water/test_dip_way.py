"""Ways into a dip site and out of it, on ground whose slopes are known: ramps, pits, canyons, wires."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour
from wetline.aircraft import aircraft_classes
from wetline.grid import angle_between
from wetline.ground import Hazard, Layer
from wetline.model import Band, shipped_limits
from wetline.water.dip_checks import check_dip_way, check_dip_wind
from wetline.water.dip_way import BEARINGS_DEG, WAY_M, best_way, climb_of, look_round

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wetline.ground import Ground
    from wetline.model import Finding
    from wetline.water.dip_way import Round
    from wetline.water.found import DipWay
    from wetline.weather import Hour

    Height = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]

LIMITS = shipped_limits()
HERE = (500_000.0, 5_000_000.0)
SLOPE = 0.15
CLIMB = Band(SLOPE)
WATER_M = 100.0
SURVEYED = datetime(2026, 6, 2, tzinfo=UTC).date()


def shaped(height: Height, *, hazards: tuple[Hazard, ...] = (), canopy: bool = True) -> Ground:
    """Ground whose tops above the water are `height(east, north)` of the site."""
    grid = make_grid()
    x, y = grid.xy(*np.mgrid[0 : grid.rows, 0 : grid.cols])
    z = (WATER_M + height(x - HERE[0], y - HERE[1])).astype(np.float32)
    return make_ground(
        grid, (), elevation_m=z, canopy_height_m=np.zeros(grid.shape, np.float32) if canopy else None,
        hazards=Layer(hazards, present=True, surveyed=SURVEYED),
    )  # fmt: skip


def flat(x: NDArray[np.float64], _: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.zeros_like(x)


def walled(height_m: float, open_from_deg: float = 0.0, open_to_deg: float = 0.0) -> Height:
    """A wall from 200 m on all round, but for a sector."""

    def height(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        bearing = np.degrees(np.arctan2(x, y)) % 360.0
        gap = (bearing - open_from_deg) % 360.0 < (open_to_deg - open_from_deg)
        return np.where((np.hypot(x, y) >= 200.0) & ~gap, height_m, 0.0)

    return height


def seen(ground: Ground, hour: Hour | None = None, climb: Band | None = CLIMB) -> tuple[Round, DipWay]:
    found = look_round(HERE, WATER_M, None, ground, LIMITS, room_m=30.0, climb=climb)
    return found, best_way(found, hour, LIMITS, climb=climb)


def said(ground: Ground, hour: Hour | None = None, climb: Band | None = CLIMB) -> tuple[Finding, ...]:
    found, way = seen(ground, hour, climb)
    return check_dip_way(way, found, LIMITS)


@pytest.mark.derived
@pytest.mark.parametrize("wind_from_deg", [20.0, 155.0, 290.0])
def test_on_flat_ground_both_ways_lie_into_the_wind(wind_from_deg: float) -> None:
    found, way = seen(shaped(flat), make_hour(6.0, wind_from_deg))
    assert not found.asked.any()
    assert len(way.open_deg) == len(BEARINGS_DEG)
    assert not way.confined
    for heading in (way.departure_deg, way.approach_deg):
        assert heading is not None
        assert angle_between(heading, wind_from_deg) <= 5.0


@pytest.mark.derived
def test_a_ramp_asks_for_its_slope_from_the_water() -> None:
    """10 % from 200 m east on: at 1,500 m its top is 130 m up, 8.67 % from the water."""
    found, way = seen(shaped(lambda x, _: np.maximum(0.10 * (x - 200.0), 0.0)))
    assert found.asked[9] == pytest.approx(0.10 * (WAY_M - 200.0) / WAY_M, abs=0.002)
    assert found.asked[27] == 0.0
    assert found.out_rise_m[9] == 0.0
    assert len(way.open_deg) == 36


@pytest.mark.derived
@pytest.mark.parametrize(("height_m", "level"), [(29.0, "clear"), (45.0, "caution"), (75.0, "stop")])
def test_a_pit_asks_for_a_climb_straight_up(height_m: float, level: str) -> None:
    """Walls at 200 m: at 15 % the climb is 30 m up there, the rest is straight up, 30 m at most."""
    ground = shaped(walled(height_m))
    found, _ = seen(ground)
    expected = max(height_m - SLOPE * 200.0, 0.0)
    assert found.out_rise_m == pytest.approx(expected, abs=SLOPE * 20.0 + 0.2)  # a cell is 20 m
    out = next(f for f in said(ground) if f.message.startswith("Way out"))
    assert out.level == level
    assert out.code == "terrain_exit"


@pytest.mark.derived
def test_the_low_end_of_the_climb_is_a_caution_already() -> None:
    """25 m at 200 m are 12.5 %: clear at 15 % alone, a caution where the class may climb 10 % only."""
    ground = shaped(walled(25.0))
    assert next(f for f in said(ground) if f.message.startswith("Way out")).level == "clear"
    doubtful = said(ground, climb=Band(SLOPE, 0.10, 0.20))
    assert next(f for f in doubtful if f.message.startswith("Way out")).level == "caution"


@pytest.mark.derived
def test_a_dead_end_is_confined_and_a_valley_is_not() -> None:
    """Walls from 200 m on but for 150° to 210°: 10° inside its edge 35 m of the 30 m wanted are free."""
    _, dead_end = seen(shaped(walled(90.0, 150.0, 210.0)))
    assert dead_end.open_deg == (160.0, 170.0, 180.0, 190.0, 200.0)
    assert dead_end.confined
    assert dead_end.departure_deg in dead_end.open_deg
    assert dead_end.approach_deg is not None
    assert (dead_end.approach_deg + 180.0) % 360.0 in dead_end.open_deg
    assert any(
        "Confined" in f.message and f.level == "caution" for f in said(shaped(walled(90.0, 150.0, 210.0)))
    )

    def valley(x: NDArray[np.float64], _: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.where(np.abs(x) >= 200.0, 90.0, 0.0)

    _, through = seen(shaped(valley), make_hour(6.0, 350.0))
    assert not through.confined
    assert through.departure_deg in {0.0, 350.0, 10.0}
    assert through.approach_deg in {0.0, 350.0, 10.0}


@pytest.mark.derived
def test_a_way_out_with_the_wind_from_behind_is_never_clear() -> None:
    """Open to the south alone, 8 m/s (15.6 kt) from the north."""
    hour = make_hour(8.0, 0.0)
    _, way = seen(shaped(walled(90.0, 150.0, 210.0)), hour)
    cls = aircraft_classes()["medium_helicopter"]
    (found,) = check_dip_wind(way, hour, cls)
    assert (found.level, found.effect) == ("unknown", "look")
    assert found.value in {"15 kt", "16 kt"}
    quantity = aircraft_classes()["twin_engine_scooper"].quantities["tailwind_limit_kt"]
    limited = replace(cls, quantities={**cls.quantities, "tailwind_limit_kt": quantity})
    assert check_dip_wind(way, hour, limited)[0].level == "stop"
    assert check_dip_wind(way, make_hour(1.0, 0.0), limited)[0].level == "caution"


@pytest.mark.derived
def test_without_weather_the_wind_is_unknown() -> None:
    _, way = seen(shaped(flat))
    (found,) = check_dip_wind(way, None, aircraft_classes()["medium_helicopter"])
    assert (found.level, found.effect) == ("unknown", "look")


@pytest.mark.derived
@pytest.mark.parametrize(
    ("north_m", "height_m", "closed"),
    [(300.0, 34.0, True), (400.0, None, True), (800.0, 34.0, False), (800.0, 70.0, True)],
)
def test_a_wire_across_the_way_closes_it_within_60_m(
    north_m: float, height_m: float | None, closed: bool
) -> None:
    """At 15 % the path is 45 m up at 300 m and 120 m at 800 m: 11 m, 86 m and 50 m over the wire."""
    line = shapely.LineString([(HERE[0] - 600.0, HERE[1] + north_m), (HERE[0] + 600.0, HERE[1] + north_m)])
    wire = Hazard(name="Line 4", kind="wire", shape=line, height_m=height_m)
    ground = shaped(flat, hazards=(wire,))
    _, way = seen(ground)
    assert (0.0 not in way.open_deg) is closed
    assert 180.0 in way.open_deg


@pytest.mark.derived
def test_a_wire_over_all_ways_is_a_stop() -> None:
    ring = shapely.Point(HERE).buffer(250.0).exterior
    wire = Hazard(name="Fence", kind="wire", shape=shapely.LineString(ring.coords), height_m=30.0)
    out = next(f for f in said(shaped(flat, hazards=(wire,))) if f.message.startswith("Way out"))
    assert out.level == "stop"
    assert "obstacle" in out.message


@pytest.mark.derived
def test_a_mast_in_the_way_asks_for_its_slope() -> None:
    """62 m at 400 m east, on ground level with the water: 15.5 %."""
    mast = Hazard(name="Mast", kind="mast", shape=shapely.Point(HERE[0] + 400.0, HERE[1]), height_m=62.0)
    found, _ = seen(shaped(flat, hazards=(mast,)))
    assert found.asked[9] == pytest.approx(62.0 / 400.0)
    assert found.out_rise_m[9] == pytest.approx(62.0 - SLOPE * 400.0)


@pytest.mark.property
def test_unknown_terrain_is_never_open() -> None:
    ground = shaped(lambda x, _: np.where(x > 500.0, np.nan, 0.0))
    _, way = seen(ground)
    assert way.open_deg
    assert not any(30.0 < bearing < 150.0 for bearing in way.open_deg)
    blind = said(shaped(lambda x, y: np.where(np.hypot(x, y) > 300.0, np.nan, 0.0)))
    assert {(f.level, f.effect) for f in blind if f.code == "terrain_exit"} == {("unknown", "blocks")}


@pytest.mark.property
def test_what_is_not_known_is_said() -> None:
    assert check_dip_way(None, None, LIMITS)[0].effect == "blocks"
    assert any("Tree heights are not known" in f.message for f in said(shaped(flat, canopy=False)))
    unknown_climb = said(shaped(flat), climb=None)
    assert next(f for f in unknown_climb if f.message.startswith("Way out")).effect == "look"
    closed = said(shaped(walled(90.0)), climb=None)
    assert next(f for f in closed if f.message.startswith("Way out")).effect == "blocks"


@pytest.mark.derived
def test_trees_count_as_ground_does() -> None:
    """A wood of 20 m from 120 m on: 16.7 % from the water over its edge."""
    ground = shaped(flat)
    x, y = ground.grid.xy(*np.mgrid[0 : ground.grid.rows, 0 : ground.grid.cols])
    wood = np.where(np.hypot(x - HERE[0], y - HERE[1]) >= 120.0, 20.0, 0.0).astype(np.float32)
    found, _ = seen(replace(ground, canopy_height_m=wood))
    assert found.asked == pytest.approx(20.0 / 120.0, rel=0.12)  # a cell is 20 m


@pytest.mark.memory
def test_the_class_climbs_its_feet_a_minute_at_60_kt() -> None:
    """900 ft/min at 60 kt in sea-level air: 4.57 m/s over 30.9 m/s, from memory of the class's table."""
    climb = climb_of(aircraft_classes()["medium_helicopter"], 0.0)
    assert climb is not None
    assert climb.middle == pytest.approx(900.0 * 0.3048 / 60.0 / (60.0 * 1852.0 / 3600.0), rel=1e-6)


@pytest.mark.property
def test_above_its_ceiling_no_way_out_is_open() -> None:
    found, way = seen(shaped(flat), climb=Band(-0.01, -0.05, 0.02))
    assert way.departure_deg is None
    assert (found.out_rise_m > 0.0).all()
    out = said(shaped(flat), climb=Band(0.04, -0.01, 0.06))
    assert next(f for f in out if f.message.startswith("Way out")).level == "caution"
