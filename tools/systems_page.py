"""Write docs/tank-systems.md afresh after a change of the tank and door systems or of a class."""

from __future__ import annotations

from pathlib import Path

from wetline.drops.systems_page import systems_page
from wetline.store import write_text_atomic

write_text_atomic(Path(__file__).parents[1] / "docs" / "tank-systems.md", systems_page())
