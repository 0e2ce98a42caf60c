"""Runs, climb, runway and load in thin air and with fuel on board."""

from __future__ import annotations

from dataclasses import replace

import ambiance
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.aircraft import (
    Aircraft,
    AircraftClass,
    Quantity,
    aircraft_classes,
    climb_gradient,
    climb_rate_mps,
    load_rule,
    phases,
    runway_needed_m,
)
from wetline.weather.air import density_altitude_m

CLASSES = aircraft_classes()
TWIN, SINGLE = CLASSES["twin_engine_scooper"], CLASSES["single_engine_scooper"]
HEAVY, LARGE = CLASSES["heavy_helicopter"], CLASSES["large_tanker"]
FT = 0.3048
LOADING = [cls for cls in CLASSES.values() if cls.fills != "none"]


def aircraft(cls: AircraftClass, *, agent: str = "water", load_l: float | None = None) -> Aircraft:
    return Aircraft(call_sign="Tern 1", class_id=cls.id, base="Halm Field", agent=agent, load_l=load_l)


def with_(cls: AircraftClass, **quantities: Quantity | None) -> AircraftClass:
    known = {n: q for n, q in {**cls.quantities, **quantities}.items() if q is not None}
    return replace(cls, quantities=known)


def feet(value: float) -> Quantity:
    return Quantity(value, "ft", "from memory")


def sigma(density_altitude_m: float) -> float:
    """Density over that at sea level, of an atmosphere that is not ours."""
    density = ambiance.Atmosphere([0.0, density_altitude_m]).density
    return float(density[1] / density[0])


@pytest.mark.derived
def test_at_sea_level_the_parts_add_up_to_the_length_of_the_table() -> None:
    found = phases(TWIN, 0.0, approach_slope=0.1, climb_slope=0.04)
    assert found is not None
    parts = (found.descent_m, found.settle_m, found.fill_m, found.lift_m, found.climb_m)
    assert sum(parts) == pytest.approx(1500.0)
    assert (found.descent_m, found.climb_m, found.fill_m) == pytest.approx((150.0, 375.0, 410.0))
    assert (found.needed_m.low, found.needed_m.middle, found.needed_m.high) == (1200.0, 1500.0, 2000.0)


@pytest.mark.derived
@pytest.mark.parametrize("density_altitude_m", [500.0, 1500.0, 3000.0])
def test_the_parts_grow_with_the_true_speed_and_its_square(density_altitude_m: float) -> None:
    """True speed grows with 1/√σ: the fill with it, the settling with its square, the lift-off with σ^-2.5."""
    at_sea = phases(TWIN, 0.0, approach_slope=0.1, climb_slope=0.04)
    high = phases(TWIN, density_altitude_m, approach_slope=0.1, climb_slope=0.04)
    assert at_sea is not None
    assert high is not None
    s = sigma(density_altitude_m)
    assert high.fill_m == pytest.approx(at_sea.fill_m * s**-0.5, rel=1e-4)
    assert high.settle_m == pytest.approx(at_sea.settle_m / s, rel=1e-4)
    assert high.lift_m == pytest.approx(at_sea.lift_m * s**-2.5, rel=1e-4)
    assert (high.descent_m, high.climb_m) == (at_sea.descent_m, at_sea.climb_m)
    parts = (high.descent_m, high.settle_m, high.fill_m, high.lift_m, high.climb_m)
    assert high.needed_m.middle == pytest.approx(sum(parts))


@pytest.mark.derived
def test_a_take_off_stepped_through_time_grows_as_the_runway_does() -> None:
    """The equation of motion stepped through: thrust = power/speed, power ∝ σ, lift-off at the same dynamic pressure."""

    def run_m(s: float) -> float:
        speed, way, dt, end = 10.0 / s**0.5, 0.0, 0.01, 60.0 / s**0.5
        while speed < end:
            speed += dt * 200.0 * s / speed
            way += dt * speed
        return way

    here, there = runway_needed_m(LARGE, 0.0), runway_needed_m(LARGE, 2000.0)
    assert here is not None
    assert there is not None
    assert there.middle / here.middle == pytest.approx(run_m(sigma(2000.0)) / run_m(1.0), rel=2e-3)


