"""Which source an aircraft takes, and which it never takes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from circuits.day_maker import make_base, make_ground, make_limits
from wetline.aircraft import Aircraft, aircraft_classes
from wetline.circuits import BestSources, Source, best_sources, plan_day, sources_from
from wetline.model import Finding
from wetline.water import DipSite, Lane
from wetline.weather import Daylight

FLAT = make_ground()


def a_finding(level: Any, effect: Any = None) -> Finding:
    return Finding(code="depth", level=level, effect=effect, message="…", source="test", refers_to="S1")


def a_lane(name: str, y: float, water: str | None = None, **more: Any) -> Source:
    return Source(id=name, kind="lane", name=water or name, position=(0.0, y), **more)


def best(sources: list[Source], class_id: str = "twin_engine_scooper", agent: str = "water") -> BestSources:
    aircraft = Aircraft(call_sign="Tern 1", class_id=class_id, base="Halm", agent=agent)
    cls = aircraft_classes()[class_id]
    return best_sources(aircraft, cls, sources, (0.0, 0.0), hour=None, ground=FLAT, limits=make_limits())


@pytest.mark.behaviour
def test_the_nearer_water_gives_more_and_the_alternate_lies_on_other_water() -> None:
    found = best(
        [
            a_lane("far", 9000.0, "Lake B"),
            a_lane("near", 3000.0, "Lake A"),
            a_lane("near too", 3100.0, "Lake A"),
        ]
    )
    assert found.primary is not None
    assert found.alternate is not None
    assert (found.primary.source, found.alternate.source) == ("near", "far")


@pytest.mark.behaviour
def test_a_second_lane_of_the_same_water_is_better_than_none() -> None:
    found = best([a_lane("one", 3000.0, "Lake A"), a_lane("two", 3100.0, "Lake A")])
    assert found.alternate is not None
    assert found.alternate.source == "two"


@pytest.mark.behaviour
def test_a_stopped_source_is_out_and_a_look_is_in_and_marked() -> None:
    found = best(
        [
            a_lane("stopped", 1000.0, findings=(a_finding("stop"),)),
            a_lane("look", 2000.0, findings=(a_finding("unknown", "look"),)),
            a_lane("clear", 3000.0, findings=(a_finding("clear"),)),
        ]
    )
    assert found.primary is not None
    assert found.alternate is not None
    assert (found.primary.source, found.primary.look) == ("look", True)
    assert (found.alternate.source, found.alternate.look) == ("clear", False)
    assert [name for name, _ in found.refused] == ["stopped"]


@pytest.mark.behaviour
def test_a_blocked_source_comes_after_every_other() -> None:
    found = best(
        [
            a_lane("blocked", 1000.0, findings=(a_finding("unknown", "blocks"),)),
            a_lane("far", 9000.0),
        ]
    )
    assert found.primary is not None
    assert found.alternate is not None
    assert found.primary.source == "far"
    assert (found.alternate.source, found.alternate.blocked, found.alternate.look) == ("blocked", True, True)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"length_m": 1300.0}, "lane: 1300 m of 1500 m needed"),
        ({"clear_m": 35.0}, "clear half-width: 35 m of 50 m needed"),
        ({"depth_m": 1.7}, "depth: 1.7 m of 2 m needed"),
        ({"classes": frozenset({"single_engine_scooper"})}, "not checked for the class"),
    ],
)
@pytest.mark.behaviour
def test_a_lane_found_for_a_smaller_class_is_refused(more: dict[str, Any], words: str) -> None:
    found = best([a_lane("S1", 3000.0, **more)])
    assert found.primary is None
    assert words in found.refused[0][1]


@pytest.mark.behaviour
def test_helicopters_take_dip_sites_and_scoopers_lanes() -> None:
    sources = [a_lane("S1", 1000.0), Source(id="D1", kind="dip", name="Pond", position=(0.0, 5000.0))]
    helicopter, scooper = best(sources, "medium_helicopter"), best(sources)
    assert helicopter.primary is not None
    assert scooper.primary is not None
    assert (helicopter.primary.source, scooper.primary.source) == ("D1", "S1")
    assert helicopter.alternate is None


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"agents": ("water", "foam"), "runway_m": 2500.0}, "no retardant at this base"),
        ({"agents": ("retardant",), "runway_m": 900.0}, "runway: 900 m of 1800 m needed"),
        ({"agents": ("retardant",), "runway_m": 2500.0, "pits": 0}, "no pit"),
    ],
)
@pytest.mark.behaviour
def test_a_tanker_needs_its_agent_runway_and_a_pit(more: dict[str, Any], words: str) -> None:
    base = make_base("Skarn", 0.0, 5000.0, "tanker_base", **more)
    found = best(list(sources_from(bases=[base])), "large_tanker", "retardant")
    assert found.primary is None
    assert words in found.refused[0][1]


@pytest.mark.behaviour
def test_a_base_that_says_nothing_asks_for_a_call() -> None:
    bases = sources_from(bases=[make_base("Skarn", 0.0, 5000.0, "tanker_base")])
    found = best(list(bases), "large_tanker", "retardant")
    assert found.primary is not None
    assert found.primary.look
    assert {(f.code, f.effect) for f in found.primary.findings if f.holds_back} == {
        ("data_missing", "look"),
        ("agent", "look"),
    }


@pytest.mark.behaviour
def test_only_tanker_bases_load_and_water_keeps_its_numbers() -> None:
    lane = Lane(
        id="S1", water="Lake A", heading_deg=90.0, length_m=1800.0, clear_m=50.0, width_m=120.0,
        start=(0.0, 10.0), end=(1800.0, 10.0), level="clear", depth_m=4.0, surface_m=212.0,
    )  # fmt: skip
    dip = DipSite(
        id="D1", water="Pond", position=(5.0, 6.0), level="unknown",
        findings=(a_finding("unknown", "look"),), clear_m=40.0, depth_m=None, surface_m=230.0,
    )  # fmt: skip
    bases = [make_base("Halm", 0.0, 0.0), make_base("Skarn", 1.0, 2.0, "tanker_base", pits=2)]
    first, second, third = sources_from([lane], [dip], bases, classes=["twin_engine_scooper"])
    assert (first.position, first.depth_m, first.elevation_m, first.look) == (
        (900.0, 10.0),
        4.0,
        212.0,
        False,
    )
    assert (second.kind, second.look, second.ready) == ("dip", True, True)
    assert (third.id, third.pits, third.classes) == ("Skarn", 2, None)
    assert first.classes == frozenset({"twin_engine_scooper"})


def a_tank_site(name: str, class_id: str, volume_l: float = 9000.0) -> DipSite:
    return DipSite(
        id=name, water="Alder tank", place="Alder tank", kind="tank", position=(0.0, 3000.0), level="clear",
        findings=(), clear_m=40.0, class_id=class_id, volume_l=volume_l, load_cap_l=volume_l,
    )  # fmt: skip


@pytest.mark.derived
def test_two_classes_draw_from_one_tank_what_is_in_it_once() -> None:
    """9,000 L and nothing flows in: a medium and a heavy helicopter together drop no more, and wait for each other."""
    now = datetime(2026, 8, 14, 14, tzinfo=UTC)
    sunset = now + timedelta(hours=5)
    fleet = [
        Aircraft(
            call_sign=name, class_id=class_id, base="Halm", fuel_h=2.0, flown_h=0.0, duty_start=now,
            flight_limit_h=8.0, duty_limit_h=14.0,
        )
        for name, class_id in (("Wren 1", "medium_helicopter"), ("Rail 2", "heavy_helicopter"))
    ]  # fmt: skip
    sources = sources_from(
        dips=[a_tank_site("D1", "medium_helicopter"), a_tank_site("D7", "heavy_helicopter")]
    )
    assert [source.spot for source in sources] == ["dip D1", "dip D1"]
    day = plan_day(
        fleet, aircraft_classes(), sources, (0.0, 0.0), now=now, weather=None, limits=make_limits(),
        ground=make_ground(bases=(make_base("Halm", 500.0, 0.0),)),
        daylight=Daylight(civil_dawn=now - timedelta(hours=9), sunrise=now - timedelta(hours=8), sunset=sunset, civil_dusk=sunset),
    )  # fmt: skip
    assert {load.aircraft for load in day.loads} == {"Wren 1", "Rail 2"}
    assert 0.0 < sum(load.litres for load in day.loads) <= 9000.0 + 1e-6


@pytest.mark.behaviour
def test_a_lane_is_held_against_the_need_that_it_was_judged_by() -> None:
    """Cold, dense air asks for less than the class's table, thin air for more."""
    dense = best([a_lane("S1", 3000.0, length_m=1450.0, length_needed_m=1400.0)])
    assert dense.primary is not None
    thin = best([a_lane("S1", 3000.0, length_m=1800.0, length_needed_m=1860.0)])
    assert thin.primary is None
    assert "lane: 1800 m of 1860 m needed" in thin.refused[0][1]


@pytest.mark.behaviour
def test_a_site_judged_for_a_snorkel_is_none_for_a_bucket_and_the_reverse() -> None:
    cls = aircraft_classes()["medium_helicopter"]
    shallow = Source(id="D1", kind="dip", name="Pond", position=(0.0, 3000.0), depth_m=1.0, fill="snorkel")
    deep = Source(id="D2", kind="dip", name="Tarn", position=(0.0, 9000.0), depth_m=4.0, fill="bucket")
    for way, source, refused in (("snorkel", "D1", "D2"), ("bucket", "D2", "D1")):
        aircraft = Aircraft(call_sign="Wren 1", class_id=cls.id, base="Halm", fill=way)
        found = best_sources(
            aircraft, cls.filling_by(way), [shallow, deep], (0.0, 0.0),
            hour=None, ground=FLAT, limits=make_limits(),
        )  # fmt: skip
        assert found.primary is not None
        assert found.primary.source == source
        assert found.refused == ((refused, f"not checked for the class {cls.id} with a {way}"),)
