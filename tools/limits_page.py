"""Write docs/limits.md afresh after a change of the table of limits."""

from __future__ import annotations

from pathlib import Path

from wetline.store import limits_page, write_text_atomic

write_text_atomic(Path(__file__).parents[1] / "docs" / "limits.md", limits_page())
