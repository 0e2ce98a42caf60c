"""A bar on the screen while long work goes on; nothing where stderr is no screen."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

__all__ = ["progress"]


@contextmanager
def progress(what: str) -> Iterator[Callable[[int, int], None]]:
    """A function to call with how much is done, of how much. The bar stands on stderr."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    console = Console(stderr=True)
    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    # Redrawn only when told: a thread of its own must not be alive while processes are forked.
    with Progress(*columns, console=console, auto_refresh=False, disable=not console.is_terminal) as bar:
        task = bar.add_task(what, total=None, visible=False)

        def tell(done: int, of: int) -> None:
            bar.update(task, completed=done, total=of, visible=True, refresh=True)

        yield tell
