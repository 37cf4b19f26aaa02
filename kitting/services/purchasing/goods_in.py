"""Goods in: what came of an order, checked; who waited for it is promised the lot itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Engine, func, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import format_money
from kitting.facts.names import nearest
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.booking import promise_free
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import let_go, post, set_aside
from kitting.services.stock.lots import POLICY, require_amount, shelf_of, unfit
from kitting.store import writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt, Supplier
from kitting.views.purchasing import OrderLineView, OrderView


@dataclass(frozen=True, slots=True)
class Came:
    """What came for one item of an order, in thousandths of its unit, and what the packet says.

    `good` of the right thing unharmed; `damaged` and `wrong` are told to the supplier. `final`
    means that the rest will not come; `unit` is checked against the item's where it is given.
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


def find_order(session: Session, number: str) -> PurchaseOrder:
    """An order by number; raises UnknownNameError naming near ones."""
    order = session.scalar(
        select(PurchaseOrder).where(PurchaseOrder.number == number.strip().upper())
    )
    if order is None:
        numbers = session.scalars(select(PurchaseOrder.number)).all()
        near = nearest(number, numbers) or list(numbers)[-5:]
        told = f"Known: {', '.join(near)}" if near else "Place one: kitting buy BOOKING --place"
        raise UnknownNameError(f"no order {number!r}. {told}")
    return order


def receive(
    engine: Engine,
    number: str,
    came: Sequence[Came] | None,
    at: datetime,
    policy: str = POLICY,
    token: str | None = None,
) -> OrderView:
    """Take in what came: all of the order if nothing is named, else what is told per item.

    Good pieces become a lot, promised to the bookings that waited for them, the earliest date
    first. What came too much is a lot of its own, held until somebody decides. Raises
    UnknownNameError for an item that the order does not have, KittingError for a cancelled order.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"receive {order.number}"
        if earlier(session, token, request) is not None:
            return order_view(session, order)
        if order.cancelled_at is not None:
            raise KittingError(f"{order.number} was cancelled; send it back or order it anew")
        # An item may stand on several lines, bought by the pack and singly.
        lines: dict[str, list[tuple[OrderLine, Item]]] = {}
        for line, item in session.execute(
            select(OrderLine, Item)
            .join(Item, OrderLine.item_id == Item.id)
            .where(OrderLine.order_id == order.id)
            .order_by(OrderLine.seq)
        ):
            lines.setdefault(item.code, []).append((line, item))
        told = _all_of(lines) if came is None else list(came)
        for one in told:
            if one.item not in lines:
                raise UnknownNameError(
                    f"{order.number} has no {one.item!r}. It has: {', '.join(sorted(lines))}"
                )
            _check(one, lines[one.item][0][1], at)
            for line, item, part in _by_line(lines[one.item], one):
                _take_in(session, order, line, item, part, at, policy)
            session.flush()
            # Two packets of one item: the second is judged by what the first has left.
            session.expire_all()
        record(session, token, request, order.branch_id, at)
        view = order_view(session, order)
        session.commit()
        return view


def _check(came: Came, item: Item, at: datetime) -> None:
    """Amounts in the item's unit, pieces whole, nothing made in the future."""
    for amount in (came.good, came.damaged, came.wrong):
        if amount < 0:
            raise KittingError(f"{came.item}: less than nothing cannot come in. Count again")
        require_amount(Quantity(amount, came.unit or item.unit), item)
    if came.made is not None and came.made > at.date():
        raise KittingError(
            f"{came.item}: made on {came.made}? That is still to come. Read it again"
        )


def _outstanding(line: OrderLine) -> int:
    return line.quantity - line.received - line.lost


def _all_of(lines: dict[str, list[tuple[OrderLine, Item]]]) -> list[Came]:
    open_amounts = {
        code: sum(_outstanding(line) for line, _ in rows) for code, rows in lines.items()
    }
    return [Came(code, amount) for code, amount in open_amounts.items() if amount]


def _by_line(
    rows: Sequence[tuple[OrderLine, Item]], came: Came
) -> list[tuple[OrderLine, Item, Came]]:
    """What came of an item, told to its lines in order; what is too much goes to the last."""
    left = came.good
    parts = []
    for place, (line, item) in enumerate(rows):
        good = left if place == len(rows) - 1 else min(left, _outstanding(line))
        left -= good
        first = place == 0
        part = replace(
            came, good=good, damaged=came.damaged if first else 0, wrong=came.wrong if first else 0
        )
        parts.append((line, item, part))
    return parts


