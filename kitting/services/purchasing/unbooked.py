"""What is wanted for a kit that nobody has booked: as for a booking, with nothing promised."""

from __future__ import annotations

from kitting.services.bookings.unbooked import NOT_STORED, Unbooked
from kitting.services.purchasing.market import Buyer
from kitting.services.purchasing.short_facts import ShortBooking
from kitting.services.purchasing.shortages import Wanting, in_order
from kitting.services.stock.opened_life import OpenedLife
from kitting.tables.supply import Branch


def wanting_unbooked(case: Unbooked, owner: Branch) -> Wanting:
    """What the kit needs, for any day; nothing is promised to it."""
    booking = case.booking
    short = ShortBooking(
        id=NOT_STORED,
        number=booking.number,
        branch=owner.id,
        fit_on=booking.fit_on,
        state=booking.state,
        made_at=booking.made_at,
        policy=case.policy,
    )
    buyer = Buyer(
        owner.id, owner.code, owner.country, owner.subdivision, owner.currency, owner.zone
    )
    needs = {NOT_STORED: in_order(case.needs)}
    return Wanting(buyer, (short,), needs, case.needs, (), (), OpenedLife())
