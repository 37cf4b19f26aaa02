"""Completion chance: that a job ends with the parts in the kit, and the spares worth bringing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy import bindparam, select
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
from kitting.calc.stock.allocation import proven
from kitting.errors import KittingError
from kitting.facts.money import Money, require_one_currency
from kitting.facts.reasons import Reason, because
from kitting.facts.words import LotState, NeedRule
from kitting.services.advice.inspection_risks import Cost, Risk, costs, earliest_after, read_risks
from kitting.services.bookings.kit_record import request_of
from kitting.services.bookings.requirements import needs_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.view import plan_view
from kitting.services.purchasing.market import Market, read_market
from kitting.services.stock.lots import find_items, read_shelves
from kitting.tables.items import Item
from kitting.views.bookings import SourceKind
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

_ITEM_CODES = select(Item.id, Item.code).where(Item.id.in_(bindparam("keys", expanding=True)))
TARGET = 0.95
_POINTS = 12


@dataclass(frozen=True, slots=True)
class Work:
    """A car, its jobs and their day, at a branch (None: the only one).

    `in_kit` is what the kit has already and may be fitted, thousandths by item code: as a spare it
    costs nothing. `kit` is what the booking has settled of it.
    """

    registration: str
    jobs: Sequence[str]
    on: date
    branch: str | None = None
    in_kit: Mapping[str, int] = field(default_factory=dict)
    kit: KitRecord | None = None


@dataclass(frozen=True, slots=True)
class _Case:
    """What is weighed: the risks, what spares of each cost, and what lies on the shelf for them.

    `prices` are by item, of the offer that loses least if a spare stays unused; `cheapest` of the
    cheapest offer. `stock` is in pieces, by risk: what is free, fit for certain, not needed by what
    is renewed anyway, and given to one risk only. `limits` says of which risks no more can be had
    than that.
    """

    market: Market
    risks: Sequence[Risk]
    prices: Mapping[int, Cost]
    cheapest: Mapping[int, Cost]
    stock: Sequence[int]

    @property
    def limits(self) -> dict[int, int]:
        return {
            key: min(risk.pieces, self.stock[key])
            for key, risk in enumerate(self.risks)
            if risk.item not in self.prices
        }

    def lines(self, *, correlated: bool = True) -> list[Line]:
        """The risks as lines of spares, by their place in the list."""
        return [
            risk.line(key, self._losses(key), correlated=correlated)
            for key, risk in enumerate(self.risks)
        ]

    def _losses(self, key: int) -> tuple[int, ...]:
        """What 0, 1, … spares lose; those on the shelf go back to it and lose nothing."""
        risk, cost = self.risks[key], self.prices.get(self.risks[key].item)
        return tuple(
            0 if cost is None else cost.loss(1000 * max(0, spares - self.stock[key]))
            for spares in range(risk.pieces + 1)
        )


def work_of_booking(session: Session, number: str) -> Work:
    """The car, jobs, day and branch of a booking, with what its kit has and what is in doubt."""
    booking = find_booking(session, number)
    view, request = booking_view(session, booking), request_of(session, booking)
    in_kit: dict[str, int] = defaultdict(int)
    for need in view.needs:
        for source in need.sources:
            if source.kind is SourceKind.LOT and source.state is LotState.GOOD:
                in_kit[need.item] += source.quantity
    return Work(request.registration, request.jobs, request.on, view.branch, in_kit, request.kit)


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
    facts = draft(session, PlanRequest(work.registration, tuple(work.jobs), work.on, kit=work.kit))
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
    by_code = {item.code: item.id for item in market.items.values()}
    must: dict[int, int] = defaultdict(int)
    for (code, rule), amount in needs.items():
        if rule is not NeedRule.INSPECT:
            must[by_code[code]] += amount
    case = _Case(
        market=market,
        risks=risks,
        prices=costs(market),
        cheapest=costs(market, least_loss=False, wanted=must),
        stock=_stock(session, (owner.id, work), risks, must),
    )
    return _view(case, planned, target, short_costs, unknown)


def _stock(
    session: Session, where: tuple[int, Work], risks: Sequence[Risk], must: Mapping[int, int]
) -> tuple[int, ...]:
    """Whole pieces for each risk, in order; of one pool each piece is given once.

    What is free, is certain to be fit on the day, and is not needed by what is renewed anyway.
    """
    branch, work = where
    items = {risk.item for risk in risks}
    shelves, codes = read_shelves(session, branch, list(items)), _codes(session, items)
    left = {}
    for item in items:
        free = sum(lot.free for lot in shelves.of(item) if proven(lot, work.on))
        left[item] = max(0, free + work.in_kit.get(codes[item], 0) - must.get(item, 0)) // 1000
    found = []
    for risk in risks:
        taken = min(risk.pieces, left[risk.item])
        left[risk.item] -= taken
        found.append(taken)
    return tuple(found)


def _codes(session: Session, items: Collection[int]) -> dict[int, str]:
    return dict(session.execute(_ITEM_CODES, {"keys": list(items)}).all())


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
        in_stock=case.stock[line.key],
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
    now, unpriced, must = 0, [], defaultdict[int, int](int)
    for (code, rule), amount in needs.items():
        if rule is not NeedRule.INSPECT:
            must[by_code[code]] += amount
    for item, amount in must.items():
        if item in prices:
            now += prices[item].price(amount)
        else:
            unpriced.append(market.items[item].code)
    lines: list[tuple[Line, Sequence[int]]] = []
    for key, risk in enumerate(case.risks):
        if risk.item in prices:
            more = must.get(risk.item, 0)
            known = prices[risk.item].price(more) if more else 0
            together = [
                prices[risk.item].price(more + 1000 * spares) - known if more + spares else 0
                for spares in range(risk.pieces + 1)
            ]
            lines.append((risk.line(key, correlated=True), together))
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
