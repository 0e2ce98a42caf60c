"""Dip sites of an incident: the nearest good place of each water, and places known for dipping."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from water.shores import make_grid, make_ground, make_hour, make_lake, ragged_lake
from wetline.aircraft import Quantity, aircraft_classes
from wetline.errors import InputError, OutsideRangeError
from wetline.ground import DipPlace, Hazard, Layer
from wetline.model import Limits, shipped_limits, worst
from wetline.water import dip_sites
from wetline.water.dips import room_needed_m

if TYPE_CHECKING:
    from wetline.aircraft import AircraftClass
    from wetline.ground import Ground, Water
    from wetline.model import Finding
    from wetline.water import DipSite
    from wetline.weather import Hour

LIMITS = shipped_limits()
MIDDLE = (500_000.0, 5_000_000.0)
FAR_M = 40_000.0
HOUR = make_hour(3.0, 90.0)
SURVEYED = datetime(2026, 6, 2, tzinfo=UTC).date()


def helicopter(**values: float) -> AircraftClass:
    """The shipped medium class with some values replaced."""
    cls = aircraft_classes()["medium_helicopter"]
    quantities = dict(cls.quantities)
    for name, value in values.items():
        quantities[name] = Quantity(value, quantities[name].unit, "test")
    return replace(cls, quantities=quantities)


def limits(**values: float) -> Limits:
    return Limits({**LIMITS.by_name, **{n: replace(LIMITS[n], value=v) for n, v in values.items()}})


def narrow(name: str, x: float, y: float, length_m: float = 1800.0) -> Water:
    """An east-west lake 150 m wide with its middle at (x, y)."""
    return make_lake(x - length_m / 2, y - 75.0, x + length_m / 2, y + 75.0, name)


def ground_with(
    *waters: Water, places: tuple[DipPlace, ...] = (), hazards: tuple[Hazard, ...] = ()
) -> Ground:
    grid = make_grid()
    ground = make_ground(
        grid, waters, canopy_height_m=np.zeros(grid.shape, np.float32),
        hazards=Layer(hazards, present=True, surveyed=SURVEYED),
    )  # fmt: skip
    return replace(ground, dips=Layer(places, present=bool(places)))


def sites_of(
    ground: Ground, hour: Hour | None = HOUR, cls: AircraftClass | None = None, **more: Any
) -> list[DipSite]:
    asked: dict[str, Any] = {"near": MIDDLE, "within_m": FAR_M, **more}
    return dip_sites(ground, cls or helicopter(), hour, asked.pop("limits", LIMITS), **asked)


def a_place(kind: Any = "tank", x: float = 200.0, y: float = 0.0, **more: Any) -> DipPlace:
    told = {"depth_m": 3.0, "depth_date": SURVEYED, **more}
    return DipPlace(name="Alder", kind=kind, point=shapely.Point(MIDDLE[0] + x, MIDDLE[1] + y), **told)


def about(site: DipSite, words: str) -> Finding:
    return next(f for f in site.findings if words in f.message)


@pytest.mark.derived
def test_a_site_is_the_nearest_place_with_room() -> None:
    """The fire 1 km north of an east-west shore: 30 m inside it, straight south of the fire."""
    lake = make_lake(499_000.0, 4_998_000.0, 501_000.0, 4_999_000.0)
    (site,) = sites_of(ground_with(lake))
    assert site.position == pytest.approx((500_000.0, 4_998_970.0), abs=0.1)
    assert site.clear_m == pytest.approx(30.0, abs=0.1)
    assert (site.class_id, site.place, site.kind) == ("medium_helicopter", None, "water")
    (again,) = sites_of(ground_with(replace(lake, surface_m=None)))
    assert again.surface_m == 100.0  # the terrain there


@pytest.mark.derived
@pytest.mark.parametrize("seed", range(5))
def test_a_site_keeps_its_room_on_ragged_shores(seed: int) -> None:
    """No point of a fine grid that has the room lies nearer to the fire by more than its spacing."""
    lake = shapely.transform(ragged_lake(seed), lambda p: p + np.array(MIDDLE))
    assert isinstance(lake, shapely.Polygon)
    fire = (502_800.0, 5_001_500.0)
    ground = ground_with(replace(narrow("Lomvatn", *MIDDLE), polygon=lake))
    (site,) = sites_of(ground, near=fire, limits=limits(dip_room_m=40.0))
    spot = shapely.Point(site.position)
    assert lake.contains(spot)
    assert lake.boundary.distance(spot) >= 40.0 - 1e-6
    west, south, east, north = lake.bounds
    x, y = (g.ravel() for g in np.meshgrid(np.arange(west, east, 25.0), np.arange(south, north, 25.0)))
    inside = shapely.contains_xy(lake, x, y)
    points = shapely.points(x[inside], y[inside])
    room = points[shapely.distance(points, lake.boundary) >= 40.0]
    nearest = float(shapely.distance(room, shapely.Point(fire)).min())
    assert spot.distance(shapely.Point(fire)) <= nearest + 1.5


@pytest.mark.derived
def test_where_the_nearest_place_is_bad_another_of_the_same_water_is_taken() -> None:
    """A power line runs 40 m off the north shore, right at the place nearest to the fire, and ends 400 m east."""
    lake = make_lake(498_500.0, 4_997_000.0, 501_500.0, 4_999_000.0)
    line = shapely.LineString([(498_000.0, 4_999_010.0), (500_400.0, 4_999_010.0)])
    wire = Hazard(name="Line 4", kind="wire", shape=line, height_m=30.0)
    (site,) = sites_of(ground_with(lake, hazards=(wire,)))
    assert not any(f.level == "stop" for f in site.findings)
    assert line.distance(shapely.Point(site.position)) > LIMITS.value("wire_stop_m")
    assert lake.polygon.boundary.distance(shapely.Point(site.position)) >= 30.0 - 1e-6
    everywhere = Hazard(name="Line 5", kind="wire", shape=shapely.box(*lake.polygon.bounds), height_m=30.0)
    (stopped,) = sites_of(ground_with(lake, hazards=(everywhere,)))
    assert stopped.level == "stop"


@pytest.mark.practice
def test_ponds_and_ditches_give_no_site_unless_somebody_names_them() -> None:
    """Less than 1,000 m², or nowhere 60 m across: common practice, no source."""
    pond = make_lake(500_000.0, 5_000_000.0, 500_030.0, 5_000_030.0, "Pond")
    ditch = make_lake(498_000.0, 5_001_000.0, 500_000.0, 5_001_059.0, "Ditch")
    assert sites_of(ground_with(pond, ditch)) == []
    (named,) = sites_of(ground_with(pond, ditch, places=(a_place("pond", 15.0, 15.0, volume_l=2e5),)))
    assert (named.water, named.place, named.clear_m) == ("Pond", "Alder", 15.0)
    assert about(named, "15 m to the nearest shore or trees").level == "caution"


@pytest.mark.property
def test_nothing_is_clear_before_somebody_has_looked() -> None:
    for site in sites_of(
        ground_with(narrow("Lomvatn", *MIDDLE), places=(a_place(y=2000.0, volume_l=9000.0),))
    ):
        assert site.level == worst(site.findings) == "unknown"
        assert any(f.code == "waves" and f.effect == "look" for f in site.findings)
        assert {f.refers_to for f in site.findings} == {site.id}


@pytest.mark.property
def test_stopped_sites_come_last_and_are_kept() -> None:
    shut = replace(narrow("Near", *MIDDLE), closed="bird reserve")
    sites = sites_of(ground_with(shut, narrow("Other", 498_500.0, 5_003_000.0)))
    assert [(s.id, s.water, s.level) for s in sites] == [("D1", "Other", "unknown"), ("D2", "Near", "stop")]


@pytest.mark.property
def test_sea_water_is_a_caution_for_buckets() -> None:
    sea = replace(narrow("Sund", *MIDDLE), kind="sea", salt=True)
    (site,) = sites_of(ground_with(sea))
    assert any("save lives" in f.message and f.level == "caution" for f in site.findings)


@pytest.mark.behaviour
@pytest.mark.parametrize(("current_mps", "level"), [(None, "unknown"), (0.0, None), (1.2, "caution")])
def test_a_river_s_current_is_minded(current_mps: float | None, level: str | None) -> None:
    river = replace(narrow("Skell", *MIDDLE), kind="river", current_mps=current_mps)
    (site,) = sites_of(ground_with(river))
    found = [f.level for f in site.findings if "pull on the bucket" in f.message]
    assert found == ([] if level is None else [level])


@pytest.mark.memory
@pytest.mark.parametrize("class_id", ["light_helicopter", "medium_helicopter", "heavy_helicopter"])
def test_buckets_ask_for_1_to_2_5_m_of_water(class_id: str) -> None:
    """The bucket's height and 0.5 m, 1 to 2.5 m: from memory. Just less than the class asks is a stop."""
    cls = aircraft_classes()[class_id]
    needed = cls.value("depth_needed_m")
    assert 1.0 <= needed <= 2.5
    for depth_m, stopped in ((needed - 0.01, True), (needed, False)):
        lake = replace(narrow("Lomvatn", *MIDDLE), depth_m=depth_m)
        (site,) = sites_of(ground_with(lake), cls=cls)
        assert any(f.code == "depth" and f.level == "stop" for f in site.findings) is stopped
    (unknown,) = sites_of(ground_with(replace(narrow("Lomvatn", *MIDDLE), depth_m=None)), cls=cls)
    assert about(unknown, "Depth not known").effect == "look"