@pytest.mark.memory
def test_the_long_end_of_a_runway_keeps_the_planning_rule_of_light_aeroplanes() -> None:
    """Safety Sense Leaflet 7 (UK Civil Aviation Authority), from memory: a factor of 1.10 for each 1,000 ft."""
    here, there = runway_needed_m(LARGE, 0.0), runway_needed_m(LARGE, 3000 * FT)
    assert here is not None
    assert there is not None
    assert there.high is not None
    assert here.high is not None
    assert there.high / here.high == pytest.approx(1.1**3)
    assert there.low is not None
    assert there.low < there.middle < there.high


@pytest.mark.derived
def test_a_flat_rated_engine_loses_nothing_up_to_its_altitude_and_goes_on_from_there() -> None:
    """Below it only the true speed counts: V²/(P/V) ∝ σ^-1.5. Above, power falls with σ from there."""
    flat = with_(LARGE, flat_rated_to_ft=feet(5000.0))
    found = [runway_needed_m(flat, ft * FT) for ft in (4000.0, 8000.0)]
    grown = [f.middle / LARGE.value("runway_needed_m") for f in found if f is not None]
    top, here = sigma(5000 * FT), sigma(8000 * FT)
    assert grown == pytest.approx([sigma(4000 * FT) ** -1.5, here**-1.5 * top / here], rel=1e-4)


@pytest.mark.property
@pytest.mark.parametrize("cls", LOADING, ids=lambda cls: cls.id)
@given(lower_m=st.floats(0.0, 3000.0), more_m=st.floats(1.0, 1500.0))
def test_thin_air_asks_for_more_length_and_gives_less_climb(
    cls: AircraftClass, lower_m: float, more_m: float
) -> None:
    low, high = (climb_gradient(cls, h, speed_kt=100.0) for h in (lower_m, lower_m + more_m))
    assert low is not None
    assert high is not None
    assert high.middle < low.middle
    for of in (runway_needed_m, lambda c, h: (p := _phases(c, h)) and p.needed_m):
        near, far = of(cls, lower_m), of(cls, lower_m + more_m)
        if near is None or far is None:
            continue
        assert far.middle > near.middle
        assert far.low is not None
        assert far.high is not None
        assert far.low <= far.middle <= far.high


def _phases(cls: AircraftClass, density_altitude_m: float):  # type: ignore[no-untyped-def]  # noqa: ANN202
    return phases(cls, density_altitude_m, approach_slope=0.1, climb_slope=0.04)


@pytest.mark.behaviour
def test_a_length_without_a_range_has_no_band_in_thin_air_either() -> None:
    bare = with_(LARGE, runway_needed_m=Quantity(1800.0, "m", "from memory"))
    found = runway_needed_m(bare, 1000.0)
    assert found is not None
    assert (found.low, found.high) == (None, None)


@pytest.mark.behaviour
def test_what_the_class_does_not_know_stays_unknown() -> None:
    assert phases(HEAVY, 0.0, approach_slope=0.1, climb_slope=0.04) is None
    assert runway_needed_m(HEAVY, 0.0) is None
    assert climb_gradient(with_(TWIN, ceiling_ft=None), 0.0, speed_kt=90.0) is None
    assert climb_gradient(with_(TWIN, climb_empty_fpm=None), 0.0, speed_kt=90.0, loaded=False) is None
    assert load_rule(CLASSES["supervision"], aircraft(CLASSES["supervision"]), 0.0) is None


@pytest.mark.memory
@pytest.mark.parametrize("cls", LOADING, ids=lambda cls: cls.id)
def test_at_its_service_ceiling_an_aircraft_climbs_100_ft_a_minute(cls: AircraftClass) -> None:
    """The definition of a service ceiling, from memory."""
    rate = climb_rate_mps(cls, cls.si("ceiling_ft"))
    assert rate is not None
    assert rate.middle == pytest.approx(100 * FT / 60)


@pytest.mark.memory
@pytest.mark.parametrize(
    "class_id", ["single_engine_scooper", "twin_engine_scooper", "single_engine_tanker", "light_helicopter"]
)
def test_hot_and_high_takes_about_three_quarters_of_the_climb(class_id: str) -> None:
    """The Koch chart of the Federal Aviation Administration's leaflet on density altitude, from memory.

    Its example: 6,000 ft and 100 °F take 76 % of the climb. That is of light piston aeroplanes; ten points are left.
    """
    cls = CLASSES[class_id]
    rate = climb_rate_mps(cls, density_altitude_m(6000 * FT, (100 - 32) / 1.8))
    assert rate is not None
    assert 1 - rate.middle / cls.si("climb_fpm") == pytest.approx(0.76, abs=0.10)


