"""Stated rates by which nothing was converted: told, or refused where nobody is priced so."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.exchange_rates import StatedRate
from kitting.services.purchasing.market import Market
from kitting.tables.supply import Supplier

_CURRENCIES = select(Supplier.currency).distinct().order_by(Supplier.currency)


def rates_unused(session: Session, market: Market, stated: Sequence[StatedRate]) -> tuple[str, ...]:
    """The currencies of stated rates in which none of these parts is offered.

    Raises KittingError for one in which no supplier is priced at all.
    """
    used = {rate.currency for rate in market.rates.values()}
    unused = tuple(rate.currency for rate in stated if rate.currency not in used)
    if not unused:
        return ()
    known = session.scalars(_CURRENCIES).all()
    for currency in unused:
        if currency not in known:
            others = [one for one in known if one != market.currency]
            step = f"suppliers are priced in {', '.join(others)}" if others else "leave it out"
            raise KittingError(
                "a rate is stated of {currency}: no offer is in {currency}; {step}",
                currency=currency,
                step=step,
            )
    return unused
