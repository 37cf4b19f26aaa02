"""Prices and terms of a supplier in the currency that is bought in, by a rate that was stated."""

from __future__ import annotations

from dataclasses import replace

from kitting.calc.purchasing.sourcing import Offer as PricedOffer
from kitting.calc.purchasing.sourcing import Price
from kitting.facts.exchange_rates import StatedRate
from kitting.services.purchasing.supplier_terms import SupplierTerms


def converted(minor: int | None, rate: StatedRate | None, into: str) -> int | None:
    """An amount in minor units; as it is without a rate."""
    return minor if minor is None or rate is None else rate.convert(minor, into)


def converted_offer(offer: PricedOffer, rate: StatedRate | None, into: str) -> PricedOffer:
    """An offer with every price of a pack converted by itself."""
    if rate is None:
        return offer
    prices = tuple(Price(one.from_packs, rate.convert(one.minor, into)) for one in offer.prices)
    return replace(offer, prices=prices)


def converted_terms(terms: SupplierTerms, rate: StatedRate | None, into: str) -> SupplierTerms:
    """The terms of a supplier with carriage and limits converted; its currency stays its own."""
    if rate is None:
        return terms
    return replace(
        terms,
        carriage=rate.convert(terms.carriage, into),
        carriage_free=converted(terms.carriage_free, rate, into),
        minimum_order=rate.convert(terms.minimum_order, into),
    )
