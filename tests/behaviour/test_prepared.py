"""A member's pace is its fields' pace, and what makes it quick stays within its stated errors."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from distributed.protocol.pickle import dumps, loads
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.behaviour import (
    LENGTH_TO_WIDTH_MAX,
    FireFields,
    Pace,
    Prepared,
    SurfaceModels,
    Variation,
    WindLimit,
    eccentricity,
    fire_fields,
    fuel_models,
    length_to_width,
    prepare,
    prepare_surface,
)
from wetline.behaviour.beds import reaction_over
from wetline.behaviour.rothermel import reaction
from wetline.errors import SolverError
from wetline.grid import Grid, Projection
from wetline.ground import Ground
from wetline.growth.metric import STANDING_MPS, Metric
from wetline.weather import DeadChoice, DeadMoisture, LiveMoisture, TerrainWind, Weather

if TYPE_CHECKING:
    from numpy.typing import NDArray

START = datetime(2026, 7, 14, 10, tzinfo=UTC)
N, SLOTS = 40, 3
END = START + timedelta(hours=SLOTS)
GRID = Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, N, N)


def ground() -> Ground:
    """Every published model, the burnable and the others, and some unknown, on rolling ground under trees."""
    rng = np.random.default_rng(3)
    row, col = np.mgrid[0:N, 0:N]
    return Ground(
        grid=GRID,
        elevation_m=(800.0 + 250.0 * np.sin(row / 6.0) + 200.0 * np.cos(col / 5.0)).astype(np.float32),
        fuel=rng.choice(np.array([*fuel_models(), -1], np.int16), (N, N)),
        canopy_cover=rng.uniform(0.0, 0.9, (N, N)).astype(np.float32),
        canopy_height_m=rng.uniform(0.0, 20.0, (N, N)).astype(np.float32),
    )


def weather(wind_mps: float = 5.0, humidity_pct: float = 30.0) -> Weather:
    hour = np.arange(SLOTS, dtype=np.float64)
    unknown = np.full(SLOTS, np.nan)
    return Weather(
        time_s=START.timestamp() + 3600.0 * hour,
        temperature_c=24.0 + hour,
        humidity_pct=humidity_pct + 10.0 * hour,
        wind_mps=wind_mps * (1.0 + hour),
        wind_from_deg=200.0 + 70.0 * hour,
        gust_mps=unknown,
        rain_mm=unknown,
        cloud_pct=unknown,
        visibility_m=unknown,
        elevation_m=700.0,
    )


def bent() -> TerrainWind:
    response = np.random.default_rng(5).normal(0.0, 0.6, (N, N, 2, 2)) + np.eye(2)
    return TerrainWind(grid=GRID, response=response.astype(np.float32))


def slot_of(pace: Pace, k: int) -> NDArray[np.float32]:
    out = np.empty((N, N, 3), np.float32)
    pace.fill(k, STANDING_MPS, out)
    return out


def same_pace(pace: Pace, fields: FireFields) -> None:
    """In a and w, and in the head's own time a cell, a (1 − e): down to 1/127 of a, by float32's last digits."""
    metric = Metric(fields)
    assert np.array_equal(pace.last_slot(), metric.unframed(metric.last_slot))
    for k in range(len(fields.edges_s) - 1):
        a = metric.slot(k).reshape(metric.height, metric.width, 3)[2:-2, 2:-2]
        b = slot_of(pace, k)
        burns = np.isfinite(a[..., 0])
        assert np.array_equal(burns, np.isfinite(b[..., 0]))
        a, b = a[burns].astype(float), b[burns].astype(float)
        assert np.abs(a - b).max(axis=1) / a[:, 0] == pytest.approx(np.zeros(len(a)), abs=2e-5)
        head_s, found_s = (v[:, 0] - np.hypot(v[:, 1], v[:, 2]) for v in (a, b))
        assert found_s == pytest.approx(head_s, rel=2e-4)


@pytest.mark.property
@pytest.mark.parametrize("dead", ["day_tables", "equilibrium"])
def test_a_members_dead_fuel_is_that_of_its_fields(dead: DeadChoice) -> None:
    variation = Variation(moisture_add_pct=-2.5)
    fields = fire_fields(ground(), weather(), start=START, until=END, variation=variation, dead=dead)
    same_pace(prepare_surface(ground(), weather(), start=START, until=END, dead=dead)(variation), fields)


@pytest.mark.property
@pytest.mark.parametrize("wind_limit", [None, "rothermel_1972", "andrews_2013"])
@pytest.mark.parametrize("terrain_wind", [None, bent()])
def test_a_members_pace_is_that_of_its_fields(
    wind_limit: WindLimit | None, terrain_wind: TerrainWind | None
) -> None:
    paces = prepare_surface(
        ground(), weather(), start=START, until=END, wind=terrain_wind, wind_limit=wind_limit
    )
    for variation in (
        Variation(),
        Variation(wind_factor=1.6, wind_turn_deg=-40.0, moisture_add_pct=-9.0, spread_factor=0.7),
        Variation(wind_factor=0.0, moisture_add_pct=14.0),
    ):
        fields = fire_fields(
            ground(),
            weather(),
            start=START,
            until=END,
            variation=variation,
            wind=terrain_wind,
            wind_limit=wind_limit,
        )
        same_pace(paces(variation), fields)
        assert paces.unknown is not None
        assert fields.unknown is not None
        assert np.array_equal(paces.unknown, fields.unknown)


@pytest.mark.property
@pytest.mark.parametrize(
    "system",
    [
        SurfaceModels(),
        SurfaceModels(crown_rate="cruz_2005", foliar_moisture_pct=80.0),
        SurfaceModels(crown_fire=False),
        SurfaceModels(dead_moisture="equilibrium", wind_limit="andrews_2013"),
    ],
)
@pytest.mark.parametrize("terrain_wind", [None, bent()])
def test_a_systems_members_crown_as_its_fields_do(
    system: SurfaceModels, terrain_wind: TerrainWind | None
) -> None:
    """Hot wind over trees whose crowns are known here, and unknown there."""
    rng = np.random.default_rng(9)
    base = rng.uniform(0.2, 4.0, (N, N)).astype(np.float32)
    bulk = rng.uniform(0.02, 0.3, (N, N)).astype(np.float32)
    bulk[rng.random((N, N)) < 0.2] = np.nan
    land = replace(ground(), canopy_base_m=base, canopy_bulk_kg_per_m3=bulk)
    hot, variation = weather(7.0, 15.0), Variation(wind_factor=1.2, moisture_add_pct=-1.0, spread_factor=0.8)
    fields = system.fields(land, hot, start=START, until=END, variation=variation, wind=terrain_wind)
    if system.crown_fire:
        assert fields.crown is not None
        assert {0, 1, 2, 255} == set(np.unique(fields.crown))
    paces = prepare(system, land, hot, start=START, until=END, wind=terrain_wind)
    found = paces(variation)
    assert isinstance(found, Pace)
    same_pace(found, fields)


@pytest.mark.derived
def test_paces_are_those_of_the_ellipse_with_the_ignition_at_its_rear_focus() -> None:
    """a = 1/(R (1 − e)), w = e a along the head, from the fields' own numbers by math alone."""
    fields = fire_fields(ground(), weather(), start=START, until=END)
    pace = prepare_surface(ground(), weather(), start=START, until=END)(Variation())
    out = slot_of(pace, 1)
    moving = fields.head_rate_mps[1] > STANDING_MPS
    for i, j in np.argwhere(moving)[::37]:
        rate, e, toward = (
            float(v[1, i, j]) for v in (fields.head_rate_mps, fields.eccentricity, fields.head_toward_deg)
        )
        a = 30.0 / (rate * (1.0 - e))
        angle = math.radians(toward)
        expected = (a, a * e * math.sin(angle), -a * e * math.cos(angle))
        assert out[i, j] == pytest.approx(expected, abs=2e-5 * a)


