"""Inspecting: the positions of a booking that may go back, in the order of refitting."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.verdicts import worst_first
from kitting.facts.words import Rule, Source
from kitting.services.bookings.kit_record import kit_records, plan_of, request_of
from kitting.services.bookings.kit_sheets import own_doubts
from kitting.services.bookings.slots import slots_of
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import bag_numbers, kit_view
from kitting.services.planning.plan import plan
from kitting.tables.bookings import Finding
from kitting.views.counted import FindingsView, InspectView
from kitting.views.plan import LineView

_RECORDED = select(
    Finding.joint, Finding.position, Finding.found, Finding.failed, Finding.reason, Finding.quantity
).where(Finding.booking_id == bindparam("booking"))


def findings_view(session: Session, number: str, today: date | None = None) -> FindingsView:
    """Every position to inspect with its criterion, and what was recorded already."""
    booking = find_booking(session, number)
    planned = plan_of(session, booking)
    own = _own_words(session, booking)
    kit = kit_view(planned)
    bags = bag_numbers(kit.bags)
    codes = {bag.number: bag.code for bag in kit.bags}
    recorded = {
        (row.joint, row.position): row
        for row in session.execute(_RECORDED, {"booking": booking.id})
    }
    rows = [
        InspectView(
            bag=bags[position.joint, line.item],
            bag_code=codes[bags[position.joint, line.item]],
            joint=position.joint,
            position=position.position,
            item=line.item,
            name=line.name,
            quantity=position.holds,
            unit=line.unit,
            criterion=said.criterion,
            said_by=said.said_by,
            group=line.group is not None,
            recorded=known.found if known else None,
            recorded_reason=known.reason if known else None,
            recorded_quantity=known.quantity if known else None,
            recorded_failed=known.failed if known else None,
        )
        for line in planned.lines
        if (line.rule == Rule.INSPECT or line.source is Source.FINDING) and not line.stopped_by
        for position in line.positions
        for known in (recorded.get((position.joint, position.position)),)
        for said in (own.get((position.joint, position.position), line),)
    ]
    return FindingsView(
        booking=booking.number,
        reference=kit.reference,
        on=booking.fit_on,
        vehicle=kit.vehicle,
        vehicle_shortened=kit.vehicle_shortened,
        jobs=kit.jobs,
        rows=tuple(sorted(rows, key=lambda row: (row.bag, row.item, row.position))),
        cautions=kit.cautions,
        doubts=worst_first((*kit.doubts, *own_doubts(booking_view(session, booking, today)))),
        slot=slots_of(session, [booking.id]).get(booking.id),
    )


def _own_words(session: Session, booking: BookingFacts) -> dict[tuple[str, str], LineView]:
    """What each position has to show and who says so, by its place; none where nothing failed."""
    kit = kit_records(session, [booking.id])[booking.id]
    if not kit.failed:
        return {}
    asked = plan(session, request_of(session, booking, replace(kit, failed={})))
    return {
        (position.joint, position.position): line
        for line in asked.lines
        for position in line.positions
    }
