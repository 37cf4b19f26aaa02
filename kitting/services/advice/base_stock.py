"""Stock to hold: levels per item of a branch, from what it used, tried against that history."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.calc.advice.base_stock import (
    ItemDemand,
    Levels,
    levels_for_budget,
    levels_for_target,
    pooled,
)
from kitting.calc.advice.base_stock_replay import replay
from kitting.errors import KittingError
from kitting.facts.money import format_money
from kitting.facts.names import natural_key
from kitting.services.advice.inspection_risks import Cost, costs
from kitting.services.branches import find_branch
from kitting.services.db.sync import chunks
from kitting.services.purchasing.market import CHECK_DAYS, Market, read_market
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch
from kitting.views.completion import HoldLineView, HoldView

TARGET = 0.95
WORKING_DAYS = 250
NOBODY_SAYS = 5  # late days where no offer has a price


@dataclass(frozen=True, slots=True)
class _Used:
    """What a branch used of an item: jobs a year, and (day, job, pieces) one by one."""

    yearly: float
    rows: tuple[tuple[int, str, int], ...]

    @property
    def per_job(self) -> int:
        """The most that one job took."""
        return max(pieces for _, _, pieces in self.rows)


def hold(
    session: Session,
    branch: str | None,
    now: datetime,
    target: float | None = TARGET,
    budget: int | None = None,
    days: int = 365,
) -> HoldView:
    """How much to hold of everything the branch used in the last `days`.

    For a target: the least money tied up with which nothing is short in a lead time by that
    chance. For a budget (minor units): the surest levels that it buys. Stock that ages before it is
    used is refused. Raises KittingError where nothing was used yet.
    """
    owner = find_branch(session, branch)
    used = _usage(session, owner.id, now, days)
    if not used:
        raise KittingError(
            f"{owner.code} has used nothing in the last {days} days: levels follow from use"
        )
    market = read_market(session, owner, list(used), now)
    prices, leads = costs(market, least_loss=False), _leads(market)
    demands = _demands(market, used, prices, leads)
    levels = (
        levels_for_budget(demands, budget)
        if budget is not None
        else levels_for_target(demands, target or TARGET)
    )
    currency = next((cost.currency for cost in prices.values()), "GBP")
    return HoldView(
        branch=owner.code,
        target=None if budget is not None else target,
        budget=None if budget is None else format_money(budget, currency),
        lines=_lines(session, owner.id, market, used, prices, leads, levels),
        value=format_money(levels.value, currency),
        chance=levels.chance,
        refused=tuple(f"{code}: {reason}" for code, reason in sorted(levels.refused.items())),
        unpriced=tuple(sorted(market.items[item].code for item in used if item not in prices)),
        replay=_replayed(market, used, demands, leads, levels, currency),
        pooled=_pooled(session, now, days, target or TARGET, currency),
    )


def _usage(session: Session, branch_id: int, now: datetime, days: int) -> dict[int, _Used]:
    """What was picked less what came back, by item and job, in pieces (in packs for liquids)."""
    since = now - timedelta(days=days)
    rows = session.execute(
        select(
            Lot.item_id, Item.unit, Item.pack, Movement.at, Movement.booking_id, Movement.quantity
        )
        .join(Lot, Movement.lot_id == Lot.id)
        .join(Item, Lot.item_id == Item.id)
        .where(
            Lot.branch_id == branch_id,
            Movement.kind.in_(("picked", "put back")),
            Movement.at >= since,
            Movement.at <= now,
        )
        .order_by(Movement.id)
    )
    amounts: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    first: dict[str, int] = {}
    for item, unit, pack, at, booking, quantity in rows:
        one = 1000 if unit == "each" or not pack else pack
        job = str(booking or 0)
        amounts[item][job] -= quantity / one
        first.setdefault(job, (at - since).days)
    found = {}
    for item, by_job in amounts.items():
        taken = {job: amount for job, amount in by_job.items() if amount > 0}
        if taken:
            found[item] = _Used(
                len(taken) * 365 / days,
                tuple((first[job], job, max(1, ceil(n))) for job, n in taken.items()),
            )
    return found


def _leads(market: Market) -> dict[int, int]:
    """Per item the late days of the quickest supplier, with a day to check."""
    late = {key: parcel.terms.lead.quantile(0.9) for key, parcel in market.parcels.items()}
    days: dict[int, int] = {}
    for offer in market.priced.values():
        days[offer.item] = min(late[offer.delivery], days.get(offer.item, late[offer.delivery]))
    return {item: days.get(item, NOBODY_SAYS) + CHECK_DAYS for item in market.items}


def _demands(
    market: Market,
    used: Mapping[int, _Used],
    prices: Mapping[int, Cost],
    leads: Mapping[int, int],
) -> list[ItemDemand]:
    return [
        _demand(market.items[item], used[item], prices[item], leads[item])
        for item in used
        if item in prices
    ]


def _demand(row: Item, used: _Used, cost: Cost, lead: int) -> ItemDemand:
    months = row.shelf_life_months
    mean = used.yearly * lead / WORKING_DAYS
    pack = 1000 if row.unit == "each" or not row.pack else row.pack
    life = used.yearly * months / 12 if months else None
    return ItemDemand(
        row.code, mean, max(1, cost.price(pack)), used.per_job, months is not None, life
    )


def _lines(
    session: Session,
    branch_id: int,
    market: Market,
    used: Mapping[int, _Used],
    prices: Mapping[int, Cost],
    leads: Mapping[int, int],
    levels: Levels,
) -> tuple[HoldLineView, ...]:
    there: dict[int, int] = {}
    for some in chunks(list(used)):
        free = func.sum(Lot.on_hand - Lot.promised)
        mine = (Lot.branch_id == branch_id) & Lot.item_id.in_(some) & Lot.held.is_(None)
        there |= dict(
            session.execute(select(Lot.item_id, free).where(mine).group_by(Lot.item_id)).all()
        )
    lines = []
    for item, one in used.items():
        row = market.items.get(item)
        if row is None or row.code not in levels.levels:
            continue
        lead, cost = leads[item], prices[item]
        pack = 1000 if row.unit == "each" or not row.pack else row.pack
        lines.append(
            HoldLineView(
                item=row.code,
                name=row.name,
                yearly=round(one.yearly, 1),
                lead_days=lead,
                mean=round(one.yearly * lead / WORKING_DAYS, 2),
                level=levels.levels[row.code],
                on_hand=int(there.get(item, 0)) // pack,
                price=format_money(cost.price(pack), cost.currency),
                why=f"{one.yearly:.3g} jobs a year, up to {one.per_job} each, {lead} days to come",
            )
        )
    return tuple(sorted(lines, key=lambda line: natural_key(line.item)))


def _replayed(
    market: Market,
    used: Mapping[int, _Used],
    demands: Sequence[ItemDemand],
    leads: Mapping[int, int],
    levels: Levels,
    currency: str,
) -> str | None:
    """What the levels would have done with the history."""
    history = [
        (day, job, market.items[item].code, pieces)
        for item, one in used.items()
        if item in market.items and market.items[item].code in levels.levels
        for day, job, pieces in one.rows
    ]
    if not history:
        return None
    lead = max(leads[item] for item in used if item in leads)
    result = replay(
        sorted(history),
        levels.levels,
        lead,
        costs={demand.key: demand.cost for demand in demands},
        shelf_days={
            item.code: item.shelf_life_months * 30
            for item in market.items.values()
            if item.shelf_life_months
        },
    )
    found = result.jobs - len(result.delayed)
    scrapped = sum(result.scrapped.values())
    tied = format_money(result.value or 0, currency)
    return (
        f"Played against the past: {found} of {result.jobs} jobs would have found all they took,"
        f" {tied} on the shelf on an average day, {scrapped} pieces scrapped for age"
        f" (orders every day, {lead} days to come)"
    )


def _pooled(session: Session, now: datetime, days: int, target: float, currency: str) -> str | None:
    """What the branches tie up each for itself, and on one stock; None where one alone uses any."""
    demands = []
    for branch in session.scalars(select(Branch).order_by(Branch.code)).all():
        used = _usage(session, branch.id, now, days)
        if used:
            market = read_market(session, branch, list(used), now)
            prices = costs(market, least_loss=False)
            demands.append(_demands(market, used, prices, _leads(market)))
    if len(demands) < 2:
        return None
    most: dict[str, int] = {}
    for item in (item for items in demands for item in items):
        most[item.key] = max(item.per_job, most.get(item.key, 0))
    alike = [[replace(item, per_job=most[item.key]) for item in items] for items in demands]
    found = pooled(alike, target)
    apart = sum(levels.value for levels in found.apart)
    return (
        f"{len(demands)} branches each for itself tie up {format_money(apart, currency)}, on one"
        f" stock {format_money(found.together.value, currency)} (carriage between them not counted)"
    )
