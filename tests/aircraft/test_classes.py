"""The shipped classes against the planning values they were written from, and the loader's rules."""

from __future__ import annotations

import pytest

from wetline.aircraft import CLASS_IDS, SOURCE_KINDS, aircraft_classes, contradictions, known_quantities
from wetline.aircraft.classes import _class_from
from wetline.errors import InputError, WetlineError

GOOD = """
id = "supervision"
name = "Air supervision"
fills = "none"
[quantities]
endurance_h = { value = 4.0, unit = "h", low = 3.0, high = 5.0, source = "from memory" }
"""


@pytest.mark.published
def test_single_engine_tanker_never_drops_below_60_ft() -> None:
    """Interagency single-engine airtanker operations guide (public copy), p. 29."""
    assert aircraft_classes()["single_engine_tanker"].value("drop_height_min_ft") == 60


@pytest.mark.published
def test_supervision_orbits_2500_ft_above_ground() -> None:
    """Air traffic control unit of the supervision course S-378 (public copy): orbit 2,500 ft."""
    assert aircraft_classes()["supervision"].value("orbit_height_ft") == 2500


@pytest.mark.practice
@pytest.mark.parametrize(
    ("class_id", "name", "low", "value", "high"),
    [
        ("twin_engine_scooper", "tank_volume_l", 5300, 6100, 6150),
        ("twin_engine_scooper", "fill_time_s", 10, 12, 14),
        ("twin_engine_scooper", "drop_speed_kt", 95, 105, 110),
        ("heavy_helicopter", "tank_volume_l", 2600, 3800, 10000),
        ("large_tanker", "tank_volume_l", 11400, 13300, 15100),
        ("very_large_tanker", "drop_height_ft", 250, 300, 800),
    ],
)
def test_values_of_common_practice(class_id: str, name: str, low: float, value: float, high: float) -> None:
    """Common practice, no source."""
    quantity = aircraft_classes()[class_id].quantities[name]
    assert (quantity.low, quantity.value, quantity.high) == (low, value, high)
    assert quantity.source.startswith("common practice, no source")


@pytest.mark.memory
@pytest.mark.parametrize(
    ("class_id", "name", "low", "value", "high"),
    [
        ("single_engine_scooper", "load_full_fuel_l", 2400, 2550, 2700),
        ("single_engine_scooper", "lane_needed_m", 1000, 1200, 1500),
        ("single_engine_scooper", "cruise_kt", 120, 135, 150),
        ("light_helicopter", "cruise_loaded_kt", 70, 80, 90),
        ("medium_helicopter", "depth_needed_m", 1.0, 2.0, 2.5),
        ("medium_tanker", "cruise_kt", 200, 220, 260),
        ("large_tanker", "cruise_kt", 250, 260, 350),
        ("very_large_tanker", "reload_time_min", 20, 30, 40),
    ],
)
def test_values_from_memory(class_id: str, name: str, low: float, value: float, high: float) -> None:
    """From memory."""
    quantity = aircraft_classes()[class_id].quantities[name]
    assert (quantity.low, quantity.value, quantity.high) == (low, value, high)
    assert quantity.source.startswith("from memory")


@pytest.mark.behaviour
def test_every_class_of_the_interface_is_shipped_and_what_loads_knows_its_load() -> None:
    classes = aircraft_classes()
    assert tuple(classes) == CLASS_IDS
    assert len(classes) == 10
    for cls in classes.values():
        assert (cls.get("tank_volume_l") is None) == (cls.fills == "none")
        assert all(q.source.partition(":")[0] in SOURCE_KINDS for q in cls.quantities.values())


@pytest.mark.behaviour
def test_unknown_is_absent() -> None:
    helicopter = aircraft_classes()["light_helicopter"]
    assert helicopter.get("wave_limit_m") is None
    with pytest.raises(KeyError):
        helicopter.value("wave_limit_m")


@pytest.mark.derived
@pytest.mark.parametrize("class_id", ["light_helicopter", "medium_helicopter", "heavy_helicopter"])
def test_helicopters_take_their_full_load_up_to_4000_ft_of_density_altitude(class_id: str) -> None:
    """Read out of the Suppression Tactics Guide NFES 1256 (public copy): usually affected above 4,000 ft."""
    assert aircraft_classes()[class_id].value("full_load_to_ft") == 4000


@pytest.mark.memory
@pytest.mark.parametrize("class_id", ["light_helicopter", "medium_helicopter", "heavy_helicopter"])
def test_a_snorkel_needs_half_a_metre_and_a_bucket_two(class_id: str) -> None:
    """From memory: bucket height and 0.5 m, 1 to 2.5 m; the end of a snorkel 0.5 m."""
    cls = aircraft_classes()[class_id]
    assert cls.ways == ("bucket", "snorkel")
    assert cls.filling_by("bucket").value("depth_needed_m") == 2.0
    assert cls.filling_by("snorkel").value("depth_needed_m") == 0.5


