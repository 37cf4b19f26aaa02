"""A substitute was delivered: taken over with its verdict, for the line of what was ordered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Engine, exists, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import format_quantity
from kitting.facts.verdicts import Aspect, Verdict
from kitting.facts.words import OPEN_BOOKINGS, NeedRule
from kitting.services.bookings.exchange import exchange_in, require_listed
from kitting.services.bookings.kit_record import kit_records
from kitting.services.bookings.requirements import draft_of, write_plan
from kitting.services.bookings.reservations import give_up_unneeded
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.view import booking_views
from kitting.services.db.idempotency import earlier, record
from kitting.services.planning.judged import Draft, JudgedPart, JudgedUse
from kitting.services.purchasing.goods_in import (
    GoodsReceived,
    check_goods,
    require_coming,
    serve_short,
    take_in_line,
)
from kitting.services.purchasing.known_notes import require_new_note
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.received_lots import Delivery
from kitting.services.stock.lots import find_item
from kitting.services.stock.over_goods import OF_KEPT
from kitting.store import writing
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item, Successor
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder
from kitting.views.bookings import BookingView
from kitting.views.orders import OrderView, SubstituteForView

_ONE = 1000  # one for one, in thousandths


def receive_substitute(
    engine: Engine,
    number: str,
    goods: GoodsReceived,
    instead: str,
    at: datetime,
    token: str | None = None,
) -> OrderView:
    """Take in another item in place of the one that was ordered (`goods.item`).

    Each booking that waits and that it is enough for is planned with it and judged; where it would
    be NO nothing is taken in. A booking that it is not enough for lacks what it waited for. What
    is left lies on the shelf as what it is. Raises KittingError for what is neither a successor,
    one for one, nor a listed alternative, and for damaged or wrong goods.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"receive {order.number} {goods} as {instead}"
        if earlier(session, token, request) is not None:
            return _told(session, order, (goods.item, instead), at)
        require_coming(order, at)
        asked, other = find_item(session, goods.item), find_item(session, instead)
        line = _line(session, order.id, order.number, asked)
        coming = line.quantity - line.received - line.lost
        succeeds = _require_stand_in(session, asked, other)
        came = replace(goods, item=other.code)
        check_goods(came, other, at)
        require_new_note(session, order, goods.by, {asked.code})
        if goods.damaged or goods.wrong or not 0 < goods.good <= coming:
            most = format_quantity(coming, asked.unit)
            raise KittingError(
                "{number}: of {code} {most} are to come; a substitute is taken in as good, and no"
                " more than that",
                number=order.number,
                code=asked.code,
                most=most,
            )
        left = goods.good
        for booking, wanted in _waiting(session, line, asked):
            if wanted <= left:
                _take_over(session, booking, (asked, other), succeeds)
                left -= wanted
        session.refresh(line)
        branch = session.get_one(Branch, order.branch_id)
        take_in_line(session, Delivery(order, line, other, at, branch.shelf_policy), came)
        serve_short(session, order.branch_id, other.id, at.date())
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = _told(session, order, (goods.item, instead), at)
        session.commit()
        return view


def _told(
    session: Session, order: PurchaseOrder, items: tuple[str, str], at: datetime
) -> OrderView:
    """The order, with what the substitute comes to for each open booking of the branch."""
    asked, other = (find_item(session, code) for code in items)
    keys = session.scalars(
        select(Booking.id)
        .where(
            Booking.branch_id == order.branch_id,
            Booking.state.in_(OPEN_BOOKINGS),
            exists().where(
                BookingNeed.booking_id == Booking.id,
                BookingNeed.item_id.in_((asked.id, other.id)),
            ),
        )
        .order_by(Booking.fit_on, Booking.id)
    ).all()
    views = booking_views(session, keys, at.date())
    found = [one for view in views for one in _for_booking(view, asked.code, other.code)]
    return replace(order_view(session, order, at.date()), taken_over=tuple(found))


