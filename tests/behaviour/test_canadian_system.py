"""The Canadian system over ground: the formulas in each cell, codes through the hours, nothing silent."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from behaviour.system_maker import CANADIAN, START, flat, ground, tilted, weather
from behaviour.system_maker import fields as fields_of
from wetline.behaviour import CanadianSystem, Variation, fbp, fbp_fuel
from wetline.errors import InputError, OutsideRangeError, SolverError
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.weather import START_UP, Codes, DatedCodes, TerrainWind, fwi

# BUI 60 from DMC and DC: P = 0.4 D gives 0.8 P D / (0.8 D) = P
CHAIN = CanadianSystem(
    stands={1: fbp_fuel("C-2"), 2: fbp_fuel("C-3"), 3: fbp_fuel("D-1")},
    told=DatedCodes(codes=Codes(ffmc=90.0, dmc=60.0, dc=150.0), day=date(2026, 7, 14)),
    foliar_moisture_pct=97.0,
)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("number", "rate", "intensity", "ratio"),
    [(1, 16.165, 15843, 2.571), (2, 7.324, 4045, 2.571), (3, 3.270, 981, 2.571)],
)
def test_the_whole_chain_over_level_ground(number: int, rate: float, intensity: float, ratio: float) -> None:
    # computed beforehand: FFMC 90, 20 km/h, BUI 60, foliar moisture 97 %; LB by ST-X-3 eq. 79
    found = fields_of(CHAIN, flat(number), weather((20.0 / 3.6,)))
    assert found.head_rate_mps[0] * 60.0 == pytest.approx(rate, rel=3e-4)
    assert found.head_intensity_kw_per_m[0] == pytest.approx(intensity, rel=3e-4, abs=0.51)
    assert 1.0 / np.sqrt(1.0 - found.eccentricity[0].astype(float) ** 2) == pytest.approx(ratio, rel=1e-3)


@pytest.mark.derived
@pytest.mark.parametrize("cross_deg", [0.0, 60.0, 90.0, 150.0])
def test_wind_and_slope_add_as_vectors(cross_deg: float) -> None:
    # ST-X-3 eq. 49 to 52: the slope's wind up the fall line, the wind the way it blows, by the law of cosines
    fuel, still = fbp_fuel("C-3"), fwi.isi_fbp(90.0, 0.0)
    where = tilted(2, 90.0, 0.4)
    found = fields_of(CHAIN, where, weather((4.0,), (270.0 + cross_deg,)))
    push = float(fbp.slope_wind_mps(fuel, still, 0.4))
    together = math.sqrt(4.0**2 + push**2 + 2.0 * 4.0 * push * math.cos(math.radians(cross_deg)))
    fire = fbp.head_fire_fbp(
        fuel, still * fwi.wind_function_fbp(together), ffmc=90.0, bui=60.0, foliar_moisture_pct=97.0
    )
    assert found.head_rate_mps[0, 3, 3] == pytest.approx(float(fire.rate_mps), rel=5e-4)
    turn = math.radians(cross_deg)
    off = math.degrees(math.atan2(4.0 * math.sin(turn), push + 4.0 * math.cos(turn)))
    assert found.head_toward_deg[0, 3, 3] == pytest.approx(90.0 + off, abs=0.05)


@pytest.mark.derived
def test_the_tables_meet_the_formulas_for_every_fuel_from_calm_to_storm() -> None:
    winds = (0.0, 0.13, 1.0, 2.7, 5.3, 9.9, 11.05, 11.2, 17.7, 30.1, 60.0)
    numbers = [n for n, stand in CANADIAN.stands.items() if stand is not None]
    air = weather(winds, (270.0,) * len(winds))
    row = ground(np.full((1, len(numbers)), 500.0), np.array([numbers]))
    found = fields_of(CANADIAN, row, air, hours=len(winds))
    still, bui = fwi.isi_fbp(90.0, 0.0), fwi.bui(45.0, 300.0)
    for j, number in enumerate(numbers):
        stand = CANADIAN.stands[number]
        assert stand is not None
        fire = fbp.head_fire_fbp(
            stand,
            still * fwi.wind_function_fbp(np.array(winds)),
            ffmc=90.0,
            bui=bui,
            foliar_moisture_pct=100.0,
        )
        assert found.head_rate_mps[:, 0, j] == pytest.approx(fire.rate_mps, rel=5e-4)
        assert found.head_intensity_kw_per_m[:, 0, j] == pytest.approx(fire.intensity_kw_per_m, rel=1e-3)


@pytest.mark.derived
def test_a_variation_of_moisture_goes_through_the_litter() -> None:
    # 3 % points on the moisture behind FFMC 90: 147.2 · 11 / 149.5 = 10.831; 59.5 · 236.169 / 161.031 = 87.263
    damper = replace(CHAIN, told=replace(CHAIN.told, codes=Codes(ffmc=87.263, dmc=60.0, dc=150.0)))
    varied = fields_of(CHAIN, flat(1), weather(), variation=Variation(moisture_add_pct=3.0))
    assert varied.head_rate_mps == pytest.approx(
        fields_of(damper, flat(1), weather()).head_rate_mps, rel=2e-3
    )


@pytest.mark.derived
def test_a_faster_member_burns_more_of_the_crowns() -> None:
    # ST-X-3 eq. 56 to 58 and 69 by hand, C-3 at FFMC 90, 20 km/h, BUI 60, foliar moisture 97 %: 7.324 m/min,
    # twice that 14.648; surface fuel 5 (1 − e^(−0.0164 · 60))^2.24 = 1.7522 kg/m², crown base 8 m and load 1.15;
    # critical 0.001 · 8^1.5 · 2972.3^1.5 = 3666.7 kW/m, thus 6.975 m/min;
    # 1 − e^(−0.23 · 7.673) = 0.82877; 300 · (1.7522 + 0.82877 · 1.15) · 14.648 = 11 888 kW/m
    twice = fields_of(CHAIN, flat(2), weather((20.0 / 3.6,)), variation=Variation(spread_factor=2.0))
    assert twice.head_rate_mps[0] * 60.0 == pytest.approx(14.648, rel=3e-4)
    assert twice.head_intensity_kw_per_m[0] == pytest.approx(11_888.0, rel=1e-3)


@pytest.mark.property
@pytest.mark.parametrize("fuel", [1, 2, 4])
def test_a_slower_member_crowns_less_and_a_still_one_not_at_all(fuel: int) -> None:
    heat = [
        float(found.head_intensity_kw_per_m[0, 0, 0] / found.head_rate_mps[0, 0, 0])
        for found in (
            fields_of(CANADIAN, flat(fuel, 1), weather(), variation=Variation(spread_factor=f))
            for f in (0.01, 0.5, 1.0, 2.0)
        )
    ]
    assert np.all(np.diff(heat) >= -1e-3)
    assert heat[0] < heat[-1]


@pytest.mark.practice
def test_a_variation_never_dries_the_litter_below_one_per_cent() -> None:
    bone, drier = (
        fields_of(CHAIN, flat(1), weather(), variation=Variation(moisture_add_pct=add))
        for add in (-9.831, -60.0)
    )
    assert drier.head_rate_mps == pytest.approx(bone.head_rate_mps, rel=1e-3)


@pytest.mark.property
def test_fuel_dries_from_day_to_day_and_damps_by_night() -> None:
    air = weather((4.0,) * 48, (270.0,) * 48)
    humid = replace(
        air, humidity_pct=np.where((np.arange(48) % 24 > 8) & (np.arange(48) % 24 < 20), 85.0, 30.0)
    )
    days = fields_of(CHAIN, flat(1, 1), humid, hours=48.0).head_rate_mps[:, 0, 0]
    noon = 25  # the place's standard noon is 14 UTC, the table begins at 13
    assert np.ptp(days[:noon]) == 0.0
    assert days[noon] > days[0]
    hourly = replace(CHAIN, told=replace(CHAIN.told, hourly=True))
    hours = fields_of(hourly, flat(1, 1), humid, hours=48.0)
    assert hours.head_rate_mps[16, 0, 0] < 0.7 * days[16]
    assert any("hour by hour" in note for note in hours.notes)


@pytest.mark.behaviour
def test_codes_that_cannot_be_carried_stop_the_work() -> None:
    old = replace(CHAIN, told=replace(CHAIN.told, day=date(2026, 7, 11)))
    with pytest.raises(InputError, match="need the rain"):
        fields_of(old, flat(1), weather())
    x, y = (float(v) for v in flat(1).grid.xy(2, 2))
    with pytest.raises(InputError, match="need the rain"):
        old.explain(flat(1), weather(), START, x, y)


@pytest.mark.behaviour
def test_assumptions_are_said() -> None:
    told = DatedCodes(codes=START_UP, day=date(2026, 7, 14), start_up=True)
    system = replace(CHAIN, stands={1: fbp_fuel("O-1a", cured_pct=90.0)}, told=told)
    rainy = replace(weather(), rain_mm=np.array([2.0]))
    notes = " ".join(fields_of(system, flat(1), rainy).notes)
    for said in (
        "from memory",
        "canopy layers are not used",
        "start-up values",
        "standard 0.35",
        "Rain in some",
    ):
        assert said in notes
    steep = fields_of(CHAIN, tilted(1, 90.0, 0.9), weather())
    assert any("steeper than 70 %" in note for note in steep.notes)


@pytest.mark.behaviour
def test_length_to_breadth_is_cut_and_counted_where_it_is_narrower_than_the_front_can_hold() -> None:
    grass = replace(CHAIN, stands={1: fbp_fuel("O-1b", cured_pct=90.0, grass_load_kg_per_m2=0.3)})
    found = fields_of(grass, flat(1, 3), weather((25.0,)))
    assert found.capped_cells == 9
    assert any("cut at 8" in note for note in found.notes)


def _canada(fuel: int) -> Ground:
    return Ground(
        grid=Grid(Projection("EPSG:32611"), 500_000.0, 5_500_000.0, 30.0, 3, 3),
        elevation_m=np.full((3, 3), 900.0, np.float32),
        fuel=np.full((3, 3), fuel, np.int16),
    )


GREEN = replace(CHAIN, stands={**CHAIN.stands, 6: fbp_fuel("O-1a", cured_pct=2.0, grass_load_kg_per_m2=0.3)})
SODDEN = replace(CHAIN, told=replace(CHAIN.told, codes=Codes(ffmc=90.0, dmc=0.0, dc=150.0)))
DAMP = replace(CHAIN, told=replace(CHAIN.told, codes=Codes(ffmc=40.0, dmc=60.0, dc=150.0)))


@pytest.mark.behaviour
@pytest.mark.parametrize(("system", "fuel"), [(GREEN, 6), (SODDEN, 1), (DAMP, 3)])
def test_fuel_without_spread_is_counted_and_said(system: CanadianSystem, fuel: int) -> None:
    """A rate of none is the formula's, not a fire that is out."""
    numbers = np.full((5, 5), 9)
    numbers[:2] = fuel
    found = fields_of(system, flat(numbers), weather())
    assert found.head_rate_mps.max() * 60.0 < 0.05
    (note,) = (n for n in found.notes if "flare up" in n)
    assert "In up to 10 cells at some hour" in note
    assert "smoulder, creep" in note
    where = flat(fuel)
    x, y = (float(v) for v in where.grid.xy(2, 2))
    why = system.explain(where, weather(), START, x, y)
    assert any("flare up" in n for n in why.notes)


