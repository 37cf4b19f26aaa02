"""What the books must agree on, one statement per check; each returns nothing but faults."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    BigInteger,
    Select,
    and_,
    case,
    cast,
    func,
    literal,
    null,
    or_,
    select,
    union_all,
)
from sqlalchemy.orm import aliased

from kitting.actions import Action, next_step
from kitting.facts.reasons import Reason, because
from kitting.facts.words import BookingState, MovementKind
from kitting.services.upkeep.audit_columns import (
    differing,
    fault_columns,
    of_kits,
    of_line,
    of_lot,
    of_promise,
    recomputed_side,
    recorded_side,
    total,
    total_per,
)
from kitting.services.upkeep.audit_kit_checks import (
    before_their_cause,
    closed_unmet,
    lost_from_kits,
    more_than_needed,
    opened_as_sealed,
)
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptUndone
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt
from kitting.views.upkeep import AuditAdvice, AuditCheck, Audited, AuditFault, AuditSubject

RESTORE = because(AuditAdvice.RESTORE, next_step(Action.RESTORE))
STOP_WRITING = because(AuditAdvice.STOP_WRITING, next_step(Action.RESTORE))
_RECOUNT = because(
    AuditAdvice.RECOUNT,
    next_step(Action.HOLD_STOCK),
    next_step(Action.RESTORE),
    next_step(Action.COUNT_STOCK),
)
_COMPARE_NOTES = because(AuditAdvice.COMPARE_NOTES, next_step(Action.RESTORE))
_CHECK_KIT = because(AuditAdvice.CHECK_KIT, next_step(Action.RESTORE))
_CHECK_BOOKING = because(AuditAdvice.CHECK_BOOKING, next_step(Action.SHOW_KIT))
_ASK_BRANCHES = because(AuditAdvice.ASK_BRANCHES, next_step(Action.RESTORE))


@dataclass(frozen=True, slots=True)
class Check:
    """A check: `counted` is the table whose rows it looks at, `of` what they are."""

    check: AuditCheck
    counted: Any
    of: Audited
    faults: Callable[[], Select[Any]]
    advice: Reason


def _balances() -> Select[Any]:
    moved = total_per(Movement.lot_id, Movement.quantity)
    came_to = func.coalesce(moved.c.amount, 0)
    return (
        of_lot(AuditFault.BALANCE, Lot.on_hand, came_to)
        .outerjoin(moved, moved.c.key == Lot.id)
        .where(Lot.on_hand != came_to)
        .order_by(Lot.id)
    )


def _running_balances() -> Select[Any]:
    # By number, never by time: a clock that was set back must not change a balance.
    running = func.sum(Movement.quantity).over(
        partition_by=Movement.lot_id, order_by=Movement.id, rows=(None, 0)
    )
    run = select(
        Movement.id, Movement.lot_id, Movement.balance, cast(running, BigInteger).label("total")
    ).subquery()
    number = cast(run.c.id, Lot.code.type)
    return (
        of_lot(
            AuditFault.RUNNING_BALANCE, run.c.balance, run.c.total, AuditSubject.MOVEMENT, number
        )
        .join(run, run.c.lot_id == Lot.id)
        .where(run.c.balance != run.c.total)
        .order_by(run.c.id)
    )


def _promised() -> Select[Any]:
    waiting = total_per(Promise.lot_id, Promise.waiting, Promise.lot_id.is_not(None))
    came_to = func.coalesce(waiting.c.amount, 0)
    return (
        of_lot(AuditFault.PROMISED, Lot.promised, came_to)
        .outerjoin(waiting, waiting.c.key == Lot.id)
        .where(Lot.promised != came_to)
        .order_by(Lot.id)
    )


def _over_promised() -> Select[Any]:
    return (
        of_lot(AuditFault.OVER_PROMISED, Lot.promised, Lot.on_hand)
        .where(or_(Lot.on_hand < 0, Lot.promised < 0, Lot.promised > Lot.on_hand))
        .order_by(Lot.id)
    )


def _arrivals() -> Select[Any]:
    waiting = total_per(Promise.order_line_id, Promise.waiting, Promise.order_line_id.is_not(None))
    came_to = func.coalesce(waiting.c.amount, 0)
    return (
        of_line(AuditFault.ARRIVAL_PROMISED, OrderLine.promised, came_to)
        .outerjoin(waiting, waiting.c.key == OrderLine.id)
        .where(OrderLine.promised != came_to)
        .order_by(OrderLine.id)
    )


def _goods_in() -> Select[Any]:
    undone = select(ReceiptUndone.receipt_id)
    receipts = total_per(Receipt.order_line_id, Receipt.good, Receipt.id.not_in(undone))
    came_to = func.coalesce(receipts.c.amount, 0)
    return (
        of_line(AuditFault.RECEIVED, OrderLine.received, came_to)
        .outerjoin(receipts, receipts.c.key == OrderLine.id)
        .where(OrderLine.received != came_to)
        .order_by(OrderLine.id)
    )


def _orders() -> Select[Any]:
    spoken_for = OrderLine.received + OrderLine.lost + OrderLine.promised
    over = spoken_for > OrderLine.quantity
    cancelled = and_(PurchaseOrder.cancelled_at.is_not(None), OrderLine.promised > 0)
    return (
        of_line(AuditFault.OVER_ORDERED, spoken_for, OrderLine.quantity)
        .where(or_(over, cancelled, OrderLine.received < 0, OrderLine.lost < 0))
        .order_by(OrderLine.id)
    )


def _kits() -> Select[Any]:
    by = (Promise.booking_id, Promise.lot_id)
    recorded = recorded_side(Promise.picked - Promise.returned, *by).where(
        Promise.lot_id.is_not(None)
    )
    moved = recomputed_side(-Movement.quantity, Movement.booking_id, Movement.lot_id).where(
        Movement.kind.in_((MovementKind.PICKED, MovementKind.PUT_BACK))
    )
    return of_kits(AuditFault.KIT, recorded, moved)


def _states() -> Select[Any]:
    accounted = Promise.used + Promise.returned + Promise.scrapped
    # What was lost before the work was done is accounted for already, of an open booking too.
    ended = accounted + Promise.lost
    over = Booking.state.in_((BookingState.CLOSED, BookingState.CANCELLED))
    return of_promise(AuditFault.KIT_STATE, ended, Promise.picked).where(
        or_(
            and_(over, or_(Promise.waiting != 0, ended != Promise.picked)),
            and_(Booking.state == BookingState.CANCELLED, Promise.returned != IN_KIT),
            and_(~over, accounted != 0),
            # Nothing is picked from a parcel that has not come.
            and_(Promise.order_line_id.is_not(None), Promise.picked != 0),
            Promise.waiting < 0,
            Promise.picked < 0,
        )
    )


def _places() -> Select[Any]:
    """What waits or lies in a kit is of the booking's branch; what was lost stays where it was."""
    there = or_(Promise.waiting != 0, IN_KIT != 0)
    return (
        of_promise(AuditFault.PLACE, null(), null())
        .outerjoin(OrderLine, Promise.order_line_id == OrderLine.id)
        .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(
            or_(
                Lot.item_id != Promise.item_id,
                and_(Lot.branch_id != Booking.branch_id, there),
                OrderLine.item_id != Promise.item_id,
                and_(PurchaseOrder.branch_id != Booking.branch_id, there),
            )
        )
    )


