"""Invented packs for the tests of paper: a plain day, and days on which everything is hard."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from wetline import briefing as b
from wetline.grid import Grid, Projection
from wetline.ground import Avoid, Base, Ground, Hazard, Layer, PeoplePlace, Road, Water
from wetline.model import Band, Finding, StandClear

ZONE = timezone(timedelta(hours=-1))
PROJECTION = Projection("EPSG:32625")
EAST, NORTH = 590_000.0, 5_227_000.0
CAUTIONS = (
    "Planning aid; crew, aerial supervisor and incident command decide; local rules prevail.",
    "Unknown is not clear: people are clear of a drop only by a named person's confirmation.",
)


def at(hour: int, minute: int = 0) -> datetime:
    """A local clock time of the invented day."""
    return datetime(2026, 8, 14, hour, minute, tzinfo=ZONE).astimezone(UTC)


def xy(east_m: float, north_m: float) -> tuple[float, float]:
    return EAST + east_m, NORTH + north_m


def ground() -> Ground:
    grid = Grid(PROJECTION, EAST - 3000, NORTH + 4500, 20.0, 400, 450)
    rows, cols = np.indices(grid.shape)
    x, y = grid.xy(rows, cols)
    height = 420 + 90 * np.sin((x - EAST) / 900) * np.cos((y - NORTH) / 1100) + 0.03 * (y - NORTH)
    lake = Polygon(
        [xy(-1900, 300), xy(-900, 1050), xy(300, 1000), xy(620, 500), xy(100, 150), xy(-1200, -50)]
    )
    inside = shapely.contains_xy(lake, x, y)
    height[inside] = 411.0
    fuel = np.full(grid.shape, 2, np.int16)
    fuel[inside] = 98
    fuel[:40, :60] = -1
    return Ground(
        grid=grid,
        elevation_m=height.astype(np.float32),
        fuel=fuel,
        water=Layer((Water(name="Lake Sorrin", kind="lake", polygon=lake, surface_m=411.0),), present=True),
        bases=Layer(
            (Base(name="Dunmarrow", kind="airfield", point=Point(*xy(-52000, -34000))),), present=True
        ),
        hazards=Layer(
            (
                Hazard(
                    name="line",
                    kind="wire",
                    shape=LineString([xy(2400, -2600), xy(3000, 0), xy(3700, 2500)]),
                    height_m=38.0,
                ),
            ),
            present=True,
            surveyed=date(2026, 6, 2),
        ),
        people=Layer((PeoplePlace(name="Alder", kind="crew", shape=Point(*xy(1320, 1020))),), present=True),
        avoid=Layer(
            (
                Avoid(
                    name="stream",
                    kind="waterway_buffer",
                    polygon=LineString([xy(500, 200), xy(1500, 0), xy(3600, 200)]).buffer(90),
                    rule="90 m from stream: no foam, gel, retardant",
                ),
            ),
            present=True,
        ),
        roads=Layer(
            (Road(name="road", line=LineString([xy(-2500, -900), xy(0, -500), xy(3500, -700)])),),
            present=True,
        ),
    )


def burnt() -> Polygon:
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    return Polygon(np.column_stack((EAST + 1250 + 620 * np.cos(turn), NORTH + 1400 + 330 * np.sin(turn))))


def fire_ring() -> np.ndarray[Any, Any]:
    """The burnt ring walked with the burnt ground on the left."""
    return np.asarray(shapely.get_coordinates(burnt().exterior))


def front(scale: float, shift_m: float) -> np.ndarray[Any, Any]:
    turn = np.linspace(0, 2 * np.pi, 80)
    return np.column_stack(
        (EAST + 1250 + shift_m + 620 * scale * np.cos(turn), NORTH + 1400 + 330 * scale * np.sin(turn))
    )


def profile(from_m: float, to_m: float, base_m: float, rough_m: float = 6.0) -> np.ndarray[Any, Any]:
    x = np.linspace(from_m, to_m, 60)
    return np.column_stack((x, base_m + rough_m * np.sin(x / 140) + 0.3 * rough_m * np.cos(x / 53)))


def lane() -> b.LaneView:
    x = np.linspace(-700, 2400, 80)
    height = np.where((x > -80) & (x < 2010), 411.0, 413 + 4 * np.abs(np.sin(x / 90)))
    shore = Polygon(
        [
            (-80, 220),
            (700, 330),
            (1500, 320),
            (1990, 180),
            (2010, -120),
            (1500, -300),
            (600, -330),
            (-80, -180),
        ]
    )
    return b.LaneView(
        id="S1", water="Lake Sorrin", level="clear", heading_true_deg=260.0, length_m=1934.0, clear_m=50.0,
        needed_m=1500.0, headwind_mps=6.17, crosswind_mps=0.1, depth_m=4.0, depth_date=date(2026, 6, 3), surface_m=411.0,
        look=b.Look(by="Tern 1", time=at(13, 41), words="no boats", until=at(15, 41)),
        wires="none known (2 June), look", if_lost="no other lane fits; call Lantern 1",
        gradient_asked=0.04, gradient_flown=0.055, shore=shore,
        marks=(b.Mark("touch", 0.0), b.Mark("step", 420.0), b.Mark("full", 1100.0), b.Mark("off by", 1934.0)),
        profile=np.column_stack((x, height)),
        flight=np.array([(-700, 451.0), (0, 411.0), (1500, 411.0), (2400, 461.0)]),
    )  # fmt: skip


def run() -> b.RunView:
    return b.RunView(
        id="R4", level="unknown", heading_true_deg=255.0, exit_true_deg=170.0,
        speed_mps=Band(52.7, 51.4, 54.0), height_above_canopy_m=45.72, height_min_m=30.48,
        release_amsl_m=496.8, ground_m=435.9, canopy_m=15.24, line_m=Band(115.0, 95.0, 130.0), coverage_l_per_m2=1.2,
        drift_right_m=Band(-4.0, -11.0, 0.0), drift_along_m=Band(-25.0, -40.0, -15.0),
        release_early_m=Band(15.0, 5.0, 30.0), release_right_m=Band(4.0, 0.0, 11.0), headwind_mps=5.66, crosswind_mps=2.06,
        vertical_from_m=56.4, stand_clear=StandClear(sides_m=60.0, ahead_m=95.0, behind_m=60.0),
        hold_min=Band(20.0, 10.0, 40.0), join_m=Band(22.0, 15.0, 24.0),
        line_from_m=15.0, line_to_m=130.0, line_left_m=-4.0, burnt_side="right",
        burnt=Polygon([(-1000, -20), (-600, 10), (-300, -60), (150, -50), (380, -60), (480, -200), (480, -400), (-1000, -400)]),
        open_edge=(np.array([(-150.0, -45), (-300, -60), (-600, 10), (-1000, -20)]),),
        held_edge=(
            b.HeldLine("wet", np.array([(130.0, -50), (380, -60)])),
            b.HeldLine("drying", np.array([(-150.0, -45), (20, -50)])),
        ),
        approach=np.array([(-1150.0, 0), (0, 0)]), exit_path=np.array([(130.0, 0), (300, 20), (450, 90), (540, 180)]),
        people=(b.Person("Alder, 155 m left", (-430.0, 155.0)),),
        profile=profile(-1150, 650, 436.0), flight=np.array([(-1150.0, 560), (-200, 500), (0, 497), (130, 497), (650, 530)]),
    )  # fmt: skip


def circuit() -> b.CircuitView:
    path = [xy(900, 950), xy(300, 830), xy(-900, 600), xy(-1700, 450), xy(-2100, 100), xy(-1900, -700),
            xy(-1300, -950), xy(1800, -950), xy(2300, -600), xy(2350, 600), xy(2100, 1150), xy(1500, 1080), xy(900, 950)]  # fmt: skip
    wire = b.Wire("wire 38 m", np.array([xy(2400, -2600), xy(3000, 0), xy(3700, 2500)]))
    return b.CircuitView(
        cycle_min=Band(6.4, 5.2, 7.9), loads_per_hour=Band(9.4, 7.6, 11.5), hand="left", height_amsl_m=655.0,
        path_xy=np.array(path), stops=(("S1", xy(-900, 600)), ("R4", xy(1000, 980))),
        turns=(xy(-1700, -850), xy(2200, -750), xy(2250, 1000)), water=(ground().water.features[0].polygon,), fire=burnt(),
        wires=(wire,),
    )  # fmt: skip


def finding(
    level: Any, message: str, effect: Any = None, refers_to: str = "R4", code: Any = "people"
) -> Finding:
    return Finding(
        code=code, level=level, message=message, effect=effect, refers_to=refers_to, source="invented"
    )


def findings() -> tuple[Finding, ...]:
    return (
        finding("stop", "Fire reaches Crew Alder, earliest 14:15, if nothing more is stopped.", code="entrapment"),
        finding("stop", "R7: Alder 55 m away, limit 60. Do not take R7."),
        finding("unknown", "People, R4 and R5: not confirmed. Nearest reported Alder, 155 m from the approach, seen 13:40. No name, no drop.", "blocks"),
        finding("caution", "Load falls vertically only from 185 ft; at 150 ft it strikes forward: stand-off wider.", code="height_safe"),
        finding("unknown", "S3 depth, boats, waves: Tern 2 passes 13:55. 60 loads of Coot 5 wait on it.", "look", "S3", "depth"),
        finding("caution", "No other lane fits: S2 600 m, S3 120 m short."),
        finding("unknown", "Wire 38 m at turn 2, 660 ft under the circuit.", "noted", "S1", "wire"),
        *(finding("clear", f"check {i}") for i in range(14)),
    )  # fmt: skip


def sheet(number: int = 7, **changes: Any) -> b.CrewSheet:
    plain = b.CrewSheet(
        number=number, call_signs=("Tern 1", "Tern 2"), class_name="Twin scooper", agent="water", load_l=6000.0,
        task="Right flank, close R4",
        times=b.Times(
            first_drop=at(13, 52), leave_for_fuel=((at(15, 20),), (at(16, 2),)), last_fill=at(18, 29),
            last_drop=at(18, 33), land_by=at(18, 55), crew_hours=at(19), cut_off=at(19, 44),
        ),
        source=lane(), run=run(), circuit=circuit(),
        separation=(
            ("Pair", "Tern 2 leads, Tern 1 70 s behind"), ("Wick 3, Coot 5", "left flank only; Terns right only"),
            ("Barge 7", "14:05, head only, in and out north"), ("Lantern 1", "4,000 ft to 16:40, then Lantern 2"),
            ("Lost contact", "leave south, Lake Sorrin, 3,000 ft"),
        ),
        findings=findings(),
        points=(
            b.PointRow("Lane S1, start", xy(133.5, 902.5), 411.0), b.PointRow("Lane S1, end", xy(-1769, 566), 411.0),
            b.PointRow("Release R4", xy(865, 1055), 436.0), b.PointRow("Wait, Lake Sorrin", xy(-881, 698), 411.0),
            b.PointRow("Crew Alder, 13:40", xy(1321, 1022), 445.0),
        ),
        replaces=6, changed=("R3 to R5 opened 13:29: R4 is a 100 m gap.", "Heading was 279° M, now 269° M: Alder at 155 m."),
    )  # fmt: skip
    return replace(plain, **changes)


def helicopter(number: int = 8) -> b.CrewSheet:
    x = np.linspace(-400, 400, 60)
    dip = b.DipView(
        id="D1", water="Pell Tarn", level="unknown", heading_true_deg=300.0, clear_m=45.0, depth_m=None,
        approach_true_deg=330.0, headwind_mps=5.0, descent_asked=0.25, descent_flown=0.18,
        load_l=(880.0, 1100.0),
        depth_needed_m=1.0, surface_m=455.0, shore=Point(0, 20).buffer(120), gradient_asked=0.1, gradient_flown=None,
        profile=np.column_stack((x, np.where(np.abs(x) < 110, 455.0, 458 + 0.02 * np.abs(x)))),
        flight=np.array([(-400.0, 500), (0, 461), (400, 505)]), if_lost="S3 bay, north end",
    )  # fmt: skip
    return sheet(number, call_signs=("Wick 3",), class_name="Medium helicopter", load_l=1100.0, task="Left flank, add to L3",
                 fills="dip", source=dip, replaces=None, changed=(),
                 times=b.Times(first_drop=at(13, 55), leave_for_fuel=((at(15, 5), at(17, 40)),), last_fill=at(19, 30), last_drop=at(19, 35), land_by=at(20, 5), crew_hours=at(20, 30), cut_off=at(19, 44)))  # fmt: skip


def tanker(number: int = 9) -> b.CrewSheet:
    base = b.BaseView(
        name="Dunmarrow", level="caution", toward_true_deg=62.0, distance_m=62_000.0, flight_min=Band(16.0, 15.0, 18.0),
        reload_min=Band(12.0, 9.0, 20.0), runway_needed_m=Band(1550.0, 1200.0, 1790.0), stock_l=40_000.0, fuel=False, runway_m=1800.0, elevation_m=120.0, pits=2, agents=("retardant", "water"),
        last_word="Dunmarrow 13:20: pits free, 40,000 L", wires="none known (2 June), look", if_lost="Halm Field, 95 km",
        profile=np.column_stack((np.linspace(0, 62000, 80), 200 + 250 * np.linspace(0, 1, 80) + 60 * np.sin(np.linspace(0, 14, 80)))),
        flight=np.array([(0.0, 120), (9000, 900), (50000, 900), (62000, 560)]),
    )  # fmt: skip
    return sheet(number, call_signs=("Barge 7",), class_name="Medium tanker", load_l=11000.0, agent="retardant",
                 task="Line ahead of the head", fills="base", source=base, replaces=None, changed=(),
                 times=b.Times(first_drop=at(14, 5), leave_for_fuel=((),), last_fill=at(18, 40), last_drop=at(19, 10), land_by=at(19, 40), crew_hours=None, cut_off=at(19, 44)))  # fmt: skip


def nothing_known(number: int = 10) -> b.CrewSheet:
    unknown = b.Times(
        first_drop=None,
        leave_for_fuel=(None,),
        last_fill=None,
        last_drop=None,
        land_by=None,
        crew_hours=None,
        cut_off=None,
    )
    return b.CrewSheet(number=number, call_signs=("Coot 5",), class_name="Single scooper", agent="water", load_l=None,
                       task="Wait", times=unknown, source=None, run=None, circuit=None)  # fmt: skip


def bare(number: int = 11) -> b.CrewSheet:
    """Lane and run are there, with every number that can lack lacking."""
    lane_ = b.LaneView(
        id="S9", water="unnamed", level="unknown", heading_true_deg=90.0, length_m=1210.0, clear_m=45.0
    )
    run_ = b.RunView(id="R9", level="unknown", heading_true_deg=5.0, exit_true_deg=None, speed_mps=None, height_above_canopy_m=45.0,
                     height_min_m=None, release_amsl_m=None, ground_m=None, canopy_m=None, line_m=Band(80.0), coverage_l_per_m2=None)  # fmt: skip
    circuit_ = b.CircuitView(cycle_min=None, loads_per_hour=None)
    return sheet(
        number,
        source=lane_,
        run=run_,
        circuit=circuit_,
        separation=(),
        findings=(),
        points=(b.PointRow("Release R9", xy(0, 0), None),),
    )


def hard(number: int = 12) -> b.CrewSheet:
    """Very long names, 25 findings, many points, two runs to confirm."""
    many = [
        finding(
            "stop",
            f"R{i}: Engine crew Upper Langenstein-Vorderberg {40 + i} m from the exit, limit 60. Do not take R{i} until the crew has moved and a named person says so.",
        )
        for i in range(4)
    ]
    many += [
        finding(
            "unknown",
            f"S{i} wires: nobody has looked at the northern shore since the storm of the night.",
            "look",
            f"S{i}",
        )
        for i in range(6)
    ]
    many += [finding("unknown", f"People, R{i}: not confirmed.", "blocks") for i in range(4)]
    many += [
        finding(
            "caution",
            f"Gust {20 + i} kt expected by 16:{10 + i}, drift grows by {i + 3} m; aim again after each drop.",
        )
        for i in range(8)
    ]
    many += [finding("unknown", f"Mast {i} at 2,{i}00 m, far below the circuit.", "noted") for i in range(3)]
    long_run = replace(run(), people=(
        b.Person("Engine crew Upper Langenstein-Vorderberg, 155 m left", (-430.0, 155.0)),
        b.Person("Surveyors, 900 m right", (100.0, -900.0)), b.Person("Camp Nether Weissenkirch, 60 m left", (20.0, 60.0))))  # fmt: skip
    long_lane = replace(
        lane(),
        level="caution",
        look=b.Look(
            by="Grosser Brachvogel 11",
            time=at(13, 41),
            words="two sailing boats at the northern end, a swimming platform adrift",
            until=at(15, 41),
        ),
    )
    points = tuple(
        b.PointRow(f"Turn {i} over Nether Weissenkirch an der Lauter", xy(100.0 * i, 50.0 * i), 400.0 + i)
        for i in range(9)
    )
    return sheet(number, call_signs=("Grosser Brachvogel 11", "Grosser Brachvogel 12", "Grosser Brachvogel 14"),
                 task="Right flank from the old quarry above Nether Weissenkirch an der Lauter to the ford, close R4, R5 and R6",
                 source=long_lane, run=long_run, findings=tuple(many), points=points, confirm=("R4", "R5"),
                 separation=tuple((f"Grosser Brachvogel {i}", "keeps to the left flank north of the power line at or above 3,500 ft") for i in range(4)),
                 times=replace(sheet().times, leave_for_fuel=((at(15, 20), at(17, 45)), (at(16, 2),), None)),
                 radio=(("Air to air", "129.250"), ("Air to ground", None), ("Base", "122.800"), ("Emergency", "121.500"), ("Command", None)))  # fmt: skip


def map_page(**changes: Any) -> b.MapPage:
    ring = fire_ring()
    plain = b.MapPage(
        answers=(
            b.Answer("Where does the next load do most good?", "R4, right flank", ("First drop 13:52, Tern 2, in 5 min", "Closes 100 m (80–115). Not released"), "unknown"),
            b.Answer("Are we winning?", "Line gaining", ("Held in 41 of 64 modelled futures, uncalibrated", "At 19:44: 3.4 km secured, 0.4 retardant, 0.9 only wet; open again about 20:10 unless crews secure 900 m")),
            b.Answer("Who could this hurt?", "Stop: Crew Alder", ("Fire there earliest 14:15. R7 kept back", "Tessick, 14 houses, earliest 15:51"), "stop"),
        ),
        burnt_xy=burnt(), burnt_time=at(13, 36), ground=ground(),
        wind=b.Wind(from_true_deg=260.0, speed_mps=6.17, gust_mps=9.3, time=at(13, 40)),
        open_edge_xy=(ring[40:58], ring[0:25]), held_edge_xy=(b.HeldLine("wet", ring[25:40], "wet until 14:04"),),
        fronts=(b.FrontLine(time=at(15), lines_xy=(front(1.3, 240),)), b.FrontLine(time=at(16), lines_xy=(front(1.6, 480),)), b.FrontLine(time=at(17), lines_xy=(front(1.9, 720),))),
        lanes=(
            b.MapLane(id="S1", level="clear", start_xy=xy(133, 902), end_xy=xy(-1769, 566), clear_m=50, heading_true_deg=260, length_m=1934, note="looked at 13:41, good until 15:41"),
            b.MapLane(id="S2", level="caution", start_xy=xy(-100, 420), end_xy=xy(-950, 700), clear_m=50, heading_true_deg=288, length_m=895, note="short for the Terns"),
            b.MapLane(id="S3", level="unknown", start_xy=xy(-300, 930), end_xy=xy(-1000, 930), clear_m=40, heading_true_deg=270, length_m=700, note="needs a look: depth"),
        ),
        dips=(b.MapDip("D1", "unknown", xy(-700, 1600), "depth not known"),),
        runs=(
            b.MapRun(id="R4", order=1, aircraft="Tern 2", level="unknown", heading_true_deg=255, approach_xy=np.array([xy(2200, 1250), xy(1000, 1050)]), line_xy=np.array([xy(1000, 1050), xy(885, 1030)]), exit_xy=np.array([xy(885, 1030), xy(600, 950), xy(480, 700)])),
            b.MapRun(id="R5", order=2, aircraft="Tern 1", level="clear", heading_true_deg=255, approach_xy=np.array([xy(2000, 1300), xy(900, 1060)]), line_xy=np.array([xy(800, 1100), xy(700, 1200)]), exit_xy=np.array([xy(700, 1200), xy(450, 1250)])),
            b.MapRun(id="R7", order=3, aircraft="Wick 3", level="stop", heading_true_deg=80, approach_xy=np.array([xy(900, 800), xy(1300, 1000)]), line_xy=np.array([xy(1300, 1060), xy(1400, 1075)]), exit_xy=np.array([xy(1400, 1075), xy(1800, 1200)]), held_back=True),
        ),
        people=(
            b.MapPeople(name="Crew Alder", kind="crew", xy=xy(1320, 1010), level="stop", count=12, seen=at(13, 40), earliest=at(14, 15), ring_m=60),
            b.MapPeople(name="Crew Birch", kind="crew", xy=xy(520, 1650), level="unknown", count=8, seen=at(13, 38), earliest=at(16, 40)),
            b.MapPeople(name="Tessick", kind="houses", xy=xy(2900, 1700), level="caution", count=14, earliest=at(15, 51)),
            b.MapPeople(name="Marl End", kind="houses", xy=xy(2500, -300), level="clear", count=2, note="not reached by 23:00"),
            b.MapPeople(name="Camp Fell", kind="camp", xy=xy(14000, 9000), level="unknown"),
        ),
        circuit_xy=circuit().path_xy, circuit_label="Circuit 6.4 min (5.2–7.9), one way, left hand",
    )  # fmt: skip
    return replace(plain, **changes)


def pack(*sheets: b.CrewSheet, **changes: Any) -> b.BriefPack:
    plain = b.BriefPack(
        incident="Ketter Ridge", place="Sorrin, Vastmark", exercise=True, made=at(13, 47), zone=ZONE, projection=PROJECTION,
        map=map_page(), sheets=sheets or (sheet(),), cautions=CAUTIONS, variation_deg=-14.0, variation_date=date(2026, 1, 1),
        wind=b.Wind(from_true_deg=260.0, speed_mps=6.17, gust_mps=9.3, time=at(13, 40)), version="plan 12",
    )  # fmt: skip
    return replace(plain, **changes)
