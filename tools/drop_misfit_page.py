"""Write the table of misfits in docs/drop-model.md afresh, after a change of anchors, settings or physics."""

from __future__ import annotations

from pathlib import Path

from wetline.drops.misfit import misfit_rows
from wetline.store import write_text_atomic

PAGE = Path(__file__).parents[1] / "docs" / "drop-model.md"
BEGIN, END = "<!-- misfit: begin -->\n", "<!-- misfit: end -->\n"
PARCELS = 20_000

text = PAGE.read_text(encoding="utf-8")
before, after = text.split(BEGIN)[0], text.split(END)[1]
write_text_atomic(PAGE, before + BEGIN + "\n".join(misfit_rows(PARCELS)) + "\n" + END + after)