@pytest.mark.behaviour
def test_one_still_hour_among_others_is_counted() -> None:
    hours = replace(CHAIN, told=replace(CHAIN.told, hourly=True))
    air = replace(weather((4.0,) * 6, (270.0,) * 6), rain_mm=np.array([0.0, 0.0, 20.0, 0.0, 0.0, 0.0]))
    found = fields_of(hours, flat(3), air, hours=6.0)
    assert found.head_rate_mps[0].min() * 60.0 > 0.5
    assert any("In up to 25 cells at some hour" in note for note in found.notes)


@pytest.mark.behaviour
def test_fuel_that_spreads_everywhere_is_not_said_to_be_still() -> None:
    assert not any("flare up" in note for note in fields_of(CHAIN, flat(1), weather()).notes)


@pytest.mark.behaviour
def test_foliar_moisture_comes_from_date_and_place_in_canada_and_is_asked_for_elsewhere() -> None:
    unknown = replace(CHAIN, foliar_moisture_pct=None)
    noon = datetime(2026, 7, 14, 20, tzinfo=UTC)
    found = fields_of(unknown, _canada(1), weather((5.0,), first=noon), start=noon)
    assert any("Foliar moisture" in note for note in found.notes)
    with pytest.raises(OutsideRangeError):
        fields_of(unknown, flat(1), weather())
    # where no crowns burn nobody asks
    assert fields_of(unknown, flat(3), weather()).head_rate_mps.min() > 0.0


