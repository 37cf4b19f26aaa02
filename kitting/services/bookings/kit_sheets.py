"""Pick list and labels of a booking: the plan's, with lots, promises and what is short."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy.orm import Session

from kitting.facts.units import format_quantity, show_quantity
from kitting.services.bookings.booking import find_booking
from kitting.services.bookings.seal_count import plan_of, require_live
from kitting.services.bookings.view import booking_view
from kitting.services.kit.bags import kit_view, pick_view
from kitting.services.stock.lots import POLICY
from kitting.views.bookings import BookingView, NeededView, PromisedView
from kitting.views.kit import KitView, PickLine, PickView


def pick_of(session: Session, number: str, policy: str = POLICY) -> PickView:
    """The pick list of a booking: from which lot to take what, and what is short."""
    booking = find_booking(session, number)
    require_live(booking)
    view = booking_view(session, booking, policy)
    picked = pick_view(plan_of(session, booking))
    needs = {(need.item, need.rule): need for need in view.needs}
    return replace(
        picked,
        lines=tuple(_with_lots(line, needs.get((line.item, line.rule))) for line in picked.lines),
        booking=view.number,
        shortages=_shortages(view),
    )


def _with_lots(line: PickLine, need: NeededView | None) -> PickLine:
    if need is None:
        return line
    short = show_quantity(need.short, need.unit) if need.short else None
    lots = tuple(_lot_text(source, need.unit) for source in need.sources)
    return replace(line, lots=lots, short=short)


def _lot_text(source: PromisedView, unit: str) -> str:
    """ "2 of lot SI-2411 in S1-01, keeps to 2034-12-31"."""
    parts = [f"{show_quantity(source.quantity, unit)} of {source.source}"]
    if source.due is not None:
        parts.append(f"due {source.due}")
    if source.keeps_to is not None:
        parts.append(f"keeps to {source.keeps_to}")
    if source.warning is not None:
        parts.append(source.warning)
    return ", ".join(parts)


def _shortages(view: BookingView) -> tuple[str, ...]:
    return tuple(
        f"{show_quantity(need.short, need.unit)} × {need.item}"
        + (f" ({'; '.join(need.elsewhere)})" if need.elsewhere else "")
        for need in view.needs
        if need.short and need.rule != "inspect"
    )


def labels_of(session: Session, number: str, policy: str = POLICY) -> KitView:
    """The labels of a booking: its number, what is short, the earliest expiry in the kit."""
    booking = find_booking(session, number)
    require_live(booking)
    view = booking_view(session, booking, policy)
    return replace(
        kit_view(plan_of(session, booking)),
        booking=view.number,
        shortages=tuple(
            f"{format_quantity(need.short, need.unit)} × {need.item}"
            for need in view.needs
            if need.short and need.rule != "inspect"
        ),
        keeps_to=_earliest(view),
    )


def _earliest(view: BookingView) -> date | None:
    limits = [s.keeps_to for need in view.needs for s in need.sources if s.keeps_to is not None]
    return min(limits, default=None)
