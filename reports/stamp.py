"""When a sheet is printed: told by the command that prints it, shown on every page."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime

_PRINTED: ContextVar[datetime | None] = ContextVar("printed", default=None)


@contextmanager
def printed_at(moment: datetime) -> Iterator[None]:
    """Sheets drawn inside say that they were printed then, on the wall of the branch."""
    before = _PRINTED.set(moment)
    try:
        yield
    finally:
        _PRINTED.reset(before)


def time_printed() -> datetime | None:
    """When what is drawn now is printed; None where nobody told."""
    return _PRINTED.get()
