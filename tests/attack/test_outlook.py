"""Free growth of many futures: the scene, its members and what is counted of them agree."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from wetline.attack import Outlook, Scene, free_growth, futures, outlook
from wetline.grid import Grid, Projection
from wetline.ground import Ground, Layer, PeoplePlace
from wetline.growth import Errors, member
from wetline.weather import Weather

if TYPE_CHECKING:
    from numpy.typing import NDArray

START = datetime(2026, 7, 14, 12, tzinfo=UTC)
N, HOURS = 120, 4
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_203_000.0, 25.0, N, N)
HOURS_S = (3600.0, 7200.0, 9000.0)


def _people(x: float, y: float, name: str) -> PeoplePlace:
    return PeoplePlace(name=name, kind="houses", shape=shapely.Point(x, y))


def scene(unknown: NDArray[np.bool_] | None = None) -> Scene:
    """Grass and brush on a slope; houses close to the fire's head, and far behind it."""
    rng = np.random.default_rng(2)
    row, col = np.mgrid[0:N, 0:N]
    fuel = np.where(rng.random((N, N)) < 0.97, np.where(col % 40 < 25, 102, 145), 98).astype(np.int16)
    if unknown is not None:
        fuel[unknown] = -1
    ground = Ground(
        grid=GRID,
        elevation_m=(500.0 + 2.0 * row + 3.0 * np.sin(col / 9.0)).astype(np.float32),
        fuel=fuel,
        people=Layer((_people(501_400.0, 5_201_900.0, "Ostrel"), _people(500_100.0, 5_202_900.0, "Vammer"))),
    )
    hour = np.arange(HOURS, dtype=np.float64)
    none = np.full(HOURS, np.nan)
    weather = Weather(
        time_s=START.timestamp() + 3600.0 * hour,
        temperature_c=28.0 + hour,
        humidity_pct=30.0 - hour,
        wind_mps=4.0 + hour,
        wind_from_deg=210.0 + 10.0 * hour,
        gust_mps=none,
        rain_mm=none,
        cloud_pct=none,
        visibility_m=none,
        elevation_m=500.0,
    )
    return Scene(
        ground=ground,
        weather=weather,
        window=GRID,
        burnt=shapely.Point(501_100.0, 5_201_300.0).buffer(150.0),
        start=START,
        now_s=600.0,
        until_s=HOURS * 3600.0,
    )


@pytest.fixture(scope="module")
def seen() -> Outlook:
    return outlook(scene(), 9, 5, HOURS_S, workers=1)


@pytest.mark.property
def test_futures_of_a_plan_have_the_fires_of_the_outlook(seen: Outlook) -> None:
    """Growth on a member's whole fields (as a plan needs) against the outlook's: to the last digits of float32."""
    here = scene()
    cells = here.place_cells()
    for future in futures(9, 5)[::3]:
        assert future.variation == member(future.number, 5)
        alone = free_growth(here, future.variation, HOURS_S, place_cells=cells, keep=future.number == 0)
        ours = seen.played[future.number]
        assert ours.area_m2 == pytest.approx(alone.area_m2, rel=1e-4)
        assert ours.times_s == pytest.approx(alone.times_s, rel=1e-4)
        assert (ours.reached_edge, ours.parts_lost) == (alone.reached_edge, alone.parts_lost)
        assert len(ours.lines_xy) == (3 if future.number == 0 else 0)


@pytest.mark.property
def test_counts_are_those_of_the_futures_themselves(seen: Outlook) -> None:
    counted = seen.counted
    assert counted.of == 9
    assert len(seen.played) == 10
    times = np.array([p.times_s for p in seen.played[1:]])
    assert counted.reached_in().tolist() == np.isfinite(times).sum(axis=0).tolist()
    near, far = counted.reached_in()
    assert near > 0
    assert far == 0
    assert np.all(np.diff(counted.probability, axis=0) >= 0.0)
    # the cells' own area, in the mean over the futures, is near the outlines' area
    cells_m2 = counted.probability.sum(axis=(1, 2)) * GRID.cell_m**2
    assert cells_m2 == pytest.approx(np.mean([p.area_m2 for p in seen.played[1:]], axis=0), rel=0.05)


@pytest.mark.property
def test_processes_give_the_same_outlook_as_one_core(seen: Outlook) -> None:
    again = outlook(scene(), 9, 5, HOURS_S, workers=2)
    assert again.counted.burnt_in.tobytes() == seen.counted.burnt_in.tobytes()
    assert again.reached == seen.reached
    assert [p.unknown_m for p in again.played] == [p.unknown_m for p in seen.played]


@pytest.mark.property
def test_without_errors_all_futures_are_the_middle_one() -> None:
    none = Errors(wind_speed=0.0, wind_turn_deg=0.0, moisture_pct=0.0, spread=0.0)
    found = outlook(replace(scene(), errors=none), 2, 5, HOURS_S, workers=1)
    assert found.played[1].area_m2.tolist() == found.played[0].area_m2.tolist()
    assert set(np.unique(found.counted.probability)) == {0.0, 1.0}


@pytest.mark.behaviour
def test_unknown_ground_is_unknown_in_the_counts_and_its_edge_is_measured() -> None:
    unknown = np.zeros((N, N), bool)
    unknown[40:60, 30:60] = True
    found = outlook(scene(unknown), 2, 5, HOURS_S, workers=1)
    assert np.isnan(found.counted.probability[:, unknown]).all()
    assert found.played[0].unknown_m > 0.0


@pytest.mark.property
def test_trees_that_crown_reach_farther_in_the_outlook_too() -> None:
    """The outlook's fires are the system's own: crowns known to burn are in them."""
    timber = replace(
        scene().ground,
        fuel=np.full((N, N), 10, np.int16),
        canopy_cover=np.full((N, N), 0.4, np.float32),
        canopy_height_m=np.full((N, N), 15.0, np.float32),
    )
    crowns = replace(
        timber,
        canopy_base_m=np.full((N, N), 0.5, np.float32),
        canopy_bulk_kg_per_m3=np.full((N, N), 0.2, np.float32),
    )
    surface, crowning = (
        outlook(replace(scene(), ground=land), 2, 5, HOURS_S, workers=1) for land in (timber, crowns)
    )
    for k in range(3):
        assert crowning.played[k].area_m2[-1] > 1.05 * surface.played[k].area_m2[-1]
    alone = free_growth(replace(scene(), ground=crowns), member(2, 5), HOURS_S, place_cells=(), keep=False)
    assert crowning.played[2].area_m2 == pytest.approx(alone.area_m2, rel=1e-4)
