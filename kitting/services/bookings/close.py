"""Closing: refused over seals that nobody counted, and over stock that may not be fitted by now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Engine, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.reasons import Reason
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.closing_accounts import account, goes_back_of
from kitting.services.bookings.closing_faults import closing_faults, not_renewed_of, refused
from kitting.services.bookings.closing_questions import (
    Answers,
    asked,
    questions,
    unlooked,
)
from kitting.services.bookings.findings import Found, Inspected, read_inspected, record_in
from kitting.services.bookings.history import write_history
from kitting.services.bookings.seal_count import count_in
from kitting.services.bookings.set_aside import require_in_work
from kitting.services.bookings.states import BookingFacts, find_booking, require_step
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.lots import find_items, require_amount
from kitting.store import writing
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.views.bookings import BookingView


@dataclass(frozen=True, slots=True)
class Closing:
    """What is told when a booking is closed, by item code in thousandths of its unit.

    `returned` came back, `scrapped` was spoilt, `used` is what was used of spares, of what was
    drawn beyond the plan, and of counted consumables (the rest of these came back); where a spare
    was fitted is not known then, so that its positions count as refitted. `units` says in
    which unit each was given, where it was; another than the item's is refused. `used_up`: nothing
    is left of consumables that are not named. `found` and `counts` are findings and old seals (by
    joint) that are recorded first.
    """

    returned: Mapping[str, int] = field(default_factory=dict)
    scrapped: Mapping[str, int] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    used: Mapping[str, int] = field(default_factory=dict)
    used_up: bool = False
    found: Sequence[Found] = ()
    counts: Mapping[str, int] = field(default_factory=dict)


def close(
    engine: Engine,
    number: str,
    closing: Closing,
    at: datetime,
    despite: str | None = None,
    token: str | None = None,
) -> BookingView:
    """Close a booking: everything picked was used, but for what came back or was scrapped.

    What came back goes to its lot again; promises not picked are free again. Checked and closed in
    one transaction: nobody can put a lot on hold in between.

    Spares of positions that passed their inspection go back too, and what is not needed any more,
    unless something else is told of the item. What became of each position is written into the
    history of the car.

    Raises RefusedError with everything that has to be asked and was not answered: spares of
    positions of which nobody said what was found, what was drawn beyond the plan, counted
    consumables. Raises it too while old seals are not counted out of every joint, a count differs,
    something in the kit is on hold or expired by now, a part that has to be renewed or a consumable
    is not in the kit, such a part came back or was scrapped, a consumable came back whole, or the
    catalogue was changed, unless `despite` gives the reason. Raises KittingError when more came
    back or was scrapped than was picked: nothing may vanish or appear; and for what is set aside.
    """
    if despite is not None and not despite.strip():
        raise KittingError("a reason is required: say why it is closed all the same")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"close {booking.number}"
        # Sent again after it went through, the checks would find a booking that is closed.
        if earlier(session, token, request) is not None:
            return booking_view(session, booking)
        require_step(booking, BookingState.CLOSED)
        require_in_work(session, booking, "it is not closed there")
        record_in(session, booking, closing.found, at)
        count_in(session, booking, closing.counts, at)
        before = booking_view(session, booking, at.date())
        told = _checked(session, closing)
        checked = _check(session, booking, before, told, despite)
        account(session, booking, told, goes_back_of(before, checked.inspected), at)
        write_history(session, booking, not_renewed_of(before, told))
        override = _joined(booking.override, despite if checked.faults else None)
        session.execute(
            update(Booking)
            .where(Booking.id == booking.id)
            .values(state=BookingState.CLOSED, closed_at=at, override=override)
            .execution_options(synchronize_session=False)
        )
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking)
        session.commit()
        return view


@dataclass(frozen=True, slots=True)
class _Checked:
    """What was found at positions, and what would have been refused without a reason."""

    inspected: Inspected
    faults: Sequence[Reason]


def _check(
    session: Session,
    booking: BookingFacts,
    before: BookingView,
    told: Answers,
    despite: str | None,
) -> _Checked:
    """Refuse what has to be asked first, and what is closed for a reason only."""
    inspected = read_inspected(session, booking.id)
    open_questions = list(questions(before, unlooked(session, booking, before), told))
    faults = closing_faults(session, booking, before, told, inspected)
    if open_questions or (faults and despite is None):
        shown = [] if despite else faults
        raise refused(before, shown, list(asked(before, open_questions)))
    return _Checked(inspected, faults)


def _checked(session: Session, closing: Closing) -> Answers:
    """What was told, in the units of the items and not below 0."""
    told = (closing.returned, closing.scrapped, closing.used)
    items = find_items(session, [code for amounts in told for code in amounts])
    for amounts in told:
        for code, amount in amounts.items():
            unit = closing.units.get(code, items[code].unit)
            require_amount(Quantity(amount, unit), items[code])
            if amount < 0:
                raise KittingError(
                    "{code}: the amount must not be negative. Count again", code=code
                )
    returned, scrapped, used = (_by_code(amounts, items) for amounts in told)
    return Answers(returned, scrapped, used, used_up=closing.used_up)


def _by_code(amounts: Mapping[str, int], items: Mapping[str, Item]) -> dict[str, int]:
    """Amounts by code, where an item may be named by a number."""
    found: dict[str, int] = {}
    for name, amount in amounts.items():
        code = items[name].code
        if code in found:
            raise KittingError(
                "{code} is told twice, by its code and by a number. Tell it once", code=code
            )
        found[code] = amount
    return found


def _joined(before: str | None, now: str | None) -> str | None:
    return "; ".join(text for text in (before, now) if text) or None