def _for_booking(view: BookingView, asked: str, other: str) -> Iterator[SubstituteForView]:
    for need in view.needs:
        taken = need.item == other and asked in need.stands_for
        lacks = need.short if need.item == asked else 0
        if taken or lacks:
            yield SubstituteForView(
                booking=view.number,
                item=other,
                unit=need.unit,
                needed=need.needed,
                taken=taken,
                lacks=lacks,
                verdict=need.verdict if taken else None,
                doubts=need.doubts if taken else (),
            )


def _line(session: Session, order: int, number: str, asked: Item) -> OrderLine:
    lines = session.scalars(
        select(OrderLine)
        .where(OrderLine.order_id == order, OrderLine.item_id == asked.id, ~OF_KEPT)
        .order_by(OrderLine.quantity - OrderLine.received - OrderLine.lost <= 0, OrderLine.seq)
    ).all()
    if not lines:
        raise UnknownNameError(
            "{number} has no {code!r}. Name what was ordered", number=number, code=asked.code
        )
    return lines[0]


def _require_stand_in(session: Session, asked: Item, other: Item) -> bool:
    """Whether an item succeeds another one for one; else it has to be listed as an alternative."""
    if asked.unit != other.unit:
        raise KittingError(
            "{code} is stocked in {unit}, {asked_code} in {asked_unit}: it is no substitute."
            " Record it as another part",
            code=other.code,
            unit=other.unit,
            asked_code=asked.code,
            asked_unit=asked.unit,
        )
    successors = session.execute(
        select(Successor.by_item_id, Successor.quantity).where(Successor.item_id == asked.id)
    ).all()
    if [(row.by_item_id, row.quantity) for row in successors] == [(other.id, _ONE)]:
        return True
    require_listed(session, asked, other.code)
    return False


def _waiting(session: Session, line: OrderLine, asked: Item) -> list[tuple[BookingFacts, int]]:
    """Open bookings that wait for a line, by date, with all that they need of the item.

    One that has some of it already is left out: two kinds are not mixed in a kit.
    """
    rows = session.execute(
        select(Booking.number, Promise.waiting)
        .join(Promise, Promise.booking_id == Booking.id)
        .where(
            Promise.order_line_id == line.id,
            Promise.waiting > 0,
            Booking.state.in_(OPEN_BOOKINGS),
        )
        .order_by(Booking.fit_on, Booking.id)
    ).all()
    found = []
    for number, waiting in rows:
        booking = find_booking(session, number)
        needs = session.scalars(
            select(BookingNeed.quantity).where(
                BookingNeed.booking_id == booking.id, BookingNeed.item_id == asked.id
            )
        ).all()
        if sum(needs) == waiting:
            found.append((booking, waiting))
    return found


def _take_over(
    session: Session, booking: BookingFacts, items: tuple[Item, Item], succeeds: bool
) -> None:
    """Plan a booking with the substitute. Raises KittingError where it would be NO."""
    asked, other = items
    if succeeds:
        planned = draft_of(session, booking)
        write_plan(session, booking, planned)
        give_up_unneeded(session, booking.id)
    else:
        planned = exchange_in(session, booking, asked, other)
    if _is_no(planned, asked.id):
        raise KittingError(
            "{number}: {code} in place of {asked_code} would be NO there. Record it as another"
            " part (wrong), and send it back",
            number=booking.number,
            code=other.code,
            asked_code=asked.code,
        )


def plan_as_ordered(session: Session, booking: BookingFacts, asked: Item, other: Item) -> None:
    """Plan a booking with what was ordered again, where a substitute stands for it by choice.

    What stands for it by the catalogue is planned by the catalogue.
    """
    kit = kit_records(session, [booking.id])[booking.id]
    if any(kit.stands.get((asked.id, rule)) == (other.id,) for rule in NeedRule):
        exchange_in(session, booking, asked, asked)
        return
    write_plan(session, booking, draft_of(session, booking))
    give_up_unneeded(session, booking.id)


def _is_no(planned: Draft, asked: int) -> bool:
    lines: tuple[JudgedPart | JudgedUse, ...] = (*planned.every_part, *planned.every_use)
    return any(
        doubt.verdict is Verdict.NO and doubt.aspect is not Aspect.STOCK
        for line in lines
        if line.asked.key == asked
        for doubt in line.doubts
    )
