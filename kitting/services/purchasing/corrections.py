"""A receipt that was recorded wrongly is taken back by a counter-entry, then received anew."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, Row, bindparam, insert, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import format_quantity
from kitting.facts.words import OPEN_BOOKINGS, MovementKind
from kitting.services.bookings.reservations import lacks, promise_free
from kitting.services.bookings.states import find_booking
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import code_of
from kitting.services.purchasing.order_times import require_after
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.receipt_claims import require_unclaimed
from kitting.services.purchasing.receipts import at_once, receipts_of
from kitting.services.purchasing.substitutes import plan_as_ordered
from kitting.services.stock.ledger import Move, let_all_go, post
from kitting.services.stock.over_goods import name_orders
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.views.orders import OrderView

_RECEIPTS = receipts_of(PurchaseOrder.id == bindparam("order"))


def take_back_receipt(
    engine: Engine, number: str, item: str, why: str, at: datetime, token: str | None = None
) -> OrderView:
    """Take back what came last of an item of an order, on whatever lines: as if it had not come.

    The stock moves out of its lot again; bookings that were promised it wait for the order as
    before. What was kept of what came too much is on hold again. Receive it anew as it really was.
    Raises KittingError where some of it does not lie in its lot any more (it names who has it) or
    is claimed from the supplier, for a receipt of an older program, which did not record where it
    went, and without a reason.
    """
    if not why.strip():
        raise KittingError("a reason is required: say what was recorded wrongly")
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"take back {order.number} {item} {why}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        item = code_of(session, item)
        part = _newest(session, order, item)
        require_after(f"that of {item} came", part[0].Receipt.at, at, "its taking back")
        _require_known(order, part)
        require_unclaimed(session, order, part)
        _take_back(session, order, part, why.strip(), at)
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _newest(session: Session, order: PurchaseOrder, code: str) -> Sequence[Row[Any]]:
    """What came last of an item and holds, for every line that it filled.

    A substitute goes by its own name and by that of what was ordered. Raises UnknownNameError.
    """
    rows = session.execute(_RECEIPTS, {"order": order.id}).all()
    parts = [part for part in at_once(rows) if code in (part[0].item, part[0].came.code)]
    if parts:
        return parts[-1]
    came = sorted({name for row in rows for name in (row.item, row.came.code)})
    raise UnknownNameError(
        f"{order.number}: nothing came of {code!r}. There are receipts of:"
        f" {', '.join(came) or 'nothing'}"
    )


def _require_known(order: PurchaseOrder, part: Sequence[Row[Any]]) -> None:
    """Refuses what an older program took in, and what is being sent once more by now."""
    for row in part:
        if row.ReceiptGoods is None:
            raise KittingError(
                "{number}: where this receipt of {item} went was not recorded then. Count the lot"
                " instead",
                number=order.number,
                item=row.item,
            )
        if row.OrderLine.lost < row.ReceiptGoods.lost:
            raise KittingError(
                "{number}: since then it was announced that {item} is sent once more; this"
                " receipt cannot be taken back",
                number=order.number,
                item=row.item,
            )


def _take_back(
    session: Session, order: PurchaseOrder, part: Sequence[Row[Any]], why: str, at: datetime
) -> None:
    """What came at once leaves its lots and its lines again; who had it waits as before."""
    leaving: dict[int, int] = defaultdict(int)
    for row in part:
        goods, one = row.ReceiptGoods, row.Receipt
        for key, amount in ((goods.lot_id, one.good), (goods.over_lot_id, one.over)):
            if key is not None and amount:
                leaving[key] += amount
    waited: list[Booking] = []
    for key, amount in leaving.items():
        waited += _out(session, session.get_one(Lot, key), amount, part[0])
        note = f"{order.number}, receipt taken back: {why}"
        post(session, Move(key, MovementKind.RECEIVED, -amount, note=note), at)
    for row in part:
        if row.kept:
            # It lies with what came too much again.
            note = f"{order.number}, over, not kept: {why}"
            key = row.ReceiptGoods.over_lot_id
            post(session, Move(key, MovementKind.RECEIVED, row.kept, note=note), at)
        session.execute(
            update(OrderLine)
            .where(OrderLine.id == row.OrderLine.id)
            .values(
                received=OrderLine.received - row.Receipt.good,
                lost=OrderLine.lost - row.ReceiptGoods.lost,
            )
            .execution_options(synchronize_session=False)
        )
        session.execute(insert(ReceiptUndone).values(receipt_id=row.Receipt.id, at=at, why=why))
    for lot in {row.over_lot for row in part if row.over_lot is not None}:
        name_orders(session, lot)
    _wait_again(session, part, waited, at)


def _wait_again(
    session: Session, part: Sequence[Row[Any]], waited: Sequence[Booking], at: datetime
) -> None:
    """Who had it is promised what else is free, or waits for the lines; the earliest date first.

    Who then lacks a substitute is planned with what was ordered again.
    """
    lines = [row.OrderLine.id for row in part]
    other = part[0].came
    asked = session.get_one(Item, part[0].OrderLine.item_id)
    for one in sorted(waited, key=lambda booking: (booking.fit_on, booking.id)):
        promise_free(session, one.id, bought=lines, today=at.date())
        if other.id != asked.id and lacks(session, one.id).get(other.id, 0) > 0:
            plan_as_ordered(session, find_booking(session, one.number), asked, other)
            promise_free(session, one.id, bought=lines, today=at.date())


def _out(session: Session, lot: Lot, amount: int, row: Row[Any]) -> list[Booking]:
    """Let go of what is promised of a lot, as far as it leaves; the bookings that had it.

    The latest date gives up first. Raises KittingError where less lies there than is to leave.
    """
    promises = session.execute(
        select(Promise.id, Promise.waiting, IN_KIT.label("picked"), Promise.returned, Booking)
        .join(Booking, Promise.booking_id == Booking.id)
        .where(Promise.lot_id == lot.id)
        .order_by(Booking.fit_on.desc(), Booking.id.desc())
    ).all()
    if lot.on_hand < amount:
        had = [one.Booking.number for one in promises if one.picked > one.returned]
        whose = (
            f" It is in the kits of {', '.join(sorted(had))}: put it back first"
            if had
            else (" Count the lot, or bring back what left it, first")
        )
        raise KittingError(
            "{code}: of lot {lot_code} {quantity} still lie there, {amount} came.{whose}",
            code=row.came.code,
            lot_code=lot.code,
            quantity=format_quantity(lot.on_hand, row.unit),
            amount=format_quantity(amount, row.unit),
            whose=whose,
        )
    left = amount - (lot.on_hand - lot.promised)
    parts, waited = [], dict[int, Booking]()
    for one in promises:
        some = min(one.waiting, left)
        if some > 0:
            parts.append((one.id, some))
            left -= some
            if one.Booking.state in OPEN_BOOKINGS:
                waited[one.Booking.id] = one.Booking
    let_all_go(session, parts)
    session.expire_all()
    return list(waited.values())
