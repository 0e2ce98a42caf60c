"""The shipped classes against the planning values they were written from, and the loader's rules."""

from __future__ import annotations

import pytest

from wetline.aircraft import CLASS_IDS, SOURCE_KINDS, aircraft_classes
from wetline.aircraft.classes import _class_from
from wetline.errors import WetlineError

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
def test_si_follows_the_definitions_of_knot_foot_and_hour() -> None:
    """1 kt = 1852/3600 m/s, 1 ft = 0.3048 m, exact."""
    scooper = aircraft_classes()["twin_engine_scooper"]
    assert scooper.si("cruise_kt") == pytest.approx(170 * 1852 / 3600, rel=1e-12)
    assert scooper.si("climb_fpm") == pytest.approx(1000 * 0.3048 / 60, rel=1e-12)
    assert scooper.si("drop_height_min_ft") == pytest.approx(30.48, rel=1e-12)
    assert scooper.si("endurance_h") == pytest.approx(3.8 * 3600, rel=1e-12)
    assert scooper.si("tank_volume_l") == 6100


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
        ("endurance_h", "endurance_min", "does not end in _h"),
        ('unit = "h"', 'unit = "fortnight"', "unknown unit"),
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
