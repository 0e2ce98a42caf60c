"""Tank and door systems: what is published of their flow, Torricelli, and every litre accounted for."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wetline.aircraft import aircraft_classes
from wetline.drops import Release, System, pattern, resolve, systems_of
from wetline.drops.flow import Flow, drained, even, joined
from wetline.drops.systems import CHOICES, drop_classes, flow_settings, parameters
from wetline.drops.systems_page import systems_page
from wetline.errors import InputError, OutsideRangeError
from wetline.units import FOOT, KNOT, US_GALLON_L

CASES = [(class_id, system) for class_id, systems in drop_classes().items() for system in systems]
TWIN = Release(class_id="twin_engine_scooper")
TANKER = Release(class_id="single_engine_tanker")
GATE = replace(TANKER, system="gate")


def _middle_gal_per_s(flow: Flow) -> float:
    """Mean flow while the middle 80 % of the load leaves, from its cumulative sum on a fine grid."""
    t = np.linspace(0.0, flow.t_s[-1], 20_001)
    gone = np.concatenate(
        ([0.0], np.cumsum(np.diff(t) * np.interp(0.5 * (t[1:] + t[:-1]), flow.t_s, flow.l_per_s)))
    )
    begin, end = np.interp([0.1 * flow.litres, 0.9 * flow.litres], gone, t)
    return float(0.8 * flow.litres / (end - begin) / US_GALLON_L)


@pytest.mark.published
@pytest.mark.parametrize(("level", "gal_per_s"), [(0.5, 77.0), (4.0, 450.0)])
def test_a_panel_lets_flow_what_was_measured_at_its_lowest_and_highest_setting(
    level: float, gal_per_s: float
) -> None:
    """MTDC 0057-2852 (public copy): 77 and 450 gal/s at settings 0.5 and 4, 78 to 87 kt, 84 kt taken."""
    resolved = resolve(replace(TANKER, setting=level, speed_mps=84 * KNOT, wind_mps=0.0))
    assert resolved.flow.peak_l_per_s / US_GALLON_L == pytest.approx(gal_per_s, abs=0.5)


@pytest.mark.property
def test_a_higher_setting_never_flows_less() -> None:
    flows = [resolve(replace(TANKER, setting=s)).flow_l_per_s for s in flow_settings(TANKER.class_id)]
    assert all(b > a for a, b in itertools.pairwise(flows))


@pytest.mark.published
def test_a_large_bucket_flows_as_measured() -> None:
    """MTDC 0057-2864 (public copy): 50 to 60 gal/s from a load of 780 gal, the valve lifts in 2 s."""
    resolved = resolve(Release(class_id="heavy_helicopter", load_l=780 * US_GALLON_L))
    assert resolved.system == "bucket"
    assert 50.0 <= _middle_gal_per_s(resolved.flow) <= 60.0
    assert resolved.inputs["open_s"].value == 2


@pytest.mark.practice
def test_a_twin_scooper_drops_six_tonnes_in_two_seconds_from_a_hundred_feet() -> None:
    """Common practice, no source: about 6 t in about 2 s, from about 100 ft at about 110 kt."""
    resolved = resolve(replace(TWIN, load_l=6000.0))
    assert resolved.system == "salvo"
    assert resolved.duration_s == pytest.approx(2.0, rel=0.05)
    assert resolved.height_m == pytest.approx(100 * FOOT)
    assert resolved.speed_mps == pytest.approx(110 * KNOT, rel=0.05)


@pytest.mark.derived
@pytest.mark.parametrize(("litres", "full_l_per_s"), [(3000.0, 2000.0), (600.0, 150.0)])
def test_an_opened_tank_runs_out_in_twice_its_load_over_its_first_flow(
    litres: float, full_l_per_s: float
) -> None:
    """Torricelli in a tank of upright walls: T = 2 V/Q₀, and the flow falls in a straight line."""
    flow = drained(litres, litres, full_l_per_s=full_l_per_s, open_s=1e-3, close_s=1e-3)
    assert flow.t_s[-1] == pytest.approx(2.0 * litres / full_l_per_s, abs=1e-3)
    assert flow.at(0.5 * flow.t_s[-1]) == pytest.approx(0.5 * full_l_per_s, rel=1e-3)


@pytest.mark.derived
@pytest.mark.parametrize(("taken", "open_s"), [(1.0, 2.0), (1.0, 12.0), (0.6, 0.5), (0.05, 2.0)])
def test_the_flow_of_a_lifting_valve_meets_an_integrated_one(taken: float, open_s: float) -> None:
    """dV/dt = −s Q₀ √(V/V₀) by scipy's solve_ivp, with the valve's own s(t); litres gone within 0.5 %."""
    load, full, close = 3000.0, 800.0, 0.7
    flow = drained(load, taken * load, full_l_per_s=full, open_s=open_s, close_s=close)
    end = flow.t_s[-1]
    shut_begins = end if taken == 1.0 else end - close * min(1.0, end / (open_s + close))

    def share(t: float) -> float:
        top = min(shut_begins / open_s, 1.0)
        return min(t / open_s, 1.0) if t <= shut_begins else max(top - (t - shut_begins) / close, 0.0)

    times = np.linspace(0.0, end, 41)
    answer = solve_ivp(
        lambda t, v: [-full * share(t) * math.sqrt(max(v[0], 0.0) / load)],
        (0.0, end), [load], t_eval=times, max_step=end / 400, rtol=1e-8,
    )  # fmt: skip
    gone = [np.trapezoid(np.interp(g := np.linspace(0.0, t, 4001), flow.t_s, flow.l_per_s), g) for t in times]
    assert np.allclose(load - answer.y[0], gone, atol=0.005 * taken * load)


@pytest.mark.derived
def test_a_gate_flows_by_its_head() -> None:
    """Q₀ = C_d A √(2 g h), worked by hand for 0.6, 0.7 m² and 1.1 m: 1951 L/s; half a load, √½ of it."""
    numbers = parameters(TANKER.class_id, "gate")
    assert [numbers[n].value for n in ("discharge", "gate_m2", "head_m")] == [0.6, 0.7, 1.1]
    for load_l, by_hand in ((3000.0, 1951.0), (1500.0, 1951.0 / math.sqrt(2.0))):
        flow = resolve(replace(GATE, load_l=load_l)).flow
        opened = flow.t_s.index(max(t for t in flow.t_s if t <= 0.5 + 1e-9))
        left = 1.0 - 0.25 / (2.0 * load_l / by_hand)
        assert flow.l_per_s[opened] == pytest.approx(by_hand * left, rel=0.005)


@pytest.mark.derived
def test_a_trail_lasts_its_intervals_longer_than_one_door() -> None:
    """Four doors at 1 s: the last opens 3 s after the first, and each empties as it does alone."""
    trail = resolve(replace(TWIN, system="trail", interval_s=1.0))
    one = resolve(replace(TWIN, system="trail", doors=1))
    assert trail.flow.t_s[-1] == pytest.approx(one.flow.t_s[-1] + 3.0)
    assert trail.load_l == pytest.approx(4.0 * one.load_l)
    assert trail.flow_l_per_s < resolve(TWIN).flow_l_per_s


@pytest.mark.derived
def test_doors_far_apart_leave_gaps() -> None:
    flow = resolve(replace(TWIN, system="trail", interval_s=5.0)).flow
    assert flow.at(4.0) == 0.0
    assert flow.at(6.0) > 0.0


@pytest.mark.property
@settings(max_examples=80, deadline=None)
@given(case=st.sampled_from(CASES), fill=st.floats(0.5, 1.0), part=st.floats(0.3, 1.0))
def test_the_flow_is_the_load_let_go_and_the_rest_stays(
    case: tuple[str, System], fill: float, part: float
) -> None:
    class_id, system = case
    release = Release(class_id=class_id, system=system)
    load_l = fill * resolve(release).on_board_l
    let_go_l = None if "doors" in CHOICES[system] else part * load_l
    resolved = resolve(replace(release, load_l=load_l, let_go_l=let_go_l))
    assert resolved.flow.litres == pytest.approx(resolved.load_l, rel=1e-9)
    assert resolved.load_l + resolved.stays_l == pytest.approx(load_l, rel=1e-12)
    assert resolved.load_l == pytest.approx(let_go_l or load_l)
    assert min(resolved.flow.l_per_s) >= 0.0
    assert resolved.duration_low_s <= resolved.duration_s <= resolved.duration_high_s


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(
    litres=st.floats(100.0, 40_000.0),
    half=st.floats(0.3, 30.0),
    ramp=st.floats(0.05, 3.0),
    later=st.floats(0, 9),
)
def test_flows_join_and_stretch_without_losing_a_litre(
    litres: float, half: float, ramp: float, later: float
) -> None:
    flow = even(litres, half, ramp)
    both = joined([flow, flow.later(later)])
    assert flow.litres == pytest.approx(litres, rel=1e-9)
    assert both.litres == pytest.approx(2.0 * litres, rel=1e-9)
    assert both.middle_s == pytest.approx(flow.middle_s + 0.5 * later, rel=1e-5)
    assert flow.stretched(1.7).litres == pytest.approx(litres, rel=1e-9)
    assert flow.stretched(1.7).lasting_s == pytest.approx(1.7 * flow.lasting_s)
    if ramp <= 0.2 * half:
        assert flow.lasting_s == pytest.approx(half)


@pytest.mark.property
def test_a_wider_gate_flows_more_and_lasts_less() -> None:
    """40, 60 and 100 % are the openings shown in MTDC 0057-2835."""
    gates = [resolve(replace(GATE, opening=share)) for share in (0.4, 0.6, 1.0)]
    assert [g.flow_l_per_s for g in gates] == sorted(g.flow_l_per_s for g in gates)
    assert [g.duration_s for g in gates] == sorted((g.duration_s for g in gates), reverse=True)


@pytest.mark.behaviour
@pytest.mark.parametrize("class_id", ["light_helicopter", "medium_helicopter", "heavy_helicopter"])
def test_a_snorkel_goes_with_a_tank_that_empties_faster_than_a_bucket(class_id: str) -> None:
    cls = aircraft_classes()[class_id]
    bucket = resolve(Release(class_id=class_id, cls=cls))
    tank = resolve(Release(class_id=class_id, cls=cls.filling_by("snorkel")))
    asked = resolve(Release(class_id=class_id, cls=cls, system="belly_tank"))
    assert (bucket.system, tank.system) == ("bucket", "belly_tank")
    assert tank.flow_l_per_s > bucket.flow_l_per_s
    assert (asked.flow, asked.on_board_l) == (tank.flow, tank.on_board_l)


@pytest.mark.behaviour
def test_some_doors_let_go_their_share_and_the_rest_stays_on_board() -> None:
    two = resolve(replace(TWIN, load_l=6000.0, doors=2))
    assert (two.load_l, two.stays_l) == (3000.0, 3000.0)
    assert two.inputs["stays_on_board_l"].value == 3000.0
    by_litres = resolve(replace(TWIN, load_l=6000.0, let_go_l=3000.0))
    assert by_litres.flow == two.flow
    assert by_litres.inputs["doors"].origin == "computed"


@pytest.mark.behaviour
def test_a_time_that_was_measured_stands_above_the_system() -> None:
    told = resolve(replace(TANKER, duration_s=3.0))
    assert (told.duration_s, told.inputs["duration_s"].origin) == (3.0, "given")
    assert "setting" not in told.inputs
    bucket = resolve(Release(class_id="medium_helicopter", duration_s=6.0))
    assert bucket.flow.lasting_s == pytest.approx(6.0)


@pytest.mark.behaviour
def test_an_own_drop_time_stands_above_the_numbers_of_the_system() -> None:
    shipped = aircraft_classes()["twin_engine_scooper"]
    slow = replace(shipped.quantities["drop_time_s"], value=6.0, low=None, high=None, source="Sorrin order 4")
    heavy = aircraft_classes()["heavy_helicopter"]
    own = replace(heavy, id="own_heavy", like=heavy.id, quantities={**heavy.quantities, "drop_time_s": slow})
    resolved = resolve(Release(class_id=heavy.id, cls=own))
    assert resolved.flow.t_s[-1] == pytest.approx(6.0, abs=1.1)
    assert resolved.inputs["empty_s"].source == "Sorrin order 4"
    tanker = aircraft_classes()["single_engine_tanker"]
    held = replace(tanker, id="own_tanker", quantities={**tanker.quantities, "drop_time_s": slow})
    assert "own drop time does not count" in _said(replace(TANKER, cls=held))
    assert "own drop time" not in _said(replace(TANKER, cls=held, system="salvo"))


@pytest.mark.behaviour
def test_an_own_class_drops_by_its_own_systems() -> None:
    cls = replace(aircraft_classes()["single_engine_tanker"], id="hopper", systems=("gate", "salvo"))
    assert systems_of("single_engine_tanker", cls) == ("gate", "salvo")
    assert resolve(replace(TANKER, cls=cls)).system == "gate"
    with pytest.raises(InputError, match="has no constant"):
        resolve(replace(TANKER, cls=cls, system="constant"))


@pytest.mark.behaviour
@pytest.mark.parametrize(("class_id", "system"), CASES)
def test_every_number_of_the_flow_is_told_with_its_source(class_id: str, system: System) -> None:
    inputs = resolve(Release(class_id=class_id, system=system)).inputs
    assert inputs["system"].value == system
    assert all(used.source for used in inputs.values())
    assert {"load_l", "let_go_l", "stays_on_board_l", "tank_l", "duration_s"} <= inputs.keys()
    assert resolve(Release(class_id=class_id)).system == systems_of(class_id)[0]


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (
            replace(TWIN, load_l=6200.0),
            r"6200 L is more than the tank of a twin-engine scooper.*common practice",
        ),
        (replace(TWIN, load_l=6000.0, let_go_l=6001.0), "6000 L are on board"),
        (replace(TWIN, let_go_l=1000.0), "whole compartments"),
        (replace(TWIN, doors=2, let_go_l=3050.0), "both say how much"),
        (replace(TWIN, doors=5), "there are 4"),
        (replace(TWIN, doors=0), "there are 4"),
        (replace(TWIN, setting=4.0), "takes no setting"),
        (replace(TWIN, interval_s=1.0), "system trail"),
        (replace(TWIN, opening=0.5), "takes no opening"),
        (replace(TWIN, system="constant"), "has no constant"),
        (replace(TANKER, opening=0.5), "system gate"),
        (replace(TANKER, setting=5.0), "no setting 5"),
        (replace(TANKER, setting=6.0), "0.5, 1, 2, 3, 4"),
        (replace(TANKER, setting=math.nan), "no setting nan"),
        (replace(TANKER, setting=4.0, duration_s=2.0), "both say how fast"),
        (replace(TWIN, wind_from_deg=270.0), "without its speed"),
        (Release(class_id="medium_helicopter", system="gate"), "bucket, belly_tank"),
    ],
)
def test_what_the_tank_cannot_do_is_refused_with_its_mend(wrong: Release, words: str) -> None:
    with pytest.raises(InputError, match=words) as told:
        resolve(wrong)
    assert told.value.problems[0].mend
    assert told.value.problems[0].field


@pytest.mark.behaviour
def test_a_bucket_on_an_aircraft_with_a_tank_is_refused() -> None:
    cls = aircraft_classes()["heavy_helicopter"].filling_by("snorkel")
    with pytest.raises(InputError, match="bucket"):
        resolve(Release(class_id=cls.id, cls=cls, system="bucket"))


@pytest.mark.behaviour
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -1e9, 1e9])
@pytest.mark.parametrize(
    "field",
    ["load_l", "let_go_l", "height_m", "speed_mps", "heading_deg", "wind_mps", "wind_from_deg", "temperature_c",
     "humidity_pct", "canopy_m", "leaf_area", "duration_s", "interval_s", "opening"],
)  # fmt: skip
def test_no_number_that_is_none_or_absurd_gets_through(field: str, value: float) -> None:
    windy = replace(TWIN, heading_deg=0.0, wind_mps=3.0, wind_from_deg=90.0)
    with pytest.raises(OutsideRangeError):
        resolve(replace(windy, **cast("dict[str, Any]", {field: value})))


@pytest.mark.behaviour
def test_a_flow_that_no_tank_has_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match="flow"):
        resolve(Release(class_id="very_large_tanker", duration_s=0.5))
    with pytest.raises(OutsideRangeError, match="flow"):
        resolve(Release(class_id="light_helicopter", load_l=60.0, duration_s=60.0))


@pytest.mark.behaviour
@pytest.mark.parametrize(
    ("t_s", "l_per_s"),
    [
        ((0.0, 1.0), (5.0,)),
        ((0.0, 0.0, 1.0), (0.0, 5.0, 0.0)),
        ((0.0, 1.0, 2.0), (0.0, -5.0, 0.0)),
        ((0.0, 1.0, 2.0), (0.0, math.nan, 0.0)),
        ((0.0, 1.0, math.inf), (0.0, 1.0, 0.0)),
        ((0.0, 1.0), (0.0, 5.0)),
        ((0.0, 1.0), (0.0, 0.0)),
    ],
)
def test_what_is_no_flow_is_refused(t_s: tuple[float, ...], l_per_s: tuple[float, ...]) -> None:
    with pytest.raises(InputError, match="no flow"):
        Flow(t_s, l_per_s)


def _said(release: Release) -> str:
    return " | ".join(f"{f.code}/{f.level}: {f.message}" for f in pattern(release).findings)


@pytest.mark.behaviour
def test_beyond_what_is_known_of_the_class_a_finding_stands() -> None:
    quiet = _said(replace(TWIN, load_l=6000.0, wind_mps=0.0))
    assert "data_missing" not in quiet
    assert "agent" not in quiet
    assert "data_missing/caution: Higher than" in _said(replace(TWIN, height_m=160 * FOOT))
    assert "data_missing/unknown: No drop test" in _said(replace(TWIN, height_m=320 * FOOT))
    assert "No drop test" in _said(Release(class_id="medium_helicopter", height_m=154 * FOOT))
    assert "data_missing/caution: Slower than" in _said(replace(TWIN, speed_mps=90 * KNOT))
    assert "data_missing/caution: Faster than" in _said(replace(TWIN, speed_mps=111 * KNOT))
    assert "data_missing/caution: Only the larger" in _said(
        Release(class_id="heavy_helicopter", load_l=5000.0)
    )


@pytest.mark.derived
def test_a_full_tank_of_retardant_is_heavier_than_one_of_water() -> None:
    """1.085 against 0.998 kg/L (handbook densities): a full tank is 9 % over what it is known to lift."""
    assert "agent/caution" in _said(replace(TWIN, agent="retardant"))
    assert "agent/caution" not in _said(replace(TWIN, agent="retardant", load_l=5600.0))
    assert "agent/caution" not in _said(Release(class_id="large_tanker", agent="retardant"))


@pytest.mark.behaviour
def test_the_page_of_systems_is_that_of_the_shipped_ones() -> None:
    """Written by tools/systems_page.py; run it after a change of a system or a class."""
    page = Path(__file__).parents[2] / "docs" / "tank-systems.md"
    assert systems_page() == page.read_text(encoding="utf-8")
