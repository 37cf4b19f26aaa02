"""Sureness: the chance that a job ends with the parts in the kit, and the spares worth bringing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, shifted
from kitting.calc.advice.spares import (
    Choice,
    Estimate,
    Line,
    chance_of,
    cheapest,
    demand,
    estimate,
    frontier,
)
from kitting.errors import KittingError
from kitting.facts.money import format_money
from kitting.facts.words import NeedRule
from kitting.services.advice.inspection_risks import Cost, Risk, costs, earliest_after, read_risks
from kitting.services.bookings.requirements import needs_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import car_of, coverage
from kitting.services.branches import find_branch
from kitting.services.planning.draft import draft
from kitting.services.planning.judge import Draft
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.view import plan_view
from kitting.services.purchasing.market import Market, read_market
from kitting.services.stock.lots import find_items, read_shelves
from kitting.tables.supply import Branch
from kitting.views.completion import EstimateView, FrontierView, RiskView, SureView

TARGET = 0.95
_POINTS = 12


def sure_of_booking(
    session: Session,
    number: str,
    now: datetime,
    target: float = TARGET,
    short_costs: int | None = None,
) -> SureView:
    """As `sure`, for the car, jobs, date and branch of a booking."""
    booking = find_booking(session, number)
    registration, jobs = car_of(session, booking)
    branch = session.get_one(Branch, booking.branch_id)
    held = coverage(session, booking.id)
    return sure(
        session, registration, jobs, booking.fit_on, now, branch.code, target, held, short_costs
    )


def sure(
    session: Session,
    registration: str,
    jobs: Sequence[str],
    on: date,
    now: datetime,
    branch: str | None = None,
    target: float = TARGET,
    held: Mapping[int, int] | None = None,
    short_costs: int | None = None,
) -> SureView:
    """The chance that the jobs end without a second order, and the cheapest spares for a target.

    Pieces of one car fail together (beta-binomial); the independent figure stands beside it. The
    cost of a spare is what is lost if it stays unused; what lies on the shelf, or is `held` for
    this kit (item → thousandths), goes back and costs nothing. `short_costs` (minor units, such as
    a day on the ramp) tells for each item when one spare is worth bringing by itself.
    Raises UnknownNameError, and KittingError while a variant is open.
    """
    owner = find_branch(session, branch)
    facts = draft(session, PlanRequest(registration, tuple(jobs), on))
    if facts.open_splits:
        raise KittingError(
            "a variant is not settled yet: nothing can be said past it. See the plan"
        )
    planned = plan_view(facts)
    risks, unknown = read_risks(session, facts)
    needs = needs_of(planned)
    needed = find_items(session, sorted({code for code, _ in needs}))
    items = {risk.item for risk in risks} | {item.id for item in needed.values()}
    market = read_market(session, owner, items, now)
    prices = costs(market)
    shelves = read_shelves(session, owner.id, list(items))
    stock = {
        item: (sum(lot.free for lot in shelves.of(item)) + (held or {}).get(item, 0)) // 1000
        for item in items
    }
    lines = _lines(risks, prices, stock, correlated=True)
    limits = {
        key: min(risk.pieces, stock[risk.item])
        for key, risk in enumerate(risks)
        if risk.item not in prices
    }
    best = cheapest(lines, target, limits) if lines else Choice({}, 0, 1.0)
    most = {key: limits.get(key, risk.pieces) for key, risk in enumerate(risks)}
    chosen: Mapping[int, int] = best.spares if best is not None else most
    independent = _lines(risks, prices, stock, correlated=False)
    currency = next((cost.currency for cost in prices.values()), "GBP")
    return SureView(
        vehicle=planned.vehicle.public_name,
        jobs=tuple(facts.names.jobs[job.key] for job in facts.jobs),
        on=on,
        target=target,
        risks=tuple(
            _weighed(
                _risk_view(facts, risk, prices.get(risk.item), stock, chosen.get(key, 0)),
                lines[key],
                prices.get(risk.item),
                short_costs,
            )
            for key, risk in enumerate(risks)
        ),
        without=chance_of(lines, {}),
        chance=chance_of(lines, chosen),
        independent=chance_of(independent, chosen),
        cost=None if best is None else format_money(best.cost, currency),
        reached=best is not None,
        frontier=tuple(_points(facts, risks, lines, limits, currency)),
        estimate=_estimate(market, needs, costs(market, least_loss=False), risks, currency),
        unknown=unknown,
        stop=_stop(market, risks, on),
    )


def _lines(
    risks: Sequence[Risk],
    prices: Mapping[int, Cost],
    stock: Mapping[int, int],
    *,
    correlated: bool,
) -> list[Line]:
    """The risks as lines: a spare that lies on the shelf anyway costs nothing if it goes back."""
    return [
        risk.line(
            key,
            0
            if risk.item not in prices or stock[risk.item] >= risk.pieces
            else prices[risk.item].loss(1000),
            correlated,
        )
        for key, risk in enumerate(risks)
    ]


def _risk_view(
    facts: Draft, risk: Risk, cost: Cost | None, stock: Mapping[int, int], spares: int
) -> RiskView:
    row = facts.contents.items[risk.item]
    moved = [SHIFTS[name] for name in risk.shifts]
    low, high = (shifted(edge, *moved) for edge in risk.belief.spread())
    return RiskView(
        item=row.code,
        name=row.name,
        positions=risk.positions,
        pieces=risk.pieces,
        chance=risk.chance,
        low=low,
        high=high,
        looked=risk.looked,
        failed=risk.failed,
        shifts=risk.shifts,
        group=risk.group,
        price=None if cost is None else format_money(cost.price(1000), cost.currency),
        loss=None if cost is None else format_money(cost.loss(1000), cost.currency),
        in_stock=stock.get(risk.item, 0),
        spares=spares,
    )


def _weighed(view: RiskView, line: Line, cost: Cost | None, short_costs: int | None) -> RiskView:
    """With the chance that any fails, and when one spare is worth bringing by itself."""
    view = replace(view, any_fails=1 - demand(line)[0])
    if short_costs is None or cost is None:
        return view
    loss = cost.loss(1000)
    return replace(view, worth_above=loss / (loss + short_costs))


def _points(
    facts: Draft,
    risks: Sequence[Risk],
    lines: Sequence[Line],
    limits: Mapping[int, int],
    currency: str,
) -> list[FrontierView]:
    """The efficient choices, thinned to what can be read, the first and the last kept.

    Of what nobody offers, all that lies on the shelf is taken to each of them.
    """
    fixed = chance_of([line for line in lines if line.key in limits], limits)
    points = frontier([line for line in lines if line.key not in limits])
    step = max(1, -(-(len(points) - 1) // (_POINTS - 1))) if len(points) > 1 else 1
    shown = [*points[:-1:step], *points[-1:]]
    codes = [facts.contents.items[risk.item].code for risk in risks]
    return [
        FrontierView(
            format_money(point.cost, currency),
            point.chance * fixed,
            tuple(
                f"{count} {codes[key]}"
                for key, count in sorted({**point.spares, **limits}.items())
                if count
            ),
        )
        for point in shown
    ]


def _estimate(
    market: Market,
    needs: Mapping[tuple[str, NeedRule], int],
    prices: Mapping[int, Cost],
    risks: Sequence[Risk],
    currency: str,
) -> EstimateView | None:
    """What the parts cost now, on average and at most; what nobody prices is named."""
    by_code = {item.code: item for item in market.items.values()}
    now, unpriced = 0, []
    for (code, rule), amount in needs.items():
        if rule == "inspect":
            continue
        cost = prices.get(by_code[code].id)
        if cost is None:
            unpriced.append(code)
        else:
            now += cost.price(amount)
    lines = []
    for key, risk in enumerate(risks):
        if risk.item in prices:
            lines.append((risk.line(key, 0, True), prices[risk.item].price(1000)))
        else:
            unpriced.append(next(i.code for i in market.items.values() if i.id == risk.item))
    found: Estimate = estimate(now, lines)
    return EstimateView(
        format_money(found.now, currency),
        format_money(found.expected, currency),
        format_money(found.upper, currency),
        tuple(dict.fromkeys(unpriced)),
    )


def _stop(market: Market, risks: Sequence[Risk], on: date) -> str | None:
    """When a part could be here if one fails on the fitting date; before which point to stop."""
    if not risks:
        return None
    comes = earliest_after(market, [risk.item for risk in risks], on)
    if comes is None:
        return (
            "something that may fail is offered by nobody: have it here before anything is opened"
        )
    days = (comes - on).days
    if days <= 1:
        return f"a part that fails on {on:%a %d %b} could be here by {comes:%a %d %b}"
    return (
        f"a part that fails on {on:%a %d %b} is not here before {comes:%a %d %b}: look at"
        " everything that may fail before the last joint is opened, and stop there if in doubt"
    )
