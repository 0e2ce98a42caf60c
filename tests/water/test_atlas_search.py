"""What a chunk of a water file gives an atlas: the lanes of each water, whatever stands beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pyproj
import pytest
import shapely

from water.atlas_maker import GEOD, chunk_of, lakes, oblong
from wetline.errors import OutsideRangeError, SolverError
from wetline.water import Ask, atlas, lanes_of_file, lanes_of_water, search_chunk

ASKS = (Ask(1200.0, 35.0), Ask(1500.0, 50.0))


@pytest.mark.property
def test_each_water_gives_the_lanes_that_it_gives_alone() -> None:
    shapes = lakes(20)
    found = search_chunk(chunk_of(shapes, first=40), asks=ASKS, step_deg=10.0)
    alone = {
        (row, ask): lanes_of_file(
            [(0, shape)], length_m=ASKS[ask].length_m, clear_m=ASKS[ask].clear_m, step_deg=10.0
        ).lanes
        for row, shape in enumerate(shapes)
        for ask in (0, 1)
    }
    assert found.lanes
    for (row, ask), lanes in alone.items():
        mine = [lane for lane in found.lanes if (lane.row, lane.ask) == (row + 40, ask)]
        assert {(a.heading_deg, a.length_m, a.start, a.end) for a in mine} == {
            (b.heading_deg, b.length_m, b.start, b.end) for b in lanes
        }
    keys = [(lane.row, lane.ask, -round(lane.length_m, 3)) for lane in found.lanes]
    assert keys == sorted(keys)


@pytest.mark.property
@pytest.mark.parametrize("size", [1, 3, 7])
def test_lanes_do_not_depend_on_how_the_file_is_cut(size: int) -> None:
    shapes = lakes(14)
    whole = search_chunk(chunk_of(shapes), asks=ASKS, step_deg=15.0)
    parts = [
        search_chunk(chunk_of(shapes[i : i + size], first=i), asks=ASKS, step_deg=15.0)
        for i in range(0, len(shapes), size)
    ]
    cut = [replace(lane, water=None) for part in parts for lane in part.lanes]
    assert cut == [replace(lane, water=None) for lane in whole.lanes]
    assert sum(part.too_small for part in parts) == whole.too_small


@pytest.mark.derived
def test_features_that_touch_keep_their_rows_and_a_cut_counts_as_shore() -> None:
    """A lake of 3,200 m drawn as two halves of 1,600 m in one chunk: each gives its own 1,600 m, by geodesics."""
    whole = oblong(25.0, 60.0, 90.0, 3200.0, 300.0)
    west, south, east, north = whole.bounds
    halves = [whole.intersection(shapely.box(*box)) for box in (
        (west, south, 25.0, north), (25.0, south, east, north),
    )]  # fmt: skip
    found = search_chunk(chunk_of(halves, first=6), asks=ASKS[1:], step_deg=90.0)
    assert [lane.row for lane in found.lanes] == sorted(lane.row for lane in found.lanes)
    assert {lane.row: lane.water for lane in found.lanes} == {6: None, 7: "Lake 7"}
    for row, half in ((6, halves[0]), (7, halves[1])):
        lanes = [lane for lane in found.lanes if lane.row == row]
        assert max(lane.length_m for lane in lanes) == pytest.approx(1600.0, abs=1.0)
        alone = search_chunk(chunk_of([half], first=row), asks=ASKS[1:], step_deg=90.0)
        assert [(a.start, a.end) for a in alone.lanes] == [(a.start, a.end) for a in lanes]
    assert found.troubles == ()


@pytest.mark.derived
def test_an_oblong_lake_gives_its_long_side_to_either_ask() -> None:
    """2,000 m by 90 m holds a lane 70 m wide along its side, none 100 m wide: arithmetic."""
    found = search_chunk(chunk_of([oblong(-31.8, 47.2, 90.0, 2000.0, 90.0)]), asks=ASKS, step_deg=5.0)
    longest = max(found.lanes, key=lambda lane: lane.length_m)
    assert {lane.ask for lane in found.lanes} == {0}
    assert longest.heading_deg == pytest.approx(90.0, abs=0.05)
    assert longest.length_m == pytest.approx(2000.0, rel=1e-4)


@pytest.mark.derived
@pytest.mark.parametrize("lon", [25.0, 179.99])
def test_the_middle_lies_half_way_along_the_geodesic(lon: float) -> None:
    found = search_chunk(chunk_of([oblong(lon, 65.0, 80.0, 6000.0)]), asks=ASKS, step_deg=5.0)
    for lane in found.lanes:
        _, _, before = GEOD.inv(*lane.start, *lane.middle)
        _, _, after = GEOD.inv(*lane.middle, *lane.end)
        assert before == pytest.approx(after, abs=1e-3)
        assert before + after == pytest.approx(lane.length_m, abs=1e-3)
        assert -180.0 <= lane.middle[0] < 180.0


@pytest.mark.derived
@pytest.mark.parametrize("lat", [0.0, 47.0, -70.0, 88.0])
def test_no_water_is_passed_over_that_could_hold_a_lane(lat: float) -> None:
    """Against pyproj: no two corners lie farther apart than the reach by which small water is passed over."""
    g = np.random.default_rng(5)
    for _ in range(200):
        heading, length, width = g.uniform([0.0, 10.0, 1.0], [180.0, 30_000.0, 2000.0]).tolist()
        shape = oblong(float(g.uniform(-170.0, 170.0)), lat, heading, length, width)
        corners = np.array(shape.exterior.coords)
        if np.ptp(corners[:, 0]) > 180.0:
            continue
        farthest = max(GEOD.inv(*a, *b)[2] for a in corners for b in corners)
        assert atlas._reach_m(shape) >= farthest


@pytest.mark.behaviour
def test_small_water_is_counted_and_not_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(atlas, "lanes_of_water", lambda *_, **__: pytest.fail("searched"))
    found = search_chunk(chunk_of([oblong(25.0, 60.0, 90.0, 900.0, 300.0)] * 3), asks=ASKS, step_deg=5.0)
    assert (found.too_small, found.count, found.lanes) == (3, 3, ())


@pytest.mark.property
@pytest.mark.parametrize("crs", ["EPSG:32635", "EPSG:3857"])
def test_water_in_metres_gives_the_lanes_of_water_in_degrees(crs: str) -> None:
    shapes = lakes(6)
    there = pyproj.Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    metres = [
        shapely.transform(s, lambda p: np.column_stack(there.transform(p[:, 0], p[:, 1]))) for s in shapes
    ]
    one = search_chunk(chunk_of(shapes), asks=ASKS, step_deg=15.0)
    other = search_chunk(chunk_of(metres, crs=crs), asks=ASKS, step_deg=15.0)
    assert len(one.lanes) == len(other.lanes) > 0
    for a, b in zip(one.lanes, other.lanes, strict=True):
        assert (a.row, a.ask) == (b.row, b.ask)
        assert a.length_m == pytest.approx(b.length_m, abs=0.01)


@pytest.mark.behaviour
def test_repaired_water_and_water_without_an_outline_are_named_by_row() -> None:
    crossed = shapely.Polygon([(25.0, 60.0), (25.1, 60.1), (25.1, 60.0), (25.0, 60.1)])
    shapes = [oblong(24.0, 60.0), crossed, shapely.Point(25.0, 60.0), None]
    found = search_chunk(chunk_of(shapes, first=200), asks=ASKS, step_deg=10.0)
    assert [t.problem.row for t in found.troubles] == [201, 202, 203]
    assert [t.box is None for t in found.troubles] == [False, False, True]
    assert found.troubles[0].water == "Lake 201"
    assert "Water 201: repaired: self-intersection" in found.troubles[0].problem.message
    noted = {lane.row for lane in found.lanes if lane.note is not None}
    assert noted == {201}


@pytest.mark.behaviour
def test_a_water_that_breaks_the_search_is_named_and_the_rest_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def breaks(name: int, row: int, shape: Any, **asked: Any) -> object:
        if row == 801:
            message = "a lane came out too near the shore"
            raise SolverError(message)
        return lanes_of_water(name, row, shape, **asked)

    shapes = [oblong(25.0, 60.0), oblong(25.5, 60.0), oblong(26.0, 60.0)]
    monkeypatch.setattr(atlas, "lanes_of_water", breaks)
    found = search_chunk(chunk_of(shapes, first=800), asks=ASKS[:1], step_deg=10.0)
    assert {lane.row for lane in found.lanes} == {800, 802}
    assert [t.problem.row for t in found.troubles] == [801]
    assert "Water 801 was not searched" in found.troubles[0].problem.message


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("ask", "step_deg"), [(Ask(0.0, 50.0), 5.0), (Ask(1000.0, 0.0), 5.0), (ASKS[0], 0.0)]
)
def test_asks_that_no_search_stands_for_are_refused(ask: Ask, step_deg: float) -> None:
    with pytest.raises(OutsideRangeError):
        search_chunk(chunk_of([oblong(25.0, 60.0)]), asks=[ask], step_deg=step_deg)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("ring", "box"),
    [
        ([(180.2, 10.0), (180.4, 10.0), (180.4, 10.2)], (-179.8, 10.0, -179.6, 10.2)),
        ([(-180.4, 10.0), (-180.2, 10.0), (-180.2, 10.2)], (179.6, 10.0, 179.8, 10.2)),
        ([(179.9, 10.0), (180.1, 10.0), (180.1, 10.2)], (-180.0, 10.0, 180.0, 10.2)),
        ([(500_000.0, 5_200_000.0), (503_000.0, 5_200_000.0), (503_000.0, 5_202_000.0)], None),
        ([(49.0, -123.0), (49.1, -123.0), (49.1, -122.9)], None),
    ],
)
def test_a_water_with_a_problem_has_a_box_where_questions_are_asked(
    ring: list[tuple[float, float]], box: tuple[float, float, float, float] | None
) -> None:
    """By hand: a whole turn less; metres and swapped axes have no place."""
    point = shapely.GeometryCollection([shapely.Polygon(ring), shapely.Point(ring[0])])
    found = search_chunk(chunk_of([point]), asks=ASKS, step_deg=90.0)
    (place,) = {trouble.box for trouble in found.troubles}
    assert place == (None if box is None else pytest.approx(box))