@pytest.mark.behaviour
def test_another_way_of_filling_changes_what_it_names_and_nothing_else() -> None:
    bucket = aircraft_classes()["heavy_helicopter"]
    snorkel = bucket.filling_by("snorkel")
    assert bucket.filling_by(None) is bucket
    assert (bucket.way, snorkel.way, snorkel.ways) == ("bucket", "snorkel", ("snorkel",))
    same = set(bucket.quantities) - set(bucket.other_ways["snorkel"])
    assert all(snorkel.quantities[name] == bucket.quantities[name] for name in same)
    assert set(snorkel.quantities) == set(bucket.quantities)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("class_id", "way", "mend"),
    [
        ("light_helicopter", "hose", "Give one of: bucket, snorkel."),
        ("twin_engine_scooper", "bucket", "Leave it out: there is no choice."),
    ],
)
def test_a_way_that_a_class_does_not_know_is_refused(class_id: str, way: str, mend: str) -> None:
    with pytest.raises(InputError) as caught:
        aircraft_classes()[class_id].filling_by(way)
    assert caught.value.problems[0].mend == mend


@pytest.mark.property
def test_no_shipped_class_contradicts_itself() -> None:
    for cls in aircraft_classes().values():
        assert contradictions(cls, [cls]) == ()


@pytest.mark.property
def test_an_aircraft_that_lets_its_load_go_climbs_at_least_by_the_ratio_of_its_masses_better() -> None:
    """Climb is excess power over weight, and drag falls too."""
    for cls in aircraft_classes().values():
        if cls.fills != "none":
            heavy, load = cls.value("gross_kg"), cls.value("tank_volume_l")
            least = cls.value("climb_fpm") * heavy / (heavy - load)
            assert cls.value("climb_empty_fpm") >= least, cls.id


@pytest.mark.behaviour
def test_every_quantity_is_known_by_name_and_its_name_ends_in_its_unit() -> None:
    ends = {"L": "_l", "kg": "_kg", "kg/h": "_kg_per_h", "L/h": "_l_per_h", "ft/min": "_fpm"}
    known = known_quantities()
    assert all(name.endswith(ends.get(k.unit, f"_{k.unit}")) for name, k in known.items())
    for cls in aircraft_classes().values():
        assert set(cls.quantities) <= set(known)
        assert all(known[name].unit == q.unit for name, q in cls.quantities.items())


@pytest.mark.derived
def test_si_follows_the_definitions_of_knot_foot_and_hour() -> None:
    """1 kt = 1852/3600 m/s, 1 ft = 0.3048 m, exact."""
    scooper = aircraft_classes()["twin_engine_scooper"]
    assert scooper.si("cruise_kt") == pytest.approx(170 * 1852 / 3600, rel=1e-12)
    assert scooper.si("climb_fpm") == pytest.approx(1000 * 0.3048 / 60, rel=1e-12)
    assert scooper.si("drop_height_min_ft") == pytest.approx(30.48, rel=1e-12)
    assert scooper.si("endurance_h") == pytest.approx(3.8 * 3600, rel=1e-12)
    assert scooper.si("tank_volume_l") == 6100
    assert scooper.si("fuel_burn_kg_per_h") == pytest.approx(950 / 3600, rel=1e-12)


@pytest.mark.property
def test_no_class_plans_to_drop_below_its_own_minimum() -> None:
    for cls in aircraft_classes().values():
        least = cls.get("drop_height_min_ft")
        if least is not None:
            assert cls.value("drop_height_ft") >= least.value


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('id = "supervision"', 'id = "other"', "not the file's name"),
        ('fills = "none"', 'fills = "hose"', "none of scoop, dip, base, none"),
        ("endurance_h", "endurance_min", "no quantity of a class"),
        ("endurance_h", "refuel_min", "is in min, not in h"),
        ('unit = "h"', 'unit = "fortnight"', "is in h, not in fortnight"),
        ("low = 3.0", "low = 4.5", "low ≤ value ≤ high"),
        ("value = 4.0", "value = nan", "low ≤ value ≤ high"),
        ('source = "from memory"', 'source = "somewhere"', "no known kind of source"),
        (', source = "from memory"', "", "needs value, unit, source"),
    ],
)
def test_a_broken_class_file_names_its_fault(old: str, new: str, words: str) -> None:
    assert _class_from(GOOD, "supervision").name == "Air supervision"
    with pytest.raises(WetlineError, match=words):
        _class_from(GOOD.replace(old, new), "supervision")
