"""What a customer chose for a booking, of the splits that customers settle."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from kitting.services.planning.facts import Car
from kitting.services.planning.variants import chosen_options
from kitting.tables.bookings import BookingChoice


def write_choices(session: Session, booking_id: int, car: Car, chosen: Mapping[str, str]) -> None:
    """Keep what was chosen now (split → option, by code); what was chosen before of others stays.

    Raises UnknownNameError for what the car's units do not have, KittingError for a split that a
    look at the car settles.
    """
    options = chosen_options(car, chosen)
    if not options:
        return
    of_booking = BookingChoice.booking_id == booking_id
    session.execute(delete(BookingChoice).where(of_booking, BookingChoice.split_id.in_(options)))
    session.execute(
        insert(BookingChoice),
        [
            {"booking_id": booking_id, "split_id": split, "option_id": option}
            for split, option in options.items()
        ],
    )
