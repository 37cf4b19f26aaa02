"""Correcting what was found at a position of a closed booking: added after it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, bindparam, select

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.words import BookingState, FindingResult
from kitting.services.bookings.finding_items import pieces_of
from kitting.services.bookings.findings import Found, failed_of, refuse_result
from kitting.services.bookings.history import correct_outcomes, outcomes
from kitting.services.bookings.kit_events import Told
from kitting.services.bookings.states import find_booking
from kitting.services.db.idempotency import earlier, record
from kitting.store import writing
from kitting.tables.bookings import Finding, FindingCorrection
from kitting.tables.items import Item

_RECORDED = select(
    Finding.id, Finding.joint, Finding.position, Finding.found, Finding.failed, Finding.reason,
    Finding.quantity, Item.unit,
).outerjoin(Item, Finding.item_id == Item.id).where(
    Finding.booking_id == bindparam("booking")
)  # fmt: skip


def correct_finding(
    engine: Engine, number: str, seen: Found, told: Told, at: datetime, token: str | None = None
) -> None:
    """Put right what was recorded at a position of a closed booking, with the reason.

    Chances learn from what it says now, and the history of the car follows. Raises KittingError
    for a booking that is not closed, a position of which nothing was recorded, nothing that
    changes, and without a reason.
    """
    if told.note is None:
        raise KittingError("a reason is required: say what was recorded wrongly")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"correct finding {booking.number} {seen} {told}"
        if earlier(session, token, request) is not None:
            return
        if booking.state is not BookingState.CLOSED:
            raise KittingError(
                "{number} is {state}; record what was found again, it takes the place of the first",
                number=booking.number,
                state=booking.state,
            )
        rows = session.execute(_RECORDED, {"booking": booking.id}).all()
        row = _recorded(booking.number, seen, rows)
        refuse_result(seen, pieces_of(row.quantity, row.unit))
        failed = failed_of(seen)
        if (row.found, row.failed, row.reason) == (seen.found, failed, seen.reason):
            raise KittingError(
                "{joint}, {position} is recorded as {found} already",
                joint=seen.joint,
                position=seen.position,
                found=seen.found,
            )
        before = outcomes(session, booking)
        session.add(
            FindingCorrection(
                finding_id=row.id, at=at, found=FindingResult(seen.found), failed=failed,
                reason=seen.reason, why=told.note, told_by=told.told_by,
            )
        )  # fmt: skip
        session.flush()
        correct_outcomes(session, booking, before, outcomes(session, booking))
        record(session, token, request, booking.branch_id, at)
        session.commit()


def _recorded(number: str, seen: Found, rows: Sequence[Any]) -> Any:
    for row in rows:
        if (row.joint, row.position) == (seen.joint, seen.position):
            return row
    known = [f"{row.joint}: {row.position}" for row in rows]
    near = nearest(f"{seen.joint}: {seen.position}", known) or known[:5]
    there = f"Recorded: {', '.join(near)}" if near else "Nothing was recorded of it"
    raise UnknownNameError(
        "{number}: nothing was recorded of {position!r} in {joint!r}. {there}",
        number=number,
        position=seen.position,
        joint=seen.joint,
        there=there,
    )
