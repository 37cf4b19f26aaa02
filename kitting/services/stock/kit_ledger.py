"""The ledger of kits: promises of stock into the kit, out of it again, and written off it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Delete, Update, delete, update
from sqlalchemy.orm import Session

from kitting.facts.words import MovementKind
from kitting.services.stock.ledger import (
    AGAIN,
    BY_KEY,
    FREE_LOT,
    KEY,
    PROMISE,
    QUANTITY,
    Move,
    TakenError,
    all_changed,
    post_all,
    set_free,
)

_columns = PROMISE.c
_PICK = (
    update(PROMISE)
    .where(_columns.id == KEY, _columns.waiting >= QUANTITY)
    .values(waiting=_columns.waiting - QUANTITY, picked=_columns.picked + QUANTITY)
)
# What lies in the kit, with nothing of it accounted for.
_in_kit = _columns.picked - _columns.used - _columns.returned - _columns.scrapped - _columns.lost
_UNPICK = (
    update(PROMISE)
    .where(_columns.id == KEY, _in_kit >= QUANTITY)
    .where(_columns.waiting + _columns.picked > QUANTITY)
    .values(picked=_columns.picked - QUANTITY)
)
_EMPTIED = delete(PROMISE).where(
    _columns.id == KEY, _columns.waiting == 0, _columns.picked == QUANTITY,
    _in_kit == QUANTITY,
)  # fmt: skip
_LOSE = (
    update(PROMISE)
    .where(_columns.id == KEY, _in_kit >= QUANTITY)
    .values(lost=_columns.lost + QUANTITY)
)


def take_all(session: Session, promises: Sequence[int], at: datetime) -> dict[int, int]:
    """Put all that waits of promises of stock into the kit; returns how much of each."""
    rows = session.execute(BY_KEY, {"keys": list(promises)}).all()
    waiting = {row.id: row.waiting for row in rows if row.waiting and row.lot_id is not None}
    take(session, waiting, at)
    return waiting


def take(session: Session, parts: Mapping[int, int], at: datetime, note: str | None = None) -> None:
    """Put so much (thousandths) that waits of promises of stock into the kit."""
    rows = _of_kits(session, _PICK, parts)
    set_free(session, [(row.lot_id, parts[row.id]) for row in rows], FREE_LOT)
    _post_of_kits(session, rows, {key: -some for key, some in parts.items()}, at, note)


def put_back(
    session: Session, parts: Mapping[int, int], at: datetime, note: str | None = None
) -> None:
    """Take so much (thousandths) of promises out of the kit again, back to their lots.

    It is promised to nobody then. Raises TakenError where not as much lies in the kit.
    """
    rows = session.execute(BY_KEY, {"keys": list(parts)}).all()
    emptied = {row.id for row in rows if not row.waiting and row.picked == parts[row.id]}
    _of_kits(session, _UNPICK, {key: n for key, n in parts.items() if key not in emptied})
    _of_kits(session, _EMPTIED, {key: n for key, n in parts.items() if key in emptied})
    _post_of_kits(session, rows, parts, at, note)


def write_off(session: Session, parts: Mapping[int, int]) -> None:
    """Record that so much (thousandths) of promises is gone from the kit, and is in no car."""
    _of_kits(session, _LOSE, parts)


def _of_kits(
    session: Session, statement: Update | Delete, parts: Mapping[int, int]
) -> Sequence[Any]:
    """Change promises of stock, all or none; returns them as they were."""
    if not parts:
        return []
    rows = session.execute(BY_KEY, {"keys": list(parts)}).all()
    lots = all(row.lot_id is not None for row in rows)
    if not lots or not all_changed(session, statement, list(parts.items())):
        raise TakenError(AGAIN)
    return rows


def _post_of_kits(
    session: Session,
    rows: Sequence[Any],
    amounts: Mapping[int, int],
    at: datetime,
    note: str | None,
) -> None:
    """Move amounts of promises, by their keys, out of their lots (−) or back into them (+)."""
    for batch in _one_of_each_lot(rows):
        moves = [
            Move(
                row.lot_id,
                MovementKind.PICKED if amounts[row.id] < 0 else MovementKind.PUT_BACK,
                amounts[row.id],
                row.booking_id,
                note,
            )
            for row in batch
        ]
        post_all(session, moves, at)


def _one_of_each_lot(rows: Sequence[Any]) -> Iterable[list[Any]]:
    """Rows in batches in which no lot stands twice: one batch for one booking."""
    left = list(rows)
    while left:
        batch = {row.lot_id: row for row in reversed(left)}
        yield [row for row in left if batch[row.lot_id] is row]
        left = [row for row in left if batch[row.lot_id] is not row]
