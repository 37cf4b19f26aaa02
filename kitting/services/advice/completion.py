"""Completion chance: that a job ends with the parts in the kit, and the spares worth bringing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, shifted
from kitting.calc.advice.spares import (
    Choice,
    Line,
    chance_of,
    cheapest,
    demand,
    estimate,
    frontier,
    worth_above,
)
from kitting.errors import KittingError
from kitting.facts.money import Money, require_one_currency
from kitting.facts.reasons import Reason, because
from kitting.facts.words import NeedRule
from kitting.services.advice.inspection_risks import Cost, Risk, costs, earliest_after, read_risks
from kitting.services.bookings.coverage import coverage
from kitting.services.bookings.kit_record import car_of
from kitting.services.bookings.requirements import needs_of
from kitting.services.bookings.states import find_booking
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.view import plan_view
from kitting.services.purchasing.market import Market, read_market
from kitting.services.stock.lots import find_items, read_shelves
from kitting.tables.supply import Branch
from kitting.views.completion import (
    CompletionView,
    EstimateView,
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

    `in_kit` is what the kit has already, thousandths by item: as a spare it costs nothing.
    """

    registration: str
    jobs: Sequence[str]
    on: date
    branch: str | None = None
    in_kit: Mapping[int, int] | None = None


@dataclass(frozen=True, slots=True)
class _Case:
    """What is weighed: the risks, what a spare of each costs, and what lies on the shelf.

    `prices` are by item, of the offer that loses least if a spare stays unused; `cheapest` of the
    cheapest offer. `stock` is in pieces. `limits` says of which risks, by their place in the list,
    no more can be had than what lies on the shelf.
    """

    market: Market
    risks: Sequence[Risk]
    prices: Mapping[int, Cost]
    cheapest: Mapping[int, Cost]
    stock: Mapping[int, int]

    @property
    def limits(self) -> dict[int, int]:
        return {
            key: min(risk.pieces, self.stock[risk.item])
            for key, risk in enumerate(self.risks)
            if risk.item not in self.prices
        }

    def lines(self, *, correlated: bool = True) -> list[Line]:
        """The risks as lines of spares, by their place in the list."""
        return [
            risk.line(key, self._loss(risk), correlated=correlated)
            for key, risk in enumerate(self.risks)
        ]

    def _loss(self, risk: Risk) -> int:
        """What a spare loses; one that lies on the shelf anyway goes back and loses nothing."""
        if risk.item not in self.prices or self.stock[risk.item] >= risk.pieces:
            return 0
        return self.prices[risk.item].loss(1000)


def work_of_booking(session: Session, number: str) -> Work:
    """The car, jobs, day and branch of a booking, with what its kit has."""
    booking = find_booking(session, number)
    registration, jobs = car_of(session, booking)
    branch = session.get_one(Branch, booking.branch_id)
    in_kit = coverage(session, booking.id)
    return Work(registration, jobs, booking.fit_on, branch.code, in_kit)


def completion_chance(
    session: Session,
    work: Work,
    now: datetime,
    target: float = TARGET,
    short_costs: Money | None = None,
) -> CompletionView:
    """The chance that the jobs end without a second order, and the cheapest spares for a target.

    Pieces of one car fail together (beta-binomial); the independent figure stands beside it. The
    cost of a spare is what is lost if it stays unused; what lies on the shelf, or is in the kit
    already, goes back and costs nothing. With `short_costs` (such as a day on the ramp) each item
    says when one spare is worth bringing by itself.
    Raises UnknownNameError, and KittingError while a variant is open or where `short_costs` is in
    another currency than the prices.
    """
    owner = find_branch(session, work.branch)
    facts = draft(session, PlanRequest(work.registration, tuple(work.jobs), work.on))
    if facts.open_splits:
        raise KittingError(
            "a variant is not settled yet, so what may fail is not known. See the plan"
        )
    planned = plan_view(facts)
    risks, unknown = read_risks(session, facts)
    needs = needs_of(planned)
    needed = find_items(session, sorted({code for code, _ in needs}))
    items = {risk.item for risk in risks} | {item.id for item in needed.values()}
    market = read_market(session, owner, items, now)
    if short_costs is not None:
        stated = [short_costs, market.money(0)] if market.offers else [short_costs]
        require_one_currency(stated, "what being short costs, and the prices of the parts")
    case = _Case(
        market=market,
        risks=risks,
        prices=costs(market),
        cheapest=costs(market, least_loss=False),
        stock=_stock(session, owner.id, items, work.in_kit or {}),
    )
    return _view(case, planned, target, short_costs, unknown)


def _stock(
    session: Session, branch: int, items: set[int], in_kit: Mapping[int, int]
) -> dict[int, int]:
    """Whole pieces of each item that nobody else is promised."""
    shelves = read_shelves(session, branch, list(items))
    return {
        item: (sum(lot.free for lot in shelves.of(item)) + in_kit.get(item, 0)) // 1000
        for item in items
    }


