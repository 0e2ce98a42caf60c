"""The edge as an answer: its pieces, what can attack how much of it, and its behaviour by direction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from wetline.app.answer import Answer, number
from wetline.attack.race import band_of
from wetline.behaviour import attack_class, flame_length_m
from wetline.grid import along
from wetline.growth.edge import edge_by_direction
from wetline.growth.edge_samples import behaviour_along, by_attack_m

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray
    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.answer import Outside
    from wetline.attack import Future, Scene
    from wetline.behaviour import FireFields
    from wetline.grid import Grid
    from wetline.growth.edge import EdgePiece, EdgeSector
    from wetline.model import Band

__all__ = ["GROUPS", "attack_of", "by_code_m", "compass_of", "edge_of", "fields_now"]

GROUPS: Mapping[str, tuple[str, ...]] = {
    "hand_tools": ("hand_tools",),
    "machines_and_aircraft": ("machines_and_aircraft",),
    "neither": ("head_doubtful", "head_ineffective"),
    "not_burning": ("not_burning",),
    "unknown": ("unknown",),
}
"""What can attack edge, by the published classes that it joins."""
_COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
_ROUND_CELLS = 3.0


def fields_now(scene: Scene, futures: Iterable[Future]) -> tuple[FireFields, ...]:
    """Behaviour now, just round the fire, in each future: one slot that begins now."""
    now = scene.start + timedelta(seconds=scene.now_s)
    west, south, east, north = scene.burnt.bounds
    reach = _ROUND_CELLS * scene.window.cell_m
    near, _, _ = scene.window.window(west - reach, south - reach, east + reach, north + reach)
    grid = near if scene.now_s <= 0.0 else scene.window
    return tuple(
        scene.system.fields(
            scene.ground,
            scene.weather,
            start=now,
            until=min(now + timedelta(minutes=1), scene.weather.last),
            grid=grid,
            variation=future.variation,
            wind=scene.wind,
        )
        for future in futures
    )


@dataclass(frozen=True, slots=True)
class _PieceNow:
    """One piece in one future: fastest rate, greatest intensity, length by group; NaN where unknown."""

    rate_mps: float
    intensity_kw_per_m: float
    group_m: Mapping[str, float]


def _grouped(attack_m: Mapping[str, float]) -> dict[str, float]:
    return {group: sum(attack_m.get(name, 0.0) for name in names) for group, names in GROUPS.items()}


def _piece_now(piece: EdgePiece, fields: FireFields) -> _PieceNow:
    fire = behaviour_along(piece.xy, piece.normal_deg, fields, 0.0)
    known = np.isfinite(fire.rate_mps)
    rate = float(fire.rate_mps[known].max()) if known.any() else np.nan
    intensity = float(fire.intensity_kw_per_m[known].max()) if known.any() else np.nan
    return _PieceNow(
        rate, intensity, _grouped(by_attack_m(fire.rate_mps, fire.intensity_kw_per_m, piece.length_m))
    )


def _banded(key: str, band: Band, digits: int, scale: float = 1.0) -> Answer:
    ends = {f"{key}_low": band.low, f"{key}_high": band.high}
    return {name: None if value is None else number(value * scale, digits) for name, value in ends.items()}


def _ends(middle: float, values: Sequence[float]) -> Band:
    """The band of values; none where one of them is unknown."""
    return band_of(middle, values if np.isfinite(values).all() else ())


def _fire_numbers(of: EdgePiece | EdgeSector, rates: Sequence[float], intensities: Sequence[float]) -> Answer:
    """Rate, flame, intensity and class of a piece or a sector, each with its band."""
    rate, heat = _ends(of.rate_mps, rates), _ends(of.intensity_kw_per_m, intensities)
    flames = {
        f"flame_length_m_{end}": None if value is None else number(float(flame_length_m(value)), 2)
        for end, value in (("low", heat.low), ("high", heat.high))
    }
    hot = of.attack not in {"unknown", "not_burning"}
    return {
        "rate_m_per_min": number(of.rate_mps * 60.0, 2),
        **_banded("rate_m_per_min", rate, 2, 60.0),
        "mean_rate_m_per_min": number(of.mean_rate_mps * 60.0, 2),
        "flame_length_m": number(of.flame_length_m, 2),
        **flames,
        "intensity_kw_per_m": number(of.intensity_kw_per_m, 0),
        **_banded("intensity_kw_per_m", heat, 0),
        "attack": of.attack,
        "attack_high": attack_class(heat.high) if hot and heat.high is not None else None,
        "attack_m": {name: number(metres, 0) for name, metres in of.attack_m.items()},
    }


def edge_of(pieces: Sequence[EdgePiece], now: Sequence[FireFields], outside: Outside) -> list[Answer]:
    """The pieces of the edge; rates and intensities are the greatest on each, with the band of all futures."""
    out = []
    for piece in pieces:
        played = [_piece_now(piece, fields) for fields in now]
        out.append(
            {
                "id": piece.id,
                "part": piece.part,
                "length_m": number(piece.length_m, 0),
                **_fire_numbers(piece, [p.rate_mps for p in played], [p.intensity_kw_per_m for p in played]),
                "directed": piece.directed,
                "line": outside.line(piece.line),
            }
        )
    return out


def attack_of(pieces: Sequence[EdgePiece], now: Sequence[FireFields]) -> Answer:
    """The whole edge by what can attack it [m], with the band of all futures; the middle ones add up."""
    middle = [_grouped(piece.attack_m) for piece in pieces]
    played = [[_piece_now(piece, fields).group_m for piece in pieces] for fields in now]
    out: Answer = {}
    for group in GROUPS:
        band = band_of(sum(m[group] for m in middle), [sum(m[group] for m in one) for one in played])
        out[group] = {"length_m": number(band.middle, 0), **_banded("length_m", band, 0)}
    return out


def compass_of(
    burnt: Polygon | MultiPolygon,
    fields: FireFields,
    at_s: float,
    now: Sequence[FireFields],
    *,
    convergence_deg: float,
) -> list[Answer]:
    """Rate, flame, intensity and class of the outer edge that faces each of eight true directions."""
    north_deg = -convergence_deg
    sectors = edge_by_direction(burnt, fields, at_s, north_deg=north_deg)
    played = [edge_by_direction(burnt, one, 0.0, north_deg=north_deg) for one in now]
    out = []
    for k, (name, sector) in enumerate(zip(_COMPASS, sectors, strict=True)):
        rates = [one[k].rate_mps for one in played]
        intensities = [one[k].intensity_kw_per_m for one in played]
        out.append(
            {
                "toward": name,
                "toward_deg": number(sector.toward_deg, 1),
                "length_m": number(sector.length_m, 0),
                **_fire_numbers(sector, rates, intensities),
            }
        )
    return out


def by_code_m(
    pieces: Iterable[EdgePiece], codes: NDArray[np.uint8], grid: Grid, names: Mapping[int, str]
) -> dict[str, float]:
    """Length [m] of edge by what a raster of codes [r, c] says of the ground just outside it.

    `names`: what each code is called; any other code, and ground off the grid, is `unknown`.
    """
    out = dict.fromkeys((*names.values(), "unknown"), 0.0)
    for piece in pieces:
        east, north = along(piece.normal_deg)
        x, y = piece.xy[:, 0] + 0.5 * grid.cell_m * east, piece.xy[:, 1] + 0.5 * grid.cell_m * north
        on = grid.holds(x, y)
        step = piece.length_m / len(x)
        out["unknown"] += step * float(np.count_nonzero(~on))
        found, counts = np.unique(codes[grid.index(x[on], y[on])], return_counts=True)
        for code, count in zip(found, counts, strict=True):
            out[names.get(int(code), "unknown")] += step * float(count)
    return out
