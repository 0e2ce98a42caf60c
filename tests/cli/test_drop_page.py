"""`docs/drop.md`: examples with their real output, every option, every key."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from cli.asking_commands import ask
from wetline.cli.drop_options import QuestionOptions, ReleaseOptions
from wetline.cli.worked_examples import with_output

pytestmark = pytest.mark.behaviour

PAGE = (Path(__file__).parents[2] / "docs" / "drop.md").read_text(encoding="utf-8")
ENVELOPE = {"incident", "time", "utc_offset_min", "seed", "members", "cell_m", "band", "cautions"}


def test_the_examples_print_what_the_page_shows() -> None:
    """Written by tools/drop_page.py; run it after a change of what `wetline drop` answers."""
    assert PAGE.count("\n$ wetline drop ") == 2
    assert with_output(PAGE) == PAGE


def test_every_option_stands_on_the_page() -> None:
    names = [f.name for options in (ReleaseOptions, QuestionOptions) for f in fields(options)]
    assert [name for name in names if f"`--{name.replace('_', '-')}`" not in PAGE] == []


def test_every_key_of_the_answer_stands_on_the_page() -> None:
    asked = ("--level", "2", "--intensity-kw-per-m", "900", "--heading-deg", "10", "--target", "47.2,-31.8")
    keys = ask("drop", "--class", "twin_engine_scooper", *asked, "--json").answer.keys() - ENVELOPE
    stems = {re.sub(r"(_summed)?(_low|_high)?(_by_level)?$", "", key) for key in keys}
    assert sorted(stem for stem in stems if f"`{stem}" not in PAGE and f"`{stem}_by_level" not in PAGE) == []
