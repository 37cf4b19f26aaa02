"""What the parts of some work cost: for certain, on average, and at the very most."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kitting.calc.advice.spare_costs import PIECE, Way, price
from kitting.calc.advice.spares import Line, estimate
from kitting.calc.purchasing.sourcing import lacking, source
from kitting.services.purchasing.market import Market
from kitting.services.purchasing.tax import tax_view
from kitting.views.completion import EstimateView


@dataclass(frozen=True, slots=True)
class Parts:
    """What is needed in any case and what more if every look fails, in thousandths by item.

    `lines` say how likely how much of it is; `ways` how each item is bought.
    """

    certain: Mapping[int, int]
    inspected: Mapping[int, int]
    lines: Sequence[Line]
    ways: Mapping[int, Sequence[Way]]

    @property
    def all_failed(self) -> dict[int, int]:
        """What is needed if every look fails."""
        found: dict[int, int] = defaultdict(int, self.certain)
        for item, amount in self.inspected.items():
            found[item] += amount
        return found


def estimate_view(market: Market, parts: Parts) -> EstimateView:
    """What the parts cost, bought as a purchase is: whole packs, breaks, carriage, least orders.

    What is here is priced as if it were bought. The limit is the cheapest order of all that may be
    needed: no outcome needs more of anything, so none costs more in one order. What is added on
    average is of goods alone, each item from one offer, and never goes beyond the limit.
    """
    now, missing = _order(market, parts.certain)
    upper, short = _order(market, parts.all_failed)
    added = [
        (line, prices)
        for line in parts.lines
        if (prices := _added(parts.ways.get(line.key, ()), parts.certain.get(line.key, 0), line))
    ]
    found = estimate(now, added)
    unpriced = dict.fromkeys(market.items[item].code for item in (*missing, *short))
    most = max(now, upper)
    day = market.now.date()
    selling = {market.offers[key].supplier for key in market.priced}
    taxes = {tax_view(market.suppliers[one].tax, market.money(most), day) for one in selling}
    return EstimateView(
        now=market.money(now),
        expected=market.money(min(found.expected, most)),
        likely=market.money(min(found.likely, most)),
        upper=market.money(most),
        unpriced=tuple(unpriced),
        tax=next(iter(taxes)) if len(taxes) == 1 else None,
        tax_differs=len(taxes) > 1,
    )


def _order(market: Market, needs: Mapping[int, int]) -> tuple[int, tuple[int, ...]]:
    """What the cheapest order of what can be had costs, and the items that cannot."""
    offers, deliveries = list(market.priced.values()), market.deliveries(market.now.date())
    missing = lacking(needs, offers, deliveries)
    had = {item: amount for item, amount in needs.items() if amount and item not in missing}
    found = source(had, offers, deliveries) if had else None
    if had and found is None:  # no order of these is large enough to be delivered
        return 0, tuple(item for item, amount in needs.items() if amount)
    return (found.spent if found else 0), missing


def _added(ways: Sequence[Way], certain: int, line: Line) -> list[int] | None:
    """What 0, 1, … new ones more than what is certain add; None where not all can be had."""
    prices = [price(ways, certain + k * PIECE) for k in range(line.pieces + 1)]
    least = prices[0]
    found = [p - least for p in prices if p is not None and least is not None]
    return found if len(found) == len(prices) else None