@pytest.mark.derived
def test_shapes_from_the_table_keep_their_stated_error() -> None:
    """Against the equations, in double precision, from calm to beyond the cut: every model, no slope."""
    codes = [n for n, model in fuel_models().items() if model.burnable]
    flat = Ground(
        grid=Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, 30.0, 1, len(codes)),
        elevation_m=np.zeros((1, len(codes)), np.float32),
        fuel=np.array([codes], np.int16),
    )
    for wind_mps in (0.0, 1e-4, 0.01, 0.1, 0.5, 1.0, 3.0, 7.0, 12.0, 20.0, 40.0):
        air = replace(weather(), wind_mps=np.full(SLOTS, wind_mps))
        fields = fire_fields(flat, air, start=START, until=END)
        for j, code in enumerate(codes):
            depth = fuel_models()[code].depth_m
            assert depth is not None
            depth_ft = depth / 0.3048
            midflame = wind_mps / 1.15 * 1.83 / math.log((20.0 + 0.36 * depth_ft) / (0.13 * depth_ft))
            ratio = min(float(length_to_width(midflame)), LENGTH_TO_WIDTH_MAX)
            exact = float(eccentricity(ratio))
            found = float(fields.eccentricity[0, 0, j])
            assert found == pytest.approx(exact, abs=1e-4)
            # what the head's own pace hangs on
            assert 1.0 / (1.0 - found) == pytest.approx(1.0 / (1.0 - exact), rel=3e-4)


