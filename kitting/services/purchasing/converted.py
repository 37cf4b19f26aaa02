"""Prices and terms of a supplier in the currency that is bought in, by a rate that was stated.

Nothing is rounded here: a minor unit is counted in so many parts that every price is whole. What is
shown is converted from the supplier's own sums, and rounded there once.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from math import lcm

from kitting.calc.purchasing.sourcing import Offer as PricedOffer
from kitting.calc.purchasing.sourcing import Price
from kitting.facts.exchange_rates import StatedRate
from kitting.services.purchasing.supplier_terms import SupplierTerms


def parts_of(rates: Collection[StatedRate], into: str) -> int:
    """In how many parts a minor unit is counted, so that what is converted is whole.

    >>> from datetime import date
    >>> parts_of([StatedRate("EUR", "0.86", date(2026, 3, 27))], "GBP"), parts_of([], "GBP")
    (50, 1)
    """
    return lcm(*(rate.ratio(into).denominator for rate in rates))


def each_minor(rate: StatedRate | None, into: str, parts: int) -> int:
    """How many parts a minor unit of a supplier's own currency is."""
    return parts if rate is None else int(rate.ratio(into) * parts)


def offer_in_parts(offer: PricedOffer, each: int) -> PricedOffer:
    """An offer with its prices in parts."""
    if each == 1:
        return offer
    prices = tuple(Price(one.from_packs, one.minor * each) for one in offer.prices)
    return replace(offer, prices=prices)


def terms_in_parts(terms: SupplierTerms, each: int) -> SupplierTerms:
    """The terms of a supplier with carriage and limits in parts; its currency stays its own."""
    if each == 1:
        return terms
    free = terms.carriage_free
    return replace(
        terms,
        carriage=terms.carriage * each,
        carriage_free=None if free is None else free * each,
        minimum_order=terms.minimum_order * each,
    )