def _transfers() -> Select[Any]:
    sent, arrived = literal(MovementKind.SENT.value), literal(MovementKind.ARRIVED.value)
    recorded = union_all(
        recorded_side(Transfer.quantity, Transfer.from_lot_id, sent),
        recorded_side(Transfer.quantity, Transfer.to_lot_id, arrived).where(
            Transfer.arrived_at.is_not(None)
        ),
    ).subquery()
    moved = recomputed_side(func.abs(Movement.quantity), Movement.lot_id, Movement.kind).where(
        Movement.kind.in_((MovementKind.SENT, MovementKind.ARRIVED))
    )
    off = differing(select(recorded), moved, 2)
    way = case((off.c.key1 == sent, AuditSubject.SENT.value), else_=AuditSubject.ARRIVED.value)
    return (
        of_lot(AuditFault.MOVED, off.c.recorded, off.c.recomputed, way)
        .join(off, off.c.key0 == Lot.id)
        .order_by(off.c.key0, off.c.key1)
    )


def _ends_of_transfers() -> Select[Any]:
    origin, target = aliased(Lot), aliased(Lot)
    return (
        select(
            *fault_columns(
                AuditSubject.TRANSFER,
                AuditFault.TRANSFER_ENDS,
                name=cast(Transfer.id, Lot.code.type),
                item=Item.code,
                lot=origin.code,
                place=Branch.code,
                unit=Item.unit,
            )
        )
        .select_from(Transfer)
        .join(origin, Transfer.from_lot_id == origin.id)
        .join(target, Transfer.to_lot_id == target.id)
        .outerjoin(Item, origin.item_id == Item.id)
        .outerjoin(Branch, Transfer.from_branch_id == Branch.id)
        .where(
            or_(
                origin.item_id != target.item_id,
                origin.branch_id != Transfer.from_branch_id,
                target.branch_id != Transfer.to_branch_id,
            )
        )
        .order_by(Transfer.id)
    )


