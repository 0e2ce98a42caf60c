"""Reading the fire, as an answer: its edge, the fastest run and why, fronts, whom it reaches."""

from __future__ import annotations

import math
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import shapely

from wetline.app.answer import Answer, Outside, envelope, iso, number, spread
from wetline.app.outputs import ready_folder
from wetline.app.situation import light_now, look
from wetline.app.sizeup_beyond import crown_of, spotting_of
from wetline.app.sizeup_edge import attack_of, compass_of, edge_of, fields_now
from wetline.app.sizeup_findings import cut_short, sizeup_findings
from wetline.app.sizeup_maps import LIKELY_PCT, write_maps
from wetline.app.sizeup_run import fastest_of
from wetline.app.sizeup_runs import grown, runs_of
from wetline.app.wind import wind_over, with_wind_notes
from wetline.attack import futures, outlook, scene_round
from wetline.attack.race import band_of
from wetline.behaviour import Variation
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.growth import Errors
from wetline.growth.edge import edge_length_m, edge_pieces
from wetline.model import LEAST_FUTURES, NotYet, shipped_limits
from wetline.safety import lines_notes, people_horizon, people_within
from wetline.units import HECTARE, HOUR

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.situation import Situation
    from wetline.app.sizeup_runs import Runs
    from wetline.attack import Future, Outlook, Scene
    from wetline.behaviour import FireFields
    from wetline.safety import Place, Reach

__all__ = [
    "NOT_YET",
    "burnt_now",
    "burnt_when",
    "fronts_of",
    "reaches_of",
    "scene_of",
    "size_up",
]

NOT_YET = (
    NotYet("spotting_m", "how far fire is thrown is unknown: no height of trees along the edge is known"),
    NotYet(
        "crown_fire",
        "crown fire is switched off or the canopy layers do not tell: rates in timber are those of a surface fire",
    ),
    NotYet("wind_over_terrain", 'the wind is the same over all the ground: fire.wind = "table"'),
)
"""Each leaves where it is told: by the terrain's wind, the canopy, or a system that has crowns in its rates."""


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
            errors=incident.errors,
            burn_out_s=_burn_out_s(incident.limits.value("edge_burn_out_h")),
            wind_over=partial(wind_over, incident.ground) if incident.terrain_wind else None,
        )
    except LookupError as error:
        problem = Problem(
            message=f"{error}.", mend="Add hours to the weather, or look less far ahead.", file="weather.csv"
        )
        raise InputError.of([problem]) from error
    return with_wind_notes(scene, look_until)


def _burn_out_s(hours: float) -> float:
    """How long an edge may wait at line [s]; from the shipped hours on for ever: the safe side."""
    return math.inf if hours >= shipped_limits().value("edge_burn_out_h") else hours * HOUR


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
    return grown(scene, front.trace(), t_s)


def fronts_of(scene: Scene, hours_s: Sequence[float], seen: Outlook, outside: Outside) -> list[Answer]:
    """Burnt area by hour if nothing more is stopped, with its band, and the middle future's outlines.

    `area_ha_in_pct`: area that burns in at least so many per cent of the modelled futures.
    """
    played, share = seen.played, seen.counted.probability
    cell_ha = scene.window.cell_m**2 / HECTARE
    out = []
    for i, t_s in enumerate(hours_s):
        band = band_of(float(played[0].area_m2[i]), [float(p.area_m2[i]) for p in played])
        out.append(
            {
                "time": iso(scene.start + timedelta(seconds=t_s)),
                "area_ha": number(band.middle / HECTARE, 1),
                "area_ha_low": number(None if band.low is None else band.low / HECTARE, 1),
                "area_ha_high": number(None if band.high is None else band.high / HECTARE, 1),
                "area_ha_in_pct": {
                    str(pct): number(cell_ha * float(np.count_nonzero(share[i] >= pct / 100.0 - 1e-6)), 1)
                    for pct in LIKELY_PCT
                }
                if len(played) > 1
                else None,
                "lines": [outside.line(ring) for ring in played[0].lines_xy[i]],
            }
        )
    return out


