"""What a plan asks for, written down with its booking: needs, licences, clashes."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.facts.words import NeedRule, Rule
from kitting.services.bookings.states import BookingFacts
from kitting.services.bookings.supersession import Wanted, replaced
from kitting.services.db.reason_text import reason_as_text
from kitting.tables.bookings import BookingClash, BookingLicence, BookingNeed
from kitting.tables.items import Item
from kitting.tables.vocabulary import Licence
from kitting.views.plan import PlanView

_ITEMS = select(Item.code, Item.id).where(Item.code.in_(bindparam("codes", expanding=True)))
_LICENCES = select(Licence.code, Licence.id).where(
    Licence.code.in_(bindparam("codes", expanding=True))
)


def needs_of(planned: PlanView) -> dict[tuple[str, NeedRule], int]:
    """What a plan takes: (item code, rule) → thousandths. Spares for inspections included."""
    needs: dict[tuple[str, NeedRule], int] = defaultdict(int)
    for line in planned.lines:
        amount = line.quantity if line.rule == Rule.INSPECT else line.to_take
        if amount and not line.stopped_by and line.rule != Rule.KEEP:
            needs[line.item, NeedRule(line.rule)] += amount
    for use in planned.uses:
        if use.to_take and not use.stopped_by:
            needs[use.item, NeedRule.USE] += use.to_take
    return dict(needs)


def write_plan(session: Session, booking: BookingFacts, planned: PlanView) -> None:
    """Write down what a plan asks for, instead of what was planned before."""
    for table in (BookingNeed, BookingLicence, BookingClash):
        session.execute(delete(table).where(table.booking_id == booking.id))
    _write_needs(session, booking, planned)
    _write_licences(session, booking.id, planned)
    clashes = [
        {"booking_id": booking.id, "seq": seq, "text": reason_as_text(clash)}
        for seq, clash in enumerate(dict.fromkeys(one.reason for one in planned.clashes))
    ]
    if clashes:
        session.execute(insert(BookingClash), clashes)


def _write_needs(session: Session, booking: BookingFacts, planned: PlanView) -> None:
    needs = needs_of(planned)
    codes = sorted({item for item, _ in needs})
    ids = dict(session.execute(_ITEMS, {"codes": codes}).all())
    wanted = [Wanted(ids[item], rule, amount) for (item, rule), amount in sorted(needs.items())]
    rows = replaced(session, booking, wanted)
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
    if not planned.licences:
        return
    codes = [licence.code for licence in planned.licences]
    ids = dict(session.execute(_LICENCES, {"codes": codes}).all())
    session.execute(
        insert(BookingLicence),
        [
            {
                "booking_id": booking_id,
                "licence_id": ids[licence.code],
                "asked_by": ", ".join(licence.asked_by),
            }
            for licence in planned.licences
        ],
    )
