"""Supply: branches, suppliers with their terms, and what they offer. Money is in minor units."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from kitting.facts.words import ShelfPolicy, StockUnit
from kitting.tables.base import (
    Base,
    Code,
    Identity,
    LongText,
    Minor,
    Name,
    Position,
    Thousandths,
    Word,
    not_negative,
    one_of,
    owned_by,
    positive,
    refers_to,
)


class Branch(Base):
    """A place that keeps stock and does jobs: a yard, a van.

    `country` and `subdivision` (ISO 3166) name its holidays; `van_cutoff` is the time ("15:00") at
    which goods for other branches leave. `zone` is its time zone by name, `currency` (ISO 4217)
    what it plans and counts in, `shelf_policy` the table by which it judges the storage life of
    rubber, `language` (BCP 47) the one that its screens and sheets are told in.
    `address` is where goods are delivered, `invoice_address` where the bill goes: lines as written.
    """

    __tablename__ = "branch"
    __table_args__ = (
        UniqueConstraint("code"),
        CheckConstraint("length(currency) = 3", name="currency_iso_4217"),
        one_of("shelf_policy", ShelfPolicy),
    )

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    country: Mapped[str | None] = mapped_column(String(2))
    subdivision: Mapped[Word | None]
    van_cutoff: Mapped[str | None] = mapped_column(String(5))
    currency: Mapped[str] = mapped_column(String(3))
    shelf_policy: Mapped[ShelfPolicy]
    zone: Mapped[Code | None]
    language: Mapped[str | None] = mapped_column(String(6))
    address: Mapped[LongText | None]
    invoice_address: Mapped[LongText | None]


class BranchLicence(Base):
    """A qualification that somebody at a branch holds."""

    __tablename__ = "branch_licence"

    branch_id: Mapped[int] = mapped_column(owned_by("branch"), primary_key=True)
    licence_id: Mapped[int] = mapped_column(refers_to("licence"), primary_key=True)


class Supplier(Base):
    """A supplier and its terms.

    `typical` and `late` are working days from order to arrival (median and 90th percentile);
    `restocking` is the share kept of a return, thousandths of a percent; `zone` names the time
    zone of its cut-offs and days. `tax_included` says whether the prices of its list have tax in
    them; None: nobody says. `account` is the number under which it keeps us.
    """

    __tablename__ = "supplier"
    __table_args__ = (
        UniqueConstraint("code"),
        CheckConstraint("length(currency) = 3", name="currency_iso_4217"),
        CheckConstraint("typical >= 0 AND late >= typical", name="lead_time_rises"),
        not_negative("carriage"),
        not_negative("carriage_free"),
        not_negative("minimum_order"),
        CheckConstraint("restocking BETWEEN 0 AND 100000", name="restocking_is_share"),
    )

    id: Mapped[Identity]
    code: Mapped[Code]
    name: Mapped[Name]
    currency: Mapped[str] = mapped_column(String(3))
    carriage: Mapped[Minor]
    carriage_free: Mapped[Minor | None]
    minimum_order: Mapped[Minor]
    typical: Mapped[int]
    late: Mapped[int]
    country: Mapped[str | None] = mapped_column(String(2))
    subdivision: Mapped[Word | None]
    restocking: Mapped[Thousandths | None]
    note: Mapped[LongText | None]
    zone: Mapped[Code | None]
    tax_included: Mapped[bool | None]
    address: Mapped[LongText | None]
    account: Mapped[Name | None]


class BranchTax(Base):
    """A rate of tax on what a branch buys, from a day on, in thousandths of a percent."""

    __tablename__ = "branch_tax"
    __table_args__ = (CheckConstraint("rate BETWEEN 0 AND 100000", name="rate_is_share"),)

    branch_id: Mapped[int] = mapped_column(owned_by("branch"), primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    rate: Mapped[Thousandths]


class SupplierTax(Base):
    """A rate of tax on what a supplier sells, which goes before that of the branch."""

    __tablename__ = "supplier_tax"
    __table_args__ = (CheckConstraint("rate BETWEEN 0 AND 100000", name="rate_is_share"),)

    supplier_id: Mapped[int] = mapped_column(owned_by("supplier"), primary_key=True)
    valid_from: Mapped[date] = mapped_column(primary_key=True)
    rate: Mapped[Thousandths]


class SupplierCutoff(Base):
    """A time of day ("15:30") before which an order still counts for that day."""

    __tablename__ = "supplier_cutoff"

    supplier_id: Mapped[int] = mapped_column(owned_by("supplier"), primary_key=True)
    at: Mapped[str] = mapped_column(String(5), primary_key=True)


class SupplierClosing(Base):
    """A day on which a supplier is closed beside its holidays."""

    __tablename__ = "supplier_closing"

    supplier_id: Mapped[int] = mapped_column(owned_by("supplier"), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    reason: Mapped[Name]


class Offer(Base):
    """A line of a supplier's price list.

    `part` is the supplier's own number; `item_id` is None for parts that no item here is. `pack`
    is in thousandths of `unit`; minimum, multiple and available are in packs. Lead days are None
    where the supplier's usual ones hold.
    """

    __tablename__ = "offer"
    __table_args__ = (
        UniqueConstraint("supplier_id", "part"),
        positive("pack"),
        positive("minimum"),
        positive("multiple"),
        not_negative("available"),
        not_negative("core"),
        CheckConstraint("(typical IS NULL) = (late IS NULL)", name="lead_time_complete"),
        CheckConstraint("typical >= 0 AND late >= typical", name="lead_time_rises"),
        # Offers are asked for by item; most lines of a list are of no item here.
        Index(None, "item_id"),
    )

    id: Mapped[Identity]
    supplier_id: Mapped[int] = mapped_column(owned_by("supplier"))
    part: Mapped[Code]
    item_id: Mapped[int | None] = mapped_column(refers_to("item"))
    description: Mapped[Name | None]
    pack: Mapped[Thousandths]
    unit: Mapped[StockUnit]
    minimum: Mapped[int]
    multiple: Mapped[int]
    available: Mapped[int | None]
    typical: Mapped[int | None]
    late: Mapped[int | None]
    returnable: Mapped[bool]
    core: Mapped[Minor | None]
    replaced_by: Mapped[LongText | None]
    note: Mapped[LongText | None]
    # Which load of the list brought it: what a new list no longer names goes.
    load: Mapped[int]


class OfferPrice(Base):
    """From so many packs on, every pack costs this."""

    __tablename__ = "offer_price"
    __table_args__ = (positive("from_packs"), not_negative("price"))

    offer_id: Mapped[int] = mapped_column(owned_by("offer"), primary_key=True)
    from_packs: Mapped[int] = mapped_column(primary_key=True)
    price: Mapped[Minor]


class PurchaseOrder(Base):
    """An order placed with a supplier for a branch; what it should cost and when it is due.

    `due` and `due_late` hold for every line that has no days of its own.
    `bill` is the number of the receipt where it was bought over the counter: then it teaches no
    lead time.
    """

    __tablename__ = "purchase_order"
    __table_args__ = (
        UniqueConstraint("number"),
        not_negative("carriage"),
        CheckConstraint("due_late >= due", name="late_is_later"),
        Index(None, "branch_id"),
    )

    id: Mapped[Identity]
    number: Mapped[Code]
    supplier_id: Mapped[int] = mapped_column(refers_to("supplier"))
    branch_id: Mapped[int] = mapped_column(refers_to("branch"))
    placed_at: Mapped[datetime]
    carriage: Mapped[Minor]
    due: Mapped[date]
    due_late: Mapped[date]
    cancelled_at: Mapped[datetime | None]
    bill: Mapped[Code | None]


class OrderLine(Base):
    """One item of an order; amounts are thousandths of the item's unit.

    `received` counts what came in usable, `promised` what bookings wait for, `core` is refunded per
    pack for the old part. `due` and `due_late` are None where those of the order hold: a part may
    have a lead time of its own.
    """

    __tablename__ = "order_line"
    __table_args__ = (
        UniqueConstraint("order_id", "seq"),
        positive("packs"),
        positive("quantity"),
        not_negative("price"),
        # Only what was ordered comes in for an order: over-deliveries are counted separately.
        CheckConstraint("received >= 0 AND received <= quantity", name="received_of_ordered"),
        # What will not come can be promised to nobody.
        CheckConstraint(
            "promised >= 0 AND promised <= quantity - received - lost", name="promised_of_coming"
        ),
        not_negative("lost"),
        not_negative("core"),
        CheckConstraint(
            "(due IS NULL) = (due_late IS NULL) AND (due IS NULL OR due_late >= due)",
            name="late_is_later",
        ),
        Index(None, "item_id"),
    )

    id: Mapped[Identity]
    order_id: Mapped[int] = mapped_column(owned_by("purchase_order"))
    seq: Mapped[Position]
    item_id: Mapped[int] = mapped_column(refers_to("item"))
    part: Mapped[Code]
    packs: Mapped[int]
    price: Mapped[Minor]
    quantity: Mapped[Thousandths]
    received: Mapped[Thousandths] = mapped_column(default=0)
    lost: Mapped[Thousandths] = mapped_column(default=0)
    promised: Mapped[Thousandths] = mapped_column(default=0)
    returnable: Mapped[bool]
    core: Mapped[Minor | None]
    due: Mapped[date | None]
    due_late: Mapped[date | None]


class Receipt(Base):
    """One receipt of goods for a line of an order: good, damaged, wrong, or more than ordered.

    `document` is the number of the delivery note that they came by, where it was stated.
    """

    __tablename__ = "receipt"
    __table_args__ = (
        CheckConstraint(
            "good >= 0 AND damaged >= 0 AND wrong >= 0 AND over >= 0"
            " AND good + damaged + wrong + over > 0",
            name="something_came",
        ),
        Index(None, "order_line_id"),
    )

    id: Mapped[Identity]
    order_line_id: Mapped[int] = mapped_column(owned_by("order_line"))
    at: Mapped[datetime]
    good: Mapped[Thousandths]
    damaged: Mapped[Thousandths]
    wrong: Mapped[Thousandths]
    over: Mapped[Thousandths]
    note: Mapped[LongText | None]
    document: Mapped[Code | None]
