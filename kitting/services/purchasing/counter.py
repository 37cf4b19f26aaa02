"""Buying over the counter: ordered, paid and received at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.money import Money, format_money
from kitting.facts.names import same_number
from kitting.facts.units import format_quantity
from kitting.services.branches import find_branch
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.by_hand import find_supplier
from kitting.services.purchasing.goods_in import GoodsReceived, check_goods, take_in_line
from kitting.services.purchasing.new_order import (
    NewLine,
    NewOrder,
    promise_bought,
    served,
    write_order,
)
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.received_lots import Delivery, ages
from kitting.services.stock.lots import find_item
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.supply import Offer, OrderLine, PurchaseOrder, Supplier
from kitting.views.orders import OrderView

_LONGEST = 40  # characters of a receipt's number


@dataclass(frozen=True, slots=True)
class CounterPurchase:
    """What was bought where: `goods` as received, `paid` for all of it, the number of the receipt.

    `age_unknown` says that nothing on the packet tells how old it is, `another_line` that the bill
    has the item on one more line than is recorded.
    """

    supplier: str
    goods: GoodsReceived
    paid: Money
    bill: str
    branch: str | None = None
    bookings: Sequence[str] = ()
    age_unknown: bool = False
    another_line: bool = False


def buy_over_counter(
    engine: Engine, bought: CounterPurchase, at: datetime, token: str | None = None
) -> OrderView:
    """Write down a purchase over the counter: an order, its receipt and the lot, in one change.

    It is promised to the bookings it is for, as far as they lack it and it keeps for them; the rest
    is free. It teaches no lead time. Raises KittingError for another currency than the supplier's,
    without a receipt number, for an item that is recorded of this bill already, and for what ages
    if neither a date nor that it is unknown is stated.
    """
    with writing(engine) as session:
        request = f"counter {bought}"
        done = earlier(session, token, request)
        if done is not None:
            return order_view(session, find_order(session, done.answer))
        supplier = find_supplier(session, bought.supplier)
        branch = find_branch(session, bought.branch)
        item = find_item(session, bought.goods.item)
        check_goods(bought.goods, item, at)
        _require(bought, supplier)
        if not bought.another_line:
            _require_new(session, supplier, item, bought.bill)
        if ages(item) and not (bought.goods.made or bought.goods.expires or bought.age_unknown):
            raise KittingError(
                "{code} ages: state when it was made or until when it keeps, as the packet says;"
                " or that its age is unknown",
                code=item.code,
            )
        order, (line,) = write_order(
            session,
            NewOrder(
                supplier=supplier.id,
                branch=branch.id,
                placed_at=at,
                due=at.date(),
                due_late=at.date(),
                carriage=0,
                # As one pack: what was paid for all of it is exact, a share of it need not be.
                lines=[
                    NewLine(
                        item=item.id,
                        part=_part(session, supplier, item.id) or item.code,
                        packs=1,
                        price=bought.paid.minor,
                        quantity=bought.goods.good,
                    )
                ],
                bill=bought.bill.strip(),
            ),
        )
        bookings = served(session, bought.bookings, branch.id)
        promise_bought(session, bookings, [line], at.date())
        session.refresh(line)
        take_in_line(session, Delivery(order, line, item, at, branch.shelf_policy), bought.goods)
        record(session, token, request, branch.id, at, order.number)
        view = order_view(session, order)
        session.commit()
        return view


def _require(bought: CounterPurchase, supplier: Supplier) -> None:
    if bought.goods.good <= 0:
        raise KittingError(
            "{item}: say how much was bought, more than nothing", item=bought.goods.item
        )
    if bought.goods.damaged or bought.goods.wrong:
        raise KittingError("over the counter only what is good is bought")
    if bought.paid.currency != supplier.currency:
        raise KittingError(
            "{name} is paid in {currency}, not in {paid_currency}",
            name=supplier.name,
            currency=supplier.currency,
            paid_currency=bought.paid.currency,
        )
    if bought.paid.minor < 0:
        raise KittingError("the price paid must not be negative")
    bill = bought.bill.strip()
    if not bill or len(bill) > _LONGEST:
        raise KittingError(
            "give the number of the receipt, {most} characters at most", most=_LONGEST
        )


def _require_new(session: Session, supplier: Supplier, item: Item, bill: str) -> None:
    """Refuses an item that is recorded of a bill already; it may stand on two lines of it."""
    rows = session.execute(
        select(PurchaseOrder, OrderLine)
        .join(OrderLine, OrderLine.order_id == PurchaseOrder.id)
        .where(
            PurchaseOrder.supplier_id == supplier.id,
            OrderLine.item_id == item.id,
            PurchaseOrder.bill.is_not(None),
            PurchaseOrder.cancelled_at.is_(None),
        )
        .order_by(PurchaseOrder.id)
    ).all()
    for order, line in rows:
        if order.bill is not None and same_number(order.bill, bill):
            paid = format_money(line.price * line.packs, supplier.currency)
            much = format_quantity(line.quantity, item.unit)
            raise KittingError(
                "{much} of {code} for {paid} are recorded of bill {bill} of {name} already, as"
                " {number} on {placed_at:%Y-%m-%d}. If the bill has them twice, say so; if they"
                " were recorded wrongly, take them back and cancel the order",
                much=much,
                code=item.code,
                paid=paid,
                bill=order.bill,
                name=supplier.name,
                number=order.number,
                placed_at=order.placed_at,
                then=[
                    next_step(Action.CORRECT_RECEIPT, order=order.number, item=item.code),
                    next_step(Action.CANCEL_ORDER, order=order.number),
                    next_step(Action.ANOTHER_LINE),
                ],
            )


def _part(session: Session, supplier: Supplier, item: int) -> str | None:
    """The supplier's own number of an item, if it is offered as one part."""
    of_item = select(Offer.part).where(Offer.supplier_id == supplier.id, Offer.item_id == item)
    parts = session.scalars(of_item).all()
    return parts[0] if len(parts) == 1 else None
