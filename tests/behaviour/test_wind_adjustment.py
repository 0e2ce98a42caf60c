import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetline.behaviour import TEN_METRE_OVER_TWENTY_FOOT, wind_adjustment
from wetline.errors import OutsideRangeError
from wetline.units import FOOT


@pytest.mark.published
def test_ten_metre_wind_over_twenty_foot_wind() -> None:
    # Turner & Lawson 1978, BC-X-177, as given at firewords.net
    assert TEN_METRE_OVER_TWENTY_FOOT == 1.15


@pytest.mark.memory
@pytest.mark.parametrize(
    ("depth_ft", "factor"),
    [
        (0.2, 0.275), (0.3, 0.293), (0.4, 0.307), (0.6, 0.329), (1, 0.362), (1.5, 0.393), (2, 0.418),
        (2.3, 0.431), (2.5, 0.440), (3, 0.459), (4, 0.492), (5, 0.521), (6, 0.547),
    ],
)  # fmt: skip
def test_open_ground(depth_ft: float, factor: float) -> None:
    # Albini & Baughman 1979, INT-221, from memory; half the last digit
    assert float(wind_adjustment(depth_ft * FOOT)) == pytest.approx(factor, abs=5.1e-4)


@pytest.mark.memory
@pytest.mark.parametrize(
    ("stand_ft", "factors"),
    [
        (20, (0.236, 0.167, 0.118, 0.097)),
        (40, (0.208, 0.147, 0.104, 0.085)),
        (60, (0.191, 0.135, 0.096, 0.078)),
        (80, (0.180, 0.127, 0.090, 0.073)),
        (100, (0.170, 0.120, 0.085, 0.069)),
    ],
)
def test_under_a_canopy(stand_ft: float, factors: tuple[float, ...]) -> None:
    # Albini & Baughman 1979; Andrews 2012, RMRS-GTR-266, from memory; fill = crown ratio · cover / 3
    for fill, factor in zip((0.0500001, 0.1, 0.2, 0.3), factors, strict=True):
        found = float(
            wind_adjustment(
                1.0 * FOOT, canopy_cover=fill * 3, canopy_height_m=stand_ft * FOOT, crown_ratio=1.0
            )
        )
        assert found == pytest.approx(factor, abs=5.1e-4)


@pytest.mark.memory
def test_a_thin_canopy_gives_no_shelter() -> None:
    # used when the crowns fill more than 5 % (Andrews 2012, from memory)
    open_ground = float(wind_adjustment(0.3))
    assert float(wind_adjustment(0.3, canopy_cover=0.3, canopy_height_m=15.0, crown_ratio=0.5)) == open_ground
    assert float(wind_adjustment(0.3, canopy_cover=0.31, canopy_height_m=15.0, crown_ratio=0.5)) < open_ground


@pytest.mark.property
@given(st.floats(0.05, 2.0), st.floats(0.0, 1.0), st.floats(0.0, 60.0), st.floats(0.0, 1.0))
def test_trees_never_raise_the_wind_at_the_flame(
    depth: float, cover: float, height: float, ratio: float
) -> None:
    open_ground = float(wind_adjustment(depth))
    assert 0.0 < float(wind_adjustment(depth, cover, height, ratio)) <= open_ground < 1.0


@pytest.mark.behaviour
def test_unknown_canopy_counts_as_open_and_impossible_canopy_is_refused() -> None:
    cover = np.array([np.nan, 0.8, 0.8])
    height = np.array([15.0, np.nan, 15.0])
    found = wind_adjustment(0.3, cover, height)
    assert found[0] == found[1] == wind_adjustment(0.3)
    assert found[2] < found[0]
    with pytest.raises(OutsideRangeError, match="canopy_cover"):
        wind_adjustment(0.3, canopy_cover=60.0, canopy_height_m=15.0)
    with pytest.raises(OutsideRangeError, match="canopy_height_m"):
        wind_adjustment(0.3, canopy_cover=0.6, canopy_height_m=1500.0)  # centimetres
    with pytest.raises(OutsideRangeError, match="depth_m"):
        wind_adjustment(0.0)
