"""The ledger: the only place that changes a balance or a promise.

Every change of what lies in a lot is one movement and one update in the same transaction. Updates
state their condition in the statement itself, so that two writers cannot both succeed on either
engine: the second one changes no row, and is told why.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ColumnElement, insert, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.tables.bookings import Promise
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import OrderLine


class TakenError(KittingError):
    """Somebody else has taken what was free a moment ago."""


def post(
    session: Session,
    lot_id: int,
    kind: str,
    quantity: int,
    at: datetime,
    booking_id: int | None = None,
    note: str | None = None,
) -> int:
    """Move a quantity in (+) or out (−) of a lot and write the movement; returns the balance.

    Raises TakenError if that would take more than is there and not promised.
    """
    changed = session.execute(
        update(Lot)
        .where(Lot.id == lot_id, Lot.on_hand + quantity >= Lot.promised)
        .values(on_hand=Lot.on_hand + quantity)
        .returning(Lot.on_hand)
        .execution_options(synchronize_session=False)
    ).scalar()
    if changed is None:
        raise TakenError(_too_much(session, lot_id, -quantity))
    session.execute(
        insert(Movement).values(
            at=at,
            lot_id=lot_id,
            kind=kind,
            quantity=quantity,
            balance=changed,
            booking_id=booking_id,
            note=note,
        )
    )
    return changed


def _too_much(session: Session, lot_id: int, wanted: int) -> str:
    on_hand, promised, code = session.execute(
        select(Lot.on_hand, Lot.promised, Lot.code).where(Lot.id == lot_id)
    ).one()
    free = (on_hand - promised) / 1000
    return (
        f"lot {code}: {wanted / 1000:g} asked for, {free:g} free"
        f" ({promised / 1000:g} of {on_hand / 1000:g} promised). Look again: kitting stock list"
    )


def set_aside(session: Session, booking_id: int, item_id: int, lot_id: int, quantity: int) -> None:
    """Promise stock of a lot to a booking; raises TakenError if it is no longer free."""
    _claim(
        session,
        Lot,
        lot_id,
        (Lot.on_hand - Lot.promised >= quantity) & Lot.held.is_(None),
        quantity,
    )
    _add_promise(session, booking_id, item_id, quantity, lot_id=lot_id)


def set_arrival_aside(
    session: Session, booking_id: int, item_id: int, order_line_id: int, quantity: int
) -> None:
    """Promise a part of an arrival to a booking; raises TakenError if it is no longer free."""
    coming = OrderLine.quantity - OrderLine.received - OrderLine.lost - OrderLine.promised
    _claim(session, OrderLine, order_line_id, coming >= quantity, quantity)
    _add_promise(session, booking_id, item_id, quantity, order_line_id=order_line_id)


def _claim(
    session: Session,
    table: type[Lot] | type[OrderLine],
    row_id: int,
    free: ColumnElement[bool],
    quantity: int,
) -> None:
    changed = session.execute(
        update(table)
        .where(table.id == row_id, free)
        .values(promised=table.promised + quantity)
        .returning(table.id)
        .execution_options(synchronize_session=False)
    ).scalar()
    if changed is None:
        raise TakenError(_not_free(session, table, row_id, quantity))


def _not_free(
    session: Session, table: type[Lot] | type[OrderLine], row_id: int, wanted: int
) -> str:
    if table is OrderLine:
        part = session.scalar(select(OrderLine.part).where(OrderLine.id == row_id))
        return f"part {part} that is to come: {wanted / 1000:g} are not free any more. Ask again"
    code, held = session.execute(select(Lot.code, Lot.held).where(Lot.id == row_id)).one()
    if held is not None:
        return f"lot {code} is held: {held}. Release it before it is promised"
    return _too_much(session, row_id, wanted)


def _add_promise(
    session: Session,
    booking_id: int,
    item_id: int,
    quantity: int,
    *,
    lot_id: int | None = None,
    order_line_id: int | None = None,
) -> None:
    source = (
        Promise.lot_id == lot_id if lot_id is not None else Promise.order_line_id == order_line_id
    )
    known = session.execute(
        update(Promise)
        .where(Promise.booking_id == booking_id, source)
        .values(waiting=Promise.waiting + quantity)
        .returning(Promise.id)
        .execution_options(synchronize_session=False)
    ).scalar()
    if known is None:
        session.execute(
            insert(Promise).values(
                booking_id=booking_id,
                item_id=item_id,
                lot_id=lot_id,
                order_line_id=order_line_id,
                waiting=quantity,
                picked=0,
            )
        )


def let_go(session: Session, promise_id: int, quantity: int) -> None:
    """Give a waiting part of a promise back to everybody; raises TakenError if it is not there."""
    changed = session.execute(
        update(Promise)
        .where(Promise.id == promise_id, Promise.waiting >= quantity)
        .where(Promise.waiting + Promise.picked > quantity)
        .values(waiting=Promise.waiting - quantity)
        .returning(Promise.lot_id, Promise.order_line_id)
        .execution_options(synchronize_session=False)
    ).first()
    lot_id, order_line_id = (
        _remove_promise(session, promise_id, quantity)
        if changed is None
        else (changed.lot_id, changed.order_line_id)
    )
    table: type[Lot] | type[OrderLine] = Lot if lot_id is not None else OrderLine
    session.execute(
        update(table)
        .where(table.id == (lot_id if lot_id is not None else order_line_id))
        .values(promised=table.promised - quantity)
        .execution_options(synchronize_session=False)
    )


def _remove_promise(
    session: Session, promise_id: int, quantity: int
) -> tuple[int | None, int | None]:
    promise = session.execute(
        select(Promise.lot_id, Promise.order_line_id, Promise.waiting, Promise.picked).where(
            Promise.id == promise_id
        )
    ).first()
    if promise is None or promise.waiting != quantity or promise.picked:
        raise TakenError("this promise has just been changed by somebody else. Ask again")
    session.execute(Promise.__table__.delete().where(Promise.id == promise_id))  # type: ignore[attr-defined]
    return promise.lot_id, promise.order_line_id


def take(session: Session, promise_id: int, at: datetime) -> int:
    """Put all that waits of a promise of stock into the kit; returns how much that was."""
    waiting, lot_id, booking_id = session.execute(
        select(Promise.waiting, Promise.lot_id, Promise.booking_id).where(Promise.id == promise_id)
    ).one()
    if not waiting or lot_id is None:
        return 0
    moved = session.execute(
        update(Promise)
        .where(Promise.id == promise_id, Promise.waiting == waiting)
        .values(waiting=0, picked=Promise.picked + waiting)
        .returning(Promise.id)
        .execution_options(synchronize_session=False)
    ).scalar()
    if moved is None:
        raise TakenError("this promise has just been changed by somebody else. Ask again")
    session.execute(
        update(Lot)
        .where(Lot.id == lot_id)
        .values(promised=Lot.promised - waiting)
        .execution_options(synchronize_session=False)
    )
    post(session, lot_id, "picked", -waiting, at, booking_id)
    return int(waiting)