@pytest.mark.behaviour
def test_what_does_not_burn_is_explained() -> None:
    where = flat(9)
    x, y = (float(v) for v in where.grid.xy(1, 1))
    why = CANADIAN.explain(where, weather(), START, x, y)
    assert (why.fuel_name, why.rate_mps, why.wind_share) == ("nothing burns", 0.0, None)
    with pytest.raises(LookupError):
        CANADIAN.explain(where, weather(), START, x - 1e6, y)


@pytest.mark.behaviour
def test_weather_that_ends_too_soon_is_refused() -> None:
    with pytest.raises(InputError):
        CHAIN.fields(flat(1), weather(), start=START, until=START + timedelta(hours=3))


@pytest.mark.derived
def test_the_reasons_tell_how_much_of_the_crowns_burns() -> None:
    # computed beforehand: C-2 at FFMC 90, 20 km/h, BUI 60, foliar moisture 97 %: 0.969
    where = flat(1)
    x, y = (float(v) for v in where.grid.xy(1, 1))
    why = CHAIN.explain(where, weather((20.0 / 3.6,)), START, x, y)
    assert "Crown fraction burned at the head: 97%." in why.notes


@pytest.mark.behaviour
def test_a_wind_that_is_no_number_stops_the_work() -> None:
    where = flat(1)
    response = np.full((5, 5, 2, 2), np.nan, np.float32)
    with pytest.raises(SolverError):
        fields_of(CHAIN, where, weather(), wind=TerrainWind(grid=where.grid, response=response))


@pytest.mark.behaviour
def test_the_system_can_be_sent_to_another_process() -> None:
    assert pickle.loads(pickle.dumps(CANADIAN)) == CANADIAN  # noqa: S301  our own bytes
