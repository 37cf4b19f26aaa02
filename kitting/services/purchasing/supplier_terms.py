"""Suppliers as they deliver: carriage, cut-offs, calendar, and the lead times seen so far."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Any, Protocol

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import LeadTime, Terms, day_zero
from kitting.facts.tax_rates import TaxTerms
from kitting.facts.time_zones import Clock
from kitting.services.calendars import calendar_of
from kitting.services.purchasing.tax import read_tax_rates
from kitting.tables.order_history import ReceiptUndone
from kitting.tables.supply import (
    Branch,
    OrderLine,
    PurchaseOrder,
    Receipt,
    Supplier,
    SupplierClosing,
    SupplierCutoff,
)


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """A supplier: money in minor units of its currency, `restocking` in thousandths of a percent.

    `terms` are its usual ones, with the lead times seen so far; `seen` has each with the time of
    its receipt. An offer may have a lead time of its own.
    """

    id: int
    code: str
    name: str
    currency: str
    carriage: int
    carriage_free: int | None
    minimum_order: int
    restocking: int | None
    terms: Terms
    tax: TaxTerms
    seen: tuple[tuple[datetime, int], ...] = ()

    def at(self, moment: datetime) -> Terms:
        """The terms as they were believed at a moment: by the receipts before it alone."""
        lead = self.terms.lead
        before = tuple(days for came, days in self.seen if came < moment)
        return replace(self.terms, lead=LeadTime(lead.typical, lead.late, before))


class Place(Protocol):
    """A branch as far as a supplier's terms depend on it."""

    @property
    def id(self) -> int:
        """Its key."""

    @property
    def zone(self) -> str | None:
        """Its time zone by name."""

    @property
    def country(self) -> str | None:
        """The country whose holidays it keeps."""

    @property
    def subdivision(self) -> str | None:
        """The part of that country."""


@dataclass(frozen=True, slots=True)
class _Nowhere:
    id: int = 0
    zone: str | None = None
    country: str | None = None
    subdivision: str | None = None


NOWHERE: Place = _Nowhere()
_KEYS: BindParameter[Any] = bindparam("suppliers", expanding=True)
_SUPPLIERS = select(
    Supplier.id, Supplier.code, Supplier.name, Supplier.currency, Supplier.carriage,
    Supplier.carriage_free, Supplier.minimum_order, Supplier.restocking, Supplier.typical,
    Supplier.late, Supplier.country, Supplier.subdivision, Supplier.zone, Supplier.tax_included,
).where(Supplier.id.in_(_KEYS))  # fmt: skip
_CUTOFFS = (
    select(SupplierCutoff.supplier_id, SupplierCutoff.at)
    .where(SupplierCutoff.supplier_id.in_(_KEYS))
    .order_by(SupplierCutoff.at)
)
_CLOSINGS = select(
    SupplierClosing.supplier_id, SupplierClosing.day, SupplierClosing.reason
).where(SupplierClosing.supplier_id.in_(_KEYS))  # fmt: skip
_RECEIPTS = (
    select(
        PurchaseOrder.id,
        PurchaseOrder.supplier_id,
        PurchaseOrder.placed_at,
        Receipt.at,
        Branch.zone,
    )
    .join(Branch, PurchaseOrder.branch_id == Branch.id)
    .join(OrderLine, OrderLine.order_id == PurchaseOrder.id)
    .join(Receipt, Receipt.order_line_id == OrderLine.id)
    .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
    .where(
        PurchaseOrder.supplier_id.in_(_KEYS),
        Receipt.good > 0,
        # A part with a lead time of its own teaches nothing about the others.
        OrderLine.due.is_(None),
        # Over the counter nothing is waited for; what was recorded wrongly teaches nothing.
        PurchaseOrder.bill.is_(None),
        ReceiptUndone.receipt_id.is_(None),
    )
    .order_by(PurchaseOrder.id, Receipt.at)
)


def read_suppliers(
    session: Session, keys: Collection[int], now: datetime, buyer: Place = NOWHERE
) -> dict[int, SupplierTerms]:
    """Some suppliers by id with their terms for the branch that buys, in five statements."""
    which = {"suppliers": sorted(keys)}
    rows = session.execute(_SUPPLIERS, which).all()
    cutoffs: dict[int, list[time]] = defaultdict(list)
    for supplier, at in session.execute(_CUTOFFS, which):
        cutoffs[supplier].append(time.fromisoformat(at))
    closed: dict[int, dict[date, str]] = defaultdict(dict)
    for supplier, day, reason in session.execute(_CLOSINGS, which):
        closed[supplier][day] = reason
    calendars = {
        row.id: calendar_of(row.country, row.subdivision, closed[row.id], now) for row in rows
    }
    receiving = (
        None if buyer.country is None else calendar_of(buyer.country, buyer.subdivision, {}, now)
    )
    stated = {
        row.id: Terms(
            tuple(cutoffs[row.id]),
            calendars[row.id],
            LeadTime(row.typical, row.late),
            Clock(buyer.zone, row.zone),
            receiving,
        )
        for row in rows
    }
    seen, rates = _seen(session, stated), read_tax_rates(session)
    return {
        row.id: SupplierTerms(
            id=row.id,
            code=row.code,
            name=row.name,
            currency=row.currency,
            carriage=row.carriage,
            carriage_free=row.carriage_free,
            minimum_order=row.minimum_order,
            restocking=row.restocking,
            terms=replace(
                stated[row.id],
                lead=LeadTime(row.typical, row.late, tuple(days for _, days in seen[row.id])),
            ),
            seen=tuple(seen[row.id]),
            tax=rates.terms(row.id, buyer.id, row.tax_included),
        )
        for row in rows
    }


def _seen(session: Session, stated: Mapping[int, Terms]) -> dict[int, list[tuple[datetime, int]]]:
    """When the first good receipt of every order so far came, and its working days, by supplier.

    The days count from the day that counted as 0 for the order: after the last cut-off the next
    working day. What comes on a closed day counts for the next open one. What came damaged or was
    another part is no delivery: nothing of it could be fitted.
    """
    found: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
    first: dict[int, tuple[int, datetime, datetime, str | None]] = {}
    for order, supplier, placed, came, zone in session.execute(
        _RECEIPTS, {"suppliers": sorted(stated)}
    ):
        first.setdefault(order, (supplier, placed, came, zone))
    for supplier, placed, came, zone in first.values():
        # An order was placed by the clock of the branch that placed it.
        terms = replace(stated[supplier], clock=Clock(zone, stated[supplier].clock.there))
        days = terms.calendar.between(day_zero(placed, terms), came.date())
        found[supplier].append((came, max(0, days)))
    return found
