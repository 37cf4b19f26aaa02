"""Closing gaps: the cheapest purchase that lets some boxes do a plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.purchase import Purchase, ToolOffer, cheapest
from kitting.calc.tools.toolkit import Box, prepare
from kitting.facts.money import format_money
from kitting.facts.names import natural_key
from kitting.services.planning.draft import draft
from kitting.services.planning.judge import Draft
from kitting.services.planning.request import ToolRequest
from kitting.services.tools.check import Asked, check_tools, general_asks, requirements
from kitting.services.tools.inventory import OfferedTools, OwnedTools, read_offered, read_owned
from kitting.views.tools import BoughtView, BuyView, ToolCheckView


@dataclass(frozen=True, slots=True)
class Gap:
    """Something the boxes cannot do, the jobs that want it, and the sets of tools that close it.

    `what` names it; an empty `ways` means that nothing on offer closes it.
    """

    what: str
    jobs: tuple[str, ...]
    ways: tuple[frozenset[str], ...]


def buy_tools(session: Session, request: ToolRequest) -> BuyView:
    """The cheapest offers that close every gap of a plan that can be closed, proven by the solver.

    Gaps are closed by complete drive trains: a bought wrench may need a bought adaptor. Raises
    UnknownNameError; KittingError if the solver stops without a proof.
    """
    facts = draft(session, request.plan)
    owned = read_owned(session, request.boxes, request.plan.on)
    offered = read_offered(session)
    gaps = find_gaps(facts, owned, offered, request.policy)
    closable = {gap.what: gap.ways for gap in gaps if gap.ways}
    not_closed = tuple(gap.what for gap in gaps if not gap.ways)
    offers = _offers(offered)
    best = cheapest(offers, closable) if closable else None
    if best is None:
        return BuyView((), None, None, (), (), not_closed)
    following = cheapest(offers, closable, [frozenset(best.offers)])
    return _view(offered, best, following, closable, not_closed)


def check_with_cover(session: Session, request: ToolRequest) -> ToolCheckView:
    """The tool check of a plan, with the cheapest purchase that closes its gaps."""
    checked = check_tools(session, request)
    if not checked.gaps:
        return checked
    view = buy_tools(session, request)
    cover = [f"{bought.price} {bought.way} {bought.offer}: {bought.name}" for bought in view.bought]
    if view.total is not None:
        cover.append(f"{view.total} in all, proven the cheapest")
    cover += [f"not on offer: {what}" for what in view.not_closed]
    return replace(checked, cover=tuple(cover))


def find_gaps(facts: Draft, owned: OwnedTools, offered: OfferedTools, policy: str) -> list[Gap]:
    """What the boxes cannot do, with every way to close it from what is on offer.

    Requirements of which nothing can be proven (no figure, no head) are no gaps: no purchase
    closes them.
    """
    box = prepare(owned.tools, policy)
    both = prepare((*owned.tools, *offered.tools), policy)
    gaps = [
        Gap(asked.what, asked.jobs, _ways(asked, both))
        for asked in requirements(facts)
        if asked.unknown is None and search(asked.requirement, box).gap
    ]
    for asked in general_asks(facts):
        if not owned.general_here(asked.name):
            ways = tuple(
                frozenset([code])
                for code, key in offered.general.items()
                if owned.general_names.get(key) == asked.name
            )
            gaps.append(Gap(asked.name, asked.jobs, ways))
    return _merged(gaps)


def _ways(asked: Asked, both: Box) -> tuple[frozenset[str], ...]:
    found = search(asked.requirement, both).trains
    ways = {frozenset(tool.code for tool in train.tools if tool.offered) for train in found}
    return tuple(sorted(ways, key=lambda way: (len(way), sorted(way))))


def _merged(gaps: Iterable[Gap]) -> list[Gap]:
    """Gaps of the same words closed by the same tools are one."""
    merged: dict[tuple[str, tuple[frozenset[str], ...]], Gap] = {}
    for gap in gaps:
        place = (gap.what, gap.ways)
        known = merged.get(place)
        jobs = tuple(sorted({*gap.jobs, *(known.jobs if known else ())}))
        merged[place] = Gap(gap.what, jobs, gap.ways)
    named: dict[str, int] = {}
    result = []
    for gap in merged.values():
        named[gap.what] = named.get(gap.what, 0) + 1
        count = named[gap.what]
        result.append(gap if count == 1 else Gap(f"{gap.what} ({count})", gap.jobs, gap.ways))
    return result


def _offers(offered: OfferedTools) -> list[ToolOffer]:
    return [
        ToolOffer(offer.code, offer.price, offered.brings.get(key, frozenset()))
        for key, offer in offered.offers.items()
    ]


def _view(
    offered: OfferedTools,
    best: Purchase,
    following: Purchase | None,
    closable: Mapping[str, Sequence[frozenset[str]]],
    not_closed: tuple[str, ...],
) -> BuyView:
    by_code = {offer.code: (key, offer) for key, offer in offered.offers.items()}
    currency = by_code[best.offers[0]][1].currency
    bought = []
    for code in best.offers:
        key, offer = by_code[code]
        without = frozenset[str]().union(
            *(offered.brings[by_code[other][0]] for other in best.offers if other != code)
        )
        closes = tuple(
            what for what, ways in closable.items() if not any(way <= without for way in ways)
        )
        bought.append(
            BoughtView(
                code,
                offer.name,
                offer.supplier,
                offer.way,
                format_money(offer.price, offer.currency),
                tuple(sorted(offered.brings[key], key=natural_key)),
                closes,
            )
        )
    return BuyView(
        tuple(bought),
        format_money(best.cost, currency),
        format_money(following.cost, currency) if following else None,
        following.offers if following else (),
        tuple(closable),
        not_closed,
    )
