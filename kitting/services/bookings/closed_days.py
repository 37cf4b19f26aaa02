"""Whether a branch is closed on the day of a booking: told, never forbidden."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.services.branches import find_branch
from kitting.services.calendars import branch_calendar
from kitting.views.bookings import BranchClosedView


def closed_on(session: Session, branch: str, day: date, now: datetime) -> BranchClosedView | None:
    """That a branch is closed on a day, with its holiday; None if it works. UnknownNameError."""
    calendar = branch_calendar(find_branch(session, branch), now)
    if calendar.is_open(day):
        return None
    return BranchClosedView(branch, day, calendar.closed.get(day))
