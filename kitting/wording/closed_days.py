"""Days on which nobody works, in words."""

from __future__ import annotations

from datetime import date, timedelta

from kitting.views.possible_dates import ClosedDayView, DatesView
from kitting.wording.figures import day
from kitting.wording.language import _, dated

# Any Monday names the weekdays.
_A_MONDAY = date(2024, 1, 1)


def closed_texts(view: DatesView) -> tuple[str, ...]:
    """When the branch is closed: "every week: Sat, Sun", then day by day."""
    week = ", ".join(dated(_A_MONDAY + timedelta(days=number), "%a") for number in view.weekend)
    every = (_("every week: {weekdays}", weekdays=week),) if week else ()
    return (*every, *map(closed_day, view.closed))


def closed_day(view: ClosedDayView) -> str:
    """ "2026-04-03 Good Friday"."""
    return f"{day(view.on)} {view.reason}"