def _take_in(
    session: Session,
    order: PurchaseOrder,
    line: OrderLine,
    item: Item,
    came: Came,
    at: datetime,
    policy: str,
) -> None:
    outstanding = _outstanding(line)
    good = min(came.good, outstanding)
    over = came.good - good
    for what, text, longest in (("lot", came.lot, 40), ("bin", came.bin, 20)):
        if text is not None and len(text) > longest:
            raise KittingError(f"{came.item}: {what} {text!r} is longer than {longest} characters")
    if came.good + came.damaged + came.wrong:
        session.add(
            Receipt(
                order_line_id=line.id, at=at, good=good, damaged=came.damaged, wrong=came.wrong,
                over=over, note=came.note,
            )
        )  # fmt: skip
    waiting = session.execute(
        select(Promise, Booking.fit_on)
        .join(Booking, Promise.booking_id == Booking.id)
        .where(
            Promise.order_line_id == line.id, Promise.waiting > 0, Booking.state.in_(OPEN_BOOKINGS)
        )
        .order_by(Booking.fit_on, Booking.id)
    ).all()
    lost = outstanding - good if came.final else 0
    waits = [(p.id, p.booking_id, p.waiting, fit_on) for p, fit_on in waiting]
    lot = _new_lot(session, order, item, came, good, at, policy) if good else None
    left, coming = good, outstanding - good - lost
    for promise_id, booking_id, amount, fit_on in waits:
        some = 0
        if lot is not None and unfit(lot, shelf_of(lot, item, policy), fit_on) is None:
            some = min(amount, left)
        # What is still to come can be waited for; the rest of the promise cannot be kept.
        still = min(amount - some, coming)
        if amount > still:
            let_go(session, promise_id, amount - still)
        if some and lot is not None:
            set_aside(session, booking_id, item.id, lot.id, some)
        left -= some
        coming -= still
    session.execute(
        update(OrderLine)
        .where(OrderLine.id == line.id)
        .values(received=OrderLine.received + good, lost=OrderLine.lost + lost)
        .execution_options(synchronize_session=False)
    )
    if over:
        _hold_over(session, order, item, came, over, at)


def _new_lot(
    session: Session,
    order: PurchaseOrder,
    item: Item,
    came: Came,
    good: int,
    at: datetime,
    policy: str,
) -> Lot:
    """The lot of what came, new or added to; one that is expired already is held at once."""
    code = came.lot or f"{order.number}-{item.code}"[:40]
    lot = session.scalar(
        select(Lot).where(
            Lot.branch_id == order.branch_id, Lot.item_id == item.id, Lot.code == code
        )
    )
    if lot is None:
        lot = Lot(
            branch_id=order.branch_id,
            item_id=item.id,
            code=code,
            bin=came.bin or (item.bin and item.bin[:20]),
            made_on=came.made,
            expires_on=came.expires,
            received_on=at.date(),
            on_hand=0,
            promised=0,
        )
        shelf = shelf_of(lot, item, policy)
        if shelf.limit is not None and shelf.limit < at.date():
            lot.held = f"expired when it came: it kept to {shelf.limit}"
        session.add(lot)
        session.flush()
    elif came.made not in (None, lot.made_on) or came.expires not in (None, lot.expires_on):
        # Added to it, the old would pass for as fresh as the new, or the other way round.
        raise KittingError(
            f"{item.code}: lot {code} is here with other dates. Give this packet a lot of its own"
        )
    elif lot.inspected_on is not None:
        # What comes now was not looked over with the rest, and would keep as long as it.
        raise KittingError(
            f"{item.code}: lot {code} was looked over on {lot.inspected_on}, so it keeps longer."
            " Give this packet a lot of its own"
        )
    post(session, lot.id, "received", good, at, note=order.number)
    return lot


def _hold_over(
    session: Session, order: PurchaseOrder, item: Item, came: Came, over: int, at: datetime
) -> None:
    """What came beyond the order lies apart until somebody keeps it or sends it back."""
    code = f"{came.lot or f'{order.number}-{item.code}'}"[:35] + "-OVER"
    lot = session.scalar(
        select(Lot).where(
            Lot.branch_id == order.branch_id, Lot.item_id == item.id, Lot.code == code
        )
    )
    if lot is None:
        lot = Lot(
            branch_id=order.branch_id, item_id=item.id, code=code, bin=came.bin,
            made_on=came.made, expires_on=came.expires, received_on=at.date(), on_hand=0,
            promised=0, held=f"more than ordered on {order.number}: keep or send back",
        )  # fmt: skip
        session.add(lot)
        session.flush()
    post(session, lot.id, "received", over, at, note=f"{order.number}, over")


