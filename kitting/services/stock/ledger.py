"""The ledger: with `kit_ledger` the only place that changes a balance or a promise.

Every change of what lies in a lot is one movement and one update in the same transaction. Updates
state their condition in the statement itself, so that two writers cannot both succeed on either
engine: the second one changes no row, and learns why. Many changes take as few statements as one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BindParameter,
    Delete,
    Table,
    Update,
    bindparam,
    delete,
    exists,
    insert,
    select,
    update,
)
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError, Message
from kitting.facts.words import MovementKind
from kitting.services.db.sync import chunks
from kitting.tables.bookings import Promise
from kitting.tables.stock import HELD, CustomerLot, Lot, Movement
from kitting.tables.supply import OrderLine

_LOT: Table = Lot.metadata.tables["lot"]
_LINE: Table = OrderLine.metadata.tables["order_line"]
PROMISE: Table = Promise.metadata.tables["promise"]
KEY: BindParameter[Any] = bindparam("key")
QUANTITY: BindParameter[Any] = bindparam("n")
_lot, _line, _promise = _LOT.c, _LINE.c, PROMISE.c

_POST = (
    update(_LOT)
    .where(_lot.id == KEY, _lot.on_hand + QUANTITY >= _lot.promised)
    .values(on_hand=_lot.on_hand + QUANTITY)
)
_CLAIM_LOT = (
    update(_LOT)
    .where(_lot.id == KEY, _lot.on_hand - _lot.promised >= QUANTITY, HELD.is_(None))
    # What a customer brought is promised to no other booking.
    .where(
        ~exists().where(
            CustomerLot.lot_id == _lot.id, CustomerLot.booking_id != bindparam("for_booking")
        )
    )
    .values(promised=_lot.promised + QUANTITY)
)
_CLAIM_ARRIVAL = (
    update(_LINE)
    .where(
        _line.id == KEY,
        _line.quantity - _line.received - _line.lost - _line.promised >= QUANTITY,
    )
    .values(promised=_line.promised + QUANTITY)
)
FREE_LOT = (
    update(_LOT).where(_lot.id == KEY).values(promised=_lot.promised - QUANTITY)
)  # fmt: skip
_FREE_ARRIVAL = (
    update(_LINE).where(_line.id == KEY).values(promised=_line.promised - QUANTITY)
)  # fmt: skip
_MORE = update(PROMISE).where(_promise.id == KEY).values(waiting=_promise.waiting + QUANTITY)
_LESS = (
    update(PROMISE)
    .where(_promise.id == KEY, _promise.waiting >= QUANTITY)
    .where(_promise.waiting + _promise.picked > QUANTITY)
    .values(waiting=_promise.waiting - QUANTITY)
)
_GONE = delete(PROMISE).where(
    _promise.id == KEY, _promise.waiting == QUANTITY, _promise.picked == 0
)
_PROMISES = select(
    _promise.id, _promise.booking_id, _promise.lot_id, _promise.order_line_id, _promise.waiting,
    _promise.picked,
)  # fmt: skip
BY_KEY = _PROMISES.where(_promise.id.in_(bindparam("keys", expanding=True)))
_OF_BOOKING = _PROMISES.where(_promise.booking_id == bindparam("booking"))
_LOTS = select(_lot.id, _lot.code, _lot.on_hand, _lot.promised, HELD.label("held")).where(
    _lot.id.in_(bindparam("keys", expanding=True))
)
_ARRIVALS = select(
    _line.id,
    _line.part,
    (_line.quantity - _line.received - _line.lost - _line.promised).label("free"),
).where(_line.id.in_(bindparam("keys", expanding=True)))
_LOOK = next_step(Action.LIST_STOCK)
AGAIN = Message("this promise has just been changed by somebody else. Ask again")


class TakenError(KittingError):
    """Somebody else has taken what was free a moment ago."""


@dataclass(frozen=True, slots=True)
class Move:
    """A quantity in (+) or out (−) of a lot, in thousandths of its unit, and why."""

    lot: int
    kind: MovementKind
    quantity: int
    booking: int | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Claim:
    """So much of an item for a booking, of a lot or of an arrival (an order line)."""

    item: int
    quantity: int
    lot: int | None = None
    order_line: int | None = None


def post(session: Session, move: Move, at: datetime) -> int:
    """Move a quantity in or out of a lot and write the movement; returns the balance.

    Raises TakenError if that would take more than is there and not promised.
    """
    return post_all(session, [move], at)[move.lot]


def post_all(session: Session, moves: Sequence[Move], at: datetime) -> dict[int, int]:
    """As `post`, for many moves of different lots; returns the balance of each lot.

    Raises ValueError for two moves of one lot: their balances would have no order.
    """
    if not moves:
        return {}
    keys = [move.lot for move in moves]
    if len(set(keys)) < len(keys):
        raise ValueError("two moves of one lot in one call")
    if not all_changed(session, _POST, [(move.lot, move.quantity) for move in moves]):
        raise TakenError(_too_much(session, moves), then=[_LOOK])
    balances = {
        row.id: row.on_hand
        for some in chunks(keys)
        for row in session.execute(_LOTS, {"keys": list(some)})
    }
    session.execute(
        insert(Movement),
        [
            {
                "at": at, "lot_id": move.lot, "kind": move.kind, "quantity": move.quantity,
                "balance": balances[move.lot], "booking_id": move.booking, "note": move.note,
            }
            for move in moves
        ],
    )  # fmt: skip
    return balances


def all_changed(
    session: Session,
    statement: Update | Delete,
    changes: Sequence[tuple[int, int]],
    also: Mapping[str, int] = {},
) -> bool:
    """Send a conditional change for each (key, quantity), all or none; whether all went through."""
    connection = session.connection()
    sent = [{"key": key, "n": quantity, **also} for key, quantity in changes]
    if len(sent) == 1:
        return connection.execute(statement, sent).rowcount == 1
    # Rolled back, the rows tell which change failed.
    savepoint = connection.begin_nested()
    done = connection.execute(statement, sent).rowcount == len(sent)
    if done:
        savepoint.commit()
    else:
        savepoint.rollback()
    return done


def not_free(code: str, on_hand: int, promised: int, wanted: int) -> str:
    """Why so much (thousandths) cannot be taken from a lot."""
    return (
        f"lot {code}: {wanted / 1000:g} asked for, {(on_hand - promised) / 1000:g} free"
        f" ({promised / 1000:g} of {on_hand / 1000:g} promised)"
    )


def _too_much(session: Session, moves: Iterable[Move]) -> str:
    """Which move failed, and why."""
    moved = {move.lot: move.quantity for move in moves}
    rows = [
        row for some in chunks(list(moved)) for row in session.execute(_LOTS, {"keys": list(some)})
    ]
    for row in rows:
        if row.on_hand + moved[row.id] < row.promised:
            return not_free(row.code, row.on_hand, row.promised, -moved[row.id])
    return "a lot has just been changed by somebody else"


def set_aside(session: Session, booking_id: int, item_id: int, lot_id: int, quantity: int) -> None:
    """Promise stock of a lot to a booking; raises TakenError if it is no longer free."""
    set_all_aside(session, booking_id, [Claim(item_id, quantity, lot=lot_id)])


def set_all_aside(session: Session, booking_id: int, claims: Sequence[Claim]) -> None:
    """Promise stock of lots and parts of arrivals to a booking, all or none.

    Raises TakenError if something is no longer free: leave the transaction or its savepoint then.
    """
    lots = [(claim.lot, claim.quantity) for claim in claims if claim.lot is not None]
    lines = [(claim.order_line, claim.quantity) for claim in claims if claim.order_line is not None]
    if lots and not all_changed(session, _CLAIM_LOT, lots, {"for_booking": booking_id}):
        raise _lot_taken(session, lots)
    if lines and not all_changed(session, _CLAIM_ARRIVAL, lines):
        raise _arrival_taken(session, lines)
    if claims:
        _add_promises(session, booking_id, claims)


def _lot_taken(session: Session, wanted: Sequence[tuple[int, int]]) -> TakenError:
    amounts = dict(wanted)
    rows = session.execute(_LOTS, {"keys": list(amounts)}).all()
    for row in rows:
        if row.held is not None:
            return TakenError(
                "lot {code} is on hold: {held}. Release it before it is promised",
                code=row.code,
                held=row.held,
            )
    for row in rows:
        if row.on_hand - row.promised < amounts[row.id]:
            return TakenError(
                not_free(row.code, row.on_hand, row.promised, amounts[row.id]), then=[_LOOK]
            )
    return TakenError("a lot has just been changed by somebody else. Ask again")


def _arrival_taken(session: Session, wanted: Sequence[tuple[int, int]]) -> TakenError:
    amounts = dict(wanted)
    rows = session.execute(_ARRIVALS, {"keys": list(amounts)}).all()
    short = next((row for row in rows if row.free < amounts[row.id]), rows[0])
    return TakenError(
        "part {part} on order: {amounts:g} are no longer free. Ask again",
        part=short.part,
        amounts=amounts[short.id] / 1000,
    )


def _add_promises(session: Session, booking_id: int, claims: Sequence[Claim]) -> None:
    known = {
        (row.lot_id, row.order_line_id): row.id
        for row in session.execute(_OF_BOOKING, {"booking": booking_id})
    }
    more, new = [], []
    for claim in claims:
        key = known.get((claim.lot, claim.order_line))
        if key is not None:
            more.append((key, claim.quantity))
        else:
            new.append(
                {
                    "booking_id": booking_id, "item_id": claim.item, "lot_id": claim.lot,
                    "order_line_id": claim.order_line, "waiting": claim.quantity, "picked": 0,
                }
            )  # fmt: skip
    if more:
        all_changed(session, _MORE, more)
    if new:
        session.execute(insert(Promise), new)


def let_go(session: Session, promise_id: int, quantity: int) -> None:
    """Give a waiting part of a promise back to everybody; raises TakenError if it is not there."""
    let_all_go(session, [(promise_id, quantity)])


def let_all_go(session: Session, parts: Sequence[tuple[int, int]]) -> None:
    """As `let_go`, for many (promise, thousandths)."""
    if not parts:
        return
    rows = {row.id: row for row in session.execute(BY_KEY, {"keys": [key for key, _ in parts]})}
    if any(key not in rows or rows[key].waiting < quantity for key, quantity in parts):
        raise TakenError(AGAIN)
    gone = [part for part in parts if rows[part[0]].waiting + rows[part[0]].picked == part[1]]
    less = [part for part in parts if part not in gone]
    if gone and not all_changed(session, _GONE, gone):
        raise TakenError(AGAIN)
    if less and not all_changed(session, _LESS, less):
        raise TakenError(AGAIN)
    set_free(session, [(rows[key].lot_id, quantity) for key, quantity in parts], FREE_LOT)
    set_free(
        session, [(rows[key].order_line_id, quantity) for key, quantity in parts], _FREE_ARRIVAL
    )


def set_free(session: Session, parts: Iterable[tuple[int | None, int]], statement: Update) -> None:
    """Take promised amounts off their lots or order lines; what has none is of the other sort."""
    given = [(key, quantity) for key, quantity in parts if key is not None and quantity]
    if given:
        all_changed(session, statement, given)
