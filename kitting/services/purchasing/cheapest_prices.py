"""The price book: the cheapest price of a piece of each item, whoever asks."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.tables.supply import Offer, OfferPrice, Supplier


def cheapest_each(session: Session, items: Collection[int], currency: str) -> dict[int, int]:
    """Minor units per unit (each, ml, g, mm) of an item times 1000, by the cheapest offer.

    Times 1000, since a millilitre costs less than a penny. Items that nobody offers in the
    currency are left out.
    """
    found: dict[int, int] = {}
    for item, pack, price in session.execute(
        select(Offer.item_id, Offer.pack, OfferPrice.price)
        .join(OfferPrice, OfferPrice.offer_id == Offer.id)
        .join(Supplier, Offer.supplier_id == Supplier.id)
        .where(Offer.item_id.in_(items), Supplier.currency == currency)
    ):
        each = -(-price * 1_000_000 // pack)
        if item is not None:
            found[item] = min(each, found.get(item, each))
    return found
