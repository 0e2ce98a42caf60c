import math

import numpy as np
import pytest

from wetline import tables
from wetline.behaviour import fuel_models

BURNABLE = [model for model in fuel_models().values() if model.burnable]


@pytest.mark.published
def test_gr1_is_as_read_in_a_public_copy() -> None:
    # Scott & Burgan 2005, table 7, as given at landfire.nkn.uidaho.edu (fuel-model attributes)
    row = next(r for r in tables.load("fuel/scott_burgan_2005").rows() if r["code"] == "GR1")
    assert (row["load_herb_tpa"], row["sav_1h"], row["sav_herb"], row["depth_ft"]) == (0.30, 2200, 2000, 0.40)
    assert (row["mx_dead_pct"], row["heat_btu_lb"], row["type"]) == (15, 8000, "dynamic")


@pytest.mark.published
def test_the_numbers_of_the_models_are_the_published_ones() -> None:
    # Scott & Burgan 2005, numbers as listed in the S-390 module text
    grass_and_shrub = [*range(101, 110), *range(121, 125), *range(141, 150)]
    timber_and_slash = [*range(161, 166), *range(181, 190), *range(201, 205)]
    expected = [*range(91, 94), 98, 99, *grass_and_shrub, *timber_and_slash]
    assert sorted(fuel_models()) == [*range(1, 14), *expected]
    assert [n for n, m in fuel_models().items() if not m.burnable] == [91, 92, 93, 98, 99]


@pytest.mark.published
def test_only_four_models_outside_grass_carry_curing_herbs() -> None:
    # nwcg.gov PMS 437: outside GR and GS the dynamic models are SH1, SH9, TU1, TU3
    dynamic = {m.code for m in BURNABLE if m.dynamic}
    assert {code for code in dynamic if code[:2] not in {"GR", "GS"}} == {"SH1", "SH9", "TU1", "TU3"}
    assert {m.code for m in BURNABLE if m.code[:2] in {"GR", "GS"}} <= dynamic
    assert all(m.load_herb_kg_per_m2 > 0 for m in BURNABLE if m.dynamic)


@pytest.mark.memory
def test_only_gr6_has_another_heat_of_combustion() -> None:
    # Scott & Burgan 2005, table 7, from memory
    heat = {r["code"]: r["heat_btu_lb"] for r in tables.load("fuel/scott_burgan_2005").rows()}
    assert heat.pop("GR6") == 9000
    assert {h for h in heat.values() if h is not None} == {8000}


@pytest.mark.property
def test_every_class_with_load_has_a_surface_to_volume_ratio() -> None:
    for model in BURNABLE:
        for size in ("1h", "10h", "100h", "herb", "woody"):
            if getattr(model, f"load_{size}_kg_per_m2") > 0:
                assert getattr(model, f"sav_{size}_per_m"), (model.code, size)


@pytest.mark.derived
def test_model_1_in_si() -> None:
    # short ton 907.18474 kg, acre 4046.8564224 m², foot 0.3048 m; Anderson 1982 table 1: 0.74 ton/acre, 3500 1/ft
    model = fuel_models()[1]
    assert model.load_1h_kg_per_m2 == pytest.approx(0.74 * 907.18474 / 4046.8564224, rel=1e-12)
    assert model.sav_1h_per_m == pytest.approx(3500 / 0.3048)
    assert model.depth_m == pytest.approx(0.3048)
    assert model.mx_dead == pytest.approx(0.12)


@pytest.mark.property
def test_dead_moisture_never_falls_with_humidity_or_rises_with_heat() -> None:
    table = tables.load("moisture/fine_dead_day")
    body = np.column_stack([table[str(c)] for c in range(0, 101, 5)])
    assert body.shape == (6, 21)
    assert np.all(np.diff(body, axis=1) >= 0)
    assert np.all(np.diff(body, axis=0) <= 0)


@pytest.mark.property
def test_corrections_are_complete_and_grow_with_height_above_the_station() -> None:
    rows = tables.load("moisture/correction_may_july").rows()
    assert len(rows) == 3 * (8 + 4)
    for below, level, above in zip(rows[::3], rows[1::3], rows[2::3], strict=True):
        heights = [below["relative_height"], level["relative_height"], above["relative_height"]]
        assert heights == ["below", "level", "above"]
        for hour in ("0800", "1000", "1200", "1400", "1600", "1800"):
            assert 0 <= below[hour] <= level[hour] <= above[hour] <= 6
            assert not math.isnan(level[hour])


@pytest.mark.behaviour
@pytest.mark.parametrize("name", [n for n in tables.names() if n.startswith(("fuel/", "moisture/"))])
def test_each_table_names_its_source_and_how_it_was_read(name: str) -> None:
    about = tables.load(name).provenance
    assert about.how_read in {"print", "public copy", "memory", "derived"}
    assert any(year in about.citation for year in ("1976", "1982", "1983", "2005"))
