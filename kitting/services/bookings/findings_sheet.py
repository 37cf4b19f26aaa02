"""Inspecting: the positions of a booking that may go back, in the order of refitting."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.units import format_quantity
from kitting.services.bookings.booking import find_booking
from kitting.services.bookings.seal_count import plan_of
from kitting.services.kit.bags import bag_numbers, kit_view
from kitting.tables.bookings import Finding
from kitting.views.completion import FindingsView, InspectView


def findings_view(session: Session, number: str) -> FindingsView:
    """Every position to look at with its criterion, and what was recorded already."""
    booking = find_booking(session, number)
    planned = plan_of(session, booking)
    kit = kit_view(planned)
    bags = bag_numbers(kit.bags)
    recorded = {
        (joint, position): f"{found}: {reason}" if reason else found
        for joint, position, found, reason in session.execute(
            select(Finding.joint, Finding.position, Finding.found, Finding.reason).where(
                Finding.booking_id == booking.id
            )
        )
    }
    rows = [
        InspectView(
            bag=bags[position.joint, line.item],
            joint=position.joint,
            position=position.position,
            item=line.item,
            name=line.name,
            pieces=format_quantity(position.quantity, line.unit),
            criterion=line.criterion,
            said_by=line.said_by,
            group=line.group is not None,
            recorded=recorded.get((position.joint, position.position)),
        )
        for line in planned.lines
        if line.rule == "inspect" and not line.stopped_by
        for position in line.positions
    ]
    return FindingsView(
        booking=booking.number,
        reference=kit.reference,
        on=booking.fit_on,
        vehicle=kit.vehicle,
        jobs=kit.jobs,
        rows=tuple(sorted(rows, key=lambda row: (row.bag, row.item, row.position))),
        cautions=kit.cautions,
    )