@pytest.mark.behaviour
@pytest.mark.parametrize(("age_min", "holds"), [(119.0, True), (120.0, True), (121.0, False), (-5.0, False)])
def test_a_look_holds_for_its_time_and_never_ahead_of_it(age_min: float, holds: bool) -> None:
    place = a_place(volume_l=9000.0, looked_at=HOUR.time - timedelta(minutes=age_min))
    (site,) = sites_of(ground_with(places=(place,)))
    assert about(site, "looked").level == ("clear" if holds else "unknown")


@pytest.mark.property
def test_a_look_at_a_lake_says_nothing_of_a_tank_of_its_name() -> None:
    lake = replace(narrow("Alder", 498_500.0, 5_003_000.0), looked_at=HOUR.time)
    known = next(s for s in sites_of(ground_with(lake, places=(a_place(volume_l=9000.0),))) if s.place)
    assert known.level == "unknown"
    inside = a_place("water", -1500.0, 3000.0)
    seen = next(s for s in sites_of(ground_with(lake, places=(inside,))) if s.place)
    assert about(seen, "looked at").level == "clear"


@pytest.mark.derived
@pytest.mark.parametrize(
    ("volume_l", "words", "level"),
    [
        (1_099.0, "no bucket of the class goes in, the smallest takes 1100 L", "stop"),
        (1_150.0, "part loads, a full one is 1200 L", "caution"),
        (9_000.0, "7.5 loads", "clear"),
        (None, "volume is not known", "unknown"),
    ],
)
def test_a_tank_is_judged_by_the_bucket(volume_l: float | None, words: str, level: str) -> None:
    """A class of 1,200 L, buckets from 1,100 L on: its shipped table."""
    (site,) = sites_of(ground_with(places=(a_place(volume_l=volume_l, refill_l_per_min=600.0),)))
    assert about(site, words).level == level
    assert site.load_cap_l == volume_l


