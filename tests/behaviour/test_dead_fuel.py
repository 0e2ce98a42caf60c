"""The choice of dead fuel moisture reaches the fields, and the explanation uses the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from behaviour.forest_maker import PROJECTION, START, forest, weather, wild_forest
from wetline.behaviour import SurfaceModels, Variation, explain, fire_fields
from wetline.errors import OutsideRangeError
from wetline.weather import equilibrium_moisture

EQUILIBRIUM = SurfaceModels(dead_moisture="equilibrium")
TABLES = SurfaceModels()
OPEN = forest(fuel=1, cover=0.0, height_m=0.0, base_m=0.0, bulk=0.0)


@pytest.mark.property
def test_an_explanation_uses_the_fields_own_moisture() -> None:
    ground, given = wild_forest(), weather((6.0,) * 3, (215.0,) * 3)
    end = START + timedelta(hours=3)
    found = fire_fields(ground, given, start=START, until=end, dead="equilibrium")
    for k in range(3):
        for i, j in ((0, 0), (3, 9), (7, 7), (12, 2), (15, 15)):
            x, y = (float(v) for v in ground.grid.xy(i, j))
            why = explain(ground, given, START + timedelta(hours=k), x, y, dead="equilibrium")
            assert why.rate_mps == pytest.approx(float(found.head_rate_mps[k, i, j]), rel=2e-5)
            assert any("hourly equilibrium" in note for note in why.notes)


@pytest.mark.derived
def test_the_fields_take_the_moisture_of_the_grounds_own_place_and_hour() -> None:
    given = weather((6.0,) * 4, (215.0,) * 4)
    lon, lat = PROJECTION.to_lonlat(500_075.0, 5_199_925.0)
    told = equilibrium_moisture(given, float(lon), float(lat))
    why = EQUILIBRIUM.explain(OPEN, given, START + timedelta(hours=2, minutes=10), 500_075.0, 5_199_925.0)
    # level ground: its fall line is written 180°, the third quarter; gentle; same height as the weather
    assert why.dead_fine_pct == pytest.approx(max(float(told.pct[2, 0, 3 * 4 + 1]), 1.0), rel=1e-6)


@pytest.mark.behaviour
def test_night_is_no_gap() -> None:
    night = replace(weather((6.0,) * 30, (215.0,) * 30), cloud_pct=np.zeros(30))
    begin = START + timedelta(hours=14)
    until = begin + timedelta(hours=2)
    tables = TABLES.fields(OPEN, night, start=begin, until=until)
    equilibrium = EQUILIBRIUM.fields(OPEN, night, start=begin, until=until)
    assert any("at night" in note for note in tables.notes)
    assert not any("at night" in note for note in equilibrium.notes)
    assert np.all(equilibrium.head_rate_mps > 0.0)


@pytest.mark.property
@pytest.mark.parametrize("system", [TABLES, EQUILIBRIUM])
def test_a_damper_member_burns_more_slowly(system: SurfaceModels) -> None:
    given, until = weather(), START + timedelta(hours=1)
    slow, middle, fast = (
        system.fields(OPEN, given, start=START, until=until, variation=Variation(moisture_add_pct=add))
        for add in (2.0, 0.0, -50.0)
    )
    assert np.all(slow.head_rate_mps < middle.head_rate_mps)
    assert np.all(fast.head_rate_mps >= middle.head_rate_mps), "a sum below 1 % is held at 1 %"


@pytest.mark.behaviour
def test_impossible_air_is_refused() -> None:
    hot = replace(weather(), temperature_c=np.array([75.0]))
    with pytest.raises(OutsideRangeError, match="temperature_c"):
        EQUILIBRIUM.fields(OPEN, hot, start=START, until=START + timedelta(hours=1))
