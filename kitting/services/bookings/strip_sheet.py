"""The strip sheet of a booking: with its number, its slot, and the old seals counted so far."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.facts.verdicts import worst_first
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.kit_sheets import NOT_PRINTED, own_doubts
from kitting.services.bookings.seal_count import removal_view
from kitting.services.bookings.states import find_booking, require_open
from kitting.services.bookings.view import booking_view
from kitting.services.tightening.strip import strip
from kitting.views.strip import StripView


def strip_of(session: Session, number: str, today: date | None = None) -> StripView:
    """What comes off the car of a booking, step by step.

    Raises UnknownNameError, and KittingError for a booking that is over.
    """
    booking = find_booking(session, number)
    require_open(booking, NOT_PRINTED)
    view = strip(session, request_of(session, booking))
    removal = removal_view(session, booking)
    counted = {joint.joint: joint.counted for joint in removal.joints}
    steps = tuple(
        replace(
            step,
            joints=tuple(replace(one, counted=counted.get(one.joint)) for one in step.joints),
        )
        for step in view.steps
    )
    own = own_doubts(booking_view(session, booking, today))
    return replace(
        view,
        steps=steps,
        doubts=worst_first((*view.doubts, *own)),
        booking=booking.number,
        slot=removal.slot,
    )
