"""Closing: refused over seals that nobody counted or stock that is held by now."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine

from kitting.errors import KittingError
from kitting.services.bookings import pick as picking
from kitting.services.bookings.booking import find_booking, require_step
from kitting.services.bookings.pick import Closing
from kitting.services.bookings.seal_count import removal_view, uncounted
from kitting.services.bookings.view import booking_view, unfit_sources
from kitting.services.db.idempotency import earlier
from kitting.services.stock.lots import POLICY
from kitting.store import reading
from kitting.views.bookings import BookingView


def close(
    engine: Engine,
    number: str,
    closing: Closing,
    at: datetime,
    despite: str | None = None,
    policy: str = POLICY,
    token: str | None = None,
) -> BookingView:
    """Close a booking as `picking.close` does, after the checks that protect the car.

    Raises KittingError while old seals are not counted out of every joint, a count differs, or
    something in the kit is held or expired by now, unless `despite` gives the reason.
    """
    if despite is not None and not despite.strip():
        raise KittingError("an empty reason is none: say why it is closed all the same")
    with reading(engine) as session:
        booking = find_booking(session, number)
        # Sent again after it went through, the checks would find a booking that is closed.
        if earlier(session, token, f"close {booking.number}") is not None:
            return booking_view(session, booking, policy)
        require_step(booking, "closed")
        removal = removal_view(session, booking)
        told = list(removal.withheld)
        left = uncounted(removal)
        if left:
            told.append(f"old seals not counted out of {', '.join(left)}")
        for need in booking_view(session, booking, policy).needs:
            told += [
                f"{need.item}, {source.source}: {source.warning}"
                for source in unfit_sources(need)
                if source.picked
            ]
    if told and despite is None:
        raise KittingError(
            f"{number}: {'; '.join(told)}. Count (kitting count {number} JOINT=PIECES) or exchange"
            " it, or give the reason with --despite"
        )
    return picking.close(engine, number, closing, at, policy, despite if told else None, token)
