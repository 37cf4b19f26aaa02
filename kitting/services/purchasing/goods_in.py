"""Goods in: what came of an order, checked; who waited for it is promised the lot itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Engine, bindparam, exists, func, insert, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.line_shares import Room, share_out
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.reservations import lacks, promise_free
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import code_of
from kitting.services.purchasing.known_notes import NO_NOTE, DeliveryNote, require_new_note
from kitting.services.purchasing.order_times import require_after_order
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.received_lots import (
    Delivery,
    Packet,
    dates_of,
    may_be_fitted,
    put_on_shelf,
    put_over_on_hold,
)
from kitting.services.stock.ledger import let_go, set_aside
from kitting.services.stock.lots import require_amount
from kitting.services.stock.over_goods import OF_KEPT, name_orders
from kitting.store import writing
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptGoods
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt
from kitting.views.orders import OrderView

_LONGEST = (("lot", 40), ("bin", 20))  # characters, as the tables have room


@dataclass(frozen=True, slots=True)
class GoodsReceived:
    """What came for one item of an order, in thousandths of its unit, and what the packet says.

    `good` of the right thing unharmed; the supplier has to be told of `damaged` and `wrong`.
    `final` means that the rest will not come; `unit` is checked against the item's where given.
    `part` is the supplier's number, where it says which line of the item it is of; `by` is its
    note. Of what is kept, `out_of` is the lot where it was on hold, as more than was ordered, and
    `batch` that of its packet, if the lot is named otherwise.
    """

    item: str
    good: int
    damaged: int = 0
    wrong: int = 0
    lot: str | None = None
    made: date | None = None
    expires: date | None = None
    bin: str | None = None
    final: bool = False
    note: str | None = None
    unit: str | None = None
    part: str | None = None
    out_of: int | None = None
    batch: str | None = None
    by: DeliveryNote = NO_NOTE

    @property
    def packet(self) -> Packet:
        """What the packet says, and where it goes."""
        return Packet(self.lot, self.made, self.expires, self.bin, self.batch)


_Lines = Mapping[str, Sequence[tuple[OrderLine, Item]]]
_LINES = (
    select(OrderLine, Item)
    .join(Item, OrderLine.item_id == Item.id)
    # What was kept of what came too much was never ordered: nothing comes for it.
    .where(OrderLine.order_id == bindparam("order"), ~OF_KEPT)
    .order_by(OrderLine.seq)
    .execution_options(populate_existing=True)
)
_POLICY = select(Branch.shelf_policy).where(Branch.id == bindparam("branch"))
_WAITING = (
    select(
        Promise.id,
        Promise.booking_id,
        Promise.waiting,
        Booking.fit_on,
        func.coalesce(Booking.shelf_policy, Branch.shelf_policy).label("policy"),
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .join(Branch, Booking.branch_id == Branch.id)
    .where(
        Promise.order_line_id == bindparam("line"),
        Promise.waiting > 0,
        Booking.state.in_(OPEN_BOOKINGS),
    )
    .order_by(Booking.fit_on, Booking.id)
)
_NEEDING = (
    select(Booking.id)
    .where(
        Booking.branch_id == bindparam("branch"),
        Booking.state.in_(OPEN_BOOKINGS),
        exists().where(
            BookingNeed.booking_id == Booking.id, BookingNeed.item_id == bindparam("item")
        ),
    )
    .order_by(Booking.fit_on, Booking.id)
)


def receive(
    engine: Engine,
    number: str,
    received: Sequence[GoodsReceived] | DeliveryNote | None,
    at: datetime,
    token: str | None = None,
    made: date | None = None,
) -> OrderView:
    """Take in what came: what is stated per item, or by a note all that is to come of the order.

    Where all came, `made` is the day by which everything that ages was made. Good pieces become a
    lot, promised to the bookings that waited for them, the earliest date first. What came damaged,
    or was another part, is short at once. What came too much is a lot of its own, on hold until
    somebody decides. Raises UnknownNameError for an item that the order does not have, KittingError
    for a cancelled order, an item that came by the same note before, and where nothing came.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"receive {order.number}"
        if earlier(session, token, request) is not None:
            return order_view(session, order)
        require_coming(order, at)
        if received is None or isinstance(received, DeliveryNote):
            received = _all_of(session, order, made, received or NO_NOTE)
        received = [replace(goods, item=code_of(session, goods.item)) for goods in received]
        for note in dict.fromkeys(goods.by for goods in received):
            items = {goods.item for goods in received if goods.by == note}
            require_new_note(session, order, note, items)
        for goods in received:
            take_in_goods(session, order, goods, at)
        record(session, token, request, order.branch_id, at)
        view = order_view(session, order)
        session.commit()
        return view


