"""Wires, waterway, wind, flame, daylight: each says stop, caution, unknown or none found."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
import shapely

from safety.run_maker import NOW, X0, Y0, a_context, a_ground, a_run, layer, weather
from wetline.ground import Avoid, Hazard, Layer, Water
from wetline.safety import (
    check_avoid,
    check_conditions,
    check_data,
    check_daylight,
    check_intensity,
    check_run,
    check_supervision,
    check_waterway,
    check_wires,
    check_wires_on_leg,
    is_stopped,
)
from wetline.units import KNOT


def wire(y: float) -> Hazard:
    line = shapely.LineString([(X0 - 500, Y0 + y), (X0 + 500, Y0 + y)])
    return Hazard(name="Halm line", kind="wire", shape=line, height_m=38.0)


def by_code(findings: Any) -> dict[str, tuple[str, str | None]]:
    return {f.code: (f.level, f.effect) for f in findings}


@pytest.mark.memory
@pytest.mark.parametrize(
    ("y", "level"), [(59.0, "stop"), (61.0, "caution"), (149.0, "caution"), (151.0, "clear")]
)
def test_wires_stop_within_60_m_and_caution_within_150(y: float, level: str) -> None:
    """Buffers 150 m caution, 60 m stop: from memory (operations.md 4.2)."""
    context = a_context(a_ground(hazards=layer(wire(y))))
    assert by_code(check_wires(a_run(), context))["wire"][0] == level


@pytest.mark.practice
@pytest.mark.parametrize("hazards", [Layer(), Layer((), present=True)])
def test_an_absent_or_undeclared_hazards_layer_asks_for_a_look(hazards: Layer[Hazard]) -> None:
    context = a_context(a_ground(hazards=hazards))
    assert by_code(check_wires(a_run(), context))["wire"] == ("unknown", "look")


@pytest.mark.practice
def test_a_far_wire_in_an_undeclared_layer_is_still_unknown() -> None:
    context = a_context(a_ground(hazards=Layer((wire(900.0),), present=True)))
    assert by_code(check_wires(a_run(), context))["wire"] == ("unknown", "look")


@pytest.mark.derived
def test_a_wire_that_crosses_the_exit_only_is_found() -> None:
    """Check every new run, not the target: the exit crosses a line 900 m after the drop."""
    across = shapely.LineString([(X0 + 1000, Y0 - 300), (X0 + 1000, Y0 + 300)])
    context = a_context(a_ground(hazards=layer(Hazard(name="Reed line", kind="wire", shape=across))))
    found = [f for f in check_wires(a_run(), context) if f.level == "stop"]
    assert found[0].distance_m == 0.0
    assert "height not known" in found[0].message


@pytest.mark.derived
def test_a_wire_under_a_circuit_is_a_caution() -> None:
    leg = np.array([[X0, Y0 - 1000], [X0, Y0 + 1000]])
    found = check_wires_on_leg("Tern 1", leg, a_context(a_ground(hazards=layer(wire(300.0)))))
    assert [(f.level, f.distance_m) for f in found] == [("caution", 0.0)]


@pytest.mark.published
@pytest.mark.parametrize(("metres", "stop"), [(90.0, True), (92.0, False)])
def test_foam_keeps_300_ft_from_a_waterway(metres: float, stop: bool) -> None:
    """300 ft (91 m) at any waterway: US Forest Service aerial delivery rule, public copy."""
    shore = shapely.box(X0 - 2000, Y0 + 15 + metres, X0 + 2000, Y0 + 800)
    ground = a_ground(water=layer(Water(name="Lake Sorrin", kind="lake", polygon=shore)))
    foam = check_waterway(a_run(agent="foam"), a_context(ground))
    assert (foam[0].level == "stop") is stop
    assert check_waterway(a_run(agent="water"), a_context(ground)) == ()


@pytest.mark.practice
def test_without_a_water_layer_the_distance_is_unknown() -> None:
    found = check_waterway(a_run(agent="retardant"), a_context(a_ground(water=Layer())))
    assert [(f.level, f.effect) for f in found] == [("unknown", "look")]


@pytest.mark.practice
def test_an_avoid_area_binds_the_agents_that_it_names() -> None:
    area = shapely.box(X0 - 10, Y0 - 10, X0 + 10, Y0 + 10)
    rule = Avoid(
        name="Well field", kind="protected", polygon=area, rule="no retardant", agents=("retardant",)
    )
    context = a_context(a_ground(avoid=Layer((rule,), present=True)))
    assert [f.level for f in check_avoid(a_run(agent="retardant"), context)] == ["stop"]
    assert check_avoid(a_run(agent="water"), context) == ()


@pytest.mark.memory
@pytest.mark.parametrize(
    ("wind_kt", "gust_kt", "wind", "gust"),
    [(14, 20, "clear", "clear"), (16, 20, "caution", "clear"), (24, 30, "caution", "clear"),
     (31, 40, "stop", "clear"), (10, 26, "clear", "stop")],
)  # fmt: skip
def test_wind_and_gust_limits(wind_kt: float, gust_kt: float, wind: str, gust: str) -> None:
    """Caution 15, poor 20, stop 30 kt, gust spread 15 kt: from memory (operations.md 3.3)."""
    context = a_context(weather=weather(wind_mps=wind_kt * KNOT, gust_mps=gust_kt * KNOT))
    found = by_code(check_conditions(a_run(), context))
    assert found["wind"][0] == wind
    assert found["gust"][0] == gust


@pytest.mark.practice
def test_weather_that_does_not_cover_the_run_is_unknown() -> None:
    late = a_run(time=NOW + timedelta(hours=5))
    assert by_code(check_conditions(late, a_context()))["wind"] == ("unknown", "look")
    assert by_code(check_conditions(a_run(), a_context(weather=None)))["visibility"] == ("unknown", "look")
    blind = a_context(weather=weather(visibility_m=float("nan")))
    assert by_code(check_conditions(a_run(), blind))["visibility"] == ("unknown", "look")


@pytest.mark.published
@pytest.mark.parametrize(
    ("flame", "level"), [(2.3, "clear"), (2.4, "caution"), (3.3, "caution"), (3.4, "stop")]
)
def test_flame_limits_of_a_direct_line(flame: float, level: str) -> None:
    """8 ft (2.4 m) and 11 ft (3.4 m): Andrews & Rothermel 1982, INT-131."""
    assert check_intensity(a_run(flame_length_m=flame), a_context())[0].level == level
    assert check_intensity(a_run(flame_length_m=flame, mode="indirect"), a_context()) == ()


@pytest.mark.practice
def test_a_flame_that_nobody_knows_is_unknown() -> None:
    found = by_code(check_intensity(a_run(flame_length_m=float("nan")), a_context()))
    assert found["intensity"] == ("unknown", "look")


@pytest.mark.practice
def test_no_drop_after_the_cut_off_and_none_without_one() -> None:
    late = a_run(time=NOW + timedelta(hours=6, minutes=1))
    assert check_daylight(late, a_context())[0].level == "stop"
    assert by_code(check_daylight(a_run(), a_context(cut_off=None)))["daylight"] == ("unknown", "blocks")


@pytest.mark.practice
def test_what_is_missing_is_named_and_unknown() -> None:
    ground = a_ground(people=Layer(), bases=Layer(), hazards=Layer((), present=True))
    found = {f.refers_to: f for f in check_data(ground, None, ())}
    assert {"people", "bases", "hazards", "weather", "fleet", "canopy", "avoid", "roads"} == set(found)
    assert all(f.level == "unknown" for f in found.values())
    assert "declares no cover" in found["hazards"].message
    assert "water" not in found


@pytest.mark.practice
def test_a_declared_cover_makes_an_empty_layer_known() -> None:
    declared = a_ground(hazards=Layer((), present=True, surveyed=date(2026, 6, 2)))
    assert "hazards" not in {f.refers_to for f in check_data(declared, None, ())}


@pytest.mark.practice
def test_a_whole_run_adds_its_findings_and_stops_once_for_all() -> None:
    run = check_run(a_run(flame_length_m=4.0), a_context())
    assert is_stopped(run)
    assert {"people", "wire", "wind", "gust", "visibility", "density_altitude", "intensity", "daylight"} <= {
        f.code for f in run.findings
    }
    assert run.people is not None
    assert check_supervision(()) == ()


@pytest.mark.derived
def test_a_mast_beside_the_way_over_the_line_is_measured_to_the_track() -> None:
    """The track over the line is flown 40 m south against the drift: 90 m from the line, 50 m from it."""
    run = a_run(
        approach=np.array([[X0 - 1500, Y0 - 40], [X0, Y0 - 40]]),
        exit_path=np.array([[X0 + 100, Y0 - 40], [X0 + 1100, Y0 - 40]]),
    )
    mast = Hazard(name="Reed", kind="mast", shape=shapely.Point(X0 + 50, Y0 - 90), height_m=60.0)
    (found,) = check_wires(run, a_context(a_ground(hazards=layer(mast))))
    assert (found.level, found.distance_m) == ("stop", 50.0)


@pytest.mark.practice
def test_a_run_through_closed_airspace_is_stopped() -> None:
    area = shapely.box(X0 + 300, Y0 - 50, X0 + 500, Y0 + 50)
    closed = Avoid(name="Halm zone", kind="airspace", polygon=area, rule="closed below 3,000 ft")
    found = check_avoid(a_run(), a_context(a_ground(avoid=Layer((closed,), present=True))))
    assert [(f.code, f.level) for f in found] == [("separation", "stop")]


@pytest.mark.derived
def test_the_thin_ends_of_a_pattern_count_as_wetted() -> None:
    """A shore 100 m beyond the line's end but 80 m beyond the wetted end less 15 m: 65 m."""
    shore = shapely.box(X0 + 200, Y0 - 500, X0 + 900, Y0 + 500)
    ground = a_ground(water=layer(Water(name="Lake Sorrin", kind="lake", polygon=shore)))
    (found,) = check_waterway(a_run(agent="foam"), a_context(ground))
    assert found.level == "stop"
    assert found.distance_m == pytest.approx(65.0, abs=0.1)