def _opened_packs() -> Select[Any]:
    left = (
        select(Lot.branch_id, Lot.item_id, total(Movement.quantity).label("amount"))
        .join(Lot, Movement.lot_id == Lot.id)
        .where(Movement.kind == MovementKind.OPENED)
        .group_by(Lot.branch_id, Lot.item_id)
        .having(total(Movement.quantity) != 0)
    ).subquery()
    return (
        select(
            *fault_columns(
                AuditSubject.OPENED_PACKS,
                AuditFault.OPENED,
                item=Item.code,
                place=Branch.code,
                unit=Item.unit,
                recorded=left.c.amount,
                recomputed=literal(0),
            )
        )
        .select_from(left)
        .outerjoin(Item, left.c.item_id == Item.id)
        .outerjoin(Branch, left.c.branch_id == Branch.id)
        .order_by(left.c.branch_id, left.c.item_id)
    )


CHECKS: tuple[Check, ...] = (
    Check(AuditCheck.BALANCES, Lot, Audited.LOTS, _balances, _RECOUNT),
    Check(AuditCheck.RUNNING_BALANCES, Movement, Audited.MOVEMENTS, _running_balances, _RECOUNT),
    Check(AuditCheck.PROMISED, Lot, Audited.LOTS, _promised, RESTORE),
    Check(AuditCheck.THERE, Lot, Audited.LOTS, _over_promised, _RECOUNT),
    Check(AuditCheck.ARRIVALS, OrderLine, Audited.ORDER_LINES, _arrivals, RESTORE),
    Check(AuditCheck.GOODS_IN, OrderLine, Audited.ORDER_LINES, _goods_in, _COMPARE_NOTES),
    Check(AuditCheck.ORDERS, OrderLine, Audited.ORDER_LINES, _orders, _COMPARE_NOTES),
    Check(AuditCheck.KITS, Promise, Audited.PROMISES, _kits, _CHECK_KIT),
    Check(AuditCheck.STATES, Promise, Audited.PROMISES, _states, _CHECK_KIT),
    Check(AuditCheck.PLACES, Promise, Audited.PROMISES, _places, RESTORE),
    Check(AuditCheck.TRANSFERS, Transfer, Audited.TRANSFERS, _transfers, _ASK_BRANCHES),
    Check(
        AuditCheck.ENDS_OF_TRANSFERS, Transfer, Audited.TRANSFERS, _ends_of_transfers, _ASK_BRANCHES
    ),
    Check(AuditCheck.OPENED_PACKS, Movement, Audited.MOVEMENTS, _opened_packs, _RECOUNT),
    Check(AuditCheck.LOST, Promise, Audited.PROMISES, lost_from_kits, _CHECK_KIT),
    Check(AuditCheck.NOT_NEEDED, Booking, Audited.BOOKINGS, more_than_needed, _CHECK_BOOKING),
    Check(AuditCheck.UNMET, Booking, Audited.BOOKINGS, closed_unmet, _CHECK_BOOKING),
    Check(AuditCheck.STAYS_OPENED, Movement, Audited.MOVEMENTS, opened_as_sealed, _RECOUNT),
    Check(AuditCheck.CAUSES, Movement, Audited.MOVEMENTS, before_their_cause, _RECOUNT),
)
