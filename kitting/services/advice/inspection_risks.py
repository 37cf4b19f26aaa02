"""Risks of a plan: what may fail at inspection, its failure rate, what a spare costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TypeAlias

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, Belief, Inspected, prior_of, shifted
from kitting.calc.advice.spares import Line
from kitting.calc.purchasing.sourcing_case import Offer, least_price
from kitting.facts.money import Money
from kitting.facts.words import Heat, RateShift, Rule
from kitting.services.advice.learned_rates import Learned, read_learned
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.services.purchasing.market import Market
from kitting.tables.units import Fit
from kitting.views.completion import UnknownRateView

OLD_YEARS, YOUNG_YEARS = 8, 2
_Shifts: TypeAlias = tuple[RateShift, ...]
_NOT_INSPECTED = Inspected(0, 0)
_HOT = select(Fit.id).where(Fit.id.in_(bindparam("keys", expanding=True)), Fit.heat == Heat.HOT)


@dataclass(frozen=True, slots=True)
class Risk:
    """Pieces of one item that are judged alike: where they sit and what moved their chance.

    A piece counts once for each look: at every opening of its joint it may fail anew, whether it
    passed before or is the one that was fitted then.
    `found` is what was inspected of the item, in this unit if it was inspected there. `others` are
    pieces of other items that are renewed as one with these, and `worst` the chance of a piece of
    all of them that fails most.
    """

    item: int
    positions: tuple[str, ...]
    pieces: int
    chance: float
    belief: Belief
    found: Inspected
    shifts: tuple[RateShift, ...]
    group: bool
    others: int = 0
    worst: float = 0.0

    def line(self, key: int, costs: tuple[int, ...] = (), *, correlated: bool) -> Line:
        """As the calculation of spares sees it: pieces of one car fail together, or not.

        `costs` is what 0, 1, … spares lose together if they stay unused.
        """
        return Line(
            key=key,
            pieces=self.pieces,
            chance=max(self.chance, self.worst),
            group=self.group,
            weight=self.belief.weight if correlated else None,
            costs=costs,
            others=self.others,
        )


@dataclass(frozen=True, slots=True)
class _Alike:
    """What pieces share that have the same chance; `group` names those that are renewed as one.

    Of a group the shifts differ from piece to piece; what moves the chance most counts for all.
    """

    item: int
    unit: int
    shifts: tuple[RateShift, ...]
    group: tuple[int, str] | None


def read_risks(session: Session, facts: Draft) -> tuple[list[Risk], tuple[UnknownRateView, ...]]:
    """The risks of a draft, and what has no failure rate because its kind has none.

    Pieces of one item with the same chance share their spares; others have their own, whose chance
    is never higher than it looks. Two statements.
    """
    inspected = [need for need in facts.parts if need.ruling.rule == Rule.INSPECT]
    kinds = {need.item.kind.key for need in inspected}
    learned = read_learned(session, kinds)
    hot = set(session.scalars(_HOT, {"keys": [need.fit.key for need in inspected]}))
    alike: dict[_Alike, list[tuple[JudgedPart, _Shifts]]] = defaultdict(list)
    unknown = []
    for need in inspected:
        item = need.item
        if item.kind.chance is None and not learned.items.get(item.key):
            unknown.append(UnknownRateView(item=item.code, kind=item.kind.name))
            continue
        shifts = _shifts(facts, need, hot=need.fit.key in hot)
        group = facts.group_of(need.fit)
        unit = facts.contents.joints[need.fit.joint].unit
        place = _Alike(item.key, unit, () if group else shifts, group)
        alike[place].append((need, shifts))
    risks = {place: _risk(facts, learned, place, found) for place, found in alike.items()}
    return [_with_group(risks, place) for place in risks], tuple(dict.fromkeys(unknown))


def _shifts(facts: Draft, need: JudgedPart, *, hot: bool) -> tuple[RateShift, ...]:
    """What of this car and place moves the chance; an unknown age moves nothing."""
    found = []
    if facts.car.build_date is not None:
        years = (facts.on - facts.car.build_date).days / 365.25
        if years > OLD_YEARS:
            found.append(RateShift.OVER_8_YEARS)
        if years < YOUNG_YEARS:
            found.append(RateShift.UNDER_2_YEARS)
    if hot:
        found.append(RateShift.HOT_SIDE)
    found += [RateShift.EARLIER_REMOVAL] * need.ruling.refits.before
    return tuple(found)


def _looks(need: JudgedPart) -> int:
    """How often each piece of a position is looked at; at the other openings it is renewed."""
    return len(need.ruling.refits.looked_at(need.opened))


def _risk(
    facts: Draft,
    learned: Learned,
    place: _Alike,
    found: Sequence[tuple[JudgedPart, _Shifts]],
) -> Risk:
    kind = facts.contents.items[place.item].kind
    belief = learned.belief(prior_of(kind.chance), kind.key, place.item, place.unit)
    here = learned.units.get((place.item, place.unit)) or learned.items.get(place.item)
    chance, shifts = max(
        (shifted(belief.mean, *(SHIFTS[name] for name in moved)), moved) for _, moved in found
    )
    return Risk(
        item=place.item,
        positions=tuple(need.fit.position for need, _ in found),
        pieces=sum(need.fit.quantity // 1000 * _looks(need) for need, _ in found),
        chance=chance,
        belief=belief,
        found=here or _NOT_INSPECTED,
        shifts=shifts,
        group=place.group is not None,
    )


def _with_group(risks: Mapping[_Alike, Risk], place: _Alike) -> Risk:
    """A risk with what other items of its group add to it."""
    risk = risks[place]
    if place.group is None:
        return risk
    group = [other for at, other in risks.items() if at.group == place.group]
    others = sum(other.pieces for other in group) - risk.pieces
    return replace(risk, others=others, worst=max(other.chance for other in group))


@dataclass(frozen=True, slots=True)
class Cost:
    """What an offer asks, and the share lost of a return (thousandths of a percent)."""

    offer: Offer
    lost: int
    currency: str

    def price(self, amount: int) -> int:
        """What an amount in thousandths costs, in whole packs at the price for so many."""
        return least_price(self.offer, amount) or 0

    def loss(self, amount: int) -> int:
        """What is lost of an amount if it stays unused."""
        return self.price(amount) * self.lost // 100_000

    def money(self, minor: int) -> Money:
        """An amount in the currency of the offer."""
        return Money(minor, self.currency)


def costs(
    market: Market, *, least_loss: bool = True, wanted: Mapping[int, int] | None = None
) -> Mapping[int, Cost]:
    """Per item the offer that loses least if a spare stays unused, or simply the cheapest.

    What may go back loses the supplier's restocking share (nothing, if none is stated); what may
    not is lost whole. Offers are compared at the amount `wanted` (thousandths; else one piece).
    """
    found: dict[int, Cost] = {}
    for key, quote in market.offers.items():
        priced = market.priced.get(key)
        if priced is None or least_price(priced, 1) is None:
            continue
        supplier = market.parcels[priced.delivery].supplier
        lost = (supplier.restocking or 0) if quote.returnable else 100_000
        cost, known = Cost(priced, lost, supplier.currency), found.get(priced.item)
        amount = (wanted or {}).get(priced.item) or 1000
        if known is None or _rank(cost, amount, least_loss) < _rank(known, amount, least_loss):
            found[priced.item] = cost
    return found


def _rank(cost: Cost, amount: int, least_loss: bool) -> tuple[int, int]:
    return (cost.loss(amount) if least_loss else 0), cost.price(amount)


def earliest_after(market: Market, items: Sequence[int], day: date) -> date | None:
    """The day on which the last of some items could be here if it is missed on a day at noon.

    None if somebody offers none of one of them.
    """
    comes = market.earliest(datetime.combine(day, time(12, 0)))
    if any(item not in comes for item in items):
        return None
    return max(comes[item] for item in items)
