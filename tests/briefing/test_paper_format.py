"""How numbers are written on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing.paper import PROJECTION, ZONE, at
from wetline.briefing.format import Style, number, rounded
from wetline.model import Band

STYLE = Style(units="aviation", zone=ZONE, made=at(13, 47), projection=PROJECTION, variation_deg=-14.0)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("true_deg", "variation_deg", "written"),
    [
        (260.0, -14.0, "274° M (260° T)"),  # variation west, magnetic best
        (255.0, -14.0, "269° M (255° T)"),
        (170.0, -14.0, "184° M (170° T)"),
        (5.0, 10.0, "355° M (005° T)"),  # variation east, magnetic least
        (346.0, -14.0, "360° M (346° T)"),  # north is 360, not 000
        (359.6, 0.0, "360° M (360° T)"),
        (90.0, None, "090° true, variation not given"),
    ],
)
def test_magnetic_comes_first_and_true_in_brackets(
    true_deg: float, variation_deg: float | None, written: str
) -> None:
    assert replace(STYLE, variation_deg=variation_deg).bearing(true_deg) == written


@pytest.mark.derived
@pytest.mark.parametrize(
    ("value", "step", "written"),
    [(1930.0, 10, "1,930"), (-14.0, 1, "−14"), (6.4, 0.1, "6.4"), (9.0, 0.1, "9"), (-0.2, 1, "0"), (0.5, 1, "1"), (2.5, 1, "3"), (1234567.0, 1, "1,234,567")],
)  # fmt: skip
def test_numbers_carry_commas_a_true_minus_and_no_idle_decimals(
    value: float, step: float, written: str
) -> None:
    assert number(value, step) == written


@pytest.mark.property
@given(st.floats(-1e6, 1e6), st.sampled_from([0.1, 1.0, 5.0, 10.0]))
def test_rounding_down_never_flatters_and_up_never_belittles(value: float, step: float) -> None:
    slack = 2e-6 * step  # a value a hair under a step is that step
    assert rounded(value, step, "down") <= value + slack
    assert rounded(value, step, "up") >= value - slack
    assert abs(rounded(value, step) - value) <= step / 2 + slack


@pytest.mark.behaviour
@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_not_a_number_is_never_printed(value: float) -> None:
    with pytest.raises(ValueError, match="unknown value is None"):
        STYLE.length(value)


@pytest.mark.derived
def test_clock_is_local_never_later_than_the_time_and_names_another_day() -> None:
    assert STYLE.clock(at(13, 52) + timedelta(seconds=29)) == "13:52"
    assert STYLE.clock(at(13, 52) + timedelta(seconds=59)) == "13:52"
    assert STYLE.clock(at(23, 50) + timedelta(minutes=30)) == "00:20 +1 day"
    assert STYLE.clock(at(0, 10) - timedelta(minutes=20)) == "23:50 −1 day"
    assert STYLE.clock(None) == "not known"


@pytest.mark.behaviour
def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        STYLE.clock(datetime(2026, 8, 14, 13, 47))  # noqa: DTZ001 - the very thing refused


@pytest.mark.derived
@pytest.mark.parametrize(
    ("hours", "written"),
    [(-1.0, "14 Aug 2026 13:47 (UTC−1)"), (0.0, "14 Aug 2026 14:47 (UTC)"), (5.5, "14 Aug 2026 20:17 (UTC+5:30)"), (-3.5, "14 Aug 2026 11:17 (UTC−3:30)")],
)  # fmt: skip
def test_the_page_says_date_and_offset_once(hours: float, written: str) -> None:
    moment = datetime(2026, 8, 14, 14, 47, tzinfo=UTC)
    assert replace(STYLE, zone=timezone(timedelta(hours=hours))).moment(moment) == written


@pytest.mark.derived
def test_lengths_bands_and_heights() -> None:
    assert STYLE.length(1934.0, "down") == "1,930 m"
    assert STYLE.length_band(Band(115.2, 94.8, 131.0)) == "115 m (95–130)"
    assert STYLE.length_band(Band(80.0)) == "80 m (band not known)"
    assert STYLE.feet(45.72) == "150 ft"  # 150 × 0.3048
    assert STYLE.feet(46.0, "up") == "160 ft"
    assert STYLE.knots(6.17) == "12 kt"  # 12 × 1852 / 3600 = 6.173
    assert STYLE.depth(1.89) == "1.8 m"
    assert STYLE.tall(37.2) == "38 m"
    assert STYLE.area(784_000.0) == "78 ha"
    assert STYLE.area(1_873_000.0) == "190 ha"
    assert STYLE.area(400.0) == "under 0.1 ha"
    assert STYLE.slope(0.04, "up") == "1 in 25"
    assert STYLE.minutes(Band(6.43, 5.16, 7.94)) == "6.4 min (5.2–7.9)"
    assert STYLE.loads_per_hour(Band(9.4)) == "9 loads/h each"
    assert STYLE.distance(62_000.0) == "33 NM (62 km)"
    assert STYLE.day(date(2026, 6, 3)) == "3 June"
    assert STYLE.day(date(2025, 6, 3)) == "3 June 2025"


@pytest.mark.derived
def test_a_band_that_crosses_zero_is_written_with_to() -> None:
    assert STYLE.length_band(Band(5.0, -3.0, 12.0)) == "5 m (−3 to 12)"


@pytest.mark.derived
def test_slopes_round_to_the_side_of_safety() -> None:
    """0.0387 is 1 in 25.8: asked for, it is printed steeper; what the aircraft climbs, flatter."""
    assert STYLE.slope(0.0387, "up") == "1 in 25"
    assert STYLE.slope(0.0387, "down") == "1 in 26"


@pytest.mark.derived
def test_metric_and_us_show_both_where_both_read_it() -> None:
    metric, us = replace(STYLE, units="metric"), replace(STYLE, units="us")
    assert metric.height(45.72, "up") == "46 m (150 ft)"
    assert metric.knots(6.17) == "22 km/h (12 kt)"
    assert us.length(1930.0) == "6,330 ft (1,930 m)"
    assert us.volume(6000.0) == "1,590 US gal (6,000 L)"  # 6000 / 3.785411784 = 1585
    assert us.coverage(0.815) == "level 2 (0.8 L/m²)"  # 2 × 0.4074583
