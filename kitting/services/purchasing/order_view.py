"""Orders as they were placed: what has come of each line, who waits for it, what it costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, bindparam, select, true
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.order_sums import OrderSums, order_sums
from kitting.facts.money import Money
from kitting.facts.words import OrderState
from kitting.services.lookup import whole_number
from kitting.services.purchasing.claim_views import charge_of, read_claims
from kitting.services.purchasing.receipts import at_once, receipt_view, receipts_of, too_much
from kitting.services.purchasing.tax import TaxRates, read_tax_rates, tax_view
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.over_goods import OF_KEPT
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.order_history import OrderNotice
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Supplier
from kitting.views.orders import (
    ClaimView,
    NoticeView,
    OrderLineView,
    OrderView,
    SubstituteView,
    TaxView,
)


@dataclass(frozen=True, slots=True)
class _Statements:
    """What is read of some orders: their heads, lines, who waits, what came no good, new dates."""

    heads: Select[*tuple[Any, ...]]
    lines: Select[*tuple[Any, ...]]
    waiting: Select[*tuple[Any, ...]]
    receipts: Select[*tuple[Any, ...]]
    notices: Select[*tuple[Any, ...]]
    condition: ColumnElement[bool]


def _statements(which: ColumnElement[bool]) -> _Statements:
    """The statements for the orders of a condition: five, however many orders it has."""
    heads = (
        select(
            PurchaseOrder.id,
            PurchaseOrder.number,
            PurchaseOrder.placed_at,
            PurchaseOrder.carriage,
            PurchaseOrder.due,
            PurchaseOrder.due_late,
            PurchaseOrder.cancelled_at,
            PurchaseOrder.bill,
            Supplier.code.label("supplier"),
            Supplier.name.label("supplier_name"),
            Supplier.address.label("supplier_address"),
            Supplier.account,
            Supplier.currency,
            Supplier.tax_included,
            PurchaseOrder.supplier_id,
            PurchaseOrder.branch_id,
            Branch.code.label("branch"),
            Branch.name.label("branch_name"),
            Branch.address,
            Branch.invoice_address,
        )
        .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
        .join(Branch, PurchaseOrder.branch_id == Branch.id)
        .where(which)
        .order_by(PurchaseOrder.id)
    )
    lines = (
        select(
            OrderLine.id,
            OrderLine.order_id,
            OrderLine.seq,
            OrderLine.part,
            Item.code.label("item"),
            ITEM_NAME,
            Item.unit,
            OrderLine.packs,
            OrderLine.price,
            OrderLine.quantity,
            OrderLine.received,
            OrderLine.lost,
            OrderLine.returnable,
            OrderLine.core,
            OF_KEPT.label("kept"),
            DUE,
            DUE_LATE,
        )
        .join(Item, OrderLine.item_id == Item.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(which)
        .order_by(OrderLine.order_id, OrderLine.seq)
    )
    waiting = (
        select(Promise.order_line_id, Booking.number)
        .join(Booking, Promise.booking_id == Booking.id)
        .join(OrderLine, Promise.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(which, Promise.waiting > 0)
        .order_by(Booking.number)
    )
    notices = (
        select(
            OrderNotice.order_line_id,
            OrderNotice.at,
            OrderNotice.due,
            OrderNotice.again,
            OrderNotice.why,
        )
        .join(OrderLine, OrderNotice.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(which)
        .order_by(OrderNotice.id)
    )
    return _Statements(heads, lines, waiting, receipts_of(which), notices, which)


_ALL = _statements(true())
_ONE = _statements(PurchaseOrder.id == bindparam("key"))
_OF_BRANCH = _statements(PurchaseOrder.branch_id == bindparam("key"))
_BY_NUMBER = select(PurchaseOrder).where(PurchaseOrder.number == bindparam("number"))
_NUMBERS = select(PurchaseOrder.number).order_by(PurchaseOrder.id)
_Waiting = Mapping[int, Sequence[str]]
_Received = Mapping[int, tuple[int, int, int]]


@dataclass(frozen=True, slots=True)
class _Since:
    """What happened to lines since they were ordered, by line; `receipts` by order."""

    waiting: _Waiting
    received: _Received
    kept: Mapping[int, int]
    notices: Mapping[int, Sequence[NoticeView]]
    instead: Mapping[int, Mapping[str, int]]
    receipts: Mapping[int, Sequence[Row[Any]]]


@dataclass(frozen=True, slots=True)
class _Beside:
    """What an order is told with: what happened since, its claims, and all rates of tax."""

    since: _Since
    claims: Sequence[ClaimView]
    rates: TaxRates


def find_order(session: Session, number: str) -> PurchaseOrder:
    """An order by number, or by its last digits where they are clear; raises UnknownNameError."""
    order = session.scalar(_BY_NUMBER, {"number": number.strip().upper()})
    if order is None:
        known = session.scalars(_NUMBERS).all()
        whole = whole_number("order", number, known, [next_step(Action.BUY)])
        order = session.scalars(_BY_NUMBER, {"number": whole}).one()
    return order


def order_view(session: Session, order: PurchaseOrder, today: date | None = None) -> OrderView:
    """An order as it stands, in at most nine statements; overdue by `today`, if given."""
    (view,) = _views(session, _ONE, order.id, today)
    return view


def list_orders(
    session: Session, branch_id: int | None = None, today: date | None = None
) -> tuple[OrderView, ...]:
    """Orders, the newest last, in at most nine statements; as `order_view`."""
    return _views(session, _ALL if branch_id is None else _OF_BRANCH, branch_id, today)


def order_state(order: PurchaseOrder | Row[Any], lines: Sequence[Any]) -> OrderState:
    """Where an order stands, by what was received and lost of its lines."""
    if order.cancelled_at is not None:
        return OrderState.CANCELLED
    if all(line.received + line.lost == line.quantity for line in lines):
        return OrderState.COMPLETE
    some = any(line.received for line in lines)
    return OrderState.PART_RECEIVED if some else OrderState.PLACED


def _views(
    session: Session, which: _Statements, key: int | None, today: date | None
) -> tuple[OrderView, ...]:
    values = {} if key is None else {"key": key}
    lines: dict[int, list[Row[Any]]] = defaultdict(list)
    for line in session.execute(which.lines, values):
        lines[line.order_id].append(line)
    waiting: dict[int, list[str]] = defaultdict(list)
    for line_id, number in session.execute(which.waiting, values):
        waiting[line_id].append(number)
    rows = session.execute(which.receipts, values).all()
    received: dict[int, tuple[int, int, int]] = {}
    instead: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    kept: dict[int, int] = defaultdict(int)
    for row in rows:
        line, one = row.OrderLine.id, row.Receipt
        damaged, wrong, over = received.get(line, (0, 0, 0))
        received[line] = (damaged + one.damaged, wrong + one.wrong, over + one.over)
        kept[line] += row.kept
        if row.came.id != row.OrderLine.item_id:
            instead[line][row.came.code] += one.good
    came: dict[int, list[Row[Any]]] = defaultdict(list)
    for row in rows:
        came[row.OrderLine.order_id].append(row)
    notices: dict[int, list[NoticeView]] = defaultdict(list)
    for line_id, at, due, again, why in session.execute(which.notices, values):
        notices[line_id].append(NoticeView(at=at, due=due, again=again, why=why))
    since = _Since(waiting, received, kept, notices, instead, came)
    heads = session.execute(which.heads, values).all()
    claims, rates = read_claims(session, which.condition, values), read_tax_rates(session)
    return tuple(
        _view(head, lines[head.id], _Beside(since, claims.get(head.id, ()), rates), today)
        for head in heads
    )


def _tax(rates: TaxRates, head: Row[Any], net: int) -> TaxView | None:
    """The tax of goods and carriage by the rate of the day of the order."""
    terms = rates.terms(head.supplier_id, head.branch_id, head.tax_included)
    return tax_view(terms, Money(net, head.currency), head.placed_at.date())


def _view(
    head: Row[Any], lines: Sequence[Row[Any]], beside: _Beside, today: date | None
) -> OrderView:
    since, claims = beside.since, beside.claims
    state = order_state(head, lines)
    coming = [line for line in lines if line.quantity > line.received + line.lost] or lines
    due = max((line.due for line in coming), default=head.due)
    open_ = state in (OrderState.PLACED, OrderState.PART_RECEIVED)
    sums = _sums(head, lines, since, claims)
    money = partial(Money, currency=head.currency)
    return OrderView(
        number=head.number,
        supplier=head.supplier,
        supplier_name=head.supplier_name,
        branch=head.branch,
        placed_at=head.placed_at,
        due=due,
        due_late=max((line.due_late for line in coming), default=head.due_late),
        state=state,
        lines=tuple(_shown(head, lines, since, claims)),
        goods=money(sums.goods),
        carriage=money(sums.carriage),
        total=money(sums.total),
        cores=money(sums.cores),
        lost=money(sums.lost),
        bill=head.bill,
        overdue=open_ and today is not None and due < today,
        credited=money(sums.credited) if claims else None,
        again=money(sums.again),
        claims=tuple(claims),
        receipts=tuple(receipt_view(part) for part in at_once(since.receipts.get(head.id, ()))),
        too_much=too_much(since.receipts.get(head.id, ()), claims),
        tax=_tax(beside.rates, head, sums.taxed),
        branch_name=head.branch_name,
        address=head.address,
        invoice_address=head.invoice_address,
        supplier_address=head.supplier_address,
        account=head.account,
    )


def _sums(
    head: Row[Any], lines: Sequence[Row[Any]], since: _Since, claims: Sequence[ClaimView]
) -> OrderSums:
    """What an order comes to, of what became of its lines and of its claims."""
    credited = {claim: sum(credit.amount.minor for credit in claim.answers) for claim in claims}
    unusable: dict[int, int] = defaultdict(int)
    for claim, amount in credited.items():
        if claim.of_unusable:
            unusable[claim.line] += amount
    return order_sums(
        [charge_of(line, unusable[line.seq]) for line in lines],
        head.carriage,
        came=any(line.received or any(since.received.get(line.id, ())) for line in lines),
        cancelled=head.cancelled_at is not None,
        credited=sum(credited.values()),
    )


def _shown(
    head: Row[Any], lines: Sequence[Row[Any]], since: _Since, claims: Sequence[ClaimView]
) -> Iterator[OrderLineView]:
    """The lines: of what came too much, and of cores, only what is neither settled nor claimed."""
    settled: dict[str, int] = defaultdict(int)
    handed_in: dict[int, int] = defaultdict(int)
    sent_back: dict[int, int] = defaultdict(int)
    for line in lines:
        settled[line.item] += since.kept.get(line.id, 0)
    for claim in claims:
        settled[claim.item] += claim.quantity if claim.of_over else 0
        handed_in[claim.line] += claim.quantity if claim.of_core else 0
        sent_back[claim.line] += claim.quantity if claim.of_unusable else 0
    for line in lines:
        view = _line(line, head.currency, since)
        some = min(view.over, settled[line.item])
        settled[line.item] -= some
        here = line.received if head.cancelled_at is not None else line.quantity - line.lost
        core = charge_of(line).cores(max(0, here - handed_in[line.seq]))
        # The same pieces may be both claimed and sent once more: what is surely told of.
        told = max(sent_back[line.seq], sum(notice.again for notice in view.notices))
        yield replace(
            view,
            over=view.over - some,
            core=Money(core, head.currency) if core else None,
            told=min(told, view.damaged + view.wrong),
        )


def _line(line: Row[Any], currency: str, since: _Since) -> OrderLineView:
    damaged, wrong, over = since.received.get(line.id, (0, 0, 0))
    return OrderLineView(
        seq=line.seq,
        part=line.part,
        item=line.item,
        name=line.name,
        unit=line.unit,
        packs=line.packs,
        ordered=line.quantity,
        received=line.received,
        lost=line.lost,
        promised=tuple(since.waiting.get(line.id, ())),
        price=Money(line.price, currency),
        total=Money(line.packs * line.price, currency),
        returnable=line.returnable,
        damaged=damaged,
        wrong=wrong,
        over=over,
        due=line.due,
        due_late=line.due_late,
        notices=tuple(since.notices.get(line.id, ())),
        substitutes=tuple(
            SubstituteView(other, much) for other, much in since.instead.get(line.id, {}).items()
        ),
        kept=line.kept,
    )
