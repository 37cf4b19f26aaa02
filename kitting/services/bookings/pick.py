"""Picking, counting old seals out, closing and cancelling: what becomes of a kit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Engine, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.booking import find_booking, require_step
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import let_go, post, take
from kitting.services.stock.lots import POLICY, find_items, require_amount, shelf_of, unfit
from kitting.services.stock.opened_packs import open_pack
from kitting.store import writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.views.bookings import BookingView


@dataclass(frozen=True, slots=True)
class Closing:
    """What came back unused and what was spoilt, by item code, in thousandths of its unit.

    `units` says in which unit each was told, where it was; another than the item's is refused.
    """

    returned: Mapping[str, int]
    scrapped: Mapping[str, int]
    units: Mapping[str, str] = field(default_factory=dict)


def pick(
    engine: Engine, number: str, at: datetime, policy: str = POLICY, token: str | None = None
) -> BookingView:
    """Put everything into the kit that is promised from the shelves.

    What is held or expires before the fitting date stays where it is. Raises KittingError for a
    booking that is closed or cancelled.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"pick {booking.number}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking, policy)
        if booking.state not in OPEN_BOOKINGS:
            raise KittingError(f"{booking.number} is {booking.state}; nothing of it is picked")
        for promise, lot, item in session.execute(
            select(Promise, Lot, Item)
            .join(Lot, Promise.lot_id == Lot.id)
            .join(Item, Lot.item_id == Item.id)
            .where(Promise.booking_id == booking.id, Promise.waiting > 0)
            .order_by(Promise.id)
        ).all():
            if unfit(lot, shelf_of(lot, item, policy), booking.fit_on) is None:
                open_pack(session, lot, item, take(session, promise.id, at), at)
        record(session, token, request, booking.branch_id, at)
        session.expire_all()
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def cancel(
    engine: Engine, number: str, at: datetime, policy: str = POLICY, token: str | None = None
) -> BookingView:
    """Cancel a booking: its promises are free again, what was picked goes back to its lots."""
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"cancel {booking.number}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking, policy)
        require_step(booking, "cancelled")
        for promise in _promises(session, booking.id):
            if promise.picked and promise.lot_id is not None:
                post(session, promise.lot_id, "put back", promise.picked, at, booking.id)
                session.execute(
                    update(Promise).where(Promise.id == promise.id).values(returned=Promise.picked)
                )
            if promise.waiting:
                let_go(session, promise.id, promise.waiting)
        session.execute(update(Booking).where(Booking.id == booking.id).values(state="cancelled"))
        record(session, token, request, booking.branch_id, at)
        session.expire_all()
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def _promises(session: Session, booking_id: int) -> Sequence[Promise]:
    return session.scalars(
        select(Promise).where(Promise.booking_id == booking_id).order_by(Promise.id)
    ).all()


def close(
    engine: Engine,
    number: str,
    closing: Closing,
    at: datetime,
    policy: str = POLICY,
    despite: str | None = None,
    token: str | None = None,
) -> BookingView:
    """Close a booking: everything picked was used but what came back or was spoilt.

    What came back goes to its lot again; promises not picked are free again. Raises KittingError
    when more is told back than was picked: nothing may vanish or appear.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"close {booking.number}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking, policy)
        require_step(booking, "closed")
        promises = _promises(session, booking.id)
        codes = dict(
            session.execute(
                select(Item.id, Item.code).where(Item.id.in_({p.item_id for p in promises}))
            ).all()
        )
        returned, scrapped = _told(session, closing)
        for code, amount in (*returned.items(), *scrapped.items()):
            if amount < 0:
                raise KittingError(f"{code}: less than nothing cannot come back. Count again")
        for promise in promises:
            code = codes[promise.item_id]
            spoilt = min(promise.picked, scrapped.get(code, 0))
            back = min(promise.picked - spoilt, returned.get(code, 0))
            scrapped[code] = scrapped.get(code, 0) - spoilt
            returned[code] = returned.get(code, 0) - back
            session.execute(
                update(Promise)
                .where(Promise.id == promise.id)
                .values(used=promise.picked - spoilt - back, returned=back, scrapped=spoilt)
            )
            if back and promise.lot_id is not None:
                post(session, promise.lot_id, "put back", back, at, booking.id)
            if promise.waiting:
                let_go(session, promise.id, promise.waiting)
        _refuse_left(session, booking, returned, scrapped)
        session.execute(
            update(Booking)
            .where(Booking.id == booking.id)
            .values(
                state="closed",
                closed_at=at,
                override=_joined(booking.override, despite),
            )
        )
        record(session, token, request, booking.branch_id, at)
        session.expire_all()
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def _refuse_left(
    session: Session, booking: Booking, returned: Mapping[str, int], scrapped: Mapping[str, int]
) -> None:
    left = {
        code: amount for told in (returned, scrapped) for code, amount in told.items() if amount
    }
    if left:
        units = dict(session.execute(select(Item.code, Item.unit).where(Item.code.in_(left))).all())
        told = ", ".join(
            f"{format_quantity(amount, units.get(code, 'each'))} {code}"
            for code, amount in left.items()
        )
        raise KittingError(
            f"{booking.number}: {told} more is told back or spoilt than was picked. Nothing was"
            " recorded; count again"
        )


def _told(session: Session, closing: Closing) -> tuple[dict[str, int], dict[str, int]]:
    """What came back and what was spoilt, checked against the units of the items."""
    items = find_items(session, [*closing.returned, *closing.scrapped])
    for told in (closing.returned, closing.scrapped):
        for code, amount in told.items():
            unit = closing.units.get(code, items[code].unit)
            require_amount(Quantity(amount, unit), items[code])
    return dict(closing.returned), dict(closing.scrapped)


def _joined(before: str | None, now: str | None) -> str | None:
    return "; ".join(text for text in (before, now) if text) or None
