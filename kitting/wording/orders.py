"""Orders in words: how long there is to order, and what happened to an order since."""

from __future__ import annotations

from kitting.views.purchasing import NoticeView, OrderView
from kitting.wording.figures import amount, day


def time_left(minutes: int) -> str:
    """A time until a cut-off: "1 h 10 min", "2 d 3 h"."""
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if days else f"{hours} h {minutes:02d} min"


def order_standing(view: OrderView) -> str:
    """Where an order stands: "placed", "placed, OVERDUE"."""
    return f"{view.state}, OVERDUE" if view.overdue else str(view.state)


def announced(notice: NoticeView, unit: str) -> str:
    """What the supplier announced: "due 2026-04-20, 2 of it once more (said on 2026-04-09)"."""
    again = f", {amount(notice.again, unit)} of it once more" if notice.again else ""
    why = f": {notice.why}" if notice.why else ""
    return f"due {day(notice.due)}{again} (said on {day(notice.at)}){why}"
