"""Cycle times against the planning table, hand-made wind triangles, and what must always hold."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from circuits.day_maker import make_class, make_ground, make_limits
from wetline.aircraft import Aircraft, aircraft_classes
from wetline.circuits import Circuit, Source, circuit, ground_speed_mps
from wetline.errors import InputError, OutsideRangeError
from wetline.weather import Hour

NM = 1852.0
KT = 1852.0 / 3600.0
KIND = {"scoop": "lane", "dip": "dip", "base": "base"}
WIDE = make_ground(cell_m=5000.0, cells=200)
PLAIN = make_limits(go_round_pct=0.0)


def an_hour(wind_mps: float, from_deg: float) -> Hour:
    return Hour(
        time=datetime(2026, 8, 14, 14, tzinfo=UTC),
        temperature_c=28.0,
        humidity_pct=30.0,
        wind_mps=wind_mps,
        wind_from_deg=from_deg,
        gust_mps=None,
        rain_mm=0.0,
        cloud_pct=None,
        visibility_m=None,
    )


def one_speed(class_id: str, speed_kt: float) -> dict[str, Any]:
    """One cruise speed, loaded or not."""
    names = ["cruise_kt", *(["cruise_loaded_kt"] if class_id.endswith("helicopter") else [])]
    return dict.fromkeys(names, speed_kt)


def a_cycle(
    class_id: str,
    distance_m: float,
    *,
    load_l: float | None = None,
    hour: Hour | None = None,
    go_round_pct: float = 0.0,
    **values: float,
) -> Circuit:
    cls = make_class(class_id, **values)
    aircraft = Aircraft(call_sign="Tern 1", class_id=class_id, base="Halm", load_l=load_l)
    source = Source(
        id="W",
        kind=KIND[cls.fills],  # type: ignore[arg-type]
        name="W",
        position=(0.0, distance_m),
        runway_m=3000.0,
        agents=("water",),
    )
    limits = make_limits(go_round_pct=go_round_pct)
    return circuit(aircraft, cls, source, (0.0, 0.0), hour, WIDE, limits)


WATER_TABLE = [
    # class, cruise kt, overhead min, load L, {NM: (loads an hour, thousand litres an hour)}
    ("twin_engine_scooper", 170, 2.5, 6000, {1: (18.7, 112), 2: (15.3, 92), 4: (11.3, 68), 6: (8.9, 53),
     8: (7.4, 44), 10: (6.3, 38), 15: (4.6, 28), 20: (3.6, 22), 30: (2.5, 15)}),
    ("single_engine_scooper", 135, 3.0, 2700, {1: (15.4, 42), 2: (12.6, 34), 4: (9.2, 25), 6: (7.2, 19),
     8: (5.9, 16), 10: (5.0, 14), 15: (3.7, 9.9), 20: (2.9, 7.8), 30: (2.0, 5.5)}),
    ("heavy_helicopter", 100, 2.5, 3500, {1: (16.2, 57), 2: (12.2, 43), 4: (8.2, 29), 6: (6.2, 22),
     8: (5.0, 17), 10: (4.1, 14)}),  # printed 15 for the last: 60/14.5 × 3.5 = 14.48
    ("medium_helicopter", 90, 2.0, 1100, {1: (18.0, 20), 2: (12.9, 14), 4: (8.2, 9.0), 6: (6.0, 6.6),
     8: (4.7, 5.2), 10: (3.9, 4.3)}),
    ("light_helicopter", 90, 1.5, 600, {1: (21.2, 13), 2: (14.4, 8.6), 4: (8.8, 5.3), 6: (6.3, 3.8),
     8: (4.9, 3.0), 10: (4.0, 2.4)}),
]  # fmt: skip


@pytest.mark.derived
@pytest.mark.parametrize(("class_id", "cruise_kt", "overhead_min", "load_l", "printed"), WATER_TABLE)
def test_loads_an_hour_by_distance(
    class_id: str,
    cruise_kt: float,
    overhead_min: float,
    load_l: float,
    printed: dict[int, tuple[float, float]],
) -> None:
    """Loads and kilolitres an hour by distance, cycle = overhead + 120 d/V, worked out from the same
    speeds and overheads; half the last digit printed."""
    cruise = one_speed(class_id, cruise_kt)
    for distance_nm, (loads, kilolitres) in printed.items():
        found = a_cycle(
            class_id,
            distance_nm * NM,
            load_l=load_l,
            circuit_overhead_min=overhead_min,
            **cruise,
        )
        assert found.loads_per_hour.middle == pytest.approx(loads, abs=0.0501)
        digits = 0.0501 if kilolitres < 10 else 0.501
        # The table lets the load be the same whatever fuel is on board: that of low fuel.
        assert found.litres_low_fuel * found.loads_per_hour.middle / 1000.0 == pytest.approx(
            kilolitres, abs=digits
        )


@pytest.mark.derived
@pytest.mark.parametrize(
    ("class_id", "cruise_kt", "ground_min", "air_min", "printed"),
    [
        # 130 kt is what the three printed rates ask for, within the 126 to 150 kt of the class
        ("single_engine_tanker", 130, 12, 5, {25: (1.5, 0.05), 50: (0.95, 0.005), 100: (0.55, 0.005)}),
        ("large_tanker", 250, 25, 8, {50: (1.05, 0.005), 100: (0.74, 0.005), 150: (0.57, 0.005)}),
    ],
)
def test_land_tankers_add_ground_and_air_minutes(
    class_id: str,
    cruise_kt: float,
    ground_min: float,
    air_min: float,
    printed: dict[int, tuple[float, float]],
) -> None:
    """Loads an hour of land tankers at 25 to 150 NM, worked out from ground and air minutes."""
    for distance_nm, (loads, half_digit) in printed.items():
        found = a_cycle(
            class_id,
            distance_nm * NM,
            cruise_kt=cruise_kt,
            ground_time_min=ground_min,
            air_overhead_min=air_min,
        )
        assert found.loads_per_hour.middle == pytest.approx(loads, abs=half_digit + 1e-4)


@pytest.mark.published
def test_a_cycle_with_the_lake_beside_the_fire_lasts_about_three_minutes() -> None:
    """Transportation Safety Board of Canada, report A13A0075: 53 drops in a day, each cycle about
    3 min, the lake beside the fire. Beside is taken as half a mile to a mile."""
    for distance_m in (0.5 * NM, 1.0 * NM):
        cycle = a_cycle("twin_engine_scooper", distance_m, go_round_pct=10.0).cycle_min.middle
        assert cycle == pytest.approx(3.0, abs=0.5)


@pytest.mark.memory
@pytest.mark.parametrize("go_round_pct", [0.0, 10.0])
def test_nine_loads_an_hour_at_six_miles(go_round_pct: float) -> None:
    """Second-hand: a federal release as quoted in a public forum gives 9 drops an hour at 6 NM and
    180 kt; 9 is a whole number, so half a load either way."""
    found = a_cycle("twin_engine_scooper", 6 * NM, cruise_kt=180.0, go_round_pct=go_round_pct)
    assert found.loads_per_hour.middle == pytest.approx(9.0, abs=0.5)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("wind_kt", "from_deg", "course_deg", "speed_kt"),
    [
        (20, 0, 0, 80),  # on the nose
        (20, 180, 0, 120),  # on the tail
        (60, 90, 0, 80),  # abeam: 3-4-5 triangle
        (60, 270, 0, 80),
        (20, 45, 0, 84.8528),  # √(100² − 200) − 20/√2 = 60 √2
        (20, 225, 90, 113.1371),  # tail quarter on an easterly course: 70 √2 + 10 √2
        (20, 100, 100, 80),
    ],
)
def test_wind_triangle_by_hand(wind_kt: float, from_deg: float, course_deg: float, speed_kt: float) -> None:
    """Wind triangles drawn by hand for 100 kt true airspeed."""
    speed = ground_speed_mps(100 * KT, course_deg, wind_kt * KT, from_deg)
    assert speed / KT == pytest.approx(speed_kt, abs=1e-3)


@pytest.mark.behaviour
@pytest.mark.parametrize(("wind_mps", "from_deg"), [(60.0, 0.0), (60.0, 90.0)])
def test_a_course_that_wind_does_not_allow_is_an_error(wind_mps: float, from_deg: float) -> None:
    with pytest.raises(OutsideRangeError, match="60 m/s"):
        ground_speed_mps(50.0, 0.0, wind_mps, from_deg)


@pytest.mark.derived
def test_wind_along_the_legs_makes_the_round_trip_longer_by_hand() -> None:
    """10 NM at 100 kt with 20 kt along: 7.5 min against and 5 min with it, 12.5 in place of 12."""
    still = a_cycle("heavy_helicopter", 10 * NM, cruise_kt=100, cruise_loaded_kt=100)
    windy = a_cycle(
        "heavy_helicopter", 10 * NM, cruise_kt=100, cruise_loaded_kt=100, hour=an_hour(20 * KT, 180.0)
    )
    assert windy.cycle_min.middle - still.cycle_min.middle == pytest.approx(0.5, abs=1e-6)
    assert [leg.time_s / 60 for leg in windy.legs] == pytest.approx([7.5, 5.0])


@pytest.mark.derived
def test_passes_without_a_drop_cost_a_turn_at_the_target() -> None:
    """10 % without a drop is one extra pass for nine drops: (2.5 min − 12 s) / 9 = 15.3 s."""
    without = a_cycle("twin_engine_scooper", 5 * NM).cycle_min.middle
    with_them = a_cycle("twin_engine_scooper", 5 * NM, go_round_pct=10.0).cycle_min.middle
    assert (with_them - without) * 60.0 == pytest.approx(138.0 / 9.0)


@pytest.mark.derived
def test_the_climb_to_the_fire_is_added_and_so_is_a_steep_way_down() -> None:
    """1,000 ft up at 1,000 ft a minute is one more minute out, none back. Down again at no more than 1,000 ft
    a minute takes one minute, of which the 1,900 to 2,100 m left at 170 kt give 21.7 to 24.0 s."""
    hill = make_ground(lambda _x, y: np.where(y < 2000.0, 304.8, 0.0), cell_m=50.0, cells=200)
    cls = make_class("twin_engine_scooper", climb_fpm=1000.0)
    aircraft = Aircraft(call_sign="Tern 1", class_id=cls.id, base="Halm")
    source = Source(id="L", kind="lane", name="L", position=(0.0, 4000.0))
    found = circuit(aircraft, cls, source, (0.0, 0.0), None, hill, PLAIN)
    flat = circuit(aircraft, cls, source, (0.0, 0.0), None, WIDE, PLAIN)
    more = [(leg.time_s - level.time_s) for leg, level in zip(found.legs, flat.legs, strict=True)]
    assert more[0] == pytest.approx(60.0, abs=1e-3)
    assert 60.0 - 24.1 <= more[1] <= 60.0 - 21.7
    assert (found.cycle_min.middle - flat.cycle_min.middle) * 60 == pytest.approx(sum(more))
    assert [leg.climb_m for leg in found.legs] == pytest.approx([304.8, 0.0], abs=1e-3)


@pytest.mark.derived
def test_a_ridge_between_water_and_fire_is_climbed_both_ways() -> None:
    ridge = make_ground(lambda _x, y: np.where(abs(y - 2000.0) < 300.0, 152.4, 0.0), cell_m=50.0, cells=200)
    cls = make_class("twin_engine_scooper", climb_fpm=1000.0)
    aircraft = Aircraft(call_sign="Tern 1", class_id=cls.id, base="Halm")
    source = Source(id="L", kind="lane", name="L", position=(0.0, 4000.0))
    found = circuit(aircraft, cls, source, (0.0, 0.0), None, ridge, PLAIN)
    assert [leg.climb_m for leg in found.legs] == pytest.approx([152.4, 152.4], abs=1e-3)


@pytest.mark.property
@given(
    near=st.floats(100.0, 60_000.0),
    further=st.floats(1.0, 60_000.0),
    wind=st.floats(0.0, 15.0),
    from_deg=st.floats(0.0, 360.0),
    class_id=st.sampled_from([c for c, k in aircraft_classes().items() if k.fills != "none"]),
)
def test_a_cycle_grows_with_distance_and_never_gains_by_wind(
    near: float, further: float, wind: float, from_deg: float, class_id: str
) -> None:
    """A wind that does not change can only lengthen a way there and back flown at one airspeed."""
    cruise = one_speed(class_id, 100.0)
    hour = an_hour(wind, from_deg)
    base = a_cycle(class_id, near, hour=hour, **cruise)
    assert a_cycle(class_id, near + further, hour=hour, **cruise).cycle_min.middle > base.cycle_min.middle
    assert base.cycle_min.middle >= a_cycle(class_id, near, **cruise).cycle_min.middle - 1e-9


@pytest.mark.property
@given(
    distance=st.floats(500.0, 80_000.0),
    wind=st.floats(0.0, 15.0),
    class_id=st.sampled_from([c for c, k in aircraft_classes().items() if k.fills != "none"]),
)
def test_bands_hold_their_middle_and_say_what_they_come_from(
    distance: float, wind: float, class_id: str
) -> None:
    found = a_cycle(class_id, distance, hour=an_hour(wind, 30.0))
    for band in (found.cycle_min, found.loads_per_hour, found.litres_per_hour):
        assert band.low is not None
        assert band.high is not None
        assert 0.0 < band.low <= band.middle <= band.high
        assert band.low < band.high
    assert any("load" in words for words in found.band_from)


@pytest.mark.property
def test_the_band_is_no_constant_share_of_the_middle() -> None:
    """Near the water the overhead's range rules, far away that of the speed."""
    shares = []
    for distance_nm in (1, 30):
        band = a_cycle("twin_engine_scooper", distance_nm * NM).cycle_min
        assert band.high is not None
        shares.append(band.high / band.middle)
    assert abs(shares[0] - shares[1]) > 0.01


