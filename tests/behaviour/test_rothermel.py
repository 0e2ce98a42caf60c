"""Surface spread against the values published for the 13 and 40 models and an independent computation."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.behaviour import (
    FuelModel,
    SurfaceSpread,
    WindLimit,
    cured_fraction,
    fuel_models,
    surface_spread_rothermel_1972,
)
from wetline.behaviour.rothermel import reaction
from wetline.errors import InputError, OutsideRangeError
from wetline.units import CHAIN_PER_HOUR, FOOT, MILE_PER_HOUR
from wetline.weather import DeadMoisture, LiveMoisture

MODELS = {m.code: m for m in fuel_models().values() if m.burnable}
THIRTEEN = [str(n) for n in range(1, 14)]
FORTY = [code for code in MODELS if code not in THIRTEEN]

# Anderson 1982: 8 % dead, 100 % live. Scott & Burgan 2005: scenario D2 L2.
ANDERSON = (DeadMoisture(one_h=0.08, ten_h=0.08, hundred_h=0.08), LiveMoisture(herb=1.0, woody=1.0))
D2_L2 = (DeadMoisture(one_h=0.06, ten_h=0.07, hundred_h=0.08), LiveMoisture(herb=0.6, woody=0.9))
FIVE_MPH = 5.0 * MILE_PER_HOUR


def _spread(
    model: FuelModel,
    moisture: tuple[DeadMoisture, LiveMoisture],
    *,
    midflame_mps: float = FIVE_MPH,
    slope_tan: float = 0.0,
    wind_toward_deg: float = 0.0,
    wind_limit: WindLimit | None = None,
) -> SurfaceSpread:
    dead, live = moisture
    return surface_spread_rothermel_1972(
        model,
        dead,
        live,
        midflame_mps=midflame_mps,
        slope_tan=slope_tan,
        wind_toward_deg=wind_toward_deg,
        wind_limit=wind_limit,
    )


TRACE_COLUMNS = (
    "sigma", "beta", "beta_op", "rr", "gamma", "wn_dead", "wn_live", "eta_m_dead", "eta_m_live", "mx_live",
    "i_r", "xi", "sink", "r0",
)  # fmt: skip
TRACE = {
    "1": (3500, 0.00106175, 0.00419322, 0.253207, 14.1998, 0.03209, 0, 0.501481, None, None, 763.049, 0.0577504, 11.0818, 3.97648),
    "4": (1739.23, 0.00383331, 0.00743459, 0.515605, 14.1555, 0.214714, 0.217261, 0.556320, 0.559431, 2.5982, 11391.2, 0.0322091, 85.5648, 4.28798),
    "10": (1764.78, 0.0172463, 0.00734634, 2.34761, 12.6753, 0.131076, 0.086731, 0.579121, 0.637542, 4.48507, 5553.20, 0.0483237, 333.039, 0.805767),
}  # fmt: skip
# phi_w, rate ch/h, heat per area Btu/ft², intensity Btu/ft/s, flame ft, residence min
TRACE_SPREAD = {
    "1": (21.4294, 81.0819, 83.7174, 124.446, 4.13908, 0.109714),
    "4": (17.3202, 71.4150, 2515.03, 3292.87, 18.6766, 0.220787),
    "10": (9.75557, 7.87862, 1208.33, 174.532, 4.83588, 0.217591),
}


@pytest.mark.derived
@pytest.mark.parametrize("code", TRACE)
def test_every_step_of_the_equations(code: str) -> None:
    # the equations of Andrews 2018 computed independently, 5 mi/h midflame, to six figures
    bed = reaction(MODELS[code], *ANDERSON)
    for name, expected in zip(TRACE_COLUMNS, TRACE[code], strict=True):
        if expected is not None:
            assert getattr(bed, name) == pytest.approx(expected, rel=6e-6, abs=5e-7), name
    spread = _spread(MODELS[code], ANDERSON)
    btu_per_ft2, btu_per_ft_s = 1.054350 / 0.3048**2, 1.054350 / 0.3048
    found = (
        spread.wind_factor,
        spread.rate_mps / CHAIN_PER_HOUR,
        spread.heat_per_area_kj_per_m2 / btu_per_ft2,
        spread.byram_kw_per_m / btu_per_ft_s,
        bed.residence_min,
    )
    expected_without_flame = (*TRACE_SPREAD[code][:4], TRACE_SPREAD[code][5])
    assert found == pytest.approx(expected_without_flame, rel=6e-6)
    # 0.0775 I^0.46 [m, kW/m] and 0.45 I^0.46 [ft, Btu/ft/s] are two roundings of one relation
    assert spread.flame_length_m / FOOT == pytest.approx(TRACE_SPREAD[code][4], rel=1e-3)


# Anderson 1982, INT-122: rate [ch/h] and flame length [ft] at 5 mi/h midflame, printed digits from memory
ANDERSON_1982 = {
    "1": (78, 4), "2": (35, 6), "3": (104, 12), "4": (75, 19), "5": (18, 4), "6": (32, 6), "7": (20, 5),
    "8": (1.6, 1.0), "9": (7.5, 2.6), "10": (7.9, 4.8), "11": (6.0, 3.5), "12": (13.0, 8.0), "13": (13.5, 10.5),
}  # fmt: skip


@pytest.mark.memory
@pytest.mark.parametrize("code", [code for code in ANDERSON_1982 if code not in {"5", "7"}])
def test_rate_of_the_thirteen_models(code: str) -> None:
    # Printed values are rounded or read from graphs: 10 %. Model 5 hangs on live moisture (100 → 90 %: +46 %)
    # and model 7 would need 150 %: the published pair of those two does not follow from the published inputs.
    rate = _spread(MODELS[code], ANDERSON).rate_mps / CHAIN_PER_HOUR
    assert rate == pytest.approx(ANDERSON_1982[code][0], rel=0.10)


@pytest.mark.derived
@pytest.mark.parametrize(("code", "off"), [("5", -0.195), ("7", 0.296)])
def test_the_two_known_misfits_are_as_large_as_recorded(code: str, off: float) -> None:
    """An independent code misses the printed rates of these two by as much; docs/models.md says so."""
    rate = _spread(MODELS[code], ANDERSON).rate_mps / CHAIN_PER_HOUR
    assert rate / ANDERSON_1982[code][0] - 1.0 == pytest.approx(off, abs=0.002)


@pytest.mark.memory
@pytest.mark.parametrize("code", ANDERSON_1982)
def test_flame_length_of_the_thirteen_models(code: str) -> None:
    flame_ft = _spread(MODELS[code], ANDERSON).flame_length_m / FOOT
    assert flame_ft == pytest.approx(ANDERSON_1982[code][1], rel=0.12)
    if code not in {"7", "13"}:
        assert flame_ft == pytest.approx(ANDERSON_1982[code][1], abs=0.5)


# Characteristic surface-to-volume ratio [1/ft] and packing ratio as printed beside each model, from memory:
# Albini 1976 (13), Scott & Burgan 2005 model pages (40). GS4's printed ratio is doubtful and left out.
PRINTED_BED = {
    "1": (3500, .00106), "2": (2784, .00575), "3": (1500, .00172), "4": (1739, .00383), "5": (1683, .00252),
    "6": (1564, .00345), "7": (1562, .00280), "8": (1889, .03594), "9": (2484, .02500), "10": (1764, .01725),
    "11": (1182, .01653), "12": (1145, .02156), "13": (1159, .02778),
    "GR1": (2054, .00143), "GR2": (1820, .00158), "GR3": (1290, .00143), "GR4": (1826, .00154),
    "GR5": (1631, .00277), "GR6": (2006, .00335), "GR7": (1834, .00306), "GR8": (1302, .00316),
    "GR9": (1612, .00316), "GS1": (1832, .00215), "GS2": (1827, .00249), "GS3": (1614, .00259),
    "SH1": (1674, .00280), "SH2": (1672, .01198), "SH3": (1371, .00577), "SH4": (1682, .00227),
    "SH5": (1252, .00206), "SH6": (1144, .00412), "SH7": (1233, .00344), "SH8": (1386, .00509),
    "SH9": (1378, .00505), "TU1": (1606, .00885), "TU2": (1767, .00603), "TU3": (1611, .00359),
    "TU4": (2216, .01865), "TU5": (1224, .02009), "TL1": (1716, .04878), "TL2": (1806, .04232),
    "TL3": (1532, .02630), "TL4": (1568, .02224), "TL5": (1713, .01925), "TL6": (1936, .02296),
    "TL7": (1229, .03515), "TL8": (1770, .03969), "TL9": (1733, .03372), "SB1": (1653, .02224),
    "SB2": (1884, .01829), "SB3": (1935, .01345), "SB4": (1907, .00744),
}  # fmt: skip


@pytest.mark.memory
@pytest.mark.parametrize("code", PRINTED_BED)
def test_characteristic_ratio_and_packing_are_the_printed_ones(code: str) -> None:
    thirteen = code in THIRTEEN
    bed = reaction(MODELS[code], *(ANDERSON if thirteen else D2_L2))
    sigma, beta = PRINTED_BED[code]
    assert bed.sigma == pytest.approx(sigma, abs=1.0)
    # the 13 were printed from loads rounded in lb/ft²
    assert bed.beta == pytest.approx(beta, abs=0.01 * beta if thirteen else 1e-5)


# D2 L2, 5 mi/h midflame, level, no wind limit: rate [ch/h], flame [ft], intensity [kW/m] by an independent
# computation; published adjective classes of rate and flame (Scott & Burgan 2005, from memory).
FORTY_MODELS = """\
GR1,16.6,2.0,86,M,L
GR2,34.7,4.6,533,H,M
GR3,47.4,6.8,1283,H,M
GR4,70.4,8.6,2102,VH,H
GR5,57.5,10.8,3459,VH,H
GR6,71.7,13.1,5308,VH,VH
GR7,104.7,18.3,10959,VH,VH
GR8,103.5,23.0,17989,VH,VH
GR9,168.5,31.7,36061,X,X
GS1,15.2,3.3,255,M,L
GS2,22.9,5.1,665,H,M
GS3,32.5,7.7,1668,H,M
GS4,29.7,14.8,6913,H,VH
SH1,2.5,0.8,13,VL,VL
SH2,3.1,2.1,103,L,L
SH3,4.0,2.3,124,L,L
SH4,28.0,6.6,1185,H,M
SH5,57.3,13.6,5731,VH,VH
SH6,23.6,9.2,2433,H,H
SH7,37.5,12.9,5071,H,VH
SH8,22.7,10.3,3149,H,H
SH9,41.8,17.2,9480,H,VH
TU1,3.0,1.9,76,L,L
TU2,12.3,3.6,316,M,L
TU3,26.5,7.2,1426,H,M
TU4,12.4,5.7,856,M,M
TU5,9.3,7.4,1508,M,M
TL1,0.9,0.6,6,VL,VL
TL2,1.4,0.8,13,VL,VL
TL3,1.7,1.0,22,VL,L
TL4,2.5,1.4,38,L,L
TL5,4.5,2.1,99,L,L
TL6,6.0,2.7,167,M,L
TL7,2.9,2.0,91,L,L
TL8,6.1,3.4,274,M,L
TL9,9.1,4.8,603,M,M
SB1,6.4,3.1,229,M,L
SB2,15.3,6.0,976,M,M
SB3,27.7,9.1,2363,H,H
SB4,53.3,12.6,4868,VH,VH
""".splitlines()
ROWS = [row.split(",") for row in FORTY_MODELS]


@pytest.mark.derived
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_rate_flame_and_intensity_of_the_forty_models(row: list[str]) -> None:
    # half the last digit computed; the intensity there was rounded with another Btu (0.07 % apart)
    spread = _spread(MODELS[row[0]], D2_L2)
    assert spread.rate_mps / CHAIN_PER_HOUR == pytest.approx(float(row[1]), abs=0.0501)
    assert spread.flame_length_m / FOOT == pytest.approx(float(row[2]), abs=0.0501, rel=1e-3)
    assert spread.byram_kw_per_m == pytest.approx(float(row[3]), abs=0.501, rel=1e-3)


def _adjective(value: float, edges: tuple[float, ...]) -> str:
    return ("VL", "L", "M", "H", "VH", "X")[sum(value >= edge for edge in edges)]


@pytest.mark.memory
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_published_adjectives_of_the_forty_models(row: list[str]) -> None:
    # Scott & Burgan 2005, model pages (from memory), class edges nwcg.gov PMS 437; with the 1972 wind limit
    spread = _spread(MODELS[row[0]], D2_L2, wind_limit="rothermel_1972")
    rate_ch_h, flame_ft = spread.rate_mps / CHAIN_PER_HOUR, spread.flame_length_m / FOOT
    assert _adjective(flame_ft, (1, 4, 8, 12, 25)) == row[5]
    if row[0] != "SB4":  # recollections of its rate disagree
        assert _adjective(rate_ch_h, (2, 5, 20, 50, 150)) == row[4]


@pytest.mark.derived
def test_the_1972_limit_binds_only_in_the_thinnest_fuels() -> None:
    # independent computation: at D2 L2, 5 mi/h only GR1 (14.0 ch/h, limit 4.5 mi/h), SH1 (1.7, 3.7), TL1 (4.8)
    limited = {
        c: s for c in FORTY if (s := _spread(MODELS[c], D2_L2, wind_limit="rothermel_1972")).wind_limited
    }
    assert set(limited) == {"GR1", "SH1", "TL1"}
    for code, rate, wind_mph in (("GR1", 14.0, 4.5), ("SH1", 1.7, 3.7)):
        assert limited[code].rate_mps / CHAIN_PER_HOUR == pytest.approx(rate, abs=0.0501)
        assert limited[code].effective_midflame_mps / MILE_PER_HOUR == pytest.approx(wind_mph, abs=0.0501)
    assert limited["TL1"].effective_midflame_mps / MILE_PER_HOUR == pytest.approx(4.8, abs=0.0501)


@pytest.mark.memory
def test_the_2013_limit() -> None:
    # Andrews, Cruz & Rothermel 2013: 96.8 I_R^(1/3) ft/min, coefficient from memory; I_R of model 1: 763.05 Btu/ft²/min
    spread = _spread(MODELS["1"], ANDERSON, midflame_mps=20.0, wind_limit="andrews_2013")
    assert spread.wind_limited
    assert spread.effective_midflame_mps == pytest.approx(96.8 * 763.049 ** (1 / 3) * 0.3048 / 60, rel=1e-5)


@pytest.mark.memory
@pytest.mark.parametrize(
    ("herb", "cured"), [(0.30, 0.997), (0.60, 0.664), (0.75, 0.4975), (0.90, 0.331), (1.20, 0.0)]
)
def test_curing(herb: float, cured: float) -> None:
    # Andrews 2018 (from memory); the report's text has (1.20 − M)/0.90, 0.003 apart at most
    assert cured_fraction(herb) == pytest.approx(cured, abs=5e-4)
    assert cured_fraction(herb) == pytest.approx((1.20 - herb) / 0.90, abs=0.0031)
    assert cured_fraction(0.1) == 1.0
    assert cured_fraction(3.0) == 0.0


@pytest.mark.property
@pytest.mark.parametrize("code", MODELS)
def test_rate_grows_with_wind_and_slope(code: str) -> None:
    model = MODELS[code]
    by_wind = [_spread(model, D2_L2, midflame_mps=mph * MILE_PER_HOUR).rate_mps for mph in range(21)]
    by_slope = [_spread(model, D2_L2, slope_tan=pct / 100).rate_mps for pct in range(0, 101, 5)]
    for rates in (by_wind, by_slope):
        assert all(a < b for a, b in itertools.pairwise(rates))


@pytest.mark.property
@pytest.mark.parametrize("code", MODELS)
@pytest.mark.parametrize("beyond", [0.0, 0.05])
def test_nothing_spreads_at_or_above_the_moisture_of_extinction(code: str, beyond: float) -> None:
    model = MODELS[code]
    assert model.mx_dead is not None
    wet = model.mx_dead + beyond
    dead = DeadMoisture(one_h=wet, ten_h=wet, hundred_h=wet)
    spread = _spread(model, (dead, LiveMoisture(herb=3.0, woody=3.0)), slope_tan=0.4)
    assert spread.rate_mps == pytest.approx(0.0, abs=1e-12)
    assert spread.byram_kw_per_m == pytest.approx(0.0, abs=1e-9)


@pytest.mark.property
@settings(max_examples=60)
@given(st.sampled_from(sorted(MODELS)), st.floats(0.1, 12.0), st.floats(0.05, 1.0), st.floats(1.0, 179.0))
def test_head_runs_between_upslope_and_downwind(code: str, wind: float, slope: float, angle: float) -> None:
    spread = _spread(MODELS[code], D2_L2, midflame_mps=wind, slope_tan=slope, wind_toward_deg=angle)
    assert 0.0 <= spread.toward_deg <= angle
    # as vectors: no faster than both together, no slower than either against the other
    most = spread.no_wind_rate_mps * (1 + spread.wind_factor + spread.slope_factor)
    least = spread.no_wind_rate_mps * (1 + abs(spread.wind_factor - spread.slope_factor))
    assert least * (1 - 1e-9) <= spread.rate_mps <= most * (1 + 1e-9)
    mirrored = _spread(MODELS[code], D2_L2, midflame_mps=wind, slope_tan=slope, wind_toward_deg=-angle)
    assert mirrored.rate_mps == pytest.approx(spread.rate_mps)
    assert mirrored.toward_deg == pytest.approx(360.0 - spread.toward_deg)


@pytest.mark.property
@given(st.sampled_from(sorted(MODELS)), st.floats(0.0, 15.0), st.floats(0.0, 1.0), st.floats(0.0, 360.0))
def test_the_effective_wind_alone_gives_the_same_rate(
    code: str, wind: float, slope: float, angle: float
) -> None:
    spread = _spread(MODELS[code], D2_L2, midflame_mps=wind, slope_tan=slope, wind_toward_deg=angle)
    alone = _spread(MODELS[code], D2_L2, midflame_mps=spread.effective_midflame_mps)
    assert alone.rate_mps == pytest.approx(spread.rate_mps, rel=1e-9)


@pytest.mark.derived
def test_byram_intensity_is_heat_per_area_times_rate() -> None:
    # Byram 1959: I = H w r; reaction intensity over the residence time is the heat per area
    spread = _spread(MODELS["SH5"], D2_L2)
    assert spread.byram_kw_per_m == pytest.approx(spread.heat_per_area_kj_per_m2 * spread.rate_mps)
    heat = spread.reaction_intensity_kw_per_m2 * spread.residence_s
    assert heat == pytest.approx(spread.heat_per_area_kj_per_m2)


@pytest.mark.behaviour
def test_what_cannot_be_is_refused() -> None:
    percent = (DeadMoisture(one_h=8.0, ten_h=9.0, hundred_h=10.0), ANDERSON[1])
    with pytest.raises(OutsideRangeError, match=r"dead\.one_h"):
        _spread(MODELS["1"], percent)
    with pytest.raises(OutsideRangeError, match="midflame_mps"):
        _spread(MODELS["1"], ANDERSON, midflame_mps=-1.0)
    with pytest.raises(OutsideRangeError, match="slope_tan"):
        _spread(MODELS["1"], ANDERSON, slope_tan=math.nan)
    with pytest.raises(InputError, match="does not burn"):
        _spread(fuel_models()[98], ANDERSON)