@pytest.mark.derived
def test_a_tank_sustains_what_is_pumped_into_it() -> None:
    """600 L/min over 1,200 L a load: 30 loads an hour."""
    (site,) = sites_of(ground_with(places=(a_place(volume_l=9000.0, refill_l_per_min=600.0),)))
    assert about(site, "loads an hour").value == "30.0 loads/h"
    (untold,) = sites_of(ground_with(places=(a_place(volume_l=9000.0),)))
    assert about(untold, "counted as not at all").level == "unknown"


@pytest.mark.behaviour
def test_a_known_place_takes_what_the_water_layer_tells() -> None:
    lake = replace(narrow("Lomvatn", *MIDDLE), closed="bird reserve")
    place = a_place("water", depth_m=None, depth_date=None)
    known = next(s for s in sites_of(ground_with(lake, places=(place,))) if s.place)
    assert (known.water, known.depth_m, known.clear_m) == ("Lomvatn", 5.0, 75.0)
    assert about(known, "is closed: bird reserve").level == "stop"
    own = next(s for s in sites_of(ground_with(lake, places=(a_place("water"),))) if s.place)
    assert (own.depth_m, own.depth_date) == (3.0, SURVEYED)


@pytest.mark.behaviour
@pytest.mark.parametrize(("north_m", "doubted"), [(104.0, False), (106.0, True)])
def test_a_place_of_water_on_land_is_a_caution(north_m: float, doubted: bool) -> None:
    """The shore lies 75 m north of the middle; 30 m are left to a coarse shore."""
    place = a_place("water", 0.0, north_m)
    known = next(s for s in sites_of(ground_with(narrow("Lomvatn", *MIDDLE), places=(place,))) if s.place)
    assert any("lies on land" in f.message and f.level == "caution" for f in known.findings) is doubted
    tank = a_place("tank", 0.0, north_m, volume_l=9000.0)
    other = next(s for s in sites_of(ground_with(narrow("Lomvatn", *MIDDLE), places=(tank,))) if s.place)
    assert not any("lies on land" in f.message for f in other.findings)


