"""Write docs/aircraft.md afresh after a change of a class or of the table of its quantities."""

from __future__ import annotations

from pathlib import Path

from wetline.store import aircraft_page, write_text_atomic

write_text_atomic(Path(__file__).parents[1] / "docs" / "aircraft.md", aircraft_page())
