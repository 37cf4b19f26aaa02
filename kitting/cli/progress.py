"""Progress bars, on the error stream, for what takes longer than a second."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

_LONG = 5_000_000  # bytes: a shorter list is read before a bar could be looked at


@contextmanager
def rows_read(path: Path) -> Iterator[Callable[[int], None] | None]:
    """A listener that counts the rows of a long list; None for a short one."""
    try:
        size = path.stat().st_size
    except OSError:
        size = 0
    if size < _LONG:
        yield None
        return
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    from kitting.cli.screen import console

    columns = (SpinnerColumn(), TextColumn("{task.completed:,.0f} rows"), TimeElapsedColumn())
    with Progress(*columns, console=console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None)
        yield lambda rows: progress.update(task, completed=rows)
