"""What kits must agree on, one statement per check; each returns nothing but faults.

What was lost is told, no more is promised or used than is needed, nothing needed is left out, what
was opened stays opened, and nothing happens before its cause; unless somebody said why.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Select,
    Subquery,
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

from kitting.facts.words import (
    OPEN_BOOKINGS,
    BookingState,
    KitEventKind,
    KitWhy,
    MovementKind,
    NeedRule,
    StockUnit,
)
from kitting.services.upkeep.audit_columns import (
    COLUMNS,
    fault_columns,
    of_kits,
    of_lot,
    recomputed_side,
    recorded_side,
    total,
)
from kitting.tables.bookings import IN_KIT, Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.kit import KitEvent
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt
from kitting.views.upkeep import AuditFault, AuditSubject


def lost_from_kits() -> Select[Any]:
    """Promises whose lost amount is not the sum of what was told as gone."""
    recorded = recorded_side(Promise.lost, Promise.booking_id, Promise.lot_id).where(
        Promise.lost != 0
    )
    told = recomputed_side(KitEvent.quantity, KitEvent.booking_id, KitEvent.lot_id).where(
        KitEvent.kind == KitEventKind.GONE
    )
    return of_kits(AuditFault.LOST, recorded, told)


def more_than_needed() -> Select[Any]:
    """Bookings that are promised, or used, more of an item than they need without a word of why."""
    has, needs, told = _has(), _needs(), _told_extra()
    needed = func.coalesce(needs.c.all, 0) + func.coalesce(told.c.amount, 0)
    promised = has.c.waiting + has.c.in_kit
    needless = and_(Booking.state.in_(OPEN_BOOKINGS), has.c.waiting > 0, promised > needed)
    used = and_(Booking.state == BookingState.CLOSED, has.c.used > needed, ~_told_afterwards(has))
    return (
        select(
            *_of_item(
                case(
                    (used, AuditFault.USED_NEEDLESSLY.value),
                    else_=AuditFault.PROMISED_NEEDLESSLY.value,
                ),
                case((used, has.c.used), else_=promised),
                needed,
            )
        )
        .select_from(has)
        .join(Booking, has.c.booking_id == Booking.id)
        .outerjoin(needs, _same(needs, has))
        .outerjoin(told, _same(told, has))
        .outerjoin(Item, has.c.item_id == Item.id)
        .outerjoin(Branch, Booking.branch_id == Branch.id)
        .where(or_(needless, used))
        .order_by(has.c.booking_id, has.c.item_id)
    )


def closed_unmet() -> Select[Any]:
    """Bookings closed without a reason, of which something was not there or not fitted.

    What was put right afterwards has its own reason.
    """
    has, needs = _has(), _needs()
    used, in_kit = func.coalesce(has.c.used, 0), func.coalesce(has.c.in_kit, 0)
    must = needs.c.renew + needs.c.use
    not_fitted = used < needs.c.renew
    return (
        select(
            *_of_item(
                AuditFault.UNMET.value,
                case((not_fitted, used), else_=in_kit),
                case((not_fitted, needs.c.renew), else_=must),
            )
        )
        .select_from(needs)
        .join(Booking, needs.c.booking_id == Booking.id)
        .outerjoin(has, _same(has, needs))
        .outerjoin(Item, needs.c.item_id == Item.id)
        .outerjoin(Branch, Booking.branch_id == Branch.id)
        .where(
            Booking.state == BookingState.CLOSED,
            Booking.override.is_(None),
            or_(not_fitted, in_kit < must),
            ~_told_afterwards(needs),
        )
        .order_by(needs.c.booking_id, needs.c.item_id)
    )


def _of_item(fault: Any, recorded: Any, recomputed: Any) -> list[Any]:
    """The columns of a fault of an item of a booking."""
    columns = fault_columns(
        AuditSubject.BOOKING,
        AuditFault.UNMET,
        name=Booking.number,
        item=Item.code,
        place=Branch.code,
        unit=Item.unit,
        recorded=recorded,
        recomputed=recomputed,
    )
    columns[1] = (literal(fault) if isinstance(fault, str) else fault).label("fault")
    return columns


def _has() -> Subquery:
    """What bookings have of each item: waiting, in the kit, used."""
    return (
        select(
            Promise.booking_id,
            Promise.item_id,
            total(Promise.waiting).label("waiting"),
            total(IN_KIT).label("in_kit"),
            total(Promise.used).label("used"),
        )
        .group_by(Promise.booking_id, Promise.item_id)
        .subquery()
    )


def _needs() -> Subquery:
    """What bookings need of each item: in all, to renew, to use up."""

    def of(rule: NeedRule) -> ColumnElement[int]:
        return total(case((BookingNeed.rule == rule, BookingNeed.quantity), else_=0))

    return (
        select(
            BookingNeed.booking_id,
            BookingNeed.item_id,
            total(BookingNeed.quantity).label("all"),
            of(NeedRule.RENEW).label("renew"),
            of(NeedRule.USE).label("use"),
        )
        .group_by(BookingNeed.booking_id, BookingNeed.item_id)
        .subquery()
    )


def _told_extra() -> Subquery:
    """What was told to be more than planned: drawn so, or used so at closing."""
    return (
        select(KitEvent.booking_id, KitEvent.item_id, total(KitEvent.quantity).label("amount"))
        .where(
            or_(
                and_(KitEvent.kind == KitEventKind.DRAWN, KitEvent.why == KitWhy.EXTRA),
                KitEvent.kind == KitEventKind.TOLD_USED,
            )
        )
        .group_by(KitEvent.booking_id, KitEvent.item_id)
        .subquery()
    )


def _told_afterwards(of: Subquery) -> ColumnElement[bool]:
    """Whether a closed booking was put right of an item, which always has a reason."""
    event = (
        select(KitEvent.id)
        .where(
            KitEvent.booking_id == of.c.booking_id,
            KitEvent.item_id == of.c.item_id,
            KitEvent.kind == KitEventKind.CORRECTED,
        )
        .correlate(of)
    )
    # Before there were events of kits, only the movement had the reason.
    note = (
        select(Movement.id)
        .join(Lot, Movement.lot_id == Lot.id)
        .where(
            Movement.booking_id == of.c.booking_id,
            Lot.item_id == of.c.item_id,
            Movement.note.is_not(None),
            Movement.at > Booking.closed_at,
        )
        .correlate(of, Booking)
    )
    return or_(event.exists(), note.exists())


def _same(left: Subquery, right: Subquery) -> ColumnElement[bool]:
    return and_(left.c.booking_id == right.c.booking_id, left.c.item_id == right.c.item_id)


def opened_as_sealed() -> Select[Any]:
    """Sealed lots to which the opened part of a kit came back, or that came of an opened lot."""
    return _gathered(_sealed_again(), _sent_sealed())


def _sealed_again() -> Select[Any]:
    part = case(
        (Item.pack > 0, Movement.quantity % Item.pack),
        (Item.unit == StockUnit.EACH, 0),
        else_=Movement.quantity,
    )
    out = aliased(Movement)
    parted = (
        select(out.id)
        .where(
            out.lot_id == Movement.lot_id,
            out.kind == MovementKind.OPENED,
            out.at == Movement.at,
            out.id > Movement.id,
            out.quantity == -part,
        )
        .correlate(Movement, Item)
    )
    return (
        of_lot(AuditFault.SEALED_AGAIN, part, part - part, AuditSubject.LOT)
        .join(Movement, Movement.lot_id == Lot.id)
        .where(
            Movement.kind == MovementKind.PUT_BACK,
            Item.opened_life_days > 0,
            Lot.opened_on.is_(None),
            part > 0,
            ~parted.exists(),
        )
    )


def _sent_sealed() -> Select[Any]:
    origin = aliased(Lot)
    return (
        of_lot(AuditFault.SENT_SEALED, null(), null(), AuditSubject.LOT)
        .join(Transfer, Transfer.to_lot_id == Lot.id)
        .join(origin, Transfer.from_lot_id == origin.id)
        .where(
            # On the day itself nobody knows which came first.
            origin.opened_on < func.date(Transfer.sent_at),
            or_(Lot.opened_on.is_(None), Lot.opened_on > origin.opened_on),
        )
    )


def before_their_cause() -> Select[Any]:
    """Pieces that came back of a kit before they were picked, by the numbers of the entries.

    A time proves nothing: a clock may be set back. See `early_times`.
    """
    running = func.sum(-Movement.quantity).over(
        partition_by=(Movement.booking_id, Movement.lot_id), order_by=Movement.id, rows=(None, 0)
    )
    run = (
        select(
            Movement.id, Movement.lot_id, Movement.booking_id,
            cast(running, BigInteger).label("in_kit"),
        )
        .where(Movement.kind.in_((MovementKind.PICKED, MovementKind.PUT_BACK)))
        .where(Movement.booking_id.is_not(None))
        .subquery()
    )  # fmt: skip
    return (
        of_lot(
            AuditFault.BEFORE_PICKING,
            run.c.in_kit,
            literal(0),
            AuditSubject.BOOKING,
            Booking.number,
        )
        .join(run, run.c.lot_id == Lot.id)
        .join(Booking, run.c.booking_id == Booking.id)
        .where(run.c.in_kit < 0)
        .order_by(run.c.id)
    )


def early_times() -> Select[Any]:
    """How many entries have an earlier time than what caused them, in one row."""
    moved = (
        select(func.count())
        .select_from(Movement)
        .join(Booking, Movement.booking_id == Booking.id)
        .where(Movement.at < Booking.made_at)
    )
    arrived = (
        select(func.count()).select_from(Transfer).where(Transfer.arrived_at < Transfer.sent_at)
    )
    received = (
        select(func.count())
        .select_from(Receipt)
        .join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(Receipt.at < PurchaseOrder.placed_at)
    )
    return select(moved.scalar_subquery() + arrived.scalar_subquery() + received.scalar_subquery())


def _gathered(*found: Select[Any]) -> Select[Any]:
    rows = union_all(*found).subquery()
    return select(*(rows.c[name] for name in COLUMNS))
