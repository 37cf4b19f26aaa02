"""Completion chance: that a job ends with the parts in the kit, and the spares worth bringing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.calc.advice.failure_rates import SHIFTS, shifted
from kitting.calc.advice.looks import needed
from kitting.calc.advice.spare_costs import PIECE, loss, one_spare
from kitting.calc.advice.spares import (
    Choice,
    Line,
    chance_of,
    cheapest,
    frontier,
    split,
    worth_above,
)
from kitting.facts.money import Money, require_one_currency
from kitting.facts.reasons import Reason, because
from kitting.services.advice.inspection_risks import earliest_after
from kitting.services.advice.price_estimate import Parts, estimate_view
from kitting.services.advice.weighed import Weighed
from kitting.services.advice.weighed_case import Case, Work, case_of
from kitting.services.purchasing.market import Market
from kitting.views.completion import (
    CompletionView,
    EstimateView,
    FrontierView,
    RiskView,
    SpareView,
    StopReason,
)
from kitting.views.plan import PlanView

TARGET = 0.95
_POINTS = 12


def _to_bring(case: Case, view: CompletionView) -> dict[int, int]:
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
    case = case_of(session, work, now)
    if short_costs is not None:
        priced = [case.market.money(0)] if case.market.offers else []
        require_one_currency(
            [short_costs, *priced], "what being short costs, and the prices of the parts"
        )
    view = _view(case, target, short_costs)
    return Weighed(view, case.lines(), _to_bring(case, view), case.brought)


def estimate_of(session: Session, work: Work, now: datetime) -> tuple[EstimateView, PlanView]:
    """What the parts of some work cost, and its plan. Raises as `completion_chance`."""
    case = case_of(session, work, now)
    return _estimate(case, case.lines()), case.planned


def _estimate(case: Case, lines: Sequence[Line]) -> EstimateView:
    return estimate_view(case.market, Parts(case.certain, case.inspected, lines, case.ways))


def _view(case: Case, target: float, short_costs: Money | None) -> CompletionView:
    """The spares that reach the target at least cost; all that can be had, if none do."""
    planned = case.planned
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
        estimate=_estimate(case, lines),
        unknown=case.unknown,
        doubts=case.doubts,
        booked=case.booked,
        stop=_stop(case.market, tuple(case.risks), planned.on),
    )


def _risk_views(case: Case, line: Line, spares: int, short_costs: Money | None) -> list[RiskView]:
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


def _points(case: Case, lines: Sequence[Line]) -> list[FrontierView]:
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
