"""Reading the fire, as an answer: its edge, the fastest run and why, fronts, whom it reaches."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from wetline.app.answer import Answer, Outside, envelope, iso, number
from wetline.app.outputs import ready_folder
from wetline.app.situation import look
from wetline.app.sizeup_beyond import crown_of, spotting_of
from wetline.app.sizeup_edge import attack_of, compass_of, edge_of, fields_now
from wetline.app.sizeup_maps import LIKELY_PCT, write_maps
from wetline.app.sizeup_run import area_of, fastest_of, runs_of
from wetline.app.wind import wind_over, with_wind_notes
from wetline.attack import futures, outlook, scene_round
from wetline.attack.race import band_of
from wetline.behaviour import Variation
from wetline.errors import InputError, OutsideRangeError, Problem
from wetline.growth import Errors
from wetline.growth.edge import edge_length_m, edge_pieces
from wetline.model import Finding, NotYet
from wetline.safety import (
    check_entrapment,
    check_errors,
    check_lines,
    check_unknown_ground,
    if_lines_fail,
    lines_notes,
)
from wetline.units import HECTARE, HOUR

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from shapely.geometry import MultiPolygon, Polygon

    from wetline.app.situation import Situation
    from wetline.attack import Future, Outlook, Scene
    from wetline.behaviour import FireFields
    from wetline.safety import Reach

__all__ = [
    "NOT_YET",
    "burnt_now",
    "burnt_when",
    "fronts_of",
    "people_horizon",
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
    grown = shapely.union(scene.drawn(t_s), area_of(front.trace()))
    return cast("Polygon | MultiPolygon", shapely.make_valid(grown))


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


def reaches_of(found: Sequence[Reach], outside: Outside) -> list[Answer]:
    """Whom and what the fire reaches; times are null where it does not come within the time modelled.

    `reached_in` of `futures` varied futures reach it in that time, uncalibrated.
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


def _cut_short(asked: datetime, end: datetime) -> tuple[Finding, ...]:
    if end >= asked:
        return ()
    return (
        Finding(
            code="data_missing",
            level="unknown",
            effect="noted",
            message=(
                f"The weather ends at {end:%H:%M}Z, before {asked:%H:%M}Z that was asked for: what the fire does "
                "after that is unknown."
            ),
            source="the incident folder",
            refers_to="weather",
        ),
    )


def _findings(
    situation: Situation,
    scene: Scene,
    seen: Outlook,
    fields: FireFields,
    look_s: float,
    members: int,
    seed: int,
) -> tuple[Finding, ...]:
    """Whom the fire reaches too soon, with the crews' line and without it; what is unknown."""
    incident = situation.incident
    unknown_m = max(p.unknown_m for p in seen.played)
    trapped = check_entrapment(
        seen.reached,
        now=situation.now,
        limits=incident.limits,
        people_layer=incident.ground.people.present,
        looked_until=scene.start + timedelta(seconds=look_s),
        unknown_edge_m=unknown_m,
    )
    behind: tuple[Finding, ...] = ()
    if any(line.counted_on(situation.now) for line in scene.lines):
        warn_s = min((people_horizon(situation) - scene.start).total_seconds(), look_s)
        without = outlook(replace(scene, lines=()), members, seed, [warn_s]).reached
        behind = if_lines_fail(seen.reached, without, now=situation.now, limits=incident.limits)
    return (
        *trapped,
        *behind,
        *check_lines(scene.lines, situation.now),
        *check_unknown_ground(fields, unknown_m, left_map=seen.left_map),
        *check_errors(scene.errors),
        *incident.limit_findings,
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
        raise OutsideRangeError(field="hours", value=hours, low=0.0, high=48.0, unit="h")
    if not 0 <= members <= 1000:
        raise OutsideRangeError(field="members", value=members, low=0, high=1000, unit="")
    if out is not None:
        ready_folder(out, "out")
    situation = look(folder, at)
    asked, end = _asked_until(situation, hours)
    scene = scene_of(situation, look_until=end, keep_until=max(end, people_horizon(situation)))
    until_s = (end - scene.start).total_seconds()
    hours_s = [*np.arange(scene.now_s + HOUR, until_s, HOUR).tolist(), until_s]
    look_s = max(until_s, scene.until_s)
    seen = outlook(scene, members, seed, [*hours_s, look_s] if look_s > until_s else hours_s)
    fields, outside = scene.fields(Variation()), Outside(scene.window)
    found = _findings(situation, scene, seen, fields, look_s, members, seed)
    fire = _fire(situation, scene, fields, seen, futures(members, seed, scene.errors), outside)
    answer = envelope(
        incident=situation.incident.name,
        time=situation.now,
        zone=situation.incident.zone,
        seed=seed,
        members=members,
        cell_m=scene.window.cell_m,
        band=_band_words(scene.errors) if members >= 4 else None,
        not_yet=_not_yet(scene, fields, spotting=fire["spotting_m"] is not None),
    )
    answer["good_until"] = iso(end)
    answer["asked_until"] = iso(asked)
    answer["looked_until"] = iso(scene.start + timedelta(seconds=look_s))
    answer |= fire
    answer["fronts"] = fronts_of(scene, hours_s, seen, outside)
    answer["reaches"] = reaches_of(seen.reached, outside)
    answer["reached_edge_of_map"] = seen.left_map
    thrown = fire["spotting"]["notes"] if fire["spotting"] else []
    answer["notes"] = [*fields.notes, *thrown, *lines_notes(scene.lines, situation.now)]
    answer["unknown_cells"] = fields.unknown_cells
    answer["unknown_edge_m"] = number(max(p.unknown_m for p in seen.played), 0)
    answer["findings"] = outside.findings((*found, *_cut_short(asked, end)))
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
) -> Answer:
    """The fire now: its size, its edge, what can attack it where, where it runs fastest."""
    burnt = burnt_now(scene)
    least_m = situation.incident.limits.value("edge_piece_least_m")
    pieces = edge_pieces(burnt, fields, scene.now_s, least_m=least_m)
    now = fields_now(scene, all_futures)
    return {
        "area_ha": number(burnt.area / HECTARE, 1),
        "perimeter_m": number(edge_length_m(burnt), 0),
        "perimeter_drawn": iso(scene.start),
        "edge": edge_of(pieces, now, outside),
        "attack": attack_of(pieces, now),
        "by_direction": compass_of(
            burnt, fields, scene.now_s, now, convergence_deg=scene.window.convergence_deg
        ),
        "fastest": fastest_of(scene, fields, burnt, now, runs_of(scene, all_futures), seen.reached, outside),
        "crown_edge_m": crown_of(pieces, fields, scene.now_s),
        **spotting_of(pieces, scene, fields),
    }
