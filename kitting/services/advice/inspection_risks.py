"""Risks of a plan: what may fail at inspection, its failure rate, what a spare costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import zip_longest
from typing import TypeAlias

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, Belief, Inspected, shifted
from kitting.calc.advice.looks import Looks
from kitting.calc.advice.spare_costs import WHOLE, Way
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

    `each` has how many of them are inspected at each opening of their joints, the most first; of a
    group fewer where only some of its joints are opened again. `found` is what was inspected of the
    item, in this unit if it was inspected there. Unless the chance is `stated` for the kind it
    rests on findings only. `others` has the pieces of other items that are renewed as one with
    these, at each opening, and `worst` is the chance of the piece of all of them that fails most.
    """

    item: int
    positions: tuple[str, ...]
    each: tuple[int, ...]
    chance: float
    belief: Belief
    found: Inspected
    shifts: tuple[RateShift, ...]
    group: bool
    stated: bool
    others: tuple[int, ...] = ()
    worst: float = 0.0

    @property
    def pieces(self) -> int:
        """How many there are."""
        return self.each[0]

    def looks(self, *, correlated: bool) -> Looks:
        """As the calculation of spares sees it: pieces of one car fail together, or not."""
        weight = self.belief.weight if correlated else None
        chance = max(self.chance, self.worst)
        (pieces, others), *later = zip_longest(
            self.each, self.others[: len(self.each)], fillvalue=0
        )
        return Looks(pieces, chance, self.group, weight, 1, others, tuple(later))


@dataclass(frozen=True, slots=True)
class _Alike:
    """What pieces share that have the same chance; `group` names those that are renewed as one.

    Of a group shifts and openings differ from piece to piece; the worst chance counts for all, and
    each opening by itself.
    """

    item: int
    unit: int
    openings: int
    shifts: tuple[RateShift, ...]
    group: tuple[int, str] | None


def read_risks(session: Session, facts: Draft) -> tuple[list[Risk], tuple[UnknownRateView, ...]]:
    """The risks of a draft, and what has no failure rate: nobody states one, and none was found.

    Two statements.
    """
    inspected = [need for need in facts.parts if need.ruling.rule == Rule.INSPECT]
    kinds = {need.item.kind.key for need in inspected}
    learned = read_learned(session, kinds)
    hot = set(session.scalars(_HOT, {"keys": [need.fit.key for need in inspected]}))
    alike: dict[_Alike, list[tuple[JudgedPart, _Shifts]]] = defaultdict(list)
    for need in inspected:
        shifts = _shifts(facts, need, hot=need.fit.key in hot)
        group = facts.group_of(need.fit)
        unit = facts.contents.joints[need.fit.joint].unit
        place = (
            _Alike(need.item.key, unit, openings(need), shifts, None)
            if group is None
            else _Alike(need.item.key, unit, 0, (), group)
        )
        alike[place].append((need, shifts))
    risks: dict[_Alike, Risk] = {}
    unknown = []
    for place, needs in alike.items():
        kind = needs[0][0].item.kind
        belief = learned.belief(kind.chance, kind.key, place.item, place.unit)
        if belief is None:
            unknown.append(UnknownRateView(item=needs[0][0].item.code, kind=kind.name))
        else:
            risks[place] = _risk(learned, belief, place, needs)
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
    # What is used up is new when it is looked at first.
    found += [RateShift.EARLIER_REMOVAL] * need.ruling.refits.looked_at(need.opened)[0]
    return tuple(found)


def openings(need: JudgedPart) -> int:
    """At how many openings a position is inspected; at the others it is renewed for certain."""
    return len(need.ruling.refits.looked_at(need.opened))


def _each(needs: Iterable[JudgedPart]) -> tuple[int, ...]:
    """How many pieces are inspected at each opening, joints opened together where it goes."""
    counts = [(openings(need), need.fit.quantity // 1000) for need in needs]
    return tuple(
        sum(pieces for times, pieces in counts if times > opening)
        for opening in range(max(times for times, _ in counts))
    )


def _risk(
    learned: Learned, belief: Belief, place: _Alike, found: Sequence[tuple[JudgedPart, _Shifts]]
) -> Risk:
    here = learned.units.get((place.item, place.unit)) or learned.items.get(place.item)
    chance, shifts = max(
        (shifted(belief.mean, *(SHIFTS[name] for name in moved)), moved) for _, moved in found
    )
    return Risk(
        item=place.item,
        positions=tuple(need.fit.position for need, _ in found),
        each=_each(need for need, _ in found),
        chance=chance,
        belief=belief,
        found=here or _NOT_INSPECTED,
        shifts=shifts,
        group=place.group is not None,
        stated=found[0][0].item.kind.chance is not None,
    )


def _with_group(risks: Mapping[_Alike, Risk], place: _Alike) -> Risk:
    """A risk with what other items of its group add to it."""
    risk = risks[place]
    if place.group is None:
        return risk
    group = [other for at, other in risks.items() if at.group == place.group]
    others = tuple(
        sum(here) for here in zip_longest(*(o.each for o in group if o is not risk), fillvalue=0)
    )
    return replace(risk, others=others, worst=max(other.chance for other in group))


def ways(market: Market) -> Mapping[int, Sequence[Way]]:
    """How each item can be bought, and what is lost of it on a return.

    What may go back loses the supplier's restocking share (nothing, if none is stated); what may
    not is lost whole.
    """
    found: dict[int, list[Way]] = defaultdict(list)
    for key, priced in market.priced.items():
        supplier = market.parcels[priced.delivery].supplier
        lost = (supplier.restocking or 0) if market.offers[key].returnable else WHOLE
        found[priced.item].append(Way(priced, lost))
    return found


def earliest_after(market: Market, items: Sequence[int], day: date) -> date | None:
    """The day on which the last of some items could be here if it is missed on a day at noon.

    None if somebody offers none of one of them.
    """
    comes = market.earliest(datetime.combine(day, time(12, 0)))
    if any(item not in comes for item in items):
        return None
    return max(comes[item] for item in items)
