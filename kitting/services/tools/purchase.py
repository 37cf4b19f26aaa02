"""Closing gaps: the cheapest purchase that lets some boxes do a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.tools.purchase import Purchase, ToolOffer, cheapest
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money, require_one_currency
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolOfferReason
from kitting.facts.tool_words import ToolVerdict
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft
from kitting.services.planning.request import ToolRequest
from kitting.services.tools.check import check_draft
from kitting.services.tools.gaps import Gap, find_gaps
from kitting.services.tools.inventory import (
    Offer,
    OfferedTools,
    OwnedTools,
    read_offered,
    read_owned,
)
from kitting.views.tools import BoughtView, BuyView, LeftOutView, NeedView, ToolCheckView

_OPEN = (ToolVerdict.STOPPED, ToolVerdict.UNKNOWN)
# Nothing that is bought changes it.
_SETTLED = (ToolVerdict.STOPPED, ToolVerdict.HAVE)


class SeveralCurrenciesError(KittingError):
    """Offers that could close the gaps are priced in several currencies, and none was named."""

    def __init__(self, offers: Sequence[Offer]) -> None:
        by_currency: dict[str, list[str]] = defaultdict(list)
        for offer in offers:
            by_currency[offer.price.currency].append(offer.code)
        self.currencies = tuple(sorted(by_currency))
        stated = "; ".join(
            f"{', '.join(by_currency[currency])} in {currency}" for currency in self.currencies
        )
        super().__init__(
            f"offers in several currencies are neither added nor compared: {stated}."
            " Name the currency to buy in",
            then=(next_step(Action.NAME_CURRENCY, currency=self.currencies[0]),),
        )

    @property
    def reason(self) -> Reason:
        """The same as data."""
        return because(ToolOfferReason.SEVERAL_CURRENCIES, currencies=self.currencies)


@dataclass(frozen=True, slots=True)
class _Choice:
    """The offers that may be bought, all in one currency, and those that may not."""

    offers: tuple[Offer, ...]
    left_out: tuple[Offer, ...] = ()


def buy_tools(session: Session, request: ToolRequest) -> BuyView:
    """The cheapest offers that close every gap of a plan that can be closed, proven by the solver.

    Gaps are closed by complete drive trains: a bought wrench may need a bought adaptor. Offers in
    another currency than the one asked for are left out. Raises UnknownNameError,
    SeveralCurrenciesError where offers of several currencies could close the gaps and none is
    named; KittingError if the solver stops without a proof.
    """
    facts = draft(session, request.plan)
    owned = read_owned(session, request.boxes, request.day)
    return buy_for(facts, owned, read_offered(session, request.plan.on), request)


def buy_for(
    facts: Draft,
    owned: OwnedTools,
    offered: OfferedTools,
    request: ToolRequest,
    checked: ToolCheckView | None = None,
) -> BuyView:
    """The purchase for a draft, given the tools there and those on offer (see `buy_tools`).

    `checked` is the tool check of the same, where it is known already.
    """
    checked = checked or check_draft(facts, owned, request.policy)
    gaps = find_gaps(facts, owned, offered, request.policy)
    choice = _in_one_currency(offered, gaps, request.currency)
    brought = frozenset[str]().union(*(offer.brings for offer in choice.offers))
    closable = [gap for gap in gaps if any(way <= brought for way in gap.ways)]
    left = [gap for gap in gaps if gap not in closable]
    offers = [ToolOffer(o.code, o.price.minor, o.brings) for o in choice.offers]
    ways = {gap.view: gap.ways for gap in closable}
    best = cheapest(offers, ways) if closable else None
    empty = BuyView(
        bought=(),
        total=None,
        next_cheapest=None,
        next_offers=(),
        closed=(),
        not_closed=tuple(gap.view for gap in left if not gap.view.unproven),
        left_out=tuple(
            LeftOutView(offer=o.code, name=o.name, supplier=o.supplier, price=o.price)
            for o in choice.left_out
        ),
        not_proven=tuple(
            need
            for need in checked.needs
            if need.state in _OPEN and not any(_same(need, gap) for gap in closable)
        ),
    )
    if best is None:
        return empty
    following = cheapest(offers, ways, [frozenset(best.offers)])
    bought = _bought(best, choice, closable)
    currency = require_one_currency([one.price for one in bought], "the offers to buy")
    return replace(
        empty,
        bought=bought,
        total=Money(best.cost, currency),
        next_cheapest=Money(following.cost, currency) if following else None,
        next_offers=following.offers if following else (),
        closed=tuple(gap.view for gap in closable),
    )


def _same(need: NeedView, gap: Gap) -> bool:
    """Whether a line of the check is about what a gap is about."""
    return need.what == gap.view.what and gap.places.issuperset(need.places)


def _in_one_currency(offered: OfferedTools, gaps: Sequence[Gap], currency: str | None) -> _Choice:
    """The offers that bring something a gap asks for, in the currency named, or in their only one.

    Raises SeveralCurrenciesError, and UnknownNameError for a currency that no offer is priced in.
    """
    wanted = frozenset[str]().union(*(way for gap in gaps for way in gap.ways))
    useful = tuple(offer for offer in offered.offers if offer.brings & wanted)
    if currency is None:
        if len({offer.price.currency for offer in useful}) > 1:
            raise SeveralCurrenciesError(useful)
        return _Choice(useful)
    known = sorted({offer.price.currency for offer in offered.offers})
    if currency not in known:
        raise UnknownNameError(
            f"no offer is priced in {currency};"
            f" the offers are priced in {', '.join(known) or 'no currency'}"
        )
    return _Choice(
        tuple(offer for offer in useful if offer.price.currency == currency),
        tuple(offer for offer in useful if offer.price.currency != currency),
    )


def check_with_cover(session: Session, request: ToolRequest) -> ToolCheckView:
    """The tool check of a plan, with the cheapest purchase that closes its gaps and its doubts.

    Where offers of several currencies could close them, `no_cover` says so instead.
    """
    facts = draft(session, request.plan)
    owned = read_owned(session, request.boxes, request.day)
    checked = check_draft(facts, owned, request.policy)
    if all(need.state in _SETTLED for need in checked.needs):
        return checked
    try:
        cover = buy_for(facts, owned, read_offered(session, request.plan.on), request, checked)
    except SeveralCurrenciesError as error:
        return replace(checked, no_cover=error.reason)
    return replace(checked, cover=cover)


def _bought(best: Purchase, choice: _Choice, closable: Sequence[Gap]) -> tuple[BoughtView, ...]:
    by_code = {offer.code: offer for offer in choice.offers}
    chosen = [by_code[code] for code in best.offers]
    found = []
    for offer in chosen:
        without = frozenset[str]().union(*(other.brings for other in chosen if other != offer))
        closes = [gap for gap in closable if not any(way <= without for way in gap.ways)]
        found.append(
            BoughtView(
                offer=offer.code,
                name=offer.name,
                supplier=offer.supplier,
                way=offer.way,
                price=offer.price,
                brings=offer.tools,
                closes=tuple(gap.view for gap in closes),
            )
        )
    return tuple(found)
