"""The price book: the cheapest price of a piece of each item, whoever asks."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.tables.supply import Offer, OfferPrice, Supplier

_PRICES = (
    select(Offer.item_id, Offer.pack, OfferPrice.price)
    .join(OfferPrice, OfferPrice.offer_id == Offer.id)
    .join(Supplier, Offer.supplier_id == Supplier.id)
    .where(
        Offer.item_id.in_(bindparam("keys", expanding=True)),
        Supplier.currency == bindparam("currency"),
    )
)


def cheapest_each(session: Session, items: Collection[int], currency: str) -> dict[int, int]:
    """Minor units per unit (each, ml, g, mm) of an item times 1000, by the cheapest offer.

    Times 1000, since a millilitre costs less than a penny. Items that nobody offers in the
    currency are left out.
    """
    found: dict[int, int] = {}
    asked = {"keys": sorted(items), "currency": currency}
    for item, pack, price in session.execute(_PRICES, asked):
        each = -(-price * 1_000_000 // pack)
        if item is not None:
            found[item] = min(each, found.get(item, each))
    return found
