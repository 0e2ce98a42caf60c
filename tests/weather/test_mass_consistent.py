"""The wind over terrain, against potential flow and linear theory. Terrain is invented."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.sparse import diags_array
from scipy.sparse.linalg import spsolve

from wetline.errors import InputError, OutsideRangeError, SolverError
from wetline.grid import Grid, Projection
from wetline.weather import TerrainWind, _least_change, wind_over_terrain
from wetline.weather._least_change import LeastChange
from wetline.weather._terrain_mesh import Mesh, levels_m, mesh_over
from wetline.weather.mass_consistent import OPEN_GROUND_M, _profile, _solved

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray


def _levels(lowest_m: float, top_m: float, growth: float = 1.2) -> NDArray[np.float64]:
    count = math.ceil(math.log1p(top_m / lowest_m * (growth - 1.0)) / math.log(growth))
    thickness_m = lowest_m * growth ** np.arange(count)
    return np.asarray(thickness_m * top_m / thickness_m.sum(), float)


def _mesh(
    height: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]],
    *,
    cells: tuple[int, int],
    cell_m: float,
    thickness_m: NDArray[np.float64],
) -> tuple[Mesh, NDArray[np.float64], NDArray[np.float64]]:
    """A mesh over `height(x, y)` with the origin in its middle, and the places of its columns."""
    ny, nx = cells
    x, y = (np.asarray((np.arange(n) - (n - 1) / 2.0) * cell_m, float) for n in (nx, ny))
    xx, yy = np.meshgrid(x, y)
    return Mesh(cell_m=cell_m, height_m=height(xx, yy), thickness_m=thickness_m), x, y


def _ground(
    rows: int, cols: int, cell_m: float = 30.0
) -> tuple[Grid, NDArray[np.float64], NDArray[np.float64]]:
    """A grid, and east and north [m] of its cells from its middle."""
    grid = Grid(Projection("EPSG:32625"), 500_000.0, 5_200_000.0, cell_m, rows, cols)
    col, row = np.meshgrid(np.arange(cols) - (cols - 1) / 2.0, np.arange(rows) - (rows - 1) / 2.0)
    return grid, col * cell_m, -row * cell_m


def _hills(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lopsided hills without any symmetry."""
    ridge = 180.0 * np.exp(-(((x + 0.4 * y + 300.0) / 420.0) ** 2) - (y / 1500.0) ** 2)
    return ridge + 120.0 * np.exp(-((x - 700.0) ** 2 + (y - 500.0) ** 2) / 500.0**2)


def _uniform(mesh: Mesh) -> NDArray[np.float64]:
    return np.ones(mesh.thickness_m.size)


@pytest.mark.property
def test_level_ground_changes_nothing() -> None:
    grid, x, _ = _ground(90, 120)
    wind = wind_over_terrain(grid, np.full_like(x, 740.0))
    np.testing.assert_allclose(wind.response, np.broadcast_to(np.eye(2), (90, 120, 2, 2)), atol=1e-6)


@pytest.mark.derived
def test_on_a_long_slope_the_wind_keeps_its_part_along_the_ground() -> None:
    """Nearest to (1, 0) of the winds along a plane is its projection: cos(slope) up it, 1 across it."""
    rise = 0.3
    mesh, _, _ = _mesh(lambda x, _: rise * x, cells=(60, 60), cell_m=100.0, thickness_m=levels_m(0.0))
    middle = _solved(mesh, _uniform(mesh), 1.0).response[30, 30]
    np.testing.assert_allclose(middle, np.diag([1.0 / math.hypot(1.0, rise), 1.0]), atol=0.004)


