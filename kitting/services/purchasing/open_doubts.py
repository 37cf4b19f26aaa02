"""What is not fine of some bookings and no purchase settles."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.services.bookings.unbooked import Unbooked, unbooked_doubts
from kitting.services.bookings.view import booking_views
from kitting.services.purchasing.shortages import ShortBooking
from kitting.views.purchasing import OpenDoubtView

# What is on hold or expired is bought anew; of unknown age it is not.
_BOUGHT_ANEW = (Aspect.HOLD, Aspect.AGE)


def open_doubts(session: Session, bookings: Sequence[ShortBooking]) -> tuple[OpenDoubtView, ...]:
    """The doubts of bookings that stay when everything has come, in the order given."""
    views = booking_views(session, [booking.id for booking in bookings])
    return tuple(
        OpenDoubtView(view.number, doubt) for view in views for doubt in lasting(view.doubts)
    )


def open_doubts_unbooked(session: Session, case: Unbooked) -> tuple[Doubt, ...]:
    """The same of a kit that nobody has booked."""
    return lasting(unbooked_doubts(session, case))


def lasting(doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """The doubts that no purchase settles."""
    return tuple(doubt for doubt in doubts if not _bought(doubt))


def _bought(doubt: Doubt) -> bool:
    if doubt.aspect is Aspect.STOCK:
        return True
    return doubt.verdict is Verdict.NO and doubt.aspect in _BOUGHT_ANEW
