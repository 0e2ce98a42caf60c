"""The planning form: against the droplet model, and against what drop tests say of speed, height and wind."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetline.drops import AGENTS, Release, line_m, pattern
from wetline.drops.droplets import droplets
from wetline.drops.form import edge_m, middle_shapes, middles, parameters, varied_shapes
from wetline.drops.misfit import measured
from wetline.drops.relations import scatter, thirst_kpa
from wetline.drops.resolve import resolve
from wetline.model import Band
from wetline.units import FOOT, KNOT, US_GALLON_L

CASES = (
    Release(class_id="twin_engine_scooper", height_m=45.0),
    Release(
        class_id="twin_engine_scooper", height_m=90.0, agent="foam", temperature_c=33.0, humidity_pct=25.0
    ),
    Release(class_id="single_engine_tanker", height_m=30.0, load_l=2500.0, agent="retardant"),
    Release(class_id="medium_helicopter", height_m=25.0),
    Release(class_id="large_tanker", height_m=75.0, agent="gel"),
    Release(class_id="very_large_tanker", height_m=120.0, agent="retardant"),
)
"""None of them stands in the design that the relations were fitted to."""
BUCKET = Release(
    class_id="medium_helicopter", load_l=324 * US_GALLON_L, speed_mps=54 * KNOT, height_m=70 * FOOT
)


def _within(relation_name: str, form: float, model: float) -> bool:
    """Within three times the scatter told in `drop/form` and a tenth: the cases lie at its edges too."""
    return abs(math.log(form / model)) <= 3.0 * scatter(relation_name) + 0.1


@pytest.mark.property
@pytest.mark.parametrize("release", CASES, ids=lambda r: f"{r.class_id} {r.height_m:g} m {r.agent}")
def test_the_form_agrees_with_the_droplet_model_within_its_stated_scatter(release: Release) -> None:
    calm, windy = (
        resolve(replace(release, wind_mps=0.0)),
        resolve(replace(release, heading_deg=0.0, wind_from_deg=300.0, wind_mps=6.0)),
    )
    form, blown = middles([calm]), middles([windy])
    model, blown_model = droplets(calm, parcels=10_000), droplets(windy, parcels=10_000)
    assert _within("spread_across_m", form.spread_across_m[0], model.spread_across_m)
    assert _within("smear_along_m", form.smear_along_m[0], model.spread_along_m)
    assert _within("throw_m", form.throw_m[0], model.throw_m)
    assert _within("drift_ratio", blown.drift_right_m[0], blown_model.drift_right_m)
    lost = model.evaporated_l / calm.load_l
    assert form.lost_share[0] == pytest.approx(lost, abs=3.0 * scatter("lost") + 0.01)


@pytest.mark.property
@pytest.mark.parametrize("release", CASES[:4], ids=lambda r: f"{r.class_id} {r.height_m:g} m {r.agent}")
def test_the_band_of_the_form_holds_the_droplet_model(release: Release) -> None:
    calm = resolve(replace(release, wind_mps=0.0))
    told, model = parameters(calm), droplets(calm, parcels=10_000)
    for band, value in (
        (told.spread_across_m, model.spread_across_m),
        (told.smear_along_m, model.spread_along_m),
        (told.throw_m, model.throw_m),
        (told.ground_share, model.landed_l / calm.load_l),
    ):
        assert band.low is not None
        assert band.high is not None
        assert band.low <= value <= band.high


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(
    height=st.floats(12.0, 300.0),
    speed=st.floats(15.0, 80.0),
    wind=st.floats(0.0, 9.0),
    wind_from=st.floats(0.0, 360.0),
    agent=st.sampled_from(AGENTS),
)
def test_every_parameter_lies_inside_its_band(
    height: float, speed: float, wind: float, wind_from: float, agent: str
) -> None:
    release = Release(
        class_id="twin_engine_scooper",
        height_m=height,
        speed_mps=speed,
        heading_deg=0.0,
        wind_mps=min(wind, 0.4 * speed),
        wind_from_deg=wind_from,
        agent=agent,  # type: ignore[arg-type]
    )
    told = parameters(resolve(release))
    for name in told.__dataclass_fields__:
        band = getattr(told, name)
        assert isinstance(band, Band)
        assert band.low is not None
        assert band.high is not None
        assert band.low <= band.middle <= band.high
    assert told.spread_across_m.low is not None
    assert told.spread_across_m.low > 0.0
    assert told.ground_share.high is not None
    assert told.ground_share.high <= 1.0


@pytest.mark.property
def test_variants_of_many_loads_are_those_of_each() -> None:
    loads = [resolve(release) for release in CASES]
    together, alone = varied_shapes(loads), [varied_shapes([load]) for load in loads]
    for name in ("litres", "length_m", "spread_along_m", "spread_across_m"):
        assert getattr(together, name) == pytest.approx(np.concatenate([getattr(s, name) for s in alone]))
    assert middle_shapes(loads).litres == pytest.approx([s.litres[0] for s in alone])


@pytest.mark.published
@pytest.mark.parametrize(
    "level",
    [
        0.5,
        1.0,
        pytest.param(
            2.0,
            marks=pytest.mark.xfail(
                strict=True, reason="a known miss, docs/drop-model.md: very low loads have not spread yet"
            ),
        ),
    ],
)
def test_speed_changes_the_line_more_than_height_does(level: float) -> None:
    """MTDC 0057-2802 (public copy): bucket of 324 gal, 19 to 89 kt and 25 to 120 ft."""
    speeds = [line_m(replace(BUCKET, speed_mps=kt * KNOT), level).middle for kt in (19.0, 54.0, 89.0)]
    heights = [line_m(replace(BUCKET, height_m=ft * FOOT), level).middle for ft in (25.0, 70.0, 120.0)]
    assert max(speeds) - min(speeds) > max(heights) - min(heights)


@pytest.mark.published
def test_wind_widens_and_thins_the_pattern() -> None:
    """MTDC 0057-2802 (public copy): width where a tenth of the peak is left grows, the peak falls."""
    spreads, peaks = [], []
    for wind in (0.0, 3.0, 6.0, 9.0):
        shape = middle_shapes([resolve(replace(BUCKET, wind_mps=wind, wind_from_deg=270.0, heading_deg=0.0))])
        spreads.append(float(shape.spread_across_m[0]))
        peaks.append(float(shape.peak_l_per_m2[0]))
    assert spreads == sorted(spreads)
    assert peaks == sorted(peaks, reverse=True)
    assert spreads[-1] > 1.1 * spreads[0]


@pytest.mark.property
def test_higher_is_wider_and_drier() -> None:
    results = [
        pattern(Release(class_id="twin_engine_scooper", height_m=height, wind_mps=0.0))
        for height in (20.0, 45.0, 90.0, 180.0)
    ]
    lost = [result.evaporated_pct for result in results]
    assert lost == sorted(lost)
    peaks = [result.pattern.peak_l_per_m2 for result in results]
    assert peaks == sorted(peaks, reverse=True)


@pytest.mark.memory
def test_the_thirst_of_the_air() -> None:
    """Saturation at 20 °C is 2.34 kPa and at 35 °C 5.63 kPa (steam tables, from memory), within 0.5 %."""
    found = thirst_kpa(np.array([20.0, 35.0, 35.0]), np.array([50.0, 20.0, 100.0]))
    assert found[:2] == pytest.approx([0.5 * 2.339, 0.8 * 5.628], rel=5e-3)
    assert found[2] < 0.01


SLOW = Release(
    class_id="medium_helicopter",
    load_l=1200.0,
    speed_mps=15.0,
    duration_s=4.0,
    height_m=30.0,
    heading_deg=0.0,
)
FAST = replace(
    SLOW, class_id="twin_engine_scooper", load_l=6000.0, speed_mps=57.0, duration_s=2.0, height_m=60.0
)


@pytest.mark.property
@pytest.mark.parametrize(("release", "wind_mps"), [(SLOW, 6.0), (FAST, 10.0)], ids=["slow", "fast"])
@pytest.mark.parametrize("wind_from_deg", [0.0, 90.0, 180.0, 270.0, 315.0])
def test_wind_from_anywhere_carries_and_spreads_the_load_as_the_droplet_model_does(
    release: Release, wind_mps: float, wind_from_deg: float
) -> None:
    """Drift within a quarter, spread across within a quarter, throw within a tenth."""
    windy = resolve(replace(release, wind_mps=wind_mps, wind_from_deg=wind_from_deg))
    model, form = droplets(windy, parcels=10_000), middles([windy])
    drift = math.hypot(float(form.drift_along_m[0]), float(form.drift_right_m[0]))
    assert drift == pytest.approx(math.hypot(model.drift_along_m, model.drift_right_m), rel=0.25)
    assert form.throw_m[0] == pytest.approx(model.throw_m, rel=0.1)
    spread = float(middle_shapes([windy]).spread_across_m[0])
    assert spread == pytest.approx(measured(windy, model).spread_across_m, rel=0.25)


@pytest.mark.property
def test_a_wind_along_the_run_widens_the_pattern_and_leaves_the_throw() -> None:
    """Eddies know no direction, and what flies on does so through the air."""
    calm = middles([resolve(replace(FAST, wind_mps=0.0))])
    for wind_from_deg in (0.0, 180.0):
        windy = resolve(replace(FAST, wind_mps=10.0, wind_from_deg=wind_from_deg))
        assert middles([windy]).throw_m == pytest.approx(calm.throw_m)
        assert middle_shapes([windy]).spread_across_m[0] > 1.1 * calm.spread_across_m[0]


@pytest.mark.property
@pytest.mark.parametrize("height_m", [4.0, 10.0, 20.0, 400.0])
def test_far_from_its_middle_heights_too_the_form_keeps_to_the_droplet_model(height_m: float) -> None:
    low = resolve(replace(FAST, height_m=height_m, wind_mps=0.0))
    model, form = droplets(low, parcels=10_000), middles([low])
    assert form.throw_m[0] == pytest.approx(model.throw_m, rel=0.15)
    assert form.spread_across_m[0] == pytest.approx(measured(low, model).spread_across_m, rel=0.3)


@pytest.mark.behaviour
def test_an_answer_says_where_the_form_is_carried_beyond_what_it_was_fitted_to() -> None:
    def told(**changes: float) -> list[str]:
        found = pattern(replace(FAST, **changes)).findings  # type: ignore[arg-type]
        return [f.value or "" for f in found if "never fitted" in f.message]

    assert told() == []
    assert told(height_m=300.0) == ["300 m"]
    assert told(height_m=5.0) == ["5 m"]
    assert told(load_l=200.0) == ["1.75 L/m"]
    assert told(temperature_c=50.0, humidity_pct=5.0) == ["11.8 kPa"]
    assert "never fitted" not in str(pattern(replace(FAST, height_m=5.0), method="droplets").findings)


@pytest.mark.property
@pytest.mark.parametrize("agent", ["water", "retardant"])
@pytest.mark.parametrize("wind_mps", [0.0, 4.0, 10.0])
@pytest.mark.parametrize(
    "class_id", ["single_engine_tanker", "twin_engine_scooper", "very_large_tanker", "medium_helicopter"]
)
def test_no_more_than_a_hundredth_of_the_load_lands_beyond_the_edge(
    class_id: str, wind_mps: float, agent: str
) -> None:
    """Of the droplet model, in a wind across the run; half of that is aimed at. Nor is the edge needlessly far."""
    release = Release(
        class_id=class_id,
        agent=agent,  # type: ignore[arg-type]
        wind_mps=wind_mps,
        wind_from_deg=270.0,
        heading_deg=0.0,
    )
    load = resolve(release)
    edge, model = float(edge_m([load])[0]), droplets(load, parcels=10_000)
    across = model.raster.coverage_l_per_m2.sum(axis=0) * model.raster.cell_m2

    def beyond(distance_m: float) -> float:
        out = float(across[np.abs(model.raster.right_m) > distance_m].sum())
        return (out + model.off_grid_l) / load.load_l

    assert beyond(edge) < 0.01
    assert beyond(0.6 * edge) > 0.005
