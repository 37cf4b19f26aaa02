"""What a plan asks for, written down with its booking: needs, licences, clashes."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from kitting.services.bookings.supersession import replaced
from kitting.services.db.reason_text import reason_as_text
from kitting.tables.bookings import Booking, BookingClash, BookingLicence, BookingNeed
from kitting.tables.items import Item
from kitting.tables.vocabulary import Licence
from kitting.views.plan import PlanView


def needs_of(planned: PlanView) -> dict[tuple[str, str], int]:
    """What a plan takes: (item code, rule) → thousandths. Spares for inspections included."""
    needs: dict[tuple[str, str], int] = defaultdict(int)
    for line in planned.lines:
        amount = line.quantity if line.rule == "inspect" else line.to_take
        if amount and not line.stopped_by and line.rule != "keep":
            needs[line.item, line.rule] += amount
    for use in planned.uses:
        if use.to_take and not use.stopped_by:
            needs[use.item, "use"] += use.to_take
    return dict(needs)


def write_plan(session: Session, booking: Booking, planned: PlanView, policy: str) -> None:
    """Write down what a plan asks for, instead of what was planned before."""
    _write_needs(session, booking, planned, policy)
    for table in (BookingLicence, BookingClash):
        session.execute(delete(table).where(table.booking_id == booking.id))
    _write_licences(session, booking.id, planned)
    for seq, clash in enumerate(dict.fromkeys(one.reason for one in planned.clashes)):
        session.add(BookingClash(booking_id=booking.id, seq=seq, text=reason_as_text(clash)))
    session.flush()


def _write_needs(session: Session, booking: Booking, planned: PlanView, policy: str) -> None:
    needs = needs_of(planned)
    ids = dict(
        session.execute(
            select(Item.code, Item.id).where(Item.code.in_({item for item, _ in needs}))
        ).all()
    )
    wanted = [(ids[item], rule, amount) for (item, rule), amount in sorted(needs.items())]
    rows = replaced(session, booking.branch_id, wanted, booking.fit_on, policy)
    session.execute(delete(BookingNeed).where(BookingNeed.booking_id == booking.id))
    if rows:
        session.execute(
            insert(BookingNeed),
            [
                {
                    "booking_id": booking.id, "item_id": row.item, "rule": row.rule,
                    "quantity": row.quantity, "note": row.note,
                }
                for row in rows
            ],
        )  # fmt: skip


def _write_licences(session: Session, booking_id: int, planned: PlanView) -> None:
    """What the work asks of the people who do it."""
    ids = dict(
        session.execute(
            select(Licence.code, Licence.id).where(
                Licence.code.in_({licence.code for licence in planned.licences})
            )
        ).all()
    )
    for licence in planned.licences:
        session.add(
            BookingLicence(
                booking_id=booking_id,
                licence_id=ids[licence.code],
                asked_by=", ".join(licence.asked_by),
            )
        )
    session.flush()