def reaches_of(found: Sequence[Reach], now: datetime, outside: Outside) -> list[Answer]:
    """Whom and what the fire reaches; times are null where it does not come within the time modelled.

    `earliest`: in the soonest of all futures, and no bound. `reached_in` of `futures` varied futures reach it in
    that time, `reached_in_by_now` have by now; uncalibrated.
    """
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
            "reached_in": reach.count,
            "reached_in_by_now": None if reach.of is None else reach.count_by(now),
            "futures": reach.of,
        }
        for reach in found
    ]


def _asked_until(situation: Situation, hours: float) -> tuple[datetime, datetime]:
    """Until when is asked, and until when the weather lets the model answer."""
    asked = situation.now + timedelta(hours=hours)
    weather = situation.incident.weather
    if weather is None or weather.last <= situation.now:
        return asked, asked  # refused by name where the scene is made
    return asked, min(asked, weather.last)


def _not_yet(scene: Scene, fields: FireFields, *, spotting: bool) -> list[NotYet]:
    told = {
        "wind_over_terrain": scene.wind is not None,
        "crown_fire": fields.crown is not None or scene.system.name == "canadian",
        "spotting_m": spotting,
    }
    return [n for n in NOT_YET if not told[n.key]]


def _band_words(errors: Errors) -> str:
    """What a band spans, and from what."""
    source = "common practice, no source" if errors == Errors() else "set for this incident"
    return (
        f"80 % of all futures (wind speed ±{errors.wind_speed:.0%} and direction ±{errors.wind_turn_deg:g}°, moisture "
        f"±{errors.moisture_pct:g} points, spread ±{errors.spread:.0%}: one standard deviation each, {source})"
    )


def size_up(
    folder: Path, *, at: str | None, hours: float, members: int, seed: int, out: Path | None = None
) -> Answer:
    """The edge now, where it runs fastest and why, hourly fronts, and whom it reaches.

    Weather that ends before the hours asked for gives an answer until it ends, and says so: `good_until`.
    With `out`, maps of where it burns by when are written there: see `write_maps`.

    Raises
    ------
    InputError, OutsideRangeError
        For a folder with problems, no weather now, or hours outside 0 to 48.
    """
    if not 0.0 < hours <= 48.0:
        raise OutsideRangeError(field="hours", value=hours, low=0.0, high=48.0, unit="h", above_low=True)
    if not 0 <= members <= 1000:
        raise OutsideRangeError(field="members", value=members, low=0, high=1000, unit="")
    if out is not None:
        ready_folder(out, "out")
    situation = look(folder, at)
    asked, end = _asked_until(situation, hours)
    warn_until = people_horizon(situation.now, situation.incident.limits)
    scene = scene_of(situation, look_until=end, keep_until=max(end, warn_until))
    until_s = (end - scene.start).total_seconds()
    hours_s = [*np.arange(scene.now_s + HOUR, until_s, HOUR).tolist(), until_s]
    look_s = max(until_s, scene.until_s)
    seen = outlook(scene, members, seed, [*hours_s, look_s] if look_s > until_s else hours_s)
    fields, outside = scene.fields(Variation()), Outside(scene.window)
    fire, thrown = _fire(situation, scene, fields, seen, futures(members, seed, scene.errors), outside)
    found = sizeup_findings(situation, scene, seen, fields, look_s=look_s, seed=seed, thrown=thrown)
    answer = envelope(
        incident=situation.incident.name,
        time=situation.now,
        zone=situation.incident.zone,
        seed=seed,
        members=members,
        cell_m=scene.window.cell_m,
        band=_band_words(scene.errors) if members + 1 >= LEAST_FUTURES else None,
        not_yet=_not_yet(scene, fields, spotting=fire["spotting_m"] is not None),
    )
    answer["good_until"] = iso(end)
    answer["asked_until"] = iso(asked)
    answer["looked_until"] = iso(scene.at(look_s))
    answer["warned_until"] = iso(warn_until)
    answer["warned_under_min"] = situation.incident.limits.value("entrapment_caution_min")
    answer["leaves_map"] = _leaves_map(scene, seen)
    answer["light"] = light_now(situation)
    answer |= fire
    answer["fronts"] = fronts_of(scene, hours_s, seen, outside)
    answer["reaches"] = reaches_of(seen.reached, situation.now, outside)
    answer["reached_edge_of_map"] = seen.left_map
    thrown = fire["spotting"]["notes"] if fire["spotting"] else []
    answer["notes"] = [*fields.notes, *thrown, *lines_notes(scene.lines, situation.now)]
    answer["unknown_cells"] = fields.unknown_cells
    answer["unknown_edge_m"] = number(max(p.unknown_m for p in seen.played), 0)
    answer["findings"] = outside.findings((*found, *cut_short(asked, end)))
    if out is not None:
        answer["files"] = write_maps(out, scene, seen, hours_s)
    answer["exit_code"] = 3 if any(f.level == "stop" and f.code == "entrapment" for f in found) else 0
    return answer


