"""Exchanging: letting a listed alternative stand in for an item in the kit of one booking."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy import Engine, bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.words import NeedRule
from kitting.services.bookings.kit_record import kit_records, request_of
from kitting.services.bookings.requirements import draft_kit, write_plan
from kitting.services.bookings.reservations import give_up_unneeded, promise_free
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.bookings.supersession import may_be_chosen
from kitting.services.bookings.view import booking_view
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.judged import Draft, JudgedPart, JudgedUse
from kitting.services.planning.read import read_plan
from kitting.services.stock.lots import find_item
from kitting.store import writing
from kitting.tables.items import Alternative, Item
from kitting.tables.units import Fit, Joint
from kitting.tables.vocabulary import System
from kitting.views.bookings import BookingView

_LISTED = (
    select(Item.code, Item.id)
    .join(Alternative, Alternative.other_id == Item.id)
    .where(Alternative.item_id == bindparam("item"))
    .order_by(Alternative.seq)
)
_BARRED = (
    select(System.name)
    .join(Joint, Joint.system_id == System.id)
    .join(Fit, Fit.joint_id == Joint.id)
    .where(Fit.item_id == bindparam("item"), System.general_torque.is_(False))
    .limit(1)
)


def exchange(
    engine: Engine, number: str, item: str, instead: str, today: date | None = None
) -> BookingView:
    """Let a listed alternative stand in for an item in a kit, or the item itself again.

    The line is judged anew by what stands in; of an alternative that is replaced itself, what
    replaces it comes. Raises KittingError for what is not listed as an alternative, for one that
    is replaced by something else than one for one, for an item of a system in which only the
    maker's part goes in (brakes, steering, restraints …), and where the booking does not need the
    item.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        asked, other = find_item(session, item), find_item(session, instead)
        if other.id != asked.id:
            require_listed(session, asked, other.code)
        exchange_in(session, booking, asked, other)
        promise_free(session, booking.id, today=today)
        view = booking_view(session, booking, today)
        session.commit()
        return view


def exchange_in(session: Session, booking: BookingFacts, asked: Item, other: Item) -> Draft:
    """Plan a booking anew with another item in place of one, and let go of what it needs no more.

    Raises KittingError as `exchange` does, but for what is not listed.
    """
    before = kit_records(session, [booking.id])[booking.id]
    chosen = {(asked.id, rule): (other.id,) for rule in NeedRule}
    kit = replace(before, stands={**before.stands, **chosen})
    facts = read_plan(session, request_of(session, booking, kit))
    _refuse_replaced(facts, asked.code, facts.contents.items.get(other.id))
    planned = draft_kit(session, booking, facts, kit)
    _require_need(booking, planned, asked.id, asked.code)
    write_plan(session, booking, planned)
    give_up_unneeded(session, booking.id)
    return planned


def require_listed(session: Session, asked: Item, other: str) -> None:
    """Raise KittingError for what may not stand in for an item: not listed, or only the maker's."""
    barred = session.scalars(_BARRED, {"item": asked.id}).first()
    if barred is not None:
        raise KittingError(
            "{code} sits in {barred}, where only the maker's part goes in: nothing stands in for"
            " it",
            code=asked.code,
            barred=barred,
        )
    listed = dict(session.execute(_LISTED, {"item": asked.id}).all())
    if other not in listed:
        known = f"Listed: {', '.join(listed)}" if listed else "None is listed"
        raise KittingError(
            "{other} is not listed as an alternative of {code}. {known}. List it in the catalogue"
            " first (alternatives: of the item)",
            other=other,
            code=asked.code,
            known=known,
        )


def _refuse_replaced(facts: PlanFacts, asked: str, other: ItemFacts | None) -> None:
    if other is None or other.code == asked:
        return
    if not may_be_chosen(other, facts.contents.items, facts.on):
        raise KittingError(
            "{code} is replaced itself, and not one for one: it does not stand in for {asked}."
            " List what replaces it as an alternative",
            code=other.code,
            asked=asked,
        )


def _require_need(booking: BookingFacts, planned: Draft, asked: int, code: str) -> None:
    lines: tuple[JudgedPart | JudgedUse, ...] = (*planned.parts, *planned.uses)
    if not any(line.asked.key == asked for line in lines):
        raise KittingError("{number} does not ask for {code}", number=booking.number, code=code)
