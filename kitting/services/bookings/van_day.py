"""The van: what tomorrow's stops need of it, and whether everything is told of by the evening."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason
from kitting.services.bookings.view import booking_view, job_names
from kitting.services.branches import find_branch
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.stock.lots import POLICY
from kitting.services.tools.check import check_tools
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingView, LoadLineView, StopView, VanGapView, VanView
from kitting.views.tools import RequirementView

_CALLS = ("provisional", "confirmed", "on the ramp", "closed")


def van(
    session: Session, branch: str | None, on: date, boxes: Sequence[str], policy: str = POLICY
) -> VanView:
    """The stops of a day: kits to load, tools to lay out once for all, and what is not told of.

    In the evening everything picked is used, back or spoilt: what is left over of a stop stands
    under `untold`, and an empty `untold` is the reconciliation to zero.
    """
    owner = find_branch(session, branch)
    bookings = session.scalars(
        select(Booking)
        .where(Booking.branch_id == owner.id, Booking.fit_on == on, Booking.state.in_(_CALLS))
        .order_by(Booking.id)
    ).all()
    views = [booking_view(session, booking, policy) for booking in bookings]
    return VanView(
        branch=owner.code,
        on=on,
        stops=tuple(
            StopView(
                view.number, view.registration, view.vehicle, view.jobs, view.state, view.lacking
            )
            for view in views
        ),
        load=_load(views),
        tools=_tools(session, bookings, boxes, on) if boxes else (),
        untold=_untold(session, bookings),
    )


def _load(views: Sequence[BookingView]) -> tuple[LoadLineView, ...]:
    """Every item of all kits once, with how much each stop takes."""
    amounts: dict[str, dict[str, int]] = defaultdict(dict)
    units: dict[str, str] = {}
    names: dict[str, str] = {}
    for view in views:
        if view.state == "closed":
            continue
        for need in view.needs:
            there = need.needed - need.short - need.coming
            if there:
                stops = amounts[need.item]
                stops[view.number] = stops.get(view.number, 0) + there
                units[need.item], names[need.item] = need.unit, need.name
    return tuple(
        LoadLineView(item, names[item], units[item], sum(stops.values()), tuple(stops))
        for item, stops in sorted(amounts.items(), key=lambda entry: natural_key(entry[0]))
    )


def _tools(
    session: Session, bookings: Sequence[Booking], boxes: Sequence[str], on: date
) -> tuple[VanGapView, ...]:
    """What the boxes cannot do at some stop, each gap once with its stops."""
    gaps: dict[tuple[RequirementView, tuple[Reason, ...]], list[str]] = defaultdict(list)
    jobs = job_names(session, [booking.id for booking in bookings])
    cars = dict(
        session.execute(
            select(Vehicle.id, Vehicle.registration).where(
                Vehicle.id.in_({booking.vehicle_id for booking in bookings})
            )
        ).all()
    )
    for booking in bookings:
        if booking.state != "closed":
            car = cars[booking.vehicle_id]
            plan = PlanRequest(car, tuple(jobs[booking.id]), on)
            for gap in check_tools(session, ToolRequest(plan, tuple(boxes))).gaps:
                gaps[gap.what, gap.reasons].append(booking.number)
    return tuple(
        VanGapView(what=what, reasons=reasons, stops=tuple(stops))
        for (what, reasons), stops in gaps.items()
    )


def _untold(session: Session, bookings: Sequence[Booking]) -> tuple[str, ...]:
    """Items picked for a stop of which nobody has said what became of them."""
    numbers = {booking.id: booking.number for booking in bookings}
    rows = session.execute(
        select(Promise, Item.code)
        .join(Item, Promise.item_id == Item.id)
        .where(
            Promise.booking_id.in_(numbers),
            Promise.picked > Promise.used + Promise.returned + Promise.scrapped,
        )
        .order_by(Promise.booking_id, Item.code)
    )
    return tuple(
        f"{numbers[promise.booking_id]}: "
        f"{(promise.picked - promise.used - promise.returned - promise.scrapped) / 1000:g} {code}"
        for promise, code in rows
    )
