"""The plan's map layers as one GeoJSON document, for any map program."""

from __future__ import annotations

from typing import Any

__all__ = ["layers_of"]

Answer = dict[str, Any]


def _feature(kind: str, geometry: Answer, properties: Answer) -> Answer:
    return {"type": "Feature", "geometry": geometry, "properties": {"layer": kind, **properties}}


def _line(points: list[list[float]]) -> Answer:
    return {"type": "LineString", "coordinates": points}


def layers_of(answer: Answer) -> Answer:
    """Drops (line, approach, exit, release) and runs held back, WGS 84."""
    features: list[Answer] = []
    for drop in answer["drops"]:
        about = {
            "id": drop["id"],
            "aircraft": drop["aircraft"],
            "time": drop["time"],
            "people_confirmed": drop["people"]["confirmed_by"],
        }
        features += [
            _feature(f"drop_{kind}", _line(drop[kind]), about) for kind in ("line", "approach", "exit")
        ]
        release = {"type": "Point", "coordinates": drop["release_position"]}
        features.append(_feature("drop_release", release, about))
    for held in answer["held_back"]:
        place = {"type": "Point", "coordinates": held["position"]}
        features.append(_feature("held_back", place, {"id": held["drop"], "release": held["release"]}))
    return {"type": "FeatureCollection", "cautions": answer["cautions"], "features": features}
