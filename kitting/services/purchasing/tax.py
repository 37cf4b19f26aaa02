"""What is stated of tax, read, and the tax of what is ordered together."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from sqlalchemy import literal, select, union_all
from sqlalchemy.orm import Session

from kitting.facts.money import Money
from kitting.facts.tax_rates import TaxTerms, tax_of
from kitting.tables.supply import BranchTax, SupplierTax
from kitting.views.orders import TaxView

_RATES = union_all(
    select(literal(True).label("own"), SupplierTax.supplier_id.label("whose"),
           SupplierTax.valid_from, SupplierTax.rate),
    select(literal(False), BranchTax.branch_id, BranchTax.valid_from, BranchTax.rate),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class TaxRates:
    """Every rate that is stated, of suppliers and of branches by key."""

    suppliers: dict[int, list[tuple[date, int]]]
    branches: dict[int, list[tuple[date, int]]]

    def terms(self, supplier: int, branch: int, included: bool | None) -> TaxTerms:
        """What holds for a supplier's goods that a branch buys."""
        own, other = self.suppliers.get(supplier, ()), self.branches.get(branch, ())
        return TaxTerms(tuple(own), tuple(other), included)


def read_tax_rates(session: Session) -> TaxRates:
    """The rates, in one statement."""
    found: tuple[dict[int, list[tuple[date, int]]], ...] = (defaultdict(list), defaultdict(list))
    for own, whose, valid_from, rate in session.execute(_RATES):
        found[0 if own else 1][whose].append((valid_from, rate))
    return TaxRates(*found)


def tax_view(terms: TaxTerms, net: Money, day: date) -> TaxView | None:
    """The tax of goods and carriage that are bought on a day; None where nothing is stated."""
    rate = terms.rate_on(day)
    if rate is None or terms.included is None:
        known = rate is not None or terms.included is not None
        return TaxView(rate, terms.included, None, None) if known else None
    tax = tax_of(net.minor, rate, included=terms.included)
    whole = net.minor if terms.included else net.minor + tax
    return TaxView(rate, terms.included, Money(tax, net.currency), Money(whole, net.currency))