@pytest.mark.derived
def test_climb_falls_in_a_straight_line_and_below_nothing_above_the_ceiling() -> None:
    """1000 ft/min at sea level, 100 at 12,000 ft: 550 half-way, −50 at 14,000 ft."""
    found = [climb_rate_mps(TWIN, ft * FT) for ft in (0, 6000, 14000)]
    assert [b.middle * 60 / FT for b in found if b] == pytest.approx([1000.0, 550.0, -50.0])


@pytest.mark.derived
def test_the_gradient_is_climb_over_true_speed_loaded_and_with_the_load_let_go() -> None:
    """700, 1000, 1400 and, empty, 1600 ft/min at 60 kt, which is a nautical mile, 6,076.115 ft, a minute."""
    loaded = climb_gradient(TWIN, 0.0, speed_kt=60.0)
    empty = climb_gradient(TWIN, 0.0, speed_kt=60.0, loaded=False)
    assert loaded is not None
    assert empty is not None
    assert (loaded.low, loaded.middle, loaded.high) == pytest.approx(
        (700 / 6076.115, 1000 / 6076.115, 1400 / 6076.115)
    )
    assert empty.middle == pytest.approx(1600 / 6076.115)


@pytest.mark.memory
def test_a_single_engine_scooper_begins_a_fuel_cycle_with_2400_to_2700_litres() -> None:
    """From memory: usable load after fuel at the start of a fuel cycle."""
    rule = load_rule(SINGLE, aircraft(SINGLE), 0.0)
    assert rule is not None
    assert 2400 <= rule.litres(SINGLE.si("endurance_h")) <= 2700
    assert rule.litres(30 * 60.0) == 3000
    assert rule.limited_by == "the class's tank or bucket"


@pytest.mark.derived
def test_a_kilogram_of_fuel_burnt_is_a_litre_of_water_more() -> None:
    """300 kg/h: after an hour 300 L more than 2,550; after 1.5 h the tank of 3,000 L is full."""
    rule = load_rule(SINGLE, aircraft(SINGLE), 0.0)
    assert rule is not None
    assert [rule.litres(h * 3600) for h in (3.0, 2.0, 1.5, 0.5)] == pytest.approx([2550, 2850, 3000, 3000])
    assert rule.litres(3.5 * 3600) == pytest.approx(2400)


@pytest.mark.derived
def test_fuel_known_by_volume_weighs_0_8_kg_a_litre() -> None:
    """From memory: turbine fuel is 0.775 to 0.840 kg/L."""
    by_volume = with_(
        SINGLE, fuel_burn_kg_per_h=None, fuel_burn_l_per_h=Quantity(375.0, "L/h", "from memory")
    )
    rule = load_rule(by_volume, aircraft(SINGLE), 0.0)
    assert rule is not None
    assert rule.gain_l_per_s * 3600 == pytest.approx(375 * 0.8)


@pytest.mark.derived
@pytest.mark.parametrize("density_altitude_ft", [5000.0, 8000.0])
def test_a_rotor_s_lost_lift_is_all_taken_from_the_load(density_altitude_ft: float) -> None:
    """Actuator disc: P = T^1.5/√(2ρA), so T = (P√(2ρA))^⅔; with P ∝ ρ, T ∝ ρ. What is lost of 10.5 t is load."""
    there, full = (ambiance.Atmosphere(ft * FT).density[0] for ft in (density_altitude_ft, 4000.0))

    def lift(rho: float) -> float:
        power, area = rho, 250.0
        return float((power * (2 * rho * area) ** 0.5) ** (2 / 3))

    lost = 10500 * (1 - lift(there) / lift(full))
    rule = load_rule(HEAVY, aircraft(HEAVY), density_altitude_ft * FT)
    assert rule is not None
    assert rule.most_l == pytest.approx(3800 - lost, abs=1.0)
    assert rule.full_fuel_l == pytest.approx(3040 - lost, abs=1.0)
    assert rule.limited_by == "density altitude"
    below = load_rule(HEAVY, aircraft(HEAVY), 3900 * FT)
    assert below is not None
    assert below.most_l == 3800


