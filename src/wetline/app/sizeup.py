"""Reading the fire, as an answer: its edge, the fastest run and why, fronts, whom it reaches."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.app.answer import Answer, Outside, envelope, iso, number
from wetline.app.situation import look
from wetline.app.wind import wind_over, with_wind_notes
from wetline.attack import outlook, scene_round
from wetline.attack.race import band_of
from wetline.behaviour import Variation
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.growth.edge import edge_length_m, edge_pieces, fastest_point
from wetline.model import NotYet
from wetline.safety import check_entrapment, check_unknown_ground
from wetline.units import HECTARE, HOUR

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.situation import Situation
    from wetline.attack import FreeGrowth, Scene
    from wetline.behaviour import FireFields
    from wetline.growth.edge import EdgePiece
    from wetline.safety import Reach

__all__ = [
    "NOT_YET",
    "burnt_now",
    "burnt_when",
    "edge_of",
    "fronts_of",
    "people_horizon",
    "reaches_of",
    "scene_of",
    "size_up",
]

NOT_YET = (
    NotYet("spotting_m", "spotting distance is not computed yet"),
    NotYet("crown_fire", "crowning is not modelled yet: rates in timber are those of a surface fire"),
    NotYet("wind_over_terrain", 'the wind is the same over all the ground: fire.wind = "table"'),
)
"""`wind_over_terrain` leaves where an incident lets the terrain bend the wind, `crown_fire` where its system
has crowns in its rates."""


def scene_of(situation: Situation, *, look_until: datetime, keep_until: datetime) -> Scene:
    """The window round the fire with its weather.

    Raises
    ------
    InputError
        If there is no weather, or it does not cover the time asked for.
    """
    incident = situation.incident
    if incident.weather is None:
        problem = Problem(
            message="there is no weather: how the fire spreads is unknown.",
            mend="Put weather.csv with hourly weather into the folder.",
            file="weather.csv",
        )
        raise InputError.of([problem])
    try:
        scene = scene_round(
            incident.ground,
            incident.weather,
            incident.fire,
            now=situation.now,
            look_until=look_until,
            keep_until=keep_until,
            system=incident.system,
            wind_over=partial(wind_over, incident.ground) if incident.terrain_wind else None,
        )
    except LookupError as error:
        problem = Problem(
            message=f"{error}.", mend="Add hours to the weather, or look less far ahead.", file="weather.csv"
        )
        raise InputError.of([problem]) from error
    return with_wind_notes(scene, look_until)


def people_horizon(situation: Situation) -> datetime:
    """How far ahead the fire must be grown to warn people: the caution limit and half as much again."""
    minutes = situation.incident.limits.value("entrapment_caution_min")
    return situation.now + timedelta(minutes=1.5 * minutes)


def burnt_now(scene: Scene) -> Polygon | MultiPolygon:
    """The burnt area at the moment asked about: as drawn, or grown to it."""
    return burnt_when(scene, scene.now_s)


def burnt_when(scene: Scene, t_s: float) -> Polygon | MultiPolygon:
    """The burnt area at `t_s` [s after `scene.start`] in the middle future, if nothing more is stopped."""
    if t_s <= 0.0:
        return scene.burnt
    front = scene.front(scene.fields(Variation()))
    if t_s > front.now_s:
        front.advance(t_s)
    rings = [shapely.Polygon(ring.xy) for ring in front.trace()]
    outer = [p for p in rings if p.exterior.is_ccw]
    holes = [p for p in rings if not p.exterior.is_ccw]
    grown = shapely.difference(shapely.union_all(outer), shapely.union_all(holes))
    return cast("Polygon | MultiPolygon", shapely.make_valid(grown))


def edge_of(pieces: Sequence[EdgePiece], outside: Outside) -> list[Answer]:
    """The pieces of the edge; rates are the fastest on each piece."""
    return [
        {
            "id": piece.id,
            "part": piece.part,
            "length_m": number(piece.length_m, 0),
            "rate_m_per_min": number(piece.rate_mps * 60.0, 2),
            "mean_rate_m_per_min": number(piece.mean_rate_mps * 60.0, 2),
            "flame_length_m": number(piece.flame_length_m, 2),
            "intensity_kw_per_m": number(piece.intensity_kw_per_m, 0),
            "attack": piece.attack,
            "line": outside.line(piece.line),
        }
        for piece in pieces
    ]


def fronts_of(scene: Scene, hours_s: Sequence[float], played: Sequence[FreeGrowth]) -> list[Answer]:
    """Burnt area by hour if nothing more is stopped, with its band."""
    out = []
    for i, t_s in enumerate(hours_s):
        band = band_of(float(played[0].area_m2[i]), [float(p.area_m2[i]) for p in played])
        out.append(
            {
                "time": iso(scene.start + timedelta(seconds=t_s)),
                "area_ha": number(band.middle / HECTARE, 1),
                "area_ha_low": number(None if band.low is None else band.low / HECTARE, 1),
                "area_ha_high": number(None if band.high is None else band.high / HECTARE, 1),
            }
        )
    return out


def reaches_of(found: Sequence[Reach], outside: Outside) -> list[Answer]:
    """Whom and what the fire reaches; times are null where it does not come within the time modelled."""
    return [
        {
            "name": reach.name,
            "kind": reach.kind,
            "position": outside.position(reach.position),
            "time": iso(reach.time),
            "time_low": iso(reach.low),
            "time_high": iso(reach.high),
            "earliest": iso(reach.earliest),
            "on_map": reach.on_map,
        }
        for reach in found
    ]


def _fastest(
    situation: Situation, scene: Scene, fields: FireFields, burnt: Polygon | MultiPolygon, outside: Outside
) -> Answer | None:
    point = fastest_point(burnt, fields, scene.now_s)
    if point is None:
        return None
    x, y = point.position
    east, north = np.sin(np.radians(point.toward_deg)), np.cos(np.radians(point.toward_deg))
    half = scene.window.cell_m / 2
    try:
        why = scene.explain(situation.now, x + half * float(east), y + half * float(north))
    except LookupError:
        why = None
    return {
        "position": outside.position(point.position),
        "toward_deg": outside.bearing(point.toward_deg),
        "rate_m_per_min": number(point.rate_mps * 60.0, 2),
        "intensity_kw_per_m": number(point.intensity_kw_per_m, 0),
        "because": {
            "wind_share": number(why.wind_share, 3) if why else None,
            "slope_share": number(why.slope_share, 3) if why else None,
            "fuel": f"{why.fuel_code} {why.fuel_name}" if why else None,
            "moisture": number(why.dead_fine_pct, 1) if why else None,
            "notes": list(why.notes) if why else [],
        },
    }


def _not_yet(scene: Scene) -> list[NotYet]:
    done = set() if scene.wind is None else {"wind_over_terrain"}
    if scene.system.name == "canadian":
        done.add("crown_fire")
    return [n for n in NOT_YET if n.key not in done]


def size_up(folder: Path, *, at: str | None, hours: float, members: int, seed: int) -> Answer:
    """The edge now, where it runs fastest and why, hourly fronts, and whom it reaches.

    Raises
    ------
    InputError, OutsideRangeError
        For a folder with problems, no weather, or hours outside 0 to 48.
    """
    if not 0.0 < hours <= 48.0:
        raise OutsideRangeError(field="hours", value=hours, low=0.0, high=48.0, unit="h")
    if not 0 <= members <= 1000:
        raise OutsideRangeError(field="members", value=members, low=0, high=1000, unit="")
    situation = look(folder, at)
    incident = situation.incident
    end = situation.now + timedelta(hours=hours)
    scene = scene_of(situation, look_until=end, keep_until=max(end, people_horizon(situation)))
    outside = Outside(scene.window)
    hours_s = [scene.now_s + HOUR * step for step in (*np.arange(1.0, hours, 1.0), hours)]
    look_s = max(hours_s[-1], scene.until_s)
    seen = outlook(scene, members, seed, [*hours_s, look_s] if look_s > hours_s[-1] else hours_s)
    burnt = burnt_now(scene)
    fields = scene.fields(Variation())
    answer = envelope(
        incident=incident.name,
        time=situation.now,
        zone=incident.zone,
        seed=seed,
        members=members,
        cell_m=scene.window.cell_m,
        band="80 % of all futures (wind speed and direction, moisture, spread)" if members >= 4 else None,
        not_yet=_not_yet(scene),
    )
    answer["area_ha"] = number(burnt.area / HECTARE, 1)
    answer["perimeter_m"] = number(edge_length_m(burnt), 0)
    answer["perimeter_drawn"] = iso(scene.start)
    answer["edge"] = edge_of(edge_pieces(burnt, fields, scene.now_s), outside)
    answer["fastest"] = _fastest(situation, scene, fields, burnt, outside)
    answer["fronts"] = fronts_of(scene, hours_s, seen.played)
    answer["reaches"] = reaches_of(seen.reached, outside)
    answer["spotting_m"] = None
    answer["reached_edge_of_map"] = seen.left_map
    answer["notes"] = list(fields.notes)
    answer["unknown_cells"] = fields.unknown_cells
    unknown_m = max(p.unknown_m for p in seen.played)
    trapped = check_entrapment(
        seen.reached,
        now=situation.now,
        limits=incident.limits,
        people_layer=incident.ground.people.present,
        looked_until=scene.start + timedelta(seconds=look_s),
        unknown_edge_m=unknown_m,
    )
    unknown = check_unknown_ground(fields, unknown_m, left_map=seen.left_map)
    answer["findings"] = outside.findings((*trapped, *unknown, *incident.limit_findings))
    answer["exit_code"] = 3 if any(f.level == "stop" for f in trapped) else 0
    return answer