def require_coming(order: PurchaseOrder, at: datetime, what: str = "a receipt") -> None:
    """Raise KittingError for an order that was cancelled, or was placed only later."""
    require_after_order(order, at, what)
    if order.cancelled_at is not None:
        raise KittingError(f"{order.number} was cancelled; send it back or order it anew")


def take_in_goods(
    session: Session, order: PurchaseOrder, goods: GoodsReceived, at: datetime
) -> None:
    """Take in what came for one item of an order, or for one of its parts. Raises as `receive`.

    Of two packets of one item the second is judged by what the first has left.
    """
    policy = session.scalars(_POLICY, {"branch": order.branch_id}).one()
    lines = _lines(session, order)
    if goods.item not in lines:
        raise UnknownNameError(
            f"{order.number} has no {goods.item!r}. It has: {', '.join(sorted(lines))}"
        )
    check_goods(goods, lines[goods.item][0][1], at)
    _require_something(order, goods, lines[goods.item])
    for line, item, part in _by_line(lines[goods.item], goods):
        take_in_line(session, Delivery(order, line, item, at, policy), part)


def _lines(session: Session, order: PurchaseOrder) -> _Lines:
    """The lines of an order by item, which may stand on several: by the pack and singly."""
    session.flush()
    lines: dict[str, list[tuple[OrderLine, Item]]] = defaultdict(list)
    for line, item in session.execute(_LINES, {"order": order.id}):
        lines[item.code].append((line, item))
    return dict(lines)


def check_goods(goods: GoodsReceived, item: Item, at: datetime) -> None:
    """Amounts in the item's unit, pieces whole, nothing made in the future, no text too long."""
    for amount in (goods.good, goods.damaged, goods.wrong):
        if amount < 0:
            raise KittingError(f"{goods.item}: an amount must not be negative. Count again")
        require_amount(Quantity(amount, goods.unit or item.unit), item)
    if goods.made is not None and goods.made > at.date():
        raise KittingError(
            f"{goods.item}: made on {goods.made}? That is still to come. Read it again"
        )
    for what, longest in _LONGEST:
        text = getattr(goods, what)
        if text is not None and len(text) > longest:
            raise KittingError(f"{goods.item}: {what} {text!r} is longer than {longest} characters")


def _require_something(
    order: PurchaseOrder, goods: GoodsReceived, rows: Sequence[tuple[OrderLine, Item]]
) -> None:
    """Refuses goods of which nothing came, unless the rest of them is given up."""
    if goods.good or goods.damaged or goods.wrong:
        return
    if not goods.final:
        raise KittingError(
            f"{order.number}: it is not said how much of {goods.item} came. Say how much came"
            " usable, damaged or as another part, or that the rest will not come",
            then=[next_step(Action.RECEIVE_ITEM, order=order.number, item=goods.item)],
        )
    if not any(_outstanding(line) for line, _ in rows):
        raise KittingError(f"{order.number}: nothing of {goods.item} is to come any more")


def _outstanding(line: OrderLine) -> int:
    return line.quantity - line.received - line.lost


def _all_of(
    session: Session, order: PurchaseOrder, made: date | None, by: DeliveryNote
) -> list[GoodsReceived]:
    """Everything that has not come yet, as ordered; what ages with its day of making."""
    lines = _lines(session, order)
    amounts = {code: sum(_outstanding(line) for line, _ in rows) for code, rows in lines.items()}
    if not any(amounts.values()):
        raise KittingError(
            f"{order.number}: nothing of it is to come any more. If more came, name the item",
            then=[next_step(Action.RECEIVE_ITEM, order=order.number)],
        )
    made_on = dates_of(
        {code: lines[code][0][1] for code, amount in amounts.items() if amount}, made
    )
    return [GoodsReceived(code, amounts[code], made=day, by=by) for code, day in made_on.items()]


