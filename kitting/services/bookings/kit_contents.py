"""What lies in the kit of a booking now, lot by lot, where it goes, and what happened to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from sqlalchemy.orm import Session

from kitting.calc.stock.storage import fitted_on
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.kit_events import read_events
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.set_aside import fitting_day
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.trays import read_trays
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import bags_of, shares_of
from kitting.views.bookings import BookingView
from kitting.views.kit import Bag
from kitting.views.kit_life import KitContentsView, KitLineView


def kit_contents(session: Session, number: str, today: date) -> KitContentsView:
    """What lies in a kit, judged for its day, and what happened to it.

    Of a booking that is over, what happened is told; nothing lies in its kit any more. Raises
    UnknownNameError.
    """
    booking = find_booking(session, number)
    view = booking_view(session, booking, today)
    is_open = view.state in OPEN_BOOKINGS
    lines = tuple(_lines(view, _bags(session, booking), read_trays(session, booking)))
    return KitContentsView(
        booking=view.number,
        registration=view.registration,
        vehicle=view.vehicle,
        jobs=view.jobs,
        state=view.state,
        judged_for=fitted_on(fitting_day(session, booking), today if is_open else None),
        set_aside=view.set_aside,
        lines=lines if is_open else (),
        to_pick=sum(1 for need in view.needs if need.to_pick) if is_open else 0,
        events=read_events(session, booking),
        kit_in=view.kit_in,
    )


def _bags(session: Session, booking: BookingFacts) -> tuple[Bag, ...]:
    """The bags by the plan of now; none where none can be made."""
    if booking.state not in OPEN_BOOKINGS:
        return ()
    try:
        return tuple(bags_of(plan_of(session, booking)))
    except KittingError:
        # The catalogue has changed so that it cannot be planned: the booking tells that itself.
        return ()


def _lines(
    view: BookingView, bags: Sequence[Bag], trays: Mapping[str, int]
) -> Iterator[KitLineView]:
    for need in view.needs:
        numbers = tuple(share.bag for share in shares_of(bags, need.item, need.rule))
        joints = tuple(dict.fromkeys(bag.joint for bag in bags if bag.number in numbers))
        extra = need.extra
        for source in need.sources:
            if not source.picked:
                continue
            beyond = min(extra, source.picked)
            extra -= beyond
            yield KitLineView(
                item=need.item,
                name=need.name,
                unit=need.unit,
                quantity=source.picked,
                rule=need.rule,
                extra=beyond,
                lot=source.lot,
                bin=source.bin,
                state=source.state,
                keeps_to=source.keeps_to,
                keeps_why=source.keeps_why,
                on_hold=source.on_hold,
                customers=source.customers,
                bags=numbers,
                joints=joints,
                trays=tuple(sorted({trays.get(joint, 1) for joint in joints})) if trays else (),
            )
