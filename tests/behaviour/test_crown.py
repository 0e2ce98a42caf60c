"""Crown fire's formulas, one place at a time."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from wetline.behaviour import (
    active_rate_van_wagner_1977,
    base_within_reach_m,
    critical_intensity_van_wagner_1977,
    crown_eccentricity,
    crown_fire,
    crown_fraction_van_wagner_1993,
    crown_rate_cruz_2005,
    crown_rate_rothermel_1991,
    fuel_models,
    rate_from_ignition,
    surface_spread_rothermel_1972,
)
from wetline.errors import OutsideRangeError
from wetline.units import KM_PER_HOUR, MILE_PER_HOUR, MINUTE
from wetline.weather import DeadMoisture, LiveMoisture

DRY = DeadMoisture(one_h=0.03, ten_h=0.04, hundred_h=0.06)
GREEN = LiveMoisture(herb=0.7, woody=0.7)


@pytest.mark.memory
@pytest.mark.parametrize(
    ("base_m", "at_97", "at_100", "at_120"),
    [
        (1, 162.0, 168.4, 213.1),
        (2, 458.3, 476.4, 602.8),
        (3, 842.0, 875.2, 1107.4),
        (4, 1296.4, 1347.5, 1705.0),
        (6, 2381.6, 2475.6, 3132.3),
        (8, 3666.7, 3811.4, 4822.5),
        (10, 5124.4, 5326.6, 6739.6),
    ],
)
def test_critical_intensity(base_m: float, at_97: float, at_100: float, at_120: float) -> None:
    # Van Wagner 1977, Can. J. For. Res. 7:23-34: equation and table from memory
    for foliar, expected in ((97, at_97), (100, at_100), (120, at_120)):
        assert critical_intensity_van_wagner_1977(base_m, foliar) == pytest.approx(expected, abs=0.051)
        assert base_within_reach_m(expected, foliar) == pytest.approx(base_m, rel=3e-4)


@pytest.mark.published
@pytest.mark.parametrize(("bulk", "m_per_min"), [(0.05, 60), (0.10, 30), (0.15, 20), (0.20, 15), (0.30, 10)])
def test_active_rate(bulk: float, m_per_min: float) -> None:
    # mass flow of 0.05 kg/m²/s: fuel-science textbook excerpt (what-when-how.com), eq. 4.2
    assert active_rate_van_wagner_1977(bulk) * MINUTE == pytest.approx(m_per_min, abs=1e-9)


@pytest.mark.derived
@pytest.mark.parametrize(("mph", "m_per_min"), [(10, 10.6), (20, 26.3), (30, 46.0)])
def test_crown_rate_by_model_10(mph: float, m_per_min: float) -> None:
    # Rothermel 1991, 3.34 × model 10 at 0.4 of the 20-ft wind: computed apart from this code
    # for dead 3/4/6 %, live 70 %, level ground
    found = crown_rate_rothermel_1991(DRY, GREEN, wind_20ft_mps=mph * MILE_PER_HOUR)
    assert found.rate_mps * MINUTE == pytest.approx(m_per_min, abs=0.051)


@pytest.mark.derived
def test_crown_rate_takes_slope_as_model_10_does() -> None:
    surface = surface_spread_rothermel_1972(
        fuel_models()[10], DRY, GREEN, midflame_mps=2.0, slope_tan=0.5, wind_toward_deg=70.0
    )
    found = crown_rate_rothermel_1991(DRY, GREEN, wind_20ft_mps=5.0, slope_tan=0.5, wind_toward_deg=70.0)
    assert found.rate_mps == pytest.approx(3.34 * surface.rate_mps, rel=1e-12)
    assert found.toward_deg == surface.toward_deg
    assert 0.0 < found.slope_share < found.wind_share < 1.0


@pytest.mark.derived
def test_crown_rate_by_wind_density_and_moisture() -> None:
    # Cruz, Alexander and Wakimoto 2005, equation from memory, 20 km/h, 0.2 kg/m³, 8 %: computed apart
    found = crown_rate_cruz_2005(20.0 * KM_PER_HOUR, 0.2, 8.0)
    assert found * MINUTE == pytest.approx(30.88, abs=0.0051)


@pytest.mark.memory
def test_passive_fraction_is_nine_tenths_at_nine_tenths_of_the_way() -> None:
    # how Van Wagner 1993 sets the exponent, from memory
    assert crown_fraction_van_wagner_1993(0.1, 0.1, 0.5) == 0.0
    assert crown_fraction_van_wagner_1993(0.1 + 0.9 * 0.4, 0.1, 0.5) == pytest.approx(0.9, rel=1e-12)


@pytest.mark.property
def test_passive_fraction_below_initiation_and_beyond_active() -> None:
    assert crown_fraction_van_wagner_1993(0.09, 0.1, 0.5) == 0.0
    assert crown_fraction_van_wagner_1993(0.3, 0.2, 0.1) == 1.0


def _fire(**changed: float) -> Any:
    given: dict[str, float] = {
        "surface_mps": 0.08,
        "surface_kw_per_m": 1200.0,
        "crown_mps": 0.6,
        "base_m": 2.0,
        "height_m": 16.0,
        "bulk_kg_per_m3": 0.12,
        "foliar_moisture_pct": 100.0,
    }
    return crown_fire(**{**given, **changed})


@pytest.mark.derived
def test_an_active_fire_burns_the_whole_crown_at_the_crown_rate() -> None:
    """0.12 kg/m³ needs 25 m/min; 0.6 m/s is 36. Fuel of the crowns: 0.12 × 14 m × 18 000 kJ/kg."""
    fire = _fire()
    assert (fire.kind, fire.fraction_burned, fire.rate_mps) == ("active", 1.0, 0.6)
    assert fire.takes_crown_ellipse
    heat_kj_per_m2 = 1200.0 / 0.08 + 0.12 * 14.0 * 18_000.0
    assert fire.intensity_kw_per_m == pytest.approx(heat_kj_per_m2 * 0.6, rel=1e-12)


@pytest.mark.derived
def test_a_passive_fire_lies_between() -> None:
    """Initiation at 0.08 · 476.35/1200 m/s, active at 25 m/min: worked through by hand."""
    fire = _fire(crown_mps=0.3)
    start = 0.08 * (0.010 * 2.0 * (460.0 + 25.9 * 100.0)) ** 1.5 / 1200.0
    fraction = 1.0 - 10.0 ** (-(0.08 - start) / (0.9 * (25.0 / 60.0 - start)))
    assert fire.kind == "passive"
    assert fire.fraction_burned == pytest.approx(fraction, rel=1e-9)
    assert fire.rate_mps == pytest.approx(0.08 + fraction * 0.22, rel=1e-9)
    heat_kj_per_m2 = 1200.0 / 0.08 + fraction * 0.12 * 14.0 * 18_000.0
    assert fire.intensity_kw_per_m == pytest.approx(heat_kj_per_m2 * fire.rate_mps, rel=1e-9)
    assert not fire.takes_crown_ellipse


@pytest.mark.property
def test_below_the_critical_intensity_it_is_the_surface_fire() -> None:
    fire = _fire(base_m=5.0)
    assert (fire.kind, fire.rate_mps, fire.intensity_kw_per_m) == ("surface", 0.08, 1200.0)
    assert _fire(surface_kw_per_m=0.0, surface_mps=0.0, base_m=0.0).kind == "surface"


@pytest.mark.property
@given(
    surface_mps=st.floats(1e-3, 3.0),
    heat=st.floats(500.0, 50_000.0),
    crown_mps=st.floats(0.0, 4.0),
    base_m=st.floats(0.0, 12.0),
    bulk=st.floats(0.01, 0.5),
    more=st.floats(1.0, 3.0),
)
def test_crowns_never_slow_or_cool_a_fire_and_more_of_them_never_do(
    surface_mps: float, heat: float, crown_mps: float, base_m: float, bulk: float, more: float
) -> None:
    assume(bulk * more <= 1.0)
    at = {"surface_mps": surface_mps, "surface_kw_per_m": heat * surface_mps, "base_m": base_m}
    fire = _fire(**at, crown_mps=crown_mps, bulk_kg_per_m3=bulk)
    assert fire.rate_mps >= surface_mps
    assert fire.intensity_kw_per_m >= heat * surface_mps * (1.0 - 1e-12)
    for denser in (
        _fire(**at, crown_mps=crown_mps, bulk_kg_per_m3=bulk * more),
        _fire(**at, crown_mps=crown_mps * more, bulk_kg_per_m3=bulk),
        _fire(
            surface_mps=surface_mps * more,
            surface_kw_per_m=heat * surface_mps * more,
            base_m=base_m,
            crown_mps=crown_mps,
            bulk_kg_per_m3=bulk,
        ),
    ):
        assert denser.rate_mps >= fire.rate_mps * (1.0 - 1e-12)
        assert denser.intensity_kw_per_m >= fire.intensity_kw_per_m * (1.0 - 1e-12)


@pytest.mark.property
@given(
    surface_mps=st.floats(0.01, 1.0),
    faster=st.floats(1.01, 30.0),
    surface_e=st.floats(0.0, 0.98),
    wind_e=st.floats(0.0, 0.99),
    turn=st.floats(0.0, 360.0),
)
def test_no_part_of_a_crown_fires_edge_is_slower_than_the_surface_fires(
    surface_mps: float, faster: float, surface_e: float, wind_e: float, turn: float
) -> None:
    rate = surface_mps * faster
    e = crown_eccentricity(rate, wind_e, surface_mps, surface_e, turn)
    assert 0.0 <= e <= wind_e
    way = np.arange(0.0, 360.0, 1.0)
    crown = rate_from_ignition(rate, e, way)
    surface = rate_from_ignition(surface_mps, surface_e, way - turn)
    assert np.all(crown >= surface * (1.0 - 1e-9))
    if e < wind_e:  # no narrower ellipse would do
        narrower = rate_from_ignition(rate, e + 0.02 * (1.0 - e), way)
        assert np.any(narrower < surface)


@pytest.mark.derived
def test_a_crown_fire_in_the_surface_fires_direction_keeps_its_heel() -> None:
    # heel rate of an ellipse: head (1 − e)/(1 + e)
    e = crown_eccentricity(2.0, 0.999, 0.5, 0.6, 0.0)
    assert 2.0 * (1.0 - e) / (1.0 + e) == pytest.approx(0.5 * 0.4 / 1.6, rel=1e-9)
    assert crown_eccentricity(0.5, 0.9, 0.5, 0.6, 0.0) == pytest.approx(0.6)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: critical_intensity_van_wagner_1977(-1.0, 100.0), "base_m"),
        (lambda: critical_intensity_van_wagner_1977(2.0, 20.0), "foliar_moisture_pct"),
        (lambda: critical_intensity_van_wagner_1977(math.nan, 100.0), "base_m"),
        (lambda: base_within_reach_m(-5.0, 100.0), "intensity_kw_per_m"),
        (lambda: active_rate_van_wagner_1977(0.0), "bulk_kg_per_m3"),
        (lambda: active_rate_van_wagner_1977(12.0), "bulk_kg_per_m3"),
        (lambda: crown_rate_cruz_2005(-1.0, 0.1, 8.0), "wind_10m_mps"),
        (lambda: crown_rate_cruz_2005(5.0, 0.1, 80.0), "fine_dead_pct"),
        (lambda: _fire(base_m=20.0), "height_m"),
    ],
)
def test_what_lies_outside_the_range_is_refused(call: Any, field: str) -> None:
    with pytest.raises(OutsideRangeError, match=field):
        call()
