"""What a supplier announces of an order: another date, or that something is sent once more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Engine, select, update

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity, format_quantity
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import code_of
from kitting.services.purchasing.goods_in import require_coming, serve_short
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.lots import require_amount
from kitting.services.stock.over_goods import OF_KEPT
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.order_history import OrderNotice
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.views.orders import OrderView


@dataclass(frozen=True, slots=True)
class Announcement:
    """A new date of an order or of one item of it; `again` is sent once more of what was lost."""

    due: date
    item: str | None = None
    again: Quantity | None = None
    why: str | None = None


def announce(
    engine: Engine, number: str, said: Announcement, at: datetime, token: str | None = None
) -> OrderView:
    """Write down what the supplier announced; the date of before stays on record.

    The late day moves with the date. What waits for it keeps waiting and is judged by the new date;
    what is sent once more is promised to who lacks it and can wait for it. Raises KittingError for
    a day that is past, an order of which nothing is to come, and more sent again than was lost.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"announce {order.number} {said}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        require_coming(order, at, "an announcement")
        if said.due < at.date():
            raise KittingError("{due} is past. Name the day that was announced", due=said.due)
        rows = session.execute(
            select(OrderLine, Item)
            .join(Item, OrderLine.item_id == Item.id)
            .where(OrderLine.order_id == order.id, ~OF_KEPT)
            .order_by(OrderLine.seq)
        ).all()
        code = None if said.item is None else code_of(session, said.item)
        chosen = [(line, item) for line, item in rows if code in (None, item.code)]
        if not chosen:
            known = ", ".join(sorted({item.code for _, item in rows}))
            raise UnknownNameError(
                "{number} has no {item!r}. It has: {known}",
                number=order.number,
                item=said.item,
                known=known,
            )
        again = _again(order.number, said, chosen)
        coming = [
            (line, item, again.get(line.id, 0))
            for line, item in chosen
            if line.quantity - line.received - line.lost + again.get(line.id, 0) > 0
        ]
        if not coming:
            raise KittingError(
                "{number}: nothing of it is to come. If the supplier sends something once more,"
                " say of which item and how much",
                number=order.number,
            )
        for line, item, more in coming:
            late = said.due + _spread(order, line)
            session.add(
                OrderNotice(
                    order_line_id=line.id, at=at, due=said.due, due_late=late, again=more,
                    why=said.why,
                )
            )  # fmt: skip
            if more:
                session.execute(
                    update(OrderLine)
                    .where(OrderLine.id == line.id)
                    .values(lost=OrderLine.lost - more)
                    .execution_options(synchronize_session=False)
                )
                session.flush()
                serve_short(session, order.branch_id, item.id, at.date())
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _spread(order: PurchaseOrder, line: OrderLine) -> timedelta:
    """How long after its usual day a line is late, as ordered."""
    if line.due is not None and line.due_late is not None:
        return line.due_late - line.due
    return order.due_late - order.due


def _again(number: str, said: Announcement, chosen: list[tuple[OrderLine, Item]]) -> dict[int, int]:
    """How much of each line is sent once more (thousandths)."""
    if said.again is None:
        return {}
    item = chosen[0][1]
    if said.item is None:
        raise KittingError("{number}: say of which item something is sent once more", number=number)
    require_amount(said.again, item)
    left, found = said.again.thousandths, {}
    for line, _ in chosen:
        some = min(left, line.lost)
        if some:
            found[line.id] = some
            left -= some
    if left or said.again.thousandths <= 0:
        lost = format_quantity(sum(line.lost for line, _ in chosen), item.unit)
        raise KittingError(
            "{number}: {lost} of {code} came unusable or was given up; no more than that is sent"
            " once more. What is ordered beyond it is a new order",
            number=number,
            lost=lost,
            code=item.code,
        )
    return found
