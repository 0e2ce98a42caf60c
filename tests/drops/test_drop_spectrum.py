"""Drop sizes by volume, points that fill evenly, and the settings' table."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from wetline import tables
from wetline.drops.droplet_settings import DropletSettings, droplet_settings
from wetline.drops.flow import Flow
from wetline.drops.liquid import liquid
from wetline.drops.parcels import flow_groups
from wetline.drops.spectrum import even_points, median_at_column_mm, sizes_m, undersize
from wetline.errors import OutsideRangeError


@pytest.mark.derived
def test_half_of_the_volume_is_below_the_median_and_the_rest_follows_the_exponent() -> None:
    """1 − exp(−ln 2·x^n): at twice the median and n = 1.8, 0.9105 by hand."""
    assert float(undersize(2.5, 2.5, 1.8)) == pytest.approx(0.5)
    assert float(undersize(5.0, 2.5, 1.8)) == pytest.approx(0.9105, abs=1e-4)


@pytest.mark.property
def test_sizes_turn_shares_back_and_none_is_above_the_largest() -> None:
    share = np.linspace(0.0, 0.999999, 500)
    d = sizes_m(share, 2.5, 1.8, 10.0)
    assert np.all(np.diff(d) > 0.0)
    assert d.max() < 10e-3
    assert undersize(1e3 * d, 2.5, 1.8) == pytest.approx(share * float(undersize(10.0, 2.5, 1.8)))


@pytest.mark.property
def test_thick_liquids_leave_the_column_nearly_as_they_arrive() -> None:
    water, gel = liquid("water"), liquid("gel")
    assert median_at_column_mm(water, 1.5) == pytest.approx(1.5 * 2.5, rel=0.01)
    assert median_at_column_mm(gel, 1.5) < 1.1 * gel.median_mm.middle


@pytest.mark.property
def test_points_fill_evenly() -> None:
    """Means of six axes are off by 0.0052 on the mean where 2,000 points are random: 0.29/√n·√(2/π)."""
    points = even_points(2000, 6, 3)
    assert points.shape == (6, 2000)
    assert np.all((points >= 0.0) & (points < 1.0))
    assert np.abs(points.mean(axis=1) - 0.5).mean() < 0.002
    assert not np.array_equal(points, even_points(2000, 6, 4))


@pytest.mark.property
def test_groups_share_a_load_by_its_flow() -> None:
    flow = Flow((0.0, 1.0, 3.0, 4.0), (0.0, 1000.0, 1000.0, 0.0))
    groups = flow_groups(flow)
    assert np.all(np.diff(groups.l_per_s) >= -1e-9)
    assert groups.times_s.mean() == pytest.approx(flow.middle_s, abs=0.002)
    assert np.all((groups.times_s >= 0.0) & (groups.times_s <= 4.0))


@pytest.mark.property
def test_every_setting_has_a_row_with_range_and_source() -> None:
    rows = {row["name"]: row for row in tables.load("drop/droplets").rows()}
    assert set(rows) == {f.name for f in fields(DropletSettings)}
    for row in rows.values():
        assert row["low"] <= row["value"] <= row["high"]
        assert row["source"]


@pytest.mark.behaviour
def test_a_setting_outside_its_range_is_refused() -> None:
    with pytest.raises(OutsideRangeError):
        replace(droplet_settings(), entrainment=5.0)
