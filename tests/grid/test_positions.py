"""Position formats against pyproj, the GEOTRANS-based `mgrs` library and hand-counted cases."""

from __future__ import annotations

import re

import numpy as np
import pyproj
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from wetline.grid import ddm, decimal_degrees, mgrs, utm, utm_projection

LON = st.floats(-179.99, 179.99)
LAT = st.floats(-79.9, 83.9)


@pytest.mark.derived
def test_ddm_of_hand_counted_points() -> None:
    """0.19843° = 11.9058 min; 0.81° = 48.6 min: counted by hand."""
    assert ddm(-31.81, 47.19843) == "N 47° 11.906'  W 031° 48.600'"
    assert ddm(0.0, 0.0) == "N 00° 00.000'  E 000° 00.000'"
    assert ddm(179.999999, -0.999999) == "S 01° 00.000'  E 180° 00.000'"


@pytest.mark.property
@given(LON, LAT)
def test_ddm_reads_back_within_a_thousandth_of_a_minute(lon: float, lat: float) -> None:
    match = re.fullmatch(r"([NS]) (\d\d)° (\d\d\.\d{3})'  ([EW]) (\d{3})° (\d\d\.\d{3})'", ddm(lon, lat))
    assert match
    back_lat = (int(match[2]) + float(match[3]) / 60) * (1 if match[1] == "N" else -1)
    back_lon = (int(match[5]) + float(match[6]) / 60) * (1 if match[4] == "E" else -1)
    assert float(match[3]) < 60
    assert abs(back_lat - lat) * 60 <= 0.00051
    assert abs(back_lon - lon) * 60 <= 0.00051


@pytest.mark.derived
@given(LON, LAT)
def test_utm_agrees_with_pyproj_utm(lon: float, lat: float) -> None:
    """Independent route: PROJ's own `+proj=utm` with zone and hemisphere from the definition."""
    zone = min(int((lon + 180) // 6) + 1, 60)
    south = " +south" if lat < 0 else ""
    east, north = pyproj.Proj(f"+proj=utm +zone={zone} +datum=WGS84{south}")(lon, lat)
    text = utm(lon, lat)
    code, x, y = text.split()
    assert int(code[:-1]) == zone
    assert abs(int(x) - east) <= 1.0
    assert abs(int(y) - north) <= 1.0


@pytest.mark.derived
@given(st.floats(-179.9, 179.9), st.floats(-79.9, 55.9))
def test_mgrs_digits_agree_with_pyproj(lon: float, lat: float) -> None:
    """Below 56° N no special zones exist: the last five digits are the UTM metres."""
    assume(abs(lon / 6 - round(lon / 6)) > 1e-6)  # on a zone's edge either zone is right
    projection = utm_projection(lon, lat)
    x, y = projection.from_lonlat(lon, lat)
    zone, square, east, north = mgrs(lon, lat).split()
    assert zone[:-1] == str(int(projection.code[-2:]))
    assert len(square) == 2
    for digits, metres in ((east, float(x)), (north, float(y))):
        difference = (int(digits) - metres) % 100_000
        assert min(difference, 100_000 - difference) <= 1.0


@pytest.mark.derived
def test_mgrs_square_letters_by_the_published_lettering() -> None:
    """NGA.STND.0037: zone 25 is of set 1 (columns A-H, rows from A), zone 31 also; counted by hand.

    31N 448251 5411932 (48.8582° N, 2.2945° E): column 4 of set 1 = D; row 54 mod 20 = 14 = Q,
    counting A..V without I and O.
    """
    assert mgrs(2.2945, 48.8582).startswith("31U DQ 48251 119")


@pytest.mark.behaviour
def test_decimal_degrees_name_latitude_first() -> None:
    assert decimal_degrees(-31.810021, 47.198429) == "47.19843, -31.81002"


@pytest.mark.property
def test_utm_outside_its_latitudes_is_refused() -> None:
    with pytest.raises(ValueError, match="outside UTM"):
        utm_projection(10.0, 85.0)


@pytest.mark.derived
def test_convergence_is_the_turn_between_true_and_grid_north() -> None:
    """A short step to true north by the geodesic (pyproj.Geod) must bear minus the convergence."""
    projection = utm_projection(-31.0, 47.2)
    lon, lat = -31.0, 47.2
    north_lon, north_lat, _ = pyproj.Geod(ellps="WGS84").fwd(lon, lat, 0.0, 100.0)
    x0, y0 = projection.from_lonlat(lon, lat)
    x1, y1 = projection.from_lonlat(north_lon, north_lat)
    grid_bearing = np.degrees(np.arctan2(x1 - x0, y1 - y0))
    assert projection.convergence_deg(float(x0), float(y0)) == pytest.approx(-grid_bearing, abs=1e-3)
