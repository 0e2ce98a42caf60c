"""What a folder says of dip places and bases against itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from store.asking import the_error, warnings_of
from store.folder_maker import FIRE_TIME, FIRE_XY, LAKE_BOX, feature, lonlat, write_features
from wetline.store import read_incident

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.behaviour

X, Y = FIRE_XY
LAKE = ((LAKE_BOX[0] + LAKE_BOX[2]) / 2, (LAKE_BOX[1] + LAKE_BOX[3]) / 2)
BASE = {"name": "Halm Field", "kind": "tanker_base", "runway_m": 2000}


def put_base(folder: Path, **more: Any) -> None:
    """One tanker base, sound but for what is changed; None takes a field out."""
    kept = {k: v for k, v in {**BASE, **more}.items() if v is not None}
    write_features(folder / "bases.geojson", feature("Point", lonlat(X - 800, Y + 100), **kept))


def put_dip(folder: Path, at: tuple[float, float] = LAKE, **properties: Any) -> None:
    write_features(folder / "dips.geojson", feature("Point", lonlat(*at), name="Alder", **properties))


@pytest.mark.parametrize(
    ("more", "fields"),
    [
        ({}, []),
        ({"runway_m": None}, ["runway_m"]),
        ({"pits": 0}, ["pits"]),
        ({"mix_l_per_h": 9000}, ["mix_l_per_h"]),
        ({"mix_l_per_h": 9000, "stock_l": 0}, []),
        ({"kind": "airfield", "stock_l": 9000}, ["stock_l"]),
        ({"kind": "water_base"}, ["runway_m"]),
        ({"fuel": False, "load_while_fuelling": True}, ["load_while_fuelling"]),
    ],
)
def test_a_base_that_contradicts_itself_is_remarked(
    folder: Path, more: dict[str, Any], fields: list[str]
) -> None:
    put_base(folder, **more)
    assert [p.field for p in warnings_of(folder, "bases.geojson")] == fields


@pytest.mark.parametrize(
    ("field", "value"), [("stock_l", -1), ("reload_min", 0), ("mix_l_per_h", -5), ("fuel", "yes")]
)
def test_a_number_out_of_range_is_refused(folder: Path, field: str, value: Any) -> None:
    put_base(folder, **{field: value})
    problem = the_error(folder)
    assert (problem.layer, problem.field) == ("bases", field)


def test_names_that_sound_alike_are_remarked(folder: Path) -> None:
    at = lonlat(X - 800, Y + 100)
    write_features(
        folder / "bases.geojson",
        feature("Point", at, **BASE),
        feature("Point", at, **{**BASE, "name": "HALM  field"}),
    )
    (problem,) = warnings_of(folder, "bases.geojson")
    assert (problem.row, problem.field) == (1, "name")
    assert "row 0" in problem.message


def test_a_dip_place_is_read_with_all_its_fields(folder: Path) -> None:
    seen = FIRE_TIME.isoformat()
    put_dip(folder, kind="tank", depth_m=2.4, depth_date="2026-08-14", volume_l=9000, refill_l_per_min=600,
            salt=True, closed="cracked", looked_at=seen)  # fmt: skip
    assert warnings_of(folder, "dips.geojson") == []
    (place,) = read_incident(folder).ground.dips
    assert (place.kind, place.volume_l, place.refill_l_per_min, place.closed) == (
        "tank",
        9000,
        600,
        "cracked",
    )
    assert place.looked_at == FIRE_TIME


@pytest.mark.parametrize(
    ("properties", "at", "fields"),
    [
        ({"kind": "water"}, LAKE, []),
        ({"kind": "water"}, FIRE_XY, ["coordinates"]),
        ({"kind": "pond"}, FIRE_XY, []),
        ({"kind": "tank"}, FIRE_XY, ["volume_l"]),
        ({"kind": "pond", "refill_l_per_min": 300}, LAKE, ["refill_l_per_min"]),
        ({}, LAKE, ["kind"]),
    ],
)
def test_a_dip_place_that_is_doubtful_is_remarked(
    folder: Path, properties: dict[str, Any], at: tuple[float, float], fields: list[str]
) -> None:
    put_dip(folder, at, **properties)
    assert [p.field for p in warnings_of(folder, "dips.geojson")] == fields


def test_a_tank_with_less_than_nothing_is_refused(folder: Path) -> None:
    put_dip(folder, kind="tank", volume_l=-1)
    assert the_error(folder).field == "volume_l"
