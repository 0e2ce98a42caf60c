"""One load on a line laid any way in any wind, planned and put on paper. Invented data."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import shapely

from safety.run_maker import NOW, a_context, a_ground, weather
from wetline.aircraft import aircraft_classes
from wetline.app.answer import Outside
from wetline.app.brief_basis import Basis, Crew
from wetline.app.brief_run import run_view
from wetline.attack import LineOption, PlannedLoad
from wetline.attack.edge_view import EdgeView, Stretch
from wetline.attack.lines import LineTable
from wetline.attack.nouns import Placed
from wetline.attack.runs import Recorder
from wetline.attack.scene import Scene
from wetline.briefing.format import Style
from wetline.grid import Grid, Projection, along
from wetline.growth import Ring

if TYPE_CHECKING:
    from wetline.briefing import RunView, Units
    from wetline.ground import Ground
    from wetline.model import DropRun
    from wetline.weather import Weather

FAR = Grid(Projection("EPSG:32625"), 300_000.0, 5_230_000.0, 30.0, 200, 200)
"""200 km west of the zone's middle: grid north lies about 2° off true north."""
MIDDLE = np.array([303_000.0, 5_227_000.0])
LINE_M = 100.0


def far_ground(canopy_m: float | None = 0.0, **layers: Any) -> Ground:
    """Flat ground with trees of one height, or of unknown height."""
    flat = a_ground(**layers)
    trees = None if canopy_m is None else np.full(FAR.shape, canopy_m, np.float32)
    return type(flat)(
        grid=FAR, elevation_m=flat.elevation_m, fuel=flat.fuel, people=flat.people, hazards=flat.hazards,
        water=flat.water, canopy_height_m=trees,
    )  # fmt: skip


def ahead_right(heading_deg: float) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Unit vectors along a grid heading and to its right."""
    ahead = np.array(along(heading_deg), float)
    return ahead, np.array([ahead[1], -ahead[0]])


def _placed(
    heading_deg: float, class_id: str, agent: str, level: float, length_m: float, loads: int
) -> Placed:
    """A load on the first side of a square fire, a side `length_m` long laid along the heading."""
    ahead, right = ahead_right(heading_deg)
    start = MIDDLE - 0.5 * length_m * ahead
    left = -300.0 * right
    xy = np.array([start, start + length_m * ahead, start + length_m * ahead + left, start + left])
    ring = Ring(
        at_s=0.0,
        xy=xy,
        held_until_s=np.full(4, -np.inf),
        touches_edge=False,
        squares=np.zeros((4, 2), np.int64),
    )
    edge = EdgeView(
        ring=ring,
        length_m=np.array([length_m, 300.0, length_m, 300.0]),
        mid=(xy + np.roll(xy, -1, axis=0)) / 2,
        outward=np.tile(right, (4, 1)),
        intensity_kw_per_m=np.full(4, 300.0),
        rate_mps=np.full(4, 0.05),
        turn_deg=np.full(4, 90.0),
        held_until_s=np.full(4, -np.inf),
    )
    litres = {"twin_engine_scooper": 6000.0, "medium_helicopter": 1200.0}.get(class_id, 3000.0)
    return Placed(
        load=PlannedLoad(1, 600.0, "Tern 1", class_id, "S1", agent, litres, False),
        edge=edge,
        stretch=Stretch(0, 0, 1, length_m, 0),
        option=LineOption(level=level, line_m=length_m, coats=loads, hold_s=1200.0),
        coat=1,
        t_s=600.0,
    )


def recorder_and_load(
    heading_deg: float,
    hours: Weather | None,
    *,
    ground: Ground | None = None,
    class_id: str = "twin_engine_scooper",
    agent: str = "water",
    level: float = 2.0,
    line_m: float = LINE_M,
) -> tuple[Recorder, Placed]:
    """The plan's recorder of runs, and one load placed on a line that runs along the grid heading."""
    context = a_context(ground or far_ground(), weather=hours)
    classes = aircraft_classes()
    scene = Scene(
        ground=context.ground, weather=cast("Weather", hours), window=FAR, burnt=shapely.box(0, 0, 1, 1),
        start=NOW, now_s=0.0, until_s=7200.0,
    )  # fmt: skip
    recorder = Recorder(scene, classes, context, LineTable(context.limits, hours, NOW, classes), {})
    return recorder, _placed(heading_deg, class_id, agent, level, line_m, 1)


def planned_run(heading_deg: float, hours: Weather | None, **case: Any) -> DropRun:
    """The run of `recorder_and_load`'s load, as the plan builds it."""
    recorder, placed = recorder_and_load(heading_deg, hours, **case)
    run, _ = recorder.run(placed, "as_given")
    return run


def style_of_paper(units: Units = "aviation") -> Style:
    """How the sheet writes it."""
    return Style(
        units=units, zone=NOW.tzinfo or cast("Any", None), made=NOW, projection=FAR.projection, variation_deg=-14.0
    )  # fmt: skip


def view_of(run: DropRun, hours: Weather | None, ground: Ground | None = None) -> RunView:
    """The run as its sheet shows it."""
    context = a_context(ground or far_ground(), weather=hours)
    fire = SimpleNamespace(newest=NOW, burnt_at=lambda _time: shapely.box(0.0, 0.0, 1.0, 1.0))
    incident = SimpleNamespace(ground=context.ground, limits=context.limits, weather=hours, fire=fire)
    done = SimpleNamespace(situation=SimpleNamespace(incident=incident, now=NOW), attack=None)
    basis = Basis(
        done=cast("Any", done), style=style_of_paper(), units="aviation", outside=Outside(FAR), supervision=None
    )  # fmt: skip
    crew = Crew(number=1, aircraft=(), cls=aircraft_classes()[run.class_id], rows=(), runs=(run,), held=())
    return run_view(basis, crew, run)


def steady(speed_mps: float, from_deg: float) -> Weather:
    """The same wind all afternoon."""
    return weather(wind_mps=speed_mps, wind_from_deg=from_deg)
