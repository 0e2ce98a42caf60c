"""Write the worked examples of docs/drop.md afresh after a change of what `wetline drop` answers."""

from __future__ import annotations

from pathlib import Path

from wetline.cli.worked_examples import with_output
from wetline.store import write_text_atomic

PAGE = Path(__file__).parents[1] / "docs" / "drop.md"

write_text_atomic(PAGE, with_output(PAGE.read_text(encoding="utf-8")))