def _view(
    case: _Case,
    planned: PlanView,
    target: float,
    short_costs: Money | None,
    unknown: tuple[UnknownRateView, ...],
) -> CompletionView:
    """The spares that reach the target at least cost; all that can be had, if none do."""
    lines, limits = case.lines(), case.limits
    best = cheapest(lines, target, limits) if lines else Choice({}, 0, 1.0)
    most = {key: limits.get(key, risk.pieces) for key, risk in enumerate(case.risks)}
    chosen: Mapping[int, int] = best.spares if best is not None else most
    return CompletionView(
        vehicle=planned.vehicle.public_name,
        jobs=tuple(job.code for job in planned.jobs),
        on=planned.on,
        target=target,
        risks=tuple(_risk_view(case, line, chosen.get(line.key, 0), short_costs) for line in lines),
        without=chance_of(lines, {}),
        chance=chance_of(lines, chosen),
        independent=chance_of(case.lines(correlated=False), chosen),
        cost=None if best is None else case.market.money(best.cost),
        reached=best is not None,
        frontier=tuple(_points(case, lines, limits)),
        estimate=_estimate(case, needs_of(planned)),
        unknown=unknown,
        stop=_stop(case.market, case.risks, planned.on),
    )


def _risk_view(case: _Case, line: Line, spares: int, short_costs: Money | None) -> RiskView:
    """A risk, with the chance that any fails and when one spare is worth bringing by itself."""
    risk = case.risks[line.key]
    item, cost = case.market.items[risk.item], case.prices.get(risk.item)
    moved = [SHIFTS[name] for name in risk.shifts]
    low, high = (shifted(edge, *moved) for edge in risk.belief.spread())
    return RiskView(
        item=item.code,
        name=item.name,
        positions=risk.positions,
        pieces=risk.pieces,
        chance=risk.chance,
        low=low,
        high=high,
        inspected=risk.found.pieces,
        failed=risk.found.failed,
        shifts=risk.shifts,
        group=risk.group,
        price=None if cost is None else cost.money(cost.price(1000)),
        loss=None if cost is None else cost.money(cost.loss(1000)),
        in_stock=case.stock.get(risk.item, 0),
        spares=spares,
        any_fails=1 - demand(line)[0],
        worth_above=None
        if cost is None or short_costs is None
        else worth_above(cost.loss(1000), short_costs.minor),
    )


def _points(case: _Case, lines: Sequence[Line], limits: Mapping[int, int]) -> list[FrontierView]:
    """The efficient choices, thinned to what can be read, the first and the last kept.

    Of what nobody offers, all that lies on the shelf is taken to each of them.
    """
    fixed = chance_of([line for line in lines if line.key in limits], limits)
    points = frontier([line for line in lines if line.key not in limits])
    step = max(1, -(-(len(points) - 1) // (_POINTS - 1))) if len(points) > 1 else 1
    codes = [case.market.items[risk.item].code for risk in case.risks]
    return [
        FrontierView(
            cost=case.market.money(point.cost),
            chance=point.chance * fixed,
            spares=tuple(
                SpareView(item=codes[key], pieces=count)
                for key, count in sorted({**point.spares, **limits}.items())
                if count
            ),
        )
        for point in [*points[:-1:step], *points[-1:]]
    ]


def _estimate(case: _Case, needs: Mapping[tuple[str, NeedRule], int]) -> EstimateView:
    """What the parts cost now, on average and at most; what nobody prices is named."""
    market, prices = case.market, case.cheapest
    by_code = {item.code: item.id for item in market.items.values()}
    now, unpriced = 0, []
    for (code, rule), amount in needs.items():
        if rule == NeedRule.INSPECT:
            continue
        cost = prices.get(by_code[code])
        if cost is None:
            unpriced.append(code)
        else:
            now += cost.price(amount)
    lines = []
    for key, risk in enumerate(case.risks):
        if risk.item in prices:
            lines.append((risk.line(key, 0, correlated=True), prices[risk.item].price(1000)))
        else:
            unpriced.append(market.items[risk.item].code)
    found = estimate(now, lines)
    return EstimateView(
        now=market.money(found.now),
        expected=market.money(found.expected),
        upper=market.money(found.upper),
        unpriced=tuple(dict.fromkeys(unpriced)),
    )


def _stop(market: Market, risks: Sequence[Risk], on: date) -> Reason | None:
    """When a part could be here if one fails on the fitting date; before which point to stop."""
    if not risks:
        return None
    comes = earliest_after(market, [risk.item for risk in risks], on)
    if comes is None:
        return because(StopReason.NOT_OFFERED)
    code = StopReason.NEXT_DAY if (comes - on).days <= 1 else StopReason.LATER
    return because(code, on=on, comes=comes)