@pytest.mark.behaviour
def test_trees_close_to_a_known_place_take_its_room() -> None:
    ground = ground_with(places=(a_place(volume_l=9000.0),))
    x, y = ground.grid.xy(*np.mgrid[0 : ground.grid.rows, 0 : ground.grid.cols])
    away = np.hypot(x - MIDDLE[0] - 200.0, y - MIDDLE[1])
    (site,) = sites_of(replace(ground, canopy_height_m=np.where(away > 60.0, 15.0, 0.0).astype(np.float32)))
    assert site.clear_m == pytest.approx(60.0, abs=15.0)  # a cell is 20 m
    (close,) = sites_of(replace(ground, canopy_height_m=np.where(away > 20.0, 15.0, 0.0).astype(np.float32)))
    assert about(close, "to the nearest shore or trees").level == "caution"
    (blind,) = sites_of(replace(ground, canopy_height_m=None))
    assert blind.clear_m is None
    assert about(blind, "Room to trees is not known").effect == "look"


@pytest.mark.derived
def test_thin_air_cuts_the_load_and_takes_it_all_in_the_end() -> None:
    """Lift falls with density above the height of full load: 5,000 kg of which 1,200 kg are water."""
    cls = helicopter(full_load_to_ft=4000.0, gross_kg=5000.0, tank_volume_l=1200.0)
    lake, grid = narrow("Lomvatn", *MIDDLE), make_grid()
    seen: list[str] = []
    for surface_m in (100.0, 1500.0, 4500.0):
        high = replace(
            ground_with(replace(lake, surface_m=surface_m)),
            elevation_m=np.full(grid.shape, surface_m, np.float32),
        )
        (site,) = sites_of(high, cls=cls)
        seen.append(
            next(
                (f.level for f in site.findings if f.code == "density_altitude" and "load" in f.message),
                "none",
            )
        )
    assert seen == ["none", "caution", "stop"]