@pytest.mark.derived
def test_the_band_closes_when_the_class_has_no_ranges() -> None:
    still = a_cycle(
        "twin_engine_scooper",
        8 * NM,
        load_l=6000.0,
        cruise_kt=170.0,
        circuit_overhead_min=2.5,
        climb_fpm=1000.0,
    )
    for band in (still.cycle_min, still.loads_per_hour, still.litres_per_hour):
        assert band.low == pytest.approx(band.middle)
        assert band.high == pytest.approx(band.middle)


@pytest.mark.derived
def test_the_band_of_one_input_is_that_of_its_triangle() -> None:
    """Overhead alone varies, 2.0, 2.5, 3.2: the 10th and 90th of 100 of that triangle are
    2 + √(0.1·1.2·0.5) and 3.2 − √(0.1·1.2·0.7)."""
    found = a_cycle("twin_engine_scooper", 1000.0, load_l=6000.0, cruise_kt=170.0, climb_fpm=1000.0)
    flight = found.cycle_min.middle - 2.5
    assert found.cycle_min.low == pytest.approx(flight + 2.0 + (0.1 * 1.2 * 0.5) ** 0.5, abs=0.01)
    assert found.cycle_min.high == pytest.approx(flight + 3.2 - (0.1 * 1.2 * 0.7) ** 0.5, abs=0.01)


