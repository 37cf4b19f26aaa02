"""The van: what a day's stops need of it, and what is unaccounted for by the evening."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason
from kitting.facts.tool_words import RangePolicy, ToolVerdict
from kitting.facts.words import BookingState
from kitting.services.bookings.kit_record import kits_by_number
from kitting.services.bookings.slots import slots_of
from kitting.services.bookings.view import booking_views
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest, ToolDay
from kitting.services.tools.check import check_draft
from kitting.services.tools.inventory import read_owned
from kitting.tables.bookings import UNACCOUNTED, Booking, Promise
from kitting.tables.items import Item
from kitting.views.bookings import BookingView
from kitting.views.slot import SlotView
from kitting.views.tools import RequirementView
from kitting.views.van_day import LoadLineView, StopView, UnaccountedView, VanGapView, VanView

_STOPS = (
    select(Booking.id)
    .where(
        Booking.branch_id == bindparam("branch"),
        Booking.fit_on == bindparam("day"),
        Booking.state != BookingState.CANCELLED,
    )
    .order_by(Booking.id)
)
_UNACCOUNTED = (
    select(Booking.number, Item.code, Item.unit, UNACCOUNTED.label("left"))
    .join(Item, Promise.item_id == Item.id)
    .join(Booking, Promise.booking_id == Booking.id)
    .where(Promise.booking_id.in_(bindparam("keys", expanding=True)), UNACCOUNTED > 0)
    .order_by(Promise.booking_id, Item.code)
)


def van(
    session: Session,
    branch: str | None,
    on: date,
    boxes: Sequence[str],
    today: date | None = None,
) -> VanView:
    """The stops of a day by time: kits to load, tools to lay out once for all, unaccounted parts.

    In the evening everything picked is used, back or scrapped: what is left over of a stop stands
    under `unaccounted`, and an empty `unaccounted` is the reconciliation to zero.
    """
    owner = find_branch(session, branch)
    keys = session.scalars(_STOPS, {"branch": owner.id, "day": on}).all()
    of_key = dict(zip(keys, booking_views(session, keys), strict=True))
    slots = slots_of(session, keys)
    ordered = sorted(keys, key=lambda key: (_starts(slots.get(key)), key))
    views = [of_key[key] for key in ordered]
    return VanView(
        branch=owner.code,
        on=on,
        stops=tuple(
            StopView(
                booking=view.number,
                registration=view.registration,
                vehicle=view.vehicle,
                jobs=view.jobs,
                state=view.state,
                verdict=view.verdict,
                doubts=view.doubts,
                slot=slots.get(key),
            )
            for key, view in zip(ordered, views, strict=True)
        ),
        load=_load(views),
        tools=_tools(session, views, boxes, ToolDay(on, today)) if boxes else (),
        unaccounted=tuple(
            UnaccountedView(booking=row.number, item=row.code, unit=row.unit, quantity=row.left)
            for row in session.execute(_UNACCOUNTED, {"keys": list(keys)})
        ),
    )


def _starts(slot: SlotView | None) -> tuple[bool, str]:
    """By which stops are sorted: those without a time come last."""
    return (True, "") if slot is None or slot.starts is None else (False, slot.starts)


def _to_come(views: Sequence[BookingView]) -> list[BookingView]:
    return [view for view in views if view.state is not BookingState.CLOSED]


def _load(views: Sequence[BookingView]) -> tuple[LoadLineView, ...]:
    """Every item of all kits once, with how much each stop takes."""
    amounts: dict[str, dict[str, int]] = defaultdict(dict)
    units: dict[str, str] = {}
    names: dict[str, str] = {}
    for view in _to_come(views):
        for need in view.needs:
            there = need.needed - need.short - need.coming
            if there:
                stops = amounts[need.item]
                stops[view.number] = stops.get(view.number, 0) + there
                units[need.item], names[need.item] = need.unit, need.name
    return tuple(
        LoadLineView(
            item=item,
            name=names[item],
            unit=units[item],
            quantity=sum(stops.values()),
            stops=tuple(stops),
        )
        for item, stops in sorted(amounts.items(), key=lambda entry: natural_key(entry[0]))
    )


def _tools(
    session: Session, views: Sequence[BookingView], boxes: Sequence[str], day: ToolDay
) -> tuple[VanGapView, ...]:
    """What the boxes cannot do for certain at some stop, each once with its stops."""
    owned, kits = read_owned(session, boxes, day), kits_by_number(session, views)
    gaps: dict[tuple[RequirementView, tuple[Reason, ...], ToolVerdict], list[str]]
    gaps = defaultdict(list)
    for view in _to_come(views):
        kit = kits[view.number]
        facts = draft(session, PlanRequest(view.registration, view.jobs, day.on, kit=kit))
        for need in check_draft(facts, owned, RangePolicy.MARKED).needs:
            if need.state != ToolVerdict.HAVE:
                gaps[need.what, need.reasons, need.state].append(view.number)
    return tuple(
        VanGapView(what=what, reasons=reasons, stops=tuple(stops), state=state)
        for (what, reasons, state), stops in gaps.items()
    )
