"""Risks of a plan: what may fail at inspection, how sure that is, what a spare costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, Belief, Prior, shifted
from kitting.calc.advice.spares import Line
from kitting.calc.purchasing.delivery import arrival
from kitting.services.advice.learned_rates import Learned, read_learned
from kitting.services.planning.judge import Draft, JudgedPart
from kitting.services.purchasing.market import Market
from kitting.tables.units import Fit

OLD_YEARS, YOUNG_YEARS = 8, 2


@dataclass(frozen=True, slots=True)
class Risk:
    """Pieces of one item that are judged alike: where they sit and what moved their chance."""

    item: int
    positions: tuple[str, ...]
    pieces: int
    chance: float
    belief: Belief
    looked: int
    failed: int
    shifts: tuple[str, ...]
    group: bool

    def line(self, key: int, cost: int, correlated: bool) -> Line:
        """As the calculation of spares sees it: pieces of one car fail together, or not."""
        weight = self.belief.alpha + self.belief.beta if correlated else None
        return Line(key, self.pieces, self.chance, self.group, weight, cost)


def read_risks(session: Session, facts: Draft) -> tuple[list[Risk], tuple[str, ...]]:
    """The risks of a draft, and the kinds of which nobody states a chance.

    Pieces of one item with the same chance share their spares; others have their own, which is
    never surer than it looks.
    """
    inspected = [need for need in facts.parts if need.verdict.rule == "inspect"]
    kinds = {need.item.kind.key for need in inspected}
    learned = read_learned(session, kinds)
    keys = [need.fit.key for need in inspected]
    hot = {
        key
        for key, heat in session.execute(select(Fit.id, Fit.heat).where(Fit.id.in_(keys)))
        if heat == "hot"
    }
    gathered: dict[tuple[object, ...], list[JudgedPart]] = defaultdict(list)
    judged: dict[tuple[object, ...], tuple[Belief, float, tuple[str, ...]]] = {}
    unknown = []
    for need in inspected:
        item = need.item
        if item.kind.chance is None:
            unknown.append(f"{item.code} ({item.kind.name})")
            continue
        unit = facts.contents.joints[need.fit.joint].unit
        belief = learned.belief(Prior(item.kind.chance), item.kind.key, item.key, unit)
        shifts = _shifts(facts, need, need.fit.key in hot)
        chance = shifted(belief.mean, *(SHIFTS[name] for name in shifts))
        group = (need.fit.joint, need.fit.group) if need.fit.group else None
        place = (item.key, unit, shifts, group)
        gathered[place].append(need)
        judged[place] = (belief, chance, shifts)
    risks = [
        _risk(facts, learned, needs, *judged[place], group=place[3] is not None)
        for place, needs in gathered.items()
    ]
    return risks, tuple(dict.fromkeys(unknown))


def _shifts(facts: Draft, need: JudgedPart, hot: bool) -> tuple[str, ...]:
    """What of this car and place moves the chance; an unknown age moves nothing."""
    found = []
    if facts.car.build_date is not None:
        years = (facts.on - facts.car.build_date).days / 365.25
        if years > OLD_YEARS:
            found.append("age over 8 years")
        if years < YOUNG_YEARS:
            found.append("under 2 years")
    if hot:
        found.append("hot side")
    removals = facts.car.refits.get((need.fit.joint, need.fit.position), 0)
    found += ["each earlier removal"] * removals
    return tuple(found)


def _risk(
    facts: Draft,
    learned: Learned,
    needs: Sequence[JudgedPart],
    belief: Belief,
    chance: float,
    shifts: tuple[str, ...],
    *,
    group: bool,
) -> Risk:
    item = needs[0].fit.item
    unit = facts.contents.joints[needs[0].fit.joint].unit
    seen = learned.units.get((item, unit)) or learned.items.get(item)
    return Risk(
        item=item,
        positions=tuple(need.fit.position for need in needs),
        pieces=sum(need.fit.quantity // 1000 for need in needs),
        chance=chance,
        belief=belief,
        looked=seen.looked if seen else 0,
        failed=seen.failed if seen else 0,
        shifts=shifts,
        group=group,
    )


@dataclass(frozen=True, slots=True)
class Cost:
    """What an offer asks for a pack (minor units, thousandths), and the share lost of a return."""

    pack_price: int
    pack: int
    lost: int
    currency: str

    def price(self, amount: int) -> int:
        """What an amount in thousandths costs, packs apart."""
        return -(-self.pack_price * amount // self.pack)

    def loss(self, amount: int) -> int:
        """What is lost of an amount if it stays unused."""
        return self.price(amount) * self.lost // 100_000


def costs(market: Market, *, least_loss: bool = True) -> Mapping[int, Cost]:
    """Per item the offer that loses least if a spare stays unused, or simply the cheapest.

    What may go back loses the supplier's restocking share (nothing, if none is stated); what may
    not is lost whole.
    """
    found: dict[int, Cost] = {}
    for key, offer in market.offers.items():
        priced = market.priced.get(key)
        if priced is None:
            continue
        supplier = market.parcels[priced.delivery].supplier
        lost = (supplier.restocking or 0) if offer.returnable else 100_000
        cheapest = min(price.minor for price in priced.prices)
        cost = Cost(cheapest, offer.pack, lost, supplier.currency)
        known = found.get(priced.item)
        if known is None or _rank(cost, least_loss) < _rank(known, least_loss):
            found[priced.item] = cost
    return found


def _rank(cost: Cost, least_loss: bool) -> tuple[float, float]:
    each = cost.pack_price / cost.pack
    return (each * cost.lost if least_loss else 0.0), each


def earliest_after(market: Market, items: Sequence[int], day: date) -> date | None:
    """The day on which the last of some items could be here if it is missed on a day at noon.

    None if somebody offers none of one of them.
    """
    at = datetime.combine(day, time(12, 0))
    comes: dict[int, date] = {}
    for offer in market.priced.values():
        terms = market.parcels[offer.delivery].terms
        when = arrival(at, terms, terms.lead.quantile(0.5))
        comes[offer.item] = min(when, comes.get(offer.item, when))
    if any(item not in comes for item in items):
        return None
    return max(comes[item] for item in items)
