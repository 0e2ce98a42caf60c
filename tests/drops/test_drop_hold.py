"""Chance and minutes of wetted line, and what is said about both."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.drops import Air, hold, wet_minutes
from wetline.errors import InputError, OutsideRangeError
from wetline.model import Limits, shipped_limits

if TYPE_CHECKING:
    from collections.abc import Callable

    from wetline.model import Band

AFTERNOON = Air(temperature_c=30.0, humidity_pct=25.0, wind_mps=5.0, sun_deg=50.0, cloud_pct=20.0)
DAMP_NIGHT = Air(temperature_c=12.0, humidity_pct=100.0, wind_mps=1.0, sun_deg=-30.0, cloud_pct=0.0)
WET_AGENTS = ("water", "foam", "gel")

coverages = st.floats(0.0, 6.0)
intensities = st.floats(0.0, 20_000.0)


def ends(band: Band) -> tuple[float, float, float]:
    assert band.low is not None
    assert band.high is not None
    return band.low, band.middle, band.high


def never_better(worse: Band, better: Band) -> bool:
    return all(a <= b + 1e-9 for a, b in zip(ends(worse), ends(better), strict=True))


def own_limits(**values: float) -> Limits:
    shipped = shipped_limits()
    changed = {n: replace(shipped[n], value=v, source="Order 12") for n, v in values.items()}
    return Limits({**shipped.by_name, **changed})


@pytest.mark.memory
@pytest.mark.parametrize(
    ("agent", "minutes"), [("water", (20, 10, 40)), ("foam", (35, 15, 60)), ("gel", (60, 30, 120))]
)
def test_minutes_by_agent_where_no_weather_is_known(agent: str, minutes: tuple[float, float, float]) -> None:
    answer = hold(1.0, 500.0, 15.0, agent)
    assert (answer.minutes.middle, answer.minutes.low, answer.minutes.high) == minutes
    assert any("no weather is known" in note for note in answer.notes)


@pytest.mark.memory
@pytest.mark.parametrize(("agent", "low", "high"), [("water", 10, 40), ("foam", 15, 60), ("gel", 30, 120)])
def test_a_hot_afternoon_dries_line_within_the_times_of_practice(agent: str, low: float, high: float) -> None:
    """10 to 40, 15 to 60 and 30 to 120 min from memory; line at coverage level 2 or 3."""
    for coverage in (0.8, 1.2):
        assert low <= hold(coverage, 300.0, 15.0, agent, air=AFTERNOON).minutes.middle <= high


@pytest.mark.derived
def test_minutes_are_what_is_spare_over_the_drying() -> None:
    """By hand: 0.7 of 1.2 L/m² stays, half of it is spare and dries at the rate told, in one air or two."""
    band, notes = wet_minutes(1.2, 100.0, "water", air=AFTERNOON)
    rate = float(next(note for note in notes if "mm/h" in note).split(",")[1].split()[0])
    assert band.middle == pytest.approx(0.7 * 1.2 * 0.5 / rate * 60.0, rel=0.01)
    soon = replace(AFTERNOON, lasts_min=10.0)
    two, _ = wet_minutes(1.2, 100.0, "water", air=(soon, AFTERNOON))
    assert two.middle == pytest.approx(band.middle)
    still, _ = wet_minutes(1.2, 100.0, "water", air=(soon, replace(AFTERNOON, wind_mps=0.0, sun_deg=-5.0)))
    assert still.middle > band.middle


@pytest.mark.derived
def test_flames_that_boil_off_all_that_is_there_leave_nothing() -> None:
    """80 kW/m² at most, a quarter of it seen, 45 s: 0.34 L/m², more than 0.7 of 0.4 L/m²."""
    answer = hold(0.4, 6000.0, 30.0, "gel", air=AFTERNOON)
    assert answer.minutes.middle == 0.0
    assert any("dry at once" in note for note in answer.notes)
    assert hold(0.6, 6000.0, 30.0, "gel", air=AFTERNOON).minutes.middle > 0.0


@pytest.mark.behaviour
@pytest.mark.parametrize("agent", WET_AGENTS)
def test_air_that_dries_nothing_keeps_no_line_wet_for_good(agent: str) -> None:
    answer = hold(1.0, 300.0, 15.0, agent, air=DAMP_NIGHT)
    longest = shipped_limits().value("hold_longest_min")
    assert answer.minutes.middle == answer.minutes.high == longest
    assert answer.minutes.low is not None
    assert answer.minutes.low < 0.6 * longest
    assert any("however slowly" in note for note in answer.notes)


@pytest.mark.published
def test_retardant_works_until_rain() -> None:
    """Long-term retardant works after its water is gone, the others only while wet (US Forest Service)."""
    for air in (None, AFTERNOON):
        assert hold(1.0, 500.0, 15.0, "retardant", air=air).minutes.low == math.inf
        assert hold(1.0, 500.0, 15.0, "gel", air=air).minutes.high != math.inf


@pytest.mark.practice
def test_rain_in_the_weather_ends_retardant() -> None:
    """5 mm, range 2 to 10: a dry hour, then 4 mm an hour as long as the weather is known."""
    wet = replace(AFTERNOON, rain_mm=4.0, lasts_min=60.0)
    dry = replace(AFTERNOON, lasts_min=60.0)
    band = hold(1.0, 500.0, 15.0, "retardant", air=(dry, wet, wet)).minutes
    assert band.middle == pytest.approx(60.0 + 75.0)
    assert band.low is not None
    assert 90.0 <= band.low < band.middle
    shower = hold(1.0, 500.0, 15.0, "retardant", air=(dry, wet, dry)).minutes
    assert shower.middle == math.inf
    assert shower.low is not None
    assert shower.low < 120.0


@pytest.mark.behaviour
def test_rain_that_nobody_told_of_is_not_called_none() -> None:
    hours = (replace(AFTERNOON, rain_mm=0.0, lasts_min=60.0), replace(AFTERNOON, rain_mm=None))
    unknown, dry = (
        hold(1.0, 500.0, 15.0, "retardant", air=hours),
        hold(1.0, 500.0, 15.0, "retardant", air=hours[0]),
    )
    assert any("not known" in note for note in unknown.notes if "rain" in note)
    assert not any("none is in the weather" in note for note in unknown.notes)
    assert any("none is in the weather" in note for note in dry.notes)


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("own", "ends_of"),
    [
        ({"hold_water_high_min": 12.0}, lambda dry: (dry[0], 12.0, 12.0)),
        ({"hold_water_high_min": 90.0}, lambda dry: (dry[0], dry[1], 90.0)),
        ({"hold_water_low_min": 3.0}, lambda dry: (3.0, dry[1], dry[2])),
        ({"hold_water_low_min": 90.0}, lambda dry: (dry[1], dry[1], dry[2])),
    ],
)
def test_an_incidents_own_end_alone_ends_what_dries_and_brings_no_other_middle(
    own: dict[str, float], ends_of: Callable[[tuple[float, float, float]], tuple[float, float, float]]
) -> None:
    dried = ends(hold(0.8, 300.0, 15.0, "water", air=AFTERNOON).minutes)
    assert dried[0] < 12.0 < dried[1]
    answer = hold(0.8, 300.0, 15.0, "water", own_limits(**own), air=AFTERNOON)
    assert ends(answer.minutes) == pytest.approx(ends_of(dried))
    assert any("An end of their band is this incident's own (Order 12)." in note for note in answer.notes)


@pytest.mark.property
@given(coverage=st.floats(0.05, 6.0), intensity=intensities)
def test_leaves_that_nobody_knows_lower_the_low_end_alone(coverage: float, intensity: float) -> None:
    open_air = hold(coverage, intensity, 20.0, "water", air=AFTERNOON)
    under = hold(coverage, intensity, 20.0, "water", air=AFTERNOON, leaves_known=False)
    for below, above in ((under.chance, open_air.chance), (under.minutes, open_air.minutes)):
        assert never_better(below, above)
        assert below.middle == above.middle
    assert any("trees over the line" in note for note in under.notes)
    if 0.05 < (open_air.because["wet"].low or 0.0) < 0.99:
        assert (under.because["wet"].low or 0.0) < (open_air.because["wet"].low or 0.0)


@pytest.mark.behaviour
def test_an_incidents_own_minutes_go_before_the_drying() -> None:
    limits = own_limits(hold_water_min=12.0)
    minutes, notes = wet_minutes(1.6, 300.0, "water", limits, air=AFTERNOON)
    assert (minutes.low, minutes.middle, minutes.high) == (10.0, 12.0, 40.0)
    assert "Order 12" in notes[0]
    assert "by drying" in notes[0]
    other, _ = wet_minutes(1.6, 300.0, "foam", limits, air=AFTERNOON)
    assert other == wet_minutes(1.6, 300.0, "foam", air=AFTERNOON)[0]


@pytest.mark.behaviour
def test_an_incident_may_change_what_the_model_stands_on() -> None:
    def minutes(**values: float) -> float:
        return hold(1.2, 300.0, 15.0, "water", own_limits(**values), air=AFTERNOON).minutes.middle

    shipped = hold(1.2, 300.0, 15.0, "water", air=AFTERNOON).minutes.middle
    assert minutes(hold_left_pct=75.0) == pytest.approx(0.5 * shipped)
    assert minutes(hold_longest_min=5.0) == 5.0
    weaker = own_limits(hold_half_kw_per_m=1000.0)
    assert hold(1.0, 1000.0, 20.0, "water", weaker).chance.middle == pytest.approx(0.5, abs=0.01)


@pytest.mark.derived
@pytest.mark.parametrize(("coverage", "intensity"), [(1.0, 2000.0), (3.0, 5000.0)])
def test_half_of_the_line_holds_where_the_prior_says(coverage: float, intensity: float) -> None:
    """c50 of 1 L/m² at 2 MW/m and 3 L/m² at 5 MW/m, the ends of the derived range."""
    assert hold(coverage, intensity, 20.0, "water").chance.middle == pytest.approx(0.5, abs=0.01)


@pytest.mark.property
@given(
    coverage=coverages,
    intensity=intensities,
    agent=st.sampled_from(WET_AGENTS),
    air=st.sampled_from([AFTERNOON, DAMP_NIGHT]),
)
def test_more_water_never_holds_worse_and_more_fire_never_better(
    coverage: float, intensity: float, agent: str, air: Air
) -> None:
    here = hold(coverage, intensity, 20.0, agent, air=air, need_l_per_m2=1.0)
    low, middle, high = ends(here.chance)
    assert 0.0 <= low <= middle <= high <= 1.0
    wetter = hold(coverage + 0.5, intensity, 20.0, agent, air=air, need_l_per_m2=1.0)
    hotter = hold(coverage, intensity * 1.5, 20.0, agent, air=air, need_l_per_m2=1.0)
    for kind in ("chance", "minutes"):
        assert never_better(getattr(here, kind), getattr(wetter, kind))
        assert never_better(getattr(hotter, kind), getattr(here, kind))


@pytest.mark.property
@given(coverage=coverages, intensity=intensities)
def test_gel_holds_no_shorter_than_foam_and_foam_no_shorter_than_water(
    coverage: float, intensity: float
) -> None:
    water, foam, gel = (hold(coverage, intensity, 20.0, a, air=AFTERNOON).minutes for a in WET_AGENTS)
    assert never_better(water, foam)
    assert never_better(foam, gel)


@pytest.mark.property
@given(wind=st.floats(0.0, 15.0), humidity=st.floats(5.0, 100.0), more=st.floats(0.0, 5.0))
def test_wind_and_dry_air_never_help(wind: float, humidity: float, more: float) -> None:
    here = replace(AFTERNOON, wind_mps=wind, humidity_pct=humidity)
    windier = replace(here, wind_mps=wind + more)
    drier = replace(here, humidity_pct=humidity - min(more, 5.0))
    minutes = hold(1.2, 300.0, 15.0, "water", air=here).minutes
    for worse in (windier, drier):
        assert never_better(hold(1.2, 300.0, 15.0, "water", air=worse).minutes, minutes)


@pytest.mark.property
@given(
    width=st.floats(0.0, 50.0), intensity=intensities, gap_share=st.floats(0.0, 1.0),
    gap_m=st.floats(0.0, 20.0), spotting_m=st.floats(0.0, 2000.0), more=st.floats(0.0, 1.0),
)  # fmt: skip
def test_wider_never_hurts_and_gaps_and_embers_never_help(
    width: float, intensity: float, gap_share: float, gap_m: float, spotting_m: float, more: float
) -> None:
    def chance(width: float, share: float, gap_m: float, spotting_m: float) -> Band:
        return hold(
            1.5, intensity, width, "water", gap_share=share, gap_m=gap_m, spotting_m=spotting_m
        ).chance

    here = chance(width, gap_share, gap_m, spotting_m)
    assert never_better(here, chance(width + 20.0 * more, gap_share, gap_m, spotting_m))
    assert never_better(chance(width, gap_share + more * (1.0 - gap_share), gap_m, spotting_m), here)
    assert never_better(chance(width, gap_share, gap_m + more, spotting_m), here)
    assert never_better(chance(width, gap_share, gap_m, spotting_m + 500.0 * more), here)


@pytest.mark.property
@given(coverage=st.floats(0.1, 6.0), intensity=st.floats(10.0, 10_000.0))
def test_what_is_not_known_widens_and_never_clears(coverage: float, intensity: float) -> None:
    known = hold(coverage, intensity, 20.0, "water", gap_share=0.0, spotting_m=0.0).chance
    for unknown in (
        hold(coverage, intensity, 20.0, "water", gap_share=None, spotting_m=0.0).chance,
        hold(coverage, intensity, 20.0, "water", gap_share=0.0, spotting_m=None).chance,
    ):
        assert never_better(unknown, known)
        if known.low:
            assert unknown.low is not None
            assert unknown.low < known.low


@pytest.mark.published
def test_a_flame_as_long_as_the_line_is_wide_breaches_it() -> None:
    """Wilson 1988 (abstract): a flame about as long as a break is wide breaches it by contact."""
    flame_m = 0.0775 * 5000.0**0.46
    for width, most in ((0.5 * flame_m, 0.05), (flame_m, 0.25)):
        answer = hold(20.0, 5000.0, width, "water")
        assert answer.because["width"].middle < most
        assert any("reaches over" in note for note in answer.notes)
    assert hold(20.0, 5000.0, 5.0 * flame_m, "water").because["width"].middle > 0.95


@pytest.mark.published
def test_gaps_and_embers_break_line_that_is_wet_enough() -> None:
    """Plucinski et al. 2011 (abstract): most drops were breached by spotting or burnt around."""
    answer = hold(4.0, 300.0, 20.0, "gel", gap_share=0.1, gap_m=15.0, spotting_m=400.0)
    assert answer.because["wet"].middle > 0.99
    assert answer.because["gaps"].middle < 0.1
    assert answer.because["spotting"].middle < 0.6
    assert answer.chance.middle == pytest.approx(math.prod(band.middle for band in answer.because.values()))


@pytest.mark.behaviour
def test_a_chance_is_never_called_calibrated() -> None:
    answer = hold(1.0, 500.0, 15.0, "water", gap_share=None)
    assert answer.calibrated is False
    for word in ("uncalibrated", "Gaps", "Spotting"):
        assert any(word in note for note in answer.notes)


@pytest.mark.published
@pytest.mark.parametrize(
    ("intensity", "word"), [(1700.0, None), (2000.0, "probably fails"), (4000.0, "ineffective")]
)
def test_the_published_classes_of_control_are_named(intensity: float, word: str | None) -> None:
    """500 and 1000 Btu/ft/s (Andrews & Rothermel 1982, INT-131)."""
    notes = " ".join(hold(1.0, intensity, 20.0, "water").notes)
    assert (word in notes) if word else ("Control at the head" not in notes)


@pytest.mark.derived
@pytest.mark.parametrize("air", [None, AFTERNOON])
def test_dry_line_holds_nothing(air: Air | None) -> None:
    answer = hold(0.0, 500.0, 20.0, "water", air=air)
    assert ends(answer.chance) == ends(answer.minutes) == (0.0, 0.0, 0.0)


@pytest.mark.behaviour
def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError):
        hold(1.0, 500.0, 15.0, "milk")
    with pytest.raises(OutsideRangeError):
        hold(math.nan, 500.0, 15.0, "water")
    with pytest.raises(OutsideRangeError):
        hold(1.0, -5.0, 15.0, "water")
    for wrong in ({"gap_share": 1.5}, {"gap_m": -1.0}, {"spotting_m": math.nan}, {"need_l_per_m2": -1.0}):
        with pytest.raises(OutsideRangeError):
            hold(1.0, 500.0, 15.0, "water", **wrong)  # type: ignore[arg-type]
