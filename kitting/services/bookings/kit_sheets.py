"""Pick list and labels of a booking: the plan's, with lots, promises and what is short."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.facts.verdicts import Doubt, worst_first
from kitting.services.bookings.bag_lots import with_lots
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.pick_rows import read_picked, rows_of
from kitting.services.bookings.slots import slots_of
from kitting.services.bookings.states import find_booking, require_open
from kitting.services.bookings.trays import read_trays
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import bags_of, kit_view
from kitting.services.kit.pick import pick_view, walked
from kitting.views.bookings import BookingView, Lack, PromisedView
from kitting.views.kit import KitView, PickView, ShortageView

_SHORT = (Lack.SHORT, Lack.SPARE_SHORT)
NOT_PRINTED = "its sheets are not printed"  # of a booking that is over: they would be read as live


def pick_of(session: Session, number: str, today: date | None = None) -> PickView:
    """The pick list of a booking: from which lot to take what, and what is short."""
    booking = find_booking(session, number)
    require_open(booking, NOT_PRINTED)
    view = booking_view(session, booking, today)
    planned, trays = plan_of(session, booking), read_trays(session, booking)
    listed = pick_view(planned)
    lying = {bag.number: trays.get(bag.joint, 1) for bag in bags_of(planned)} if trays else {}
    needs = {(need.item, need.rule): need for need in view.needs}
    picked = read_picked(session, booking.id)
    rows = [
        replace(
            row,
            trays=tuple(sorted({lying[bag] for bag in row.bags if bag in lying})),
        )
        for line in listed.lines
        for row in rows_of(line, needs.get((line.content.item, line.content.rule)), picked)
    ]
    return replace(
        listed,
        lines=walked(rows),
        booking=view.number,
        doubts=_doubts(listed.doubts, view),
        slot=slots_of(session, [booking.id]).get(booking.id),
        kit_in=view.kit_in,
    )


def _doubts(planned: tuple[Doubt, ...], view: BookingView) -> tuple[Doubt, ...]:
    """What the plan leaves in doubt, and what the booking does; what is short has its own place."""
    own = (doubt for doubt in own_doubts(view) if doubt.because.code not in _SHORT)
    return worst_first((*planned, *own))


def own_doubts(view: BookingView) -> tuple[Doubt, ...]:
    """What of a booking is in doubt beside what its plan says, which a sheet tells by itself."""
    return tuple(doubt for doubt in view.doubts if isinstance(doubt.because.code, Lack))


def labels_of(session: Session, number: str, today: date | None = None) -> KitView:
    """The labels of a booking: its number, what is short, the earliest expiry in the kit."""
    booking = find_booking(session, number)
    require_open(booking, NOT_PRINTED)
    view = booking_view(session, booking, today)
    kit = kit_view(plan_of(session, booking))
    trays = read_trays(session, booking)
    return replace(
        kit,
        bags=tuple(
            replace(bag, tray=trays.get(bag.joint, 1) if trays else None)
            for bag in with_lots(kit.bags, view.needs)
        ),
        doubts=_doubts(kit.doubts, view),
        booking=view.number,
        shortages=_shortages(view),
        keeps_to=earliest(source for need in view.needs for source in need.sources),
        kit_in=view.kit_in,
    )


def _shortages(view: BookingView) -> tuple[ShortageView, ...]:
    return tuple(
        ShortageView(
            item=need.item, quantity=need.lacking, unit=need.unit, elsewhere=need.elsewhere
        )
        for need in view.needs
        if need.lacking
    )


def earliest(sources: Iterable[PromisedView]) -> date | None:
    """The earliest expiry of what is in a kit or promised to it; None where all of it keeps."""
    return min((one.keeps_to for one in sources if one.keeps_to is not None), default=None)