def _fire(
    situation: Situation,
    scene: Scene,
    fields: FireFields,
    seen: Outlook,
    all_futures: Sequence[Future],
    outside: Outside,
) -> tuple[Answer, tuple[tuple[tuple[Place, float], ...], float | None]]:
    """The fire now: its size, its edge, what can attack it where, where it runs fastest.

    With it people within reach of thrown fire, and that reach [m].
    """
    burnt, runs = burnt_now(scene), runs_of(scene, all_futures)
    least_m = situation.incident.limits.value("edge_piece_least_m")
    pieces = edge_pieces(burnt, fields, scene.now_s, least_m=least_m)
    now = fields_now(scene, all_futures)
    thrown = spotting_of(pieces, scene, fields)
    reach_m = thrown["spotting_m_high"]
    near = () if reach_m is None else people_within(scene.places(), burnt, reach_m)
    if thrown["spotting"] is not None:
        thrown["spotting"]["people"] = [
            {"name": place.name, "kind": place.kind, "distance_m": number(metres, 0)}
            for place, metres in near
        ]
    answer = {
        **_size(scene, burnt, runs),
        "edge": edge_of(pieces, now, outside),
        "attack": attack_of(pieces, now),
        "by_direction": compass_of(
            burnt, fields, scene.now_s, now, convergence_deg=scene.window.convergence_deg
        ),
        "fastest": fastest_of(scene, fields, burnt, now, runs, seen.reached, outside),
        "crown_edge_m": crown_of(pieces, fields, scene.now_s),
        "held_by": _held_by(scene, burnt),
        **thrown,
    }
    return answer, (near, reach_m)


def _size(scene: Scene, burnt: Polygon | MultiPolygon, runs: Runs) -> Answer:
    """Area and edge now; with the band of all futures where they are modelled, not drawn."""
    modelled, drawn = scene.now_s > 0.0, scene.drawn(scene.now_s)
    newest_s = max((at_s for at_s, _ in scene.later if at_s <= scene.now_s), default=0.0)
    area = band_of(burnt.area, [hour.area_m2 for hour in runs.hours] if modelled else ())
    edge = band_of(edge_length_m(burnt), [hour.edge_m for hour in runs.hours] if modelled else ())
    return {
        "area_ha": number(area.middle / HECTARE, 1),
        "area_ha_low": None if area.low is None else number(area.low / HECTARE, 1),
        "area_ha_high": None if area.high is None else number(area.high / HECTARE, 1),
        **spread("perimeter_m", edge, 0),
        "perimeter_drawn": iso(scene.start),
        "drawn": {
            "area_ha": number(drawn.area / HECTARE, 1),
            "perimeter_m": number(edge_length_m(drawn), 0),
            "newest": iso(scene.at(newest_s)),
            "age_min": number(scene.now_s / 60.0, 1),
        },
        "modelled": modelled,
    }


def _held_by(scene: Scene, burnt: Polygon | MultiPolygon) -> list[str]:
    """Crews' line, counted on now, that lies within a cell of the edge."""
    now = scene.at(scene.now_s) or scene.start
    return list(
        dict.fromkeys(
            line.name
            for line in scene.lines
            if line.counted_on(now) and shapely.dwithin(line.line, burnt.boundary, scene.window.cell_m)
        )
    )


def _leaves_map(scene: Scene, seen: Outlook) -> Answer | None:
    """When the fire comes to the edge of the modelled ground in the soonest future, and in how many varied ones."""
    if not np.isfinite(seen.edge_s):
        return None
    varied = [played.edge_s for played in seen.played[1:]]
    return {
        "time": iso(scene.at(seen.edge_s)),
        "in": sum(np.isfinite(varied).tolist()) if varied else None,
        "of": len(varied) if varied else None,
    }