@pytest.mark.derived
def test_a_helicopter_too_heavy_with_full_fuel_begins_to_lift_as_it_burns() -> None:
    """The litres rise from nothing when the fuel burnt weighs what is missing, not at once."""
    rule = load_rule(HEAVY, aircraft(HEAVY), 4700.0)
    sea = load_rule(HEAVY, aircraft(HEAVY), 0.0)
    assert rule is not None
    assert sea is not None
    lost = sea.most_l - rule.most_l
    assert lost > 3040
    assert rule.full_fuel_l == rule.litres(HEAVY.si("endurance_h")) == 0.0
    assert rule.litres(0.0) == pytest.approx(min(rule.most_l, max(0.0, 3040 - lost + 1200)))


@pytest.mark.derived
def test_retardant_is_carried_in_fewer_litres_where_weight_limits() -> None:
    """9 lb a US gallon (second-hand public copy) is 1.0784 kg/L; a land tanker's litres are of retardant already."""
    density = 9 * 0.45359237 / 3.785411784
    scooper, tanker = (load_rule(c, aircraft(c, agent="retardant"), 0.0) for c in (TWIN, LARGE))
    assert scooper is not None
    assert tanker is not None
    assert scooper.most_l == pytest.approx(6100 / density)
    assert scooper.limited_by == "the weight of retardant"
    assert scooper.full_fuel_l == pytest.approx(4500 / density)
    assert tanker.most_l == 13300


@pytest.mark.derived
@pytest.mark.parametrize(
    ("cls", "load_l", "most", "full"),
    [
        (SINGLE, 2600.0, 2600.0, 2550.0),
        (SINGLE, 2000.0, 2000.0, 2000.0),
        (SINGLE, 3300.0, 3300.0, 2805.0),
        (HEAVY, 7600.0, 7600.0, 6080.0),
        (HEAVY, 1900.0, 1900.0, 1520.0),
    ],
)
def test_an_aircrafts_own_load_takes_the_place_of_the_tank(
    cls: AircraftClass, load_l: float, most: float, full: float
) -> None:
    """An aeroplane's fuel limit stands, and grows only beyond its tank; a bucket is drawn in by a share of itself."""
    rule = load_rule(cls, aircraft(cls, load_l=load_l), 0.0)
    assert rule is not None
    assert (rule.most_l, rule.full_fuel_l) == pytest.approx((most, full))
    assert rule.limited_by == "the aircraft's own load"


@pytest.mark.behaviour
def test_what_cannot_be_counted_is_said() -> None:
    unknown_air = load_rule(HEAVY, aircraft(HEAVY), None)
    no_mass = load_rule(with_(HEAVY, gross_kg=None), aircraft(HEAVY), 2500.0)
    no_burn = load_rule(with_(SINGLE, fuel_burn_kg_per_h=None), aircraft(SINGLE), 0.0)
    tanker = load_rule(LARGE, aircraft(LARGE), 0.0)
    words = [rule.not_counted for rule in (unknown_air, no_mass, no_burn, tanker) if rule]
    assert words[0] == ("density altitude is not known: nothing is cut for thin air",)
    assert words[1] == ("mass of this class is not known: nothing is cut above 4000 ft",)
    assert "fuel burn is not known: the load of full fuel is kept" in words[2]
    assert "what its fuel takes from the load is not known" in words[3]
    assert no_burn is not None
    assert no_burn.litres(0.0) == 2550


@pytest.mark.property
@pytest.mark.parametrize("cls", LOADING, ids=lambda cls: cls.id)
@given(
    height_m=st.floats(-300.0, 5000.0),
    fuel_s=st.floats(0.0, 20000.0),
    load_l=st.none() | st.floats(500.0, 50000.0),
    agent=st.sampled_from(["water", "foam", "gel", "retardant"]),
)
def test_never_more_than_the_tank_nor_less_than_nothing_nor_more_for_more_fuel_or_thinner_air(
    cls: AircraftClass, height_m: float, fuel_s: float, load_l: float | None, agent: str
) -> None:
    one = aircraft(cls, agent=agent, load_l=load_l)
    here, higher = (load_rule(cls, one, h) for h in (height_m, height_m + 500.0))
    assert here is not None
    assert higher is not None
    most = cls.value("tank_volume_l") if load_l is None else load_l
    litres = here.litres(fuel_s)
    assert 0.0 <= litres <= here.most_l <= most
    assert here.litres(fuel_s + 600.0) <= litres
    assert higher.litres(fuel_s) <= litres + 1e-9
    assert here.litres(here.full_fuel_s) == pytest.approx(here.full_fuel_l)
