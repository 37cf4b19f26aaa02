"""Completion chance: that a job ends with the parts in the kit, and the spares worth bringing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.calc.advice.at_hand import AtHand
from kitting.calc.advice.failure_rates import SHIFTS, shifted
from kitting.calc.advice.looks import needed
from kitting.calc.advice.spare_costs import PIECE, Way, loss, one_spare, spare_costs
from kitting.calc.advice.spares import (
    Choice,
    Line,
    chance_of,
    cheapest,
    frontier,
    split,
    worth_above,
)
from kitting.errors import KittingError
from kitting.facts.money import Money, require_one_currency
from kitting.facts.reasons import Reason, because
from kitting.facts.verdicts import Doubt
from kitting.facts.words import NeedRule, Rule
from kitting.services.advice.inspection_risks import (
    Risk,
    earliest_after,
    openings,
    read_risks,
    ways,
)
from kitting.services.advice.price_estimate import Parts, estimate_view
from kitting.services.advice.spare_stock import read_at_hand
from kitting.services.advice.weighed import Weighed
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.requirements import needs_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.unbooked import plan_unbooked
from kitting.services.bookings.view import booking_views
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.view import plan_view
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.open_doubts import open_doubts_unbooked
from kitting.services.stock.lots import find_items
from kitting.tables.supply import Branch
from kitting.views.completion import (
    CompletionView,
    FrontierView,
    RiskView,
    SpareView,
    StopReason,
    UnknownRateView,
)
from kitting.views.plan import PlanView

TARGET = 0.95
_POINTS = 12


@dataclass(frozen=True, slots=True)
class Work:
    """A car, its jobs and their day, at a branch (None: the only one).

    `booking` (its key) has what it is promised and what lies in its kit; `kit` is what it has
    settled of it.
    """

    registration: str
    jobs: Sequence[str]
    on: date
    branch: str | None = None
    booking: int | None = None
    kit: KitRecord | None = None


@dataclass(frozen=True, slots=True)
class _Case:
    """What is weighed: the risks by item, what is at hand, what is needed anyway, and the offers.

    Amounts are in thousandths by item. `certain` is what is renewed or used up whatever is found:
    it takes what is at hand before any spare does. `inspected` is what is renewed beside it if
    every look fails, `brought` the spares that packets of the plan bring anyway.
    """

    market: Market
    risks: Mapping[int, Sequence[Risk]]
    hand: Mapping[int, AtHand]
    certain: Mapping[int, int]
    inspected: Mapping[int, int]
    brought: Mapping[int, int]
    ways: Mapping[int, Sequence[Way]]

    def free(self, item: int) -> int:
        """Pieces at hand that are left as spares."""
        beside = max(0, self.hand[item].usable - self.certain.get(item, 0))
        return (beside + self.brought.get(item, 0)) // PIECE

    def short(self, item: int) -> int:
        """What has to be bought of it anyway, in thousandths.

        What lies here and is of unknown age may do for it, once somebody has judged it.
        """
        hand = self.hand[item]
        return max(0, self.certain.get(item, 0) - hand.usable - hand.unknown)

    def lines(self, *, correlated: bool = True) -> list[Line]:
        """The items that may fail as lines of spares, by their key."""
        return [
            Line(item, looks, self._costs(item, sum(one.most for one in looks)))
            for item, risks in self.risks.items()
            for looks in [tuple(risk.looks(correlated=correlated) for risk in risks)]
        ]

    def _costs(self, item: int, most: int) -> tuple[int, ...]:
        return spare_costs(self.ways.get(item, ()), self.free(item), self.short(item), most)


def work_of_booking(session: Session, number: str) -> Work:
    """The car, jobs, day and branch of a booking."""
    booking = find_booking(session, number)
    asked = request_of(session, booking)
    branch = session.get_one(Branch, booking.branch_id)
    return Work(asked.registration, asked.jobs, asked.on, branch.code, booking.id, asked.kit)


def _to_bring(case: _Case, view: CompletionView) -> dict[int, int]:
    keys = {case.market.items[item].code: item for item in case.risks}
    pieces: dict[int, int] = defaultdict(int)
    for risk in view.risks:
        pieces[keys[risk.item]] += risk.spares * PIECE
    left = {item: amount - case.brought.get(item, 0) for item, amount in pieces.items()}
    return {item: amount for item, amount in left.items() if amount > 0}


def completion_chance(
    session: Session,
    work: Work,
    now: datetime,
    target: float = TARGET,
    short_costs: Money | None = None,
) -> CompletionView:
    """As `weighed`: what is shown of it."""
    return weighed(session, work, now, target, short_costs).view


def weighed(
    session: Session,
    work: Work,
    now: datetime,
    target: float = TARGET,
    short_costs: Money | None = None,
) -> Weighed:
    """The chance that the jobs end without a second order, and the cheapest spares for a target.

    Pieces of one car fail together (beta-binomial); the independent figure stands beside it. The
    cost of a spare is what is lost if it stays unused, in the packs in which it is sold. What is at
    hand goes back and costs nothing: what may be fitted on the day, is of known age, not promised
    to others, and not needed for what is renewed in any case. With `short_costs` (such as a day on
    the ramp) each item says when one spare is worth bringing by itself.
    Raises UnknownNameError, and KittingError while a variant is open or where `short_costs` is in
    another currency than the prices.
    """
    owner = find_branch(session, work.branch)
    kit = _kit(session, owner, work, now)
    facts = kit.planned
    if facts.open_splits:
        raise KittingError(
            "a variant is not settled yet, so what may fail is not known. See the plan"
        )
    planned = plan_view(facts)
    risks, unknown = read_risks(session, facts)
    needs = needs_of(planned)
    found = find_items(session, sorted({code for code, _ in needs}))
    items = {risk.item for risk in risks} | {item.id for item in found.values()}
    market = read_market(session, owner, items, now)
    if short_costs is not None:
        stated = [short_costs, market.money(0)] if market.offers else [short_costs]
        require_one_currency(stated, "what being short costs, and the prices of the parts")
    certain: dict[int, int] = defaultdict(int)
    for (code, rule), amount in needs.items():
        certain[found[code].id] += 0 if rule == NeedRule.INSPECT else amount
    case = _Case(
        market=market,
        risks=_by_item(risks),
        hand=read_at_hand(session, owner, items, work.on, work.booking, kit.coming),
        certain=certain,
        inspected=_inspected(facts),
        brought={
            item: sum(amount for _, amount in parts) for item, parts in facts.taking.spares.items()
        },
        ways=ways(market),
    )
    view = replace(_view(case, planned, target, short_costs, unknown), doubts=kit.doubts)
    return Weighed(view, case.lines(), _to_bring(case, view), case.brought)


@dataclass(frozen=True, slots=True)
class _Kit:
    """A kit: its draft, what is not fine of it, and what of what comes it would be promised.

    A booking has what it is promised; what would be is of a kit that is not booked (by item).
    """

    planned: Draft
    doubts: tuple[Doubt, ...]
    coming: Mapping[int, int] = field(default_factory=dict)


def _kit(session: Session, owner: Branch, work: Work, now: datetime) -> _Kit:
    """The kit of some work; what is not booked is bought later: that it lacks is no doubt."""
    asked = PlanRequest(work.registration, tuple(work.jobs), work.on, kit=work.kit)
    if work.booking is not None:
        (view,) = booking_views(session, [work.booking])
        return _Kit(draft(session, asked), view.doubts)
    case = plan_unbooked(session, owner, asked, now)
    return _Kit(case.planned, open_doubts_unbooked(session, case), case.coming)


def _by_item(risks: Sequence[Risk]) -> dict[int, list[Risk]]:
    found: dict[int, list[Risk]] = defaultdict(list)
    for risk in risks:
        found[risk.item].append(risk)
    return found


def _inspected(facts: Draft) -> dict[int, int]:
    """What is renewed if every look fails, in thousandths by item; of unknown rates too."""
    found: dict[int, int] = defaultdict(int)
    for need in facts.parts:
        if need.ruling.rule == Rule.INSPECT and not need.stopped:
            found[need.item.key] += need.fit.quantity * openings(need)
    return found


def _view(
    case: _Case,
    planned: PlanView,
    target: float,
    short_costs: Money | None,
    unknown: tuple[UnknownRateView, ...],
) -> CompletionView:
    """The spares that reach the target at least cost; all that can be had, if none do."""
    lines = case.lines()
    best = cheapest(lines, target) if lines else Choice({}, 0, 1.0)
    chosen: Mapping[int, int] = (
        best.spares if best is not None else {line.key: line.most for line in lines}
    )
    return CompletionView(
        vehicle=planned.vehicle.public_name,
        jobs=tuple(job.code for job in planned.jobs),
        on=planned.on,
        target=target,
        risks=tuple(
            view
            for line in lines
            for view in _risk_views(case, line, chosen.get(line.key, 0), short_costs)
        ),
        without=chance_of(lines, {}),
        chance=chance_of(lines, chosen),
        independent=chance_of(case.lines(correlated=False), chosen),
        cost=None if best is None else case.market.money(best.cost),
        reached=best is not None,
        frontier=tuple(_points(case, lines)),
        estimate=estimate_view(case.market, Parts(case.certain, case.inspected, lines, case.ways)),
        unknown=unknown,
        stop=_stop(case.market, tuple(case.risks), planned.on),
    )


def _risk_views(case: _Case, line: Line, spares: int, short_costs: Money | None) -> list[RiskView]:
    """The risks of an item, with the chance that any fails and the spares that are for it."""
    offered = case.ways.get(line.key, ())
    price, lost = one_spare(offered), loss(offered, case.short(line.key), 1)
    above = None
    if lost is not None and short_costs is not None:
        above = worth_above(lost, short_costs.minor)
    item, hand, money = case.market.items[line.key], case.hand[line.key], case.market.money
    views = []
    for risk, count in zip(case.risks[line.key], split(line, spares), strict=True):
        moved = [SHIFTS[name] for name in risk.shifts]
        low, high = (shifted(edge, *moved) for edge in risk.belief.spread())
        views.append(
            RiskView(
                item=item.code,
                name=item.name,
                positions=risk.positions,
                pieces=risk.pieces,
                openings=len(risk.each),
                looks=sum(risk.each),
                chance=risk.chance,
                low=low,
                high=high,
                stated=risk.stated,
                rests_on=risk.belief.inspected,
                inspected=risk.found.pieces,
                failed=risk.found.failed,
                shifts=risk.shifts,
                group=risk.group,
                price=None if price is None else money(price),
                loss=None if lost is None else money(lost),
                in_stock=case.free(line.key),
                coming=min(case.free(line.key), hand.coming // PIECE),
                unknown_age=hand.unknown // PIECE,
                shared_by=len(line.looks),
                spares=count,
                any_fails=1 - needed(risk.looks(correlated=True))[0],
                worth_above=above,
            )
        )
    return views


def _points(case: _Case, lines: Sequence[Line]) -> list[FrontierView]:
    """The efficient choices, thinned to what can be read, the first and the last kept."""
    points = frontier(lines)
    step = max(1, -(-(len(points) - 1) // (_POINTS - 1))) if len(points) > 1 else 1
    return [
        FrontierView(
            cost=case.market.money(point.cost),
            chance=point.chance,
            spares=tuple(
                SpareView(item=case.market.items[key].code, pieces=count)
                for key, count in point.spares.items()
                if count
            ),
        )
        for point in [*points[:-1:step], *points[-1:]]
    ]


def _stop(market: Market, items: Sequence[int], on: date) -> Reason | None:
    """When a part could be here if one fails on the fitting date; before which point to stop."""
    if not items:
        return None
    comes = earliest_after(market, items, on)
    if comes is None:
        return because(StopReason.NOT_OFFERED)
    code = StopReason.NEXT_DAY if (comes - on).days <= 1 else StopReason.LATER
    return because(code, on=on, comes=comes)