@pytest.mark.memory
def test_a_large_rotor_asks_for_more_room() -> None:
    """One and a half rotor diameters, from memory; 30 m at least, common practice."""
    assert room_needed_m(helicopter(rotor_diameter_m=22.0), LIMITS) == pytest.approx(33.0)
    assert room_needed_m(helicopter(rotor_diameter_m=14.0), LIMITS) == 30.0


@pytest.mark.property
def test_without_weather_air_and_wind_are_unknown() -> None:
    (site,) = sites_of(ground_with(narrow("Lomvatn", *MIDDLE)), hour=None)
    assert (site.headwind_mps, site.crosswind_mps, site.density_altitude_m) == (None, None, None)
    assert {f.code for f in site.findings if f.level == "unknown"} >= {"wind", "density_altitude", "waves"}


@pytest.mark.derived
def test_a_place_off_the_terrain_is_blocked() -> None:
    (site,) = sites_of(ground_with(places=(a_place(x=9_000.0, volume_l=9000.0),)))
    assert (site.surface_m, site.way) == (None, None)
    assert about(site, "height of the water is not known").effect == "blocks"


@pytest.mark.behaviour
def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(InputError, match="does not dip"):
        sites_of(ground_with(), cls=aircraft_classes()["large_tanker"])
    with pytest.raises(OutsideRangeError):
        sites_of(ground_with(), limits=limits(dip_room_m=0.0))


@pytest.mark.property
def test_a_look_at_one_of_two_namesakes_is_not_shown_at_the_other() -> None:
    now = HOUR.time
    unseen = narrow("Tarn", MIDDLE[0], MIDDLE[1] - 1000.0)
    seen = replace(narrow("Tarn", MIDDLE[0], MIDDLE[1] + 3000.0), looked_at=now - timedelta(minutes=10))
    by_north = {site.position[1] > MIDDLE[1]: site for site in sites_of(ground_with(unseen, seen))}
    assert (by_north[True].looked_at, by_north[False].looked_at) == (seen.looked_at, None)
    logged = sites_of(ground_with(unseen, replace(seen, looked_at=None)), looked={"Tarn": now})
    assert [site.looked_at for site in logged] == [None, None]


@pytest.mark.property
@pytest.mark.parametrize("kind", ["tank", "water"])
def test_a_look_that_lies_ahead_hides_none_that_holds(kind: str) -> None:
    """A layer written for later in the day, and a look logged five minutes ago."""
    now = HOUR.time
    ahead, held = now + timedelta(minutes=30), now - timedelta(minutes=5)
    lake = replace(narrow("Alder", *MIDDLE), looked_at=ahead if kind == "water" else None)
    places = (a_place(looked_at=ahead, volume_l=9000.0, y=4000.0),) if kind == "tank" else ()
    ground = ground_with(*(() if places else (lake,)), places=places)
    (site,) = sites_of(ground, looked={"Alder": held})
    assert site.looked_at == held
    assert about(site, "looked at").level == "clear"


@pytest.mark.property
def test_a_climb_without_weather_is_said_to_be_that_of_a_standard_day() -> None:
    (site,) = sites_of(ground_with(narrow("Lomvatn", *MIDDLE)), hour=None)
    finding = about(site, "standard day")
    assert (finding.code, finding.level, finding.effect) == ("density_altitude", "unknown", "look")
    (known,) = sites_of(ground_with(narrow("Lomvatn", *MIDDLE)))
    assert not any("standard day" in f.message for f in known.findings)


@pytest.mark.memory
@pytest.mark.parametrize(("way", "level"), [("bucket", "stop"), ("snorkel", "clear")])
def test_depth_is_held_against_what_fills(way: str, level: str) -> None:
    """1 m of water: a bucket of the class needs 2 m, a snorkel 0.5 m; both from memory."""
    lake = replace(narrow("Lomvatn", *MIDDLE), depth_m=1.0)
    (site,) = sites_of(ground_with(lake), cls=helicopter().filling_by(way))
    assert (site.fill, about(site, "Depth").level) == (way, level)
