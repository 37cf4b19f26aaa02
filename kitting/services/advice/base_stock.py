"""Stock levels: per item of a branch, from what it used, tried against that history."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import ceil

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.advice.base_stock import (
    ItemDemand,
    Levels,
    Refusal,
    levels_for_budget,
    levels_for_target,
    pooled,
)
from kitting.calc.advice.base_stock_replay import replay
from kitting.calc.stock.allocation import proven
from kitting.errors import KittingError
from kitting.facts.money import Money, require_one_currency
from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason, because
from kitting.facts.words import MovementKind, StockUnit
from kitting.services.branches import find_branch
from kitting.services.db.sync import chunks
from kitting.services.purchasing.market import CHECK_DAYS, LATE, Market, MarketItem, read_market
from kitting.services.stock.lots import read_shelves
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch
from kitting.views.completion import (
    LevelLineView,
    LevelReason,
    LevelsView,
    PoolingView,
    RefusedLevelView,
    ReplayView,
)

TARGET = 0.95
WORKING_DAYS = 250
NOBODY_SAYS = 5  # late days where no offer has a price
_MONTH = 30  # days of a month of shelf life in the replay


@dataclass(frozen=True, slots=True)
class _Used:
    """What a branch used of an item: jobs a year, and (day of the calendar, job, pieces)."""

    yearly: float
    rows: tuple[tuple[int, str, int], ...]

    @property
    def per_job(self) -> int:
        """The most that one job took."""
        return max(pieces for _, _, pieces in self.rows)


@dataclass(frozen=True, slots=True)
class _Case:
    """The use of a branch, with what an item costs and how many working days it takes to come.

    `prices` are minor units per thousandth of the item's unit, at its cheapest: what lies on a
    shelf came in whole packs.
    """

    market: Market
    used: Mapping[int, _Used]
    prices: Mapping[int, Fraction]
    leads: Mapping[int, int]

    @property
    def demands(self) -> list[ItemDemand]:
        """The items that have a price, as levels are found for them."""
        return [self._demand(item) for item in self.used if item in self.prices]

    def price(self, key: int) -> int:
        """What a piece of an item costs in minor units."""
        return ceil(self.prices[key] * _piece(self.market.items[key]))

    def _demand(self, key: int) -> ItemDemand:
        item, used = self.market.items[key], self.used[key]
        months = item.shelf_life_months
        return ItemDemand(
            key=item.code,
            mean=used.yearly * self.leads[key] / WORKING_DAYS,
            cost=max(1, self.price(key)),
            per_job=used.per_job,
            short_life=months is not None,
            use_in_life=used.yearly * months / 12 if months else None,
        )


def stock_levels(
    session: Session,
    branch: str | None,
    now: datetime,
    target: float | None = TARGET,
    budget: Money | None = None,
    days: int = 365,
) -> LevelsView:
    """How much to keep of everything the branch used in the last `days`.

    For a target: the least money tied up with which nothing is short in a lead time by that
    chance. For a budget: the levels of the highest chance that it buys. Stock that ages before it
    is used is refused. Raises KittingError where nothing was used yet, or where the budget is in
    another currency than the prices.
    """
    owner = find_branch(session, branch)
    case = _read(session, owner, now, days)
    if case is None:
        raise KittingError(
            f"{owner.code} has used nothing in the last {days} days: levels follow from use"
        )
    market, demands = case.market, case.demands
    if budget is None:
        levels = levels_for_target(demands, target or TARGET)
    else:
        stated = [budget, market.money(0)]
        require_one_currency(stated, "the budget, and the prices of what was used")
        levels = levels_for_budget(demands, budget.minor)
    pooling = _pooled(session, now, days, target or TARGET)
    return LevelsView(
        branch=owner.code,
        target=None if budget is not None else target,
        budget=budget,
        lines=_lines(case, levels, _free(session, owner.id, list(case.used), now.date())),
        value=market.money(levels.value),
        chance=levels.chance,
        refused=tuple(
            RefusedLevelView(item=code, why=_refused(why))
            for code, why in sorted(levels.refused.items())
        ),
        unpriced=_unpriced(case),
        replay=_replayed(case, demands, levels),
        pooled=pooling if isinstance(pooling, PoolingView) else None,
        not_pooled=pooling if isinstance(pooling, Reason) else None,
    )


@dataclass(frozen=True, slots=True)
class BranchLevels:
    """What a branch should keep: by item, in thousandths of its unit; and of what nobody can say.

    `unpriced` has no price, of `refused` the use is too rare: the codes of such items.
    """

    items: Mapping[int, MarketItem]
    levels: Mapping[int, int]
    unpriced: tuple[str, ...]
    refused: tuple[str, ...]


def levels_of(
    session: Session, owner: Branch, now: datetime, target: float, days: int
) -> BranchLevels | None:
    """The levels that `stock_levels` finds for a target; None where nothing was used."""
    case = _read(session, owner, now, days)
    if case is None:
        return None
    items, found = case.market.items, levels_for_target(case.demands, target)
    return BranchLevels(
        items=items,
        levels={
            key: found.levels[items[key].code] * _piece(items[key])
            for key in case.used
            if items[key].code in found.levels
        },
        unpriced=_unpriced(case),
        refused=tuple(sorted(found.refused)),
    )


def _unpriced(case: _Case) -> tuple[str, ...]:
    items = case.market.items
    return tuple(sorted(items[key].code for key in case.used if key not in case.prices))


def _refused(why: Refusal) -> Reason:
    code = LevelReason.RARE_IN_SHELF_LIFE if why.life_known else LevelReason.RARE_IN_LEAD_TIME
    return because(code, jobs=why.use)


def _read(session: Session, branch: Branch, now: datetime, days: int) -> _Case | None:
    """What a branch used, with prices and lead times; None if that is nothing."""
    used = _usage(session, branch.id, now, days)
    if not used:
        return None
    market = read_market(session, branch, list(used), now)
    return _Case(market, used, _prices(market), _leads(market))


def _prices(market: Market) -> dict[int, Fraction]:
    found: dict[int, Fraction] = {}
    for offer in market.priced.values():
        each = Fraction(min(price.minor for price in offer.prices), offer.pack)
        found[offer.item] = min(each, found.get(offer.item, each))
    return found


_USAGE = (
    select(Lot.item_id, Item.unit, Item.pack, Movement.at, Movement.booking_id, Movement.quantity)
    .join(Lot, Movement.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(
        Lot.branch_id == bindparam("branch"),
        Movement.kind.in_((MovementKind.PICKED, MovementKind.PUT_BACK)),
        Movement.at >= bindparam("since"),
        Movement.at <= bindparam("now"),
    )
    .order_by(Movement.id)
)
_BRANCHES = select(Branch).order_by(Branch.code)


def _usage(session: Session, branch_id: int, now: datetime, days: int) -> dict[int, _Used]:
    """What was picked less what came back, by item and job, in pieces (in packs for liquids)."""
    since = now - timedelta(days=days)
    rows = session.execute(_USAGE, {"branch": branch_id, "since": since, "now": now})
    amounts: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    first: dict[str, int] = {}
    for item, unit, pack, at, booking, quantity in rows:
        job = str(booking or 0)
        amounts[item][job] -= quantity / _piece_of(unit, pack)
        first.setdefault(job, at.date().toordinal())
    found = {}
    for item, by_job in amounts.items():
        taken = {job: amount for job, amount in by_job.items() if amount > 0}
        if taken:
            rows_of = tuple((first[job], job, max(1, ceil(n))) for job, n in taken.items())
            found[item] = _Used(len(taken) * 365 / days, rows_of)
    return found


def _piece_of(unit: str, pack: int | None) -> int:
    """What levels are counted in, in thousandths of the unit: pieces, else packs."""
    return 1000 if unit == StockUnit.EACH or not pack else pack


def _piece(item: MarketItem) -> int:
    return _piece_of(item.unit, item.pack)


def _leads(market: Market) -> dict[int, int]:
    """Per item the late days of the quickest supplier, with a day to check."""
    late = {key: parcel.terms.lead.quantile(LATE) for key, parcel in market.parcels.items()}
    days: dict[int, int] = {}
    for offer in market.priced.values():
        days[offer.item] = min(late[offer.delivery], days.get(offer.item, late[offer.delivery]))
    return {item: days.get(item, NOBODY_SAYS) + CHECK_DAYS for item in market.items}


def _free(session: Session, branch_id: int, items: Sequence[int], on: date) -> dict[int, int]:
    """What is certain to be fit for use on a day and promised to nobody, thousandths by item."""
    return {
        item: sum(lot.free for lot in lots if proven(lot, on))
        for some in chunks(items)
        for item, lots in read_shelves(session, branch_id, some).lots.items()
    }


def _lines(case: _Case, levels: Levels, free: Mapping[int, int]) -> tuple[LevelLineView, ...]:
    lines = []
    for key, used in case.used.items():
        item = case.market.items[key]
        if item.code not in levels.levels:
            continue
        lead = case.leads[key]
        lines.append(
            LevelLineView(
                item=item.code,
                name=item.name,
                yearly=round(used.yearly, 1),
                per_job=used.per_job,
                lead_days=lead,
                mean=round(used.yearly * lead / WORKING_DAYS, 2),
                level=levels.levels[item.code],
                on_hand=free.get(key, 0) // _piece(item),
                price=case.market.money(case.price(key)),
            )
        )
    return tuple(sorted(lines, key=lambda line: natural_key(line.item)))


def _replayed(case: _Case, demands: Sequence[ItemDemand], levels: Levels) -> ReplayView | None:
    """What the levels would have done with the past; None without a level."""
    items = case.market.items
    history = sorted(
        (day, job, items[key].code, pieces)
        for key, used in case.used.items()
        if items[key].code in levels.levels
        for day, job, pieces in used.rows
    )
    if not history:
        return None
    lead = max(case.leads[key] for key in case.used)
    own = case.market.own
    result = replay(
        history,
        levels.levels,
        lambda day: own.add(date.fromordinal(day), lead).toordinal(),
        costs={demand.key: demand.cost for demand in demands},
        shelf_days={
            item.code: item.shelf_life_months * _MONTH
            for item in items.values()
            if item.shelf_life_months
        },
    )
    return ReplayView(
        jobs=result.jobs,
        complete=result.jobs - len(result.delayed),
        tied_up=case.market.money(result.value or 0),
        scrapped=sum(result.scrapped.values()),
        lead_days=lead,
    )


def _pooled(
    session: Session, now: datetime, days: int, target: float
) -> PoolingView | Reason | None:
    """What the branches tie up each for itself, and on one stock; None where one alone uses any.

    The reason why it cannot be said, where they buy in several currencies.
    """
    read = [_read(session, branch, now, days) for branch in session.scalars(_BRANCHES).all()]
    cases = [case for case in read if case is not None]
    if len(cases) < 2:
        return None
    currencies = sorted({case.market.currency for case in cases})
    if len(currencies) > 1:
        return because(LevelReason.CURRENCIES, currencies=tuple(currencies))
    demands = [case.demands for case in cases]
    most: dict[str, int] = {}
    for item in (item for items in demands for item in items):
        most[item.key] = max(item.per_job, most.get(item.key, 0))
    alike = [[replace(item, per_job=most[item.key]) for item in items] for items in demands]
    found = pooled(alike, target)
    money = cases[0].market.money
    return PoolingView(
        branches=len(cases),
        separate=money(sum(levels.value for levels in found.separate)),
        together=money(found.together.value),
    )
