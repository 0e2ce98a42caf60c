"""Bases for land tankers: runway in thin air, agent, stock, pits, fuel, and reload times that are too good."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from circuits.day_maker import make_base, make_class
from water.shores import make_hour
from wetline.aircraft import Aircraft, aircraft_classes
from wetline.circuits import Stock, at_base, check_base, sources_from
from wetline.circuits.bases import check_reload, check_runway, runway_short
from wetline.circuits.sources import fit
from wetline.model import worst
from wetline.units import FOOT

if TYPE_CHECKING:
    from wetline.ground import Base
    from wetline.model import Finding

LARGE = aircraft_classes()["large_tanker"]
SIGMA_5000_FT = 0.8617
"""Density ratio of the standard atmosphere at 5,000 ft: printed tables of ISO 2533 / ICAO Doc 7488, from memory."""


def tanker_base(**more: Any) -> Base:
    told = {"runway_m": 2500.0, "agents": ("retardant",), "pits": 2, "stock_l": 60_000.0, "mix_l_per_h": 9_000.0,
            "fuel": True, "load_while_fuelling": False, "elevation_m": 200.0}  # fmt: skip
    return make_base("Skarn", 0.0, 5000.0, "tanker_base", **{**told, **more})


def levels(findings: tuple[Finding, ...]) -> dict[str, str]:
    return {f.message: f.level for f in findings}


@pytest.mark.memory
@pytest.mark.parametrize(
    ("runway_m", "level"), [(2606.0, "stop"), (2616.0, "caution"), (3538.0, "caution"), (3548.0, "clear")]
)
def test_the_runway_needed_grows_with_thin_air(runway_m: float, level: str) -> None:
    """1,800 m at sea level over σ^2.5 (power falling with density): 2,611 m at 5,000 ft of density altitude.

    At most 2,200 m and 10 % for each 1,000 ft, the planning rule for light aeroplanes: 3,543 m.
    """
    needed_m = 1800.0 / SIGMA_5000_FT**2.5
    assert needed_m == pytest.approx(2611.0, abs=1.0)
    most_m = 2200.0 * 1.10**5
    assert most_m == pytest.approx(3543.0, abs=0.5)
    (found,) = check_runway("Skarn", runway_m, LARGE, 5000.0 * FOOT, "Gannet 7")
    assert found.level == level
    assert "density altitude 5000 ft" in found.message


@pytest.mark.memory
def test_a_base_long_enough_at_sea_level_is_refused_in_thin_air() -> None:
    aircraft = Aircraft(call_sign="Gannet 7", class_id=LARGE.id, base="Skarn", agent="retardant")
    hot = make_hour(2.0, 90.0)  # 25 °C: a density altitude of more than 5,000 ft on 1,200 m
    low = sources_from(bases=[tanker_base(runway_m=2300.0, elevation_m=0.0)])[0]
    high = sources_from(bases=[tanker_base(runway_m=2300.0, elevation_m=1200.0)], hour=hot)[0]
    assert fit(low, aircraft, LARGE)[0] is None
    why, _ = fit(high, aircraft, LARGE)
    assert why is not None
    assert why.startswith("runway: 2300 m of ")
    assert "density altitude" in why


@pytest.mark.derived
def test_air_at_a_base_is_that_of_its_height_on_a_standard_day() -> None:
    """ISO 2533: 15 °C less 6.5 K a kilometre; dry air of that temperature has that density altitude."""
    from dataclasses import replace  # noqa: PLC0415 - here alone

    standard = replace(make_hour(0.0, 0.0), temperature_c=15.0 - 6.5, humidity_pct=0.0)
    (source,) = sources_from(bases=[tanker_base(elevation_m=1000.0)], hour=standard)
    assert source.density_altitude_m == pytest.approx(1000.0, abs=1.0)
    assert sources_from(bases=[tanker_base(elevation_m=None)], hour=standard)[0].density_altitude_m is None
    assert sources_from(bases=[tanker_base()])[0].density_altitude_m is None


@pytest.mark.behaviour
def test_an_unknown_runway_asks_and_unknown_air_is_noted() -> None:
    (asks,) = check_runway("Skarn", None, LARGE, 0.0, "Gannet 7")
    assert (asks.level, asks.effect) == ("unknown", "look")
    known, noted = check_runway("Skarn", 2500.0, LARGE, None, "Gannet 7")
    assert (known.level, noted.level, noted.effect) == ("clear", "unknown", "noted")
    assert "sea level" in noted.message
    assert runway_short(None, LARGE, 0.0) is None


@pytest.mark.behaviour
def test_a_class_without_a_runway_need_is_never_waved_through() -> None:
    from dataclasses import replace  # noqa: PLC0415 - here alone

    kept = {k: v for k, v in LARGE.quantities.items() if k != "runway_needed_m"}
    (asks,) = check_runway("Skarn", 2500.0, replace(LARGE, quantities=kept), 0.0, "Gannet 7")
    assert (asks.level, asks.effect) == ("unknown", "look")
    scooper = aircraft_classes()["twin_engine_scooper"]
    assert check_runway("Skarn", None, replace(scooper, quantities={}), 0.0, "Tern 1") == ()


@pytest.mark.behaviour
@pytest.mark.parametrize(("reload_min", "doubted"), [(16.9, True), (17.0, False), (40.0, False)])
def test_a_reload_quicker_than_the_class_knows_is_doubted(reload_min: float, doubted: bool) -> None:
    cls = make_class("large_tanker", ground_time_min=17.0)
    found = check_reload("Skarn", reload_min * 60.0, cls)
    assert bool(found) is doubted
    assert all(f.level == "caution" for f in found)


@pytest.mark.memory
def test_a_shipped_large_tanker_takes_17_minutes_at_least() -> None:
    """12 min of pumping (second-hand) and 5 min of taxi, from memory."""
    assert check_reload("Skarn", 16.0 * 60.0, LARGE)
    assert not check_reload("Skarn", 17.0 * 60.0, LARGE)


@pytest.mark.behaviour
def test_all_told_leaves_nothing_unknown() -> None:
    found = check_base(tanker_base())
    assert worst(found) == "clear"
    assert "Stock 60000 L, 9000 L/h mixed." in levels(found)


@pytest.mark.behaviour
def test_what_a_base_does_not_tell_is_named_and_never_clear() -> None:
    (found,) = check_base(make_base("Skarn", 0.0, 0.0, "tanker_base"))
    assert (found.level, found.effect) == ("unknown", "noted")
    for words in ("stock (counted as never running dry)", "pits (counted as one)", "one after the other", "fuel",
                  "height above the sea"):  # fmt: skip
        assert words in found.message
    assert worst(check_base(make_base("Halm", 0.0, 0.0, "helibase"))) == "unknown"


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("more", "words", "level"),
    [
        ({"pits": 0}, "There is no pit: nobody loads here.", "stop"),
        ({"stock_l": 0.0, "mix_l_per_h": 0.0}, "Stock 0 L.", "stop"),
        ({"stock_l": 0.0}, "Stock 0 L, 9000 L/h mixed.", "caution"),
        ({"fuel": False}, "No fuel here: refuel elsewhere.", "caution"),
        (
            {"load_while_fuelling": True},
            "Loading and fuelling: at once, as the base manager allows.",
            "clear",
        ),
    ],
)
def test_what_a_base_tells_is_judged(more: dict[str, Any], words: str, level: str) -> None:
    assert levels(check_base(tanker_base(**more)))[words] == level


@pytest.mark.derived
def test_a_source_carries_what_the_base_gives() -> None:
    (source,) = sources_from(bases=[tanker_base(reload_min=30.0)])
    assert source.stock == Stock(60_000.0, 9_000.0 / 3600.0)
    assert (source.reload_s, source.fuel, source.load_while_fuelling) == (1800.0, True, False)
    (untold,) = sources_from(bases=[make_base("Skarn", 0.0, 0.0, "tanker_base")])
    assert (untold.stock, untold.reload_s, untold.fuel, untold.load_while_fuelling) == (
        None,
        None,
        None,
        None,
    )


@pytest.mark.derived
def test_a_class_finds_its_loads_in_stock_and_its_reload() -> None:
    """66,500 L over 13,300 L a load are five."""
    found = at_base(tanker_base(stock_l=66_500.0), make_class("large_tanker", tank_volume_l=13_300.0), 0.0)
    assert found.loads_in_stock == pytest.approx(5.0)
    assert found.reload_min is not None
    assert (found.reload_min.middle, found.reload_min.low) == (25, 17)
    told = at_base(tanker_base(reload_min=20.0), LARGE, 0.0)
    assert told.reload_min is not None
    assert (told.reload_min.middle, told.reload_min.low) == (20.0, None)


@pytest.mark.behaviour
def test_a_helibase_asks_no_runway_and_water_asks_none_of_a_scooper() -> None:
    helicopter = aircraft_classes()["medium_helicopter"]
    found = at_base(make_base("Halm", 0.0, 0.0, "helibase"), helicopter, 0.0)
    assert (found.findings, found.runway_needed_m, found.reload_min) == ((), None, None)
