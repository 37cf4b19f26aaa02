"""Orders in words: how long there is to order, and what happened to an order since."""

from __future__ import annotations


def time_left(minutes: int) -> str:
    """A time until a cut-off: "1 h 10 min", "2 d 3 h"."""
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if days else f"{hours} h {minutes:02d} min"
