"""Stock below its level: the levels follow from use, as `base_stock` finds them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import Arrival, proven, usable
from kitting.calc.stock.storage import judge
from kitting.facts.names import natural_key
from kitting.facts.words import LotState
from kitting.services.advice.base_stock import TARGET, BranchLevels, levels_of
from kitting.services.branches import find_branch
from kitting.services.db.sync import chunks
from kitting.services.stock.lots import STORED_ON_THE_WAY, find_items, read_shelves, stored
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch
from kitting.views.low_stock import LowLineView, LowStockView, NoLevelsView

DAYS = 365
_BRANCHES = select(Branch).order_by(Branch.code)
_ON_VANS = (
    select(Lot.item_id, Transfer.quantity, *STORED_ON_THE_WAY)
    .join(Lot, Transfer.to_lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Transfer.to_branch_id == bindparam("branch"), Transfer.arrived_at.is_(None))
)


def low_stock(
    session: Session,
    branch: str | None,
    now: datetime,
    items: Sequence[str] = (),
    target: float = TARGET,
    days: int = DAYS,
) -> LowStockView:
    """What is below its level in a branch, or in all; of some items, or of all that were used.

    What is free and certain to be fit counts; what is on its way and promised to nobody is told
    beside it, and counts unless it is later than its late day. Raises
    UnknownNameError for a branch or an item that is not known.
    """
    wanted = {item.code for item in find_items(session, items).values()} if items else None
    owners = session.scalars(_BRANCHES).all() if branch is None else [find_branch(session, branch)]
    lines: list[LowLineView] = []
    no_levels: list[NoLevelsView] = []
    for owner in owners:
        found = levels_of(session, owner, now, target, days)
        if found is None:
            no_levels.append(NoLevelsView(owner.code, nothing_used=True))
            continue
        some = sorted(_low(session, owner, found, now.date()), key=_place)
        lines += [line for line in some if wanted is None or line.item in wanted]
        if found.unpriced or found.refused:
            unknown = NoLevelsView(owner.code, False, found.unpriced, found.refused)
            no_levels.append(unknown)
    return LowStockView(target, days, tuple(lines), tuple(no_levels))


def _place(line: LowLineView) -> tuple[object, ...]:
    return natural_key(line.item)


def _low(session: Session, owner: Branch, found: BranchLevels, on: date) -> Iterator[LowLineView]:
    vans = _on_vans(session, owner, on)
    for keys in chunks(list(found.levels)):
        shelves = read_shelves(session, owner.id, keys)
        for key in keys:
            lots, level = shelves.of(key), found.levels[key]
            free = sum(lot.free for lot in lots if proven(lot, on))
            if free >= level:
                continue
            ordered = _unpromised(one for one in shelves.coming(key) if one.due >= on)
            overdue = _unpromised(one for one in shelves.coming(key) if one.due < on)
            coming = ordered + vans.get(key, 0)
            item = found.items[key]
            yield LowLineView(
                branch=owner.code,
                item=item.code,
                name=item.name,
                unit=item.unit,
                level=level,
                free=free,
                age_unknown=sum(
                    lot.free for lot in lots if usable(lot, on) and not proven(lot, on)
                ),
                coming=coming,
                missing=max(0, level - free - coming),
                overdue=overdue,
            )


def _unpromised(arrivals: Iterable[Arrival]) -> int:
    return sum(one.quantity - one.promised for one in arrivals)


def _on_vans(session: Session, owner: Branch, on: date) -> Mapping[int, int]:
    """What vans bring that is certain to be fit, thousandths by item."""
    found: dict[int, int] = defaultdict(int)
    for row in session.execute(_ON_VANS, {"branch": owner.id}):
        if judge(stored(row), owner.shelf_policy, on).state is LotState.GOOD:
            found[row.item_id] += row.quantity
    return found
