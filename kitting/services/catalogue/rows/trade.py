"""Rows of branches and suppliers."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import Row


def branches(book: Book) -> Iterator[Row]:
    """Branches."""
    names = (
        "code", "name", "country", "subdivision", "van_cutoff", "currency", "shelf_policy", "zone",
        "language", "address", "invoice_address",
    )  # fmt: skip
    for branch in book.each("branches"):
        yield {name: getattr(branch, name) for name in names}


def suppliers(book: Book) -> Iterator[Row]:
    """Suppliers, money in minor units of their currency."""
    same = (
        "code", "name", "currency", "country", "subdivision", "restocking", "note", "zone",
        "tax_included", "address", "account",
    )  # fmt: skip
    for supplier in book.each("suppliers"):
        yield {name: getattr(supplier, name) for name in same} | {
            "carriage": supplier.carriage.minor if supplier.carriage else 0,
            "carriage_free": supplier.carriage_free.minor if supplier.carriage_free else None,
            "minimum_order": supplier.minimum_order.minor if supplier.minimum_order else 0,
            "typical": supplier.lead_days,
            "late": supplier.late_days,
        }


def cutoffs(book: Book) -> Iterator[Row]:
    """Cut-offs of the suppliers."""
    for supplier in book.each("suppliers"):
        for at in supplier.cutoffs:
            yield {"supplier_id": book.id("supplier", supplier.code), "at": at}


def closings(book: Book) -> Iterator[Row]:
    """Own closing days of the suppliers."""
    for supplier in book.each("suppliers"):
        for closing in supplier.closed:
            yield {
                "supplier_id": book.id("supplier", supplier.code),
                "day": closing.day,
                "reason": closing.reason,
            }


def taxes(book: Book, section: str, owner: str) -> Iterator[Row]:
    """Rates of tax of the branches, or of the suppliers."""
    for place in book.each(section):
        for tax in place.tax:
            yield {
                f"{owner}_id": book.id(owner, place.code),
                "valid_from": tax.valid_from,
                "rate": tax.rate,
            }


def branch_licences(book: Book) -> Iterator[Row]:
    """What the people of the branches are qualified for."""
    for branch in book.each("branches"):
        for licence in dict.fromkeys(branch.licences):
            yield {
                "branch_id": book.id("branch", branch.code),
                "licence_id": book.id("licence", licence),
            }
