"""Limits set by an incident: taken over, refused, or standing as a caution."""

from __future__ import annotations

from pathlib import Path

import pytest

from store.asking import edit, errors, the_error, warnings_of
from wetline.model import shipped_limits
from wetline.store import limits_page, read_incident

pytestmark = pytest.mark.behaviour

DOCS = Path(__file__).parents[2] / "docs"


def test_a_stricter_limit_is_used_without_a_caution(folder: Path) -> None:
    incident = read_incident(folder)
    assert incident.limits.value("people_stop_m") == 80
    assert incident.limits["people_stop_m"].source == "Sorrin fire service order 12"
    assert incident.limits["people_stop_m"].date == "2026-05-01"
    assert incident.limit_findings == ()


def test_the_other_limits_stay_as_shipped(folder: Path) -> None:
    limits = read_incident(folder).limits
    shipped = shipped_limits()
    assert {n for n in shipped.by_name if limits[n] != shipped[n]} == {"people_stop_m"}


def test_a_looser_limit_stands_as_a_caution(folder: Path) -> None:
    edit(folder / "incident.toml", "value = 80", "value = 40")
    incident = read_incident(folder)
    (finding,) = incident.limit_findings
    assert finding.code == "limit_changed"
    assert finding.level == "caution"
    assert finding.refers_to == "people_stop_m"
    assert finding.value == "40 m"
    assert finding.limit == "60 m"
    assert "Sorrin fire service order 12" in finding.source
    assert incident.limits.value("people_stop_m") == 40


def test_looser_upward_is_a_caution_too(folder: Path) -> None:
    edit(folder / "incident.toml", "limits.people_stop_m]\nvalue = 80", "limits.duty_day_h]\nvalue = 16")
    assert [f.refers_to for f in read_incident(folder).limit_findings] == ["duty_day_h"]


@pytest.mark.parametrize(
    ("new", "field"),
    [
        ("[limits.people_stop]\nvalue = 80", "limits.people_stop"),
        ('[limits.people_stop_m]\nvalue = "80"', "limits.people_stop_m.value"),
        ("[limits.people_stop_m]\nvalue = true", "limits.people_stop_m.value"),
        ("[limits.people_stop_m]\nvalue = inf", "limits.people_stop_m.value"),
        ("[limits.people_stop_m]\nvalue = 0", "limits.people_stop_m.value"),
        ("[limits.people_stop_m]\nvalue = -60", "limits.people_stop_m.value"),
        ("[limits.people_stop_m]", "limits.people_stop_m.value"),
        ("[limits.go_round_pct]\nvalue = 110", "limits.go_round_pct.value"),
        ("[limits.people_stop_m]\nvalue = 120", "limits.people_stop_m"),
        ("[limits.hold_water_min]\nvalue = 5", "limits.hold_water_min"),
    ],
)
def test_a_limit_that_cannot_be_used_is_refused(folder: Path, new: str, field: str) -> None:
    edit(folder / "incident.toml", "[limits.people_stop_m]\nvalue = 80", new)
    assert the_error(folder).field == field


def test_a_bare_number_is_refused_with_the_form_to_write(folder: Path) -> None:
    edit(
        folder / "incident.toml",
        '[limits.people_stop_m]\nvalue = 80\nsource = "Sorrin fire service order 12"\ndate = 2026-05-01',
        "[limits]\npeople_stop_m = 80",
    )
    problem = the_error(folder)
    assert problem.field == "limits.people_stop_m"
    assert "source" in problem.mend


def test_a_name_that_is_near_is_suggested(folder: Path) -> None:
    edit(folder / "incident.toml", "[limits.people_stop_m]", "[limits.people_stops_m]")
    assert "people_stop_m" in the_error(folder).message


def test_a_limit_without_a_source_is_refused(folder: Path) -> None:
    edit(folder / "incident.toml", 'source = "Sorrin fire service order 12"\n', "")
    assert the_error(folder).field == "limits.people_stop_m.source"


def test_a_limit_without_a_date_is_remarked(folder: Path) -> None:
    edit(folder / "incident.toml", "\ndate = 2026-05-01", "")
    assert [p.field for p in warnings_of(folder, "incident.toml")] == ["limits.people_stop_m.date"]


def test_a_cut_off_before_sunset_may_be_asked_for(folder: Path) -> None:
    edit(
        folder / "incident.toml",
        "limits.people_stop_m]\nvalue = 80",
        "limits.cut_off_after_sunset_min]\nvalue = -30",
    )
    assert errors(folder) == []
    assert read_incident(folder).limits.value("cut_off_after_sunset_min") == -30


def test_the_page_of_limits_is_the_table_of_limits() -> None:
    """Written by tools/limits_page.py; run it after a change of limits.csv."""
    assert (DOCS / "limits.md").read_text(encoding="utf-8") == limits_page()


def test_the_page_names_every_limit_with_value_and_source() -> None:
    page = (DOCS / "limits.md").read_text(encoding="utf-8")
    for limit in shipped_limits().by_name.values():
        assert f"| `{limit.name}` | {limit.text()} | {limit.looser} | {limit.help} | {limit.source} |" in page