@pytest.mark.derived
def test_low_waves_of_ground_speed_the_wind_by_height_times_wave_number_and_less_aloft() -> None:
    """Potential flow over h = a cos kx to first order: u' = a k cos kx e^(−k z); with an open lid at H,
    cosh k(H − z) over sinh kH becomes sinh k(H − z) over cosh kH.
    """  # fmt: skip
    a, length_m, top_m = 8.0, 1600.0, 1200.0
    k = 2.0 * math.pi / length_m
    thickness_m = _levels(12.0, top_m, 1.15)
    mesh, x, _ = _mesh(lambda x, _: a * np.cos(k * x), cells=(80, 120), cell_m=50.0, thickness_m=thickness_m)
    adjusted = LeastChange(mesh).adjust(_uniform(mesh), north=False)
    inner = slice(36, 84)  # one and a half waves from the open ends
    z = np.cumsum(thickness_m) - 0.5 * thickness_m
    for level in (0, 6, 12):
        u, _ = adjusted.level(level)
        wave = 2.0 * np.mean((u[40, inner][:32] - 1.0) * np.cos(k * x[inner][:32]))
        expected = a * k * math.sinh(k * (top_m - z[level])) / math.cosh(k * top_m)
        assert wave == pytest.approx(expected, rel=0.03)


def _over_a_sunken_cylinder(
    x: NDArray[np.float64], z: NDArray[np.float64], radius_m: float
) -> NDArray[np.complex128]:
    """Velocity u − iw of the potential flow past a cylinder at the origin, far wind 1."""
    return np.asarray(1.0 - radius_m**2 / (x + 1j * z) ** 2, complex)


def _streamline_m(x: NDArray[np.float64], radius_m: float, stream_m: float) -> NDArray[np.float64]:
    """Height of the streamline z (1 − R² / (x² + z²)) = c over the cylinder."""
    z = np.full_like(x, stream_m + radius_m)
    for _ in range(60):
        r2 = x**2 + z**2
        value = z * (1.0 - radius_m**2 / r2) - stream_m
        z -= value / (1.0 - radius_m**2 / r2 + 2.0 * (z * radius_m / r2) ** 2)
    return z


