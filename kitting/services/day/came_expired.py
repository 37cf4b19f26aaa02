"""Goods that were past their day when they came, and still lie there."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import bindparam
from sqlalchemy.orm import Session

from kitting.facts.reasons import because
from kitting.services.day.scope import About, Day, row
from kitting.services.purchasing.receipts import at_once, receipt_view, receipts_of
from kitting.tables.stock import Lot
from kitting.tables.supply import PurchaseOrder
from kitting.views.today import TodayItem, TodayKind, TodayReason, TodayRow

_HELD = receipts_of(
    PurchaseOrder.branch_id.in_(bindparam("branches", expanding=True))
    & Lot.own_hold.is_not(None)
    & (Lot.on_hand > 0)
)


def expired_rows(session: Session, day: Day) -> Iterator[TodayRow]:
    """What came expired and is neither sent back, claimed nor let go; one statement."""
    rows = session.execute(_HELD, {"branches": [yard.id for yard in day.asked]}).all()
    for part in at_once(rows):
        expired = receipt_view(part).expired
        if expired is None or expired.then is None:
            continue
        came = part[0].came
        about = About(
            then=expired.then,
            why=(because(TodayReason.KEPT_TO, lot=expired.lot, until=expired.until),),
            items=(TodayItem(came.code, came.name, came.unit, expired.there),),
            order=part[0].order,
            lot=expired.lot,
        )
        yard = day.yards[part[0].Lot.branch_id]
        yield row(day, yard, TodayKind.CAME_EXPIRED, day.today, about)