def _by_line(
    rows: Sequence[tuple[OrderLine, Item]], goods: GoodsReceived
) -> list[tuple[OrderLine, Item, GoodsReceived]]:
    """What came of an item, shared among its lines in order (`share_out`).

    Where the supplier's part is named, its line comes first.
    """
    ordered = sorted(rows, key=lambda row: goods.part not in (None, row[0].part))
    rooms = [Room(_outstanding(line), line.lost) for line, _ in ordered]
    shares = share_out(rooms, goods.good, goods.damaged, goods.wrong)
    return [
        (line, item, replace(goods, good=share.good, damaged=share.damaged, wrong=share.wrong))
        for (line, item), share in zip(ordered, shares, strict=True)
    ]


def take_in_line(session: Session, delivery: Delivery, goods: GoodsReceived) -> None:
    """Write down what came for a line, put it on the shelf and promise it to who waited.

    `delivery.item` is what came: a substitute is put on the shelf as what it is.
    """
    line = delivery.line
    # What was given up and comes after all is taken in: sent again, or late.
    again = min(max(0, goods.good - _outstanding(line)), line.lost)
    outstanding = _outstanding(line) + again
    good = min(goods.good, outstanding)
    over = goods.good - good
    # What came unusable has come: nobody may wait for it. What is sent again is a new order.
    unusable = min(outstanding - good, goods.damaged + goods.wrong)
    lost = outstanding - good if goods.final else unusable
    lot = put_on_shelf(session, delivery, goods.packet, good) if good else None
    extra = put_over_on_hold(session, delivery, goods.packet, over) if over else None
    if goods.good + goods.damaged + goods.wrong:
        _write_receipt(session, delivery, goods, (good, over), (lot, extra, lost - again))
    if extra is not None:
        name_orders(session, extra)
    # Who waited for something else is promised a substitute only where it was judged for it.
    asked_for = lot if delivery.item.id == line.item_id else None
    _serve(session, delivery, asked_for, good, outstanding - good - lost)
    session.execute(
        update(OrderLine)
        .where(OrderLine.id == line.id)
        .values(received=OrderLine.received + good, lost=OrderLine.lost + lost - again)
        .execution_options(synchronize_session=False)
    )
    if again:
        # Who waited for it does not any more: they were told that it would not come.
        serve_short(session, delivery.order.branch_id, delivery.item.id, delivery.at.date())


def _write_receipt(
    session: Session,
    delivery: Delivery,
    goods: GoodsReceived,
    came: tuple[int, int],
    went: tuple[Lot | None, Lot | None, int],
) -> None:
    """Write down what came (good, over), the lots it went to, and how the line's lost changed."""
    (good, over), (lot, extra, lost) = came, went
    key = session.execute(
        insert(Receipt)
        .values(
            order_line_id=delivery.line.id,
            at=delivery.at,
            good=good,
            damaged=goods.damaged,
            wrong=goods.wrong,
            over=over,
            note=goods.note,
            document=goods.by.number,
        )
        .returning(Receipt.id)
    ).scalar_one()
    session.execute(
        insert(ReceiptGoods).values(
            receipt_id=key,
            item_id=None if delivery.item.id == delivery.line.item_id else delivery.item.id,
            lot_id=lot and lot.id,
            over_lot_id=goods.out_of if extra is None else extra.id,
            lost=lost,
        )
    )


def _serve(session: Session, delivery: Delivery, lot: Lot | None, good: int, coming: int) -> None:
    """Promise the lot to who waited for the line, by date, as far as it keeps for each.

    What is still `coming` can be waited for; the rest of a promise cannot be kept.
    """
    left = good
    for row in session.execute(_WAITING, {"line": delivery.line.id}).all():
        some = 0
        if lot is not None and may_be_fitted(lot, delivery.item, row.policy, row.fit_on):
            some = min(row.waiting, left)
        still = min(row.waiting - some, coming)
        if row.waiting > still:
            let_go(session, row.id, row.waiting - still)
        if some and lot is not None:
            set_aside(session, row.booking_id, delivery.item.id, lot.id, some)
        left -= some
        coming -= still


def serve_short(session: Session, branch: int, item: int, today: date) -> None:
    """Promise what is free of an item to open bookings of a branch that lack it, by date."""
    for booking in session.scalars(_NEEDING, {"branch": branch, "item": item}).all():
        if lacks(session, booking).get(item, 0) > 0:
            promise_free(session, booking, today=today)