def _ridge_error(cell_m: float) -> float:
    """Greatest error of the horizontal wind amid the lowest level over the ridge, of a far wind 1."""
    radius_m, stream_m = 300.0, 200.0
    n = round(7200.0 / cell_m)
    mesh, x, _ = _mesh(
        lambda x, _: _streamline_m(x, radius_m, stream_m),
        cells=(n, n),
        cell_m=cell_m,
        thickness_m=_levels(0.4 * cell_m, 4800.0, 1.3),
    )
    u, _ = LeastChange(mesh).adjust(_uniform(mesh), north=False).level(0)
    exact = _over_a_sunken_cylinder(x, mesh.height_m[0] + 0.5 * mesh.thickness_m[0], radius_m).real
    near = np.abs(x) < 900.0
    return float(np.abs(u[n // 2] - exact)[near].max())


@pytest.mark.derived
def test_over_a_steep_ridge_the_wind_is_that_of_potential_flow_the_nearer_the_finer() -> None:
    """A streamline past a cylinder (211 m high, slopes to 22°) taken as the ground: the flow is known exactly."""
    coarse, fine = _ridge_error(120.0), _ridge_error(60.0)
    assert fine < 0.025
    assert fine < 0.5 * coarse


def _linear_response(
    height_m: NDArray[np.float64], cell_m: float, above_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """East and north wind over low ground in an east wind 1: u' = F⁻¹[kx (kx, ky) / k · h e^(−k z)]."""
    ky, kx = np.meshgrid(*(2.0 * np.pi * np.fft.fftfreq(n, cell_m) for n in height_m.shape), indexing="ij")
    k = np.hypot(kx, ky)
    shape = np.fft.fft2(height_m) * kx / np.where(k > 0.0, k, 1.0) * np.exp(-k * above_m)
    east, north = np.fft.ifft2(kx * shape).real, np.fft.ifft2(ky * shape).real
    return 1.0 + east, north


@pytest.mark.derived
def test_over_a_low_hill_the_wind_is_that_of_linear_theory() -> None:
    mesh, _, _ = _mesh(
        lambda x, y: 12.0 * np.exp(-(x**2 + y**2) / (2.0 * 350.0**2)),
        cells=(100, 100),
        cell_m=60.0,
        thickness_m=_levels(20.0, 3000.0),
    )
    east, north = _linear_response(mesh.height_m, mesh.cell_m, 0.5 * float(mesh.thickness_m[0]))
    found = LeastChange(mesh).adjust(_uniform(mesh), north=False).level(0)
    tolerance = 0.06 * float(east.max() - 1.0)
    np.testing.assert_allclose(found[0], east, atol=tolerance)
    np.testing.assert_allclose(found[1], north, atol=tolerance)


@pytest.mark.derived
def test_wind_that_grows_with_height_gains_more_on_a_crest() -> None:
    """First order over h = a cos kx: φ'' − k²φ = h' f', closed ground; by its Green's function the crest
    gains (a k / 2) ∫ f' (e^(−k|z − s|) + e^(−k(z + s))) ds: a k times the wind about 0.6 / k up, not at 10 m.
    """  # fmt: skip
    a, length_m = 8.0, 1600.0
    k, z = 2.0 * math.pi / length_m, 10.0
    thickness_m = _levels(20.0, 2400.0, 1.25)
    mesh, x, _ = _mesh(lambda x, _: a * np.cos(k * x), cells=(100, 120), cell_m=50.0, thickness_m=thickness_m)
    response = _solved(mesh, _profile(thickness_m, OPEN_GROUND_M), 1.0).response[50, 44:76, 0, 0]
    wave = 2.0 * np.mean((response - 1.0) * np.cos(k * x[44:76]))

    def source(s: float) -> float:
        return (math.exp(-k * abs(z - s)) + math.exp(-k * (z + s))) / s

    whole = quad(source, OPEN_GROUND_M, z)[0] + quad(source, z, 4000.0, limit=200)[0]
    expected = 0.5 * a * k * whole / math.log(10.0 / OPEN_GROUND_M)
    assert expected > 1.3 * a * k
    assert wave == pytest.approx(expected, rel=0.03)


@pytest.mark.derived
def test_the_first_guess_is_the_logarithmic_profile_averaged_over_each_level() -> None:
    thickness_m = np.array([20.0, 30.0, 50.0])
    edges = [OPEN_GROUND_M, 20.0, 50.0, 100.0]
    for k, mean in enumerate(_profile(thickness_m, OPEN_GROUND_M)):
        whole, _ = quad(lambda z: math.log(z / 0.03) / math.log(10.0 / 0.03), edges[k], edges[k + 1])
        assert mean == pytest.approx(whole / thickness_m[k], rel=1e-6)


def _hill_mesh() -> Mesh:
    return _mesh(_hills, cells=(36, 44), cell_m=100.0, thickness_m=levels_m(200.0))[0]


@pytest.mark.derived
def test_the_multiplier_is_that_of_a_direct_sparse_solver() -> None:
    """The same elliptic problem by scipy's sparse factorization."""
    solver = LeastChange(_hill_mesh())
    outflow = np.random.default_rng(3).normal(size=solver._outflow.shape[0])
    matrix = solver._outflow @ diags_array(solver._ease) @ solver._outflow.T
    direct = spsolve(matrix.tocsc(), outflow)
    np.testing.assert_allclose(solver._multiplier(outflow), direct, atol=1e-5 * np.abs(direct).max())


@pytest.mark.property
@pytest.mark.parametrize("north", [False, True])
def test_no_air_is_lost_in_any_cell_nor_in_any_box_nor_blows_into_the_ground(north: bool) -> None:
    """Flows through all faces by hand: through a sloping one goes w − u ∂h/∂x − v ∂h/∂y."""
    mesh = _hill_mesh()
    t, d, h = mesh.thickness_m, mesh.cell_m, mesh.height_m
    wind = LeastChange(mesh).adjust(_profile(t, OPEN_GROUND_M), north=north)
    ny, nx = h.shape
    east = np.zeros((t.size + 1, ny, nx + 1))
    northward = np.zeros((t.size + 1, ny + 1, nx))
    for part, faces in ((wind.u, east), (wind.v, northward)):
        faces[0], faces[-1] = part[0], part[-1]
        for k in range(1, t.size):
            faces[k] = (t[k - 1] * part[k - 1] + t[k] * part[k]) / (t[k - 1] + t[k])
    east[:, :, 1:-1] *= np.diff(h, axis=1) / d
    northward[:, 1:-1] *= np.diff(h, axis=0) / d
    east[:, :, [0, -1]] = 0.0
    northward[:, [0, -1]] = 0.0
    up = wind.w - (east[..., 1:] + east[..., :-1]) / 2.0 - (northward[:, 1:] + northward[:, :-1]) / 2.0
    into_x, into_y = wind.u * t[:, None, None] * d, wind.v * t[:, None, None] * d
    outflow = np.diff(into_x, axis=2) + np.diff(into_y, axis=1) + np.diff(up * d * d, axis=0)
    through = float(t[0]) * d
    assert np.abs(outflow).max() < 1e-4 * through
    assert np.abs(up[0]).max() < 1e-4
    sides = into_x[:5, 6:20, 22].sum() - into_x[:5, 6:20, 10].sum()
    sides += into_y[:5, 20, 10:22].sum() - into_y[:5, 6, 10:22].sum()
    lid = up[5, 6:20, 10:22].sum() * d * d
    assert abs(lid) > 10.0 * through  # the ground does push air through the lid of this box
    assert sides == pytest.approx(-lid, abs=1e-4 * through)


@pytest.mark.property
@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_turned_ground_turns_the_answer(quarters: int) -> None:
    """Two quarters also say that a wind from the other side is the same wind backward."""
    grid, x, y = _ground(120, 120)
    z = _hills(x, y)
    quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
    turn = np.linalg.matrix_power(quarter, quarters)
    plain = wind_over_terrain(grid, z).response
    turned = wind_over_terrain(grid, np.rot90(z, quarters).copy()).response
    np.testing.assert_allclose(turned, turn @ np.rot90(plain, quarters) @ turn.T, atol=2e-5)


@pytest.mark.property
def test_a_valley_turns_the_wind_along_itself_and_a_crest_speeds_it() -> None:
    grid, x, _ = _ground(200, 200)
    wind = wind_over_terrain(grid, -250.0 * np.exp(-((x / 400.0) ** 2)))
    speed_mps, toward_deg = wind.blown(100, 100, 5.0, 45.0)
    assert toward_deg < 35.0
    assert speed_mps < 5.0
    crest = wind_over_terrain(grid, 250.0 * np.exp(-((x / 400.0) ** 2)))
    speed_mps, toward_deg = crest.blown(100, 100, 5.0, 45.0)
    assert toward_deg > 50.0
    assert speed_mps > 5.0


@pytest.mark.property
def test_stable_air_goes_round_a_hill_rather_than_over() -> None:
    mesh, _, _ = _mesh(
        lambda x, y: 200.0 * np.exp(-(x**2 + y**2) / 500.0**2),
        cells=(40, 40),
        cell_m=100.0,
        thickness_m=levels_m(200.0),
    )
    neutral, stable = (LeastChange(mesh, alpha=a).adjust(_uniform(mesh), north=False) for a in (1.0, 0.4))
    assert np.abs(stable.w).max() < np.abs(neutral.w).max()
    assert np.abs(stable.v[0]).max() > np.abs(neutral.v[0]).max()


@pytest.mark.property
def test_unknown_heights_are_bridged_keep_the_plain_wind_and_are_told() -> None:
    grid, x, y = _ground(120, 120)
    z = _hills(x, y)
    holed = z.copy()
    holed[50:56, 70:80] = np.nan
    wind = wind_over_terrain(grid, holed)
    np.testing.assert_array_equal(wind.response[50:56, 70:80], np.broadcast_to(np.eye(2), (6, 10, 2, 2)))
    assert np.isfinite(wind.response).all()
    assert any("60 cells of unknown height" in note for note in wind.notes)
    far = np.hypot(x - x[53, 75], y - y[53, 75]) > 600.0
    whole = wind_over_terrain(grid, z)
    np.testing.assert_allclose(wind.response[far], whole.response[far], atol=0.02)
    assert not any("unknown" in note for note in whole.notes)


@pytest.mark.memory
def test_wind_faster_than_is_measured_over_hills_is_told() -> None:
    """Taylor and Lee 1984 from memory: no crest doubles the wind of the plain by much more."""
    grid, x, _ = _ground(120, 120)
    gentle, steep = (wind_over_terrain(grid, h * np.exp(-((x / 200.0) ** 2))) for h in (30.0, 350.0))
    assert not any("too fast" in note for note in gentle.notes)
    (note,) = (note for note in steep.notes if "too fast" in note)
    fastest = np.hypot(steep.response[..., 0, 0], steep.response[..., 1, 0])
    assert f" {np.count_nonzero(fastest > 2.0)} cells" in note


@pytest.mark.property
def test_the_mesh_keeps_its_size_whatever_the_ground() -> None:
    for cells, cell_m in ((40, 10.0), (400, 30.0), (2200, 30.0)):
        z = np.zeros((cells, cells), np.float32)
        z[0, 0] = 700.0
        mesh = mesh_over(z, cell_m)
        assert mesh.cell_m >= 60.0
        assert mesh.height_m.size * (mesh.thickness_m.size + 1) <= 400_000
        assert mesh.top_m >= 5.0 * 700.0


@pytest.mark.property
def test_divergence_that_is_left_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_least_change, "_MOST_STEPS", 1)
    grid, x, y = _ground(120, 120)
    with pytest.raises(SolverError, match="divergence"):
        wind_over_terrain(grid, _hills(x, y))


@pytest.mark.property
def test_what_cannot_be_solved_is_refused() -> None:
    grid, x, _ = _ground(20, 20)
    with pytest.raises(InputError, match="No height"):
        wind_over_terrain(grid, np.full_like(x, np.nan))
    with pytest.raises(OutsideRangeError, match="alpha"):
        wind_over_terrain(grid, x, alpha=0.0)
    with pytest.raises(OutsideRangeError, match="roughness"):
        wind_over_terrain(grid, x, roughness_m=10.0)


@pytest.mark.property
def test_a_window_beyond_the_computed_wind_is_refused() -> None:
    grid, _, _ = _ground(4, 5)
    response = np.arange(80.0, dtype=np.float32).reshape(4, 5, 2, 2)
    wind = TerrainWind(grid=grid, response=response, first_row=10, first_col=20)
    np.testing.assert_array_equal(wind.at(slice(11, 13), slice(20, 25)), response[1:3])
    for rows, cols in (
        (slice(9, 12), slice(20, 22)),
        (slice(10, 15), slice(20, 22)),
        (slice(10, 12), slice(19, 22)),
        (slice(10, 12), slice(24, 26)),
    ):
        with pytest.raises(SolverError, match="not computed"):
            wind.at(rows, cols)
    with pytest.raises(SolverError, match="not computed"):
        wind.blown(3, 21, 5.0, 90.0)


@pytest.mark.derived
def test_the_lee_is_the_steep_side_away_from_the_wind() -> None:
    """A ridge along north with slopes of 0.4 to the west and 0.2 to the east."""
    grid, x, _ = _ground(100, 200)
    wind = wind_over_terrain(grid, np.where(x < 0.0, 600.0 + 0.4 * x, 600.0 - 0.2 * x).clip(0.0))
    steep, gentle = (x > -1300.0) & (x < -200.0), x > 200.0
    assert wind.lee(270.0)[steep].all()
    assert not wind.lee(270.0)[gentle].any()
    assert not wind.lee(90.0).any()
    assert not wind.lee(0.0).any()
    with pytest.raises(LookupError, match="rise"):
        TerrainWind(grid=grid, response=wind.response).lee(90.0)
