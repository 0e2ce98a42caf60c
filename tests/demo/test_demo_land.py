"""The land of the demo: a lake-rich hill country that could be one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from wetline import tables
from wetline.ground import slope_aspect

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from demo.written import Written

NOT_BURNABLE = {91, 92, 93, 98, 99}


def _drains(z: NDArray[np.floating], outlet: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether each cell reaches an outlet by steepest descent to one of its eight neighbours."""
    rows, cols = z.shape
    padded = np.pad(z.astype(float), 1, constant_values=np.inf)
    here = np.arange(z.size).reshape(z.shape)
    steepest, towards = np.zeros(z.shape), here.copy()
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            if dr == dc == 0:
                continue
            fall = (z - padded[1 + dr : 1 + dr + rows, 1 + dc : 1 + dc + cols]) / np.hypot(dr, dc)
            better = fall > steepest
            steepest[better] = fall[better]
            towards[better] = (here + dr * cols + dc)[better]
    at = np.where(outlet, here, towards).ravel()
    for _ in range(24):  # pointer doubling: 2^24 steps downhill
        at = at[at]
    return np.asarray(outlet.ravel()[at].reshape(z.shape), bool)


@pytest.mark.behaviour
def test_the_land_is_40_by_30_km_at_30_m(demo: Written) -> None:
    assert demo.grid.projection.code == "EPSG:32625"
    assert demo.grid.cell_m == 30.0
    assert demo.grid.cols * 30 == pytest.approx(40_000, abs=300)
    assert demo.grid.rows * 30 == pytest.approx(30_000, abs=300)
    for name in ("fuels", "canopy_cover", "canopy_height", "canopy_base", "canopy_bulk"):
        assert demo.band(name).shape == demo.grid.shape


@pytest.mark.property
def test_nearly_every_cell_drains_to_a_lake_or_off_the_map(demo: Written) -> None:
    """At least 98 %, following steepest descent over eight neighbours."""
    z = demo.band("terrain")
    outlet = demo.inside([shape for shape, p in demo.layer("water") if p["kind"] != "river"])
    outlet[[0, -1], :] = True
    outlet[:, [0, -1]] = True
    assert _drains(z, outlet).mean() >= 0.98


@pytest.mark.property
def test_a_lake_is_flat_and_its_shore_lies_above_it(demo: Written) -> None:
    """All but the outlet: a few cells of a small shore."""
    z = demo.band("terrain")
    above = []
    for shape, p in demo.layer("water"):
        if p["kind"] == "river":
            continue
        lake = demo.inside([shape])
        level = z[demo.inside([shape.buffer(-1.0)])]
        assert np.ptp(level) < 0.05, p["name"]
        grown = lake.copy()
        grown[1:] |= lake[:-1]
        grown[:-1] |= lake[1:]
        grown[:, 1:] |= lake[:, :-1]
        grown[:, :-1] |= lake[:, 1:]
        above.append(z[grown & ~lake] > level[0])
        assert above[-1].mean() > 0.9, p["name"]
    assert np.concatenate(above).mean() > 0.98


@pytest.mark.behaviour
def test_lakes_are_many_with_islands_and_shores_that_are_no_stairs(demo: Written) -> None:
    lakes = [s for s, _ in demo.layer("water") if isinstance(s, shapely.Polygon)]
    assert len(lakes) >= 25
    assert sum(len(lake.interiors) > 0 for lake in lakes) >= 5
    along_axes = total = 0.0
    for lake in lakes:
        for ring in (lake.exterior, *lake.interiors):
            steps = np.diff(np.asarray(ring.coords), axis=0)
            length = np.hypot(steps[:, 0], steps[:, 1])
            along_axes += length[np.abs(steps).min(axis=1) < 1e-3 * length].sum()
            total += length.sum()
    assert along_axes < 0.05 * total


@pytest.mark.behaviour
def test_a_river_joins_lakes(demo: Written) -> None:
    (river,) = [shape for shape, p in demo.layer("water") if p["kind"] == "river"]
    lakes = [shape for shape, p in demo.layer("water") if p["kind"] != "river"]
    assert river.area > 300_000
    assert sum(lake.distance(river) < 5.0 for lake in lakes) >= 2
    assert river.intersection(shapely.union_all(lakes)).area < 0.02 * river.area


@pytest.mark.published
def test_fuels_are_published_models_at_least_eight_of_which_burn(demo: Written) -> None:
    """Numbers of Scott & Burgan 2005, RMRS-GTR-153, table 7."""
    fuels = set(np.unique(demo.band("fuels")).tolist())
    known = {int(row["number"]) for row in tables.load("fuel/scott_burgan_2005").rows()}
    assert fuels <= known
    assert len(fuels - NOT_BURNABLE) >= 8
    assert {91, 93, 98} <= fuels


@pytest.mark.property
def test_water_in_the_fuels_is_the_water_on_the_map(demo: Written) -> None:
    mapped = demo.inside([shape for shape, _ in demo.layer("water")])
    assert ((demo.band("fuels") == 98) == mapped).mean() > 0.9999


@pytest.mark.property
def test_fuels_follow_height_aspect_and_water(demo: Written) -> None:
    """Heath and sparse grass on the tops, litter on the shady side and near water."""
    z, fuel = demo.band("terrain"), demo.band("fuels")
    assert np.median(z[np.isin(fuel, (101, 142))]) > np.percentile(z, 85)
    slope, aspect = slope_aspect(z, 30.0)
    steep = slope > 0.12
    litter = np.isin(fuel, (183, 186, 188))
    north = litter[steep & (np.cos(np.radians(aspect)) > 0.7)].mean()
    south = litter[steep & (np.cos(np.radians(aspect)) < -0.7)].mean()
    assert north > 1.5 * south
    lakes = [shape for shape, p in demo.layer("water") if p["kind"] != "river"]
    shore = demo.inside([lake.buffer(120).difference(lake) for lake in lakes])
    assert litter[shore].mean() > 1.5 * litter[fuel != 98].mean()


@pytest.mark.property
def test_trees_agree_with_the_fuels(demo: Written) -> None:
    fuel, cover, height = demo.band("fuels"), demo.band("canopy_cover"), demo.band("canopy_height")
    treeless = np.isin(fuel, (91, 93, 98, 99, 101, 102, 104, 142, 145))
    assert cover[treeless].max() == 0
    assert height[treeless].max() == 0
    timber = np.isin(fuel, (183, 186, 188))
    assert cover[timber].min() >= 20
    assert height[timber].min() >= 5
    assert ((cover > 0) == (height > 0)).all()
    assert cover.max() <= 100


@pytest.mark.property
def test_crowns_agree_with_their_trees(demo: Written) -> None:
    height, base, bulk = demo.band("canopy_height"), demo.band("canopy_base"), demo.band("canopy_bulk")
    trees = height > 0
    assert base[~trees].max() == bulk[~trees].max() == 0
    assert (base[trees] > 0).all()
    assert (base[trees] < height[trees]).all()
    assert (bulk[trees] > 0).all()
    assert bulk.max() < 0.4