@pytest.mark.property
def test_the_parts_of_a_cycle_sum_to_it() -> None:
    found = a_cycle("large_tanker", 90_000.0, hour=an_hour(8.0, 200.0), go_round_pct=10.0)
    parts = found.ground_s + found.source_s + found.target_s + sum(leg.time_s for leg in found.legs)
    assert parts / 60.0 == pytest.approx(found.cycle_min.middle)


@pytest.mark.behaviour
def test_what_is_not_known_is_said() -> None:
    """No weather, and terrain that ends before the base: the cycle stands, and says what it lacks."""
    found = a_cycle("large_tanker", 600_000.0)
    assert {f.code for f in found.findings if f.level == "unknown"} == {
        "wind",
        "data_missing",
        "density_altitude",
    }


@pytest.mark.behaviour
def test_an_aircraft_is_not_sent_where_it_cannot_load() -> None:
    helicopter = Aircraft(call_sign="Heron 1", class_id="light_helicopter", base="Halm")
    lane = Source(id="S1", kind="lane", name="Lake", position=(0.0, 0.0))
    with pytest.raises(InputError, match="does not load at a lane"):
        circuit(helicopter, make_class("light_helicopter"), lane, (0.0, 0.0), None, WIDE, PLAIN)


@pytest.mark.behaviour
def test_all_passes_without_a_drop_is_an_error() -> None:
    with pytest.raises(OutsideRangeError, match="go_round_pct"):
        a_cycle("twin_engine_scooper", 5000.0, go_round_pct=100.0)


@pytest.mark.derived
def test_what_the_source_gives_takes_the_place_of_the_class() -> None:
    """A base that turns round in 8 min, and a tank that gives 500 L a load: both stand in for the class's."""
    cls = make_class("large_tanker")
    base = Source(
        id="B",
        kind="base",
        name="B",
        position=(0.0, 50_000.0),
        runway_m=3000.0,
        agents=("water",),
        reload_s=480.0,
    )
    tanker = Aircraft(call_sign="Gannet 7", class_id=cls.id, base="B")
    found = circuit(tanker, cls, base, (0.0, 0.0), None, WIDE, PLAIN)
    assert found.ground_s == pytest.approx(480.0)
    bucket = make_class("medium_helicopter")
    tank = Source(id="D", kind="dip", name="D", position=(0.0, 2_000.0), load_cap_l=500.0)
    plover = Aircraft(call_sign="Plover 5", class_id=bucket.id, base="B")
    dipped = circuit(plover, bucket, tank, (0.0, 0.0), None, WIDE, PLAIN)
    assert dipped.litres_per_load == pytest.approx(500.0)
    assert dipped.litres_per_hour.middle == pytest.approx(500.0 * dipped.loads_per_hour.middle)