def cancel_order(engine: Engine, number: str, at: datetime) -> OrderView:
    """Cancel what has not come of an order; who waited for it is promised what else is free."""
    with writing(engine) as session:
        order = find_order(session, number)
        if order.cancelled_at is not None:
            raise KittingError(f"{order.number} is cancelled already")
        lines = session.scalars(select(OrderLine).where(OrderLine.order_id == order.id)).all()
        if _state(order, lines) == "complete":
            raise KittingError(f"{order.number} has come in full; nothing of it can be cancelled")
        waiting = session.execute(
            select(Promise, Booking)
            .join(Booking, Promise.booking_id == Booking.id)
            .join(OrderLine, Promise.order_line_id == OrderLine.id)
            .where(OrderLine.order_id == order.id, Promise.waiting > 0)
            .order_by(Booking.fit_on, Booking.id)
        ).all()
        for promise, _ in waiting:
            let_go(session, promise.id, promise.waiting)
        session.execute(
            update(PurchaseOrder).where(PurchaseOrder.id == order.id).values(cancelled_at=at)
        )
        for booking in dict.fromkeys(booking for _, booking in waiting):
            if booking.state in OPEN_BOOKINGS:
                promise_free(session, booking)
        session.expire_all()
        view = order_view(session, order)
        session.commit()
        return view


def order_view(session: Session, order: PurchaseOrder) -> OrderView:
    """An order in words."""
    supplier = session.get_one(Supplier, order.supplier_id)
    waiting: dict[int, list[str]] = {}
    for line_id, number in session.execute(
        select(Promise.order_line_id, Booking.number)
        .join(Booking, Promise.booking_id == Booking.id)
        .join(OrderLine, Promise.order_line_id == OrderLine.id)
        .where(OrderLine.order_id == order.id, Promise.waiting > 0)
        .order_by(Booking.number)
    ):
        waiting.setdefault(line_id or 0, []).append(number)
    rows = session.execute(
        select(OrderLine, Item)
        .join(Item, OrderLine.item_id == Item.id)
        .where(OrderLine.order_id == order.id)
        .order_by(OrderLine.seq)
    ).all()
    came = {
        line_id: (int(damaged), int(wrong), int(over))
        for line_id, damaged, wrong, over in session.execute(
            select(
                Receipt.order_line_id, func.sum(Receipt.damaged), func.sum(Receipt.wrong),
                func.sum(Receipt.over),
            )
            .where(Receipt.order_line_id.in_([line.id for line, _ in rows]))
            .group_by(Receipt.order_line_id)
        )
    }  # fmt: skip
    money = supplier.currency
    goods = sum(line.packs * line.price for line, _ in rows)
    return OrderView(
        number=order.number,
        supplier=supplier.code,
        supplier_name=supplier.name,
        branch=session.get_one(Branch, order.branch_id).code,
        placed_at=order.placed_at,
        due=order.due,
        due_late=order.due_late,
        state=_state(order, [line for line, _ in rows]),
        lines=tuple(
            OrderLineView(
                line.seq, line.part, item.code, item.name, item.unit, line.packs, line.quantity,
                line.received, line.lost, tuple(waiting.get(line.id, ())),
                format_money(line.price, money), format_money(line.packs * line.price, money),
                line.returnable,
                None if line.core is None else format_money(line.packs * line.core, money),
                _told(came.get(line.id), item.unit),
            )
            for line, item in rows
        ),
        goods=format_money(goods, money),
        carriage=format_money(order.carriage, money),
        total=format_money(goods + order.carriage, money),
    )  # fmt: skip


def _told(came: tuple[int, int, int] | None, unit: str) -> tuple[str, ...]:
    """What came that was of no use, or too much: the supplier has to be told."""
    words = ("damaged", "another part", "more than ordered, held")
    return tuple(
        f"{format_quantity(amount, unit)} {word}"
        for amount, word in zip(came or (0, 0, 0), words, strict=True)
        if amount
    )


def _state(order: PurchaseOrder, lines: Sequence[OrderLine]) -> str:
    if order.cancelled_at is not None:
        return "cancelled"
    if all(line.received + line.lost == line.quantity for line in lines):
        return "complete"
    return "part received" if any(line.received for line in lines) else "placed"


def list_orders(session: Session, branch_id: int | None = None) -> tuple[OrderView, ...]:
    """Orders, the newest last."""
    wanted = select(PurchaseOrder).order_by(PurchaseOrder.id)
    if branch_id is not None:
        wanted = wanted.where(PurchaseOrder.branch_id == branch_id)
    return tuple(order_view(session, order) for order in session.scalars(wanted).all())