@pytest.mark.derived
def test_bearings_are_those_of_the_arc_tangent() -> None:
    from wetline.behaviour._kernels import _bearings  # noqa: PLC0415  numba loads late

    degrees = np.arange(0.0, 360.0, 0.37)
    east = (3.0 * np.sin(np.radians(degrees))).astype(np.float32)
    north = (3.0 * np.cos(np.radians(degrees))).astype(np.float32)
    out = np.empty_like(east)
    _bearings(east, north, out)
    exact = np.degrees(np.arctan2(east.astype(float), north.astype(float))) % 360.0
    assert out == pytest.approx(exact, abs=1e-4)
    _bearings(np.zeros(4, np.float32), np.array([0, 0, 1, -1], np.float32), out[:4])
    assert out[:4].tolist() == [0.0, 0.0, 0.0, 180.0]


@pytest.mark.property
@settings(deadline=None, max_examples=20)
@given(
    st.floats(1.0, 60.0), st.floats(-1.0, 5.0), st.floats(-1.0, 5.0), st.floats(0.3, 3.0), st.floats(0.3, 3.0)
)
def test_beds_over_many_moistures_are_the_beds_one_by_one(
    one_h: float, ten_more: float, hundred_more: float, herb: float, woody: float
) -> None:
    """One moisture drawn, with the extinction of each model beside it."""
    live = LiveMoisture(herb=herb, woody=woody)
    limits: tuple[WindLimit | None, ...] = (None, "rothermel_1972", "andrews_2013")
    for model in fuel_models().values():
        if not model.burnable:
            continue
        assert model.mx_dead is not None
        fine = np.array([one_h, 100.0 * model.mx_dead + 1e-6, 100.0 * model.mx_dead - 1.0])
        many = np.array([fine, fine + ten_more, fine + hundred_more])
        beds = [
            reaction(model, DeadMoisture(one_h=a / 100, ten_h=b / 100, hundred_h=c / 100), live)
            for a, b, c in many.T.tolist()
        ]
        for limit in limits:
            rate, heat, most = reaction_over(model, many, live, limit)
            # a hair from extinction the damping is a small difference of large terms: sums in another order show
            assert rate == pytest.approx([bed.no_wind_mps for bed in beds], rel=1e-6, abs=1e-12)
            assert heat == pytest.approx([bed.heat_kj_per_m2 for bed in beds], rel=1e-6, abs=1e-9)
            assert most == pytest.approx([bed.factor_max(limit) for bed in beds], rel=1e-6, abs=1e-9)


@pytest.mark.behaviour
def test_a_number_that_is_none_never_reaches_growth_in_silence() -> None:
    paces = prepare_surface(ground(), weather(), start=START, until=END)
    slope = paces.part.rasters[2].copy()
    slope[2, 2] = np.nan
    part = replace(paces.part, rasters=(*paces.part.rasters[:2], slope, *paces.part.rasters[3:]))
    with pytest.raises(SolverError, match="no number in 1 cells"):
        slot_of(replace(paces, part=part)(Variation()), 0)


@pytest.mark.behaviour
def test_ground_without_fuel_has_no_pace() -> None:
    bare = replace(ground(), fuel=np.full((N, N), 98, np.int16))
    pace = prepare_surface(bare, weather(), start=START, until=END)(Variation())
    assert np.all(np.isinf(slot_of(pace, 0)[..., 0]))
    assert np.all(pace.last_slot() == -1)


@pytest.mark.behaviour
def test_what_is_prepared_travels_to_a_cluster() -> None:
    paces = prepare_surface(ground(), weather(), start=START, until=END)
    there: Prepared = loads(dumps(paces))  # type: ignore[no-untyped-call]
    assert slot_of(there(Variation()), 2).tobytes() == slot_of(paces(Variation()), 2).tobytes()
    assert paces(Variation()).slot(3600.0) == 1
    with pytest.raises(LookupError):
        paces(Variation()).slot(-1.0)
