"""Opened packs: what is left of a pack that a kit was taken from keeps only so long."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, insert, select, update
from sqlalchemy.orm import Session

from kitting.facts.words import MovementKind
from kitting.services.stock.ledger import Move, post_all
from kitting.tables.stock import Lot

_LOTS = select(Lot).where(Lot.id.in_(bindparam("keys", expanding=True)))
_BY_CODE = select(Lot.id, Lot.branch_id, Lot.item_id, Lot.code).where(
    Lot.code.in_(bindparam("codes", expanding=True))
)
_table = Lot.metadata.tables["lot"]
_OPEN = (
    update(_table).where(_table.c.id == bindparam("key")).values(opened_on=bindparam("opened"))
)  # fmt: skip
# What a remainder has of the lot that it is opened from.
_KEPT = (
    "branch_id", "item_id", "bin", "made_on", "expires_on", "received_on", "held", "inspected_on",
    "inspection",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Taken:
    """So much (thousandths) taken of a lot for a kit, of packs that keep so long once opened."""

    lot: int
    quantity: int
    pack: int | None
    opened_life_days: int | None
    opened: bool

    @property
    def remainder(self) -> int:
        """What stays in the last pack that was opened; 0 where none was or it does not matter."""
        if not self.pack or not self.opened_life_days or self.opened:
            return 0
        over = self.quantity % self.pack
        return self.pack - over if over else 0


def open_packs(session: Session, taken: Sequence[Taken], at: datetime) -> None:
    """After parts of packs were taken, tell their remainders from the packs that are whole.

    A remainder becomes a lot of its own with the day of opening; where nothing else is left, the
    lot itself gets that day. A remainder that is promised stays with its lot.
    """
    remainders = {one.lot: one.remainder for one in taken if one.remainder}
    if not remainders:
        return
    rows = list(
        session.scalars(_LOTS.execution_options(populate_existing=True), {"keys": list(remainders)})
    )
    whole = [lot for lot in rows if 0 < lot.on_hand <= remainders[lot.id]]
    split = [
        lot
        for lot in rows
        if remainders[lot.id] < lot.on_hand and lot.on_hand - lot.promised >= remainders[lot.id]
    ]
    if whole:
        session.connection().execute(_OPEN, [{"key": lot.id, "opened": at.date()} for lot in whole])
    if split:
        _separate(session, split, remainders, at)


def _separate(
    session: Session, lots: Sequence[Lot], remainders: dict[int, int], at: datetime
) -> None:
    """Move remainders into lots of their own, which are there from the same day or are made."""
    codes = {lot.id: f"{lot.code[:24]}-OPEN-{at:%y%m%d}" for lot in lots}
    there = _by_code(session, codes)
    new = {
        (lot.branch_id, lot.item_id, codes[lot.id]): {name: getattr(lot, name) for name in _KEPT}
        | {"code": codes[lot.id], "opened_on": at.date(), "on_hand": 0, "promised": 0}
        for lot in lots
        if (lot.branch_id, lot.item_id, codes[lot.id]) not in there
    }
    if new:
        session.execute(insert(Lot), list(new.values()))
        there = _by_code(session, codes)
    out = [Move(lot.id, MovementKind.OPENED, -remainders[lot.id]) for lot in lots]
    post_all(session, out, at)
    into: dict[int, Move] = {}
    for lot in lots:
        key = there[lot.branch_id, lot.item_id, codes[lot.id]]
        amount, note = remainders[lot.id], lot.code
        if key in into:  # codes too long to stay different
            amount, note = amount + into[key].quantity, f"{into[key].note}, {note}"
        into[key] = Move(key, MovementKind.OPENED, amount, note=note)
    post_all(session, list(into.values()), at)


def _by_code(session: Session, codes: dict[int, str]) -> dict[tuple[int, int, str], int]:
    rows: Sequence[Any] = session.execute(_BY_CODE, {"codes": sorted(set(codes.values()))}).all()
    return {(row.branch_id, row.item_id, row.code): row.id for row in rows}
